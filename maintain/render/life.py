"""Life curves on the screen: the answer in a sentence, a picture, the figures, then what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from maintain.render import termplot
from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say, share
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

    from maintain.results.life import Drawn, Figure, GroupCurve, GroupFit, LifeCurves, SurvivalAt
    from maintain.results.life_source import Source


def curves(result: LifeCurves, console: Console) -> None:
    """When half and a tenth are dead, group by group; then the share still working at some times."""
    source = result.source
    for group in result.groups:
        say(console, f"{who(group, source)}: {_median_told(group, source)}", bold=True)
    if termplot.wanted(result, console):
        _picture(result, console)
    columns = (
        *group_column(source),
        Column("time", source.clock.capitalize(), numeric=True),
        Column("survival", "Still working", numeric=True),
        Column("limits", f"{source.conf:.0%} limits", numeric=True),
        Column("at_risk", "Watched then", numeric=True),
        *([Column("hazard", "Cumulative hazard", numeric=True)] if result.show_hazard else []),
    )
    rows = [_row(group, point) for group in result.groups for point in group.at]
    console.print(table("Share still working", columns, rows))
    for group in result.groups:
        label = f"{group.group}: " if source.by else ""
        say(console, f"{label}{_tenth_told(group.b10, source)}")
        mean = group.restricted_mean
        if mean.value is not None and mean.tau is not None:
            sure = at_level(source, mean.lower, mean.upper)
            say(console, f"{label}mean life within the first {number(mean.tau)}: {number(mean.value)}{sure}")
        elif group.caution is not None:
            say(console, f"{label}{CANT_TELL} their mean life: {group.caution}")
        second_opinion(group, source, console)
    remarks(console, source)
    termplot.say_where(result, console)


def _row(group: GroupCurve, point: SurvivalAt) -> dict[str, Any]:
    hazard = point.cumulative_hazard
    return {
        "group": group.group,
        "time": number(point.time),
        "survival": share(point.survival),
        "limits": cell(share(point.lower), share(point.upper)),
        "at_risk": point.at_risk,
        "hazard": hazard and _figure_told(hazard),
    }


def cell(lower: str | None, upper: str | None) -> str | None:
    """Limits in a column of their own; None where there are none."""
    return None if lower is None and upper is None else between(lower, upper)


def _tenth_told(figure: Figure, source: Source) -> str:
    if figure.value is None:
        later = "" if figure.lower is None else f", not before {number(figure.lower)}"
        return f"{CANT_TELL} when a tenth are dead{later}"
    return f"a tenth dead by {number(figure.value)}{at_level(source, figure.lower, figure.upper)}"


def _figure_told(figure: Figure) -> str:
    return f"{number(figure.value)}{limits(figure.lower, figure.upper)}"


def _picture(result: LifeCurves, console: Console) -> None:
    """Curves in the terminal; with a single group, its limits too."""
    groups, alone = result.groups, len(result.groups) == 1
    traces = []
    for group in groups:
        drawn = group.drawn
        if alone:
            traces += [termplot.Trace("", *_corners(drawn, each), faint=True) for each in (drawn.lower, drawn.upper)]
        traces.append(termplot.Trace(group.group if result.source.by else "", *_corners(drawn, drawn.value)))
    start, end = min(group.drawn.time[0] for group in groups), max(group.drawn.time[-1] for group in groups)
    termplot.plot(console, traces, termplot.Axis(result.source.clock, start, end), termplot.SHARES)


def _corners(drawn: Drawn, column: tuple[float, ...]) -> tuple[list[float], list[float]]:
    """The corners of a step curve, or the points of a joined one."""
    if not drawn.stepped:
        return list(drawn.time), list(column)
    across = [time for time in drawn.time for _ in range(2)][1:]
    return across, [value for value in column for _ in range(2)][:-1]


def who(group: GroupCurve | GroupFit, source: Source) -> str:
    """Who is spoken of, with how many and how many failed."""
    label = f"{group.group}: " if source.by else ""
    failures = "no failure" if group.events == 0 else count(group.events, "failure")
    return f"{label}{count(group.n, source.noun)}, {failures}"


def _median_told(group: GroupCurve, source: Source) -> str:
    median = group.median
    if median.value is not None:
        return f"half are dead by {number(median.value)} {source.clock}{at_level(source, median.lower, median.upper)}"
    seen = [point for point in group.at if point.survival is not None]
    if group.caution is not None:
        return f"{CANT_TELL} when half are dead: {group.caution}"
    if not seen:
        return f"{CANT_TELL} when half are dead"
    last = seen[-1]
    alive = f"{share(last.survival)} still work at {number(last.time)} {source.clock}"
    return f"{CANT_TELL} when half are dead; {alive}{at_level(source, last.lower, last.upper, share)}"


def at_level(
    source: Source, lower: float | None, upper: float | None, told: Callable[[float | None], str | None] = number
) -> str:
    """Limits in brackets with how sure they are, after a number."""
    level = "" if lower is None and upper is None else f"{100 * source.conf:g}%: "
    return f" ({level}{between(told(lower), told(upper))})"


def second_opinion(group: GroupCurve | GroupFit, source: Source, console: Console) -> None:
    """Say whether another library finds the same of a group, if it was asked."""
    found = group.second_opinion
    if found is None:
        return
    label = f"{group.group}: " if source.by else ""
    asked = f"{found.library} {found.version}"
    if found.reason is None:
        told = f"{asked}, asked too, finds the same to {count(found.digits or 0, 'digit')}"
    elif found.largest_difference is None:
        told = f"{asked} gives no second opinion: {found.reason}"
    else:
        told = f"{asked} differs: {found.reason}"
    say(console, f"{label}{told}")


def remarks(console: Console, source: Source) -> None:
    """Say what the answer rests on, and what it leaves out."""
    left_out(console, source.excluded, source.noun)
    for note in source.notes:
        say(console, note)


def group_column(source: Source) -> tuple[Column, ...]:
    """A column for the group, if there are several."""
    return (Column("group", source.by.capitalize()),) if source.by else ()
