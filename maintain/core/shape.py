"""What a shape says: its likelihood-ratio limits, and in words whether parts wear out."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from maintain.core.estimate import two_sided_z
from maintain.core.fit import Fit
from maintain.core.likelihood import LogLives, Value, log_likelihood, log_lives, weibull_mu
from maintain.core.lives import Floats, Lives
from maintain.core.models import Model, model_named
from maintain.core.search import maximise
from maintain.errors import InvalidRecord

FARTHEST = 8.0  # in log shape: beyond a factor of three thousand there is no limit to speak of
STEADY_FROM, STEADY_TO = 0.8, 1.25  # shapes whose hazard hardly changes over a life; common practice, no source


def profile_limits(lives: Lives, fitted: Fit) -> tuple[float | None, float | None]:
    """
    Return likelihood-ratio limits of a fit's shape (of sigma, for the lognormal).

    Parameters
    ----------
    lives : Lives
        Those it was fitted to.
    fitted : Fit
        Of a model with two parameters; its `conf` is used.

    Returns
    -------
    tuple of float or None
        Lower and upper limit; None where the likelihood never falls far enough to give one.

    Raises
    ------
    InvalidRecord
        If the model has no shape.

    References
    ----------
    Lawless (2003), Statistical Models and Methods for Lifetime Data, 2nd ed., section 5.2.
    """
    law, data = model_named(fitted.model), log_lives(lives)
    if law.free < 2:
        raise InvalidRecord(f"the {law.name} has no shape to give limits for")
    floor = fitted.log_likelihood - two_sided_z(fitted.conf) ** 2 / 2
    log_sigma, se = float(fitted.theta[1]), float(np.sqrt(fitted.covariance[1, 1]))

    def short(offset: float) -> float:
        return floor - _profile(law, data, log_sigma + offset)

    down, up = _crossing(short, -se), _crossing(short, se)
    limits = [None if end is None else math.exp(log_sigma + end) for end in (down, up)]
    if law.name == "lognormal":
        return limits[0], limits[1]
    shapes = [None if limit is None else 1 / limit for limit in limits]
    return shapes[1], shapes[0]


def hazard_verdict(lower: float | None, upper: float | None) -> str:
    """
    Say in words what the interval of a Weibull shape allows.

    Parameters
    ----------
    lower, upper : float or None
        Limits of the shape; None: no limit.

    Returns
    -------
    str
        "wear-out" if the shape is surely above 1, "early failures" if surely below, "steady" if the whole interval
        is close to 1 (so a small sample never proves it), else "can't tell yet".

    Examples
    --------
    >>> hazard_verdict(0.6, 1.7)
    "can't tell yet"
    """
    low, high = lower or 0.0, math.inf if upper is None else upper
    if low > 1:
        return "wear-out"
    if high < 1:
        return "early failures"
    return "steady" if low >= STEADY_FROM and high <= STEADY_TO else "can't tell yet"


def _profile(law: Model, data: LogLives, log_sigma: float) -> float:
    """Return the highest log-likelihood with this sigma."""
    sigma = math.exp(log_sigma)

    def objective(point: Floats) -> Value:
        whole = log_likelihood(law, data, np.array([point[0] * sigma, log_sigma]))
        return Value(whole.value, whole.gradient[:1] * sigma, whole.hessian[:1, :1] * sigma**2)

    start = np.array([weibull_mu(data, sigma) / sigma])
    found = maximise(objective, start)
    return objective(start).value if found is None else found[1].value


def _crossing(short: Callable[[float], float], step: float) -> float | None:
    """Return the offset at which `short` turns positive, going out from 0 in ever longer steps."""
    from scipy.optimize import brentq

    inner, outer = 0.0, step
    while not short(outer) > 0:
        inner, outer = outer, 1.5 * outer
        if abs(outer) > FARTHEST:
            return None
    return float(brentq(short, inner, outer, xtol=1e-12))
