"""The one validator: what makes a life, and how each faulty row is named."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.errors import InvalidRecord
from tests.published.reading import column, numbers


def test_a_censored_life_has_no_upper_end():
    lives = lives_from_times([5, 8], [True, False])
    assert lives.upper.tolist() == [5, np.inf]
    assert (lives.n, lives.failures, lives.interval_censored) == (2, 1, False)


def test_without_a_failed_column_all_failed():
    assert lives_from_times([5, 8]).failures == 2


def test_an_interval_shows_as_one():
    assert lives_from_intervals([2, 3], [4, np.inf]).interval_censored
    assert not lives_from_intervals([2, 3], [2, np.inf]).interval_censored


@pytest.mark.parametrize(
    ("lower", "upper", "entry", "reason"),
    [
        (np.nan, 3, 0, "missing"),
        (np.inf, np.inf, 0, "missing"),
        (3, np.nan, 0, "missing"),
        (3, 3, np.nan, "entry is missing"),
        (-1, 3, 0, "time is negative"),
        (3, 3, -1, "entry is negative"),
        (4, 3, 0, "lower is after upper"),
        (0, 0, 0, "time is zero"),
        (0, np.inf, 0, "time is zero"),
        (3, 3, 3, "entry is not before"),
        (3, np.inf, 4, "entry is not before"),
        (1, 3, 3, "entry is not before"),
    ],
)
def test_a_faulty_life_is_refused_with_its_row_and_reason(lower, upper, entry, reason):
    with pytest.raises(InvalidRecord, match=reason) as refused:
        lives_from_intervals([1, lower], [2, upper], [0, entry])
    assert [fault["row"] for fault in refused.value.context["rows"]] == [2]
    assert refused.value.hint


def test_all_faulty_rows_are_named_at_once():
    # Channing House (Hyde 1980): five rows leave before they enter.
    with pytest.raises(InvalidRecord, match="5 of 462 lives refused") as refused:
        lives_from_times(
            numbers("channing", "exit_months"), column("channing", "event") == "1", numbers("channing", "entry_months")
        )
    assert [fault["row"] for fault in refused.value.context["rows"]] == [57, 352, 373, 374, 434]


def test_columns_of_different_lengths_are_refused():
    with pytest.raises(InvalidRecord, match="one length"):
        lives_from_intervals([1, 2], [3], None)
