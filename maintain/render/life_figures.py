"""Life curves and fitted laws drawn to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from maintain.render import figure
from maintain.results.life import GroupCurve, GroupFit, LifeCurves, LifeFits, Paper

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_INCHES = 0.16  # of a line below the axes
MARGIN = 0.3  # of heights on paper


def curves(result: LifeCurves, path: Path) -> None:
    """Steps with their bands, a tick where a life was last seen working, and below how many were watched."""
    source, groups = result.source, [group for group in result.groups if group.drawn.time]
    panels = 2 if result.show_hazard and any(group.drawn.hazard for group in groups) else 1
    height = (figure.HEIGHT_INCHES + ROW_INCHES * len(groups)) * (1 if panels == 1 else 1.7)
    with figure.drawing(path, height_inches=height) as page:
        every = page.subplots(panels, 1, squeeze=False)[:, 0]
        for place, group in enumerate(groups):
            _curve(every[0], place, group, _label(group, source.by))
            if panels == 2 and group.drawn.hazard:
                _hazard(every[1], place, group, _label(group, source.by))
        end = max(group.drawn.time[-1] for group in groups)
        start = min(group.drawn.time[0] for group in groups)
        for axes in every:
            axes.set_xlim(start, start + (end - start) * 1.02)
            axes.set_xlabel(figure.short(source.clock))
        figure.share_axis(every[0], "Still working")
        if panels == 2:
            every[1].set_ylim(bottom=0)
            every[1].set_ylabel("Cumulative hazard")
        every[0].set_title(_title("Still working", source.conf, groups) + "; a tick: last seen working")
        if source.by is not None:
            every[0].legend(title=figure.short(source.by), alignment="left")
        _watched(every[0], groups, source.by)


def _curve(axes: Axes, place: int, group: GroupCurve, label: str) -> None:
    drawn, how = group.drawn, figure.look(place)
    draw = figure.steps if drawn.stepped else figure.line
    draw(axes, how, drawn.time, (drawn.value, drawn.lower, drawn.upper), label)
    figure.ticks(axes, how, drawn.seen_working, drawn.seen_at)


def _hazard(axes: Axes, place: int, group: GroupCurve, label: str) -> None:
    drawn = group.drawn
    values = (drawn.hazard, drawn.hazard_lower, drawn.hazard_upper)
    figure.steps(axes, figure.look(place), drawn.time, values, label)


def _watched(axes: Axes, groups: list[GroupCurve], by: str | None) -> None:
    """How many were watched, at the times that suit the group watched longest; others have none beyond their end."""
    times = max((group.drawn.watched_at for group in groups), key=lambda each: each[-1])
    rows = {}
    for group in groups:
        counts = dict(zip(group.drawn.watched_at, group.drawn.watched, strict=True))
        rows[_label(group, by)] = [counts.get(time) for time in times]
    figure.risk_table(axes, times, rows, "watched")


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
            axes.set_title(_title(f"{law.capitalize()} paper", source.conf, [result.groups[at] for at, _, _ in groups]))
            axes.set_xlabel(figure.short(source.clock))
            if source.by is not None:
                axes.legend(title=figure.short(source.by), alignment="left", loc="upper left")
        every[0].set_ylabel("Failed")


def _paper(axes: Axes, groups: list[tuple[int, Paper, str]]) -> None:
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    axes.set_xscale("log")
    for place, paper, label in groups:
        how = figure.look(place)
        figure.line(axes, how, paper.line_time, (paper.line, paper.line_lower, paper.line_upper), label)
        axes.plot(paper.time, paper.height, linestyle="", marker=how.marker, ms=4.5, color=how.colour, mec="white")
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


def _title(what: str, conf: float, groups: Sequence[GroupCurve | GroupFit]) -> str:
    n, events = sum(group.n for group in groups), sum(group.events for group in groups)
    return f"{what}, with {conf:.0%} limits (n {n:,}, failed {events:,})"
