"""The steps of one ship's salvage, made from her own positions and from what was in them when she sank."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from maintain.records.salvage import LOOK
from maintain.services.battle_day.aboard import Place
from maintain.services.salvage.care import care_of
from maintain.services.salvage.order import CAUSE, FIRST, LAST, MINUTES, RINSE, Act

BENCH = "bench"
LATER = {"24 h": 1, "7 days": 7}  # topics of the retests, and after how many days (common practice, no source)
TRIED_AFTER = {"24 h": "a day later", "7 days": "a week later"}

# What current spoils first is seen to first.
_URGENT = ("receiver", "speed controller", "servo", "switch", "wiring", "motor", "pump", "battery")


@dataclass(frozen=True)
class Question:
    """
    A step that will be asked.

    Attributes
    ----------
    place : Place, optional
        None: the ship, or her box, as a whole.
    after_days : int, optional
        Not before so many days after she sank; of a salvage begun late, after it was begun.
    """

    topic: str
    text: str
    place: Place | None = None
    after_days: int | None = None


@dataclass(frozen=True)
class Sinking:
    """What is known of a sinking before anybody asks: the kind of water, and whether cause and minutes are told."""

    water: str
    timed: bool
    explained: bool


def questions(places: Sequence[Place], sinking: Sinking) -> tuple[Question, ...]:
    """All steps after a sinking, in their order; parts that current spoils first are looked at first."""
    known = {MINUTES: sinking.timed, CAUSE: sinking.explained, RINSE: sinking.water == "fresh"}
    parts = sorted((each for each in places if each.part_id is not None), key=_urgency)
    return (
        *_acts([act for act in FIRST if not known.get(act.name)], places),
        *(Question(LOOK, f"{_named(each)}: dry, damp, or water in it?", each) for each in parts),
        *(
            Question(BENCH, f"{_named(each)}: tried alone, does it work?", each)
            for each in parts
            if _care(each) is not None
        ),
        *_acts([act for act in LAST if not known.get(act.name)], places),
        *(
            Question(topic, f"{_named(each)}: tried again {TRIED_AFTER[topic]}, does it work?", each, days)
            for topic, days in LATER.items()
            for each in parts
            if _care(each) is not None
        ),
    )


def inside(places: Sequence[Place], act: Act) -> str:
    """Names of the positions an act is about."""
    picked = [each.name for each in places if act.picks is not None and act.picks(each)]
    return ", ".join(picked) if picked else act.name


def _acts(acts: Sequence[Act], places: Sequence[Place]) -> Iterator[Question]:
    for act in acts:
        without = act.goes_with is not None and not any(each.system == act.goes_with for each in places)
        nowhere = act.picks is not None and not act.always and not any(act.picks(each) for each in places)
        if not places or not (without or nowhere):
            yield Question(act.name, act.asks.format(where=inside(places, act)))


def _named(place: Place) -> str:
    return f"{place.name} ({place.tag})"


def _urgency(place: Place) -> tuple[int, str]:
    rank = next((number for number, category in enumerate(_URGENT) if place.is_a(category)), len(_URGENT))
    return rank, place.name


def _care(place: Place) -> str | None:
    return care_of(next(iter(place.kinds), None)).test
