"""The chance that a part working now fails before its clock has gone on by so much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
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
    age : array, shape = (n_parts,)
        Use on the part's clock by now.
    """

    group: NDArray[np.intp]
    age: Floats


@dataclass(frozen=True)
class Ahead:
    """
    How each part's clock will go on: by `steady`, and by `jump` at each event its ship meets.

    On a clock of sinkings steady is 0 and jump 1; on a clock of days jump is 0; on a service age steady holds the
    days and minutes afloat and jump what one sinking costs.

    Attributes
    ----------
    steady, jump : array, shape = (n_parts,)
        In units of the clock.
    ship : array of int, shape = (n_parts,)
        Column of the ship in `chances`, or in the counts drawn for a demand.
    """

    steady: Floats
    jump: Floats
    ship: NDArray[np.intp]


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
    with np.errstate(divide="ignore"):  # age 0 has hazard 0
        before = np.exp(shape * (np.log(age) - log_scale))
        after = np.exp(shape * (np.log(age + advance) - log_scale))
    chance: Floats = -np.expm1(before - after)
    return chance


def forecast(draws: Draws, parts: Installed, ahead: Ahead, chances: Floats | None = None, level: float = 0.8) -> Chance:
    """
    Chance that each part fails while its clock goes on as planned, given that it works now.

    Parameters
    ----------
    draws : Draws
        From the category's posterior.
    parts : Installed
    ahead : Ahead
    chances : array, shape = (n_draws, n_counts, n_ships), optional
        Chance of each number of events for each draw and ship (`event_shares.count_chances`). Default: no events.
    level : float
        Of the interval.

    Returns
    -------
    Chance
        In the order of `parts`.

    Raises
    ------
    InvalidRecord
        If ages or increments are negative or missing.
    """
    _check(parts, ahead)
    n_draws = draws.shape.size
    weights = np.ones((n_draws, 1, int(ahead.ship.max(initial=0)) + 1)) if chances is None else chances
    n_parts, n_counts = parts.age.size, weights.shape[1]
    log_scale = np.log(draws.scale)
    found = np.empty((3, n_parts))
    step = max(1, _CELLS_AT_ONCE // (n_draws * n_counts))
    for start in range(0, n_parts, step):
        rows = slice(start, start + step)
        chance = np.zeros((n_draws, parts.age[rows].size))
        for count in range(n_counts):
            advance = ahead.steady[rows] + count * ahead.jump[rows]
            fails = failure_chance(draws.shape[:, None], log_scale[:, parts.group[rows]], parts.age[rows], advance)
            chance += weights[:, count, ahead.ship[rows]] * fails
        found[0, rows] = chance.mean(axis=0)
        found[1:, rows] = np.quantile(chance, [(1 - level) / 2, (1 + level) / 2], axis=0)
    return Chance(*found)


def _check(parts: Installed, ahead: Ahead) -> None:
    for name, column in (("age", parts.age), ("steady", ahead.steady), ("jump", ahead.jump)):
        rows = np.flatnonzero(~((column >= 0) & np.isfinite(column))).tolist()
        if rows:
            raise InvalidRecord(f"{name} is negative or missing for parts {rows[:5]}", rows=rows)
