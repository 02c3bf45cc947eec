"""Holdings that suffice together: the chance that no family runs out, over draws in which all have the same luck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.stock.demand import require_service
from maintain.core.stock.marginal import Item, frontier


@dataclass(frozen=True)
class Together:
    """
    Holdings of several families.

    Attributes
    ----------
    holdings : tuple of int
    chance : float
        That none of them runs out.
    """

    holdings: tuple[int, ...]
    chance: float


def chance_together(counts: NDArray[np.int64], holdings: Sequence[int]) -> float:
    """
    Chance that no family runs out.

    Parameters
    ----------
    counts : array of int, shape = (n_draws, n_families)
        Calls, drawn together: one sinking calls for several families at once, so chances must not be multiplied.
    holdings : sequence of int
    """
    return float(np.mean(np.all(counts <= np.asarray(holdings), axis=1)))


def hold_together(counts: NDArray[np.int64], held: Sequence[int], costs: Sequence[float], service: float) -> Together:
    """
    Add the cheapest pieces, as far as can be told, until no family runs out with the chance asked for.

    Pieces come in the order of what they add to the logarithm of the chance for each coin, family by family; how far
    to go is judged on the draws themselves, in which families share their luck, and what turns out not to be needed
    is then left out, the dearest first.

    Parameters
    ----------
    counts : array of int, shape = (n_draws, n_families)
    held : sequence of int
        What is there already.
    costs : sequence of float
        Of one piece of each.
    service : float

    Raises
    ------
    InvalidRecord
        If `service` does not lie between 0 and 1.

    References
    ----------
    Fox (1966), Management Science 13, 210-216, on the product of chances; Sherbrooke (2004), chapter 2.
    """
    require_service(service)
    holdings = [int(each) for each in held]
    items = [Item(cost, _unlikely(counts[:, n], holdings[n])) for n, cost in enumerate(costs)]
    short = np.sum(counts > np.asarray(holdings), axis=1)
    steps = frontier(items)
    while np.mean(short == 0) < service:
        step = next(steps)
        calls = counts[:, step.item]
        upto = holdings[step.item] + step.pieces
        short -= (calls > holdings[step.item]) & (calls <= upto)
        holdings[step.item] = upto
    for number in np.argsort(costs, kind="stable")[::-1].tolist():
        while holdings[number] > held[number]:
            more = counts[:, number] == holdings[number]
            if np.mean((short == 0) & ~more) < service:
                break
            short += more
            holdings[number] -= 1
    return Together(tuple(holdings), float(np.mean(short == 0)))


def _unlikely(calls: NDArray[np.int64], held: int) -> Floats:
    """Minus the logarithm of the chance that a family suffices, with 0, 1, ... more; never below half a draw."""
    enough = np.cumsum(np.bincount(calls, minlength=held + 1))[held:] / calls.size
    found: Floats = -np.log(np.maximum(enough, 0.5 / calls.size))
    return found


def chance_limits(enough: NDArray[np.bool_], level: float) -> tuple[float, float]:
    """
    Limits of a chance that is not known exactly, from draws of luck within draws of belief.

    Parameters
    ----------
    enough : array of bool, shape = (n_beliefs, n_repeats)
        True where, in one stroke of luck, nothing ran out.
    level : float

    Returns
    -------
    lower, upper : float
        Equal-tailed limits over the beliefs; what the repeats add by being few is taken out of the spread.
    """
    found = enough.mean(axis=1)
    middle, seen = float(found.mean()), float(found.var())
    by_luck = float(np.mean(found * (1 - found)) / max(enough.shape[1] - 1, 1))
    shrunk = middle + (found - middle) * np.sqrt(max(seen - by_luck, 0.0) / seen if seen else 0.0)
    low, high = np.quantile(shrunk, [(1 - level) / 2, (1 + level) / 2])
    return float(low), float(high)
