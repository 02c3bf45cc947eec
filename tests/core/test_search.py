"""Newton's climb: it finds peaks from afar and knows when there is none."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.likelihood import Value
from maintain.core.search import maximise


def test_a_peak_is_found_from_where_the_function_bends_upward():
    def bell(point):
        height = np.exp(-(point[0] ** 2) / 2)
        return Value(height, -point * height, np.array([[(point[0] ** 2 - 1) * height]]))

    point, best = maximise(bell, np.array([1.7]))
    assert point[0] == pytest.approx(0, abs=1e-6)
    assert best.value == pytest.approx(1)


@pytest.mark.parametrize(
    "rising",
    [
        lambda point: Value(float(point[0]), np.ones(1), np.zeros((1, 1))),
        lambda point: Value(-float(np.exp(-point[0])), np.exp(-point), -np.exp(-point)[None]),
        lambda point: Value(float("nan"), np.zeros(1), np.zeros((1, 1))),
    ],
    ids=["for ever", "towards a limit", "undefined"],
)
def test_without_a_peak_none_is_found(rising):
    assert maximise(rising, np.array([0.0])) is None


def test_a_peak_on_which_rounding_leaves_nothing_to_gain_is_taken():
    def noisy(point):
        return Value(-1.0 - abs(float(point[0])), np.array([1e-3]), -np.eye(1))

    point, _ = maximise(noisy, np.array([0.0]))
    assert point[0] == 0
