"""Accelerated life: log T = mu + x b + sigma Z, for exact, censored, interval and truncated lives, any of the laws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.at_risk import Codes, total_by
from maintain.core.likelihood import LEAST_GAIN, MOST_GAIN, Value, hazard_gain
from maintain.core.lives import Floats, Lives
from maintain.core.log_rank import FEW_CLUSTERS
from maintain.core.models import LEAST_Z, Derivatives, Model
from maintain.core.search import maximise


@dataclass(frozen=True)
class Accelerated:
    """
    A fitted accelerated-life model.

    Attributes
    ----------
    coefficients : array, shape = (p + 1,)
        Intercept (log of the scale, in the lives' own unit, at covariates 0), then one a covariate: a unit of it
        multiplies life by exp of it.
    log_sigma : float
        Log of the spread of log life; 0 for the exponential. Weibull shape = exp(-log_sigma).
    covariance : array, shape = (p + free, p + free)
        Of coefficients and log sigma; robust where clusters were given.
    log_likelihood : float
    """

    coefficients: Floats
    log_sigma: float
    covariance: Floats
    log_likelihood: float


@dataclass(frozen=True)
class _Terms:
    """Each life's log-likelihood with its derivatives by its own mu and log sigma."""

    value: Floats
    first: Floats  # (2, n)
    second: NDArray[np.float64]  # (2, 2, n)


def fit_accelerated(model: Model, lives: Lives, table: Floats, cluster: Codes | None = None) -> Accelerated | None:
    """
    Fit by maximum likelihood.

    Parameters
    ----------
    model : Model
    lives : Lives
        Identifiable without covariates (`check_identifiable`).
    table : array, shape = (n, p)
        Covariates; may have no column.
    cluster : array of int, shape = (n,), optional
        What lives share. The covariance is then the sandwich, or with few clusters that from leaving out each in
        turn (one Newton step each), which errs to the wide side.

    Returns
    -------
    Accelerated, or None if the likelihood rises for ever.

    References
    ----------
    Kalbfleisch and Prentice (2002), The Statistical Analysis of Failure Time Data, 2nd ed., chapters 3 and 7; few
    clusters: Lipsitz, Dear and Zhao (1994), Biometrics 50, 842-846.
    """
    middle = np.where(lives.failed, lives.upper, lives.lower)
    unit = float(np.mean(np.log(middle)))
    centre, scale = table.mean(axis=0), np.where(table.std(axis=0) > 0, table.std(axis=0), 1.0)
    design = np.column_stack((np.ones(lives.n), (table - centre) / scale))
    scaled = Lives(*(times * np.exp(-unit) for times in (lives.entry, lives.lower, lives.upper)))
    wide = design.shape[1]

    def at(theta: Floats) -> _Terms:
        return _terms(model, scaled, design @ theta[:wide], float(theta[wide]) if model.free > 1 else 0.0)

    start = np.zeros(wide + model.free - 1)
    found = maximise(lambda theta: _value(at(theta), design, model.free), start)
    if found is None:
        return None
    theta, peak = found
    covariance: Floats = np.asarray(np.linalg.inv(-peak.hessian), dtype=np.float64)
    if cluster is not None:
        covariance = _robust(at(theta), design, model.free, cluster, covariance)
    back = np.eye(theta.size)
    back[1:wide, 1:wide] = np.diag(1 / scale)
    back[0, 1:wide] = -centre / scale
    plain = back @ theta
    plain[0] += unit
    events = float(np.log(middle[lives.failed & (lives.lower == lives.upper)]).sum())
    return Accelerated(
        coefficients=plain[:wide],
        log_sigma=float(plain[wide]) if model.free > 1 else 0.0,
        covariance=back @ covariance @ back.T,
        log_likelihood=peak.value - events,
    )


def _terms(model: Model, lives: Lives, mu: Floats, log_sigma: float) -> _Terms:
    sigma, n = float(np.exp(log_sigma)), lives.n
    total = _Terms(np.zeros(n), np.zeros((2, n)), np.zeros((2, 2, n)))
    exact = lives.failed & (lives.lower == lives.upper)
    between = lives.failed & ~exact
    worked = np.maximum(lives.lower, lives.entry)
    for times, rows, sign in ((worked, worked > 0, -1.0), (lives.entry, lives.entry > 0, 1.0)):
        z = _standard(times[rows], mu[rows], sigma)
        _add(total, rows, model.cumulative_hazard(z), z, sigma=sigma, sign=sign)
    z = _standard(lives.lower[exact], mu[exact], sigma)
    _add(total, exact, model.log_hazard(z), z, sigma=sigma, sign=1.0)
    total.value[exact] -= log_sigma
    total.first[1, exact] -= 1
    if between.any():
        _add_intervals(
            total,
            between,
            model,
            _standard(worked[between], mu[between], sigma),
            _standard(lives.upper[between], mu[between], sigma),
            sigma,
        )
    return total


def _add(total: _Terms, rows: np.ndarray, terms: Derivatives, z: Floats, *, sigma: float, sign: float) -> None:
    value, first, second = terms
    cross = (second * z + first) / sigma
    total.value[rows] += sign * value
    total.first[:, rows] += sign * np.array([-first / sigma, -first * z])
    total.second[:, :, rows] += sign * np.array([[second / sigma**2, cross], [cross, (second * z + first) * z]])


def _add_intervals(total: _Terms, rows: np.ndarray, model: Model, low: Floats, high: Floats, sigma: float) -> None:
    gain, first, second = hazard_gain(model, low, high, sigma)
    gain = np.clip(gain, LEAST_GAIN, MOST_GAIN)
    pull = 1 / np.expm1(gain)
    total.value[rows] += np.log(-np.expm1(-gain))
    total.first[:, rows] += first * pull
    total.second[:, :, rows] += second * pull - first[:, None, :] * first[None, :, :] * (pull * (1 + pull))


def _scores(terms: _Terms, design: Floats, free: int) -> Floats:
    by_mean = design * terms.first[0][:, None]
    return np.column_stack((by_mean, terms.first[1])) if free > 1 else by_mean


def _robust(terms: _Terms, design: Floats, free: int, cluster: Codes, plain: Floats) -> Floats:
    scores = _scores(terms, design, free)
    sums = np.column_stack([total_by(cluster, column) for column in scores.T])
    count = sums.shape[0]
    moves = sums @ plain
    if 1 < count < FEW_CLUSTERS:
        whole = np.linalg.inv(plain)
        for one in range(count):
            rows = cluster == one
            own = _value(_Terms(terms.value[rows], terms.first[:, rows], terms.second[:, :, rows]), design[rows], free)
            moves[one] = np.linalg.lstsq(whole + own.hessian, -sums[one], rcond=1e-10)[0] * np.sqrt(1 - 1 / count)
    return np.asarray(moves.T @ moves, dtype=np.float64)


def _value(terms: _Terms, design: Floats, free: int) -> Value:
    wide = design.shape[1]
    hessian = np.zeros((wide + 1, wide + 1))
    hessian[:wide, :wide] = (design * terms.second[0, 0][:, None]).T @ design
    hessian[:wide, wide] = hessian[wide, :wide] = design.T @ terms.second[0, 1]
    hessian[wide, wide] = terms.second[1, 1].sum()
    size = wide + free - 1
    return Value(float(terms.value.sum()), _scores(terms, design, free).sum(axis=0), hessian[:size, :size])


def _standard(times: Floats, mu: Floats, sigma: float) -> Floats:
    with np.errstate(divide="ignore"):
        return np.maximum((np.log(times) - mu) / sigma, LEAST_Z)
