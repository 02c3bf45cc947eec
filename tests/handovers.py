"""Files as phones hand them over, written without a phone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.conftest import Run

BATTLE = "May Day"
DAY = "2026-05-30"
ANA, BEA = "a" * 24, "b" * 24
_counter = iter(range(1, 10_000))


def announce(run: Run) -> None:
    """A planned battle of one day, and a servo in Halberd's rudder."""
    run("battle", "add", BATTLE, "--from", DAY, "--on", "2026-05-01", "--planned-sorties", "2")
    servo = ("--family", "standard servo", "--tag", "S1", "--into", "Halberd/rudder-servo", "--from", "2026-01-02")
    assert run("part", "add", *servo, "--origin", "new").exit_code == 0


def sortie(ship: str, wetness: str | None, number: int = 1, at: str = "11:20", **more: Any) -> dict[str, Any]:
    """A tap of a sortie."""
    sank = wetness in ("W3", "W4", "W5")
    outcome = {"wetness": wetness, "cause": "unknown" if sank else None}
    return {"kind": "sortie", "number": number, **_shared(ship, at), **outcome, **more}


def symptom(ship: str, position: str, mode: str, after: int = 1, at: str = "11:25", **more: Any) -> dict[str, Any]:
    """A tap of a symptom."""
    return {"kind": "symptom", "position": position, "mode": mode, "after_sortie": after, **_shared(ship, at), **more}


def _shared(ship: str, at: str) -> dict[str, Any]:
    time = at if "T" in at else f"{DAY}T{at}:00+02:00"
    return {"id": f"{next(_counter):024x}", "at": time, "ship": {"uid": f"of {ship}", "name": ship}, "day": DAY}


def handed_over(path: Path, *records: dict[str, Any], device: str = ANA, name: str = "Ana", **more: Any) -> Path:
    """A hand-over as a file."""
    document = {
        "format": "pond hand-over",
        "version": 1,
        "device": device,
        "device_name": name,
        "handed_over_at": f"{DAY}T18:00:00+02:00",
        "battle": {"uid": "from another copy", "name": BATTLE},
        "records": list(records),
        **more,
    }
    path.write_text(json.dumps(document), encoding="utf-8")
    return path
