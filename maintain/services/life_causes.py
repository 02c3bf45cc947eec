"""What parts fail by, every cause at work beside the others."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from maintain.core.at_risk import observed
from maintain.core.causes import CauseCurve, Causes, causes_of_failure, unseen_limit
from maintain.core.compare import holm
from maintain.core.estimate import two_sided_z
from maintain.core.gray import ShareTest as Tested
from maintain.core.gray import equal_shares
from maintain.core.lives import Floats, Lives
from maintain.core.log_rank import FEW_CLUSTERS
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import Figure
from maintain.results.life_causes import (
    CauseShare,
    Foremost,
    GroupCauses,
    IncidenceAt,
    LifeCauses,
    ShareTest,
    WorkingAt,
)
from maintain.services.life import Question, longest
from maintain.services.life_pictures import round_times
from maintain.services.lives.circumstances import UNKNOWN
from maintain.services.lives.columns import Words
from maintain.services.lives.samples import Sample
from maintain.services.lives.table import ENDED_OTHERWISE

FEWEST_TESTED = 5  # failures by one cause, and two a group: with fewer the chi-square means nothing
MOST_CAUSES = 30  # a column with more holds something else

BLAMED = "causes are what people blamed; where several would do, the records name one"
NONE_TAKEN = (
    "the limit of a cause that took none is Clopper and Pearson's, for the parts from new that those watched stand for"
)


def causes(sample: Sample, question: Question) -> LifeCauses:
    """
    Estimate the share of each cause.

    Raises
    ------
    InvalidRecord
        If no column of a file names the causes, or it holds too many of them.
    NotEnoughData
        If nothing ended any of the lives.
    """
    question.check()
    if sample.cause is None:
        raise InvalidRecord("it is not said which column names the causes", hint="name it with --cause")
    named = tuple(np.unique(sample.cause[sample.cause != ""].astype(str)).tolist())
    sample = _ended(sample, sample.cause).clustered_beside((str(sample.by),))
    if len(named) > MOST_CAUSES:
        raise InvalidRecord(
            f"{len(named)} different causes: more than {MOST_CAUSES} tell nothing apart",
            hint="does --cause name the right column?",
        )
    if not sample.lives.failures:
        raise NotEnoughData(f"nothing has ended any of {sample.lives.n} lives", hint="wait for failures")
    round_ones = round_times(longest(sample.lives))
    asked = _Asked(np.array(question.at or round_ones), (0.0, *round_ones), named, question.conf)
    everyone, cautions = _told("all", sample, asked)
    split = [_told(name, one, asked) for name, one in sample.groups().items()] if sample.by else []
    groups = [each for each, _ in split]
    cautions += [
        f"{each.group}: {line}" for each, said in split if each.caution for line in said if line == each.caution
    ]
    tests, untested = _tests(sample) if sample.by else ((), [])
    notes = [*cautions, *untested, *_notes(everyone, groups), *([BLAMED] if sample.seasons is not None else [])]
    return LifeCauses(
        source=sample.source(question.conf, notes),
        everyone=everyone,
        groups=tuple(groups),
        tests=tests,
        foremost=_foremost(everyone, question.conf),
    )


def _ended(sample: Sample, cause: Words) -> Sample:
    """The sample with every life ended that anything ended, a ball or another part too."""
    lives = sample.lives
    ended = ~lives.failed & (cause != "")
    notes = tuple(note for note in sample.notes if not note.endswith(ENDED_OTHERWISE))
    whole = Lives(lives.entry, lives.lower, np.where(ended, lives.lower, lives.upper))
    return replace(sample, lives=whole, notes=notes)


@dataclass(frozen=True)
class _Asked:
    """Times to read at and to count the watched at, all causes that have a name, and the confidence of limits."""

    times: Floats
    watched_at: tuple[float, ...]
    named: tuple[str, ...]
    conf: float


def _told(name: str, sample: Sample, asked: _Asked) -> tuple[GroupCauses, list[str]]:
    if not sample.lives.failures:
        return _spared(name, sample, asked), []
    fits, cautions = _fits(sample, asked)
    named = fits[0].curves
    shares = [_share(asked, curve, [fit.curves[place] for fit in fits]) for place, curve in enumerate(named)]
    limit = np.nanmax(np.nan_to_num([fit.unseen_upper for fit in fits], nan=2.0), axis=0)
    shares += [_none_taken(cause, asked, limit) for cause in asked.named if cause not in {each.cause for each in named}]
    unknown = sum(each.events for each in shares if each.cause == UNKNOWN)
    if 0 < unknown < sample.lives.failures:
        shares = _with_unknown(shares, asked, _fits(sample, asked, put_to_each=UNKNOWN)[0])
    shares.sort(key=lambda each: (-each.events, each.cause))
    told = GroupCauses(
        group=name,
        n=sample.lives.n,
        events=sample.lives.failures,
        causes=tuple(shares),
        working=_working(fits[0]),
        unknown=unknown,
    )
    drawn = _drawn(told, sample, asked.watched_at)
    return _sound(drawn, fits[0]), [*fits[0].cautions, *cautions]


def _sound(told: GroupCauses, fit: Causes) -> GroupCauses:
    """The shares as far as they mean something: none from where all watched had failed though others came later."""
    end = fit.emptied_at
    if end is None:
        return told
    kept = sum(time < end for time in told.drawn_times)
    causes = tuple(
        replace(
            each,
            at=tuple(
                point if point.time < end else replace(point, incidence=None, lower=None, upper=None, with_unknown=None)
                for point in each.at
            ),
            drawn=_cut(each.drawn, kept),
        )
        for each in told.causes
    )
    working = tuple(each if each.time < end else replace(each, share=None) for each in told.working)
    times = (*told.drawn_times[:kept], end)
    return replace(told, causes=causes, working=working, drawn_times=times, caution=fit.cautions[-1])


def _cut(drawn: tuple[float, ...], kept: int) -> tuple[float, ...]:
    """The first steps of a share, held level to the end."""
    return (*drawn[:kept], drawn[kept - 1] if kept else 0.0) if drawn else ()


def _spared(name: str, sample: Sample, asked: _Asked) -> GroupCauses:
    """A group of which nothing has ended: every cause may have taken up to its limit."""
    limit = np.nan_to_num(unseen_limit(sample.lives, asked.times, asked.conf), nan=2.0)
    watched = observed(sample.lives).at_risk(asked.times)
    return GroupCauses(
        group=name,
        n=sample.lives.n,
        events=0,
        causes=tuple(_none_taken(cause, asked, limit) for cause in asked.named),
        working=tuple(WorkingAt(t, 1.0, int(n)) for t, n in zip(asked.times.tolist(), watched.tolist(), strict=True)),
    )


def _fits(sample: Sample, asked: _Asked, put_to_each: str | None = None) -> tuple[list[Causes], list[str]]:
    """One answer for each way in which lives share their luck, and one without where the clusters are few."""
    assert sample.cause is not None
    ways = {name: each for name, each in sample.clusters.items() if np.unique(each.astype(str)).size > 1}
    few = [name for name, way in ways.items() if np.unique(way.astype(str)).size < FEW_CLUSTERS]
    alone = [None] if few or not ways else []
    fits = [
        causes_of_failure(
            sample.lives, sample.cause, at=asked.times, cluster=way, put_to_each=put_to_each, conf=asked.conf
        )
        for way in (*ways.values(), *alone)
    ]
    said = [
        f"limits allow for clusters by {' and '.join(ways)}; by {name} there are few, which makes them rough"
        for name in few
    ]
    return fits, said


def _share(asked: _Asked, curve: CauseCurve, ways: list[CauseCurve]) -> CauseShare:
    z, found = two_sided_z(asked.conf), _widest(ways)
    at = [
        IncidenceAt(
            time=float(time),
            incidence=float(curve.incidence[place]),
            lower=each.lower,
            upper=each.upper,
            se=max(float(way.se[place]) for way in ways),
            cumulative_hazard=_hazard(float(curve.hazard[place]), float(curve.hazard_se[place]), z),
        )
        for place, (time, each) in enumerate(zip(asked.times, found, strict=True))
    ]
    return CauseShare(curve.cause, curve.failures, tuple(at), ())


def _none_taken(cause: str, asked: _Asked, limit: Floats) -> CauseShare:
    """A cause that took nothing of a group; a limit above 1 is none."""
    at = tuple(
        IncidenceAt(float(time), 0.0, 0.0, float(upper) if upper <= 1 else None, 0.0, Figure(0.0, None, None))
        for time, upper in zip(asked.times, limit, strict=True)
    )
    return CauseShare(cause, 0, at, ())


def _with_unknown(shares: list[CauseShare], asked: _Asked, fits: list[Causes]) -> list[CauseShare]:
    """What each named cause took at most: all that ended for an unknown one put to it."""
    ways = {curve.cause: [fit.curves[place] for fit in fits] for place, curve in enumerate(fits[0].curves)}
    alone = next(each.at for each in shares if each.cause == UNKNOWN)
    found = []
    for each in shares:
        if each.cause == UNKNOWN:
            found.append(each)
            continue
        most = (
            _widest(ways[each.cause]) if each.cause in ways else [Figure(a.incidence, a.lower, a.upper) for a in alone]
        )
        at = tuple(replace(point, with_unknown=figure) for point, figure in zip(each.at, most, strict=True))
        found.append(replace(each, at=at))
    return found


def _widest(ways: list[CauseCurve]) -> list[Figure]:
    """The share of one cause at each time, with the widest limits; none where nothing varies: nobody is so sure."""
    reach = np.nan_to_num([curve.upper for curve in ways], nan=2.0)
    widest = [ways[place] for place in np.argmax(reach, axis=0)]
    return [_figure(curve, place) for place, curve in enumerate(widest)]


def _figure(curve: CauseCurve, place: int) -> Figure:
    value = float(curve.incidence[place])
    sound = curve.se[place] > 0 or not value
    lower, upper = (
        float(side[place]) if sound and math.isfinite(side[place]) else None for side in (curve.lower, curve.upper)
    )
    return Figure(value, lower, upper)


def _hazard(value: float, se: float, z: float) -> Figure:
    """With limits on the log scale; none before the first failure."""
    if not value:
        return Figure(0.0, None, None)
    reach = math.exp(z * se / value)
    return Figure(value, value / reach, value * reach)


def _working(fit: Causes) -> tuple[WorkingAt, ...]:
    rows = zip(fit.times.tolist(), fit.working.tolist(), fit.at_risk.tolist(), strict=True)
    return tuple(WorkingAt(time, share, int(n)) for time, share, n in rows)


def _drawn(told: GroupCauses, sample: Sample, watched_at: tuple[float, ...]) -> GroupCauses:
    """With what a picture shows of it: every step up to the end of observation, and how many were watched."""
    assert sample.cause is not None
    steps = causes_of_failure(sample.lives, sample.cause)
    end = longest(sample.lives)
    rows = {curve.cause: (*curve.incidence.tolist(), float(curve.incidence[-1])) for curve in steps.curves}
    counted = observed(sample.lives).at_risk(np.array([np.nextafter(0.0, 1.0), *watched_at[1:]]))
    return replace(
        told,
        causes=tuple(replace(each, drawn=rows.get(each.cause, ())) for each in told.causes),
        drawn_times=(*steps.times.tolist(), end),
        watched=tuple(zip(watched_at, map(int, counted), strict=True)),
    )


def _notes(everyone: GroupCauses, groups: list[GroupCauses]) -> list[str]:
    """What the limits of causes without a failure rest on, and what the unknown ones do to all others."""
    told = [each for one in (groups or [everyone]) for each in one.causes]
    notes = [NONE_TAKEN] if any(point.incidence == 0 for each in told for point in each.at) else []
    if 0 < everyone.unknown < everyone.events:
        notes.append(
            f"nobody knows what ended {everyone.unknown} of {everyone.events}: a cause took at least its share as "
            "named, at most its share with all the unknown put to it"
        )
    return notes


def _tests(sample: Sample) -> tuple[tuple[ShareTest, ...], list[str]]:
    """Does each cause take the same share in all groups? Of few failures no test can tell."""
    assert sample.cause is not None
    groups = np.unique(sample.group.astype(str)).size
    if groups < 2:
        return (), [f"only one group by {sample.by}: nothing to compare its causes with"]
    names, events = np.unique(sample.cause[sample.lives.failed].astype(str), return_counts=True)
    enough = max(FEWEST_TESTED, 2 * groups)
    found = [_equal_shares(sample, name, groups) for name in names[events >= enough].tolist()]
    found = [test for test in found if test.df]
    corrected = holm([test.p for test in found])
    few = ", ".join(names[events < enough].tolist())
    notes = [f"too few lives ended, fewer than {enough}, to compare groups by: {few}"] if few else []
    rows = zip(found, corrected, strict=True)
    return tuple(ShareTest(test.cause, test.statistic, test.df, test.p, p) for test, p in rows), notes


def _equal_shares(sample: Sample, name: str, groups: int) -> Tested:
    """Lives that share their luck allowed for, unless taking each on its own leaves more doubt: clusters may be few."""
    assert sample.cause is not None
    ways: list[Words | None] = [None]
    if sample.cluster is not None and np.unique(sample.cluster.astype(str)).size >= groups:
        ways.append(sample.cluster)
    tests = [equal_shares(sample.lives, sample.cause, name, sample.group, cluster=way) for way in ways]
    return max(tests, key=lambda test: test.p)


def _foremost(whole: GroupCauses, conf: float) -> Foremost | None:
    """The cause most often named; the unknown ones may be any."""
    from scipy.stats import binomtest

    known = [each for each in whole.causes if each.cause != UNKNOWN]
    if not known:
        return None
    if len(known) == 1:
        return Foremost(known[0].cause, None, None, surely=not whole.unknown)
    first, second = known[:2]
    p = float(binomtest(first.events, first.events + second.events).pvalue)
    surely = p < 1 - conf and first.events > second.events + whole.unknown
    return Foremost(first.cause, second.cause, p, surely)
