"""Correct a certificate that was copied wrongly from its paper."""

from __future__ import annotations

from typing import Any

from maintain.errors import InvalidRecord
from maintain.records import find, upkeep
from maintain.records import tables as t
from maintain.results.base import Done
from maintain.services import changes
from maintain.services.certificates import refuse_slips
from maintain.services.unit import Desk, writing

_SEE = "maintain certificate list"


def correct(desk: Desk, *, part: str, kind: str | None, facts: dict[str, Any]) -> Done:
    """Correct the latest certificate of a part (of a kind, if it has several); facts that are None stay."""
    with writing(desk, "certificate correct") as recorder:
        row = find.part(recorder.connection, part)
        held = [each for each in upkeep.certificates(recorder.connection) if each.part_id == row.id]
        if kind is not None:
            named = find.match([each.kind for each in held], kind, "certificate", _SEE)
            held = [each for each in held if each.kind == named]
        if len(held) != 1:
            has = ", ".join(f"{each.kind} by {each.source}" for each in held) or "none"
            raise InvalidRecord(
                f"which certificate of {row.tag}? It has: {has}", hint=f"name it with --kind; see: {_SEE}"
            )
        (meant,) = held
        new = changes.differing(meant, f"{row.tag}: {meant.kind}", facts)
        issued, expires = (new.get(key, getattr(meant, key)) for key in ("issued_on", "expires_on"))
        refuse_slips(issued, expires, desk.today)
        recorder.update(t.certificate, meant.id, **new)
        did = f"changed {row.tag}: {meant.kind}: {changes.told(meant, new)}"
        recorder.summarise(did)
    decider = new.get("decider", meant.decider)
    return Done(did, notes=(f"the {decider} decides, not this record",), record={"part": row.tag, **new})
