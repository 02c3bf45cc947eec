"""On a narrow screen lines are broken between words, and tables keep what decides."""

from __future__ import annotations

import pytest

from maintain.services.unit import Desk
from tests.conftest import Run
from tests.pond import SERVO

WORDS = (
    ("sortie", "log", "halberd=W3", "--venue", "Mill Pond"),
    ("swap", SERVO, "--mode", "dead", "--cause", "water", "--note", "the horn was full of water when she came up"),
    ("part", "list", "--place", "lost"),
    ("part", "show", "S1"),
)


@pytest.fixture(autouse=True)
def fleet(pond: Desk, run: Run) -> None:
    """A servo aboard, a spare with a long story, a battle ahead."""
    for tag, where in (("S1", ("--into", SERVO, "--from", "2026-01-02")), ("S2", ("--acquired", "2026-02-01"))):
        assert run("part", "add", "--family", "standard", "--tag", tag, "--model", "MG 16", *where).exit_code == 0
    run("battle", "add", "June", "--from", "2026-06-20", "--planned-sorties", "2")


@pytest.mark.parametrize("columns", [40, 80])
def test_what_commands_say_stays_within_the_screen(run: Run, columns: int) -> None:
    for words in WORDS:
        wide = run(*words).stdout
        run("undo") if words[0] in ("sortie", "swap") else None
        narrow = run(*words, columns=columns).stdout
        run("undo") if words[0] in ("sortie", "swap") else None
        assert max(map(len, narrow.splitlines())) <= columns, narrow
        assert words[:2] == ("part", "show") or narrow.split() == wide.split()  # its tables become lists


def test_a_wide_page_gets_its_lines_whole(run: Run) -> None:
    run("sortie", "log", "halberd=W3", "--venue", "Mill Pond")
    told = run("swap", SERVO, "--mode", "dead", "--cause", "water").stdout
    assert len(told.splitlines()[0]) > 60


@pytest.mark.parametrize("columns", [60, 200])
def test_the_fleet_is_a_table_on_a_narrow_screen_too(run: Run, columns: int) -> None:
    told = run("ready", "--fleet", "--battle", "June", columns=columns).stdout
    (heading,) = [line for line in told.splitlines() if "Gets through" in line]
    assert "Ship" in heading
    assert ("Minutes" in heading) == (columns == 200)
    assert "Halberd" in told
    assert max(map(len, told.splitlines())) <= columns
