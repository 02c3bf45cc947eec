"""What a salvage finds is what the parts lived: the same as if every opening had been logged by hand."""

from __future__ import annotations

import random
import shutil
from datetime import date
from pathlib import Path

import pytest

from maintain.core.exposure import exposure
from maintain.services.lives.history import history
from maintain.services.unit import Desk, reading
from tests.conftest import TODAY, Run

FOUND = ("dry", "damp", "water")
CLOCKS = ("wet sorties", "immersions", "minutes under")
PLACES = {
    "S-01": ("standard servo", "halberd/rudder-servo"),  # bilge
    "G-01": ("standard servo", "halberd/gun-1-servo"),  # dry deck
    "P-01": ("pump", "halberd/pump"),  # bilge
    "R-01": ("receiver", "halberd/receiver"),  # sealed box
    "E-01": ("receiver", "halberd/speed-controller"),  # sealed box
}


@pytest.fixture
def afloat(pond: Desk, run: Run) -> Run:
    run("family", "add", "receiver", "--category", "receiver")
    for tag, (family, where) in PLACES.items():
        into = ("--into", where, "--from", "2026-01-02", "--origin", "new")
        assert run("part", "add", "--family", family, "--tag", tag, *into).exit_code == 0
    for outcome in ("halberd=W1", "halberd=W3:damage:6min"):
        run("sortie", "log", outcome, "--day", "2026-05-03")
    return run


def _lived(db: str) -> dict[str, list[float]]:
    """What each part has gained on the clocks that water drives, as lives count it."""
    with reading(Desk(db, "tester", TODAY)) as connection:
        past = history(connection, TODAY)
    tags = dict(zip(past.rows.part["id"], past.rows.part["tag"], strict=True))
    gains = [exposure(past.log, clock).of(past.stays) for clock in CLOCKS]
    owner = [tags[past.part[place]] for place in past.stays.part]
    return {tag: [float(gain[row]) for gain in gains] for row, tag in enumerate(owner)}


def _shown(run: Run, *db: Path) -> dict[str, tuple[int, int]]:
    """The same as the ship's page counts it."""
    lines = run("show", "halberd", "--json", **({"db": db[0]} if db else {})).json["lines"]
    return {line["tag"]: (line["wet_sorties"], line["immersions"]) for line in lines if line["tag"]}


def _salvaged(run: Run, topic: str, part: str | None, found: str, *more: str) -> None:
    steps = run("salvage", "show", "halberd", "--json").json["steps"]
    number = next(str(step["step"]) for step in steps if (step["topic"], step["part"]) == (topic, part))
    assert run("salvage", "answer", "halberd", number, found, *more).exit_code == 0


def test_before_anybody_looked_zone_and_wetness_decide(afloat: Run, pond: Desk) -> None:
    assert _lived(pond.db) == {
        "S-01": [2, 1, 6],
        "G-01": [1, 1, 6],
        "P-01": [2, 1, 6],
        "R-01": [0, 0, 0],
        "E-01": [0, 0, 0],
    }


def test_a_part_found_dry_did_not_live_the_sinking_and_no_other_is_touched(afloat: Run, pond: Desk) -> None:
    _salvaged(afloat, "look", "S-01", "dry")
    lived = _lived(pond.db)
    assert (lived["S-01"], lived["P-01"]) == ([1, 0, 0], [2, 1, 6])
    assert _shown(afloat)["S-01"] == (1, 0)


def test_a_box_found_wet_wets_what_is_in_it_but_for_what_was_found_dry(afloat: Run, pond: Desk) -> None:
    _salvaged(afloat, "box", None, "water")
    _salvaged(afloat, "look", "R-01", "dry")
    lived = _lived(pond.db)
    assert (lived["R-01"], lived["E-01"]) == ([0, 0, 0], [1, 1, 6])
    assert (_shown(afloat)["R-01"], _shown(afloat)["E-01"]) == ((0, 0), (1, 1))


def test_a_box_found_dry_counts_but_for_the_part_that_was_wet_in_it(afloat: Run, pond: Desk) -> None:
    _salvaged(afloat, "box", None, "dry")
    _salvaged(afloat, "look", "R-01", "damp")
    assert (_lived(pond.db)["R-01"], _shown(afloat)["R-01"]) == ([1, 1, 6], (1, 1))


def test_minutes_told_in_the_salvage_reach_the_lives(afloat: Run, pond: Desk) -> None:
    afloat("sortie", "log", "halberd=W3", "--day", "2026-05-30")
    _salvaged(afloat, "minutes under", None, "timed", "--figure", "25")  # which makes it W4: the box is taken to leak
    lived = _lived(pond.db)
    assert (lived["S-01"], lived["R-01"]) == ([3, 2, 31], [1, 1, 25])


@pytest.mark.parametrize("seed", range(4))
def test_a_salvage_and_openings_logged_by_hand_give_the_same_lives(
    afloat: Run, pond: Desk, tmp_path: Path, seed: int
) -> None:
    by_hand = shutil.copyfile(pond.db, tmp_path / "by_hand.db")
    rng = random.Random(seed)
    for tag, found in {tag: rng.choice((*FOUND, "not seen")) for tag in (None, *PLACES)}.items():
        topic = "box" if tag is None else "look"
        if rng.random() < 0.3:  # an answer that is put right does not count
            _salvaged(afloat, topic, tag, rng.choice(FOUND))
        _salvaged(afloat, topic, tag, found)
        if found != "not seen":
            where = PLACES[tag][1] if tag else "halberd"
            words = ("opening", "log", where, found, "--day", "2026-05-03", "--number", "2")
            assert afloat(*words, db=by_hand).exit_code == 0
    assert (_lived(pond.db), _shown(afloat)) == (_lived(str(by_hand)), _shown(afloat, by_hand))


def test_the_day_of_the_look_is_the_day_it_is_known_from(afloat: Run, pond: Desk) -> None:
    _salvaged(afloat, "look", "S-01", "dry")
    with reading(Desk(pond.db, "tester", TODAY)) as connection:
        past = history(connection, date(2026, 5, 20))
    tags = dict(zip(past.rows.part["id"], past.rows.part["tag"], strict=True))
    gain = exposure(past.log, "immersions").of(past.stays)
    assert [gain[row] for row, place in enumerate(past.stays.part) if tags[past.part[place]] == "S-01"] == [1]
