"""What a sheet's rows are held against: the names on record, where parts sit, what the pool holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property

from maintain.exchange.labels import Records, Row
from maintain.exchange.own_sheets.words import near, squashed

_NAMED = {"ship": "name", "member": "name", "family": "name", "battle": "name", "venue": "name", "part": "tag"}
Layout = Mapping[str, tuple[str, str, str]]  # system, zone and dependence by the name of a typical position


class Club:
    """
    The records, as the rows of a sheet ask for them.

    Parameters
    ----------
    records : mapping
        Rows by table.
    today : date
    typical : mapping
        Positions of typical ships.
    """

    def __init__(self, records: Records, today: date, typical: Layout) -> None:
        self.records, self.today, self.typical = records, today, typical
        self.names = {table: [row[column] for row in records[table]] for table, column in _NAMED.items()}
        self._by_key = {table: _keyed(names) for table, names in self.names.items()}

    def find(self, table: str, text: str) -> str | None:
        """The one name on record that a text is, but for case, spaces and dashes."""
        found = self._by_key[table].get(squashed(text), [])
        return found[0] if len(found) == 1 else None

    def row(self, table: str, name: str) -> Row | None:
        """The row of a name."""
        column = _NAMED[table]
        return next((row for row in self.records[table] if row[column].lower() == name.lower()), None)

    def captain(self, ship: str) -> str | None:
        """The captain on record of a ship."""
        hull = self.row("ship", ship)
        uid = hull["captain_id"] if hull else None
        return next((str(row["name"]) for row in self.records["member"] if row["uid"] == uid), None)

    def is_known(self, of: str, text: str) -> bool:
        """Whether a text names something on record, or nearly; a position may be one of a typical ship."""
        if of == "position":
            return squashed(text.rpartition("/")[2]) in self._positions
        return self.find(of, text) is not None or near(text, self.names[of]) is not None

    @cached_property
    def _positions(self) -> set[str]:
        return {squashed(row["name"]) for row in self.records["position"]} | {squashed(each) for each in self.typical}

    @cached_property
    def _on_ship(self) -> dict[str, dict[str, Row]]:
        found: dict[str, dict[str, Row]] = {}
        for row in self.records["position"]:
            found.setdefault(row["ship_id"], {})[squashed(row["name"])] = row
        return found

    def position(self, ship: str, text: str) -> Row | None:
        """The position of that name on a ship on record."""
        hull = self.row("ship", ship)
        return self._on_ship.get(hull["uid"], {}).get(squashed(text)) if hull else None

    def positions(self, ship: str) -> list[str]:
        """Names of the positions on a ship."""
        hull = self.row("ship", ship)
        return [row["name"] for row in self._on_ship.get(hull["uid"], {}).values()] if hull else []

    @cached_property
    def _placements(self) -> tuple[dict[str, list[Row]], dict[str, list[Row]]]:
        by_part: dict[str, list[Row]] = {}
        by_position: dict[str, list[Row]] = {}
        for row in self.records["placement"]:
            by_part.setdefault(row["part_id"], []).append(row)
            if row["position_id"] is not None:
                by_position.setdefault(row["position_id"], []).append(row)
        return by_part, by_position

    def place_of(self, part: Row) -> Row | None:
        """Where a part is now; None: nowhere on record."""
        return next((row for row in self._placements[0].get(part["uid"], []) if row["until_on"] is None), None)

    def held_by(self, position: Row) -> Row | None:
        """The part in a position now."""
        now = next((row for row in self._placements[1].get(position["uid"], []) if row["until_on"] is None), None)
        return self._part(now["part_id"]) if now else None

    def held_on(self, position: Row, day: date) -> list[Row]:
        """The parts that were in a position on a day; two, if it changed hands that day."""
        rows = self._placements[1].get(position["uid"], [])
        return [
            self._part(row["part_id"])
            for row in rows
            if row["from_on"] <= day and (row["until_on"] is None or day <= row["until_on"])
        ]

    def _part(self, uid: str) -> Row:
        return next(row for row in self.records["part"] if row["uid"] == uid)

    def in_pool(self, family: Row) -> list[Row]:
        """The tagged parts of a family that lie in the pool."""
        return [
            part
            for part in self.records["part"]
            if part["family_id"] == family["uid"] and (self.place_of(part) or {}).get("place") == "pool"
        ]

    def fits(self, position: Row) -> list[str]:
        """Names of the families that fit a position."""
        uids = {row["family_id"] for row in self.records["position_family"] if row["position_id"] == position["uid"]}
        return [row["name"] for row in self.records["family"] if row["uid"] in uids]

    def stock(self, family: Row, day: date) -> tuple[int, int]:
        """What the pool held of a counted family at the end of a day, and the least it held from then on."""
        held = 0
        later: dict[date, int] = {}
        for row in self.records["movement"]:
            if row["family_id"] == family["uid"]:
                change = row["quantity"] * ((row["to_place"] == "pool") - (row["from_place"] == "pool"))
                if row["moved_on"] <= day:
                    held += change
                else:
                    later[row["moved_on"]] = later.get(row["moved_on"], 0) + change
        least = running = held
        for moved_on in sorted(later):
            running += later[moved_on]
            least = min(least, running)
        return held, least

    def battles_on(self, day: date) -> list[Row]:
        """Battles that a day belongs to."""
        return [
            row
            for row in self.records["battle"]
            if row["from_on"] <= day <= row["until_on"] and row["state"] != "called off"
        ]

    def sailed(self, ship: str, day: date) -> list[Row]:
        """Sorties on record of a ship on a day."""
        hull = self.row("ship", ship)
        uid = hull["uid"] if hull else None
        return [row for row in self.records["sortie"] if row["ship_id"] == uid and row["sailed_on"] == day]

    @property
    def currency(self) -> str:
        """Of all costs."""
        return str(next((row["currency"] for row in self.records["club"]), ""))

    def records_from(self, ship: str | None) -> date:
        """The day the records of a ship begin, else the club's, else today."""
        hull = self.row("ship", ship) if ship else None
        of_ship = hull["records_from"] if hull else None
        of_club = next((row["records_from"] for row in self.records["club"]), None)
        return of_ship or of_club or self.today


def _keyed(names: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name in names:
        found.setdefault(squashed(name), []).append(name)
    return found
