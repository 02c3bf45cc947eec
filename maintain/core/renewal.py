"""Failures of positions whose part is replaced at each, simulated from posterior draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed, chance_draws, check_parts
from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Draws

_CELLS_AT_ONCE = 4_000_000


@dataclass(frozen=True)
class Stage:
    """
    A stretch of time ahead.

    Attributes
    ----------
    ahead : Ahead
    events : array of int, shape = (n_draws, n_ships), optional
        Events each ship meets in each draw (`event_shares.draw_counts`). All her parts share them, which is what makes
        demand lumpy. Default: none.
    """

    ahead: Ahead
    events: NDArray[np.int64] | None = None

    def gained(self, rows: slice) -> Floats:
        """By how much the clocks of parts go on, shape = (n_draws, n_parts) or (n_parts,)."""
        some = self.ahead.take(rows)
        return some.steady if self.events is None else some.steady + some.jump * self.events[:, some.ship]


def failed_unseen(rng: np.random.Generator, draws: Draws, parts: Installed, untested: Floats) -> Bools:
    """
    Tell, in each draw, which parts have failed since they were last shown to work.

    Nobody replaced such a part meanwhile, so that it failed once and no more.

    Parameters
    ----------
    rng : np.random.Generator
    draws : Draws
    parts : Installed
        At the age they have, or would have had, by now.
    untested : array, shape = (n_draws, n_parts) or (n_parts,)
        By how much their clocks have gone on since then; no more than their age.

    Returns
    -------
    array of bool, shape = (n_draws, n_parts)
    """
    shown = Installed(parts.group, (parts.age - untested).clip(min=0.0))
    alone = np.zeros(parts.group.size, dtype=np.intp)
    chance = chance_draws(draws, shown, Ahead(untested, np.zeros(alone.size), alone))
    found: Bools = rng.random(chance.shape) < chance
    return found


def simulate_failures(
    rng: np.random.Generator, draws: Draws, parts: Installed, stages: Sequence[Stage], family: NDArray[np.intp]
) -> NDArray[np.int64]:
    """
    Failures in each family, in each draw and stage, until every clock has gone on as planned.

    The installed part's life is drawn given that it works now; at each failure a new part of the same group is
    fitted and can fail too. Clocks that jump at a sinking are treated as if the jump were lived through evenly, so a
    part fitted after a failure lives the rest of the jump: at most a hair on the careful side.

    Parameters
    ----------
    rng : np.random.Generator
    draws : Draws
    parts : Installed
    stages : sequence of Stage
        One after the other.
    family : array of int, shape = (n_parts,)
        What each failure is counted under, 0 .. n_families - 1.

    Returns
    -------
    array of int, shape = (n_stages, n_draws, n_families)

    Raises
    ------
    InvalidRecord
        If ages or increments are negative or missing.
    """
    for stage in stages:
        check_parts(parts, stage.ahead)
    n_draws, n_parts = draws.size, parts.group.size
    n_families = int(family.max(initial=-1)) + 1
    found = np.zeros((len(stages), n_draws * n_families), dtype=np.int64)
    step = max(1, _CELLS_AT_ONCE // n_draws)
    for start in range(0, n_parts, step):
        rows = slice(start, start + step)
        some = parts.take(rows)
        laws = draws.take(some.group)
        law = _Law(laws.shapes, np.log(laws.scale))
        age = np.broadcast_to(some.age, law.log_scale.shape)
        for place, stage in enumerate(stages):
            failed, age = _renew(rng, law, age, stage.gained(rows))
            draw, part = np.divmod(failed, some.group.size)
            found[place] += np.bincount(draw * n_families + family[rows][part], minlength=found.shape[1])
    return found.reshape(len(stages), n_draws, n_families)


@dataclass(frozen=True)
class _Law:
    """Weibull laws of cells, a row for each draw and a column for each part; the shape may have one column for all."""

    shape: Floats
    log_scale: Floats

    def hazard(self, age: Floats) -> Floats:
        """Cumulative hazard at ages of all cells."""
        with np.errstate(divide="ignore"):  # age 0 has hazard 0
            found = np.log(age)
        found = found - self.log_scale
        found *= self.shape
        return np.exp(found, out=found)

    def age_at(self, cells: NDArray[np.intp], hazard: Floats) -> Floats:
        """Age at which the cumulative hazard of some cells is reached."""
        shape = np.broadcast_to(self.shape, self.log_scale.shape)[np.divmod(cells, self.log_scale.shape[1])]
        found: Floats = np.exp(np.log(hazard) / shape + self.log_scale.ravel()[cells])
        return found


def _renew(rng: np.random.Generator, law: _Law, age: Floats, gained: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Cells that fail, as often as they do, and the ages of the parts then fitted."""
    then = age + gained
    hazard = law.hazard(age)
    # drawn for all, so that one part's luck does not hang on another's; worked out only for those that fail
    threshold = hazard + rng.exponential(size=hazard.shape)
    cells = np.flatnonzero(threshold <= law.hazard(then))
    left = (then.ravel()[cells] - law.age_at(cells, threshold.ravel()[cells])).clip(min=0.0)
    found = []
    while cells.size:
        found.append(cells)
        then.ravel()[cells] = left
        life = law.age_at(cells, rng.exponential(size=cells.size))
        again = life <= left
        cells, left = cells[again], (left - life)[again]
    return np.concatenate([cells, *found]), then
