"""The demo club graded: what was forecast of all its battles, against what happened and against simpler forecasts."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from maintain.results.trust import Backtest
from maintain.services import demo, eve, outlook
from maintain.services.backtest import backtest
from maintain.services.unit import Desk
from tests.services.true_laws import true_earlier, true_outlook


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return demo.build(tmp_path_factory.mktemp("demo") / "club.db", "tester")


@pytest.fixture(scope="module")
def graded(desk: Desk) -> Backtest:
    return backtest(desk)


@pytest.fixture(scope="module")
def known(desk: Desk) -> Iterator[Backtest]:
    """The same battles, forecast by one who knows the laws the club was drawn from, and how old it got its parts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(eve, "outlook", true_outlook)
        patch.setattr(outlook, "draw_earlier", true_earlier)
        yield backtest(desk)


@pytest.mark.slow
def test_the_forecasts_of_the_demo_club_are_believable_and_surprise_less_than_both_rivals(graded: Backtest) -> None:
    assert len(graded.battles) > 35
    assert graded.believable
    for rival in graded.rivals:
        assert rival.log_skill is not None
        assert rival.log_skill.lower > 0, rival.name
        assert rival.skill is not None
        assert rival.skill.lower > 0, rival.name


@pytest.mark.slow
def test_on_a_club_of_this_size_even_the_true_laws_gain_little_and_ours_no_more(
    graded: Backtest, known: Backtest
) -> None:
    """What docs/outlook.md says of the best that can be hoped for: about 3.5 % of the Brier, 8.5 % of the log score."""
    ours, best = graded.rivals[0], known.rivals[0]
    assert best.skill is not None
    assert best.log_skill is not None
    assert ours.log_skill is not None
    assert 0.02 < best.skill.value < 0.05
    assert 0.06 < best.log_skill.value < 0.11
    assert ours.log_skill.value < best.log_skill.value


@pytest.mark.slow
def test_fewer_parts_failed_in_these_records_than_the_laws_they_were_drawn_from_expect(known: Backtest) -> None:
    """Motors and seals above all, as docs/outlook.md says."""
    assert known.believable
    short = {each.name: each.expected - each.seen for each in known.categories}
    assert known.whole.expected > known.whole.seen
    assert {"motor", "seal"} == set(sorted(short, key=lambda name: -short[name])[:2])


def test_the_same_records_are_graded_alike_each_time(desk: Desk) -> None:
    told: list[str] = []
    again: list[Backtest] = [backtest(desk, 3, lambda name, _: told.append(name)) for _ in range(2)]
    assert again[0] == again[1]
    assert told.count("Harvest 2026") == 2
