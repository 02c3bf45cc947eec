"""maintain pool costs: every sum here is worked out by hand from what was recorded just before."""

from __future__ import annotations

from typing import Any

import pytest

from maintain.services.unit import Desk
from tests.conftest import Answer, Run
from tests.pond import SERVO

PUMP = "Halberd/pump"


@pytest.fixture(autouse=True)
def priced(run: Run, pond: Desk) -> None:
    """A servo costs 12.50, what a pump or a fuse costs nobody said; dilo was bought for 20.00."""
    _ok(run("family", "change", "standard servo", "--unit-cost", "12.50"))
    for tag, family, cost in (
        ("dilo", "standard", ("--cost", "20.00")),
        ("vepo", "standard", ()),
        ("pomp", "pump", ()),
    ):
        words = ("part", "add", "--family", family, "--tag", tag, "--origin", "new", "--acquired", "2025-02-01", *cost)
        _ok(run(*words))


def _ok(answer: Answer) -> str:
    assert answer.exit_code == 0, answer.stderr
    return answer.stdout


def _costs(run: Run, *words: str) -> Any:
    answer = run("pool", "costs", "--json", *words)
    assert answer.exit_code == 0, answer.stderr
    return answer.json


def _ways(line: Any) -> dict[str, tuple[int, int, int]]:
    return {each["how"]: (each["pieces"], each["cents"], each["unpriced"]) for each in line["costs"]}


def _fit(run: Run, tag: str, where: str) -> None:
    _ok(run("part", "install", tag, where, "--from", "2026-03-01"))


def _fail(run: Run, tag: str, found: str = "2026-05-01") -> None:
    _ok(run("failure", "log", tag, "--mode", "dead", "--cause", "wear", "--found", found))


def _pull(run: Run, tag: str, reason: str, *words: str) -> None:
    _ok(run("part", "pull", tag, "--reason", reason, "--until", "2026-05-01", *words))


def test_nothing_was_used_up(run: Run) -> None:
    assert "nothing was used up" in _ok(run("pool", "costs"))
    assert _costs(run)["lines"] == []


def test_a_part_costs_what_it_cost_else_what_its_family_costs(run: Run) -> None:
    _fit(run, "dilo", SERVO)
    _ok(run("swap", SERVO, "--with", "vepo", "--mode", "dead", "--cause", "water", "--found", "2026-04-01"))
    assert _ways(_costs(run)["total"]) == {"failed": (1, 2000, 0)}
    _fail(run, "vepo")
    assert _ways(_costs(run)["total"]) == {"failed": (2, 3250, 0)}


def test_an_unknown_price_is_counted_and_named_and_is_never_zero(run: Run) -> None:
    _fit(run, "pomp", PUMP)
    _fail(run, "pomp")
    answer = _costs(run)
    assert _ways(answer["total"]) == {"failed": (1, 0, 1)}
    assert answer["unpriced"] == {"pump": 1}
    said = _ok(run("pool", "costs"))
    assert "failures cost nobody knows what (1 part)" in said
    assert "Price unknown, and not in these sums: 1 pump" in said


def test_what_failed_and_what_was_renewed_working_stand_apart(run: Run) -> None:
    _fit(run, "dilo", SERVO)
    _pull(run, "dilo", "working", "--to", "scrapped")
    answer = _costs(run)
    assert _ways(answer["total"]) == {"renewed": (1, 2000, 0)}


def test_what_came_out_working_and_is_kept_cost_nothing_yet(run: Run) -> None:
    _fit(run, "dilo", SERVO)
    _pull(run, "dilo", "working", "--to", "pool")
    answer = _costs(run)
    assert (answer["total"]["costs"], answer["kept_working"]) == ([], 1)


def test_a_suspect_costs_once_it_is_condemned(run: Run) -> None:
    _fit(run, "dilo", SERVO)
    _pull(run, "dilo", "suspect", "--mode", "erratic")
    assert _costs(run)["total"]["costs"] == []
    _ok(run("retest", "dilo", "fail"))
    (line,) = _costs(run, "--by", "ship")["lines"]
    assert (line["name"], _ways(line)) == ("Halberd", {"failed": (1, 2000, 0)})


def test_thrown_away_and_missing_at_a_count_are_losses_of_the_pool(run: Run) -> None:
    _ok(run("pool", "scrap", "dilo", "--reason", "bent"))
    _ok(run("pool", "count", "standard", "0", "--missing", "vepo"))
    (line,) = _costs(run, "--by", "ship")["lines"]
    assert line["name"] == "the pool"
    assert _ways(line) == {"off the shelf": (1, 2000, 0), "missing": (1, 1250, 0)}


def test_counted_pieces_cost_what_was_paid_for_the_oldest(run: Run) -> None:
    _ok(run("pool", "receive", "fuse", "4", "--cost", "0.20", "--on", "2026-02-01"))
    _ok(run("pool", "receive", "fuse", "10", "--cost", "0.50", "--on", "2026-03-01"))
    _ok(run("pool", "issue", "fuse", "6", "--ship", "halberd", "--on", "2026-04-01"))  # 4 x 0.20 + 2 x 0.50
    _ok(run("pool", "scrap", "fuse", "1", "--reason", "bent"))  # 0.50
    _ok(run("pool", "count", "fuse", "5"))  # 2 gone: 1.00
    assert _ways(_costs(run)["total"]) == {"used": (6, 180, 0), "off the shelf": (1, 50, 0), "missing": (2, 100, 0)}


def test_an_order_is_not_counted_beside_its_delivery(run: Run) -> None:
    _ok(run("pool", "order", "fuse", "4", "--cost", "0.20", "--on", "2026-02-01"))
    _ok(run("pool", "receive", "fuse", "--on", "2026-02-05"))
    assert _costs(run)["total"]["costs"] == []
    _ok(run("pool", "issue", "fuse", "4", "--ship", "halberd"))
    assert _ways(_costs(run)["total"]) == {"used": (4, 80, 0)}


def test_what_is_lent_costs_nothing_until_it_comes_back_dead(run: Run) -> None:
    _ok(run("pool", "receive", "fuse", "4", "--cost", "0.20", "--on", "2026-02-01"))
    _ok(run("pool", "lend", "fuse", "2", "--to", "bea", "--on", "2026-03-01"))
    assert _costs(run)["total"]["costs"] == []
    _ok(run("pool", "return", "fuse", "good", "1", "--on", "2026-03-05"))
    _ok(run("pool", "return", "fuse", "dead", "1", "--on", "2026-03-06"))
    assert _ways(_costs(run)["total"]) == {"failed": (1, 20, 0)}


def test_a_captains_own_part_is_not_the_pools_money(run: Run) -> None:
    _ok(run("part", "add", "--family", "standard", "--tag", "own", "--owner", "Ana", "--from", "2026-02-01"))
    _fit(run, "own", SERVO)
    _fail(run, "own")
    (cost,) = _costs(run)["total"]["costs"]
    assert (cost["cents"], cost["pool_cents"]) == (1250, 0)
    assert "of which 0.00 was the pool's own" in _ok(run("pool", "costs"))


def test_a_season_and_a_day_to_begin_from(run: Run) -> None:
    _ok(run("part", "install", "dilo", SERVO, "--from", "2025-03-01"))
    _fail(run, "dilo", "2025-08-01")
    _fit(run, "vepo", SERVO)
    _fail(run, "vepo")
    assert _costs(run)["total"]["costs"][0]["cents"] == 1250
    assert _costs(run, "--season", "2025")["total"]["costs"][0]["cents"] == 2000
    assert _costs(run, "--since", "2025-08-01")["total"]["costs"][0]["cents"] == 3250
    assert _costs(run, "--since", "2025-08-02")["total"]["costs"][0]["cents"] == 1250
    seasons = {line["name"]: _ways(line) for line in _costs(run, "--by", "season")["lines"]}
    assert seasons == {"2025": {"failed": (1, 2000, 0)}, "2026": {"failed": (1, 1250, 0)}}


def test_a_captains_balance_in_kind(run: Run) -> None:
    _ok(run("pool", "owe", "bea", "standard", "2"))
    _ok(run("pool", "owe", "pool", "pump", "--to", "bea"))
    balances = {(each["member"], each["family"]): each for each in _costs(run)["balances"]}
    servo, pump = balances["Bea", "standard servo"], balances["Bea", "pump"]
    assert (servo["owes"], servo["is_owed"], servo["cents"]) == (2, 0, -2500)
    assert (pump["owes"], pump["is_owed"], pump["cents"]) == (0, 1, None)
    assert "-25.00" in _ok(run("pool", "costs", "--by", "captain"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--season", "2027"), "--season 2027 is still to come"),
        (("--since", "2027-01-01"), "--since 2027-01-01 is still to come"),
        (("--season", "2026", "--since", "2026-01-01"), "both say from when"),
    ],
)
def test_a_period_that_makes_no_sense_is_refused(run: Run, words: tuple[str, ...], said: str) -> None:
    answer = run("pool", "costs", *words)
    assert answer.exit_code == 4
    assert said in answer.stderr
