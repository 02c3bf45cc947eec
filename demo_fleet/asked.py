"""What was asked of the ships: in the last checks, in roll calls on the days of winter work, after the last sinkings.

Drawn from what is in the book already, without chance, so that nothing else changes.
"""

from __future__ import annotations

from datetime import date

from book import Book, Row

from maintain.records.salvage import BOX
from maintain.services.salvage.order import FIRST

_TOPICS = {1: "pump", 2: "line", 3: "skin"}  # of the steps of a check
_CALLED = 3  # ships
_SEASON = 2026
_SALVAGED = 2  # sinkings, the last after which somebody opened the box
_SEEN_TO = ("people", "power", BOX)  # what was written down of them


def ask(book: Book) -> None:
    """Write down the questions of the last checks, the roll of some ships, and what was done after sinkings."""
    last = max(book.rows["prebattle_check"], key=lambda row: (row["begun_on"], row["id"]))["battle_id"]
    checks = {row["id"] for row in book.rows["prebattle_check"] if row["battle_id"] == last}
    for answer in [row for row in book.rows["check_answer"] if row["prebattle_check_id"] in checks]:
        same = {key: answer[key] for key in ("prebattle_check_id", "step", "question", "position_id")}
        book.add("check_step", topic=_TOPICS[answer["step"]], **same)
    ship_of = {row["id"]: row["ship_id"] for row in book.rows["position"]}
    first: dict[int, date] = {}
    for reading in book.rows["reading"]:
        if reading["position_id"] is not None and reading["taken_on"].year == _SEASON:
            ship_id = ship_of[reading["position_id"]]
            first[ship_id] = min(first.get(ship_id, reading["taken_on"]), reading["taken_on"])
    for ship_id in sorted(first)[:_CALLED]:
        _call(book, ship_id, first[ship_id])
    sortie = {row["id"]: row for row in book.rows["sortie"]}
    for opening in [row for row in book.rows["opening"] if row["sortie_id"] is not None][-_SALVAGED:]:
        if sortie[opening["sortie_id"]]["ending"] == "sank":
            _salvage(book, opening)


def _call(book: Book, ship_id: int, day: date) -> None:
    """The roll of one ship: what was measured that day works, nothing else was looked at."""
    measured: dict[int, Row] = {
        row["position_id"]: row for row in book.rows["reading"] if row["taken_on"] == day and row["value"] > 0
    }
    positions = [row["id"] for row in book.rows["position"] if row["ship_id"] == ship_id]
    by_id = next(measured[each]["by_id"] for each in positions if each in measured)
    call = book.add("roll_call", ship_id=ship_id, begun_on=day, finished_on=day, by_id=by_id, note=None)
    for minute, position_id in enumerate(positions):
        reading = measured.get(position_id)
        book.add(
            "roll_call_answer",
            roll_call_id=call["id"],
            position_id=position_id,
            part_id=reading["part_id"] if reading else None,
            answer="works" if reading else "not seen",
            reading_id=reading["id"] if reading else None,
            by_id=by_id,
            answered_at=f"{day}T10:{minute:02d}:00+00:00",
            note=None,
        )


def _salvage(book: Book, opening: Row) -> None:
    """What was done on the bank after one sinking: the box tells how far the water came, no part was tried."""
    day = opening["opened_on"]
    salvage = book.add("salvage", sortie_id=opening["sortie_id"], begun_on=day, finished_on=day)
    acts = {act.name: act for act in FIRST}
    for number, topic in enumerate(_SEEN_TO, start=1):
        step = book.add(
            "salvage_step",
            salvage_id=salvage["id"],
            step=number,
            topic=topic,
            question=acts[topic].asks.format(where="main-battery"),
            position_id=None,
            part_id=None,
            due_on=None,
        )
        book.add(
            "salvage_answer",
            salvage_step_id=step["id"],
            answer=opening["found"] if topic == BOX else "done",
            opened=False,
            dried=None,
            opening_id=opening["id"] if topic == BOX else None,
            reading_id=None,
            by_id=None,
            answered_at=f"{day}T17:{number:02d}:00+00:00",
            note=None,
        )
