"""What a part needs working to do its job: a test that it passes shows them to work as well."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from maintain.core.exposure import NONE, Ints
from maintain.services.lives.columns import Words

# Categories a part of a category needs, in its own system or in the radio (common practice, no source): a rudder sweeps
# when the receiver tells its servo to, a pump throws water when its motor turns; a flooded switch is seen to start it.
_NEEDS = {
    "servo": ("receiver",),
    "speed controller": ("receiver",),
    "motor": ("speed controller", "switch"),
    "pump": ("motor", "switch"),
    "switch": ("pump", "motor"),
}
_RADIO = "radio"


@dataclass(frozen=True)
class Aboard:
    """
    Positions of all ships, by their place in the records.

    Attributes
    ----------
    ship, powered_by : array of int
        By place in the records; NONE if nothing powers it.
    system, category : array of str
        Category of the part in it; "" if none ever was.
    """

    ship: Ints
    powered_by: Ints
    system: Words
    category: Words

    def needs(self) -> dict[int, list[int]]:
        """By position: all that it takes, in turn, for the part in it to do its job."""
        of_kind: dict[tuple[int, str, str], list[int]] = defaultdict(list)
        kinds = zip(self.ship.tolist(), self.system.tolist(), self.category.tolist(), strict=True)
        for place, kind in enumerate(kinds):
            of_kind[kind].append(place)
        direct = [list(self._direct(place, of_kind)) for place in range(self.ship.size)]
        return {place: _in_turn(place, direct) for place in range(self.ship.size)}

    def _direct(self, place: int, of_kind: dict[tuple[int, str, str], list[int]]) -> Iterator[int]:
        if self.powered_by[place] != NONE:
            yield int(self.powered_by[place])
        ship = int(self.ship[place])
        for category in _NEEDS.get(self.category[place], ()):
            for system in {self.system[place], _RADIO}:
                found = of_kind.get((ship, system, category), [])
                if len(found) == 1:  # which of several it needs nobody said
                    yield found[0]


def _in_turn(place: int, direct: list[list[int]]) -> list[int]:
    found, ahead = {place}, [place]
    while ahead:
        new = [each for each in direct[ahead.pop()] if each not in found]
        found.update(new)
        ahead += new
    return sorted(found - {place})
