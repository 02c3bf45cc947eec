"""When to renew working parts before they fail, group by group, and how often to test what fails unheard."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite

import numpy as np
import sqlalchemy as sa

from maintain.core.replacement import cost_rate, failure_finding_interval
from maintain.errors import NotEnoughData
from maintain.records import find
from maintain.records import tables as t
from maintain.results.renewal import Age, Money, Renewal, RenewLine, TestLine
from maintain.services.horizon import Horizon
from maintain.services.outlook import LEVEL, Outlook, outlook
from maintain.services.renewal_groups import RenewalGroup, renewal_groups, told
from maintain.services.stakes import Stakes
from maintain.services.unit import Desk, reading

SEASON_DAYS = 365
TOLERATED = 0.1  # calls in vain a season: once in ten seasons (common practice, no source)
_CALLED_FROM = 2  # wetness in which pumps, switches and recovery lines are called on: W2, she took water
_LEAST_CALLS = 1.0  # a season, where the record tells of fewer
_BEYOND_DAYS = 36525  # a hundred years: no ship is kept so long
CAUTION = (
    "an age here never outlasts a legal date, a maker's date or a shelf life: those come first, and the safety officer "
    "and licensed inspectors decide"
)


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    category, family : str, optional
        Default: all.
    stakes : Stakes
    tolerated : float
        Calls in vain in a season that are put up with, for each part that fails unheard.
    """

    category: str | None = None
    family: str | None = None
    stakes: Stakes = field(default_factory=Stakes)
    tolerated: float = TOLERATED


def renewal(desk: Desk, question: Question) -> Renewal:
    """
    Work out for every group of fitted parts whether, and at what age, to renew them.

    Raises
    ------
    NotEnoughData
        If nothing is fitted, or none of what was asked for has lives to learn from.
    """
    with reading(desk) as connection:
        wanted = find.family(connection, question.family).name if question.family else None
        look = outlook(connection, Horizon(desk.today, desk.today, 0, 0), desk)
        groups = [each for each in renewal_groups(connection, look) if _asked(each, question.category, wanted)]
        currency = str(connection.execute(sa.select(t.club.c.currency)).scalar_one())
    if not groups:
        raise NotEnoughData(
            "no fitted part of these has a life to learn from yet", hint="maintain part list shows what is fitted"
        )
    calls = _calls(look)
    lines = [_renew(each, question.stakes) for each in groups if not each.family["hidden"]]
    tests = [_test(each, question.tolerated, calls) for each in groups if each.family["hidden"]]
    unpriced = sorted({x.family["name"] for x in groups if x.family["unit_cost_cents"] is None})
    priced = (f"no unit cost is known of: {', '.join(unpriced)}; only the work counts",) if unpriced else ()
    return Renewal(
        lines=tuple(sorted(lines, key=lambda line: (line.policy != "renew at an age", -line.saving.cents))),
        tests=tuple(sorted(tests, key=lambda line: line.every.value or float("inf"))),
        tolerated=question.tolerated,
        level=LEVEL,
        currency=currency,
        assumed=question.stakes.told(currency),
        notes=(*priced, CAUTION, *look.notes),
    )


def _asked(group: RenewalGroup, category: str | None, family: str | None) -> bool:
    return category in (None, group.of.category) and family in (None, group.family["name"])


def _renew(group: RenewalGroup, stakes: Stakes) -> RenewLine:
    costs, found = group.costs(stakes), group.advice(stakes)
    season = SEASON_DAYS * group.rows.size
    saving = [round(each * season) for each in (found.saving, *found.saving_interval)]
    return RenewLine(
        group=group.name,
        family=group.family["name"],
        fitted=group.rows.size,
        policy=found.policy,
        why=told(found, *costs),
        age=_age(found.age, found.age_interval),
        service_age=found.age * float(group.pace.mean()) if isfinite(found.age) else None,
        renewal_cents=round(costs[0]),
        failure_cents=round(costs[1]),
        renewing_cents=round(found.cost_rate * season),
        running_cents=round(found.run_to_failure_rate * season),
        saving=Money(*saving),
        worthwhile=found.worthwhile,
        evidence=group.of.evidence(int(group.rows[0])),
    )


def _test(group: RenewalGroup, tolerated: float, calls: float) -> TestLine:
    shape, scale = group.law
    rate = cost_rate(np.inf, shape, scale, 1.0, 1.0)  # one renewal a life: one over the mean life
    every = failure_finding_interval(rate, calls / SEASON_DAYS, tolerated / SEASON_DAYS)
    middle, low, high = np.quantile(every, [0.5, (1 - LEVEL) / 2, (1 + LEVEL) / 2], method="inverted_cdf").tolist()
    return TestLine(
        group=group.name,
        family=group.family["name"],
        fitted=group.rows.size,
        every=_age(middle, (low, high)),
        calls=calls,
        evidence=group.of.evidence(int(group.rows[0])),
    )


def _calls(look: Outlook) -> float:
    """How often a ship takes water in a season: then she calls on what fails unheard."""
    sorties = look.past.log.sorties
    lately = sorties.day > look.past.today - SEASON_DAYS
    ships = np.unique(sorties.ship[lately]).size
    wet = int(np.sum(sorties.wetness[lately] >= _CALLED_FROM))
    return max(_LEAST_CALLS, wet / ships) if ships else _LEAST_CALLS


def _age(value: float, interval: tuple[float, float]) -> Age:
    return Age(*(each if each < _BEYOND_DAYS else None for each in (value, *interval)))
