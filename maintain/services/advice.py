"""What to do about a part that may fail, and why, in plain words."""

from __future__ import annotations

from dataclasses import dataclass

WORTH_REPLACING = 0.5  # a new part must at least halve the chance, or replacing buys too little


@dataclass(frozen=True)
class Case:
    """
    What the advice rests on.

    Attributes
    ----------
    verdict : str
        How the hazard of such parts goes with use.
    now, new : float
        Chance of failing by the horizon as it is, and of a new one in its place.
    aged : bool
        True if its earlier use is known.
    hidden : bool
        True if it makes no noise when it fails.
    tested : str, optional
        When it was last shown to work.
    dependence : str
        Of the ship on its position.
    """

    verdict: str
    now: float
    new: float
    aged: bool
    hidden: bool
    tested: str | None
    dependence: str


@dataclass(frozen=True)
class Advice:
    """Kind of advice ("replace", "test", "carry a spare"), what to do, and why."""

    kind: str
    action: str
    why: str


def advise(case: Case) -> Advice:
    """Advise on one part."""
    if case.hidden:
        seen = f"last shown to work on {case.tested}" if case.tested else "never shown to work on record"
        return Advice("test", "test it by demand before the battle", f"makes no noise when it fails; {seen}")
    if not case.aged:
        why = "its earlier use is unknown, so age says nothing of it"
        return Advice("carry a spare", "carry a spare; retest it", why)
    if case.verdict == "wear-out":
        return _wearing(case)
    told = {
        "early failures": "new ones fail more often than seasoned ones: replacing a good part buys nothing",
        "steady": "fails at a steady rate: replacing a good part buys nothing",
    }
    unclear = "can't tell yet whether it wears: replacing a good part may buy nothing"
    return Advice("carry a spare", "carry a spare", told.get(case.verdict, unclear))


def _wearing(case: Case) -> Advice:
    if case.new > WORTH_REPLACING * case.now:
        young = "wears with use, but this one is young: a new one would do little better"
        return Advice("carry a spare", "carry a spare", young)
    gain = f"wears with use: a new one would fail with {_percent(case.new)} instead of {_percent(case.now)}"
    if case.dependence == "nuisance":
        return Advice("carry a spare", "carry a spare", gain + ", but the ship does without")
    return Advice("replace", "replace it, or test it hard and carry a spare", gain)


def _percent(chance: float) -> str:
    return f"{chance:.0%}" if chance >= 0.01 else "under 1%"
