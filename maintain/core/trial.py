"""A fair trial of two or more ways to waterproof: how many parts, which gets which by lot, and when to stop.

The later analysis is the log-rank test of `maintain.core.compare` within the blocks of `blocks_of`, at the stop date
fixed here and not when the figures happen to please.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.at_risk import codes_of
from maintain.core.bounds import failure_share_bound
from maintain.core.estimate import two_sided_z
from maintain.core.sample_size import (
    design_effect,
    events_by_schoenfeld,
    hazard_ratio_of_shares,
    lives_for_two_shares,
    power_for_two_shares,
)
from maintain.errors import InvalidRecord, NotEnoughData


@dataclass(frozen=True)
class TrialAsk:
    """
    The difference worth having and how surely it is to be found.

    Attributes
    ----------
    first, second : float
        Share of parts failing within `days`, by the usual method and by the one on trial.
    days : float
        Length of time to which the shares refer: a season.
    power, conf : float
        Chance of finding the difference; one less the two-sided level.
    cluster_size : float
        Parts on trial on one ship.
    icc : float
        How much parts of one ship fail together, 0 to 1. Common practice, no source: 0.1 to 0.3.
    """

    first: float
    second: float
    days: float = 365.0
    power: float = 0.8
    conf: float = 0.95
    cluster_size: float = 1.0
    icc: float = 0.0


@dataclass(frozen=True)
class TrialPlan:
    """
    A trial of two groups.

    Attributes
    ----------
    ask : TrialAsk
    design_effect : float
    per_group : int
        Parts in each group, by failing shares at the end of `days`, ships allowed for.
    failures_needed : int
        Failures in both groups at which the log-rank test has the power asked, ships allowed for.
    per_group_by_failures : int
        Parts in each group that give so many failures within `days`.
    hazard_ratio : float
        Second over first, that goes with the shares.
    zero_failures_bound : float
        Upper 95 % limit on the failing share of a group of `per_group` in which nothing has failed.
    """

    ask: TrialAsk
    design_effect: float
    per_group: int
    failures_needed: int
    per_group_by_failures: int
    hazard_ratio: float
    zero_failures_bound: float


def plan_trial(ask: TrialAsk) -> TrialPlan:
    """
    Work out how large a trial must be.

    Parameters
    ----------
    ask : TrialAsk

    Returns
    -------
    TrialPlan
        Where lots are drawn within ships, the method differs within each ship and clustering costs less than the
        design effect says: the sizes are then on the careful side.

    Raises
    ------
    InvalidRecord
        If a share is not between 0 and 1, both are equal, or the clustering is impossible.

    References
    ----------
    Fleiss, Levin and Paik (2003), equation 4.14; Schoenfeld (1981); Kish (1965).

    Examples
    --------
    >>> plan_trial(TrialAsk(0.5, 0.1)).per_group
    20
    """
    effect = design_effect(ask.cluster_size, ask.icc)
    per_group = effect * lives_for_two_shares(ask.first, ask.second, ask.power, conf=ask.conf)
    ratio = hazard_ratio_of_shares(ask.first, ask.second)
    failures = effect * events_by_schoenfeld(ratio, ask.power, conf=ask.conf)
    return TrialPlan(
        ask=ask,
        design_effect=effect,
        per_group=math.ceil(per_group),
        failures_needed=math.ceil(failures),
        per_group_by_failures=math.ceil(failures / (ask.first + ask.second)),
        hazard_ratio=ratio,
        zero_failures_bound=failure_share_bound(0, math.ceil(per_group)),
    )


def days_to_failures(ask: TrialAsk, per_group: int, failures: float) -> float | None:
    """
    Return after how many days so many failures are expected in both groups, each with a steady hazard.

    Parameters
    ----------
    ask : TrialAsk
        For the shares failing within `days`.
    per_group : int
        Parts on trial in each group.
    failures : float
        Failures wanted.

    Returns
    -------
    float or None
        None if the parts on trial are not that many: then fix a date, and expect to be unable to tell.

    Examples
    --------
    >>> ask = TrialAsk(0.5, 0.5, days=100)
    >>> round(days_to_failures(ask, 10, 10), 6)
    100.0
    """
    from scipy.optimize import brentq

    if failures >= 2 * per_group:
        return None
    rates = [-math.log1p(-share) / ask.days for share in (ask.first, ask.second)]

    def missing(days: float) -> float:
        return failures + per_group * sum(math.expm1(-rate * days) for rate in rates)

    latest = ask.days
    while missing(latest) > 0:
        latest *= 2
    return float(brentq(missing, 0.0, latest))


def bound_on_looking(share: float, conf: float = 0.95) -> float:
    """
    Return how large the log-rank z must be to stop a trial at a look, however often one looks.

    Parameters
    ----------
    share : float
        Share of the planned failures that have happened; 1 at the end and after it.
    conf : float
        One less the two-sided level of the whole trial.

    Returns
    -------
    float
        Two-sided: methods that are truly equal pass it at any look, in either direction, with at most 1 - conf.

    Notes
    -----
    O'Brien and Fleming's rule with looks without number: z times the root of the share is a Brownian motion, which
    passes a level once as often again as it ends beyond it. Who looks once, at the end, may use the plain z instead.

    References
    ----------
    O'Brien and Fleming (1979), Biometrics 35, 549-556; Lan and DeMets (1983), Biometrika 70, 659-663.

    Examples
    --------
    >>> round(bound_on_looking(1.0), 3), round(bound_on_looking(0.25), 3)
    (2.241, 4.483)
    """
    if not share > 0:
        raise NotEnoughData("no failure yet: nothing to look at", hint="look again after the first failures")
    return two_sided_z((1 + conf) / 2) / math.sqrt(min(share, 1.0))


def detectable_share(ask: TrialAsk, per_group: int) -> float | None:
    """
    Return the largest failing share below `ask.first` that groups of this size can tell from it; None if none.

    Parameters
    ----------
    ask : TrialAsk
        `second` is not looked at.
    per_group : int
        Parts the club has for each group.
    """
    from scipy.optimize import brentq

    effect = design_effect(ask.cluster_size, ask.icc)

    def shortfall(share: float) -> float:
        return ask.power - power_for_two_shares(per_group, ask.first, share, conf=ask.conf, design_effect=effect)

    least = 1e-6
    if per_group < 1 or shortfall(least) > 0:
        return None
    return float(brentq(shortfall, least, ask.first * (1 - 1e-9)))


def assign_by_lot(
    ship: ArrayLike, zone: ArrayLike, methods: tuple[str, ...], rng: np.random.Generator
) -> NDArray[np.str_]:
    """
    Draw which part gets which method, evenly within every ship and zone, and within every zone as a whole.

    Parameters
    ----------
    ship, zone : array-like, shape = (n,)
        Where each part on trial sits.
    methods : tuple of str
        Two or more methods.
    rng : Generator
        The same seed and rows draw the same lots.

    Returns
    -------
    array of str, shape = (n,)
        Within each ship and zone the numbers of two methods differ by at most 1.

    Raises
    ------
    InvalidRecord
        If there are fewer than two different methods or a label is missing.
    NotEnoughData
        If there are fewer parts than methods.

    References
    ----------
    Permuted blocks: Pocock (1983), Clinical Trials, chapter 5.

    Examples
    --------
    >>> drawn = assign_by_lot(["a", "a", "b", "b"], ["bilge"] * 4, ("oil", "grease"), np.random.default_rng(1))
    >>> sorted(drawn[:2].tolist()), sorted(drawn[2:].tolist())
    (['grease', 'oil'], ['grease', 'oil'])
    """
    if len(set(methods)) < 2 or len(set(methods)) != len(methods):
        raise InvalidRecord(f"a trial needs two or more different methods, got {', '.join(methods) or 'none'}")
    ships = np.asarray(ship)
    ship_code = codes_of(ships, ships.size, "ship")[1]
    zone_code = codes_of(zone, ships.size, "zone")[1]
    if ships.size < len(methods):
        raise NotEnoughData(f"{ships.size} parts for {len(methods)} methods: a lot needs at least one part each")
    drawn = np.empty(ships.size, dtype=np.intp)
    for place in np.unique(zone_code):
        pool: list[int] = []  # methods still to come in the block begun in this zone
        for one in rng.permutation(np.unique(ship_code[zone_code == place])):
            rows = rng.permutation(np.flatnonzero((zone_code == place) & (ship_code == one)))
            drawn[rows] = _deal(rows.size, len(methods), pool, rng)
    return np.asarray(methods)[drawn]


def blocks_of(ship: ArrayLike, zone: ArrayLike, method: ArrayLike) -> tuple[str, ...]:
    """
    Return within what methods are to be compared: "ship" and "zone", "zone" alone, or either left out if all share it.

    Parameters
    ----------
    ship, zone, method : array-like, shape = (n,)
        Of each part on trial.

    Returns
    -------
    tuple of str
        With "ship" only if more than half of the parts sit in a ship and zone that holds two methods or more. Where a
        ship holds one method a comparison within ships says nothing; then ships are clusters, whose luck parts share.

    Examples
    --------
    >>> blocks_of(["a", "a", "b", "b"], ["bilge"] * 4, ["oil", "grease", "oil", "grease"])
    ('ship',)
    >>> blocks_of(["a", "b", "c"], ["bilge", "bilge", "deck"], ["oil", "grease", "oil"])
    ('zone',)
    """
    ships, zones, methods = (
        np.unique(np.asarray(each).astype(str), return_inverse=True)[1] for each in (ship, zone, method)
    )
    block = np.unique(np.column_stack((ships, zones)), axis=0, return_inverse=True)[1].reshape(-1)
    kinds = np.bincount(np.unique(np.column_stack((block, methods)), axis=0)[:, 0])
    mixed = 2 * int(np.sum(kinds[block] > 1)) > block.size
    asked = (("ship", ships, mixed), ("zone", zones, True))
    return tuple(name for name, code, wanted in asked if wanted and np.unique(code).size > 1)


def _deal(parts: int, methods: int, pool: list[int], rng: np.random.Generator) -> list[int]:
    """Return a method for each part of one ship and zone: whole blocks, then the rest from the zone's begun block."""
    dealt: list[int] = []
    for _ in range(parts // methods):
        dealt += rng.permutation(methods).tolist()
    rest: list[int] = []
    while len(rest) < parts % methods:
        if not any(method not in rest for method in pool):
            pool += rng.permutation(methods).tolist()
        chosen = next(method for method in pool if method not in rest)
        pool.remove(chosen)
        rest.append(chosen)
    return dealt + rest
