"""The pool and its spares on a screen of eighty columns."""

from __future__ import annotations

from pathlib import Path

import pytest

from maintain.services import demo
from tests.conftest import Run

ON = ("--on", demo.today().isoformat())


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (("spares",), 60),
        (("spares", "families"), 180),
        (("pool", "status"), 45),
        (("pool", "costs"), 45),
        (("pool", "owed"), 40),
    ],
)
def test_what_a_quartermaster_reads_fits_eighty_columns(
    demo_club: Path, run: Run, words: tuple[str, ...], lines: int
) -> None:
    answer = run(*words, *ON, db=demo_club, columns=80)
    assert answer.exit_code == 0
    told = answer.stdout.splitlines()
    assert max(map(len, told)) <= 80
    assert len(told) <= lines
