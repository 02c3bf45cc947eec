"""Readings beyond their limit, and those whose line meets it before the end of the horizon."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa

from maintain.results.readings import Series
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon
from maintain.services.readings.judge import judged
from maintain.services.readings.limits import rules
from maintain.services.readings.stretches import stretches

_DECIDERS = {"downstream pressure": "technical officer", "regulator creep": "technical officer"}


def reading_work(connection: sa.Connection, horizon: Horizon) -> Iterator[DatedWork]:
    """What is to be put right on ships in commission, for what their readings tell."""
    known = rules(connection)
    for stretch in stretches(connection, horizon.today)[0]:
        if not (stretch.current and stretch.where.sails):
            continue
        series = judged(stretch, known, horizon.today)
        what = _to_do(series, horizon)
        if what is None:
            continue
        last = series.readings[-1].taken_on
        meets = series.meets.on if series.meets else None
        yield DatedWork(
            kind="task",
            what=what,
            ship=stretch.where.ship,
            position=stretch.where.position,
            part=stretch.part,
            system=stretch.where.system,
            due_on=last if series.verdict == "beyond" or meets is None else max(meets, horizon.today),
            why=series.told,
            source=series.limit.source if series.limit else None,
            decider=_DECIDERS.get(stretch.measure),
            overdue=series.verdict == "beyond",
        )


def _to_do(series: Series, horizon: Horizon) -> str | None:
    """What to do, if anything is due by the end of the horizon."""
    if series.verdict == "beyond":
        return f"put right and measure again: {series.measure}"
    meets = series.meets.on if series.meets else None
    if series.verdict in ("crossed", "heads for it") and meets is not None and meets <= horizon.until:
        return f"look at it and measure again: {series.measure}"
    return None
