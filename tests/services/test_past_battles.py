"""What became of parts after a battle, from small stories; and a forecast of the past knows nothing of its future."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from maintain.records import tables as t
from maintain.records.engine import make_engine
from maintain.services import demo
from maintain.services.eve import Forecasts, forecasts
from maintain.services.lives.columns import as_date
from maintain.services.lives.history import history
from maintain.services.past_battles import Aftermath, PastBattle, aftermath, past_battles
from tests.services.lives.fleet_of_parts import Fleet, day

MAY, JUNE = day("2025-05-04"), day("2025-06-01")
NOW = day("2025-09-01")


@pytest.fixture
def fleet(club: Path) -> Iterator[Fleet]:
    made = Fleet(str(club))
    yield made
    made.close()


@pytest.fixture
def servo(fleet: Fleet) -> tuple[int, int]:
    """A servo of a ship that sails twice each in battles in May and June, and once in July; its ship and its id."""
    ship = fleet.ship("Halberd")
    part = fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    for name, on in (("May", MAY), ("June", JUNE)):
        facts = {"name": name, "from_on": on, "until_on": on, "state": "fought", "resupply": True}
        battle = fleet.add(t.battle, planned_sorties=2, **facts)
        for number in (1, 2):
            fleet.sail(ship, on, number, battle_id=battle)
    fleet.sail(ship, day("2025-07-20"))
    return ship, part


def battles(fleet: Fleet, today: date = NOW) -> list[PastBattle]:
    fleet.commit()
    with make_engine(fleet.db, "read").connect() as connection, connection.begin():
        return past_battles(connection, today)


def told(fleet: Fleet) -> list[str]:
    """What is told of the only part, battle by battle."""
    known = fleet.past()
    return [_word(aftermath(known, battle)) for battle in battles(fleet)]


def _word(after: Aftermath) -> str:
    if not after.tag.size:
        return "not fitted"
    if not after.sailed[0]:
        return "stayed ashore"
    if not after.seen_to[0]:
        return "nobody knows yet"
    return {(False, False): "untold", (False, True): "worked", (True, True): "failed"}[
        bool(after.failed[0]), bool(after.settled[0])
    ]


def last_days(fleet: Fleet) -> list[date]:
    """The last day that counts of the only part, battle by battle."""
    known = fleet.past()
    return [as_date(int(aftermath(known, battle).until[0])) for battle in battles(fleet)]


def test_a_part_that_still_works_worked_in_every_battle(fleet, servo):
    assert told(fleet) == ["worked", "worked"]


def test_a_failure_in_battle_counts_in_that_battle_only(fleet, servo):
    fleet.fail(servo[1], MAY, 2, found_by="in battle")
    assert told(fleet) == ["failed", "untold"]


def test_until_she_sails_again_nobody_knows_what_a_battle_did(fleet, servo):
    """Neither of what worked when it was last seen nor, lest failures be counted and the rest not, of what failed."""
    ship = fleet.ship("Gannet")
    late = fleet.part("S0", fleet.family("micro servo"))
    fleet.fit(late, fleet.position(ship, "rudder-servo"))
    fleet.sail(ship, JUNE, 1)
    fleet.fail(late, JUNE, 1, found_by="in battle")
    after = aftermath(fleet.past(), battles(fleet)[1])
    seen_to = dict(zip(after.tag.tolist(), after.told.tolist(), strict=True))
    assert seen_to == {"S1": True, "S0": False}


@pytest.mark.parametrize("found", ["2025-05-04", "2025-05-20"])
def test_what_is_found_dead_ashore_before_the_next_sortie_failed_in_the_battle_before(fleet, servo, found):
    fleet.fail(servo[1], day(found), 2 if found == "2025-05-04" else 0)
    assert told(fleet) == ["failed", "untold"]


def test_what_is_found_dead_on_the_morning_of_a_battle_had_failed_since_the_one_before(fleet, servo):
    """On the eve of June nobody knew; that it may have failed already was part of the question."""
    fleet.fail(servo[1], JUNE, 0)
    assert told(fleet) == ["failed", "failed"]


def test_what_died_ashore_shows_in_the_next_sortie_and_counts_until_then(fleet, servo):
    fleet.fail(servo[1], JUNE, 1, found_by="in battle")
    assert told(fleet) == ["failed", "failed"]


def test_what_fails_before_the_next_sortie_failed_whenever_it_was_last_seen_to_work(fleet, servo):
    fleet.fail(servo[1], day("2025-05-20"), last_good_on=day("2025-05-10"), last_good_sortie=0)
    assert told(fleet) == ["failed", "untold"]


def test_each_ship_counts_until_she_has_sailed_once_more(fleet, servo):
    assert last_days(fleet) == [JUNE, day("2025-07-20")]
    fleet.sail(servo[0], day("2025-05-15"))
    assert last_days(fleet) == [day("2025-05-15"), day("2025-07-20")]
    assert aftermath(fleet.past(), battles(fleet)[0]).once_more.tolist() == [1]


def test_damage_by_a_ball_says_nothing_of_the_part(fleet, servo):
    fleet.fail(servo[1], JUNE, 2, found_by="in battle", cause="ball hit")
    assert told(fleet) == ["worked", "untold"]


def test_a_hidden_function_is_never_told_of(fleet):
    ship, part = fleet.ship("Halberd"), fleet.part("S1", fleet.family(hidden=True))
    fleet.fit(part, fleet.position(ship, "float-switch"))
    fleet.add(t.battle, name="May", from_on=MAY, until_on=MAY, state="fought", resupply=True)
    fleet.sail(ship, MAY)
    fleet.sail(ship, JUNE)
    assert told(fleet) == ["untold"]


def test_a_ship_that_stayed_ashore_tells_nothing(fleet, servo):
    fleet.add(
        t.battle, name="July", from_on=day("2025-07-01"), until_on=day("2025-07-01"), state="fought", resupply=True
    )
    assert told(fleet)[-1] == "stayed ashore"


def test_a_part_pulled_working_after_the_battle_worked_in_it(fleet):
    ship, part = fleet.ship("Halberd"), fleet.part("S1", fleet.family())
    fleet.fit(part, fleet.position(ship, "rudder-servo"), end=day("2025-05-20"), reason="working")
    fleet.add(t.battle, name="May", from_on=MAY, until_on=MAY, state="fought", resupply=True)
    fleet.sail(ship, MAY)
    fleet.sail(ship, JUNE)
    assert told(fleet) == ["worked"]
    assert last_days(fleet) == [day("2025-05-20")]
    assert aftermath(fleet.past(), battles(fleet)[0]).once_more.tolist() == [0]


def test_the_eve_looks_to_the_end_of_the_battle_with_what_was_planned(fleet, servo):
    first, last = battles(fleet)
    assert (first.horizon.today, first.horizon.until, first.horizon.sorties) == (day("2025-05-03"), MAY, 2)
    assert last.horizon.until == JUNE
    assert [each.name for each in battles(fleet, today=JUNE)] == ["May"]


def test_sorties_not_planned_are_those_usual_before_the_battle(fleet):
    """Three a day had been usual on the eve of June; what June and July made of it was not known."""
    ship = fleet.ship("Halberd")
    for name, on, sorties in (("May", MAY, 3), ("June", JUNE, 9), ("July", day("2025-07-01"), 9)):
        facts = {"name": name, "from_on": on, "until_on": on, "state": "fought", "resupply": True}
        battle = fleet.add(t.battle, **facts)
        for number in range(1, sorties + 1):
            fleet.sail(ship, on, number, battle_id=battle)
    assert [each.horizon.sorties for each in battles(fleet)] == [2, 3, 6]


# What a raw copy of the records must lose to be what they were on the evening of a day.
FORGET = """
DELETE FROM placement WHERE from_on > :eve;
UPDATE placement SET until_on = NULL, until_sortie = NULL, until_precision = NULL, reason = NULL WHERE until_on > :eve;
DELETE FROM retest WHERE tested_on > :eve;
DELETE FROM suspicion WHERE raised_on > :eve;
UPDATE suspicion SET closed_on = NULL, outcome = NULL WHERE closed_on > :eve;
DELETE FROM failure WHERE found_on > :eve;
DELETE FROM opening WHERE opened_on > :eve;
DELETE FROM sortie WHERE sailed_on > :eve;
DELETE FROM treatment WHERE done_on > :eve;
DELETE FROM reading WHERE taken_on > :eve;
DELETE FROM check_answer WHERE prebattle_check_id IN (SELECT id FROM prebattle_check WHERE begun_on > :eve);
DELETE FROM prebattle_check WHERE begun_on > :eve;
UPDATE ship SET state = 'in commission', state_since = NULL WHERE state_since > :eve;
UPDATE battle SET state = 'planned' WHERE from_on > :eve AND state = 'fought';
DELETE FROM part WHERE id NOT IN (SELECT part_id FROM placement);
"""


def foretold(db: Path, battle: PastBattle, until: dict[str, tuple[int, int]]) -> Forecasts:
    with make_engine(str(db), "read").connect() as connection, connection.begin():
        found = forecasts(connection, battle, until)
    assert found is not None
    return found


@pytest.mark.parametrize("name", ["Ice Breaker 2024", "Thunder Day 2025"])
def test_a_forecast_of_the_past_is_the_same_when_all_that_came_later_is_struck_from_the_records(
    demo_club: Path, tmp_path: Path, name: str
) -> None:
    with make_engine(str(demo_club), "read").connect() as connection, connection.begin():
        battle = next(
            each for each in past_battles(connection, demo.today()) if each.from_on >= _day_of(connection, name)
        )
        after = aftermath(history(connection, demo.today()), battle)
    then = Path(shutil.copyfile(demo_club, tmp_path / "then.db"))
    _forget(then, battle.horizon.today)
    now, before = foretold(demo_club, battle, after.asked), foretold(then, battle, after.asked)
    assert now.tag.size > 100
    assert now.tag.tolist() == before.tag.tolist()
    np.testing.assert_array_equal(now.ours, before.ours)
    np.testing.assert_array_equal(now.by_rate, before.by_rate)
    np.testing.assert_array_equal(now.by_days, before.by_days)


def _day_of(connection, name: str) -> date:
    return connection.execute(t.battle.select().where(t.battle.c.name == name)).one().from_on


def _forget(db: Path, eve: date) -> None:
    with sqlite3.connect(db) as connection:
        for statement in filter(str.strip, FORGET.split(";")):
            connection.execute(statement, {"eve": eve.isoformat()})
