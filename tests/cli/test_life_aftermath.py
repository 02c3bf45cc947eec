"""`maintain life aftermath`: stories of sinkings counted by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.services.lives.fleet_of_parts import Fleet, day

TODAY = "2025-09-01"


@pytest.fixture
def fleet(club: Path) -> Fleet:
    """
    Argo sinks on 2025-05-01 and 2025-06-01 with two servos; one is found dead on 2025-06-11, the other lives.

    Boreas sinks twice on 2025-05-01; her servo is found dead the same day. She also has a servo in a sealed box, which
    W3 does not reach. Nobody knows how wet she got on 2025-07-01.
    """
    made = Fleet(str(club))
    family = made.family()
    argo, boreas = made.ship("Argo"), made.ship("Boreas")
    made.sail(argo, day("2025-05-01"), wetness="W3")
    made.sail(argo, day("2025-06-01"), wetness="W4")
    made.sail(argo, day("2025-06-02"), wetness="W2")
    for number in (1, 2):
        made.sail(boreas, day("2025-05-01"), number, wetness="W3")
    made.sail(boreas, day("2025-07-01"), wetness=None)
    for tag, ship, zone in (("A0", argo, "bilge"), ("A1", argo, "dry deck"), ("B0", boreas, "bilge")):
        part = made.part(tag, family)
        made.fit(part, made.position(ship, f"servo-{tag}", zone=zone))
        if tag != "A1":
            made.fail(part, day("2025-06-11" if tag == "A0" else "2025-05-01"), found_sortie=0 if tag == "A0" else 2)
    boxed = made.part("B1", family)
    made.fit(boxed, made.position(boreas, "servo-B1", zone="sealed box"))
    made.fail(boxed, day("2025-06-20"))
    made.commit()
    made.close()
    return made


def test_soakings_and_what_followed_are_those_counted_by_hand(run, fleet):
    # A0: sunk again after 31 days, then dead after 10. A1: sunk again after 31 days, then 92 days without an end.
    # B0: sunk again on the same day, then dead on it. Six soakings; two deaths, after no day and after 10.
    found = run("life", "aftermath", "--at", "0,10,31", "--on", TODAY, "--json").json
    assert (found["soakings"], found["parts"], found["deaths"], found["clock"]) == (6, 3, 2, "days")
    shares = [(point["dead"]["value"], point["sunk_again"]) for point in found["at"]]
    assert shares == [pytest.approx(each) for each in ((1 / 6, 1 / 6), (2 / 6, 1 / 6), (2 / 6, 3 / 6))]
    assert [point["at_risk"] for point in found["at"]] == [6, 4, 3]
    assert found["half_by"] == {"value": 0, "lower": None, "upper": None}
    assert "1 sortie of unknown wetness counts as no sinking" in found["notes"]


def test_deaths_after_a_sinking_are_held_against_days_before_any_counted_by_hand(run, fleet):
    # All are one family in its first year. Before any sinking: three parts of 30 days each, and B1, which the water
    # never reached, of 80 to its death.
    found = run("life", "aftermath", "--at", "0,10,31", "--on", TODAY, "--json").json
    assert found["unsunk"] == {"deaths": 1, "days": 170}
    assert [point["deaths"] for point in found["at"]] == [1, 1, 0]
    first, _, last = (point["as_often"] for point in found["at"])
    assert first["value"] == pytest.approx((1 / 3) / (1 / 170))  # one death in six half days
    assert first["lower"] < 1 < first["upper"]
    # From day 11 to 31 three soakings were followed for 21 days each, and nobody died: exact limit, given one death.
    assert last == {"value": 0, "lower": 0, "upper": pytest.approx(170 / 63 * 0.975 / 0.025)}
    assert found["sooner_until"] is None


def test_deaths_right_after_many_sinkings_are_told_to_come_sooner(run, club):
    made = Fleet(str(club))
    family = made.family()
    for number in range(12):
        ship = made.ship(f"Ship {number}")
        made.sail(ship, day("2025-05-01"), wetness="W3")
        for place in range(2):
            part = made.part(f"S{number}-{place}", family)
            made.fit(part, made.position(ship, f"servo {place}", zone="bilge"))
            if (number + place) % 3 == 0:
                made.fail(part, day("2025-05-01"), found_sortie=1)
        late = made.part(f"L{number}", family)
        made.fit(late, made.position(ship, "spare", zone="bilge"), end=day("2025-04-20"))
        if number < 4:
            made.fail(late, day("2025-04-20"))
    made.commit()
    made.close()
    found = run("life", "aftermath", "--at", "1,30", "--on", TODAY, "--json").json
    assert found["sooner_until"] == 1
    assert found["at"][0]["as_often"]["lower"] > 1
    assert "within 1 day of it" in run("life", "aftermath", "--at", "1,30", "--on", TODAY).stdout


def test_the_answer_is_a_sentence_and_parts_can_be_chosen(run, fleet):
    answer = run("life", "aftermath", "--ship", "argo", "--on", TODAY)
    assert answer.stdout.startswith(
        "2 parts went under 4 times: 1 died before the next sinking, half of them found dead within 10 days "
        "(limits: can't tell yet); can't tell yet whether sooner than parts of their family and age not yet sunk"
    )


def test_without_a_death_after_a_sinking_it_says_so(run, fleet):
    answer = run("life", "aftermath", "--zone", "sealed box", "--on", TODAY)
    assert (answer.exit_code, answer.stdout) == (5, "")
    assert "0 soakings, and no death after any" in answer.stderr
