"""Fits of a law of life by maximum likelihood, with what they say about parts.

Our own rather than lifelines': that one mishandles lives it cannot identify, gives its limits on the natural scale, and
differentiates by machine, at a tenth of the speed, what is written out here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.estimate import Band, Estimate, check_share, estimate_from_log, two_sided_z
from maintain.core.identifiable import check_identifiable, no_maximum
from maintain.core.likelihood import LogLives, Value, hazard_gain, log_likelihood, log_lives, weibull_mu
from maintain.core.lives import Floats, Lives
from maintain.core.models import LEAST_Z, MODELS, MOST_Z, Model, model_named
from maintain.core.search import maximise
from maintain.errors import InvalidRecord, NotEnoughData

_MANY, _THINNED = 100_000, 16  # with so many lives, the climb begins where it ends with a sixteenth of them
WIDEST_LOG_SIGMA = 7.0  # a shape of 0.001: not a law of life but a search running away


@dataclass(frozen=True)
class Fit:
    """
    A fitted law of life.

    Attributes
    ----------
    model : str
    n, failures : int
    conf : float
        Confidence of all intervals.
    theta : array, shape = (2,)
        mu and log sigma of log T = mu + sigma * Z; log sigma is 0 for the exponential.
    covariance : array, shape = (free, free)
        Of the free ones of `theta`, from the observed information.
    log_likelihood : float
    """

    model: str
    n: int
    failures: int
    conf: float
    theta: Floats
    covariance: Floats
    log_likelihood: float

    @property
    def free(self) -> int:
        """How many parameters were estimated."""
        return int(self.covariance.shape[0])

    @property
    def parameters(self) -> dict[str, Estimate]:
        """Parameters by name, with Wald limits: on the log scale for positive ones, plain for the lognormal's mu."""
        se = np.sqrt(np.diag(self.covariance))
        return model_named(self.model).parameters(float(self.theta[0]), float(self.theta[1]), se, self._z)

    @property
    def aic(self) -> float:
        """Akaike's criterion; less is better."""
        return 2 * self.free - 2 * self.log_likelihood

    @property
    def aicc(self) -> float | None:
        """Akaike's criterion corrected for few lives (n counts all lives); None with too few to correct for."""
        rest = self.n - self.free - 1
        return self.aic + 2 * self.free * (self.free + 1) / rest if rest > 0 else None

    @property
    def mean(self) -> Estimate:
        """Mean life, limits on the log scale; None where the law has no mean."""
        log_mean, slope = model_named(self.model).log_mean(self._sigma)
        if not math.isfinite(log_mean):
            return Estimate(None, None, None)
        return self._log_estimate(float(self.theta[0]) + log_mean, slope)

    @property
    def median(self) -> Estimate:
        """The time by which half have failed."""
        return self.quantile(0.5)

    @property
    def b10(self) -> Estimate:
        """The time by which a tenth have failed."""
        return self.quantile(0.1)

    def quantile(self, share: float) -> Estimate:
        """
        Return the time by which a share has failed.

        Parameters
        ----------
        share : float
            Share failed, between 0 and 1; 0.1 gives B10.

        Returns
        -------
        Estimate
            With delta-method limits on the log scale.
        """
        lean = self._sigma * float(model_named(self.model).quantile(np.array(check_share(share, "share"))))
        return self._log_estimate(float(self.theta[0]) + lean, lean)

    def survival_at(self, times: ArrayLike) -> Band:
        """
        Return the share still working at any times.

        Parameters
        ----------
        times : array-like, shape = (k,)
            Use, in the unit of the lives.

        Returns
        -------
        Band
            With delta-method limits on the log(-log) scale.
        """
        z = self._standard(np.atleast_1d(np.asarray(times, dtype=np.float64)))
        gain, by_theta, _ = hazard_gain(model_named(self.model), np.full_like(z, LEAST_Z), z, self._sigma)
        known = gain > 0
        se = np.divide(self._spread(by_theta), gain, out=np.zeros_like(gain), where=known)
        factor = np.exp(np.minimum(self._z * se, MOST_Z))
        return Band(np.exp(-gain), np.exp(-gain * factor), np.exp(-gain / factor))

    def conditional_failure(self, ages: ArrayLike, further: ArrayLike) -> Band:
        """
        Return the probability of failing within some further use, given working now.

        Parameters
        ----------
        ages : array-like, shape = (k,)
            Use so far; 0 for a new part.
        further : array-like, broadcast against `ages`
            Use to come, not negative.

        Returns
        -------
        Band
            P(T <= age + further | T > age) with delta-method limits on the logit scale.

        Raises
        ------
        InvalidRecord
            If any age or further use is negative.
        """
        age, ahead = np.broadcast_arrays(*(np.atleast_1d(np.asarray(x, dtype=np.float64)) for x in (ages, further)))
        if not ((age >= 0).all() and (ahead >= 0).all()):
            raise InvalidRecord("age and further use must not be negative")
        model, sigma = model_named(self.model), self._sigma
        gain, by_theta, _ = hazard_gain(model, self._standard(age), self._standard(age + ahead), sigma)
        share = -np.expm1(-gain)
        known = (share > 0) & (gain < MOST_Z)
        logit = np.log(np.expm1(gain, out=np.ones_like(gain), where=known))
        half = self._z * np.divide(self._spread(by_theta), share, out=np.zeros_like(gain), where=known)
        lower, upper = (1 / (1 + np.exp(np.clip(-(logit + shift), LEAST_Z, MOST_Z))) for shift in (-half, half))
        # far out in the tails rounding must not put a limit on the wrong side
        lower, upper = np.minimum(lower, share), np.maximum(upper, share)
        return Band(share, np.where(known, lower, share), np.where(known, upper, share))

    @property
    def _sigma(self) -> float:
        return math.exp(self.theta[1])

    @property
    def _z(self) -> float:
        return two_sided_z(self.conf)

    def _standard(self, times: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            z: Floats = (np.log(np.maximum(times, 0.0)) - self.theta[0]) / self._sigma
        return np.maximum(z, LEAST_Z)

    def _log_estimate(self, log_value: float, by_log_sigma: float) -> Estimate:
        slope = np.array([1.0, by_log_sigma])[: self.free]
        return estimate_from_log(log_value, float(np.sqrt(slope @ self.covariance @ slope)), self._z)

    def _spread(self, by_theta: Floats) -> Floats:
        slope = by_theta[: self.free]
        spread: Floats = np.sqrt(np.einsum("in,ij,jn->n", slope, self.covariance, slope))
        return spread


def fit(lives: Lives, model: str = "weibull", conf: float = 0.95) -> Fit:
    """
    Fit one law of life by maximum likelihood.

    Parameters
    ----------
    lives : Lives
        Any mix of exact, right-censored, interval-censored and left-truncated lives.
    model : str
        "weibull", "lognormal", "loglogistic" or "exponential".
    conf : float
        Confidence of the two-sided intervals.

    Returns
    -------
    Fit

    Raises
    ------
    NotEnoughData
        If the lives cannot settle the parameters.
    NotFound
        If there is no such model.
    InvalidRecord
        If `conf` is not between 0 and 1.

    References
    ----------
    Lawless (2003), Statistical Models and Methods for Lifetime Data, 2nd ed., chapters 2, 4 and 5.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> fitted = fit(lives_from_times([3, 5, 9], [True, True, False]), "exponential")
    >>> round(fitted.parameters["scale"].value, 3)
    8.5
    """
    two_sided_z(conf)
    law = model_named(model)
    check_identifiable(lives, law)
    data = log_lives(lives)
    found = _climb(law, data, _start(data)[: law.free])
    if found is None or _full(found[0])[1] > WIDEST_LOG_SIGMA:
        raise no_maximum(lives, law)
    point, best = found
    theta = _full(point) + np.array([data.unit, 0.0])
    covariance: Floats = np.linalg.inv(-best.hessian).astype(np.float64)
    return Fit(law.name, lives.n, lives.failures, conf, theta, covariance, best.value)


def fit_best(lives: Lives, conf: float = 0.95) -> tuple[Fit, ...]:
    """
    Fit every law that the lives can settle, best first.

    Parameters
    ----------
    lives : Lives
    conf : float
        Confidence of the two-sided intervals.

    Returns
    -------
    tuple of Fit
        By rising AICc (AIC among those with too few lives to correct for, after the others).

    Raises
    ------
    NotEnoughData
        If not even the exponential can be fitted.
    """
    fits = [fit(lives, "exponential", conf)]
    for name in [name for name in MODELS if name != "exponential"]:
        try:
            fits.append(fit(lives, name, conf))
        except NotEnoughData:
            continue
    return tuple(sorted(fits, key=lambda one: (one.aicc is None, one.aicc if one.aicc is not None else one.aic)))


def _climb(law: Model, data: LogLives, start: Floats) -> tuple[Floats, Value] | None:
    if data.worked.size > _MANY:
        near = _climb(law, data.thinned(_THINNED), start)
        start = start if near is None else near[0]
    return maximise(lambda theta: log_likelihood(law, data, _full(theta)), start)


def _full(theta: Floats) -> Floats:
    """Return (mu, log sigma); sigma is 1 where it is not free."""
    return theta if theta.size == 2 else np.array([theta[0], 0.0])


def _start(data: LogLives) -> Floats:
    """Return a start: sigma from the spread of the failures, then the Weibull mu that best fits with it."""
    spread = float(np.std(np.concatenate((data.exact, data.until))))
    sigma = min(max(spread, 0.1), 3.0) if spread > 0 else 1.0
    return np.array([weibull_mu(data, sigma), math.log(sigma)])
