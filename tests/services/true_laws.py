"""Forecasts by one who knows the laws the demo club was drawn from: no estimate from its records can do better."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
import sqlalchemy as sa

from maintain.core.lives import Bools, Floats
from maintain.core.posterior import Draws
from maintain.core.service_age.prior import Prior
from maintain.services import demo
from maintain.services.horizon import Horizon
from maintain.services.lives.columns import Words
from maintain.services.lives.labels import UNTREATED
from maintain.services.lives.service_ages import DRAWS, Learnt
from maintain.services.outlook import CategoryOutlook, Outlook, outlook

TRUTH: dict[str, Any] = json.loads((demo.fleet_folder() / "truth.json").read_text(encoding="utf-8"))
_STATED = {"minutes afloat": "per_minute", "wet sorties": "per_wet_sortie", "immersions": "per_immersion"}


@dataclass(frozen=True)
class KnownLaw:
    """Stands in for what a category's failures say of its service age: the stated truth, in every draw."""

    category: str

    @property
    def worth(self) -> dict[str, Floats]:
        stated = TRUTH["service_age"][self.category]
        cost = {clock: stated.get(name, 0.0) for clock, name in _STATED.items()}
        return {clock: np.full(DRAWS, float(each)) for clock, each in {"days": 1.0, **cost}.items()}

    @property
    def longest(self) -> Floats:
        return np.full(DRAWS, Prior().longest)

    def age(self, use: dict[str, Floats]) -> Floats:
        return np.sum([np.outer(each, use[clock]) for clock, each in self.worth.items() if clock in use], axis=0)

    def draws(self, labels: dict[str, Words]) -> Draws:
        families = [TRUTH["families"][name] for name in labels["family"].tolist()]
        [shape] = {float(each["shape"]) for each in families}
        ratio = _ratios(labels["zone"], "zone_ratios") * _ratios(labels["waterproofing"], "method_ratios")
        scale = np.array([float(each["scale"]) for each in families]) / ratio ** (1 / shape)
        return Draws(np.full(DRAWS, shape), np.tile(scale, (DRAWS, 1)))


def _ratios(labels: Words, table: str) -> Floats:
    return np.array([1.0 if each == UNTREATED else float(TRUTH[table][each]) for each in labels.tolist()])


def true_earlier(rng: np.random.Generator, draws: Draws, a_day: Floats, seen: Floats, longest: Floats) -> Floats:
    """
    Draw what parts of unknown use had been through as demo_fleet/upkeep.py does: 50 to 1000 days of service age.

    What has been seen of a part makes it the likelier to have been young. Takes the place of draw_earlier.
    """
    ages = np.linspace(50.0, 1000.0, 40)
    hazard = [((age + seen) / draws.scale) ** draws.shapes - (age / draws.scale) ** draws.shapes for age in ages]
    reached = np.cumsum(np.exp(-np.stack(hazard)), axis=0)
    return np.asarray(ages[(rng.random(seen.shape) * reached[-1] > reached).sum(axis=0)])


def true_outlook(connection: sa.Connection, horizon: Horizon) -> Outlook:
    """The outlook with the stated laws in place of the learnt ones."""
    look = outlook(connection, horizon)
    families = look.fleet.labels["family"]
    known = [
        _known(of, families[of.parts] == name) for of in look.categories for name in sorted(set(families[of.parts]))
    ]
    return replace(look, categories=tuple(known))


def _known(of: CategoryOutlook, rows: Bools) -> CategoryOutlook:
    """Parts of one family, each of which has a shape of its own."""
    learnt = cast(Learnt, KnownLaw(of.category))
    return replace(of, learnt=learnt, parts=of.parts[rows], aged=of.aged[rows], group=of.group[rows])
