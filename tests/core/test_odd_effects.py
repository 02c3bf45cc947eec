"""Effects of covariates on data that nobody would plan: answered or refused in words."""

from __future__ import annotations

import numpy as np
import pytest

from maintain.core.effects import accelerated_effects, cox_effects
from maintain.core.lives import lives_from_intervals, lives_from_times
from maintain.errors import MaintainError

ODD = {
    "one": lives_from_times([5]),
    "one censored": lives_from_times([5], [False]),
    "one failure": lives_from_times([1, 2, 3, 4], [True, False, False, False]),
    "all at one time": lives_from_times([3] * 6),
    "at one time, half censored": lives_from_times([3] * 6, [True, False] * 3),
    "tiny unit": lives_from_times(np.arange(1, 21) * 1e-100),
    "huge unit": lives_from_times(np.arange(1, 21) * 1e100),
    "never two at risk": lives_from_times([5, 6, 7, 8, 9, 10], None, [4, 5, 6, 7, 8, 9]),
    "emptied early": lives_from_times([2, 9, 8, 3], None, [0, 5, 5, 0]),
    "all scales": lives_from_times([1e-8, 1e8, 1, 2, 3, 4]),
    "intervals": lives_from_intervals([0, 1, 2, 3], [1, 2, np.inf, 5]),
    "intervals from 0": lives_from_intervals([0, 0, 0, 0], [1, 1, 1, 1]),
}


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("wanted", [("x",), ("group",), ("x", "z"), ("group", "cause", "x")])
def test_odd_data_are_answered_or_refused_in_words_and_never_in_numpys(name, wanted):
    lives = ODD[name]
    rows = np.arange(lives.n)
    every = {
        "x": rows - 1.0,
        "z": np.random.default_rng(0).normal(size=lives.n),
        "group": np.where(rows % 2, "a", "b"),
        "cause": np.where(rows % 3 == 0, "w", "k"),
    }
    given = {key: every[key] for key in wanted}
    for estimate in (
        lambda: cox_effects(lives, given),
        lambda: cox_effects(lives, given, strata=every["cause"], cluster=rows // 2),
        lambda: accelerated_effects(lives, given, cluster=rows // 2),
        lambda: accelerated_effects(lives, given, model="lognormal"),
    ):
        try:
            found = estimate()
        except MaintainError as refused:
            assert refused.message
        else:
            assert all(np.isfinite(effect.coef) and effect.se >= 0 for effect in found.effects)
