"""What is called for of every family, tagged or counted, within whatever lies ahead."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import sqlalchemy as sa

from maintain.core.stock.demand import Demand
from maintain.errors import NotEnoughData
from maintain.records.failed_aboard import failed_aboard
from maintain.services.demand import Called, Fitted, tagged_demand
from maintain.services.demand_counted import CountedStock, counted_demand, counted_stock
from maintain.services.horizon import until_day
from maintain.services.lives.service_ages import DRAWS
from maintain.services.outlook import outlook
from maintain.services.spell import Spell
from maintain.services.unit import Desk


@dataclass(frozen=True)
class Calls:
    """
    All that calls for spares.

    Attributes
    ----------
    fitted : Fitted, optional
        None if nothing is fitted.
    counted : CountedStock
    notes : tuple of str
        What was left out or assumed.
    """

    fitted: Fitted | None
    counted: CountedStock
    notes: tuple[str, ...]

    def within(self, ahead: Spell, only: Collection[str] | None = None) -> dict[str, Called]:
        """What is called for of each family, or of some; those with nothing to go by are missing."""
        found = counted_demand(self.counted, ahead, DRAWS if self.fitted is None else self.fitted.look.draws)
        if self.fitted is not None:
            found |= tagged_demand(self.fitted, ahead, only=only)
        return found if only is None else {name: found[name] for name in only if name in found}

    def over(self, connection: sa.Connection, today: date, days: Mapping[str, int]) -> dict[str, Demand]:
        """What is called for of each family within so many days from today, whatever else is asked."""
        found: dict[str, Demand] = {}
        for length in sorted(set(days.values())):
            ahead = Spell((until_day(connection, today, today + timedelta(days=length)),))
            called = self.within(ahead, [name for name, each in days.items() if each == length])
            found |= {name: each.demand for name, each in called.items()}
        return found


def calls(connection: sa.Connection, desk: Desk, ahead: Spell) -> Calls:
    """Read the records, and learn from the lives of parts."""
    counted = counted_stock(connection, desk.today)
    try:
        look = outlook(connection, ahead.stages[0], desk)
    except NotEnoughData as error:
        return Calls(None, counted, (error.message,))
    dead = [row.position_id for row in failed_aboard(connection, desk.today)]
    return Calls(Fitted(look, dead), counted, look.notes)
