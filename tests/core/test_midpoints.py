"""Failures at the middle of their intervals: by hand, and that short intervals move nothing."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.lives import lives_from_intervals
from maintain.core.midpoints import at_middle, moved_by_intervals


def test_the_middle_is_that_of_the_time_watched():
    found = at_middle(lives_from_intervals([2, 0, 5], [4, 9, np.inf], [0, 3, 0]))
    assert (found.lower.tolist(), found.upper.tolist()) == ([3, 6, 5], [3, 6, np.inf])


def test_the_wider_the_intervals_the_more_they_move_the_curve():
    rng = np.random.default_rng(2)
    life = rng.weibull(1.5, 200) * 100

    def moved(gap: float) -> float:
        return moved_by_intervals(lives_from_intervals(np.floor(life / gap) * gap, (np.floor(life / gap) + 1) * gap))

    assert moved(0.5) < 0.005 < moved(20) < moved(60)


def test_two_failures_found_at_two_checks_move_it_by_half_of_a_quarter():
    # By hand: joined from 1 down to 0 against steps at a quarter and three quarters, the area between is an eighth.
    assert moved_by_intervals(lives_from_intervals([0, 10], [10, 20])) == pytest.approx(1 / 8, rel=1e-3)
