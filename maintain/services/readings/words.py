"""What readings tell, in a sentence."""

from __future__ import annotations

from maintain.core.reading_line import ReadingLine, slope_limits
from maintain.core.wording import count
from maintain.results.battle_day import Limit
from maintain.results.readings import Meets
from maintain.services.readings.stretches import Stretch
from maintain.vocabulary import MEASURES

SPAN_DAYS = 100  # over which a change is told


def few_told(stretch: Stretch, verdict: str, limit: Limit | None, lacking: str) -> str:
    """Of readings through which no line can be drawn."""
    return _beyond(stretch, limit) if verdict == "beyond" and limit else f"can't tell yet: {lacking}"


def told(stretch: Stretch, verdict: str, limit: Limit | None, line: ReadingLine, meets: Meets | None) -> str:
    """Of readings with a line, and perhaps a limit."""
    unit, last = MEASURES[stretch.measure], stretch.points[-1]
    moves = _moves(line, unit)
    if verdict == "former":
        return moves
    if limit is None:
        return f"{moves}; nobody set a limit"
    bound = f"{limit.value:.4g} {unit}"
    early = f"; it does not meet {bound} before {meets.earliest}" if meets and meets.earliest else ""
    keeps = f"though {last.value:g} {unit} on {last.taken_on} keeps it"
    return {
        "beyond": _beyond(stretch, limit) + ("" if _may_be_level(line) else f"; {moves}"),
        "away from it": f"{moves}: away from its limit of {bound}",
        "can't tell": f"can't tell yet: {moves}{early}",
        "crossed": f"{moves}; its line met {_when(bound, meets)}, {keeps}",
        "heads for it": f"{moves}; its line meets {_when(bound, meets)}",
    }[verdict]


def _beyond(stretch: Stretch, limit: Limit) -> str:
    last = stretch.points[-1]
    return f"{last.value:g} {limit.unit} on {last.taken_on} is not {limit.bound} {limit.value:.4g} {limit.unit}"


def _may_be_level(line: ReadingLine) -> bool:
    slope = slope_limits(line)
    return slope.lower <= 0 <= slope.upper


def _moves(line: ReadingLine, unit: str) -> str:
    """How much it changes, and after how many readings that is said."""
    slope = slope_limits(line)
    lower, value, upper = (
        f"{SPAN_DAYS * each:+.2g}".replace("-", "−") for each in (slope.lower, slope.value, slope.upper)
    )
    way = "rises or falls" if _may_be_level(line) else "rises" if slope.value > 0 else "falls"
    return f"{way}, {value} {unit} in {SPAN_DAYS} days (from {lower} to {upper}; {count(line.n, 'reading')})"


def _when(bound: str, meets: Meets | None) -> str:
    if meets is None or meets.on is None:
        return f"{bound}, but not within a hundred years"
    interval = f"{meets.earliest} or later" if meets.latest is None else f"{meets.earliest} to {meets.latest}"
    return f"{bound} about {meets.on} ({interval})"
