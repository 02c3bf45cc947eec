"""What to pack for a meet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing
from maintain.results.spares import Plan


@dataclass(frozen=True)
class Packed:
    """
    What goes into the crate of one family.

    Attributes
    ----------
    pack : int
    missing : int
        Of these, how many are neither in the pool nor on order.
    there : int
        Of these, how many can be there when the meet begins, if what is missing is ordered today.
    running_out : float
        Chance that the meet calls for more than can be there.
    running_out_asked : float
        Chance that it calls for more than all of these.
    weight_grams : float, optional
        Of all of them; None if nobody weighed one.
    """

    family: str
    category: str
    pack: int
    missing: int
    there: int
    running_out: float
    running_out_asked: float
    weight_grams: float | None
    ships: tuple[str, ...]
    hidden: bool
    guess: bool


@dataclass(frozen=True)
class Consumable:
    """Something every crate has that the club keeps no record of (common practice, no source)."""

    name: str
    quantity: str


@dataclass(frozen=True)
class Caution:
    """What can hurt, about what of the crate, who says so and who decides."""

    about: str
    text: str
    source: str
    decider: str


@dataclass(frozen=True)
class Crate(Plan):
    """
    What to pack for a meet.

    Attributes
    ----------
    meet : str
    from_on : date
    resupply : bool
        True if spares can be had there.
    ships : int
        In commission.
    packed : tuple of Packed
        Vital and hidden ones first.
    weight_grams : float
        Of what is known.
    consumables : tuple of Consumable
    cautions : tuple of Caution
    """

    meet: str
    from_on: date
    resupply: bool
    ships: int
    packed: tuple[Packed, ...]
    weight_grams: float
    consumables: tuple[Consumable, ...]
    cautions: tuple[Caution, ...]

    def listing(self) -> Listing:
        """The crate as a table."""
        columns = (
            Column("family", "Family"),
            Column("pack", "Pack", numeric=True),
            Column("missing", "Missing", numeric=True),
            Column("there", "There in time", numeric=True),
            Column("running_out", "Chance of running out", numeric=True),
            Column("running_out_asked", "With all of them", numeric=True),
            Column("weight_grams", "Weight (g)", numeric=True),
            Column("ships", "Ships"),
        )
        rows = [
            {each: getattr(line, each) for each in _PLAIN} | {"ships": ", ".join(line.ships)} for line in self.packed
        ]
        return Listing(f"Crate for {self.meet}", columns, tuple(rows), footer=self.notes)


_PLAIN = ("family", "pack", "missing", "there", "running_out", "running_out_asked", "weight_grams")
