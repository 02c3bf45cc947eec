"""What the club does ashore: ships entered and laid up, winter work, readings, recurring tasks, legal dates."""

from __future__ import annotations

from datetime import date, timedelta

from book import Book, Row
from findings import Findings, demand_tests, look_over
from fleet import Fleet, Moment, Part, Position, Ship
from stores import Stores
from truth import (
    FAMILY,
    PUMP_LEAST,
    PUMP_NEW,
    PUMP_SCATTER,
    PUMP_WORN,
    RECORDS_FROM,
    TODAY,
    ShipTruth,
    families_that_fit,
    stem,
)

# Replaced in winter though it still works: category or family, service age from which, share.
_PREVENTIVE = {
    "lead battery 6 V": (900, 0.35),
    "receiver pack 4.8 V": (900, 0.30),
    "pump motor 28 mm": (1100, 0.30),
    "box gasket cord 4 mm": (600, 0.50),
    "shaft seal 4 mm": (1200, 0.25),
    "rudder seal 3 mm": (1300, 0.20),
}


def fit_out(fleet: Fleet, truth: ShipTruth) -> Ship:
    """Enter a ship with all that is aboard: some of it new, some fitted last winter, some from before the records."""
    ship = fleet.commission(truth)
    late = truth.joined > RECORDS_FROM
    for position in ship.positions:
        names = families_that_fit(position.name, truth.protocol)
        family = FAMILY[fleet.chance.pick(names, [0.7, 0.3][: len(names)])]
        how = fleet.chance.pick(("new", "winter", "before"), (0.2, 0.25, 0.55) if late else (0.62, 0.2, 0.18))
        _ABOARD[how](fleet, position, family.name)
    return ship


def _new(fleet: Fleet, position: Position, family: str) -> None:
    day = position.ship.truth.joined
    fleet.install(fleet.make(FAMILY[family], day, owner=position.ship.truth.captain), position, (day, 0))


def _last_winter(fleet: Fleet, position: Position, family: str) -> None:
    """New when fitted, in a month or only a season that is remembered; no water of that time was written down."""
    joined, captain = position.ship.truth.joined, position.ship.truth.captain
    fitted = joined - timedelta(days=fleet.chance.whole(30, 150))
    season = fitted.year < joined.year and fleet.chance.happens(0.3)
    recalled = date(fitted.year, 7, 1) if season else fitted.replace(day=15)
    precision = "season" if season else "month"
    part = fleet.make(FAMILY[family], fitted, owner=captain)
    part.row.update(acquired_on=recalled, acquired_precision=precision)
    fleet.install(part, position, (recalled, 0), precision)
    part.on = fitted
    part.age_to(joined)
    part.lives(minutes=fleet.chance.uniform(0, 200), wet=fleet.chance.whole(0, 3))
    if part.failed:  # it was aboard and working when the ship joined
        part.failed, part.threshold = False, part.hazard + fleet.chance.exponential()


def _before(fleet: Fleet, position: Position, family: str) -> None:
    """Aboard when the records began, of an age that nobody knows."""
    joined, captain = position.ship.truth.joined, position.ship.truth.captain
    origin = fleet.chance.pick(("new", "second-hand", "unknown"), (0.35, 0.4, 0.25))
    part = fleet.make(FAMILY[family], joined, origin=origin, age=fleet.chance.uniform(50, 1000), owner=captain)
    fleet.install(part, position, (joined, 0), "before records")


_ABOARD = {"new": _new, "winter": _last_winter, "before": _before}


class Upkeep:
    """Winter work and everything that recurs."""

    def __init__(self, findings: Findings, stores: Stores) -> None:
        self.findings, self.stores, self.fleet = findings, stores, findings.fleet
        self.book, self.chance = self.fleet.book, self.fleet.chance
        self.tasks = recurring_tasks(self.fleet)

    def winter(self, ship: Ship, day: date) -> None:
        """Strip a ship: find what has died, test what hides, replace and treat what is old."""
        moment = (day, 0)
        look_over(self.findings, ship, moment, self.chance.pick(("opened", "bench")), 0.97)
        demand_tests(self.findings, ship, moment, 1.0)
        for position, part in ship.parts():
            if part.failed or part.placement["from_on"] == day:
                continue
            part.known_good = moment
            self._replace_in_time(position, part, moment)
            self._care(part, day, ship.truth.captain)
        self.readings(ship, day)
        self._complete(ship, day)
        self.stores.use_up("cannon O-ring", self.chance.whole(2, 8), ship.row, day)

    def _replace_in_time(self, position: Position, part: Part, moment: Moment) -> None:
        """Old parts of some families are pulled working; batteries go home with the captain, the rest is spare."""
        limit, share = _PREVENTIVE.get(part.family.name, (10**9, 0.0))
        if part.age < limit or not self.chance.happens(share):
            return
        captain = position.ship.truth.captain
        if part.family.category == "battery":
            self.fleet.pull(position, moment, "working", "captain", captain)
        elif part.family.category == "seal":
            self.fleet.pull(position, moment, "working", "scrapped")
        else:
            self.fleet.pull(position, moment, "working", "pool")
            part.row["note"] = "pulled working in winter; a spare of known history"
        self.findings.refit(position, moment)

    def _care(self, part: Part, day: date, captain: str) -> None:
        if part.method in ("grease-filled case", "oil bath", "corrosion inhibitor") and self.chance.happens(0.4):
            self.fleet.treatment(part, "renewed", day, captain)
        elif part.method == "liquid tape dip" and self.chance.happens(0.12):
            self.fleet.treatment(part, "removed", day, captain)
            part.method = None

    def readings(self, ship: Ship, day: date, *, pump_only: bool = False) -> None:
        """Measure what can be measured; a weak pump takes longer for its litre."""
        for position, part in ship.parts():
            kind = stem(position.name)
            if pump_only and kind != "pump":
                continue
            drawn = self._reading(ship, kind, part)
            if drawn is not None and not part.failed:
                measure, value, unit = drawn
                self.read(position, part, (measure, round(value, 1), unit), day)

    def _reading(self, ship: Ship, kind: str, part: Part) -> tuple[str, float, str] | None:
        if kind == "pump":
            motor = next((p for at, p in ship.parts() if at.name == "pump-motor"), None)
            worn = 0.0 if motor is None else motor.age / motor.family.life.scale
            seconds = self.chance.near(PUMP_NEW + PUMP_WORN * worn, PUMP_SCATTER)
            return "pump seconds per litre", max(PUMP_LEAST, seconds), "s/L"
        if kind == "regulator":
            return "regulator creep", abs(self.chance.near(0.2, 0.15)), "bar"
        if kind == "main-battery":
            return "loaded volts", self.chance.near(6.1 - 0.3 * part.age / part.family.life.scale, 0.08), "V"
        if kind == "bottle":
            return "bottle weight", self.chance.near(378.0, 3.0), "g"
        if kind == "receiver":
            return "range", float(self.chance.whole(55, 90)), "paces"
        return None

    def read(self, position: Position, part: Part, drawn: tuple[str, float, str], day: date) -> Row:
        """Write down a reading of a part where it sits."""
        return self.book.add(
            "reading",
            part_id=part.row["id"],
            position_id=position.row["id"],
            measure=drawn[0],
            value=drawn[1],
            unit=drawn[2],
            taken_on=day,
            by_id=self.fleet.members[position.ship.truth.captain]["id"],
            note=None,
        )

    def _complete(self, ship: Ship, day: date) -> None:
        for title in ("look at the box gasket", "open the receiver and look", "weigh the bottle"):
            if self.chance.happens(0.85):
                self.complete(title, ship, day)

    def complete(self, title: str, ship: Ship, day: date) -> None:
        """Write down that a recurring task was done on a ship."""
        self.book.add(
            "task_completion",
            task_id=self.tasks[title]["id"],
            ship_id=ship.row["id"],
            part_id=None,
            done_on=day,
            done_sortie=None,
            by_id=self.fleet.members[ship.truth.captain]["id"],
            note=None,
        )


def _task(book: Book, title: str, **values: object) -> Row:
    blank = dict.fromkeys(
        ("ship_id", "position_id", "part_id", "family_id", "category", "clock", "every", "due_on", "closed_on", "note")
    )
    return book.add("task", title=title, **(blank | {"why_closed": None} | values))


# Title, family or category, clock, how much of it between two times, minutes of work.
_RECURRING = (
    ("re-grease the shaft tubes", "shaft seal 4 mm", "battle days", 2, 15),
    ("look at the box gasket", "box gasket cord 4 mm", "days", 365, 20),
    ("open the receiver and look", "receiver", "days", 365, 30),
    ("spin and oil the pump motor", "pump motor 28 mm", "immersions", 3, 20),
    ("weigh the bottle", "cylinder", "days", 365, 5),
)


# Due as soon as this clock too is reached: title, clock, how much of it.
_OR_EVERY = (("re-grease the shaft tubes", "immersions", 1),)


def recurring_tasks(fleet: Fleet) -> dict[str, Row]:
    """The work that comes round again, each with who says so."""
    tasks = {
        title: _task(
            fleet.book,
            title,
            family_id=fleet.families[of]["id"] if of in FAMILY else None,
            category=None if of in FAMILY else of,
            clock=clock,
            every=every,
            starts_on=RECORDS_FROM,
            source="common practice, no source",
            decider="the captain",
            work_minutes=minutes,
        )
        for title, of, clock, every, minutes in _RECURRING
    }
    for title, clock, every in _OR_EVERY:
        fleet.book.add("task_interval", task_id=tasks[title]["id"], clock=clock, every=every)
    return tasks


def hold_to_limits(book: Book) -> None:
    """What the club holds a measure to, where nobody else says anything."""
    rule = {"bound": "at least", "value": 20.0, "percent_of_first": False, "source": "club rule", "note": None}
    book.add("reading_limit", measure="line pull", family_id=None, category="recovery gear", **rule)


def certify(fleet: Fleet) -> None:
    """Every bottle has its test date, with who decides on it; some have the club's own date beside it."""
    for part in [each for each in fleet.parts if each.family.category == "cylinder"]:
        acquired = part.row["acquired_on"] or RECORDS_FROM
        oldest = 1400 if acquired <= RECORDS_FROM else 300
        stamped = acquired - timedelta(days=fleet.chance.whole(30, oldest))
        while _years_later(stamped, 5) < TODAY - timedelta(days=200):  # one that lapsed lately still waits for its test
            _certificates(fleet, part, stamped)
            stamped = _years_later(stamped, 5) - timedelta(days=fleet.chance.whole(10, 90))
        _certificates(fleet, part, stamped)


def _certificates(fleet: Fleet, part: Part, stamped: date) -> None:
    law = ("cylinder test", 5, "49 CFR 180.209 Table 1: 5 years", None)
    club = ("club's own date", 6, "club rule: every 6 years", "the law's date comes first")
    for kind, years, source, note in (law, club) if fleet.chance.happens(0.4) else (law,):
        fleet.book.add(
            "certificate",
            part_id=part.row["id"],
            kind=kind,
            issued_on=stamped,
            expires_on=_years_later(stamped, years),
            source=source,
            decider="licensed cylinder inspector",
            note=note,
        )


def _years_later(day: date, years: int) -> date:
    return day.replace(year=day.year + years, day=min(day.day, 28))


def check_before(upkeep: Upkeep, ship: Ship, battle: Row, day: date) -> None:
    """A pre-battle check with its answers; one promise becomes a task."""
    book, captain = upkeep.book, upkeep.fleet.members[ship.truth.captain]["id"]
    check = book.add(
        "prebattle_check",
        ship_id=ship.row["id"],
        battle_id=battle["id"],
        begun_on=day,
        finished_on=day,
        by_id=captain,
        note=None,
    )
    asked = (("pump", "does the pump prime and throw a full stream?"), ("recovery-float", "is the recovery line free?"))
    for step, (name, question) in enumerate((*asked, (None, "is the skin whole?")), start=1):
        position = next((each for each in ship.positions if each.name == name), None)
        promised = name is None and upkeep.chance.happens(0.3)
        task = _promise(upkeep, ship, day) if promised else None
        book.add(
            "check_answer",
            prebattle_check_id=check["id"],
            step=step,
            question=question,
            position_id=position.row["id"] if position else None,
            answer="promise" if promised else "pass",
            reading_id=None,
            task_id=task["id"] if task else None,
            by_id=captain,
            answered_at=f"{day}T09:{20 + step}:00+00:00",
            note=None,
        )


def _promise(upkeep: Upkeep, ship: Ship, day: date) -> Row:
    """Sails by agreement: the work is promised within a month, and most of it done in three weeks."""
    done = day + timedelta(days=21)
    kept = done <= TODAY and upkeep.chance.happens(0.9)
    return _task(
        upkeep.book,
        f"re-skin {ship.truth.name}",
        ship_id=ship.row["id"],
        starts_on=day,
        due_on=day + timedelta(days=30),
        closed_on=done if kept else None,
        source="promise at the pre-battle check",
        decider="technical officer",
        work_minutes=180,
    )
