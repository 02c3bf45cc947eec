"""Student's t for whole degrees of freedom, without any library: for answers that must not wait for one to load."""

from __future__ import annotations

import math

from maintain.errors import InvalidRecord

_HALVINGS = 200  # of an angle below pi/2: far beyond the last digit, and an end if rounding never lets it settle


def two_sided_t(conf: float, df: int) -> float:
    """
    Return the quantile of Student's t that a two-sided interval needs.

    Parameters
    ----------
    conf : float
        Confidence, between 0 and 1.
    df : int
        Degrees of freedom, at least 1.

    Raises
    ------
    InvalidRecord
        If `conf` is not between 0 and 1, or `df` is below 1.

    References
    ----------
    Abramowitz and Stegun (1964), 26.7.3 and 26.7.4: the probability within ±t as a finite sum in the angle
    arctan(t / sqrt(df)); here it is turned round by halving.

    Examples
    --------
    >>> round(two_sided_t(0.95, 1), 3), round(two_sided_t(0.95, 10), 3)
    (12.706, 2.228)
    """
    if not 0 < conf < 1:
        raise InvalidRecord(f"confidence {conf:g} is not between 0 and 1", hint="write for example 0.95")
    if df < 1:
        raise InvalidRecord(f"{df} degrees of freedom are too few", hint="at least 1")
    low, high = 0.0, math.pi / 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if _within(middle, df) < conf else (low, middle)
    return math.sqrt(df) * math.tan(high)


def _within(angle: float, df: int) -> float:
    """Probability that Student's t lies within ±sqrt(df)·tan(angle)."""
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = df % 2
    term = cosine if odd else 1.0
    total = term if df > 1 else 0.0
    for power in range(3 if odd else 2, df, 2):
        term *= cosine * cosine * (power - 1) / power
        total += term
    return 2 / math.pi * (angle + sine * total) if odd else sine * total
