"""A fair trial of ways to waterproof: its plan, and a look at how it stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from maintain.results.base import Column, Listing, Result, plain


@dataclass(frozen=True)
class NoFailure:
    """What n parts without a failure say: at most this share fails in the time of the trial, with 95 % confidence."""

    n: int
    at_most: float


@dataclass(frozen=True)
class ToShow:
    """How many parts of one method, at most so many failing, show with 95 % confidence that no more fail than hoped."""

    failures: int
    n: int


@dataclass(frozen=True)
class SizeAt:
    """How large a trial must be if the usual share is another; None: then the share hoped for would be no gain."""

    usual: float
    hoped: float
    per_group: int | None
    failures_needed: int | None


@dataclass(frozen=True)
class Drawn:
    """Where a new part of the trial goes, which part it replaces, and the method its lot gives it."""

    ship: str
    position: str
    zone: str
    part: str | None
    method: str


@dataclass(frozen=True)
class OwnClub:
    """
    What the club itself can do with the positions it has.

    Attributes
    ----------
    positions, ships : int
    per_group : int
        Parts on trial for each method.
    chance : float
        Chance of finding the difference asked for in one trial of this length.
    detectable : float, optional
        The largest share of the new method's parts failing that can be told from the usual one; None: no difference
        whatever can.
    trials : int
        How many such trials (seasons, or clubs) together give the size needed.
    failures : float
        Failures to be expected of both methods by the stop date.
    days_needed : float, optional
        Days after which these parts alone are expected to have had the failures needed; None: they are too few.
    """

    positions: int
    ships: int
    per_group: int
    chance: float
    detectable: float | None
    trials: int
    failures: float
    days_needed: float | None


@dataclass(frozen=True)
class LifeTrial(Result):
    """
    The plan of a trial.

    Attributes
    ----------
    methods : tuple of str
    family, zone : str, optional
    usual, hoped : float
        Share failing within `days`, by the usual method and by the one on trial.
    usual_from : str
        Where the usual share comes from.
    usual_lower, usual_upper : float, optional
        Its limits; None where it was given, or where the data give none.
    size_at_limits : tuple of SizeAt
        The size of the trial were the usual share at these limits.
    days : float
    start, stop : date
    power, conf : float
    per_ship, icc, design_effect : float
        Parts of one ship, how much they fail together, and how many times more parts that takes.
    per_group : int
        Parts of each method, by the shares failing at the end.
    failures_needed : int
        Failures of both methods at which the log-rank test has the power asked.
    per_group_by_failures : int
        Parts of each method that give so many.
    hazard_ratio : float
    club : OwnClub, optional
        None where no family was named.
    no_failure : tuple of NoFailure
    to_show : tuple of ToShow
    lot : tuple of Drawn
    seed : int
        Of the lot.
    within : tuple of str
        Within what the methods are to be compared: of "ship" and "zone" those by which the lot can tell.
    look, analysis : str, optional
        The commands that look at the trial while it runs, and compare the methods afterwards.
    notes : tuple of str
    """

    methods: tuple[str, ...]
    family: str | None
    zone: str | None
    usual: float
    hoped: float
    usual_from: str
    usual_lower: float | None
    usual_upper: float | None
    size_at_limits: tuple[SizeAt, ...]
    days: float
    start: date
    stop: date
    power: float
    conf: float
    per_ship: float
    icc: float
    design_effect: float
    per_group: int
    failures_needed: int
    per_group_by_failures: int
    hazard_ratio: float
    club: OwnClub | None
    no_failure: tuple[NoFailure, ...]
    to_show: tuple[ToShow, ...]
    lot: tuple[Drawn, ...]
    seed: int
    within: tuple[str, ...]
    look: str | None
    analysis: str | None
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """The lot, one line a position."""
        columns = (
            Column("ship", "Ship"),
            Column("position", "Position"),
            Column("zone", "Zone"),
            Column("part", "Now fitted"),
            Column("method", "Method by lot"),
        )
        rows = tuple(plain(each) for each in self.lot)
        return Listing("Lot", columns, rows, empty="no family was named, so no lots were drawn")


@dataclass(frozen=True)
class MethodSoFar:
    """How the parts of one method have fared since the trial began."""

    method: str
    n: int
    events: int
    expected: float | None


@dataclass(frozen=True)
class TrialLook(Result):
    """
    A look at a running trial.

    Attributes
    ----------
    methods : tuple of MethodSoFar
    start : date
    failures, planned : int
        So far, and as many as the plan waits for.
    z : float, optional
        Of the log-rank test, positive when the first method fails more often; None where nothing can be compared yet.
    bound : float, optional
        How large it must be to stop, however often one looks.
    within : tuple of str
        Within what parts were compared: as the plan says, of "ship" and "zone". Without "ship", z takes ships as
        clusters.
    worse : str, optional
        The method that is doing worse beyond the bound.
    stop : bool
        True if the trial is over: the bound is passed, or the planned failures have happened.
    notes : tuple of str
    """

    methods: tuple[MethodSoFar, ...]
    start: date
    failures: int
    planned: int
    z: float | None
    bound: float | None
    within: tuple[str, ...]
    worse: str | None
    stop: bool
    notes: tuple[str, ...]

    def document(self) -> dict[str, Any]:
        """The verdict first."""
        found = super().document()
        return {"stop": found.pop("stop"), "worse": found.pop("worse"), **found}
