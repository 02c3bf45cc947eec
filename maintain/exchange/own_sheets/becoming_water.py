"""What rows about the water become: sorties, failures, readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from maintain import vocabulary as say
from maintain.errors import InvalidRecord
from maintain.exchange.labels import Row
from maintain.exchange.own_sheets import numbering
from maintain.exchange.own_sheets.lines import Line
from maintain.exchange.own_sheets.making import Making, Ours, ours, renamed
from maintain.exchange.own_sheets.numbers import measured_in
from maintain.exchange.own_sheets.words import SANK

_SORTIE = {
    "ship": "Ship",
    "date": "Sailed on",
    "battle": "Battle",
    "minutes": "Minutes afloat",
    "shots": "Shots",
    "above": "Hits above",
    "on": "Hits on",
    "below": "Hits below",
    "wetness": "Wetness",
    "ending": "Ending",
    "under": "Minutes under",
    "cause": "Sinking cause",
    "system": "Sinking system",
    "note": "Note",
}
_FAILURE = {
    "mode": "Mode",
    "cause": "Cause",
    "effect": "Effect",
    "found by": "Found by",
    "last good": "Last good on",
    "note": "Note",
}
_QUICKLY = "taken to have been lifted quickly (W3): the sheet does not say how long she lay"
_LAY, _DAY = 10, 1440  # minutes from which a sinking is W4, and beyond which it is W5
_ASHORE = ("pre-battle check", "demand test", "roll call", "bench")


def sorties(line: Line, making: Making) -> Iterator[Ours]:
    """A sortie, and the battle it tells of first."""
    texts, day = line.texts, making.day(line)
    if "ship" not in texts:
        raise InvalidRecord("names no ship", hint="write the ship")
    if texts.get("sorties", "1") != "1":
        raise InvalidRecord(
            f"tells of {texts['sorties']} sorties at once: nobody can tell which the rest is about",
            hint="write a row for each; for a score sheet use maintain sortie reconcile",
        )
    row = {**renamed(line, _SORTIE), "Sailed on": day.isoformat()}
    went = _how_it_went(line, making)
    known = numbering.on_record(line, making, day, {**row, **went})
    row |= went if known is None else numbering.beside(known, line, went)
    if known is not None and row.get("Note", "") in (known["note"] or ""):
        row.pop("Note", None)  # it is said there among other things
    row["Number"] = numbering.number(line, making, day, known)
    yield from _battle(line, making, day, row)
    yield ours("sortie", row)


def _how_it_went(line: Line, making: Making) -> dict[str, str]:
    """What the words about a sinking come to together."""
    texts = line.texts
    told = {
        "sank": texts.get("sank"),
        "ending": {None: None, "sank": "yes"}.get(texts.get("ending"), "no"),
        "wetness": {None: None, SANK: "yes"}.get(texts.get("wetness"), _sunk(texts.get("wetness", ""))),
        "under": "yes" if float(texts.get("under", 0)) > 0 else None,
    }
    said = {answer for answer in told.values() if answer}
    if len(said) > 1:
        both = ", ".join(f"{key}: {texts[key]}" for key, answer in told.items() if answer)
        raise InvalidRecord(f"says both that she sank and that she did not ({both})", hint="put one of them right")
    if said != {"yes"}:
        return {} if "cause" not in texts else _without_sinking()
    wetness = texts.get("wetness", SANK)
    if wetness == SANK and "under" not in texts:
        making.assume(f"sinking {_QUICKLY}")
        note = "; ".join(filter(None, (texts.get("note"), _QUICKLY)))
        return {"Wetness": "W3", "Ending": "sank", "Sinking cause": _cause(line), "Note": note}
    return {
        "Wetness": wetness if wetness != SANK else _depth(float(texts["under"])),
        "Ending": "sank",
        "Sinking cause": _cause(line),
    }


def _sunk(wetness: str) -> str:
    return "yes" if wetness in say.SUNK else "no"


def _depth(minutes: float) -> str:
    return "W3" if minutes < _LAY else "W4" if minutes <= _DAY else "W5"


def _cause(line: Line) -> str:
    return line.texts.get("cause", "system" if "system" in line.texts else "unknown")


def _without_sinking() -> dict[str, str]:
    raise InvalidRecord("gives a cause, but nothing says that she sank", hint="say that she sank, or empty the cause")


def _battle(line: Line, making: Making, day: date, row: dict[str, str]) -> Iterator[Ours]:
    """The battle of a sortie: as named, else the one of that day; nobody need have recorded it."""
    club, texts = making.club, line.texts
    yield from making.venue(texts.get("venue"))
    if "battle" in texts:
        known = club.row("battle", texts["battle"])
        if known is None:
            first, last = making.battles[texts["battle"]]
            facts = {"From": first, "Until": last, "State": "fought"}
            venue = {"Venue": texts["venue"]} if "venue" in texts else {}
            if (texts["battle"], "") not in making.counts:
                making.counts[texts["battle"], ""] = 1
                making.assume(f"new battle {texts['battle']}: {first} to {last}")
                yield ours("battle", {"Battle": texts["battle"], **venue, **facts})
            return
    else:
        those = club.battles_on(day)
        if len(those) > 1:
            names = ", ".join(each["name"] for each in those)
            raise InvalidRecord(f"could be of any battle of that day: {names}", hint="add a column Battle")
        known = those[0] if those else None
    if known is None:
        row.update({"Venue": texts["venue"]} if "venue" in texts else {})
        return
    if not known["from_on"] <= day <= known["until_on"]:
        raise InvalidRecord(
            f"{day} is no day of {known['name']} ({known['from_on']} to {known['until_on']})",
            hint="put one of them right",
        )
    row["Battle"] = known["name"]
    if known["state"] == "planned" and (known["name"], "") not in making.counts:
        making.counts[known["name"], ""] = 1
        yield ours("battle", {"Battle": known["name"], "State": "fought"})


def failures(line: Line, making: Making) -> Iterator[Ours]:
    """A failure of the part that sat there."""
    day = making.day(line)
    part, position = _part_and_position(line, making, day)
    row = renamed(line, _FAILURE)
    if "Mode" not in row:
        raise InvalidRecord("does not say what the part did", hint="write dead, erratic, slow ... (just died, if so)")
    row |= {"Part": part["tag"], "Found on": day.isoformat()}
    if position is not None:
        ship = line.texts["ship"]
        row["Position"] = f"{ship}/{position['name']}"
        row["Found after sortie"] = str(_after_sortie(line, making, part, day))
    yield ours("failure", row)


def _part_and_position(line: Line, making: Making, day: date) -> tuple[Row, Row | None]:
    club, texts = making.club, line.texts
    position = making.where(line)
    if "position" in texts and position is None:
        raise InvalidRecord(
            f"{texts['ship']} has no position called {texts['position']!r}",
            hint=f"she has: {', '.join(club.positions(texts['ship'])) or 'none'}",
        )
    if "tag" in texts:
        part = club.row("part", texts["tag"])
        assert part is not None  # a tag of none is refused where it is read
        return part, position
    if position is None:
        raise InvalidRecord("names no part", hint="write its tag, or its ship and position")
    there = club.held_on(position, day)
    if len(there) != 1:
        those = ", ".join(each["tag"] for each in there)
        what = f"{those} were both there on {day}" if there else f"nothing is on record there on {day}"
        raise InvalidRecord(what, hint="write the tag of the part, or record what was there")
    return there[0], position


def _after_sortie(line: Line, making: Making, part: Any, day: date) -> int:
    """How many sorties she had sailed when it was found; as recorded, if the failure is on record."""
    club, mode = making.club, line.texts["mode"]
    for row in club.records["failure"]:
        if (row["part_id"], row["found_on"], row["mode"]) == (part["uid"], day, mode):
            return int(row["found_sortie"])
    if line.texts.get("found by") in _ASHORE:
        return 0
    return max((row["number"] for row in club.sailed(line.texts["ship"], day)), default=0)


def readings(line: Line, making: Making) -> Iterator[Ours]:
    """A reading of a part or a position."""
    day = making.day(line)
    row = {"Taken on": day.isoformat()}
    if "tag" in line.texts:
        row["Part"] = line.texts["tag"]
    position = making.where(line)
    if position is not None:
        row["Position"] = f"{line.texts['ship']}/{position['name']}"
        there = making.club.held_on(position, day)
        if len(there) == 1:
            row.setdefault("Part", there[0]["tag"])
    elif "tag" not in line.texts:
        raise InvalidRecord("names neither a part nor a position on record", hint="write a tag, or ship and position")
    headings = {"measure": "Measure", "value": "Value", "by": "By", "note": "Note"}
    row |= renamed(line, headings)
    if "Measure" not in row or "Value" not in row:
        raise InvalidRecord("lacks what was measured, or the value", hint="fill in both")
    unit = say.MEASURES[row["Measure"]]
    if "unit" in line.texts:
        row["Value"] = measured_in(row["Value"], line.texts["unit"], unit)
        unit = unit or line.texts["unit"]
    yield ours("reading", {**row, **({"Unit": unit} if unit else {})})
