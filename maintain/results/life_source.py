"""What an answer about lives rests on: which lives, on which clock, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result, plain


@dataclass(frozen=True)
class Exclusion:
    """Lives left out: why, how many of how many, and some of their tags."""

    reason: str
    n: int
    of: int
    examples: tuple[str, ...]


@dataclass(frozen=True)
class Source:
    """
    What the lives are and on which clock they run.

    Attributes
    ----------
    clock : str
        The unit of all times.
    noun : str
        What one life is of, in plain words: "standard servo", "part", "life".
    by : str, optional
        What the groups differ in.
    conf : float
        Confidence of all intervals.
    excluded : tuple of Exclusion
    notes : tuple of str
    """

    clock: str
    noun: str
    by: str | None
    conf: float
    excluded: tuple[Exclusion, ...] = ()
    notes: tuple[str, ...] = ()


def resting_on_source(answer: Result) -> dict[str, Any]:
    """Plain values of an answer with a `source`: what was found first, then what it rests on."""
    found = vars(answer)
    own = {name: plain(value) for name, value in found.items() if name != "source"}
    return {**own, **plain(found["source"])}
