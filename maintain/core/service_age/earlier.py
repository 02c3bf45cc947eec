"""Parts that had served before anybody wrote it down: what they may have been through when they were first seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from maintain.core.lives import Floats

if TYPE_CHECKING:
    from maintain.core.posterior import Draws

# Lengths of service at which a likelihood is summed, as shares of the longest there is, and the share of parts that
# each stands for: Gauss and Legendre's rule for the root of the length, as most happens to young parts.
_POINT, _WEIGHT = np.polynomial.legendre.leggauss(6)
SERVED = ((1 + _POINT) / 2) ** 2
SHARE = _WEIGHT * (1 + _POINT) / 2
# Cells from which a length is drawn, the first the narrowest.
_EDGES = np.linspace(0, 1, 16) ** 2


def draw_earlier(rng: np.random.Generator, draws: Draws, a_day: Floats, seen: Floats, longest: Floats) -> Floats:
    """
    Draw what parts that work had been through before they were first seen.

    Among parts ever fitted every length of service up to the longest is as likely as any other. The chance of having
    served u is then that of lasting u and all that was seen since: a part seen to come through much is likelier to
    have been young.

    Parameters
    ----------
    rng : Generator
    draws : Draws
        Weibull shape, and a column of scales for each part.
    a_day : array, shape = (n_draws, n_parts)
        Service age in a day of earlier service.
    seen : array, shape = (n_draws, n_parts)
        Service age since first sight at which they are known to work.
    longest : array, shape = (n_draws,)
        Days that a part may have served before first sight.

    Returns
    -------
    array, shape = (n_draws, n_parts)
        Service age before first sight.

    References
    ----------
    Cox (1962), Renewal Theory, chapter 5: ages of the parts found in use, and what is left of their lives.
    """
    most = longest[:, None] * a_day
    middle, width = (_EDGES[1:] + _EDGES[:-1]) / 2, np.diff(_EDGES)
    hazard = np.stack([((seen + share * most) / draws.scale) ** draws.shapes for share in middle])
    reached = np.cumsum(width[:, None, None] * np.exp(hazard[0] - hazard), axis=0)
    place = (rng.random(seen.shape) * reached[-1] > reached).sum(axis=0)
    found: Floats = (_EDGES[place] + rng.random(seen.shape) * width[place]) * most
    return found
