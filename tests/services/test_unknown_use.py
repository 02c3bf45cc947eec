"""Parts of unknown earlier use, and when parts were last shown to work: what a club of inherited ships is told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from maintain.core.exposure import moment
from maintain.records import ship_layout
from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.services.chances import chances
from maintain.services.horizon import Horizon
from maintain.services.lives.club import club_lives, fleet_of
from maintain.services.lives.columns import day_number
from maintain.services.lives.shown import last_shown
from maintain.services.outlook import Outlook, outlook
from tests.services.lives.fleet_of_parts import TODAY, Fleet, day

MAY, JUNE = day("2025-05-04"), day("2025-06-01")
BEFORE = {"from_precision": "before records"}


@pytest.fixture
def fleet(club: Path) -> Iterator[Fleet]:
    made = Fleet(str(club))
    yield made
    made.close()


def look(fleet: Fleet, today: date = TODAY, days: int = 7) -> Outlook:
    fleet.commit()
    with make_engine(fleet.db, "read").connect() as connection, connection.begin():
        return outlook(connection, Horizon(today, today + timedelta(days=days), 4, 1))


def aboard(fleet: Fleet, number: int, **placed: str) -> tuple[int, int]:
    """A ship with one servo; both ids."""
    ship = fleet.ship(f"Ship {number}")
    servo = fleet.part(f"S{number}", fleet.family(f"servo {number}") if number == 0 else 1, used=bool(placed))
    fleet.fit(servo, fleet.position(ship, "rudder-servo"), day("2025-01-01"), **placed)
    return ship, servo


def inherited(fleet: Fleet, dead: int) -> None:
    """Six ships with servos of unknown earlier use, two battles; some of the servos died in the second."""
    for number in range(6):
        ship, servo = aboard(fleet, number, **BEFORE)
        for on in (MAY, JUNE):
            fleet.sail(ship, on, wetness="W2")
        if number < dead:
            fleet.fail(servo, JUNE, 1, found_by="in battle")


def test_a_club_of_inherited_parts_gets_a_forecast_that_learns_from_their_failures(fleet: Fleet) -> None:
    """Three of six dead within two battles: those left are not told they are all right."""
    inherited(fleet, dead=3)
    [servos] = look(fleet).categories
    ages = servos.learnt.posterior.ages
    assert (ages.n, ages.failures, ages.strangers.size) == (6, 3, 6)


def test_the_more_inherited_parts_died_the_likelier_the_others_are_to(club: Path, tmp_path: Path) -> None:
    said = []
    for dead in (0, 3):
        path = tmp_path / f"{dead}.db"
        path.write_bytes(club.read_bytes())
        fleet = Fleet(str(path))
        inherited(fleet, dead)
        now = chances(seen := look(fleet), seen.categories[0]).now
        fleet.close()
        said.append(float(now.mean[-1]))
        assert np.all((now.lower < now.mean) & (now.mean < now.upper))
    assert said[1] > 2 * said[0]


def test_use_that_was_seen_is_the_least_of_the_age_and_what_came_before_differs_from_draw_to_draw(fleet: Fleet) -> None:
    for number in range(3):
        ship, _ = aboard(fleet, number, **(BEFORE if number else {}))
        fleet.sail(ship, JUNE, wetness="W2")
    seen = look(fleet)
    [servos] = seen.categories
    new, old = (np.flatnonzero(servos.aged == aged) for aged in (True, False))
    age = seen.sight(servos, np.arange(3)).parts.age
    assert np.all(age[:, old] > age[:, new])
    assert np.std(age[:, old] - age[:, new]) > 30
    note = next(each for each in seen.notes if "nobody knows how long" in each)
    assert note.startswith("2 lives began")


def test_a_long_seen_part_of_unknown_use_is_likelier_to_fail_than_a_new_one_where_parts_wear_out(fleet: Fleet) -> None:
    """Twenty servos died at about 100 days; one was seen to work for 80 days before that, one for 20."""
    for number in range(20):
        _, servo = aboard(fleet, number)
        fleet.fail(servo, day("2025-04-11"), last_good_on=day("2025-04-09"), last_good_sortie=0)
    ship = fleet.ship("Old")
    for tag, placed, begin in (("OLD", BEFORE, day("2025-01-21")), ("NEW", {}, day("2025-03-22"))):
        fleet.fit(fleet.part(tag, 1, used=bool(placed)), fleet.position(ship, tag), begin, **placed)
    fleet.sail(ship, day("2025-04-11"), wetness="W0")
    seen = look(fleet, today=day("2025-04-11"))
    [servos] = seen.categories
    said = dict(zip(seen.fleet.tag[servos.parts], chances(seen, servos).now.mean, strict=True))
    assert said["OLD"] > 3 * said["NEW"]


@pytest.mark.parametrize(
    ("wetness", "number"),
    [("W1", 2), ("W4", 1)],  # she came home, or she sank and nobody saw what that did
)
def test_a_heard_part_was_last_shown_to_work_in_the_last_sortie(fleet: Fleet, wetness: str, number: int) -> None:
    ship, _ = aboard(fleet, 0)
    fleet.sail(ship, MAY, 1)
    fleet.sail(ship, MAY, 2, wetness)
    expected = moment(day_number(MAY), 2) - (wetness == "W4")
    assert last_shown(fleet.past()).tolist() == [int(expected)]


def test_a_test_after_the_last_sortie_shows_it_and_a_part_never_sailed_worked_when_it_was_fitted(fleet: Fleet) -> None:
    ship, servo = aboard(fleet, 0)
    assert last_shown(fleet.past()).tolist() == [int(moment(day_number(day("2025-01-01")), 0))]
    fleet.sail(ship, MAY)
    reading = {"measure": "demand test", "value": 1.0, "unit": "passed"}
    fleet.add(t.reading, part_id=servo, taken_on=JUNE, **reading)
    assert last_shown(fleet.past()).tolist() == [int(moment(day_number(JUNE), 0))]


def test_what_was_not_looked_at_since_may_have_failed_already(fleet: Fleet) -> None:
    """Of two servos fitted together, the one not looked at for three months is told the likelier to be dead."""
    ships = [aboard(fleet, number)[0] for number in range(2)]
    for ship in ships:
        fleet.sail(ship, MAY)
    fleet.sail(ships[1], day("2025-08-30"))
    seen = look(fleet)
    untested = fleet_of(past := fleet.past(), club_lives(past)).untested["days"]
    assert untested.tolist() == [120.0, 2.0]
    drawn = chances(seen, seen.categories[0])
    silent = drawn.kept.silent.mean(axis=0)
    assert silent[0] > 5 * silent[1] > 0
    assert drawn.now.mean[0] > silent[0]


def test_lives_in_which_nothing_was_found_count_until_they_were_last_shown_to_work(fleet: Fleet) -> None:
    ship, _ = aboard(fleet, 0)
    fleet.sail(ship, MAY)
    assert club_lives(fleet.past()).ends["days"].end.tolist() == [(MAY - day("2025-01-01")).days]


def test_a_part_put_back_to_work_was_shown_to_work_since(fleet: Fleet) -> None:
    ship, servo = aboard(fleet, 0)
    fleet.sail(ship, MAY)
    fleet.fail(servo, MAY, 1, found_by="in battle")
    fleet.sail(ship, JUNE)
    assert last_shown(fleet.past()).tolist() == [int(moment(day_number(JUNE), 1))]


def test_only_servos_on_the_supply_of_the_radio_tell_how_often_one_drags_it_down(fleet: Fleet) -> None:
    """One of two on the radio's battery took the receiver with it; five gun servos died on a battery of their own."""
    ship = fleet.ship("Halberd")
    place = {"ship_id": ship, "zone": "bilge", "dependence": "vital"}
    shared, guns = (fleet.add(t.position, name=name, system="radio", **place) for name in ("cells", "gun-cells"))
    receiver = fleet.add(t.position, name="receiver", system="radio", powered_by_id=shared, **place)
    fleet.add(t.position, name="gun-box", system="guns", powered_by_id=guns, **place)
    family = fleet.family()
    failed = []
    for number, source in enumerate([shared, shared, *[guns] * 5]):
        position = fleet.add(t.position, name=f"servo-{number}", system="steering", powered_by_id=source, **place)
        servo = fleet.part(f"S{number}", family)
        fleet.fit(servo, position)
        failed.append(fleet.fail(servo, MAY, position_id=position))
    victim = fleet.part("R1", family)
    fleet.fit(victim, receiver)
    fleet.fail(victim, MAY, position_id=receiver, secondary=True, caused_by_id=failed[0])
    fleet.commit()
    with make_engine(fleet.db, "read").connect() as connection, connection.begin():
        assert ship_layout.servos_failed(connection, TODAY) == (2, 1)
