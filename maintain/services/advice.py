"""What to do about a part that may fail, and why, in plain words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.outlook import Evidence, Interval
from maintain.services.renewal_groups import Standing

VAGUE = 0.25  # an interval wider than this says mostly that nobody knows


@dataclass(frozen=True)
class Case:
    """
    What advice on one part rests on.

    Attributes
    ----------
    now : Interval
        Chance that it has failed since it was last shown to work, or will. It is below the upper limit with nine
        chances in ten.
    standing : Standing
        How old it is, and at what age its group is best renewed.
    aged : bool
        True if its earlier use is known.
    hidden : bool
        True if it makes no noise when it fails.
    tested : date, optional
        The last day it was shown to work.
    dependence : str
        How much the ship depends on it.
    over : float
        Least chance that is worth doing something about.
    """

    evidence: Evidence
    now: Interval
    standing: Standing
    aged: bool
    hidden: bool
    tested: date | None
    dependence: str
    over: float


@dataclass(frozen=True)
class Advice:
    """Kind of advice ("replace", "test", "carry a spare", "leave"), what to do, and why."""

    kind: str
    action: str
    why: str


def advise(case: Case) -> Advice:
    """Advise on one part."""
    if case.hidden:
        seen = f"last shown to work on {case.tested}" if case.tested else "never shown to work on record"
        return Advice("test", "test it by demand", f"may have failed already, and nobody hears it: {seen}")
    if case.now.value < case.over:
        return Advice("leave", "leave it", "not likely enough to fail to do anything about it")
    kind, why = _of_a_likely_one(case)
    if not case.aged:
        why += "; its earlier use is unknown, so what was seen is the least it has been through"
    if not case.evidence.category_failures:
        why += f"; none of {case.evidence.category_n} has failed so far: under {percent(case.now.upper)}, nine to one"
    if case.now.upper - case.now.lower > VAGUE:
        more = case.evidence.more_needed
        why += "; can't tell yet how likely" + (f": about {more} more failures would tell" if more else "")
    return Advice(kind, {"replace": "replace it, or test it hard and carry a spare"}.get(kind, "carry a spare"), why)


def _of_a_likely_one(case: Case) -> tuple[str, str]:
    if case.evidence.verdict == "wear-out":
        return _of_one_that_wears(case)
    told = {
        "early failures": "young ones fail more often than seasoned ones: replacing a good part buys nothing",
        "steady": "such parts fail at a steady rate: replacing a good part buys nothing",
    }
    unclear = "can't tell yet whether such parts wear out: replacing a good one may buy nothing"
    return "carry a spare", told.get(case.evidence.verdict, unclear)


def _of_one_that_wears(case: Case) -> tuple[str, str]:
    """By the rule of `maintain life renew`: replace it only once it is as old as its group is best renewed."""
    found = case.standing.advice
    if found.policy == "never on age":
        return "carry a spare", "such parts wear out, but failing costs no more than renewing: wait until it fails"
    if found.policy != "renew at an age":
        return "carry a spare", "such parts wear out, but can't tell yet whether renewing one that works pays"
    cheapest = f"renewing is cheapest at {found.age:.0f} days fitted"
    if not case.standing.reached:
        return "carry a spare", f"such parts wear out, but {cheapest}, and it is younger"
    if case.dependence == "nuisance":
        return "carry a spare", f"such parts wear out, and {cheapest}, but the ship does without"
    return "replace", f"such parts wear out, and {cheapest}: it is that old"


def percent(chance: float) -> str:
    """A chance in words; a small one is never nothing."""
    return f"{chance:.0%}" if chance >= 0.01 else "under 1%"
