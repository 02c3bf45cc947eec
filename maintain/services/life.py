"""How long parts last: life curves of a sample, group by group, without a law."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import found_late_caution, observed, when_found
from maintain.core.curve import SurvivalCurve, condition_on, survival_curve
from maintain.core.estimate import Estimate, two_sided_z
from maintain.core.interval_limits import DRAWS, Resampling, interval_limits
from maintain.core.lives import Floats, Lives
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import Figure, GroupCurve, LifeCurves, RestrictedMean, SurvivalAt
from maintain.services.life_pictures import corners_of, drawn_corners, drawn_steps, round_times
from maintain.services.lives.samples import Sample

SEED = 1  # the same lives always have the same limits
EMPTIED = "all seen so young had failed, though others were seen later"
CLUSTERED = (
    "limits take every life on its own; parts of one ship share her sinkings, and where ships differ that is too "
    "narrow: limits meant to hold 95 times in 100 held 84 times (docs/coverage.csv)"
)
MOST_DRAWN = 2000  # to draw more lives than this again and again takes longer than anybody waits


@dataclass(frozen=True)
class Question:
    """
    What is asked of a sample.

    Attributes
    ----------
    at : tuple of float
        Times to read at; none: round times over the whole range. The last of them limits the restricted mean, which
        else goes as far as every group was watched.
    conf : float
        Confidence of all intervals.
    given : float, optional
        An age: answer for the parts that worked then.
    """

    at: tuple[float, ...] = ()
    conf: float = 0.95
    given: float | None = None

    def check(self) -> None:
        """Refuse times that are no times."""
        two_sided_z(self.conf)
        for name, times in (("--at", self.at), ("--given", () if self.given is None else (self.given,))):
            if not all(math.isfinite(time) and time >= 0 for time in times):
                raise InvalidRecord(f"{name} takes times of 0 or more", hint="write for example: --at 100,200,365")


def curve(sample: Sample, question: Question, *, show_hazard: bool = False) -> LifeCurves:
    """Draw the life curve of every group."""
    question.check()
    groups = sample.groups()
    ends = [longest(one.lives) for one in groups.values()]
    start = max(question.given or 0.0, float(sample.lives.entry.min()))
    if start >= min(ends):
        late = [name for name, end in zip(groups, ends, strict=True) if end <= start]
        where = f" of {', '.join(late)}" if sample.by else ""
        raise NotEnoughData(f"nobody{where} was seen beyond {start:g}", hint="choose an earlier age", groups=late)
    round_ones = round_times(max(ends), start)
    tau = min((*ends, max(question.at)) if question.at and max(question.at) > 0 else ends)
    reading = _Reading(np.array(question.at or round_ones), tau, question, np.array([start, *round_ones]))
    drawn, notes = [], []
    for name, one in groups.items():
        found, said = _curve_of(name, one, reading)
        drawn.append(found)
        notes += [f"{name}: {line}" if sample.by else line for line in said]
    if any(each.estimator == "Kaplan-Meier" for each in drawn):
        notes += _on_its_own(sample)
    return LifeCurves(sample.source(question.conf, notes), tuple(drawn), show_hazard)


@dataclass(frozen=True)
class _Reading:
    times: Floats
    tau: float
    question: Question
    watched_at: Floats


def _curve_of(name: str, one: Sample, reading: _Reading) -> tuple[GroupCurve, list[str]]:
    lives, notes, given = one.lives, _few(one.lives), reading.question.given
    if lives.interval_censored and (given or np.any(lives.entry > 0)):
        notes, lives = [*notes, *found_late_caution(lives)], when_found(lives)
    if lives.interval_censored:
        return _interval_curve_of(name, one, reading)
    if given is not None:
        lives = condition_on(lives, given)
    drawn = survival_curve(lives, reading.question.conf)
    points, hazard = drawn.survival_at(reading.times), drawn.hazard_at(reading.times)
    sound = _Sound.of(drawn)
    at = zip(points.time, points.survival, points.lower, points.upper, points.at_risk, strict=True)
    hazards = zip(hazard.value, hazard.lower, hazard.upper, strict=True)
    rows = [
        SurvivalAt(float(t), _told(s), _told(low), _told(high), int(n), _hazard(t <= drawn.end, *h))
        if t < sound.until
        else SurvivalAt(float(t), None, None, None, int(n))
        for (t, s, low, high, n), h in zip(at, hazards, strict=True)
    ]
    shown = drawn
    if drawn.emptied_at is not None:
        notes.append(_emptied(drawn, drawn.emptied_at))
        if not sound.until:
            shown = survival_curve(condition_on(lives, drawn.emptied_until or 0.0), reading.question.conf)
    return (
        GroupCurve(
            group=name,
            n=lives.n,
            events=lives.failures,
            median=sound.quantile(drawn, 0.5),
            at=tuple(rows),
            restricted_mean=sound.restricted_mean(drawn, reading.tau),
            b10=sound.quantile(drawn, 0.1),
            estimator="Kaplan-Meier",
            drawn=drawn_steps(shown, reading.watched_at, drawn),
            caution=None if drawn.emptied_at is None else EMPTIED,
        ),
        notes,
    )


def _on_its_own(sample: Sample) -> list[str]:
    """Caution that limits know of no clusters; refuse those asked for of a file, which would change nothing."""
    if sample.cluster is None:
        return []
    if sample.tag is None:
        raise InvalidRecord(
            "limits of a life curve can't allow for lives that share their luck",
            hint="leave out --cluster, and take the limits for too narrow; maintain life fit --bootstrap 1000 draws "
            "whole clusters",
        )
    return [CLUSTERED] if np.unique(sample.cluster.astype(str)).size > 1 else []


@dataclass(frozen=True)
class _Sound:
    """The age until which a curve means something: all ages, unless an early risk set emptied."""

    until: float

    @classmethod
    def of(cls, curve: SurvivalCurve) -> _Sound:
        """Where most lives were seen only after it had emptied, the few before say nothing of them."""
        if curve.emptied_at is None:
            return cls(math.inf)
        young = np.searchsorted(curve.entered, curve.emptied_at, side="left")
        return cls(curve.emptied_at if 2 * young >= curve.n else 0.0)

    def quantile(self, curve: SurvivalCurve, share: float) -> Figure:
        """The time by which a share have failed, and its limits, as far as the curve means something."""
        found = curve.quantile(share)
        told = [each if each is not None and each < self.until else None for each in vars(found).values()]
        return Figure(*told[:3]) if told[0] is not None else Figure(None, None, None)

    def restricted_mean(self, curve: SurvivalCurve, tau: float) -> RestrictedMean:
        """Mean life up to a limit, if the curve means something so far."""
        if tau >= self.until:
            return RestrictedMean(tau, None, None, None)
        mean = curve.restricted_mean(tau)
        if not mean.se:  # nothing failed before the limit: no spread to make limits from, which is not to be sure
            return RestrictedMean(tau, mean.value, None, None)
        return RestrictedMean(tau, mean.value, mean.lower, mean.upper)


def _few(lives: Lives) -> list[str]:
    """Cautions where there is next to nothing to draw a curve from."""
    if lives.n == 1:
        return ["one life says next to nothing of others"]
    if lives.failures == 0:
        return [f"none of {lives.n} failed: how long they can last is not known; maintain life fit bounds it"]
    return ["one failure: the curve rests on it alone"] if lives.failures == 1 else []


def _emptied(drawn: SurvivalCurve, first: float) -> str:
    """Why a curve with late entries fell to nothing, and what to ask instead."""
    last = drawn.emptied_until
    at_first = drawn.at_risk[np.searchsorted(drawn.time, first)]
    those = "the only one watched then" if at_first == 1 else f"all {at_first} watched then"
    return (
        f"few were watched so young: at {first:g} {those} failed, though others were seen later; from there the curve "
        f"is 0 and says nothing. Ask for the parts that worked at a later age: --given {last:g}"
    )


def _hazard(seen: bool, value: float, lower: float, upper: float) -> Figure | None:
    """The cumulative hazard while anyone was watched; before the first failure it has no limits."""
    if not seen:
        return None
    return Figure(float(value), float(lower), float(upper)) if value > 0 else Figure(0.0, None, None)


def _interval_curve_of(name: str, one: Sample, reading: _Reading) -> tuple[GroupCurve, list[str]]:
    lives, few = one.lives, one.lives.n <= MOST_DRAWN
    how = Resampling(np.random.default_rng(SEED), one.cluster_codes(), DRAWS if few else 0)
    corners = corners_of(lives)
    found = interval_limits(lives, np.append(reading.times, corners), reading.tau, how, reading.question.conf)
    shares, at_corners = found.survival[: reading.times.size], found.survival[reading.times.size :]
    at = zip(reading.times.tolist(), shares, observed(lives).at_risk(reading.times), strict=True)
    mean = found.restricted_mean
    within = int(np.sum(lives.failed & (lives.lower < lives.upper)))
    notes = [
        *_few(lives),
        f"{within} of {lives.failures} failures are known only to an interval: the curve allows for that",
    ]
    if not few:
        notes.append(f"no limits: drawing more than {MOST_DRAWN} such lives again and again takes too long")
    return (
        GroupCurve(
            group=name,
            n=lives.n,
            events=lives.failures,
            median=figure(found.median),
            at=tuple(SurvivalAt(t, s.value, *_spread(s, int(n), reading.question.conf), int(n)) for t, s, n in at),
            restricted_mean=RestrictedMean(reading.tau, mean.value, mean.lower, mean.upper),
            b10=figure(found.b10),
            estimator="Turnbull",
            drawn=drawn_corners(lives, corners, at_corners, reading.watched_at),
        ),
        notes,
    )


def _spread(share: Estimate, watched: int, conf: float) -> tuple[float | None, float | None]:
    """Limits of a share; where all draws agree, that of no failure among the watched, or none: nobody is so sure."""
    if share.lower is None or share.lower != share.upper:
        return share.lower, share.upper
    return (((1 - conf) / 2) ** (1 / watched), 1.0) if share.lower == 1 and watched else (None, None)


def longest(lives: Lives) -> float:
    """The longest time at which anyone was seen."""
    return float(np.where(lives.failed, lives.upper, lives.lower).max())


def figure(found: Estimate) -> Figure:
    """An estimate as results hold it."""
    return Figure(found.value, found.lower, found.upper)


def _told(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
