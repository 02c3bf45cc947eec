"""Fitting a Weibull law to censored lives, against lifelines on the same lives."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from lifelines import WeibullFitter

from maintain.core.fit import fit
from maintain.core.lives import lives_from_times
from tests.bench.timing import line, seconds


def lines() -> Iterator[str]:
    """A club's sample and a federation's."""
    for size, times in ((50, 9), (100_000, 3)):
        rng = np.random.default_rng(size)
        life = 400.0 * rng.weibull(1.7, size)
        watched = rng.uniform(50.0, 900.0, size)
        time, failed = np.minimum(life, watched), life <= watched

        def ours(time: object = time, failed: object = failed) -> None:
            fit(lives_from_times(time, failed), "weibull")  # type: ignore[arg-type]

        def theirs(time: object = time, failed: object = failed) -> None:
            WeibullFitter().fit(time, failed)

        yield line(f"Weibull fit of {size:,} lives", seconds(ours, times), "lifelines", seconds(theirs, times))
