"""How long parts last: curves and fits, with what was left out and assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Pictured, plain
from maintain.results.life_source import Source
from maintain.results.second_opinion import SecondOpinion


@dataclass(frozen=True)
class Figure:
    """An estimate with its interval; None: the data do not say."""

    value: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Parameter:
    """An estimate with its interval and standard error."""

    value: float | None
    lower: float | None
    upper: float | None
    se: float | None


@dataclass(frozen=True)
class SurvivalAt:
    """
    Share still working at a time, and how many were watched then.

    Attributes
    ----------
    cumulative_hazard : Figure, optional
        Failures per part by then, had each been replaced at once (Nelson-Aalen); None where failures are known only to
        intervals.
    """

    time: float
    survival: float | None
    lower: float | None
    upper: float | None
    at_risk: int
    cumulative_hazard: Figure | None = None


@dataclass(frozen=True)
class RestrictedMean:
    """Mean life up to a limit `tau`."""

    tau: float | None
    value: float | None
    lower: float | None
    upper: float | None


Numbers = tuple[float, ...]


@dataclass(frozen=True)
class Drawn:
    """
    What a picture shows of a group; columns of one length.

    Attributes
    ----------
    time, value, lower, upper : tuple of float
        A curve with its limits.
    stepped : bool
        True if each value holds from its time on; False if the points are joined.
    hazard : tuple of float
        Cumulative hazard with its limits, at the same times; empty if it is not known.
    seen_working, seen_at : tuple of float
        Where lives were last seen working, and the curve there.
    watched_at, watched : tuple
        How many were watched at some round times, the first being where the curve begins.
    """

    time: Numbers
    value: Numbers
    lower: Numbers
    upper: Numbers
    stepped: bool
    hazard: Numbers = ()
    hazard_lower: Numbers = ()
    hazard_upper: Numbers = ()
    seen_working: Numbers = ()
    seen_at: Numbers = ()
    watched_at: Numbers = ()
    watched: tuple[int, ...] = ()


@dataclass(frozen=True)
class GroupCurve:
    """
    The life curve of one group.

    Attributes
    ----------
    estimator : str
        "Kaplan-Meier", or "Turnbull" where failures are known only to intervals.
    b10 : Figure
        The time by which a tenth have failed.
    drawn : Drawn
        For pictures; no part of the document.
    caution : str, optional
        Why the curve, and with it median, B10 and mean, says nothing from some age on.
    second_opinion : SecondOpinion, optional
        If asked for.
    """

    group: str
    n: int
    events: int
    median: Figure
    at: tuple[SurvivalAt, ...]
    restricted_mean: RestrictedMean
    b10: Figure
    estimator: str
    drawn: Drawn
    caution: str | None = None
    second_opinion: SecondOpinion | None = None


@dataclass(frozen=True)
class FittedAt:
    """
    Share still working at a time by the fitted law.

    Attributes
    ----------
    conditional : Figure, optional
        Share of the parts working at the age asked for that work on at this time; None if no age was given.
    """

    time: float
    survival: float
    lower: float
    upper: float
    conditional: Figure | None


@dataclass(frozen=True)
class Candidate:
    """A law that was tried."""

    model: str
    log_likelihood: float
    aicc: float | None


@dataclass(frozen=True)
class Bootstrap:
    """
    Percentile limits from fits to lives drawn again and again.

    Attributes
    ----------
    draws, settled : int
        Draws made, and those whose lives settled the law.
    clusters : int, optional
        How many clusters were drawn whole; None: lives were drawn one by one.
    shape : Figure, optional
        None for a law without one.
    """

    draws: int
    settled: int
    clusters: int | None
    shape: Figure | None
    mean: Figure
    median: Figure
    b10: Figure


@dataclass(frozen=True)
class Posterior:
    """
    What the lives say together with what was believed before.

    Attributes
    ----------
    prior : str
        That belief, in words.
    borrowed_lives, borrowed_failures : int
        Of other parts of the same kind, which have a say in the shape.
    kind : str, optional
        The category they are of; None: nothing was borrowed.
    shape, median, b10 : Figure
        Median of the posterior, with 95 % of it between the limits.
    shape_80 : Figure
        The shape with 80 % between the limits.
    chance_of_wear : float
        Probability that the shape is above 1: the older, the likelier to fail.
    verdict : str, optional
        None where the group itself says too little: no law could be fitted to it, or nothing of it failed.
    b10_at_least : float, optional
        Where nothing of it failed though others of its kind did: a tenth fail no sooner (95 % sure), wherever in
        `shape_80` the shape lies.
    """

    prior: str
    borrowed_lives: int
    borrowed_failures: int
    kind: str | None
    shape: Figure
    shape_80: Figure
    median: Figure
    b10: Figure
    chance_of_wear: float
    verdict: str | None
    b10_at_least: float | None = None


@dataclass(frozen=True)
class NoneFailed:
    """
    What can be said where nothing failed.

    Attributes
    ----------
    use : float
        Of all lives together.
    mean_at_least : float
        Lower bound on the mean life, if failures come at a steady rate: at the most one failure in so much use.
    """

    use: float
    mean_at_least: float


@dataclass(frozen=True)
class Paper:
    """
    Probability paper: failures and the fitted law against log time, which is a straight line if the law is right.

    Attributes
    ----------
    time, height : tuple of float
        Failures; heights are the law's quantiles.
    line_time, line, line_lower, line_upper : tuple of float
        The law with its limits.
    shares, share_heights : tuple of float
        Failed shares to be written on the axis, and their heights.
    """

    time: Numbers
    height: Numbers
    line_time: Numbers
    line: Numbers
    line_lower: Numbers
    line_upper: Numbers
    shares: Numbers
    share_heights: Numbers


@dataclass(frozen=True)
class GroupFit:
    """
    The fitted law of one group.

    Attributes
    ----------
    model : str, optional
        None where the group says too little; `reason` then says why, and `mean_at_least` what can be said all the same:
        a lower bound on the mean life if failures come at a steady rate.
    verdict : str, optional
        What a Weibull shape says of ageing: "wear-out", "early failures", "steady" or "can't tell yet".
    failures_to_tell : int, optional
        How many failures in all would tell, if the shape stays what it is.
    shape_by_likelihood : Figure, optional
        The shape (sigma, for the lognormal) with likelihood-ratio limits, where the law has one.
    bootstrap, posterior, second_opinion : optional
        Limits by drawing the lives again, what few failures say beside a prior, and what another library says; if
        asked for, or needed.
    none_failed : NoneFailed, optional
        What can be said where nothing failed.
    caution : str, optional
        Why the limits are not to be taken at their word: few failures, or a mean that may not be there.
    drawn : Paper, optional
        For pictures; no part of the document.
    """

    group: str
    n: int
    events: int
    model: str | None = None
    parameters: dict[str, Parameter] | None = None
    log_likelihood: float | None = None
    aicc: float | None = None
    mean: Figure | None = None
    median: Figure | None = None
    b10: Figure | None = None
    candidates: tuple[Candidate, ...] = ()
    at: tuple[FittedAt, ...] = ()
    reason: str | None = None
    mean_at_least: float | None = None
    verdict: str | None = None
    failures_to_tell: int | None = None
    shape_by_likelihood: Figure | None = None
    bootstrap: Bootstrap | None = None
    posterior: Posterior | None = None
    none_failed: NoneFailed | None = None
    caution: str | None = None
    second_opinion: SecondOpinion | None = None
    drawn: Paper | None = None


def group_document(group: GroupCurve | GroupFit) -> dict[str, Any]:
    """Plain values of one group; what only its picture needs is left out."""
    return {key: plain(value) for key, value in vars(group).items() if key != "drawn"}


def _document(groups: tuple[GroupCurve, ...] | tuple[GroupFit, ...], source: Source) -> dict[str, Any]:
    return {
        "groups": list(map(group_document, groups)),
        "clock": source.clock,
        "by": source.by,
        "conf": source.conf,
        "excluded": plain(source.excluded),
        "notes": list(source.notes),
    }


@dataclass(frozen=True)
class LifeCurves(Pictured):
    """
    Life curves by group.

    Attributes
    ----------
    show_hazard : bool
        Show people the cumulative hazard too.
    """

    source: Source
    groups: tuple[GroupCurve, ...]
    show_hazard: bool = False

    def document(self) -> dict[str, Any]:
        """Groups first, then what they rest on."""
        return {**_document(self.groups, self.source), **self.plot()}


@dataclass(frozen=True)
class LifeFits(Pictured):
    """
    Fitted laws by group.

    Attributes
    ----------
    limits : str
        How the limits were made.
    """

    source: Source
    groups: tuple[GroupFit, ...]
    given: float | None
    limits: str

    def document(self) -> dict[str, Any]:
        """Groups first, then what they rest on."""
        return {**_document(self.groups, self.source), "given": self.given, "limits": self.limits, **self.plot()}
