"""Small clubs drawn at random, valid in every way and awkward in many: rows by table, referring to others by uid."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from maintain import vocabulary as say
from maintain.core.names import checked_tag
from maintain.errors import InvalidRecord
from maintain.exchange.labels import Records, Row
from maintain.exchange.layout import SHEETS

TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=8).filter(
    lambda text: text == text.strip() != ""
) | st.sampled_from(
    ["a,b", 'a"b', "a;b", "two\nlines", "back\r\n", "=1+1", "0012", "2026-05-03", "yes", "a/b", "x #1", "–"]
)


def _may_be_a_name(text: str) -> bool:
    try:
        return checked_tag(text) == text
    except InvalidRecord:
        return False


NAMES = TEXTS.filter(_may_be_a_name)
NOTES = st.none() | TEXTS.map(str.strip).filter(bool)
DAYS = st.dates(date(1990, 1, 1), date(2030, 12, 31))
COUNTS = st.integers(0, 2**40)
AMOUNTS = st.floats(0, 1e9, allow_nan=False, allow_infinity=False)


def _fuzzy(draw: st.DrawFn, stem: str, *, on: date | None = None, before: bool = True) -> Row:
    words = say.PRECISIONS if before else say.PRECISIONS[:3]
    return {f"{stem}_on": on or draw(DAYS), f"{stem}_precision": draw(st.sampled_from(words))}


class _Book:
    """Rows as they are drawn; every column that is not given is empty."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.rows: Records = {sheet.table: [] for sheet in SHEETS}
        self._columns = {s.table: [column for field in s.fields for column in field.columns] for s in SHEETS}

    def add(self, table: str, **values: Any) -> str:
        uid = self.draw(st.uuids(version=4)).hex
        self.rows[table].append({**dict.fromkeys(self._columns[table]), **values, "uid": uid})
        return uid

    def some(self, table: str) -> str | None:
        return self.draw(st.sampled_from([None, *(row["uid"] for row in self.rows[table])]))

    def one(self, table: str) -> str:
        return self.draw(st.sampled_from([row["uid"] for row in self.rows[table]]))

    def word(self, words: Any) -> str:
        return self.draw(st.sampled_from(list(words)))

    def names(self, least: int = 1) -> list[str]:
        return self.draw(st.lists(NAMES, min_size=least, max_size=3, unique_by=str.lower))


@st.composite
def clubs(draw: st.DrawFn) -> Records:
    """A club with a few rows in every table."""
    book = _Book(draw)
    book.add("club", name=draw(NAMES), currency="EUR", records_from=draw(st.none() | DAYS))
    for name in book.names(least=2):
        book.add("member", name=name, left_on=draw(st.none() | DAYS), note=draw(NOTES))
    _ships(book)
    _parts(book)
    _water(book)
    _failures(book)
    _stock(book)
    _work(book)
    return book.rows


def _ships(book: _Book) -> None:
    draw = book.draw
    for name in book.names():
        book.add("ship", name=name, captain_id=book.some("member"), state=book.word(say.SHIP_STATES), note=draw(NOTES))
    for name in book.names():
        book.add(
            "family",
            name=name,
            category=book.word(say.CATEGORIES),
            tracking=book.word(say.TRACKING),
            hidden=draw(st.booleans()),
            ages_on_shelf=draw(st.booleans()),
            unit_cost_cents=draw(st.none() | COUNTS),
            weight_grams=draw(st.none() | AMOUNTS),
        )
    for ship in [row["uid"] for row in book.rows["ship"]]:
        for name in book.names():
            banked = draw(st.booleans())
            book.add(
                "position",
                ship_id=ship,
                name=name,
                system=book.word(say.SYSTEMS),
                zone=book.word(say.ZONES),
                dependence=book.word(say.DEPENDENCE),
                bank=draw(NAMES) if banked else None,
                bank_needs=draw(st.integers(1, 3)) if banked else None,
                powered_by_id=book.some("position"),
            )
    # Written before the position that feeds it, as a file may have it.
    book.rows["position"].reverse()
    book.add("position_family", position_id=book.one("position"), family_id=book.one("family"))


def _parts(book: _Book) -> None:
    draw = book.draw
    for tag in book.names(least=2):
        origin = book.word(say.ORIGINS)
        acquired = _fuzzy(draw, "acquired") if draw(st.booleans()) else {}
        book.add(
            "part",
            tag=tag,
            family_id=book.one("family"),
            origin=origin,
            prior_use=book.word(say.PRIOR_USE) if origin == "new" else "unknown",
            cost_cents=draw(st.none() | COUNTS),
            note=draw(NOTES),
            **acquired,
        )
    for number, part in enumerate(row["uid"] for row in book.rows["part"]):
        _placements(book, part, number)
    for name in book.names():
        book.add("method", name=name)
    for _ in range(draw(st.integers(0, 3))):
        done = _fuzzy(draw, "done")
        book.add("treatment", part_id=book.one("part"), method_id=book.one("method"), kind="applied", **done)


def _placements(book: _Book, part: str, number: int) -> None:
    """Places of one part, end to end, the first of them in a position if there is one of its own."""
    draw = book.draw
    moments = sorted(draw(st.lists(st.tuples(DAYS, st.integers(0, 3)), min_size=2, max_size=4)))
    positions = [row["uid"] for row in book.rows["position"]]
    for step, (start, end) in enumerate(zip(moments, [*moments[1:], None], strict=True)):
        installed = step == 0 and number < len(positions)
        place = "installed" if installed else book.word(("pool", "captain", "suspect"))
        until = _fuzzy(draw, "until", on=end[0], before=False) | {"until_sortie": end[1]} if end else {}
        book.add(
            "placement",
            part_id=part,
            place=place,
            position_id=positions[number] if installed else None,
            member_id=book.one("member") if place == "captain" else None,
            from_sortie=start[1],
            reason=draw(st.none() | st.sampled_from(say.PULL_REASONS)) if end else None,
            **_fuzzy(draw, "from", on=start[0]),
            **until,
        )


def _water(book: _Book) -> None:
    draw = book.draw
    for name in book.names():
        book.add("venue", name=name, water=book.word(say.WATERS), depth_m=draw(st.none() | AMOUNTS))
    for name in book.names():
        day = draw(DAYS)
        book.add(
            "battle",
            name=name,
            venue_id=book.some("venue"),
            from_on=day,
            until_on=day + timedelta(days=draw(st.integers(0, 3))),
            state=book.word(say.BATTLE_STATES),
            resupply=draw(st.booleans()),
        )
    minutes = {"W3": st.floats(0, 9.9), "W4": st.floats(10, 1440), "W5": st.floats(1441, 1e6)}
    trips = draw(st.lists(st.tuples(DAYS, st.integers(1, 12)), min_size=1, max_size=4, unique=True))
    for day, number in trips:
        wetness = draw(st.none() | st.sampled_from(list(say.WETNESS)))
        sank = wetness in say.SUNK
        cause = book.word(say.SINKING_CAUSES) if sank else None
        book.add(
            "sortie",
            ship_id=book.one("ship"),
            battle_id=book.some("battle"),
            sailed_on=day,
            number=number,
            minutes_afloat=draw(st.none() | AMOUNTS),
            wetness=wetness,
            ending="sank" if sank else draw(st.none() | st.just("recall")),
            minutes_under=draw(st.none() | minutes[wetness]) if sank else None,
            sinking_cause=cause,
            sinking_system=draw(st.none() | st.sampled_from(say.SYSTEMS)) if cause == "system" else None,
        )
    for _ in range(draw(st.integers(0, 2))):
        found = {"zone": book.word(say.ZONES), "found": book.word(say.OPENED_FINDINGS)}
        book.add(
            "opening",
            ship_id=book.one("ship"),
            sortie_id=book.some("sortie"),
            opened_on=draw(DAYS),
            dried=draw(st.booleans()),
            **found,
        )


def _failures(book: _Book) -> None:
    draw = book.draw
    for _ in range(draw(st.integers(0, 4))):
        found, before = draw(DAYS), draw(st.none() | st.integers(0, 500))
        secondary = draw(st.booleans())
        book.add(
            "failure",
            part_id=book.one("part"),
            position_id=book.some("position"),
            sortie_id=book.some("sortie"),
            found_on=found,
            found_sortie=draw(st.integers(0, 2)),
            last_good_on=None if before is None else found - timedelta(days=before),
            last_good_sortie=None if before is None else 0,
            mode=book.word(say.MODES),
            cause=book.word(say.BLAMED_CAUSES),
            effect=book.word(say.EFFECTS),
            found_by=book.word(say.FOUND_BY),
            secondary=secondary,
            caused_by_id=book.some("failure") if secondary else None,
        )
    for _ in range(draw(st.integers(0, 2))):
        uid = book.add("suspicion", part_id=book.one("part"), raised_on=draw(DAYS), mode="dead", note=draw(NOTES))
        book.add("retest", suspicion_id=uid, tested_on=draw(DAYS), result="pass")


def _stock(book: _Book) -> None:
    draw = book.draw
    member = book.one("member")
    day = draw(DAYS)
    for _ in range(draw(st.integers(0, 2))):
        of = {"family_id": book.one("family"), "quantity": draw(st.integers(1, 2**40))}
        loan = book.add("loan", **of, lender_id=None, borrower_id=member, lent_on=day, terms="return")
        # Two of one kind on one day are two.
        for _ in range(draw(st.integers(1, 2))):
            book.add("movement", **of, from_place="pool", to_place="captain", to_member_id=member, moved_on=day)
        book.add("debt", **of, debtor_id=member, loan_id=loan, since_on=day)
        book.add("purchase", **of, supplier=draw(NOTES), ordered_on=day, unit_cost_cents=draw(st.none() | COUNTS))
        counted = book.add("stocktake", family_id=of["family_id"], counted_on=day, counted=draw(COUNTS))
        settled = counted if draw(st.booleans()) else None
        book.add("discrepancy", **of, found_on=day, stocktake_id=settled)
    for category in draw(st.lists(st.sampled_from(say.CATEGORIES), max_size=2, unique=True)):
        book.add("shelf_limit", category=category, days=draw(st.none() | st.integers(1, 9999)), source=draw(NAMES))


def _work(book: _Book) -> None:
    draw = book.draw
    for _ in range(draw(st.integers(0, 2))):
        value = draw(st.floats(allow_nan=False, allow_infinity=False))
        on = {"part_id": book.one("part"), "position_id": book.some("position")}
        book.add("reading", **on, measure="other", value=value, unit=draw(NOTES), taken_on=draw(DAYS))
    for measure in draw(st.lists(st.sampled_from(say.GAUGED), max_size=2, unique=True)):
        of = {"family_id": book.some("family"), "bound": draw(st.sampled_from(say.BOUNDS)), "value": draw(AMOUNTS)}
        book.add("reading_limit", measure=measure, **of, percent_of_first=draw(st.booleans()), source=draw(NAMES))
    for title in book.names(least=0):
        task = book.add("task", title=title, ship_id=book.some("ship"), due_on=draw(DAYS), starts_on=draw(DAYS))
        for clock in draw(st.lists(st.sampled_from(say.TASK_CLOCKS), max_size=2, unique=True)):
            book.add("task_interval", task_id=task, clock=clock, every=draw(st.integers(1, 2**40)))
        book.add("task_completion", task_id=task, part_id=book.some("part"), done_on=draw(DAYS))
    says = {"source": draw(NAMES), "decider": draw(NAMES)}
    book.add("certificate", part_id=book.one("part"), kind=draw(NAMES), expires_on=draw(DAYS), **says)
    check = book.add("prebattle_check", ship_id=book.one("ship"), battle_id=book.one("battle"), begun_on=draw(DAYS))
    for step, question in enumerate(book.names(), 1):
        book.add("check_step", prebattle_check_id=check, step=step, topic="pump", question=question)
        promise = book.some("task")
        book.add(
            "check_answer",
            prebattle_check_id=check,
            step=step,
            question=question,
            answer="promise" if promise else "pass",
            reading_id=book.some("reading"),
            task_id=promise,
            answered_at="2026-05-03T09:00:00",
        )
    _salvage(book)
    called = book.add("roll_call", ship_id=book.one("ship"), begun_on=draw(DAYS))
    book.add(
        "roll_call_answer",
        roll_call_id=called,
        position_id=book.one("position"),
        part_id=book.some("part"),
        answer="works",
        answered_at="2026-05-03T09:00:00",
    )


def _salvage(book: _Book) -> None:
    draw = book.draw
    begun = book.add("salvage", sortie_id=book.one("sortie"), begun_on=draw(DAYS))
    for step, answer in enumerate(draw(st.lists(st.sampled_from(say.SALVAGE_ANSWERS), max_size=3)), 1):
        position = book.some("position")
        asked = book.add(
            "salvage_step",
            salvage_id=begun,
            step=step,
            topic="look",
            question=draw(NAMES),
            position_id=position,
            part_id=book.some("part") if position else None,
            due_on=draw(st.none() | DAYS),
        )
        book.add(
            "salvage_answer",
            salvage_step_id=asked,
            answer=answer,
            opened=draw(st.booleans()),
            dried=draw(st.none() | st.sampled_from(say.DRYING)),
            opening_id=book.some("opening") if answer in say.OPENED_FINDINGS else None,
            reading_id=book.some("reading") if answer == "pass" else None,
            answered_at="2026-05-03T09:00:00",
            note=draw(NOTES),
        )
