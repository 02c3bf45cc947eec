"""Repeat failures, on the screen and as a picture: are they coming faster or slower?"""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maintain.render import termplot
from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say, share, would_tell
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_repeats import GroupRepeats, LifeRepeats

MOST_LINES = 12  # of a table on the screen; --json has them all
MOST_CURVES = 7
MOST_BANDS = 3  # limits of more curves hide one another
SURELY = 0.05
_WORSE, _BETTER = "getting worse", "getting better"
_TREND = {
    _WORSE: "getting worse, failures come ever faster",
    _BETTER: "getting better, failures come ever slower",
    CANT_TELL: "can't tell yet whether failures come faster or slower",
}
_GROWING_OLD = {
    _WORSE: "failures come ever faster",
    _BETTER: "failures come ever slower",
}
_UP = "Failures of one {} so far, on average"
_ACROSS = {"days": "Days", "sorties": "Sorties"}  # the headings of a file stay as they are


def repeats(result: LifeRepeats, console: Console) -> None:
    """The verdict in a sentence, the groups, the mean number of failures by time, the tests of trend."""
    whole = result.everyone
    say(console, _told(whole, result), bold=True)
    for caution in _age_told(whole, result):
        say(console, caution)
    if whole.silence is not None:
        say(console, _silence_told(whole, result))
    if termplot.wanted(result, console):
        _plot_in_terminal(result, console)
    if result.groups:
        say(console, f"most often: {result.groups[0].group}: {_often(result.groups[0], result)}", bold=True)
        console.print(table(f"By {result.by}", _group_columns(result), [_group_row(one) for one in result.groups]))
    if whole.mcf:
        console.print(table("Failures so far, on average", _mean_columns(result), _mean_rows(whole)))
    if whole.power_law is not None:
        console.print(table("Trend", _TREND_COLUMNS, _trend_rows(result)))
    left_out(console, result.excluded, "failure")
    for note in (*_shared_told(whole), *whole.cautions, *result.notes):
        say(console, note)
    termplot.say_where(result, console)


def plot(result: LifeRepeats, path: Path) -> None:
    """Draw the mean cumulative function of all units, or of each group, with its limits."""
    from maintain.render import figure

    with figure.drawing(path) as page:
        axes = page.subplots()
        for place, group in enumerate(_drawn(result)):
            across, mean = _corners(group)
            lower, upper = (
                [0.0, *(getattr(point, side) or math.nan for point in group.mcf)] for side in ("lower", "upper")
            )
            if len(_drawn(result)) > MOST_BANDS:
                lower, upper = mean[:-1], mean[:-1]
            steps = (mean, [*lower, lower[-1]], [*upper, upper[-1]])
            figure.steps(axes, figure.look(place), across, steps, _label(group, result))
        axes.set_title(_title(result))
        axes.set_xlabel(f"{_across(result)} since watching began")
        axes.set_ylabel(_UP.format(result.unit))
        axes.set_xlim(left=0)
        axes.set_ylim(bottom=0)
        axes.legend(loc="upper left")


def _title(result: LifeRepeats) -> str:
    whole = result.everyone
    told = f"{count(whole.n, result.unit)}, {count(whole.events, 'failure')}{_since(result)}"
    drawn = len(_drawn(result))
    return f"{told}; the {drawn} that fail most often" if drawn < len(result.groups) else told


def _across(result: LifeRepeats) -> str:
    return _ACROSS.get(result.clock, result.clock)


def _since(result: LifeRepeats) -> str:
    return f" since {result.since}" if result.since else ""


def _plot_in_terminal(result: LifeRepeats, console: Console) -> None:
    say(console, _title(result))
    traces = [termplot.Trace(_label(group, result), *_stairs(*_corners(group))) for group in _drawn(result)]
    termplot.plot(
        console,
        traces,
        termplot.Axis(f"{_across(result)} since watching began"),
        termplot.Axis(_UP.format(result.unit)),
    )


def _stairs(across: list[float], up: list[float]) -> tuple[list[float], list[float]]:
    """Both corners of every step."""
    return [x for x in across for _ in range(2)][1:], [y for y in up for _ in range(2)][:-1]


def _drawn(result: LifeRepeats) -> list[GroupRepeats]:
    """What is drawn: the groups that failed most often, or all together."""
    return [one for one in result.groups or (result.everyone,) if one.mcf][:MOST_CURVES]


def _corners(group: GroupRepeats) -> tuple[list[float], list[float]]:
    """Times and means of a step curve from nothing to the end of the longest watch."""
    times, means = [point.time for point in group.mcf], [point.mean for point in group.mcf]
    return [0.0, *times, max(group.longest, times[-1])], [0.0, *means, means[-1]]


def _label(group: GroupRepeats, result: LifeRepeats) -> str:
    return group.group if result.by else "mean"


def _told(group: GroupRepeats, result: LifeRepeats) -> str:
    failures = "no failure" if group.events == 0 else count(group.events, "failure")
    who = f"{count(group.n, result.unit)}, {failures} in {number(group.watched)} {result.clock} of watching"
    who += _since(result)
    undecided = group.power_law is not None and group.verdict == CANT_TELL
    more = would_tell(group.failures_to_tell, group.events) if undecided else ""
    why = f" ({group.reason})" if group.reason and group.events else ""
    seen = _TREND[group.verdict]
    if group.age.weakened:
        seen = f"{CANT_TELL} whether repairs matter: {_GROWING_OLD[_by_power(group)]}"
    verdict = f"{seen}{_shape(group)}{more}{why}{_disagreement(group, result)}"
    return f"{who}: {verdict}; {_pace(group, result)}"


def _age_told(group: GroupRepeats, result: LifeRepeats) -> list[str]:
    """What a trend may be besides, where most were never mended or all grew old together."""
    age, found = group.age, _by_power(group)
    if found == CANT_TELL:
        return []
    whose = "position" if result.unit == "ship" else result.unit
    parts, years = ("wear", "harder") if found == _WORSE else ("fail early", "easier")
    if age.weakened:
        held = "have never failed" if result.unit == "unit" else "still hold their first part"
        alike = f"parts that {parts} look just like that, however well mended"
        return [f"{age.untouched} of {count(age.n, whose)} {held}: {alike}"]
    if age.together is None:
        return []
    span = f"within {count(age.within_days or 0, 'day')} of each other" if age.within_days else "on one day"
    alike = f"parts that {parts}, and years of {years} use, look just like that too"
    ask = f"do they {parts}? ask: maintain life fit"
    return [f"{age.together} of {count(age.n, whose)} began {span}: {alike}; {ask}"]


def _by_power(group: GroupRepeats) -> str:
    """The trend that the limits of the power see, whatever it may mean."""
    law = group.power_law
    if law is None or (law.lower is not None and law.lower <= 1 and (law.upper is None or law.upper >= 1)):
        return CANT_TELL
    return _WORSE if law.shape > 1 else _BETTER


def _shared_told(group: GroupRepeats) -> list[str]:
    """Between what limits and tests are taken, and what the tests would say without."""
    shared, law, laplace = group.shared, group.power_law, group.laplace
    if shared is None or law is None or laplace is None:
        return []
    alone = f"with each failure on its own p would be {_p(law.p_alone)} (Laplace {_p(laplace.p_alone)})"
    return [
        f"failures that share their {shared.by} may come of one event: limits and tests are also made between these "
        f"({shared.n}), and the less sure ones hold; {alone}"
    ]


def _disagreement(group: GroupRepeats, result: LifeRepeats) -> str:
    """In words, where Laplace's test and the limits of the power say different things."""
    laplace = group.laplace
    if laplace is None or _laplace_verdict(group, result) == _by_power(group):
        return ""
    if laplace.p >= 1 - result.conf:
        return f"; but Laplace's test sees no trend (p = {_p(laplace.p)}): the two disagree"
    way = "faster" if laplace.statistic > 0 else "slower"
    return f"; but Laplace's test says that they come {way} (p = {_p(laplace.p)}): the two disagree"


def _laplace_verdict(group: GroupRepeats, result: LifeRepeats) -> str:
    if group.laplace is None or group.laplace.p >= 1 - result.conf:
        return CANT_TELL
    return _WORSE if group.laplace.statistic > 0 else _BETTER


def _pace(group: GroupRepeats, result: LifeRepeats) -> str:
    """How often one fails; limits that take the rate for steady only where neither test sees a trend."""
    law = group.power_law
    if law is None or {_by_power(group), _laplace_verdict(group, result)} == {CANT_TELL}:
        return _often(group, result)
    so_far, now = number(group.between.value), number(law.between)
    return f"so far one failed every {so_far} {result.clock} on average; by the power law it is every {now} now"


def _shape(group: GroupRepeats) -> str:
    law = group.power_law
    return "" if law is None else f", power {number(law.shape)}{limits(law.lower, law.upper)}"


def _often(group: GroupRepeats, result: LifeRepeats) -> str:
    often = group.between
    if often.value is None:
        return f"one fails no oftener than every {number(often.lower)} {result.clock}"
    return f"one fails every {number(often.value)} {result.clock} on average{limits(often.lower, often.upper)}"


def _silence_told(group: GroupRepeats, result: LifeRepeats) -> str:
    silence = group.silence
    assert silence is not None
    chance = f"{silence.chance:.1%}" if silence.chance < SURELY else share(silence.chance)
    quiet = f"quiet for {number(silence.time)} {result.clock} since the last failure"
    if silence.chance < SURELY:
        return f"{quiet}: with nothing mended that would be a rare stroke of luck ({chance}), so it looks mended"
    return f"{quiet}: with nothing mended that would still happen {chance} of the time, so {CANT_TELL} if it is mended"


def _p(value: float) -> str:
    return "<0.001" if value < 0.001 else f"{value:.3f}"


def _group_columns(result: LifeRepeats) -> tuple[Column, ...]:
    assert result.by is not None
    return (
        Column("group", result.by.capitalize()),
        Column("n", "Watched", numeric=True),
        Column("events", "Failures", numeric=True),
        Column("between", f"One fails every ({result.clock})", numeric=True),
        Column("limits", f"{result.conf:.0%} limits", numeric=True),
        Column("verdict", "Trend"),
        Column("shape", "Power", numeric=True),
    )


def _group_row(group: GroupRepeats) -> dict[str, Any]:
    often, law = group.between, group.power_law
    return {
        "group": group.group,
        "n": group.n,
        "events": group.events,
        "between": number(often.value),
        "limits": between(number(often.lower), number(often.upper)),
        "verdict": group.verdict,
        "shape": law and f"{number(law.shape)}{limits(law.lower, law.upper)}",
    }


def _mean_columns(result: LifeRepeats) -> tuple[Column, ...]:
    return (
        Column("time", _across(result), numeric=True),
        Column("mean", f"Failures of one {result.unit}", numeric=True),
        Column("limits", f"{result.conf:.0%} limits", numeric=True),
        Column("at_risk", "Watched then", numeric=True),
    )


def _mean_rows(group: GroupRepeats) -> list[dict[str, Any]]:
    """Some of the times, evenly spread, the last among them."""
    points = group.mcf[::-1][:: math.ceil(len(group.mcf) / MOST_LINES)][::-1]
    return [
        {
            "time": number(point.time),
            "mean": f"{point.mean:.2f}",
            "limits": between(*(None if side is None else f"{side:.2f}" for side in (point.lower, point.upper))),
            "at_risk": point.at_risk,
        }
        for point in points
    ]


_TREND_COLUMNS = (
    Column("name", ""),
    Column("value", "Estimate", numeric=True),
    Column("limits", "Limits", numeric=True),
    Column("p", "p of no trend", numeric=True),
)


def _trend_rows(result: LifeRepeats) -> list[dict[str, Any]]:
    law, laplace = result.everyone.power_law, result.everyone.laplace
    assert law is not None and laplace is not None
    rows: list[dict[str, Any]] = [
        {"name": "Laplace", "value": f"{laplace.statistic:.2f}", "p": _p(laplace.p)},
        {
            "name": f"power of time, {law.estimator}",
            "value": number(law.shape),
            "limits": between(number(law.lower), number(law.upper)),
            "p": _p(law.p),
        },
        {"name": f"{result.clock} between failures now", "value": number(law.between)},
    ]
    if law.shape_corrected is not None:
        rows += [
            {"name": "power of time, corrected for bias", "value": number(law.shape_corrected)},
            {"name": f"{result.clock} between failures now", "value": number(law.between_corrected)},
        ]
    return rows
