"""How long from a sinking to the death of a part that was under."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result
from maintain.results.life import Figure


@dataclass(frozen=True)
class AfterDays:
    """Of all soakings: share dead within so many days, share sunk again first, and how many were followed so far."""

    days: float
    dead: Figure
    sunk_again: float
    at_risk: int


@dataclass(frozen=True)
class LifeAftermath(Result):
    """
    What follows a sinking.

    Attributes
    ----------
    soakings, parts, deaths : int
    half_by : float, optional
        Of those that died before the next sinking, half were found dead within so many days; None if none died.
    at : tuple of AfterDays
    conf : float
    notes : tuple of str
    """

    soakings: int
    parts: int
    deaths: int
    half_by: float | None
    at: tuple[AfterDays, ...]
    conf: float
    notes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """The clock beside the figures."""
        return {"clock": "days", **super().document()}
