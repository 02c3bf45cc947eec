"""What readings are held against: the club's own limits, else those of common practice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from maintain.errors import InvalidRecord
from maintain.records import find, readings
from maintain.records import tables as t
from maintain.records.usual_limits import LIMITS, FirstShare
from maintain.results.base import Column, Done, Listing
from maintain.results.battle_day import Limit
from maintain.services.battle_day.figures import sensible
from maintain.services.unit import Desk, reading, writing
from maintain.vocabulary import GAUGED, MEASURES, SITUATED, many

_OF_FIRST = "% of the first"


@dataclass(frozen=True)
class Rules:
    """
    All limits of a club, by what they are of.

    Attributes
    ----------
    own : dict
        By measure, family and category; neither: wherever nothing closer is said.
    """

    own: dict[tuple[str, int | None, str | None], Limit | FirstShare]

    def rule(self, measure: str, family_id: int | None, category: str | None) -> Limit | FirstShare | None:
        """The closest: of the family, of its category, the club's for all, else common practice."""
        closest = ((measure, family_id, None), (measure, None, category), (measure, None, None))
        return next((self.own[key] for key in closest if key in self.own), LIMITS.get(measure))

    def limit(self, measure: str, of: tuple[int | None, str | None], first: float | None) -> Limit | None:
        """The limit in the measure's unit; `of` family and category, `first` the first reading of the part."""
        found = self.rule(measure, *of)
        return found.of(first, MEASURES[measure]) if isinstance(found, FirstShare) else found


def rules(connection: sa.Connection) -> Rules:
    """The limits as they are set."""
    return Rules({(row.measure, row.family_id, row.category): _rule(row) for row in readings.limits(connection)})


def _rule(row: Any) -> Limit | FirstShare:
    if row.percent_of_first:
        return FirstShare(row.bound, row.value, row.source)
    return Limit(row.bound, row.value, MEASURES[row.measure], row.source)


def limit_of(connection: sa.Connection, measure: str, part_id: int | None, position_id: int | None) -> Limit | None:
    """What a figure is held against, of a part or of the part in a position."""
    known = rules(connection)
    if part_id is None:
        return known.limit(measure, (None, None), None)
    family = readings.family_of(connection, part_id)
    where = position_id if measure in SITUATED else None
    return known.limit(measure, (family.id, family.category), readings.first_value(connection, measure, part_id, where))


@dataclass(frozen=True)
class Setting:
    """
    A limit to be set or taken back.

    Attributes
    ----------
    measure : str
    family, category : str, optional
        At most one of them; neither: wherever nothing closer is said.
    at_most, at_least : float, optional
        One of them, unless it is taken back.
    of_first : bool
        The value is in per cent of the part's first reading.
    source : str, optional
        Who says so; needed unless it is taken back.
    remove : bool
    """

    measure: str
    family: str | None = None
    category: str | None = None
    at_most: float | None = None
    at_least: float | None = None
    of_first: bool = False
    source: str | None = None
    remove: bool = False


def set_limit(desk: Desk, setting: Setting) -> Done:
    """Set the limit of a measure, or take it back."""
    if setting.family is not None and setting.category is not None:
        raise InvalidRecord("a limit is of a family or of a category", hint="give --family or --category, not both")
    facts = None if setting.remove else _facts(setting)
    with writing(desk, "reading limit") as recorder:
        connection = recorder.connection
        family = find.family(connection, setting.family) if setting.family else None
        of = {"measure": setting.measure, "family_id": family.id if family else None, "category": setting.category}
        keys = [t.reading_limit.c[name] == value for name, value in of.items() if value is not None]
        empty = [t.reading_limit.c[name].is_(None) for name, value in of.items() if value is None]
        there = connection.execute(sa.select(t.reading_limit).where(*keys, *empty)).one_or_none()
        name = f"{setting.measure}{_of_what(family.name if family else None, setting.category)}"
        if facts is None:
            if there is None:
                raise InvalidRecord(f"the club set no limit for {name}", hint="see: maintain reading limits")
            recorder.delete(t.reading_limit, there.id)
            did = f"{name}: limit taken back"
        else:
            if there is None:
                recorder.insert(t.reading_limit, **of, **facts)
            else:
                recorder.update(t.reading_limit, there.id, **facts)
            unit = _OF_FIRST if setting.of_first else MEASURES[setting.measure]
            did = f"{name}: {facts['bound']} {facts['value']:g} {unit} ({facts['source']})"
        recorder.summarise(did)
    return Done(did, record={"of": name, **(facts or {})})


def _facts(setting: Setting) -> dict[str, Any]:
    """The columns of a limit that was asked for."""
    if (setting.at_most is None) == (setting.at_least is None):
        raise InvalidRecord("which way does it bind?", hint="give --at-most or --at-least")
    if setting.source is None or not setting.source.strip():
        raise InvalidRecord("who says so?", hint="add --source, for example 'club rule' or 'printed on the pack'")
    bound, value = ("at most", setting.at_most) if setting.at_least is None else ("at least", setting.at_least)
    assert value is not None
    if setting.of_first:
        if not 0 < value <= 1000:
            raise InvalidRecord(f"{value:g} % of the first reading is no limit", hint="write for example 80")
    else:
        sensible(value, setting.measure)
    return {"bound": bound, "value": value, "percent_of_first": setting.of_first, "source": setting.source}


def _of_what(family: str | None, category: str | None) -> str:
    if family is not None:
        return f" of {family}"
    return f" of {many(category)}" if category is not None else ""


_COLUMNS = (
    Column("measure", "Measure"),
    Column("of", "Of"),
    Column("bound", "Bound"),
    Column("value", "Value", numeric=True),
    Column("unit", "Unit"),
    Column("source", "Who says so"),
    Column("set_by", "Set by"),
)


def listing(desk: Desk) -> Listing:
    """What each measure is held against: the club's own first, then common practice."""
    with reading(desk) as connection:
        own = readings.limits(connection)
    rows = []
    for measure in GAUGED:
        mine = [row for row in own if row.measure == measure]
        rows += [_row(measure, row.family or (row.category and many(row.category)), _rule(row), "club") for row in mine]
        everywhere = any(row.family_id is None and row.category is None for row in mine)
        if measure in LIMITS and not everywhere:
            rows.append(_row(measure, "others" if mine else None, LIMITS[measure], "common practice"))
    told = {row["measure"] for row in rows}
    without = ", ".join(measure for measure in GAUGED if measure not in told)
    footer = (f"nobody set a limit for: {without}",) if without else ()
    return Listing("What readings are held against", _COLUMNS, tuple(rows), footer)


def _row(measure: str, of: str | None, rule: Limit | FirstShare, set_by: str) -> dict[str, Any]:
    unit = _OF_FIRST if isinstance(rule, FirstShare) else MEASURES[measure]
    value = rule.percent if isinstance(rule, FirstShare) else rule.value
    return {
        "measure": measure, "of": of or "all", "bound": rule.bound, "value": value, "unit": unit,
        "source": rule.source, "set_by": set_by,
    }  # fmt: skip
