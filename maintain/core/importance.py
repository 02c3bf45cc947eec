"""Which component matters how much to the chance that the whole fails."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.decision_diagram import checked_chances, diagram
from maintain.core.lives import Floats
from maintain.core.structure import Event, all_of, any_of


@dataclass(frozen=True)
class Importance:
    """
    Importance of every component; arrays of shape (..., n_components), NaN where the event can't happen.

    Attributes
    ----------
    birnbaum : array
        By how much the event gets likelier when the component goes from working to failed.
    criticality : array
        Chance that the component has failed and is decisive, given that the event happened.
    fussell_vesely : array
        Chance that a minimal cut set with the component has failed, given that the event happened.
    """

    birnbaum: Floats
    criticality: Floats
    fussell_vesely: Floats


def importance(event: Event, failing: ArrayLike) -> Importance:
    """
    Measure every component of an event.

    Parameters
    ----------
    event : Event
    failing : array, shape = (..., n_components)

    References
    ----------
    Fussell (1975), IEEE Transactions on Reliability R-24, 169-174; Rausand and Hoyland (2004), System Reliability
    Theory, 2nd edition, chapter 5 (from memory).
    """
    whole = diagram(event)
    q = checked_chances(failing, whole.asks)
    top = whole.chance(q)[..., None]
    birnbaum = whole.birnbaum(q)
    exact = np.zeros(q.shape)
    for each in sorted({one for cut in whole.cut_sets for one in cut}):
        mine = tuple(cut for cut in whole.cut_sets if each in cut)
        exact[..., each] = diagram(any_of(*(all_of(*cut) for cut in mine))).chance(q)
    with np.errstate(invalid="ignore", divide="ignore"):
        return Importance(birnbaum, birnbaum * q / top, exact / top)
