"""Lives counted by hand from small stories; every number here can be read off the calendar."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from maintain.records import tables as t
from maintain.services.lives.columns import NO_DAY, day_number
from maintain.services.lives.table import LifeTable, Selection, fleet_now, history_rows, life_table
from tests.services.lives.fleet_of_parts import FITTED, Fleet, day

INF = float("inf")


@pytest.fixture
def fleet(club: Path) -> Iterator[Fleet]:
    made = Fleet(str(club))
    yield made
    made.close()


@pytest.fixture
def servo(fleet: Fleet) -> tuple[int, int, int]:
    """A ship, her rudder position in the bilge, and a new servo fitted there on 1 April; she sails three times."""
    ship = fleet.ship("Halberd")
    rudder, part = fleet.position(ship, "rudder-servo"), fleet.part("S1", fleet.family())
    fleet.fit(part, rudder)
    for number, wetness in ((1, "W1"), (2, "W3")):
        fleet.sail(ship, day("2025-05-01"), number, wetness)
    fleet.sail(ship, day("2025-06-01"), 1, "W0")
    return ship, rudder, part


def only(table: LifeTable) -> list[float]:
    """The one life: entry, lower, upper."""
    assert table.known.lives.n == 1, table.excluded
    return [column[0] for column in (table.known.lives.entry, table.known.lives.lower, table.known.lives.upper)]


def left_out(table: LifeTable) -> dict[str, int]:
    return {each.reason: each.n for each in table.excluded}


@pytest.mark.parametrize(
    ("clock", "use"), [("days", 153), ("sorties", 3), ("wet sorties", 2), ("immersions", 1), ("minutes afloat", 60)]
)
def test_a_part_still_running_is_censored_at_its_use_so_far(fleet, servo, clock, use):
    table = life_table(fleet.past(), clock)
    assert only(table) == [0, use, INF]
    assert table.known.ending.tolist() == ["still running"]


def test_a_failure_in_battle_came_in_that_sortie(fleet, servo):
    _, rudder, part = servo
    sortie = fleet.sail(servo[0], day("2025-07-01"), 1, "W1")
    fleet.fail(part, day("2025-07-01"), 1, found_by="in battle", sortie_id=sortie, position_id=rudder)
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 90, 91]
    assert only(life_table(past, "sorties")) == [0, 3, 4]
    assert life_table(past, "days").known.event.tolist() == [sortie]


def test_a_failure_found_at_a_check_came_after_the_ship_last_set_out(fleet, servo):
    fleet.fail(servo[2], day("2025-07-10"))
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 61, 100]
    assert only(life_table(past, "sorties")) == [0, 2, 3]
    # Dry that day: on this clock it came when it last moved.
    assert only(life_table(past, "immersions")) == [0, 0, 1]
    assert only(life_table(past, "minutes afloat")) == [0, 40, 60]


def test_any_sortie_of_the_last_day_may_have_killed_a_part_found_dead_ashore(fleet, servo):
    fleet.fail(servo[2], day("2025-05-10"))
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 30, 39]
    assert only(life_table(past, "sorties")) == [0, 0, 2]


def test_what_was_written_down_as_last_good_decides(fleet, servo):
    fleet.fail(servo[2], day("2025-07-10"), last_good_on=day("2025-05-01"), last_good_sortie=1)
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 30, 100]
    assert only(life_table(past, "sorties")) == [0, 1, 3]


def test_a_hidden_function_is_known_to_work_only_by_its_tests(fleet):
    ship = fleet.ship("Halberd")
    place, family = fleet.position(ship, "float-switch"), fleet.family("float switch", hidden=True)
    part = fleet.part("F1", family)
    fleet.fit(part, place)
    fleet.sail(ship, day("2025-06-01"))
    fleet.fail(part, day("2025-07-10"), found_by="demand test")
    assert only(life_table(fleet.past(), "days")) == [0, 0, 100]
    fleet.add(t.reading, position_id=place, measure="demand test", value=1.0, taken_on=day("2025-05-01"))
    assert only(life_table(fleet.past(), "days")) == [0, 30, 100]


def test_a_failure_on_the_day_of_fitting_took_part_of_a_day(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    fleet.fail(part, FITTED, found_by="bench")
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 0, 1]
    assert left_out(life_table(past, "sorties")) == {"failed before the clock moved (no sorties until then)": 1}


def test_use_adds_up_over_ships_and_shelf_time_does_not_count(fleet, servo):
    other = fleet.ship("Gannet")
    moved = fleet.part("S2", 1)
    begun = fleet.position(other, "rudder-servo")
    fleet.fit(moved, begun, FITTED, day("2025-05-01"), sorties=(0, 1), reason="working")
    fleet.shelve(moved, "pool", day("2025-05-02"), day("2025-06-01"))
    fleet.sail(other, day("2025-05-01"), 1)
    fleet.sail(other, day("2025-05-01"), 2)
    stern = fleet.position(servo[0], "stern-servo", zone="dry deck")
    fleet.fit(moved, stern, day("2025-06-01"), sorties=(0, 0))
    past = fleet.past()
    table = life_table(past, "days", Selection({"position": "stern-servo"}))
    assert only(table) == [0, 30 + 92, INF]
    assert only(life_table(past, "sorties", Selection({"position": "stern-servo"}))) == [0, 2, INF]
    assert "1 of 1 parts changed zone: they count in their last" in table.notes


def test_rubber_grows_old_on_the_shelf_and_is_seen_from_its_fitting(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("R1", fleet.family("o-ring", ages_on_shelf=True))
    fleet.shelve(part, "pool", day("2025-01-01"), FITTED)
    fleet.fit(part, fleet.position(ship, "hatch"))
    assert only(life_table(fleet.past(), "days")) == [90, 243, INF]


def test_unknown_prior_use_is_left_out_counted_and_kept_for_rates(fleet, servo):
    used = fleet.part("S9", 1, used=True)
    fleet.fit(used, fleet.position(servo[0], "gun-servo"))
    table = life_table(fleet.past(), "days")
    assert only(table) == [0, 153, INF]
    assert [(each.reason, each.n, each.of, each.examples) for each in table.excluded] == [
        ("unknown prior use", 1, 2, ("S9",))
    ]
    assert table.unknown_age.tag.tolist() == ["S9"]
    assert table.unknown_age.lives.lower.tolist() == [153]


def test_installed_before_the_records_is_unknown_prior_use(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), day("2025-01-01"), from_precision="before records")
    assert left_out(life_table(fleet.past(), "days")) == {"unknown prior use": 1}


def test_a_ship_whose_records_start_late_is_seen_from_then_on(fleet):
    ship = fleet.ship("Halberd", records_from=day("2025-06-01"))
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    fleet.sail(ship, day("2025-07-01"))
    past = fleet.past()
    assert only(life_table(past, "days")) == [61, 153, INF]
    reason = "fitted before the records of their ship begin: earlier use unknown"
    assert left_out(life_table(past, "sorties")) == {reason: 1}


@pytest.mark.parametrize(
    ("told", "ending"), [({"cause": "ball hit"}, "battle damage"), ({"secondary": True}, "secondary failure")]
)
def test_battle_damage_and_secondary_failures_are_censored(fleet, servo, told, ending):
    fleet.fail(servo[2], day("2025-07-10"), **told)
    table = life_table(fleet.past(), "days")
    assert only(table) == [0, 100, INF]
    assert table.known.ending.tolist() == [ending]


def test_a_part_pulled_working_is_censored_when_it_was_pulled(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), FITTED, day("2025-05-01"), reason="working")
    table = life_table(fleet.past(), "days")
    assert only(table) == [0, 30, INF]
    assert table.known.ending.tolist() == ["pulled working"]


@pytest.mark.parametrize(
    ("judged", "upper"),
    [({}, INF), ({"closed_on": day("2025-05-20"), "outcome": "condemned"}, 30)],
)
def test_a_suspect_has_failed_only_if_it_was_condemned(fleet, judged, upper):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), FITTED, day("2025-05-01"), reason="suspect")
    fleet.sail(ship, day("2025-04-21"))
    fleet.fail(part, day("2025-05-01"), mode="erratic", found_by="bench")
    fleet.add(t.suspicion, part_id=part, raised_on=day("2025-05-01"), mode="erratic", **judged)
    lower = 20 if upper == 30 else 30
    assert only(life_table(fleet.past(), "days")) == [0, lower, upper]
    assert only(life_table(fleet.past(day("2025-05-10")), "days")) == [0, 30, INF]


def test_a_suspect_cleared_and_fitted_again_lives_on(fleet):
    ship = fleet.ship("Halberd")
    part, rudder = fleet.part("S1", fleet.family()), fleet.position(ship, "rudder-servo")
    fleet.fit(part, rudder, FITTED, day("2025-05-01"), reason="suspect")
    cleared = {"closed_on": day("2025-05-11"), "outcome": "no failure found"}
    fleet.add(t.suspicion, part_id=part, raised_on=day("2025-05-01"), mode="erratic", **cleared)
    fleet.fit(part, rudder, day("2025-05-11"))
    assert only(life_table(fleet.past(), "days")) == [0, 30 + 113, INF]


def test_only_the_life_up_to_the_first_failure_counts(fleet):
    ship = fleet.ship("Halberd")
    part, rudder = fleet.part("S1", fleet.family()), fleet.position(ship, "rudder-servo")
    fleet.fit(part, rudder, FITTED, day("2025-05-01"), reason="failed")
    fleet.fail(part, day("2025-05-01"), found_by="bench", last_good_on=day("2025-04-30"), last_good_sortie=0)
    fleet.fit(part, rudder, day("2025-05-11"))
    fleet.fail(part, day("2025-06-11"), found_by="bench")
    table = life_table(fleet.past(), "days")
    assert only(table) == [0, 29, 30]
    assert table.notes[0] == (
        "1 of 1 parts put back to work after failing: only the life up to the first failure counts"
    )


def test_a_part_pulled_as_failed_without_a_record_has_failed(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), FITTED, day("2025-05-01"), reason="failed")
    table = life_table(fleet.past(), "days")
    assert only(table) == [0, 0, 30]
    assert "1 of 1 parts pulled as failed or condemned without a record of the failure" in table.notes


def test_a_ship_lost_ends_the_lives_of_her_parts(fleet):
    ship = fleet.ship("Halberd", state="lost", state_since=day("2025-05-01"))
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    past = fleet.past()
    assert only(life_table(past, "days")) == [0, 30, INF]
    assert life_table(past, "days").known.ending.tolist() == ["ship lost"]
    assert fleet_now(past, "days").tag.size == 0


def test_a_clock_that_never_moved_leaves_the_life_out(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    fleet.sail(ship, day("2025-06-01"), wetness="W1")
    past = fleet.past()
    assert left_out(life_table(past, "immersions")) == {"the clock has not moved yet (no immersions)": 1}
    assert left_out(life_table(past, "shots")) == {"no sortie has its shots recorded": 1}


def test_an_unknown_wetness_is_named_and_counts_as_the_fleets_mean(fleet, servo):
    fleet.sail(servo[0], day("2025-07-01"), 1, None)
    table = life_table(fleet.past(), "immersions")
    assert only(table) == [0, pytest.approx(1 + 1 / 3, abs=1e-6), INF]
    assert "1 of 4 sorties have no immersions recorded: the fleet's mean counts" in table.notes


def test_what_came_later_than_the_day_asked_for_is_not_known(fleet, servo):
    fleet.fail(servo[2], day("2025-07-10"))
    assert only(life_table(fleet.past(day("2025-05-15")), "sorties")) == [0, 2, INF]


def test_dates_known_only_roughly_are_counted(fleet):
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), day("2025-04-15"), from_precision="month")
    assert "1 of 1 parts fitted or pulled on a day known only to the month" in life_table(fleet.past(), "days").notes[0]


def test_labels_say_what_it_was_treated_with_and_which_water_it_sailed(fleet, servo):
    salt, pond = (fleet.add(t.venue, name=name, water=water) for name, water in (("Quay", "salt"), ("Pond", "fresh")))
    for on, venue in (("2025-07-01", salt), ("2025-07-02", salt), ("2025-07-03", pond)):
        fleet.sail(servo[0], day(on), venue_id=venue)
    wax, oil = (fleet.add(t.method, name=name) for name in ("wax", "oil"))
    done = {"kind": "applied", "done_precision": "day", "part_id": servo[2]}
    fleet.add(t.treatment, method_id=wax, done_on=day("2025-03-01"), **done)
    fleet.add(t.treatment, method_id=oil, done_on=day("2025-08-01"), **done)
    table = life_table(fleet.past(), "days")
    found = {name: column[0] for name, column in table.known.labels.items()}
    assert found == {
        "category": "servo",
        "family": "servo",
        "model": "",
        "batch": "",
        "waterproofing": "wax",
        "zone": "bilge",
        "system": "steering",
        "position": "rudder-servo",
        "ship": "Halberd",
        "water": "salt",
    }
    assert "1 of 1 parts had their waterproofing changed: they count under the one they began with" in table.notes


def test_the_fleet_now_has_the_age_of_every_fitted_part_and_its_last_test(fleet, servo):
    used = fleet.part("S9", 1, used=True)
    fleet.fit(used, fleet.position(servo[0], "gun-servo"))
    fleet.add(t.reading, part_id=servo[2], measure="demand test", value=1.0, taken_on=day("2025-08-01"))
    now = fleet_now(fleet.past(), "sorties")
    assert now.tag.tolist() == ["S1", "S9"]
    assert now.age[0] == 3
    assert np.isnan(now.age[1])
    assert now.observed.tolist() == [3, 3]
    assert now.last_tested.tolist() == [day_number(day("2025-08-01")), NO_DAY]
    assert now.since.tolist() == [day_number(FITTED)] * 2
    assert now.position_id.tolist() == [servo[1], servo[1] + 1]


def test_a_check_that_passed_is_a_test(fleet, servo):
    battle = fleet.add(
        t.battle, name="May", from_on=day("2025-05-01"), until_on=day("2025-05-01"), state="fought", resupply=False
    )
    check = fleet.add(t.prebattle_check, ship_id=servo[0], battle_id=battle, begun_on=day("2025-04-30"))
    said = {"question": "sweep?", "position_id": servo[1], "answered_at": "2025-04-30T10:00:00"}
    fleet.add(t.check_answer, prebattle_check_id=check, step=1, answer="pass", **said)
    assert fleet_now(fleet.past(), "days").last_tested.tolist() == [day_number(day("2025-04-30"))]


def test_exposure_history_has_a_row_for_each_time_the_part_was_known_to_work(fleet, servo):
    fleet.fail(servo[2], day("2025-07-10"))
    rows = history_rows(fleet.past())
    # 1 May: two sorties, the second a sinking; on 1 June it set out working; 39 days later it was found dead.
    assert rows.gain[:, 0].tolist() == [30, 0, 31, 39]
    assert rows.gain[:, 1].tolist() == [1, 1, 0, 1]
    assert rows.gain[:, 4].tolist() == [0, 1, 0, 0]
    assert rows.failed.tolist() == [False, False, False, True]


def test_an_empty_club_has_no_lives(fleet):
    past = fleet.past()
    for clock in ("days", "immersions"):
        assert life_table(past, clock).known.lives.n == 0
        assert fleet_now(past, clock).tag.size == 0
    assert history_rows(past).part.size == 0
