"""The page that captains take to the pond on their phones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Result

FORMAT = "pond hand-over"  # what a phone's file calls itself
VERSION = 1


@dataclass(frozen=True)
class PhoneShip:
    """A ship by her uid and name, and the names of her positions."""

    uid: str
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True)
class PhonePage(Result):
    """
    What the page must know, since it can ask nobody at the pond.

    Attributes
    ----------
    uid, battle : str
        Of the battle.
    days : tuple of date
        On which it is fought.
    ships : tuple of PhoneShip
        All in commission.
    """

    uid: str
    battle: str
    days: tuple[date, ...]
    ships: tuple[PhoneShip, ...]
