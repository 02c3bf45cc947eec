"""Points for probability paper: on a law's own paper its lives lie along a straight line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.curve import survival_curve
from maintain.core.estimate import Band
from maintain.core.fit import Fit
from maintain.core.lives import Floats, Lives
from maintain.core.models import model_named
from maintain.core.wording import count
from maintain.errors import NotEnoughData


@dataclass(frozen=True)
class PaperPoints:
    """
    Failures on probability paper.

    Attributes
    ----------
    time : array, shape = (k,)
        Distinct times of failure.
    failed_share : array, shape = (k,)
        Share failed, read half-way up the step of the Kaplan-Meier curve at each.
    height : array, shape = (k,)
        Where that share lies on the paper, to be drawn against log time.
    """

    time: Floats
    failed_share: Floats
    height: Floats


def probability_points(lives: Lives, fitted: Fit) -> PaperPoints:
    """
    Place failures on the paper of a fitted law.

    Parameters
    ----------
    lives : Lives
        Exact or right-censored lives, with or without delayed entry.
    fitted : Fit
        Gives the paper. Under delayed entry the curve is that of parts already working at the least entry; the fit
        supplies how many get that far.

    Returns
    -------
    PaperPoints
        Without censoring or delayed entry the shares are (i - 1/2) / n. Ends where the curve empties.

    Raises
    ------
    NotEnoughData
        If there are no failures.
    InvalidRecord
        If some failures are known only to an interval.

    References
    ----------
    Lawless (2003), Statistical Models and Methods for Lifetime Data, 2nd ed., section 3.3.2; for delayed entry Meeker
    and Escobar (1998), Statistical Methods for Reliability Data, section 11.5 (from memory).
    """
    curve = survival_curve(lives, fitted.conf)
    if curve.failures == 0:
        raise NotEnoughData(
            f"no failure among {count(lives.n, 'life')}: there is nothing to place", hint="wait for a failure"
        )
    before = np.concatenate(([1.0], curve.survival[:-1]))
    shown = before > 0
    reached = fitted.survival_at(curve.start).value[0]
    share = 1 - reached * (before + curve.survival)[shown] / 2
    return PaperPoints(curve.time[shown], share, paper_height(share, fitted.model))


def paper_height(shares: ArrayLike, model: str) -> Floats:
    """
    Return where failed shares lie on the paper of a law.

    Parameters
    ----------
    shares : array-like, shape = (k,)
        Shares failed, between 0 and 1.
    model : str

    Returns
    -------
    array, shape = (k,)
        On the exponential's paper, as on the Weibull's, log(-log(1 - share)).

    Examples
    --------
    >>> paper_height([0.5], "lognormal").tolist()
    [0.0]
    """
    return model_named(model).quantile(np.asarray(shares, dtype=np.float64))


def fitted_line(fitted: Fit, times: ArrayLike) -> Band:
    """
    Return the fit's line on its own paper, with its limits.

    Parameters
    ----------
    fitted : Fit
    times : array-like, shape = (k,)
        Positive.

    Returns
    -------
    Band
        Heights as of `paper_height`; `lower` is the height of the lower limit of the share failed.
    """
    band = fitted.survival_at(times)
    least, most = 1e-15, 1 - 1e-15
    value, lower, upper = (
        paper_height(np.clip(1 - share, least, most), fitted.model) for share in (band.value, band.upper, band.lower)
    )
    return Band(value, lower, upper)
