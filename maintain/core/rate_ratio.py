"""Do deaths come more often in one kind of time than in another, like being compared with like?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from maintain.core.estimate import Estimate, check_share, two_sided_z
from maintain.core.lives import Floats
from maintain.errors import InvalidRecord


@dataclass(frozen=True)
class Spent:
    """
    Deaths and the time in which they came.

    Attributes
    ----------
    deaths, time : array, shape = (n_clusters, n_strata)
    """

    deaths: Floats
    time: Floats


def rate_ratio(here: Spent, there: Spent, conf: float = 0.95) -> Estimate:
    """
    Return how many times as often deaths come here as there, compared within strata only.

    Parameters
    ----------
    here, there : Spent
        Clusters (ships) whose lives share their luck in rows, strata (kinds of part of one age) in columns.
    conf : float
        Confidence of the interval.

    Returns
    -------
    Estimate
        Mantel and Haenszel's ratio. Its limits are on the log scale, by Greenland and Robins' variance or by what each
        cluster's weight moves, whichever is wider. With no death on one side, exact limits given the number of
        deaths: 0 and an upper one, or a lower one only. All None where no stratum can be compared, or none died.

    References
    ----------
    Rothman, Greenland and Lash (2008), Modern Epidemiology, 3rd ed., chapter 15; Greenland and Robins (1985),
    Biometrics 41, 55-68; infinitesimal jackknife: Efron (1982), The Jackknife, chapter 6 (all from memory).

    Examples
    --------
    >>> found = rate_ratio(Spent([[15.0]], [[1000.0]]), Spent([[5.0]], [[1000.0]]))
    >>> [round(x, 2) for x in (found.value, found.lower, found.upper)]
    [3.0, 1.09, 8.25]
    """
    from scipy.special import stdtrit

    tail = (1 - check_share(conf, "confidence")) / 2
    mine, other = _checked(here), _checked(there)
    if mine.deaths.shape != other.deaths.shape:
        raise InvalidRecord("deaths here and there need the same clusters and strata")
    all_ = _Totals.of(mine, other)
    up, down = float(all_.here @ (all_.there_time / all_.whole)), float(all_.there @ all_.share)
    if not (up and down):
        return _exact(all_, tail)
    ships = float(stdtrit(max(mine.deaths.shape[0] - 1, 1), 1 - tail))
    reach = max(
        two_sided_z(conf) * math.sqrt(_variance(all_)), ships * math.sqrt(_clustered_variance(mine, other, all_))
    )
    return Estimate(up / down, up / down * math.exp(-reach), up / down * math.exp(reach))


def _checked(spent: Spent) -> Spent:
    deaths, time = (np.asarray(part, dtype=np.float64) for part in (spent.deaths, spent.time))
    if deaths.ndim != 2 or deaths.shape != time.shape or np.any(deaths < 0) or np.any(time < 0):
        raise InvalidRecord("deaths and time need a row a cluster and a column a stratum, none negative")
    return Spent(deaths, time)


@dataclass(frozen=True)
class _Totals:
    """Deaths and time of all clusters together, by stratum, and the share of each stratum's time that was here."""

    here: Floats
    here_time: Floats
    there: Floats
    there_time: Floats
    share: Floats
    whole: Floats  # never 0: a stratum without time has no deaths that could count

    @classmethod
    def of(cls, here: Spent, there: Spent) -> _Totals:
        a, mine, d, other = (part.sum(axis=0) for part in (here.deaths, here.time, there.deaths, there.time))
        both = (mine > 0) & (other > 0)
        whole = np.where(both, mine + other, 1.0)
        return cls(a * both, mine * both, d * both, other * both, mine * both / whole, whole)


def _variance(all_: _Totals) -> float:
    """Of the log ratio, were every death its own."""
    up, down = all_.here @ (all_.there_time / all_.whole), all_.there @ all_.share
    return float((all_.here + all_.there) @ (all_.share * all_.there_time / all_.whole) / (up * down))


def _clustered_variance(here: Spent, there: Spent, all_: _Totals) -> float:
    """Of the log ratio, from how far the weight of each cluster moves it (infinitesimal jackknife)."""
    count = here.deaths.shape[0]
    if count < 2:
        return 0.0
    away = all_.there_time / all_.whole
    moved = (here.time * away - there.time * all_.share) / all_.whole  # of the share of time that was here
    up, down = all_.here @ away, all_.there @ all_.share
    moves = (here.deaths @ away - moved @ all_.here) / up - (there.deaths @ all_.share + moved @ all_.there) / down
    return float(count / (count - 1) * np.sum(moves**2))


def _exact(all_: _Totals, tail: float) -> Estimate:
    """Limits where all deaths came on one side: of so many, each would fall on the other by its share of the time."""
    deaths = all_.here + all_.there
    if not deaths.sum():
        return Estimate(None, None, None)
    odds = float(deaths @ (all_.there_time / all_.whole) / (deaths @ all_.share))
    least = tail ** (1 / float(deaths.sum()))  # the side that has all of them has at least this share
    if all_.here.sum():
        return Estimate(None, odds * least / (1 - least), None)
    return Estimate(0.0, 0.0, odds * (1 - least) / least)
