"""What is due before the next battle: legal dates, recurring work and likely failures, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import sqlalchemy as sa

from maintain.core.lives import Bools
from maintain.errors import NotEnoughData, NotFound
from maintain.records import find, holdings
from maintain.records.failed_aboard import failed_aboard
from maintain.records.ship_layout import was_sailing
from maintain.results.deeds import Deed
from maintain.results.outlook import Due, DueLine, Interval
from maintain.services.dated_work.gather import dated_work
from maintain.services.dated_work.work import DatedWork
from maintain.services.deeds import BEST, best_first, deeds
from maintain.services.empty_positions import empty_vital
from maintain.services.evening import by_what_it_buys, fitting, worthwhile
from maintain.services.horizon import Horizon, until_battle, until_day
from maintain.services.lives.service_ages import SEED
from maintain.services.odds import drag, fleet_odds, gain_by_position
from maintain.services.outlook import HOW_TO_TEST, LEVEL, Outlook, outlook
from maintain.services.prospects import TEST_MINUTES, Prospect, prospects
from maintain.services.unit import Desk, reading
from maintain.services.unlogged import seasons_unlogged

_AHEAD_DAYS = 30  # that count where no battle is planned


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    battle, ship, system : str, optional
        Default: the next battle; all ships; all systems.
    over : float
        Parts less likely to fail than this are not listed, but hidden functions are.
    everything : bool
        True lists all parts whatever their chance.
    hours : float, optional
        Only work on parts that fits in so many hours, by what a minute of it buys.
    """

    battle: str | None = None
    ship: str | None = None
    system: str | None = None
    over: float = 0.03
    everything: bool = False
    hours: float | None = None


def due(desk: Desk, question: Question) -> Due:
    """Everything due before the end of the battle asked for."""
    with reading(desk) as connection:
        battle, horizon = ahead(connection, desk.today, question.battle)
        ship = find.ship(connection, question.ship) if question.ship else None
        dated = [dated_line(work) for work in dated_work(connection, horizon)]
        name = ship.name if ship else None
        forecast, best, notes = _forecasts(connection, desk, horizon, question.over, name)
        unlogged = seasons_unlogged(connection, desk.today, name)
        empty = [row for row in empty_vital(connection, desk.today, name) if question.system in (None, row.system)]
    mine = [part for part in forecast if _asked(part.line, name, question.system)]
    parts = [part.line for part in mine]
    likely = [part for part in mine if part.line.failing]
    listed, told = _listed(parts, question)
    runs = [deed for deed in best if deed.part is None and _runs(deed, name, question)]
    worked = {line.part for line in listed}
    tonight = [deed for deed in best if deed.part in worked or (name and deed in runs)]
    if ship and not was_sailing(ship, desk.today):
        notes = (f"{ship.name} is {ship.state}: her parts are not counted",)
    return Due(
        battle=battle,
        ship=name,
        until=horizon.until,
        sorties=horizon.sorties,
        level=LEVEL,
        over=0.0 if question.everything else question.over,
        lines=(*(line for line in dated if _asked(line, name, question.system)), *listed),
        considered=len(likely),
        expected=_expected([part.fails for part in likely]),
        hours=question.hours,
        fitted=len(parts),
        empty=tuple(f"{row.ship}/{row.name}" if ship is None else row.name for row in empty),
        tonight=tuple(tonight[:BEST]),
        runs=tuple(runs),
        notes=(*horizon.notes, *notes, *unlogged, *told),
    )


def ahead(connection: sa.Connection, today: date, battle: str | None) -> tuple[str | None, Horizon]:
    """
    The battle asked for, or the next one, and what lies before its end; a month where none is planned.

    Dates run out whether or not anybody has planned a battle.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no battle of that name, or it is over.
    """
    try:
        row, horizon = until_battle(connection, today, battle)
    except NotFound:
        if battle is not None:
            raise
        return None, until_day(connection, today, today + timedelta(days=_AHEAD_DAYS))
    return row.name, horizon


@dataclass(frozen=True)
class _Forecast:
    """A part's line, and in which draws it lets the ship down; no draws of one without a forecast."""

    line: DueLine
    fails: Bools


def _forecasts(
    connection: sa.Connection, desk: Desk, horizon: Horizon, over: float, ship: str | None
) -> tuple[list[_Forecast], list[Deed], tuple[str, ...]]:
    """A line for every part that may still work, what is best done tonight, and what had to be left out."""
    try:
        look = outlook(connection, horizon, desk)
    except NotEnoughData as error:
        return [], [], (error.message,)
    parts = prospects(connection, look, over)
    failed = {row.position_id for row in failed_aboard(connection, horizon.today)}
    buys: dict[int, float] = {}
    best: list[Deed] = []
    for odds in fleet_odds(connection, parts, drag(connection, horizon.today), horizon.today, failed=failed):
        buys |= gain_by_position(odds)
        best += deeds(odds)
    held = {row.name: row.on_hand for row in holdings.by_family(connection, horizon.today)}
    rng = np.random.default_rng(SEED)
    found = []
    for part in parts:
        fails = rng.random(part.let_down.size) < part.let_down
        if part.failed is None:
            found.append(_Forecast(part_line(part, buys, held.get(part.labels["family"], 0)), fails))
    for place in _silent(look, parts):
        if int(look.fleet.position_id[place]) not in failed:
            found.append(_Forecast(_silent_line(look, place), np.empty(0, dtype=np.bool_)))
    return found, best_first(best), look.notes if ship is None else notes_of_ship(look, parts, ship)


def _silent(look: Outlook, parts: list[Prospect]) -> list[int]:
    """Places in the fleet of parts that have no forecast."""
    told = {part.tag for part in parts}
    return [place for place, tag in enumerate(look.fleet.tag.tolist()) if tag not in told]


def _silent_line(look: Outlook, place: int) -> DueLine:
    """A part without a forecast: one that nobody hears fail has to be tested all the more."""
    labels = {name: str(column[place]) for name, column in look.fleet.labels.items()}
    hidden = bool(look.hidden[place])
    return DueLine(
        ship=labels["ship"],
        position=labels["position"],
        part=str(look.fleet.tag[place]),
        family=labels["family"],
        system=labels["system"],
        advice="test" if hidden else "leave",
        action="test it by demand" if hidden else "leave it",
        why="never shown to work on record, and nobody hears it fail"
        if hidden
        else "nothing was seen of such parts yet",
        minutes=TEST_MINUTES if hidden else None,
    )


def notes_of_ship(look: Outlook, parts: list[Prospect], ship: str) -> tuple[str, ...]:
    """What is not known of her own parts; what is not known of the club's lives is none of her captain's business."""
    told = [part for part in parts if part.labels["ship"] == ship]
    mine = [place for place in _silent(look, parts) if look.fleet.labels["ship"][place] == ship]
    silent = sorted(str(look.fleet.tag[place]) for place in mine if not look.hidden[place])
    untested = sorted(str(look.fleet.tag[place]) for place in mine if look.hidden[place])
    strange = [part.tag for part in told if not part.aged]
    notes = []
    if silent:
        how = "log sorties, and say with --from when they were fitted"
        notes.append(f"no forecast yet, for nothing was seen of such parts: {', '.join(silent)} ({how})")
    if untested:
        notes.append(f"no forecast yet, for none of its kind was ever tested: {', '.join(untested)} ({HOW_TO_TEST})")
    if strange:
        notes.append(f"had served nobody knows how long before they came: {', '.join(strange)}")
    return tuple(notes)


def _expected(fails: list[Bools]) -> Interval:
    """How many let their ships down, counted draw by draw."""
    if not fails:
        return Interval(0.0, 0.0, 0.0)
    counts = np.sum(fails, axis=0)
    low, high = np.quantile(counts, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Interval(float(counts.mean()), float(low), float(high))


def _runs(run: Deed, ship: str | None, question: Question) -> bool:
    """Whether running everything was asked about: of her, and neither of one system nor of less time than it takes."""
    fits = question.hours is None or (run.minutes or 0) <= 60 * question.hours
    return ship in (None, run.ship) and question.system is None and fits


def _asked(line: DueLine, ship: str | None, system: str | None) -> bool:
    return (ship is None or line.ship == ship) and (system is None or line.system == system)


def _listed(parts: list[DueLine], question: Question) -> tuple[list[DueLine], tuple[str, ...]]:
    """Parts to show, those whose work buys the most first, and what is to be known of the choice."""
    if question.hours is None:
        shown = (
            line for line in parts if question.everything or line.advice == "test" or _chance(line) >= question.over
        )
        return sorted(shown, key=lambda line: by_what_it_buys(line.buys or 0.0, _chance(line))), ()
    blind = sorted({line.family for line in filter(worthwhile, parts) if line.family and line.minutes is None})
    told = [f"minutes of work unknown, so left out: {', '.join(blind)} (maintain family change --fitting-minutes)"]
    return fitting(parts, question.hours), tuple(told if blind else ())


def _chance(line: DueLine) -> float:
    return line.failing.value if line.failing else 0.0


def dated_line(work: DatedWork) -> DueLine:
    """Work due by date or count as a line."""
    return DueLine(
        ship=work.ship,
        position=work.position,
        part=work.part,
        family=None,
        system=work.system,
        advice=work.kind,
        action=work.what,
        why=work.why,
        due_on=work.due_on,
        overdue=work.overdue,
        first=work.first,
        source=work.source,
        decider=work.decider,
    )


def part_line(part: Prospect, buys: dict[int, float], in_pool: int | None = None) -> DueLine:
    """A fitted part as a line; `buys` is what following the advice buys, by position."""
    return DueLine(
        ship=part.labels["ship"],
        position=part.labels["position"],
        part=part.tag,
        family=part.labels["family"],
        system=part.labels["system"],
        advice=part.advice.kind,
        action=part.advice.action,
        why=part.advice.why,
        last_tested=part.tested,
        failing=part.failing,
        failing_if_new=part.failing_if_new,
        in_pool=in_pool,
        evidence=part.evidence,
        buys=buys[part.position_id],
        minutes=part.minutes,
    )
