"""Counts and possession in words, the same in every message and answer."""

from __future__ import annotations

_IRREGULAR = {"life": "lives"}


def count(n: int, noun: str) -> str:
    """A number of things: 1 life, 2 lives."""
    return f"{n} {noun if n == 1 else plural(noun)}"


def plural(noun: str) -> str:
    """The plural of a noun."""
    if noun in _IRREGULAR:
        return _IRREGULAR[noun]
    if noun.endswith("y") and noun[-2:-1] not in "aeiou":
        return noun[:-1] + "ies"
    return noun + ("es" if noun.endswith(("s", "x", "ch", "sh")) else "s")


def whose(name: str) -> str:
    """
    A name as an owner.

    Examples
    --------
    >>> whose("Halberd"), whose("Heavy Goods")
    ("Halberd's", "Heavy Goods'")
    """
    return f"{name}'" if name.endswith(("s", "S")) else f"{name}'s"
