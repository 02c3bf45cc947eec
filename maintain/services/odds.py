"""The chance that ships get through the battle: their block diagrams filled with the chances of their parts."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import groupby

import numpy as np
import sqlalchemy as sa

from maintain.core.decision_diagram import diagram
from maintain.core.importance import importance
from maintain.core.lives import Bools, Floats
from maintain.core.structure import Event, components
from maintain.records import ship_layout
from maintain.results.ready import Odds
from maintain.services.lives.service_ages import KEPT, SEED
from maintain.services.outlook import LEVEL
from maintain.services.prospects import Prospect
from maintain.services.ship_structure import ShipStructure, ship_structure

# That a failing servo takes the radio's supply with it, before any record: as much as half a case in ten failures
# tells (common practice, no source).
_DRAGS_BEFORE, _SPARES_BEFORE = 0.5, 9.5


@dataclass(frozen=True)
class Drag:
    """
    How often a servo that fails takes the radio's supply with it.

    Attributes
    ----------
    failed, dragged : int
        Servos on the radio's supply that failed by themselves, and those of them that took a part of the radio along.
    draws : array, shape = (KEPT,)
        Of the chance, from its beta posterior.
    """

    failed: int
    dragged: int
    draws: Floats


@dataclass(frozen=True)
class ShipOdds:
    """
    One ship's chances.

    Attributes
    ----------
    ship : str
    structure : ShipStructure
    parts : tuple of Prospect or None
        By position; None where it is empty or its part has no forecast.
    failed : array of bool, shape = (n_positions,)
        True where the part is known not to do its job.
    failing, after, run : array, shape = (KEPT, n_components)
        Chance that each component lets her down, as it is, with the advice on it followed, and once everything has been
        run, which shows whatever is not hidden; 0 where unknown.
    """

    ship: str
    structure: ShipStructure
    parts: tuple[Prospect | None, ...]
    failed: Bools
    failing: Floats
    after: Floats
    run: Floats

    @cached_property
    def unknown(self) -> Bools:
        """True for components of which nothing can be said."""
        unknown = np.zeros(self.structure.components, dtype=np.bool_)
        unknown[[place for place, part in enumerate(self.parts) if part is None and not self.failed[place]]] = True
        return unknown

    def odds(self, fails: Event | None) -> Odds:
        """Chance that an event does not happen; a bound where something of it is unknown."""
        counting = [each for each in components(fails) if each < len(self.parts)] if fails is not None else []
        if fails is None or self.unknown[counting].all():
            return Odds(None, None, None, None)
        holds = 1 - diagram(fails).chance(self.failing)
        lower, upper = np.quantile(holds, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
        without = np.where(self.unknown, 1.0, self.failing)
        least = float(1 - diagram(fails).chance(without).mean()) if self.unknown[counting].any() else None
        return Odds(float(holds.mean()), float(lower), float(upper), least)

    @cached_property
    def gains(self) -> Floats:
        """By how much following the advice on each position raises her chance; shape = (n_positions,)."""
        if not components(self.structure.fails):
            return np.zeros(len(self.parts))
        decisive = diagram(self.structure.fails).birnbaum(self.failing)
        found: Floats = (decisive * (self.failing - self.after)).mean(axis=0)[: len(self.parts)]
        return found

    @cached_property
    def gain_of_running(self) -> float:
        """By how much running everything once raises her chance, if what is found dead is replaced."""
        if not components(self.structure.fails):
            return 0.0
        whole = diagram(self.structure.fails)
        return float((whole.chance(self.failing) - whole.chance(self.run)).mean())

    def importance(self) -> tuple[Floats, Floats, Floats]:
        """Birnbaum, criticality and Fussell-Vesely importance of every position, over the draws."""
        found = importance(self.structure.fails, self.failing)
        top = diagram(self.structure.fails).chance(self.failing)
        weight = (top / top.sum() if top.sum() else np.zeros(top.size))[:, None]
        of_failures = (np.nan_to_num(each) * weight for each in (found.criticality, found.fussell_vesely))
        criticality, share = (each.sum(axis=0)[: len(self.parts)] for each in of_failures)
        return found.birnbaum.mean(axis=0)[: len(self.parts)], criticality, share


def drag(connection: sa.Connection, today: date) -> Drag:
    """Learn from the failures of servos on the radio's supply how often one takes it down."""
    failed, dragged = ship_layout.servos_failed(connection, today)
    rng = np.random.default_rng(SEED)
    return Drag(failed, dragged, rng.beta(_DRAGS_BEFORE + dragged, _SPARES_BEFORE + failed - dragged, KEPT))


def fleet_odds(
    connection: sa.Connection,
    parts: Iterable[Prospect],
    dragging: Drag,
    today: date,
    ship: str | None = None,
    failed: Collection[int] = (),
) -> Iterator[ShipOdds]:
    """
    Chances of every ship in commission on a day that has a position, or of one, by name; one ship at a time.

    `failed` are the positions whose part is known not to do its job, be there a forecast of it or not.
    """
    known = {each.position_id: each for each in parts}
    rows = ship_layout.positions(connection, today, ship)
    for name, places in groupby(rows, key=lambda row: str(row.ship)):
        structure = ship_structure(list(places))
        dead = np.array([each.id in failed for each in structure.places], dtype=np.bool_)
        yield _ship_odds(name, structure, dead, known, dragging)


def _ship_odds(
    name: str, structure: ShipStructure, failed: Bools, known: dict[int, Prospect], dragging: Drag
) -> ShipOdds:
    parts = tuple(known.get(each.id) for each in structure.places)
    failing = np.zeros((KEPT, structure.components))
    failing[:, len(parts) :] = dragging.draws[:, None]
    after, run = failing.copy(), failing.copy()
    for place, part in enumerate(parts):
        if part is not None:
            failing[:, place], after[:, place] = part.let_down, part.let_down_after
            run[:, place] = part.let_down if part.hidden else part.let_down_seen
        elif failed[place]:
            failing[:, place] = run[:, place] = 1.0
    return ShipOdds(name, structure, parts, failed, failing, after, run)


def gain_by_position(ship: ShipOdds) -> dict[int, float]:
    """What following the advice on each position buys: by how much her chance rises."""
    return {place.id: gain for place, gain in zip(ship.structure.places, ship.gains.tolist(), strict=True)}
