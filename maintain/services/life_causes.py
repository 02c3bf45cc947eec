"""What parts fail by, every cause at work beside the others."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from maintain.core.causes import CauseCurve, Causes, causes_of_failure
from maintain.core.compare import holm
from maintain.core.estimate import two_sided_z
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
from maintain.services.life import Question
from maintain.services.life_pictures import round_times
from maintain.services.lives.circumstances import UNKNOWN
from maintain.services.lives.columns import Words
from maintain.services.lives.samples import Sample
from maintain.services.lives.table import ENDED_OTHERWISE

MOST_CAUSES = 30  # a column with more holds something else

BLAMED = "causes are what people blamed; where several would do, the records name one"


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
    named = np.unique(sample.cause[sample.cause != ""].astype(str)).size
    sample = _ended(sample, sample.cause).clustered_beside((str(sample.by),))
    if named > MOST_CAUSES:
        raise InvalidRecord(
            f"{named} different causes: more than {MOST_CAUSES} tell nothing apart",
            hint="does --cause name the right column?",
        )
    out = np.where(sample.lives.failed, sample.lives.upper, sample.lives.lower)
    times = np.array(question.at or round_times(float(out.max())))
    everyone, cautions = _told("all", sample, times, question.conf)
    groups = [_told(name, one, times, question.conf)[0] for name, one in sample.groups().items()] if sample.by else []
    tests, untested = _tests(sample) if sample.by else ((), [])
    notes = [*cautions, *untested, *([BLAMED] if sample.seasons is not None else [])]
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
class _Spread:
    """Incidence of one cause at the times asked, with the widest limits."""

    lower: Floats
    upper: Floats
    se: Floats


def _told(name: str, sample: Sample, times: Floats, conf: float) -> tuple[GroupCauses, list[str]]:
    assert sample.cause is not None
    if not sample.lives.failures:
        if name == "all":
            raise NotEnoughData(f"nothing has ended any of {sample.lives.n} lives", hint="wait for failures")
        return GroupCauses(name, sample.lives.n, 0, (), (), ()), []
    fits, cautions = _fits(sample, times, conf)
    steps = causes_of_failure(sample.lives, sample.cause, conf=conf)
    z = two_sided_z(conf)
    shares = [
        CauseShare(
            cause=curve.cause,
            events=curve.failures,
            at=_at(times, curve, _widest([fit.curves[place] for fit in fits]), z),
            drawn=tuple(steps.curves[place].incidence.tolist()),
        )
        for place, curve in enumerate(fits[0].curves)
    ]
    shares.sort(key=lambda each: (-each.events, each.cause))
    working = zip(times.tolist(), fits[0].working.tolist(), fits[0].at_risk.tolist(), strict=True)
    told = GroupCauses(
        group=name,
        n=sample.lives.n,
        events=sample.lives.failures,
        causes=tuple(shares),
        working=tuple(WorkingAt(time, share, int(n)) for time, share, n in working),
        drawn_times=tuple(steps.times.tolist()),
    )
    return told, [*fits[0].cautions, *cautions]


def _fits(sample: Sample, times: Floats, conf: float) -> tuple[list[Causes], list[str]]:
    """One answer for each way in which lives share their luck, and one without where the clusters are few."""
    assert sample.cause is not None
    ways = {name: each for name, each in sample.clusters.items() if np.unique(each.astype(str)).size > 1}
    fits = [causes_of_failure(sample.lives, sample.cause, at=times, cluster=way, conf=conf) for way in ways.values()]
    few = [name for name, way in ways.items() if np.unique(way.astype(str)).size < FEW_CLUSTERS]
    if not fits or few:
        fits.append(causes_of_failure(sample.lives, sample.cause, at=times, conf=conf))
    said = [
        f"limits allow for clusters by {' and '.join(ways)}; by {name} there are few, which makes them rough"
        for name in few
    ]
    return fits, said


def _widest(curves: list[CauseCurve]) -> _Spread:
    widest = np.argmax([curve.se for curve in curves], axis=0)
    lower, upper, se = (np.array([getattr(curve, name) for curve in curves]) for name in ("lower", "upper", "se"))
    place = np.arange(widest.size)
    return _Spread(lower[widest, place], upper[widest, place], se[widest, place])


def _at(times: Floats, curve: CauseCurve, spread: _Spread, z: float) -> tuple[IncidenceAt, ...]:
    return tuple(
        IncidenceAt(
            time=float(time),
            incidence=float(curve.incidence[place]),
            lower=_known(spread.lower[place], spread.se[place]),
            upper=_known(spread.upper[place], spread.se[place]),
            se=float(spread.se[place]),
            cumulative_hazard=_hazard(float(curve.hazard[place]), float(curve.hazard_se[place]), z),
        )
        for place, time in enumerate(times)
    )


def _hazard(value: float, se: float, z: float) -> Figure:
    """With limits on the log scale; none before the first failure."""
    if not value:
        return Figure(0.0, None, None)
    reach = math.exp(z * se / value)
    return Figure(value, value / reach, value * reach)


def _known(limit: float, se: float) -> float | None:
    """A limit; none where nothing varies, which is not to be sure."""
    return float(limit) if math.isfinite(limit) and se > 0 else None


def _tests(sample: Sample) -> tuple[tuple[ShareTest, ...], list[str]]:
    """Does each cause take the same share in all groups?"""
    assert sample.cause is not None
    groups = np.unique(sample.group.astype(str)).size
    if groups < 2:
        return (), [f"only one group by {sample.by}: nothing to compare its causes with"]
    cluster = sample.cluster
    if cluster is not None and np.unique(cluster.astype(str)).size < groups:
        cluster = None
    names = np.unique(sample.cause[sample.lives.failed].astype(str)).tolist()
    found = [equal_shares(sample.lives, sample.cause, name, sample.group, cluster=cluster) for name in names]
    found = [test for test in found if test.df]
    corrected = holm([test.p for test in found])
    rows = zip(found, corrected, strict=True)
    return tuple(ShareTest(test.cause, test.statistic, test.df, test.p, p) for test, p in rows), []


def _foremost(whole: GroupCauses, conf: float) -> Foremost | None:
    """The cause most often named; the unknown ones may be any."""
    from scipy.stats import binomtest

    known = [each for each in whole.causes if each.cause != UNKNOWN]
    if not known:
        return None
    if len(known) == 1:
        return Foremost(known[0].cause, None, None, surely=len(whole.causes) == 1)
    first, second = known[:2]
    p = float(binomtest(first.events, first.events + second.events).pvalue)
    return Foremost(first.cause, second.cause, p, p < 1 - conf)
