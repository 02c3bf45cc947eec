"""Ten thousand laws fitted to draws of 200 lives, half of them watched late, against a loop over lifelines."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

import numpy as np
from lifelines import WeibullFitter

from maintain.core.bootstrap import drawn_weights, refits
from maintain.core.fit import fit
from tests.bench.lives_million import columns, sample
from tests.bench.timing import line, seconds

DRAWS, LOOPED = 10_000, 20


def lines() -> Iterator[str]:
    """All draws at once, and as many loops over lifelines as anybody waits for, reckoned up to all."""
    warnings.simplefilter("ignore")
    lives = sample(200, 1, late=0.5)
    law = fit(lives)
    ours = seconds(lambda: refits(lives, law, np.random.default_rng(1), DRAWS), 3)
    time, failed, entry = columns(lives)
    draws = [np.repeat(np.arange(200), each) for each in drawn_weights(np.random.default_rng(1), 200, LOOPED)]

    def loop() -> None:
        for rows in draws:
            WeibullFitter().fit(time[rows], failed[rows], entry=entry[rows])

    theirs = seconds(loop, 1) * DRAWS / LOOPED
    yield line(f"{DRAWS:,} refits of 200 lives", ours, f"lifelines, from {LOOPED},", theirs, aim=1 / 500)
