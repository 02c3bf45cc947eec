"""Ships, positions and parts as they truly are, and where the records say each part has been."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from book import Book, Chance, Row
from truth import (
    COUNTED,
    EXTRA_POSITIONS,
    FAMILY,
    LEFT_THE_CLUB,
    METHOD_RATIO,
    METHODS,
    QUARTERMASTER,
    SERVICE_AGE,
    SHIPS,
    TREATED_CATEGORIES,
    UNLOGGED_TREATMENTS,
    VENUES,
    ZONE_RATIO,
    Counted,
    Family,
    ShipTruth,
    families_that_fit,
)

from maintain.services import templates

Moment = tuple[date, int]  # a day, and the sorties the ship has sailed that day


@dataclass
class Part:
    """One physical item: what it has truly lived, and its rows."""

    row: Row
    family: Family
    threshold: float  # it fails when its cumulative hazard passes this
    on: date  # until when its days are counted
    age: float = 0.0  # service age
    hazard: float = 0.0  # cumulated since it came into the club
    method: str | None = None  # truly applied, written down or not
    failed: bool = False
    known_good: Moment | None = None
    placement: Row = field(default_factory=dict)
    zone: str = "ashore"
    treated_once: bool = False

    @property
    def ratio(self) -> float:
        return ZONE_RATIO.get(self.zone, 1.0) * METHOD_RATIO.get(self.method or "", 1.0)

    def lives(self, days: int = 0, minutes: float = 0.0, wet: int = 0, under: int = 0) -> None:
        """Age by an exposure, and fail if that is too much."""
        before = self.age
        self.age += float(SERVICE_AGE[self.family.category].gained(days, minutes, wet, under))
        self.hazard += float(self.family.life.hazard_gained(before, self.age, self.ratio))
        self.failed = self.hazard > self.threshold

    def age_to(self, day: date) -> None:
        """Count the days up to `day`: aboard always, ashore only for what ages on the shelf."""
        if day > self.on:
            if self.zone != "ashore" or self.family.ages_on_shelf:
                self.lives(days=(day - self.on).days)
            self.on = day


@dataclass
class Position:
    """A place on a ship that takes one part."""

    row: Row
    ship: Ship
    part: Part | None = None
    last_family: str = ""

    @property
    def name(self) -> str:
        return str(self.row["name"])

    @property
    def vital(self) -> bool:
        return bool(self.row["dependence"] == "vital")


@dataclass
class Ship:
    """A ship with her positions."""

    truth: ShipTruth
    row: Row
    positions: list[Position] = field(default_factory=list)
    back_on: date | None = None  # still at the bottom, or drying, until then

    def parts(self) -> list[tuple[Position, Part]]:
        return [(each, each.part) for each in self.positions if each.part is not None]

    @property
    def complete(self) -> bool:
        return all(each.part is not None for each in self.positions if each.vital)


class Fleet:
    """Everything the club has, and the book in which it is recorded."""

    def __init__(self, book: Book, chance: Chance) -> None:
        self.book, self.chance = book, chance
        self.parts: list[Part] = []
        self.ships: dict[str, Ship] = {}
        self.pool: list[Part] = []
        self.on_order: list[Row] = []  # purchases not yet received
        self.members = {name: self._member(name) for name in (*dict.fromkeys(s.captain for s in SHIPS), QUARTERMASTER)}
        self.venues = {
            v.name: book.add("venue", name=v.name, water=v.water, depth_m=v.depth_m, note=None) for v in VENUES
        }
        self.methods = {each.name: book.add("method", name=each.name, note=None) for each in METHODS}
        self.families = {each.name: self._family(each) for each in FAMILY.values()}
        self.counted = {each.name: self._counted(each) for each in COUNTED}

    def _member(self, name: str) -> Row:
        return self.book.add("member", name=name, left_on=LEFT_THE_CLUB.get(name), note=None)

    def _family(self, family: Family) -> Row:
        return self._add_family(
            name=family.name,
            category=family.category,
            tracking="tagged",
            hidden=family.hidden,
            ages_on_shelf=family.ages_on_shelf,
            unit_cost_cents=family.cost_cents,
            lead_time_days=family.lead_days,
            shelf_life_days=family.shelf_days,
            fitting_minutes=family.minutes,
            reorder_line=family.line,
            weight_grams=family.grams,
        )

    def _counted(self, item: Counted) -> Row:
        return self._add_family(
            name=item.name,
            category=item.category,
            tracking="counted",
            unit_cost_cents=item.cost_cents,
            lead_time_days=item.lead_days,
            reorder_line=item.line,
        )

    def _add_family(self, **values: object) -> Row:
        unsaid = dict.fromkeys(("shelf_life_days", "fitting_minutes", "weight_grams", "note"))
        return self.book.add("family", **(unsaid | {"hidden": False, "ages_on_shelf": False} | values))

    def commission(self, truth: ShipTruth) -> Ship:
        """Enter a ship with her positions, empty."""
        kind_number = {"battleship": "B", "cruiser": "C", "convoy ship": "S"}[truth.kind]
        row = self.book.add(
            "ship",
            name=truth.name,
            club_number=f"{kind_number}{len(self.ships) + 1:02d}",
            captain_id=self.members[truth.captain]["id"],
            type=truth.kind,
            state="in commission",
            state_since=truth.joined,
            records_from=truth.joined,
            note=None,
        )
        ship = self.ships[truth.name] = Ship(truth, row)
        places = [*templates.typical(truth.kind)[1], *(templates.Place(*each) for each in EXTRA_POSITIONS[truth.kind])]
        ids: dict[str, int] = {}
        for place in sorted(places, key=lambda each: each.powered_by is not None):
            values = place._asdict()
            source = values.pop("powered_by")
            at = self.book.add("position", ship_id=row["id"], **values, powered_by_id=ids.get(source or ""), note=None)
            ids[place.name] = at["id"]
            ship.positions.append(Position(at, ship))
            for family in families_that_fit(place.name, truth.protocol):
                self.book.add("position_family", position_id=at["id"], family_id=self.families[family]["id"])
        return ship

    def make(
        self, family: Family, day: date, *, origin: str = "new", age: float = 0.0, owner: str | None = None
    ) -> Part:
        """A part comes into the club with the service age it truly has."""
        number = sum(each.family is family for each in self.parts) + 1
        known = origin == "new" and age == 0.0
        row = self.book.add(
            "part",
            tag=f"{family.letters}{number:02d}",
            family_id=self.families[family.name]["id"],
            model=None,
            batch=f"{day.year}-{'AB'[day.month > 6]}" if known else None,
            origin=origin,
            prior_use="none" if known else "unknown",
            owner_id=self.members[owner]["id"] if owner else None,
            acquired_on=day if known else None,
            acquired_precision="day" if known else None,
            made_on=day - timedelta(days=self.chance.whole(20, 200)) if family.shelf_days and known else None,
            cost_cents=family.cost_cents if known and self.chance.happens(0.9) else None,
            note=None,
        )
        part = Part(row, family, self.chance.exponential(), day, age)
        self.parts.append(part)
        return part

    def place(self, part: Part, place: str, moment: Moment, *, member: str | None = None, reason: str = "moved") -> Row:
        """Move a part to a place ashore; its earlier place ends then, and a position it leaves stands empty."""
        self._close(part, moment, reason)
        part.zone = "ashore"
        self._open(part, place, moment, None, member)
        if part in self.pool:
            self.pool.remove(part)
        if place == "pool":
            self.pool.append(part)
        return part.placement

    def install(self, part: Part, position: Position, moment: Moment, precision: str = "day") -> None:
        """Fit a part; it is treated against water the first time."""
        part.age_to(moment[0])
        self._close(part, moment, "moved")
        if part in self.pool:
            self.pool.remove(part)
        part.zone = position.row["zone"]
        part.known_good = moment if precision == "day" else None
        self._open(part, "installed", moment, position, None, precision)
        position.part, position.last_family = part, part.family.name
        if part.family.category in TREATED_CATEGORIES and not part.treated_once:
            self._treat(part, moment[0], position.ship.truth.captain, precision)
        part.treated_once = True

    def pull(self, position: Position, moment: Moment, reason: str, to: str, member: str | None = None) -> Part:
        """Take a part out of its position."""
        part = position.part
        assert part is not None
        position.part = None
        self.place(part, to, moment, member=member, reason=reason)
        return part

    def _treat(self, part: Part, day: date, captain: str, precision: str) -> None:
        servo = part.family.category == "servo"
        shares = [each.servo_share if servo else each.board_share for each in METHODS]
        part.method = self.chance.pick([*(each.name for each in METHODS), None], [*shares, 1.0 - sum(shares)])
        if part.method is not None and not self.chance.happens(UNLOGGED_TREATMENTS):
            self.treatment(part, "applied", day, captain, precision)

    def treatment(self, part: Part, kind: str, day: date, by: str, precision: str = "day") -> None:
        """Write down that a part was treated."""
        assert part.method is not None
        self.book.add(
            "treatment",
            part_id=part.row["id"],
            method_id=self.methods[part.method]["id"],
            kind=kind,
            done_on=day,
            done_precision=precision,
            by_id=self.members[by]["id"],
            note=None,
        )

    def _open(
        self,
        part: Part,
        place: str,
        moment: Moment,
        position: Position | None,
        member: str | None,
        precision: str = "day",
    ) -> None:
        part.placement = self.book.add(
            "placement",
            part_id=part.row["id"],
            place=place,
            position_id=position.row["id"] if position else None,
            member_id=self.members[member]["id"] if member else None,
            from_on=moment[0],
            from_sortie=moment[1],
            from_precision=precision,
            until_on=None,
            until_sortie=None,
            until_precision=None,
            reason=None,
            note=None,
        )

    @staticmethod
    def _close(part: Part, moment: Moment, reason: str) -> None:
        if part.placement:
            part.placement.update(until_on=moment[0], until_sortie=moment[1], until_precision="day", reason=reason)
