"""Do failures of a position, ship or system come faster or slower through its repairs?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from maintain import vocabulary as say
from maintain.core.at_risk import Codes
from maintain.core.repeats import Histories, mean_cumulative, time_between
from maintain.core.trend import UNDECIDED, Trend, chance_of_silence, trend
from maintain.core.trend import PowerLaw as FittedPowerLaw
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.exchange.repeats_csv import RepeatColumns, read_repeats
from maintain.records import find
from maintain.results.life import Exclusion, Figure
from maintain.results.life_repeats import GroupRepeats, LaplaceTest, LifeRepeats, MeanAt, PowerLaw, Silence
from maintain.services.life import Question
from maintain.services.lives.history import history
from maintain.services.lives.repeats import CLOCKS, LABELS, UNITS, Positions, failures_of, positions_of, watch
from maintain.services.unit import Desk, reading

ALL = "all"
MOST_TO_TELL = 1000  # beyond as many failures no club will ever tell
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
    """

    unit: str | None
    clock: str | None
    only: Mapping[str, str | None]


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
class _Sample:
    everyone: Histories
    groups: dict[str, Histories]
    clock: str
    unit: str
    by: str | None
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
        for name, value in (("unit", wanted.unit), ("clock", wanted.clock), *wanted.only.items())
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
    groups = {name: _units(read.histories, names == name) for name in sorted(set(read.group))} if columns.by else {}
    notes = [SORTED]
    if read.tied:
        notes.append(f"{read.tied} failures share their unit and time with another: each counts")
    return _answer(_Sample(read.histories, groups, columns.time, "unit", columns.by, (), tuple(notes)), question)


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
    watched = watch(past, chosen, found, unit, clock)
    if watched.histories is None:
        what = ", ".join(value for value in wanted.only.values() if value) or "any position"
        raise NotEnoughData(
            f"nothing of {what} was watched on the clock {clock!r}",
            hint="record what is fitted where, with: maintain part add --into SHIP/POSITION --from DATE",
        )
    groups: dict[str, Histories] = {}
    if label:
        for name in sorted(set(chosen.labels[label].tolist())):
            one = watch(past, chosen.take(chosen.labels[label] == name), found, unit, clock).histories
            groups |= {str(name): one} if one is not None else {}
    notes = (EMPTY,) if unit == "position" else ()
    return _answer(_Sample(watched.histories, groups, clock, unit, label, watched.excluded, notes), question)


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


def _units(watched: Histories, chosen: np.ndarray) -> Histories:
    """The histories of some units only."""
    keep = np.flatnonzero(chosen)
    place = np.full(len(watched.units), -1)
    place[keep] = np.arange(keep.size)
    failed = chosen[watched.unit]
    code: Codes = place[watched.unit[failed]].astype(np.intp)
    units = tuple(watched.units[row] for row in keep.tolist())
    return Histories(units, watched.start[keep], watched.end[keep], code, watched.time[failed])


def _answer(sample: _Sample, question: Question) -> LifeRepeats:
    groups = [_group(name, one, question) for name, one in sample.groups.items()]
    groups.sort(key=lambda one: -one.events / one.watched)
    notes = list(sample.notes)
    if len(groups) > 2:
        notes.append(f"of {len(groups)} groups without any trend, one in {round(1 / (1 - question.conf))} shows one")
    return LifeRepeats(
        clock=sample.clock,
        unit=sample.unit,
        by=sample.by,
        conf=question.conf,
        everyone=_group(ALL, sample.everyone, question),
        groups=tuple(groups),
        excluded=sample.excluded,
        notes=tuple(notes),
    )


def _group(name: str, watched: Histories, question: Question) -> GroupRepeats:
    mcf, cautions = _mean(watched, question)
    use = float(np.sum(watched.end - watched.start))
    between = time_between(watched, question.conf)
    tested: Trend | None
    try:
        tested, reason = trend(watched, conf=question.conf), None
    except NotEnoughData as error:
        tested, reason = None, error.message
    return GroupRepeats(
        group=name,
        n=len(watched.units),
        events=watched.failures,
        watched=use,
        longest=float(watched.end.max()),
        between=Figure(between.value, between.lower, between.upper),
        mcf=mcf,
        laplace=LaplaceTest(tested.laplace.statistic, tested.laplace.p) if tested else None,
        power_law=_power_law(tested.power_law) if tested else None,
        verdict=tested.verdict if tested else UNDECIDED,
        failures_to_tell=_failures_to_tell(tested),
        silence=_silence(watched),
        reason=reason,
        cautions=(*cautions, *(tested.cautions if tested else ())),
    )


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
    )


def _scale(rate: float | None, shape: float) -> float | None:
    """The scale of (t / scale)^shape = rate * t^shape."""
    exponent = -math.log(rate) / shape if rate else math.inf
    return math.exp(exponent) if abs(exponent) < 700 else None


def _failures_to_tell(tested: Trend | None) -> int | None:
    """At how many failures the limits of the shape would leave 1 out, if they close in with the root of the number."""
    if tested is None or tested.verdict != UNDECIDED:
        return None
    shape = tested.power_law.shape
    if not (shape.value and shape.lower and shape.upper) or shape.value == 1:
        return None
    half, distance = math.log(shape.upper / shape.lower) / 2, abs(math.log(shape.value))
    needed = math.ceil(tested.failures * (half / distance) ** 2)
    return needed if tested.failures < needed <= MOST_TO_TELL else None


def _silence(watched: Histories) -> Silence | None:
    if len(watched.units) != 1 or not watched.failures:
        return None
    last = float(watched.time.max())
    silent = float(watched.end[0]) - last
    return Silence(silent, chance_of_silence(last - float(watched.start[0]), watched.failures, silent))


def _told(value: float) -> float | None:
    return value if math.isfinite(value) else None
