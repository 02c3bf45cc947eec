"""Competing causes: what share of parts has failed by each cause, when every other cause is at work as well."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import (
    Codes,
    Observed,
    codes_of,
    found_late_caution,
    name_rows,
    observed,
    step_at,
    still_in,
)
from maintain.core.estimate import two_sided_z
from maintain.core.incidence import Steps, influence_of, steps_of
from maintain.core.lives import Bools, Floats, Lives
from maintain.errors import InvalidRecord, NotEnoughData


@dataclass(frozen=True)
class CauseCurve:
    """
    One cause: its share of failures and its hazard, as right-continuous steps.

    Attributes
    ----------
    cause : str
    failures : int
    incidence : array, shape = (n_times,)
        Share of parts that has failed by this cause at or before each time (Aalen-Johansen).
    se : array, shape = (n_times,)
        Standard error of `incidence`: infinitesimal jackknife, grouped by cluster where clusters were given.
    lower, upper : array, shape = (n_times,)
        Interval on the log(-log) scale. NaN where no part has yet failed by this cause.
    hazard, hazard_se : array, shape = (n_times,)
        Cause-specific cumulative hazard (Nelson-Aalen) and its standard error (sum of d / Y^2).
    """

    cause: str
    failures: int
    incidence: Floats
    se: Floats
    lower: Floats
    upper: Floats
    hazard: Floats
    hazard_se: Floats


@dataclass(frozen=True)
class Causes:
    """
    All causes on one grid of times; at every time the incidences and `working` add up to 1.

    Attributes
    ----------
    n, failures : int
    times : array, shape = (n_times,)
        The distinct failure times, or the times asked for.
    at_risk, working : array, shape = (n_times,)
        Parts under observation just before the time; share that has failed by no cause.
    curves : tuple of CauseCurve, in the order of their names
    conf : float
    cautions : tuple of str
    """

    n: int
    failures: int
    times: Floats
    at_risk: Floats
    working: Floats
    curves: tuple[CauseCurve, ...]
    conf: float
    cautions: tuple[str, ...]


def causes_of_failure(
    lives: Lives,
    cause: ArrayLike,
    *,
    at: ArrayLike | None = None,
    cluster: ArrayLike | None = None,
    conf: float = 0.95,
) -> Causes:
    """
    Estimate the share of parts that each cause has taken, with delayed entry, exactly with ties.

    Parameters
    ----------
    lives : Lives
        A failure known only to an interval counts when it was found.
    cause : array-like, shape = (n,)
        Label of the cause of each failure; the labels of censored lives are not looked at.
    at : array-like, optional
        Times wanted. Default: every distinct failure time.
    cluster : array-like, shape = (n,), optional
        Ship or sinking that lives share: standard errors then allow for their failing together (needs `at`).
    conf : float
        Confidence of the intervals.

    Raises
    ------
    NotEnoughData
        If nothing has failed.
    InvalidRecord
        If a failure has no cause, or `cluster` is given without `at`.

    Notes
    -----
    In simulated clubs the 95 % interval held the truth 95 times in 100 with 100 lives, 89 with 15.

    References
    ----------
    Aalen and Johansen (1978), Scand. J. Statist. 5, 141-150; infinitesimal jackknife: Therneau, Crowson and
    Atkinson (2024), "Multi-state models and competing risks". Intervals: Choudhury (2002), Statist. Med. 21, 1129.

    Examples
    --------
    >>> from maintain.core.lives import lives_from_times
    >>> lives = lives_from_times([1, 2, 2, 2, 3, 4], [True, True, True, False, True, False])
    >>> shares = causes_of_failure(lives, ["water", "water", "wear", "", "water", ""], at=[3])
    >>> [(curve.cause, round(float(curve.incidence[0]), 4)) for curve in shares.curves]
    [('water', 0.5833), ('wear', 0.1667)]
    """
    if not lives.failures:
        raise NotEnoughData(
            f"no failure among {lives.n} lives: no cause to tell apart", hint="see the zero-failure bound"
        )
    if cluster is not None and at is None:
        raise InvalidRecord("clustered standard errors need the times at which they are wanted")
    names, codes = _failure_causes(lives, cause)
    seen = observed(lives)
    steps = steps_of(seen)
    grid = steps.times if at is None else np.asarray(at, dtype=np.float64)
    groups = None if cluster is None else codes_of(cluster, lives.n, "cluster")[1]
    curves = tuple(_curve(name, steps, codes == number, grid, groups, conf) for number, name in enumerate(names))
    return Causes(
        n=lives.n,
        failures=lives.failures,
        times=grid,
        at_risk=seen.at_risk(grid),
        working=step_at(steps.times, steps.working, grid, start=1.0),
        curves=curves,
        conf=conf,
        cautions=tuple(found_late_caution(lives) + _cautions(seen, grid, steps)),
    )


def _failure_causes(lives: Lives, cause: ArrayLike) -> tuple[tuple[str, ...], Codes]:
    """Return cause names and, for each life, the number of its cause; -1 where it did not fail."""
    column = np.asarray(cause)
    if column.shape != (lives.n,):
        raise InvalidRecord(f"cause: {lives.n} lives need {lives.n} causes, got an array of shape {column.shape}")
    failed_rows = np.flatnonzero(lives.failed)
    blank = [int(row) + 1 for row in failed_rows if column[row] is None or str(column[row]).strip() in {"", "nan"}]
    if blank:
        raise InvalidRecord(
            f"failures without a cause in {name_rows(blank)}", hint="write unknown for an unknown cause", rows=blank
        )
    names, places = codes_of(column[lives.failed], failed_rows.size, "cause")
    codes = np.full(lives.n, -1, dtype=np.intp)
    codes[failed_rows] = places
    return names, codes


def _curve(name: str, steps: Steps, mine: Bools, grid: Floats, cluster: Codes | None, conf: float) -> CauseCurve:
    times, influence = steps.times, influence_of(steps, mine)
    share, incidence = influence.share, influence.incidence
    if cluster is None:
        variance = step_at(times, influence.variance(), grid)
    else:
        variance = influence.clustered_variance(grid, cluster)
    here, se = step_at(times, incidence, grid), np.sqrt(variance)
    lower, upper = _log_log_interval(here, se, conf)
    return CauseCurve(
        cause=name,
        failures=int(mine.sum()),
        incidence=here,
        se=se,
        lower=lower,
        upper=upper,
        hazard=step_at(times, np.cumsum(share), grid),
        hazard_se=np.sqrt(step_at(times, np.cumsum(share / steps.at_risk), grid)),
    )


def _log_log_interval(share: Floats, se: Floats, conf: float) -> tuple[Floats, Floats]:
    """Return the interval on the log(-log) scale, which stays within 0 and 1; NaN at a share of 0."""
    inside = (share > 0) & (share < 1)
    safe = np.where(inside, share, 0.5)
    reach = two_sided_z(conf) * se / (safe * np.abs(np.log(safe)))
    edge = np.where(share >= 1, 1.0, np.nan)
    return np.where(inside, safe ** np.exp(reach), edge), np.where(inside, safe ** np.exp(-reach), edge)


def _cautions(seen: Observed, grid: Floats, steps: Steps) -> list[str]:
    found = []
    last = float(seen.exit.max())
    beyond = int(np.sum(grid > last))
    if beyond:
        found.append(
            f"{beyond} of the times asked for lie after the last observation ({last:g}); the curve is held level there"
        )
    emptied = np.flatnonzero((steps.working <= 0) & (still_in(seen.entry, steps.times) > 0))
    if emptied.size:
        found.append(
            f"at {steps.times[emptied[0]]:g} every part then under observation had failed, and others came in later; "
            "the curves cannot use those: start them at a later age"
        )
    return found
