"""Accelerated life against R and likelihoods done the long way."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.effects import accelerated_effects
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.errors import NotEnoughData
from tests.core.effect_samples import coefs, columns, crowd, errors, lung
from tests.published.reading import EXPECTED, numbers


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_accelerated_life_on_ovarian_cancer_is_that_of_r(law):
    # Edmunson et al. (1979) as data set ovarian of R's survival; values by survreg.
    expected = EXPECTED["P08c"][f"ovarian_{law}"]
    lives = lives_from_times(numbers("ovarian", "futime"), numbers("ovarian", "fustat") == 1)
    found = accelerated_effects(lives, columns("ovarian", "age", "ecog_ps", "rx"), model=law)
    theirs = dict(expected["coef"])
    assert np.log(found.scale.value) == pytest.approx(theirs.pop("intercept"), rel=1e-6)
    assert coefs(found) == pytest.approx(theirs, rel=1e-5)
    assert found.sigma.value == pytest.approx(expected["scale"], rel=1e-6)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-8)
    if "se" in expected:
        assert errors(found) == pytest.approx({key: expected["se"][key] for key in theirs}, rel=1e-6)
        assert found.scale.se / found.scale.value == pytest.approx(expected["se"]["intercept"], rel=1e-6)


def test_accelerated_life_on_lung_is_that_of_r():
    expected, (lives, given) = EXPECTED["P08b"]["lung_weibull_aft"], lung()
    found = accelerated_effects(lives, given)
    theirs = dict(expected["coef"])
    assert np.log(found.scale.value) == pytest.approx(theirs.pop("intercept"), rel=1e-6)
    assert coefs(found) == pytest.approx(theirs, rel=1e-5)
    assert found.log_likelihood == pytest.approx(expected["loglik"], rel=1e-8)
    assert found.concordance == pytest.approx(EXPECTED["P08b"]["lung_efron"]["concordance"], abs=0.01)


def test_intervals_and_late_entry_in_accelerated_life_reach_the_same_top_as_a_plain_search():
    from scipy.optimize import minimize

    rng = np.random.default_rng(10)
    x, n = rng.normal(size=250), 250
    life = 20 * rng.weibull(1.7, n) * np.exp(0.4 * x)
    entry = rng.uniform(0, 6, n) * (rng.random(n) < 0.5)
    lower, upper = np.floor(life), np.ceil(life)
    censored = life > 25
    lower, upper = np.where(censored, 25.0, lower), np.where(censored, np.inf, upper)
    kept = (lower > entry) & (life > entry)
    lives, x = lives_from_intervals(lower[kept], upper[kept], entry[kept]), x[kept]
    found = accelerated_effects(lives, {"x": x})

    def fall(theta):
        def hazard(time):
            return (time / np.exp(theta[0] + theta[1] * x)) ** np.exp(theta[2])

        alive, entered = np.exp(-hazard(lives.lower)), np.exp(-hazard(lives.entry))
        return -np.sum(np.log((alive - np.exp(-hazard(lives.upper))) / entered))

    other = minimize(fall, [3.0, 0.0, 0.0], method="BFGS", options={"gtol": 1e-6})
    assert found.log_likelihood == pytest.approx(-other.fun, rel=1e-8)
    assert found.effects[0].coef == pytest.approx(other.x[1], abs=1e-4)
    steps = 1e-3 * np.eye(3)
    bend = [
        [
            (fall(other.x + d + e) - fall(other.x + d - e) - fall(other.x - d + e) + fall(other.x - d - e)) / 4e-6
            for e in steps
        ]
        for d in steps
    ]
    assert found.effects[0].se == pytest.approx(np.sqrt(np.linalg.inv(bend)[1, 1]), rel=1e-3)


def test_clustered_errors_of_accelerated_life_agree_with_numerical_scores():
    lives, table, _, ship = crowd(200, 11, ties=True)
    found = accelerated_effects(lives, {"a": table[:, 0]}, cluster=ship)
    plain = accelerated_effects(lives, {"a": table[:, 0]})
    assert found.effects[0].coef == pytest.approx(plain.effects[0].coef)

    def each(theta):
        scale, shape = np.exp(theta[0] + theta[1] * table[:, 0]), np.exp(-theta[2])
        end = np.where(lives.failed, lives.upper, lives.lower)
        log_hazard = np.log(shape / scale) + (shape - 1) * np.log(end / scale)
        return np.where(lives.failed, log_hazard, 0) - (end / scale) ** shape + (lives.entry / scale) ** shape

    top = np.array([np.log(found.scale.value), found.effects[0].coef, np.log(found.sigma.value)])
    step = 1e-4 * np.eye(3)
    scores = np.array([(each(top + d) - each(top - d)) / 2e-4 for d in step])
    bend = np.array(
        [
            [np.sum(each(top + d + e) - each(top + d - e) - each(top - d + e) + each(top - d - e)) / 4e-8 for e in step]
            for d in step
        ]
    )
    sums = np.array([np.bincount(ship, row) for row in scores])
    inverse = np.linalg.inv(bend)
    assert found.effects[0].se == pytest.approx(np.sqrt((inverse @ sums @ sums.T @ inverse)[1, 1]), rel=1e-3)


def test_exponential_life_has_no_free_spread():
    lives, given = lung()
    found = accelerated_effects(lives, {"sex": given["sex"] == 1}, model="exponential")
    months = {value: lives.take((given["sex"] == 1) == value) for value in (True, False)}
    rate = {
        value: part.failures / np.where(part.failed, part.upper, part.lower).sum() for value, part in months.items()
    }
    assert found.effects[0].ratio == pytest.approx(rate[False] / rate[True], rel=1e-6)
    assert (found.sigma.value, found.sigma.lower) == (1.0, None)


def test_a_group_without_failures_has_no_time_ratio_and_is_told_where_to_go():
    lives = lives_from_times([1, 2, 3, 4, 5, 6], [True, True, True, False, False, False])
    with pytest.raises(NotEnoughData, match="treated: nothing has failed where it is 1") as refused:
        accelerated_effects(lives, {"treated": [0, 0, 0, 1, 1, 1]})
    assert "penalised" in refused.value.hint
