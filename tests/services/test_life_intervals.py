"""Which estimate the records get where failures are known only to an interval."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.lives import Lives, lives_from_intervals
from maintain.core.midpoints import at_middle
from maintain.services.life import Question, curve
from maintain.services.life_intervals import at_middle_if_alike
from maintain.services.lives.samples import Sample

RNG = np.random.default_rng(6)
FAILED = RNG.weibull(1.5, 60) * 400
ENTRY = np.floor(FAILED * RNG.uniform(0, 0.5, 60) * (np.arange(60) % 3 == 0))


def found_at_checks(every: float) -> Lives:
    low = np.maximum(np.floor(FAILED / every) * every, ENTRY)
    return lives_from_intervals(low, (np.floor(FAILED / every) + 1) * every, ENTRY)


def sample(lives: Lives, *, of_records: bool = True) -> Sample:
    words = np.array([f"P{row}" for row in range(lives.n)], dtype=object)
    group = np.where(np.arange(lives.n) % 2, "a", "b").astype(object)
    return Sample(lives, group, "days", "part", "kind", tag=words if of_records else None)


def test_short_intervals_of_the_records_count_at_their_middle_and_how_little_that_does_is_said():
    lives = found_at_checks(10)
    taken, said = at_middle_if_alike(sample(lives))
    assert np.array_equal(taken.lives.lower, at_middle(lives).lower)
    assert said[0].startswith("each of the 60 failures is known only to an interval: the middle counts; to allow for ")
    answer = curve(sample(lives), Question())
    assert {group.estimator for group in answer.groups} == {"Kaplan-Meier"}


def test_long_intervals_are_allowed_for_in_full_with_late_entry_too():
    answer = curve(sample(found_at_checks(300)), Question(at=(300, 600)))
    assert {group.estimator for group in answer.groups} == {"Turnbull"}
    for group in answer.groups:
        assert group.at[0].lower < group.at[0].survival < group.at[0].upper
    assert any(
        "each of the 30 failures is known only to an interval: the curve allows for that" in n
        for n in answer.source.notes
    )


def test_a_file_has_its_intervals_allowed_for_however_short_they_are():
    taken, said = at_middle_if_alike(sample(found_at_checks(10), of_records=False))
    assert taken.lives.interval_censored
    assert said == []


def test_those_that_worked_at_an_age_are_answered_for_from_intervals_too():
    # The share of those working at 300 is that of all over that at 300, a check, where it is known.
    lives = found_at_checks(300)
    whole = curve(sample(lives), Question(at=(300, 900)))
    later = curve(sample(lives), Question(at=(900,), given=300))
    for before, after in zip(whole.groups, later.groups, strict=True):
        assert after.at[0].survival == pytest.approx(before.at[1].survival / before.at[0].survival)
        assert after.n < before.n
