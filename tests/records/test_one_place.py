"""One part, one place; one position, one part: kept by the database, whoever writes."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from tests.records.samples import insert, insert_before

OPEN: dict[str, Any] = {"until_on": None, "until_sortie": None, "until_precision": None, "reason": None}


def _span(start: str, end: str | None) -> dict[str, Any]:
    """A placement from "day/sorties" until "day/sorties"."""
    from_on, from_sortie = start.split("/")
    span = {"from_on": from_on, "from_sortie": int(from_sortie)}
    if end is None:
        return span | OPEN
    until_on, until_sortie = end.split("/")
    return span | {"until_on": until_on, "until_sortie": int(until_sortie), "until_precision": "day"}


FIRST = ("2024-05-10/1", "2024-06-10/2")
CLASHES = {
    "the same days": FIRST,
    "within": ("2024-05-20/0", "2024-05-21/0"),
    "around": ("2024-05-01/0", "2024-07-01/0"),
    "over the start": ("2024-05-01/0", "2024-05-11/0"),
    "over the end": ("2024-06-09/0", "2024-06-20/0"),
    "one sortie over the start": ("2024-05-01/0", "2024-05-10/2"),
    "one sortie over the end": ("2024-06-10/1", "2024-06-20/0"),
    "open and before the end": ("2024-06-10/1", None),
    "open and long before": ("2020-01-01/0", None),
}
NEIGHBOURS = {
    "ends where the other starts": ("2024-05-01/0", "2024-05-10/1"),
    "starts where the other ends": ("2024-06-10/2", "2024-06-20/0"),
    "open and after the end": ("2024-06-10/2", None),
    "years before": ("2020-01-01/0", "2020-02-01/0"),
}


@pytest.fixture
def placed(connection: sa.Connection) -> sa.Connection:
    """One part installed over the days of FIRST; a second part and a second position stand by."""
    insert_before(connection, "placement")
    insert(connection, "part", id=2, uid="part-2", tag="S-02")
    insert(connection, "position", id=2, uid="position-2", name="second-rudder-servo")
    insert(connection, "placement", **_span(*FIRST))
    return connection


SAME_PART = {"part_id": 1, "position_id": 2}
SAME_POSITION = {"part_id": 2, "position_id": 1}


@pytest.mark.parametrize("span", CLASHES.values(), ids=CLASHES)
@pytest.mark.parametrize(
    ("who", "message"),
    [(SAME_PART, "one part, one place"), (SAME_POSITION, "one position, one part")],
    ids=["part", "position"],
)
def test_an_overlap_is_refused(placed: sa.Connection, who: dict[str, int], message: str, span: Any) -> None:
    with pytest.raises(sa.exc.IntegrityError, match=message):
        insert(placed, "placement", id=2, uid="placement-2", **who, **_span(*span))


@pytest.mark.parametrize("span", NEIGHBOURS.values(), ids=NEIGHBOURS)
@pytest.mark.parametrize("who", [SAME_PART, SAME_POSITION], ids=["part", "position"])
def test_neighbours_are_accepted(placed: sa.Connection, who: dict[str, int], span: Any) -> None:
    insert(placed, "placement", id=2, uid="placement-2", **who, **_span(*span))
    assert placed.execute(sa.text("SELECT count(*) FROM placement")).scalar() == 2


def test_a_part_in_the_pool_is_nowhere_else(placed: sa.Connection) -> None:
    pool = {"place": "pool", "position_id": None, "part_id": 1}
    with pytest.raises(sa.exc.IntegrityError, match="one part, one place"):
        insert(placed, "placement", id=2, uid="placement-2", **pool, **_span("2024-06-01/0", None))


def test_two_parts_may_lie_in_the_pool(placed: sa.Connection) -> None:
    pool = {"place": "pool", "position_id": None}
    insert(placed, "placement", id=2, uid="placement-2", part_id=1, **pool, **_span("2024-07-01/0", None))
    insert(placed, "placement", id=3, uid="placement-3", part_id=2, **pool, **_span("2024-07-01/0", None))


def test_a_change_of_dates_is_watched_as_well(placed: sa.Connection) -> None:
    insert(placed, "placement", id=2, uid="placement-2", **SAME_PART, **_span("2024-07-01/0", None))
    with pytest.raises(sa.exc.IntegrityError, match="one part, one place"):
        placed.execute(sa.text("UPDATE placement SET from_on = '2024-06-01' WHERE id = 2"))


def test_a_change_of_part_or_position_is_watched_as_well(placed: sa.Connection) -> None:
    insert(placed, "placement", id=2, uid="placement-2", part_id=2, position_id=2, **_span(*FIRST))
    with pytest.raises(sa.exc.IntegrityError, match="one position, one part"):
        placed.execute(sa.text("UPDATE placement SET position_id = 1 WHERE id = 2"))
