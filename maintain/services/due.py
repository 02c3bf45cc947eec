"""What is due before the next battle: legal dates, recurring work and likely failures, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass

import sqlalchemy as sa

from maintain.errors import NotEnoughData
from maintain.records import find
from maintain.results.outlook import Due, DueLine
from maintain.services.dated_work import DatedWork, dated_work
from maintain.services.evening import fitting, worthwhile
from maintain.services.horizon import Horizon, until_battle
from maintain.services.odds import drag, fleet_odds, gain_by_position
from maintain.services.outlook import LEVEL, outlook
from maintain.services.prospects import Prospect, prospects
from maintain.services.unit import Desk, reading

_TO_A_THOUSANDTH = 3  # digits of what is bought that are worth an order


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    battle, ship, system : str, optional
        Default: the next battle; all ships; all systems.
    over : float
        Parts less likely to fail than this are not listed.
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
        battle, horizon = until_battle(connection, desk.today, question.battle)
        ship = find.ship(connection, question.ship).name if question.ship else None
        dated = [dated_line(work) for work in dated_work(connection, horizon)]
        forecast, notes = _forecasts(connection, horizon)
    mine = [line for line in (*dated, *forecast) if _asked(line, ship, question.system)]
    parts = [line for line in mine if line.failing is not None]
    listed, told = _listed(parts, question)
    return Due(
        battle=battle.name,
        ship=ship,
        until=horizon.until,
        sorties=horizon.sorties,
        level=LEVEL,
        over=0.0 if question.everything else question.over,
        lines=(*(line for line in mine if line.failing is None), *listed),
        considered=len(parts),
        expected_failures=sum(map(_chance, parts)),
        hours=question.hours,
        notes=(*horizon.notes, *notes, *told),
    )


def _forecasts(connection: sa.Connection, horizon: Horizon) -> tuple[list[DueLine], tuple[str, ...]]:
    """A line for every part that has a forecast, and what had to be left out."""
    try:
        look = outlook(connection, horizon)
    except NotEnoughData as error:
        return [], (error.message,)
    parts = prospects(connection, look)
    buys = gain_by_position(fleet_odds(connection, parts, drag(connection, horizon.today)))
    return [part_line(part, buys) for part in parts], look.notes


def _asked(line: DueLine, ship: str | None, system: str | None) -> bool:
    return (ship is None or line.ship == ship) and (system is None or line.system == system)


def _listed(parts: list[DueLine], question: Question) -> tuple[list[DueLine], tuple[str, ...]]:
    """Parts to show, those whose work buys the most first, and what is to be known of the choice."""
    if question.hours is None:
        shown = (line for line in parts if question.everything or _chance(line) >= question.over)
        return sorted(shown, key=lambda line: (-round(line.buys or 0.0, _TO_A_THOUSANDTH), -_chance(line))), ()
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
        source=work.source,
        decider=work.decider,
    )


def part_line(part: Prospect, buys: dict[int, float]) -> DueLine:
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
        failing=part.failing,
        failing_if_new=part.failing_if_new,
        evidence=part.evidence,
        buys=buys[part.position_id],
        minutes=part.minutes,
    )
