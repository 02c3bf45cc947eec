"""Positions of typical ships, to start a new ship from (common practice, no source)."""

from __future__ import annotations

from typing import NamedTuple

from maintain.records import find
from maintain.records import tables as t
from maintain.records.journal import Recorder


class Place(NamedTuple):
    """A position of a typical ship; `bank` positions stand in for each other, `bank_needs` of them must work."""

    name: str
    system: str
    zone: str
    dependence: str
    bank: str | None = None
    bank_needs: int | None = None
    powered_by: str | None = None


_COMMON = (
    Place("main-battery", "propulsion", "bilge", "vital"),
    Place("receiver-battery", "radio", "dry deck", "vital"),
    Place("receiver", "radio", "sealed box", "vital", powered_by="receiver-battery"),
    Place("speed-controller", "propulsion", "sealed box", "vital", powered_by="main-battery"),
    Place("rudder-servo", "steering", "bilge", "vital", powered_by="receiver-battery"),
    Place("rudder-seal", "steering", "external", "degrades"),
    Place("box-gasket", "radio", "sealed box", "vital"),
    Place("pump", "pumping", "bilge", "vital", powered_by="main-battery"),
    Place("pump-motor", "pumping", "bilge", "vital", powered_by="main-battery"),
    Place("pump-switch", "pumping", "dry deck", "vital", powered_by="main-battery"),
    Place("recovery-float", "recovery", "dry deck", "degrades"),
)
_GAS = (
    Place("bottle", "gas", "dry deck", "degrades"),
    Place("regulator", "gas", "dry deck", "degrades"),
)


def _shafts(sides: tuple[str, ...]) -> tuple[Place, ...]:
    if len(sides) == 1:
        motors = [Place("drive-motor", "propulsion", "bilge", "vital", powered_by="main-battery")]
        return (*motors, Place("shaft-seal", "propulsion", "external", "degrades"))
    motors = [
        Place(f"{side}-drive-motor", "propulsion", "bilge", "degrades", "screws", 1, "main-battery") for side in sides
    ]
    return (*motors, *(Place(f"{side}-shaft-seal", "propulsion", "external", "degrades") for side in sides))


def _guns(count: int) -> tuple[Place, ...]:
    return tuple(
        Place(f"gun-{number}-servo", "guns", "dry deck", "degrades", "guns", 1, "receiver-battery")
        for number in range(1, count + 1)
    )


_TEMPLATES = {
    "cruiser": (*_COMMON, *_shafts(("only",)), *_GAS, *_guns(2)),
    "battleship": (
        *_COMMON,
        Place("float-switch", "pumping", "bilge", "vital"),
        *_shafts(("port", "starboard")),
        *_GAS,
        *_guns(4),
    ),
    "convoy ship": (*_COMMON, *_shafts(("only",))),
}
_KINDS = {**_TEMPLATES, "light cruiser": _TEMPLATES["cruiser"]}


def positions() -> dict[str, tuple[str, str, str]]:
    """System, zone and dependence of every position of a typical ship, by its name."""
    places = (place for layout in _TEMPLATES.values() for place in layout)
    return {place.name: (place.system, place.zone, place.dependence) for place in places}


def typical(kind: str) -> tuple[str, tuple[Place, ...]]:
    """The kind of ship that a text means, and the positions of a typical one."""
    named = find.match(list(_KINDS), kind, "typical ship", "maintain ship add --help")
    return named, _KINDS[named]


def lay_out(recorder: Recorder, ship_id: int, layout: tuple[Place, ...]) -> None:
    """Add the positions to a ship, those that power others first."""
    ids: dict[str, int] = {}
    for place in sorted(layout, key=lambda each: each.powered_by is not None):
        values = place._asdict()
        powered_by = values.pop("powered_by")
        ids[place.name] = recorder.insert(
            t.position, ship_id=ship_id, powered_by_id=ids[powered_by] if powered_by else None, **values
        )
