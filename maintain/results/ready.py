"""Whether ships get through the battle: chances by system, what matters most, what to do tonight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result
from maintain.results.deeds import Deed
from maintain.results.outlook import DueLine


@dataclass(frozen=True)
class Odds:
    """
    A chance of getting through.

    Attributes
    ----------
    value, lower, upper : float, optional
        With the interval of what is not known of the parts; None if nothing is known, or nothing vital is recorded.
    least : float, optional
        The chance if all that is unknown (empty positions, parts without a forecast) fails; then `value` is the chance
        if all of it holds. None if nothing is unknown.
    """

    value: float | None
    lower: float | None
    upper: float | None
    least: float | None


@dataclass(frozen=True)
class SystemLine:
    """
    One system of a ship.

    Attributes
    ----------
    works : Odds
        That all its vital positions, and of each bank as many as it needs, last with what powers them.
    full : Odds
        That every position of it but mere nuisances lasts.
    """

    system: str
    works: Odds
    full: Odds


@dataclass(frozen=True)
class PlaceLine:
    """
    How much one position matters.

    Attributes
    ----------
    failing : float, optional
        Chance that its part lets the ship down: has failed unheard, or will fail; None where it is unknown.
    decisive : float
        By how much the ship's odds fall if it fails (Birnbaum).
    criticality : float
        Chance that it has failed and is decisive, given that she does not get through.
    share : float
        Chance that a smallest set of failures with it ended her, given that she does not get through (Fussell-Vesely).
    """

    position: str
    system: str
    part: str | None
    family: str | None
    failing: float | None
    decisive: float
    criticality: float
    share: float


@dataclass(frozen=True)
class Ready(Result):
    """
    One ship before a battle.

    Attributes
    ----------
    through : Odds
        That she gets through with everything vital.
    tonight : tuple of Deed
        Parts known to have failed, then the best things to do, what buys most first.
    best_per_minute : Deed, optional
        What buys most for each minute, of all work whose minutes are known.
    carry : tuple of str
        Parts likeliest to fail of those whose replacing buys nothing.
    empty, silent : tuple of str
        Positions that count and have no part, and those with a part (in brackets) of which nothing can be said yet.
    failed : tuple of DueLine
        Parts known not to work that are still aboard.
    missing : tuple of str
        Empty positions that are vital, or of banks with fewer parts than they need.
    untested : tuple of str
        Positions of hidden functions of which nothing can be said, as nobody ever tested such a part.
    never_tested : tuple of str
        Positions of hidden functions whose part was never tested, whether or not there is a forecast of it.
    safety : tuple of DueLine
        Legal dates that run out by then.
    tasks, overdue : int
        Tasks due on her by date or count, and how many of them are overdue.
    caution : str
    """

    ship: str
    battle: str | None
    until: date
    sorties: int
    level: float
    through: Odds
    systems: tuple[SystemLine, ...]
    places: tuple[PlaceLine, ...]
    tonight: tuple[Deed, ...]
    best_per_minute: Deed | None
    carry: tuple[str, ...]
    empty: tuple[str, ...]
    silent: tuple[str, ...]
    safety: tuple[DueLine, ...]
    tasks: int
    caution: str
    notes: tuple[str, ...]
    failed: tuple[DueLine, ...] = ()
    missing: tuple[str, ...] = ()
    untested: tuple[str, ...] = ()
    overdue: int = 0
    never_tested: tuple[str, ...] = ()

    def listing(self) -> Listing:
        """The positions as a table."""
        columns = (
            Column("position", "Position"),
            Column("system", "System"),
            Column("part", "Part"),
            Column("family", "Family"),
            Column("failing", "Lets down", numeric=True),
            Column("decisive", "Birnbaum importance", numeric=True),
            Column("criticality", "Criticality importance", numeric=True),
            Column("share", "Fussell-Vesely importance", numeric=True),
        )
        rows = tuple({column.key: getattr(line, column.key) for column in columns} for line in self.places)
        return Listing(f"{self.ship} until {self.until}", columns, rows, footer=(*self.notes, self.caution))


@dataclass(frozen=True)
class ReadyShip:
    """
    One ship of the fleet.

    Attributes
    ----------
    through : Odds
    weakest : str, optional
        The system least likely to work; None where nothing is known of any.
    weakest_works : float, optional
    best : Deed, optional
        What raises her odds most tonight.
    best_part : Deed, optional
        The same of work on one part.
    unknown, out_of_date, failed : int
        Positions that count and of which nothing can be said; legal dates that run out by then; parts known not to
        work that are still aboard.
    """

    ship: str
    through: Odds
    weakest: str | None
    weakest_works: float | None
    best: Deed | None
    unknown: int
    out_of_date: int
    failed: int = 0
    best_part: Deed | None = None

    @property
    def first(self) -> str | None:
        """What to do first, and to which part next where that is to run everything."""
        told = dict.fromkeys(deed.told for deed in (self.best, self.best_part) if deed is not None)
        return "; ".join(told) or None


@dataclass(frozen=True)
class ReadyFleet(Result):
    """All ships in commission before a battle, the least likely to get through first."""

    battle: str | None
    until: date
    sorties: int
    level: float
    ships: tuple[ReadyShip, ...]
    caution: str
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The ships as a table."""
        columns = (
            Column("ship", "Ship"),
            Column("through", "Gets through", numeric=True),
            Column("lower", "Lower", numeric=True),
            Column("upper", "Upper", numeric=True),
            Column("least", "If all unknown fails", numeric=True),
            Column("weakest", "Weakest system"),
            Column("weakest_works", "It works", numeric=True),
            Column("best", "Do first"),
            Column("after", "Then gets through", numeric=True),
            Column("minutes", "Minutes", numeric=True),
            Column("unknown", "Positions unknown", numeric=True),
            Column("out_of_date", "Legal dates", numeric=True),
            Column("failed", "Failed and aboard", numeric=True),
        )
        title = f"Ships until {self.until}"
        return Listing(title, columns, tuple(map(_row, self.ships)), footer=(*self.notes, self.caution))


_COUNTED = ("ship", "weakest", "weakest_works", "unknown", "out_of_date", "failed")


def _row(line: ReadyShip) -> Mapping[str, Any]:
    row = {name: getattr(line, name) for name in _COUNTED}
    odds = line.through
    row |= {"through": odds.value, "lower": odds.lower, "upper": odds.upper, "least": odds.least}
    if line.best is not None:
        best = line.best
        row |= {"best": line.first, "after": best.after, "minutes": best.minutes}
    return row
