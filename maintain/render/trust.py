"""Whether forecasts deserve trust, on the screen and in pictures: the verdict first, then the scores behind it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from maintain.render import termplot
from maintain.render.phrases import say
from maintain.render.tables import table
from maintain.render.termplot import Axis, Trace
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.outlook import Interval
    from maintain.results.trust import Backtest, Calibrated, Scored


def backtest(result: Backtest, console: Console) -> None:
    """Print the verdict, the battles, the categories, the calibration and the rivals."""
    low, high = result.allowed.lower, result.allowed.upper
    say(console, result.verdict, bold=True)
    told = f"{result.whole.n} forecasts of parts in {len(result.battles)} battles"
    say(console, f"{told}; were they right, {low:.0f} to {high:.0f} failures would be seen (95%).")
    console.print(
        table(
            f"Battle by battle (0 is a perfect score; saved: of the log score of {result.rivals[0].name})",
            (Column("on", "On"), *_SCORES),
            [_scored(each) for each in result.battles],
        )
    )
    console.print(table("By category", _SCORES, [_scored(each) for each in result.categories]))
    title = f"Said and seen ({result.level:.0%} limits)"
    console.print(table(title, _CALIBRATION, [_calibrated(each) for each in result.calibration]))
    console.print(table("Against simpler forecasts", _RIVALS, _rivals(result)))
    if termplot.wanted(result, console):
        _picture(result, console)
    termplot.say_where(result, console)
    for note in result.notes:
        say(console, f"note: {note}")


_SCORES = (
    Column("name", "Which"),
    Column("n", "Parts", numeric=True),
    Column("expected", "Expected", numeric=True),
    Column("seen", "Seen", numeric=True),
    Column("brier", "Brier", numeric=True),
    Column("log_score", "Log score", numeric=True),
    Column("log_skill", "Log score saved", numeric=True),
)
_CALIBRATION = (
    Column("said", "Said"),
    Column("n", "Parts", numeric=True),
    Column("mean", "Mean said", numeric=True),
    Column("failures", "Failed", numeric=True),
    Column("observed", "Seen", numeric=True),
)
_RIVALS = (
    Column("name", "Forecast"),
    Column("expected", "Expected", numeric=True),
    Column("brier", "Brier", numeric=True),
    Column("log_score", "Log score", numeric=True),
    Column("gain", "Brier score saved", numeric=True),
    Column("log_gain", "Log score saved", numeric=True),
)


def _scored(line: Scored) -> dict[str, object]:
    return {
        "name": line.name,
        "on": line.on,
        "n": line.n,
        "expected": f"{line.expected:.1f}",
        "seen": line.seen,
        "brier": f"{line.brier:.4f}",
        "log_score": f"{line.log_score:.4f}",
        "log_skill": _gain(line.log_skill),
    }


def _calibrated(line: Calibrated) -> dict[str, object]:
    seen = line.observed
    return {
        "said": f"{100 * line.least:g}–{100 * line.most:g}%",
        "n": line.n,
        "mean": f"{line.expected:.1%}",
        "failures": line.failures,
        "observed": f"{seen.value:.1%} ({100 * seen.lower:.1f}–{100 * seen.upper:.1f})",
    }


def _rivals(result: Backtest) -> list[dict[str, object]]:
    ours = {"name": "ours", "expected": f"{result.whole.expected:.1f}", "brier": f"{result.whole.brier:.4f}"}
    lines: list[dict[str, object]] = [{**ours, "log_score": f"{result.whole.log_score:.4f}"}]
    for each in result.rivals:
        lines.append(
            {
                "name": each.name,
                "expected": f"{each.expected:.1f}",
                "brier": f"{each.brier:.4f}",
                "log_score": f"{each.log_score:.4f}",
                "gain": _gain_limits(each.skill),
                "log_gain": _gain_limits(each.log_skill),
            }
        )
    return lines


def _gain(skill: float | None) -> str:
    return "–" if skill is None else f"{skill:+.1%}"


def _gain_limits(skill: Interval | None) -> str:
    return "–" if skill is None else f"{_gain(skill.value)} ({skill.lower:+.1%} to {skill.upper:+.1%})"


def _picture(result: Backtest, console: Console) -> None:
    bins = result.calibration
    most = max(max(each.expected, each.observed.value) for each in bins)
    ideal = Trace("as said", (0.0, most), (0.0, most))
    seen = Trace("seen", [each.expected for each in bins], [each.observed.value for each in bins])
    termplot.plot(console, (ideal, seen), Axis("chance said", 0.0, most), Axis("share that failed", 0.0, most))


def draw_backtest(result: Backtest, path: Path) -> None:
    """Draw what was seen against what was said, and failures added up over the battles."""
    from maintain.render.figure import drawing, look

    with drawing(path, height_inches=3.6) as figure:
        left, right = figure.subplots(1, 2)
        said = [each.expected for each in result.calibration]
        seen = [each.observed.value for each in result.calibration]
        below = [each.observed.value - each.observed.lower for each in result.calibration]
        above = [each.observed.upper - each.observed.value for each in result.calibration]
        most = max([*said, *seen])
        left.plot([0, most], [0, most], color=look(6).colour, linewidth=0.8)
        left.errorbar(said, seen, [below, above], fmt=look(0).marker, color=look(0).colour, capsize=2)
        left.set(xlabel="chance said", ylabel="share that failed", title="Said and seen")
        right.plot(_running([each.expected for each in result.battles]), color=look(0).colour, label="expected")
        right.plot(
            _running([each.seen for each in result.battles]), color=look(1).colour, linestyle=look(1).line, label="seen"
        )
        right.set(xlabel="battles", ylabel="failures so far", title="Failures added up")
        right.legend()


def _running(values: list[float] | list[int]) -> list[float]:
    total, found = 0.0, [0.0]
    for each in values:
        total += each
        found.append(total)
    return found
