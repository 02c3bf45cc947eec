"""Battle days: how wet each sortie truly was, what it did to every part aboard, and what was written down."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from book import Row
from findings import Discovery, Findings, demand_tests, look_over
from fleet import Moment, Part, Position, Ship
from truth import Format, waters

from maintain.core.simulate import Sorties, sail, water_reaching

_SHOTS = {"battleship": 200, "cruiser": 100, "convoy ship": 0}
# Hidden functions that a wet sortie may call for, and from which wetness on.
_CALLED_FOR = {"pump-switch": 1, "float-switch": 2, "recovery-float": 3}


@dataclass(frozen=True)
class Outing:
    """A day on the water: what kind, where, and whether it is written down."""

    day: date
    form: Format
    sorties: int
    battle: Row | None
    venue: Row
    logged: bool = True


class Sailing:
    """Ships go out."""

    def __init__(self, findings: Findings) -> None:
        self.findings, self.fleet = findings, findings.fleet
        self.book, self.chance = findings.book, findings.chance

    def go(self, ship: Ship, outing: Outing) -> None:
        """A ship's whole day, from the check at the bank to the last recall."""
        start = (outing.day, 0)
        look_over(self.findings, ship, start, "pre-battle check", 0.7)
        demand_tests(self.findings, ship, start, 0.15)
        for number in range(1, outing.sorties + 1):
            if not ship.complete or (ship.back_on and ship.back_on >= outing.day):
                return
            self._sortie(ship, outing, number if outing.logged else 0)

    def last_of_all(self, ship: Ship, outing: Outing) -> None:
        """The sortie from which a ship never came back."""
        sailed = [
            row["number"]
            for row in self.book.rows["sortie"]
            if row["ship_id"] == ship.row["id"] and row["sailed_on"] == outing.day
        ]
        number = len(sailed) + 1
        gone = sail(self.chance.rng, replace(waters(ship.truth, outing.form), chances=(0, 0, 0, 0, 0, 1.0)), ())
        row = self._write(ship, outing, number, gone)
        row.update(minutes_under=None, sinking_cause="damage", sinking_system=None, note="never found again")
        for position, _ in ship.parts():
            self.fleet.pull(position, (outing.day, number), "ship lost", "lost")

    def _sortie(self, ship: Ship, outing: Outing, number: int) -> None:
        trip = sail(self.chance.rng, waters(ship.truth, outing.form), ())
        wetness = int(trip.wetness)
        for _, part in ship.parts():
            wet, under = water_reaching(part.zone, trip)
            part.lives(0, float(trip.minutes), int(wet), int(under))
        row = self._write(ship, outing, number, trip) if outing.logged else None
        moment = (outing.day, number)
        if row is not None and wetness >= 3:
            self._open_box(ship, row, outing.day, trip)
        self._call_out(
            ship, wetness, Discovery(moment, "in battle" if row else "unknown", row, wetness > 0, wetness >= 3)
        )
        if row is not None:
            self._knocks(ship, moment, row)
            for position, part in ship.parts():
                if not part.failed and not (part.family.hidden and position.name not in _CALLED_FOR):
                    part.known_good = self._seen_working(position, part, wetness, moment)
        if wetness >= 3:
            self._recover(ship, outing.day, wetness)

    def _seen_working(self, position: Position, part: Part, wetness: int, moment: Moment) -> Moment | None:
        """A hidden function is known to work only when it was called for."""
        called_for = not part.family.hidden or wetness >= _CALLED_FOR[position.name]
        return moment if called_for else part.known_good

    def _call_out(self, ship: Ship, wetness: int, seen: Discovery) -> None:
        """Failures that show themselves on the water are found, most of them at once."""
        for position, part in ship.parts():
            if part.failed and part is position.part:
                needed = _CALLED_FOR.get(position.name, 9 if part.family.hidden else 0)
                if wetness >= needed and self.chance.happens(0.88):
                    self.findings.failed(position, seen)

    def _knocks(self, ship: Ship, moment: Moment, row: Row) -> None:
        """A ball destroys a part now and then; a good part falls under suspicion now and then."""
        aboard = [(position, part) for position, part in ship.parts() if not part.failed]
        if aboard and self.chance.happens(0.014):
            open_ones = [each for each in aboard if each[1].zone != "sealed box"]
            self.findings.hit(self.chance.pick(open_ones)[0], Discovery(moment, "in battle", row))
        doubtful = [
            position
            for position, part in aboard
            if part.family.category in ("servo", "receiver", "valve") and position.part is part
        ]
        if doubtful and self.chance.happens(0.008):
            self.findings.falsely_suspected(self.chance.pick(doubtful), moment)

    def _recover(self, ship: Ship, day: date, wetness: int) -> None:
        stays_ashore = {3: 0.25, 4: 0.7, 5: 1.0}[wetness]
        if self.chance.happens(stays_ashore):
            ship.back_on = day + timedelta(days=self.chance.whole(2, 14) if wetness == 5 else 0)

    def _open_box(self, ship: Ship, row: Row, day: date, trip: Sorties) -> None:
        """After most sinkings somebody opens the box and writes down what he sees."""
        if self.chance.happens(0.85):
            found = self.chance.pick(("damp", "water")) if bool(trip.box_wet) else "dry"
            self.book.add(
                "opening",
                ship_id=ship.row["id"],
                sortie_id=row["id"],
                zone="sealed box",
                position_id=None,
                opened_on=day,
                found=found,
                dried=found != "dry",
                note=None,
            )

    def _write(self, ship: Ship, outing: Outing, number: int, trip: Sorties) -> Row:
        wetness = int(trip.wetness)
        sank = wetness >= 3
        cause, system = self._why(ship) if sank else (None, None)
        noted = sank or not self.chance.happens(0.04)
        ashore = self.chance.pick(("recall", "timer", "out of control", None), (0.7, 0.17, 0.06, 0.07))
        shots = _SHOTS[ship.truth.kind]
        return self.book.add(
            "sortie",
            battle_id=outing.battle["id"] if outing.battle else None,
            venue_id=None if outing.battle else outing.venue["id"],
            ship_id=ship.row["id"],
            sailed_on=outing.day,
            number=number,
            minutes_afloat=None if self.chance.happens(0.07) else round(float(trip.minutes)),
            shots=None if self.chance.happens(0.1) else int(shots * self.chance.uniform(0.4, 1.0)),
            **self._hits(),
            wetness=f"W{wetness}" if noted else None,
            ending="sank" if sank else ashore,
            minutes_under=self._minutes_under(wetness),
            sinking_cause=cause,
            sinking_system=system,
            note=None,
        )

    def _hits(self) -> dict[str, int | None]:
        if self.chance.happens(0.2):
            return {"hits_above": None, "hits_on": None, "hits_below": None}
        count = int(self.chance.exponential() * 9)
        on, below = int(count * self.chance.uniform(0, 0.25)), int(count * self.chance.uniform(0, 0.2))
        return {"hits_above": count - on - below, "hits_on": on, "hits_below": below}

    def _minutes_under(self, wetness: int) -> float | None:
        if wetness < 3 or self.chance.happens(0.15):
            return None
        span = {3: (2.0, 9.4), 4: (10.0, 90.0), 5: (1500.0, 9000.0)}[wetness]
        return round(self.chance.uniform(*span))

    def _why(self, ship: Ship) -> tuple[str, str | None]:
        """Why she sank, as the captain sees it: a pump that did not run is noticed."""
        pumping = [part.failed for position, part in ship.parts() if position.row["system"] == "pumping"]
        if any(pumping):
            return "system", "pumping"
        cause = self.chance.pick(("damage", "trim", "operator", "unknown", "system"), (0.62, 0.14, 0.1, 0.09, 0.05))
        if cause != "system":
            return cause, None
        return cause, self.chance.pick(("pumping", "steering", "hull", "propulsion", None))
