"""What readings tell: the line through them, and when it meets its limit."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from maintain.core.reading_line import (
    Crossing,
    Limits,
    ReadingLine,
    crossing,
    fit_line,
    line_at,
    reading_at,
    slope_limits,
)
from maintain.errors import NotEnoughData
from maintain.results.battle_day import Limit
from maintain.results.life import Figure
from maintain.results.readings import Line, LinePoint, Meets, Series
from maintain.services.readings.limits import Rules
from maintain.services.readings.stretches import Stretch
from maintain.services.readings.words import SPAN_DAYS, few_told, told
from maintain.vocabulary import MEASURES

CONF = 0.95
_FAR_DAYS = 36_525
_STEPS = 24  # of a drawn line


def judged(stretch: Stretch, rules: Rules, today: date, conf: float = CONF) -> Series:
    """What the readings of a stretch tell on a day."""
    limit = rules.limit(stretch.measure, stretch.of, stretch.first)
    try:
        line, lacking = _fit(stretch, conf), ""
    except NotEnoughData as error:
        line, lacking = None, error.message
    age = (today - stretch.since).days if stretch.current else stretch.points[-1].age_days
    ahead = (
        crossing(line, limit.value, at_most=limit.bound == "at most") if line and limit and stretch.current else None
    )
    meets = _meets(stretch, ahead, line, limit, age)
    verdict = _verdict(stretch, limit, ahead, age)
    return Series(
        measure=stretch.measure,
        unit=MEASURES[stretch.measure],
        part=stretch.part,
        ship=stretch.where.ship,
        position=stretch.where.position,
        current=stretch.current,
        since=stretch.since,
        because=stretch.because,
        readings=stretch.points,
        limit=limit,
        line=_drawn(line, stretch, age, ahead) if line else None,
        verdict=verdict,
        meets=meets,
        told=told(stretch, verdict, limit, line, meets) if line else few_told(stretch, verdict, limit, lacking),
    )


def _fit(stretch: Stretch, conf: float) -> ReadingLine:
    values = [each.value for each in stretch.points]
    return fit_line([each.age_days for each in stretch.points], values, conf, rounded_to=_last_digit(values))


def _last_digit(values: list[float]) -> float:
    """The last digit to which somebody noted values: 17.5 and 18 are noted to 0.1."""
    exponents = [Decimal(str(value)).normalize().as_tuple().exponent for value in values]
    return float(10.0 ** min(0, *(int(each) for each in exponents)))


def _verdict(stretch: Stretch, limit: Limit | None, ahead: Crossing | None, age: int) -> str:
    if not stretch.current:
        return "former"
    if limit is None:
        return "no limit"
    if not limit.kept_by(stretch.points[-1].value):
        return "beyond"
    if ahead is None:
        return "too few"
    if ahead.age is not None and ahead.age <= age:
        return "crossed"
    return "heads for it" if ahead.heads == "for it" else ahead.heads


def _meets(
    stretch: Stretch, ahead: Crossing | None, line: ReadingLine | None, limit: Limit | None, age: int
) -> Meets | None:
    """Ages as days; where it can't be told, only how early it may be, if that is still to come."""
    if ahead is None or line is None or limit is None or ahead.heads == "away from it":
        return None
    if ahead.age is not None:
        return Meets(_day(stretch, ahead.age), _day(stretch, ahead.earliest), _day(stretch, ahead.latest))
    within = limit.kept_by(line_at(line, age).value)
    earliest = ahead.earliest if ahead.earliest is not None and ahead.earliest > age and within else None
    return Meets(None, _day(stretch, earliest), None)


def _day(stretch: Stretch, age: float | None) -> date | None:
    if age is None or abs(age) > _FAR_DAYS:
        return None
    return stretch.since + timedelta(days=round(age))


def _drawn(line: ReadingLine, stretch: Stretch, age: int, ahead: Crossing | None) -> Line:
    first, span = stretch.points[0].age_days, max(age - stretch.points[0].age_days, 1)
    soon = ahead.age if ahead and ahead.age is not None and age < ahead.age <= age + span else age
    last = max(soon, first + 1)
    ages = [first + (last - first) * step / _STEPS for step in range(_STEPS + 1)]
    slope = slope_limits(line)
    return Line(
        per_100_days=Figure(*(SPAN_DAYS * each for each in (slope.value, slope.lower, slope.upper))),
        scatter=line.scatter,
        today=_figure(line_at(line, age)),
        next_reading=_figure(reading_at(line, age)),
        drawn=tuple(LinePoint(each, *vars(line_at(line, each)).values()) for each in ages),
    )


def _figure(found: Limits) -> Figure:
    return Figure(found.value, found.lower, found.upper)
