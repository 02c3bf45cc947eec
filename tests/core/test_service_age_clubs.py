"""Simulated clubs whose truth is known: do intervals hold it, are ranks even, are forecasts worth more than rivals'?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy import stats

from maintain.core.forecast import failure_chance
from maintain.core.service_age.comparison import alone
from maintain.core.service_age.earlier import draw_earlier
from maintain.core.service_age.posterior import service_age
from maintain.core.service_age.prior import BETWEEN_NODES, Layout, Prior, between_shares
from tests.core.service_clubs import Truth, club

LEVELS = (0.8, 0.95)
STATED = Truth(worth=(1.0, 0.05, 1.0, 40.0), zone=(-0.3, 0.4), family=(0.0, 0.3))
UNLIKE = replace(STATED, family=(-0.4, 0.4), family_shape=(0.3, -0.3))
KINDS = {  # truth, ships, seasons
    "6 ships, 1 season": (STATED, 6, 1),
    "14 ships, 4 seasons": (STATED, 14, 4),
    "30 ships, 4 seasons": (STATED, 30, 4),
    "families of unlike shape": (UNLIKE, 14, 4),
    "inherited within a year": (replace(STATED, longest=365.0), 14, 4),
    "inherited within eight years": (replace(STATED, longest=2920.0), 14, 4),
}
PRIOR = Prior.of("servo")  # as it is shipped
INHERITED = 0.3  # share of the first parts of unknown earlier use


@dataclass(frozen=True)
class Score:
    """One club: which intervals held the truth, and the Brier scores of its forecast and of its rivals."""

    held_cost: tuple[bool, ...]
    held_chance: tuple[float, ...]
    held_strange: tuple[float, ...]
    brier: float
    brier_base: float
    brier_days: float


def _chances(found, ages, parts, ahead, rng):
    drawn = found.sample(rng, 2000)
    kinds = ages.kinds.take(parts)
    draws = drawn.groups(kinds.family, kinds.zone, kinds.method)
    age, gained = drawn.worth @ ages.end[parts].T, drawn.worth @ ahead[parts].T
    strange = np.flatnonzero(np.isin(parts, ages.strangers))
    if strange.size:
        a_day = drawn.worth @ ages.pace[parts[strange]].T
        age[:, strange] += draw_earlier(rng, draws.take(strange), a_day, age[:, strange], drawn.longest)
    return failure_chance(draws.shapes, np.log(draws.scale), age, gained), drawn


def score(seed: int, stated: Truth, ships: int, seasons: int) -> Score:
    """Learn a club, forecast the next two months for every part that works, and compare with the truth."""
    rng = np.random.default_rng(seed)
    seen = club(rng, stated, ships, seasons, inherited=INHERITED)
    ages, parts = seen.ages, seen.working
    chance, drawn = _chances(service_age(ages, stated.layout, PRIOR), ages, parts, seen.ahead, rng)
    only_days = alone(ages, 0)
    calendar = service_age(only_days, replace(stated.layout, clocks=1), PRIOR)
    by_days = _chances(calendar, only_days, parts, seen.ahead[:, :1], rng)[0]
    worth = np.array(stated.worth)
    zone, family = ages.kinds.zone[parts], ages.kinds.family[parts]
    shape = np.array([stated.shape_of(each) for each in family.tolist()])
    scale = np.log(stated.scale) + np.array(stated.family)[family] - np.array(stated.zone)[zone] / shape
    truth = failure_chance(shape, scale, ages.end[parts] @ worth + seen.earlier[parts], seen.ahead[parts] @ worth)
    base = np.full(parts.size, (ages.failures + 0.5) / (ages.end[:, 0].sum() + 1) * seen.ahead[0, 0])

    def inside(values, true):
        ends = np.quantile(values, [[(1 - each) / 2, (1 + each) / 2] for each in LEVELS], axis=0)
        return [(low <= true) & (true <= high) for low, high in ends]

    def brier(forecast):
        # expected over the failures to come, so that no luck but that of the records blurs the comparison
        return float(np.mean(truth * (1 - forecast) ** 2 + (1 - truth) * forecast**2))

    held = inside(chance, truth)
    strange = np.isin(parts, ages.strangers)
    return Score(
        tuple(map(bool, inside(np.exp(drawn.theta[:, 4]), stated.worth[3]))),
        tuple(float(each.mean()) for each in held),
        tuple(float(each[strange].mean()) if strange.any() else np.nan for each in held),
        brier(chance.mean(axis=0)),
        brier(np.minimum(base, 1.0)),
        brier(by_days.mean(axis=0)),
    )


def tally(clubs: int, kind: str, side_by_side: Callable[..., Iterable[Score]] = map) -> dict[str, float]:
    """The figures of docs/service_age_figures.md for clubs of one kind."""
    scores = list(side_by_side(score, range(clubs), *([each] * clubs for each in KINDS[kind])))
    brier, base, days = (sum(getattr(each, name) for each in scores) for name in ("brier", "brier_base", "brier_days"))
    return {
        "cost_80": float(np.mean([each.held_cost[0] for each in scores])),
        "cost_95": float(np.mean([each.held_cost[1] for each in scores])),
        "chance_80": float(np.mean([each.held_chance[0] for each in scores])),
        "chance_95": float(np.mean([each.held_chance[1] for each in scores])),
        "strange_80": float(np.nanmean([each.held_strange[0] for each in scores])),
        "strange_95": float(np.nanmean([each.held_strange[1] for each in scores])),
        "strange_clubs": float(np.isfinite([each.held_strange[0] for each in scores]).sum()),
        "skill_base": 1 - brier / base,
        "skill_days": 1 - brier / days,
    }


def rank(seed: int) -> np.ndarray:
    """Rank of the truth among draws, for a club whose truth is drawn from the prior itself; by parameter."""
    rng = np.random.default_rng(seed)
    worth = np.exp(np.log(PRIOR.worth) + PRIOR.log_worth_sd * rng.standard_normal(3))
    between = rng.choice(BETWEEN_NODES, p=between_shares()) * PRIOR.between_sd
    spread = np.array([PRIOR.log_shape_sd, PRIOR.log_scale_sd]) * rng.standard_normal(2)
    shape, scale = np.array([PRIOR.shape, PRIOR.scale]) * np.exp(spread)
    zone, family = PRIOR.ratio_sd * rng.standard_normal(2), between * rng.standard_normal(3)
    bent = PRIOR.shape_between * between * rng.standard_normal(3)
    longest = PRIOR.longest * float(np.exp(PRIOR.log_longest_sd * rng.standard_normal()))
    truth = Truth(float(shape), float(scale), (1.0, *worth), tuple(zone), tuple(family), tuple(bent), longest)
    seen = club(rng, truth, ships=6, seasons=1, positions=4, inherited=INHERITED).ages
    drawn = service_age(seen, Layout(4, 2, 0, 3), PRIOR).sample(rng, 1000).theta[::10][:99]
    point = np.concatenate([np.log([scale, shape]), np.log(worth), zone, family, bent, [np.log(longest)]])
    return np.asarray((drawn < point).sum(axis=0))


def ranks(clubs: int, side_by_side: Callable[..., Iterable[np.ndarray]] = map) -> np.ndarray:
    """The same club by club."""
    return np.array(list(side_by_side(rank, range(clubs))))


def uneven(found: np.ndarray, bins: int) -> np.ndarray:
    """Chance of ranks as uneven as these, parameter by parameter."""
    counts = [np.histogram(column, bins=bins, range=(0, 100))[0] for column in found.T]
    return np.array([stats.chisquare(each).pvalue for each in counts])


def test_ranks_of_the_truth_among_draws_are_even() -> None:
    """Simulation-based calibration: Talts et al. (2018), arXiv:1804.06788."""
    assert uneven(ranks(60), 5).min() > 1e-3


def test_intervals_hold_the_cost_of_a_sinking_and_forecasts_beat_their_rivals() -> None:
    found = tally(25, "14 ships, 4 seasons")
    assert found["cost_80"] >= 0.6
    assert found["cost_95"] >= 0.8
    assert found["chance_80"] >= 0.6
    assert found["skill_base"] > 0
    assert found["skill_days"] > 0


@pytest.mark.slow
def test_ranks_of_the_truth_among_very_many_draws_are_even() -> None:
    assert uneven(ranks(1000), 10).min() > 1e-3


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_over_200_clubs_intervals_cover_what_they_promise(kind: str) -> None:
    """Within three standard errors over clubs that have such parts; the chances of one club's parts share its luck."""
    found = tally(200, kind)
    for level in LEVELS:
        for what, clubs in (("cost", 200), ("chance", 200), ("strange", found["strange_clubs"])):
            allowed = 3 * np.sqrt(level * (1 - level) / clubs)
            assert found[f"{what}_{100 * level:.0f}"] > level - allowed, what
    assert found["skill_base"] > 0
    assert found["skill_days"] > 0
