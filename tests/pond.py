"""A small fleet to record things of: two ships, two captains, two families."""

from __future__ import annotations

from pathlib import Path

from maintain.services import battles, families, members, positions, ships, sorties
from maintain.services.unit import Desk
from tests.conftest import TODAY, WHO

SERVO = "Halberd/rudder-servo"


def launch(db: Path) -> None:
    """Put the fleet into an empty database."""
    desk = Desk(str(db), WHO, TODAY)
    for name in ("Ana", "Bea"):
        members.add(desk, name=name, note=None)
    facts = {"tracking": "tagged", "hidden": False, "ages_on_shelf": False}
    families.add(desk, name="standard servo", category="servo", **facts)
    families.add(desk, name="pump", category="pump", **facts)
    families.add(desk, name="fuse", category="other", **{**facts, "tracking": "counted"})
    for name, captain in (("Halberd", "Ana"), ("Gannet", None)):
        ships.add(desk, name=name, captain=captain, number=None, template="cruiser", since=None)
        for position, family in (("rudder-servo", "standard servo"), ("pump", "pump")):
            where = f"{name}/{position}"
            positions.change(desk, where=where, families=(family,), powered_by=None, facts={})
    battles.add_venue(desk, name="Mill Pond", water="fresh", depth_m=None, note=None)


def sail(desk: Desk, *outcomes: str) -> None:
    """Log the next sortie of the desk's day."""
    trip = sorties.Trip(battle=None, venue="Mill Pond", day=None, number=None)
    sorties.log(desk, trip=trip, written=outcomes, shared={"minutes_afloat": None})
