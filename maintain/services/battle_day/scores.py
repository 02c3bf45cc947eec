"""Sinkings on a score sheet that no log has, and the other way round."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count
from maintain.errors import InvalidRecord, MaintainError
from maintain.exchange.any_table import refused
from maintain.exchange.score_sheet import ScoreSheet, read_scores
from maintain.records import find, sinkings
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Listing
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import MOST_SORTIES_A_DAY

Row = sa.Row[Any]

_SANK = {"wetness": "W3", "ending": "sank", "sinking_cause": "unknown"}
_ASSUMED = "from the score sheet: taken to have been lifted quickly (W3), of unknown cause"

_COLUMNS = (
    Column("battle", "Battle"),
    Column("ship", "Ship"),
    Column("on_sheet", "On the sheet", numeric=True),
    Column("logged", "Logged", numeric=True),
    Column("what", "What"),
)


@dataclass
class _Pair:
    """A ship in a battle: what the sheet and what the logs say."""

    battle: Row
    ship: Row
    on_sheet: int = 0
    numbers: list[int] = field(default_factory=list)  # of sorties that sank, where the sheet says
    sorties: list[Row] = field(default_factory=list)

    @property
    def logged(self) -> int:
        """Sinkings in the logs."""
        return sum(row.ending == "sank" for row in self.sorties)

    @property
    def most(self) -> int:
        """Sorties that she can have sailed."""
        days: int = (self.battle.until_on - self.battle.from_on).days + 1
        return max(int(self.battle.planned_sorties or 0) or days * MOST_SORTIES_A_DAY, len(self.sorties))


@dataclass(frozen=True)
class _Step:
    """How one missing sinking would be put into the logs; nothing to write where somebody must decide."""

    told: str
    update: int | None = None
    insert: tuple[date, int] | None = None


def reconcile(desk: Desk, *, path: Path, battle: str | None, accept: bool) -> Listing:
    """Hold a score sheet against the logs; with `accept` the sinkings that no log has are added."""
    sheet = read_scores(path)
    if accept:
        return _accepted(desk, path, sheet, battle)
    with reading(desk) as connection:
        pairs = list(_differing(_pairs(connection, sheet, battle, desk.today)))
    footer = list(sheet.left_out)
    open_ = sum(_writes(step) for pair in pairs for step in _steps(pair, desk.today))
    if open_:
        footer.append(f"would be added: {count(open_, 'sinking')} {_ASSUMED}")
        footer.append(f"add with: maintain sortie reconcile {quoted(str(path))} --accept")
    return _listing(path, [_line(pair, desk.today) for pair in pairs], footer)


def _accepted(desk: Desk, path: Path, sheet: ScoreSheet, battle: str | None) -> Listing:
    """Add what can be added; the lines say what was missing before."""
    with writing(desk, "sortie reconcile") as recorder:
        pairs = list(_differing(_pairs(recorder.connection, sheet, battle, desk.today)))
        lines = [_line(pair, desk.today) for pair in pairs]
        added = sum(_write(recorder, pair, _steps(pair, desk.today)) for pair in pairs)
        recorder.summarise(f"added {count(added, 'sinking')} from {path.name}")
    told = [f"added: {count(added, 'sinking')} {_ASSUMED}"] if added else []
    return _listing(path, lines, [*sheet.left_out, *told])


def _pairs(connection: sa.Connection, sheet: ScoreSheet, battle: str | None, today: date) -> list[_Pair]:
    """Every ship in every battle of the sheet, and ships that sank there by the logs alone."""
    faults = dict(sheet.faults)
    pairs: dict[tuple[int, int], _Pair] = {}
    for score in sheet.scores:
        refusals: list[str] = []
        fight = _or_why(refusals, _battle, connection, score.battle or battle, today)
        hull = _or_why(refusals, find.ship, connection, score.ship)
        if fight is None or hull is None:
            faults[score.row] = "; ".join(refusals)
            continue
        pair = pairs.setdefault((fight.id, hull.id), _Pair(fight, hull))
        pair.on_sheet += score.sinkings
        pair.numbers += [score.sortie] if score.sortie is not None and score.sinkings else []
    if faults:
        lines = sorted({*faults, *(score.row for score in sheet.scores)})
        raise refused({lines.index(row): why for row, why in faults.items()}, lines, "rows")
    battles = {pair.battle.id: pair.battle for pair in pairs.values()}
    ships = {row.id: row for row in connection.execute(sa.select(t.ship))}
    for row in sinkings.sorties(connection, list(battles)):
        pair = pairs.setdefault((row.battle_id, row.ship_id), _Pair(battles[row.battle_id], ships[row.ship_id]))
        pair.sorties.append(row)
    return sorted(pairs.values(), key=lambda pair: (pair.battle.from_on, pair.battle.id, pair.ship.name.lower()))


def _or_why(refusals: list[str], look_up: Callable[..., Row], *sought: Any) -> Row | None:
    """What is looked up, or None with why not among the refusals."""
    try:
        return look_up(*sought)
    except MaintainError as error:
        refusals.append(f"{error.message}" + (f" ({error.hint})" if error.hint else ""))
        return None


def _battle(connection: sa.Connection, named: str | None, today: date) -> Row:
    if named is None:
        raise InvalidRecord("no battle is named", hint="head a column battle, or name it with --battle")
    found = find.battle(connection, named)
    if found.state == "called off":
        raise InvalidRecord(
            f"{found.name} was called off", hint="name the battle that was fought: maintain battle list"
        )
    if found.from_on > today:
        raise InvalidRecord(
            f"{found.name} is still to come", hint="name the battle that was fought, or today's date with --on"
        )
    return found


def _differing(pairs: Sequence[_Pair]) -> Iterator[_Pair]:
    return (pair for pair in pairs if pair.on_sheet != pair.logged)


def _steps(pair: _Pair, today: date) -> list[_Step]:
    """One step for each sinking that the logs lack; none where the sheet says more than can have been."""
    if pair.on_sheet > pair.most:
        return [_Step(f"{pair.on_sheet} sinkings in at most {pair.most} sorties: look at the sheet again")]
    steps: list[_Step] = []
    taken: set[int] = set()
    added = 0
    named = list(pair.numbers)
    day = min(pair.battle.until_on, today)
    number = max((row.number for row in pair.sorties if row.sailed_on == day), default=0)
    for _ in range(max(0, pair.on_sheet - pair.logged)):
        planned = pair.battle.planned_sorties or (0 if pair.sorties else pair.most)
        room = len(pair.sorties) + added < planned
        step = _at_named(pair, named, taken) or _somewhere(pair, taken, (day, number + 1) if room else None)
        if step.update is not None:
            taken.add(step.update)
        if step.insert is not None:
            added, number = added + 1, max(number, step.insert[1])
        steps.append(step)
    return steps


def _at_named(pair: _Pair, named: list[int], taken: set[int]) -> _Step | None:
    """The sinking of a sortie that the sheet numbers, on the battle's only day."""
    days = {row.number: row for row in pair.sorties if row.sailed_on == pair.battle.from_on}
    while named and pair.battle.from_on == pair.battle.until_on:
        number = named.pop(0)
        row = days.get(number)
        if row is None and number > pair.most:
            return _Step(f"sortie {number} of at most {pair.most}: look at the sheet again")
        if row is None:
            before = [str(each) for each in range(1, number) if each not in days]
            gap = f", though nobody logged {', '.join(before)}" if before else ""
            return _Step(f"sortie {number} added{gap}", insert=(pair.battle.from_on, number))
        if row.ending == "sank" or row.id in taken:
            continue
        if row.wetness is None:
            return _Step(f"sortie {number} of unknown wetness sank", update=row.id)
        return _Step(f"sortie {number} is logged {row.wetness}: {_mend(pair, row)}")
    return None


def _somewhere(pair: _Pair, taken: set[int], unlogged: tuple[date, int] | None) -> _Step:
    """A sinking of no sortie that the sheet names: in one of unknown wetness, else in one that nobody logged."""
    unknown = next((row for row in pair.sorties if row.wetness is None and row.id not in taken), None)
    if unknown is not None:
        told = f"sortie {unknown.number} of {unknown.sailed_on}, of unknown wetness, sank"
        return _Step(told, update=unknown.id)
    if unlogged is not None:
        day, number = unlogged
        return _Step(f"sortie {number} of {day} added", insert=unlogged)
    dry = next((row for row in pair.sorties if row.ending != "sank"), None)
    if dry is None:
        return _Step("more sinkings than sorties: look at the sheet again")
    return _Step(f"every sortie is logged, none unknown: {_mend(pair, dry)}")


def _mend(pair: _Pair, row: Row) -> str:
    outcome = quoted(f"{pair.ship.name}=W3")
    return f"if it sank: maintain sortie correct {outcome} --day {row.sailed_on} --number {row.number}"


def _write(recorder: Recorder, pair: _Pair, steps: Sequence[_Step]) -> int:
    """Add the sinkings that can be added; how many."""
    place = {"battle_id": pair.battle.id, "ship_id": pair.ship.id}
    for step in steps:
        if step.update is not None:
            recorder.update(t.sortie, step.update, **_SANK)
        elif step.insert is not None:
            day, number = step.insert
            recorder.insert(t.sortie, **place, sailed_on=day, number=number, note=_ASSUMED, **_SANK)
    written = sum(map(_writes, steps))
    if written and pair.battle.state == "planned":
        recorder.update(t.battle, pair.battle.id, state="fought")
    return written


def _line(pair: _Pair, today: date) -> dict[str, Any]:
    steps = "; ".join(dict.fromkeys(step.told for step in _steps(pair, today)))
    return {
        "battle": pair.battle.name,
        "ship": pair.ship.name,
        "on_sheet": pair.on_sheet,
        "logged": pair.logged,
        "what": steps or "logged, but not on the sheet: ask whoever kept score",
    }


def _writes(step: _Step) -> bool:
    return step.update is not None or step.insert is not None


def _listing(path: Path, lines: Sequence[dict[str, Any]], footer: Sequence[str]) -> Listing:
    return Listing(
        f"{path.name} and the logs", _COLUMNS, tuple(lines), tuple(footer), empty="the sheet and the logs agree"
    )
