"""What ends a ship's battle: her positions as a block diagram, with banks and shared supplies."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from maintain.core.structure import Event, all_of, any_of, fewer_work_than


@dataclass(frozen=True)
class SystemEvents:
    """
    What ends one system.

    Attributes
    ----------
    fails : Event, optional
        A vital position of it, or more of a bank than it can spare; None if it has neither.
    impaired : Event
        Any of its positions but mere nuisances.
    """

    fails: Event | None
    impaired: Event


@dataclass(frozen=True)
class ShipStructure:
    """
    A ship's block diagram.

    Attributes
    ----------
    places : tuple of Row
        Her positions; the place in this tuple is the number of the component.
    dragging : tuple of int
        Places of servos that may take the radio's supply with them; "the supply goes too" is a component of its own
        for each, numbered on after the positions.
    fails : Event
        Anything vital is lost.
    systems : dict of SystemEvents
        By system, those with a position that counts.
    notes : tuple of str
        What in the records does not hang together.
    """

    places: tuple[Any, ...]
    dragging: tuple[int, ...]
    fails: Event
    systems: dict[str, SystemEvents]
    notes: tuple[str, ...]

    @property
    def components(self) -> int:
        """Number of components."""
        return len(self.places) + len(self.dragging)


def ship_structure(places: list[Any]) -> ShipStructure:
    """Lay out the positions of one ship (rows of `ship_layout.positions`)."""
    ship = _Ship(places)
    systems: dict[str, SystemEvents] = {}
    for system in dict.fromkeys(each.system for each in places):
        counting = ship.counting(system)
        if counting:
            vital = tuple(ship.vital(system))
            systems[system] = SystemEvents(any_of(*vital) if vital else None, any_of(*map(ship.down, counting)))
    fails = any_of(*(each.fails for each in systems.values() if each.fails is not None))
    return ShipStructure(tuple(places), ship.dragging, fails, systems, tuple(ship.notes()))


class _Ship:
    """Positions by number, and what each rests on."""

    def __init__(self, places: list[Any]) -> None:
        self._places = places
        number = {each.id: place for place, each in enumerate(places)}
        self._source = [number.get(each.powered_by_id) for each in places]
        feeding_radio = {
            place
            for each, source in zip(places, self._source, strict=True)
            if each.system == "radio" and (place := source) is not None
        }
        self.dragging = tuple(
            place
            for place, each in enumerate(places)
            if each.category == "servo" and self._source[place] in feeding_radio
        )
        self._banks: dict[str, list[int]] = defaultdict(list)
        for place, each in enumerate(places):
            if each.bank is not None:
                self._banks[each.bank].append(place)

    def down(self, place: int) -> Event:
        """A position does nothing: its own part or anything up the line to its supply has failed."""
        return any_of(*(self._lost(each) for each in self._line(place)))

    def _line(self, place: int) -> list[int]:
        line = [place]
        while (source := self._source[line[-1]]) is not None and source not in line:
            line.append(source)
        return line

    def _lost(self, place: int) -> Event:
        drags = (
            all_of(servo, len(self._places) + number)
            for number, servo in enumerate(self.dragging)
            if self._source[servo] == place
        )
        return any_of(place, *drags)

    def counting(self, system: str) -> list[int]:
        return [
            place for place, each in enumerate(self._places) if each.system == system and each.dependence != "nuisance"
        ]

    def vital(self, system: str) -> Iterator[Event]:
        for place in self.counting(system):
            if self._places[place].dependence == "vital" and self._places[place].bank is None:
                yield self.down(place)
        for members in self._counting_banks():
            if any(self._places[each].system == system for each in members):
                needed = min(self._needed(members), len(members))
                yield fewer_work_than(needed, tuple(map(self.down, members)))

    def _counting_banks(self) -> list[list[int]]:
        """Banks with at least one position whose loss matters."""
        return [
            members
            for members in self._banks.values()
            if any(self._places[each].dependence != "nuisance" for each in members)
        ]

    def _needed(self, members: list[int]) -> int:
        return max(int(self._places[each].bank_needs) for each in members)

    def notes(self) -> Iterator[str]:
        for members in self._counting_banks():
            needed, first = self._needed(members), self._places[members[0]]
            if needed > len(members):
                told = f"needs {needed} and has {len(members)} positions: all of them are taken to be needed"
                yield f"{first.ship}'s bank {first.bank} {told}"
