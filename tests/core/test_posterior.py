"""The category posterior against independent integration, conjugate results, published data and simulated truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike
from scipy import integrate, stats

from maintain.core.lives import Floats, Lives, lives_from_intervals, lives_from_times
from maintain.core.posterior import BETWEEN_NODES, SHAPE_RANGE, CategoryPosterior, Draws, Prior, category_posterior
from maintain.core.weibull_grid import weibull_log_likelihood
from maintain.errors import InvalidRecord, NotEnoughData

PUBLISHED = Path(__file__).parent.parent / "published"

TWO_GROUPS = lives_from_intervals(
    lower=[3.0, 5.0, 8.0, 9.0, 2.0, 4.0, 12.0],
    upper=[3.0, 7.0, np.inf, np.inf, 4.0, 4.0, np.inf],
    entry=[0.0, 1.0, 4.0, 0.0, 0.0, 0.5, 0.0],
)
TWO_OF = np.array([0, 0, 0, 0, 1, 1, 1])


def shape_mean(found: CategoryPosterior) -> float:
    return float(found.hyper.sum(axis=(0, 2)) @ np.exp(found.log_shape))


def log_likelihood_by_scipy(lives: Lives, shape: ArrayLike, scale: ArrayLike) -> Floats:
    life = stats.weibull_min(shape, scale=scale)
    total = np.zeros(np.broadcast_shapes(np.shape(shape), np.shape(scale)))
    for entry, lower, upper in zip(lives.entry, lives.lower, lives.upper, strict=True):
        total -= life.logsf(entry)
        if lower == upper:
            total += life.logpdf(lower)
        else:
            with np.errstate(divide="ignore"):  # far from the data the chance is 0
                total += np.log(life.sf(lower) - life.sf(upper))
    return total


def test_the_grid_likelihood_is_that_of_scipy_for_every_kind_of_life() -> None:
    log_shape, log_scale = np.log([0.6, 1.0, 2.5]), np.log([2.0, 7.0, 30.0, 90.0])
    found = weibull_log_likelihood(TWO_GROUPS, TWO_OF, 3, log_shape, log_scale)
    for g in (0, 1):
        own = TWO_GROUPS.take(g == TWO_OF)
        by_scipy = log_likelihood_by_scipy(own, np.exp(log_shape)[:, None], np.exp(log_scale))
        assert found[g] == pytest.approx(by_scipy, rel=1e-10)
    assert np.all(found[2] == 0)


def test_a_narrow_late_interval_keeps_its_digits() -> None:
    # 1 - exp(-(b^2 - a^2)) with b - a = 1e-9: by hand 2e-6 to first order
    lives = lives_from_intervals([1000.0], [1000.0 + 1e-9])
    found = weibull_log_likelihood(lives, np.zeros(1, dtype=np.intp), 1, np.log([2.0]), np.log([1.0, 1000.0]))
    gap = (1000.0 + 1e-9) - 1000.0
    assert found[0, 0, 1] == pytest.approx(-1 + np.log(2 * gap / 1000.0), rel=1e-9)


def dense_two_groups(prior: Prior) -> tuple[float, float, float]:
    """Evidence, mean shape and mean log scale of the first group, by Gauss-Legendre sums of scipy's densities."""
    x, w = np.polynomial.legendre.leggauss(48)
    ends = np.log(SHAPE_RANGE)
    k = ends.mean() + np.ptp(ends) / 2 * x
    shape_prior = stats.norm(np.log(prior.shape), prior.log_shape_sd)
    wk = w * np.ptp(ends) / 2 * shape_prior.pdf(k) / (shape_prior.cdf(ends[1]) - shape_prior.cdf(ends[0]))
    y, v = np.polynomial.legendre.leggauss(400)
    assert prior.scale is not None
    m, wm = np.log(prior.scale) + 14 * y, 14 * v
    like = np.exp(
        [log_likelihood_by_scipy(TWO_GROUPS.take(g == TWO_OF), np.exp(k)[:, None], np.exp(m)) for g in (0, 1)]
    )
    wm_prior = wm * stats.norm.pdf(m, np.log(prior.scale), prior.log_scale_sd)
    cells = np.array([0, 0.125, 0.375, 0.75, 1.25, 1.75, 2.5, 3.5])
    of_between = stats.halfnorm.pdf(BETWEEN_NODES) * np.diff(cells)
    evidence = shape = scale = 0.0
    for sd, share in zip(BETWEEN_NODES * prior.between_sd, of_between / of_between.sum(), strict=True):
        apart = stats.norm.pdf(m[:, None], m[None, :], sd) * wm if sd > 0 else np.eye(m.size)
        conv = like @ apart.T
        joint = share * wk[:, None] * wm_prior * conv[0] * conv[1]
        own = share * wk[:, None] * wm_prior * (like[0] * m @ apart.T) * conv[1]
        evidence, shape, scale = (
            evidence + joint.sum(),
            shape + (joint.sum(axis=1) * np.exp(k)).sum(),
            scale + own.sum(),
        )
    return float(np.log(evidence)), float(shape / evidence), float(scale / evidence)


def test_two_groups_agree_with_dense_integration_by_other_means() -> None:
    prior = Prior(scale=6.0, log_scale_sd=1.5)
    evidence, shape, log_scale = dense_two_groups(prior)
    found = category_posterior(TWO_GROUPS, TWO_OF, 2, prior)
    assert found.log_evidence == pytest.approx(evidence, abs=2e-3)
    assert shape_mean(found) == pytest.approx(shape, rel=1e-3)
    assert found.groups[0].sum(axis=0) @ found.log_scale == pytest.approx(log_scale, abs=1e-3)


def test_one_group_alone_agrees_with_adaptive_double_integration() -> None:
    prior = Prior(scale=6.0, log_scale_sd=1.5, between_sd=0.0)
    own = TWO_GROUPS.take(TWO_OF == 0)
    ends = np.log(SHAPE_RANGE)
    of_shape = stats.norm(np.log(1.3), 0.5)
    share = of_shape.cdf(ends[1]) - of_shape.cdf(ends[0])

    def density(m: float, k: float) -> float:
        h = np.exp(np.exp(k) * (np.log([3, 5, 7, 8, 9, 1, 4]) - m))  # lives: 3 failed, 1-(5, 7] failed, 4-8, 0-9
        like = np.exp(k - np.log(3)) * h[0] * np.exp(-h[0] - h[3] - h[4] + h[5] + h[6])
        like *= np.exp(-h[1]) - np.exp(-h[2])
        return float(like * of_shape.pdf(k) / share * stats.norm.pdf(m, np.log(6.0), 1.5))

    mass, _ = integrate.dblquad(density, *ends, 0, 8, epsabs=1e-9, epsrel=1e-5)
    found = category_posterior(own, np.zeros(own.n), 1, prior)
    assert found.log_evidence == pytest.approx(np.log(mass), abs=1e-3)


@pytest.mark.parametrize("shape", [1.0, 2.5])
def test_a_known_shape_and_a_flat_scale_give_the_conjugate_gamma(shape: float) -> None:
    # with t^shape as the clock the rate scale^-shape is Gamma(failures, sum of t^shape) under a flat log scale
    time, failed = np.array([4.0, 7.0, 9.0, 9.0, 3.0, 9.0]), np.array([1, 1, 0, 0, 1, 0])
    prior = Prior(shape=shape, log_shape_sd=0, scale=8.0, log_scale_sd=12.0, between_sd=0)
    found = category_posterior(lives_from_times(time, failed), np.zeros(6), 1, prior)
    chances = np.array([0.05, 0.5, 0.95])
    rate = stats.gamma(3, scale=1 / (time**shape).sum()).ppf(1 - chances)
    assert found.scale_quantiles(chances)[0] == pytest.approx(rate ** (-1 / shape), rel=0.01)


def test_many_lives_peak_where_the_likelihood_does() -> None:
    rng = np.random.default_rng(5)
    life = 50 * rng.weibull(1.7, 4000)
    seen = np.minimum(life, 60.0)
    lives = lives_from_times(seen, life <= 60)
    found = category_posterior(lives, np.zeros(4000), 1)
    data = stats.CensoredData(uncensored=life[life <= 60], right=seen[life > 60])
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    peak = np.unravel_index(found.groups[0].argmax(), found.groups[0].shape)
    assert np.exp(found.log_shape[peak[0]]) == pytest.approx(shape, rel=0.01)
    assert np.exp(found.log_scale[peak[1]]) == pytest.approx(scale, rel=0.01)
    assert shape_mean(found) == pytest.approx(shape, rel=0.005)
    # standard error of a complete sample's shape is 0.78 shape / sqrt(n); censoring a quarter widens it a little
    low, high = found.shape_interval(0.95)
    assert 0.9 < (high - low) / (2 * 1.96 * 0.78 * shape / np.sqrt(4000)) < 1.5


def test_ball_bearings_lie_about_the_published_estimate() -> None:
    # Lieblein and Zelen (1956): maximum likelihood 2.10 and 81.88. Under a flat prior that is the peak, and with the
    # scale integrated out in closed form (a gamma integral) the shape's density is left to an ordinary quadrature
    time = np.loadtxt(PUBLISHED / "ball_bearings_4848.csv", delimiter=",", skiprows=1, usecols=1)
    lives = lives_from_times(time)
    flat = category_posterior(lives, np.zeros(23), 1, Prior(log_shape_sd=20, log_scale_sd=9, between_sd=0))
    peak = np.unravel_index(flat.groups[0].argmax(), flat.groups[0].shape)
    assert flat.log_shape[peak[0]] == pytest.approx(np.log(2.102059), abs=0.04)
    assert flat.log_scale[peak[1]] == pytest.approx(np.log(81.87833), abs=0.04)
    shape = np.exp(np.linspace(np.log(0.5), np.log(5), 4001))
    log_density = 22 * np.log(shape) + shape * np.log(time).sum() - 23 * np.log((time ** shape[:, None]).sum(axis=1))
    reached = np.cumsum(np.exp(log_density - log_density.max()))
    exact = np.exp(np.interp([0.025, 0.975], reached / reached[-1], np.log(shape)))
    assert flat.shape_interval(0.95) == pytest.approx(exact, rel=0.005)
    usual = category_posterior(lives, np.zeros(23), 1)
    assert 1.85 < shape_mean(usual) < 2.10  # 23 failures leave the usual prior (middle 1.3) a small pull
    assert usual.verdict == "wear-out"


def test_no_failures_leave_a_wide_proper_posterior_that_more_use_pushes_up() -> None:
    few = category_posterior(lives_from_times([10.0] * 5, [False] * 5), np.zeros(5), 1)
    many = category_posterior(lives_from_times([10.0] * 200, [False] * 200), np.zeros(200), 1)
    assert few.groups.sum() == pytest.approx(1)
    low, high = few.scale_quantiles([0.1, 0.9])[0]
    assert high / low > 10
    assert few.verdict == many.verdict == "can't tell yet"
    assert many.scale_quantiles([0.1])[0, 0] > 2 * low
    # use without failures is little evidence of the shape: forty times as much moves it by less than a fifth
    assert shape_mean(many) == pytest.approx(shape_mean(few), rel=0.2)


def test_with_no_failures_the_chance_of_one_is_about_that_of_a_steady_rate() -> None:
    # Jeffreys' gamma(1/2) for a steady rate, next 1 of 10 units: 1 - sqrt(T / (T + 1)) with T = n x 10
    for n in (5, 50, 1000):
        draws = category_posterior(lives_from_times([10.0] * n, [False] * n), np.zeros(n), 1).sample(
            np.random.default_rng(1), 20_000
        )
        shape, scale = draws.shape, draws.scale[:, 0]
        fails = -np.expm1((10 / scale) ** shape - (11 / scale) ** shape)
        assert 0.4 < fails.mean() / (1 - np.sqrt(n * 10 / (n * 10 + 1))) < 2.5


def test_a_group_without_lives_gets_the_pooled_belief() -> None:
    found = category_posterior(TWO_GROUPS, TWO_OF, 3)
    assert found.n.tolist() == [4, 3, 0]
    seen = np.exp(np.diff(np.log(found.scale_quantiles([0.1, 0.9])), axis=1))[:, 0]
    assert seen[2] > max(seen[:2])
    middle = (found.groups.sum(axis=1) * found.log_scale).sum(axis=1)
    assert middle[2] == pytest.approx(found.hyper.sum(axis=(0, 1)) @ found.log_scale, abs=0.01)


def test_a_category_never_seen_needs_a_guess_and_then_returns_it() -> None:
    none = lives_from_times(np.array([]), np.array([], dtype=bool))
    with pytest.raises(NotEnoughData):
        category_posterior(none, np.array([], dtype=int), 2)
    found = category_posterior(none, np.array([], dtype=int), 2, Prior(scale=40.0))
    assert found.scale_quantiles([0.5]) == pytest.approx(40, rel=0.01)
    low, high = found.shape_interval(0.95)
    assert (low, high) == pytest.approx((1.3 * np.exp(-0.98), 1.3 * np.exp(0.98)), rel=0.02)


def test_groups_must_fit_the_lives() -> None:
    with pytest.raises(InvalidRecord):
        category_posterior(TWO_GROUPS, TWO_OF, 1)
    with pytest.raises(InvalidRecord):
        category_posterior(TWO_GROUPS, TWO_OF[:3], 2)


def test_draws_have_the_moments_of_the_grid() -> None:
    found = category_posterior(TWO_GROUPS, TWO_OF, 3)
    draws = found.sample(np.random.default_rng(3), 40_000)
    assert draws.shape.mean() == pytest.approx(shape_mean(found), rel=0.01)
    on_grid = (found.groups.sum(axis=1) * found.log_scale).sum(axis=1)
    assert np.log(draws.scale).mean(axis=0) == pytest.approx(on_grid, abs=0.03)
    both = np.einsum("km,k,m->", found.groups[0], found.log_shape, found.log_scale)
    assert (np.log(draws.shape) * np.log(draws.scale[:, 0])).mean() == pytest.approx(both, abs=0.03)


def test_lives_drawn_are_quantiles_of_the_weibull() -> None:
    draws = Draws(np.array([1.5, 0.8]), np.array([[20.0, 5.0], [3.0, 40.0]]))
    exact = stats.weibull_min(draws.shape[:, None], scale=draws.scale).ppf(0.1)
    assert draws.life(0.1) == pytest.approx(exact)


def test_the_same_seed_gives_the_same_draws() -> None:
    found = category_posterior(TWO_GROUPS, TWO_OF, 2)
    one, two = (found.sample(np.random.default_rng(3), 50) for _ in range(2))
    assert np.array_equal(one.scale, two.scale)


def test_words_follow_the_shape() -> None:
    def verdict(shape: float, n: int) -> str:
        typical = stats.weibull_min(shape).ppf((np.arange(n) + 0.5) / n)
        return category_posterior(lives_from_times(typical), np.zeros(n), 1).verdict

    assert verdict(3.0, 60) == "wear-out"
    assert verdict(0.5, 60) == "early failures"
    assert verdict(1.0, 400) == "steady"
    assert verdict(1.0, 6) == "can't tell yet"


def test_the_clock_that_drove_the_failures_has_the_greater_evidence() -> None:
    # both clocks see the same failures between the same two looks; only one of them wears the part
    rng = np.random.default_rng(2)
    sinkings_to_failure = np.ceil(5 * rng.weibull(3.0, 120))
    days_a_sinking = rng.lognormal(3.5, 0.9, 120)
    as_sinkings = lives_from_intervals(sinkings_to_failure - 1, sinkings_to_failure)
    as_days = lives_from_intervals((sinkings_to_failure - 1) * days_a_sinking, sinkings_to_failure * days_a_sinking)
    of_one = np.zeros(120)
    better = category_posterior(as_sinkings, of_one, 1).log_evidence
    assert better > category_posterior(as_days, of_one, 1).log_evidence + 5


def lives_of_groups() -> st.SearchStrategy[list[tuple[float, bool, int]]]:
    life = st.tuples(st.floats(0.5, 50), st.booleans(), st.integers(0, 2))
    return st.lists(life, min_size=1, max_size=12)


def posterior_of(rows: list[tuple[float, bool, int]], prior: Prior | None = None) -> CategoryPosterior:
    time, failed, group = zip(*rows, strict=True)
    return category_posterior(lives_from_times(time, failed), group, 3, prior)


@given(lives_of_groups())
@settings(max_examples=25, deadline=None)
def test_the_order_of_groups_and_lives_does_not_matter(rows: list[tuple[float, bool, int]]) -> None:
    one = posterior_of(rows)
    two = posterior_of([(time, failed, 2 - group) for time, failed, group in reversed(rows)])
    assert one.log_evidence == pytest.approx(two.log_evidence, abs=1e-8)
    assert one.groups[::-1] == pytest.approx(two.groups, abs=1e-8)


@given(lives_of_groups(), st.floats(1e-3, 1e3))
@settings(max_examples=25, deadline=None)
def test_another_unit_of_time_scales_the_scale_and_nothing_else(
    rows: list[tuple[float, bool, int]], factor: float
) -> None:
    one = posterior_of(rows)
    two = posterior_of([(time * factor, failed, group) for time, failed, group in rows])
    assert shape_mean(two) == pytest.approx(shape_mean(one), rel=1e-6)
    chances = [0.1, 0.5, 0.9]
    assert two.scale_quantiles(chances) == pytest.approx(one.scale_quantiles(chances) * factor, rel=1e-5)


@given(lives_of_groups())
@settings(max_examples=25, deadline=None)
def test_groups_held_alike_are_one_group(rows: list[tuple[float, bool, int]]) -> None:
    apart = posterior_of(rows, Prior(between_sd=0))
    together = posterior_of([(time, failed, 0) for time, failed, _ in rows], Prior(between_sd=0))
    assert apart.log_evidence == pytest.approx(together.log_evidence, abs=2e-3)
    assert shape_mean(apart) == pytest.approx(shape_mean(together), rel=2e-3)
    chances = [0.1, 0.5, 0.9]
    for scales in apart.scale_quantiles(chances):
        assert scales == pytest.approx(together.scale_quantiles(chances)[0], rel=0.02)


def coverage(clubs: int, seed: int, level: float) -> tuple[float, float]:
    """Share of clubs, with truth drawn from the prior, whose interval holds the true shape and group scales."""
    rng = np.random.default_rng(seed)
    prior = Prior(scale=100.0, log_scale_sd=0.7)
    shape_held, scale_held = [], []
    for _ in range(clubs):
        shape = np.exp(np.log(prior.shape) + prior.log_shape_sd * rng.normal())
        between = prior.between_sd * abs(rng.normal())
        scale = np.exp(np.log(100) + prior.log_scale_sd * rng.normal() + between * rng.normal(size=6))
        group = rng.integers(0, 5, 40)  # the sixth group is never seen
        life, stop = scale[group] * rng.weibull(shape, 40), rng.uniform(20, 120, 40)
        lower = np.where(life < stop, np.floor(life / 10) * 10, stop)
        upper = np.where(life < stop, lower + 10, np.inf)
        found = category_posterior(lives_from_intervals(lower, upper), group, 6, prior)
        low, high = found.shape_interval(level)
        shape_held.append(low < shape < high)
        limits = found.scale_quantiles([(1 - level) / 2, (1 + level) / 2])
        scale_held.extend((limits[:, 0] < scale) & (scale < limits[:, 1]))
    return float(np.mean(shape_held)), float(np.mean(scale_held))


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    # 80 clubs: standard error 4.5 % for the shape; the slow twin is the sharp one
    shape, scale = coverage(80, seed=4, level=0.8)
    assert 0.67 < shape < 0.93
    assert 0.70 < scale < 0.90


@pytest.mark.slow
@pytest.mark.parametrize("level", [0.8, 0.95])
def test_intervals_hold_the_truth_as_often_as_they_say_over_many_clubs(level: float) -> None:
    shape, scale = coverage(2000, seed=7, level=level)
    assert shape == pytest.approx(level, abs=0.025)
    assert scale == pytest.approx(level, abs=0.02)
