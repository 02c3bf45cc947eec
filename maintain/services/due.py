"""What is due before the next battle: legal dates, recurring work and likely failures, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.errors import NotEnoughData
from maintain.records import find
from maintain.records import tables as t
from maintain.results.outlook import Due, DueLine, Evidence, Interval
from maintain.services.chances import Chances, chances
from maintain.services.dated_work import DatedWork, dated_work
from maintain.services.horizon import Horizon, until_battle
from maintain.services.lives.columns import NO_DAY, as_date
from maintain.services.outlook import LEVEL, CategoryOutlook, Outlook, outlook
from maintain.services.unit import Desk, reading

WORTH_REPLACING = 0.5  # a new part must at least halve the chance, or replacing buys too little


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
    """

    battle: str | None = None
    ship: str | None = None
    system: str | None = None
    over: float = 0.03
    everything: bool = False


def due(desk: Desk, question: Question) -> Due:
    """Everything due before the end of the battle asked for."""
    with reading(desk) as connection:
        battle, horizon = until_battle(connection, desk.today, question.battle)
        ship = find.ship(connection, question.ship).name if question.ship else None
        dated = [_dated(work) for work in dated_work(connection, horizon)]
        try:
            look = outlook(connection, horizon)
        except NotEnoughData as error:
            forecast: list[DueLine] = []
            notes: tuple[str, ...] = (error.message,)
        else:
            forecast = list(_forecast(look, horizon, _dependence(connection)))
            notes = look.notes
    mine = [line for line in (*dated, *forecast) if _asked(line, ship, question.system)]
    parts = [line for line in mine if line.failing is not None]
    listed = sorted((line for line in parts if _listed(line, question)), key=lambda line: -_chance(line))
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
        notes=(*horizon.notes, *notes),
    )


def _asked(line: DueLine, ship: str | None, system: str | None) -> bool:
    return (ship is None or line.ship == ship) and (system is None or line.system == system)


def _listed(line: DueLine, question: Question) -> bool:
    return question.everything or _chance(line) >= question.over


def _chance(line: DueLine) -> float:
    return line.failing.value if line.failing else 0.0


def _dated(work: DatedWork) -> DueLine:
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


def _dependence(connection: sa.Connection) -> dict[int, Any]:
    """What each family is like, by name, and how much each position matters, by id."""
    rows = connection.execute(sa.select(t.position.c.id, t.position.c.dependence))
    return {row.id: row.dependence for row in rows}


def _forecast(look: Outlook, horizon: Horizon, dependence: dict[int, Any]) -> Iterator[DueLine]:
    hidden = dict(zip(look.past.rows.family["name"], map(bool, look.past.rows.family["hidden"]), strict=True))
    for of in look.categories:
        found = chances(look, of, horizon)
        for row, place in enumerate(of.parts.tolist()):
            labels = {name: str(column[place]) for name, column in look.fleet.labels.items()}
            tested = int(look.fleet.last_tested[place])
            advice, action, why = _advice(
                _Case(
                    of=of,
                    evidence=of.evidence(row),
                    now=float(found.now.mean[row]),
                    new=float(found.new.mean[row]),
                    aged=bool(of.aged[row]),
                    hidden=hidden[labels["family"]],
                    tested=None if tested == NO_DAY else str(as_date(tested)),
                    dependence=dependence[int(look.fleet.position_id[place])],
                )
            )
            yield DueLine(
                ship=labels["ship"],
                position=labels["position"],
                part=str(look.fleet.tag[place]),
                family=labels["family"],
                system=labels["system"],
                advice=advice,
                action=action,
                why=why,
                failing=_interval(found, row),
                failing_if_new=float(found.new.mean[row]),
                evidence=of.evidence(row),
            )


def _interval(found: Chances, row: int) -> Interval:
    return Interval(*(float(column[row]) for column in (found.now.mean, found.now.lower, found.now.upper)))


@dataclass(frozen=True)
class _Case:
    of: CategoryOutlook
    evidence: Evidence
    now: float
    new: float
    aged: bool
    hidden: bool
    tested: str | None
    dependence: str


def _advice(case: _Case) -> tuple[str, str, str]:
    """Advice, what to do and why, in plain words."""
    verdict = case.evidence.verdict
    if case.hidden:
        seen = f"last shown to work on {case.tested}" if case.tested else "never shown to work on record"
        return "test", "test it by demand before the battle", f"makes no noise when it fails; {seen}"
    if not case.aged:
        return "carry a spare", "carry a spare; retest it", "its earlier use is unknown, so age says nothing of it"
    if verdict == "wear-out" and case.new <= WORTH_REPLACING * case.now:
        gain = f"wears with use: a new one would fail with {_percent(case.new)} instead of {_percent(case.now)}"
        return (
            ("replace", "replace it, or test it hard and carry a spare", gain)
            if case.dependence != "nuisance"
            else (
                "carry a spare",
                "carry a spare",
                gain + ", but the ship does without",
            )
        )
    if verdict == "wear-out":
        return (
            "carry a spare",
            "carry a spare",
            "wears with use, but this one is young: a new one would do little better",
        )
    told = {
        "early failures": "new ones fail more often than seasoned ones: replacing a good part buys nothing",
        "steady": "fails at a steady rate: replacing a good part buys nothing",
    }
    unclear = "can't tell yet whether it wears: replacing a good part may buy nothing"
    return "carry a spare", "carry a spare", told.get(verdict, unclear)


def _percent(chance: float) -> str:
    return f"{chance:.0%}" if chance >= 0.01 else "under 1%"
