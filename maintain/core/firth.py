"""A Cox answer where the plain one runs off to infinity: Firth's penalty, with limits from the likelihood's profile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from maintain.core.cox import MOST_STEPS, Partial, RiskSets, partial_likelihood
from maintain.core.lives import Floats

STEP = 1e-4  # in standard deviations; the error of a central difference is of the order of its square
ENOUGH = 1e-10  # of log-likelihood gained in a step: nothing that a limit could show
FARTHEST = 60.0  # standard deviations beyond which a limit is taken not to exist


@dataclass(frozen=True)
class Penalised:
    """
    The penalised maximum (standardised coefficients).

    Attributes
    ----------
    coefficients : array, shape = (p,)
    partial : Partial
        At that point.
    value : float
        Penalised log-likelihood.
    """

    coefficients: Floats
    partial: Partial
    value: float


def maximise_penalised(
    sets: RiskSets, *, fixed: Mapping[int, float] | None = None, start: Floats | None = None
) -> Penalised:
    """
    Maximise log-likelihood + half the log determinant of the information.

    Parameters
    ----------
    sets : RiskSets
        With independent covariates.
    fixed : mapping of int to float, optional
        Hold these coefficients at these values.
    start : array, shape = (p,), optional

    References
    ----------
    Firth (1993), Biometrika 80, 27-38; Heinze and Schemper (2001), Biometrics 57, 114-119.
    """
    p = sets.table.shape[1]
    held = fixed or {}
    here = np.zeros(p) if start is None else start.copy()
    here[list(held)] = list(held.values())
    free = np.array([k for k in range(p) if k not in held], dtype=np.intp)
    now, value = _penalised(sets, here)
    for _ in range(MOST_STEPS if free.size else 0):
        gradient = now.score[free] + _pull(sets, here, free)
        step = np.linalg.lstsq(now.information[np.ix_(free, free)], gradient, rcond=None)[0]
        step *= min(1.0, 5.0 / max(float(np.abs(step).max()), 1e-300))
        while True:
            there = here.copy()
            there[free] += step
            following, reached = _penalised(sets, there)
            if reached >= value - 1e-10 or np.abs(step).max() < 1e-9:
                break
            step = step / 2
        gain = reached - value
        here, now, value = there, following, reached
        if np.abs(step).max() < 1e-7 or abs(gain) < ENOUGH:
            break
    return Penalised(here, now, value)


def penalised_step(sets: RiskSets, coefficients: Floats) -> Floats:
    """Return the step that Newton's method takes on the penalised likelihood."""
    partial = partial_likelihood(sets, coefficients)
    gradient = partial.score + _pull(sets, coefficients, np.arange(coefficients.size))
    return np.asarray(np.linalg.lstsq(partial.information, gradient, rcond=1e-10)[0])


def profile_limits(
    sets: RiskSets, best: Penalised, column: int, z: float, design_effect: float = 1.0
) -> tuple[float, float]:
    """
    Return the limits of one coefficient: where the penalised likelihood, others refitted, has fallen by z^2 / 2.

    Parameters
    ----------
    sets : RiskSets
    best : Penalised
        The unrestricted maximum.
    column : int
    z : float
        Normal quantile of the confidence wanted.
    design_effect : float
        How many times less than its rows' number the likelihood knows, because rows share their luck; it must then
        fall so many times as far.

    Returns
    -------
    (float, float)
        -inf or inf where there is no such point.
    """
    spread = 1 / np.sqrt(max(best.partial.information[column, column], 1e-12))
    z = z * float(np.sqrt(design_effect))
    return tuple(_limit(sets, best, column, z, side * spread) for side in (-1.0, 1.0))  # type: ignore[return-value]


def without(sets: RiskSets, best: Penalised, columns: list[int]) -> tuple[Penalised, float]:
    """Return the penalised maximum with these coefficients at 0, and twice the likelihood that this costs."""
    null = maximise_penalised(sets, fixed=dict.fromkeys(columns, 0.0), start=best.coefficients)
    return null, max(2 * (best.value - null.value), 0.0)


def _limit(sets: RiskSets, best: Penalised, column: int, z: float, step: float) -> float:
    from scipy.optimize import brentq

    top, centre = best.value, float(best.coefficients[column])

    def fall(value: float) -> float:
        held = maximise_penalised(sets, fixed={column: value}, start=best.coefficients)
        return top - held.value - z**2 / 2

    near, far = centre, centre + step
    while fall(far) < 0:
        near, far = far, far + 2 * (far - near)
        if abs(far - centre) > FARTHEST:
            return float(np.copysign(np.inf, step))
    return float(brentq(fall, near, far, xtol=1e-6, rtol=1e-8))


def _penalised(sets: RiskSets, coefficients: Floats) -> tuple[Partial, float]:
    partial = partial_likelihood(sets, coefficients)
    return partial, partial.log_likelihood + _half_log_determinant(partial)


def _half_log_determinant(partial: Partial) -> float:
    sign, size = np.linalg.slogdet(partial.information)
    return float(size) / 2 if sign > 0 else -1e10


def _pull(sets: RiskSets, coefficients: Floats, free: np.ndarray) -> Floats:
    """Return the slope of the penalty in each free coefficient, by central differences."""
    slopes = np.empty(free.size)
    for place, k in enumerate(free):
        up, down = coefficients.copy(), coefficients.copy()
        up[k] += STEP
        down[k] -= STEP
        rise = _half_log_determinant(partial_likelihood(sets, up)) - _half_log_determinant(
            partial_likelihood(sets, down)
        )
        slopes[place] = rise / (2 * STEP)
    return slopes
