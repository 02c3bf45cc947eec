"""Failures of positions, ships and systems through their repairs: do they come faster or slower?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Pictured, plain
from maintain.results.life import Figure
from maintain.results.life_source import Exclusion


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
    """
    Laplace's test: a positive statistic says that failures crowd towards the end.

    Attributes
    ----------
    statistic : float
        Normal; where failures share their luck, Student's t between what they share it with if that is less sure.
    p : float
        Two-sided.
    p_alone : float
        The same were each failure news of its own.
    """

    statistic: float
    p: float
    p_alone: float


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
        How the limits were made: "exact" (chi-square) or "likelihood ratio"; where failures share their luck, with "or
        between clusters" (or "events") after it: the wider hold.
    p_alone : float
        The p were each failure news of its own.
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
    p_alone: float


@dataclass(frozen=True)
class SharedLuck:
    """What failures share their luck with, "ship" or "ship and day", and how many of these have failures."""

    by: str
    n: int


@dataclass(frozen=True)
class Age:
    """
    How far the age of positions and the calendar can be told apart.

    Attributes
    ----------
    n : int
        Positions, or units of a file.
    untouched : int
        Those never mended or renewed.
    together, within_days : int, optional
        How many began within so many days of each other; None where most did not.
    weakened : bool
        True if the tests see a trend, but so few were mended yet that it may be nothing but their growing old.
    """

    n: int
    untouched: int
    together: int | None
    within_days: int | None
    weakened: bool


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
        "getting worse", "getting better" or "can't tell yet", from the limits of the shape, and from `age`.
    failures_to_tell : int, optional
        How many failures in all would tell, if they go on like this.
    silence : Silence, optional
        Of a single unit that has failed.
    shared : SharedLuck, optional
        What limits and tests are between; None: each failure is taken as news of its own.
    age : Age
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
    shared: SharedLuck | None
    age: Age
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
    since : date, optional
        The day from which failures count; units keep the age they had by then.
    groups : tuple of GroupRepeats
        The one with the most failures in its time first.
    """

    clock: str
    unit: str
    by: str | None
    since: date | None
    conf: float
    everyone: GroupRepeats
    groups: tuple[GroupRepeats, ...]
    excluded: tuple[Exclusion, ...]
    notes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """The answer for all units together, then by group, then what they rest on."""
        whole = plain(self.everyone)
        del whole["group"]
        named = ("clock", "unit", "by", "since", "conf", "groups", "excluded", "notes")
        return {**whole, **{name: plain(getattr(self, name)) for name in named}, **self.plot()}
