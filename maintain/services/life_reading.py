"""What is read off every life curve, and how far it may be believed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from maintain.core.estimate import Estimate
from maintain.core.lives import Floats
from maintain.core.second_opinion import SecondOpinion as Asked
from maintain.results.life import Figure, RestrictedMean
from maintain.results.second_opinion import SecondOpinion
from maintain.services.lives.samples import Sample

SEED = 1  # the same lives always have the same limits
EMPTIED = "all seen so young had failed, though others were seen later"


@dataclass(frozen=True)
class Reading:
    """
    What to read off the curve of every group.

    Attributes
    ----------
    times : array
    tau : float
        Limit of the restricted mean.
    conf : float
    given : float, optional
        An age: answer for the parts that worked then.
    watched_at : array
        Times at which a picture says how many were watched.
    second_opinion : bool
        Whether to put the same lives to another library.
    """

    times: Floats
    tau: float
    conf: float
    given: float | None
    watched_at: Floats
    second_opinion: bool = False


@dataclass(frozen=True)
class Sound:
    """The age until which a curve means something: all ages, unless an early risk set emptied."""

    until: float

    @classmethod
    def of(cls, emptied_at: float | None, entered: Floats) -> Sound:
        """Where most lives were seen only after it had emptied, the few before say nothing of them."""
        if emptied_at is None:
            return cls(math.inf)
        return cls(emptied_at if 2 * int(np.sum(entered < emptied_at)) >= entered.size else 0.0)

    def quantile(self, found: Estimate) -> Figure:
        """The time by which a share have failed, and its limits, as far as the curve means something."""
        told = (each if each is not None and each < self.until else None for each in vars(figure(found)).values())
        return Figure(*told)

    def restricted_mean(self, tau: float, mean: Estimate) -> RestrictedMean:
        """Mean life up to a limit, if the curve means something so far."""
        if tau >= self.until:
            return RestrictedMean(tau, None, None, None)
        if mean.lower == mean.upper:  # nothing failed before the limit: no spread to make limits from
            return RestrictedMean(tau, mean.value, None, None)
        return RestrictedMean(tau, mean.value, mean.lower, mean.upper)


def opinion(found: Asked) -> SecondOpinion:
    """What another library says, as results hold it."""
    return SecondOpinion(**vars(found), digits=found.digits)


def figure(found: Estimate) -> Figure:
    """An estimate as results hold it."""
    return Figure(found.value, found.lower, found.upper)


def emptied(first: float, last: float, watched: int) -> str:
    """Why a curve with late entries fell to nothing, and what to ask instead."""
    those = "the only one watched then" if watched == 1 else f"all {watched} watched then"
    return (
        f"few were watched so young: at {first:g} {those} failed, though others were seen later; from there the curve "
        f"is 0 and says nothing. Ask for the parts that worked at a later age: --given {last:g}"
    )


def few(one: Sample) -> list[str]:
    """Cautions where there is next to nothing to draw a curve from."""
    if one.n == 1:
        return ["one life says next to nothing of others"]
    if one.lives.failures == 0:
        return [f"none of {one.n} failed: how long they can last is not known; maintain life fit bounds it"]
    return ["one failure: the curve rests on it alone"] if one.lives.failures == 1 else []
