"""Age or water: what days, minutes afloat, wet sorties and sinkings cost a part in days of life."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from maintain.results.base import Column, Listing, Pictured
from maintain.results.outlook import Interval


@dataclass(frozen=True)
class CostOf:
    """
    What one unit of a clock costs.

    Attributes
    ----------
    clock : str
    unit : str
        In words: "a sinking".
    days : Interval
        Days of life that the unit costs.
    told : bool
        False if the failures do not tell: the interval is about what was allowed for beforehand.
    seen : float
        Units that these parts lived through.
    """

    clock: str
    unit: str
    days: Interval
    told: bool
    seen: float


@dataclass(frozen=True)
class Ratio:
    """How many times as likely parts are to fail for being in a zone, or for a waterproofing against none."""

    kind: str
    name: str
    ratio: Interval
    n: int
    failures: int


@dataclass(frozen=True)
class ClockLine:
    """
    How well a clock explains the failures, all clocks being held against the same lives.

    Attributes
    ----------
    parameters : int
    log_likelihood, aic : float
        Of one law for all parts; least AIC is best.
    log_score : float
        Log chance of each ship's lives by what the other ships' say, added up; largest is best.
    ahead, ahead_error : float
        Of days by the log score, and the standard error of that over ships.
    """

    clock: str
    parameters: int
    log_likelihood: float
    aic: float
    log_score: float
    ahead: float
    ahead_error: float


@dataclass(frozen=True)
class FailureAt:
    """A failure on the calendar and on service age: use when found, in days of each."""

    days: float
    service_age: float


@dataclass(frozen=True)
class GroupClock:
    """
    The service age of one kind of part.

    Attributes
    ----------
    group : str
    noun : str
        One such part, in words.
    n, failures : int
    costs : tuple of CostOf
    shape, scale : Interval
        Weibull law of service age, scale in days of it, over all families.
    verdict : str
        How the hazard goes with service age.
    ratios : tuple of Ratio
    clocks : tuple of ClockLine
        Best log score first; none where fewer than two failed or there is one ship.
    failed_at : tuple of FailureAt
        By the middle of the costs.
    """

    group: str
    noun: str
    n: int
    failures: int
    costs: tuple[CostOf, ...]
    shape: Interval
    scale: Interval
    verdict: str
    ratios: tuple[Ratio, ...]
    clocks: tuple[ClockLine, ...]
    failed_at: tuple[FailureAt, ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class LifeClock(Pictured):
    """
    The service age of the parts asked for, category by category.

    Attributes
    ----------
    level : float
        Of the intervals.
    groups : tuple of GroupClock
        Most failures first.
    notes : tuple of str
        What was left out or assumed, one line each.
    """

    level: float
    groups: tuple[GroupClock, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The costs as a table."""
        columns = (
            Column("group", "Parts"),
            Column("n", "n", numeric=True),
            Column("failures", "Failed", numeric=True),
            Column("unit", "One"),
            Column("days", "Costs days of life", numeric=True),
            Column("lower", "Lower", numeric=True),
            Column("upper", "Upper", numeric=True),
            Column("told", "Failures tell"),
            Column("seen", "Clock moved by", numeric=True),
        )
        rows: list[dict[str, Any]] = [
            {
                "group": group.group,
                "n": group.n,
                "failures": group.failures,
                "unit": cost.unit,
                "days": cost.days.value,
                "lower": cost.days.lower,
                "upper": cost.days.upper,
                "told": cost.told,
                "seen": cost.seen,
            }
            for group in self.groups
            for cost in group.costs
        ]
        return Listing("Service age", columns, tuple(rows), footer=self.notes)
