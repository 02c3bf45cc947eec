"""Simulated clubs whose service age is known: ships sail, sink and wear out parts, and somebody writes it down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.service_age.ages import NO_EFFECT, Ages, Kinds
from maintain.core.service_age.prior import Layout

Floats = NDArray[np.float64]
AHEAD_DAYS = 60  # of the forecast


@dataclass(frozen=True)
class Truth:
    """
    Everything a club does not know; ratios by zone, scales and shapes by family about the first two, on the log scale.

    Parts found aboard had served up to `longest` days.
    """

    shape: float = 1.6
    scale: float = 700.0
    worth: tuple[float, ...] = (1.0, 0.05, 1.0, 40.0)
    zone: tuple[float, ...] = (0.0,)
    family: tuple[float, ...] = (0.0,)
    family_shape: tuple[float, ...] = (0.0, 0.0, 0.0)
    longest: float = 1095.0

    def shape_of(self, family: int) -> float:
        """Of a family."""
        return self.shape * float(np.exp(self.family_shape[family]))

    @property
    def layout(self) -> Layout:
        zones, families = (len(each) if len(each) > 1 else 0 for each in (self.zone, self.family))
        return Layout(len(self.worth), zones, 0, families)


@dataclass(frozen=True)
class Club:
    """
    What was seen of its parts; `working` are the ages of those still fitted, with what lies ahead of each.

    `earlier` is the service age each truly had when it was first seen: nothing, but for parts found aboard.
    """

    ages: Ages
    ship: NDArray[np.intp]
    working: NDArray[np.intp]
    ahead: Floats
    earlier: Floats


def club(  # one argument for each thing that clubs differ by
    rng: np.random.Generator,
    truth: Truth,
    ships: int = 14,
    seasons: int = 4,
    positions: int = 6,
    inherited: float = 0.0,
) -> Club:
    """
    Sail a club; a failure is found at the next sortie, and a new part fitted.

    A share `inherited` of the first parts had served before, nobody knows how long.
    """
    rows = []
    for ship in range(ships):
        use, sailed = _sailed(rng, seasons * 365 + AHEAD_DAYS)
        for position in range(positions):
            kind = position % len(truth.zone), (ship + position) % len(truth.family)
            rows += _lived(
                rng, truth, kind, (use, sailed, seasons * 365, ship), inherited > 0 and rng.random() < inherited
            )
    entry, alive, end, ahead = (np.array([row[i] for row in rows]) for i in range(4))
    failed, zone, family, ship_of = (np.array([row[i] for row in rows]) for i in range(4, 8))
    pace, earlier = (np.array([row[i] for row in rows]) for i in (8, 9))
    none = np.full(failed.size, NO_EFFECT, dtype=np.intp)
    kinds = Kinds(family if len(truth.family) > 1 else none, zone if len(truth.zone) > 1 else none, none)
    ages = Ages(entry, alive, end, failed, kinds, pace)
    return Club(ages, ship_of, np.flatnonzero(~failed), ahead, earlier)


def _sailed(rng: np.random.Generator, days: int) -> tuple[Floats, NDArray[np.intp]]:
    """Use by the end of each day on days, minutes, wet sorties and immersions; and the days sailed."""
    sinks, attends = rng.beta(1.5, 12), rng.uniform(0.5, 0.9)
    gain = np.zeros((days, 4))
    gain[:, 0] = 1.0
    battles = np.arange(days) % 365
    sailed = np.flatnonzero(
        (battles > 90) & (battles < 280) & (np.arange(days) % 14 == 0) & (rng.random(days) < attends)
    )
    trips = rng.integers(2, 6, sailed.size)
    sunk = rng.binomial(trips, sinks)
    gain[sailed, 1] = trips * rng.normal(25, 4, sailed.size)
    gain[sailed, 2] = sunk + rng.binomial(trips - sunk, 0.25)
    gain[sailed, 3] = sunk
    return np.cumsum(gain, axis=0), sailed


def _found_aboard(rng, law, most):
    """Service age and life of a part that lasted until it was found; any ever fitted is as likely as another."""
    scale, shape = law
    while True:
        age, life = rng.uniform(0, most), scale * rng.exponential() ** (1 / shape)
        if life > age:
            return age, life


def _lived(rng, truth, kind, voyage, found_aboard):
    use, sailed, today, ship = voyage
    zone, family = kind
    psi = use @ np.array(truth.worth)
    seen = np.append(sailed[sailed < today], today - 1)  # the club looks at everything today
    start, rows = 0, []
    nothing = np.zeros(4)
    shape = truth.shape_of(family)
    scale = truth.scale * np.exp(truth.family[family] - truth.zone[zone] / shape)
    pace = use[-1] / use.shape[0]
    while start < today - 1:
        earlier, life = 0.0, scale * rng.exponential() ** (1 / shape)
        if strange := found_aboard and start == 0:
            earlier, life = _found_aboard(rng, (scale, shape), truth.longest * (pace @ np.array(truth.worth)))
        limit = psi[start] + life - earlier
        died = max(int(np.searchsorted(psi[:today], limit)), start + 1)  # it worked when it was fitted
        found = seen[np.searchsorted(seen, died)] if died < today else None
        last = today - 1 if found is None else int(found)
        before = seen[(seen > start) & (seen < died)]
        alive = last if found is None else (int(before[-1]) if before.size else start)
        seen_of_it = (
            nothing,
            use[alive] - use[start],
            use[last] - use[start],
            use[-1] - use[today - 1],
            found is not None,
        )
        rows.append((*seen_of_it, zone, family, ship, pace * strange, earlier))
        start = last if found is not None else today
    return rows
