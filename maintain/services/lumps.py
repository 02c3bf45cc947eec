"""How lumpy demand has been in the club's battles, against how lumpy it is forecast to be."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from maintain.records.cover import Row
from maintain.results.outlook import Interval
from maintain.results.spares import Lumps
from maintain.services.demand import Called

_FEWEST = 5  # parts called for, and battles beyond one a year, below which a variance says nothing


def lumps(battles: Sequence[Row], called: Sequence[Called], level: float) -> Lumps | None:
    """
    Compare variances over means: of past battles beyond what their sorties explain, and of the forecast.

    The forecast's holds what is not known as well as what comes in lumps.
    """
    sailed = [row for row in battles if row.sorties]
    forecast = np.sum([each.counts[-1] for each in called], axis=0) if called else np.zeros(1)
    if not sailed or forecast.mean() == 0:
        return None
    calls = sum(row.calls for row in sailed)
    return Lumps(len(sailed), calls, _past(sailed, level), float(forecast.var() / forecast.mean()))


def _past(sailed: Sequence[Row], level: float) -> Interval | None:
    """
    Pearson's statistic over its degrees of freedom, with chi-square limits; None if too little is on record.

    Every year has a rate of its own for each sortie: a fleet grows old, and that is no lump.

    References
    ----------
    McCullagh and Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2.
    """
    from scipy.stats import chi2

    calls = np.array([row.calls for row in sailed], dtype=np.float64)
    sorties = np.array([row.sorties for row in sailed], dtype=np.float64)
    _, year = np.unique([row.from_on.year for row in sailed], return_inverse=True)
    expected = (np.bincount(year, calls) / np.bincount(year, sorties))[year] * sorties
    told = expected > 0
    free = int(np.sum(told)) - np.unique(year[told]).size
    if min(calls.sum(), free) < _FEWEST:
        return None
    statistic = float(np.sum((calls[told] - expected[told]) ** 2 / expected[told]))
    lower, upper = (statistic / float(chi2.ppf(chance, free)) for chance in ((1 + level) / 2, (1 - level) / 2))
    return Interval(statistic / free, lower, upper)
