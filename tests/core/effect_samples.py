"""Published data with covariates, and crowds drawn to try them on."""

from __future__ import annotations

import numpy as np

from maintain.core.lives import Lives, lives_from_times
from tests.published.reading import column, numbers


def columns(name: str, *keys: str) -> dict[str, np.ndarray]:
    return {key: numbers(name, key) for key in keys}


def lung() -> tuple[Lives, dict[str, np.ndarray]]:
    found = columns("lung", "time", "status", "age", "sex", "ph_ecog")
    whole = ~np.isnan(found["ph_ecog"])
    found = {key: values[whole] for key, values in found.items()}
    return lives_from_times(found.pop("time"), found.pop("status") == 1), found


def heart() -> tuple[Lives, dict[str, np.ndarray], np.ndarray]:
    rows = lives_from_times(
        numbers("stanford_heart", "stop"), numbers("stanford_heart", "event") == 1, numbers("stanford_heart", "start")
    )
    return rows, columns("stanford_heart", "age", "year", "surgery", "transplant"), column("stanford_heart", "id")


def channing() -> tuple[Lives, np.ndarray]:
    entry, exit_ = numbers("channing", "entry_months"), numbers("channing", "exit_months")
    kept = exit_ > entry
    return lives_from_times(exit_[kept], (numbers("channing", "event") == 1)[kept], entry[kept]), column(
        "channing", "sex"
    )[kept]


def coefs(found) -> dict[str, float]:
    return {effect.name: effect.coef for effect in found.effects}


def errors(found) -> dict[str, float]:
    return {effect.name: effect.se for effect in found.effects}


def crowd(n: int, seed: int, *, ties: bool):
    """Rows with late entry, ties or none, strata and clusters."""
    rng = np.random.default_rng(seed)
    table = rng.normal(size=(n, 3))
    entry = rng.exponential(3, n) * (rng.random(n) < 0.5)
    exit_ = entry + rng.exponential(8 * np.exp(-0.5 * table[:, 0]), n)
    if ties:
        # statsmodels takes a life entering at a failure time as at risk then; R and this project do not: half steps
        entry, exit_ = np.where(entry > 0, np.floor(entry) + 0.5, 0), np.ceil(exit_) + 1
    lives = lives_from_times(exit_, rng.random(n) < 0.7, entry)
    return lives, table, rng.integers(0, 3, n), rng.integers(0, 25, n)
