"""Readings and their trend on the screen and in pictures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from maintain.errors import InvalidRecord
from maintain.render import figure, termplot
from maintain.render.phrases import CANT_TELL, between, left_out, number, say
from maintain.render.tables import table
from maintain.results.base import Column
from maintain.results.readings import HolesCarried, ReadingTrend, Series

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from rich.console import Console

_BOUNDS = {"at most": "≤", "at least": "≥"}
_MOST_PANELS = 12
_PANEL_INCHES = 2.8
_QUIET = {"too few": "with too few readings for a line", "no limit": "of measures nobody set a limit for"}
_IN_WORDS = {"beyond": "beyond its limit", "crossed": "its line is beyond", "can't tell": CANT_TELL,
             "too few": "too few readings", "away from it": "moves away from it"}  # fmt: skip


def trend(result: ReadingTrend, console: Console) -> None:
    """Closely: each series by itself; else a table of all, the most pressing first."""
    if not result.series:
        what = f"of {result.of} " if result.of else ""
        say(console, f"no readings {what}yet; add one with: maintain reading add SHIP/POSITION MEASURE VALUE")
    elif result.closely:
        for series in result.series:
            _closely(result, series, console)
    else:
        _together(result, console)
    left_out(console, result.excluded, "reading")
    for line in result.cautions:
        say(console, f"caution: {line}")
    for line in result.notes:
        say(console, f"note: {line}")
    termplot.say_where(result, console)


def _closely(result: ReadingTrend, series: Series, console: Console) -> None:
    ended = "" if series.current else " (of a part swapped since, or of before a motor was changed)"
    say(console, f"{series.name}: {series.measure}{ended}: {series.told}", bold=True)
    if termplot.wanted(result, console) and series.line:
        _picture(series, console)
    rows = [vars(each) for each in series.readings]
    columns = (
        Column("taken_on", "Day"),
        Column("age_days", "Days", numeric=True),
        Column("value", series.unit, numeric=True),
    )
    console.print(table("Readings", columns, rows))
    say(console, f"days are counted from {series.since}: {series.because}")
    if series.limit and series.current:
        limit = series.limit
        say(console, f"limit: {limit.bound} {limit.value:.4g} {limit.unit} ({limit.source})")
    if series.line and series.current:
        today, following = series.line.today, series.line.next_reading
        say(
            console,
            f"by the line on {result.on}: {_figure(today)} {series.unit}; a reading then falls within "
            f"{between(number(following.lower), number(following.upper))} ({result.conf:.0%})",
        )
    if series.flow:
        flow = series.flow
        say(console, f"throws {number(flow.litres_per_minute)} L/min by its last reading: {_holes(flow.holes)}")
        if flow.at_limit and series.current:
            say(console, f"at its limit it carries {_holes(flow.at_limit)}")


def _figure(found: Any) -> str:
    return f"{number(found.value)} ({between(number(found.lower), number(found.upper))})"


def _holes(carried: tuple[HolesCarried, ...]) -> str:
    return " or ".join(
        f"{each.holes} {'hole' if each.holes == 1 else 'holes'} of {each.diameter_mm:g} mm "
        f"({each.inflow_litres_per_minute:.2f} L/min each)"
        for each in carried
    )


def _together(result: ReadingTrend, console: Console) -> None:
    """A table; of the whole fleet only what a line tells, and how many series have none."""
    measures = sorted({each.measure for each in result.series})
    narrowed = result.of is not None or len(measures) == 1
    shown = [each for each in result.series if narrowed or each.verdict not in _QUIET]
    sizes = next((each.flow.holes for each in shown if each.flow), ())
    columns = (
        Column("name", "Of"),
        *(() if len(measures) == 1 else (Column("measure", "Measure"),)),
        Column("n", "Readings", numeric=True),
        Column("last", "Last", numeric=True),
        Column("on", "Taken on"),
        *((Column("holes", f"Holes of {' or '.join(f'{x.diameter_mm:g}' for x in sizes)} mm"),) if sizes else ()),
        Column("change", "In 100 days", numeric=True),
        Column("limit", "Limit"),
        Column("verdict", "Its line meets it"),
    )
    if shown:
        about = f"{measures[0].capitalize()}, the" if len(measures) == 1 else "Readings and their trend, the"
        title = f"{about} most pressing first; {result.conf:.0%} intervals"
        console.print(table(title, columns, [_row(each) for each in shown]))
    for verdict, why in _QUIET.items():
        quiet = [each for each in result.series if each.verdict == verdict]
        if quiet and not narrowed:
            say(console, f"{len(quiet)} more {why}; name a ship, or give --measure, to see them")


def _row(each: Series) -> dict[str, Any]:
    last, limit = each.readings[-1], each.limit
    return {
        "name": f"{each.ship}/{each.position}" if each.ship else each.part,
        "measure": each.measure,
        "n": len(each.readings),
        "last": f"{last.value:g} {each.unit}",
        "on": last.taken_on,
        "holes": " or ".join(str(hole.holes) for hole in each.flow.holes) if each.flow else None,
        "change": _change(each),
        "limit": f"{_BOUNDS[limit.bound]} {limit.value:.4g}" if limit else None,
        "verdict": _verdict(each),
    }


def _change(each: Series) -> str | None:
    """How much the line changes; its interval reaches as far up as down."""
    if each.line is None:
        return None
    found = each.line.per_100_days
    assert found.value is not None
    assert found.upper is not None
    return f"{number(found.value)} ± {number(found.upper - found.value)}"


def _verdict(each: Series) -> str:
    meets = each.meets
    if each.verdict == "heads for it" and meets is not None and meets.on is not None:
        return f"{meets.on} ({meets.earliest}{f' to {meets.latest}' if meets.latest else ' or later'})"
    if each.verdict == "can't tell" and meets is not None and meets.earliest is not None:
        return f"{CANT_TELL}, not before {meets.earliest}"
    return _IN_WORDS.get(each.verdict, each.verdict)


def _picture(series: Series, console: Console) -> None:
    """Readings, the line with its limits in dots, and what they are held against."""
    traces = []
    if series.line:
        ages = [each.age_days for each in series.line.drawn]
        drawn = series.line.drawn
        traces += [termplot.Trace("", ages, [each.lower for each in drawn], faint=True),
                   termplot.Trace("", ages, [each.upper for each in drawn], faint=True),
                   termplot.Trace("line", ages, [each.value for each in drawn])]  # fmt: skip
    else:
        ages = [float(each.age_days) for each in series.readings]
    points = series.readings
    traces.append(
        termplot.Trace("reading", [each.age_days for each in points], [each.value for each in points], joined=False)
    )
    if series.limit:
        traces.append(termplot.Trace("limit", [ages[0], ages[-1]], [series.limit.value] * 2))
    up = termplot.Axis(f"{series.measure}, {series.unit}")
    termplot.plot(console, traces, termplot.Axis(f"days since {series.since}"), up)


def drawn(result: ReadingTrend, path: Path) -> None:
    """
    A panel for each series: readings, the line with its interval, and the limit.

    Raises
    ------
    InvalidRecord
        If there are too many for a page, or none.
    """
    if not 0 < len(result.series) <= _MOST_PANELS:
        raise InvalidRecord(
            f"{len(result.series)} series of readings can't be drawn on one page",
            hint=f"1 to {_MOST_PANELS} can: name a part, a position or a ship, or give --measure",
        )
    columns = min(len(result.series), 2)
    rows = -(-len(result.series) // columns)
    with figure.drawing(path, height_inches=figure.HEIGHT_INCHES if rows == 1 else _PANEL_INCHES * rows) as page:
        every = page.subplots(rows, columns, squeeze=False).ravel()
        for axes, series in zip(every, result.series, strict=False):
            _panel(axes, series)
        for axes in every[len(result.series) :]:
            axes.set_axis_off()
        title = f"Readings against age, lines with {result.conf:.0%} limits; dashed: the limit"
        page.suptitle(title, fontsize=10, x=0.01, ha="left")


def _panel(axes: Axes, series: Series) -> None:
    how = figure.look(0)
    if series.line:
        drawn = series.line.drawn
        ages = [each.age_days for each in drawn]
        band = ([each.value for each in drawn], [each.lower for each in drawn], [each.upper for each in drawn])
        figure.line(axes, how, ages, band, "line")
    axes.plot(
        [each.age_days for each in series.readings],
        [each.value for each in series.readings],
        linestyle="",
        marker=how.marker,
        markersize=4,
        color=how.colour,
    )
    if series.limit:
        axes.axhline(series.limit.value, color=figure.look(figure.PLAIN).colour, linestyle="--", linewidth=1)
    axes.set_title(f"{figure.short(series.name)}: {series.measure}")
    axes.set_xlabel(f"days since {series.since}")
    axes.set_ylabel(series.unit)
