"""Parts: entered, fitted, taken out, treated against water, listed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.tags import free_tags
from maintain.core.when import When
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.results.base import Column, Done, Listing
from maintain.services import placements
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.salvage import to_come
from maintain.services.unit import Desk, reading, writing

Row = sa.Row[Any]


@dataclass(frozen=True)
class NewPart:
    """
    What is known of a part when it is entered; None is unknown.

    Attributes
    ----------
    family : str
    tag : str, optional
        None: the tool makes one.
    origin, prior_use : str, optional
        A part said to be new has none.
    owner : str, optional
        A member; None: the pool.
    acquired : When, optional
    made_on : date, optional
    cost_cents : int, optional
    """

    family: str
    tag: str | None = None
    model: str | None = None
    batch: str | None = None
    origin: str = "unknown"
    prior_use: str | None = None
    owner: str | None = None
    acquired: When | None = None
    made_on: date | None = None
    cost_cents: int | None = None
    note: str | None = None


class Into(NamedTuple):
    """The position a part is entered in; `anyway` says that it fits after rework."""

    where: str
    anyway: bool = False


def add(desk: Desk, *, new: NewPart, count: int, into: Into | None, timing: Timing) -> Done:
    """Enter one part or several alike; they lie with their owner unless one is said to be fitted already."""
    if count > 1 and (new.tag or into):
        raise InvalidRecord(f"{count} parts can't share one tag or one position", hint="leave out --tag and --into")
    with writing(desk, "part add") as recorder:
        made = [insert(recorder, new, desk.today) for _ in range(count)]
        closed: tuple[str, ...] = ()
        if into:
            where, closed = _enter_fitted(recorder, made[0], into, timing, desk.today)
        else:
            since = placements.start(recorder.connection, None, timing) or timing.when or new.acquired
            start = placements.not_future(since or When(desk.today), desk.today)
            for part in made:
                placements.begin(recorder, part, placements.home(part), Moment(start))
            where = f"with {new.owner}" if new.owner else "in the pool"
        family = find.family(recorder.connection, new.family).name
        tags = [part.tag for part in made]
        did = f"added {', '.join(tags)} ({family}), {where}"
        recorder.summarise(did)
    return Done(did, closed=closed, notes=_notes(new, made[0]), record={"tags": tags, "family": family})


def insert(recorder: Recorder, new: NewPart, today: date) -> Row:
    """Write the row of a part that has no place yet."""
    connection = recorder.connection
    family = find.family(connection, new.family)
    if family.tracking == "counted":
        raise InvalidRecord(f"{family.name} are counted, not tagged", hint="only tagged families have parts")
    prior_use = new.prior_use or ("none" if new.origin == "new" else "unknown")
    if prior_use == "none" and new.origin != "new":
        raise InvalidRecord(
            f"a part of origin '{new.origin}' can't be known to be unused", hint="add --origin new, or drop --prior-use"
        )
    acquired = placements.not_future(new.acquired, today) if new.acquired else None
    made = placements.not_future(When(new.made_on), today).on if new.made_on else None
    part_id = recorder.insert(
        t.part,
        tag=_tag(connection, new.tag),
        family_id=family.id,
        model=new.model,
        batch=new.batch,
        origin=new.origin,
        prior_use=prior_use,
        owner_id=find.member(connection, new.owner).id if new.owner else None,
        acquired_on=acquired.on if acquired else None,
        acquired_precision=acquired.precision if acquired else None,
        made_on=made,
        cost_cents=new.cost_cents,
        note=new.note,
    )
    return connection.execute(sa.select(t.part).where(t.part.c.id == part_id)).one()


def _tag(connection: sa.Connection, wanted: str | None) -> str:
    if wanted is None:
        taken = {tag.lower() for tag in connection.execute(sa.select(t.part.c.tag)).scalars()}
        return free_tags(taken, 1)[0]
    return find.unused(connection, t.part.c.tag, wanted, "maintain part list")


def _enter_fitted(
    recorder: Recorder, part: Row, into: Into, timing: Timing, today: date
) -> tuple[str, tuple[str, ...]]:
    position = find.position(recorder.connection, into.where)
    require_in_service(recorder.connection, position)
    if not into.anyway:
        require_fit(recorder.connection, part, position)
    moment = placements.fitting_moment(recorder.connection, position.id, timing, today)
    spot = Spot("installed", position_id=position.id)
    closed: tuple[str, ...] = ()
    if part.acquired_on is None:
        moment = placements.begin(recorder, part, spot, moment)
    else:
        bought = Moment(When(part.acquired_on, part.acquired_precision))
        placements.begin(recorder, part, placements.home(part), bought)
        moment, closed = placements.move(recorder, part, spot, moment)
    return f"fitted to {position.ship}/{position.name} from {moment}", closed


def _notes(new: NewPart, part: Row) -> tuple[str, ...]:
    notes = [] if new.tag else ["the tag was made for you: write it on the part"]
    if part.prior_use == "unknown":
        notes.append("prior use unknown: left out of estimates by age (say --origin new if it was never used)")
    return tuple(notes)


def require_in_service(connection: sa.Connection, position: Row) -> None:
    """
    Refuse a position of a ship that is gone.

    Raises
    ------
    InvalidRecord
    """
    ship = connection.execute(sa.select(t.ship).where(t.ship.c.id == position.ship_id)).one()
    if ship.state in ("lost", "paid off"):
        raise InvalidRecord(
            f"{ship.name} is {ship.state}; nothing is fitted to her",
            hint=f"if she is back: maintain ship state {quoted(ship.name)} 'in commission'",
        )


def require_fit(connection: sa.Connection, part: Row, position: Row) -> None:
    """
    Refuse a part whose family does not fit a position.

    Raises
    ------
    InvalidRecord
    """
    fits = places.fitting_families(connection, position.id)
    if fits and part.family_id not in fits:
        family = connection.execute(sa.select(t.family.c.name).where(t.family.c.id == part.family_id)).scalar_one()
        raise InvalidRecord(
            f"{part.tag} is a {family}; {position.ship}/{position.name} takes: {', '.join(fits.values())}",
            hint="add --anyway if it fits after rework",
        )


def require_usable(part: Row, now: Row | None) -> None:
    """
    Refuse to fit a part that is doubted or gone.

    Raises
    ------
    InvalidRecord
    """
    if now is not None and now.until_on is None and now.place == "suspect":
        raise InvalidRecord(
            f"{part.tag} is suspect since {placements.start_of(now)}",
            hint=f"test it, then: maintain retest {quoted(part.tag)} pass (or fail)",
        )
    if now is not None and now.until_on is None and now.place in ("scrapped", "lost"):
        raise InvalidRecord(
            f"{part.tag} is {now.place} since {placements.start_of(now)}",
            hint=f"if it is back in use: maintain part pull {quoted(part.tag)} --to pool",
        )


def install(desk: Desk, *, part: str, where: str, timing: Timing, anyway: bool) -> Done:
    """Fit a part to a position; ends its place before."""
    with writing(desk, "part install") as recorder:
        connection = recorder.connection
        position = find.position(connection, where)
        row = find.part(connection, part)
        require_in_service(connection, position)
        require_usable(row, next(reversed(places.of_part(connection, row.id)), None))
        if not anyway:
            require_fit(connection, row, position)
        moment = placements.fitting_moment(connection, position.id, timing, desk.today)
        moment, closed = placements.move(recorder, row, Spot("installed", position_id=position.id), moment)
        did = f"fitted {row.tag} to {position.ship}/{position.name} from {moment}"
        recorder.summarise(did)
        notes = to_come.said_of(connection, row.id, desk.today)
    record = {"part": row.tag, "ship": position.ship, "position": position.name, "from": moment.when.on}
    return Done(did, closed=closed, notes=notes, record=record)


def treat(desk: Desk, *, part: str, method: str, done: When | None, kind: str, note: str | None) -> Done:
    """Record that a waterproofing method was applied to a part, renewed or removed."""
    with writing(desk, "part treat") as recorder:
        row = find.part(recorder.connection, part)
        way = find.method(recorder.connection, method)
        when = placements.not_future(done or When(desk.today), desk.today)
        require_there(recorder.connection, row, when)
        recorder.insert(
            t.treatment,
            part_id=row.id,
            method_id=way.id,
            kind=kind,
            done_on=when.on,
            done_precision=when.precision,
            note=note,
        )
        did = f"{row.tag}: {way.name} {kind} {when}"
        recorder.summarise(did)
    return Done(did, record={"part": row.tag, "method": way.name, "kind": kind, "on": when.on})


def require_there(connection: sa.Connection, part: Row, when: When) -> None:
    """Refuse what is done to a part after it was scrapped or lost; what was done before may be told late."""
    now = next(reversed(places.of_part(connection, part.id)), None)
    if now is not None and now.place in ("scrapped", "lost") and when.on >= now.from_on:
        raise InvalidRecord(
            f"{part.tag} is {now.place} since {placements.start_of(now)}: nobody treats it",
            hint=f"if it is back: maintain part pull {quoted(part.tag)} --to pool",
        )


_LISTED = (
    Column("tag", "Part"),
    Column("family", "Family"),
    Column("model", "Model"),
    Column("where", "Where"),
    Column("since", "Since"),
    Column("owner", "Owner"),
    Column("waterproofing", "Waterproofing"),
    Column("prior_use", "Prior use"),
)


def listing(desk: Desk, *, ship: str | None, family: str | None, place: str | None) -> Listing:
    """Parts with where they are today and since when."""
    now = t.placement
    any_ = t.placement.alias()
    ever = sa.select(any_.c.id).where(any_.c.part_id == t.part.c.id).exists()
    query = (
        sa.select(
            t.part.c.tag,
            t.family.c.name.label("family"),
            t.part.c.model,
            now.c.place,
            now.c.from_on,
            now.c.from_precision,
            t.position.c.name.label("position"),
            t.ship.c.name.label("ship"),
            t.member.c.name.label("member"),
            _owner().label("owner"),
            _waterproofing(desk.today).label("waterproofing"),
            t.part.c.prior_use,
        )
        .join(t.family, t.family.c.id == t.part.c.family_id)
        .outerjoin(now, sa.and_(now.c.part_id == t.part.c.id, places.held_on(desk.today)))
        .outerjoin(t.position, t.position.c.id == now.c.position_id)
        .outerjoin(t.ship, t.ship.c.id == t.position.c.ship_id)
        .outerjoin(t.member, t.member.c.id == now.c.member_id)
        .where(sa.or_(now.c.id.is_not(None), ~ever))  # parts that came later are not told
        .order_by(sa.func.lower(t.family.c.name), sa.func.lower(t.part.c.tag))
    )
    if place:
        query = query.where(now.c.place == place)
    with reading(desk) as connection:
        if ship:
            query = query.where(t.ship.c.id == find.ship(connection, ship).id)
        if family:
            query = query.where(t.family.c.id == find.family(connection, family).id)
        rows = tuple(_listed(row) for row in connection.execute(query).all())
    sought = ship or family or place
    empty = "none like that" if sought else "none yet; add one with: maintain part add --family FAMILY"
    return Listing("Parts", _LISTED, rows, empty=empty)


def _owner() -> sa.ScalarSelect[Any]:
    owner = t.member.alias("owner")
    named = sa.select(owner.c.name).where(owner.c.id == t.part.c.owner_id).correlate(t.part).scalar_subquery()
    return sa.select(sa.func.coalesce(named, "pool")).correlate(t.part).scalar_subquery()


def _waterproofing(today: date) -> sa.ScalarSelect[Any]:
    """The method on a part today: the last one applied or renewed, unless it was removed since."""
    kept = sa.case((t.treatment.c.kind == "removed", None), else_=t.method.c.name)
    query = sa.select(kept).join(t.method, t.method.c.id == t.treatment.c.method_id)
    last = query.where(t.treatment.c.part_id == t.part.c.id, t.treatment.c.done_on <= today).order_by(
        t.treatment.c.done_on.desc()
    )
    return last.order_by(t.treatment.c.id.desc()).limit(1).correlate(t.part).scalar_subquery()


def _listed(row: Any) -> dict[str, Any]:
    if row.place is None:
        return {**row._mapping, "where": None, "since": None}
    since = str(When(row.from_on, row.from_precision))
    return {**row._mapping, "where": places.spoken(row), "since": since}
