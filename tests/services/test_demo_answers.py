"""The program's answers on the demo club, held against the truth from which its records were drawn."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from maintain.results.outlook import Due
from maintain.results.spares import Spares
from maintain.services import demo, due, spares
from maintain.services.chances import Drawn
from maintain.services.horizon import until_battle
from maintain.services.outlook import outlook
from maintain.services.prospects import Prospect, prospects
from maintain.services.unit import Desk, reading

TRUTH = json.loads((demo.fleet_folder() / "truth_parts.json").read_text(encoding="utf-8"))
CHANCE: dict[str, float] = {each["tag"]: each["fails_by_next_battle"] for each in TRUTH["parts"]}
_DEAD = sum(each["failed_already"] for each in TRUTH["parts"])  # aboard, and nobody has noticed
FAMILIES: dict[str, Any] = {each["family"]: each for each in TRUTH["families"]}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


@pytest.fixture(scope="module")
def due_now(desk: Desk) -> Due:
    return due.due(desk, due.Question(everything=True))


@pytest.fixture(scope="module")
def parts(desk: Desk) -> list[Prospect]:
    with reading(desk) as connection:
        _, horizon = until_battle(connection, desk.today, None)
        return prospects(connection, outlook(connection, horizon))


def _drawn(part: Prospect) -> Drawn:
    return part.chances.kept.of(part.row)


@pytest.fixture(scope="module")
def held(desk: Desk) -> Spares:
    return spares.spares(desk, spares.Question())


def test_it_is_the_battle_and_the_horizon_of_the_truth(due_now: Due, held: Spares) -> None:
    assert str(due_now.until) == TRUTH["next_battle_ends"]
    assert str(held.until) == TRUTH["meet_ends"]


def test_most_intervals_hold_the_true_chance_of_their_part(parts: list[Prospect]) -> None:
    """
    Eighty per cent intervals, of the chance of a part that works now, as the truth states it.

    Parts of one category share one stroke of luck, so the share that hold their truth spreads far more than that of 276
    separate tosses; two in three is asked for.
    """
    held = [np.mean(_drawn(part).now < CHANCE[part.tag]) for part in parts if part.tag in CHANCE]
    assert len(held) > 250
    assert np.mean([0.1 <= below <= 0.9 for below in held]) > 0.66


def test_intervals_hold_the_true_chance_of_most_parts_of_unknown_earlier_use(parts: list[Prospect]) -> None:
    """As of all parts; and together they are said to fail as often as they truly do, within a half."""
    strange = [part for part in parts if not part.aged and part.tag in CHANCE]
    below = [np.mean(_drawn(part).now < CHANCE[part.tag]) for part in strange]
    assert len(strange) > 35
    assert np.mean([0.1 <= each <= 0.9 for each in below]) > 0.66
    said = sum(_drawn(part).now.mean() for part in strange)
    assert said == pytest.approx(sum(CHANCE[part.tag] for part in strange), rel=0.5)


def test_the_worst_part_of_unknown_earlier_use_is_among_those_worked_on(parts: list[Prospect]) -> None:
    """A motor seen to work through 1042 days and 7 sinkings: truly 11 % to fail in the week."""
    worst = max((part for part in parts if not part.aged and part.tag in CHANCE), key=lambda part: CHANCE[part.tag])
    assert CHANCE[worst.tag] > 0.1
    assert worst.advice.kind == "replace"
    assert _drawn(worst).now.mean() == pytest.approx(CHANCE[worst.tag], rel=0.5)


def test_the_failures_expected_of_the_whole_fleet_are_about_the_true_ones(parts: list[Prospect], due_now: Due) -> None:
    """The truth says 3.1 by the end of the battle; a Poisson count of that mean has a standard deviation of 1.8."""
    true = sum(each["fails_by_next_battle"] for each in TRUTH["parts"] if not each["failed_already"])
    assert abs(sum(_drawn(part).now.mean() for part in parts) - true) < 1.5
    assert due_now.expected.lower <= true + _DEAD <= due_now.expected.upper


def test_about_as_many_parts_have_failed_unseen_as_is_said(parts: list[Prospect]) -> None:
    """What died since anybody looked is one draw of luck: a Poisson count about what is said of it."""
    said = sum(_drawn(part).silent.mean() for part in parts)
    assert stats.poisson.ppf(0.05, said) <= _DEAD <= stats.poisson.ppf(0.95, said)


def test_parts_said_likely_to_fail_truly_are_likelier(due_now: Due) -> None:
    """What a captain does with the list: its first tenth must be worth his evening more than the rest."""
    truth = {each["tag"]: each["fails_by_next_battle"] for each in TRUTH["parts"]}
    parts = [line for line in due_now.lines if line.failing and line.part in truth]
    parts.sort(key=lambda line: -line.failing.value if line.failing else 0.0)
    tenth = len(parts) // 10
    first, rest = (sum(truth[line.part or ""] for line in some) / len(some) for some in (parts[:tenth], parts[tenth:]))
    assert first > 2 * rest


def test_demand_intervals_hold_the_true_expected_demand_of_most_families(held: Spares) -> None:
    known = [line for line in held.lines if line.family in FAMILIES]
    inside = [line.demand.lower <= FAMILIES[line.family]["expected_failures"] <= line.demand.upper for line in known]
    assert len(known) == len(FAMILIES)
    assert sum(inside) / len(inside) >= 0.8


def test_the_total_demand_is_about_the_true_one(held: Spares) -> None:
    """What is dead already and not yet found will be called for, too."""
    known = [line.demand.value for line in held.lines if line.family in FAMILIES]
    true = sum(each["expected_failures"] + each["failed_already"] for each in FAMILIES.values())
    assert sum(known) == pytest.approx(true, rel=0.25)


def test_holdings_said_to_suffice_cover_the_true_tenth_worst_demand(held: Spares) -> None:
    """A holding for 95 % must not lie below the true 90 % demand, but for a family or two of bad luck."""
    short = [
        line.family for line in held.lines if line.family in FAMILIES and line.needed < FAMILIES[line.family]["p90"]
    ]
    assert len(short) <= 2


def test_verdicts_never_contradict_the_truth(due_now: Due) -> None:
    """
    Wear-out only where the true shape is above 1, early failures only where it is below.

    A category has one verdict: it must not be wrong of all its families.
    """
    stated = json.loads((demo.fleet_folder() / "truth.json").read_text(encoding="utf-8"))
    shapes: dict[str, list[float]] = {}
    for family in stated["families"].values():
        shapes.setdefault(family["category"], []).append(family["shape"])
    verdicts = {(line.evidence.category, line.evidence.verdict) for line in due_now.lines if line.evidence}
    assert {verdict for _, verdict in verdicts} >= {"wear-out", "can't tell yet"}
    for category, verdict in verdicts:
        assert verdict != "wear-out" or max(shapes[category]) > 1
        assert verdict != "early failures" or min(shapes[category]) < 1


def test_the_same_records_give_the_same_answer(desk: Desk, due_now: Due, held: Spares) -> None:
    assert due.due(desk, due.Question(everything=True)).document() == due_now.document()
    assert spares.spares(desk, spares.Question()).document() == held.document()


def test_the_demo_never_writes_over_a_file(tmp_path: Path) -> None:
    from maintain.errors import InvalidRecord

    mine = tmp_path / "club.db"
    mine.write_bytes(b"mine")
    with pytest.raises(InvalidRecord, match="exists already"):
        demo.build(mine, "tester")
    assert mine.read_bytes() == b"mine"
