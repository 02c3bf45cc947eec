"""Failures of positions, ships and systems through their repairs: do they come faster or slower?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Pictured, plain
from maintain.results.life import Exclusion, Figure


@dataclass(frozen=True)
class MeanAt:
    """Mean number of failures a unit has had by a time, and how many units were watched then."""

    time: float
    mean: float
    lower: float | None
    upper: float | None
    at_risk: int


@dataclass(frozen=True)
class LaplaceTest:
    """Laplace's test: a positive statistic says that failures crowd towards the end; p is two-sided."""

    statistic: float
    p: float


@dataclass(frozen=True)
class PowerLaw:
    """
    A unit has had (t / scale)^shape failures by t, on average.

    Attributes
    ----------
    shape, lower, upper : float
        Maximum likelihood, as `estimator` says; above 1 failures come ever faster. None: no upper limit.
    scale : float, optional
        In the unit of the clock; None where it is too small or large for a number.
    p : float
        Two-sided p of no trend, by the method of the limits.
    shape_corrected, scale_corrected : float, optional
        The same corrected for bias; None with too few failures or where some watch began after 0.
    between, between_corrected : float, optional
        Mean time between failures of one unit at the end of the longest watch, by each of the two shapes.
    limits : str
        How the limits were made: "exact" (chi-square) or "likelihood ratio".
    """

    shape: float
    lower: float | None
    upper: float | None
    scale: float | None
    p: float
    estimator: str
    shape_corrected: float | None
    scale_corrected: float | None
    between: float
    between_corrected: float | None
    limits: str


@dataclass(frozen=True)
class Silence:
    """How long a single unit has not failed since its last failure, and how likely that is if nothing was mended."""

    time: float
    chance: float


@dataclass(frozen=True)
class GroupRepeats:
    """
    Repeat failures of the units of one group.

    Attributes
    ----------
    n : int
        Units watched.
    events : int
    watched : float
        Time watched, of all units together.
    longest : float
        Where the last watch ends.
    between : Figure
        Mean time between failures of one unit; its limits take rates for steady and allow for units unlike each other.
        With no failure only the lower.
    mcf : tuple of MeanAt
        Mean cumulative function.
    laplace, power_law : optional
        None where too few failures say anything of a trend; `reason` then says why.
    verdict : str
        "getting worse", "getting better" or "can't tell yet", from the limits of the shape.
    failures_to_tell : int, optional
        How many failures in all would tell, if they go on like this.
    silence : Silence, optional
        Of a single unit that has failed.
    """

    group: str
    n: int
    events: int
    watched: float
    longest: float
    between: Figure
    mcf: tuple[MeanAt, ...]
    laplace: LaplaceTest | None
    power_law: PowerLaw | None
    verdict: str
    failures_to_tell: int | None
    silence: Silence | None
    reason: str | None
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class LifeRepeats(Pictured):
    """
    Repeat failures of all units, and by group where that was asked.

    Attributes
    ----------
    clock : str
        The unit of all times.
    unit : str
        What one unit is, in plain words: "position", "ship", "unit".
    by : str, optional
        What the groups differ in.
    groups : tuple of GroupRepeats
        The one with the most failures in its time first.
    """

    clock: str
    unit: str
    by: str | None
    conf: float
    everyone: GroupRepeats
    groups: tuple[GroupRepeats, ...]
    excluded: tuple[Exclusion, ...]
    notes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """The answer for all units together, then by group, then what they rest on."""
        whole = plain(self.everyone)
        del whole["group"]
        named = ("clock", "unit", "by", "conf", "groups", "excluded", "notes")
        return {**whole, **{name: plain(getattr(self, name)) for name in named}, **self.plot()}
