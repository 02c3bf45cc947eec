"""Block diagrams and fault trees against published values and against counting every state one by one."""

from __future__ import annotations

from itertools import combinations, product
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintain.core.decision_diagram import Diagram, diagram
from maintain.core.importance import importance
from maintain.core.structure import NEVER, AtLeast, Event, all_of, any_of, components, fewer_work_than
from maintain.errors import InvalidRecord
from tests.published.reading import EXPECTED

P13: dict[str, Any] = EXPECTED["P13"]
# Components from 0. Path sets {1,4}, {2,5}, {1,3,5}, {2,3,4}: she fails when every path is cut.
BRIDGE = all_of(any_of(0, 3), any_of(1, 4), any_of(0, 2, 4), any_of(1, 2, 3))
TREE = any_of(all_of(0, 1), 2, all_of(0, 3))  # component 0 stands in two branches

N = 5


def events() -> st.SearchStrategy[Event]:
    def joined(parts: st.SearchStrategy[Event]) -> st.SearchStrategy[Event]:
        return st.builds(AtLeast, st.integers(0, 4), st.lists(parts, max_size=4).map(tuple))

    return st.recursive(st.integers(0, N - 1), joined, max_leaves=10)


chances = st.lists(st.floats(0, 1), min_size=N, max_size=N).map(np.array)


def happens(event: Event, failed: tuple[bool, ...]) -> bool:
    if isinstance(event, int):
        return failed[event]
    return sum(happens(each, failed) for each in event.events) >= event.count


def counted(event: Event, q: np.ndarray) -> float:
    """The chance by adding up all states in which the event happens."""
    states = product((False, True), repeat=len(q))
    weights = ((np.where(state, q, 1 - q).prod(), happens(event, state)) for state in states)
    return float(sum(weight for weight, happened in weights if happened))


@pytest.mark.parametrize(
    ("needed", "working", "key"),
    [
        (2, [0.9] * 3, "kofn_2of3_p9"),
        (3, [0.9] * 5, "kofn_3of5_p9"),
        (2, [0.8] * 4, "kofn_2of4_p8"),
        (2, [0.9, 0.8, 0.7], "kofn_2of3_unequal"),
        (3, [0.99, 0.95, 0.9], "series_3"),
        (1, [0.99, 0.95, 0.9], "parallel_3"),
    ],
)
def test_so_many_of_a_bank_work_with_the_published_chance(needed: int, working: list[float], key: str) -> None:
    bank = fewer_work_than(needed, tuple(range(len(working))))
    assert 1 - diagram(bank).chance(1 - np.array(working)) == pytest.approx(P13[key], abs=1e-9)


@pytest.mark.parametrize("case", ["bridge_p9", "bridge_uneq"])
def test_the_bridge_has_its_published_chance_and_importance(case: str) -> None:
    published = P13[case]
    q = 1 - np.array(published["ps"])
    bridge = diagram(BRIDGE)
    assert bridge.cut_sets == ((0, 1), (3, 4), (0, 2, 4), (1, 2, 3))
    assert bridge.chance(q) == pytest.approx(published["Q"], abs=1e-9)
    found = importance(BRIDGE, q)
    assert found.birnbaum == pytest.approx(published["birnbaum"], abs=1e-9)
    assert found.criticality == pytest.approx(published["criticality_failure"], abs=1e-9)
    assert found.fussell_vesely == pytest.approx(published["fussell_vesely_exact"], abs=1e-9)


def test_a_fault_tree_with_a_repeated_event_has_its_published_chance() -> None:
    q = P13["fta"]["q"]
    tree = diagram(TREE)
    assert tree.cut_sets == ((2,), (0, 1), (0, 3))
    assert tree.chance(q) == pytest.approx(P13["fta"]["exact"], abs=1e-9)


@given(events(), chances)
def test_the_chance_is_that_of_all_states_counted(event: Event, q: np.ndarray) -> None:
    assert diagram(event).chance(q) == pytest.approx(counted(event, q), abs=1e-12)


@given(events(), chances)
def test_birnbaum_is_the_chance_if_it_failed_less_the_chance_if_it_works(event: Event, q: np.ndarray) -> None:
    for each, found in enumerate(diagram(event).birnbaum(q)):
        failed, works = q.copy(), q.copy()
        failed[each], works[each] = 1.0, 0.0
        assert found == pytest.approx(counted(event, failed) - counted(event, works), abs=1e-12)


@given(events())
def test_cut_sets_are_all_the_smallest_that_bring_it_about(event: Event) -> None:
    def enough(some: tuple[int, ...]) -> bool:
        return happens(event, tuple(each in some for each in range(N)))

    sets = [some for size in range(N + 1) for some in combinations(range(N), size) if enough(some)]
    smallest = {each for each in sets if not any(set(other) < set(each) for other in sets)}
    assert set(diagram(event).cut_sets) == smallest


@given(events(), chances)
def test_importance_is_that_of_all_states_counted(event: Event, q: np.ndarray) -> None:
    top = counted(event, q)
    if top < 1e-6:
        return
    found = importance(event, q)
    for each in range(N):
        mine = [cut for cut in diagram(event).cut_sets if each in cut]
        of_mine = counted(AtLeast(1, tuple(AtLeast(len(cut), cut) for cut in mine)), q)
        assert found.fussell_vesely[each] == pytest.approx(of_mine / top, abs=1e-9)
        assert found.criticality[each] == pytest.approx(found.birnbaum[each] * q[each] / top, abs=1e-9)


@given(events(), chances, chances)
def test_a_likelier_failure_never_makes_the_whole_less_likely_to_fail(
    event: Event, q: np.ndarray, other: np.ndarray
) -> None:
    chance = diagram(event).chance(np.stack([np.minimum(q, other), np.maximum(q, other)]))
    assert chance[0] <= chance[1] + 1e-12


def test_many_draws_at_once_are_what_each_gives_alone() -> None:
    q = np.random.default_rng(1).uniform(size=(3, 4, 5))
    bridge: Diagram = diagram(BRIDGE)
    alone = np.array([[bridge.chance(row) for row in rows] for rows in q])
    assert np.array_equal(bridge.chance(q), alone)
    assert bridge.birnbaum(q).shape == q.shape
    assert importance(BRIDGE, q).fussell_vesely.shape == q.shape


def test_what_rests_on_nothing_never_happens() -> None:
    assert diagram(NEVER).chance(np.zeros((2, 0))) == pytest.approx([0, 0])
    assert diagram(NEVER).cut_sets == ()
    assert np.isnan(importance(any_of(0), [0.0]).criticality).all()


def test_a_large_ship_with_shared_supplies_takes_no_long_counting() -> None:
    supply = any_of(0, *(all_of(servo, 20 + servo) for servo in range(1, 9)))
    guns = AtLeast(8, tuple(any_of(servo, supply) for servo in range(1, 9)))
    ship = any_of(supply, guns, *range(9, 20))
    assert components(ship)[:3] == (0, 1, 21)
    assert len(diagram(ship).asks) < 200


@pytest.mark.parametrize("bad", [[0.1], [0.1, np.nan, 0.2], [0.1, 1.1, 0.2], [0.1, -0.1, 0.2]])
def test_what_is_no_chance_is_refused(bad: list[float]) -> None:
    with pytest.raises(InvalidRecord):
        diagram(any_of(0, 1, 2)).chance(bad)


def test_more_than_there_are_cannot_be_needed() -> None:
    with pytest.raises(InvalidRecord, match="3 of 2"):
        fewer_work_than(3, (0, 1))
