"""What can be done for a ship tonight, and by how much each of it raises her odds."""

from __future__ import annotations

from collections.abc import Iterator

from maintain.results.deeds import Deed
from maintain.services.evening import by_what_it_buys
from maintain.services.odds import ShipOdds
from maintain.services.prospects import Prospect

BEST = 3  # things to do tonight
RUN_MINUTES = 10  # to run everything of a ship once (common practice, no source)
_DOING = {"replace": "replace it", "test": "test it by demand"}
_RUNNING = (
    "what has died unnoticed since it last ran is found at the bench and not at the pond; mending it takes its own time"
)


def deeds(odds: ShipOdds) -> list[Deed]:
    """Work that raises her odds, what buys most first; each is told as if nothing else were done."""
    before = odds.odds(odds.structure.fails).value
    if before is None:
        return []
    return best_first([*_run(odds, before), *_on_parts(odds, before)])


def best_first(found: list[Deed]) -> list[Deed]:
    """In order of what they buy."""
    return sorted(found, key=lambda deed: by_what_it_buys(deed.gain, deed.failing or 0.0))


def _run(odds: ShipOdds, before: float) -> Iterator[Deed]:
    """Run everything once, where that buys anything."""
    gain = odds.gain_of_running
    if gain > 0:
        yield Deed(
            ship=odds.ship,
            action="run everything once",
            position=None,
            part=None,
            family=None,
            failing=None,
            why=_RUNNING,
            before=before,
            after=before + gain,
            minutes=RUN_MINUTES,
        )


def _on_parts(odds: ShipOdds, before: float) -> Iterator[Deed]:
    for place, part, gain in zip(odds.structure.places, odds.parts, odds.gains.tolist(), strict=True):
        if part is not None and gain > 0:
            yield _on_part(odds.ship, place.name, part, (before, before + gain))


def _on_part(ship: str, position: str, part: Prospect, odds: tuple[float, float]) -> Deed:
    before, after = odds
    return Deed(
        ship=ship,
        action=_DOING[part.advice.kind],
        position=position,
        part=part.tag,
        family=part.labels["family"],
        failing=part.failing.value,
        why=part.advice.why,
        before=before,
        after=after,
        minutes=part.minutes,
    )
