"""A ship as her captain wants to see her."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result


@dataclass(frozen=True)
class FittedLine:
    """
    One position and the part in it.

    Attributes
    ----------
    tag, family : str, optional
        None if the position is empty.
    days : int, optional
        Days of service, at least so many; None if its earlier use is unknown.
    use_known : bool
        False if it was used before the records began: then sorties and the rest count from there on only.
    since_opened : int, optional
        Immersions since the position or its zone was last opened; None if it never was.
    """

    system: str
    position: str
    zone: str
    tag: str | None = None
    family: str | None = None
    fitted: str | None = None
    days: int | None = None
    use_known: bool = True
    sorties: int | None = None
    wet_sorties: int | None = None
    immersions: int | None = None
    since_opened: int | None = None
    treatment: str | None = None
    reading: str | None = None


@dataclass(frozen=True)
class ShipPage(Result):
    """
    A ship with her positions by system, open suspects and what she went through.

    Attributes
    ----------
    state : str, optional
        None if it was changed after the day asked about: only the last state is on record.
    suspects : tuple of str
        Parts taken from her, withdrawn and not condemned, one line each.
    sinkings : mapping-like tuple of (season, sorties, sinkings)
    """

    ship: str
    captain: str | None
    number: str | None
    kind: str | None
    state: str | None
    state_since: date | None
    lines: tuple[FittedLine, ...]
    suspects: tuple[str, ...]
    seasons: tuple[tuple[int, int, int], ...]
    unknown_wetness: int

    def listing(self) -> Listing:
        """The positions as a table."""
        columns = (
            Column("system", "System"),
            Column("position", "Position"),
            Column("zone", "Zone"),
            Column("tag", "Part"),
            Column("family", "Family"),
            Column("fitted", "Fitted"),
            Column("days", "Days", numeric=True),
            Column("sorties", "Sorties", numeric=True),
            Column("wet_sorties", "Wet", numeric=True),
            Column("immersions", "Immersions", numeric=True),
            Column("since_opened", "Since opened", numeric=True),
            Column("treatment", "Waterproofing"),
            Column("reading", "Last reading"),
        )
        rows = tuple({each.key: getattr(line, each.key) for each in columns} for line in self.lines)
        return Listing(
            self.ship, columns, rows, empty=f"no positions yet; add one with: maintain position add {self.ship}/NAME"
        )
