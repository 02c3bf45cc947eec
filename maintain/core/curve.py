"""Life curves without a model: Kaplan-Meier and Nelson-Aalen with delayed entry, whole arrays at a time.

Our own rather than lifelines': that one stops when an early risk set empties, smooths its Nelson-Aalen by default,
and takes an order of magnitude longer on a million lives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.estimate import Band, Estimate, check_share, two_sided_z
from maintain.core.lives import Floats, Lives
from maintain.core.ordered import Counts, all_in_order, before, distinct
from maintain.errors import InvalidRecord, NotEnoughData

# A product of fractions misses an exact half by a few units in the last place; this reads it as the half it is.
SHARE_TOLERANCE = 1e-10


@dataclass(frozen=True)
class CurvePoints:
    """What a curve says at asked times: arrays of one shape; nan: nobody was seen that long."""

    time: Floats
    survival: Floats
    lower: Floats
    upper: Floats
    at_risk: Counts


@dataclass(frozen=True)
class SurvivalCurve:
    """
    A Kaplan-Meier curve and the Nelson-Aalen cumulative hazard; one row per distinct failure time.

    Attributes
    ----------
    n, failures : int
        Lives, and failures among them.
    conf : float
        Confidence of all intervals.
    time : array, shape = (k,)
        Distinct times of failure, rising.
    at_risk, events : array, shape = (k,)
        Lives with entry < time <= exit, and failures among them.
    survival, variance, lower, upper : array, shape = (k,)
        Share still working just after `time`, its Greenwood variance, and pointwise limits made on the log(-log)
        scale. Where the share has come to 0 that scale has no limits: lower is 0 and upper stays as it was before.
    hazard, hazard_lower, hazard_upper : array, shape = (k,)
        Cumulative hazard, sum of events / at_risk, with limits made on the log scale.
    entered, censored : array
        All entries, and the exits of those that did not fail; each sorted.
    emptied_at : float or None
        The first time at which everyone then at risk failed although others were seen working later. It happens
        where few lives are seen young (delayed entry). From there on the curve is 0 and means nothing: ask instead
        for the curve of those alive at a later age (`condition_on`).
    """

    n: int
    failures: int
    conf: float
    time: Floats
    at_risk: Counts
    events: Counts
    survival: Floats
    variance: Floats
    lower: Floats
    upper: Floats
    hazard: Floats
    hazard_lower: Floats
    hazard_upper: Floats
    entered: Floats
    censored: Floats
    emptied_at: float | None

    @property
    def start(self) -> float:
        """The least entry: the curve is the share still working of those that worked at this age."""
        return float(self.entered[0])

    @property
    def end(self) -> float:
        """The longest time at which anyone was seen."""
        return float(max(ends[-1] for ends in (self.time, self.censored) if ends.size))

    @property
    def emptied_until(self) -> float | None:
        """The last such time as `emptied_at`: from there on the curve of those still working means something."""
        emptied = self.time[(self.at_risk == self.events) & (self.time < self.end)]
        return float(emptied[-1]) if emptied.size else None

    @property
    def median(self) -> Estimate:
        """The time by which half have failed."""
        return self.quantile(0.5)

    def survival_at(self, times: ArrayLike) -> CurvePoints:
        """
        Read the curve at any times.

        Parameters
        ----------
        times : array-like, shape = (m,)
            Use, in the unit of the lives.

        Returns
        -------
        CurvePoints
            After the longest time seen the share is nan, unless it had come to 0. Before the first failure the
            share is 1 and its lower limit is the exact one for no failure among the fewest at risk until then,
            (alpha/2)^(1/fewest).
        """
        asked = np.atleast_1d(np.asarray(times, dtype=np.float64))
        row = np.searchsorted(self.time, asked, side="right")
        survival, lower, upper = (
            np.concatenate(([first], column))[row]
            for first, column in ((1.0, self.survival), (np.nan, self.lower), (1.0, self.upper))
        )
        early = row == 0
        lower[early] = ((1 - self.conf) / 2) ** (1 / np.maximum(self._fewest_at_risk(asked[early]), 1e-9))
        unseen = (asked > self.end) & (survival > 0)
        survival[unseen] = lower[unseen] = upper[unseen] = np.nan
        return CurvePoints(asked, survival, lower, upper, self._at_risk(asked))

    def hazard_at(self, times: ArrayLike) -> Band:
        """Read the cumulative hazard (failures per part, had each been replaced at once) at any times."""
        row = np.searchsorted(self.time, np.atleast_1d(np.asarray(times, dtype=np.float64)), side="right")
        columns = (self.hazard, self.hazard_lower, self.hazard_upper)
        return Band(*(np.concatenate(([0.0], column))[row] for column in columns))

    def quantile(self, share: float) -> Estimate:
        """
        Return the time by which a share has failed.

        Parameters
        ----------
        share : float
            Share failed, between 0 and 1; 0.1 gives B10.

        Returns
        -------
        Estimate
            The smallest time at which the curve is at or below 1 - share. Its limits are where the lower and upper
            limits of the curve come there; None where they do not.

        References
        ----------
        Brookmeyer and Crowley (1982), Biometrics 38, 29-41.
        """
        level = 1 - check_share(share, "share") + SHARE_TOLERANCE
        value, lower, upper = (self._first_at_or_below(column, level) for column in self._bands())
        return Estimate(value, lower, upper)

    def restricted_mean(self, tau: float) -> Estimate:
        """
        Return the mean life up to a limit: the area under the curve from 0 to `tau`.

        Parameters
        ----------
        tau : float
            The limit, in the unit of the lives.

        Returns
        -------
        Estimate
            With the Greenwood-type standard error, sqrt(sum of A^2 d / (r (r - d))) over failure times up to tau,
            A the area from there to tau; normal limits, kept within 0 and tau.

        Raises
        ------
        InvalidRecord
            If `tau` is not positive.
        NotEnoughData
            If `tau` is later than anyone was seen and some were still working then.

        References
        ----------
        Klein and Moeschberger (2003), Survival Analysis, 2nd ed., section 4.5.
        """
        if not (tau > 0 and np.isfinite(tau)):
            raise InvalidRecord(f"the limit of a restricted mean must be positive, not {tau}")
        if tau > self.end and (self.failures == 0 or self.survival[-1] > 0):
            raise NotEnoughData(
                f"nobody was seen for {tau:g}: the longest is {self.end:g}",
                hint=f"choose a limit of at most {self.end:g}",
                longest=self.end,
            )
        until = int(np.searchsorted(self.time, tau, side="right"))
        # In units of tau, so that squares stay floats whatever the unit of time.
        steps = np.diff(np.concatenate(([0.0], self.time[:until], [tau])) / tau)
        areas = steps * np.concatenate(([1.0], self.survival[:until]))
        beyond = np.cumsum(areas[::-1])[::-1][1:]
        mean, se = float(areas.sum() * tau), float(np.sqrt(self._mean_spread(beyond)) * tau)
        half = two_sided_z(self.conf) * se
        return Estimate(mean, max(mean - half, 0.0), min(mean + half, float(tau)), se)

    def _mean_spread(self, beyond: Floats) -> float:
        """Return the variance of the area under the curve, from the area `beyond` each of the first failure times."""
        risk, died = self.at_risk[: beyond.size], self.events[: beyond.size]
        spread = np.where(risk > died, beyond**2 * died / (risk * np.maximum(risk - died, 1.0)), 0.0)
        return float(spread.sum())

    def _at_risk(self, times: Floats) -> Counts:
        gone = np.concatenate(([0], np.cumsum(self.events)))[np.searchsorted(self.time, times, side="left")]
        watched = np.searchsorted(self.entered, times, side="left") - np.searchsorted(self.censored, times, side="left")
        return watched - gone

    def _bands(self) -> tuple[Floats, Floats, Floats]:
        return self.survival, self.lower, self.upper

    def _first_at_or_below(self, column: Floats, level: float) -> float | None:
        reached = np.flatnonzero(column <= level)
        return float(self.time[reached[0]]) if reached.size else None

    def _fewest_at_risk(self, times: Floats) -> Floats:
        """Return the fewest at risk at any moment after `start` and up to each time (the count is least at entries)."""
        points = self.entered[self.entered > self.start]
        fewest = np.minimum.accumulate(self._at_risk(points))
        row = np.searchsorted(points, times, side="right")
        seen = np.where(times > self.start, self._at_risk(times), np.iinfo(np.int64).max)
        return np.minimum(seen, np.concatenate(([np.iinfo(np.int64).max], fewest))[row]).astype(np.float64)


def survival_curve(lives: Lives, conf: float = 0.95) -> SurvivalCurve:
    """
    Estimate the share of parts still working after each amount of use.

    Failures come before censorings at the same time; a life is at risk at t if entry < t <= exit.

    Parameters
    ----------
    lives : Lives
        Exact or right-censored lives, with or without delayed entry.
    conf : float
        Confidence of the two-sided intervals.

    Returns
    -------
    SurvivalCurve

    Raises
    ------
    NotEnoughData
        If there are no lives.
    InvalidRecord
        If some failures are known only to an interval (use `interval_curve`), or `conf` is not between 0 and 1.

    References
    ----------
    Kaplan and Meier (1958), J. Am. Stat. Assoc. 53, 457-481. Greenwood (1926). Tsai, Jewell and Wang (1987),
    Biometrika 74, 883-886 for delayed entry. Intervals and Nelson-Aalen: Klein and Moeschberger (2003),
    Survival Analysis, 2nd ed., sections 4.2 to 4.4 and 4.6.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> survival_curve(lives_from_times([2, 3, 5], [True, False, True])).survival.round(3).tolist()
    [0.667, 0.0]
    """
    z = two_sided_z(conf)
    if lives.n == 0:
        raise NotEnoughData("no lives, no curve", hint="record installations and failures first")
    if lives.interval_censored:
        raise InvalidRecord("some failures are known only to an interval", hint="use the curve for intervals")
    failed = lives.failed
    exits = lives.upper.take(np.flatnonzero(failed)), lives.lower.take(np.flatnonzero(~failed))
    entered, ended, censored = all_in_order(lives.entry, *exits)
    time, events = distinct(ended)
    at_risk = before(entered, time) - before(censored, time) - (np.cumsum(events) - events)
    share, left = events / at_risk, at_risk - events
    survival: Floats = np.cumprod(1 - share, dtype=np.float64)
    spread = np.cumsum(np.divide(share, left, out=np.zeros_like(share), where=left > 0))
    lower, upper = log_log_limits(survival, np.sqrt(spread), z)
    hazard = np.cumsum(share)
    hazard_lower, hazard_upper = hazard_limits(hazard, np.sqrt(np.cumsum(share / at_risk)), z)
    emptied = time[(left == 0) & (time < lives.lower.max())]
    return SurvivalCurve(
        n=lives.n,
        failures=int(events.sum()),
        conf=conf,
        time=time,
        at_risk=at_risk,
        events=events,
        survival=survival,
        variance=survival**2 * spread,
        lower=lower,
        upper=upper,
        hazard=hazard,
        hazard_lower=hazard_lower,
        hazard_upper=hazard_upper,
        entered=entered,
        censored=censored,
        emptied_at=float(emptied[0]) if emptied.size else None,
    )


def condition_on(lives: Lives, start: float) -> Lives:
    """
    Keep the lives known to work at an age, observed from that age on.

    Parameters
    ----------
    lives : Lives
        Exact or right-censored lives; intervals must not straddle `start`.
    start : float
        Age, in the unit of the lives.

    Returns
    -------
    Lives
        Those with exit > start, entry raised to at least `start`.

    Raises
    ------
    InvalidRecord
        If a failure may lie on either side of `start`.
    NotEnoughData
        If nobody was seen beyond `start`.
    """
    if np.any(lives.failed & (lives.lower < start) & (start < lives.upper)):
        raise InvalidRecord(
            f"a failure interval straddles {start:g}: it is not known whether that part worked then",
            hint="choose an age that falls inside no interval",
        )
    alive = np.where(lives.failed, lives.upper, lives.lower) > start
    if not alive.any():
        raise NotEnoughData(f"nobody was seen beyond {start:g}", hint="choose an earlier age")
    kept = lives.take(alive)
    return Lives(np.maximum(kept.entry, start), kept.lower, kept.upper)


def log_log_limits(survival: Floats, log_se: Floats, z: float) -> tuple[Floats, Floats]:
    """Return the limits S^exp(+/- z se / ln S); `log_se` is the standard error of ln S."""
    end = int(np.searchsorted(-survival, 0.0))  # a curve that has come to 0 stays there
    log_share = np.log(survival[:end])
    factor = np.exp(z * log_se[:end] / log_share)
    lower, upper = np.zeros_like(survival), np.ones_like(survival)
    lower[:end] = np.exp(log_share / factor)
    upper[:end] = np.exp(log_share * factor)
    if end:
        upper[end:] = upper[end - 1]
    return lower, upper


def hazard_limits(hazard: Floats, se: Floats, z: float) -> tuple[Floats, Floats]:
    """Return limits of a cumulative hazard, made on the log scale: H exp(+/- z se / H)."""
    factor = np.exp(z * se / hazard)
    return hazard / factor, hazard * factor
