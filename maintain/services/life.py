"""How long parts last: life curves of a sample, group by group, without a law."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from maintain.core.clustered_curve import FEWEST_CLUSTERS, clustered_curve
from maintain.core.curve import SurvivalCurve, condition_on, survival_curve
from maintain.core.estimate import two_sided_z
from maintain.core.lives import Floats, Lives
from maintain.core.second_opinion import second_curve
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import Figure, GroupCurve, LifeCurves, SurvivalAt
from maintain.services.life_intervals import at_middle_if_alike, interval_curve_of
from maintain.services.life_pictures import drawn_steps, round_times
from maintain.services.life_reading import EMPTIED, Reading, Sound, emptied, few, opinion
from maintain.services.lives.samples import Sample

TOO_NARROW = "where these share much luck, limits meant to hold 95 times in 100 held 84 times (docs/coverage.csv)"


@dataclass(frozen=True)
class Question:
    """
    What is asked of a sample.

    Attributes
    ----------
    at : tuple of float
        Times to read at; none: round times over the whole range.
    conf : float
        Confidence of all intervals.
    given : float, optional
        An age: answer for the parts that worked then.
    tau : float, optional
        Limit of the restricted mean; by default the longest time at which somebody of every group was watched.
    """

    at: tuple[float, ...] = ()
    conf: float = 0.95
    given: float | None = None
    tau: float | None = None

    def check(self) -> None:
        """Refuse times that are no times."""
        two_sided_z(self.conf)
        for name, times in (("--at", self.at), ("--given", () if self.given is None else (self.given,))):
            if not all(math.isfinite(time) and time >= 0 for time in times):
                raise InvalidRecord(f"{name} takes times of 0 or more", hint="write for example: --at 100,200,365")
        if self.tau is not None and not (math.isfinite(self.tau) and self.tau > 0):
            raise InvalidRecord("--tau takes a time above 0", hint="write for example: --tau 365")


def curve(sample: Sample, question: Question, *, show_hazard: bool = False, second_opinion: bool = False) -> LifeCurves:
    """Draw the life curve of every group."""
    question.check()
    sample, said = at_middle_if_alike(sample)
    groups = sample.groups()
    ends = {name: longest(one.lives) for name, one in groups.items()}
    start = max(question.given or 0.0, float(sample.lives.entry.min()))
    _refuse_beyond(start, ends, sample)
    tau = question.tau or min(ends.values())
    if tau > min(ends.values()):
        short = min(ends, key=lambda name: ends[name])
        whom = f" of {short}" if sample.by else ""
        raise NotEnoughData(
            f"nobody{whom} was seen for {tau:g}: the longest is {ends[short]:g}",
            hint=f"choose a --tau of at most {ends[short]:g}",
            longest=ends[short],
        )
    round_ones = round_times(max(ends.values()), start)
    times, watched_at = np.array(question.at or round_ones), np.array([start, *round_ones])
    reading = Reading(times, tau, question.conf, question.given, watched_at, second_opinion)
    drawn, notes = [], said
    for name, one in groups.items():
        found, told = _curve_of(name, one, reading)
        drawn.append(found)
        notes += [f"{name}: {line}" if sample.by else line for line in told]
    return LifeCurves(sample.source(question.conf, [*notes, *_of_luck(groups, sample)]), tuple(drawn), show_hazard)


def _refuse_beyond(start: float, ends: dict[str, float], sample: Sample) -> None:
    late = [name for name, end in ends.items() if end <= start]
    if late:
        where = f" of {', '.join(late)}" if sample.by else ""
        raise NotEnoughData(f"nobody{where} was seen beyond {start:g}", hint="choose an earlier age", groups=late)


def _curve_of(name: str, one: Sample, reading: Reading) -> tuple[GroupCurve, list[str]]:
    if one.lives.interval_censored:
        return interval_curve_of(name, one, reading)
    notes = few(one)
    one = _those_working(one, reading.given)
    drawn = _drawn(one, reading.conf)
    sound = Sound.of(drawn.emptied_at, drawn.entered)
    shown = drawn
    if drawn.emptied_at is not None and drawn.emptied_until is not None:
        watched = int(drawn.at_risk[np.searchsorted(drawn.time, drawn.emptied_at)])
        notes.append(emptied(drawn.emptied_at, drawn.emptied_until, watched))
        if not sound.until:
            shown = _drawn(_those_working(one, drawn.emptied_until), reading.conf)
    return (
        GroupCurve(
            group=name,
            n=one.n,
            events=one.lives.failures,
            median=sound.quantile(drawn.quantile(0.5)),
            at=tuple(_points(drawn, reading.times, sound)),
            restricted_mean=sound.restricted_mean(reading.tau, drawn.restricted_mean(reading.tau)),
            b10=sound.quantile(drawn.quantile(0.1)),
            estimator="Kaplan-Meier",
            drawn=drawn_steps(shown, reading.watched_at, drawn),
            caution=None if drawn.emptied_at is None else EMPTIED,
            second_opinion=opinion(second_curve(one.lives, drawn)) if reading.second_opinion else None,
        ),
        notes,
    )


def _those_working(one: Sample, age: float | None) -> Sample:
    """The lives that worked at an age, watched from then on."""
    if age is None:
        return one
    later = one.take(np.where(one.lives.failed, one.lives.upper, one.lives.lower) > age)
    return replace(later, lives=condition_on(later.lives, age))


def _drawn(one: Sample, conf: float) -> SurvivalCurve:
    """The curve, with limits that allow for what lives of one cluster share where there are enough clusters."""
    if one.cluster is None or _clusters(one) < FEWEST_CLUSTERS:
        return survival_curve(one.lives, conf)
    return clustered_curve(one.lives, one.cluster, conf)


def _points(drawn: SurvivalCurve, times: Floats, sound: Sound) -> Iterator[SurvivalAt]:
    points, hazard = drawn.survival_at(times), drawn.hazard_at(times)
    at = zip(points.time, points.survival, points.lower, points.upper, points.at_risk, strict=True)
    hazards = zip(hazard.value, hazard.lower, hazard.upper, strict=True)
    for (t, s, low, high, n), h in zip(at, hazards, strict=True):
        if t < sound.until:
            yield SurvivalAt(float(t), _told(s), _told(low), _told(high), int(n), _hazard(t <= drawn.end, *h))
        else:
            yield SurvivalAt(float(t), None, None, None, int(n))


def _of_luck(groups: dict[str, Sample], sample: Sample) -> list[str]:
    """Say whether the limits allow for what lives of one cluster share."""
    if sample.cluster is None or not any(one.lives.n > 1 for one in groups.values()):
        return []
    shared = next(iter(sample.clusters))
    number = {name: _clusters(one) for name, one in groups.items() if one.lives.n > 1}
    short = [name for name, clusters in number.items() if clusters < FEWEST_CLUSTERS]
    said = [] if len(short) == len(number) else [f"limits allow for the luck that lives of one {shared} share"]
    if short:
        whose = f" of {', '.join(short)}" if sample.by else ""
        few_clusters = f"fewer than {FEWEST_CLUSTERS} to tell {shared} from {shared}"
        said.append(f"limits{whose} take every life on its own ({few_clusters}); {TOO_NARROW}")
    return said


def _clusters(one: Sample) -> int:
    return 0 if one.cluster is None else len(set(one.cluster.astype(str).tolist()))


def _hazard(seen: bool, value: float, lower: float, upper: float) -> Figure | None:
    """The cumulative hazard while anyone was watched; before the first failure it has no limits."""
    if not seen:
        return None
    return Figure(float(value), float(lower), float(upper)) if value > 0 else Figure(0.0, None, None)


def longest(lives: Lives) -> float:
    """The longest time at which anyone was seen."""
    return float(np.where(lives.failed, lives.upper, lives.lower).max())


def _told(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
