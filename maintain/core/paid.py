"""What counted pieces cost that left a shelf, the oldest going out first."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Price:
    """
    What some pieces cost.

    Attributes
    ----------
    cents : int
        Of those whose price is known.
    unpriced : int
        Pieces whose price nobody knows; they are not in `cents`.
    """

    cents: int = 0
    unpriced: int = 0

    def __add__(self, other: Price) -> Price:
        """Both together."""
        return Price(self.cents + other.cents, self.unpriced + other.unpriced)


def priced(pieces: int, unit_cents: int | None) -> Price:
    """
    So many pieces at one price; None: nobody knows it.

    Examples
    --------
    >>> priced(3, 250), priced(3, None)
    (Price(cents=750, unpriced=0), Price(cents=0, unpriced=3))
    """
    return Price(0, pieces) if unit_cents is None else Price(pieces * unit_cents, 0)


class Shelf:
    """
    The pieces of one family, each lot at what was paid for it.

    Parameters
    ----------
    usual_cents : int, optional
        The price of a piece for which none was noted.

    Examples
    --------
    >>> shelf = Shelf(usual_cents=40)
    >>> shelf.put(2, 30)
    >>> shelf.put(5, None)
    >>> shelf.take(3)
    Price(cents=100, unpriced=0)
    """

    def __init__(self, usual_cents: int | None) -> None:
        self._usual = usual_cents
        self._lots: deque[tuple[int, int | None]] = deque()

    def put(self, pieces: int, unit_cents: int | None) -> None:
        """Lay pieces behind those that are there."""
        self._lots.append((pieces, self._usual if unit_cents is None else unit_cents))

    def take(self, pieces: int) -> Price:
        """Take the oldest; what the shelf lacks by the records costs what is usual."""
        found: list[Price] = []
        while pieces and self._lots:
            held, unit = self._lots.popleft()
            taken = min(held, pieces)
            found.append(priced(taken, unit))
            pieces -= taken
            if held > taken:
                self._lots.appendleft((held - taken, unit))
        return in_all([*found, priced(pieces, self._usual)])


def in_all(prices: Iterable[Price]) -> Price:
    """
    The sum of prices.

    Examples
    --------
    >>> in_all([Price(100, 0), Price(0, 2)])
    Price(cents=100, unpriced=2)
    """
    return sum(prices, Price())
