"""Causes of failure, on the screen and as a picture stacked by cause."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from maintain.render import termplot
from maintain.render.phrases import CANT_TELL, between, count, left_out, number, say, share, share_limits
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from rich.console import Console

    from maintain.core.lives import Floats
    from maintain.results.life_causes import GroupCauses, LifeCauses

MOST_SAID = 4
MOST_BANDS = 6  # more can't be told apart; the rest are drawn together


def causes(result: LifeCauses, console: Console) -> None:
    """What takes most, in a sentence; then the share of each cause at some times."""
    say(console, _answer(result), bold=True)
    if termplot.wanted(result, console):
        _plot_in_terminal(result, console)
    for group in result.groups or (result.everyone,):
        name = (
            "" if not result.groups else f"{group.group}: {count(group.n, result.source.noun)}, {_ends(group.events)}"
        )
        if group.causes:
            console.print(table(name or "Share taken by each cause", _columns(group, result), _rows(group)))
        else:
            say(console, name)
    if result.tests:
        console.print(table("Does a cause take the same share everywhere?", _TEST_COLUMNS, _test_rows(result)))
    left_out(console, result.source.excluded, result.source.noun)
    for note in result.source.notes:
        say(console, note)
    termplot.say_where(result, console)


def _answer(result: LifeCauses) -> str:
    whole, foremost = result.everyone, result.foremost
    who = f"{count(whole.n, result.source.noun)}, {_ends(whole.events)}"
    told = ", ".join(f"{each.cause} {each.events}" for each in whole.causes[:MOST_SAID])
    told += " ..." if len(whole.causes) > MOST_SAID else ""
    if foremost is None:
        return f"{who}: {told}; {CANT_TELL} what kills them"
    verdict = f"{foremost.cause} takes most"
    if foremost.second is not None and not foremost.surely:
        verdict = f"{CANT_TELL} whether {foremost.cause} or {foremost.second} takes most"
    return f"{who}: {told}; {verdict}{_last_share(result)}"


def _ends(n: int) -> str:
    return "none ended" if n == 0 else f"{n} ended"


def _last_share(result: LifeCauses) -> str:
    first = next(each for each in result.everyone.causes if result.foremost and each.cause == result.foremost.cause)
    last = first.at[-1]
    taken = f"{first.cause} has taken {share(last.incidence)}{share_limits(last.lower, last.upper)}"
    return f"; by {number(last.time)} {result.source.clock} {taken}"


def _columns(group: GroupCauses, result: LifeCauses) -> tuple[Column, ...]:
    times = [Column(str(place), f"By {number(each.time)}", numeric=True) for place, each in enumerate(group.working)]
    return (Column("cause", ""), Column("events", "Lives", numeric=True), *times)


def _rows(group: GroupCauses) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [
        {
            "cause": each.cause,
            "events": each.events,
            **{
                str(place): f"{share(point.incidence)} ({between(share(point.lower), share(point.upper))})"
                if point.incidence
                else "0%"
                for place, point in enumerate(each.at)
            },
        }
        for each in group.causes
    ]
    working = {str(place): share(each.share) for place, each in enumerate(group.working)}
    watched = {str(place): each.at_risk for place, each in enumerate(group.working)}
    ended = sum(each.events for each in group.causes)
    return [
        *rows,
        {"cause": "still working", "events": group.n - ended, **working},
        {"cause": "watched then", **watched},
    ]


_TEST_COLUMNS = (
    Column("cause", ""),
    Column("statistic", "Chi-square", numeric=True),
    Column("df", "df", numeric=True),
    Column("p", "p", numeric=True),
    Column("p_holm", "p (Holm)", numeric=True),
)


def _test_rows(result: LifeCauses) -> list[dict[str, Any]]:
    return [{**vars(each), "p": f"{each.p:.2g}", "p_holm": f"{each.p_holm:.2g}"} for each in result.tests]


def plot(result: LifeCauses, path: Path) -> None:
    """Draw the shares of all causes, one on top of the other, with what still works above them."""
    from maintain.render import figure

    groups = [each for each in result.groups if each.causes] or [result.everyone]
    with figure.drawing(path, height_inches=figure.HEIGHT_INCHES * max(1.0, 0.55 * len(groups))) as page:
        every = page.subplots(len(groups), 1, sharex=True, squeeze=False)[:, 0]
        names = _names(result)
        for axes, group in zip(every, groups, strict=True):
            _stack(axes, group, names, max(each.drawn_times[-1] for each in groups))
            if result.groups:
                axes.set_title(f"{figure.short(group.group)} ({group.n})")
        every[-1].set_xlabel(result.source.clock.capitalize())
        handles, labels = every[0].get_legend_handles_labels()
        page.legend(handles[::-1], labels[::-1], loc="outside right upper")


def _stack(axes: Axes, group: GroupCauses, names: list[str], end: float) -> None:
    from maintain.render import figure

    times = np.array([0.0, *group.drawn_times, end])
    below = np.zeros(times.size)
    for place, name in enumerate(names):
        shares = _shares(group, name, names)
        top = below + np.append(shares, shares[-1])
        look = figure.look(place)
        band: dict[str, Any] = {
            "color": look.colour,
            "alpha": 0.55,
            "hatch": look.hatch,
            "edgecolor": look.colour,
            "linewidth": 0.4,
        }
        axes.fill_between(times, below, top, step="post", label=figure.short(name), **band)
        below = top
    axes.set_xlim(0, end)
    figure.share_axis(axes, "Share of parts taken")


def _names(result: LifeCauses) -> list[str]:
    """Causes by frequency; beyond what can be told apart the rest together."""
    names = [each.cause for each in result.everyone.causes]
    return names if len(names) <= MOST_BANDS else [*names[: MOST_BANDS - 1], _OTHERS]


_OTHERS = "all others"


def _shares(group: GroupCauses, name: str, names: list[str]) -> Floats:
    """The share of a cause, or of all that are not named, at time 0 and at every time of failure."""
    wanted = [
        each.drawn for each in group.causes if each.cause == name or (name == _OTHERS and each.cause not in names)
    ]
    total = np.sum([np.array(each) for each in wanted], axis=0) if wanted else np.zeros(len(group.drawn_times))
    return np.concatenate(([0.0], total))


def _plot_in_terminal(result: LifeCauses, console: Console) -> None:
    """Each cause on top of those before it, as lines."""
    names, whole = _names(result), result.everyone
    across = [0.0, *whole.drawn_times]
    traces, below = [], np.zeros(len(across))
    for name in names:
        below = below + _shares(whole, name, names)
        corners = [x for x in across for _ in range(2)][1:], [y for y in below.tolist() for _ in range(2)][:-1]
        traces.append(termplot.Trace(name, *corners))
    up = replace(termplot.SHARES, label="Share taken, each cause on top of the one before")
    termplot.plot(console, traces, termplot.Axis(result.source.clock, 0.0, across[-1]), up)
