"""What was asked of the ships: the questions of the last checks, and roll calls held on the days of winter work.

Drawn from what is in the book already, without chance, so that nothing else changes.
"""

from __future__ import annotations

from datetime import date

from book import Book, Row

_TOPICS = {1: "pump", 2: "line", 3: "skin"}  # of the steps of a check
_CALLED = 3  # ships
_SEASON = 2026


def ask(book: Book) -> None:
    """Write down the questions of the last battle's checks, and the roll of some ships."""
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
