"""The Weibull likelihood of grouped lives on a whole grid of shapes and scales at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats, Lives

_CELLS_AT_ONCE = 2_000_000  # keeps the working arrays of interval-censored failures near 50 MB


def weibull_log_likelihood(
    lives: Lives, group: NDArray[np.intp], n_groups: int, log_shape: Floats, log_scale: Floats
) -> Floats:
    """
    Log likelihood of each group's lives at every node of a (log shape) x (log scale) grid.

    With H(t) = (t / scale)^shape a life adds H(entry) - H(t) if it still works at t; plus log h(t) if it failed
    at exactly t; an interval failure in (a, b] adds H(entry) - H(a) + log(1 - exp(H(a) - H(b))). Every H is a
    power of t times a factor of the grid alone, so working parts and exact failures cost one power sum a shape.

    Parameters
    ----------
    lives : Lives
    group : array of int, shape = (lives.n,)
        Group of each life, 0 .. n_groups - 1.
    log_shape : array, shape = (n_shapes,)
    log_scale : array, shape = (n_scales,)
        Log of the scale in units of the clock.

    Returns
    -------
    array, shape = (n_groups, n_shapes, n_scales)
        0 for a group without lives.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> two = lives_from_times([1.0, 3.0], [True, False])
    >>> float(weibull_log_likelihood(two, np.zeros(2, dtype=np.intp), 1, np.zeros(1), np.log([2.0]))[0, 0, 0].round(6))
    -2.693147
    """
    centre = float(log_scale.mean())  # powers of t / exp(centre) stay far from overflow
    shape = np.exp(log_shape)
    per_unit = np.exp(np.minimum(-shape[:, None] * (log_scale - centre), 400.0))
    works_until = np.maximum(lives.lower, lives.entry)
    used = _power_sums(works_until, group, n_groups, shape, centre) - _power_sums(
        lives.entry, group, n_groups, shape, centre
    )
    found = -used[:, :, None] * per_unit
    exact = lives.failed & (lives.lower == lives.upper)
    found += _log_hazards(lives.lower[exact], group[exact], n_groups, log_shape, log_scale)
    between = lives.failed & ~exact
    for g in np.unique(group[between]).tolist():
        rows = between & (group == g)
        found[g] += _log_interval_chances(works_until[rows], lives.upper[rows], shape, per_unit, centre)
    return found


def _power_sums(time: Floats, group: NDArray[np.intp], n_groups: int, shape: Floats, centre: float) -> Floats:
    seen = time > 0
    log_time, of_group = np.log(time[seen]) - centre, group[seen]
    return np.stack(
        [np.bincount(of_group, weights=np.exp(power * log_time), minlength=n_groups) for power in shape], axis=1
    )


def _log_hazards(time: Floats, group: NDArray[np.intp], n_groups: int, log_shape: Floats, log_scale: Floats) -> Floats:
    log_time = np.log(time)
    failures = np.bincount(group, minlength=n_groups)[:, None, None]
    log_times = np.bincount(group, weights=log_time, minlength=n_groups)[:, None, None]
    shape = np.exp(log_shape)[:, None]
    return failures * (log_shape[:, None] - shape * log_scale) + (shape - 1) * log_times


def _log_interval_chances(
    works_until: Floats, failed_by: Floats, shape: Floats, per_unit: Floats, centre: float
) -> Floats:
    # lives counted in sorties or sinkings repeat the same few intervals: each is worked out once
    pairs, count = np.unique(np.stack([works_until, failed_by], axis=1), axis=0, return_counts=True)
    low, high = pairs.T
    with np.errstate(divide="ignore"):
        log_ratio = np.log1p((low - high) / high)
    # b^shape - a^shape without cancellation when a is close to b
    log_gap = shape[:, None] * (np.log(high) - centre) + np.log(-np.expm1(shape[:, None] * log_ratio))
    total = np.zeros(per_unit.shape)
    step = max(1, _CELLS_AT_ONCE // per_unit.size)
    for start in range(0, count.size, step):
        rows = slice(start, start + step)
        hazard = np.exp(log_gap[:, None, rows]) * per_unit[:, :, None]
        with np.errstate(divide="ignore"):
            total += np.log(-np.expm1(-hazard)) @ count[rows]
    return total
