"""Service age against lifelines, a complementary log-log regression, finite differences, and sums over a grid."""

from __future__ import annotations

from dataclasses import replace

import lifelines
import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import approx_fprime

from maintain.core.exposure_rows import ExposureRows
from maintain.core.service_age.ages import NO_EFFECT, Ages, Kinds, ages_from_rows
from maintain.core.service_age.comparison import Candidate, alone, explained
from maintain.core.service_age.cost import costs
from maintain.core.service_age.likelihood import log_likelihood
from maintain.core.service_age.peak import Belief, Problem, peak
from maintain.core.service_age.posterior import service_age
from maintain.core.service_age.prior import CLOCKS, Layout, Prior
from maintain.core.service_age.slope import slope
from maintain.errors import InvalidRecord
from maintain.vocabulary import CLOCKS as RECORDED
from tests.core.service_clubs import Truth, club

FLAT = Prior(log_shape_sd=1e3, scale=500.0, log_scale_sd=1e3, log_worth_sd=1e3, ratio_sd=1e3, between_sd=1e3)


def mode(ages, layout, prior):
    return peak(Problem(ages, layout, Belief(prior.mean(layout), prior.sd(layout, prior.between_sd))))


def some_parts(n=80, seed=3):
    rng = np.random.default_rng(seed)
    end = np.column_stack(
        [rng.uniform(100, 900, n), rng.uniform(0, 3000, n), rng.integers(0, 9, n), rng.integers(0, 7, n)]
    )
    failed = rng.random(n) < 0.4
    alive = np.where(failed[:, None], 0.95 * end, end)
    entry = np.where(rng.random(n)[:, None] < 0.4, 0.3 * alive, 0.0)
    kinds = Kinds(rng.integers(0, 3, n), rng.integers(0, 2, n), rng.integers(-1, 2, n))
    return Ages(entry, alive, end, failed, kinds), Layout(4, 2, 2, 3)


def test_slope_and_curvature_agree_with_finite_differences():
    ages, layout = some_parts()
    point = np.random.default_rng(1).normal(0, 0.3, layout.size)
    point[[0, -1]] += 7
    found = slope(point, ages, layout)
    assert found.value == pytest.approx(log_likelihood(point[None, :], ages, layout)[0], rel=1e-12)
    by_scipy = approx_fprime(point, lambda theta: log_likelihood(theta[None, :], ages, layout)[0], 1e-7)
    assert found.gradient == pytest.approx(by_scipy, rel=1e-4, abs=1e-4)
    step = 1e-5 * np.eye(layout.size)
    bend = [(slope(point + e, ages, layout).gradient - slope(point - e, ages, layout).gradient) / 2e-5 for e in step]
    assert found.hessian == pytest.approx(np.array(bend), rel=1e-5, abs=1e-5)


def test_on_one_clock_with_exact_times_it_is_the_weibull_fit_of_lifelines():
    """Entry, censoring, and failures in intervals so narrow that they are moments: six digits."""
    rng = np.random.default_rng(2)
    entry = rng.uniform(0, 60, 300) * (rng.random(300) < 0.5)
    life = 100 * rng.exponential(size=300) ** (1 / 1.7)
    entry, life = entry[life > entry], life[life > entry]
    end = np.minimum(life, np.maximum(entry + 1, rng.uniform(40, 200, life.size)))
    failed = life <= end
    theirs = lifelines.WeibullFitter().fit(end, failed, entry=entry)
    width = np.where(failed, 1e-5, 0.0)
    columns = (each[:, None] for each in (entry, end - width / 2, end + width / 2))
    narrow = Ages(*columns, failed, Kinds.alike(failed.size))
    ours = mode(replace(narrow, end=np.where(failed[:, None], narrow.end, narrow.alive)), Layout(1), FLAT)
    assert np.exp(ours.theta[:2]) == pytest.approx([theirs.lambda_, theirs.rho_], rel=1e-6)


@pytest.mark.parametrize("shape", [1.0, 1.7])
def test_grouped_it_is_a_complementary_log_log_regression(shape):
    """Prentice and Gloeckler (1978): each interval fails with 1 - exp(-exp(offset + effects)), by statsmodels."""
    rng = np.random.default_rng(4)
    rows = []
    for part in range(150):
        zone, age = part % 2, 0.0
        while age < 400:
            step = rng.uniform(10, 60)
            gain = (((age + step) / 300) ** shape - (age / 300) ** shape) * (1.0, 2.2)[zone]
            failed = rng.random() < -np.expm1(-gain)
            rows.append((part, zone, age, age + step, failed))
            age = 1e9 if failed else age + step
    part, zone, start, end, failed = (np.array(column) for column in zip(*rows, strict=True))
    design = np.column_stack([np.ones(part.size), zone])
    link = sm.families.Binomial(sm.families.links.CLogLog())
    theirs = sm.GLM(failed.astype(float), design, family=link, offset=np.log(end**shape - start**shape)).fit(tol=1e-13)
    gain = np.zeros((part.size, len(RECORDED)))
    gain[:, 0] = end - start
    zones = np.arange(150, dtype=np.intp) % 2
    none = np.full(150, NO_EFFECT, dtype=np.intp)
    kinds = Kinds(none, np.where(zones == 1, 0, NO_EFFECT), none)
    ages = ages_from_rows(ExposureRows(part, failed, gain), [0], np.zeros((150, 1)), kinds)
    ours = mode(ages, Layout(1, 1), replace(FLAT, shape=shape, log_shape_sd=0.0))
    assert ours.log_likelihood == pytest.approx(theirs.llf, rel=1e-9)
    assert [-shape * ours.theta[0], ours.theta[2]] == pytest.approx(theirs.params, rel=1e-6)


def test_the_posterior_is_that_of_a_sum_over_a_grid():
    seen = club(np.random.default_rng(5), Truth(), ships=6, seasons=2, positions=4).ages.on([0, 3])
    prior = Prior(scale=600.0, worth=(20.0,))
    drawn = service_age(seen, Layout(2), prior).sample(np.random.default_rng(1), 20_000)
    axes = [np.linspace(5.2, 8.5, 60), np.linspace(-0.7, 1.3, 50), np.linspace(-4, 7, 110)]
    points = np.stack(np.meshgrid(*axes, [np.log(prior.longest)], indexing="ij"), axis=-1).reshape(-1, 4)
    belief = Belief(prior.mean(Layout(2)), prior.sd(Layout(2), 0.0))
    weight = log_likelihood(points, seen, Layout(2)) + belief.log_density(points)
    weight = np.exp(weight - weight.max()).reshape([axis.size for axis in axes])
    weight /= weight.sum()
    for place, axis in enumerate(axes):
        mass = weight.sum(axis=tuple(each for each in range(3) if each != place))
        mean = mass @ axis
        spread = np.sqrt(mass @ (axis - mean) ** 2)
        assert abs(drawn.theta[:, place].mean() - mean) < 0.06 * spread
        assert drawn.theta[:, place].std() == pytest.approx(spread, rel=0.06)
        tails = np.interp([0.1, 0.9], np.cumsum(mass), axis + (axis[1] - axis[0]) / 2)
        assert np.quantile(drawn.theta[:, place], [0.1, 0.9]) == pytest.approx(tails, abs=0.12 * spread)


def test_without_sinkings_their_cost_stays_what_was_believed_and_says_so():
    seen = club(np.random.default_rng(6), Truth(), ships=6, seasons=1).ages
    dry = Ages(*(each * np.array([1, 1, 1, 0]) for each in (seen.entry, seen.alive, seen.end)), seen.failed, seen.kinds)
    prior = Prior()
    found = service_age(dry, Layout(4), prior)
    worth = found.sample(np.random.default_rng(1), 8000).worth
    cost = costs(worth, CLOCKS, prior, 0.8)[-1]
    believed = 20 * np.exp(1.2 * np.array([-1.2816, 0, 1.2816]))
    assert [cost.lower, cost.value, cost.upper] == pytest.approx(believed, rel=0.12)
    assert not cost.told


def test_a_cost_of_nothing_can_be_approached():
    seen = club(np.random.default_rng(7), Truth(worth=(1.0, 0.0, 0.0, 0.0), shape=2.5), ships=14, seasons=4).ages
    worth = service_age(seen, Layout(4)).sample(np.random.default_rng(1), 4000).worth
    assert np.quantile(worth[:, 3], 0.1) < 3
    assert costs(worth, CLOCKS, Prior(), 0.8)[-1].upper < 30


def test_many_sinkings_tell_what_one_costs():
    truth = Truth(worth=(1.0, 0.05, 1.0, 60.0), scale=900.0)
    seen = club(np.random.default_rng(8), truth, ships=60, seasons=4).ages
    cost = costs(service_age(seen, Layout(4)).sample(np.random.default_rng(1), 4000).worth, CLOCKS, Prior(), 0.95)[-1]
    assert cost.told
    assert cost.lower < 60 < cost.upper
    assert cost.upper / cost.lower < 3


def test_families_that_wear_unlike_one_another_are_told_apart():
    truth = Truth(shape=1.6, family=(0.0, 0.0), family_shape=(0.4, -0.4))
    seen = club(np.random.default_rng(3), truth, ships=40, seasons=4).ages
    both = np.array([0, 1])
    none = np.full(2, NO_EFFECT)
    shape = service_age(seen, truth.layout).sample(np.random.default_rng(1), 4000).groups(both, none, none).shapes
    assert np.mean(shape[:, 0] > shape[:, 1]) > 0.99
    low, high = np.quantile(shape, [0.05, 0.95], axis=0)
    stated = [truth.shape_of(0), truth.shape_of(1)]
    assert np.all((low < stated) & (stated < high))


def test_a_family_nobody_has_seen_fail_is_taken_to_wear_as_its_category_does_but_less_surely():
    truth = Truth(shape=2.5, family=(0.0, 0.0))
    seen = club(np.random.default_rng(3), truth, ships=30, seasons=4).ages
    three, none = np.arange(3), np.full(3, NO_EFFECT)
    shape = (
        service_age(seen, Layout(4, families=3)).sample(np.random.default_rng(1), 4000).groups(three, none, none).shapes
    )
    known, unseen = shape[:, :2], shape[:, 2]
    assert np.median(unseen) == pytest.approx(np.median(known), rel=0.1)
    assert np.log(unseen).std() > 1.2 * np.log(known).std(axis=0).max()


def test_neither_the_order_of_parts_nor_a_category_of_one_family_changes_anything():
    ages, layout = some_parts()
    order = np.random.default_rng(1).permutation(ages.n)
    assert service_age(ages.take(order), layout).best.theta == pytest.approx(
        service_age(ages, layout).best.theta, abs=1e-6
    )
    same = service_age(ages, layout).sample(np.random.default_rng(9), 500).theta
    assert np.array_equal(same, service_age(ages, layout).sample(np.random.default_rng(9), 500).theta)


def test_rows_of_one_part_matter_only_through_their_ends():
    ages, _ = some_parts(20)
    fine = []
    for part in range(20):
        cuts = np.linspace(ages.entry[part], ages.alive[part], 5)
        steps = np.diff(cuts, axis=0)
        fine += [(part, False, step) for step in steps]
        if ages.failed[part]:
            fine.append((part, True, ages.end[part] - ages.alive[part]))
    gain = np.zeros((len(fine), len(RECORDED)))
    columns = [RECORDED.index(clock) for clock in CLOCKS]
    gain[:, columns] = [step for _, _, step in fine]
    rows = ExposureRows(np.array([part for part, _, _ in fine]), np.array([failed for _, failed, _ in fine]), gain)
    found = ages_from_rows(rows, columns, ages.entry, ages.kinds)
    for name in ("entry", "alive", "end", "failed"):
        assert getattr(found, name) == pytest.approx(getattr(ages, name))


def test_the_clock_that_truly_ages_parts_explains_best():
    truth = Truth(worth=(1.0, 0.0, 0.0, 80.0), shape=2.5, scale=900.0)
    seen = club(np.random.default_rng(11), truth, ships=14, seasons=4)
    prior = Prior()
    candidates = [Candidate(clock, alone(seen.ages, place), Layout(1), prior) for place, clock in enumerate(CLOCKS)]
    candidates.append(Candidate("service age", seen.ages, Layout(4), prior))
    found = {each.name: explained(each, seen.ship) for each in candidates}
    assert max(found, key=lambda name: found[name].log_score) == "service age"
    assert min(found, key=lambda name: found[name].aic) == "service age"
    assert found["days"].parameters == 2


def test_on_days_alone_aic_is_that_of_lifelines_interval_fit():
    seen = club(np.random.default_rng(12), Truth(), ships=8, seasons=3).ages
    days = alone(seen, 0)
    upper = np.where(seen.failed, days.end[:, 0], np.inf)
    theirs = lifelines.WeibullFitter().fit_interval_censoring(np.maximum(days.alive[:, 0], 1e-9), upper)
    ours = explained(Candidate("days", days, Layout(1), Prior()), np.arange(seen.n) % 2)
    assert ours.aic == pytest.approx(theirs.AIC_, rel=1e-6)


def test_no_failures_at_all_still_bound_the_hazard():
    ages, layout = some_parts(15)
    none = replace(ages, failed=np.zeros(15, dtype=bool), end=ages.alive)
    drawn = service_age(none, layout).sample(np.random.default_rng(1), 2000)
    assert np.isfinite(drawn.theta).all()


def test_what_cannot_be_is_refused_with_its_rows():
    ages, layout = some_parts(5)
    falling = replace(ages, alive=ages.alive - 1e4)
    with pytest.raises(InvalidRecord, match="parts \\[0, 1, 2, 3, 4\\]"):
        service_age(falling, layout)


def test_without_lives_all_stays_as_it_was_believed():
    ages, _ = some_parts(5)
    drawn = service_age(ages.take(slice(0, 0)), Layout(4), Prior()).sample(np.random.default_rng(1), 8000)
    assert drawn.theta.mean(axis=0) == pytest.approx(Prior().mean(Layout(4)), abs=0.05)
    assert drawn.theta.std(axis=0) == pytest.approx(Prior().sd(Layout(4), 0.0), rel=0.05)


@pytest.mark.slow
def test_a_sinking_costs_what_it_cost_in_a_federation_of_a_million_lives():
    """Ten million exposure rows, a million lives, twelve families: rows are swept once, lives a dozen times."""
    rng = np.random.default_rng(1)
    lives, each = 1_000_000, 14
    gain = np.zeros((lives, each, len(RECORDED)))
    gain[..., 0] = rng.uniform(5, 200, (lives, 1))
    trips = rng.poisson(gain[..., 0] / 12)
    for clock, moved in (("minutes afloat", 25.0 * trips), ("wet sorties", rng.binomial(trips, 0.25))):
        gain[..., RECORDED.index(clock)] = moved
    gain[..., RECORDED.index("immersions")] = rng.binomial(trips, rng.beta(1.5, 12, (lives, 1)))
    columns = [RECORDED.index(clock) for clock in CLOCKS]
    age = np.cumsum(gain[..., columns] @ np.array([1, 0.05, 1, 40.0]), axis=1)
    died = (age < 2000 * rng.exponential(size=(lives, 1)) ** (1 / 1.6)).sum(axis=1)
    seen = np.arange(each) <= died[:, None]
    rows = ExposureRows(np.nonzero(seen)[0], (np.arange(each) == died[:, None])[seen], gain[seen])
    assert rows.part.size > 1e7
    kinds = Kinds(rng.integers(0, 12, lives), rng.integers(0, 4, lives), rng.integers(-1, 5, lives))
    ages = ages_from_rows(rows, columns, np.zeros((lives, 4)), kinds)
    drawn = service_age(ages, Layout(4, 4, 5, 12)).sample(rng, 4000)
    assert np.quantile(drawn.worth[:, 3], [0.001, 0.999]) == pytest.approx(40, rel=0.1)
