"""What a reader must know before trusting effects, in plain sentences."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from maintain.core.at_risk import Codes
from maintain.core.covariates import Covariates, centred
from maintain.core.cox_residuals import Proportionality
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


def separation_words(names: tuple[str, ...], endless: Bools, *, clustered: bool) -> list[str]:
    """Say which effects have no finite plain estimate."""
    blamed = ", ".join(name for name, bad in zip(names, endless, strict=True) if bad)
    found = [
        f"{blamed}: on one side nothing has failed, so no finite ratio fits; this is Firth's penalised answer, "
        "drawn towards no effect, and its interval is open where the data set no bound"
    ]
    if clustered:
        found.append("the penalised answer takes rows as independent: its intervals are too narrow if ships differ")
    return found


def cluster_words(groups: Codes | None) -> list[str]:
    """Warn of robust errors from few clusters."""
    count = 0 if groups is None else int(groups.max()) + 1
    if groups is None or count >= FEW_CLUSTERS:
        return []
    return [f"errors rest on {count} clusters; below {FEW_CLUSTERS} they are too small by a fifth or more"]


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
