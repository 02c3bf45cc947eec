"""Which sortie of its day a row tells of: one on record, the one it numbers, or one more."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from maintain import vocabulary as say
from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.exchange.labels import Row
from maintain.exchange.layout import BY_TABLE
from maintain.exchange.own_sheets.lines import Line
from maintain.exchange.own_sheets.making import Making

_MINE = ("Minutes afloat", "Shots", "Hits above", "Hits on", "Hits below", "Wetness", "Ending", "Minutes under")


def on_record(line: Line, making: Making, day: date, told: Mapping[str, str]) -> Row | None:
    """
    The sortie on record that a row tells of: by its number, else as one that went the same way.

    Parameters
    ----------
    line : Line
    making : Making
    day : date
    told : mapping
        What the row says of it, under the headings of our own file.

    Raises
    ------
    InvalidRecord
        If nobody can tell which it is, or if record and row contradict each other about a sinking.
    """
    ship = line.texts["ship"]
    those = making.club.sailed(ship, day)
    if "number" in line.texts:
        known = next((row for row in those if row["number"] == int(line.texts["number"])), None)
    else:
        known = _alike([row for row in those if row["uid"] not in making.claimed], line, making, day, told)
    if known is None:
        return None
    making.claimed.add(known["uid"])
    if said_to_have_sunk(told) is not True and has_sunk(known) and _denied(line):
        raise InvalidRecord(
            f"says that {ship} did not sink, and her sortie {known['number']} of {day} is recorded as a sinking",
            hint=f"put the sheet right, or the record: maintain sortie correct {quoted(ship)}",
        )
    return known


def _alike(free: list[Row], line: Line, making: Making, day: date, told: Mapping[str, str]) -> Row | None:
    """The one of the sorties nobody has told of yet that a row without a number tells of."""
    if not free:
        return None
    same = next((row for row in free if _same(row, told) and not (has_sunk(row) and _denied(line))), None)
    if same is not None:
        return same
    sunk = said_to_have_sunk(told)
    fits = [row for row in free if (has_sunk(row) if sunk else not has_sunk(row) or _denied(line))]
    alone = making.rows_of.get((line.texts["ship"], day.isoformat()), 1) == 1
    if alone and len(fits) == 1:
        return fits[0]
    numbers = ", ".join(str(row["number"]) for row in free)
    raise InvalidRecord(
        f"has no number, and {line.texts['ship']} has on record for {day} what it does not match (sortie {numbers})",
        hint="add a column Sortie with the number of each on its day",
    )


def _same(row: Row, told: Mapping[str, str]) -> bool:
    """Whether a record holds all that a row tells."""
    fields = [each for each in BY_TABLE["sortie"].fields if each.heading in told and each.heading in _MINE]
    return all(_equal(row[each.column], told[each.heading]) for each in fields)


def _equal(recorded: object, told: str) -> bool:
    if isinstance(recorded, int | float):
        return float(recorded) == float(told)
    return recorded == told


def has_sunk(row: Row) -> bool:
    """Whether a sortie is recorded as a sinking."""
    return row["ending"] == "sank" or row["wetness"] in say.SUNK


def said_to_have_sunk(told: Mapping[str, str]) -> bool:
    """Whether a row tells of a sinking."""
    return told.get("Ending") == "sank"


def _denied(line: Line) -> bool:
    """Whether a row says in so many words that she did not sink."""
    texts = line.texts
    return texts.get("sank") == "no" or "ending" in texts or texts.get("wetness", "") in ("W0", "W1", "W2")


def beside(known: Row, line: Line, went: Mapping[str, str]) -> dict[str, str]:
    """What a row adds to a sortie on record: nothing that was only taken for granted of a sinking on record."""
    if not has_sunk(known):
        return dict(went)
    granted = {"Note"}
    granted |= set() if {"wetness", "under"} & set(line.texts) else {"Wetness"}
    granted |= set() if {"cause", "system"} & set(line.texts) else {"Sinking cause"}
    return {heading: text for heading, text in went.items() if heading not in granted}


def number(line: Line, making: Making, day: date, known: Row | None) -> str:
    """
    Which sortie of the day it is.

    Raises
    ------
    InvalidRecord
        If the number told can be none.
    """
    key = (line.texts["ship"], day.isoformat())
    if "number" in line.texts:
        told = int(line.texts["number"])
        if told > say.MOST_SORTIES_A_DAY:
            raise InvalidRecord(f"{told} is no number of a sortie on one day", hint="leave that column out")
    elif known is not None:
        told = int(known["number"])
    else:
        recorded = max((row["number"] for row in making.club.sailed(line.texts["ship"], day)), default=0)
        told = max(making.counts.get(key, 0), recorded) + 1
        making.assume("sortie without a number: numbered in the order of the rows of that ship and day")
    making.counts[key] = max(told, making.counts.get(key, 0))
    return str(told)
