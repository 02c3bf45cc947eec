"""How often each ship sinks: her own record leaning on the fleet's, and the sinkings to expect in planned sorties."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from maintain.core.lives import Floats
from maintain.errors import InvalidRecord

_SPREADS = np.linspace(0.05, 0.6, 12)  # 1 / sqrt(sorties that the fleet's record weighs against a ship's own)
_NEVER = 1e-300  # a share whose log is still a number
_FURTHEST = 20.0  # logit of a share that is as good as none


@dataclass(frozen=True)
class EventShares:
    """
    Posteriors of the share of sorties with an event (a sinking, a wet sortie), one for each ship: mixtures of betas.

    Attributes
    ----------
    weight : array, shape = (n_nodes,)
        Probability of each node of what the fleet has in common.
    with_event, without : array, shape = (n_nodes, n_ships)
        Sorties with and without it, with the fleet's share.
    """

    weight: Floats
    with_event: Floats
    without: Floats

    @property
    def mean(self) -> Floats:
        """Expected share of sorties with the event."""
        return np.asarray(self.weight @ (self.with_event / (self.with_event + self.without)))

    def draw(self, rng: np.random.Generator, size: int) -> Floats:
        """Draw shares together; shape = (size, n_ships)."""
        node = rng.choice(self.weight.size, size=size, p=self.weight)
        return rng.beta(self.with_event[node], self.without[node])


def event_shares(
    events: ArrayLike, sorties: ArrayLike, expected: float = 0.5, weight_of_it: float = 1.0
) -> EventShares:
    """
    Share of each ship's sorties that had the event, shrunk to the fleet's as far as ships are alike.

    Ships' shares are beta about the fleet's; the fleet's share (a beta belief) and the weight of the fleet's record
    (uniform in one over its square root, at least 3 sorties) are averaged over a grid by what all ships' counts say of
    them. A ship that has not sailed gets the fleet's share, spread and all.

    Parameters
    ----------
    events, sorties : array-like of int, shape = (n_ships,)
    expected : float
        Share that was believed beforehand.
    weight_of_it : float
        How many sorties that belief weighs; by default it is Jeffreys' prior.

    Raises
    ------
    InvalidRecord
        If counts are negative or missing, or there are more events than sorties.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 5.3.

    Examples
    --------
    >>> event_shares([2, 9, 0], [30, 30, 0]).mean.round(2).tolist()
    [0.1, 0.27, 0.22]
    """
    from scipy.special import betaln, expit, logit

    count, sailed = np.asarray(events, dtype=np.float64), np.asarray(sorties, dtype=np.float64)
    if count.ndim != 1 or count.shape != sailed.shape or not np.all((count >= 0) & (count <= sailed)):
        raise InvalidRecord("events must be counts between 0 and the ship's sorties")
    before_with, before_without = weight_of_it * expected, weight_of_it * (1 - expected)
    total, missed = count.sum() + before_with, (sailed - count).sum() + before_without
    reach = 6 * np.sqrt(1 / total + 1 / missed + 1 / max(count.size, 1))
    steps = logit(total / (total + missed)) + np.linspace(-reach, reach, 41)
    fleet = expit(np.clip(steps, -_FURTHEST, _FURTHEST))
    worth, share = (axis.ravel()[:, None] for axis in np.meshgrid(_SPREADS**-2, fleet, indexing="ij"))
    before, after = worth * share, worth * (1 - share)
    alike, ships = np.unique(np.stack([count, sailed - count]), axis=1, return_counts=True)  # each worked out once
    log_weight = (betaln(before + alike[0], after + alike[1]) - betaln(before, after)) @ ships
    # the belief of the share, on even steps of the logit
    log_weight += (before_with * np.log(share) + before_without * np.log1p(-share))[:, 0]
    weight = np.exp(log_weight - log_weight.max())
    kept = weight > 1e-9
    return EventShares(weight[kept] / weight[kept].sum(), before[kept] + count, after[kept] + sailed - count)


def count_chances(share: Floats, planned: ArrayLike) -> Floats:
    """
    Chance of 0, 1, ... events in each ship's planned sorties, for each drawn share.

    Parameters
    ----------
    share : array, shape = (n_draws, n_ships)
    planned : array-like of int, shape = (n_ships,)

    Returns
    -------
    array, shape = (n_draws, most + 1, n_ships)
        `most` is the largest number planned; counts beyond a ship's own plan have chance 0.
    """
    from scipy.special import comb

    sorties = np.asarray(planned, dtype=np.float64)
    counts = np.arange(int(sorties.max(initial=0)) + 1)[:, None]
    # by logs: scipy's binomial fails on shares too small to be told from 0
    log_event = np.log(np.maximum(share, _NEVER))[:, None, :]
    log_none = np.log(np.maximum(1 - share, _NEVER))[:, None, :]
    each: Floats = comb(sorties, counts) * np.exp(counts * log_event + np.maximum(sorties - counts, 0) * log_none)
    return each


def draw_counts(rng: np.random.Generator, share: Floats, planned: ArrayLike) -> NDArray[np.int64]:
    """
    Draw each ship's number of events once a draw; every part aboard then lives through the same ones.

    Parameters
    ----------
    share : array, shape = (n_draws, n_ships)
    planned : array-like of int, shape = (n_ships,)

    Returns
    -------
    array of int, shape = (n_draws, n_ships)
    """
    return rng.binomial(np.asarray(planned, dtype=np.int64), share)
