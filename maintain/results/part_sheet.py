"""All that is recorded of one part."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result


@dataclass(frozen=True)
class Worked:
    """
    Use of a part over some time.

    Attributes
    ----------
    days : int
        Calendar days.
    unknown_wetness : int
        Sorties whose wetness nobody noted; counted neither wet nor dry.
    """

    days: int
    sorties: int
    wet_sorties: int
    immersions: int
    unknown_wetness: int


@dataclass(frozen=True)
class PartSheet(Result):
    """
    One part: who it is, where it has been, what was done to it and what it went through.

    Attributes
    ----------
    facts : mapping
        Family, model, batch, origin, prior use, owner, dates and cost; None is unknown.
    where, since : str, optional
        Its place now.
    use : Worked
        Since it was new, or since the records know it.
    use_known : bool
        False if it may have had use before that, or its start is not known to the day.
    opened_on : date, optional
        When the box or zone it lies in was last opened.
    use_since_opened : Worked, optional
    places, treatments, failures, suspicions, readings : tuple of mapping
        Each oldest first.
    """

    tag: str
    facts: dict[str, Any]
    where: str | None
    since: str | None
    use: Worked
    use_known: bool
    opened_on: date | None
    use_since_opened: Worked | None
    places: tuple[dict[str, Any], ...]
    treatments: tuple[dict[str, Any], ...]
    failures: tuple[dict[str, Any], ...]
    suspicions: tuple[dict[str, Any], ...]
    readings: tuple[dict[str, Any], ...]

    def listings(self) -> tuple[Listing, ...]:
        """Its history as tables."""
        return (
            _table(
                "Places", {"where": "Where", "from": "From", "until": "Until", "reason": "Why it left"}, self.places
            ),
            _table(
                "Waterproofing", {"on": "When", "method": "Method", "kind": "What", "note": "Note"}, self.treatments
            ),
            _table(
                "Failures",
                {
                    "number": "No.",
                    "found_on": "Found",
                    "found_sortie": "After sortie",
                    "mode": "Mode",
                    "cause": "Cause",
                    "effect": "Effect",
                    "found_by": "Found by",
                    "last_good_on": "Last good",
                    "note": "Note",
                },
                self.failures,
            ),
            _table(
                "Suspicions",
                {"raised_on": "Since", "mode": "Mode", "closed_on": "Until", "outcome": "Outcome", "note": "Note"},
                self.suspicions,
            ),
            _table(
                "Readings",
                {"taken_on": "Day", "measure": "Measure", "value": "Value", "unit": "Unit", "note": "Note"},
                self.readings,
            ),
        )

    def listing(self) -> Listing:
        """The places, which are the part's history in one table."""
        return self.listings()[0]


def _table(title: str, headings: dict[str, str], rows: tuple[dict[str, Any], ...]) -> Listing:
    numeric = ("number", "value", "found_sortie")
    return Listing(title, tuple(Column(key, text, numeric=key in numeric) for key, text in headings.items()), rows)
