"""A federation's stock: demand of many families from many fitted parts, and what to hold of each."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from maintain.core.forecast import Ahead, Installed
from maintain.core.posterior import Draws
from maintain.core.renewal import Stage, simulate_failures
from maintain.core.stock.demand import demand_from_counts
from maintain.core.stock.joint import hold_together
from maintain.core.stock.marginal import Item, best_use
from tests.bench.timing import line

FAMILIES, DRAWS, SHIPS = 1000, 500, 4000
SIZES = (10_000, 30_000, 100_000)  # parts fitted
SECONDS = 10.0  # asked of the largest
_AT_ONCE = 5000


def lines() -> Iterator[str]:
    """Simulate the demand, then hold for each family, for all together, and for a budget."""
    for parts in SIZES:
        begun = time.perf_counter()
        counts = demand(parts)
        simulated = time.perf_counter() - begun
        hold(counts)
        taken = time.perf_counter() - begun
        aim = f" (aim at most {SECONDS:g} s)" if parts == SIZES[-1] else ""
        yield line(f"spares, {FAMILIES:,} families, {parts:,} parts, {DRAWS} draws", taken) + (
            f"   demand {simulated / parts * 1e6:.1f} s a million parts{aim}"
        )


def demand(parts: int) -> np.ndarray:
    """Calls of every family in every draw."""
    rng = np.random.default_rng(parts)
    counts = np.zeros((DRAWS, FAMILIES), dtype=np.int64)
    sinkings = rng.binomial(18, 0.08, (DRAWS, SHIPS))
    shape = rng.uniform(0.9, 2.0, DRAWS)
    for start in range(0, parts, _AT_ONCE):
        size = min(_AT_ONCE, parts - start)
        draws = Draws(shape, rng.lognormal(8.0, 0.3, (DRAWS, size)))
        ahead = Ahead(np.full(size, 60.0), np.full(size, 50.0), rng.integers(0, SHIPS, size))
        fitted = Installed(np.arange(size), rng.uniform(0, 1500, size))
        family = rng.integers(0, FAMILIES, size)
        found = simulate_failures(rng, draws, fitted, [Stage(ahead, sinkings)], family)[0]
        counts[:, : found.shape[1]] += found
    return counts


def hold(counts: np.ndarray) -> None:
    """Ask of the calls all that a plan asks."""
    rng = np.random.default_rng(1)
    costs = rng.uniform(100, 5000, FAMILIES)
    demands = [demand_from_counts(column) for column in counts.T]
    for each in demands:
        each.holding_for(0.95)
    items = [
        Item(cost, np.array([each.expected_shortages(n) for n in range(each.chances.size)]))
        for cost, each in zip(costs, demands, strict=True)
    ]
    best_use(items, 1e6)
    hold_together(counts, [0] * FAMILIES, costs.tolist(), 0.95)
