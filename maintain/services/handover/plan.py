"""What a hand-over would change: each tap is new, known, or contradicts the records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from maintain.records import tables as t


@dataclass(frozen=True)
class Step:
    """
    One thing to write.

    Attributes
    ----------
    told : str
        In words.
    kind : str
        "new" or "merged".
    row_id : int, optional
        The recorded row it changes.
    values : mapping
        Columns to write.
    """

    told: str
    kind: str
    row_id: int | None
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Conflict:
    """A tap that contradicts what is recorded, with what either side would write."""

    told: str
    row_id: int
    recorded_by: tuple[str, ...]
    theirs: Mapping[str, Any]
    ours: Mapping[str, Any]
    table: sa.Table = t.sortie


@dataclass
class Plan:
    """
    Everything a hand-over comes to.

    Attributes
    ----------
    sorties, boxes, symptoms : list
        Steps; a box goes with its sortie and is not counted for itself.
    conflicts : list of Conflict
    faults : list of str
        What can't be written at all, a sentence each.
    notes : list of str
        What should be known.
    known : int
        Taps that are on record already.
    """

    sorties: list[Step] = field(default_factory=list)
    boxes: list[Step] = field(default_factory=list)
    symptoms: list[Any] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    known: int = 0

    def counted(self) -> dict[str, int]:
        """How many of each kind."""
        steps: Sequence[Any] = [*self.sorties, *self.symptoms]
        return {
            "new": sum(step.kind == "new" for step in steps),
            "merged": sum(step.kind == "merged" for step in steps),
            "known": self.known,
            "conflicts": len(self.conflicts),
        }
