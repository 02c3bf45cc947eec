"""What counts of the pool become: the count, and what puts the records right with it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.exchange.labels import Row
from maintain.exchange.own_sheets.lines import Line
from maintain.exchange.own_sheets.making import Making, Ours, ours

_REASON = "count in the club's own sheet"
_MOST_TAGS = 200  # tagged parts that one row may bring


def stock(line: Line, making: Making) -> Iterator[Ours]:
    """A count of the pool; what it finds more or fewer of is entered, as when somebody counts."""
    texts = line.texts
    if "family" not in texts:
        raise InvalidRecord("does not say what was counted", hint="write the family")
    number, family = _number(line), texts["family"]
    known = making.club.row("family", family)
    if making.counts.setdefault(("counted", family), line.row) != line.row:
        raise InvalidRecord(
            f"counts {family} again, as row {making.counts['counted', family]} does", hint="write one row for a family"
        )
    day = _day(line, making, known, number)
    yield from _family(line, making, family, known)
    row = {"Family": family, "Counted on": day.isoformat(), "Counted": str(number)}
    if known is not None and _stands(making, known, day, number):
        yield ours("stocktake", row)
        return
    counted = known["tracking"] == "counted" if known else _kept(line, making, family) == "counted"
    yield ours("stocktake", {**row, **({"Note": texts["note"]} if "note" in texts else {})})
    yield from (_pieces if counted else _parts)(making, family, known, number, day)


def _number(line: Line) -> int:
    texts = line.texts
    told = {texts[key] for key in ("quantity", "pieces") if key in texts}
    if len(told) != 1:
        what = f"says {' and '.join(sorted(told))}" if told else "does not say how many"
        raise InvalidRecord(what, hint="write one number")
    return int(told.pop())


def _day(line: Line, making: Making, known: Row | None, number: int) -> date:
    """The day of the count; if the sheet names none: of the same count on record, else today."""
    if "date" in line.texts:
        day = making.day(line)
        if day > making.club.today:
            raise InvalidRecord(f"{day} is in the future", hint="write the day it was counted")
        return day
    making.assume(f"count without a day: taken as of {making.club.today}")
    takes = [row for row in making.club.records["stocktake"] if known and row["family_id"] == known["uid"]]
    last = max(takes, key=lambda row: row["counted_on"], default=None)
    same = last is not None and last["counted"] == number and _holds(making, known, making.club.today) == number
    return last["counted_on"] if same and last is not None else making.club.today


def _holds(making: Making, family: Row | None, day: date) -> int | None:
    if family is None:
        return None
    if family["tracking"] == "counted":
        return making.club.stock(family, day)[0]
    return len(making.club.in_pool(family))


def _stands(making: Making, family: Row, day: date, number: int) -> bool:
    """Whether this very count is on record; what came of it is too."""
    return any(
        (row["family_id"], row["counted_on"], row["counted"]) == (family["uid"], day, number)
        for row in making.club.records["stocktake"]
    )


def _kept(line: Line, making: Making, family: str) -> str:
    """Tagged or counted, as the family is made."""
    made = next(each for each in Making(making.club, frozenset(), {}, {}).family(line, family, ""))
    return made.texts["Tracking"]


def _family(line: Line, making: Making, family: str, known: Row | None) -> Iterator[Ours]:
    if known is None:
        yield from making.family(line, family, "")
    elif "cost" in line.texts:
        yield ours("family", {"Family": family, "Unit cost": line.texts["cost"]})


def _pieces(making: Making, family: str, known: Row | None, number: int, day: date) -> Iterator[Ours]:
    """The movement that puts the ledger right."""
    held, least = making.club.stock(known, day) if known else (0, 0)
    found = number - held
    if least + found < 0:
        raise InvalidRecord(f"more were issued after {day} than this count leaves", hint="count them again today")
    if found:
        way = ("count", "pool") if found > 0 else ("pool", "count")
        facts = {"Moved on": day.isoformat(), "Reason": _REASON}
        yield ours("movement", {"Family": family, "Quantity": str(abs(found)), "From": way[0], "To": way[1], **facts})


def _parts(making: Making, family: str, known: Row | None, number: int, day: date) -> Iterator[Ours]:
    """Tagged parts that nobody had entered."""
    there = making.club.in_pool(known) if known else []
    found = number - len(there)
    if found < 0:
        tags = ", ".join(part["tag"] for part in there)
        raise InvalidRecord(
            f"{number} were counted, and the records hold {len(there)} in the pool ({tags}): which are gone?",
            hint=f"maintain pool count {quoted(family)} {number} --missing TAG,TAG",
        )
    if found > _MOST_TAGS:
        raise InvalidRecord(
            f"{found} tagged parts at once", hint="keep the family by number: maintain family add --kept counted"
        )
    for _ in range(found):
        tag = making.next_tag()
        yield ours("part", {"Tag": tag, "Family": family, "Note": _REASON})
        yield ours("placement", {"Part": tag, "Place": "pool", "From": day.isoformat()})
