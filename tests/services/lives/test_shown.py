"""What a test shows of the parts it needs, and of no others."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from maintain.core.exposure import moment
from maintain.records import tables as t
from maintain.services.lives.columns import day_number
from maintain.services.lives.shown import last_shown
from tests.services.lives.fleet_of_parts import TODAY, Fleet, day

WINTER, MAY, JUNE = day("2025-01-02"), day("2025-05-04"), day("2025-06-01")
LAID_OUT = (  # name, category, system, what powers it
    ("main-battery", "battery", "propulsion", None),
    ("receiver-battery", "battery", "radio", None),
    ("receiver", "receiver", "radio", "receiver-battery"),
    ("rudder-servo", "servo", "steering", "receiver-battery"),
    ("gun-servo", "servo", "guns", "receiver-battery"),
    ("pump", "pump", "pumping", None),
    ("pump-motor", "motor", "pumping", "main-battery"),
    ("float-switch", "switch", "pumping", None),
    ("port-motor", "motor", "propulsion", "main-battery"),
    ("speed-controller", "speed controller", "propulsion", "main-battery"),
)


@pytest.fixture
def fleet(club: Path) -> Iterator[Fleet]:
    made = Fleet(str(club))
    yield made
    made.close()


def launch(fleet: Fleet, **fitted: date) -> dict[str, int]:
    """A ship that last sailed in May; her parts by the names of their positions, fitted in winter unless told."""
    ship = fleet.ship("Tern")
    families = {
        category: fleet.add(
            t.family, name=category, category=category, tracking="tagged", hidden=category == "switch",
            ages_on_shelf=False,
        )
        for category in dict.fromkeys(category for _, category, _, _ in LAID_OUT)
    }  # fmt: skip
    places: dict[str, int] = {}
    parts: dict[str, int] = {}
    for name, category, system, source in LAID_OUT:
        of = {"system": system, "zone": "bilge", "dependence": "vital", "powered_by_id": source and places[source]}
        places[name] = fleet.add(t.position, ship_id=ship, name=name, **of)
        parts[name] = fleet.part(name, families[category])
        fleet.fit(parts[name], places[name], fitted.get(name, WINTER))
    fleet.sail(ship, MAY)
    return parts


def passes(fleet: Fleet, part: int, value: float = 1.0) -> None:
    fleet.add(t.reading, part_id=part, taken_on=JUNE, measure="demand test", value=value, unit="passed")


def shown(fleet: Fleet, on: date = JUNE) -> set[str]:
    """Parts last shown to work on a day."""
    past = fleet.past()
    tags = np.array(past.rows.part["tag"], dtype=object)
    return set(tags[last_shown(past) == int(moment(day_number(on), 0))].tolist())


@pytest.mark.parametrize(
    ("tried", "needed"),
    [
        ("rudder-servo", {"receiver", "receiver-battery"}),
        ("receiver", {"receiver-battery"}),
        ("pump", {"pump-motor", "main-battery"}),  # its switch hides: that wants a test of its own
        ("float-switch", {"pump", "pump-motor", "main-battery"}),
        ("port-motor", {"speed-controller", "main-battery", "receiver", "receiver-battery"}),
        ("main-battery", set()),
    ],
)
def test_a_test_shows_what_it_needs_and_nothing_else(fleet: Fleet, tried: str, needed: set[str]) -> None:
    passes(fleet, launch(fleet)[tried])
    assert shown(fleet) == {tried, *needed}


def test_a_failed_test_shows_nothing(fleet: Fleet) -> None:
    passes(fleet, launch(fleet)["rudder-servo"], 0.0)
    assert shown(fleet) == set()


@pytest.mark.parametrize("how", ["pre-battle check", "opened", "bench"])
def test_whoever_goes_over_her_and_finds_one_dead_would_have_found_the_others_but_not_what_hides(
    fleet: Fleet, how: str
) -> None:
    fleet.fail(launch(fleet)["pump"], JUNE, found_by=how)
    assert shown(fleet) == {name for name, *_ in LAID_OUT} - {"pump", "float-switch"}


@pytest.mark.parametrize("how", ["demand test", "in battle", "roll call", "unknown"])
def test_a_failure_found_another_way_shows_nothing_of_the_others(fleet: Fleet, how: str) -> None:
    fleet.fail(launch(fleet)["pump"], JUNE, found_by=how)
    assert shown(fleet) == set()


@pytest.mark.parametrize(
    ("tried", "over"),
    [(("rudder-servo", "gun-servo", "pump"), True), (("rudder-servo", "pump", "pump-motor", "float-switch"), False)],
)
def test_whoever_tries_parts_of_three_systems_in_a_day_went_over_her(
    fleet: Fleet, tried: tuple[str, ...], over: bool
) -> None:
    parts = launch(fleet)
    for name in tried:
        passes(fleet, parts[name])
    assert ("port-motor" in shown(fleet)) is over
    assert ("float-switch" in shown(fleet)) is ("float-switch" in tried)


def test_a_part_fitted_after_the_test_was_not_shown_by_it(fleet: Fleet) -> None:
    later = JUNE + timedelta(days=1)
    passes(fleet, launch(fleet, receiver=later)["rudder-servo"])
    assert shown(fleet) == {"rudder-servo", "receiver-battery"}
    assert shown(fleet, later) == {"receiver"}


def test_which_of_two_it_needs_nobody_said(fleet: Fleet) -> None:
    parts = launch(fleet)
    spare = fleet.part("second receiver", int(fleet.past().rows.part["family_id"][2]))
    fleet.fit(spare, fleet.position(1, "second-receiver", system="radio"), WINTER)
    passes(fleet, parts["rudder-servo"])
    assert shown(fleet) == {"rudder-servo", "receiver-battery"}


def test_a_hidden_function_tested_today_has_been_tested(fleet: Fleet) -> None:
    parts = launch(fleet)
    fleet.add(t.reading, part_id=parts["float-switch"], taken_on=TODAY, measure="demand test", value=1.0, unit="passed")
    assert "float-switch" in shown(fleet, TODAY)
    past = fleet.past()
    tags = past.rows.part["tag"]
    assert past.watch.end[tags.index("float-switch")] == moment(day_number(TODAY), 0)
