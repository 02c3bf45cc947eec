"""The pages of one ship, of the fleet, and of a meet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find, ship_page
from maintain.records import tables as t
from maintain.results.outlook import Due
from maintain.results.paper import CheckStep, DueItem, Sheets, ShipSheet
from maintain.services import kept
from maintain.services.battle_day.aboard import aboard
from maintain.services.battle_day.questions import Question, questions
from maintain.services.dated_work.gather import dated_work
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon, until_battle, until_day
from maintain.services.paper.issue import packed, stock_lines
from maintain.services.phone import days_of
from maintain.services.unit import Desk, reading
from maintain.vocabulary import DEMAND_TEST, MEASURES

Row = sa.Row[Any]
_LINES = 6  # of a card: three battles of two sorties make a full day (common practice, no source)
_MOST_LINES = 14
_AS_DUE_ASKS = {"system": None, "over": 0.03, "everything": False, "hours": None}
_LEAVE = ("leave", "certificate", "task")  # nothing to do, or listed by its date already


@dataclass(frozen=True)
class Wanted:
    """
    Which pages.

    Attributes
    ----------
    ship : str, optional
        Only hers; None: the whole fleet's.
    battle : str, optional
        Which one lies ahead; None: the next.
    issue : bool
        True adds the quartermaster's issue sheet.
    pack : bool
        True works out how many of each family to take there, which takes as long as `maintain spares --meet`.
    paper : str
    """

    ship: str | None
    battle: str | None
    issue: bool
    paper: str
    pack: bool = False


def sheets(desk: Desk, wanted: Wanted) -> Sheets:
    """Everything that stands on the pages."""
    with reading(desk) as connection:
        battle, horizon, notes = _ahead(connection, desk.today, wanted)
        ships = _ships(connection, wanted.ship)
        dated = dated_work(connection, horizon)
        stock = stock_lines(connection, desk.today) if wanted.issue else None
        forecast, told = _forecast(desk, battle)
        made = tuple(_sheet(connection, desk.today, row, dated, forecast) for row in ships)
    if stock is not None and wanted.pack and battle is not None:
        stock = packed(desk, battle.name, stock)
    days = days_of(battle) if battle is not None else ()
    title = "The fleet" if wanted.ship is None else ships[0].name
    return Sheets(
        title=f"{title}: {battle.name}" if battle is not None else title,
        made_on=desk.today,
        battle=battle.name if battle is not None else None,
        days=days,
        sorties=_lines(battle),
        ships=made,
        stock=stock,
        paper=wanted.paper,
        notes=(*notes, *told),
    )


def _ahead(connection: sa.Connection, today: date, wanted: Wanted) -> tuple[Any, Horizon, tuple[str, ...]]:
    try:
        battle, horizon = until_battle(connection, today, wanted.battle)
    except NotFound as error:
        if wanted.battle is not None:
            raise
        return None, until_day(connection, today, today), (error.message,)
    return battle, horizon, ()


def _ships(connection: sa.Connection, name: str | None) -> list[Row]:
    query = (
        sa.select(t.ship, t.member.c.name.label("captain"))
        .outerjoin(t.member, t.member.c.id == t.ship.c.captain_id)
        .order_by(sa.func.lower(t.ship.c.name))
    )
    named = find.ship(connection, name) if name else None
    if named is not None and named.state in ("lost", "paid off"):
        raise InvalidRecord(
            f"{named.name} is {named.state}: nothing is checked or logged of her",
            hint=f"if she is back: maintain ship state {quoted(named.name)} 'in commission'",
        )
    wanted = t.ship.c.id == named.id if named is not None else t.ship.c.state == "in commission"
    found = list(connection.execute(query.where(wanted)))
    if not found:
        raise InvalidRecord("no ship is in commission", hint="add one with: maintain ship add NAME")
    return found


def _forecast(desk: Desk, battle: Any) -> tuple[Due | None, tuple[str, ...]]:
    """What `due` last answered of the whole fleet before this battle, if no record has changed since."""
    if battle is None:
        return None, ()
    for asked in (battle.name, None):  # None: the next one, whichever that is
        found = kept.at_hand(desk, Due, {"battle": asked, "ship": None, **_AS_DUE_ASKS})
        if found is not None and found.battle == battle.name:
            return found, ()
    ask = f"maintain due --battle {quoted(battle.name)}"
    return None, (f"only dates and counts are listed as due; for parts likely to fail as well, run {ask} first",)


def _sheet(
    connection: sa.Connection, today: date, ship: Row, dated: Iterable[DatedWork], forecast: Due | None
) -> ShipSheet:
    doubts = ship_page.suspects(connection, ship.id, today)
    return ShipSheet(
        ship=ship.name,
        captain=ship.captain,
        number=ship.club_number,
        steps=tuple(map(_step, questions(aboard(connection, ship.id)))),
        due=(*_dated(dated, ship.name), *_likely(forecast, ship.name)),
        suspects=tuple(f"{row.tag} (was {row.position}): {row.mode} since {row.raised_on}" for row in doubts),
    )


def _step(question: Question) -> CheckStep:
    topic = question.topic
    figure = MEASURES[topic.measure] if topic.measure and topic.measure != DEMAND_TEST else None
    return CheckStep(question.text, topic.how, figure or None, "; ".join(topic.cautions) or None)


def _dated(dated: Iterable[DatedWork], ship: str) -> list[DueItem]:
    return [
        DueItem(work.position or work.part or "the ship", work.what, work.why, work.decider)
        for work in dated
        if work.ship == ship
    ]


def _likely(forecast: Due | None, ship: str) -> list[DueItem]:
    lines = forecast.lines if forecast is not None else ()
    return [
        DueItem(line.position or line.part or "the ship", line.action, line.why)
        for line in lines
        if line.ship == ship and line.advice not in _LEAVE
    ]


def _lines(battle: Any) -> int:
    return _LINES if battle is None else min(max(battle.planned_sorties or _LINES, _LINES), _MOST_LINES)
