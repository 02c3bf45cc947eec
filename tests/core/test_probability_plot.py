"""Probability paper: plotting positions from definition, and laws that lie on straight lines."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.fit import fit
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.core.models import MODELS
from maintain.core.probability_plot import fitted_line, paper_height, probability_points
from maintain.errors import InvalidRecord, NotEnoughData
from tests.core.published_lives import ball_bearings, channing, nist_hours


def test_without_censoring_the_positions_are_hazens():
    # Hazen (1914): (i - 1/2) / n.
    lives = ball_bearings("4848")
    points = probability_points(lives, fit(lives))
    tied = np.array([np.mean(np.flatnonzero(np.sort(lives.lower) == time)) + 0.5 for time in points.time])
    assert points.failed_share == pytest.approx(tied / lives.n)


def test_with_censoring_the_positions_are_half_way_up_the_published_steps():
    lives = nist_hours("nist_km_8215")
    # NIST/SEMATECH e-Handbook, 8.2.1.5: reliabilities 0.95, 0.90, 0.847 after the first three failures.
    points = probability_points(lives, fit(lives))
    assert points.failed_share[:3] == pytest.approx([0.025, 0.075, 1 - (0.9 + 0.8470588) / 2], rel=1e-6)


@pytest.mark.parametrize("model", list(MODELS))
def test_a_law_lies_on_a_straight_line_on_its_own_paper(model):
    fitted = fit(ball_bearings("4848"), model)
    times = np.geomspace(20, 150, 9)
    line = fitted_line(fitted, times)
    slope = np.diff(line.value) / np.diff(np.log(times))
    assert slope == pytest.approx(np.full(8, 1 / np.exp(fitted.theta[1])), rel=1e-6)
    assert np.all((line.lower < line.value) & (line.value < line.upper))


@pytest.mark.parametrize(
    ("model", "law"), [("weibull", "gumbel_l"), ("lognormal", "norm"), ("loglogistic", "logistic")]
)
def test_heights_are_the_quantiles_scipy_gives(model, law):
    from scipy import stats

    shares = [0.001, 0.1, 0.5, 0.9, 0.999]
    assert paper_height(shares, model) == pytest.approx(getattr(stats, law).ppf(shares))


def test_points_of_a_large_sample_with_late_entries_lie_along_the_fit():
    rng = np.random.default_rng(4)
    life, entry = 10 * rng.weibull(2.0, 30_000), rng.uniform(3, 8, 30_000)
    lives = lives_from_times(life[life > entry], None, entry[life > entry])
    fitted = fit(lives)
    points = probability_points(lives, fitted)
    inside = (points.failed_share > 0.2) & (points.failed_share < 0.95)
    line = fitted_line(fitted, points.time[inside])
    assert points.height[inside] == pytest.approx(line.value, abs=0.05)


def test_points_end_where_an_early_risk_set_empties():
    lives = channing("Male")
    assert probability_points(lives, fit(lives)).time[-1] == 781


def test_what_cannot_be_placed_is_refused():
    fitted = fit(ball_bearings("4848"))
    with pytest.raises(NotEnoughData, match="nothing to place"):
        probability_points(lives_from_times([3], [False]), fitted)
    with pytest.raises(InvalidRecord, match="interval"):
        probability_points(lives_from_intervals([1], [2]), fitted)
