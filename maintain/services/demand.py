"""How many parts of each family will be called for, drawn many times so that what is not known widens it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed
from maintain.core.lives import Floats
from maintain.core.posterior import Draws
from maintain.core.rates import pooled_rates, steady_rates
from maintain.core.renewal import Stage, simulate_failures
from maintain.core.service_age.prior import Prior
from maintain.core.stock.demand import Demand, demand_from_counts
from maintain.records.meets import PastMeets
from maintain.services.horizon import Horizon
from maintain.services.lives.ends import DAMAGED, SECONDARY
from maintain.services.lives.labels import labels_of
from maintain.services.lives.service_ages import SEED
from maintain.services.lives.table import use_at_ends
from maintain.services.outlook import CategoryOutlook, Outlook
from maintain.services.spell import Spell
from maintain.services.water_ahead import WaterAhead
from maintain.vocabulary import many

Counts = NDArray[np.int64]
Rows = NDArray[np.intp]

TOO_FEW = 3  # failures, or issues
_AS_EVER = 4.0  # sinkings that say meets are like all other sorties, before any record (common practice, no source)
_PARTS_AT_ONCE = 500  # so that a federation's fleet fits in memory


@dataclass(frozen=True)
class Called:
    """
    Parts of one family called for.

    Attributes
    ----------
    counts : array of int, shape = (n_stages, n_draws)
    basis : str
        What they rest on, with n and failures.
    too_few : bool
        True if the answer rests on what was believed beforehand more than on what was seen.
    guess : bool
        True if nothing at all was seen of its kind.
    a_sortie : float
        Days that a sortie costs such parts on average: how demand goes on with time and with sorties.
    """

    counts: Counts
    basis: str
    too_few: bool
    guess: bool = False
    a_sortie: float = 0.0

    @cached_property
    def demand(self) -> Demand:
        """In the last stage, the one that is held for."""
        return demand_from_counts(self.counts[-1])

    @cached_property
    def demand_in_all(self) -> Demand:
        """In all stages together."""
        return demand_from_counts(self.counts.sum(axis=0))

    def share_of(self, some: Horizon, of: Horizon) -> float:
        """How much of what is called for within one horizon is called for within another."""
        return (some.days + self.a_sortie * some.sorties) / (of.days + self.a_sortie * of.sorties)


def tagged_demand(look: Outlook, ahead: Spell, rows: Rows | None = None) -> dict[str, Called]:
    """
    Failures of fitted parts by family and stage, renewals and damage by other parts and balls included.

    Parameters
    ----------
    look : Outlook
    ahead : Spell
        What failed unseen is called for in the first stage with a sortie; what nobody hears failing in the last.
    rows : array of int, optional
        Draws of the posterior to use, each as often as it stands there. Default: each once.
    """
    drawn = _Drawn(look, ahead, np.arange(look.draws) if rows is None else rows)
    found: dict[str, Called] = {}
    for of in look.categories:
        families, family = np.unique(look.fleet.labels["family"][of.parts].astype(str), return_inverse=True)
        rng = np.random.default_rng([SEED, *of.category.encode()])
        counts = drawn.own_failures(of, family, rng) + drawn.inflicted(families, family, rng)
        of_category, failed = of.learnt.seen
        a_sortie = _a_sortie(look, of)
        for column, name in enumerate(families.tolist()):
            n, failures = of.seen_of_family.get(name, (0, 0))
            basis = f"{failures} of {n} failed; {many(of.category)} {failed} of {of_category}"
            found[name] = Called(counts[:, :, column], basis, failed < TOO_FEW, a_sortie=a_sortie)
    return found


@dataclass(frozen=True)
class _Drawn:
    """Draws of the posterior, and what lies ahead in each."""

    look: Outlook
    ahead: Spell
    rows: Rows

    @property
    def stages(self) -> tuple[Horizon, ...]:
        """One after the other."""
        return self.ahead.stages

    @cached_property
    def waters(self) -> tuple[WaterAhead, ...]:
        """Of each stage; at a meet ships sink as much oftener as meets have shown."""
        found = [replace(self.look.water, horizon=stage) for stage in self.stages]
        if self.ahead.past is not None:
            harsher = _harsher(np.random.default_rng(SEED), self.ahead.past, self.look.draws)
            sunk, wet = (
                replace(lanes, share=np.minimum(lanes.share * harsher[:, None], 1.0))
                for lanes in (found[-1].sunk, found[-1].wet)
            )
            found[-1] = replace(found[-1], sunk=sunk, wet=wet)
        return tuple(found)

    @cached_property
    def sinkings(self) -> tuple[Counts, ...]:
        """Of each stage; the same ones for all parts of a ship."""
        rng = np.random.default_rng(SEED)
        return tuple(water.counts(rng, self.rows) for water in self.waters)

    def own_failures(self, of: CategoryOutlook, family: Rows, rng: np.random.Generator) -> Counts:
        """Failures since the parts were last shown to work: what has failed unseen is called for when it is found."""
        counts = np.zeros((len(self.stages), self.rows.size, int(family.max()) + 1), dtype=np.int64)
        hidden = self._hidden[of.parts]
        for unheard in (False, True):
            chosen = np.flatnonzero(hidden == unheard)
            for start in range(0, chosen.size, _PARTS_AT_ONCE):
                places = chosen[start : start + _PARTS_AT_ONCE]
                for stage, each in enumerate(self._simulated(of, places, family[places], rng)):
                    # nobody tests what nobody hears before it is wanted
                    counts[-1 if unheard else stage, :, : each.shape[1]] += each
        return counts

    def _simulated(self, of: CategoryOutlook, places: Rows, family: Rows, rng: np.random.Generator) -> Counts:
        sight = self.look.sight(of, places)
        untested, jump = sight.untested[self.rows], sight.ahead.jump[self.rows]
        ahead = [self._steady(of, places, water) for water in self.waters]
        first = next((n for n, stage in enumerate(self.stages) if stage.sorties), len(self.stages) - 1)
        ahead[first] = ahead[first] + untested
        return simulate_failures(
            rng,
            Draws(sight.draws.shape[self.rows], sight.draws.scale[self.rows]),
            Installed(sight.parts.group, sight.parts.age[self.rows] - untested),
            [
                Stage(Ahead(steady, jump, sight.ahead.ship), sunk)
                for steady, sunk in zip(ahead, self.sinkings, strict=True)
            ],
            family,
        )

    def _steady(self, of: CategoryOutlook, places: Rows, water: WaterAhead) -> Floats:
        fleet, place = self.look.fleet, of.parts[places]
        return water.steady(of.learnt.worth, fleet.ship[place], fleet.zone[place])[self.rows]

    @cached_property
    def _hidden(self) -> NDArray[np.bool_]:
        """True for fitted parts of hidden functions."""
        rows = self.look.past.rows.family
        hidden = {name for name, each in zip(rows["name"], rows["hidden"], strict=True) if each}
        return np.isin(self.look.fleet.labels["family"].astype(str), sorted(hidden))

    def inflicted(self, families: NDArray[np.str_], family: Rows, rng: np.random.Generator) -> Counts:
        """Parts lost to another part's failure or to a ball, at the rate of each family's sorties."""
        failures, seen = self._past.of(families)
        fitted = np.bincount(family, minlength=families.size)
        counts = np.zeros((len(self.stages), self.rows.size, families.size), dtype=np.int64)
        if not seen.any():
            return counts
        if np.count_nonzero(seen) == 1:  # nothing to pool: one family tells for all
            rate = steady_rates([failures.sum()], [seen.sum()]).draw(rng, self.look.draws)[self.rows]
        else:
            rate = pooled_rates(failures, seen).draw(rng, self.look.draws)[self.rows]
        for stage, each in enumerate(self.stages):
            counts[stage] = rng.poisson(rate * fitted * each.sorties)
        return counts

    @cached_property
    def _past(self) -> _Inflicted:
        past = self.look.past
        sailed = use_at_ends(past, "sorties")
        ended = np.isin(past.ends.how.astype(str), (SECONDARY, DAMAGED))
        use = np.zeros(ended.size) if sailed is None else sailed.end - sailed.entry
        return _Inflicted(labels_of(past)["family"].astype(str), ended, use)


@dataclass(frozen=True)
class _Inflicted:
    """Every life: its family, whether something else ended it, and the sorties seen of it."""

    family: NDArray[np.str_]
    ended: NDArray[np.bool_]
    sorties: Floats

    def of(self, families: NDArray[np.str_]) -> tuple[Floats, Floats]:
        """Ends and sorties of each family."""
        names, place = np.unique(self.family, return_inverse=True)
        ends, use = (np.bincount(place, each, names.size) for each in (self.ended, self.sorties))
        known = dict(zip(names.tolist(), zip(ends.tolist(), use.tolist(), strict=True), strict=True))
        found = np.array([known.get(name, (0.0, 0.0)) for name in families.tolist()])
        return found[:, 0], found[:, 1]


def _harsher(rng: np.random.Generator, past: PastMeets, size: int) -> Floats:
    """How many times as often ships sink at meets as at all sorties: what meets have shown, leaning on once."""
    expected = past.sorties * past.sunk_of_all / max(past.sorties_of_all, 1)
    return rng.gamma(_AS_EVER + past.sunk, 1 / (_AS_EVER + expected), size)


def _a_sortie(look: Outlook, of: CategoryOutlook) -> float:
    """Days of life that a sortie costs the parts of a category, on average."""
    ship, zone = look.fleet.ship[of.parts], look.fleet.zone[of.parts]
    water, worth = look.water, of.learnt.worth_middle
    minutes = worth.get("minutes afloat", 0.0) * water.minutes[ship].mean()
    lanes = ((worth.get(clock, 0.0), each) for clock, each in (("wet sorties", water.wet), ("immersions", water.sunk)))
    return float(minutes + sum(cost * each.share.mean(axis=0)[each.of(ship, zone)].mean() for cost, each in lanes))


def guessed_demand(look: Outlook, stages: tuple[Horizon, ...]) -> dict[str, Called]:
    """Families of categories of which nothing was seen yet: what is believed of such parts beforehand, and no more."""
    category = look.fleet.labels["category"].astype(str)
    silent = sorted(set(category.tolist()) - {of.category for of in look.categories})
    found: dict[str, Called] = {}
    for name in silent:
        parts = np.flatnonzero(category == name)
        families, family = np.unique(look.fleet.labels["family"][parts].astype(str), return_inverse=True)
        rng = np.random.default_rng([SEED, *name.encode()])
        counts = list(_believed(look, name, np.bincount(family), stages, rng))
        for column, each in enumerate(families.tolist()):
            basis = f"guess: nothing seen yet of {many(name)}, only what is believed of them beforehand"
            found[each] = Called(np.stack([stage[:, column] for stage in counts]), basis, too_few=True, guess=True)
    return found


def _believed(
    look: Outlook, category: str, fitted: Rows, stages: tuple[Horizon, ...], rng: np.random.Generator
) -> Iterator[Counts]:
    prior = Prior.of(category)
    life = prior.scale * np.exp(prior.log_scale_sd * rng.standard_normal(look.draws))
    a_sortie = sum(
        worth * each
        for worth, each in zip(
            prior.worth,
            (look.water.minutes.mean(), look.water.wet.share.mean(), look.water.sunk.share.mean()),
            strict=True,
        )
    )
    for stage in stages:
        yield rng.poisson(np.outer((stage.days + a_sortie * stage.sorties) / life, fitted)).astype(np.int64)


def chance_rows(look: Outlook, draws: int, repeats: int) -> Rows:
    """So many draws of the posterior, spread evenly, each so often: what luck does to each belief."""
    return np.repeat(np.linspace(0, look.draws - 1, draws).astype(np.intp), repeats)
