"""Failures of positions whose part is replaced at each: simulated from posterior draws, and exact for new parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.forecast import Ahead, Installed, check_parts
from maintain.core.lives import Floats
from maintain.core.posterior import Draws

_CELLS_AT_ONCE = 4_000_000


@dataclass(frozen=True)
class RenewalCounts:
    """
    Failures of one position within a horizon, a new part fitted at the start and after each.

    Attributes
    ----------
    at_least : array, shape = (most,)
        Chance of at least 1, 2, ... `most` failures.
    mean : float
        Expected failures.
    """

    at_least: Floats
    mean: float


def renewal_counts(shape: float, scale: float, horizon: float, age: float = 0.0, steps: int = 4000) -> RenewalCounts:
    """
    Count the failures of a renewed Weibull part by repeated convolution of its life.

    Parameters
    ----------
    shape, scale : float
    horizon : float
        In the units of `scale`.
    age : float
        Of the first part, which works now; those that replace it are new.
    steps : int
        Steps of the grid in time; the error falls with its square (about 1e-7 at the default, for shapes from 1).

    References
    ----------
    Smith and Leadbetter (1963), Technometrics 5, 393-396; Cox (1962), Renewal Theory, chapters 2 and 3.

    Examples
    --------
    >>> round(renewal_counts(1.0, 10.0, 10.0).mean, 6)  # a steady hazard: Poisson with mean 1
    1.0
    """
    size = 1 << (2 * steps).bit_length()
    time = np.linspace(0, horizon, steps + 1)
    ends_in = np.fft.rfft(np.diff(-np.expm1(-((time / scale) ** shape))), size)
    failed_by = -np.expm1((age / scale) ** shape - ((age + time) / scale) ** shape)
    found = [failed_by[-1]]
    while found[-1] > 1e-15 and len(found) < 1000:
        # the mean of the values at both ends of a step stands for the step
        through = np.fft.irfft(np.fft.rfft((failed_by[1:] + failed_by[:-1]) / 2, size) * ends_in, size)[:steps]
        failed_by = np.concatenate([[0.0], through])
        found.append(failed_by[-1])
    at_least = np.array(found).clip(min=0)
    return RenewalCounts(at_least, float(at_least.sum()))


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
