"""The exact chance of a failure made of failures: a binary decision diagram, in which repeated parts count once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from maintain.core.lives import Floats
from maintain.core.structure import Event, components
from maintain.errors import InvalidRecord

_NO, _YES = 0, 1  # the two ends of every path: the event does not happen, or it does
CutSets = tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Diagram:
    """
    A failure as a chain of questions "has this component failed?", each component asked at most once on a path.

    Attributes
    ----------
    asks : tuple of int
        Component each node asks for; nodes 0 and 1 are the ends and ask for none (-1). Every node comes after those
        it leads to.
    if_failed, if_works : tuple of int
        Node to go on with.
    top : int
        Node to begin with.

    References
    ----------
    Bryant (1986), IEEE Transactions on Computers C-35, 677-691; Rauzy (1993), Reliability Engineering and System
    Safety 40, 203-211.
    """

    asks: tuple[int, ...]
    if_failed: tuple[int, ...]
    if_works: tuple[int, ...]
    top: int

    def chance(self, failing: ArrayLike) -> Floats:
        """
        Chance that the event happens.

        Parameters
        ----------
        failing : array, shape = (..., n_components)
            Chance that each component fails, independently of the others.

        Returns
        -------
        array, shape = (...)
        """
        found: Floats = self._values(checked_chances(failing, self.asks))[self.top]
        return found

    def birnbaum(self, failing: ArrayLike) -> Floats:
        """
        By how much the chance of the event rises when a component goes from working to failed.

        Returns
        -------
        array, shape = (..., n_components)

        References
        ----------
        Birnbaum (1969), in Krishnaiah (ed.), Multivariate Analysis II, 581-592.
        """
        q = checked_chances(failing, self.asks)
        value = self._values(q)
        reached = [np.zeros(q.shape[:-1]) for _ in self.asks]
        reached[self.top] = np.ones(q.shape[:-1])
        gain = np.zeros(q.shape)
        for node in range(len(self.asks) - 1, _YES, -1):
            each, failed, works = self.asks[node], self.if_failed[node], self.if_works[node]
            gain[..., each] += reached[node] * (value[failed] - value[works])
            reached[failed] = reached[failed] + reached[node] * q[..., each]
            reached[works] = reached[works] + reached[node] * (1 - q[..., each])
        return gain

    @cached_property
    def cut_sets(self) -> CutSets:
        """Smallest sets of components whose failure brings the event about, short ones first."""
        sets: list[frozenset[frozenset[int]]] = [frozenset(), frozenset({frozenset()})]
        for node in range(2, len(self.asks)):
            without = sets[self.if_works[node]]
            needing = {
                each | {self.asks[node]}
                for each in sets[self.if_failed[node]]
                if not any(other <= each for other in without)
            }
            sets.append(without | frozenset(needing))
        return tuple(sorted((tuple(sorted(each)) for each in sets[self.top]), key=lambda each: (len(each), each)))

    def _values(self, q: Floats) -> list[Floats]:
        value = [np.zeros(q.shape[:-1]), np.ones(q.shape[:-1])]
        for node in range(2, len(self.asks)):
            fails = q[..., self.asks[node]]
            value.append(fails * value[self.if_failed[node]] + (1 - fails) * value[self.if_works[node]])
        return value


@lru_cache(maxsize=1024)  # ships of one kind share their diagrams
def diagram(event: Event) -> Diagram:
    """
    Turn a failure into its diagram; components are asked for in the order in which they are first met.

    Examples
    --------
    >>> from maintain.core.structure import AtLeast
    >>> float(diagram(AtLeast(2, (0, 1, 2))).chance([0.1, 0.1, 0.1]).round(6))  # two of three at 0.9 work with 0.972
    0.028
    """
    return _Builder(components(event)).built(event)


def checked_chances(failing: ArrayLike, asked: tuple[int, ...]) -> Floats:
    """
    Refuse what is no chance for each component.

    Raises
    ------
    InvalidRecord
        If a chance is missing or outside 0 to 1, or there are too few.
    """
    q = np.asarray(failing, dtype=np.float64)
    needed = max(asked, default=-1) + 1
    if q.ndim == 0 or q.shape[-1] < needed:
        raise InvalidRecord(f"chances are given for too few components: {needed} are needed", needed=needed)
    if not np.all((q >= 0) & (q <= 1)):
        raise InvalidRecord("a chance of failing is missing or not between 0 and 1")
    return q


class _Builder:
    """Nodes made so far, each shape once."""

    def __init__(self, order: tuple[int, ...]) -> None:
        self._order = order
        self._rank = {each: place for place, each in enumerate(order)}
        self._nodes: list[tuple[int, int, int]] = [(-1, _NO, _NO), (-1, _YES, _YES)]
        self._known: dict[tuple[int, int, int], int] = {}
        self._chosen: dict[tuple[int, int, int], int] = {}

    def built(self, event: Event) -> Diagram:
        top = self._of(event)
        kept = self._below(top)
        number = {old: new for new, old in enumerate(kept)}
        asks, failed, works = zip(*(self._nodes[each] for each in kept), strict=True)
        follow = [tuple(number[each] for each in side) for side in (failed, works)]
        return Diagram(asks, follow[0], follow[1], number[top])

    def _below(self, top: int) -> list[int]:
        """The ends and every node that can be reached; what was made on the way only is left out."""
        seen = {_NO, _YES, top}
        for node in range(top, _YES, -1):
            if node in seen:
                seen.update(self._nodes[node][1:])
        return sorted(seen)

    def _of(self, event: Event) -> int:
        if isinstance(event, int):
            return self._node(event, _YES, _NO)
        return self._at_least(event.count, tuple(map(self._of, event.events)))

    def _at_least(self, count: int, parts: tuple[int, ...]) -> int:
        """Dynamic programme from the last part to the first: row[k] is "at least k of the rest happen"."""
        row = [_YES] + [_NO] * max(count, 0)
        for part in reversed(parts):
            row = [_YES] + [self._if(part, row[k - 1], row[k]) for k in range(1, len(row))]
        return row[-1] if count > 0 else _YES

    def _if(self, test: int, then: int, otherwise: int) -> int:
        """The node for "then, if `test` happens, else otherwise"."""
        if test in (_NO, _YES):
            return then if test == _YES else otherwise
        if then == otherwise:
            return then
        key = (test, then, otherwise)
        if key not in self._chosen:
            asked = [self._rank[self._nodes[each][0]] for each in key if each > _YES]
            first = self._order[min(asked)]
            failed = self._if(*(self._go(each, first, 1) for each in key))
            works = self._if(*(self._go(each, first, 2) for each in key))
            self._chosen[key] = self._node(first, failed, works)
        return self._chosen[key]

    def _go(self, node: int, component: int, way: int) -> int:
        return self._nodes[node][way] if self._nodes[node][0] == component else node

    def _node(self, component: int, failed: int, works: int) -> int:
        if failed == works:
            return failed
        key = (component, failed, works)
        if key not in self._known:
            self._known[key] = len(self._nodes)
            self._nodes.append(key)
        return self._known[key]
