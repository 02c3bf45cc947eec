"""Do failures of a position, ship or system come faster or slower through its repairs?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from maintain import vocabulary as say
from maintain.core.first_parts import FirstParts, first_parts
from maintain.core.histories import Histories, sharing
from maintain.core.repeats import mean_cumulative, time_between
from maintain.core.sample_size import failures_to_tell
from maintain.core.trend import UNDECIDED, Trend, chance_of_silence, trend
from maintain.core.trend import PowerLaw as FittedPowerLaw
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.exchange.repeats_csv import RepeatColumns, read_repeats
from maintain.records import find
from maintain.results.life import Figure
from maintain.results.life_repeats import (
    Age,
    GroupRepeats,
    LaplaceTest,
    LifeRepeats,
    MeanAt,
    PowerLaw,
    SharedLuck,
    Silence,
)
from maintain.results.life_source import Exclusion
from maintain.services.life import Question
from maintain.services.lives.columns import day_number
from maintain.services.lives.history import history
from maintain.services.lives.repeats import (
    CLOCKS,
    LABELS,
    UNITS,
    HowWatched,
    Positions,
    failures_of,
    positions_of,
    watch,
)
from maintain.services.unit import Desk, reading

ALL = "all"
EMPTY = "a position counts as watched also while it is empty"
SORTED = (
    "failures must stand at the times at which they happened: gaps sorted by length carry no trend and look like one"
)


@dataclass(frozen=True)
class Wanted:
    """
    Which units of the club are watched.

    Attributes
    ----------
    unit : str, optional
        One of UNITS; default: each position on its own.
    clock : str, optional
        One of CLOCKS; default: days.
    only : mapping
        By label, its value as people write it; None: any.
    since : date, optional
        The day from which failures count; default: all that are recorded.
    """

    unit: str | None
    clock: str | None
    only: Mapping[str, str | None]
    since: date | None = None


@dataclass(frozen=True)
class Source:
    """
    Where failures come from, and how they are grouped.

    Attributes
    ----------
    file : str, optional
        A CSV file; None: the records.
    columns : mapping
        Its headings, by the attributes of RepeatColumns.
    by : str, optional
        A heading, or a label of the records.
    """

    file: str | None
    columns: Mapping[str, str | None]
    by: str | None


@dataclass(frozen=True)
class _Units:
    histories: Histories
    first_parts: FirstParts


@dataclass(frozen=True)
class _Sample:
    """Units to be asked about; `luck` names what they share it with."""

    everyone: _Units
    groups: dict[str, _Units]
    clock: str
    unit: str
    by: str | None
    since: date | None
    luck: str
    excluded: tuple[Exclusion, ...]
    notes: tuple[str, ...]


def repeats(desk: Desk, source: Source, wanted: Wanted, question: Question) -> LifeRepeats:
    """
    Answer from a file if one is named, else from the records.

    Raises
    ------
    InvalidRecord
        If columns are named without a file, filters of the records with one, or a file without its times.
    """
    named = [name for name, value in source.columns.items() if value is not None]
    if source.file is None:
        if named:
            raise InvalidRecord(f"--{named[0]} names a column of a file", hint="name the file with --csv")
        return of_records(desk, wanted, source.by, question)
    given = [
        name
        for name, value in (
            ("unit", wanted.unit),
            ("clock", wanted.clock),
            ("since", wanted.since),
            *wanted.only.items(),
        )
        if value is not None
    ]
    if given:
        raise InvalidRecord(f"--{given[0]} chooses among the club's records, not in a file", hint="leave it out")
    time = source.columns.get("time")
    if time is None:
        raise InvalidRecord("it is not said which column holds the times", hint="name it with --time")
    rest = {name: heading for name, heading in source.columns.items() if name != "time"}
    return of_file(source.file, RepeatColumns(time, by=source.by, **rest), question)


def of_file(file: str, columns: RepeatColumns, question: Question) -> LifeRepeats:
    """Answer from a CSV file."""
    question.check()
    read = read_repeats(Path(file), columns)
    names = np.array(read.group, dtype=object)
    groups = {name: _of_file(read.histories.take(names == name)) for name in sorted(set(read.group))}
    notes = [SORTED]
    if read.tied:
        notes.append(f"{read.tied} failures share their unit and time with another: each counts")
    sample = _Sample(
        everyone=_of_file(read.histories),
        groups=groups if columns.by else {},
        clock=columns.time,
        unit="unit",
        by=columns.by,
        since=None,
        luck=columns.cluster or "",
        excluded=(),
        notes=tuple(notes),
    )
    return _answer(sample, question)


def _of_file(watched: Histories) -> _Units:
    """Units of a file, of which nothing but their failures is known."""
    never_failed = np.bincount(watched.unit, minlength=len(watched.units)) == 0
    return _Units(watched, first_parts(never_failed, watched.end - watched.start))


def of_records(desk: Desk, wanted: Wanted, by: str | None, question: Question) -> LifeRepeats:
    """
    Answer from the club's records.

    Raises
    ------
    NotEnoughData
        If no such position ever held a part, or none was watched on this clock.
    """
    question.check()
    unit, clock = wanted.unit or UNITS[0], wanted.clock or CLOCKS[0]
    label = find.match(list(LABELS), by, "label", f"--by {', '.join(LABELS)}") if by else None
    with reading(desk) as connection:
        past = history(connection, desk.today)
        ship = wanted.only.get("ship")
        named = {"ship": str(find.ship(connection, ship).name)} if ship else {}
    every = positions_of(past, {})
    chosen = positions_of(past, {**_values(every, wanted.only), **named})
    found = failures_of(past)
    how = HowWatched(unit, clock, None if wanted.since is None else day_number(wanted.since))
    watched = watch(past, chosen, found, how)
    if watched.histories is None:
        what = ", ".join(value for value in wanted.only.values() if value) or "any position"
        raise NotEnoughData(
            f"nothing of {what} was watched on the clock {clock!r}",
            hint="record what is fitted where, with: maintain part add --into SHIP/POSITION --from DATE",
        )
    groups: dict[str, _Units] = {}
    if label:
        for name in sorted(set(chosen.labels[label].tolist())):
            one = watch(past, chosen.take(chosen.labels[label] == name), found, how)
            groups |= {str(name): _Units(one.histories, one.first_parts)} if one.histories is not None else {}
    sample = _Sample(
        everyone=_Units(watched.histories, watched.first_parts),
        groups=groups,
        clock=clock,
        unit=unit,
        by=label,
        since=wanted.since,
        luck="ship",
        excluded=watched.excluded,
        notes=(EMPTY,) if unit == "position" else (),
    )
    return _answer(sample, question)


def _values(every: Positions, only: Mapping[str, str | None]) -> dict[str, str]:
    """The values of labels that are meant, ships aside."""
    listed = {"system": say.SYSTEMS, "category": say.CATEGORIES, "zone": say.ZONES}
    found = {}
    for name, text in only.items():
        if text is None or name == "ship":
            continue
        known = listed.get(name) or sorted(set(every.labels["position"].tolist()))
        found[name] = find.match(list(known), text, name, f"maintain {name} list" if name == "position" else "")
    return found


def _answer(sample: _Sample, question: Question) -> LifeRepeats:
    groups = [_group(name, one, sample.luck, question) for name, one in sample.groups.items()]
    groups.sort(key=lambda one: -one.events / one.watched)
    notes = list(sample.notes)
    if len(groups) > 2:
        notes.append(f"of {len(groups)} groups without any trend, one in {round(1 / (1 - question.conf))} shows one")
    return LifeRepeats(
        clock=sample.clock,
        unit=sample.unit,
        by=sample.by,
        since=sample.since,
        conf=question.conf,
        everyone=_group(ALL, sample.everyone, sample.luck, question),
        groups=tuple(groups),
        excluded=sample.excluded,
        notes=tuple(notes),
    )


def _group(name: str, units: _Units, luck: str, question: Question) -> GroupRepeats:
    watched = units.histories
    mcf, cautions = _mean(watched, question)
    use = float(np.sum(watched.end - watched.start))
    between = time_between(watched, question.conf)
    tested: Trend | None
    try:
        tested, reason = trend(watched, conf=question.conf), None
    except NotEnoughData as error:
        tested, reason = None, error.message
    age = _age(units.first_parts, tested)
    return GroupRepeats(
        group=name,
        n=len(watched.units),
        events=watched.failures,
        watched=use,
        longest=float(watched.end.max()),
        between=Figure(between.value, between.lower, between.upper),
        mcf=mcf,
        laplace=LaplaceTest(tested.laplace.statistic, tested.laplace.p, tested.laplace.p_alone) if tested else None,
        power_law=_power_law(tested.power_law) if tested else None,
        verdict=UNDECIDED if tested is None or age.weakened else tested.verdict,
        failures_to_tell=_failures_to_tell(tested),
        silence=_silence(watched),
        shared=_shared(watched, luck),
        age=age,
        reason=reason,
        cautions=(*cautions, *(tested.cautions if tested else ())),
    )


def _shared(watched: Histories, luck: str) -> SharedLuck | None:
    found = sharing(watched)
    return None if found is None else SharedLuck(luck if found.whole else f"{luck} and day", found.count)


def _age(found: FirstParts, tested: Trend | None) -> Age:
    together, within = (found.together, round(found.within)) if found.mostly_together else (None, None)
    weakened = tested is not None and tested.verdict != UNDECIDED and found.mostly_untouched
    return Age(found.n, found.untouched, together, within, weakened)


def _mean(watched: Histories, question: Question) -> tuple[tuple[MeanAt, ...], tuple[str, ...]]:
    if not watched.failures:
        return (), ()
    found = mean_cumulative(watched, at=question.at or None, conf=question.conf)
    columns = (found.times, found.mean, found.lower, found.upper, found.at_risk)
    points = zip(*(column.tolist() for column in columns), strict=True)
    return tuple(MeanAt(t, mean, _told(low), _told(high), int(n)) for t, mean, low, high, n in points), found.cautions


def _power_law(law: FittedPowerLaw) -> PowerLaw:
    shape = law.shape.value
    assert shape is not None
    return PowerLaw(
        shape=shape,
        lower=law.shape.lower,
        upper=law.shape.upper,
        scale=_scale(law.rate, shape),
        p=law.p,
        estimator="maximum likelihood",
        shape_corrected=law.shape_corrected,
        scale_corrected=law.shape_corrected and _scale(law.rate_corrected, law.shape_corrected),
        between=law.mtbf,
        between_corrected=law.mtbf_corrected,
        limits=law.limits,
        p_alone=law.p_alone,
    )


def _scale(rate: float | None, shape: float) -> float | None:
    """The scale of (t / scale)^shape = rate * t^shape."""
    exponent = -math.log(rate) / shape if rate else math.inf
    return math.exp(exponent) if abs(exponent) < 700 else None


def _failures_to_tell(tested: Trend | None) -> int | None:
    """At how many failures the limits of the shape would leave 1 out, if they close in with the root of the number."""
    if tested is None or tested.verdict != UNDECIDED:
        return None
    return failures_to_tell(tested.power_law.shape, tested.failures, tested.conf)


def _silence(watched: Histories) -> Silence | None:
    if len(watched.units) != 1 or not watched.failures:
        return None
    last = float(watched.time.max())
    silent = float(watched.end[0]) - last
    return Silence(silent, chance_of_silence(last - float(watched.start[0]), watched.failures, silent))


def _told(value: float) -> float | None:
    return value if math.isfinite(value) else None
