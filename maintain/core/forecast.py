"""The chance that a part working now fails before its clock has gone on by so much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Draws
from maintain.errors import InvalidRecord

_CELLS_AT_ONCE = 4_000_000  # draws x parts x outcomes worked on together: 32 MB an array


@dataclass(frozen=True)
class Installed:
    """
    Parts that work now.

    Attributes
    ----------
    group : array of int, shape = (n_parts,)
        Column of the posterior's scales.
    age : array, shape = (n_parts,) or (n_draws, n_parts)
        Use on the part's clock by now; in each draw its own if the clock itself is drawn.
    """

    group: NDArray[np.intp]
    age: Floats

    def take(self, rows: slice | NDArray[np.intp] | Bools) -> Installed:
        """Return the parts in `rows`."""
        return Installed(self.group[rows], self.age[..., rows])


@dataclass(frozen=True)
class Ahead:
    """
    How each part's clock will go on: by `steady`, and by `jump` at each event its ship meets.

    On a clock of sinkings steady is 0 and jump 1; on a clock of days jump is 0; on a service age steady holds the
    days and minutes afloat and jump what one sinking costs.

    Attributes
    ----------
    steady, jump : array, shape = (n_parts,) or (n_draws, n_parts)
        In units of the clock.
    ship : array of int, shape = (n_parts,)
        Column of the ship in `chances`, or in the counts drawn for a demand.
    """

    steady: Floats
    jump: Floats
    ship: NDArray[np.intp]

    def take(self, rows: slice | NDArray[np.intp] | Bools) -> Ahead:
        """Return the parts in `rows`."""
        return Ahead(self.steady[..., rows], self.jump[..., rows], self.ship[rows])


@dataclass(frozen=True)
class Chance:
    """
    Chance of failing, one for each part.

    Attributes
    ----------
    mean, lower, upper : array, shape = (n_parts,)
        Over the posterior; luck with sinkings is averaged, so the interval is of what is not known, not of luck.
    """

    mean: Floats
    lower: Floats
    upper: Floats


def failure_chance(shape: Floats, log_scale: Floats, age: Floats, advance: Floats) -> Floats:
    """
    Chance that a Weibull life over `age` ends before `age + advance`: 1 - exp(H(age) - H(age + advance)).

    All arguments broadcast.

    References
    ----------
    Meeker and Escobar (1998), Statistical Methods for Reliability Data, sections 4.8 and 12.3.

    Examples
    --------
    >>> fan = failure_chance(np.array(1.058446), np.log(26296.85), np.array(3000.0), np.array(1000.0))
    >>> float(fan.round(5))  # diesel fans, Nelson (1982): published data, recomputed estimate
    0.03514
    """
    chance: Floats = -np.expm1(_hazard(shape, log_scale, age) - _hazard(shape, log_scale, age + advance))
    return chance


def _hazard(shape: Floats, log_scale: Floats, age: Floats) -> Floats:
    with np.errstate(divide="ignore"):  # age 0 has hazard 0
        log_age = np.log(age)
    found: Floats = np.exp(shape * (log_age - log_scale))
    return found


def chance_draws(draws: Draws, parts: Installed, ahead: Ahead, chances: Floats | None = None) -> Floats:
    """
    Chance that each part fails while its clock goes on as planned, given that it works now, draw by draw.

    Parameters
    ----------
    draws : Draws
        From the category's posterior.
    parts : Installed
    ahead : Ahead
    chances : array, shape = (n_draws, n_counts, n_ships), optional
        Chance of each number of events for each draw and ship (`event_shares.count_chances`). Default: no events.

    Returns
    -------
    array, shape = (n_draws, n_parts)

    Raises
    ------
    InvalidRecord
        If ages or increments are negative or missing.
    """
    check_parts(parts, ahead)
    n_draws = draws.size
    weights = np.ones((n_draws, 1, int(ahead.ship.max(initial=0)) + 1)) if chances is None else chances
    law = draws.take(parts.group)
    shape, log_scale = law.shapes, np.log(law.scale)
    before = _hazard(shape, log_scale, parts.age)
    found = np.zeros((n_draws, parts.group.size))
    for count in range(weights.shape[1]):
        after = _hazard(shape, log_scale, parts.age + ahead.steady + count * ahead.jump)
        found -= weights[:, count, ahead.ship] * np.expm1(before - after)
    return np.minimum(found, 1.0, out=found)  # what is sure adds up to 1 and a rounding


def forecast(draws: Draws, parts: Installed, ahead: Ahead, chances: Floats | None = None, level: float = 0.8) -> Chance:
    """
    Chance that each part fails while its clock goes on as planned, given that it works now.

    Parameters and errors as `chance_draws`; `level` is that of the interval. Works through the parts in portions, so
    that many of them fit in memory.

    Returns
    -------
    Chance
        In the order of `parts`.
    """
    n_counts = 1 if chances is None else chances.shape[1]
    step = max(1, _CELLS_AT_ONCE // (draws.size * n_counts))
    found = np.empty((3, parts.group.size))
    for start in range(0, parts.group.size, step):
        rows = slice(start, start + step)
        portion = summary(chance_draws(draws, parts.take(rows), ahead.take(rows), chances), level)
        found[:, rows] = portion.mean, portion.lower, portion.upper
    return Chance(*found)


def summary(chance: Floats, level: float = 0.8) -> Chance:
    """Mean and equal-tailed interval over draws; shape = (n_draws, n_parts)."""
    low, high = np.quantile(chance, [(1 - level) / 2, (1 + level) / 2], axis=0)
    return Chance(chance.mean(axis=0), low, high)


def check_parts(parts: Installed, ahead: Ahead) -> None:
    """Refuse parts whose age or increment is negative or missing, naming their rows (from 0)."""
    for name, column in (("age", parts.age), ("steady", ahead.steady), ("jump", ahead.jump)):
        wrong = ~((column >= 0) & np.isfinite(column))
        rows = np.flatnonzero(wrong.reshape(-1, column.shape[-1]).any(axis=0)).tolist()
        if rows:
            raise InvalidRecord(f"{name} is negative or missing for parts {rows[:5]}", rows=rows)
