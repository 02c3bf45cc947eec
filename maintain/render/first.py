"""What to do first, in one sentence, the same wherever it is asked: by law, then by what it buys, then by date."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from maintain.results.deeds import Deed
    from maintain.results.outlook import DueLine

_NAMED = 8  # in one sentence


def first(
    *, legal: list[str], missing: list[str], worth: list[str], untested: Sequence[str], tasks: tuple[int, int]
) -> str:
    """
    All there is to do, in the order it is to be done; nothing if there is nothing.

    Parameters
    ----------
    legal, missing, worth : list of str
        What to have renewed, what to fit, and what buys most, in words.
    untested : sequence of str
        Hidden functions never tested.
    tasks : tuple of int
        How many are due, and how many of them are overdue.
    """
    test = [f"test what nobody ever tested: {named(untested)}"] if untested else []
    due, late = tasks
    by_date = [f"do {count(due, 'task')}" + (f" ({late} overdue)" if late else "")] if due else []
    told = [*legal, *missing, *worth, *test, *by_date]
    return f"First: {'; '.join(told)}." if told else ""


def legal_dates(lines: Sequence[DueLine], *, by_name: bool) -> list[str]:
    """What to have renewed, by law: each by name, or how many."""
    if by_name:
        return [f"have {line.part} renewed ({line.why})" for line in lines]
    return [f"have {count(len(lines), 'legal date')} renewed"] if lines else []


def to_do(deed: Deed, *, with_ship: bool = False) -> str:
    """What to do to which part."""
    if deed.part is None:
        return deed.action + (f" on {deed.ship}" if with_ship else "")
    where = f"{deed.ship}/{deed.position}" if with_ship else deed.position
    return f"{deed.action.replace('it', deed.part, 1)} in {where}"


def named(names: Sequence[str], most: int = _NAMED) -> str:
    """Names in a row, the first of many."""
    more = len(names) - most
    return ", ".join(names) if more <= 0 else f"{', '.join(names[:most])} and {more} more"
