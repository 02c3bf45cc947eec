"""Parts that had served nobody knows how long: their likelihood and the ages drawn for them, against integrals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import approx_fprime

from maintain.core.posterior import Draws
from maintain.core.service_age.ages import Ages, Kinds
from maintain.core.service_age.earlier import SERVED, SHARE, draw_earlier
from maintain.core.service_age.likelihood import log_likelihood
from maintain.core.service_age.posterior import service_age
from maintain.core.service_age.prior import Layout, Prior
from maintain.core.service_age.slope import slope
from tests.core.test_service_age import some_parts

SHAPE, SCALE, LONGEST = 1.8, 700.0, 2190.0
LAW = np.log([[SCALE, SHAPE, LONGEST]])


def lasts(age):
    return np.exp(-((age / SCALE) ** SHAPE))


def served(entry, alive, end, failed):
    """Days alone; a day of earlier service is a day."""
    column = (np.array([[each]], dtype=float) for each in (entry, alive, end))
    return Ages(*column, np.array([failed]), Kinds.alike(1), np.ones((1, 1)))


def test_one_seen_to_last_counts_as_every_age_it_may_have_had():
    """The share of parts in use that come through so much more (Cox 1962, chapter 5), by quadrature."""
    seen, most = 500.0, LONGEST
    true = quad(lambda u: lasts(u + seen), 0, most)[0] / quad(lasts, 0, most)[0]
    found = np.exp(log_likelihood(LAW, served(0, seen, seen, False), Layout(1))[0])
    assert found == pytest.approx(true, rel=0.02)


def test_one_that_fails_counts_as_every_age_it_may_have_had():
    most = LONGEST
    true = quad(lambda u: lasts(u + 200) - lasts(u + 260), 0, most)[0] / quad(lasts, 0, most)[0]
    found = np.exp(log_likelihood(LAW, served(0, 200, 260, True), Layout(1))[0])
    assert found == pytest.approx(true, rel=0.02)


def test_what_was_seen_and_what_was_not_add_up_to_certainty():
    outcomes = [served(0, 0, 90, True), served(0, 90, 400, True), served(0, 400, 400, False)]
    total = sum(np.exp(log_likelihood(LAW, each, Layout(1))[0]) for each in outcomes)
    assert total == pytest.approx(1.0, abs=1e-12)


def test_slope_and_curvature_agree_with_finite_differences():
    ages, layout = some_parts()
    pace = np.where(np.arange(ages.n)[:, None] % 3 == 0, [[1.0, 2.0, 0.02, 0.005]], 0.0)
    ages = replace(ages, pace=pace)
    point = np.random.default_rng(1).normal(0, 0.3, layout.size)
    point[[0, -1]] += 7
    found = slope(point, ages, layout)
    assert ages.strangers.size > 20
    assert found.value == pytest.approx(log_likelihood(point[None, :], ages, layout)[0], rel=1e-12)
    by_scipy = approx_fprime(point, lambda theta: log_likelihood(theta[None, :], ages, layout)[0], 1e-7)
    assert found.gradient == pytest.approx(by_scipy, rel=1e-4, abs=1e-4)
    step = 1e-5 * np.eye(layout.size)
    bend = [(slope(point + e, ages, layout).gradient - slope(point - e, ages, layout).gradient) / 2e-5 for e in step]
    assert found.hessian == pytest.approx(np.array(bend), rel=1e-5, abs=1e-5)


@pytest.mark.parametrize("seen", [0.0, 300.0, 1500.0])
def test_ages_are_drawn_as_parts_that_lasted_so_long_have_them(seen):
    """Mean and tails of the earlier service, against quadrature over every age up to the longest."""
    n = 20_000
    draws = Draws(np.full(n, SHAPE), np.full((n, 1), SCALE))
    seen_by_draw = np.full((n, 1), seen)
    before = draw_earlier(np.random.default_rng(1), draws, np.ones((n, 1)), seen_by_draw, np.full(n, LONGEST))[:, 0]
    most = LONGEST
    total = quad(lambda u: lasts(u + seen), 0, most)[0]
    mean = quad(lambda u: u * lasts(u + seen), 0, most)[0] / total
    assert before.mean() == pytest.approx(mean, rel=0.05)
    below = quad(lambda u: lasts(u + seen), 0, mean)[0] / total
    assert np.mean(before < mean) == pytest.approx(below, abs=0.03)


def test_the_longer_one_was_seen_to_last_the_younger_it_must_have_been():
    draws = Draws(np.full(4000, SHAPE), np.full((4000, 2), SCALE))
    seen = np.tile([0.0, 1500.0], (4000, 1))
    before = draw_earlier(np.random.default_rng(1), draws, np.ones((4000, 2)), seen, np.full(4000, LONGEST)).mean(
        axis=0
    )
    assert before[1] < 0.5 * before[0]


def test_a_club_of_inherited_parts_alone_learns_how_long_they_last():
    """Parts found in use at every age: their law is learnt from what is left of their lives."""
    held = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        age = rng.uniform(0, LONGEST, 4000)
        life = SCALE * rng.exponential(size=4000) ** (1 / SHAPE)
        left = (life - age)[life > age][:150]
        failed = left <= 365
        end = np.where(failed, np.ceil(left), 365.0)[:, None]
        alive = np.where(failed[:, None], end - 1, end)
        ages = Ages(np.zeros_like(end), alive, end, failed, Kinds.alike(left.size), np.ones_like(end))
        theta = service_age(ages, Layout(1), Prior(scale=1500.0)).sample(rng, 2000).theta
        low, high = np.quantile(theta, [0.1, 0.9], axis=0)
        held.append((low <= LAW[0]) & (LAW[0] <= high))
    assert np.mean(held) > 0.6


@pytest.mark.parametrize("scale", [300.0, 700.0, 3000.0])
def test_the_rule_for_the_lengths_of_service_is_about_the_integral(scale):
    """Mean chance to have lasted, over every length up to the longest, of parts that last long or not."""
    true = quad(lambda u: np.exp(-((u / scale) ** SHAPE)), 0, LONGEST)[0] / LONGEST
    assert np.exp(-((SERVED * LONGEST / scale) ** SHAPE)) @ SHARE == pytest.approx(true, rel=0.02)
