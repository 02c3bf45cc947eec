"""What counts as proof that a part worked: a test passed within its limit, of a measure that fits the part."""

from __future__ import annotations

import pytest

from maintain.services.unit import Desk
from tests.conftest import Answer, Run, told
from tests.pond import sail


@pytest.fixture
def ask(run: Run, pond: Desk) -> Run:
    """A pump motor and a float switch fitted in January, a sortie and a battle in June."""
    told(run("ship", "add", "Plover", "--like", "cruiser", "--since", "2026-01-01"))
    told(run("battle", "add", "Midsummer", "--from", "2026-06-01", "--planned-sorties", "4"))
    for family, category, hidden in (("pump motor", "motor", ()), ("float switch", "switch", ("--hidden",))):
        told(run("family", "add", family, "--category", category, *hidden))
    fitted = (
        ("Plover/pump-motor", "pump motor", "M-01"),
        ("Plover/pump-switch", "float switch", "F-01"),
        ("Plover/pump", "pump", "P-01"),
        ("Plover/rudder-servo", "standard servo", "S-01"),
    )
    for where, family, tag in fitted:
        new = ("--tag", tag, "--origin", "new", "--into", where, "--from", "2026-01-02")
        told(run("part", "add", "--family", family, *new))
    sail(pond, "plover=W0")
    return run


def proved(run: Run, tag: str) -> str | None:
    """The last day a test showed that a part worked."""
    found = told(run("due", "--explain", tag, "--json", "--battle", "Midsummer")).json["line"]["last_tested"]
    return None if found is None else str(found)


def read(run: Run, where: str, measure: str, value: str) -> Answer:
    return told(run("reading", "add", where, measure, value, "--on", "2026-05-30"))


def test_a_figure_within_its_limit_shows_it_and_one_beyond_it_does_not(ask: Run) -> None:
    read(ask, "Plover/pump-motor", "pump seconds per litre", "300")
    assert proved(ask, "M-01") is None
    read(ask, "Plover/pump-motor", "pump seconds per litre", "25")
    assert proved(ask, "M-01") == "2026-05-30"


def test_the_limit_of_the_club_comes_before_common_practice(ask: Run) -> None:
    limit = ("reading", "limit", "pump seconds per litre", "--source", "club rule")
    told(ask(*limit, "--at-most", "400"))
    read(ask, "Plover/pump-motor", "pump seconds per litre", "300")
    assert proved(ask, "M-01") == "2026-05-30"
    told(ask(*limit, "--category", "motor", "--at-most", "200"))
    assert proved(ask, "M-01") is None
    told(ask(*limit, "--family", "pump motor", "--at-most", "350"))
    assert proved(ask, "M-01") == "2026-05-30"


def test_a_limit_in_per_cent_is_of_the_first_reading(ask: Run) -> None:
    told(ask("reading", "limit", "servo current", "--source", "club rule", "--at-most", "150", "--of-first"))
    told(ask("reading", "add", "Plover/rudder-servo", "servo current", "200", "--on", "2026-02-01"))
    read(ask, "Plover/rudder-servo", "servo current", "310")
    assert proved(ask, "S-01") == "2026-02-01"
    read(ask, "Plover/rudder-servo", "servo current", "290")
    assert proved(ask, "S-01") == "2026-05-30"


def test_a_figure_without_a_limit_shows_nothing(ask: Run) -> None:
    read(ask, "Plover/rudder-servo", "servo current", "200")
    assert proved(ask, "S-01") is None


@pytest.mark.parametrize(("measure", "value"), [("bottle weight", "300"), ("range", "60"), ("other", "1")])
def test_a_measure_of_something_else_shows_nothing(ask: Run, measure: str, value: str) -> None:
    told(ask("reading", "add", "Plover/pump-switch", "demand test", "1", "--on", "2026-02-01"))
    said = read(ask, "Plover/pump-switch", measure, value).stdout
    assert proved(ask, "F-01") == "2026-02-01"
    assert (f"{measure} does not show whether switches work" in said) == (measure != "other")


def test_a_demand_test_is_passed_or_failed_and_a_failed_one_says_how_to_log_it(ask: Run) -> None:
    for value in ("7", "0.3", "-1"):
        assert ask("reading", "add", "Plover/pump-switch", "demand test", "--", value).exit_code == 4
    assert "demand test passed on 2026-05-30" in read(ask, "Plover/pump-switch", "demand test", "1").stdout
    said = read(ask, "Plover/pump-switch", "demand test", "0").stdout
    assert "Plover/pump-switch: demand test failed on 2026-05-30" in said
    command = said.partition("log it with: ")[2].partition(";")[0]
    assert command.startswith("maintain failure log F-01 ")
    told(ask(*command.replace("'", "").replace("demand test", "demand_test").split()[1:-1], "demand test"))


def step(run: Run, topic: str) -> str:
    page = told(run("check", "show", "Plover", "--json")).json
    return str(next(each["step"] for each in page["steps"] if each["topic"] == topic))


def check(run: Run, topic: str, *answer: str) -> None:
    told(run("check", "answer", "Plover", step(run, topic), *answer))


def test_a_failed_step_with_a_figure_is_no_proof(ask: Run) -> None:
    check(ask, "pump", "fail", "--figure", "20", "--note", "hose split")
    assert proved(ask, "P-01") is None
    check(ask, "pump", "pass", "--figure", "20")
    assert proved(ask, "P-01") == "2026-06-01"


def test_a_step_passed_with_a_figure_beyond_its_limit_is_no_proof(ask: Run) -> None:
    check(ask, "pump", "pass", "--figure", "300")
    assert proved(ask, "P-01") is None


def test_changing_a_pass_to_a_fail_takes_back_all_that_the_pass_said(ask: Run) -> None:
    check(ask, "pump", "pass", "--figure", "20")
    assert [proved(ask, tag) for tag in ("P-01", "M-01", "F-01")] == ["2026-06-01"] * 3
    check(ask, "pump", "fail")
    assert [proved(ask, tag) for tag in ("P-01", "M-01")] == [None, None]
    assert told(ask("reading", "list", "--json")).json["rows"] == []
    check(ask, "pump", "pass")
    assert proved(ask, "M-01") == "2026-06-01"
