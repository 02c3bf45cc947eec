"""How long from a sinking to the death of a part that was under."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result
from maintain.results.life import Figure


@dataclass(frozen=True)
class AfterDays:
    """
    Of all soakings, by so many days after the sinking.

    Attributes
    ----------
    dead : Figure
        Share found dead.
    sunk_again : float
        Share sunk again first.
    at_risk : int
        How many were followed so far.
    deaths : int
        Found dead since the row before.
    as_often : Figure
        How many times as often those deaths came as in parts like them that were not sunk.
    """

    days: float
    dead: Figure
    sunk_again: float
    at_risk: int
    deaths: int
    as_often: Figure


@dataclass(frozen=True)
class Unsunk:
    """Deaths and days of the chosen parts before their first sinking, all together."""

    deaths: int
    days: float


@dataclass(frozen=True)
class LifeAftermath(Result):
    """
    What follows a sinking.

    Attributes
    ----------
    soakings, parts, deaths : int
    half_by : Figure
        Of those that died before the next sinking, half were found dead within so many days.
    at : tuple of AfterDays
    unsunk : Unsunk
    sooner_until : float, optional
        Up to so many days after the sinking deaths surely came more often than in parts not sunk; None: can't tell.
    conf : float
    notes : tuple of str
    """

    soakings: int
    parts: int
    deaths: int
    half_by: Figure
    at: tuple[AfterDays, ...]
    unsunk: Unsunk
    sooner_until: float | None
    conf: float
    notes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """The clock beside the figures."""
        return {"clock": "days", **super().document()}
