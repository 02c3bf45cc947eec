"""The rows of lives, read by each kind of database."""

from __future__ import annotations

import pytest

from maintain.records import tables as t
from maintain.services import club
from maintain.services.lives.table import fleet_now, life_table
from tests.records.conftest import NewDatabase
from tests.services.lives.fleet_of_parts import Fleet, day


@pytest.fixture
def fleet(new_database: NewDatabase) -> Fleet:
    """A servo found dead after an opening, a float switch that was tested; one unknown wetness."""
    db = new_database()
    club.create(db)
    made = Fleet(db)
    ship = made.ship("Halberd")
    servo, switch = made.part("S1", made.family("servo")), made.part("F1", made.family("switch", hidden=True))
    made.fit(servo, made.position(ship, "rudder-servo", zone="sealed box"))
    place = made.position(ship, "float-switch")
    made.fit(switch, place)
    sinking = made.sail(ship, day("2025-05-01"), 1, "W4", minutes_under=30)
    made.sail(ship, day("2025-06-01"), 1, None)
    made.add(
        t.opening,
        ship_id=ship,
        sortie_id=sinking,
        zone="sealed box",
        opened_on=day("2025-05-01"),
        found="dry",
        dried=True,
    )
    made.add(t.reading, position_id=place, measure="demand test", value=1.0, taken_on=day("2025-07-01"))
    made.fail(servo, day("2025-07-10"))
    return made


def test_both_kinds_of_database_tell_the_same_lives(fleet):
    past = fleet.past()
    fleet.close()
    days, immersions = life_table(past, "days").known, life_table(past, "immersions").known
    assert days.tag.tolist() == ["S1", "F1"]
    assert days.lives.lower.tolist() == [61, 91]
    assert days.lives.upper.tolist() == [100, float("inf")]
    # The box held when she sank: of the one sortie known to its zone none went under, so neither did the unknown one.
    assert immersions.tag.tolist() == ["F1"]
    assert immersions.lives.lower.tolist() == [2]
    assert fleet_now(past, "sorties").age.tolist() == [2, 2]
