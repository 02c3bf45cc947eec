"""What a reader must know before trusting effects, in plain sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from maintain.core.covariates import Covariates, centred
from maintain.core.cox_residuals import Proportionality
from maintain.core.effect import Effect
from maintain.core.lives import Bools, Lives
from maintain.core.log_rank import FEW_CLUSTERS

# Below ten failures a covariate, estimates and intervals grow unreliable (Peduzzi et al. 1995, J. Clin. Epidemiol.
# 48, 1503-1510).
FAILURES_PER_COVARIATE = 10
INFLATION = 10.0  # of a variance by the other covariates; beyond it effects can hardly be told apart


def redundancy_words(redundant: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Say why each redundant covariate is left out."""
    return [
        f"{name} left out: {'it is settled by ' + ' and '.join(by) if by else 'it never varies where it could count'}"
        for name, by in redundant.items()
    ]


def separation_words(
    given: Covariates, endless: Bools, failed: Bools, effects: Sequence[Effect], *, clustered: bool
) -> list[str]:
    """
    Say which effects have no finite plain estimate, and what in the lives makes it so.

    Parameters
    ----------
    given : Covariates
    endless : array of bool, shape = (p,)
    failed : array of bool, shape = (n,)
    effects : sequence of Effect, one per column
        The penalised ones; their sign tells on which side the failures are.
    clustered : bool
    """
    places = np.flatnonzero(endless).tolist()
    whose = "; ".join(dict.fromkeys(_one_sided(given, k, failed, effects[k].coef > 0) for k in places))
    found = [
        f"{whose}: no finite ratio fits that. This is Firth's penalised answer, drawn towards no effect; a limit stays "
        "open where the lives set none"
    ]
    if clustered:
        found.append(
            "its limits are widened by as much more as failures differ between clusters than they would by chance: a "
            "rough allowance"
        )
    return found


def _one_sided(given: Covariates, place: int, failed: Bools, more: bool) -> str:
    """Say of a group, or of a number, how it parts what failed from what did not."""
    name, factor, column = given.names[place], given.factors[place], given.table[:, place]
    low, *higher = np.unique(column).tolist()
    if len(higher) > 1:
        return (
            f"{name}: of lives otherwise alike, those with the {'most' if more else 'least'} of it always failed first"
        )
    failing = set(np.unique(column[failed]).tolist())
    if name == factor:
        sides = [f"nothing has failed where {name} is {side:g}" for side in (low, higher[0]) if side not in failing]
    else:
        own = [k for k, each in enumerate(given.factors) if each == factor]
        spared = not np.any(failed & ~given.table[:, own].any(axis=1))
        sides = [f"nothing has failed in {name}"] if higher[0] not in failing else []
        sides += [f"nothing has failed in {factor}: {dict(given.references)[factor]}"] if spared else []
    return sides[0] if sides else f"{name}: of lives otherwise alike and at risk together, only one side failed"


def cluster_words(count: int | None, lonely: tuple[str, ...] = ()) -> list[str]:
    """
    Say how errors were had from few clusters.

    Parameters
    ----------
    count : int, optional
        Clusters.
    lonely : tuple of str
        Covariates of which only one cluster tells.
    """
    if count is None:
        return []
    if count == 1:
        return ["all lives share one cluster: limits know nothing of how clusters differ"]
    found = []
    if count < FEW_CLUSTERS:
        found.append(f"only {count} clusters: limits and p come from leaving out each in turn (jackknife, Student's t)")
    if lonely:
        found.append(
            f"only one cluster tells of {' and '.join(lonely)}: the limits there know nothing of how clusters differ"
        )
    return found


def size_words(lives: Lives, covariates: Covariates) -> list[str]:
    """Warn of few failures, and of covariates that nearly say the same."""
    found, count = [], len(covariates.names)
    if lives.failures < FAILURES_PER_COVARIATE * count:
        found.append(
            f"{lives.failures} failures for {count} covariate{'s' if count > 1 else ''}: fewer than "
            f"{FAILURES_PER_COVARIATE} each, take ratios and intervals as rough"
        )
    return found + _entangled(covariates)


def _entangled(covariates: Covariates) -> list[str]:
    if len(covariates.names) < 2:
        return []
    table = centred(covariates.table)
    table = table / np.linalg.norm(table, axis=0)
    inflation = np.diag(np.linalg.pinv(table.T @ table, hermitian=True))
    found = [name for name, factor in zip(covariates.names, inflation.tolist(), strict=True) if factor > INFLATION]
    return (
        [f"{' and '.join(found)} go together so closely that their effects can hardly be told apart"] if found else []
    )


def advice(tests: tuple[Proportionality, ...], level: float) -> list[str]:
    """
    Say what to do about covariates whose effect changes as parts age.

    Parameters
    ----------
    tests : tuple of Proportionality
        One a covariate, and "all".
    level : float
        p below which a test counts.
    """
    found = [
        f"{test.name}: its hazard ratio {'rises' if test.grows else 'falls'} as parts age (p = {test.p:.2g}); the one "
        "given is an average over ages: compare within its groups as strata, split life into early and late, or use "
        "an accelerated-life model"
        for test in tests[:-1]
        if test.p < level
    ]
    if not found and tests and tests[-1].p < level:
        found.append(
            f"taken together the ratios change as parts age (p = {tests[-1].p:.2g}); no single covariate shows it"
        )
    return found
