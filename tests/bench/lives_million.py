"""A million lives: the life curve and the Weibull law with late entry, against lifelines on the same lives."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

import numpy as np
from lifelines import KaplanMeierFitter, WeibullFitter

from maintain.core.curve import survival_curve
from maintain.core.fit import fit
from maintain.core.lives import Lives, lives_from_times
from tests.bench.timing import line, seconds

SIZE = 1_000_000


def sample(size: int, seed: int, late: float = 1.0) -> Lives:
    """Weibull lives of which a share is watched from some age on; about half fail while watched."""
    rng = np.random.default_rng(seed)
    entry = np.where(rng.random(2 * size) < late, rng.uniform(0, 300, 2 * size), 0.0)
    life = 400 * rng.weibull(1.7, 2 * size)
    seen = np.flatnonzero(life > entry)[:size]
    until = entry[seen] + rng.uniform(50, 600, seen.size)
    return lives_from_times(np.minimum(life[seen], until), life[seen] <= until, entry[seen])


def rounded(lives: Lives, parts: int) -> Lives:
    """The same lives written down in so many parts of a day: most times are then shared."""
    exits = np.ceil(np.where(lives.failed, lives.upper, lives.lower) * parts) / parts
    return lives_from_times(exits, lives.failed, np.floor(lives.entry * parts) / parts)


def columns(lives: Lives) -> tuple[object, object, object]:
    """As lifelines takes them."""
    return np.where(lives.failed, lives.upper, lives.lower), lives.failed, lives.entry


def curve_line(what: str, lives: Lives) -> str:
    """Our curve against theirs."""
    time, failed, entry = columns(lives)
    ours = seconds(lambda: survival_curve(lives), 7)
    theirs = seconds(lambda: KaplanMeierFitter().fit(time, failed, entry=entry), 3)
    return line(what, ours, "lifelines", theirs)


def lines() -> Iterator[str]:
    """Exact times, times written to the hour and to the day; then the law."""
    warnings.simplefilter("ignore")  # lifelines speaks of its convergence
    exact = sample(SIZE, 1)
    for name, lives in (("", exact), (", to the hour", rounded(exact, 24)), (", to the day", rounded(exact, 1))):
        yield curve_line(f"Kaplan-Meier, {SIZE:,} lives{name}", lives)
    time, failed, entry = columns(exact)
    ours = seconds(lambda: fit(exact), 3)
    theirs = seconds(lambda: WeibullFitter().fit(time, failed, entry=entry), 1)
    yield line(f"Weibull, truncated, {SIZE:,} lives", ours, "lifelines", theirs, aim=0.1)
