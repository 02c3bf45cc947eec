"""A million lives: curve, Weibull law and causes, against lifelines on the same lives; the fastest of runs in turns."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

import numpy as np
from lifelines import AalenJohansenFitter, KaplanMeierFitter, WeibullFitter

from maintain.core.causes import causes_of_failure
from maintain.core.curve import survival_curve
from maintain.core.fit import fit
from maintain.core.lives import Bools, Floats, Lives, lives_from_times
from tests.bench.timing import fastest, line

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


def columns(lives: Lives) -> tuple[Floats, Bools, Floats]:
    """As lifelines takes them."""
    return np.where(lives.failed, lives.upper, lives.lower), lives.failed, lives.entry


def lines() -> Iterator[str]:
    """Exact times, times written to the hour and to the day; then the law, and causes."""
    warnings.simplefilter("ignore")  # lifelines speaks of its convergence, and of tied times
    exact = sample(SIZE, 1)
    yield curve_line("", exact, 1 / 20)
    yield curve_line(", to the hour", rounded(exact, 24))  # few distinct times: lifelines counts them first, as we do
    yield curve_line(", to the day", rounded(exact, 1))
    yield law_line(exact, 1 / 10)
    yield causes_line(sample(SIZE, 1, late=0.0), 1 / 10)


def curve_line(name: str, lives: Lives, aim: float = 0.0) -> str:
    """Our curve against theirs."""
    time, failed, entry = columns(lives)

    def theirs() -> None:
        KaplanMeierFitter().fit(time, failed, entry=entry)

    ours, other = fastest(lambda: survival_curve(lives), theirs)
    return line(f"Kaplan-Meier, {SIZE:,} lives{name}", ours, "lifelines", other, aim)


def law_line(lives: Lives, aim: float) -> str:
    """Our law against theirs."""
    time, failed, entry = columns(lives)

    def theirs() -> None:
        WeibullFitter().fit(time, failed, entry=entry)

    ours, other = fastest(lambda: fit(lives), theirs, times=3)
    return line(f"Weibull, truncated, {SIZE:,} lives", ours, "lifelines", other, aim)


def causes_line(lives: Lives, aim: float) -> str:
    """Our causes, both of them, against one of theirs, with standard errors; they know no late entry."""
    time, failed, _ = columns(lives)
    water = np.random.default_rng(2).random(SIZE) < 0.6

    def theirs() -> None:
        AalenJohansenFitter().fit(time, np.where(failed, 2 - water, 0), event_of_interest=1)

    named = np.where(water, "water", "wear")
    ours, other = fastest(lambda: causes_of_failure(lives, named), theirs, times=1)
    return line(f"Aalen-Johansen, {SIZE:,} lives, two causes", ours, "lifelines, one", other, aim)
