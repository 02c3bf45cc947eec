"""How far the water came into a part."""

from __future__ import annotations

from maintain.records.use import reached
from maintain.vocabulary import OPENED_FINDINGS


def wetted(zone: str, wetness: str | None, box: str | None, found: str | None) -> bool:
    """
    Say whether a part counts as wetted: a look at it decides, then the box it sits in, then the rule of its zone.

    Parameters
    ----------
    zone : str
        Where it sits.
    wetness : str, optional
        Of the sortie; what nobody knows is not dry.
    box, found : str, optional
        What was found in the box as a whole, and in the part; anything but dry, damp and water tells nothing.

    Examples
    --------
    >>> wetted("sealed box", "W3", None, None), wetted("sealed box", "W3", "damp", None)
    (False, True)
    >>> wetted("bilge", "W3", None, None), wetted("bilge", "W3", None, "dry")
    (True, False)
    """
    if found in OPENED_FINDINGS:
        return found != "dry"
    looked = zone == "sealed box" and box in OPENED_FINDINGS
    return reached(zone, wetness, int(box != "dry") if looked else None)[0] is not False
