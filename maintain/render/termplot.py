"""The one place that draws pictures in the terminal, with plotext.

A picture is drawn where a person looks on: when the output is a terminal. `--picture` draws it elsewhere too (a file gets
plain text), `--no-picture` nowhere. Width is the console's; colours and escape codes go through rich, which leaves
them out under NO_COLOR and in files. Groups differ in their letters as well as in colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.base import Pictured

WIDEST, HEIGHT = 100, 18
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
    """Points joined in order: a step curve has its corners, two points to a step."""

    label: str
    across: Sequence[float]
    up: Sequence[float]


@dataclass(frozen=True)
class Axis:
    """What an axis shows: its label, and its ends (None: as far as the traces go)."""

    label: str
    least: float | None = None
    most: float | None = None
    as_share: bool = False


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

    shown = [trace for trace in traces if len(trace.across)]
    if not shown:
        return
    figure.clear()
    figure.theme("colorless")  # no background of its own: terminals are dark or light
    figure.plot_size(min(console.width, WIDEST), HEIGHT)
    key = Text()
    for place, trace in enumerate(shown):
        mark, (colour, style) = _MARKS[place % len(_MARKS)], list(_COLOURS.items())[place % len(_COLOURS)]
        signal = figure.signal(list(trace.across), list(trace.up), marker=marker(mark, colour))
        figure.draw(signal.lines())
        key.append(f"{mark} ", style=style)
        key.append(f"{trace.label}   ")
    for which, axis in (("x", across), ("y", up)):
        _rule(figure.ruler(which, 0), axis)
    figure.label(across.label, "x")
    figure.axes(False, side=1)
    if up.label or len(shown) > 1:
        _print(console, Text(f"{up.label}   ").append_text(key if len(shown) > 1 else Text()))
    for line in str(figure.build()).splitlines():
        _print(console, Text.from_ansi(line))
    figure.clear()


def _rule(ruler: Any, axis: Axis) -> None:
    if axis.least is not None and axis.most is not None:
        ruler.lim(axis.least, axis.most)
    if axis.as_share:
        ruler.ticks([0, 0.25, 0.5, 0.75, 1], ["0%", "25%", "50%", "75%", "100%"])


def _print(console: Console, text: Text) -> None:
    text.rstrip()
    console.print(text, soft_wrap=True)
