"""How good the forecasts were: the club's own battles, forecast from what was known before each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Pictured, Result
from maintain.results.outlook import Interval


@dataclass(frozen=True)
class Verdict(Result):
    """What a backtest said of the forecasts and of their rivals, of how many battles, and when."""

    verdict: str
    rivals: str
    battles: int
    until: date


@dataclass(frozen=True)
class Scored:
    """
    Forecasts held against what happened.

    Attributes
    ----------
    name : str
        Of the battle or the category.
    on : date, optional
        First day of the battle.
    n, seen : int
        Parts forecast, and how many of them failed.
    expected : float
        Sum of their chances.
    brier, log_score : float
        Of our forecasts; 0 is perfect.
    log_skill : float, optional
        Share of the first rival's log score that was saved.
    """

    name: str
    on: date | None
    n: int
    expected: float
    seen: int
    brier: float
    log_score: float
    log_skill: float | None


@dataclass(frozen=True)
class Rival:
    """
    A simpler forecast of the same parts.

    Attributes
    ----------
    name : str
    expected : float
    brier, log_score : float
    skill, log_skill : Interval, optional
        Share of its Brier score and of its log score that ours saved, with the intervals that resampled battles give;
        None if there was nothing to save.
    """

    name: str
    expected: float
    brier: float
    log_score: float
    skill: Interval | None
    log_skill: Interval | None


@dataclass(frozen=True)
class Calibrated:
    """Forecasts of about the same chance: the mean chance, and the share that failed with its interval."""

    least: float
    most: float
    n: int
    expected: float
    failures: int
    observed: Interval


@dataclass(frozen=True)
class Backtest(Pictured):
    """
    What forecasts of past battles were worth.

    Attributes
    ----------
    until : date
        What is known of what happened.
    whole : Scored
        All of them together.
    allowed : Interval
        Failures expected, and the limits within which their number lies if the forecasts are right (95 %).
    p_value : float
        Chance of a number as far out, were the luck of all parts separate.
    spread : float
        How much more battles differ than separate luck would have it; the limits allow for it.
    believable : bool
        True if what was seen lies within the limits.
    verdict : str
    battles, categories : tuple of Scored
    calibration : tuple of Calibrated
    level : float
        Of the intervals in `calibration` and of skills.
    rivals : tuple of Rival
    notes : tuple of str
    """

    until: date
    whole: Scored
    allowed: Interval
    p_value: float
    spread: float
    believable: bool
    verdict: str
    battles: tuple[Scored, ...]
    categories: tuple[Scored, ...]
    calibration: tuple[Calibrated, ...]
    level: float
    rivals: tuple[Rival, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """One line a battle."""
        columns = (
            Column("name", "Battle"),
            Column("on", "On"),
            Column("n", "Parts", numeric=True),
            Column("expected", "Failures expected", numeric=True),
            Column("seen", "Failures seen", numeric=True),
            Column("brier", "Brier score", numeric=True),
            Column("log_score", "Log score", numeric=True),
            Column("log_skill", "Log score saved", numeric=True),
        )
        return Listing("Battles", columns, tuple(map(_row, self.battles)), footer=(self.verdict, *self.notes))


def _row(line: Scored) -> Mapping[str, Any]:
    return {name: getattr(line, name) for name in Scored.__dataclass_fields__}
