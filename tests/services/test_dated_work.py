"""Work due by date or count, on stories counted by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.records import tables as t
from maintain.services import battles, due, sorties
from maintain.services.dated_work.gather import dated_work
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon, until_battle, until_day
from maintain.services.tasks import done as done_
from maintain.services.tasks import record
from maintain.services.unit import Desk, reading, writing
from tests.conftest import TODAY

FACTS: dict[str, Any] = {
    "due_on": None,
    "source": "club rule",
    "decider": None,
    "work_minutes": None,
    "note": None,
}


@pytest.fixture
def desk(pond: Desk) -> Desk:
    return pond


def work(desk: Desk, *, days: int = 10, sailing: int = 0) -> list[DatedWork]:
    until = desk.today + timedelta(days=days)
    with reading(desk) as connection:
        return dated_work(connection, Horizon(desk.today, until, sailing, 1 if sailing else 0))


def sail(desk: Desk, day: date, *outcomes: str) -> None:
    trip = sorties.Trip(battle=None, venue=None, day=day, number=None)
    sorties.log(desk, trip=trip, written=outcomes, shared={"minutes_afloat": None})


def add(desk: Desk, title: str, scope: dict[str, str], *every: str, **facts: Any) -> None:
    record.add(desk, title=title, scope=record.Scope(**scope), every=every, **{**FACTS, **facts})


def done(desk: Desk, title: str, ship: str, day: date) -> None:
    done_.done(desk, title=title, on=record.Scope(ship=ship), work=done_.Work(day))


def begun(desk: Desk, title: str, day: date) -> None:
    """Let a task stand since an earlier day."""
    with writing(desk, "test") as recorder:
        row = recorder.connection.execute(sa.select(t.task).where(t.task.c.title == title)).one()
        recorder.update(t.task, row.id, starts_on=day)


def test_a_promise_is_due_until_it_is_kept(desk: Desk) -> None:
    add(desk, "re-skin the bow", {"ship": "halberd"}, due_on=TODAY + timedelta(days=5))
    [found] = work(desk)
    assert (found.ship, found.due_on) == ("Halberd", TODAY + timedelta(days=5))
    assert work(desk, days=4) == []
    done(desk, "re-skin", "halberd", TODAY)
    assert work(desk) == []


def test_work_by_days_is_due_that_many_days_after_it_was_last_done(desk: Desk) -> None:
    add(desk, "renew the gasket", {"ship": "gannet"}, "30 days")
    assert work(desk, days=29) == []
    assert [each.due_on for each in work(desk, days=30)] == [TODAY + timedelta(days=30)]
    done(desk, "renew", "gannet", TODAY)
    assert work(desk, days=29) == []


@pytest.mark.parametrize(
    ("clock", "every", "due"),
    [("sorties", 3, True), ("sorties", 4, False), ("battle days", 2, True), ("wet sorties", 2, True),
     ("wet sorties", 3, False), ("immersions", 1, True), ("immersions", 2, False), ("shots", 60, True),
     ("shots", 61, False)],
)  # fmt: skip
def test_work_by_count_is_due_when_the_ship_has_had_so_many(desk: Desk, clock: str, every: int, due: bool) -> None:
    add(desk, "look inside", {"ship": "halberd"}, f"{every} {clock}")
    begun(desk, "look inside", TODAY - timedelta(days=30))
    sail(desk, TODAY - timedelta(days=9), "halberd=W0:40shots", "gannet=W3")
    sail(desk, TODAY - timedelta(days=9), "halberd=W3:20shots")
    sail(desk, TODAY - timedelta(days=2), "halberd=W1")
    assert bool(work(desk)) is due


def test_sorties_still_to_come_count_before_the_battle(desk: Desk) -> None:
    add(desk, "re-grease", {"ship": "halberd"}, "4 sorties")
    assert work(desk, sailing=3) == []
    [found] = work(desk, sailing=4)
    assert "4 more by then" in found.why


def test_only_what_happened_since_it_was_last_done_counts(desk: Desk) -> None:
    add(desk, "re-grease", {"ship": "halberd"}, "1 sorties")
    begun(desk, "re-grease", TODAY - timedelta(days=30))
    sail(desk, TODAY - timedelta(days=5), "halberd=W0")
    assert len(work(desk)) == 1
    done(desk, "re-grease", "halberd", TODAY - timedelta(days=5))
    assert work(desk) == []


def test_a_category_means_every_part_of_it_that_is_fitted(desk: Desk, run: Any) -> None:
    run("part", "add", "--family", "standard", "--into", "halberd/rudder-servo", "--from", "2026-05-01", db=desk.db)
    run("part", "add", "--family", "standard", "--into", "gannet/rudder-servo", "--from", "2026-05-01", db=desk.db)
    add(desk, "sweep twenty times", {"category": "servo"}, "10 days")
    assert [each.ship for each in work(desk)] == ["Gannet", "Halberd"]
    run("ship", "state", "gannet", "dry dock", db=desk.db)
    assert [each.ship for each in work(desk)] == ["Halberd"]


def test_the_latest_certificate_of_each_rule_counts_and_names_its_decider(desk: Desk, run: Any) -> None:
    answer = run(
        "part", "add", "--family", "pump", "--tag", "P1", "--into", "halberd/pump", "--from", "2026-05-01", db=desk.db
    )
    assert answer.exit_code == 0, answer.stderr
    rule = ("--source", "club rule", "--decider", "licensed inspector")
    for expires in ("2025-01-01", "2026-06-05"):
        assert run("certificate", "add", "P1", "--expires", expires, *rule, db=desk.db).exit_code == 0
    [found] = work(desk)
    assert (found.due_on, found.decider, found.kind) == (date(2026, 6, 5), "licensed inspector", "certificate")
    assert work(desk, days=3) == []


def test_dated_work_is_due_even_where_nothing_can_be_forecast(desk: Desk) -> None:
    add(desk, "weigh the bottle", {"ship": "halberd"}, "1 days")
    battles.add_battle(
        desk, name="June", days=(TODAY + timedelta(days=3),) * 2, venue=None, planned_sorties=2, resupply=True
    )
    found = due.due(desk, due.Question())
    assert [line.action for line in found.lines] == ["weigh the bottle"]
    assert any("no part is fitted" in note for note in found.notes)


def test_the_horizon_adds_up_the_battles_planned_and_says_what_it_assumes(desk: Desk) -> None:
    day = timedelta(days=1)
    for name, first, last, planned in (("June", 3, 3, 2), ("Meet", 20, 23, 12), ("Autumn", 90, 90, None)):
        days = (TODAY + first * day, TODAY + last * day)
        battles.add_battle(desk, name=name, days=days, venue=None, planned_sorties=planned, resupply=True)
    with reading(desk) as connection:
        row, near = until_battle(connection, desk.today, None)
        half = until_day(connection, desk.today, TODAY + 21 * day)
        far = until_day(connection, desk.today, None)
    assert (row.name, near.sorties, near.battle_days, near.days) == ("June", 2, 1, 3)
    assert (half.sorties, half.battle_days) == (2 + 6, 3)
    assert (far.until, far.sorties) == (TODAY + 90 * day, 2 + 12 + 2)
    assert far.notes == ("Autumn has no planned sorties: 2 a day are assumed, as usual here",)


def test_a_battle_that_has_begun_is_still_to_be_got_through(desk: Desk) -> None:
    days = (TODAY, TODAY + timedelta(days=3))
    battles.add_battle(desk, name="Meet", days=days, venue=None, planned_sorties=8, resupply=False)
    trip = sorties.Trip(battle="Meet", venue=None, day=TODAY, number=None)
    sorties.log(desk, trip=trip, written=("halberd=W0", "gannet=W3"), shared={"minutes_afloat": None})
    sorties.log(desk, trip=trip, written=("halberd=W0",), shared={"minutes_afloat": None})
    with reading(desk) as connection:
        row, ahead = until_battle(connection, desk.today, None)
    assert (row.name, ahead.sorties, ahead.battle_days) == ("Meet", 6, 4)


def test_beyond_the_last_battle_planned_the_usual_pace_is_assumed_and_said(desk: Desk) -> None:
    for day in range(10):
        sail(desk, TODAY - timedelta(days=20 * day + 1), "halberd=W0", "gannet=W0")
    with reading(desk) as connection:
        ahead = until_day(connection, desk.today, TODAY + timedelta(days=365))
    assert ahead.sorties == 10
    assert "the usual pace of the last year is assumed: 10 sorties a ship" in ahead.notes[0]


def test_a_new_part_does_not_bear_the_use_of_the_one_before_it(desk: Desk, run: Any) -> None:
    add(desk, "oil the pump", {"category": "pump"}, "1 immersions")
    begun(desk, "oil the pump", TODAY - timedelta(days=60))
    sail(desk, TODAY - timedelta(days=40), "halberd=W3")
    run("part", "add", "--family", "pump", "--into", "halberd/pump", "--from", "2026-05-10", db=desk.db)
    assert work(desk) == []
    sail(desk, TODAY - timedelta(days=2), "halberd=W3")
    [found] = [each for each in work(desk) if "oil the pump" in each.what]
    assert "fitted 2026-05-10" in found.why


def test_sorties_of_unknown_water_may_be_what_was_waited_for(desk: Desk) -> None:
    add(desk, "look inside", {"ship": "halberd"}, "2 immersions")
    begun(desk, "look inside", TODAY - timedelta(days=30))
    sail(desk, TODAY - timedelta(days=9), "halberd=W3")
    assert work(desk) == []
    sail(desk, TODAY - timedelta(days=8), "halberd=?")
    [found] = work(desk)
    assert "at least 1 immersion since (1 sortie of which nobody knows)" in found.why


def test_what_was_done_later_does_not_count_as_of_an_earlier_day(desk: Desk) -> None:
    add(desk, "renew the gasket", {"ship": "gannet"}, "5 days")
    begun(desk, "renew the gasket", TODAY - timedelta(days=30))
    done(desk, "renew", "gannet", TODAY)
    assert work(desk, days=2) == []
    earlier = Desk(desk.db, desk.who, TODAY - timedelta(days=2))
    assert len(work(earlier, days=2)) == 1
