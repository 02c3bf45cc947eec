"""All that a plan of spares rests on, read and worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.stock.demand import Demand
from maintain.core.stock.joint import chance_limits, chance_together
from maintain.core.stock.lines import paced, shelf_cap
from maintain.errors import NotEnoughData
from maintain.records import cover as cover_rows
from maintain.records import holdings
from maintain.results.spares import Lumps, Together
from maintain.services.cover import Cover, Serves, covers
from maintain.services.demand import Called, chance_rows, guessed_demand, tagged_demand
from maintain.services.demand_counted import counted_demand, counted_stock
from maintain.services.horizon import Horizon, until_day
from maintain.services.lives.service_ages import DRAWS
from maintain.services.lumps import lumps
from maintain.services.outlook import LEVEL, Outlook, outlook
from maintain.services.pool import limits
from maintain.services.spell import Spell, Until, spell
from maintain.services.unit import Desk, reading

REVIEW_DAYS = 30  # between two looks at the shelf (common practice, no source)
_BELIEFS, _REPEATS = 100, 200
_MOST_PARTS = 1000  # of which the limits of a chance are worked out


@dataclass(frozen=True)
class Family:
    """
    One family: what is held of it, what it is for, what will be called for.

    Attributes
    ----------
    row : Row
        As `records.holdings.by_family`.
    called : Called
    serves : Serves
    days, sorties : float
        Of the whole spell.
    coming : Horizon, optional
        Until an order placed at the next look has come; None if the lead time is unknown.
    shelf_days : int, optional
        That it may lie in store.
    """

    row: Any
    called: Called
    serves: Serves
    whole: Horizon
    coming: Horizon | None
    shelf_days: int | None

    @property
    def name(self) -> str:
        """Its name."""
        return str(self.row.name)

    @property
    def have(self) -> int:
        """Pieces held and on order."""
        return int(self.row.on_hand + self.row.on_order)

    @cached_property
    def until_delivery(self) -> Demand | None:
        """What will be called for until an order placed at the next look has come."""
        if self.coming is None:
            return None
        return paced(self.called.demand_in_all, self.called.share_of(self.coming, self.whole))

    @cached_property
    def worth_shelving(self) -> int | None:
        """Most pieces that are rather used than stale."""
        if self.shelf_days is None:
            return None
        return shelf_cap(paced(self.called.demand_in_all, self.shelf_days / self.whole.days))


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
    look : Outlook, optional
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
    look: Outlook | None
    battles: list[Any]
    currency: str
    notes: tuple[str, ...]

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

    def together(self, holdings_: Mapping[str, int]) -> Together | None:
        """Chance that no family runs out in the last stage with these holdings."""
        if not self.families:
            return None
        held = [holdings_[each.name] for each in self.families]
        value = chance_together(self.counts, held)
        if self.look is None or self.look.fleet.group.size > _MOST_PARTS:
            return Together(value, None, None)
        rows = chance_rows(self.look, _BELIEFS, _REPEATS)
        again = tagged_demand(self.look, self.spell, rows)
        shuffled = np.random.default_rng(len(held)).permutation(rows.size) % self.counts.shape[0]
        enough = np.ones(rows.size, dtype=np.bool_)
        for place, each in enumerate(self.families):
            mine = again.get(each.name)
            calls = self.counts[shuffled, place] if mine is None else mine.counts[-1]
            enough &= calls <= held[place]
        return Together(value, *chance_limits(enough.reshape(_BELIEFS, _REPEATS), LEVEL))


def basis(desk: Desk, until: Until) -> Basis:
    """Read the records, and work out what each family will be called for."""
    with reading(desk) as connection:
        ahead = spell(connection, desk.today, until)
        stock = holdings.by_family(connection, desk.today)
        look, called, notes = _called(connection, desk, ahead)
        serves = covers(connection)
        shelf = limits.by_family(connection)
        coming = _coming(connection, desk.today, stock)
        battles = cover_rows.calls_of_battles(connection, desk.today)
        currency = holdings.currency(connection)
    whole = Horizon(
        desk.today,
        ahead.last.until,
        sum(stage.sorties for stage in ahead.stages),
        sum(stage.battle_days for stage in ahead.stages),
    )
    families = [
        Family(
            row,
            called[row.name],
            serves.of(row.name),
            whole,
            coming.get(row.lead_time_days),
            shelf[row.id].days if row.id in shelf else None,
        )
        for row in stock
        if row.name in called
    ]
    silent = tuple(row.name for row in stock if row.name not in called)
    return Basis(desk.today, ahead, tuple(families), silent, serves, look, battles, currency, (*ahead.notes, *notes))


def _called(
    connection: sa.Connection, desk: Desk, ahead: Spell
) -> tuple[Outlook | None, dict[str, Called], tuple[str, ...]]:
    look, notes = _looked(connection, desk, ahead)
    stock = counted_stock(connection, desk.today)
    called = counted_demand(stock, ahead, DRAWS if look is None else look.draws)
    if look is not None:
        called |= tagged_demand(look, ahead) | guessed_demand(look, ahead.stages)
    return look, called, notes


def _looked(connection: sa.Connection, desk: Desk, ahead: Spell) -> tuple[Outlook | None, tuple[str, ...]]:
    try:
        look = outlook(connection, ahead.stages[0], desk)
    except NotEnoughData as error:
        return None, (error.message,)
    return look, look.notes


def _coming(connection: sa.Connection, today: date, stock: list[Any]) -> dict[int, Horizon]:
    """What lies ahead until an order placed at the next look has come, by lead time."""
    leads = {row.lead_time_days for row in stock if row.lead_time_days is not None}
    return {days: until_day(connection, today, today + timedelta(days=days + REVIEW_DAYS)) for days in sorted(leads)}
