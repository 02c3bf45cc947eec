"""Whatever is done to the pool, nothing appears or vanishes but through suppliers, scrap and counts."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from maintain.errors import InvalidRecord, NotFound
from maintain.services import history
from maintain.services.failures import Symptoms
from maintain.services.pool import counting, issuing, lending, owing, returning, scrapping, supply
from maintain.services.unit import Desk
from tests.conftest import TODAY, WHO

_FEW = settings(max_examples=30, phases=[Phase.generate], deadline=None, suppress_health_check=list(HealthCheck))

OUTSIDE = ("supplier", "count", "scrap")
GONE = ("scrapped", "lost")


@dataclass(frozen=True)
class Act:
    """One thing somebody does: to counted fuses or tagged servos."""

    kind: str
    family: str
    number: int
    who: str
    condition: str
    flag: bool
    later: int  # days since the act before


_ACTS = st.lists(
    st.builds(
        Act,
        kind=st.sampled_from(
            ["order", "receive", "cancel", "count", "issue", "lend", "return", "owe", "settle", "scrap", "clear"]
        ),
        family=st.sampled_from(["fuse", "standard servo"]),
        number=st.integers(0, 4),
        who=st.sampled_from(["Ana", "Bea"]),
        condition=st.sampled_from(["good", "suspect", "dead"]),
        flag=st.booleans(),
        later=st.integers(0, 1),
    ),
    min_size=5,
    max_size=20,
)


def _do(desk: Desk, act: Act) -> None:
    """Do it by the use-case that the command calls."""
    _DEEDS[act.kind](desk, act)


def _order(desk: Desk, act: Act) -> None:
    supply.order(desk, supply.Order(act.family, act.number))


def _receive(desk: Desk, act: Act) -> None:
    supply.receive(desk, supply.Delivery(act.family, None if act.flag else act.number))


def _cancel(desk: Desk, act: Act) -> None:
    supply.cancel(desk, family_text=act.family, quantity=act.number)


def _count(desk: Desk, act: Act) -> None:
    missing = tuple(_in_pool(desk)[: act.number if act.flag else 0]) if act.family != "fuse" else ()
    counting.count(desk, counting.Counted(act.family, act.number, missing))


def _issue(desk: Desk, act: Act) -> None:
    issuing.issue(desk, issuing.Issue(act.family, act.number, to=act.who, uncounted=act.flag))


def _lend(desk: Desk, act: Act) -> None:
    terms = lending.IN_KIND if act.condition == "dead" else "return"
    wish = lending.Lending(act.family, act.who, quantity=act.number, terms=terms, uncounted=act.flag)
    lending.lend(desk, wish)


def _owe(desk: Desk, act: Act) -> None:
    one, other = (act.who, "pool") if act.flag else ("pool", act.who)
    owing.owe(desk, owing.Owing(one, act.family, act.number, other))


def _settle(desk: Desk, act: Act) -> None:
    one, other = (act.who, "pool") if act.flag else ("pool", act.who)
    owing.settle(desk, owing.Settlement(one, act.family, act.number, other))


def _scrap(desk: Desk, act: Act) -> None:
    item = act.family if act.family == "fuse" else next(iter(_in_pool(desk)), "none")
    scrapping.scrap(desk, item_text=item, quantity=act.number, reason="worn", suspect=act.flag)


def _clear(desk: Desk, act: Act) -> None:
    scrapping.clear(desk, item_text=act.family, quantity=act.number)


def _return(desk: Desk, act: Act) -> None:
    item = act.family
    if item != "fuse":
        lent = _rows(desk, "SELECT tag FROM part JOIN loan ON part_id = part.id WHERE closed_on IS NULL")
        item = lent[0][0] if lent else item
    quantity = act.number if act.family == "fuse" else None
    back = returning.Return(item, act.condition, Symptoms("dead"), quantity, owed=act.flag and act.condition == "dead")
    returning.take_back(desk, back)


_DEEDS = {
    "order": _order,
    "receive": _receive,
    "cancel": _cancel,
    "count": _count,
    "issue": _issue,
    "lend": _lend,
    "return": _return,
    "owe": _owe,
    "settle": _settle,
    "scrap": _scrap,
    "clear": _clear,
}


def _rows(desk: Desk, query: str, *values: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(desk.db)) as connection:
        return connection.execute(query, values).fetchall()


_SHELF = "SELECT tag FROM part JOIN placement ON part_id = part.id WHERE place = 'pool' AND until_on IS NULL"


def _in_pool(desk: Desk) -> list[str]:
    return [tag for (tag,) in _rows(desk, f"{_SHELF} ORDER BY part.id")]


@dataclass(frozen=True)
class Held:
    """What the records say there is: fuses by place, parts by place."""

    pieces: Counter[str]
    parts: Counter[str]

    @property
    def inside(self) -> dict[str, int]:
        """What the club and its captains have, whatever its condition."""
        fuses = sum(number for place, number in self.pieces.items() if place not in OUTSIDE)
        servos = sum(number for place, number in self.parts.items() if place not in GONE)
        return {"fuse": fuses, "standard servo": servos}

    def pool(self, family: str) -> int:
        """What lies on the shelf."""
        return self.pieces["pool"] if family == "fuse" else self.parts["pool"]


def _held(desk: Desk) -> Held:
    pieces: Counter[str] = Counter()
    for giver, taker, number in _rows(desk, "SELECT from_place, to_place, quantity FROM movement"):
        pieces[giver] -= number
        pieces[taker] += number
    where = dict(_rows(desk, "SELECT part_id, place FROM placement WHERE until_on IS NULL"))
    assert _rows(desk, "SELECT count(*) FROM part") == [(len(where),)], "each part is somewhere"
    return Held(pieces, Counter(where.values()))


def _allowed(act: Act, before: Held, after: Held, awaited: int) -> int:
    """By how much an act may change what there is: what came, less what was scrapped or missing."""
    number, pool = act.number, before.pool(act.family)
    pieces = number if act.family == "fuse" else 1
    paid = after.pool(act.family) - pool  # what pays a debt comes from the captain's bag or from a shop
    from_a_bag = before.pieces["captain"] - after.pieces["captain"]
    allowed = {
        "receive": awaited if act.flag else number,
        "count": number - pool,
        "issue": max(0, number - pool) if act.flag else 0,
        "lend": max(0, number - pool) if act.flag else 0,
        "return": -pieces if act.condition == "dead" else 0,
        "scrap": -pieces,
        "settle": paid - (from_a_bag if act.family == "fuse" else 0) if act.flag else 0,
    }
    return allowed.get(act.kind, 0)


def _awaited(desk: Desk, family: str) -> int:
    """How many the oldest open order is of."""
    query = "SELECT quantity FROM purchase JOIN family ON family_id = family.id WHERE name = ? AND received_on IS NULL"
    rows = _rows(desk, f"{query} ORDER BY ordered_on, purchase.id", family)
    return rows[0][0] if rows else 0


@_FEW
@given(acts=_ACTS)
def test_any_sequence_of_commands_conserves_what_there_is(launched: Path, acts: list[Act]) -> None:
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(str(shutil.copyfile(launched, Path(name) / "club.db")), WHO, TODAY)
        first = before = _held(desk)
        done = 0
        for act in acts:
            desk = replace(desk, today=desk.today + timedelta(days=act.later))
            awaited = _awaited(desk, act.family)
            try:
                _do(desk, act)
            except (InvalidRecord, NotFound):
                assert _held(desk) == before, f"refused, and changed all the same: {act}"
                continue
            done += 1
            after = _held(desk)
            change = after.inside[act.family] - before.inside[act.family]
            assert change == _allowed(act, before, after, awaited), act
            other = "fuse" if act.family != "fuse" else "standard servo"
            assert after.inside[other] == before.inside[other], act
            assert min(after.pieces[place] for place in ("pool", "suspect", "captain", "ship")) >= 0, act
            before = after
        for _ in range(done):
            history.undo(desk)
        assert _held(desk) == first, "undone, all is as it was"
