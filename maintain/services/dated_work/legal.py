"""Dated certificates: the rule and its decider outrank everything."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from maintain.records import upkeep
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon


def legal_work(connection: sa.Connection, horizon: Horizon) -> list[DatedWork]:
    """Certificates that run out by the end of the horizon, by date."""
    return [_certified(row, horizon) for row in upkeep.certificates(connection) if row.expires_on <= horizon.until]


def _certified(row: Any, horizon: Horizon) -> DatedWork:
    expired = row.expires_on < horizon.today
    where = (
        None if row.place == "installed" else f"in the {row.place}" if row.place == "pool" else f"place: {row.place}"
    )
    why = f"{row.kind} {'ran' if expired else 'runs'} out on {row.expires_on}" + (f" ({where})" if where else "")
    return DatedWork(
        kind="certificate",
        what="have it renewed; do not fill or use it out of date",
        ship=row.ship,
        position=row.position,
        part=row.tag,
        system=row.system,
        due_on=row.expires_on,
        why=why,
        source=row.source,
        decider=row.decider,
        overdue=expired,
        # the paper that follows this one is the same date, moved on
        key=f"certificate-{row.part_uid}-{row.kind}-{row.source}".lower(),
    )
