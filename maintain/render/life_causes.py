"""Causes of failure, on the screen and as a picture stacked by cause."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from maintain.render import termplot
from maintain.render.phrases import CANT_TELL, between, count, fine, left_out, number, say, share
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from rich.console import Console

    from maintain.core.lives import Floats
    from maintain.results.life_causes import GroupCauses, LifeCauses

MOST_SAID = 4
ENOUGH_WATCHED = 5  # fewer, and a share told of all may rest on one or two
MOST_BANDS = 6  # more can't be told apart; the rest are drawn together


def causes(result: LifeCauses, console: Console) -> None:
    """What takes most, in a sentence; then the share of each cause at some times."""
    say(console, _answer(result), bold=True)
    if termplot.wanted(result, console):
        _plot_in_terminal(result, console)
    for group in result.groups or (result.everyone,):
        name = f"{group.group}: {count(group.n, result.source.noun)}, {_ends(group.events)}"
        title = name if result.groups else "Share taken by each cause"
        console.print(table(title, _columns(group), _rows(group)))
    if any(point.with_unknown for each in result.everyone.causes for point in each.at):
        _with_unknown(result, console)
    if result.tests:
        console.print(table("Does a cause take the same share everywhere?", _TEST_COLUMNS, _test_rows(result)))
    left_out(console, result.source.excluded, result.source.noun)
    for note in result.source.notes:
        say(console, note)
    termplot.say_where(result, console)


def _answer(result: LifeCauses) -> str:
    whole = result.everyone
    who = f"{count(whole.n, result.source.noun)}, {_ends(whole.events)}"
    told = ", ".join(f"{each.cause} {each.events}" for each in whole.causes[:MOST_SAID])
    told += " ..." if len(whole.causes) > MOST_SAID else ""
    return f"{who}: {told}; {_verdict(result)}"


def _verdict(result: LifeCauses) -> str:
    foremost, unknown = result.foremost, result.everyone.unknown
    if foremost is None:
        return f"{CANT_TELL} what ends them"
    verdict = f"{foremost.cause} takes most"
    if foremost.second is not None and not foremost.surely:
        verdict = f"{CANT_TELL} whether {foremost.cause} or {foremost.second} takes most"
    elif not foremost.surely:
        verdict = f"{foremost.cause} is the only cause named, and {unknown} ended for an unknown one"
    return f"{verdict}{_share_of(foremost.cause, result)}"


def _ends(n: int) -> str:
    return "none ended" if n == 0 else f"{n} ended"


def _share_of(cause: str, result: LifeCauses) -> str:
    """What a cause has taken, at the last time that enough were still watched to tell."""
    last = _told_by(result.everyone)
    point = next(each for each in result.everyone.causes if each.cause == cause).at[last]
    if point.incidence is None:
        return ""
    told = f"{cause} has taken {_taken(point.incidence, point.lower, point.upper)}"
    return f"; by {number(point.time)} {result.source.clock} {told}"


def _told_by(group: GroupCauses) -> int:
    """Place of the last time at which as many were watched as a share should rest on; else the first."""
    told = [place for place, each in enumerate(group.working) if each.share is not None]
    return max((place for place in told if group.working[place].at_risk >= ENOUGH_WATCHED), default=0)


def _columns(group: GroupCauses) -> tuple[Column, ...]:
    times = [Column(str(place), f"By {number(each.time)}", numeric=True) for place, each in enumerate(group.working)]
    return (Column("cause", ""), Column("events", "Lives", numeric=True), *times)


def _rows(group: GroupCauses) -> list[dict[str, Any]]:
    # nobody watched, nothing known
    known = [each.share is not None and (each.at_risk > 0 or not each.share) for each in group.working]
    rows: list[dict[str, Any]] = [
        {
            "cause": each.cause,
            "events": each.events,
            **{
                str(place): _taken(point.incidence, point.lower, point.upper) if told else None
                for place, (point, told) in enumerate(zip(each.at, known, strict=True))
            },
        }
        for each in group.causes
    ]
    working = {str(place): share(each.share) if known[place] else None for place, each in enumerate(group.working)}
    watched = {str(place): each.at_risk for place, each in enumerate(group.working)}
    return [
        *rows,
        {"cause": "still working", "events": group.n - group.events, **working},
        {"cause": "watched then", **watched},
    ]


def _taken(value: float | None, lower: float | None, upper: float | None) -> str:
    """A share and its limits; of one that is nothing so far, the upper limit."""
    if value:
        return f"{fine(value)} ({between(fine(lower), fine(upper))})"
    return f"none ({between(None, fine(upper))})"


def _with_unknown(result: LifeCauses, console: Console) -> None:
    """How much more each named cause may have taken, if the unknown ones were all its own."""
    whole = result.everyone
    place = _told_by(whole)
    columns = (
        Column("cause", ""),
        Column("named", "As named", numeric=True),
        Column("most", "All unknown put to it", numeric=True),
    )
    rows = [
        {
            "cause": each.cause,
            "named": _taken(point.incidence, point.lower, point.upper),
            "most": _taken(point.with_unknown.value or 0.0, point.with_unknown.lower, point.with_unknown.upper),
        }
        for each in whole.causes
        for point in [each.at[place]]
        if point.with_unknown is not None
    ]
    by = f"{number(whole.working[place].time)} {result.source.clock}"
    console.print(table(f"By {by}, {whole.unknown} of {whole.events} causes being unknown", columns, rows))


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

    groups = [each for each in result.groups if each.events] or [result.everyone]
    with figure.drawing(path, height_inches=figure.HEIGHT_INCHES * max(1.0, 0.55 * len(groups))) as page:
        every = page.subplots(len(groups), 1, squeeze=False)[:, 0]
        names, end = _names(result), max(each.drawn_times[-1] for each in groups)
        for axes, group in zip(every, groups, strict=True):
            _stack(axes, group, names, end)
            figure.risk_table(axes, *_watched(group), "watched")
            if result.groups:
                axes.set_title(f"{figure.short(group.group)} ({_ended_of(group)})")
            axes.set_xlabel(figure.short(result.source.clock))
        title = f"{_ended_of(result.everyone)}, each cause on top of the one before"
        page.suptitle(title, fontsize=10, x=0.01, ha="left")
        handles, labels = every[0].get_legend_handles_labels()
        page.legend(handles[::-1], labels[::-1], loc="outside right upper")


def _ended_of(group: GroupCauses) -> str:
    return f"{group.events:,} of {group.n:,} ended"


def _watched(group: GroupCauses) -> tuple[list[float], dict[str, tuple[int, list[int]]]]:
    from maintain.render import figure

    times, counts = zip(*group.watched, strict=True)
    return list(times), {"": (figure.PLAIN, list(counts))}


def _stack(axes: Axes, group: GroupCauses, names: list[str], end: float) -> None:
    from maintain.render import figure

    shares = [_shares(group, name, names) for name in names]
    all_gone = np.isclose(sum(each[-1] for each in shares), 1.0)
    times = np.array([0.0, *group.drawn_times[:-1], end if all_gone else group.drawn_times[-1]])
    below = np.zeros(times.size)
    for place, (name, mine) in enumerate(zip(names, shares, strict=True)):
        top = below + mine
        look = figure.look(place)
        band: dict[str, Any] = {
            "facecolor": (look.colour, 0.55),
            "hatch": look.hatch,
            "edgecolor": "#303030",  # hatches must tell causes apart without any colour
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
    """The share of a cause, or of all that are not named, at time 0 and at all times drawn."""
    wanted = [
        each.drawn
        for each in group.causes
        if each.drawn and (each.cause == name or (name == _OTHERS and each.cause not in names))
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
