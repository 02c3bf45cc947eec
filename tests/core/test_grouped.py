"""Failures known between two looks: against statsmodels' complementary log-log, and clubs of known truth."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.effects import cox_effects
from maintain.core.grouped import ALIVE, Looks, fit_grouped
from maintain.core.grouped_effects import grouped_effects
from maintain.core.lives import Lives
from tests.core.renewed_clubs import renewed_club


def looked_at(n: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Parts looked at each season: start, stop, interval and two covariates of every season."""
    rng = np.random.default_rng(seed)
    rows, failures = [], 0
    for _ in range(n):
        x = rng.normal()
        for season in range(5):
            z = rng.integers(0, 2)
            dead = rng.random() < 1 - np.exp(-0.25 * np.exp(0.5 * x - 0.4 * z))
            rows.append((season, season + 1, failures if dead else ALIVE, x, z))
            if dead:
                failures += 1
                break
    table = np.array(rows, dtype=float)
    return table[:, 0], table[:, 1], table[:, 2].astype(np.intp), table[:, 3:]


def test_one_look_a_season_is_the_complementary_log_log_of_statsmodels(monkeypatch):
    # Prentice & Gloeckler (1978): with one level of hazard a season, grouped data are this generalised linear model.
    import statsmodels.api as sm

    monkeypatch.setattr("maintain.core.grouped._edges", lambda *_: np.arange(6.0))
    start, stop, interval, table = looked_at(150, 1)
    found = fit_grouped(Looks(start, stop, interval, table))
    seasons = (start[:, None] == np.arange(5)).astype(float)
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    other = sm.GLM(interval != ALIVE, np.column_stack((seasons, table)), family=family).fit(tol=1e-12)
    assert found.coefficients == pytest.approx(other.params[5:], rel=1e-6)
    assert found.log_likelihood == pytest.approx(other.llf, rel=1e-9)
    # statsmodels takes the expected information, this the observed one
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(other.bse[5:], rel=0.05)


def test_nearly_exact_failures_give_coxs_answer():
    rng = np.random.default_rng(2)
    x, life = rng.normal(size=400), rng.exponential(size=400) * 100
    life = life * np.exp(-0.5 * x)
    cut = life - 1e-3
    kept = cut > 0
    start, stop = np.concatenate((np.zeros(kept.sum()), cut[kept])), np.concatenate((cut[kept], life[kept]))
    interval = np.concatenate((np.full(kept.sum(), ALIVE), np.arange(kept.sum())))
    found = fit_grouped(Looks(start, stop, interval, np.tile(x[kept], 2)[:, None]))
    cox = cox_effects(Lives(np.zeros(kept.sum()), life[kept], life[kept]), {"x": x[kept]}).effects[0]
    assert found.coefficients[0] == pytest.approx(cox.coef, abs=0.3 * cox.se)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(cox.se, rel=0.1)


def test_units_and_order_of_rows_change_nothing():
    start, stop, interval, table = looked_at(80, 3)
    plain = fit_grouped(Looks(start, stop, interval, table))
    order = np.random.default_rng(0).permutation(start.size)
    other = fit_grouped(Looks(start[order] * 365, stop[order] * 365, interval[order], table[order] * 10))
    assert other.coefficients * 10 == pytest.approx(plain.coefficients, rel=1e-6)
    assert other.log_likelihood == pytest.approx(plain.log_likelihood, rel=1e-9)


def test_a_stratum_may_have_a_hazard_of_its_own():
    start, stop, interval, table = looked_at(200, 4)
    side = (table[:, 0] > 0).astype(np.intp)
    both = fit_grouped(Looks(start, stop, interval, table[:, 1:], side))
    parts = []
    for one in (0, 1):
        rows = side == one
        own = np.where(interval[rows] == ALIVE, ALIVE, np.cumsum(interval[rows] != ALIVE) - 1)
        parts.append(fit_grouped(Looks(start[rows], stop[rows], own, table[rows, 1:])).coefficients[0])
    assert min(parts) <= both.coefficients[0] <= max(parts)


def test_a_group_of_which_nothing_failed_is_left_out_in_words():
    start, stop, interval, table = looked_at(80, 5)
    lives = Lives(start, stop, np.where(interval == ALIVE, np.inf, stop))
    water = np.where(interval != ALIVE, "fresh", np.where(np.arange(start.size) % 7, "fresh", "brackish"))
    found = grouped_effects(lives, interval, {"x": table[:, 0], "water": water, "z": table[:, 1]})
    assert found.model == "grouped"
    assert "water: brackish" in found.left_out
    assert found.cautions[0].startswith("water: brackish left out: nothing in it has failed")
    assert [effect.name for effect in found.effects] == ["x", "z"]


def test_without_a_best_value_cox_answers_with_a_caution():
    lives = Lives(np.zeros(6), np.arange(1.0, 7), np.arange(1.0, 7))
    found = grouped_effects(lives, np.arange(6), {"x": -np.arange(6.0)})
    assert found.penalised
    assert found.cautions[0].startswith("each failure counts when it was found")


def test_few_clusters_and_many_widen_as_in_coxs_model():
    start, stop, interval, table = looked_at(150, 6)
    lives = Lives(start, stop, np.where(interval == ALIVE, np.inf, stop))
    life = np.cumsum(start == 0) - 1
    few, many = (
        grouped_effects(lives, interval, {"x": table[:, 0]}, cluster=life % size).effects[0] for size in (8, 40)
    )
    plain = grouped_effects(lives, interval, {"x": table[:, 0]}).effects[0]
    assert (few.interval, many.interval) == ("jackknife", "Wald")
    assert many.se == pytest.approx(plain.se, rel=0.35)


def _held(clubs: int, parts: int, seed: int, *, ratio: float) -> tuple[float, float]:
    """How often limits of the ratio of a renewal held the truth: between looks, and by Cox when found."""
    rng, between, found = np.random.default_rng(seed), [], []
    for _ in range(clubs):
        club = renewed_club(rng, parts, ratio=ratio)
        given, strata = {"renewals": club.renewals}, club.treated
        for held, effects in (
            (between, grouped_effects(club.lives, club.interval, given, strata=strata)),
            (found, cox_effects(club.lives, given, strata=strata)),
        ):
            effect = effects.effects[0]
            held.append(effect.lower <= ratio and (effect.upper is None or ratio <= effect.upper))
    return float(np.mean(between)), float(np.mean(found))


def test_the_effect_of_renewals_is_held_between_looks_where_cox_misses_it():
    between, found = _held(30, 200, 7, ratio=1.0)
    assert between >= 0.83
    assert found <= 0.7


@pytest.mark.slow
@pytest.mark.parametrize(("parts", "least"), [(200, 0.91), (60, 0.88)])
@pytest.mark.parametrize("ratio", [1.0, 0.6])
def test_limits_of_the_effect_of_renewals_cover_as_documented(parts, least, ratio):
    between, _ = _held(400, parts, 8, ratio=ratio)
    assert least <= between <= 0.985
