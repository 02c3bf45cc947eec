"""Service age on the screen: what a sinking costs in a sentence, then the figures, then which clock explains best."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from maintain.render import figure, termplot
from maintain.render.phrases import between, count, number, plural, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_clock import CostOf, GroupClock, LifeClock
    from maintain.results.outlook import Interval

_AGEING = {
    "wear-out": "they wear out: the older in service, the likelier to fail",
    "early failures": "they fail young: those that last get likelier to last",
    "steady": "service age hardly matters: an old one fails no sooner than a new one",
    "can't tell yet": "can't tell yet whether they wear out",
}
_COSTS = (
    Column("unit", "One"),
    Column("days", "Costs days of life", numeric=True),
    Column("limits", "Interval", numeric=True),
    Column("seen", "Lived through", numeric=True),
    Column("told", ""),
)
_CLOCKS = (
    Column("clock", "Clock"),
    Column("aic", "AIC (least is best)", numeric=True),
    Column("log_score", "Log score (largest is best)", numeric=True),
    Column("ahead", "Ahead of days", numeric=True),
)
_RATIOS = (
    Column("name", "Zone or waterproofing"),
    Column("ratio", "Times as likely to fail", numeric=True),
    Column("limits", "Interval", numeric=True),
    Column("n", "n", numeric=True),
    Column("failures", "Failed", numeric=True),
)


def clock(result: LifeClock, console: Console) -> None:
    """One answer for each kind of part."""
    several = len(result.groups) > 1
    for group in result.groups:
        say(console, _told(group), bold=True)
        say(console, f"{count(group.n, 'life')}, {group.failures} failed; {_AGEING[group.verdict]}")
        if not several:
            _figures(group, result, console)
    if several:
        say(console, "The figures behind an answer, and which clock explains best: add --category or --family")
    for note in result.notes:
        say(console, note)
    termplot.say_where(result, console)


def _told(group: GroupClock) -> str:
    told = [each for each in group.costs if each.told]
    if not told:
        return f"{group.noun.capitalize()}: can't tell yet what water or use costs; {_allowed(group.costs)}"
    parts = [f"{each.unit} costs {_an(group.noun)} {_days(each)}" for each in told[:1]]
    parts += [f"{each.unit} {_days(each)}" for each in told[1:]]
    return ", ".join(parts)[0].upper() + ", ".join(parts)[1:]


def _days(cost: CostOf) -> str:
    return f"{number(cost.days.value)} days of life ({_limits(cost.days)})"


def _allowed(costs: tuple[CostOf, ...]) -> str:
    if not costs:
        return "only days are recorded"
    said = [f"{each.unit} {_limits(each.days)} days" for each in costs]
    return f"allowed for: {', '.join(said)}; forecasts average over that"


def _an(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _limits(interval: Interval) -> str:
    return between(number(interval.lower), number(interval.upper))


def _figures(group: GroupClock, result: LifeClock, console: Console) -> None:
    costs = [
        {
            "unit": each.unit,
            "days": number(each.days.value),
            "limits": _limits(each.days),
            "seen": number(each.seen),
            "told": "" if each.told else "can't tell yet: about what was allowed for beforehand",
        }
        for each in group.costs
    ]
    console.print(table(f"Service age, with {result.level:.0%} intervals", _COSTS, costs))
    say(
        console,
        f"Weibull shape {number(group.shape.value)} ({_limits(group.shape)}), "
        f"scale {number(group.scale.value)} days of service age ({_limits(group.scale)})",
    )
    if group.ratios:
        ratios = [
            {
                "name": each.name,
                "ratio": number(each.ratio.value),
                "limits": _limits(each.ratio),
                "n": each.n,
                "failures": each.failures,
            }
            for each in group.ratios
        ]
        console.print(table("Where it sits and how it is treated", _RATIOS, ratios))
    _explained(group, console)
    if termplot.wanted(result, console):
        _picture(group, console)


def _explained(group: GroupClock, console: Console) -> None:
    if not group.clocks:
        say(console, "Too few failures, or ships, to say which clock explains best")
        return
    rows = [
        {
            "clock": each.clock,
            "aic": f"{each.aic:.1f}",
            "log_score": f"{each.log_score:.1f}",
            "ahead": "" if each.clock == "days" else f"{each.ahead:+.1f} ± {each.ahead_error:.1f}",
        }
        for each in group.clocks
    ]
    console.print(table("Which clock explains the same failures best", _CLOCKS, rows))
    best, days = group.clocks[0], next(each for each in group.clocks if each.clock == "days")
    clear = best.clock != "days" and best.ahead > 2 * best.ahead_error
    said = f"{best.clock} explains best" if best.clock != days.clock else "the calendar explains as well as any"
    say(console, said + ("" if clear else ", but not by enough to be sure"))


def _picture(group: GroupClock, console: Console) -> None:
    traces = [termplot.Trace(name, *_shares(values)) for name, values in _both(group)]
    termplot.plot(console, traces, termplot.Axis("days"), termplot.Axis("share of the failures", 0, 1, as_share=True))


def _both(group: GroupClock) -> tuple[tuple[str, list[float]], tuple[str, list[float]]]:
    return (
        ("on the calendar", [each.days for each in group.failed_at]),
        ("on service age", [each.service_age for each in group.failed_at]),
    )


def _shares(values: list[float]) -> tuple[list[float], list[float]]:
    ordered = sorted(values)
    return ordered, [(place + 0.5) / len(ordered) for place in range(len(ordered))]


def drawn(result: LifeClock, path: Path) -> None:
    """Failures on the calendar above failures on service age: the narrower heap is the better clock."""
    shown = [group for group in result.groups if group.failed_at][:6]
    with figure.drawing(path, height_inches=max(2.2, 1.7 * len(shown))) as page:
        every = page.subplots(max(len(shown), 1), 1, squeeze=False)[:, 0]
        for axes, group in zip(every, shown, strict=False):
            for row, (_, values) in enumerate(_both(group)):
                how, middle = figure.look(row), sorted(values)[len(values) // 2]
                across = [value / middle for value in values]
                axes.plot(across, [1 - row] * len(across), linestyle="", marker=how.marker, alpha=0.6, color=how.colour)
            axes.set_yticks([1, 0], ["calendar", "service age"])
            axes.set_ylim(-0.6, 1.6)
            axes.set_title(figure.short(f"{plural(group.noun)} ({group.failures} failed)"))
        every[-1].set_xlabel("use when found failed, as a multiple of the middle one")
