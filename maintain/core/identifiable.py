"""Can these lives say anything about a model? Asked before fitting: a search would return nonsense without a word."""

from __future__ import annotations

import numpy as np

from maintain.core.lives import Lives
from maintain.core.models import Model
from maintain.core.wording import count
from maintain.errors import NotEnoughData

BOUND_HINT = "a lower bound on the mean life can still be given"


def check_identifiable(lives: Lives, model: Model) -> None:
    """
    Refuse lives to which the likelihood of `model` has no maximum.

    Parameters
    ----------
    lives : Lives
    model : Model

    Raises
    ------
    NotEnoughData
        If there is no life or no failure; if nothing is known to have worked for any time; or, for a model with a
        shape, if all lives could have failed at one moment, so that an endless shape fits best.
    """
    if lives.n == 0:
        raise NotEnoughData("no lives, no fit", hint="record installations and failures first", lives=0, failures=0)
    if lives.failures == 0:
        raise NotEnoughData(
            f"no failure among {count(lives.n, 'life')}: there is nothing to fit",
            hint=BOUND_HINT,
            lives=lives.n,
            failures=0,
        )
    if not np.any(np.maximum(lives.lower, lives.entry) > lives.entry):
        raise NotEnoughData(
            f"none of {lives.n} lives is known to have worked for any time at all",
            hint="record when each part was last known to work",
            lives=lives.n,
            failures=lives.failures,
        )
    if model.free > 1 and lives.lower.max() <= lives.upper.min():
        raise NotEnoughData(_one_moment(lives, model), hint=_moment_hint(lives), lives=lives.n, failures=lives.failures)


def no_maximum(lives: Lives, model: Model) -> NotEnoughData:
    """Return the error for lives that turn out, in the search, to fit ever better towards an impossible law."""
    return NotEnoughData(
        f"{lives.failures} failures among {lives.n} lives do not settle the parameters of a {model.name} law",
        hint="fit the exponential, or wait for more failures",
        lives=lives.n,
        failures=lives.failures,
    )


def _one_moment(lives: Lives, model: Model) -> str:
    if lives.failures == 1:
        return (
            f"1 failure among {count(lives.n, 'life')} and none seen working later: the {model.name} has no best shape"
        )
    return f"all {lives.failures} failures could have come at one moment: the {model.name} has no best shape"


def _moment_hint(lives: Lives) -> str:
    return (
        "fit the exponential, or assume a shape and ask for the bound it gives"
        if lives.failures == 1
        else "record the failures more finely, or fit the exponential"
    )
