"""What is due before a battle, and what the pool should hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result
from maintain.results.deeds import Deed


@dataclass(frozen=True)
class Interval:
    """An estimate with the interval that holds it with the stated probability."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Evidence:
    """
    What an estimate rests on.

    Attributes
    ----------
    group : str
        The parts most like this one: family, zone and waterproofing.
    n, failures : int
        Lives and failures of the group.
    category : str
    category_n, category_failures : int
        Of all the groups it leans on.
    clock : str
        What ages these parts, in words.
    verdict : str
        How the hazard goes with use.
    more_needed : int
        About how many more failures of the category until its rate is known within a factor of three (80 % limits).
    """

    group: str
    n: int
    failures: int
    category: str
    category_n: int
    category_failures: int
    clock: str
    verdict: str
    more_needed: int


@dataclass(frozen=True)
class DueLine:
    """
    One thing to do before the battle.

    Attributes
    ----------
    advice : str
        "certificate", "task", "replace", "test", "carry a spare" or "leave".
    action : str
        What to do, in plain words.
    why : str
        The reason, in plain words.
    failing : Interval, optional
        Chance of failing by the end of the battle, given that it works now; of a hidden function, given that it worked
        when it was last tested, so that it may have failed already. None where only a date or count decides.
    failing_if_new : Interval, optional
        The same chance for a new part of its kind in its place.
    overdue : bool
        True if its day is past, or its count was passed.
    first : bool
        True if it goes before all else: what failed is still aboard.
    last_tested : date, optional
        The last day it was shown to work by a reading, check or retest.
    in_pool : int, optional
        Spares of its family that the pool holds.
    buys : float, optional
        By how much the ship's chance of getting through with everything vital rises if it is done.
    minutes : int, optional
        Of work; None if unknown.
    """

    ship: str | None
    position: str | None
    part: str | None
    family: str | None
    system: str | None
    advice: str
    action: str
    why: str
    due_on: date | None = None
    overdue: bool = False
    first: bool = False
    source: str | None = None
    decider: str | None = None
    last_tested: date | None = None
    failing: Interval | None = None
    failing_if_new: Interval | None = None
    in_pool: int | None = None
    evidence: Evidence | None = None
    buys: float | None = None
    minutes: int | None = None


@dataclass(frozen=True)
class Due(Result):
    """
    Everything due before the end of a battle.

    Attributes
    ----------
    battle : str, optional
        None if none is planned.
    ship : str, optional
        The only ship looked at, if one was named.
    until : date
        Last day of the battle, or that counts.
    sorties : int
        Planned for each ship by then.
    level : float
        Of the intervals.
    over : float
        Least chance of failing that is listed.
    lines : tuple of DueLine
        Dates and counts first, then by what they buy and by chance of failing.
    considered : int
        Installed parts of which there is a forecast.
    expected : Interval
        Failures among all of them: the mean, and limits of the count.
    notes : tuple of str
        What was left out or assumed, one line each.
    hours : float, optional
        Only what fits in so many was asked for.
    fitted : int
        Installed parts, those of which nothing can be forecast too, less those known to have failed.
    empty : tuple of str
        Vital positions without a part, and those of banks with fewer parts than they need: ship and position.
    tonight : tuple of Deed
        Of the work listed, what buys most; running everything once is among it where one ship was asked about.
    runs : tuple of Deed
        Running everything once on each ship, where it buys most first.
    """

    battle: str | None
    ship: str | None
    until: date
    sorties: int
    level: float
    over: float
    lines: tuple[DueLine, ...]
    considered: int
    expected: Interval
    notes: tuple[str, ...]
    hours: float | None = None
    fitted: int = 0
    empty: tuple[str, ...] = ()
    tonight: tuple[Deed, ...] = ()
    runs: tuple[Deed, ...] = ()

    def listing(self) -> Listing:
        """The lines as a table."""
        columns = (
            Column("ship", "Ship"),
            Column("position", "Position"),
            Column("part", "Part"),
            Column("family", "Family"),
            Column("advice", "Advice"),
            Column("action", "Action"),
            Column("due_on", "Due on"),
            Column("overdue", "Overdue"),
            Column("failing", "Chance of failing", numeric=True),
            Column("lower", "Lower", numeric=True),
            Column("upper", "Upper", numeric=True),
            Column("n", "n", numeric=True),
            Column("failures", "Failures", numeric=True),
            Column("in_pool", "In the pool", numeric=True),
            Column("buys", "Buys", numeric=True),
            Column("minutes", "Minutes", numeric=True),
            Column("why", "Why"),
            Column("source", "Source"),
            Column("decider", "Who decides"),
        )
        return Listing("Due", columns, tuple(map(_due_row, self.lines)), footer=self.notes)


def _due_row(line: DueLine) -> Mapping[str, Any]:
    row = {
        each: getattr(line, each)
        for each in ("ship", "position", "part", "family", "advice", "action", "due_on", "overdue", "in_pool")
    }
    row |= {each: getattr(line, each) for each in ("buys", "minutes", "why", "source", "decider")}
    if line.failing:
        row |= {"failing": line.failing.value, "lower": line.failing.lower, "upper": line.failing.upper}
    if line.evidence:
        row |= {"n": line.evidence.n, "failures": line.evidence.failures}
    return row


@dataclass(frozen=True)
class Answers(Result):
    """Several answers under one heading."""

    heading: str
    answers: tuple[Result, ...]
    notes: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """Each answer under the name of its class."""
        return {type(each).__name__.lower(): each.document() for each in self.answers} | {"notes": list(self.notes)}
