"""The usual work offered for what a club has, and taken over as its own tasks, once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.core.recurrence import parse_intervals, told
from maintain.core.wording import count
from maintain.errors import InvalidRecord
from maintain.records import find, upkeep
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services.tasks import record
from maintain.services.tasks.trade import USUAL, Usual
from maintain.services.unit import Desk, reading, writing

Row = Any


@dataclass(frozen=True)
class Choice:
    """Which of the usual work: by title, of a category, and for one ship or the whole fleet."""

    titles: tuple[str, ...] = ()
    category: str | None = None
    ship: str | None = None


@dataclass(frozen=True)
class _Offer:
    """Usual work, the families of the club it would be done on, and those it is done on already."""

    usual: Usual
    families: tuple[Row, ...]
    fitted: int
    adopted: frozenset[int]

    @property
    def state(self) -> str:
        """How far it is taken over."""
        if not self.families:
            return "nothing to do it on"
        left = [row for row in self.families if row.id not in self.adopted]
        return "adopted" if not left else "partly" if len(left) < len(self.families) else "no"


_COLUMNS = (
    Column("title", "Task"),
    Column("category", "Category", on_screen=False),
    Column("families", "Families"),
    Column("fitted", "Parts", numeric=True),
    Column("every", "How often"),
    Column("work_minutes", "Minutes", numeric=True),
    Column("source", "Source"),
    Column("decider", "Who decides", on_screen=False),
    Column("adopted", "Adopted"),
    Column("why", "Why", on_screen=False),
)


def suggest(desk: Desk, *, category: str | None, ship: str | None, everything: bool) -> Listing:
    """The usual work for the parts a club has, each with its source, or all there is."""
    with reading(desk) as connection:
        offers = _offers(connection, Choice(category=category, ship=ship))
        bare = upkeep.without_certificate(connection, "cylinder")
    rows = tuple(_row(each) for each in offers if everything or each.families)
    footer: tuple[str, ...] = (
        "take it over with: maintain task adopt --all, or by title; then mend it: maintain task change",
    )
    if bare:
        footer += (
            f"no test date on record of {', '.join(bare)}: what regulations say: maintain certificate rules; "
            "the licensed cylinder inspector decides",
        )
    return Listing("Usual work", _COLUMNS, rows, footer if rows else (), empty="no family it could be done on is known")


def _row(offer: _Offer) -> dict[str, Any]:
    usual = offer.usual
    return {
        "title": usual.title,
        "category": usual.category,
        "families": [row.name for row in offer.families],
        "fitted": offer.fitted,
        "every": told(parse_intervals(usual.every)),
        "work_minutes": usual.work_minutes,
        "source": usual.source,
        "decider": usual.decider,
        "adopted": offer.state,
        "why": usual.why,
    }


def _offers(connection: sa.Connection, choice: Choice) -> list[_Offer]:
    ship_id = find.ship(connection, choice.ship).id if choice.ship else None
    families = upkeep.families_and_where(connection)
    installed = [row for row in upkeep.installed_parts(connection) if ship_id in (None, row.ship_id)]
    tasks = upkeep.open_tasks(connection)
    found = []
    for usual in USUAL:
        if choice.category in (None, usual.category):
            fits = tuple(row for row in families if _fits(usual, row) and _aboard(row, installed, ship_id))
            ids = {row.id for row in fits}
            fitted = sum(row.family_id in ids for row in installed)
            found.append(_Offer(usual, fits, fitted, _adopted(usual, tasks, ids, ship_id)))
    return found


def _fits(usual: Usual, family: Row) -> bool:
    where = f"{family.name} {' '.join(family.positions)}".lower()
    return family.category == usual.category and (not usual.words or any(word in where for word in usual.words))


def _aboard(family: Row, installed: Sequence[Row], ship_id: int | None) -> bool:
    return ship_id is None or any(row.family_id == family.id for row in installed)


def _adopted(usual: Usual, tasks: Sequence[Row], families: Collection[int], ship_id: int | None) -> frozenset[int]:
    """Families on which it is done already: by a task of that title for the fleet, or for the same ship."""
    mine = [
        row
        for row in tasks
        if row.title.lower().startswith(usual.title.lower()) and (row.ship_id is None or ship_id in (None, row.ship_id))
    ]
    if any(row.family_id is None for row in mine):
        return frozenset(families)
    return frozenset(row.family_id for row in mine)


def adopt(desk: Desk, choice: Choice) -> Done:
    """
    Make usual work the club's own: tasks that it may change or close; what it has already is left alone.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such work, or all of it is done already or has nothing to be done on.
    """
    with writing(desk, "task adopt") as recorder:
        connection = recorder.connection
        ship = find.ship(connection, choice.ship) if choice.ship else None
        titles = [find.match([each.title for each in USUAL], text, "usual work", "maintain task suggest --everything")
                  for text in choice.titles]  # fmt: skip
        offers = [each for each in _offers(connection, choice) if not titles or each.usual.title in titles]
        added = [title for each in offers for title in _take_over(desk, recorder, each, ship)]
        if not added:
            raise _nothing_new(offers)
        did = f"adopted {count(len(added), 'task')}" + (f" for {ship.name}" if ship else "")
        recorder.summarise(did)
    known = [each.usual.title for each in offers if each.state in ("adopted", "partly")]
    notes = (*added, *((f"adopted already, left alone: {', '.join(known)}",) if known else ()))
    return Done(did, notes=notes, record={"tasks": added, "ship": ship.name if ship else None})


def _nothing_new(offers: Sequence[_Offer]) -> InvalidRecord:
    if any(each.state == "adopted" for each in offers):
        return InvalidRecord(
            "all of that is adopted already",
            hint="see: maintain task list; a ship's own ends with: maintain task close",
        )
    what = ", ".join(sorted({each.usual.category for each in offers})) or "that"
    return InvalidRecord(f"no family of {what} is known to do it on", hint="see: maintain task suggest --everything")


def _take_over(desk: Desk, recorder: Recorder, offer: _Offer, ship: Row | None) -> list[str]:
    """Add the tasks of one offer: one for its whole category, else one for each family; their titles."""
    usual = offer.usual
    titles = []
    for family, scope in _scopes(offer):
        of = ", ".join(filter(None, (family, ship.name if ship else None)))
        title = record.new_title(recorder.connection, f"{usual.title} ({of})" if of else usual.title)
        record.insert(
            recorder,
            parse_intervals(usual.every),
            title=title,
            starts_on=desk.today,
            ship_id=ship.id if ship else None,
            source=usual.source,
            decider=usual.decider,
            work_minutes=usual.work_minutes,
            note=usual.why,
            **scope,
        )
        titles.append(title)
    return titles


def _scopes(offer: _Offer) -> list[tuple[str | None, dict[str, Any]]]:
    """What is still to be taken over: the family to name in the title, if there are several, and the task's columns."""
    if not offer.usual.words:
        return [] if offer.adopted or not offer.families else [(None, {"category": offer.usual.category})]
    several = len(offer.families) > 1
    left = [row for row in offer.families if row.id not in offer.adopted]
    return [(row.name if several else None, {"family_id": row.id}) for row in left]
