"""Do groups of parts last equally long: tests, how sure they can be, and what makes the comparison unfair."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Result
from maintain.results.life import Figure
from maintain.results.life_source import Source, resting_on_source


@dataclass(frozen=True)
class GroupCount:
    """
    A group.

    Attributes
    ----------
    n, events : int
        Lives and failures.
    expected : float
        Failures to be expected of it if all groups had one hazard.
    sinkings : float, optional
        That its parts were under in, added up; None if nobody knows.
    """

    group: str
    n: int
    events: int
    expected: float
    sinkings: float | None


@dataclass(frozen=True)
class ClusteredTest:
    """
    The same test with lives of one cluster taken to fail together.

    Attributes
    ----------
    statistic : float
        As a chi-square would be; it is not judged as one, since clusters are few.
    f, df, denominator_df, p : float, int, int, float
        The same as an F, by which it is judged.
    design_effect : float
        How many times more lives it takes than if each failed on its own.
    rough : bool
        True if there are too few clusters to trust it.
    """

    by: str
    clusters: int
    statistic: float
    f: float
    df: int
    denominator_df: int
    p: float
    design_effect: float
    rough: bool


@dataclass(frozen=True)
class Verdict:
    """
    The p on which it rests whether groups differ.

    Attributes
    ----------
    method : str
        "chi-square" (each life on its own), "F" (lives in clusters), or where lives or failures are few "exact" (the
        share of all ways to deal the groups out that differ as much) or "drawn" (such ways drawn by lot).
    by : str, optional
        What lives share; None: nothing.
    statistic, df, denominator_df : float, int, int, optional
        Of chi-square or F.
    deals : int, optional
        Ways to deal the groups out that were looked at.
    least_p : float, optional
        Least p that so few could have shown at all.
    """

    p: float
    method: str
    by: str | None
    statistic: float | None
    df: int | None
    denominator_df: int | None
    deals: int | None
    least_p: float | None


@dataclass(frozen=True)
class LogRankTest:
    """
    A test that all groups have one hazard.

    Attributes
    ----------
    statistic, df, p : float, int, float
        Chi-square with lives taken on their own.
    p_careful : float
        The largest p of this and the clustered tests.
    clustered : tuple of ClusteredTest
    verdict : Verdict, optional
        On which p the answer rests; None: not on this test.
    """

    statistic: float
    df: int
    p: float
    p_careful: float
    clustered: tuple[ClusteredTest, ...]
    verdict: Verdict | None


@dataclass(frozen=True)
class PairTest:
    """
    Two groups against each other; None where they were never watched together at a failure.

    Attributes
    ----------
    verdict : Verdict, optional
        On which p it rests whether they differ.
    p_holm : float, optional
        That p, corrected for the number of pairs.
    hazard_ratio : Figure, optional
        How many times as often b fails as a, allowing for clusters.
    estimator : str, optional
        How the ratio was found: "Cox"; "penalised Cox" where no finite ratio fits, as when one of the two never
        failed; "one-step" from the log-rank score where neither can be had: it overstates large ratios.
    too_few : bool
        True if there are too few lives or failures for a chi-square or F to be trusted: ways to deal them out count.
    """

    a: str
    b: str
    statistic: float | None
    p: float | None
    p_careful: float | None
    verdict: Verdict | None
    p_holm: float | None
    hazard_ratio: Figure | None
    estimator: str | None
    too_few: bool


@dataclass(frozen=True)
class MeanDifference:
    """
    Mean life of a less that of b, both up to `tau`.

    Attributes
    ----------
    p : float, optional
        Of no difference.
    by : str, optional
        What lives share, of all ways the one that leaves the difference least sure; None: each life on its own.
    df : float, optional
        Degrees of freedom of Student's t; None: normal.
    """

    a: str
    b: str
    tau: float
    value: float | None
    lower: float | None
    upper: float | None
    p: float | None
    by: str | None
    df: float | None


@dataclass(frozen=True)
class PairPower:
    """
    What a pair could have shown, and what would settle it.

    Attributes
    ----------
    events, lives : int
        Of both groups.
    worth : float
        Hazard ratio thought worth finding.
    power : float
        Chance that so many failures would have shown it.
    detectable : float, optional
        Smallest ratio above 1 that so many failures can show.
    events_needed, lives_needed : int
        In all, to find `worth`; clusters allowed for.
    more_events, more_lives : int
        Besides those there are.
    more_seasons : float, optional
        How long that takes at the pace at which these groups have failed.
    design_effect : float
    """

    a: str
    b: str
    events: int
    lives: int
    worth: float
    power: float
    detectable: float | None
    events_needed: int
    lives_needed: int
    more_events: int
    more_lives: int
    more_seasons: float | None
    design_effect: float


@dataclass(frozen=True)
class Unfair:
    """
    Something else in which groups differ, more than small and more than chance.

    Attributes
    ----------
    difference : float, optional
        In units of the spread within groups; None: they do not overlap.
    never_together : bool
        True if no value of it occurs in both groups: nothing can hold it equal.
    held_equal : bool
        True if the adjusted answer holds it equal.
    """

    covariate: str
    a: str
    b: str
    difference: float | None
    never_together: bool
    held_equal: bool


@dataclass(frozen=True)
class AdjustedPair:
    """
    Two groups with the rest held equal.

    Attributes
    ----------
    hazard_ratio : Figure
        How many times as often b fails as a (Cox).
    time_ratio : Figure, optional
        How many times as long b lasts as a (Weibull, accelerated life); None where it settles nothing.
    """

    a: str
    b: str
    hazard_ratio: Figure
    p: float
    time_ratio: Figure | None


@dataclass(frozen=True)
class Adjusted:
    """The answer with other things held equal: by covariates, and only within strata."""

    covariates: tuple[str, ...]
    strata: tuple[str, ...]
    logrank: LogRankTest | None
    pairs: tuple[AdjustedPair, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Differs:
    """
    A pair told apart.

    Attributes
    ----------
    adjusted_too : bool, optional
        Whether also with the rest held equal; None: not asked.
    unlike : tuple of str
        In what else these two differ that is not held equal.
    """

    longer: str
    shorter: str
    adjusted_too: bool | None
    unlike: tuple[str, ...]


@dataclass(frozen=True)
class LifeComparison(Result):
    """
    Groups compared.

    Attributes
    ----------
    differs : tuple of Differs
        Pairs told apart after correction for their number; empty: can't tell yet.
    """

    source: Source
    groups: tuple[GroupCount, ...]
    logrank: LogRankTest
    early: LogRankTest
    pairs: tuple[PairTest, ...]
    restricted_mean_difference: tuple[MeanDifference, ...]
    power: tuple[PairPower, ...]
    differs: tuple[Differs, ...]
    unfair: tuple[Unfair, ...]
    adjusted: Adjusted | None

    def document(self) -> dict[str, Any]:
        """Tests first, then what they rest on."""
        return resting_on_source(self)
