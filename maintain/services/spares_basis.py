"""All that a plan of spares rests on, read and worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.stock.demand import Demand
from maintain.core.stock.joint import chance_limits, chance_together
from maintain.core.stock.lines import shelf_cap
from maintain.records import cover as cover_rows
from maintain.records import holdings, open_items
from maintain.results.spares import Lumps, Together
from maintain.services.cover import Cover, Serves, covers
from maintain.services.demand import Called, Fitted, chance_rows, tagged_demand
from maintain.services.horizon import Horizon
from maintain.services.lumps import lumps
from maintain.services.outlook import LEVEL, Outlook
from maintain.services.pool import limits, stale
from maintain.services.spares_calls import Calls, calls
from maintain.services.spell import Spell, Until, spell
from maintain.services.unit import Desk, reading

REVIEW_DAYS = 30  # between two looks at the shelf (common practice, no source)
_BELIEFS, _REPEATS = 100, 200
_MOST_PARTS = 1000  # of which the limits of a chance are worked out


@dataclass(frozen=True)
class Supply:
    """
    What there is of a family, and when more can be there.

    Attributes
    ----------
    on_hand : int
        In the pool, good as far as known.
    stale : int
        In the pool beyond what they may lie, and not tested since: not counted on.
    on_order : int
    late : int
        Of these, how many are not to be expected by when they are wanted.
    wanted_within_days : int
    lead_time_days : int, optional
    """

    on_hand: int
    stale: int
    on_order: int
    late: int
    wanted_within_days: int
    lead_time_days: int | None

    @property
    def have(self) -> int:
        """Pieces held and on order."""
        return self.on_hand + self.on_order

    @property
    def too_late(self) -> bool:
        """True if what is ordered today comes too late."""
        return self.lead_time_days is not None and self.lead_time_days > self.wanted_within_days

    def in_time(self, bought: int) -> int:
        """Pieces there when they are wanted, if so many are ordered today."""
        return self.have - self.late + (0 if self.too_late else bought)


@dataclass(frozen=True)
class Family:
    """
    One family: what is held of it, what it is for, what will be called for.

    Attributes
    ----------
    row : Row
        As `records.holdings.by_family`.
    supply : Supply
    called : Called
    serves : Serves
    whole : Horizon
        The whole spell.
    until_delivery : Demand, optional
        What is called for until an order placed at the next look has come; None if the lead time is unknown, or too
        little was seen.
    shelf_days : int, optional
        That it may lie in store.
    in_store : Demand, optional
        What is called for in that time.
    """

    row: Any
    supply: Supply
    called: Called
    serves: Serves
    whole: Horizon
    until_delivery: Demand | None
    shelf_days: int | None
    in_store: Demand | None

    @property
    def name(self) -> str:
        """Its name."""
        return str(self.row.name)

    @property
    def have(self) -> int:
        """Pieces held and on order."""
        return self.supply.have

    @cached_property
    def worth_shelving(self) -> int | None:
        """Most pieces that are rather used than stale."""
        return None if self.in_store is None else shelf_cap(self.in_store)


@dataclass(frozen=True)
class Basis:
    """
    What a plan rests on.

    Attributes
    ----------
    spell : Spell
    families : tuple of Family
        With anything to go by, by name.
    silent : tuple of str
        Families with nothing to go by.
    cover : Cover
    fitted : Fitted, optional
        None if nothing can be forecast.
    battles : list of row
    currency : str
    notes : tuple of str
    """

    today: date
    spell: Spell
    families: tuple[Family, ...]
    silent: tuple[str, ...]
    cover: Cover
    fitted: Fitted | None
    battles: list[Any]
    currency: str
    notes: tuple[str, ...]

    @property
    def look(self) -> Outlook | None:
        """What the lives of parts say; None if nothing can be forecast."""
        return None if self.fitted is None else self.fitted.look

    @property
    def sorties(self) -> int:
        """Of each ship, in all stages."""
        return sum(stage.sorties for stage in self.spell.stages)

    @cached_property
    def counts(self) -> NDArray[np.int64]:
        """Calls of the last stage, shape = (n_draws, n_families)."""
        return np.stack([each.called.counts[-1] for each in self.families], axis=1)

    @property
    def lumps(self) -> Lumps | None:
        """How lumpy tagged parts' demand was and is."""
        tagged = [each.called for each in self.families if each.row.tracking == "tagged"]
        return lumps(self.battles, tagged, LEVEL)

    def together(self, there: Mapping[str, int]) -> Together | None:
        """Chance that no family runs out in the last stage with so many pieces of each."""
        if not self.families:
            return None
        held = [there[each.name] for each in self.families]
        value = chance_together(self.counts, held)
        if self._again is None:
            return Together(value, None, None)
        enough = np.all(self._again <= np.asarray(held), axis=1)
        return Together(value, *chance_limits(enough.reshape(_BELIEFS, _REPEATS), LEVEL))

    @cached_property
    def _again(self) -> NDArray[np.int64] | None:
        """Calls as in `counts`, with luck drawn often for each belief; None for a fleet too large."""
        if self.fitted is None or self.fitted.look.fleet.group.size > _MOST_PARTS:
            return None
        rows = chance_rows(self.fitted.look, _BELIEFS, _REPEATS)
        again = tagged_demand(self.fitted, self.spell, rows)
        shuffled = np.random.default_rng(len(self.families)).permutation(rows.size) % self.counts.shape[0]
        columns = [
            again[each.name].counts[-1] if each.name in again else self.counts[shuffled, place]
            for place, each in enumerate(self.families)
        ]
        return np.stack(columns, axis=1)


def basis(desk: Desk, until: Until) -> Basis:
    """Read the records, and work out what each family will be called for."""
    with reading(desk) as connection:
        ahead = spell(connection, desk.today, until)
        found = calls(connection, desk, ahead)
        stock = holdings.by_family(connection, desk.today)
        serves = covers(connection)
        families = tuple(_families(connection, found, ahead, stock, serves))
        battles = cover_rows.calls_of_battles(connection, desk.today)
        currency = holdings.currency(connection)
    silent = tuple(row.name for row in stock if row.name not in {each.name for each in families})
    notes = (*ahead.notes, *found.notes)
    return Basis(desk.today, ahead, families, silent, serves, found.fitted, battles, currency, notes)


def _families(
    connection: sa.Connection, found: Calls, ahead: Spell, stock: list[Any], serves: Cover
) -> Iterator[Family]:
    """Families with anything to go by."""
    today, called = ahead.stages[0].today, found.within(ahead)
    stock = [row for row in stock if row.name in called]
    known = limits.by_family(connection)
    lying = {row.name: limit.days for row in stock if (limit := known.get(row.id)) and limit.days is not None}
    leads = {row.name: row.lead_time_days + REVIEW_DAYS for row in stock if row.lead_time_days is not None}
    until_delivery, in_store = (found.over(connection, today, days) for days in (leads, lying))
    supply = _supply(connection, ahead, stock)
    sorties, battle_days = (sum(getattr(stage, name) for stage in ahead.stages) for name in ("sorties", "battle_days"))
    whole = Horizon(today, ahead.last.until, sorties, battle_days)
    for row in stock:
        name = row.name
        yield Family(
            row,
            supply[name],
            called[name],
            serves.of(name),
            whole,
            until_delivery.get(name),
            lying.get(name),
            in_store.get(name),
        )


def _supply(connection: sa.Connection, ahead: Spell, stock: list[Any]) -> dict[str, Supply]:
    """What there is of each family, and what of it comes in time."""
    today, wanted = ahead.stages[0].today, ahead.from_on or ahead.last.until
    leads = {row.name: row.lead_time_days for row in stock}
    late, untested = Counter[str](), stale.untested(connection, today)
    for row in open_items.orders(connection, today):
        lead = leads.get(row.family)
        expected = row.expected_on or (row.ordered_on + timedelta(days=lead) if lead is not None else today)
        late[row.family] += row.quantity if expected > wanted else 0
    within = max((wanted - today).days, 0)
    return {
        row.name: Supply(
            on_hand=row.on_hand - untested[row.name],
            stale=untested[row.name],
            on_order=row.on_order,
            late=late[row.name],
            wanted_within_days=within,
            lead_time_days=row.lead_time_days,
        )
        for row in stock
    }
