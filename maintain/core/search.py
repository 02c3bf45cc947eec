"""Newton's method for one or two parameters, made to rise in every step."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from maintain.core.likelihood import Value
from maintain.core.lives import Floats

MOST_STEPS = 200
LONGEST_STEP = 2.0  # in mu or log sigma: a factor of seven
FLAT = 1e-7  # a curvature less than this is no peak but a plateau: the standard error would be in the thousands
LEFT_TO_GAIN = 1e-12  # stop when the next step would raise the log-likelihood by less, or by less than its rounding
ROUNDING = float(np.finfo(np.float64).eps)


def maximise(objective: Callable[[Floats], Value], start: Floats) -> tuple[Floats, Value] | None:
    """
    Climb to a maximum.

    Parameters
    ----------
    objective : function
        Point -> value, gradient, Hessian.
    start : array, shape = (k,)

    Returns
    -------
    The highest point with its value, or None if the climb did not end: the function rises for ever, or is flat.
    """
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        point, here = start, objective(start)
        for _ in range(MOST_STEPS):
            step = _uphill(here)
            if step is None:
                return None
            if float(step @ here.gradient) < max(LEFT_TO_GAIN, ROUNDING * abs(here.value)):
                return (point, here) if _is_peak(here.hessian) else None
            moved = _climb(objective, point, here, step)
            if moved is None:
                return (point, here) if _is_peak(here.hessian) else None
            point, here = moved
    return None


def _uphill(here: Value) -> Floats | None:
    """Return Newton's step with every curvature taken as downward, no longer than LONGEST_STEP."""
    if not (np.isfinite(here.value) and np.isfinite(here.gradient).all() and np.isfinite(here.hessian).all()):
        return None
    curvature, axes = np.linalg.eigh(here.hessian)
    bend = np.maximum(np.abs(curvature), 1e-12 * max(float(np.abs(curvature).max()), 1e-12))
    step: Floats = axes @ ((axes.T @ here.gradient) / bend)
    length = float(np.abs(step).max())
    return step if length <= LONGEST_STEP else step * (LONGEST_STEP / length)


def _climb(
    objective: Callable[[Floats], Value], point: Floats, here: Value, step: Floats
) -> tuple[Floats, Value] | None:
    """Take the step, halved until it does not go down; None if rounding leaves nothing to gain."""
    for halvings in range(40):
        there = point + step * 0.5**halvings
        value = objective(there)
        if value.value >= here.value and np.isfinite(value.hessian).all():
            return there, value
    return None


def _is_peak(hessian: Floats) -> bool:
    """Tell a maximum from a plateau."""
    return bool(np.linalg.eigvalsh(hessian)[-1] < -FLAT)
