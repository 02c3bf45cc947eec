"""The wetness ladder in few enough words for a button or a card."""

from __future__ import annotations

from typing import NamedTuple

from maintain.vocabulary import WETNESS


class Rung(NamedTuple):
    """A wetness in a word or two, and what it means."""

    short: str
    long: str


_SEEN = {
    "W0": Rung("dry", "no water aboard"),
    "W1": Rung("splash", "pump coped"),
    "W2": Rung("flooded", "low, not sunk"),
    "W3": Rung("sank", "up within 10 min"),
    "W4": Rung("sank, lay", "10 min to a day"),
    "W5": Rung("lost", "over a day"),
}


def ladder() -> dict[str, Rung]:
    """Every wetness of the vocabulary with its words, from dry to lost."""
    return {code: _SEEN[code] for code in WETNESS}
