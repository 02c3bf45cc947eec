"""An estimate with its interval, for one number or for many, and the scales on which intervals are made."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from maintain.core.lives import Floats
from maintain.errors import InvalidRecord


@dataclass(frozen=True)
class Estimate:
    """
    One number and its interval.

    Attributes
    ----------
    value, lower, upper : float or None
        None: the data do not say (a median not reached, a limit beyond all bounds, a mean that is infinite).
    se : float or None
        Standard error on the scale of `value`; None where the interval is not made from one.
    """

    value: float | None
    lower: float | None
    upper: float | None
    se: float | None = None


@dataclass(frozen=True)
class Band:
    """Estimates at several points: `value`, `lower` and `upper` are arrays of one shape; nan: the data do not say."""

    value: Floats
    lower: Floats
    upper: Floats


def two_sided_z(conf: float) -> float:
    """
    Return the normal quantile of a two-sided interval.

    Parameters
    ----------
    conf : float
        Confidence, between 0 and 1.

    Raises
    ------
    InvalidRecord
        If `conf` is not between 0 and 1.

    Examples
    --------
    >>> round(two_sided_z(0.95), 6)
    1.959964
    """
    return NormalDist().inv_cdf((1 + check_share(conf, "confidence")) / 2)


def check_share(share: float, name: str) -> float:
    """Return `share` if it lies strictly between 0 and 1; else raise InvalidRecord naming it."""
    if not 0 < share < 1:
        raise InvalidRecord(f"{name} must be between 0 and 1, not {share}", hint="write 95 % as 0.95")
    return float(share)


def estimate_from_log(log_value: float, se_log: float, z: float) -> Estimate:
    """Return a positive estimate with Wald limits made on the log scale: exp(log_value -/+ z * se_log)."""
    value = exp_or_none(log_value)
    return Estimate(
        value=value,
        lower=math.exp(max(log_value - z * se_log, -745.0)),
        upper=exp_or_none(log_value + z * se_log),
        se=None if value is None else value * se_log,
    )


def exp_or_none(exponent: float) -> float | None:
    """Return exp(exponent), or None where that is beyond the largest float: in practice no limit at all."""
    return math.exp(exponent) if exponent < 700 else None
