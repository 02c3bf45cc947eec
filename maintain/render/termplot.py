"""The one place that draws pictures in the terminal, with plotext.

A picture is drawn where a person looks on: when the output is a terminal. `--picture` draws it elsewhere too (files get
plain text), `--no-picture` nowhere. Width is the console's; colours and escape codes go through rich, which leaves
them out under NO_COLOR and in files. Groups differ in their letters as well as in colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, floor, log10
from typing import TYPE_CHECKING, Any

from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.base import Pictured

WIDEST, HEIGHT, MOST_TICKS = 100, 18, 6
_MARKS = "•x+o*#%"
# By plotext's name and by rich's: both mean the terminal's own palette.
_COLOURS = {
    "blue": "blue",
    "orange": "yellow",
    "green": "green",
    "magenta": "magenta",
    "cyan": "cyan",
    "red": "red",
    "gray": "bright_black",
}


@dataclass(frozen=True)
class Trace:
    """
    Points to be drawn.

    Attributes
    ----------
    label : str
    across, up : sequence of float
        A step curve has its corners, two points to a step.
    joined : bool
        Whether to join them in order.
    faint : bool
        Drawn in dots, in the colour of the next trace that is not faint: its limits, or its law.
    """

    label: str
    across: Sequence[float]
    up: Sequence[float]
    joined: bool = True
    faint: bool = False


@dataclass(frozen=True)
class Axis:
    """What an axis shows: label, ends (None: as far as traces go), and what to write where (nothing: round numbers)."""

    label: str
    least: float | None = None
    most: float | None = None
    ticks: Mapping[float, str] = field(default_factory=dict)


SHARES = Axis("Still working", 0, 1, {0: "0%", 0.25: "25%", 0.5: "50%", 0.75: "75%", 1: "100%"})


def wanted(result: Pictured, console: Console) -> bool:
    """Tell whether a picture is to be drawn: as asked, else where a person looks on."""
    return console.is_terminal if result.picture is None else result.picture


def say_where(result: Pictured, console: Console) -> None:
    """Name the file an answer was drawn to, if it was."""
    if result.plotted is not None:
        console.print(Text(f"drawn to {result.plotted}"), soft_wrap=True)


def plot(console: Console, traces: Sequence[Trace], across: Axis, up: Axis) -> None:
    """Draw traces, the later over the earlier, under a line that says which is which."""
    from plotext import figure, marker

    figure.clear()
    figure.theme("colorless")  # no background of its own: terminals are dark or light
    figure.plot_size(min(console.width, WIDEST), HEIGHT)
    key, place = Text(f"{up.label}   "), 0
    for trace in traces:
        mark, (colour, style) = _MARKS[place % len(_MARKS)], list(_COLOURS.items())[place % len(_COLOURS)]
        signal = figure.signal(list(trace.across), list(trace.up), marker=marker("·" if trace.faint else mark, colour))
        figure.draw(signal.lines(trace.joined))
        if not trace.faint:
            place += 1
            key.append(f"{mark} " if trace.label else "", style=style).append(f"{trace.label}   ")
    _rule(figure.ruler("x", 0), across, [each for trace in traces for each in trace.across])
    _rule(figure.ruler("y", 0), up, [each for trace in traces for each in trace.up])
    figure.label(across.label, "x")
    figure.axes(False, side=1)
    for line in (key, *map(Text.from_ansi, str(figure.build()).splitlines())):
        line.rstrip()
        console.print(line, soft_wrap=True)
    figure.clear()


def _rule(ruler: Any, axis: Axis, shown: Sequence[float]) -> None:
    least = min(shown) if axis.least is None else axis.least
    most = max(shown) if axis.most is None else axis.most
    ruler.lim(least, most)
    ticks = axis.ticks or _round_numbers(least, most)
    ruler.ticks(list(ticks), list(ticks.values()))


def _round_numbers(least: float, most: float) -> dict[float, str]:
    """
    Some round numbers from least to most, as written.

    Examples
    --------
    >>> _round_numbers(0, 730)
    {0.0: '0', 200.0: '200', 400.0: '400', 600.0: '600'}
    """
    span = most - least or 1.0
    unit = 10.0 ** floor(log10(span / MOST_TICKS))
    step = next(unit * by for by in (1, 2, 5, 10) if span <= unit * by * MOST_TICKS)
    found = (step * count for count in range(ceil(least / step), floor(most / step) + 1))
    return {each: f"{each:.6g}" for each in found}
