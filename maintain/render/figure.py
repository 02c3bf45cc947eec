"""The one place that makes pictures in files: same answer, same bytes, and readable without colour."""

from __future__ import annotations

import contextlib
import io
import logging
import os
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maintain.errors import DatabaseUnusable, InvalidRecord

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import ArrayLike

SUFFIXES = (".svg", ".png", ".pdf")

WIDTH_INCHES, HEIGHT_INCHES = 7.0, 4.6
LONGEST_LABEL = 28

# Okabe and Ito (2008), Color Universal Design: told apart by every kind of colour vision. Their yellow is too pale for
# lines on white paper and is left out. Line styles and markers tell the same without any colour.
_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
PLAIN = len(_COLOURS) - 1  # place whose look is black: for what belongs to no group
_LINES: tuple[Any, ...] = ("-", "--", "-.", ":", (0, (7, 2)), (0, (3, 1, 1, 1, 1, 1)), (0, (1, 1)))
_MARKERS = ("o", "s", "^", "D", "v", "P", "X")
_HATCHES = ("", "///", "...", "\\\\\\", "xxx", "---", "ooo")

_STYLE: dict[str, Any] = {
    "font.size": 9,
    "axes.titlesize": 10,
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#d9d9d9",
    "grid.linewidth": 0.6,
    "hatch.linewidth": 0.5,
    "legend.frameon": False,
    "legend.handlelength": 3.2,
    "lines.linewidth": 1.6,
    "pdf.fonttype": 42,
    "savefig.dpi": 200,
    "svg.hashsalt": "maintain",  # else every file has random names inside
}
# Without dates, so that the same answer makes the same bytes.
_METADATA: dict[str, dict[str, str | None]] = {
    ".svg": {"Date": None, "Creator": "maintain"},
    ".png": {"Software": "maintain"},
    ".pdf": {"CreationDate": None, "Creator": "maintain", "Producer": "maintain"},
}


@dataclass(frozen=True)
class Look:
    """How one group is drawn: colour, and what tells it apart in print."""

    colour: str
    line: Any
    marker: str
    hatch: str


def look(place: int) -> Look:
    """
    Return the look of the group in this place; beyond 49 groups looks come again.

    Examples
    --------
    >>> look(0) == look(7)
    False
    """
    kind = place % len(_COLOURS)
    other = (kind + place // len(_COLOURS)) % len(_LINES)
    return Look(_COLOURS[kind], _LINES[other], _MARKERS[other], _HATCHES[other])


def check_target(path: Path) -> None:
    """
    Refuse a file that could not be drawn, before anything long is computed.

    Raises
    ------
    InvalidRecord
        If its suffix names no kind of picture.
    DatabaseUnusable
        If it cannot be written there.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise InvalidRecord(
            f"{path.name!r} does not say what kind of picture it is", hint="end its name in .svg, .png or .pdf"
        )
    try:
        is_folder = path.is_dir()
    except OSError as error:
        raise DatabaseUnusable(f"can't draw {path}: {error.strerror}", hint="name another file") from error
    if is_folder:
        raise DatabaseUnusable(f"can't draw {path}: it is a folder", hint="name a file")
    if not path.parent.is_dir():
        raise DatabaseUnusable(f"can't draw {path}: there is no folder {path.parent}", hint="make the folder first")
    if not os.access(path.parent, os.W_OK):
        raise DatabaseUnusable(f"can't draw {path}: its folder is not open for writing", hint="name another folder")


@contextlib.contextmanager
def drawing(path: Path, *, height_inches: float = HEIGHT_INCHES) -> Iterator[Figure]:
    """
    Give an empty figure, and put it in place at `path` when the block is done; if it fails, nothing is written.

    Raises
    ------
    InvalidRecord, DatabaseUnusable
        As `check_target`.
    """
    check_target(path)
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # it speaks of caches and fonts, nothing a user asked for
    from matplotlib import style
    from matplotlib.figure import Figure

    with warnings.catch_warnings(), style.context(["default", _STYLE]):  # never the user's own matplotlibrc
        warnings.simplefilter("ignore")  # a letter that the font lacks is drawn as a box
        figure = Figure(figsize=(WIDTH_INCHES, height_inches), layout="constrained")
        yield figure
        _put(path, _bytes(figure, path.suffix.lower()))


def steps(axes: Axes, how: Look, time: ArrayLike, values: tuple[ArrayLike, ArrayLike, ArrayLike], label: str) -> None:
    """Draw a step curve with its band: `values` are estimate, lower and upper, each from its time on."""
    value, lower, upper = values
    axes.fill_between(time, lower, upper, step="post", color=how.colour, alpha=0.16, linewidth=0)
    axes.step(time, value, where="post", color=how.colour, linestyle=how.line, label=short(label))


def line(axes: Axes, how: Look, time: ArrayLike, values: tuple[ArrayLike, ArrayLike, ArrayLike], label: str) -> None:
    """Draw a smooth line with its band: `values` are estimate, lower and upper."""
    value, lower, upper = values
    axes.fill_between(time, lower, upper, color=how.colour, alpha=0.16, linewidth=0)
    axes.plot(time, value, color=how.colour, linestyle=how.line, label=short(label))


def ticks(axes: Axes, how: Look, time: ArrayLike, value: ArrayLike) -> None:
    """Mark on a curve where lives were last seen working."""
    axes.plot(time, value, linestyle="", marker="|", markersize=5, markeredgewidth=0.9, color=how.colour)


def share_axis(axes: Axes, label: str) -> None:
    """Give the axis shares from 0 to 100 %."""
    from matplotlib.ticker import PercentFormatter

    axes.set_ylim(-0.02, 1.02)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0))
    axes.set_ylabel(label)


def risk_table(axes: Axes, times: Sequence[float], rows: Mapping[str, tuple[int, Sequence[int]]], title: str) -> None:
    """
    Write below the axes how many were watched at each time, a line for each group in its own colour.

    Parameters
    ----------
    axes : Axes
        With its label and limits set.
    times : sequence of float
    rows : mapping
        By group, the place whose look it has, and counts at `times`.
    title : str
        Stands above the names of the groups, or in their place if there is but one.
    """
    first, line_height, aside = 36.0, 11.0, -12.0  # points: below the labels of the axis

    def write(text: str, at: float, row: int, colour: str, aside: float = 0.0) -> None:
        axes.annotate(
            text, (at, 0), (aside, -first - row * line_height), xycoords=("data", "axes fraction"),
            textcoords="offset points", va="top", ha="right" if aside else "center", fontsize=8, color=colour,
            annotation_clip=False,
        )  # fmt: skip

    left = axes.get_xlim()[0]
    write(title, left, 0, "#444444", aside)
    for line, (name, (place, counts)) in enumerate(rows.items()):
        row = line + 1 if len(rows) > 1 else 0
        if row:
            write(short(name), left, row, look(place).colour, aside)
        for time, count in zip(times, counts, strict=True):
            write(f"{count:,}", time, row, look(place).colour)


def short(label: str) -> str:
    """
    Return a label that fits beside a curve, and that matplotlib reads as plain text.

    Examples
    --------
    >>> short("a $5 seal")
    'a \\\\$5 seal'
    """
    cut = label if len(label) <= LONGEST_LABEL else label[: LONGEST_LABEL - 1] + "…"
    return cut.replace("$", r"\$")


def _bytes(figure: Figure, suffix: str) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    target = io.BytesIO()
    figure.savefig(target, format=suffix[1:], metadata=_METADATA[suffix])
    return target.getvalue()


def _put(path: Path, data: bytes) -> None:
    """Write beside, force to the disk, then rename: a reader sees the whole picture or the one before."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise DatabaseUnusable(f"can't draw {path}: {error.strerror}", hint="name another folder") from error
