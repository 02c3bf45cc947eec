"""How many parts of each family will be called for, drawn many times so that what is not known widens it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed
from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Draws
from maintain.core.rates import pooled_rates
from maintain.core.renewal import Stage, failed_unseen, simulate_failures
from maintain.core.stock.demand import Demand, demand_from_counts
from maintain.records.meets import PastMeets
from maintain.services.horizon import Horizon
from maintain.services.lives.ends import DAMAGED, SECONDARY
from maintain.services.lives.labels import labels_of
from maintain.services.lives.service_ages import SEED, Names, believe
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
    """

    counts: Counts
    basis: str
    too_few: bool
    guess: bool = False

    @cached_property
    def demand(self) -> Demand:
        """In the last stage, the one that is held for."""
        return demand_from_counts(self.counts[-1])

    @cached_property
    def demand_in_all(self) -> Demand:
        """In all stages together."""
        return demand_from_counts(self.counts.sum(axis=0))


@dataclass(frozen=True)
class Fitted:
    """
    Parts now fitted.

    Attributes
    ----------
    look : Outlook
        What their lives say.
    dead : collection of int
        Positions of those found failed and not replaced.
    """

    look: Outlook
    dead: Collection[int] = ()

    @cached_property
    def categories(self) -> tuple[CategoryOutlook, ...]:
        """All of them; of those of which nothing was seen yet, what is believed beforehand."""
        return (*self.look.categories, *_believed(self.look))

    @cached_property
    def damage(self) -> dict[str, Floats]:
        """
        Losses in a sortie to another part's failure or to a ball, by family and draw by draw.

        All families lean on each other: of the most, none was ever lost so.
        """
        past = self.look.past
        sailed = use_at_ends(past, "sorties")
        if sailed is None:
            return {}
        names, family = np.unique(labels_of(past)["family"].astype(str), return_inverse=True)
        ended = np.isin(past.ends.how.astype(str), (SECONDARY, DAMAGED))
        lost, seen = (np.bincount(family, each, names.size) for each in (ended, sailed.end - sailed.entry))
        if not seen.any():
            return {}
        rates = pooled_rates(np.where(seen > 0, lost, 0.0), seen)
        return dict(zip(names.tolist(), rates.draw(np.random.default_rng(SEED), self.look.draws).T, strict=True))


def tagged_demand(
    fitted: Fitted, ahead: Spell, rows: Rows | None = None, only: Collection[str] | None = None
) -> dict[str, Called]:
    """
    Failures of fitted parts by family and stage, renewals and damage by other parts and balls included.

    Parameters
    ----------
    fitted : Fitted
    ahead : Spell
        What is known to be dead is called for in the first stage, what failed unseen in the first with a sortie; what
        nobody hears failing in the last.
    rows : array of int, optional
        Draws of the posterior to use, each as often as it stands there. Default: each once.
    only : collection of str, optional
        Families asked for. Default: all.
    """
    look = fitted.look
    drawn = _Drawn(fitted, ahead, np.arange(look.draws) if rows is None else rows)
    found: dict[str, Called] = {}
    for of in fitted.categories:
        families, family = np.unique(look.fleet.labels["family"][of.parts].astype(str), return_inverse=True)
        asked = np.isin(families, families if only is None else sorted(only))
        if not asked.any():
            continue
        rng = np.random.default_rng([SEED, *of.category.encode()])
        places = np.flatnonzero(asked[family])
        counts = drawn.own_failures(of, places, family, rng) + drawn.inflicted(families, family, rng)
        for column in np.flatnonzero(asked).tolist():
            found[str(families[column])] = _called(of, str(families[column]), counts[:, :, column])
    return found


def _called(of: CategoryOutlook, family: str, counts: Counts) -> Called:
    of_category, failed = of.learnt.seen
    if not of_category:
        basis = f"guess: nothing seen yet of {many(of.category)}, only what is believed of them beforehand"
        return Called(counts, basis, too_few=True, guess=True)
    n, failures = of.seen_of_family.get(family, (0, 0))
    basis = f"{failures} of {n} failed; {many(of.category)} {failed} of {of_category}"
    return Called(counts, basis, failed < TOO_FEW)


def _believed(look: Outlook) -> Iterator[CategoryOutlook]:
    """Categories of which nothing was seen yet: what is believed of such parts beforehand, and no more."""
    fleet = look.fleet
    category = fleet.labels["category"].astype(str)
    for name in sorted(set(category.tolist()) - {of.category for of in look.categories}):
        parts = np.flatnonzero(category == name)
        names = Names.of(tuple(fleet.age), {label: column[parts] for label, column in fleet.labels.items()})
        learnt = believe(names, look.draws)
        yield CategoryOutlook(name, learnt, {}, {}, parts, fleet.aged[parts], fleet.group[parts])


@dataclass(frozen=True)
class _Drawn:
    """Draws of the posterior, and what lies ahead in each."""

    fitted: Fitted
    ahead: Spell
    rows: Rows

    @property
    def look(self) -> Outlook:
        """What the lives of parts say."""
        return self.fitted.look

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

    def own_failures(self, of: CategoryOutlook, places: Rows, family: Rows, rng: np.random.Generator) -> Counts:
        """Failures since the parts in some places were last shown to work, under the families of all."""
        counts = np.zeros((len(self.stages), self.rows.size, int(family.max()) + 1), dtype=np.int64)
        hidden = self.look.hidden[of.parts[places]]
        for unheard in (False, True):
            chosen = places[hidden == unheard]
            for start in range(0, chosen.size, _PARTS_AT_ONCE):
                some = chosen[start : start + _PARTS_AT_ONCE]
                each = self._simulated(of, some, family[some], rng, unheard=unheard)
                counts[:, :, : each.shape[2]] += each
        return counts

    def _simulated(
        self, of: CategoryOutlook, places: Rows, family: Rows, rng: np.random.Generator, *, unheard: bool
    ) -> Counts:
        """What is dead fails no more: once it is called for, a new part stands in its place."""
        sight = self.look.sight(of, places)
        draws = Draws(sight.draws.shape[self.rows], sight.draws.scale[self.rows])
        parts = Installed(sight.parts.group, sight.parts.age[self.rows])
        dead = np.broadcast_to(self._dead[of.parts[places]], parts.age.shape)
        unseen = failed_unseen(rng, draws, parts, sight.untested[self.rows]) & ~dead
        jump = sight.ahead.jump[self.rows]
        counts = simulate_failures(
            rng,
            draws,
            Installed(parts.group, np.where(dead | unseen, 0.0, parts.age)),
            [
                Stage(Ahead(self._steady(of, places, water), jump, sight.ahead.ship), sunk)
                for water, sunk in zip(self.waters, self.sinkings, strict=True)
            ],
            family,
        )
        last = len(self.stages) - 1
        counts[next((n for n, stage in enumerate(self.stages) if stage.sorties), last)] += _by_family(unseen, family)
        if unheard:  # nobody tests what nobody hears before it is wanted
            counts[last], counts[:last] = counts.sum(axis=0), 0
        counts[0] += _by_family(dead, family)
        return counts

    def _steady(self, of: CategoryOutlook, places: Rows, water: WaterAhead) -> Floats:
        fleet, place = self.look.fleet, of.parts[places]
        return water.steady(of.learnt.worth, fleet.ship[place], fleet.zone[place])[self.rows]

    @cached_property
    def _dead(self) -> Bools:
        """True for fitted parts known to have failed."""
        return np.isin(self.look.fleet.position_id, sorted(self.fitted.dead))

    def inflicted(self, families: NDArray[np.str_], family: Rows, rng: np.random.Generator) -> Counts:
        """Parts lost to another part's failure or to a ball, at the rate of each family's sorties."""
        fitted = np.bincount(family, minlength=families.size)
        counts = np.zeros((len(self.stages), self.rows.size, families.size), dtype=np.int64)
        known = np.flatnonzero(np.isin(families, sorted(self.fitted.damage)))
        if not known.size:
            return counts
        rate = np.stack([self.fitted.damage[name] for name in families[known].tolist()], axis=1)[self.rows]
        for stage, each in enumerate(self.stages):
            counts[stage][:, known] = rng.poisson(rate * fitted[known] * each.sorties)
        return counts


def _harsher(rng: np.random.Generator, past: PastMeets, size: int) -> Floats:
    """How many times as often ships sink at meets as at all sorties: what meets have shown, leaning on once."""
    expected = past.sorties * past.sunk_of_all / max(past.sorties_of_all, 1)
    return rng.gamma(_AS_EVER + past.sunk, 1 / (_AS_EVER + expected), size)


def _by_family(failed: Bools, family: Rows) -> Counts:
    """Failed parts of each family in each draw, shape = (n_draws, n_families)."""
    of = family[:, None] == np.arange(int(family.max(initial=-1)) + 1)
    found: Counts = failed.astype(np.int64) @ of.astype(np.int64)
    return found


def chance_rows(look: Outlook, draws: int, repeats: int) -> Rows:
    """So many draws of the posterior, spread evenly, each so often: what luck does to each belief."""
    return np.repeat(np.linspace(0, look.draws - 1, draws).astype(np.intp), repeats)
