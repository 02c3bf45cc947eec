"""How many failures a shape takes to be told from 1: the power promised is the power had, in simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from statsmodels.stats.power import NormalIndPower

from maintain.core.estimate import Estimate, two_sided_z
from maintain.core.fit import fit
from maintain.core.lives import lives_from_times
from maintain.core.sample_size import MOST_TO_TELL, failures_to_tell


def shape_of(value: float, failures: int) -> Estimate:
    """The estimate with the limits that so many failures give a Weibull shape: Var(log shape) = 0.6079 / n."""
    # Lawless (2003), Statistical Models and Methods for Lifetime Data, 2nd ed., section 5.2.1: 6 / pi^2.
    reach = two_sided_z(0.95) * math.sqrt(6 / math.pi**2 / failures)
    return Estimate(value, value * math.exp(-reach), value * math.exp(reach))


def power_had(value: float, failures: int, draws: int) -> float:
    rng = np.random.default_rng(7)
    told = 0
    for _ in range(draws):
        shape = fit(lives_from_times(rng.weibull(value, failures)), "weibull").parameters["shape"]
        told += shape.lower > 1 if value > 1 else shape.upper < 1
    return told / draws


def test_the_number_is_that_of_a_normal_test_of_the_log_shape():
    # statsmodels: one sample (ratio 0), effect in units of the spread of one failure.
    spread = math.sqrt(6) / math.pi
    expected = NormalIndPower().solve_power(math.log(1.3) / spread, power=0.8, alpha=0.05, ratio=0)
    assert failures_to_tell(shape_of(1.3, 10), 10) == math.ceil(expected)


@pytest.mark.parametrize("value", [1.3, 0.75])
def test_so_many_failures_tell_four_times_in_five(value):
    needed = failures_to_tell(shape_of(value, 10), 10)
    assert power_had(value, needed, 200) == pytest.approx(0.8, abs=0.09)


@pytest.mark.slow
@pytest.mark.parametrize("value", [1.2, 1.3, 1.6, 0.85, 0.7])
def test_so_many_failures_tell_four_times_in_five_over_many_draws(value):
    # Maximum likelihood overstates the shape of few lives: a little more power above 1, a little less below.
    needed = failures_to_tell(shape_of(value, 10), 10)
    assert power_had(value, needed, 2000) == pytest.approx(0.8, abs=0.1)


def test_fewer_failures_are_asked_for_at_less_power_and_confidence():
    needed = failures_to_tell(shape_of(1.3, 10), 10)
    assert failures_to_tell(shape_of(1.3, 10), 10, power=0.5) < needed
    # The limits are those of 95 %: at 90 % the same limits mean a larger error.
    assert failures_to_tell(shape_of(1.3, 10), 10, conf=0.9) > needed


@pytest.mark.parametrize(
    ("shape", "failures"),
    [
        (shape_of(1.5, 4), 4),
        (Estimate(1.5, None, 3.0), 20),
        (Estimate(1.0, 0.5, 2.0), 20),
        (shape_of(1.01, 20), 20),
        (shape_of(9.0, 20), 20),
    ],
)
def test_nothing_is_promised_where_nothing_can_be(shape, failures):
    """Too few failures, no limit, a shape of 1, more failures than a club ever has, told already."""
    assert failures_to_tell(shape, failures) is None
    assert MOST_TO_TELL == 1000
