"""What must fail before a whole fails: failures joined by "any of", "all of" and "at least so many of"."""

from __future__ import annotations

from dataclasses import dataclass

from maintain.errors import InvalidRecord


@dataclass(frozen=True)
class AtLeast:
    """
    Happens when at least `count` of `events` happen; the same component may stand in several of them.

    Attributes
    ----------
    count : int
        1: any of them; as many as there are events: all of them. 0 happens always, more than there are never.
    events : tuple of Event
        Further combinations, or components by number (column of the chances): the component fails.

    References
    ----------
    IEC 61025 (fault trees) and IEC 61078 (block diagrams) name these gates OR, AND and vote.
    """

    count: int
    events: tuple[Event, ...]


Event = int | AtLeast
NEVER = AtLeast(1, ())


def any_of(*events: Event) -> Event:
    """Happens when any of the events does: parts in series fail so."""
    return events[0] if len(events) == 1 else AtLeast(1, events)


def all_of(*events: Event) -> Event:
    """Happens when all of the events do: parts that stand in for each other fail so."""
    return events[0] if len(events) == 1 else AtLeast(len(events), events)


def fewer_work_than(needed: int, events: tuple[Event, ...]) -> Event:
    """
    Happens when fewer than `needed` of a bank are left working.

    Raises
    ------
    InvalidRecord
        If more are needed than there are.

    Examples
    --------
    >>> fewer_work_than(1, (0, 1, 2))  # three guns of which one must fire
    AtLeast(count=3, events=(0, 1, 2))
    """
    if needed > len(events):
        raise InvalidRecord(f"{needed} of {len(events)} can't be needed", needed=needed, of=len(events))
    return AtLeast(len(events) - needed + 1, events)


def components(event: Event) -> tuple[int, ...]:
    """Every component an event rests on, once, in the order first met."""
    if isinstance(event, int):
        return (event,)
    return tuple(dict.fromkeys(each for part in event.events for each in components(part)))
