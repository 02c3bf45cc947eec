"""Everything that is due by date or by count, in the order it is to be read."""

from __future__ import annotations

import sqlalchemy as sa

from maintain.services.dated_work.failed_aboard import failed_work
from maintain.services.dated_work.legal import legal_work
from maintain.services.dated_work.readings import reading_work
from maintain.services.dated_work.recurring import recurring_work
from maintain.services.dated_work.salvage import salvage_work, unsafe_work
from maintain.services.dated_work.suspects import suspect_work
from maintain.services.dated_work.work import DatedWork
from maintain.services.horizon import Horizon


def dated_work(connection: sa.Connection, horizon: Horizon) -> list[DatedWork]:
    """All work due by the end of the horizon; what failed and is aboard first, each kind by date."""
    tasks = sorted(
        recurring_work(connection, horizon), key=lambda work: (work.due_on or horizon.today, work.ship or "", work.what)
    )
    return [
        *failed_work(connection, horizon),
        *unsafe_work(connection, horizon),
        *legal_work(connection, horizon),
        *tasks,
        *sorted(reading_work(connection, horizon), key=lambda work: (work.due_on or horizon.today, work.ship or "")),
        *salvage_work(connection, horizon),
        *suspect_work(connection, horizon.today),
    ]
