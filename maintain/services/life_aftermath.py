"""How long from a sinking to a part's death: when to open the ship and look."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from maintain.core.causes import Causes, causes_of_failure
from maintain.core.lives import lives_from_times
from maintain.errors import NotEnoughData
from maintain.results.life import Figure
from maintain.results.life_aftermath import AfterDays, LifeAftermath
from maintain.services.life import Question
from maintain.services.lives import samples
from maintain.services.lives.history import history
from maintain.services.lives.labels import labels_of
from maintain.services.lives.soakings import DIED, SUNK_AGAIN, soakings_of
from maintain.services.lives.table import Selection
from maintain.services.unit import Desk, reading

DAYS = (1.0, 7.0, 30.0, 90.0, 180.0)
FOUND = "a death counts when it was found: one that nobody looked for is found late"


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
    found = soakings_of(past, Selection(chosen)(labels_of(past)))
    deaths = int(np.sum(found.next == DIED))
    if not deaths:
        raise NotEnoughData(
            f"{found.part.size} soakings, and no death after any: nothing says how long it takes",
            hint="log sinkings and failures, or ask for more kinds of part",
        )
    lives = lives_from_times(found.days, found.next != "")
    times = np.array(question.at or DAYS)
    followed = causes_of_failure(lives, found.next, at=times + 0.5, cluster=found.ship, conf=question.conf)
    curves = {curve.cause: curve for curve in followed.curves}
    died, again = curves[DIED], curves.get(SUNK_AGAIN)
    return LifeAftermath(
        soakings=found.part.size,
        parts=int(np.unique(found.part).size),
        deaths=deaths,
        half_by=_half_by(causes_of_failure(lives, found.next)),
        at=tuple(
            AfterDays(
                days,
                Figure(float(died.incidence[row]), _told(died.lower[row]), _told(died.upper[row])),
                0.0 if again is None else float(again.incidence[row]),
                int(followed.at_risk[row]),
            )
            for row, days in enumerate(times.tolist())
        ),
        conf=question.conf,
        notes=_notes(found.unknown),
    )


def _half_by(whole: Causes) -> float:
    """The day by which half of the deaths before the next sinking had come, those still to come allowed for."""
    share = next(curve for curve in whole.curves if curve.cause == DIED).incidence
    return float(whole.times[np.searchsorted(share, share[-1] / 2 - 1e-9)] - 0.5)


def _notes(unknown: int) -> tuple[str, ...]:
    return (FOUND, f"{unknown} sorties of unknown wetness count as no sinking") if unknown else (FOUND,)


def _told(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
