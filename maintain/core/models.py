"""The four laws of life that can be fitted.

Each says how log T = mu + sigma * Z behaves: a law is the cumulative hazard of Z and little else. With that one form,
exact, censored, interval and truncated lives share one likelihood (`maintain.core.likelihood`).
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import ClassVar

import numpy as np

from maintain.core.estimate import Estimate, estimate_from_log
from maintain.core.lives import Floats
from maintain.errors import NotFound

Derivatives = tuple[Floats, Floats, Floats]  # a function of z with its first and second derivative

LEAST_Z = -300.0  # below it a cumulative hazard, about exp(z), is as good as none
MOST_Z = 300.0  # above it exp(z) is sure failure, and its products would soon leave the floats


class Model(ABC):
    """
    A law of life, log T = mu + sigma * Z.

    Attributes
    ----------
    name : str
        As users write it.
    free : int
        Parameters estimated: mu, then log sigma. One: sigma is 1.
    """

    name: ClassVar[str]
    free: ClassVar[int] = 2

    @abstractmethod
    def cumulative_hazard(self, z: Floats) -> Derivatives:
        """Return -log P(Z > z)."""

    @abstractmethod
    def log_hazard(self, z: Floats) -> Derivatives:
        """Return the log of the derivative of the cumulative hazard."""

    @abstractmethod
    def quantile(self, share: Floats) -> Floats:
        """Return the z with P(Z <= z) = share."""

    @abstractmethod
    def log_mean(self, sigma: float) -> tuple[float, float]:
        """Return log E exp(sigma * Z) and its derivative by log sigma; inf where there is no mean."""

    def parameters(self, mu: float, log_sigma: float, se: Floats, z: float) -> dict[str, Estimate]:
        """
        Return the parameters as users know them.

        Parameters
        ----------
        mu, log_sigma : float
        se : array, shape = (free,)
            Standard errors of mu and log sigma.
        z : float
            Normal quantile of the interval; positive parameters have theirs on the log scale, mu plainly.
        """
        return {
            "shape": estimate_from_log(-log_sigma, float(se[1]), z),
            "scale": estimate_from_log(mu, float(se[0]), z),
        }


class Weibull(Model):
    """S(t) = exp(-(t / scale)^shape): hazard rising for shape > 1, falling for shape < 1."""

    name = "weibull"

    def cumulative_hazard(self, z: Floats) -> Derivatives:
        within = np.minimum(z, MOST_Z)
        hazard = np.exp(within)
        return hazard * (1 + z - within), hazard, hazard  # goes on rising beyond MOST_Z, as a straight line

    def log_hazard(self, z: Floats) -> Derivatives:
        return z, np.ones_like(z), np.zeros_like(z)

    def quantile(self, share: Floats) -> Floats:
        return np.log(-np.log1p(-share))

    def log_mean(self, sigma: float) -> tuple[float, float]:
        from scipy.special import gammaln, psi

        return float(gammaln(1 + sigma)), float(sigma * psi(1 + sigma))


class Exponential(Weibull):
    """S(t) = exp(-t / scale): the hazard never changes; scale is the mean life."""

    name = "exponential"
    free = 1

    def parameters(self, mu: float, log_sigma: float, se: Floats, z: float) -> dict[str, Estimate]:
        return {"scale": estimate_from_log(mu, float(se[0]), z)}


class Lognormal(Model):
    """log T is normal with mean mu and standard deviation sigma: hazard rising, then falling."""

    name = "lognormal"

    def cumulative_hazard(self, z: Floats) -> Derivatives:
        from scipy.special import log_ndtr

        value: Floats = -log_ndtr(-z)
        slope = np.exp(self._log_density(z) + value)
        return value, slope, slope * (slope - z)

    def log_hazard(self, z: Floats) -> Derivatives:
        hazard, slope, curvature = self.cumulative_hazard(z)
        return self._log_density(z) + hazard, slope - z, curvature - 1

    def quantile(self, share: Floats) -> Floats:
        from scipy.special import ndtri

        return np.asarray(ndtri(share))

    def log_mean(self, sigma: float) -> tuple[float, float]:
        return sigma**2 / 2, sigma**2

    def parameters(self, mu: float, log_sigma: float, se: Floats, z: float) -> dict[str, Estimate]:
        spread = float(se[0])
        return {
            "mu": Estimate(mu, mu - z * spread, mu + z * spread, spread),
            "sigma": estimate_from_log(log_sigma, float(se[1]), z),
        }

    @staticmethod
    def _log_density(z: Floats) -> Floats:
        density: Floats = -0.5 * (z * z + np.log(2 * np.pi))
        return density


class LogLogistic(Model):
    """S(t) = 1 / (1 + (t / scale)^shape): scale is the median; hazard rising, then falling, for shape > 1."""

    name = "loglogistic"

    def cumulative_hazard(self, z: Floats) -> Derivatives:
        from scipy.special import expit

        share = expit(z)
        return np.logaddexp(0.0, z), share, share * expit(-z)

    def log_hazard(self, z: Floats) -> Derivatives:
        from scipy.special import expit

        rest = expit(-z)
        return -np.logaddexp(0.0, -z), rest, -rest * expit(z)

    def quantile(self, share: Floats) -> Floats:
        return np.log(share) - np.log1p(-share)

    def log_mean(self, sigma: float) -> tuple[float, float]:
        if sigma >= 1:  # so heavy a tail has no mean
            return float("inf"), float("nan")
        angle = np.pi * sigma
        return float(np.log(angle / np.sin(angle))), float(1 - angle / np.tan(angle))


MODELS: dict[str, Model] = {law.name: law for law in (Weibull(), Lognormal(), LogLogistic(), Exponential())}


def model_named(name: str) -> Model:
    """Return the model of this name; raise NotFound naming those there are."""
    if name not in MODELS:
        raise NotFound(f"no model named {name!r}", hint=f"choose from {', '.join(MODELS)}", models=list(MODELS))
    return MODELS[name]
