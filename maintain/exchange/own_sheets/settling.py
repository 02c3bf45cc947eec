"""Several ways to read a column: which of them fit all its cells, and whether they differ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Settled:
    """
    What the cells of a column leave open.

    Attributes
    ----------
    ways : tuple of str
        The ways that fit; more than one only if they read some cell differently.
    why : str
        What decided it, or what is in doubt.
    """

    ways: tuple[str, ...]
    why: str = ""

    @property
    def way(self) -> str | None:
        """The one way left; None: it is for a person to say."""
        return self.ways[0] if len(self.ways) == 1 else None


def settle(
    ways: tuple[str, ...],
    cells: Iterable[tuple[str, Mapping[str, Any]]],
    doubted: Iterable[tuple[str, Mapping[str, Any]]] = (),
) -> Settled:
    """
    Find the ways that read all cells.

    Parameters
    ----------
    ways : tuple of str
        All ways, the likeliest first.
    cells : iterable of (str, mapping)
        Text of each cell, and what it says in each way that can read it. What none can read decides nothing.
    doubted : iterable of (str, mapping)
        Cells that decide nothing either, and must be read in one way all the same.
    """
    left = set(ways)
    decided_by = ""
    differing: list[tuple[str, Mapping[str, Any]]] = []
    for text, readings in cells:
        if not readings:
            continue
        if not left <= set(readings):
            kept = left & set(readings)
            if not kept:
                return Settled(ways, f"{decided_by!r} and {text!r} are written in different ways")
            left, decided_by = kept, text
        if len(set(readings.values())) > 1:
            differing.append((text, readings))
    ordered = tuple(way for way in ways if way in left)
    open_ = next((text for text, readings in differing if len({readings[way] for way in left}) > 1), None)
    if open_ is not None:
        return Settled(ordered, f"{open_!r} can be read in {len(left)} ways")
    slip = next((text for text, readings in doubted if len({readings.get(way) for way in left}) > 1), None)
    if slip is not None:
        return Settled(ordered, f"{slip!r} decides nothing: it may be a slip or a plan")
    way = next(way for way in ways if way in left)
    return Settled((way,), f"because of {decided_by!r}" if decided_by else "")
