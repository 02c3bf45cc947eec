"""What is asked of each club, and whether the interval that the program gives holds the truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad

from maintain.core.causes import causes_of_failure
from maintain.core.clustered_curve import clustered_curve
from maintain.core.compare import Ask, compare
from maintain.core.curve import survival_curve
from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.estimate import Estimate
from maintain.core.fit import fit
from maintain.core.lives import lives_from_times
from maintain.core.log_rank import log_rank
from maintain.core.repeats import mean_cumulative, time_between
from maintain.core.trend import trend
from maintain.errors import NotEnoughData
from tests.coverage_study.clubs import LAW, parts, repaired, share_working

# Whether the interval held the truth, by what was asked; None: no interval was given.
Held = dict[str, bool | None]
Question = Callable[[int, np.random.Generator], Held]

DAYS = 400.0


def holds(limits: Estimate, truth: float) -> bool | None:
    """An open side holds everything; both open is no interval."""
    if limits.lower is None and limits.upper is None:
        return None
    return (limits.lower is None or limits.lower <= truth) and (limits.upper is None or truth <= limits.upper)


def _between(lower: float, upper: float, truth: float) -> bool | None:
    return None if np.isnan(lower) or np.isnan(upper) else bool(lower <= truth <= upper)


def curve(n: int, rng: np.random.Generator, *, late: float = 0.0, luck: float = 0.0, ships: int = 1) -> bool | None:
    drawn = survival_curve(parts(rng, ships, n // ships, late=late, luck=luck).lives)
    if drawn.emptied_at is not None and drawn.emptied_at <= DAYS:
        return None
    point = drawn.survival_at(np.array([DAYS]))
    return _between(point.lower[0], point.upper[0], share_working(DAYS, luck))


def life_curve(n: int, rng: np.random.Generator) -> Held:
    return {"share working at 400 days, Kaplan-Meier": curve(n, rng)}


def late_curve(n: int, rng: np.random.Generator) -> Held:
    return {"share working at 400 days, a third of the parts entering late": curve(n, rng, late=1 / 3)}


def curve_by_ship(ships: int, rng: np.random.Generator) -> Held:
    what = "share working at 400 days, ships of 10 parts with luck of their own, ships allowed for"
    club = parts(rng, ships, 10, luck=0.5)
    point = clustered_curve(club.lives, club.ship).survival_at([DAYS])
    return {what: _between(point.lower[0], point.upper[0], share_working(DAYS, 0.5))}


def curve_of_unlike_ships(ships: int, rng: np.random.Generator) -> Held:
    what = "share working at 400 days, ships of 10 parts with luck of their own, ships ignored"
    return {what: curve(10 * ships, rng, luck=0.5, ships=ships)}


def weibull(n: int, rng: np.random.Generator) -> Held:
    names = ("Weibull shape", "Weibull scale", "age by which a tenth have failed (B10)")
    try:
        law = fit(parts(rng, 1, n, late=1 / 3).lives)
    except NotEnoughData:
        return dict.fromkeys(names)
    b10 = LAW.scale * (-np.log(0.9)) ** (1 / LAW.shape)
    limits = (law.parameters["shape"], law.parameters["scale"], law.b10)
    return {
        name: holds(each, truth) for name, each, truth in zip(names, limits, (LAW.shape, LAW.scale, b10), strict=True)
    }


def equal_groups(n: int, rng: np.random.Generator) -> Held:
    try:
        p = log_rank(parts(rng, 1, n).lives, np.arange(n) % 2).p
    except NotEnoughData:
        return {"two equal groups, log-rank": None}
    return {"two equal groups, log-rank": p >= 0.05}


def equal_methods_by_ship(ships: int, rng: np.random.Generator, *, careful: bool) -> bool | None:
    """Each ship has one method: what parts of one ship share looks like the method's doing."""
    club = parts(rng, ships, 5, luck=0.5)
    try:
        tested = log_rank(club.lives, club.ship % 2, clusters={"ship": club.ship})
    except NotEnoughData:
        return None
    return (tested.careful_p if careful else tested.p) >= 0.05


def equal_methods_by_ship_plain(ships: int, rng: np.random.Generator) -> Held:
    what = "two equal methods by ships of 5 parts, log-rank, ships ignored"
    return {what: equal_methods_by_ship(ships, rng, careful=False)}


def equal_methods_by_ship_careful(ships: int, rng: np.random.Generator) -> Held:
    what = "two equal methods by ships of 5 parts, log-rank, ships allowed for"
    return {what: equal_methods_by_ship(ships, rng, careful=True)}


def equal_methods_by_lot(ships: int, rng: np.random.Generator) -> Held:
    """Half of each ship's parts by lot, compared within ships: a fair trial."""
    what = "two equal methods by lot within ships of 6 parts, compared within ships"
    club = parts(rng, ships, 6, luck=0.5)
    try:
        p = log_rank(club.lives, np.arange(club.ship.size) % 2, strata=club.ship).p
    except NotEnoughData:
        return {what: None}
    return {what: p >= 0.05}


def mean_failures_of_unlike_units(n: int, rng: np.random.Generator) -> bool | None:
    found = mean_cumulative(repaired(rng, n), at=[5.0])
    return _between(found.lower[0], found.upper[0], 1.0)


def mean_failures(n: int, rng: np.random.Generator) -> Held:
    return {"mean failures of a unit in 5 years, units unlike": mean_failures_of_unlike_units(n, rng)}


def steady_trend(n: int, rng: np.random.Generator) -> Held:
    """At 10 years a unit has had 5 failures on average."""
    power, laplace, between = "power of time, truly 1", "Laplace's test of no trend", "time between failures"
    watched = repaired(rng, n, unlike=0.0, rate=0.5)
    limits = time_between(watched)
    try:
        found = trend(watched)
    except NotEnoughData:
        return {power: None, laplace: None, between: holds(limits, 2.0)}
    return {power: holds(found.power_law.shape, 1.0), laplace: found.laplace.p >= 0.05, between: holds(limits, 2.0)}


def trend_of_one_unit(n: int, rng: np.random.Generator) -> Held:
    return {f"{what}, a unit alone": held for what, held in steady_trend(n, rng).items()}


def time_between_failures_of_unlike_units(n: int, rng: np.random.Generator) -> Held:
    watched = repaired(rng, n)
    limits = time_between(watched)
    return {"time between failures, units unlike": holds(limits, 5.0)}


def share_of_a_cause(n: int, rng: np.random.Generator) -> bool:
    life, cause = rng.exponential(10, n) + 1e-9, np.where(rng.random(n) < 0.4, "water", "wear")
    end, entry = rng.uniform(4, 15, n), rng.uniform(0, 2, n) * (rng.random(n) < 0.3)
    seen = life > entry
    lives = lives_from_times(np.minimum(life, end)[seen], (life < end)[seen], entry[seen])
    curves = {curve.cause: curve for curve in causes_of_failure(lives, cause[seen], at=[5.0]).curves}
    truth = 0.4 * (1 - np.exp(-0.5))
    return "water" in curves and bool(curves["water"].lower[0] <= truth <= curves["water"].upper[0])


def cause(n: int, rng: np.random.Generator) -> Held:
    return {"share failed by one of two causes, Aalen-Johansen": share_of_a_cause(n, rng)}


def hazard_ratio_with_ships(ships: int, rng: np.random.Generator) -> bool:
    ship = np.repeat(np.arange(ships), 5)
    x = 0.7 * rng.normal(size=ships)[ship] + 0.7 * rng.normal(size=ship.size)
    life, end = rng.exponential(np.exp(-0.5 * x)), rng.uniform(0.5, 3, ships)[ship]
    effect = cox_effects(lives_from_times(np.minimum(life, end), life < end), {"x": x}, cluster=ship).effects[0]
    return effect.lower <= np.exp(0.5) <= effect.upper


def hazard_ratio(ships: int, rng: np.random.Generator) -> Held:
    return {"hazard ratio, Cox, ships of 5 parts allowed for": hazard_ratio_with_ships(ships, rng)}


def ratio_of_a_method(ships: int, rng: np.random.Generator, *, careful: bool) -> bool:
    """Each ship has one method and luck of its own."""
    club = parts(rng, ships, 5, luck=0.5)
    cluster = club.ship if careful else None
    effect = cox_effects(club.lives, {"method": (club.ship % 2).astype(float)}, cluster=cluster).effects[0]
    return effect.lower <= 1 <= effect.upper


def ratio_of_a_method_plain(ships: int, rng: np.random.Generator) -> Held:
    what = "hazard ratio of equal methods by ships of 5 parts, Cox, ships ignored"
    return {what: ratio_of_a_method(ships, rng, careful=False)}


def ratio_of_a_method_careful(ships: int, rng: np.random.Generator) -> Held:
    what = "hazard ratio of equal methods by ships of 5 parts, Cox, ships allowed for"
    return {what: ratio_of_a_method(ships, rng, careful=True)}


def difference_of_restricted_means(n: int, rng: np.random.Generator) -> bool:
    group = np.arange(n) % 2
    life, end = rng.weibull(1.5, n) * (8 + 4 * group), rng.uniform(8, 20, n)
    lives = lives_from_times(np.minimum(life, end), life < end)
    gap = compare(lives, group, ask=Ask(tau=8)).pairs[0].mean_difference
    if gap is None or gap.estimate.lower is None or gap.estimate.upper is None:
        return False
    truth = quad(lambda time: np.exp(-((time / 12) ** 1.5)) - np.exp(-((time / 8) ** 1.5)), 0, 8)[0]
    return bool(gap.estimate.lower <= truth <= gap.estimate.upper)


def mean_difference(n: int, rng: np.random.Generator) -> Held:
    return {"difference of restricted means, two groups": difference_of_restricted_means(n, rng)}


def time_ratio(n: int, rng: np.random.Generator) -> bool:
    x = rng.normal(size=n)
    life, end = rng.weibull(1.5, n) * np.exp(0.5 * x), rng.uniform(0.5, 3, n)
    effect = accelerated_effects(lives_from_times(np.minimum(life, end), life < end), {"x": x}).effects[0]
    return effect.lower <= np.exp(0.5) <= effect.upper


def life_ratio(n: int, rng: np.random.Generator) -> Held:
    return {"ratio of lives, Weibull regression": time_ratio(n, rng)}


@dataclass(frozen=True)
class Case:
    """
    What is asked of clubs of several sizes.

    Attributes
    ----------
    ask : Question
    of : str
        What the size counts.
    sizes : tuple of int
    promised : int or None
        The size from which theory promises 95 in 100, or near it; None: it promises nothing, and the study says by how
        much it falls short.
    """

    ask: Question
    of: str
    sizes: tuple[int, ...]
    promised: int | None


CASES = (
    Case(life_curve, "parts", (200, 50, 10), 50),
    Case(late_curve, "parts", (200, 50), 50),
    Case(curve_of_unlike_ships, "ships", (40, 16), None),
    Case(curve_by_ship, "ships", (40, 16, 8), 16),
    Case(weibull, "parts", (200, 50, 20, 10), 200),
    Case(equal_groups, "parts", (200, 50, 16), 16),
    Case(equal_methods_by_ship_plain, "ships", (40, 16, 8), None),
    Case(equal_methods_by_ship_careful, "ships", (40, 16, 8), 16),
    Case(equal_methods_by_lot, "ships", (40, 16, 8), 8),
    Case(mean_difference, "parts", (100, 20), 100),
    Case(cause, "parts", (100, 15), 100),
    Case(hazard_ratio, "ships", (100, 20, 10), 100),
    Case(ratio_of_a_method_plain, "ships", (40, 16), None),
    Case(ratio_of_a_method_careful, "ships", (40, 16), 40),
    Case(life_ratio, "parts", (100, 15), 100),
    Case(mean_failures, "units", (60, 16, 8), 60),
    Case(steady_trend, "units", (16,), 16),
    Case(trend_of_one_unit, "units", (1,), None),
    Case(time_between_failures_of_unlike_units, "units", (60, 16, 8), 60),
)
