"""The club's spares: issued, ordered, delivered, lent, owed and counted."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from book import Row
from fleet import Fleet, Moment, Part, Position
from truth import COUNTED, FAMILIES, FAMILY, TODAY, Counted, Family, families_that_fit

# Suppliers are named by kind; a tenth of the orders comes late.
_SUPPLIERS = ("hobby shop", "mail order", "overseas shop", "specialist maker")


def _supplier(lead_days: int) -> str:
    return _SUPPLIERS[sum(lead_days > limit for limit in (7, 14, 30))]


class Stores:
    """What the quartermaster does."""

    def __init__(self, fleet: Fleet) -> None:
        self.fleet, self.book, self.chance = fleet, fleet.book, fleet.chance
        self.on_the_way: list[tuple[date, Family, int, Row]] = []

    def stock(self, day: date) -> None:
        """The pool as the records begin, a bequest of used parts of unknown age in it."""
        for family in FAMILIES:
            for _ in range(family.start):
                self.fleet.place(self.fleet.make(family, day), "pool", (day, 0))
        for name in ("standard servo", "micro servo", "micro servo", "pump motor 28 mm"):
            part = self.fleet.make(FAMILY[name], day, origin="inherited", age=self.chance.uniform(100, 800))
            part.row["note"] = "from a box of used parts left to the club"
            self.fleet.place(part, "pool", (day, 0))
        for item in COUNTED:
            self._buy(item, 3 * item.line, day, "opening stock")

    def issue(self, position: Position, moment: Moment) -> bool:
        """Fit a spare from the pool, if there is one that fits and works."""
        fits = families_that_fit(position.name, position.ship.truth.protocol)
        wanted = sorted(fits, key=lambda name: name != position.last_family)
        for part in [each for name in wanted for each in self.fleet.pool if each.family.name == name]:
            since = (part.placement["from_on"], part.placement["from_sortie"])
            if since > (moment[0], 0) and since[0] >= moment[0]:
                continue  # it came ashore today from another ship
            part.age_to(moment[0])
            if part.failed:
                self._dead_on_the_shelf(part, moment)
                continue
            self._lend(part, position, moment[0])
            self.fleet.install(part, position, moment)
            self.reorder(part.family, moment[0])
            return True
        self.reorder(FAMILY[wanted[0]], moment[0])
        return False

    def reorder(self, family: Family, day: date) -> None:
        """Order when the pool is at its line and nothing is on the way."""
        left = sum(each.family is family for each in self.fleet.pool)
        if left > family.line or any(each is family for _, each, _, _ in self.on_the_way):
            return
        quantity = family.line + 2 - left
        late = self.chance.whole(3, 20) if self.chance.happens(0.1) else 0
        arrives = day + timedelta(days=family.lead_days + late)
        row = self.book.add(
            "purchase",
            family_id=self.fleet.families[family.name]["id"],
            quantity=quantity,
            unit_cost_cents=int(family.cost_cents * self.chance.uniform(0.9, 1.15)),
            supplier=_supplier(family.lead_days),
            ordered_on=day,
            expected_on=day + timedelta(days=family.lead_days),
            received_on=None,
            note=None,
        )
        self.on_the_way.append((arrives, family, quantity, row))

    def receive(self, day: date) -> None:
        """Deliveries come into the pool."""
        for order in [each for each in self.on_the_way if each[0] <= day]:
            _, family, quantity, row = order
            self.on_the_way.remove(order)
            row["received_on"] = day
            for _ in range(quantity):
                part = self.fleet.make(family, day)
                part.row["cost_cents"] = row["unit_cost_cents"]
                self.fleet.place(part, "pool", (day, 0))

    def _dead_on_the_shelf(self, part: Part, moment: Moment) -> None:
        self.book.add(
            "failure",
            part_id=part.row["id"],
            position_id=None,
            sortie_id=None,
            found_on=moment[0],
            found_sortie=moment[1],
            last_good_on=None,
            last_good_sortie=None,
            mode="won't hold charge" if part.family.category == "battery" else "leaks water",
            cause="stale",
            effect="none",
            found_by="bench",
            secondary=False,
            caused_by_id=None,
            note="dead on the shelf",
        )
        self.fleet.place(part, "scrapped", moment, reason="failed")

    def _lend(self, part: Part, position: Position, day: date) -> None:
        """Now and then a captain takes a pool part against payment in kind, which takes its time."""
        if part.row["owner_id"] is not None or not self.chance.happens(0.12):
            return
        captain = self.fleet.members[position.ship.truth.captain]["id"]
        family = self.fleet.families[part.family.name]["id"]
        due = day + timedelta(days=60)
        settled = day + timedelta(days=self.chance.whole(10, 150)) if self.chance.happens(0.7) else None
        if settled is not None and settled > TODAY:
            settled = None
        loan = self.book.add(
            "loan",
            part_id=part.row["id"],
            family_id=family,
            quantity=1,
            lender_id=None,
            borrower_id=captain,
            ship_id=position.ship.row["id"],
            lent_on=day,
            due_on=due,
            terms="payback in kind",
            closed_on=settled,
            came_back="kept" if settled else None,
            note=None,
        )
        self.book.add(
            "debt",
            debtor_id=captain,
            creditor_id=None,
            family_id=family,
            quantity=1,
            loan_id=loan["id"],
            since_on=day,
            due_on=due,
            settled_on=settled,
            note=None,
        )

    def lend_out(self, name: str, to: str, day: date, back: date | None) -> None:
        """Lend a spare to a captain for a while, off the ships."""
        part = next((each for each in self.fleet.pool if each.family.name == name), None)
        if part is None or part.placement["from_on"] >= day:
            return
        self.fleet.place(part, "loan", (day, 0), member=to)
        self.book.add(
            "loan",
            part_id=part.row["id"],
            family_id=self.fleet.families[name]["id"],
            quantity=1,
            lender_id=None,
            borrower_id=self.fleet.members[to]["id"],
            ship_id=None,
            lent_on=day,
            due_on=day + timedelta(days=30),
            terms="return",
            closed_on=back,
            came_back="good" if back else None,
            note="for the home bench",
        )
        if back is not None:
            self.fleet.place(part, "pool", (back, 0))

    def use_up(self, name: str, quantity: int, ship: Row, day: date) -> None:
        """Counted stock goes into a ship; at the reorder line more is bought."""
        self._move(name, quantity, ("pool", "ship"), day, ship_id=ship["id"])
        item = next(each for each in COUNTED if each.name == name)
        if self.left(name) <= item.line:
            self._buy(item, 2 * item.line, day, "bought")

    def hand_to_captain(self, name: str, quantity: int, captain: str, day: date) -> None:
        """A captain takes a bag of counted stock home."""
        self._move(name, quantity, ("pool", "captain"), day, to_member_id=self.fleet.members[captain]["id"])

    def count(self, name: str, missing: int, day: date) -> None:
        """The winter count finds fewer than the ledger says."""
        if missing:
            self._move(name, missing, ("pool", "count"), day, reason="winter count")
        family = self.fleet.counted[name]["id"]
        self.book.add("stocktake", family_id=family, counted_on=day, counted=self.left(name), note="winter count")

    def left(self, name: str) -> int:
        """What the ledger says is in the pool."""
        family = self.fleet.counted[name]["id"]
        rows = [row for row in self.book.rows["movement"] if row["family_id"] == family]
        return sum(row["quantity"] * ((row["to_place"] == "pool") - (row["from_place"] == "pool")) for row in rows)

    def _buy(self, item: Counted, quantity: int, day: date, reason: str) -> None:
        way = ("supplier", "pool")
        self._move(item.name, quantity, way, day, reason=reason, unit_cost_cents=item.cost_cents)

    def _move(self, name: str, quantity: int, way: tuple[str, str], day: date, **more: Any) -> None:
        row = {
            "family_id": self.fleet.counted[name]["id"],
            "quantity": quantity,
            "from_place": way[0],
            "to_place": way[1],
            "from_member_id": None,
            "to_member_id": None,
            "ship_id": None,
            "loan_id": None,
            "moved_on": day,
            "unit_cost_cents": None,
            "reason": None,
            "made_on": None,
        }
        self.book.add("movement", **(row | more))
