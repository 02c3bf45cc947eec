"""What several kinds of rows make on the way: a member, a venue, a family, a position, a tag that nobody has."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from maintain.core.tags import free_tags
from maintain.errors import InvalidRecord
from maintain.exchange.field import Sheet
from maintain.exchange.labels import Row
from maintain.exchange.layout import BY_TABLE
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.lines import Line
from maintain.exchange.own_sheets.words import CATEGORIES, COUNTED, folded, squashed


class Ours(NamedTuple):
    """A row of one of our own files: text by heading."""

    sheet: Sheet
    texts: dict[str, str]


def ours(table: str, texts: Mapping[str, str]) -> Ours:
    """A row of our file of a table."""
    return Ours(BY_TABLE[table], dict(texts))


def renamed(line: Line, headings: Mapping[str, str]) -> dict[str, str]:
    """What a row says, under the headings of our own file."""
    return {headings[key]: text for key, text in line.texts.items() if key in headings}


def category_of(family: str) -> str | None:
    """The category that a family's name holds: "standard servo" is a servo."""
    parts = folded(family).split()
    for size in (2, 1):
        for start in range(len(parts) - size, -1, -1):
            found = CATEGORIES.get(" ".join(parts[start : start + size]))
            if found:
                return found
    return None


class Making:
    """
    What is remembered from row to row while a sheet becomes rows of ours.

    Parameters
    ----------
    club : Club
    tags : iterable of str
        Tags that the sheet gives.
    battles : mapping
        First and last day of each battle, as its rows have them.
    rows_of : mapping
        How many rows the sheet has of a ship and a day.
    """

    def __init__(
        self,
        club: Club,
        tags: frozenset[str],
        battles: Mapping[str, tuple[str, str]],
        rows_of: Mapping[tuple[str, str], int],
    ) -> None:
        self.club, self.battles, self.rows_of = club, battles, rows_of
        self.claimed: set[str] = set()  # sorties on record that rows of the sheet tell of
        self.assumed: dict[str, int] = {}  # what was taken for granted, and of how many rows
        self.counts: dict[tuple[str, str], int] = {}  # rows of a ship and day, or of a family, so far
        self._taken = {tag.lower() for tag in (*club.names["part"], *tags)}
        self._made: set[tuple[str, str]] = set()

    def assume(self, what: str) -> None:
        """Remember what a row does not say."""
        self.assumed[what] = self.assumed.get(what, 0) + 1

    def pass_over(self, line: Line) -> None:
        """Count a row that can't be read among the sorties of its day, so that the others keep their numbers."""
        if {"ship", "date"} <= set(line.texts) and "number" not in line.texts:
            key = (line.texts["ship"], line.texts["date"])
            self.counts[key] = self.counts.get(key, 0) + 1

    def next_tag(self) -> str:
        """A tag that nobody has; the same each time for the same records and sheet."""
        tag = free_tags(self._taken, 1)[0]
        self._taken.add(tag)
        self.assume("part without a tag: one is made, write it on the part")
        return tag

    def _first(self, table: str, name: str) -> bool:
        """Whether something of that name has to be made."""
        if self.club.row(table, name) is not None or (table, squashed(name)) in self._made:
            return False
        self._made.add((table, squashed(name)))
        return True

    def member(self, name: str | None) -> Iterator[Ours]:
        """A member nobody has recorded."""
        if name and self._first("member", name):
            yield ours("member", {"Member": name})

    def venue(self, name: str | None) -> Iterator[Ours]:
        """A venue nobody has recorded."""
        if name and self._first("venue", name):
            yield ours("venue", {"Venue": name})

    def family(self, line: Line, name: str, tracking: str) -> Iterator[Ours]:
        """A family nobody has recorded; its category is told, or in its name."""
        known = self.club.row("family", name)
        if known is not None and tracking == "tagged" and known["tracking"] == "counted":
            raise InvalidRecord(f"{name} are counted, not tagged", hint="read the sheet with --kind stock")
        if known is not None or not self._first("family", name):
            return
        category = line.texts.get("category") or category_of(name)
        if category is None:
            raise InvalidRecord(
                f"no family called {name!r} is on record, and its name says no category",
                hint="add a column Category, or record it first: maintain family add",
            )
        kept = tracking or ("counted" if category in COUNTED else "tagged")
        self.assume(f"new family {name}: {category}, {kept}")
        cost = {"Unit cost": line.texts["cost"]} if "cost" in line.texts and not tracking else {}
        yield ours("family", {"Family": name, "Category": category, "Tracking": kept, **cost})

    def where(self, line: Line) -> Row | None:
        """The position a row names, if it is on record."""
        if "position" not in line.texts:
            return None
        if "ship" not in line.texts:
            raise InvalidRecord("names a position but no ship", hint="write the ship")
        return self.club.position(line.texts["ship"], line.texts["position"])

    def position(self, line: Line, *, always: bool = False) -> Iterator[Ours]:
        """A position nobody has recorded, laid out as the sheet says, else as on a typical ship."""
        known, texts = self.where(line), line.texts
        said = {"System": texts.get("system"), "Zone": texts.get("zone"), "Dependence": texts.get("dependence")}
        given = {heading: text for heading, text in said.items() if text}
        name = {"Ship": texts["ship"], "Position": texts["position"]}
        note = {"Note": texts["note"]} if always and "note" in texts else {}
        if known is not None:
            if always:
                yield ours("position", {**name, **given, **note})
            return
        typical = self.club.typical.get(texts["position"])
        if typical is not None:
            given = {**dict(zip(said, typical, strict=True)), **given}
        elif given and "Dependence" not in given:
            given["Dependence"] = "degrades"
        if len(given) < len(said):
            raise InvalidRecord(
                f"{texts['ship']} has no position called {texts['position']!r} on record",
                hint="add it with: maintain position add; or add columns System and Zone",
            )
        told = f"{given['System']}, {given['Zone']}, {given['Dependence']}"
        if (self._made_once(f"{texts['ship']}/{texts['position']}")) or always:
            self.assume(f"new position {texts['ship']}/{texts['position']}: {told}")
            yield ours("position", {**name, **given, **note})

    def _made_once(self, where: str) -> bool:
        key = ("position", squashed(where))
        if key in self._made:
            return False
        self._made.add(key)
        return True

    def since(self, line: Line) -> str:
        """Since when a part is where it is."""
        told = line.texts.get("since") or line.texts.get("acquired")
        if told is None:
            self.assume("part without a date: it is there since before the records begin")
            return f"before {self.club.records_from(line.texts.get('ship'))}"
        if told[:10] > self.club.today.isoformat():
            raise InvalidRecord(f"{told} is in the future", hint="write the day it was fitted")
        return told

    def day(self, line: Line, key: str = "date") -> date:
        """The day of a row; of one without any the day of its battle, if that was over in a day."""
        if key in line.texts:
            return date.fromisoformat(line.texts[key])
        battle = line.texts.get("battle", "")
        known = self.club.row("battle", battle) if battle else None
        if known is None or known["from_on"] != known["until_on"]:
            several = f": {battle} took several days" if known else ""
            raise InvalidRecord(f"has no date{several}", hint="write the day")
        self.assume(f"row without a day: taken to be of {known['from_on']}, the day of {known['name']}")
        return date.fromisoformat(f"{known['from_on']}")
