"""What failures, renewals and losses cost the club and its captains, and how they stand in kind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa

from maintain.core.paid import in_all
from maintain.errors import InvalidRecord
from maintain.records import holdings, spending
from maintain.results.pool_costs import (
    FAILED,
    GIVEN,
    MISSING,
    RENEWED,
    SHELF,
    SHIP_LOST,
    USED,
    Cost,
    CostLine,
    InKind,
    PoolCosts,
)
from maintain.services.pool import owed
from maintain.services.pool.spent import THE_POOL, Spent, by_name, parts_spent, pieces_spent
from maintain.services.unit import Desk, reading

_WAYS = (FAILED, RENEWED, USED, GIVEN, SHELF, MISSING, SHIP_LOST)
_NOTES = (
    "parts at their own price, else their family's; counted pieces at what was paid for the oldest then on the shelf, "
    "else their family's price",
    "counted pieces used: the records do not say whether after a failure",
    "money for parts only: work, fuel and orders not yet received are not counted",
)


@dataclass(frozen=True)
class Asked:
    """
    Which costs.

    Attributes
    ----------
    season : int, optional
        A calendar year.
    since : date, optional
        Neither: this season; of all seasons where they are compared.
    by : str
        "family", "ship", "season" or "captain".
    """

    season: int | None = None
    since: date | None = None
    by: str = "family"


def costs(desk: Desk, asked: Asked) -> PoolCosts:
    """What was used up in a season or since a day, and what is owed in kind now."""
    since, until = _period(asked, desk.today)
    with reading(desk) as connection:
        rows, moved = spending.stays(connection, until), spending.moves(connection, until)
        everything = [*parts_spent(rows, until), *pieces_spent(moved)]
        balances = _balances(connection, desk.today)
        currency = holdings.currency(connection)
    within = [each for each in everything if (since is None or each.on >= since) and each.on <= until]
    spent = [each for each in within if each.thrown_away]
    kept = Counter(each.how for each in within if not each.thrown_away)
    unpriced: Counter[str] = Counter()
    for each in spent:
        unpriced[each.family] += each.price.unpriced
    return PoolCosts(
        since=since,
        until=until,
        by=asked.by,
        currency=currency,
        total=_line("in all", spent),
        lines=_lines(spent, asked.by),
        unpriced={name: unpriced[name] for name in sorted(unpriced) if unpriced[name]},
        kept_failed=kept[FAILED],
        kept_working=kept[RENEWED],
        balances=balances,
        notes=_NOTES,
    )


def _period(asked: Asked, today: date) -> tuple[date | None, date]:
    """
    The first and last day that count.

    Raises
    ------
    InvalidRecord
        If both a season and a day are given, or it is still to come.
    """
    if asked.season is not None and asked.since is not None:
        raise InvalidRecord("--season and --since both say from when", hint="give one of them")
    if asked.since is not None:
        if asked.since > today:
            raise InvalidRecord(f"--since {asked.since} is still to come", hint=f"today is {today}")
        return asked.since, today
    if asked.season is None and asked.by == "season":
        return None, today
    season = today.year if asked.season is None else asked.season
    if season > today.year:
        raise InvalidRecord(f"--season {season} is still to come", hint=f"today is {today}")
    return date(season, 1, 1), min(today, date(season, 12, 31))


def _lines(spent: list[Spent], by: str) -> tuple[CostLine, ...]:
    found = [_line(name, each) for name, each in by_name(spent, by).items()]
    if by == "season":
        return tuple(sorted(found, key=lambda line: line.name))
    return tuple(sorted(found, key=lambda line: (-line.cents, -line.unpriced, line.name)))


def _line(name: str, spent: Iterable[Spent]) -> CostLine:
    by_way = {way: [each for each in spent if each.how == way] for way in _WAYS}
    return CostLine(name, tuple(_cost(way, each) for way, each in by_way.items() if each))


def _cost(way: str, spent: list[Spent]) -> Cost:
    price = in_all(each.price for each in spent)
    return Cost(
        how=way,
        pieces=sum(each.pieces for each in spent),
        cents=price.cents,
        unpriced=price.unpriced,
        pool_cents=sum(each.price.cents for each in spent if each.of_pool),
    )


def _balances(connection: sa.Connection, today: date) -> tuple[InKind, ...]:
    """Everything now owed to or by members, by member and family."""
    price = spending.unit_costs(connection)
    owes: Counter[tuple[str, str]] = Counter()
    due: Counter[tuple[str, str]] = Counter()
    for row in owed.found(connection, today):
        owes[row["debtor"], row["family"]] += row["quantity"]
        due[row["creditor"], row["family"]] += row["quantity"]
    return tuple(
        InKind(
            member=member,
            family=family,
            owes=owes[member, family],
            is_owed=due[member, family],
            cents=None if unit is None else (due[member, family] - owes[member, family]) * unit,
        )
        for member, family in sorted({*owes, *due})
        if member != THE_POOL
        for unit in (price[family],)
    )
