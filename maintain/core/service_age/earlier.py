"""Parts that had served before anybody wrote it down: what they may have been through when they were first seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from maintain.core.lives import Floats

if TYPE_CHECKING:
    from maintain.core.posterior import Draws

# Days served before first sight. Any up to six years is as likely as any other among parts ever fitted (common
# practice, no source); as only those that lasted so long are still there to be seen, old ages are rarer the shorter
# such parts live: the law itself tells by how much.
EDGES_DAYS = 365 * np.array([0, 0.125, 0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6])
DAYS = (EDGES_DAYS[1:] + EDGES_DAYS[:-1]) / 2
LOG_SHARE = np.log(np.diff(EDGES_DAYS) / EDGES_DAYS[-1])


def draw_earlier(rng: np.random.Generator, draws: Draws, a_day: Floats, seen: Floats) -> Floats:
    """
    Draw what parts that work had been through before they were first seen.

    The chance of having served u is that of lasting u and all that was seen since: a part seen to come through much is
    likelier to have been young.

    Parameters
    ----------
    rng : Generator
    draws : Draws
        Weibull shape, and a column of scales for each part.
    a_day : array, shape = (n_draws, n_parts)
        Service age in a day of earlier service.
    seen : array, shape = (n_draws, n_parts)
        Service age since first sight at which they are known to work.

    Returns
    -------
    array, shape = (n_draws, n_parts)
        Service age before first sight.

    References
    ----------
    Cox (1962), Renewal Theory, chapter 5: ages of the parts found in use, and what is left of their lives.
    """
    shape, scale = draws.shape[:, None], draws.scale
    log_weight = np.stack(
        [share - ((seen + days * a_day) / scale) ** shape for days, share in zip(DAYS, LOG_SHARE, strict=True)]
    )
    reached = np.cumsum(np.exp(log_weight - log_weight.max(axis=0)), axis=0)
    place = (rng.random(seen.shape) * reached[-1] > reached).sum(axis=0)
    low, high = EDGES_DAYS[place], EDGES_DAYS[place + 1]
    found: Floats = (low + rng.random(seen.shape) * (high - low)) * a_day
    return found
