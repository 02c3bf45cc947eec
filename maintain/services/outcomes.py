"""How a sortie's outcome is written in one word, at the bank: `W1`, `W3:pumping:8min`, `W0:timer:25afloat:60shots`.

outcome  = wetness { ":" detail }
wetness  = W0 .. W5, or dry, splash, flooded, sank, lay, lost, or ? (nobody knows)
detail   = cause of sinking: damage, trim, operator, unknown, or the system that failed (pumping, hull, radio ...)
         | minutes under water: 8min            | minutes afloat: 25afloat
         | shots fired: 60shots                 | how it ended: recall, timer, out-of-control
         | hits taken above, on and below the waterline: 3above, 1on, 2below
"""

from __future__ import annotations

import re
from typing import Any

from maintain.errors import InvalidRecord
from maintain.vocabulary import ENDINGS, MOST_OF_A_SORTIE, SINKING_CAUSES, SUNK, SYSTEMS, WETNESS, wetness_of

_WORDS = {"dry": "W0", "splash": "W1", "flooded": "W2", "sank": "W3", "lay": "W4", "lost": "W5", "?": None}
_AMOUNTS = {"min": "minutes_under", "afloat": "minutes_afloat"}
_COUNTS = {"shots": "shots", "above": "hits_above", "on": "hits_on", "below": "hits_below"}
_HOW = "write for example gannet=W1, halberd=W3:pumping:8min or petrel=W0:25afloat:60shots"


def parse(text: str) -> tuple[str, dict[str, Any]]:
    """
    Read SHIP=OUTCOME into the ship's name and the columns of the sortie.

    Examples
    --------
    >>> ship, facts = parse("halberd=W3:pumping:8min")
    >>> ship, facts["wetness"], facts["sinking_system"], facts["minutes_under"]
    ('halberd', 'W3', 'pumping', 8.0)

    Raises
    ------
    InvalidRecord
        If it is not written so, or contradicts itself.
    """
    ship, equals, outcome = text.partition("=")
    if not (ship and equals and outcome):
        raise InvalidRecord(f"{text!r} is no outcome of a ship", hint=_HOW)
    first, *details = outcome.split(":")
    facts: dict[str, Any] = {"wetness": _wetness(first, text)}
    for detail in details:
        key, value = _detail(detail.strip().lower(), text)
        if key in facts:
            raise InvalidRecord(f"{text!r} says {key.replace('_', ' ')} twice", hint=_HOW)
        facts[key] = value
    return ship, completed(facts, text)


def completed(facts: dict[str, Any], text: str) -> dict[str, Any]:
    """Fill in what follows from the rest: a ship under water sank, of a cause that may be unknown."""
    sank = facts["wetness"] in SUNK
    told_of_sinking = [key for key in ("sinking_cause", "minutes_under") if key in facts]
    if told_of_sinking and not sank:
        told = told_of_sinking[0].replace("_", " ")
        raise InvalidRecord(f"{text!r} gives a {told}, but she did not sink", hint="a sinking is W3, W4 or W5")
    if sank and "ending" in facts:
        raise InvalidRecord(f"{text!r} sank, so the sortie ended with that", hint=f"leave out {facts['ending']!r}")
    if not sank:
        return facts
    cause = facts.pop("sinking_cause", "unknown")
    system = cause if cause in SYSTEMS else None
    made = {**facts, "ending": "sank", "sinking_cause": "system" if system else cause, "sinking_system": system}
    _check_minutes(made, text)
    return made


def _check_minutes(facts: dict[str, Any], text: str) -> None:
    minutes = facts.get("minutes_under")
    meant = None if minutes is None else wetness_of(minutes)
    if meant is not None and facts["wetness"] != meant:
        raise InvalidRecord(
            f"{text!r}: {minutes:g} minutes under water are {meant} ({WETNESS[meant]})", hint=f"write {meant}"
        )


def _wetness(word: str, text: str) -> str | None:
    folded = word.strip().lower()
    if folded.upper() in WETNESS:
        return folded.upper()
    if folded in _WORDS:
        return _WORDS[folded]
    raise InvalidRecord(f"{text!r}: {word!r} is no wetness", hint=f"use W0 to W5 or {', '.join(_WORDS)}")


def _detail(word: str, text: str) -> tuple[str, Any]:
    if word in SINKING_CAUSES or word in SYSTEMS:
        return "sinking_cause", word
    if word.replace("-", " ") in ENDINGS:
        return "ending", word.replace("-", " ")
    found = re.fullmatch(r"(\d+(?:\.\d+)?)([a-z]+)", word)
    if found is None or found[2] not in _AMOUNTS | _COUNTS:
        raise InvalidRecord(f"{text!r}: {word!r} is not understood", hint=_HOW)
    if found[2] in _AMOUNTS:
        return _AMOUNTS[found[2]], sensible(_AMOUNTS[found[2]], float(found[1]))
    if "." in found[1]:
        what = "shots" if found[2] == "shots" else "hits"
        raise InvalidRecord(f"{text!r}: {what} are counted in whole numbers", hint=_HOW)
    return _COUNTS[found[2]], int(sensible(_COUNTS[found[2]], int(found[1])))


def sensible(column: str, value: float) -> float:
    """
    Hand on an amount of one sortie that can be meant.

    Raises
    ------
    InvalidRecord
        If it can't.
    """
    most = MOST_OF_A_SORTIE[column]
    if not 0 <= value <= most:
        what = column.replace("_", " ")
        raise InvalidRecord(f"{what} of one sortie can't be {value:g}", hint=f"it is at most {most:g}: read it again")
    return value
