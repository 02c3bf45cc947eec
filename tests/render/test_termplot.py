"""Pictures in the terminal: where a person looks on, in the console's width, and never with escape codes in files."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from maintain.render import termplot
from maintain.results.base import Pictured


def drawn(**how) -> str:
    console = Console(file=io.StringIO(), highlight=False, **how)
    traces = [termplot.Trace("grease", [0, 10, 10, 30], [1, 1, 0.4, 0.4]), termplot.Trace("oil", [0, 30], [1, 0.2])]
    termplot.plot(console, traces, termplot.Axis("days", 0, 30), termplot.SHARES)
    return console.file.getvalue()


def test_a_file_gets_plain_text():
    text = drawn(width=80)
    assert "\x1b" not in text
    assert text.startswith("Still working   • grease   x oil\n100%┤")
    assert text.rstrip().endswith("days")
    assert max(map(len, text.splitlines())) <= 80
    assert all(line == line.rstrip() for line in text.splitlines())


def test_a_terminal_gets_colours_unless_no_color_is_set(monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    assert "\x1b[34m" in drawn(width=80, force_terminal=True)
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[3" not in drawn(width=80, force_terminal=True)


@pytest.mark.parametrize("width", [40, 60, 80])
def test_a_picture_keeps_to_the_width_of_the_console(width):
    assert max(map(len, drawn(width=width).splitlines())) == width


def test_one_picture_leaves_nothing_behind_for_the_next():
    assert drawn(width=80) == drawn(width=80)


def test_it_is_drawn_as_asked_and_else_where_a_person_looks_on():
    terminal = Console(file=io.StringIO(), force_terminal=True)
    file = Console(file=io.StringIO())
    assert [termplot.wanted(Pictured(), each) for each in (terminal, file)] == [True, False]
    assert [termplot.wanted(Pictured(picture=False), each) for each in (terminal, file)] == [False, False]
    assert [termplot.wanted(Pictured(picture=True), each) for each in (terminal, file)] == [True, True]


def test_an_axis_without_ends_goes_as_far_as_its_traces():
    console = Console(file=io.StringIO(), width=60)
    termplot.plot(console, [termplot.Trace("", [3, 11], [2, 5])], termplot.Axis("trips"), termplot.Axis("failures"))
    text = console.file.getvalue()
    assert text.startswith("failures\n")
    assert "4" in text and "10" in text
