"""What parts fail by: the share that each cause takes while all the others are at work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Pictured, plain
from maintain.results.life import Figure
from maintain.results.life_source import Source


@dataclass(frozen=True)
class IncidenceAt:
    """
    One cause at one time.

    Attributes
    ----------
    incidence, lower, upper : float, optional
        Share of parts it has taken by then; if none, the upper limit of none among so many watched. None from where all
        watched had failed though others were seen later.
    se : float
    cumulative_hazard : Figure
        Its own hazard added up: what it would take of parts that no other cause could take.
    with_unknown : Figure, optional
        Its share if all of unknown cause were put to it: the most it can be; None if no cause is unknown.
    """

    time: float
    incidence: float | None
    lower: float | None
    upper: float | None
    se: float
    cumulative_hazard: Figure
    with_unknown: Figure | None = None


@dataclass(frozen=True)
class CauseShare:
    """
    One cause.

    Attributes
    ----------
    drawn : tuple of float
        Its share at all times drawn, for pictures; no part of the document.
    """

    cause: str
    events: int
    at: tuple[IncidenceAt, ...]
    drawn: tuple[float, ...]


@dataclass(frozen=True)
class WorkingAt:
    """Share that no cause has taken by a time, and how many were watched then."""

    time: float
    share: float | None
    at_risk: int


@dataclass(frozen=True)
class GroupCauses:
    """
    The causes of one group, the most frequent first.

    Attributes
    ----------
    drawn_times : tuple of float
        Every time of failure and the end of observation, for pictures; no part of the document.
    watched : tuple of (float, int)
        How many were watched at some round times, for pictures; no part of the document.
    unknown : int
        Ended, nobody knows by what.
    caution : str, optional
        Why shares say nothing from some age on.
    """

    group: str
    n: int
    events: int
    causes: tuple[CauseShare, ...]
    working: tuple[WorkingAt, ...]
    drawn_times: tuple[float, ...] = ()
    watched: tuple[tuple[float, int], ...] = ()
    unknown: int = 0
    caution: str | None = None


@dataclass(frozen=True)
class ShareTest:
    """Test that one cause takes the same share in all groups (Gray); p_holm allows for the number of causes."""

    cause: str
    statistic: float
    df: int
    p: float
    p_holm: float


@dataclass(frozen=True)
class Foremost:
    """
    The cause most often named, and whether it surely is.

    Attributes
    ----------
    second : str, optional
        The next; None if there is only one.
    p : float, optional
        Chance of so great a lead over the second if both were equally frequent.
    surely : bool
        Whether the lead is no accident, and greater than the unknown causes could undo.
    """

    cause: str
    second: str | None
    p: float | None
    surely: bool


@dataclass(frozen=True)
class LifeCauses(Pictured):
    """Competing causes of everyone, and of each group if groups were asked for."""

    source: Source
    everyone: GroupCauses
    groups: tuple[GroupCauses, ...]
    tests: tuple[ShareTest, ...]
    foremost: Foremost | None

    def document(self) -> dict[str, Any]:
        """Causes of everyone first, then groups, tests and what they rest on."""
        whole = _without_drawing(self.everyone)
        return {
            **{key: whole[key] for key in ("causes", "working", "n", "events", "unknown", "caution")},
            "groups": [_without_drawing(each) for each in self.groups],
            "tests": plain(self.tests),
            "foremost": plain(self.foremost),
            **plain(self.source),
            **self.plot(),
        }


def _without_drawing(group: GroupCauses) -> dict[str, Any]:
    found: dict[str, Any] = plain(group)
    del found["drawn_times"], found["watched"]
    for cause in found["causes"]:
        del cause["drawn"]
    return found
