"""How many pieces of counted stock will be called for: how often, and how many at a time."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import sqlalchemy as sa

from maintain.core.lives import Floats
from maintain.core.rates import Rates, pooled_rates, steady_rates
from maintain.records import cover, holdings
from maintain.services.demand import TOO_FEW, Called, Counts
from maintain.services.lives.service_ages import SEED
from maintain.services.spell import Spell

_A_YEAR = 365  # of record tells for any time
_FEWEST_BATTLE_DAYS = 5  # below which a meet is taken to call for as much as any other days


@dataclass(frozen=True)
class CountedStock:
    """
    What is on record of counted stock.

    Attributes
    ----------
    issues : list of row
        As `records.holdings.issues`.
    since : dict of date
        Since when each family has been kept, by name.
    battle_days : list of date
        Days of battles fought and over.
    """

    issues: list[Any]
    since: dict[str, date]
    battle_days: list[date]


def counted_stock(connection: sa.Connection, today: date) -> CountedStock:
    """Read what is on record by a day."""
    fought = cover.calls_of_battles(connection, today)
    days = [row.from_on + timedelta(days=n) for row in fought for n in range((row.until_on - row.from_on).days + 1)]
    return CountedStock(holdings.issues(connection, today), holdings.stocked_since(connection), days)


def counted_demand(stock: CountedStock, ahead: Spell, draws: int) -> dict[str, Called]:
    """
    Counted stock: issues come at a steady rate, each as large as one of those recorded.

    At a meet the rate is that of a day of battle, as if nothing were ever issued between battles: rather too many.
    Stock that has been kept for less time than lies ahead, and than a year, tells too little by itself: it leans on all
    the counted stock of the club, and is called a guess; without any other, nothing is said of it.
    """
    if not stock.since:
        return {}
    today = ahead.stages[0].today
    sizes: dict[str, list[int]] = defaultdict(list)
    for row in stock.issues:
        sizes[row.family].append(row.quantity)
    times = np.array([len(sizes[name]) for name in stock.since])
    kept = np.array([float(max((today - since).days, 0)) for since in stock.since.values()])
    enough = kept >= min((ahead.last.until - today).days, _A_YEAR)
    found = {}
    for place, (name, since) in enumerate(stock.since.items()):
        if not enough[place] and not enough.any():
            continue
        told = f"{times[place]} issues of {sum(sizes[name])} in {kept[place]:.0f} days"
        lots = sizes[name]
        if enough[place]:
            rate = steady_rates(times[place : place + 1], kept[place : place + 1])
        else:
            rate = _column(pooled_rates(times, np.maximum(kept, 1.0)), place)
            told = f"guess: {told}, leaning on the other counted stock"
            lots = lots or [row.quantity for row in stock.issues]
        fought = sum(day >= since for day in stock.battle_days)
        days = _days(ahead, kept[place] / fought if fought >= _FEWEST_BATTLE_DAYS else 1.0)
        found[name] = Called(
            _drawn(rate, lots or [1], days, draws), told, bool(times[place] < TOO_FEW), not enough[place]
        )
    return found


def _days(ahead: Spell, a_battle_day: float) -> Floats:
    """Days of each stage, those of a meet as many as pass for a day of battle."""
    days = np.array([float(stage.days) for stage in ahead.stages])
    if ahead.meet:
        days[-1] = max(days[-1], ahead.last.battle_days * a_battle_day)
    return days


def _drawn(rate: Rates, lots: list[int], days: Floats, draws: int) -> Counts:
    """Pieces in each stage and draw; the rate is the same in all stages of a draw."""
    rng = np.random.default_rng(SEED)
    pace = rate.draw(rng, draws)[:, 0]
    counts = np.zeros((days.size, draws), dtype=np.int64)
    for stage, each in enumerate(days.tolist()):
        times = rng.poisson(pace * each)
        size = rng.choice(lots, size=(draws, int(times.max(initial=0)) + 1))
        counts[stage] = (size * (np.arange(size.shape[1]) < times[:, None])).sum(axis=1)
    return counts


def _column(rates: Rates, place: int) -> Rates:
    return Rates(rates.weight, rates.failures[:, [place]], rates.exposure[:, [place]])
