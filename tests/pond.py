"""A small fleet to record things of: two ships, two captains, two families."""

from __future__ import annotations

from pathlib import Path

from maintain.services import battles, families, members, positions, ships, sorties
from maintain.services.unit import Desk
from tests.conftest import TODAY, WHO, Run, told

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


def send_plover(run: Run, desk: Desk) -> None:
    """One more ship, some months old, with a servo and a pump that a sortie of the day proved, and a battle ahead."""
    told(run("battle", "add", "Midsummer", "--from", "2026-06-20", "--planned-sorties", "4"))
    told(run("ship", "add", "Plover", "--like", "cruiser", "--since", "2026-01-01"))
    for tag, family, place in (("S-01", "standard servo", "rudder-servo"), ("P-01", "pump", "pump")):
        of = ("--family", family, "--tag", tag, "--origin", "new")
        told(run("part", "add", *of, "--into", f"Plover/{place}", "--from", "2026-03-01"))
    sail(desk, "plover=W1")
