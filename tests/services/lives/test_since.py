"""Lives watched from a day on: what is older enters at its age, what ended before is left out; counted by hand."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from maintain.records.engine import make_engine
from maintain.services.lives.history import history
from maintain.services.lives.samples import Wanted, of_records
from maintain.services.lives.table import Selection, life_table
from maintain.services.unit import Desk
from tests.services.lives.fleet_of_parts import TODAY, Fleet, day

SINCE = date(2025, 6, 1)


@pytest.fixture
def fleet(club: Path) -> Fleet:
    """One ship sinks on the first of each month; an old part, one dead by June, one that dies later, a new one."""
    made = Fleet(str(club))
    family, ship = made.family(), made.ship("Argo")
    for month in range(4, 9):
        made.sail(ship, day(f"2025-0{month}-01"), wetness="W3")
    for tag, begin, end in (
        ("old", "2025-04-01", None),
        ("gone", "2025-04-01", "2025-05-10"),
        ("dies", "2025-04-11", "2025-07-20"),
        ("new", "2025-07-02", None),
    ):
        part = made.part(tag, family)
        place = made.position(ship, tag)
        made.fit(part, place, day(begin), day(end) if end else None, **({"reason": "failed"} if end else {}))
        if end:
            made.fail(part, day(end))
    made.commit()
    made.close()
    return made


def lives(fleet: Fleet, clock: str, since: date | None = None, chosen: Selection | None = None):
    engine = make_engine(fleet.db)
    with engine.connect() as connection:
        past = history(connection, TODAY, since)
    return life_table(past, clock, chosen or Selection({}))


def told(table) -> dict[str, tuple[float, float, bool]]:
    known = table.known
    columns = (known.lives.entry, known.lives.lower, known.lives.failed)
    return {str(tag): (begin, low, bool(dead)) for tag, begin, low, dead in zip(known.tag, *columns, strict=True)}


def test_older_parts_enter_at_the_age_they_had_and_what_ended_before_is_counted_out(fleet):
    table = lives(fleet, "days", SINCE)
    # April has 30 days and May 31; the part that died last sailed on 1 July, 81 days after it was fitted.
    assert told(table) == {"old": (61, 153, False), "dies": (51, 81, True), "new": (0, 61, False)}
    assert [(each.reason, each.n, each.examples) for each in table.excluded] == [
        ("ended before the day asked for", 1, ("gone",))
    ]


def test_other_clocks_keep_what_they_had_run_up_too(fleet):
    # Old sank on 1 April and 1 May before that day, and three times since.
    assert told(lives(fleet, "immersions", SINCE)) == {"old": (2, 5, False), "dies": (1, 2, True), "new": (0, 1, False)}


def test_only_parts_fitted_since_a_day_may_be_asked_for(fleet):
    fitted = Selection({}, (date(2025, 4, 11) - date(1970, 1, 1)).days)
    assert set(told(lives(fleet, "days", None, fitted))) == {"dies", "new"}


def test_the_commands_take_both_days(run, fleet):
    asked = ("life", "curve", "--on", TODAY.isoformat(), "--json", "--at", "60,70")
    found = run(*asked, "--since", "2025-06-01").json
    assert [group["n"] for group in found["groups"]] == [3]
    assert [at["at_risk"] for at in found["groups"][0]["at"]] == [2, 2]
    assert "watched from 2025-06-01 on: parts fitted earlier enter at the age they had by then" in found["notes"]
    assert run(*asked, "--fitted-since", "2025-04-11").json["groups"][0]["n"] == 2


def test_counts_that_grow_keep_what_they_had_come_to(fleet):
    desk = Desk(db=fleet.db, today=TODAY, who="tester")
    whole, late = (
        of_records(desk, Wanted(None, {}, since), None, further=("immersions",)) for since in (None, date(2025, 5, 15))
    )

    def stretches(sample):
        rows = zip(sample.tag, sample.lives.entry, sample.columns["immersions"], strict=True)
        return {(str(tag), float(begin)): float(count) for tag, begin, count in rows}

    ever, since = stretches(whole), stretches(late)
    assert since["old", 44.0] == 2  # April and May
    assert {key: count for key, count in since.items() if key[1] > 44} == {
        key: count for key, count in ever.items() if key[1] > 44
    }


@pytest.mark.parametrize("option", ["--since", "--fitted-since"])
def test_a_file_has_no_days(run, tmp_path, option):
    file = tmp_path / "a.csv"
    file.write_text("hours\n5\n8\n", encoding="utf-8")
    answer = run("life", "curve", "--csv", file, "--time", "hours", option, "2025-01-01")
    assert answer.exit_code == 4
    assert f"{option} chooses among the club's records, not in a file" in answer.stderr


def test_a_day_after_all_lives_says_so(run, fleet):
    answer = run("life", "fit", "--since", "2025-08-31", "--on", TODAY.isoformat(), "--ship", "Argo", "--by", "ship")
    assert answer.exit_code in (0, 5)
    assert "ended before the day asked for" in answer.stdout + answer.stderr
