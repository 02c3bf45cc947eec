"""What is due before the next battle: legal dates, recurring work and likely failures, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.forecast import Chance
from maintain.core.lives import Bools
from maintain.errors import NotEnoughData
from maintain.records import find, holdings
from maintain.records import tables as t
from maintain.results.outlook import Due, DueLine, Interval
from maintain.services.advice import Case, advise
from maintain.services.chances import chances
from maintain.services.dated_work import DatedWork, dated_work
from maintain.services.horizon import Horizon, until_battle
from maintain.services.lives.columns import NO_DAY, as_date
from maintain.services.outlook import LEVEL, CategoryOutlook, Outlook, outlook
from maintain.services.unit import Desk, reading


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
    """

    battle: str | None = None
    ship: str | None = None
    system: str | None = None
    over: float = 0.03
    everything: bool = False

    def asks(self, line: DueLine, ship: str | None) -> bool:
        """Whether a line speaks of what is asked."""
        return (ship is None or line.ship == ship) and (self.system is None or line.system == self.system)

    def lists(self, line: DueLine) -> bool:
        """Whether a part is likely enough to fail, or hidden enough, to be listed."""
        assert line.failing
        return self.everything or line.advice == "test" or line.failing.value >= self.over


@dataclass(frozen=True)
class _Known:
    """What the records say of positions and families besides lives."""

    dependence: dict[int, str]
    in_pool: dict[str, int]


@dataclass(frozen=True)
class _Part:
    line: DueLine
    fails: Bools


def due(desk: Desk, question: Question) -> Due:
    """Everything due before the end of the battle asked for."""
    with reading(desk) as connection:
        battle, horizon = until_battle(connection, desk.today, question.battle)
        ship = find.ship(connection, question.ship) if question.ship else None
        dated = [_dated(work) for work in dated_work(connection, horizon)]
        known = _known(connection, horizon)
        try:
            look = outlook(connection, horizon)
        except NotEnoughData as error:
            parts: list[_Part] = []
            notes: tuple[str, ...] = (error.message,)
        else:
            parts = list(_parts(look, horizon, known, question.over))
            notes = look.notes
    name = ship.name if ship else None
    mine = [part for part in parts if question.asks(part.line, name)]
    listed = [part.line for part in mine if question.lists(part.line)]
    listed.sort(key=lambda line: -(line.failing.value if line.failing else 0.0))
    away = ship is not None and ship.state != "in commission"
    told = (f"{ship.name} is {ship.state}: her parts are not counted",) if ship and away else ()
    return Due(
        battle=battle.name,
        ship=name,
        until=horizon.until,
        sorties=horizon.sorties,
        level=LEVEL,
        over=0.0 if question.everything else question.over,
        lines=(*(line for line in dated if question.asks(line, name)), *listed),
        considered=len(mine),
        expected=_expected([part.fails for part in mine]),
        notes=(*told, *horizon.notes, *notes),
    )


def _expected(fails: list[Bools]) -> Interval:
    """How many fail, counted draw by draw."""
    if not fails:
        return Interval(0.0, 0.0, 0.0)
    counts = np.sum(fails, axis=0)
    low, high = np.quantile(counts, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Interval(float(counts.mean()), float(low), float(high))


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


def _known(connection: sa.Connection, horizon: Horizon) -> _Known:
    rows = connection.execute(sa.select(t.position.c.id, t.position.c.dependence))
    held = holdings.by_family(connection, horizon.today)
    return _Known({row.id: row.dependence for row in rows}, {row.name: row.on_hand for row in held})


def _parts(look: Outlook, horizon: Horizon, known: _Known, over: float) -> Iterator[_Part]:
    for of in look.categories:
        found = chances(look, of, horizon)
        for row in range(of.parts.size):
            now, new = _interval(found.now, row), _interval(found.new, row)
            yield _Part(_line(look, of, row, (now, new), known, over), found.fails[:, row])


def _interval(chance: Chance, row: int) -> Interval:
    return Interval(float(chance.mean[row]), float(chance.lower[row]), float(chance.upper[row]))


def _line(
    look: Outlook, of: CategoryOutlook, row: int, now_and_new: tuple[Interval, Interval], known: _Known, over: float
) -> DueLine:
    fleet, place = look.fleet, int(of.parts[row])
    now, new = now_and_new
    tested = int(fleet.last_tested[place])
    case = Case(
        evidence=of.evidence(row),
        now=now,
        new=new,
        aged=bool(of.aged[row]),
        hidden=bool(fleet.hidden[place]),
        tested=None if tested == NO_DAY else as_date(tested),
        dependence=known.dependence[int(fleet.position_id[place])],
        over=over,
    )
    advice, action, why = advise(case)
    family = _label(fleet.labels["family"], place)
    return DueLine(
        ship=_label(fleet.labels["ship"], place),
        position=_label(fleet.labels["position"], place),
        part=_label(fleet.tag, place),
        family=family,
        system=_label(fleet.labels["system"], place),
        advice=advice,
        action=action,
        why=why,
        last_tested=None if tested == NO_DAY else as_date(tested),
        failing=now,
        failing_if_new=new,
        in_pool=known.in_pool.get(family, 0),
        evidence=case.evidence,
    )


def _label(column: NDArray[np.object_], place: int) -> str:
    return str(column[place])
