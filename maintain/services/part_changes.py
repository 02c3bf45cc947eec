"""Correct what is recorded of a part: its facts, since when it has been in a place, when it was last waterproofed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Done
from maintain.services import changes, placements
from maintain.services.parts import require_there
from maintain.services.placements import Moment, Timing
from maintain.services.unit import Desk, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class Dates:
    """
    The dates that are to be different; None stays.

    Attributes
    ----------
    since : Timing, optional
        When it came to a place.
    place : int, optional
        Which of its places, as `maintain part show` lists them from 1; None: the last.
    acquired, treated : When, optional
        When it was bought, and when its last treatment was done.
    """

    since: Timing | None = None
    place: int | None = None
    acquired: When | None = None
    treated: When | None = None


def change(desk: Desk, *, part: str, facts: dict[str, Any], dates: Dates) -> Done:
    """Change facts and dates of a part; those that are None stay as they are."""
    with writing(desk, "part change") as recorder:
        row = find.part(recorder.connection, part)
        said = []
        if dates.since is not None:
            said.append(_start(recorder, row, dates.since, dates.place, desk.today))
        if dates.acquired is not None:
            said.append(_bought(recorder, row, placements.not_future(dates.acquired, desk.today)))
        if dates.treated is not None:
            said.append(_treated(recorder, row, placements.not_future(dates.treated, desk.today)))
        if facts.get("made_on") is not None:
            placements.not_future(When(facts["made_on"]), desk.today)
        facts = _with_earlier_use(row, facts)
        if not said or any(value is not None for value in facts.values()):
            new = changes.differing(row, row.tag, facts)
            recorder.update(t.part, row.id, **new)
            said.append(changes.told(row, new))
        _require_order(recorder.connection, row.id)
        did = f"changed {row.tag}: {', '.join(said)}"
        recorder.summarise(did)
    return Done(did, record={"part": row.tag})


def _with_earlier_use(part: Row, facts: dict[str, Any]) -> dict[str, Any]:
    """What another origin says of earlier use, unless that is said itself: a new part has none, else it's unknown."""
    origin, use = facts["origin"] or part.origin, facts["prior_use"]
    if use == "none" and origin != "new":
        raise InvalidRecord(
            f"{part.tag} is of origin '{origin}': it can't be known to be unused", hint="add --origin new, if it was"
        )
    if use is None and facts["origin"] not in (None, part.origin):
        return {**facts, "prior_use": "none" if origin == "new" else "unknown"}
    return facts


def _start(recorder: Recorder, part: Row, timing: Timing, number: int | None, today: date) -> str:
    """Move the start of a place, and with it the end of the place before, if the part came straight from there."""
    history = places.of_part(recorder.connection, part.id)
    if not 1 <= (number or 1) <= len(history):
        raise InvalidRecord(
            f"{part.tag} has {len(history)} places on record", hint=f"see: maintain part show {quoted(part.tag)}"
        )
    at = (number or len(history)) - 1
    row, before = history[at], history[at - 1] if at else None
    joined = before is not None and (before.until_on, before.until_sortie) == (row.from_on, row.from_sortie)
    moment = _bent(row, before, joined, _moment(recorder.connection, row, before, timing, today))
    _require_room(recorder.connection, row, before if joined else None, moment)
    start = {"from_on": moment.when.on, "from_sortie": moment.sortie, "from_precision": moment.when.precision}
    end = {"until_on": moment.when.on, "until_sortie": moment.sortie, "until_precision": moment.when.precision}
    steps = [(row.id, start)] + ([(before.id, end)] if before is not None and joined else [])
    if moment.key < (row.from_on, row.from_sortie):  # the place that gives way comes first: no two may overlap
        steps.reverse()
    for row_id, values in steps:
        recorder.update(t.placement, row_id, **values)
    old = Moment(placements.start_of(row), row.from_sortie)
    if str(old) == str(moment):
        raise InvalidRecord(f"{part.tag} is {places.being(row)} since {old} already", hint="give another day")
    return f"{places.being(row)} since {old} to {moment}"


def _moment(connection: sa.Connection, row: Row, before: Row | None, timing: Timing, today: date) -> Moment:
    if row.position_id is not None:
        return placements.fitting_moment(connection, row.position_id, timing, today)
    if timing.before_records:
        raise InvalidRecord(
            "only what was fitted can have been so before the records", hint="give a day, month or year"
        )
    return placements.leaving_moment(connection, before.ship_id if before is not None else None, timing, today)


def _bent(row: Row, before: Row | None, joined: bool, moment: Moment) -> Moment:
    """The moment, as far as it is known only roughly, between the place before and the end of this one."""
    low = None
    if before is not None:
        low = (before.from_on, before.from_sortie) if joined else (before.until_on, before.until_sortie)
        if moment.when.precision == "before records" and joined:
            raise InvalidRecord(
                f"{row.tag} was {places.being(before)} before: the end of that needs a date",
                hint="give the day, month or year",
            )
    found = moment if low is None else moment.no_earlier_than(*low)
    if found is None:
        assert before is not None
        raise InvalidRecord(
            f"{row.tag} was {places.being(before)} from {placements.start_of(before)}: it can't have come "
            f"{_towards(row)} on {moment}",
            hint=f"change that place first, with --place: maintain part show {quoted(row.tag)} counts them",
        )
    if row.until_on is not None:
        found = Moment(found.when.no_later_than(row.until_on), found.sortie)
        if found.key > (row.until_on, row.until_sortie):
            raise InvalidRecord(
                f"{row.tag} was {places.being(row)} until {When(row.until_on, row.until_precision)}: "
                f"it can't have come there on {moment}",
                hint="give an earlier day",
            )
    return found


def _towards(row: Row) -> str:
    return f"to {places.spoken(row)}" if row.place == "installed" else f"to be {places.being(row)}"


def _require_room(connection: sa.Connection, row: Row, before: Row | None, moment: Moment) -> None:
    """Refuse a start that would put two parts in one position, or a failure where its part was not."""
    old = (row.from_on, row.from_sortie)
    for stay, first, last in ((row, moment.key, old), (before, old, moment.key)):
        if stay is None or stay.position_id is None or first >= last:
            continue
        for other in places.of_position(connection, stay.position_id):
            ends = None if other.until_on is None else (other.until_on, other.until_sortie)
            if other.id != stay.id and (other.from_on, other.from_sortie) < last and (ends is None or ends > first):
                raise InvalidRecord(
                    f"{places.spoken(other)} held {other.tag} from {placements.start_of(other)}"
                    + ("" if ends is None else f" to {Moment(When(other.until_on), other.until_sortie)}"),
                    hint=f"change that first: maintain part change {quoted(other.tag)} --from WHEN",
                )
    for stay, first, last in ((row, old, moment.key), (before, moment.key, old)):
        if stay is not None and first < last:
            _require_no_failure(connection, stay, first, last, until_last=stay is before)


def _require_no_failure(
    connection: sa.Connection, stay: Row, first: tuple[date, int], last: tuple[date, int], *, until_last: bool
) -> None:
    """Refuse to take from a place the time in which the part failed there."""
    failure = t.failure.c
    query = sa.select(t.failure).where(
        failure.part_id == stay.part_id, failure.position_id.is_not_distinct_from(stay.position_id)
    )
    for row in connection.execute(query):
        found = (row.found_on, row.found_sortie)
        if first < found <= last if until_last else first <= found < last:
            raise InvalidRecord(
                f"{stay.tag} failed {places.being(stay)} on {Moment(When(row.found_on), row.found_sortie)}",
                hint=f"correct that first: maintain failure correct {row.id} --found DATE",
            )


def _bought(recorder: Recorder, part: Row, when: When) -> str:
    """Set the day it was bought; where it has lain since then begins with it."""
    first = next(iter(places.of_part(recorder.connection, part.id)), None)
    old = "unknown" if part.acquired_on is None else str(When(part.acquired_on, part.acquired_precision))
    lay = first is not None and first.place in ("pool", "captain") and part.acquired_on in (None, first.from_on)
    if first is not None and lay:
        bent = when if first.until_on is None else when.no_later_than(first.until_on)
        if first.until_on is None or bent.on <= first.until_on:
            start = {"from_on": bent.on, "from_sortie": 0, "from_precision": bent.precision}
            recorder.update(t.placement, first.id, **start)
    elif first is not None:
        when = when.no_later_than(first.from_on)
    recorder.update(t.part, part.id, acquired_on=when.on, acquired_precision=when.precision)
    return f"acquired {old} to {when}"


def _treated(recorder: Recorder, part: Row, when: When) -> str:
    done = t.treatment.c
    query = sa.select(t.treatment, t.method.c.name.label("method")).join(t.method).where(done.part_id == part.id)
    rows = recorder.connection.execute(query.order_by(done.done_on.desc(), done.id.desc()).limit(2)).all()
    if not rows:
        raise InvalidRecord(f"nothing is recorded to have been done against water to {part.tag}", hint=_TREAT)
    last, before = rows[0], rows[1] if len(rows) > 1 else None
    if before is not None and when.latest < before.done_on:
        raise InvalidRecord(
            f"{part.tag}: {before.method} was {before.kind} {When(before.done_on, before.done_precision)}, before that",
            hint="give that day or later",
        )
    require_there(recorder.connection, part, when)
    recorder.update(t.treatment, last.id, done_on=when.on, done_precision=when.precision)
    return f"{last.method} {last.kind} {When(last.done_on, last.done_precision)} to {when}"


_TREAT = "record it with: maintain part treat"


def _require_order(connection: sa.Connection, part_id: int) -> None:
    """Made, bought, first in a place: in that order, as far as the dates are known."""
    part = connection.execute(sa.select(t.part).where(t.part.c.id == part_id)).one()
    first = next(iter(places.of_part(connection, part_id)), None)
    bought = None if part.acquired_on is None else When(part.acquired_on, part.acquired_precision)
    if bought is not None and part.made_on is not None and bought.latest < part.made_on:
        raise InvalidRecord(f"{part.tag} can't have been bought {bought} and made {part.made_on}", hint="mend --made")
    if bought is not None and first is not None and first.from_on < (bought.earliest or first.from_on):
        raise InvalidRecord(
            f"{part.tag} was {places.being(first)} from {placements.start_of(first)}, but bought {bought}",
            hint="change the other date with it: --from and --acquired",
        )
