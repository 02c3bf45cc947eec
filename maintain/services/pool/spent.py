"""Everything that was used up: which part or pieces, when, how, on which ship, at what price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby, pairwise
from typing import Any

from maintain.core.paid import Price, Shelf, priced
from maintain.results.pool_costs import FAILED, GIVEN, MISSING, RENEWED, SHELF, SHIP_LOST, USED

THE_POOL = "the pool"
_GONE = ("scrapped", "lost")
_OURS = ("pool", "suspect")  # the places whose pieces are the club's, and here
_PASSED_THROUGH = ("suspect", "scrapped", "lost")  # a part in quarantine is still charged to where it came from
_KEPT = {"failed": FAILED, "working": RENEWED}
_PAID_BACK = "paid back"  # what it pays for was counted when it was used


@dataclass(frozen=True)
class Spent:
    """
    Something used up.

    Attributes
    ----------
    on : date
    how : str
        As `results.pool_costs.Cost`.
    ship, captain : str
        Hers where it served; the pool where it did on none.
    price : Price
    of_pool : bool
        True if it was the pool's own.
    thrown_away : bool
        False for a part that was taken out and is still somewhere: repaired, or kept for use.
    """

    on: date
    how: str
    family: str
    pieces: int
    ship: str
    captain: str
    price: Price
    of_pool: bool
    thrown_away: bool = True


def parts_spent(stays: Iterable[Any], day: date) -> Iterator[Spent]:
    """
    Tagged parts taken out by a day, failed, working or lost.

    Parameters
    ----------
    stays : iterable of row
        As `records.spending.stays`: by part, oldest first.
    day : date
    """
    for _, history in groupby(stays, key=lambda row: row.part_id):
        ship, captain = None, None
        for now, after in pairwise([*history, None]):
            if now.place not in _PASSED_THROUGH:
                ship, captain = now.ship, now.captain  # None off the ships
            if now.until_on is None or now.until_on > day or now.place in _GONE:
                continue
            gone = after is None or after.place in _GONE
            how = _how(now, after, gone=gone)
            if how is not None:
                yield Spent(
                    on=now.until_on,
                    how=how,
                    family=now.family,
                    pieces=1,
                    ship=ship or THE_POOL,
                    captain=captain or THE_POOL,
                    price=priced(1, now.unit_cost_cents),
                    of_pool=now.owner is None,
                    thrown_away=gone,
                )


def _how(now: Any, after: Any, *, gone: bool) -> str | None:
    """How a part left a place; None if that is nothing to pay for."""
    if now.reason == "ship lost":
        return SHIP_LOST if gone else None
    if now.place == "installed" and now.reason in _KEPT:
        return _KEPT[now.reason]
    if after is None or not gone:
        return None
    if after.place == "lost":
        return MISSING
    condemned = now.place == "suspect" or (now.reason == "failed" and now.place != "pool")
    return FAILED if condemned else SHELF


def pieces_spent(moves: Iterable[Any]) -> Iterator[Spent]:
    """
    Counted pieces that left the club's stock, each at what was paid for the oldest then there.

    What is lent stays the club's: it leaves only when it comes back dead.

    Parameters
    ----------
    moves : iterable of row
        As `records.spending.moves`: oldest first.
    """
    shelves: dict[str, Shelf] = {}
    for row in moves:
        shelf = shelves.setdefault(row.family, Shelf(row.usual_cents))
        if row.to_place in _OURS:
            if row.from_place not in _OURS and not _lent(row, row.from_place):
                shelf.put(row.quantity, row.unit_cost_cents)
        elif row.from_place in _OURS or row.to_place == "scrap":
            if _lent(row, row.to_place):
                continue
            price = shelf.take(row.quantity)
            if row.reason != _PAID_BACK:
                yield Spent(
                    on=row.moved_on,
                    how=_way(row),
                    family=row.family,
                    pieces=row.quantity,
                    ship=row.ship or THE_POOL,
                    captain=row.captain or row.taker or THE_POOL,
                    price=price,
                    of_pool=True,
                )


def _lent(row: Any, place: str) -> bool:
    """True if the movement is a loan going out to a captain, or coming back from one."""
    return row.loan_id is not None and place == "captain"


def _way(row: Any) -> str:
    if row.to_place == "scrap":
        return FAILED if row.loan_id is not None else SHELF
    return {"ship": USED, "captain": GIVEN, "count": MISSING}[row.to_place]


def by_name(spent: Iterable[Spent], by: str) -> dict[str, list[Spent]]:
    """What was used up, by family, ship, season or captain."""
    found: dict[str, list[Spent]] = defaultdict(list)
    for each in spent:
        found[str(each.on.year) if by == "season" else str(getattr(each, by))].append(each)
    return found
