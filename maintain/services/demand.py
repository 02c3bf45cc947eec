"""How many parts of each family will be called for by a day, drawn many times so that what is not known widens it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from maintain.core.rates import pooled_rates, steady_rates
from maintain.core.renewal import simulate_failures
from maintain.services.horizon import Horizon
from maintain.services.lives.ends import DAMAGED, SECONDARY
from maintain.services.lives.labels import labels_of
from maintain.services.lives.service_ages import DRAWS, SEED
from maintain.services.lives.table import use_at_ends
from maintain.services.outlook import CategoryOutlook, Outlook
from maintain.vocabulary import many

Counts = NDArray[np.int64]

TOO_FEW = 3  # failures, or issues
_PARTS_AT_ONCE = 500  # so that a federation's fleet fits in memory


@dataclass(frozen=True)
class Called:
    """
    Parts of one family called for.

    Attributes
    ----------
    counts : array of int, shape = (draws,)
    basis : str
        What they rest on, with n and failures.
    too_few : bool
        True if the answer rests on what was believed beforehand more than on what was seen.
    """

    counts: Counts
    basis: str
    too_few: bool


def tagged_demand(look: Outlook, horizon: Horizon) -> dict[str, Called]:
    """Failures of fitted parts by family, renewals and damage by other parts and balls included."""
    found: dict[str, Called] = {}
    sinkings = look.water.counts(np.random.default_rng(SEED))  # the same ones for all parts of a ship
    for of in look.categories:
        families, family = np.unique(look.fleet.labels["family"][of.parts].astype(str), return_inverse=True)
        rng = np.random.default_rng(SEED)
        counts = _own_failures(look, of, family, rng, sinkings) + _inflicted(look, families, family, horizon, rng)
        ages = of.learnt.posterior.ages
        for column, name in enumerate(families.tolist()):
            n, failures = of.seen_of_family.get(name, (0, 0))
            basis = f"{failures} of {n} failed; {many(of.category)} {ages.failures} of {ages.n}"
            found[name] = Called(counts[:, column], basis, ages.failures < TOO_FEW)
    return found


def _own_failures(
    look: Outlook,
    of: CategoryOutlook,
    family: NDArray[np.intp],
    rng: np.random.Generator,
    sinkings: Counts,
) -> Counts:
    """Failures since the parts were last shown to work: what has failed unseen is called for when it is found."""
    counts = np.zeros((look.draws, int(family.max()) + 1), dtype=np.int64)
    for start in range(0, of.parts.size, _PARTS_AT_ONCE):
        rows = np.arange(start, min(start + _PARTS_AT_ONCE, of.parts.size))
        sight = look.sight(of, rows)
        shown = replace(sight.parts, age=sight.parts.age - sight.untested)
        since = replace(sight.ahead, steady=sight.ahead.steady + sight.untested)
        failures = simulate_failures(rng, sight.draws, shown, since, family[rows], sinkings)
        counts[:, : failures.shape[1]] += failures
    return counts


def _inflicted(
    look: Outlook, families: NDArray[np.str_], family: NDArray[np.intp], horizon: Horizon, rng: np.random.Generator
) -> Counts:
    """Parts lost to another part's failure or to a ball, at the rate of each family's sorties."""
    past = look.past
    sailed = use_at_ends(past, "sorties")
    ended = np.isin(past.ends.how.astype(str), (SECONDARY, DAMAGED))
    of_family = labels_of(past)["family"].astype(str)
    mine = [of_family == name for name in families.tolist()]
    failures = np.array([int(np.sum(ended & rows)) for rows in mine])
    seen = np.array([0.0 if sailed is None else float(np.sum((sailed.end - sailed.entry)[rows])) for rows in mine])
    ahead = np.bincount(family, minlength=families.size) * horizon.sorties
    if not seen.any():
        return np.zeros((look.draws, families.size), dtype=np.int64)
    if np.count_nonzero(seen) == 1:  # nothing to pool: one family tells for all
        rate = steady_rates([failures.sum()], [seen.sum()]).draw(rng, look.draws)
        return rng.poisson(rate * ahead).astype(np.int64)
    return pooled_rates(failures, seen).draw_counts(rng, ahead, look.draws).astype(np.int64)


def counted_demand(issues: list[Any], stocked_since: dict[str, date], horizon: Horizon) -> dict[str, Called]:
    """
    Counted stock: issues come at a steady rate, each as large as one of those recorded.

    Stock that has been kept for less time than lies ahead is left out: that would be a guess from too little.
    """
    sizes: dict[str, list[int]] = defaultdict(list)
    for row in issues:
        sizes[row.family].append(row.quantity)
    found = {}
    for family, began in stocked_since.items():
        days = (horizon.today - began).days
        if days < horizon.days:
            continue
        quantities = sizes[family]
        rng = np.random.default_rng(SEED)
        times = steady_rates([len(quantities)], [float(days)]).draw_counts(rng, [float(horizon.days)], DRAWS)[:, 0]
        drawn = rng.choice(quantities or [1], size=(DRAWS, int(times.max(initial=0)) + 1))
        taken = np.arange(drawn.shape[1]) < times[:, None]
        basis = f"{len(quantities)} issues of {sum(quantities)} in {days} days"
        found[family] = Called((drawn * taken).sum(axis=1), basis, len(quantities) < TOO_FEW)
    return found
