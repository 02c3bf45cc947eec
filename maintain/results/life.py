"""How long parts last: curves and fits, with what was left out and assumed."""

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
    """Share still working at a time, and how many were watched then."""

    time: float
    survival: float | None
    lower: float | None
    upper: float | None
    at_risk: int


@dataclass(frozen=True)
class RestrictedMean:
    """Mean life up to a limit `tau`."""

    tau: float | None
    value: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class GroupCurve:
    """The life curve of one group."""

    group: str
    n: int
    events: int
    median: Figure
    at: tuple[SurvivalAt, ...]
    restricted_mean: RestrictedMean


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


def _document(groups: tuple[Any, ...], source: Source) -> dict[str, Any]:
    return {
        "groups": plain(groups),
        "clock": source.clock,
        "by": source.by,
        "conf": source.conf,
        "excluded": plain(source.excluded),
        "notes": list(source.notes),
    }


@dataclass(frozen=True)
class LifeCurves(Result):
    """Life curves by group."""

    source: Source
    groups: tuple[GroupCurve, ...]

    def document(self) -> dict[str, Any]:
        """Groups first, then what they rest on."""
        return _document(self.groups, self.source)


@dataclass(frozen=True)
class LifeFits(Result):
    """Fitted laws by group; `given` is the age to which conditional shares refer."""

    source: Source
    groups: tuple[GroupFit, ...]
    given: float | None = None

    def document(self) -> dict[str, Any]:
        """Groups first, then what they rest on."""
        return {**_document(self.groups, self.source), "given": self.given}
