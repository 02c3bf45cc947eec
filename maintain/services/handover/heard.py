"""Who logged a record on a phone, and when: kept in its note, so that the same tap is never counted twice."""

from __future__ import annotations

import re
from datetime import datetime

from maintain.exchange.handover import Handover, Tap

# The time is the phone's own, by which a tap is known again; where its clock was set right, the right one follows.
_LOGGED = re.compile(r"logged (\S+) by (.*?) \[([0-9a-f]{6})\](?: \(it was (\S+)\))?")


def mark(tap: Tap, phone: Handover) -> str:
    """What a note keeps of a tap."""
    right = f" (it was {(tap.at + phone.shift).isoformat()})" if phone.shift else ""
    return f"logged {tap.at.isoformat()} by {phone.name} [{phone.device[:6]}]{right}"


def heard(note: str | None, tap: Tap, phone: Handover) -> bool:
    """Whether this very tap is on record already."""
    same = (tap.at.isoformat(), phone.device[:6])
    return any((at, device) == same for at, _, device, _ in _LOGGED.findall(note or ""))


def times(note: str | None) -> list[datetime]:
    """When phones logged a record."""
    return [datetime.fromisoformat(right or at) for at, _, _, right in _LOGGED.findall(note or "")]


def names(note: str | None) -> list[str]:
    """Whose phones logged a record."""
    return [name for _, name, _, _ in _LOGGED.findall(note or "")]


def added(note: str | None, *more: str) -> str:
    """A note with more said; what stood there stays."""
    return "; ".join(filter(None, (note, *more)))
