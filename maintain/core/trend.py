"""Are failures of repaired units coming faster or slower? Laplace and power-law trend, pooled over units.

A trend can only be seen in failure times in the order in which they happened. Gaps between failures that have been
sorted by length, as some published tables give them, carry no trend whatever and always look like one; nothing in the
numbers tells the two apart, so the caller must know where they come from.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from maintain.core.at_risk import Codes
from maintain.core.estimate import Estimate, exp_or_none, two_sided_z
from maintain.core.histories import Histories, Sharing, sharing
from maintain.core.lives import Bools, Floats
from maintain.core.shared_trend import shared_laplace, shared_shape
from maintain.core.wording import count as in_words
from maintain.errors import NotEnoughData

WORSE, BETTER, UNDECIDED = "getting worse", "getting better", "can't tell yet"
FEWEST_FOR_A_TREND = 5  # below, one failure more or less, or found a little later, turns the verdict round


@dataclass(frozen=True)
class Laplace:
    """
    Laplace's test: positive when failures crowd towards the end.

    Attributes
    ----------
    statistic : float
        Normal without trend; where failures share their luck, Student's t of their clusters if that is less sure.
    p : float
        Two-sided.
    p_alone : float
        The same were each failure news of its own.
    """

    statistic: float
    p: float
    p_alone: float


@dataclass(frozen=True)
class Reversals:
    """Reverse arrangements of the gaps between failures, and the number expected without trend."""

    count: int
    expected: float


@dataclass(frozen=True)
class PowerLaw:
    """
    Power-law process: mean number of failures of one unit up to t is (t / scale)^shape = rate * t^shape.

    Attributes
    ----------
    shape : Estimate
        Maximum likelihood; above 1 failures come ever faster, below 1 ever slower. Limits are exact (chi-square)
        where all watches began at 0, else by likelihood ratio; where failures share their luck, between clusters if
        those are wider. `limits` says which.
    shape_corrected : float or None
        The same corrected for bias; None where too few failures or some watch began after 0.
    rate, rate_corrected : float or None
        Factor of t^shape, with each of the two shapes.
    mtbf, mtbf_corrected : float or None
        Mean time between failures of one unit at `end`, with each of the two shapes.
    mtbf_lower, mtbf_upper : float or None
        Approximate limits of `mtbf_corrected` (NIST/SEMATECH e-Handbook 8.4.5.2).
    end : float
        Latest time watched.
    statistic, degrees : float or None, int
        2 * sum of ln(T/t): chi-square on `degrees` degrees of freedom when there is no trend (MIL-HDBK-189).
        None and 0 where some watch began after 0.
    p : float
        Two-sided p of no trend, by the same method as the limits.
    p_alone : float
        The same were each failure news of its own.
    limits : str
        "exact" or "likelihood ratio"; where failures share their luck, "... or between clusters" (or "events"), of
        which the wider hold.
    """

    shape: Estimate
    shape_corrected: float | None
    rate: float | None
    rate_corrected: float | None
    mtbf: float
    mtbf_corrected: float | None
    mtbf_lower: float | None
    mtbf_upper: float | None
    end: float
    statistic: float | None
    degrees: int
    p: float
    p_alone: float
    limits: str


@dataclass(frozen=True)
class Trend:
    """
    All trend tests of the same histories, and the verdict in words from the interval of the power-law shape.

    Attributes
    ----------
    shared : int or None
        How many clusters, or events, the tests are between; None: each failure is news of its own.
    """

    n_units: int
    failures: int
    shared: int | None
    laplace: Laplace
    power_law: PowerLaw
    reversals: Reversals | None
    verdict: str
    conf: float
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class _Counted:
    """Failures that carry information on trend, each with the window of its unit."""

    time: Floats
    start: Floats
    end: Floats
    failures: int  # all, including those that only end a watch
    exposure_start: Floats
    exposure_end: Floats
    shared: Sharing | None

    @property
    def from_new(self) -> bool:
        return not np.any(self.start > 0)


def trend(watched: Histories, *, conf: float = 0.95) -> Trend:
    """
    Test whether failures come faster or slower as units age, pooling units that may differ in rate.

    Parameters
    ----------
    watched : Histories
        A unit whose watch ends with its own last failure is failure-terminated: that failure only sets the end.
        Where clusters are known, tests and limits are also made between them, or between events if clusters are few,
        and the less sure ones hold.
    conf : float
        Confidence of the intervals and of the verdict.

    Returns
    -------
    Trend
        verdict "getting worse" if the whole interval of the shape lies above 1, "getting better" if below, else
        "can't tell yet", as with fewer than FEWEST_FOR_A_TREND failures. `reversals` only for a single unit.

    Raises
    ------
    NotEnoughData
        If fewer than two failures say anything about a trend.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.3.4 and 8.4.5.2; MIL-HDBK-189 (1981), appendix C;
    Crow (1974), in Reliability and Biometry, 379-410; Cox and Lewis (1966), chapter 3 (Laplace, pooled).
    """
    counted = _counted(watched)
    power = _power_law(counted, conf)
    return Trend(
        n_units=len(watched.units),
        failures=watched.failures,
        shared=counted.shared.count if counted.shared else None,
        laplace=_laplace(counted),
        power_law=power,
        reversals=_reversals(watched) if len(watched.units) == 1 else None,
        verdict=trend_verdict(power.shape) if watched.failures >= FEWEST_FOR_A_TREND else UNDECIDED,
        conf=conf,
        cautions=_cautions(watched, counted),
    )


def trend_verdict(shape: Estimate) -> str:
    """Return in words what the interval of a power-law shape says."""
    if shape.lower is not None and shape.lower > 1:
        return WORSE
    return BETTER if shape.upper is not None and shape.upper < 1 else UNDECIDED


def chance_of_silence(until_last: float, failures: int, silent: float) -> float:
    """
    Return how likely a silence is after the last failure, were nothing mended and the rate steady.

    Parameters
    ----------
    until_last : float
        Time from the start of the watch to the last failure.
    failures : int
        Failures until then, the last included.
    silent : float
        Time since then without a failure.

    Returns
    -------
    float
        A small one says that the mending helped, or luck. It is exact: the ratio of the silence to the mean time
        between the failures has an F distribution on 2 and 2 * failures degrees of freedom.

    References
    ----------
    Cox and Lewis (1966), The Statistical Analysis of Series of Events, chapter 9 (two Poisson rates).

    Examples
    --------
    >>> chance_of_silence(200.0, 2, 200.0)
    0.25
    """
    return float((until_last / (until_last + silent)) ** failures)


def _counted(watched: Histories) -> _Counted:
    keep = ~_terminating(watched)
    alone = replace(watched, unit=watched.unit[keep], time=watched.time[keep], event=_kept(watched.event, keep))
    shared = sharing(alone)
    if shared is not None and shared.count < 2:
        raise NotEnoughData(
            f"{watched.failures} failures of {in_words(len(watched.units), 'unit')} came together: "
            "2 events are needed for a trend"
        )
    if keep.sum() < 2:
        raise NotEnoughData(
            f"{in_words(watched.failures, 'failure')} of {in_words(len(watched.units), 'unit')}, "
            f"{int(keep.sum())} of them before the end of a watch: 2 are needed to see a trend",
            hint="a failure that ends a watch only sets its length; pool more units or wait",
        )
    unit = watched.unit[keep]
    return _Counted(
        time=watched.time[keep],
        start=watched.start[unit],
        end=watched.end[unit],
        failures=watched.failures,
        exposure_start=watched.start,
        exposure_end=watched.end,
        shared=shared,
    )


def _kept(column: Codes | None, keep: Bools) -> Codes | None:
    return None if column is None else column[keep]


def _terminating(watched: Histories) -> Bools:
    """Return True for the one failure (the last row of its unit) that ends its unit's watch."""
    last = np.append(watched.unit[1:] != watched.unit[:-1], True)
    ends: Bools = last & (watched.time == watched.end[watched.unit])
    return ends


def _laplace(counted: _Counted) -> Laplace:
    from scipy.special import ndtr

    unit = counted.end.max()
    width, middle = (counted.end - counted.start) / unit, (counted.end / unit + counted.start / unit) / 2
    statistic = float(np.sum(counted.time / unit - middle) / np.sqrt(np.sum(width**2) / 12))
    p = float(2 * ndtr(-abs(statistic)))
    if counted.shared is None:
        return Laplace(statistic, p, p)
    found = shared_laplace(counted.time, counted.start, counted.end, counted.shared.code)
    return Laplace(found.statistic, found.p, p) if found.p > p else Laplace(statistic, p, p)


def _power_law(counted: _Counted, conf: float) -> PowerLaw:
    count, end = counted.time.size, float(counted.exposure_end.max())
    corrected: float | None
    statistic: float | None
    if counted.from_new:
        logs = float(np.sum(np.log(counted.end / counted.time)))
        if logs <= 0:
            raise NotEnoughData(
                "every failure came at the end of its watch: no shape fits", hint="record when each happened"
            )
        # A failure that ends its watch adds nothing to the logs, yet counts: so the handbooks have it.
        shape, corrected = counted.failures / logs, (count - 1) / logs
        lower, upper, p = _exact_limits(logs, count, conf)
        limits, statistic, degrees = "exact", 2 * logs, 2 * count
    else:
        shape, lower, upper, p = _conditional_shape(counted, conf)
        corrected, limits, statistic, degrees = None, "likelihood ratio", None, 0
    p_alone = p
    if counted.shared is not None:
        between = shared_shape(counted.time, counted.start, counted.end, counted.shared.code, conf)
        lower, upper, p = between.or_wider(lower, upper, p)
        limits += " or between clusters" if counted.shared.whole else " or between events"
    rate, mtbf = _rate_and_mtbf(counted, shape, end)
    rate_corrected, mtbf_corrected = (None, None) if corrected is None else _rate_and_mtbf(counted, corrected, end)
    mtbf_lower, mtbf_upper = (None, None) if mtbf_corrected is None else _mtbf_limits(mtbf_corrected, count, conf)
    return PowerLaw(
        shape=Estimate(shape, lower, upper),
        shape_corrected=corrected,
        rate=rate,
        rate_corrected=rate_corrected,
        mtbf=mtbf,
        mtbf_corrected=mtbf_corrected,
        mtbf_lower=mtbf_lower,
        mtbf_upper=mtbf_upper,
        end=end,
        statistic=statistic,
        degrees=degrees,
        p=p,
        p_alone=p_alone,
        limits=limits,
    )


def _exact_limits(logs: float, count: int, conf: float) -> tuple[float, float | None, float]:
    """Return the limits of the shape and the p of shape 1: 2 * shape * logs is chi-square on 2 * count."""
    from scipy.special import gammaincinv
    from scipy.stats import chi2

    tail = (1 - conf) / 2
    lower, upper = (float(gammaincinv(count, share)) / logs for share in (tail, 1 - tail))
    below = float(chi2.cdf(2 * logs, 2 * count))
    return lower, upper, 2 * min(below, 1 - below)


def _conditional_shape(counted: _Counted, conf: float) -> tuple[float, float, float | None, float]:
    """Return shape, limits and p from the times given how many: each t has density shape t^(shape-1) / (T^s - S^s)."""
    from scipy.optimize import brentq
    from scipy.special import chdtrc

    scale = counted.end.max()
    log_time, begin, stop = np.log(counted.time / scale), counted.start / scale, counted.end / scale

    def log_likelihood(log_shape: float) -> float:
        shape = np.exp(log_shape)
        span = stop**shape - begin**shape
        return float(log_time.size * log_shape + (shape - 1) * log_time.sum() - np.log(span).sum())

    grid = np.linspace(-6, 5, 221)  # shapes from 0.0025 to 150: no pump or servo lies beyond
    peak = _peak(log_likelihood, grid)
    top = log_likelihood(peak)
    drop = two_sided_z(conf) ** 2 / 2

    def fall(log_shape: float) -> float:
        return top - log_likelihood(log_shape) - drop

    lower = float(np.exp(brentq(fall, grid[0], peak))) if fall(grid[0]) > 0 else 0.0
    upper = float(np.exp(brentq(fall, peak, grid[-1]))) if fall(grid[-1]) > 0 else None
    return float(np.exp(peak)), lower, upper, float(chdtrc(1, max(2 * (top - log_likelihood(0.0)), 0.0)))


def _peak(function: Callable[[float], float], grid: Floats) -> float:
    from scipy.optimize import minimize_scalar

    best = int(np.argmax([function(place) for place in grid]))
    inside = (grid[max(best - 1, 0)], grid[min(best + 1, grid.size - 1)])
    return float(
        minimize_scalar(lambda place: -function(place), bounds=inside, method="bounded", options={"xatol": 1e-10}).x
    )


def _rate_and_mtbf(counted: _Counted, shape: float, end: float) -> tuple[float | None, float]:
    """Return the factor of t^shape and the mean time between failures at `end`, worked out in units of `end`."""
    spans = (counted.exposure_end / end) ** shape - (counted.exposure_start / end) ** shape
    rate = counted.failures / float(np.sum(spans))
    return exp_or_none(float(np.log(rate) - shape * np.log(end))), end / (rate * shape)


def _mtbf_limits(mtbf: float, count: int, conf: float) -> tuple[float, float | None]:
    z = two_sided_z(conf)
    low = count + z**2 / 4 + np.sqrt(count * z**2 / 2 + z**4 / 16)
    high = count - z * np.sqrt(count / 2)
    scaled = mtbf * count * (count - 1)
    return float(scaled / low**2), float(scaled / high**2) if high > 0 else None


def _reversals(watched: Histories) -> Reversals:
    gaps = np.diff(np.concatenate((watched.start, watched.time)))
    later_longer = np.triu(gaps[None, :] > gaps[:, None], k=1)
    return Reversals(int(later_longer.sum()), gaps.size * (gaps.size - 1) / 4)


def _cautions(watched: Histories, counted: _Counted) -> tuple[str, ...]:
    found = []
    if watched.failures < FEWEST_FOR_A_TREND:
        found.append(f"{in_words(watched.failures, 'failure')}: too few to call a trend, however the tests come out")
    dropped = watched.failures - counted.time.size
    if dropped:
        found.append(f"the watch of {dropped} units ended with a failure; those failures only set the end")
    return tuple(found)
