"""Clubs that look at their parts every 20 days, but not in winter, and renew in winter what works."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from maintain.core.grouped import ALIVE
from maintain.core.lives import Lives

SHAPE, SCALE = 1.6, 1000.0
LOOKS = np.array([365.0 * year + day for year in range(6) for day in range(0, 200, 20)])
WINTERS = np.array([365.0 * year + 270 for year in range(6)])
RENEWED = 0.9  # share of the treated parts that work, each winter


@dataclass(frozen=True)
class RenewedClub:
    """Stretches of parts; arrays by stretch."""

    lives: Lives
    interval: np.ndarray
    renewals: np.ndarray
    treated: np.ndarray


def renewed_club(rng: np.random.Generator, parts: int, *, ratio: float) -> RenewedClub:
    """Draw parts of which each renewal multiplies the hazard by `ratio`; a failure is found at the next look."""
    rows: list[tuple[float, float, float, int, bool]] = []
    failures = 0
    for _ in range(parts):
        treated = bool(rng.random() < 0.6)
        begun = LOOKS[np.searchsorted(LOOKS, rng.uniform(0, 600))]
        end = min(begun + rng.uniform(500, 1500), LOOKS[-1])
        marks = np.unique(np.concatenate((LOOKS, WINTERS, [end])))
        cuts, seen, dead = _live(rng, marks[(marks > begun) & (marks <= end)], begun, treated, ratio)
        stop = dead or end
        edges = [*sorted({begun, *cuts, seen if dead else begun}), stop]
        for low, high in pairwise(edges):
            renewals = float(sum(cut <= low for cut in cuts))
            number = failures if dead and low >= seen else ALIVE
            rows.append((low - begun, high - begun, renewals, number, treated))
        failures += dead is not None
    start, stop_, renewals_, interval, treated_ = map(np.array, zip(*rows, strict=True))
    last = np.append(start[1:] == 0, True)
    failed = last & (interval != ALIVE)
    return RenewedClub(
        Lives(start, stop_, np.where(failed, stop_, np.inf)), interval.astype(np.intp), renewals_, treated_.astype(int)
    )


def _live(
    rng: np.random.Generator, marks: np.ndarray, begun: float, treated: bool, ratio: float
) -> tuple[list[float], float, float | None]:
    """Days of renewals, the last day it was seen to work, and the day it was found failed."""
    bears, cuts, seen, before, dead = rng.exponential(), [], begun, begun, False
    for mark in marks.tolist():
        bears -= ratio ** len(cuts) * (((mark - begun) / SCALE) ** SHAPE - ((before - begun) / SCALE) ** SHAPE)
        dead, before = bears <= 0, mark
        winter = mark in WINTERS
        if dead and not winter:
            return cuts, seen, mark
        if not dead and winter and treated and rng.random() < RENEWED:
            cuts.append(mark)
        if not dead and (not winter or mark in cuts):
            seen = mark
    return cuts, seen, float(marks[-1]) if dead else None
