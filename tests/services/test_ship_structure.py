"""What ends a ship's battle, on small ships counted by hand."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.decision_diagram import diagram
from maintain.core.structure import Event
from maintain.services.ship_structure import ShipStructure, ship_structure


@dataclass(frozen=True)
class Place:
    """A row of `ship_layout.positions`."""

    id: int
    name: str
    system: str = "steering"
    dependence: str = "vital"
    bank: str | None = None
    bank_needs: int | None = None
    powered_by_id: int | None = None
    category: str | None = "switch"
    ship: str = "Halberd"


def ends(structure: ShipStructure, event: Event | None) -> set[frozenset[str]]:
    """Smallest sets of failures that bring an event about, by name."""
    assert event is not None
    names = [place.name for place in structure.places]
    names += [f"{structure.places[servo].name} drags" for servo in structure.dragging]
    return {frozenset(names[each] for each in cut) for cut in diagram(event).cut_sets}


def sets(*written: str) -> set[frozenset[str]]:
    return {frozenset(each.split(" + ")) for each in written}


def test_each_vital_position_alone_ends_her_and_a_degrading_or_nuisance_one_does_not() -> None:
    ship = ship_structure(
        [Place(1, "rudder"), Place(2, "seal", dependence="degrades"), Place(3, "lamp", dependence="nuisance")]
    )
    assert ends(ship, ship.fails) == sets("rudder")
    assert ends(ship, ship.systems["steering"].impaired) == sets("rudder", "seal")


def test_a_bank_is_lost_when_too_few_of_it_are_left() -> None:
    guns = [Place(n, f"gun {n}", "guns", "degrades", "guns", 2) for n in (1, 2, 3)]
    ship = ship_structure([*guns, Place(4, "lamp", "hull", "nuisance")])
    assert ends(ship, ship.systems["guns"].fails) == sets("gun 1 + gun 2", "gun 1 + gun 3", "gun 2 + gun 3")
    assert ends(ship, ship.systems["guns"].impaired) == sets("gun 1", "gun 2", "gun 3")
    assert "hull" not in ship.systems


def test_two_of_three_guns_on_one_battery_have_the_chance_counted_by_hand() -> None:
    """Guns work with 0.9, 0.8, 0.7 (two of three: 0.902, published), the battery with 0.95: 0.95 * 0.902."""
    guns = [Place(n, f"gun {n}", "guns", "degrades", "guns", 2, powered_by_id=4) for n in (1, 2, 3)]
    ship = ship_structure([*guns, Place(4, "battery", "guns")])
    assert 1 - diagram(ship.fails).chance([0.1, 0.2, 0.3, 0.05]) == pytest.approx(0.95 * 0.902, abs=1e-12)


def test_power_fails_all_the_way_down_the_line() -> None:
    ship = ship_structure(
        [
            Place(1, "pump", "pumping", powered_by_id=2),
            Place(2, "switch", "pumping", "degrades", powered_by_id=3),
            Place(3, "battery", "propulsion", "degrades"),
        ]
    )
    assert ends(ship, ship.fails) == sets("pump", "switch", "battery")
    assert ship.systems["propulsion"].fails is None


def test_positions_that_power_each_other_in_a_ring_are_read_once() -> None:
    ship = ship_structure([Place(1, "a", powered_by_id=2), Place(2, "b", "radio", "degrades", powered_by_id=1)])
    assert ends(ship, ship.fails) == sets("a", "b")


def test_a_servo_that_drags_the_supply_down_takes_radio_and_steering_with_it() -> None:
    ship = ship_structure(
        [
            Place(1, "battery", "radio"),
            Place(2, "receiver", "radio", powered_by_id=1),
            Place(3, "rudder", powered_by_id=1, category="servo"),
            Place(4, "gun", "guns", "degrades", powered_by_id=1, category="servo"),
        ]
    )
    assert ends(ship, ship.systems["radio"].fails) == sets(
        "battery", "receiver", "rudder + rudder drags", "gun + gun drags"
    )
    assert ends(ship, ship.systems["steering"].fails) == sets("battery", "rudder", "gun + gun drags")
    q = np.array([0.01, 0.02, 0.1, 0.2, 0.13, 0.13])
    by_hand = 0.99 * 0.98 * 0.9 * (1 - 0.2 * 0.13)  # the rudder servo ends her by itself, dragging or not
    assert 1 - diagram(ship.fails).chance(q) == pytest.approx(by_hand, abs=1e-12)


def test_a_servo_on_a_supply_of_its_own_drags_nobody_down() -> None:
    ship = ship_structure(
        [
            Place(1, "battery", "radio"),
            Place(2, "receiver", "radio", powered_by_id=1),
            Place(3, "pack", "guns", "degrades"),
            Place(4, "gun", "guns", "degrades", powered_by_id=3, category="servo"),
            Place(5, "rudder", category="servo"),
        ]
    )
    assert ship.dragging == ()


def test_a_bank_that_needs_more_than_it_has_needs_all_and_says_so() -> None:
    ship = ship_structure([Place(n, f"screw {n}", "propulsion", "degrades", "screws", 3) for n in (1, 2)])
    assert ends(ship, ship.fails) == sets("screw 1", "screw 2")
    assert ship.notes == ("Halberd's bank screws needs 3 and has 2 positions: all of them are taken to be needed",)


places = st.lists(
    st.builds(
        lambda system, dependence, bank, powered, category: (system, dependence, bank, powered, category),
        st.sampled_from(["steering", "radio", "guns"]),
        st.sampled_from(["vital", "degrades", "nuisance"]),
        st.sampled_from([None, ("guns", 1), ("screws", 2)]),
        st.integers(0, 5),
        st.sampled_from(["servo", "battery"]),
    ),
    min_size=1,
    max_size=5,
).map(
    lambda rows: [
        Place(n, f"p{n}", system, dependence, *(bank or (None, None)), powered if powered != n else None, category)
        for n, (system, dependence, bank, powered, category) in enumerate(rows, start=1)
    ]
)


@given(places, st.data())
def test_a_better_part_never_lowers_the_odds(ship: list[Place], data: st.DataObject) -> None:
    structure = ship_structure(ship)
    chance = st.floats(0, 1)
    q = np.array(data.draw(st.lists(chance, min_size=structure.components, max_size=structure.components)))
    better = q.copy()
    better[data.draw(st.integers(0, structure.components - 1))] *= data.draw(chance)
    for event in (structure.fails, *(each.impaired for each in structure.systems.values())):
        assert diagram(event).chance(better) <= diagram(event).chance(q) + 1e-12


@given(places)
def test_she_gets_through_with_everything_vital_only_if_every_system_does(ship: list[Place]) -> None:
    structure = ship_structure(ship)
    events = [each.fails for each in structure.systems.values() if each.fails is not None]
    for state in product((0.0, 1.0), repeat=structure.components):
        lost = any(diagram(each).chance(state) == 1 for each in events)
        assert (diagram(structure.fails).chance(state) == 1) == lost
