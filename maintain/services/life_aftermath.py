"""How long from a sinking to a part's death, and whether that is sooner than without one: when to open and look."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from maintain.core.causes import Causes, causes_of_failure
from maintain.core.lives import Floats, lives_from_times
from maintain.core.rate_ratio import Spent, rate_ratio
from maintain.errors import NotEnoughData
from maintain.results.life import Figure
from maintain.results.life_aftermath import AfterDays, LifeAftermath, Unsunk
from maintain.services.life import Question
from maintain.services.lives import samples
from maintain.services.lives.history import history
from maintain.services.lives.labels import labels_of
from maintain.services.lives.soakings import DIED, SUNK_AGAIN, Soakings, soakings_of
from maintain.services.lives.table import Selection
from maintain.services.lives.unsunk import Likeness, after_sinkings, before_any
from maintain.services.unit import Desk, reading

DAYS = (1.0, 7.0, 30.0, 90.0, 180.0)
FOUND = (
    "a death counts when it was found: one that nobody looked for is found late, and after a sinking everybody looks, "
    "which finds older deaths too"
)
COMPARED = (
    "times as often: deaths a day since the row above, against parts of the same family in the same year of life not "
    "yet sunk; their zones and ships may differ (maintain life effects holds those equal)"
)


def aftermath(desk: Desk, only: Mapping[str, str | None], question: Question) -> LifeAftermath:
    """
    Follow every part from each sinking to its death or to the next sinking, whichever came first.

    Raises
    ------
    NotEnoughData
        If no chosen part was ever under, or none died.
    """
    question.check()
    with reading(desk) as connection:
        chosen = {name: samples.meant(connection, name, text) for name, text in only.items() if text is not None}
        past = history(connection, desk.today)
    wanted = Selection(chosen)(labels_of(past))
    found = soakings_of(past, wanted)
    deaths = int(np.sum(found.next == DIED))
    if not deaths:
        raise NotEnoughData(
            f"{found.part.size} soakings, and no death after any: nothing says how long it takes",
            hint="log sinkings and failures, or ask for more kinds of part",
        )
    like = Likeness.of(past)
    unsunk = before_any(like, past, wanted, found)
    times = np.unique(question.at or DAYS)
    rows = _followed(found, times, question.conf)
    compared = _compared(like, found, unsunk, times, question.conf)
    return LifeAftermath(
        soakings=found.part.size,
        parts=int(np.unique(found.part).size),
        deaths=deaths,
        half_by=_half_by(found, question.conf),
        at=tuple(
            AfterDays(days, *row, deaths=died, as_often=ratio)
            for days, row, (died, ratio) in zip(times.tolist(), rows, compared, strict=True)
        ),
        unsunk=Unsunk(int(unsunk.deaths.sum()), float(unsunk.time.sum())),
        sooner_until=_sooner_until(times, [ratio for _, ratio in compared]),
        conf=question.conf,
        notes=_notes(found.unknown),
    )


def _followed(found: Soakings, times: Floats, conf: float) -> list[tuple[Figure, float, int]]:
    """Share dead, share sunk again first and number still followed, by each day."""
    lives = lives_from_times(found.days, found.next != "")
    followed = causes_of_failure(lives, found.next, at=times + 0.5, cluster=found.ship, conf=conf)
    curves = {curve.cause: curve for curve in followed.curves}
    died, again = curves[DIED], curves.get(SUNK_AGAIN)
    return [
        (
            Figure(float(died.incidence[row]), _told(died.lower[row]), _told(died.upper[row])),
            0.0 if again is None else float(again.incidence[row]),
            int(followed.at_risk[row]),
        )
        for row in range(times.size)
    ]


def _compared(like: Likeness, found: Soakings, unsunk: Spent, times: Floats, conf: float) -> list[tuple[int, Figure]]:
    """Deaths since the row before, and how many times as often they came as in parts that were not sunk."""
    found_in = []
    for since, until in pairwise((0.0, *(times + 0.5).tolist())):
        span = after_sinkings(like, found, since, until)
        ratio = rate_ratio(span, unsunk, conf)
        found_in.append((int(span.deaths.sum()), Figure(ratio.value, ratio.lower, ratio.upper)))
    return found_in


def _sooner_until(times: Floats, ratios: list[Figure]) -> float | None:
    """The last day up to which, in every row, deaths surely came more often than in parts not sunk."""
    last = None
    for days, ratio in zip(times.tolist(), ratios, strict=True):
        if not (ratio.lower and ratio.lower > 1):
            break
        last = days
    return last


def _half_by(found: Soakings, conf: float) -> Figure:
    """The day by which half of the deaths before the next sinking had come; limits by the ranks of those found."""
    from scipy.stats import binom

    whole = causes_of_failure(lives_from_times(found.days, found.next != ""), found.next)
    days = np.sort(found.days[found.next == DIED]) - 0.5
    rank = int(binom.ppf((1 - conf) / 2, days.size, 0.5))  # so few deaths, or fewer, come before it by chance
    limits = (float(days[rank - 1]), float(days[days.size - rank])) if rank else (None, None)
    return Figure(_middle(whole), *limits)


def _middle(whole: Causes) -> float:
    """Those still to come allowed for."""
    share = next(curve for curve in whole.curves if curve.cause == DIED).incidence
    return float(whole.times[np.searchsorted(share, share[-1] / 2 - 1e-9)] - 0.5)


def _notes(unknown: int) -> tuple[str, ...]:
    told = (FOUND, COMPARED)
    if not unknown:
        return told
    sorties = (
        f"{unknown} sortie of unknown wetness counts" if unknown == 1 else f"{unknown} sorties of unknown wetness count"
    )
    return (*told, f"{sorties} as no sinking")


def _told(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
