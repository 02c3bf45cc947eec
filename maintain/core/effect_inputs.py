"""What goes into a regression, checked: lives that failed, covariates that say something, clusters that differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.at_risk import Codes, Observed, codes_of, observed
from maintain.core.covariates import Covariates, covariates_of, redundant
from maintain.core.cox import partial_likelihood, risk_sets
from maintain.core.effect_words import redundancy_words
from maintain.core.lives import Floats, Lives
from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotEnoughData


@dataclass(frozen=True)
class Inputs:
    """
    What a hazard regression rests on.

    Attributes
    ----------
    seen : Observed
    layers : array of int, or None
        Strata.
    groups : array of int, or None
        Clusters, if there are at least two.
    clusters : int or None
        How many.
    kept : Covariates
        Those of which something can be said.
    left_out : tuple of str
    cautions : list of str
    """

    seen: Observed
    layers: Codes | None
    groups: Codes | None
    clusters: int | None
    kept: Covariates
    left_out: tuple[str, ...]
    cautions: list[str]


def hazard_inputs(
    lives: Lives, covariates: Mapping[str, ArrayLike], strata: ArrayLike | None, cluster: ArrayLike | None
) -> Inputs:
    """Check what a hazard regression is given; a covariate counts as far as it varies among those at risk."""
    need_failures(lives)
    seen = observed(lives)
    layers = None if strata is None else codes_of(strata, lives.n, "stratum")[1]
    groups, clusters = clusters_of(cluster, lives.n)
    given = checked(covariates, lives.n)
    everyone = risk_sets(seen, given.table, layers)
    information = partial_likelihood(everyone, np.zeros(len(given.names))).information
    kept, cautions = without_redundant(given, information, np.full(len(given.names), float(everyone.events)))
    left_out = tuple(name for name in given.names if name not in kept.names)
    return Inputs(seen, layers, groups, clusters, kept, left_out, cautions)


def need_failures(lives: Lives) -> None:
    """Refuse lives of which none has failed."""
    if not lives.failures:
        raise NotEnoughData(
            f"no failure among {count(lives.n, 'life')}: no effect can be seen yet", hint="wait for failures"
        )


def checked(covariates: Mapping[str, ArrayLike], n: int) -> Covariates:
    """Return the covariates as a table of `n` rows."""
    given = covariates_of(covariates)
    if given.table.shape[0] != n:
        raise InvalidRecord(f"{n} lives need {n} values of each covariate, got {given.table.shape[0]}")
    return given


def without_redundant(given: Covariates, gram: Floats, size: Floats) -> tuple[Covariates, list[str]]:
    """Return the covariates of which something can be said, and why it cannot of the others."""
    bad = redundant(given.names, gram, size)
    kept = given.take([place for place, name in enumerate(given.names) if name not in bad])
    words = redundancy_words(bad)
    if not kept.names:
        raise NotEnoughData(f"no effect can be seen: {'; '.join(words)}", hint="choose covariates that vary")
    return kept, words


def clusters_of(cluster: ArrayLike | None, n: int) -> tuple[Codes | None, int | None]:
    """Return what rows share, if it differs among them, and how many clusters there are."""
    if cluster is None:
        return None, None
    names, groups = codes_of(cluster, n, "cluster")
    return groups if len(names) > 1 else None, len(names)
