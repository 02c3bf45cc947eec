"""The questions of one ship's morning, made from her own positions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from maintain.services.battle_day.aboard import Place
from maintain.services.battle_day.morning import MORNING, OTHER, Topic

_LAST = ("gas function", OTHER)  # asked of what no other question is about


@dataclass(frozen=True)
class Question:
    """
    A question, the position it stands under, and all whose work it shows.

    Attributes
    ----------
    place : Place, optional
        None: the ship as a whole.
    covers : tuple of Place
        With `place`; a pass shows that all of them work.
    """

    topic: Topic
    text: str
    place: Place | None = None
    covers: tuple[Place, ...] = ()


def questions(places: Sequence[Place]) -> tuple[Question, ...]:
    """
    All questions of a ship, in the order of the morning.

    Of a ship whose positions nobody recorded everything is asked once, as of a whole.
    """
    if not places:
        return tuple(_of_the_ship(topic) for topic in MORNING if topic.name not in _LAST)
    asked = {topic.name: _asked(topic, places) for topic in MORNING if topic.name not in _LAST}
    told = {place.id for each in asked.values() for question in each for place in question.covers}
    left = [place for place in places if place.id not in told]
    return tuple(
        question
        for topic in MORNING
        for question in (asked[topic.name] if topic.name in asked else _asked(topic, left))
    )


def covered(places: Sequence[Place], topic: str, position_id: int | None) -> tuple[Place, ...]:
    """All positions whose work a passed question shows, as the ship is now."""
    found = (each for each in questions(places) if each.topic.name == topic and each.place is not None)
    mine = next((each.covers for each in found if each.place is not None and each.place.id == position_id), None)
    return mine if mine is not None else tuple(each for each in places if each.id == position_id)


def _asked(topic: Topic, places: Sequence[Place]) -> tuple[Question, ...]:
    if topic.goes_with is not None and not any(each.system == topic.goes_with for each in places):
        return ()
    picked = [] if topic.picks is None else [each for each in places if topic.picks(each)]
    if not picked:
        return (_of_the_ship(topic),) if topic.always or topic.picks is None else ()
    return tuple(
        Question(topic, topic.asks.format(where=_where(topic, group)), group[0], group)
        for group in _groups(topic, picked, places)
    )


def _of_the_ship(topic: Topic) -> Question:
    return Question(topic, topic.asks.format(where=topic.name))


def _groups(topic: Topic, picked: Sequence[Place], places: Sequence[Place]) -> Iterable[tuple[Place, ...]]:
    """Positions that one question is about, the one it stands under first."""
    if topic.together:
        return [tuple(picked)]
    if topic.name == "gun":
        return _guns(picked)
    if topic.name == "pump" and len(picked) == 1:
        driven = [each for each in places if each.system == "pumping" and _drives_the_pump(each)]
        return [(picked[0], *(each for each in driven if each.id != picked[0].id))]
    return [(each,) for each in picked]


def _drives_the_pump(place: Place) -> bool:
    return (place.is_a("motor") or place.is_a("switch")) and "float" not in place.name.lower()


def _guns(picked: Sequence[Place]) -> Iterable[tuple[Place, ...]]:
    """Servo and valve of one gun go together: gun-1-servo and gun-1-valve; the servo's channel comes first."""
    guns: dict[str, list[Place]] = {}
    for place in picked:
        guns.setdefault(place.name.rpartition("-")[0] or place.name, []).append(place)
    return [tuple(sorted(each, key=lambda place: not place.is_a("servo"))) for each in guns.values()]


def _where(topic: Topic, group: Sequence[Place]) -> str:
    others = "" if len(group) == 1 or topic.together else f" with {', '.join(each.name for each in group[1:])}"
    return f"{group[0].spoken}{others}"
