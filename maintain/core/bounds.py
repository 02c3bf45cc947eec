"""What can be said with no failure, or few: exact bounds, no fit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from maintain.core.estimate import Estimate, check_share
from maintain.core.lives import Lives
from maintain.errors import InvalidRecord, NotEnoughData


def total_use(lives: Lives) -> float:
    """Return the use under observation, summed over lives; a failure in an interval counts up to its lower end."""
    return float(np.sum(np.maximum(lives.lower, lives.entry) - lives.entry))


def exponential_bound(lives: Lives, conf: float = 0.95) -> float:
    """
    Return a one-sided lower bound on the mean life, were the hazard steady.

    Parameters
    ----------
    lives : Lives
        Any number of failures, none included.
    conf : float
        Confidence of the bound.

    Returns
    -------
    float
        2 T / chi2(conf; 2 r + 2), observation ending at a time and not at a failure; T / -ln(1 - conf) with none.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> round(exponential_bound(lives_from_times([1000], [False])), 1)
    333.8
    """
    return mean_life_bound(total_use(lives), lives.failures, conf)


def mean_life_bound(use: float, failures: int = 0, conf: float = 0.95) -> float:
    """
    Return the one-sided lower bound on the mean life for a total use.

    Parameters
    ----------
    use : float
        Use of all parts together, up to a time set beforehand.
    failures : int
    conf : float
        Confidence of the bound.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.5.1.
    """
    from scipy.stats import chi2

    _check_use(use, failures)
    return float(2 * use / chi2.ppf(check_share(conf, "confidence"), 2 * failures + 2))


def mean_life_limits(use: float, failures: float, conf: float = 0.95) -> Estimate:
    """
    Return two-sided limits on the mean life for a total use, were the hazard steady.

    Parameters
    ----------
    use : float
        Use of all parts together, up to a time set beforehand.
    failures : float
        Not a whole number where failures count for less than one each, because they hang together.
    conf : float
        Confidence of the interval.

    Returns
    -------
    Estimate
        With no failure, value and upper limit are None.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.5.1.
    """
    from scipy.stats import chi2

    _check_use(use, failures)
    tail = (1 - check_share(conf, "confidence")) / 2
    lower = float(2 * use / chi2.ppf(1 - tail, 2 * failures + 2))
    if failures == 0:
        return Estimate(None, lower, None)
    return Estimate(use / failures, lower, float(2 * use / chi2.ppf(tail, 2 * failures)))


def failure_share_limits(failures: int, trials: int, conf: float = 0.95) -> Estimate:
    """
    Return exact two-sided limits on the share that fails.

    Parameters
    ----------
    failures, trials : int
    conf : float
        Confidence of the interval.

    References
    ----------
    Clopper and Pearson (1934), Biometrika 26, 404-413.
    """
    from scipy.stats import beta

    _check_trials(failures, trials)
    tail = (1 - check_share(conf, "confidence")) / 2
    lower = float(beta.ppf(tail, failures, trials - failures + 1)) if failures else 0.0
    upper = float(beta.ppf(1 - tail, failures + 1, trials - failures)) if failures < trials else 1.0
    return Estimate(failures / trials, lower, upper)


def failure_share_bound(failures: int, trials: int, conf: float = 0.95) -> float:
    """
    Return the exact one-sided upper bound on the share that fails; about 3 / trials with no failure.

    Parameters
    ----------
    failures, trials : int
    conf : float
        Confidence of the bound.

    Examples
    --------
    >>> round(failure_share_bound(0, 30), 3)
    0.095
    """
    from scipy.stats import beta

    _check_trials(failures, trials)
    share = check_share(conf, "confidence")
    return float(beta.ppf(share, failures + 1, trials - failures)) if failures < trials else 1.0


def trials_to_show(reliability: float, conf: float = 0.95, failures: int = 0) -> int:
    """
    Return how many parts must be tried, with at most so many failures, to show a reliability.

    Parameters
    ----------
    reliability : float
        Share that must work, between 0 and 1.
    conf : float
        Confidence wanted.
    failures : int
        Failures allowed.

    Returns
    -------
    int
        The least n with P(at most `failures` of n fail) <= 1 - conf at that reliability.

    Examples
    --------
    >>> trials_to_show(0.9, 0.95)
    29
    """
    from scipy.stats import binom

    fails, miss = 1 - check_share(reliability, "reliability"), 1 - check_share(conf, "confidence")
    _check_trials(failures, failures + 1)
    least, most = failures, failures + 1
    while binom.cdf(failures, most, fails) > miss + 1e-12:
        least, most = most, 2 * most
    while most - least > 1:
        middle = (least + most) // 2
        least, most = (least, middle) if binom.cdf(failures, middle, fails) <= miss + 1e-12 else (middle, most)
    return most


@dataclass(frozen=True)
class KnownShapeBound:
    """
    A Weibull law no worse than which the parts are, if its shape is as assumed.

    Attributes
    ----------
    shape, scale : float
        The shape assumed, and the lower bound on the scale.
    conf : float
        One-sided confidence of the bound.
    """

    shape: float
    scale: float
    conf: float

    def survival_at(self, time: float) -> float:
        """Return the lower bound on the share still working at `time`."""
        return math.exp(-((time / self.scale) ** self.shape))

    def quantile(self, share: float) -> float:
        """Return the lower bound on the time by which a share has failed."""
        return float(self.scale * (-math.log1p(-check_share(share, "share"))) ** (1 / self.shape))


def known_shape_bound(lives: Lives, shape: float, conf: float = 0.95) -> KnownShapeBound:
    """
    Return a lower bound on the Weibull scale for an assumed shape.

    Parameters
    ----------
    lives : Lives
        Any number of failures, none included.
    shape : float
        Assumed from other parts of the kind; the bound is worth no more than that assumption.
    conf : float
        Confidence of the one-sided bound.

    Raises
    ------
    InvalidRecord
        If `shape` is not positive.
    NotEnoughData
        If nothing was observed.

    References
    ----------
    Nelson (1985), J. Quality Technology 17(3) (from memory).
    """
    if not (shape > 0 and math.isfinite(shape)):
        raise InvalidRecord(f"shape must be positive, not {shape}")
    if lives.n == 0:
        raise NotEnoughData("no lives, no bound", hint="record installations first")
    worked = np.maximum(lives.lower, lives.entry)
    longest = float(np.max(worked)) or 1.0
    powered = float(np.sum((worked / longest) ** shape - (lives.entry / longest) ** shape))
    return KnownShapeBound(shape, longest * mean_life_bound(powered, lives.failures, conf) ** (1 / shape), conf)


def _check_use(use: float, failures: float) -> None:
    if not (use > 0 and math.isfinite(use)):
        raise NotEnoughData(f"a total use of {use:g} bounds nothing", hint="record how long each part has worked")
    if failures < 0:
        raise InvalidRecord(f"failures must not be negative, not {failures}")


def _check_trials(failures: int, trials: int) -> None:
    if not 0 <= failures <= trials or trials < 1:
        raise InvalidRecord(f"{failures} failures of {trials} is no count of trials")
