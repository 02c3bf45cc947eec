"""What a row of a club's sheet becomes: rows of our own files, as if somebody had written them there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets import becoming_stock, becoming_water
from maintain.exchange.own_sheets.lines import Line
from maintain.exchange.own_sheets.making import Making, Ours, category_of, ours, renamed

_SHIP = {
    "ship": "Ship",
    "number": "Club number",
    "captain": "Captain",
    "type": "Type",
    "state": "State",
    "since": "State since",
    "note": "Note",
}
_MEMBER = {"member": "Member", "left": "Left on", "note": "Note"}
_FAMILY = {
    "family": "Family",
    "category": "Category",
    "tracking": "Tracking",
    "cost": "Unit cost",
    "lead time": "Lead time days",
    "line": "Reorder line",
    "weight": "Weight g",
    "note": "Note",
}
_BATTLE = {
    "battle": "Battle",
    "venue": "Venue",
    "from": "From",
    "until": "Until",
    "state": "State",
    "sorties": "Planned sorties",
    "note": "Note",
}
_PART = {
    "tag": "Tag",
    "family": "Family",
    "model": "Model",
    "batch": "Batch",
    "origin": "Origin",
    "owner": "Owner",
    "acquired": "Acquired",
    "cost": "Cost",
    "note": "Note",
}


def _ships(line: Line, making: Making) -> Iterator[Ours]:
    yield from making.member(line.texts.get("captain"))
    yield ours("ship", renamed(line, _SHIP))


def _members(line: Line, _making: Making) -> Iterator[Ours]:
    yield ours("member", renamed(line, _MEMBER))


def _families(line: Line, making: Making) -> Iterator[Ours]:
    row = renamed(line, _FAMILY)
    if making.club.row("family", row["Family"]) is None and "Category" not in row:
        category = category_of(row["Family"])
        if category is None:
            raise InvalidRecord(f"what kind of part is {row['Family']}?", hint="add a column Category")
        row["Category"] = category
    yield ours("family", row)


def _battles(line: Line, making: Making) -> Iterator[Ours]:
    row = renamed(line, _BATTLE)
    yield from making.venue(row.get("Venue"))
    if making.club.row("battle", row["Battle"]) is None:
        row.setdefault("Until", row["From"])
        row.setdefault("State", "planned" if row["Until"] >= making.club.today.isoformat() else "fought")
    yield ours("battle", row)


def _positions(line: Line, making: Making) -> Iterator[Ours]:
    yield from making.position(line, always=True)


def _parts(line: Line, making: Making) -> Iterator[Ours]:
    """A part and its place; a part without a tag is known again by where it sits."""
    club, texts = making.club, line.texts
    if texts.get("pieces", "1") != "1":
        raise InvalidRecord(
            f"{texts['pieces']} parts stand in one row",
            hint="write a row for each, or read the sheet with --kind stock",
        )
    position = making.where(line)
    held = club.held_by(position) if position else None
    tag = texts.get("tag") or _tag_there(line, making, held)
    known = club.row("part", tag)
    family = texts.get("family") or _only_fit(line, making, position, known)
    yield from making.member(texts.get("owner"))
    yield from making.family(line, family, "tagged")
    if "position" in texts:
        yield from making.position(line)
    yield ours("part", {**renamed(line, _PART), "Tag": tag, "Family": family})
    place = _place(line)
    if known is None or not _sits_there(line, making, known, place):
        if held is not None and held["tag"] != tag:
            raise InvalidRecord(
                f"{texts['ship']}/{texts['position']} holds {held['tag']} on record",
                hint=f"if it was changed: maintain swap {quoted(place['Position'])} --with {quoted(tag)}",
            )
        yield ours("placement", {"Part": tag, **place, "From": making.since(line)})


def _only_fit(line: Line, making: Making, position: Any, known: Any) -> str:
    """The family of a part that the sheet does not name: as on record, or the only one that fits."""
    fits = making.club.fits(position) if position else []
    if known is not None:
        uid = known["family_id"]
        return next(str(row["name"]) for row in making.club.records["family"] if row["uid"] == uid)
    if len(fits) == 1:
        return fits[0]
    raise InvalidRecord("no family is named", hint="add a column of families, or name one: --column HEADING=family")


def _tag_there(line: Line, making: Making, held: Any) -> str:
    """The tag of a part that the sheet gives none: of the part that sits there, else a new one."""
    if "position" not in line.texts:
        raise InvalidRecord(
            "has neither a tag nor a position: nobody could tell it from others",
            hint="mark the part and write its tag, or read the sheet with --kind stock",
        )
    if held is not None:
        family = next(row["name"] for row in making.club.records["family"] if row["uid"] == held["family_id"])
        if line.texts.get("family", family).lower() == family.lower():
            return str(held["tag"])
    return making.next_tag()


def _place(line: Line) -> dict[str, str]:
    texts = line.texts
    if "position" in texts:
        return {"Place": "installed", "Position": f"{texts['ship']}/{texts['position']}"}
    if "ship" in texts:
        raise InvalidRecord("says on which ship, but not where on her", hint="add a column Position")
    return {"Place": "captain", "Member": texts["owner"]} if "owner" in texts else {"Place": "pool"}


def _sits_there(line: Line, making: Making, part: Any, place: Mapping[str, str]) -> bool:
    """Whether a part on record is where the sheet says; it may not say something else about since when."""
    now = making.club.place_of(part)
    if now is None:
        return False
    position = making.where(line)
    if now["place"] != place["Place"] or (position is not None and now["position_id"] != position["uid"]):
        raise InvalidRecord(
            f"{part['tag']} is recorded elsewhere ({now['place']})",
            hint=f"if it was moved: maintain part install {quoted(part['tag'])}, or maintain part pull",
        )
    since = line.texts.get("since")
    recorded = now["from_on"].isoformat()
    dated = since and not since.startswith("before ") and now["from_precision"] == "day"
    if dated and not recorded.startswith(str(since)):
        raise InvalidRecord(
            f"{part['tag']} is recorded there since {recorded}, not {since}", hint="put one of them right"
        )
    return True


MAKERS: dict[str, Callable[[Line, Making], Iterator[Ours]]] = {
    "ships": _ships,
    "members": _members,
    "families": _families,
    "positions": _positions,
    "parts": _parts,
    "battles": _battles,
    "sorties": becoming_water.sorties,
    "failures": becoming_water.failures,
    "readings": becoming_water.readings,
    "stock": becoming_stock.stock,
}


def becomes(kind: str, line: Line, making: Making) -> list[Ours]:
    """
    Rows of our own files for one row of a sheet.

    Raises
    ------
    InvalidRecord
        If the row lacks something, or contradicts the records.
    """
    return list(MAKERS[kind](line, making))
