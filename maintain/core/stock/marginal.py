"""The best use of money: buy first what saves most for each coin, and a proof of how far that can be from the best."""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Floats
from maintain.errors import InvalidRecord


@dataclass(frozen=True)
class Item:
    """
    Something to buy pieces of.

    Attributes
    ----------
    cost : float
        Of one piece, more than 0.
    losses : array, shape = (most + 1,)
        What is lost with 0, 1, ... `most` pieces more than held; never rising.
    """

    cost: float
    losses: Floats


@dataclass(frozen=True)
class Step:
    """
    The next thing to buy.

    Attributes
    ----------
    item : int
        Place in the list of items.
    pieces : int
        One, but where a second piece saves more than the first, and only both together are worth their money.
    cost : float
        Of these pieces.
    spent, loss : float
        After it, in all.
    """

    item: int
    pieces: int
    cost: float
    spent: float
    loss: float


@dataclass(frozen=True)
class Purchase:
    """
    What to buy for a budget.

    Attributes
    ----------
    pieces : tuple of int
        Of each item.
    spent, loss : float
    least_loss : float
        No purchase within the budget can lose less.
    """

    pieces: tuple[int, ...]
    spent: float
    loss: float
    least_loss: float


def frontier(items: Sequence[Item]) -> Iterator[Step]:
    """
    Buy, again and again, what saves most for its cost, until nothing saves any more.

    Where every further piece saves less than the one before (expected shortages do so), the loss after each step is
    the least that can be had for what is spent by then. Otherwise steps follow the lower convex hull, of which the
    same is true.

    Raises
    ------
    InvalidRecord
        If a cost is not more than 0, or a loss rises or is missing.

    References
    ----------
    Fox (1966), Management Science 13, 210-216; Sherbrooke (2004), Optimal Inventory Modeling of Systems, chapter 2.

    Examples
    --------
    >>> dear, cheap = Item(5.0, np.array([1.0, 0.4, 0.2])), Item(1.0, np.array([0.5, 0.2, 0.15]))
    >>> [(step.item, step.spent, round(step.loss, 2)) for step in frontier([dear, cheap])]
    [(1, 1.0, 1.2), (0, 6.0, 0.6), (1, 7.0, 0.55), (0, 12.0, 0.35)]
    """
    corners = [_corners(each) for each in items]
    waiting = [(-_worth(items[n], hull, 0), n, 0) for n, hull in enumerate(corners) if len(hull) > 1]
    heapq.heapify(waiting)
    spent, loss = 0.0, float(sum(each.losses[0] for each in items))
    while waiting:
        _, number, corner = heapq.heappop(waiting)
        item, hull = items[number], corners[number]
        pieces = hull[corner + 1] - hull[corner]
        spent += pieces * item.cost
        loss -= float(item.losses[hull[corner]] - item.losses[hull[corner + 1]])
        yield Step(number, pieces, pieces * item.cost, spent, loss)
        if corner + 2 < len(hull):
            heapq.heappush(waiting, (-_worth(item, hull, corner + 1), number, corner + 1))


def _worth(item: Item, hull: list[int], corner: int) -> float:
    """What the next step of an item saves for each coin."""
    begin, end = hull[corner], hull[corner + 1]
    return float(item.losses[begin] - item.losses[end]) / (item.cost * (end - begin))


def _corners(item: Item) -> list[int]:
    """Numbers of pieces at the corners of the lower convex hull of the losses, as far as they fall."""
    losses = np.asarray(item.losses, dtype=np.float64)
    if not item.cost > 0 or losses.size == 0 or not np.all(np.diff(losses) <= 1e-12 * max(1.0, abs(losses[0]))):
        raise InvalidRecord("pieces to buy need a cost above 0, and losses that never rise")
    hull = [0]
    for pieces in range(1, losses.size):
        while len(hull) > 1 and _turns_up(losses, hull[-2], hull[-1], pieces):
            hull.pop()
        hull.append(pieces)
    while len(hull) > 1 and losses[hull[-2]] <= losses[hull[-1]]:
        hull.pop()
    return hull


def _turns_up(losses: Floats, first: int, second: int, third: int) -> bool:
    """True if the second lies above the line from the first to the third."""
    saved = (losses[first] - losses[second]) * (third - first)
    return bool(saved < (losses[first] - losses[third]) * (second - first))


def best_use(items: Sequence[Item], budget: float) -> Purchase:
    """
    Spend a budget: along the frontier as far as it goes, then whatever still fits.

    What the last step that no longer fits would save, taken in part, bounds what any other purchase could save.

    Raises
    ------
    InvalidRecord
        If the budget is negative, or as `frontier`.

    References
    ----------
    Dantzig (1957), Operations Research 5, 266-277 (the bound of the divisible knapsack).
    """
    if not budget >= 0:
        raise InvalidRecord(f"a budget cannot be {budget:g}")
    pieces = [0] * len(items)
    spent, before = 0.0, float(sum(each.losses[0] for each in items))
    loss, least, full = before, None, set()
    for step in frontier(items):
        saved, before = before - step.loss, step.loss
        if step.item not in full and spent + step.cost <= budget * (1 + 1e-12):
            pieces[step.item] += step.pieces
            spent, loss = spent + step.cost, loss - saved
            continue
        if least is None:
            least = loss - saved * (budget - spent) / step.cost
        full.add(step.item)
    return Purchase(tuple(pieces), spent, loss, loss if least is None else least)
