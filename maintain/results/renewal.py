"""When to renew working parts, and how often to test what fails unheard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from maintain.results.base import Column, Listing, Result
from maintain.results.outlook import Evidence


@dataclass(frozen=True)
class Age:
    """An age or a time between tests in days, with its interval; None: no age, however high."""

    value: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Money:
    """An amount in a season for all fitted parts, in whole cents, with its interval."""

    cents: int
    lower_cents: int
    upper_cents: int


@dataclass(frozen=True)
class RenewLine:
    """
    What to do with working parts of one group as they age.

    Attributes
    ----------
    group, family : str
    fitted : int
        Parts of it now on ships.
    policy : str
        "renew at an age", "never on age" or "can't tell yet".
    why : str
    age : Age
        The best age in days fitted, at the pace its kind is used.
    service_age : float, optional
        The same on the clock of service age.
    renewal_cents, failure_cents : int
        What renewing a working part costs, and a failure in battle, the new part included.
    renewing_cents, running_cents : int
        Expected in a season for all fitted: renewing at that age, and only what failed.
    saving : Money
    worthwhile : float
        Chance that renewing at that age is cheaper.
    evidence : Evidence
    """

    group: str
    family: str
    fitted: int
    policy: str
    why: str
    age: Age
    service_age: float | None
    renewal_cents: int
    failure_cents: int
    renewing_cents: int
    running_cents: int
    saving: Money
    worthwhile: float
    evidence: Evidence


@dataclass(frozen=True)
class TestLine:
    """
    How often to test parts of one group that fail unheard.

    Attributes
    ----------
    every : Age
        Days between tests; None: no test is called for, or the record gives no bound yet.
    calls : float
        How often in a season each is called on.
    """

    __test__ = False  # no test of this program's

    group: str
    family: str
    fitted: int
    every: Age
    calls: float
    evidence: Evidence


@dataclass(frozen=True)
class Renewal(Result):
    """
    When to renew, and how often to test.

    Attributes
    ----------
    lines : tuple of RenewLine
        Those worth renewing first, by what it saves.
    tests : tuple of TestLine
        Those to be tested oftenest first.
    tolerated : float
        Calls in vain in a season that are put up with, for each part that fails unheard.
    level : float
        Of the intervals.
    currency : str
    assumed : tuple of str
        The costs that were assumed, one line each.
    notes : tuple of str
    """

    lines: tuple[RenewLine, ...]
    tests: tuple[TestLine, ...]
    tolerated: float
    level: float
    currency: str
    assumed: tuple[str, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The groups as a table, hidden ones last."""
        columns = (
            Column("group", "Group"),
            Column("fitted", "Fitted", numeric=True),
            Column("policy", "Advice"),
            Column("age", "Days", numeric=True),
            Column("lower", "Lower", numeric=True),
            Column("upper", "Upper", numeric=True),
            Column("renewing", "Cost of a season renewing", numeric=True),
            Column("running", "Cost of a season without", numeric=True),
            Column("worthwhile", "Chance it pays", numeric=True),
            Column("n", "n", numeric=True),
            Column("failures", "Failures", numeric=True),
            Column("why", "Why"),
        )
        rows = (*map(_renew_row, self.lines), *map(_test_row, self.tests))
        return Listing("Renewal", columns, rows, footer=(*self.assumed, *self.notes))


def _seen(line: RenewLine | TestLine) -> dict[str, Any]:
    return {"group": line.group, "fitted": line.fitted, "n": line.evidence.n, "failures": line.evidence.failures}


def _renew_row(line: RenewLine) -> Mapping[str, Any]:
    age = {"age": line.age.value, "lower": line.age.lower, "upper": line.age.upper}
    cost = {"renewing": line.renewing_cents / 100, "running": line.running_cents / 100}
    return {**_seen(line), **age, **cost, "policy": line.policy, "worthwhile": line.worthwhile, "why": line.why}


def _test_row(line: TestLine) -> Mapping[str, Any]:
    every = {"age": line.every.value, "lower": line.every.lower, "upper": line.every.upper}
    return {**_seen(line), **every, "policy": "test", "why": f"called on {line.calls:.1f} times a season"}
