"""Failures as the club finds and records them, a part's own and those brought about from outside."""

from __future__ import annotations

from typing import NamedTuple

from book import Row
from fleet import Fleet, Moment, Part, Position, Ship
from stores import Stores

_MODES = {
    "servo": ("dead", "erratic", "hard over", "slow"),
    "receiver": ("no signal", "dead", "erratic"),
    "speed controller": ("dead", "erratic", "hot"),
    "motor": ("noisy", "slow", "dead", "hot"),
    "pump": ("won't prime", "jams", "leaks water"),
    "seal": ("leaks water",),
    "battery": ("won't hold charge", "just died"),
    "valve": ("leaks gas", "jams", "dead"),
    "regulator": ("leaks gas", "erratic"),
    "switch": ("dead", "corroded", "jams"),
    "cylinder": ("leaks gas",),
    "recovery gear": ("jams", "came off", "broken"),
}
_BLAME_DRY = {"motor": "wear", "seal": "wear", "battery": "stale", "recovery gear": "wear", "valve": "assembly"}
# A failure that may bring another one with it: the position, its victim, and how often.
_DRAGS_DOWN = {
    "rudder-servo": ("receiver", 0.40),
    "pump-motor": ("pump-switch", 0.30),
    "drive-motor": ("speed-controller", 0.30),
}


class Discovery(NamedTuple):
    """How a failure came to light."""

    moment: Moment
    found_by: str
    sortie: Row | None = None
    wet: bool = False
    sank: bool = False


class Findings:
    """What captains find and write down."""

    def __init__(self, fleet: Fleet, stores: Stores) -> None:
        self.fleet, self.stores, self.book, self.chance = fleet, stores, fleet.book, fleet.chance
        self.waiting: list[Position] = []  # empty, no spare yet
        self.suspects: list[tuple[Part, Row, bool]] = []  # to be retested; True: really dead

    def failed(self, position: Position, seen: Discovery) -> None:
        """A failed part is found, recorded, pulled, and replaced if there is a spare."""
        part = position.part
        assert part is not None
        mode = self.chance.pick(_MODES[part.family.category])
        doubted = part.family.category in ("servo", "receiver") and self.chance.happens(0.15)
        row = self._record(position, part, seen, mode=mode, cause=self._blame(part, seen))
        if doubted:
            self._doubt(position, seen.moment, mode, dead=True)
        else:
            self.fleet.pull(position, seen.moment, "failed", "scrapped")
        self._drag_down(position, seen, row)
        self.refit(position, seen.moment)

    def hit(self, position: Position, seen: Discovery) -> None:
        """A ball destroys a part: battle damage, not a failure of its own."""
        assert position.part is not None
        self._record(position, position.part, seen, mode="broken", cause="ball hit")
        self.fleet.pull(position, seen.moment, "failed", "scrapped")
        self.refit(position, seen.moment)

    def falsely_suspected(self, position: Position, moment: Moment) -> None:
        """A working part misbehaves once and is withdrawn."""
        self._doubt(position, moment, "erratic", dead=False)
        self.refit(position, moment)

    def refit(self, position: Position, moment: Moment) -> None:
        """Fit a spare, or leave the position empty until one comes."""
        if not self.stores.issue(position, moment) and position not in self.waiting:
            self.waiting.append(position)

    def fill_gaps(self, moment: Moment) -> None:
        """Fit what has come in the meantime."""
        for position in list(self.waiting):
            afloat = position.ship.row["state"] == "in commission"
            if not afloat or position.part is not None or self.stores.issue(position, moment):
                self.waiting.remove(position)

    def retest(self, moment: Moment) -> None:
        """Suspects are tested on the day after and, if they pass, a week later."""
        for part, row, dead in list(self.suspects):
            age = (moment[0] - row["raised_on"]).days
            if age == 1 or (age == 7 and not dead):
                result = "fail" if dead else "pass"
                self.book.add("retest", suspicion_id=row["id"], tested_on=moment[0], result=result, note=None)
            if age >= (1 if dead else 7):
                row.update(closed_on=moment[0], outcome="condemned" if dead else "no failure found")
                self.fleet.place(part, "scrapped" if dead else "pool", moment, reason="failed" if dead else "working")
                self.suspects.remove((part, row, dead))

    def tested(self, position: Position, part: Part, moment: Moment) -> None:
        """Write down a demand test."""
        self.book.add(
            "reading",
            part_id=part.row["id"],
            position_id=position.row["id"],
            measure="demand test",
            value=0.0 if part.failed else 1.0,
            unit="passed",
            taken_on=moment[0],
            by_id=self.fleet.members[position.ship.truth.captain]["id"],
            note=None,
        )

    def _doubt(self, position: Position, moment: Moment, mode: str, *, dead: bool) -> None:
        part = self.fleet.pull(position, moment, "suspect", "suspect")
        row = self.book.add(
            "suspicion",
            part_id=part.row["id"],
            raised_on=moment[0],
            mode=mode,
            closed_on=None,
            outcome=None,
            note=None,
        )
        self.suspects.append((part, row, dead))

    def _drag_down(self, position: Position, seen: Discovery, cause: Row) -> None:
        name, share = _DRAGS_DOWN.get(position.name.removeprefix("port-").removeprefix("starboard-"), ("", 0.0))
        if seen.sortie is None or not self.chance.happens(share):
            return
        victim = next(each for each in position.ship.positions if each.name == name)
        if victim.part is not None and not victim.part.failed:
            mode = self.chance.pick(_MODES[victim.part.family.category])
            self._record(victim, victim.part, seen, mode=mode, cause="overload", caused_by=cause)
            self.fleet.pull(victim, seen.moment, "failed", "scrapped")
            self.refit(victim, seen.moment)

    def _blame(self, part: Part, seen: Discovery) -> str:
        """What the captain blames: an opinion, right often enough."""
        if self.chance.happens(0.2):
            return "unknown"
        if seen.wet and self.chance.happens(0.75):
            return "water"
        likely = _BLAME_DRY.get(part.family.category, "wear")
        return self.chance.pick((likely, "water", "knock", "bad joint"), (0.6, 0.2, 0.1, 0.1))

    def _record(
        self, position: Position, part: Part, seen: Discovery, *, mode: str, cause: str, caused_by: Row | None = None
    ) -> Row:
        last_good = part.known_good if self.chance.happens(0.75) else None
        return self.book.add(
            "failure",
            part_id=part.row["id"],
            position_id=position.row["id"],
            sortie_id=seen.sortie["id"] if seen.sortie else None,
            found_on=seen.moment[0],
            found_sortie=seen.moment[1],
            last_good_on=last_good[0] if last_good else None,
            last_good_sortie=last_good[1] if last_good else None,
            mode=mode,
            cause=cause,
            effect=self._effect(position, seen),
            found_by=seen.found_by,
            secondary=caused_by is not None,
            caused_by_id=caused_by["id"] if caused_by else None,
            note=None,
        )

    def _effect(self, position: Position, seen: Discovery) -> str:
        if seen.sortie is None:
            return "none"
        if seen.sank and position.row["system"] == "pumping":
            return "sank"
        if position.vital:
            return self.chance.pick(("out of battle", "lost function", "unknown"), (0.6, 0.3, 0.1))
        return self.chance.pick(("lost function", "nuisance"), (0.6, 0.4))


def demand_tests(findings: Findings, ship: Ship, moment: Moment, share: float) -> None:
    """Demand tests of the hidden functions of a ship, written down; one that passes is a known-good moment."""
    for position, part in ship.parts():
        part.age_to(moment[0])
        if part.family.hidden and findings.chance.happens(share):
            findings.tested(position, part, moment)
            if part.failed:
                findings.failed(position, Discovery(moment, "demand test"))
            else:
                part.known_good = moment


def look_over(findings: Findings, ship: Ship, moment: Moment, found_by: str, share: float) -> None:
    """Look at everything that shows when it has failed; most of what has is found."""
    for position, part in ship.parts():
        part.age_to(moment[0])
        if not part.family.hidden and part.failed and findings.chance.happens(share):
            findings.failed(position, Discovery(moment, found_by))
