"""Failures of positions whose part is replaced at each: simulated from posterior draws, and exact for new parts."""

from __future__ import annotations

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


def renewal_counts(shape: float, scale: float, horizon: float, steps: int = 4000) -> RenewalCounts:
    """
    Count the failures of a renewed Weibull part by repeated convolution of its life.

    Parameters
    ----------
    shape, scale : float
    horizon : float
        In the units of `scale`.
    steps : int
        Steps of the grid in time; the error falls with its square (about 1e-7 at the default, for shapes from 1).

    References
    ----------
    Smith and Leadbetter (1963), Technometrics 5, 393-396; Cox (1962), Renewal Theory, chapter 3.

    Examples
    --------
    >>> round(renewal_counts(1.0, 10.0, 10.0).mean, 6)  # a steady hazard: Poisson with mean 1
    1.0
    """
    size = 1 << (2 * steps).bit_length()
    failed_by = -np.expm1(-((np.linspace(0, horizon, steps + 1) / scale) ** shape))
    ends_in = np.fft.rfft(np.diff(failed_by), size)
    found = [failed_by[-1]]
    while found[-1] > 1e-15 and len(found) < 1000:
        # the mean of the values at both ends of a step stands for the step
        through = np.fft.irfft(np.fft.rfft((failed_by[1:] + failed_by[:-1]) / 2, size) * ends_in, size)[:steps]
        failed_by = np.concatenate([[0.0], through])
        found.append(failed_by[-1])
    at_least = np.array(found).clip(min=0)
    return RenewalCounts(at_least, float(at_least.sum()))


def simulate_failures(
    rng: np.random.Generator,
    draws: Draws,
    parts: Installed,
    ahead: Ahead,
    family: NDArray[np.intp],
    events: NDArray[np.int64] | None = None,
) -> NDArray[np.int64]:
    """
    Failures in each family, in each draw, until every clock has gone on as planned.

    The installed part's life is drawn given that it works now; at each failure a new part of the same group is
    fitted and can fail too. Clocks that jump at a sinking are treated as if the jump were lived through evenly, so a
    part fitted after a failure lives the rest of the jump: at most a hair on the careful side.

    Parameters
    ----------
    rng : np.random.Generator
    draws : Draws
    parts : Installed
    ahead : Ahead
    family : array of int, shape = (n_parts,)
        What each failure is counted under, 0 .. n_families - 1.
    events : array of int, shape = (n_draws, n_ships), optional
        Events each ship meets in each draw (`event_shares.draw_counts`). All her parts share them, which is what makes
        demand lumpy. Default: none.

    Returns
    -------
    array of int, shape = (n_draws, n_families)

    Raises
    ------
    InvalidRecord
        If ages or increments are negative or missing.
    """
    check_parts(parts, ahead)
    n_draws, n_parts = draws.shape.size, parts.group.size
    found = np.zeros((n_draws, int(family.max(initial=-1)) + 1), dtype=np.int64)
    step = max(1, _CELLS_AT_ONCE // n_draws)
    for start in range(0, n_parts, step):
        rows = slice(start, start + step)
        some, further = parts.take(rows), ahead.take(rows)
        left = np.broadcast_to(further.steady, (n_draws, some.group.size))
        if events is not None:
            left = left + further.jump * events[:, further.ship]
        failures = _renew(rng, draws, some.group, some.age, left)
        for f in np.unique(family[rows]).tolist():
            found[:, f] += failures[:, family[rows] == f].sum(axis=1)
    return found


def _renew(
    rng: np.random.Generator, draws: Draws, group: NDArray[np.intp], age: Floats, left: Floats
) -> NDArray[np.int64]:
    scale = draws.scale[:, group]
    shape = np.broadcast_to(draws.shape[:, None], scale.shape)
    used = (age / scale) ** shape
    exponential = rng.exponential(size=scale.shape)
    # remaining life x of H(age + x) = H(age) + exponential, without cancellation for an old part
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        old = age * np.expm1(np.log1p(exponential / used) / shape)
    life = np.where(used > 1e-12, old, scale * exponential ** (1 / shape))
    counts = np.zeros(scale.shape, dtype=np.int64)
    cells = np.flatnonzero(life <= left)
    remaining = (left - life).ravel()[cells]
    while cells.size:
        counts.ravel()[cells] += 1
        life = scale.ravel()[cells] * rng.exponential(size=cells.size) ** (1 / shape.ravel()[cells])
        again = life <= remaining
        cells, remaining = cells[again], (remaining - life)[again]
    return counts
