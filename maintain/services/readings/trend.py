"""Readings against age: what they tell of a part, a position, a ship or the whole fleet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

import sqlalchemy as sa

from maintain.core import orifice
from maintain.errors import InvalidRecord, NotFound
from maintain.records import find
from maintain.results.life_source import Exclusion
from maintain.results.readings import VERDICTS, HolesCarried, PumpFlow, ReadingTrend, Series
from maintain.services.readings.judge import CONF, judged
from maintain.services.readings.limits import rules
from maintain.services.readings.stretches import Omitted, Stretch, stretches
from maintain.services.unit import Desk, reading

HOLES_MM = (4.5, 6.4)  # the balls of the fast and of the large-calibre formats
DEPTH_MM = 25.0
_FLOWS = "pump seconds per litre"
_GAS = ("regulator creep", "downstream pressure", "bottle weight")
_GAS_CAUTION = (
    "gas: shut the bottle, bleed and pull the pins before anything is opened; the technical officer decides on "
    "pressure, a licensed inspector on the bottle"
)


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    of : str, optional
        A part, a position or a ship; None: all that is in use.
    measure : str, optional
    conf : float
        Confidence of intervals.
    holes_mm : tuple of float
        Diameters of holes a pump is held against.
    depth_mm : float
        How deep they are.
    """

    of: str | None = None
    measure: str | None = None
    conf: float = CONF
    holes_mm: tuple[float, ...] = HOLES_MM
    depth_mm: float = DEPTH_MM


def trend(desk: Desk, question: Question) -> ReadingTrend:
    """What readings tell, the most pressing first."""
    if not 0.5 <= question.conf < 1:
        raise InvalidRecord(f"--conf {question.conf:g} is no confidence", hint="write for example 0.95")
    inflows = {mm: orifice.inflow_litres_per_minute(mm, question.depth_mm) for mm in question.holes_mm}
    with reading(desk) as connection:
        known, found = rules(connection), stretches(connection, desk.today)
        name, closely, asked = _asked(connection, question.of, desk.today)
    every, omitted = found
    chosen = [each for each in every if asked(each) and question.measure in (None, each.measure)]
    left = [each for each in omitted if asked(each) and question.measure in (None, each.measure)]
    series = [_with_flow(judged(each, known, desk.today, question.conf), inflows, question.depth_mm) for each in chosen]
    series.sort(key=_pressing)
    return ReadingTrend(
        of=name,
        closely=closely,
        on=desk.today,
        conf=question.conf,
        series=tuple(series),
        excluded=_excluded(left, sum(len(each.points) for each in chosen)),
        cautions=(_GAS_CAUTION,) if any(each.measure in _GAS for each in series) else (),
        notes=(*_former(every, asked, question), *_of_flow(series, question)),
    )


def _excluded(left: list[Omitted], kept: int) -> tuple[Exclusion, ...]:
    """Readings left out, by the reason."""
    names: dict[str, list[str]] = {}
    for each in left:
        names.setdefault(each.why, []).append(each.name)
    total = len(left) + kept
    return tuple(Exclusion(why, len(each), total, tuple(dict.fromkeys(each))[:3]) for why, each in names.items())


_Asked = Callable[[Stretch | Omitted], bool]


def _asked(connection: sa.Connection, text: str | None, today: date) -> tuple[str | None, bool, _Asked]:
    """The name of what is asked for, whether it is one thing, and which readings are of it."""
    if text is None:
        return None, False, lambda each: each.current
    if "/" in text:
        position = find.position(connection, text)
        inside = find.installed_in(connection, position.id, today)
        part_id = inside.id if inside else None
        name = f"{position.ship}/{position.name}"
        return name, True, lambda each: each.where.position_id == position.id or (
            part_id is not None and each.part_id == part_id
        )  # fmt: skip
    try:
        part = find.part(connection, text)
    except NotFound as no_part:
        try:
            ship = find.ship(connection, text)
        except NotFound:
            raise NotFound(f"no part or ship called {text!r}", hint=no_part.hint) from None
        return ship.name, False, lambda each: each.current and each.where.ship_id == ship.id
    return part.tag, True, lambda each: each.part_id == part.id


def _with_flow(series: Series, inflows: dict[float, float], depth_mm: float) -> Series:
    """A pump with what it throws, and the holes it carries by that."""
    if series.measure != _FLOWS:
        return series

    def carried(flow: float) -> tuple[HolesCarried, ...]:
        return tuple(
            HolesCarried(mm, depth_mm, inflow, orifice.holes_carried(flow, inflow)) for mm, inflow in inflows.items()
        )

    flow = orifice.flow_litres_per_minute(series.readings[-1].value)
    at_limit = (
        carried(orifice.flow_litres_per_minute(series.limit.value)) if series.limit and series.limit.value else ()
    )
    return replace(series, flow=PumpFlow(flow, carried(flow), at_limit))


def _pressing(series: Series) -> tuple[bool, int, date, str, str]:
    meets = series.meets.on if series.meets and series.meets.on else date.max
    return not series.current, VERDICTS.index(series.verdict), meets, series.name, series.measure


def _former(every: list[Stretch], asked: _Asked, question: Question) -> tuple[str, ...]:
    """Readings of what is in use no more, where only the rest is shown."""
    former = [each for each in every if not each.current and question.measure in (None, each.measure)]
    if question.of is not None or not former or any(asked(each) for each in former):
        return ()
    n = sum(len(each.points) for each in former)
    return (f"{n} readings are of parts swapped, or of before a motor was changed, since: name a position to see them",)


def _of_flow(series: list[Series], question: Question) -> tuple[str, ...]:
    if not any(each.flow for each in series):
        return ()
    return (
        f"holes {question.depth_mm:g} mm below the waterline, round and clear ({orifice.SOURCE}); the pump as it was "
        "measured: full battery, clear inlet, hose of that day",
    )
