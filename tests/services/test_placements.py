"""Moving a part ends its earlier place, in the order of days and sorties; rough dates bend to known ones."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
import sqlalchemy as sa

from maintain.core.when import When, parse_when
from maintain.errors import InvalidRecord
from maintain.records import find, places
from maintain.records import tables as t
from maintain.records.journal import Recorder
from maintain.services import parts, placements
from maintain.services.parts import NewPart
from maintain.services.placements import Moment, Spot, Timing
from maintain.services.unit import Desk, writing
from tests.conftest import TODAY
from tests.pond import SERVO, sail

POOL, SUSPECT = Spot("pool"), Spot("suspect")


@pytest.fixture
def recorder(pond: Desk) -> Iterator[Recorder]:
    with writing(pond, "test") as recorder:
        yield recorder


def _part(recorder: Recorder, tag: str, acquired: str | None = None) -> Any:
    when = parse_when(acquired, TODAY) if acquired else None
    return parts.insert(recorder, NewPart("standard servo", tag=tag, acquired=when), TODAY)


def _at(text: str, sortie: int = 0, *, counted: bool = False) -> Moment:
    return Moment(parse_when(text, TODAY), sortie, counted)


def _servo(recorder: Recorder) -> Spot:
    return Spot("installed", position_id=find.position(recorder.connection, SERVO).id)


def _told(recorder: Recorder, part: Any) -> list[tuple[str, str, str | None]]:
    return [
        (places.spoken(row), f"{row.from_on}/{row.from_sortie}", row.until_on and f"{row.until_on}/{row.until_sortie}")
        for row in places.of_part(recorder.connection, part.id)
    ]


def test_a_move_ends_the_place_before_and_says_so(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "2026-01-10")
    placements.begin(recorder, kobu, POOL, _at("2026-01-10"))
    moved = placements.move(recorder, kobu, _servo(recorder), _at("2026-05-03"))
    assert moved.closed == ("kobu was in the pool from 2026-01-10 to 2026-05-03",)
    assert _told(recorder, kobu) == [
        ("in the pool", "2026-01-10/0", "2026-05-03/0"),
        (SERVO, "2026-05-03/0", None),
    ]


def test_two_moves_on_one_day_keep_the_order_of_the_sorties(recorder: Recorder) -> None:
    kobu, dilo = _part(recorder, "kobu"), _part(recorder, "dilo")
    placements.begin(recorder, kobu, _servo(recorder), _at("2026-05-01"))
    placements.begin(recorder, dilo, POOL, _at("2026-05-01"))
    placements.move(recorder, kobu, SUSPECT, _at("2026-05-03", 2))
    placements.move(recorder, dilo, _servo(recorder), _at("2026-05-03", 2))
    assert _told(recorder, kobu)[0][2] == _told(recorder, dilo)[1][1] == "2026-05-03/2"


def test_a_moment_before_the_part_came_is_refused(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "2026-05-20")
    placements.begin(recorder, kobu, POOL, _at("2026-05-20"))
    with pytest.raises(InvalidRecord, match="in the pool at 2026-05-20, so it can't have been moved at 2026-05-10"):
        placements.move(recorder, kobu, _servo(recorder), _at("2026-05-10"))


def test_a_month_bends_on_to_the_day_the_part_came(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "2026-05-20")
    placements.begin(recorder, kobu, POOL, _at("2026-05-20"))
    moved = placements.move(recorder, kobu, _servo(recorder), _at("2026-05"))
    assert moved.moment.when == When(date(2026, 5, 20), "month")


def test_a_start_known_to_the_month_bends_back_to_an_exact_end_and_so_does_what_ended_then(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "2026-01-10")
    placements.begin(recorder, kobu, POOL, _at("2026-01-10"))
    placements.move(recorder, kobu, _servo(recorder), _at("2026-05"))
    placements.move(recorder, kobu, POOL, _at("2026-05-04", 1))
    assert _told(recorder, kobu) == [
        ("in the pool", "2026-01-10/0", "2026-05-04/0"),
        (SERVO, "2026-05-04/0", "2026-05-04/1"),
        ("in the pool", "2026-05-04/1", None),
    ]


def test_a_rough_purchase_bends_with_the_first_place(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "2026-05")
    placements.begin(recorder, kobu, POOL, _at("2026-05"))
    placements.move(recorder, kobu, _servo(recorder), _at("2026-05-04"))
    bought = recorder.connection.execute(sa.select(t.part.c.acquired_on).where(t.part.c.id == kobu.id)).scalar()
    assert bought == date(2026, 5, 4)


def test_a_start_does_not_bend_over_an_exact_end_before_it(recorder: Recorder) -> None:
    kobu, dilo = _part(recorder, "kobu"), _part(recorder, "dilo")
    placements.begin(recorder, kobu, _servo(recorder), _at("2026-01-10"))
    placements.move(recorder, kobu, POOL, _at("2026-05-20"))
    placements.begin(recorder, dilo, _servo(recorder), _at("2026-05"))
    with pytest.raises(InvalidRecord, match="rudder-servo from 2026-01-10 to 2026-05-20, and dilo came after it"):
        placements.move(recorder, dilo, POOL, _at("2026-05-10", counted=True))


def test_a_place_only_assumed_gives_way_to_an_earlier_fitting(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu")
    placements.begin(recorder, kobu, POOL, Moment(When(TODAY)))
    moved = placements.move(recorder, kobu, _servo(recorder), _at("before 2024-03-01"))
    assert moved.closed == (
        f"kobu's record now begins in {SERVO} from before 2024-03-01: that it was in the pool was assumed",
    )
    assert _told(recorder, kobu) == [(SERVO, "2024-03-01/0", None)]


def test_the_end_of_a_place_needs_a_date(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu", "before 2024-03-01")
    placements.begin(recorder, kobu, POOL, _at("before 2024-03-01"))
    with pytest.raises(InvalidRecord, match="needs a date"):
        placements.move(recorder, kobu, _servo(recorder), _at("before 2024-03-01"))


def test_an_occupied_position_is_refused_by_the_name_of_its_part(recorder: Recorder) -> None:
    kobu, dilo = _part(recorder, "kobu"), _part(recorder, "dilo")
    placements.begin(recorder, kobu, _servo(recorder), _at("2026-05-01"))
    with pytest.raises(InvalidRecord, match="rudder-servo holds kobu since 2026-05-01") as caught:
        placements.begin(recorder, dilo, _servo(recorder), _at("2026-05-02"))
    assert "maintain part pull" in caught.value.hint and "maintain swap" in caught.value.hint


def test_a_position_that_was_occupied_then_is_refused(recorder: Recorder) -> None:
    kobu, dilo = _part(recorder, "kobu"), _part(recorder, "dilo")
    placements.begin(recorder, kobu, _servo(recorder), _at("2026-05-01"))
    placements.move(recorder, kobu, POOL, _at("2026-05-20", 2))
    with pytest.raises(InvalidRecord, match="held kobu until 2026-05-20 after sortie 2"):
        placements.begin(recorder, dilo, _servo(recorder), _at("2026-05-10"))


def test_the_sortie_bends_only_if_the_user_did_not_count_it(recorder: Recorder) -> None:
    assert _at("2026-05-03").no_earlier_than(date(2026, 5, 3), 2) == _at("2026-05-03", 2)
    assert _at("2026-05-03", 1, counted=True).no_earlier_than(date(2026, 5, 3), 2) is None
    assert _at("2026-05-03", 3, counted=True).no_earlier_than(date(2026, 5, 3), 2) is not None


def test_a_part_can_not_go_where_it_is(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu")
    placements.begin(recorder, kobu, POOL, _at("2026-05-01"))
    with pytest.raises(InvalidRecord, match="kobu is in the pool already"):
        placements.move(recorder, kobu, POOL, _at("2026-05-02"))


def test_a_part_leaves_after_the_sorties_recorded_and_is_fitted_in_the_morning_or_after_the_one_before(
    pond: Desk,
) -> None:
    sail(pond, "halberd=W1", "gannet=W0")
    sail(pond, "halberd=W2")
    with writing(pond, "test") as recorder:
        connection = recorder.connection
        position = find.position(connection, SERVO)
        assert placements.leaving_moment(connection, position.ship_id, Timing(), TODAY).sortie == 2
        assert placements.fitting_moment(connection, position.id, Timing(), TODAY).sortie == 0
        kobu = _part(recorder, "kobu")
        placements.begin(recorder, kobu, _servo(recorder), _at("2026-05-01"))
        placements.move(recorder, kobu, POOL, Moment(When(TODAY), 2))
        assert placements.fitting_moment(connection, position.id, Timing(), TODAY).sortie == 2
        assert placements.fitting_moment(connection, position.id, Timing(after_sortie=1), TODAY).sortie == 1


def test_the_future_is_refused_but_a_season_still_running_is_not() -> None:
    with pytest.raises(InvalidRecord, match="in the future"):
        placements.not_future(When(date(2026, 6, 2)), TODAY)
    assert placements.not_future(parse_when("2026", TODAY), TODAY) == When(TODAY, "season")


def test_where_a_part_was_at_the_turn_is_the_ship_it_left(recorder: Recorder) -> None:
    kobu = _part(recorder, "kobu")
    placements.begin(recorder, kobu, _servo(recorder), _at("2026-05-01"))
    placements.move(recorder, kobu, POOL, _at("2026-05-03", 2))
    assert placements.place_at(recorder, kobu, _at("2026-05-03", 2)).place == "installed"
    assert placements.place_at(recorder, kobu, _at("2026-05-03", 3)).place == "pool"
    with pytest.raises(InvalidRecord, match="only from 2026-05-01"):
        placements.place_at(recorder, kobu, _at("2026-04-30"))
