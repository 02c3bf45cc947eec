"""Meets of the demo club drawn from its stated truth: what they would call for, family by family."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.simulate import ServiceAge, Sorties, Waters, Weibull, sail, water_reaching
from maintain.services import demo

Counts = NDArray[np.int64]

BATTLE = ("fleet battle", 4, date(2026, 9, 27))
MEET = ("annual meet", 14, date(2026, 10, 15), date(2026, 10, 18))

# As demo_fleet/sailing.py and findings.py draw them.
HIT = 0.014  # chance of a ball's destroying a part at a sortie
FOUND_BEFORE = 0.88  # of failures until the battle is over; what fails later shows at the check on the first morning
DRAGS_DOWN = {
    "rudder-servo": ("receiver", 0.40),
    "pump-motor": ("pump-switch", 0.30),
    "drive-motor": ("speed-controller", 0.30),
}


@dataclass(frozen=True)
class Truth:
    """The truth of the demo club, as its files state it."""

    stated: Any
    parts: list[dict[str, Any]]

    @classmethod
    def read(cls) -> Truth:
        """Read it from the files beside the club's records."""
        stated, ahead = (
            json.loads((demo.fleet_folder() / name).read_text(encoding="utf-8"))
            for name in ("truth.json", "truth_parts.json")
        )
        return cls(stated, ahead["parts"])

    def waters(self, ship: str, form: str) -> Waters:
        """How a ship's sorties go in a kind of battle."""
        her, kind, lies = self.stated["ships"][ship], self.stated["formats"][form], self.stated["sinkings_lie"]
        sinks = min(0.6, her["sinking_chance"] * kind["sinking_factor"])
        floods = (1 - sinks) * her["flooding_chance"]
        calm, splash = 1 - sinks - floods, self.stated["splash_chance"]
        chances = (calm * (1 - splash), calm * splash, floods, *(sinks * lies[each] for each in ("W3", "W4", "W5")))
        lets_in = (self.stated["box_lets_in"]["W3"], self.stated["box_lets_in"]["W4 or W5"])
        return Waters(chances, minutes_mean=kind["minutes"], box_lets_in=lets_in)  # type: ignore[arg-type]

    def gained(self, part: dict[str, Any], trips: list[Sorties], days: int) -> Floats:
        """Service age that a part gains in so many days with these sorties."""
        costs = self.stated["service_age"][self.stated["families"][part["family"]]["category"]]
        weights = ServiceAge(costs["per_minute"], costs["per_wet_sortie"], costs["per_immersion"])
        gained = np.full(trips[0].minutes.shape if trips else (), float(days))
        for trip in trips:
            wet, under = water_reaching(part["zone"], trip)
            gained = gained + weights.gained(0, trip.minutes, wet, under)
        return gained


def meets(rng: np.random.Generator, size: int) -> tuple[tuple[str, ...], Counts]:
    """
    Calls of each family at the next annual meet, in so many meets.

    Every ship in commission sails all that is planned, her sinkings shared by all her parts. What fails before the meet
    is replaced if it is found before; what is not, and what nobody hears failing, is called for at the meet. Parts lost
    to other parts' failures and to balls are called for too.

    Returns
    -------
    families : tuple of str
    counts : array of int, shape = (size, n_families)
    """
    truth = Truth.read()
    families = tuple(sorted(truth.stated["families"]))
    counts = np.zeros((size, len(families)), dtype=np.int64)
    of_ship: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for part in truth.parts:
        of_ship[part["ship"]].append(part)
    afloat = _in_commission()
    for ship, parts in of_ship.items():
        if ship in afloat:
            for part, calls in _calls_of(rng, truth, ship, parts, size):
                counts[:, families.index(part["family"])] += calls
    return families, counts


def _in_commission() -> set[str]:
    import csv

    with (demo.fleet_folder() / "ships.csv").open(encoding="utf-8") as file:
        return {row["Ship"] for row in csv.DictReader(file) if row["State"] == "in commission"}


def _calls_of(
    rng: np.random.Generator, truth: Truth, ship: str, parts: list[dict[str, Any]], size: int
) -> Iterator[tuple[dict[str, Any], Counts]]:
    before = [sail(rng, truth.waters(ship, BATTLE[0]), (size,)) for _ in range(BATTLE[1])]
    within = [sail(rng, truth.waters(ship, MEET[0]), (size,)) for _ in range(MEET[1])]
    today = date.fromisoformat(truth.stated["today"])
    calls = {}
    for part in parts:
        first = truth.gained(part, before, (BATTLE[2] - today).days)
        last = truth.gained(part, within, (MEET[3] - BATTLE[2]).days)
        calls[part["position"]] = _fails(rng, truth.stated["families"][part["family"]], part, (first, last))
    by_position = {part["position"]: part for part in parts}
    for position, part in by_position.items():
        yield part, calls[position]
        victim, share = DRAGS_DOWN.get(position.removeprefix("port-").removeprefix("starboard-"), ("", 0.0))
        if victim in by_position:
            yield by_position[victim], rng.binomial(calls[position], share)
    open_ones = [part for part in parts if part["zone"] != "sealed box"]
    hits = rng.multinomial(rng.binomial(MEET[1], HIT, size), np.full(len(open_ones), 1 / len(open_ones)))
    for place, part in enumerate(open_ones):
        yield part, hits[:, place]


def _fails(
    rng: np.random.Generator, family: dict[str, Any], part: dict[str, Any], gained: tuple[Floats, Floats]
) -> Counts:
    """Failures of one position that are called for at the meet."""
    law, ratio = Weibull(family["shape"], family["scale"]), part["hazard_ratio"]
    before, whole = gained[0], gained[0] + gained[1]
    reached = law.failure_ages(rng, np.full(before.shape, part["service_age_days"]), ratio) - part["service_age_days"]
    if part["failed_already"]:
        reached = np.zeros(before.shape)
    calls = np.zeros(before.shape, dtype=np.int64)
    found_before = np.full(before.shape, not family["hidden"]) & (rng.random(before.shape) < FOUND_BEFORE)
    while (failed := reached <= whole).any():
        at_meet = reached > before
        calls += failed & (at_meet | ~found_before)
        # what is found only at the meet is replaced there
        since = np.where(at_meet | found_before, reached, before)
        reached = np.where(failed, since + law.failure_ages(rng, np.zeros(before.shape), ratio), np.inf)
    return calls
