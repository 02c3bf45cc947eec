"""Failures that come several at a time: limits and trends between ships, against brute force and outside tests."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import chi2, t, ttest_1samp

from maintain.core.first_parts import first_parts
from maintain.core.histories import Histories, histories, sharing
from maintain.core.repeats import mean_cumulative, time_between
from maintain.core.trend import trend
from maintain.errors import InvalidRecord, NotEnoughData
from tests.published.reading import EXPECTED, column, numbers

END = 1000.0


def sinking_ships(
    rng: np.random.Generator, ships: int, *, pumps: int = 5, sinkings: float = 3.0, unlike: bool = False
) -> Histories:
    """Ships without a trend; each sinking kills nine pumps in ten on one day. Unlike ships sink more or less often."""
    unit, time = [], []
    for ship in range(ships):
        often = sinkings * (rng.gamma(4) / 4 if unlike else 1.0)
        for when in END * rng.random(rng.poisson(often)):
            dead = np.flatnonzero(rng.random(pumps) < 0.9) + ship * pumps
            unit += dead.tolist()
            time += [when] * dead.size
    rows = np.array(unit + list(range(ships * pumps)))
    times = np.array(time + [END] * (ships * pumps))
    return histories(rows, times, np.arange(rows.size) < len(unit), cluster=rows // pumps)


def alone(watched: Histories) -> Histories:
    return Histories(watched.units, watched.start, watched.end, watched.unit, watched.time)


def test_units_that_are_their_own_clusters_have_the_published_errors():
    # Nelson & Doganaksoy (1989), as data set valveSeat of R's survival; values by survfit(..., id=).
    expected, engine = EXPECTED["P09a"], column("valve_seats", "engine")
    failed = column("valve_seats", "replacement") == "1"
    watched = histories(engine, numbers("valve_seats", "days"), failed, cluster=engine)
    found = mean_cumulative(watched, at=expected["times"])
    plain = mean_cumulative(histories(engine, numbers("valve_seats", "days"), failed), at=expected["times"])
    assert found.se == pytest.approx(expected["se_robust"], rel=1e-6)
    assert found.upper == pytest.approx(plain.upper)


def test_the_variance_between_clusters_equals_the_sum_as_it_stands():
    """Units join late, leave early and tie; Lawless & Nadeau (1995), eq. 2.5, summed over clusters before squaring."""
    rng = np.random.default_rng(3)
    start = rng.integers(0, 10, 40).astype(float)
    end = start + rng.integers(1, 20, 40)
    ship = np.arange(40) % 7
    bad = np.where(ship < 2, 9.0, 0.2)  # ships so unlike that they, not single events, set the variance
    unit = np.repeat(np.arange(40), rng.poisson(bad))
    time = np.array([float(rng.integers(start[one] + 1, end[one] + 1)) for one in unit])
    rows = np.concatenate((unit, np.arange(40)))
    told = np.arange(rows.size) < unit.size
    times, own_event = np.concatenate((time, end)), np.arange(rows.size)
    watched = histories(rows, times, told, start=start[rows], cluster=ship[rows], event=own_event)
    found = mean_cumulative(watched)
    deviation, variance, single = np.zeros(7), [], 0.0
    for now in found.times:
        inside, own = (start < now) & (now <= end), np.bincount(unit[time == now], minlength=40)
        move = own / inside.sum() - inside * own.sum() / inside.sum() ** 2
        deviation += np.bincount(ship, move, 7)
        single += own.sum() / inside.sum() ** 2
        variance.append(max(np.sum(deviation**2), single))
    assert variance[-1] > 1.5 * single
    assert found.se == pytest.approx(np.sqrt(variance), rel=1e-9)
    assert found.upper[-1] / found.mean[-1] == pytest.approx(np.exp(t.ppf(0.975, 6) * found.se[-1] / found.mean[-1]))


def test_ships_of_one_size_have_the_jackknife_variance():
    """Leaving out each ship in turn, by brute force: (G - 1) / G times the squares, here G / (G - 1) times ours."""
    own = np.array([0, 1, 2, 3, 5, 8, 9, 14, 20])
    unit = np.concatenate((np.repeat(np.arange(9) * 5, own), np.arange(45)))
    failed = np.arange(unit.size) < own.sum()
    time = np.where(failed, np.arange(1.0, unit.size + 1), END)
    watched = histories(unit, time, failed, cluster=unit // 5)
    without = (own.sum() - own) / 40
    jackknife = 8 / 9 * np.sum((without - without.mean()) ** 2)
    se = mean_cumulative(watched, at=[END]).se[0]
    assert se**2 * 9 / 8 == pytest.approx(jackknife)


def test_tests_of_trend_are_student_s_of_the_ships():
    watched = sinking_ships(np.random.default_rng(8), 12)
    found, ship = trend(watched), watched.cluster[watched.unit]
    distance = np.bincount(ship, watched.time - END / 2)
    scores = np.bincount(ship) + np.bincount(ship, np.log(watched.time / END))
    here = np.bincount(ship) > 0
    for p, sums in ((found.laplace.p, distance), (found.power_law.p, scores)):
        assert p == pytest.approx(ttest_1samp(sums[here], 0).pvalue)
    assert found.shared == here.sum()
    assert found.power_law.p_alone < found.power_law.p
    assert found.laplace.p_alone == pytest.approx(trend(alone(watched)).laplace.p)


def test_limits_of_the_power_between_ships_are_fieller_s():
    """Fieller (1954): the shapes b with (sum n - b sum L)^2 = t^2 G s^2(n - b L), a quadratic in b."""
    watched = sinking_ships(np.random.default_rng(9), 12)
    ship = watched.cluster[watched.unit]
    count, logs = np.bincount(ship), np.bincount(ship, np.log(END / watched.time))
    count, logs = count[count > 0], logs[count > 0]
    size = count.size
    (nn, nl), (_, ll) = np.cov(count, logs) * size * t.ppf(0.975, size - 1) ** 2
    roots = np.sort(np.roots([logs.sum() ** 2 - ll, -2 * (count.sum() * logs.sum() - nl), count.sum() ** 2 - nn]).real)
    law = trend(watched).power_law
    assert (law.shape.lower, law.shape.upper) == pytest.approx(tuple(roots))
    assert law.limits == "exact or between clusters"


def test_late_watches_between_ships_have_the_score_s_own_root():
    watched = sinking_ships(np.random.default_rng(10), 12)
    late = Histories(watched.units, watched.start + 1e-9, watched.end, watched.unit, watched.time, watched.cluster)
    new, old = trend(watched).power_law, trend(late).power_law
    assert old.limits == "likelihood ratio or between clusters"
    assert (old.shape.lower, old.shape.upper, old.p) == pytest.approx(
        (new.shape.lower, new.shape.upper, new.p), rel=1e-5
    )


def test_the_less_sure_of_both_ways_holds():
    """One failure a ship in the middle of each third: ships alike beyond chance, so the plain limits are wider."""
    unit = np.repeat(np.arange(6), 4)
    watched = histories(unit, [20.0, 50, 80, 100] * 6, [True, True, True, False] * 6, cluster=unit)
    found, plain = trend(watched).power_law, trend(alone(watched)).power_law
    assert (found.shape.lower, found.shape.upper, found.p) == (plain.shape.lower, plain.shape.upper, plain.p)


def test_of_a_few_ships_failures_of_one_day_are_taken_together():
    watched = sinking_ships(np.random.default_rng(11), 2, sinkings=8)
    found, event = trend(watched), np.unique(watched.time, return_inverse=True)[1]
    assert found.power_law.limits == "exact or between events"
    assert found.laplace.p == pytest.approx(ttest_1samp(np.bincount(event, watched.time - END / 2), 0).pvalue)
    mean = mean_cumulative(watched, at=[END])
    assert mean.se[0] ** 2 == pytest.approx(np.sum((np.bincount(event) / 10) ** 2))
    assert "fewer than 5 ships" in mean.cautions[0]
    spread = np.sum(np.bincount(event) ** 2) / event.size
    count = watched.failures / spread
    assert time_between(watched).lower == pytest.approx(2 * 10 * END / spread / chi2.ppf(0.975, 2 * count + 2))


def test_failures_that_never_come_together_are_news_of_their_own():
    watched = histories(["a", "a", "b", "b"], [3, 9, 5, 9], [True, False, True, False], cluster=["x"] * 4)
    assert sharing(watched) is None
    assert trend(watched).power_law.limits == "exact"


def test_one_event_shows_no_trend():
    watched = histories(["a", "a", "b", "b"], [3, 9, 3, 9], [True, False, True, False], cluster=["x"] * 4)
    with pytest.raises(NotEnoughData, match="2 events are needed"):
        trend(watched)


def test_a_unit_in_two_clusters_is_refused():
    with pytest.raises(InvalidRecord, match="row 2: the unit is in two clusters"):
        histories(["a", "a"], [3, 9], [True, False], cluster=["x", "y"])


def test_unlike_ships_count_their_failures_for_less():
    """Quasi-Poisson dispersion by ship: statsmodels' Pearson chi-square."""
    watched = sinking_ships(np.random.default_rng(12), 8, unlike=True)
    own = np.bincount(watched.cluster[watched.unit], minlength=8)
    fitted = sm.GLM(own, np.ones(8), sm.families.Poisson(), offset=np.log([5 * END] * 8)).fit(scale="X2")
    assert fitted.scale > 2
    found, count = time_between(watched), watched.failures / fitted.scale
    assert found.value == pytest.approx(np.exp(-fitted.params[0]))
    assert found.upper == pytest.approx(2 * 40 * END / fitted.scale / chi2.ppf(0.025, 2 * count))


def sizes(ships: int, times: int) -> tuple[float, float, float, float]:
    """How often ships without a trend are said to have one: power and Laplace between ships, then each alone."""
    rng, said = np.random.default_rng(13), []
    for _ in range(times):
        found = trend(sinking_ships(rng, ships))
        law, laplace = found.power_law, found.laplace
        said.append((law.p < 0.05, laplace.p < 0.05, law.p_alone < 0.05, laplace.p_alone < 0.05))
    power, middle, power_alone, middle_alone = np.mean(said, axis=0).tolist()
    return power, middle, power_alone, middle_alone


def test_ships_without_a_trend_are_rarely_said_to_have_one():
    power, middle, power_alone, middle_alone = sizes(12, 300)
    assert max(power, middle) <= 0.09
    assert min(power_alone, middle_alone) > 0.25


@pytest.mark.slow
@pytest.mark.parametrize("ships", [5, 16, 40])
def test_five_in_a_hundred_clubs_without_a_trend_are_said_to_have_one(ships):
    power, middle, power_alone, middle_alone = sizes(ships, 3000)
    assert 0.03 <= middle <= 0.06
    assert 0.03 <= power <= (0.07 if ships > 5 else 0.09)
    assert min(power_alone, middle_alone) > 0.3


@pytest.mark.slow
@pytest.mark.parametrize(("ships", "least"), [(5, 0.90), (10, 0.93), (40, 0.93)])
def test_limits_of_the_mean_hold_the_truth_between_ships(ships, least):
    rng, held, held_alone = np.random.default_rng(14), 0, 0
    for _ in range(1500):
        watched = sinking_ships(rng, ships, unlike=True)
        if watched.failures:
            both = mean_cumulative(watched, at=[END]), mean_cumulative(alone(watched), at=[END])
            inside = [bool(each.lower[0] < 2.7 < each.upper[0]) for each in both]
            held, held_alone = held + inside[0], held_alone + inside[1]
    assert least <= held / 1500 <= 0.97
    assert held_alone / 1500 < 0.7


def test_positions_filled_together_are_counted_by_hand():
    found = first_parts(np.array([True, False, False]), np.full(3, 1000.0), np.array([0.0, 500.0, 590.0]))
    assert (found.mostly_untouched, found.together, found.within, found.mostly_together) == (False, 2, 90.0, True)
    apart = first_parts(np.zeros(3, dtype=bool), np.full(3, 1000.0), np.array([0.0, 300.0, 600.0]))
    assert (apart.together, apart.mostly_together) == (1, False)
    assert not first_parts(np.array([True]), np.array([9.0])).mostly_together
