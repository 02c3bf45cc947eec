"""What the truth says of the parts aboard today: the answers that estimates from the records are held against."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np
from fleet import Fleet, Part, Ship
from truth import FORMATS, MEET, NEXT_BATTLE, NEXT_MEET, SEED, SERVICE_AGE, TODAY, Format, waters

from maintain.core.lives import Floats
from maintain.core.simulate import Sorties, look_ahead, sail, water_reaching

DRAWS = 4000
Trips = list[Sorties]


def outlook(fleet: Fleet) -> dict[str, Any]:
    """
    True chances of the next battle, and true failures until the end of the annual meet.

    Every ship in commission sails the planned sorties of both; the ones in dry dock only grow older. The sinkings
    of a draw are shared by all parts of a ship.
    """
    rng = np.random.default_rng(SEED + 1)
    parts: list[dict[str, Any]] = []
    failures: dict[str, Floats] = defaultdict(lambda: np.zeros(DRAWS))
    latent: dict[str, int] = defaultdict(int)
    for ship in fleet.ships.values():
        battle, meet = _trips(rng, ship)
        for position, part in ship.parts():
            family = part.family.name
            to_battle = _gained(part, battle, (NEXT_BATTLE[0] - TODAY).days)
            to_meet = _gained(part, [*battle, *meet], (NEXT_MEET[1] - TODAY).days)
            next_battle = look_ahead(rng, part.family.life, part.age, to_battle, ratio=part.ratio)
            until_meet = look_ahead(rng, part.family.life, part.age, to_meet, ratio=part.ratio)
            latent[family] += part.failed
            if not part.failed:
                failures[family] += until_meet.failures
            parts.append(_part_row(ship, position.name, part, next_battle.fails, until_meet.fails))
    return {
        "today": TODAY.isoformat(),
        "next_battle_ends": NEXT_BATTLE[0].isoformat(),
        "meet_ends": NEXT_MEET[1].isoformat(),
        "draws": DRAWS,
        "families": [_family_row(name, failures[name], latent[name], parts) for name in sorted(latent)],
        "parts": sorted(parts, key=lambda row: str(row["tag"])),
    }


def _trips(rng: np.random.Generator, ship: Ship) -> tuple[Trips, Trips]:
    if ship.row["state"] != "in commission":
        return [], []
    form = next(each for each in FORMATS if each.name == NEXT_BATTLE[1])
    return _sailed(rng, ship, form, NEXT_BATTLE[3]), _sailed(rng, ship, MEET, NEXT_MEET[2])


def _sailed(rng: np.random.Generator, ship: Ship, form: Format, sorties: int) -> Trips:
    return [sail(rng, waters(ship.truth, form), (DRAWS,)) for _ in range(sorties)]


def _gained(part: Part, trips: Trips, days: int) -> Floats:
    weights = SERVICE_AGE[part.family.category]
    gained = np.full(DRAWS, float(days))
    for trip in trips:
        wet, under = water_reaching(part.zone, trip)
        gained += weights.gained(0, trip.minutes, wet, under)
    return gained


def _part_row(ship: Ship, position: str, part: Part, battle: float, meet: float) -> dict[str, Any]:
    return {
        "tag": part.row["tag"],
        "ship": ship.truth.name,
        "position": position,
        "family": part.family.name,
        "zone": part.zone,
        "method": part.method,
        "hazard_ratio": round(part.ratio, 3),
        "service_age_days": round(part.age, 1),
        "failed_already": part.failed,
        "fails_by_next_battle": round(battle, 5),
        "fails_by_meet_end": round(meet, 5),
    }


def _family_row(name: str, failures: Floats, latent: int, parts: list[dict[str, Any]]) -> dict[str, Any]:
    low, high = np.quantile(failures, (0.1, 0.9), method="inverted_cdf")
    return {
        "family": name,
        "installed": sum(row["family"] == name for row in parts),
        "failed_already": latent,
        "expected_failures": round(float(failures.mean()), 3),
        "p10": int(low),
        "p90": int(high),
    }
