"""The log-rank test for any number of groups: delayed entry, strata, and lives that fail together in clusters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.at_risk import Codes, Observed, codes_of, observed, require_two, still_in, total_by
from maintain.core.lives import Floats, Lives
from maintain.core.wording import count as in_words
from maintain.errors import InvalidRecord, NotEnoughData

Weighting = Literal["log-rank", "peto-peto"]

# A robust variance is itself an estimate from so many independent pieces; below about twenty it is rough
# (Cameron and Miller 2015, J. Human Resources 50, 317-372, section VI).
FEW_CLUSTERS = 20

# Up to so many clusters the variance comes from leaving each out in turn; simulated ships of five lives with skewed
# luck then reject true equality 2 to 5 times in 100 at 5 %, where the sandwich does so 8 to 12 times.
MANY_CLUSTERS = 200


@dataclass(frozen=True)
class RobustTest:
    """
    The same test with a variance that lets lives of one cluster fail together.

    Attributes
    ----------
    by : str
        What lives share: ship, sinking.
    clusters : int
    statistic : float
        Wald statistic of the one-step log hazard ratios; with very many clusters a chi-square on df.
    f, df, denominator_df, p : float, int, int, float
        The same as an F on df and denominator_df = clusters - df degrees of freedom, by which it is judged
        (Hotelling's T squared).
    design_effect : float
        Robust over plain variance of those: how many times more lives it takes than if each failed on its own.
    method : str
        "jackknife" (each cluster left out in turn) or, with very many clusters, "sandwich".
    rough : bool
        True if fewer than 20 clusters.
    """

    by: str
    clusters: int
    statistic: float
    f: float
    df: int
    denominator_df: int
    p: float
    design_effect: float
    method: str
    rough: bool


@dataclass(frozen=True)
class LogRank:
    """
    A test that all groups have one hazard.

    Attributes
    ----------
    groups : tuple of str
    n, observed, expected : array, shape = (n_groups,)
        Lives, failures, and failures expected if all groups had one hazard (within each stratum).
    score : float
        Weighted observed less expected of the first group.
    variance : float
        Its variance under one hazard.
    statistic, df, p : float, int, float
        Chi-square, lives taken as independent.
    robust : tuple of RobustTest
        One for each way of clustering given.
    weighting : str
    strata : int
        Number of strata.
    """

    groups: tuple[str, ...]
    n: NDArray[np.int64]
    observed: Floats
    expected: Floats
    score: float
    variance: float
    statistic: float
    df: int
    p: float
    robust: tuple[RobustTest, ...]
    weighting: Weighting
    strata: int

    @property
    def careful_p(self) -> float:
        """The largest p of all: where few failed, leaving out clusters may show far too little spread."""
        return max([self.p, *(test.p for test in self.robust)])


def log_rank(
    lives: Lives,
    group: ArrayLike,
    *,
    strata: ArrayLike | None = None,
    clusters: Mapping[str, ArrayLike] | None = None,
    weighting: Weighting = "log-rank",
) -> LogRank:
    """
    Test whether groups of lives have one and the same hazard.

    Parameters
    ----------
    lives : Lives
        A failure known only to an interval counts when it was found.
    group : array-like, shape = (n,)
        Label of each life's group.
    strata : array-like, shape = (n,), optional
        Label of zone, water... within which lives are compared; never between.
    clusters : mapping of name to array-like, shape = (n,), optional
        Ways in which lives hang together, each tested on its own.
    weighting : "log-rank" or "peto-peto"
        "peto-peto" weights early failures more (by pooled Kaplan-Meier survival just before the time).

    Raises
    ------
    NotEnoughData
        If there is only one group, no failure, or never two groups at risk at a failure.
    InvalidRecord
        If a label is missing.

    References
    ----------
    Mantel (1966), Cancer Chemother. Rep. 50, 163-170; Peto and Peto (1972), J. R. Stat. Soc. A 135, 185-206;
    Harrington and Fleming (1982), Biometrika 69, 553-566. Clusters: Lee, Wei and Amato (1992), in Survival
    Analysis: State of the Art, 237-247; jackknife: Lipsitz, Dear and Zhao (1994), Biometrics 50, 842-846.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> round(log_rank(lives_from_times([1, 2, 5, 6]), ["oil", "oil", "grease", "grease"]).statistic, 4)
    2.8824
    """
    from scipy.special import chdtrc

    names, code = codes_of(group, lives.n, "group")
    require_two(names)
    if not lives.failures:
        raise NotEnoughData(
            f"no failure among {in_words(lives.n, 'life')}: nothing tells the groups apart yet",
            hint="log failures as they come; until then a curve or a fit gives bounds",
        )
    layers = np.zeros(lives.n, dtype=np.intp) if strata is None else codes_of(strata, lives.n, "stratum")[1]
    scored = _scored(observed(lives), code, layers, weighting)
    basis = directions(scored.variance)
    df = basis.shape[1]
    if not df:
        raise NotEnoughData(
            "no two groups were ever under observation together when a part failed",
            hint="compare without strata, or over ages that both groups have reached",
        )
    statistic = float(basis.T @ scored.score @ one_step(scored.score, scored.variance, basis))
    return LogRank(
        groups=names,
        n=np.bincount(code, minlength=len(names)).astype(np.int64),
        observed=total_by(code, lives.failed.astype(np.float64), len(names)),
        expected=scored.expected,
        score=float(scored.score[0]),
        variance=float(scored.variance[0, 0]),
        statistic=statistic,
        df=df,
        p=float(chdtrc(df, statistic)),
        robust=tuple(_robust(name, labels, scored) for name, labels in (clusters or {}).items()),
        weighting=weighting,
        strata=int(layers.max()) + 1,
    )


def _scored(seen: Observed, code: Codes, strata: Codes, weighting: Weighting) -> _Scored:
    size = int(code.max()) + 1
    order = np.argsort(strata, kind="stable")
    splits = np.split(order, np.flatnonzero(np.diff(strata[order])) + 1)
    layers = tuple(_layer(seen, code, size, rows) for rows in splits)
    score, variance, expected = (
        sum(parts) for parts in zip(*(_score(each, weighting) for each in layers), strict=True)
    )
    return _Scored(seen, code, weighting, layers, score, variance, expected)


@dataclass(frozen=True)
class _Layer:
    """Counts of one stratum at its failure times: under observation and failed, by group (rows)."""

    rows: Codes
    times: Floats
    at_risk: Floats
    died: Floats

    def without(self, other: _Layer) -> _Layer:
        return _Layer(self.rows, self.times, self.at_risk - other.at_risk, self.died - other.died)


def _layer(seen: Observed, code: Codes, size: int, rows: Codes, times: Floats | None = None) -> _Layer:
    """Count the lives in `rows` at `times` (default: their own failure times)."""
    if times is None:
        times = np.unique(seen.exit[rows][seen.failed[rows]])
    at_risk, died = np.empty((size, times.size)), np.empty((size, times.size))
    for g in range(size):
        mine = rows[code[rows] == g]
        at_risk[g] = still_in(seen.exit[mine], times) - still_in(seen.entry[mine], times)
        places = np.searchsorted(times, seen.exit[mine[seen.failed[mine]]])
        died[g] = np.bincount(places, minlength=times.size)
    return _Layer(rows, times, at_risk, died)


def _paces(layer: _Layer, weighting: Weighting) -> tuple[Floats, Floats, Floats, Floats]:
    """Return all deaths, all at risk (at least 1), each group's share of those at risk, and the weights."""
    deaths, at_risk = layer.died.sum(axis=0), np.maximum(layer.at_risk.sum(axis=0), 1.0)
    weight = np.ones(deaths.size)
    if weighting == "peto-peto":
        weight[1:] = np.cumprod(1 - deaths / at_risk)[:-1]
    return deaths, at_risk, layer.at_risk / at_risk, weight


def _score(layer: _Layer, weighting: Weighting) -> tuple[Floats, Floats, Floats]:
    """Return the weighted score, its variance under one hazard, and the expected failures, by group."""
    deaths, at_risk, share, weight = _paces(layer, weighting)
    spread = weight**2 * deaths * (at_risk - deaths) / np.maximum(at_risk - 1, 1)
    score: Floats = np.sum(weight * (layer.died - share * deaths), axis=1)
    variance: Floats = np.diag(np.sum(spread * share, axis=1)) - (spread * share) @ share.T
    return score, variance, np.sum(share * deaths, axis=1)


def _parts(layer: _Layer, seen: Observed, code: Codes, weighting: Weighting) -> Floats:
    """Return each life's part in the score of its stratum, shape = (rows, groups)."""
    deaths, at_risk, share, weight = _paces(layer, weighting)
    rows = layer.rows
    mine = code[rows, None] == np.arange(share.shape[0])
    failed = seen.failed[rows]
    place = np.searchsorted(layer.times, seen.exit[rows][failed])
    own = np.zeros(mine.shape)
    own[failed] = weight[place, None] * (mine[failed] - share[:, place].T)
    until, since = (np.searchsorted(layer.times, bound[rows], side="right") for bound in (seen.exit, seen.entry))
    pace = weight * deaths / at_risk
    parts: Floats = own - mine * _between(np.cumsum(pace)[None, :], since, until)
    return parts + _between(np.cumsum(pace * share, axis=1), since, until)


def _between(running: Floats, since: Codes, until: Codes) -> Floats:
    """Return, per life, what the running sums (rows) gained from its entry to its exit."""
    padded = np.concatenate((np.zeros((running.shape[0], 1)), running), axis=1)
    gained: Floats = (padded[:, until] - padded[:, since]).T
    return gained


@dataclass(frozen=True)
class _Scored:
    """The score over all strata, and what it takes to see it from each cluster."""

    seen: Observed
    code: Codes
    weighting: Weighting
    layers: tuple[_Layer, ...]
    score: Floats
    variance: Floats
    expected: Floats

    def steps_without_each(self, cluster: Codes, count: int, basis: Floats) -> Floats:
        """Return the one-step estimates without each cluster in turn, shape = (count, directions)."""
        scores = np.repeat(self.score[None], count, axis=0)
        variances = np.repeat(self.variance[None], count, axis=0)
        for layer in self.layers:
            score, variance, _ = _score(layer, self.weighting)
            for one in np.unique(cluster[layer.rows]):
                gone = _layer(self.seen, self.code, score.size, layer.rows[cluster[layer.rows] == one], layer.times)
                rest, rest_variance, _ = _score(layer.without(gone), self.weighting)
                scores[one] += rest - score
                variances[one] += rest_variance - variance
        steps = [one_step(*pair, basis) for pair in zip(scores, variances, strict=True)]
        return np.array(steps)

    def score_by_cluster(self, cluster: Codes, count: int) -> Floats:
        """Return the score added up within clusters, shape = (count, groups)."""
        sums = np.zeros((count, self.score.size))
        for layer in self.layers:
            parts = _parts(layer, self.seen, self.code, self.weighting)
            sums += np.column_stack([total_by(cluster[layer.rows], column, count) for column in parts.T])
        return sums


def one_step(score: Floats, variance: Floats, basis: Floats) -> Floats:
    """Return one Newton step from equal hazards: log hazard ratios in the directions of `basis`."""
    step: Floats = np.linalg.pinv(basis.T @ variance @ basis, rcond=1e-9, hermitian=True) @ (basis.T @ score)
    return step


def _robust(name: str, labels: ArrayLike, scored: _Scored) -> RobustTest:
    from scipy.special import fdtrc

    cluster = codes_of(labels, scored.code.size, name)[1]
    count = int(cluster.max()) + 1
    basis = directions(scored.variance)
    df = basis.shape[1]
    if count <= df:
        raise InvalidRecord(f"clusters by {name}: only {count} in all, too few to judge {df + 1} groups by")
    plain = basis.T @ scored.variance @ basis
    if count <= MANY_CLUSTERS:
        steps = scored.steps_without_each(cluster, count, basis)
        steps = steps - steps.mean(axis=0)
        spread = (count - 1) / count * steps.T @ steps
    else:
        sums = scored.score_by_cluster(cluster, count) @ basis
        spread = np.linalg.solve(plain, np.linalg.solve(plain, sums.T @ sums).T)
    step = one_step(scored.score, scored.variance, basis)
    statistic = float(step @ np.linalg.pinv(spread, hermitian=True) @ step)
    f = statistic * (count - df) / ((count - 1) * df)
    return RobustTest(
        by=name,
        clusters=count,
        statistic=statistic,
        f=f,
        df=df,
        denominator_df=count - df,
        p=float(fdtrc(df, count - df, f)),
        design_effect=float(np.trace(spread @ plain)) / df,
        method="jackknife" if count <= MANY_CLUSTERS else "sandwich",
        rough=count < FEW_CLUSTERS,
    )


def directions(variance: Floats) -> Floats:
    """Return the directions (columns) in which the score can vary at all."""
    values, vectors = np.linalg.eigh(variance)
    found: Floats = vectors[:, values > 1e-9 * max(float(values[-1]), 1e-300)]
    return found
