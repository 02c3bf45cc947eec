"""What pictures show of lives: curves with their limits, and failures on probability paper."""

from __future__ import annotations

import math

import numpy as np

from maintain.core.at_risk import observed
from maintain.core.curve import SurvivalCurve
from maintain.core.estimate import Estimate
from maintain.core.fit import Fit
from maintain.core.lives import Bools, Floats, Lives
from maintain.core.midpoints import at_middle
from maintain.core.probability_plot import fitted_line, paper_height, probability_points
from maintain.core.turnbull import interval_curve
from maintain.results.life import Drawn, Numbers, Paper

MOST_READINGS = 6
ACROSS = 1000  # steps that can be told apart across a picture
TICKS_ACROSS = 250
LINE_POINTS = 80
SHARES = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9, 0.95, 0.99, 0.999)


def round_times(longest: float, start: float = 0.0) -> tuple[float, ...]:
    """
    Return some round times after the start and up to the longest.

    Examples
    --------
    >>> round_times(730)
    (200.0, 400.0, 600.0)
    >>> round_times(1153, start=816)
    (900.0, 1000.0, 1100.0)
    """
    span = longest - start
    unit = 10.0 ** math.floor(math.log10(span / MOST_READINGS))
    step = next(unit * by for by in (1, 2, 5, 10) if span <= unit * by * MOST_READINGS)
    first = math.floor(start / step) + 1
    return tuple(float(step * count) for count in range(first, math.floor(longest / step) + 1)) or (longest,)


def drawn_steps(curve: SurvivalCurve, watched_at: Floats, whole: SurvivalCurve) -> Drawn:
    """A curve as far as it says anything, with its censorings and how many of all were watched at some times."""
    end = curve.end if curve.emptied_at is None else curve.emptied_at
    time = np.unique(np.concatenate(([curve.start], curve.time[curve.time <= end], [end])))
    time = time[_told_apart(time, ACROSS)]
    points, hazard = curve.survival_at(time), curve.hazard_at(time)
    last_seen = np.unique(curve.censored[curve.censored <= end])
    last_seen = last_seen[_told_apart(last_seen, TICKS_ACROSS)]
    return Drawn(
        time=_column(points.time),
        value=_column(points.survival),
        lower=_column(points.lower),
        upper=_column(points.upper),
        stepped=True,
        hazard=_column(hazard.value),
        hazard_lower=_column(np.nan_to_num(hazard.lower)),
        hazard_upper=_column(np.nan_to_num(hazard.upper)),
        seen_working=_column(last_seen),
        seen_at=_column(curve.survival_at(last_seen).survival),
        watched_at=_column(watched_at),
        watched=tuple(int(n) for n in whole.survival_at(_not_before(watched_at)).at_risk),
    )


def corners_of(lives: Lives, given: float | None = None) -> Floats:
    """Where a curve from intervals bends, as far as it says anything: the ends of its innermost intervals."""
    whole = interval_curve(lives)
    found = whole if given is None else whole.given(given)
    if found is None:
        return np.empty(0)
    corners = np.unique(np.concatenate((found.left, found.right[np.isfinite(found.right)])))
    corners = corners[(corners > found.start) & (corners <= (found.emptied_at or np.inf))]
    return corners[_told_apart(corners, ACROSS)]


def drawn_corners(lives: Lives, corners: Floats, shares: tuple[Estimate, ...], watched_at: Floats) -> Drawn:
    """A curve from intervals: failures are drawn as spread evenly within each innermost one."""
    seen = observed(lives)
    rows = [(float(watched_at[0]), 1.0, 1.0, 1.0)]
    for corner, each in zip(corners.tolist(), shares, strict=True):
        if each.value is not None:
            lower, upper = (each.value if limit is None else limit for limit in (each.lower, each.upper))
            rows.append((corner, each.value, lower, upper))
    end = float(seen.exit.max())
    if rows[-1][0] < end and not np.isclose(rows[-1][1], 0):
        rows.append((end, *rows[-1][1:]))
    last_seen = np.unique(lives.lower[~lives.failed])
    last_seen = last_seen[_told_apart(last_seen, TICKS_ACROSS)]
    time, value, lower, upper = np.array(rows, dtype=np.float64).T
    return Drawn(
        time=_column(time),
        value=_column(value),
        lower=_column(lower),
        upper=_column(upper),
        stepped=False,
        seen_working=_column(last_seen),
        seen_at=_column(np.interp(last_seen, time, value)),
        watched_at=_column(watched_at),
        watched=tuple(int(n) for n in seen.at_risk(_not_before(watched_at))),
    )


def drawn_paper(lives: Lives, fitted: Fit) -> Paper:
    """Failures on the law's own paper, each at the middle of the interval it is known to, with the law's line."""
    exact = at_middle(lives)
    points = probability_points(exact, fitted)
    kept = np.flatnonzero(_told_apart(np.log(points.time), ACROSS))
    least, most = points.time[0], max(points.time[-1], float(exact.lower.max()))
    times = np.exp(np.linspace(math.log(least) - 0.15, math.log(most) + 0.15, LINE_POINTS))
    line = fitted_line(fitted, times)
    return Paper(
        time=_column(points.time[kept]),
        height=_column(points.height[kept]),
        line_time=_column(times),
        line=_column(line.value),
        line_lower=_column(line.lower),
        line_upper=_column(line.upper),
        shares=SHARES,
        share_heights=_column(paper_height(SHARES, fitted.model)),
    )


def _not_before(watched_at: Floats) -> Floats:
    """Times at which to count; at the first, where lives enter, just after it: before, nobody is watched yet."""
    return np.append(np.nextafter(watched_at[0], np.inf), watched_at[1:])


def _column(values: Floats) -> Numbers:
    return tuple(values.tolist())


def _told_apart(time: Floats, across: int) -> Bools:
    """Tell which of rising times to draw: the last of those that would fall on one spot."""
    if time.size <= across:
        return np.ones(time.size, dtype=bool)
    spot = np.floor((time - time[0]) / (time[-1] - time[0]) * across)
    return np.append(spot[1:] != spot[:-1], True)
