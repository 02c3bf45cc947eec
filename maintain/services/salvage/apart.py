"""Batteries kept apart after a sinking: lithium out of salt water is not charged again (advice of fire services)."""

from __future__ import annotations

import re

_LITHIUM = re.compile(r"\bli(?:thium|[\s-]?(?:po|ion|fe|hv|mn|co))\w*", re.IGNORECASE)
_OTHER = re.compile(
    r"\bni[\s-]?(?:mh|cd|zn)|\bnickel\b|\balkaline\b|\bpb\b|\bsla\b|\bagm\b|\bgel\b"
    r"|\blead[\s-]?(?:acid|batter|gel|cell|pack)|\bv\s+lead\b",
    re.IGNORECASE,
)
_SALTY = ("salt", "brackish")
WHAT_THEN = "not charged, not tried; outdoors, 15 m from anything that burns"
DECIDER = "the club's safety officer"


def lithium(told: str) -> bool | None:
    """
    Say whether a battery is lithium by what is written of it; None: nothing tells.

    Examples
    --------
    >>> lithium("2S LiPo 2200"), lithium("lead battery 6 V"), lithium("main pack")
    (True, False, None)
    """
    if _LITHIUM.search(told):
        return True
    return False if _OTHER.search(told) else None


def why_apart(told: str, water: str) -> str | None:
    """
    Say why a battery that was wetted is neither charged nor tried; None: it may be tried, with care.

    One of an unknown kind may be lithium, and water of an unknown kind may have been salt; where neither is known it is
    tried, with its cautions.

    Parameters
    ----------
    told : str
        All that is written of its kind.
    water : str
        The kind of water she sank in.

    Examples
    --------
    >>> why_apart("LiPo", "salt"), why_apart("LiPo", "fresh"), why_apart("NiMH", "salt")
    ('is lithium that lay in salt water', None, None)
    >>> why_apart("pack", "brackish")
    'may be lithium (its model does not say) and lay in brackish water'
    """
    known = lithium(told)
    if known and water in _SALTY:
        return f"is lithium that lay in {water} water"
    if known and water == "unknown":
        return "is lithium that may have lain in salt water (the venue does not say)"
    if known is None and water in _SALTY:
        return f"may be lithium (its model does not say) and lay in {water} water"
    return None
