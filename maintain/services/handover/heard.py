"""Who logged a record on a phone, and when: kept in its note, so that the same tap is never counted twice."""

from __future__ import annotations

import re
from datetime import datetime

from maintain.exchange.handover import Handover, Tap

_LOGGED = re.compile(r"logged (\S+) by (.*?) \[([0-9a-f]{6})\]")


def mark(tap: Tap, phone: Handover) -> str:
    """What a note keeps of a tap."""
    return f"logged {tap.at.isoformat()} by {phone.name} [{phone.device[:6]}]"


def heard(note: str | None, tap: Tap, phone: Handover) -> bool:
    """Whether this very tap is on record already."""
    same = (tap.at.isoformat(), phone.device[:6])
    return any((at, device) == same for at, _, device in _LOGGED.findall(note or ""))


def times(note: str | None) -> list[datetime]:
    """When phones logged a record."""
    return [datetime.fromisoformat(at) for at, _, _ in _LOGGED.findall(note or "")]


def names(note: str | None) -> list[str]:
    """Whose phones logged a record."""
    return [name for _, name, _ in _LOGGED.findall(note or "")]


def added(note: str | None, *more: str) -> str:
    """A note with more said; what stood there stays."""
    return "; ".join(filter(None, (note, *more)))
