"""Parts that failed and are still fitted: nothing else matters before they are out, or shown to work again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.records.failed_aboard import failed_aboard
from maintain.services.battle_day.morning import BY_NAME
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon

_ADJECTIVES = ("dead", "erratic", "slow", "noisy", "hot", "broken", "corroded")


def failed_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """Each part known not to do its job, on ships in commission."""
    for row in failed_aboard(connection, horizon.today):
        decider = _decider(row)
        yield DatedWork(
            kind="task",
            what=to_do(row),
            ship=row.ship,
            position=row.position,
            part=row.tag,
            system=row.system,
            due_on=None,
            why=f"{standing(row)}, found on {row.found_on}" + (f"; the {decider} decides" if decider else ""),
            source="common practice, no source",
            decider=decider,
            first=True,
        )


def standing(row: Any) -> str:
    """How a row of `failed_aboard` stands, in words."""
    if row.topic is not None:
        return f"{row.tag} failed at the check before a battle ({row.topic}) and is aboard"
    if row.mode is None:
        return f"{row.tag} failed its demand test and is aboard"
    told = f"is {row.mode} and" if row.mode in _ADJECTIVES else f"failed ({row.mode}) and is"
    return f"{row.tag} {told} aboard"


def to_do(row: Any) -> str:
    """What to do about a row of `failed_aboard`."""
    where = quoted(f"{row.ship}/{row.position}")
    mended = f"maintain reading add {where} 'demand test' 1"
    return f"take it out (maintain swap {where}), or mend it and show that it works ({mended})"


def _decider(row: Any) -> str | None:
    """Who decides on what failed a question of safety."""
    asked = BY_NAME.get(row.topic or "")
    return asked.decider if asked is not None and asked.safety else None
