"""How many failures and lives an answer needs, and how much power it had: log-rank, two shares, a shape."""

from __future__ import annotations

import math
from statistics import NormalDist

from maintain.core.estimate import Estimate, check_share, two_sided_z
from maintain.errors import InvalidRecord

NORMAL = NormalDist()

# Fewer failures say too little of a shape even to tell how many more it takes: of five lives whose true Weibull shape
# is 1, the estimate lies above 1.66 one time in four and above 2.9 one time in twenty (simulated).
FEWEST_FOR_A_SHAPE = 5
MOST_TO_TELL = 1000  # beyond as many failures no club will ever tell


def events_by_schoenfeld(hazard_ratio: float, power: float = 0.8, *, conf: float = 0.95, share: float = 0.5) -> float:
    """
    Return the failures that two groups need together for a two-sided log-rank test, before rounding up.

    Parameters
    ----------
    hazard_ratio : float
        Ratio worth finding; not 1.
    power : float
        Chance of finding it.
    conf : float
        One less the two-sided level of the test.
    share : float
        Share of lives in the first group.

    Raises
    ------
    InvalidRecord
        If the ratio is not positive or is 1, or a share is not between 0 and 1.

    References
    ----------
    Schoenfeld (1981), Biometrika 68, 316-319.

    Examples
    --------
    >>> round(events_by_schoenfeld(0.5), 5)
    65.34566
    """
    check_share(share, "share of the first group")
    return _squared_z(power, conf) / (share * (1 - share) * math.log(_ratio(hazard_ratio)) ** 2)


def events_by_freedman(hazard_ratio: float, power: float = 0.8, *, conf: float = 0.95) -> float:
    """
    Return the failures that two groups of one size need together, before rounding up, by the other usual formula.

    Parameters
    ----------
    hazard_ratio, power, conf : float
        As `events_by_schoenfeld`.

    References
    ----------
    Freedman (1982), Statistics in Medicine 1, 121-129.

    Examples
    --------
    >>> round(events_by_freedman(0.5), 5)
    70.63992
    """
    ratio = _ratio(hazard_ratio)
    return _squared_z(power, conf) * ((1 + ratio) / (1 - ratio)) ** 2


def power_of_log_rank(
    events: float, hazard_ratio: float, *, conf: float = 0.95, share: float = 0.5, design_effect: float = 1.0
) -> float:
    """
    Return the chance that a log-rank test with so many failures would have found a hazard ratio (either side).

    Parameters
    ----------
    events : float
        Failures in both groups.
    hazard_ratio, conf, share : float
        As `events_by_schoenfeld`.
    design_effect : float
        What clustering divides the failures by; see `design_effect`.
    """
    check_share(share, "share of the first group")
    shift = abs(math.log(_ratio(hazard_ratio))) * math.sqrt(events * share * (1 - share) / design_effect)
    z = two_sided_z(conf)
    return NORMAL.cdf(shift - z) + NORMAL.cdf(-shift - z)


def detectable_hazard_ratio(
    events: float, power: float = 0.8, *, conf: float = 0.95, share: float = 0.5, design_effect: float = 1.0
) -> float | None:
    """
    Return the smallest hazard ratio above 1 that so many failures can find; None without failures.

    Parameters
    ----------
    events, power, conf, share, design_effect
        As `power_of_log_rank` and `events_by_schoenfeld`.
    """
    if events <= 0:
        return None
    exponent = math.sqrt(_squared_z(power, conf) * design_effect / (events * share * (1 - share)))
    return math.exp(exponent) if exponent < 700 else None


def design_effect(mean_size: float, icc: float) -> float:
    """
    Return how many times more lives are needed because lives of one ship or sinking fail together: 1 + (m - 1) icc.

    Parameters
    ----------
    mean_size : float
        Lives of one cluster (m).
    icc : float
        Correlation of failing within a cluster, 0 to 1.

    References
    ----------
    Kish (1965), Survey Sampling, section 5.4.

    Examples
    --------
    >>> round(design_effect(5, 0.1), 6)
    1.4
    """
    if mean_size < 1 or not 0 <= icc <= 1:
        raise InvalidRecord(f"a cluster has 1 life or more and a correlation from 0 to 1, not {mean_size} and {icc}")
    return 1 + (mean_size - 1) * icc


def lives_for_two_shares(first: float, second: float, power: float = 0.8, *, conf: float = 0.95) -> float:
    """
    Return the lives each of two groups needs to tell two failing shares apart, before rounding up.

    Parameters
    ----------
    first, second : float
        Share failing in each group by the end of the trial.
    power, conf : float
        As `events_by_schoenfeld`.

    Raises
    ------
    InvalidRecord
        If the shares are equal or not between 0 and 1.

    References
    ----------
    Fleiss, Levin and Paik (2003), Statistical Methods for Rates and Proportions, 3rd ed., equation 4.14
    (normal approximation, without continuity correction).

    Examples
    --------
    >>> round(lives_for_two_shares(0.4, 0.2), 1)
    81.2
    """
    if check_share(first, "failing share") == check_share(second, "failing share"):
        raise InvalidRecord(f"both shares are {first}: no number of lives tells equals apart")
    middle = (first + second) / 2
    spread = two_sided_z(conf) * math.sqrt(2 * middle * (1 - middle)) + NORMAL.inv_cdf(
        check_share(power, "power")
    ) * math.sqrt(first * (1 - first) + second * (1 - second))
    return spread**2 / (first - second) ** 2


def power_for_two_shares(
    lives: float, first: float, second: float, *, conf: float = 0.95, design_effect: float = 1.0
) -> float:
    """
    Return the chance that two groups of so many lives each tell two failing shares apart.

    Parameters
    ----------
    lives : float
        Of each group.
    first, second, conf
        As `lives_for_two_shares`.
    design_effect : float
        What clustering divides the lives by.
    """
    middle = (check_share(first, "failing share") + check_share(second, "failing share")) / 2
    gap = abs(first - second) * math.sqrt(lives / design_effect)
    spread = math.sqrt(first * (1 - first) + second * (1 - second))
    return NORMAL.cdf((gap - two_sided_z(conf) * math.sqrt(2 * middle * (1 - middle))) / spread)


def failures_to_tell(shape: Estimate, failures: int, conf: float = 0.95, power: float = 0.8) -> int | None:
    """
    Return at how many failures in all the interval of a shape leaves 1 out, if the shape stays what it is.

    Parameters
    ----------
    shape : Estimate
        Of a Weibull law, or of a power-law trend, with limits at `conf`.
    failures : int
        Those it rests on; the limits of its logarithm close in with the root of their number.
    conf : float
    power : float
        Chance that the interval leaves 1 out at that number.

    Returns
    -------
    int or None
        None where it can't be said: fewer than FEWEST_FOR_A_SHAPE failures, no limits, a shape of 1, or more than
        MOST_TO_TELL.

    References
    ----------
    The normal approximation of any sample size (Meeker, Hahn and Escobar 2017, Statistical Intervals, 2nd ed.,
    chapter 8), on the log scale.

    Examples
    --------
    >>> failures_to_tell(Estimate(1.5, 0.9, 2.5), 10)
    33
    """
    if failures < FEWEST_FOR_A_SHAPE or not (shape.value and shape.lower and shape.upper) or shape.value == 1:
        return None
    se = math.log(shape.upper / shape.lower) / 2 / two_sided_z(conf)
    needed = math.ceil(failures * _squared_z(power, conf) * (se / math.log(shape.value)) ** 2)
    return needed if failures < needed <= MOST_TO_TELL else None


def hazard_ratio_of_shares(first: float, second: float) -> float:
    """
    Return the hazard ratio, second over first, under which these shares have failed by one and the same time.

    Examples
    --------
    >>> round(hazard_ratio_of_shares(0.4, 0.2), 4)
    0.4368
    """
    return math.log1p(-check_share(second, "failing share")) / math.log1p(-check_share(first, "failing share"))


def _squared_z(power: float, conf: float) -> float:
    return (two_sided_z(conf) + NORMAL.inv_cdf(check_share(power, "power"))) ** 2


def _ratio(hazard_ratio: float) -> float:
    if not (hazard_ratio > 0 and math.isfinite(hazard_ratio)) or hazard_ratio == 1:
        raise InvalidRecord(f"a hazard ratio worth finding is positive and not 1, not {hazard_ratio}")
    return hazard_ratio
