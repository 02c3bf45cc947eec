"""Work that comes round, on stories counted by hand: several clocks, seasons, parts that move, what was done on it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.core.recurrence import parse_intervals
from maintain.errors import InvalidRecord, NotFound
from maintain.records import tables as t
from maintain.services.horizon import Horizon
from maintain.services.tasks import adopt, done, look, record
from maintain.services.tasks.standing import Standing, standings
from maintain.services.tasks.trade import COMMON, USUAL
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import CATEGORIES
from tests import pond as small_fleet
from tests.conftest import TODAY

LONG_AGO = TODAY - timedelta(days=400)
FACTS: dict[str, Any] = {"source": "club rule", "decider": None, "work_minutes": None, "note": None}


@pytest.fixture
def desk(pond: Desk) -> Desk:
    return pond


def add(desk: Desk, title: str, *every: str, since: date = LONG_AGO, due_on: date | None = None, **scope: str) -> None:
    """A task that stands since an earlier day."""
    record.add(desk, title=title, scope=record.Scope(**scope), every=every, due_on=due_on, **FACTS)
    with writing(desk, "test") as recorder:
        task_id = recorder.connection.execute(sa.select(t.task.c.id).where(t.task.c.title == title)).scalar_one()
        recorder.update(t.task, task_id, starts_on=since)


def sail(desk: Desk, day: date, *outcomes: str) -> None:
    small_fleet.sail(Desk(desk.db, desk.who, day), *outcomes)


def did(desk: Desk, title: str, day: date = TODAY, **on: str) -> None:
    done.done(desk, title=title, on=record.Scope(**on), work=done.Work(day))


def stands(desk: Desk, *, days: int = 0, sailing: int = 0) -> list[Standing]:
    with reading(desk) as connection:
        ahead = Horizon(desk.today, desk.today + timedelta(days=days), sailing, 1 if sailing else 0)
        return standings(connection, ahead)


def state(desk: Desk, **ahead: int) -> str:
    (only,) = stands(desk, **ahead)
    return only.reckoned.state


def fit(run: Any, desk: Desk, tag: str, where: str, since: str, family: str = "pump") -> None:
    answer = run("part", "add", "--family", family, "--tag", tag, "--into", where, "--from", since, db=desk.db)
    assert answer.exit_code == 0, answer.stderr


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        ([], "done"),
        (["W1"], "done"),
        (["W1", "W1"], "due"),
        (["W3"], "due"),
        (["W0", "W3"], "due"),
        (["W3", "W3"], "overdue"),
        (["W0", "W0", "W0"], "overdue"),
        (["?"], "due"),
    ],
)
def test_work_on_two_clocks_is_due_when_the_first_is_reached(desk: Desk, outcomes: list[str], expected: str) -> None:
    add(desk, "re-grease", "2 battle days", "1 immersion", ship="halberd")
    did(desk, "re-grease", TODAY - timedelta(days=30), ship="halberd")
    for number, wetness in enumerate(outcomes):
        sail(desk, TODAY - timedelta(days=20 - number), f"halberd={wetness}")
    assert state(desk) == expected


def test_a_day_and_a_count_may_decide_whichever_comes_first(desk: Desk) -> None:
    add(desk, "look inside", "1 year", "2 sorties", ship="halberd")
    did(desk, "look inside", TODAY - timedelta(days=300), ship="halberd")
    (only,) = stands(desk, days=30)
    assert (only.reckoned.state, only.reckoned.next_on) == ("done", TODAY + timedelta(days=65))
    assert state(desk, days=70) == "due soon"
    sail(desk, TODAY - timedelta(days=3), "halberd=W0")
    sail(desk, TODAY - timedelta(days=2), "halberd=W0")
    (only,) = stands(desk, days=70)
    assert (only.reckoned.state, only.reckoned.due_on) == ("due", None)
    assert "2 sorties since" in only.reckoned.why
    did(desk, "look inside", TODAY - timedelta(days=1), ship="halberd")
    assert state(desk, days=70) == "done"


@pytest.mark.parametrize(
    ("last", "on", "expected"),
    [
        ("2025-03-01", "2025-12-31", "due"),
        ("2025-03-01", "2026-01-01", "overdue"),
        ("2025-11-20", "2026-06-29", "done"),
        ("2025-11-20", "2026-06-30", "due"),
        ("2025-11-20", "2026-07-01", "overdue"),
        ("2026-01-01", "2026-06-30", "done"),
        ("2026-06-30", "2026-12-30", "done"),
    ],
)
def test_twice_a_season_is_once_in_each_half_of_the_year(desk: Desk, last: str, on: str, expected: str) -> None:
    add(desk, "measure the capacity", "twice a season", ship="halberd", since=date(2024, 1, 1))
    later = Desk(desk.db, desk.who, date.fromisoformat(on))
    did(later, "measure", date.fromisoformat(last), ship="halberd")
    assert state(later) == expected


def test_what_was_never_done_is_due_by_the_end_of_the_part_of_the_season_it_was_set_up_in(desk: Desk) -> None:
    add(desk, "measure the capacity", "twice a season", ship="halberd", since=TODAY)
    (only,) = stands(desk)
    assert (only.reckoned.state, only.reckoned.next_on) == ("not yet", date(2026, 6, 30))


def test_a_day_named_for_work_that_comes_round_is_that_of_the_first_time(desk: Desk) -> None:
    add(desk, "renew the gasket", "1 year", ship="halberd", due_on=TODAY + timedelta(days=5))
    assert (state(desk, days=4), state(desk, days=5)) == ("not yet", "due soon")
    did(desk, "renew", ship="halberd")
    (only,) = stands(desk)
    assert only.reckoned.next_on == TODAY + timedelta(days=365)


def test_minutes_and_shots_are_counted_and_what_nobody_knows_is_said(desk: Desk) -> None:
    add(desk, "oil the motors", "60 minutes afloat", ship="halberd")
    sail(desk, TODAY - timedelta(days=3), "halberd=W0:40afloat:10shots")
    sail(desk, TODAY - timedelta(days=2), "halberd=W0")
    (only,) = stands(desk)
    assert (only.reckoned.state, "at least 40 minutes afloat since" in only.reckoned.why) == ("not yet", True)
    sail(desk, TODAY - timedelta(days=1), "halberd=W0:20afloat")
    assert state(desk) == "due"


def test_a_part_counts_only_the_water_that_reached_it(desk: Desk, run: Any) -> None:
    place = ("position", "add", "halberd/dry-servo", "--system", "steering", "--zone", "sealed box")
    assert run(*place, db=desk.db).exit_code == 0
    fit(run, desk, "S1", "halberd/dry-servo", "2026-05-01", "standard servo")
    fit(run, desk, "S2", "halberd/rudder-servo", "2026-05-01", "standard servo")
    add(desk, "open and dry", "1 immersion", category="servo")
    sail(desk, TODAY - timedelta(days=5), "halberd=W3")
    assert {each.target.part: each.reckoned.state for each in stands(desk) if each.target} == {
        "S1": "not yet",
        "S2": "due",
    }


def test_a_part_takes_what_was_done_on_it_and_its_use_to_another_ship(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    add(desk, "weigh", "1 year", category="pump")
    add(desk, "oil", "2 sorties", category="pump")
    did(desk, "weigh", date(2026, 1, 1), part="P1")
    sail(desk, TODAY - timedelta(days=9), "halberd=W0")
    assert run("part", "install", "P1", "gannet/pump", "--from", "2026-05-25", db=desk.db).exit_code == 0
    sail(desk, TODAY - timedelta(days=2), "gannet=W0")
    found = {each.task.title: each.reckoned for each in stands(desk)}
    assert found["weigh"].next_on == date(2027, 1, 1)
    assert found["oil"].state == "due"


def test_what_was_done_on_a_ship_was_not_done_on_a_part_fitted_later(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    add(desk, "weigh", "1 year", category="pump")
    did(desk, "weigh", date(2026, 4, 1), ship="halberd")
    assert state(desk) == "done"
    assert run("part", "pull", "P1", "--until", "2026-05-01", db=desk.db).exit_code == 0
    fit(run, desk, "P2", "halberd/pump", "2026-05-02")
    (only,) = stands(desk)
    assert (only.done, only.reckoned.next_on) == (None, date(2027, 5, 2))


def test_done_on_a_family_is_done_on_each_of_its_parts(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    fit(run, desk, "P2", "gannet/pump", "2025-08-01")
    add(desk, "oil", "1 year", category="pump")
    did(desk, "oil", family="pump")
    assert [each.reckoned.state for each in stands(desk)] == ["done", "done"]
    assert len(look.page(desk, title="oil").times) == 2


def test_done_on_a_position_is_done_on_the_part_in_it(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    fit(run, desk, "P2", "gannet/pump", "2025-08-01")
    add(desk, "oil", "30 days", category="pump")
    did(desk, "oil", position="gannet/pump")
    assert {each.target.part: each.reckoned.state for each in stands(desk) if each.target} == {
        "P1": "overdue",
        "P2": "done",
    }


def test_what_a_task_is_not_done_on_is_refused(desk: Desk) -> None:
    add(desk, "re-grease", "2 battle days", ship="halberd")
    with pytest.raises(NotFound, match="'re-grease' is not done on gannet"):
        did(desk, "re-grease", ship="gannet")


def test_a_day_to_come_and_the_same_day_twice_are_refused(desk: Desk) -> None:
    add(desk, "re-grease", "2 battle days", ship="halberd")
    with pytest.raises(InvalidRecord, match="2062-06-01 is to come"):
        did(desk, "re-grease", date(2062, 6, 1), ship="halberd")
    did(desk, "re-grease", ship="halberd")
    with pytest.raises(InvalidRecord, match="on record already: Halberd, on 2026-06-01"):
        did(desk, "re-grease", ship="halberd")


def test_a_task_that_nothing_fitted_calls_for_is_listed_all_the_same(desk: Desk) -> None:
    add(desk, "oil", "30 days", category="cannon")
    (row,) = look.listing(desk, look.Filter()).rows
    assert (row["on"], row["state"], row["why"]) == ("cannon", "not yet", "nothing to do it on")
    assert stands(desk)[0].falls_due is False


def test_nothing_is_due_on_a_ship_that_is_gone_but_work_goes_on_in_dry_dock(desk: Desk, run: Any) -> None:
    add(desk, "re-skin the bow", ship="halberd", due_on=TODAY - timedelta(days=1))
    assert run("ship", "state", "halberd", "dry dock", db=desk.db).exit_code == 0
    assert state(desk) == "overdue"
    assert run("ship", "state", "halberd", "paid off", db=desk.db).exit_code == 0
    (only,) = stands(desk)
    assert (only.target, only.falls_due) == (None, False)


def test_as_of_an_earlier_day_a_task_stands_as_it_did_then(desk: Desk) -> None:
    add(desk, "re-grease", "30 days", ship="halberd", since=TODAY - timedelta(days=20))
    did(desk, "re-grease", ship="halberd")
    record.close(desk, title="re-grease", reason="sealed bearings")
    assert stands(desk) == []
    (then,) = stands(Desk(desk.db, desk.who, TODAY - timedelta(days=1)))
    assert (then.reckoned.state, then.done) == ("not yet", None)
    assert stands(Desk(desk.db, desk.who, TODAY - timedelta(days=21))) == []


def test_a_change_of_clocks_replaces_all_of_them_and_is_undone_whole(desk: Desk, run: Any) -> None:
    add(desk, "re-grease", "2 battle days", "1 immersion", ship="halberd")
    record.change(desk, title="re-grease", every=("3 sorties", "1 year"), facts={"decider": "Ana"})
    page = look.page(desk, title="re-grease")
    assert (page.every, page.decider) == ("every 3 sorties or every 365 days", "Ana")
    assert run("undo", db=desk.db).exit_code == 0
    page = look.page(desk, title="re-grease")
    assert (page.every, page.decider) == ("every 2 battle days or every immersion", None)


def test_every_usual_work_can_be_kept_and_says_where_it_comes_from() -> None:
    assert len({each.title for each in USUAL}) == len(USUAL)
    for each in USUAL:
        assert each.category in CATEGORIES
        assert parse_intervals(each.every)
        assert each.source == COMMON or any(mark in each.source for mark in ("CFR", "ISO", "ASTM"))
        assert each.why
        assert each.work_minutes > 0


def test_adopting_takes_over_what_there_are_parts_for_and_only_once(desk: Desk) -> None:
    made = adopt.adopt(desk, adopt.Choice())
    titles = {row["title"] for row in look.listing(desk, look.Filter()).rows}
    assert titles == set(made.record["tasks"])
    assert {each.category for each in USUAL if each.title in titles} == {"servo", "pump"}
    with pytest.raises(InvalidRecord, match="all of that is adopted already"):
        adopt.adopt(desk, adopt.Choice())
    assert {row["title"] for row in look.listing(desk, look.Filter()).rows} == titles
    offered = adopt.suggest(desk, category=None, ship=None, everything=False).rows
    assert {row["adopted"] for row in offered} == {"adopted"}


def test_what_was_adopted_for_the_fleet_is_not_adopted_again_for_a_ship(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    adopt.adopt(desk, adopt.Choice(category="pump"))
    with pytest.raises(InvalidRecord, match="adopted already"):
        adopt.adopt(desk, adopt.Choice(category="pump", ship="halberd"))


def test_a_ship_may_adopt_alone_and_others_after_her(desk: Desk, run: Any) -> None:
    fit(run, desk, "P1", "halberd/pump", "2025-08-01")
    fit(run, desk, "P2", "gannet/pump", "2025-08-01")
    for ship in ("halberd", "gannet"):
        adopt.adopt(desk, adopt.Choice(category="pump", ship=ship))
    found = [(each.task.title, each.target.part) for each in stands(desk) if each.target]
    assert found == [
        ("look at the impeller and its screw (Halberd)", "P1"),
        ("look at the impeller and its screw (Gannet)", "P2"),
    ]


def test_closed_work_may_be_adopted_anew(desk: Desk) -> None:
    adopt.adopt(desk, adopt.Choice(category="pump"))
    record.close(desk, title="look at the impeller", reason="winter")
    assert adopt.adopt(desk, adopt.Choice(titles=("look at the impeller",))).record["tasks"]


def test_work_meant_for_some_families_is_offered_for_those_by_name_or_place(desk: Desk, run: Any) -> None:
    for name in ("neoprene ring 4 mm", "box gasket cord"):
        assert run("family", "add", name, "--category", "seal", db=desk.db).exit_code == 0
    fit(run, desk, "N1", "halberd/shaft-seal", "2026-01-01", "neoprene ring 4 mm")
    offered = {
        row["title"]: row["families"] for row in adopt.suggest(desk, category="seal", ship=None, everything=False).rows
    }
    assert offered["re-grease the shaft tubes"] == ["neoprene ring 4 mm"]
    assert offered["renew the box gasket"] == ["box gasket cord"]
    assert "pinch-test the foam strips" not in offered
