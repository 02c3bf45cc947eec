"""What lies open in the stockroom on the last day: told day by day, without chance, after all else is drawn."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from book import Row
from fleet import Fleet

_NITRILE = ("ISO 2230:2002, group B (nitrile, HNBR, neoprene)", 2557, 1096)
_GLUE = ("common practice, no source: 1 year unopened, 3 months opened", 365, None)


class Stockroom:
    """The quartermaster's last summer."""

    def __init__(self, fleet: Fleet) -> None:
        self.fleet, self.book = fleet, fleet.book

    def tidy(self) -> None:
        """Glue and hose are kept too; something is late, stale, suspect, below its line, owed and uncounted."""
        glue = self._family("thin cyanoacrylate 20 g", cents=450, days=5, line=2)
        hose = self._family("silicone hose 4 mm, 1 m", cents=180, days=10, line=3)
        fuse = self.fleet.counted["blade fuse 10 A"]
        self._move(glue, 4, ("supplier", "pool"), date(2025, 3, 1), made=date(2025, 2, 3), cents=450)
        self._move(glue, 2, ("pool", "captain"), date(2025, 7, 12), member="Corrie")
        self._move(glue, 4, ("supplier", "pool"), date(2026, 4, 4), made=date(2026, 3, 2), cents=450)
        self._move(hose, 6, ("supplier", "pool"), date(2025, 4, 2), cents=180)
        self._move(hose, 5, ("pool", "captain"), date(2026, 5, 10), member="Quill")
        self._uncounted(hose, 1, date(2026, 9, 13))
        self._move(hose, 2, ("pool", "ship"), date(2026, 9, 13), ship="Corvane")
        self._lend(fuse, 4, "Corrie", date(2026, 9, 13))
        for name, (source, days, more) in {"cannon O-ring": _NITRILE, "thin cyanoacrylate 20 g": _GLUE}.items():
            row = glue if "cyano" in name else self.fleet.counted[name]
            limit = {"days": days, "extension_days": more, "source": source, "note": None}
            self.book.add("shelf_limit", family_id=row["id"], category=None, **limit)
        self._order("standard servo", 3, 1460, "mail order", date(2026, 9, 12), 12)
        self._order("regulator 8 bar", 1, 7500, "specialist maker", date(2026, 7, 6), 56)
        self._doubted("firing valve", "Hob", date(2026, 9, 14))
        self._owes("float switch", "Sorrel", date(2026, 6, 21), date(2026, 10, 14))

    def _family(self, name: str, *, cents: int, days: int, line: int) -> Row:
        unsaid = dict.fromkeys(("shelf_life_days", "fitting_minutes", "weight_grams", "note"))
        facts = {"unit_cost_cents": cents, "lead_time_days": days, "reorder_line": line}
        kept = {"category": "other", "tracking": "counted", "hidden": False, "ages_on_shelf": False}
        return self.book.add("family", name=name, **kept, **facts, **unsaid)

    def _move(self, family: Row, quantity: int, way: tuple[str, str], day: date, **more: Any) -> None:
        member = self.fleet.members[more["member"]]["id"] if "member" in more else None
        self.book.add(
            "movement",
            family_id=family["id"],
            quantity=quantity,
            from_place=way[0],
            to_place=way[1],
            from_member_id=None,
            to_member_id=member,
            ship_id=self.fleet.ships[more["ship"]].row["id"] if "ship" in more else None,
            loan_id=more.get("loan"),
            moved_on=day,
            made_on=more.get("made"),
            unit_cost_cents=more.get("cents"),
            reason=more.get("reason"),
        )

    def _uncounted(self, family: Row, quantity: int, day: date) -> None:
        """More was in the drawer than the ledger held."""
        self._move(family, quantity, ("count", "pool"), day, reason="uncounted")
        found = {"quantity": quantity, "found_on": day, "stocktake_id": None, "note": None}
        self.book.add("discrepancy", family_id=family["id"], part_id=None, **found)

    def _lend(self, family: Row, quantity: int, to: str, day: date) -> None:
        loan = self.book.add(
            "loan",
            part_id=None,
            family_id=family["id"],
            quantity=quantity,
            lender_id=None,
            borrower_id=self.fleet.members[to]["id"],
            ship_id=None,
            lent_on=day,
            due_on=day + timedelta(days=28),
            terms="return",
            closed_on=None,
            came_back=None,
            note=None,
        )
        self._move(family, quantity, ("pool", "captain"), day, member=to, loan=loan["id"], reason="lent")

    def _order(self, name: str, quantity: int, cents: int, supplier: str, day: date, days: int) -> None:
        self.book.add(
            "purchase",
            family_id=self.fleet.families[name]["id"],
            quantity=quantity,
            unit_cost_cents=cents,
            supplier=supplier,
            ordered_on=day,
            expected_on=day + timedelta(days=days),
            received_on=None,
            note=None,
        )

    def _doubted(self, name: str, borrower: str, day: date) -> None:
        """What was lent for the home bench comes back and twitches."""
        family, member = self.fleet.families[name]["id"], self.fleet.members[borrower]["id"]
        loans = [row for row in self.book.rows["loan"] if (row["family_id"], row["borrower_id"]) == (family, member)]
        loan = next(row for row in loans if row["closed_on"] is None)
        loan.update(closed_on=day, came_back="suspect")
        part = next(each for each in self.fleet.parts if each.row["id"] == loan["part_id"])
        self.fleet.place(part, "suspect", (day, 0), reason="suspect")
        doubt = {"raised_on": day, "mode": "leaks gas", "closed_on": None, "outcome": None, "note": None}
        self.book.add("suspicion", part_id=part.row["id"], **doubt)

    def _owes(self, name: str, creditor: str, since: date, due: date) -> None:
        """A captain helped out the club's loaner and waits for hers."""
        self.book.add(
            "debt",
            debtor_id=None,
            creditor_id=self.fleet.members[creditor]["id"],
            family_id=self.fleet.families[name]["id"],
            quantity=1,
            loan_id=None,
            since_on=since,
            due_on=due,
            settled_on=None,
            note="lent to the club's loaner, kept",
        )
