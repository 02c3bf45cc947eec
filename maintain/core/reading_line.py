"""A straight line through readings of a part against its age, and when it meets a limit.

Plain Python: a club has some readings of a part, and the check in the morning must not wait for a library.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from maintain.core.student import two_sided_t
from maintain.errors import NotEnoughData

_ROUNDING = 1e-14
FEWEST = 3  # two points have a line and no scatter


@dataclass(frozen=True)
class ReadingLine:
    """
    A least-squares line.

    Attributes
    ----------
    n : int
        Readings.
    slope : float
        Change per day.
    mean_age, mean_value : float
        The line goes through them.
    spread : float
        Sum of squared differences of the ages from their mean.
    scatter : float
        Standard deviation of readings about the line.
    t : float
        Quantile of Student's t that the intervals use.
    """

    n: int
    slope: float
    mean_age: float
    mean_value: float
    spread: float
    scatter: float
    t: float


@dataclass(frozen=True)
class Limits:
    """A value and its interval."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Crossing:
    """
    When a line meets a limit.

    Attributes
    ----------
    heads : str
        "for it", "away from it", or "can't tell": the interval of the slope holds both.
    age : float, optional
        Where the line meets it; None unless it heads for it.
    earliest, latest : float, optional
        Interval of that age. Where it can't be told, `earliest` is the age until which the data still speak against it,
        None if they never do.
    """

    heads: str
    age: float | None = None
    earliest: float | None = None
    latest: float | None = None


def fit_line(
    ages: Sequence[float], values: Sequence[float], conf: float = 0.95, *, rounded_to: float = 0.0
) -> ReadingLine:
    """
    Fit a straight line to readings.

    Parameters
    ----------
    ages : sequence of float, shape (n,)
        Days; several readings may have one age.
    values : sequence of float, shape (n,)
        In the measure's unit.
    conf : float
        Confidence of all intervals.
    rounded_to : float
        Last digit to which values were noted. Readings that lie on a line to the last digit still scatter by the
        rounding, of which the standard deviation is this over sqrt(12).

    Raises
    ------
    NotEnoughData
        If there are fewer than three readings, or all are of one age.

    References
    ----------
    Draper and Smith (1998), Applied Regression Analysis, 3rd ed., sections 1.3 to 1.5 and 3.1 (from memory).

    Examples
    --------
    >>> line = fit_line([0, 100, 200, 300], [20.0, 21.1, 21.9, 23.0])
    >>> round(line.slope * 100, 3), round(line_at(line, 400).value, 2)
    (0.98, 23.95)
    """
    n = len(ages)
    if n < FEWEST:
        raise NotEnoughData(f"a line needs {FEWEST} readings, and there are {n}", hint="measure again", n=n)
    mean_age, mean_value = math.fsum(ages) / n, math.fsum(values) / n
    spread = math.fsum((age - mean_age) ** 2 for age in ages)
    if spread == 0:
        raise NotEnoughData("all readings are of one day", hint="measure again on another day", n=n)
    pairs = list(zip(ages, values, strict=True))
    slope = math.fsum((age - mean_age) * (value - mean_value) for age, value in pairs) / spread
    if abs(slope) * math.sqrt(spread) <= _ROUNDING * max(map(abs, values)):
        slope = 0.0  # of equal values, but for the rounding of their mean
    rest = math.fsum((value - mean_value - slope * (age - mean_age)) ** 2 for age, value in pairs)
    scatter = math.sqrt(max(rest / (n - 2), rounded_to**2 / 12))
    return ReadingLine(n, slope, mean_age, mean_value, spread, scatter, two_sided_t(conf, n - 2))


def slope_limits(line: ReadingLine) -> Limits:
    """Change per day with its interval."""
    half = line.t * line.scatter / math.sqrt(line.spread)
    return Limits(line.slope, line.slope - half, line.slope + half)


def line_at(line: ReadingLine, age: float) -> Limits:
    """Where the line stands at an age, with the interval of the line."""
    return _about(line, age, _leverage(line, age))


def reading_at(line: ReadingLine, age: float) -> Limits:
    """Where the line stands at an age, with the interval in which one more reading falls."""
    return _about(line, age, 1 + _leverage(line, age))


def crossing(line: ReadingLine, limit: float, *, at_most: bool) -> Crossing:
    """
    When the line crosses a limit from the good side to the bad.

    Parameters
    ----------
    line : ReadingLine
    limit : float
        In the unit of the readings.
    at_most : bool
        True: good readings lie below the limit; False: above.

    Notes
    -----
    The interval holds the ages at which the limit lies within the line's own interval: Fieller's theorem, "regulation"
    in Graybill and Iyer (1994), Regression Analysis, chapter 6. It has two ends only if the slope's interval leaves out
    zero.
    """
    whole = max(abs(line.mean_value - limit), line.t * line.scatter) or 1.0  # so that no square is beyond all numbers
    height, slope, noise = (each / whole for each in (line.mean_value - limit, line.slope, line.t * line.scatter))
    square, constant = slope**2 - noise**2 / line.spread, height**2 - noise**2 / line.n
    if square > 0:
        if (slope > 0) != at_most:
            return Crossing("away from it")
        ends = _roots(square, slope * height, constant)
        return Crossing("for it", line.mean_age - height / slope, *(line.mean_age + end for end in ends))
    if square == 0 or (slope * height) ** 2 <= square * constant:
        return Crossing("can't tell")
    return Crossing("can't tell", earliest=line.mean_age + _roots(square, slope * height, constant)[1])


def _leverage(line: ReadingLine, age: float) -> float:
    return 1 / line.n + (age - line.mean_age) ** 2 / line.spread


def _about(line: ReadingLine, age: float, variance: float) -> Limits:
    value = line.mean_value + line.slope * (age - line.mean_age)
    half = line.t * line.scatter * math.sqrt(variance)
    return Limits(value, value - half, value + half)


def _roots(square: float, half_linear: float, constant: float) -> tuple[float, float]:
    """Both roots of square·u² + 2·half_linear·u + constant, the smaller first; they are known to be real."""
    root = math.sqrt(max(half_linear**2 - square * constant, 0.0))
    stable = -(half_linear + math.copysign(root, half_linear))  # no difference of nearly equal numbers
    if stable == 0:
        return 0.0, 0.0
    low, high = sorted((stable / square, constant / stable))
    return low, high
