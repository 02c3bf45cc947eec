"""Life curves and fitted laws drawn to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maintain.render import figure
from maintain.results.life import GroupCurve, GroupFit, LifeCurves, LifeFits, Paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SMALL_INCHES = 2.6  # height of one panel of many
ROW_INCHES = 0.16  # of a line below the axes
MOST_TOGETHER = 3  # groups whose bands can be told apart on one panel
MARGIN = 0.3  # of heights on paper


def curves(result: LifeCurves, path: Path) -> None:
    """
    Steps with their bands, a tick where a life was last seen working, and below how many were watched.

    Beyond a few groups their bands would hide one another: each then has axes of its own, the others being grey.
    """
    groups = list(enumerate(result.groups))
    together = len(groups) <= MOST_TOGETHER
    columns = 1 if together else 2
    shown = [groups] if together else [[each] for each in groups]
    panels = [(each, False) for each in shown] + [(each, True) for each in shown if result.show_hazard]
    rows = -(-len(panels) // columns)
    height = (figure.HEIGHT_INCHES if columns == 1 else SMALL_INCHES) + ROW_INCHES * len(shown[0])
    with figure.drawing(path, height_inches=height * rows) as page:
        every = page.subplots(rows, columns, squeeze=False).ravel()
        for axes, (panel, hazard) in zip(every, panels, strict=False):
            _panel(axes, panel, result, hazard=hazard)
        for axes in every[len(panels) :]:
            axes.set_axis_off()
        title = f"with {result.source.conf:.0%} limits; a tick: last seen working"
        page.suptitle(f"{_counted(result.groups)}, {title}", fontsize=10, x=0.01, ha="left")


def _panel(axes: Axes, panel: list[tuple[int, GroupCurve]], result: LifeCurves, *, hazard: bool) -> None:
    by, drawn = result.source.by, [group.drawn for group in result.groups]
    own = [place for place, _ in panel]
    for other in [] if hazard else [each for place, each in enumerate(drawn) if place not in own]:
        axes.plot(other.time, other.value, color="#b0b0b0", lw=0.8, drawstyle="steps-post" if other.stepped else None)
    for place, group in panel:
        (_hazard if hazard else _curve)(axes, place, group, _label(group, by))
    start, end = min(each.time[0] for each in drawn), max(each.time[-1] for each in drawn)
    axes.set_xlim(start, start + (end - start) * 1.02)
    axes.set_xlabel(figure.short(result.source.clock))
    if hazard:
        axes.set_ylim(bottom=0)
        axes.set_ylabel("Cumulative hazard")
    else:
        figure.share_axis(axes, "Still working")
    if len(panel) < len(drawn):
        axes.set_title(f"{figure.short(panel[0][1].group)} ({_counted([panel[0][1]])})")
    elif by is not None:
        axes.legend(title=figure.short(by), alignment="left")
    if not hazard:
        rows = {_label(group, by): (place, group.drawn.watched) for place, group in panel}
        figure.risk_table(axes, drawn[0].watched_at, rows, "watched")


def _curve(axes: Axes, place: int, group: GroupCurve, label: str) -> None:
    drawn, how = group.drawn, figure.look(place)
    draw = figure.steps if drawn.stepped else figure.line
    draw(axes, how, drawn.time, (drawn.value, drawn.lower, drawn.upper), label)
    figure.ticks(axes, how, drawn.seen_working, drawn.seen_at)


def _hazard(axes: Axes, place: int, group: GroupCurve, label: str) -> None:
    drawn = group.drawn
    if drawn.hazard:
        values = (drawn.hazard, drawn.hazard_lower, drawn.hazard_upper)
        figure.steps(axes, figure.look(place), drawn.time, values, label)


def fits(result: LifeFits, path: Path) -> None:
    """Probability paper of each law: failures as points, the law as a line with its band."""
    source = result.source
    laws: dict[str, list[tuple[int, Paper, str]]] = {}
    for place, group in enumerate(result.groups):
        if group.drawn is not None and group.model is not None:
            laws.setdefault(group.model, []).append((place, group.drawn, _label(group, source.by)))
    with figure.drawing(path) as page:
        if not laws:
            page.text(0.5, 0.5, "can't tell yet: no law can be fitted", ha="center", va="center")
            return
        every = page.subplots(1, len(laws), squeeze=False)[0]
        for axes, (law, groups) in zip(every, laws.items(), strict=True):
            _paper(axes, groups)
            counted = _counted([result.groups[at] for at, _, _ in groups])
            axes.set_title(f"{law.capitalize()} paper: {counted}, with {source.conf:.0%} limits")
            axes.set_xlabel(figure.short(source.clock))
            if source.by is not None:
                axes.legend(title=figure.short(source.by), alignment="left", loc="upper left")
        every[0].set_ylabel("Failed")


def _paper(axes: Axes, groups: list[tuple[int, Paper, str]]) -> None:
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    axes.set_xscale("log")
    for place, paper, label in groups:
        how = figure.look(place)
        figure.line(axes, how, paper.line_time, (paper.line, paper.line_lower, paper.line_upper), "")
        points: dict[str, Any] = {"color": how.colour, "marker": how.marker, "ms": 4.5, "mec": "white"}
        axes.plot(paper.time, paper.height, linestyle="", **points)
        axes.plot([], [], linestyle=how.line, label=label, **points)  # line and point together in the key
    papers = [paper for _, paper, _ in groups]
    bottom = min(min(*paper.height, paper.line[0]) for paper in papers) - MARGIN
    top = max(max(*paper.height, paper.line[-1]) for paper in papers) + MARGIN
    axes.set_ylim(bottom, top)
    shares = zip(papers[0].share_heights, papers[0].shares, strict=True)
    shown = {height: f"{100 * share:.3g}%" for height, share in shares if bottom < height < top}
    axes.set_yticks(list(shown), list(shown.values()))
    axes.set_xlim(min(paper.line_time[0] for paper in papers), max(paper.line_time[-1] for paper in papers))
    axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda time, _: f"{time:g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _label(group: GroupCurve | GroupFit, by: str | None) -> str:
    return group.group if by is not None else ""


def _counted(groups: Sequence[GroupCurve | GroupFit]) -> str:
    n, events = sum(group.n for group in groups), sum(group.events for group in groups)
    return f"{events:,} of {n:,} failed"
