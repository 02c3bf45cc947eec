"""The reasoning about one part on the screen: the forecast, then step by step why."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from maintain.render import termplot
from maintain.render.phrases import say

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.explanation import Explanation
    from maintain.results.life import GroupCurve


def explanation(result: Explanation, console: Console) -> None:
    """What to do, every reason in order, and the life curve of its family."""
    line = result.line
    say(console, f"{line.part} in {line.ship}/{line.position}: {line.action}", bold=True)
    for reason in result.reasons:
        say(console, f"{reason.about.capitalize()}: {reason.told}.")
    if result.curve is not None and termplot.wanted(result, console):
        _draw(result.curve, line.family or "", console)


def _draw(curve: GroupCurve, family: str, console: Console) -> None:
    told = [point for point in curve.at if point.survival is not None]
    sure = [point for point in told if point.lower is not None and point.upper is not None]
    traces = (
        termplot.Trace("lower limit", [point.time for point in sure], [point.lower or 0.0 for point in sure]),
        termplot.Trace("upper limit", [point.time for point in sure], [point.upper or 0.0 for point in sure]),
        termplot.Trace("still working", [point.time for point in told], [point.survival or 0.0 for point in told]),
    )
    termplot.plot(console, traces, termplot.Axis("days"), replace(termplot.SHARES, label=family))
