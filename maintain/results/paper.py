"""Pages to print."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Result

PAPERS = ("A4", "Letter")


@dataclass(frozen=True)
class CheckStep:
    """
    One step of the morning's check.

    Attributes
    ----------
    what : str
        The question, with the ship's own positions that it is about.
    how : str
        How it is tested.
    figure : str, optional
        What is measured, with its unit; None where only yes or no is asked.
    caution : str, optional
        What can hurt somebody, and who decides.
    """

    what: str
    how: str
    figure: str | None = None
    caution: str | None = None


@dataclass(frozen=True)
class DueItem:
    """Something due before the battle: where, what to do, why; for a date, who decides."""

    where: str
    action: str
    why: str
    decider: str | None = None


@dataclass(frozen=True)
class ShipSheet:
    """One ship's pages."""

    ship: str
    captain: str | None
    number: str | None
    steps: tuple[CheckStep, ...]
    due: tuple[DueItem, ...]
    suspects: tuple[str, ...]


@dataclass(frozen=True)
class StockLine:
    """
    What the pool can issue, to be signed for.

    Attributes
    ----------
    what : str
        The family.
    tag : str, optional
        Of one part; None for counted stock, and for a family of which the pool has none.
    on_hand : int
    category : str
    pack : int, optional
        How many of the family to take to the meet; None if that was not worked out.
    """

    what: str
    tag: str | None
    on_hand: int
    category: str
    pack: int | None = None


@dataclass(frozen=True)
class Sheets(Result):
    """
    Pages for one ship, the fleet, or a meet.

    Attributes
    ----------
    title : str
    made_on : date
    battle : str, optional
        The one ahead.
    days : tuple of date
        Of that battle.
    sorties : int
        Lines of the log card.
    ships : tuple of ShipSheet
    stock : tuple of StockLine, optional
        None if no issue sheet was asked for.
    paper : str
        "A4" or "Letter".
    notes : tuple of str
        What was left out, one line each.
    """

    title: str
    made_on: date
    battle: str | None
    days: tuple[date, ...]
    sorties: int
    ships: tuple[ShipSheet, ...]
    stock: tuple[StockLine, ...] | None
    paper: str
    notes: tuple[str, ...] = ()
