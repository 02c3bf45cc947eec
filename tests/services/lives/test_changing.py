"""What grows during a life: stretches cut from a small fleet by hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from maintain.records import tables as t
from maintain.services.lives.changing import Stretches, stretches
from maintain.services.lives.circumstances import ANOTHER_PART, causes_of, sinkings_of
from maintain.services.lives.table import life_table
from tests.services.lives.fleet_of_parts import Fleet, day


@pytest.fixture
def fleet(club: Path) -> Iterator[Fleet]:
    made = Fleet(str(club))
    yield made
    made.close()


def cut(fleet: Fleet, *names: str) -> Stretches:
    past = fleet.past()
    return stretches(past, life_table(past, "days").known, names)


def rows(found: Stretches, name: str, life: int = 0) -> list[tuple[float, float, bool, float]]:
    """(start, stop, failed, count) of each stretch of a life."""
    lives = found.lives
    columns = zip(found.life, lives.entry, lives.lower, lives.failed, found.counts[name], strict=True)
    return [(start, stop, failed, count) for owner, start, stop, failed, count in columns if owner == life]


def one_servo(fleet: Fleet, **kind: bool) -> int:
    """Fitted on 1 April; sunk on days 10 and 20, sailed dry on day 15."""
    ship = fleet.ship("Halberd")
    for when, wetness in (("2025-04-11", "W3"), ("2025-04-16", "W0"), ("2025-04-21", "W3")):
        fleet.sail(ship, day(when), 1, wetness)
    part = fleet.part("S1", fleet.family(**kind))
    fleet.fit(part, fleet.position(ship, "rudder-servo"))
    return part


def test_a_count_holds_from_the_day_it_came_about(fleet: Fleet) -> None:
    one_servo(fleet)
    assert rows(cut(fleet, "immersions"), "immersions") == [(0, 9, False, 0), (9, 19, False, 1), (19, 153, False, 2)]
    assert rows(cut(fleet, "sorties"), "sorties") == [
        (0, 9, False, 0), (9, 14, False, 1), (14, 19, False, 2), (19, 153, False, 3),
    ]  # fmt: skip


def test_the_sinking_of_the_day_it_failed_counts_for_that_failure(fleet: Fleet) -> None:
    part = one_servo(fleet)
    fleet.fail(part, day("2025-04-21"), found_sortie=1)
    assert rows(cut(fleet, "immersions"), "immersions")[-1] == (19, 20, True, 2)


def test_two_counts_are_cut_together(fleet: Fleet) -> None:
    one_servo(fleet)
    found = cut(fleet, "immersions", "sorties")
    assert [count for *_, count in rows(found, "immersions")] == [0, 1, 1, 2]
    assert [count for *_, count in rows(found, "sorties")] == [0, 1, 2, 3]


def test_renewals_count_from_the_day_they_were_done(fleet: Fleet) -> None:
    part = one_servo(fleet)
    method = fleet.add(t.method, name="grease")
    for kind, when in (("applied", "2025-03-01"), ("renewed", "2025-05-01"), ("renewed", "2025-06-01")):
        fleet.add(t.treatment, part_id=part, method_id=method, kind=kind, done_on=day(when), done_precision="day")
    assert rows(cut(fleet, "renewals"), "renewals") == [(0, 29, False, 0), (29, 60, False, 1), (60, 153, False, 2)]


def test_a_part_seen_only_later_starts_with_what_is_on_record(fleet: Fleet) -> None:
    ship = fleet.ship("Halberd", records_from=day("2025-05-01"))
    fleet.sail(ship, day("2025-05-11"), 1, "W3")
    fleet.fit(fleet.part("S1", fleet.family()), fleet.position(ship, "rudder-servo"))
    assert rows(cut(fleet, "immersions"), "immersions") == [(30, 39, False, 0), (39, 153, False, 1)]


def test_stretches_of_all_lives_add_up_to_the_lives(fleet: Fleet) -> None:
    part = one_servo(fleet)
    fleet.fail(part, day("2025-06-21"))
    fleet.fit(fleet.part("S2", fleet.family("other")), fleet.position(1, "gun-servo"), day("2025-04-16"))
    past = fleet.past()
    whole = life_table(past, "days").known
    found = stretches(past, whole, ("immersions",))
    assert (found.lives.lower - found.lives.entry).sum() == 81 + 138
    assert found.lives.failures == whole.lives.failures == 1
    assert rows(found, "immersions", 1) == [(0, 4, False, 0), (4, 138, False, 1)]


def test_a_ball_and_another_parts_failure_are_causes_of_their_own(fleet: Fleet) -> None:
    ship, family = fleet.ship("Halberd"), fleet.family()
    sortie = fleet.sail(ship, day("2025-05-01"), 1, "W3")
    parts = [fleet.part(f"S{number}", family) for number in range(4)]
    for number, part in enumerate(parts):
        fleet.fit(part, fleet.position(ship, f"servo-{number}"))
    together = {"found_sortie": 1, "sortie_id": sortie, "found_by": "in battle"}
    fleet.fail(parts[0], day("2025-05-01"), cause="ball hit", **together)
    fleet.fail(parts[1], day("2025-05-01"), cause="water", secondary=True, caused_by_id=1, **together)
    fleet.fail(parts[2], day("2025-05-01"), cause="wear", **together)
    lived = life_table(fleet.past(), "days").known
    assert causes_of(lived).tolist() == ["ball hit", ANOTHER_PART, "wear", ""]
    assert sinkings_of(lived).tolist() == ["1", "1", "1", "part 4"]
