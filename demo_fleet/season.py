"""When the club sails: battle days, meets and practice, and all that is done between them, day by day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from book import Book, Chance, Row
from findings import Findings, demand_tests
from fleet import Fleet, Ship
from sailing import Outing, Sailing
from stores import Stores
from truth import (
    FORMATS,
    MEET,
    MEET_VENUE,
    NEXT_BATTLE,
    NEXT_MEET,
    PRACTICE,
    RECORDS_FROM,
    SHIPS,
    TODAY,
    VENUES,
    Format,
)
from upkeep import Upkeep, certify, check_before, fit_out, hold_to_limits

_NAMES = (
    "Ice Breaker", "First Balls", "Reed Skirmish", "May Fleet", "Lily Run", "Long Evening",
    "Midsummer", "Thunder Day", "Low Water", "Harvest", "Last Leaves", "Mist Day",
)  # fmt: skip
_CLUB_PONDS = [venue.name for venue in VENUES if venue.name != MEET_VENUE]
_FIRST_MEET = (date(2023, 10, 12), date(2024, 10, 10), date(2025, 10, 16))
_MEET_DAYS = (4, 4, 4, 2)  # sorties each ship plans for each day
_FORMAT = {form.name: form for form in FORMATS}


class Season:
    """Runs the club from the day its records begin until today."""

    def __init__(self, book: Book, chance: Chance) -> None:
        self.book, self.chance = book, chance
        self.fleet = Fleet(book, chance)
        self.stores = Stores(self.fleet)
        self.findings = Findings(self.fleet, self.stores)
        self.sailing = Sailing(self.findings)
        self.upkeep = Upkeep(self.findings, self.stores)
        self.outings = self._calendar()
        self.overhauls: dict[tuple[str, int], date] = {}
        self.summer_tests: dict[tuple[str, int], date] = {}

    def run(self) -> None:
        """Live through every day."""
        day = RECORDS_FROM
        self.stores.stock(day)
        while day < TODAY:
            self._ashore(day)
            for outing in self.outings.get(day, ()):
                self._afloat(outing)
            day += timedelta(days=1)
        self._ashore(TODAY)
        for part in self.fleet.parts:
            part.age_to(TODAY)
        certify(self.fleet)
        hold_to_limits(self.book)

    def _ashore(self, day: date) -> None:
        moment = (day, 0)
        self.stores.receive(day)
        for truth in SHIPS:
            if truth.joined == day:
                self._welcome(fit_out(self.fleet, truth))
            if truth.leaves and truth.leaves[0] == day and truth.leaves[1] != "lost":
                self._leaves(self.fleet.ships[truth.name], day, truth.leaves[1])
        self.findings.retest(moment)
        self.findings.fill_gaps(moment)
        for ship in self._afloat_ships():
            if self.overhauls.get((ship.truth.name, day.year)) == day:
                self.upkeep.winter(ship, day)
            if self.summer_tests.get((ship.truth.name, day.year)) == day:
                demand_tests(self.findings, ship, moment, 0.6)
                self.upkeep.readings(ship, day, pump_only=True)
        self._errands(day)

    def _welcome(self, ship: Ship) -> None:
        for year in range(ship.truth.joined.year, TODAY.year + 1):
            winter = self.chance.day(date(year, 1, 20), date(year, 3, 12))
            summer = self.chance.day(date(year, 6, 25), date(year, 7, 20))
            if winter > ship.truth.joined:
                self.overhauls[ship.truth.name, year] = winter
            if summer > ship.truth.joined:
                self.summer_tests[ship.truth.name, year] = summer

    def _afloat_ships(self) -> list[Ship]:
        return [ship for ship in self.fleet.ships.values() if ship.row["state"] == "in commission"]

    def _leaves(self, ship: Ship, day: date, state: str) -> None:
        """A ship is laid up; if she is paid off her captain takes her parts with him."""
        ship.row.update(state=state, state_since=day)
        if state == "paid off":
            for position, _ in ship.parts():
                self.fleet.pull(position, (day, 0), "ship paid off", "captain", ship.truth.captain)
        else:
            self._rob(ship, day)

    def _rob(self, ship: Ship, day: date) -> None:
        """Three working parts of a ship in dry dock go into the pool."""
        for name in ("gun-4-servo", "gun-3-valve", "pump-switch"):
            position = next(each for each in ship.positions if each.name == name)
            if position.part is not None and not position.part.failed:
                self.fleet.pull(position, (day, 0), "moved", "pool")

    def _afloat(self, outing: Outing) -> None:
        for ship in self._afloat_ships():
            lost = ship.truth.leaves == (outing.day, "lost")
            if not lost and not self.chance.happens(self._attendance(ship, outing)):
                continue
            if outing.battle and self.chance.happens(0.12) and outing.battle["from_on"] == outing.day:
                check_before(self.upkeep, ship, outing.battle, outing.day)
            self.sailing.go(ship, outing)
            if outing.battle and self.chance.happens(0.35):
                self.upkeep.readings(ship, outing.day, pump_only=True)
                self.upkeep.complete("re-grease the shaft tubes", ship, outing.day)
            if lost:
                self.sailing.last_of_all(ship, outing)
                ship.row.update(state="lost", state_since=outing.day)

    @staticmethod
    def _attendance(ship: Ship, outing: Outing) -> float:
        if outing.form is PRACTICE:
            return 0.35
        return min(0.95, ship.truth.attendance + 0.15) if outing.form is MEET else ship.truth.attendance

    def _errands(self, day: date) -> None:
        if day.day == 10 and day.month in (4, 6, 8, 9):
            ship = self.chance.pick(self._afloat_ships())
            self.stores.use_up("blade fuse 10 A", self.chance.whole(1, 4), ship.row, day)
            self.stores.hand_to_captain("cannon O-ring", self.chance.whole(2, 6), ship.truth.captain, day)
        if (day.month, day.day) == (1, 15):
            for name in ("cannon O-ring", "blade fuse 10 A"):
                self.stores.count(name, self.chance.whole(0, 3), day)
        lent = {
            date(2024, 5, 20): ("micro servo", "Quill", date(2024, 6, 30)),
            date(2025, 8, 4): ("standard servo", "Ness", date(2025, 9, 15)),
            date(2026, 7, 27): ("firing valve", "Hob", None),
            date(2026, 9, 1): ("standard servo", "Tansy", None),
        }
        if day in lent:
            family, to, back = lent[day]
            self.stores.lend_out(family, to, day, back)

    def _calendar(self) -> dict[date, list[Outing]]:
        outings: dict[date, list[Outing]] = {}
        for outing in self._all_outings():
            outings.setdefault(outing.day, []).append(outing)
        return outings

    def _all_outings(self) -> Iterator[Outing]:
        for year in range(RECORDS_FROM.year, TODAY.year + 1):
            last = date(year, 9, 25) if year < TODAY.year else TODAY - timedelta(days=7)
            days = self._sundays(date(year, 4, 8), last, 10 if year < TODAY.year else 9)
            names = list(_NAMES[: len(days) + 1])
            off = self.chance.whole(2, len(days) - 2)
            for number, day in enumerate(days):
                name = names[number if number < off else number + 1]
                yield self._battle_day(f"{name} {year}", day, self.chance.pick(FORMATS, (5, 2, 1, 2)))
            self._battle(f"{names[off]} {year}", (days[off] - timedelta(days=3),) * 2, FORMATS[0], None, "called off")
            yield from self._practice(year)
            if year < TODAY.year:
                yield from self._meet(year)
        day, form, venue, _ = NEXT_BATTLE
        self._battle(f"Mist Day {day.year}", (day, day), _FORMAT[form], venue, "planned")
        self._battle(f"Long Withy Week {NEXT_MEET[0].year}", NEXT_MEET[:2], MEET, MEET_VENUE, "planned")

    def _sundays(self, first: date, last: date, count: int) -> list[date]:
        sundays = [
            first + timedelta(days=n) for n in range((last - first).days) if (first + timedelta(n)).weekday() == 6
        ]
        fixed = {truth.leaves[0] for truth in SHIPS if truth.leaves and truth.leaves[1] == "lost"}
        chosen = {day for day in sundays if day in fixed}
        while len(chosen) < count:
            chosen.add(self.chance.pick(sundays))
        return sorted(chosen)

    def _battle_day(self, name: str, day: date, form: Format) -> Outing:
        venue = self.chance.pick(_CLUB_PONDS, (4, 3, 2, 1))
        row = self._battle(name, (day, day), form, venue, "fought")
        return Outing(day, form, form.sorties, row, self.fleet.venues[venue])

    def _meet(self, year: int) -> Iterator[Outing]:
        first = _FIRST_MEET[year - RECORDS_FROM.year]
        row = self._battle(f"Long Withy Week {year}", (first, first + timedelta(days=3)), MEET, MEET_VENUE, "fought")
        for number, sorties in enumerate(_MEET_DAYS):
            yield Outing(first + timedelta(days=number), MEET, sorties, row, self.fleet.venues[MEET_VENUE])

    def _practice(self, year: int) -> Iterator[Outing]:
        last = date(year, 9, 20) if year < TODAY.year else TODAY - timedelta(days=10)
        for _ in range(4):
            day = self.chance.day(date(year, 4, 1), last)
            day -= timedelta(days=(day.weekday() - 2) % 7)  # a Wednesday evening
            venue = self.fleet.venues[self.chance.pick(_CLUB_PONDS)]
            yield Outing(max(day, date(year, 4, 1)), PRACTICE, PRACTICE.sorties, None, venue, self.chance.happens(0.7))

    def _battle(self, name: str, days: tuple[date, ...], form: Format, venue: str | None, state: str) -> Row:
        return self.book.add(
            "battle",
            name=name,
            venue_id=self.fleet.venues[venue]["id"] if venue else None,
            from_on=days[0],
            until_on=days[1],
            state=state,
            planned_sorties=sum(_MEET_DAYS) if form is MEET else form.sorties,
            resupply=form is not MEET,
            note=form.name,
        )
