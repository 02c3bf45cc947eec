"""Fitted laws on the screen: the answer in a sentence, a picture, the figures, then what they rest on."""

from __future__ import annotations

from math import ceil, floor, log10
from typing import TYPE_CHECKING, Any

from maintain.core.wording import plural
from maintain.render import termplot
from maintain.render.life import at_level, cell, group_column, remarks, second_opinion, who
from maintain.render.phrases import CANT_TELL, between, count, number, say, share, would_tell
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure, GroupFit, LifeFits, Paper, Parameter, Posterior
    from maintain.results.life_source import Source

    Row = tuple[str, Figure | Parameter | None, Figure | None, Figure | None]

_AGEING = {
    "wear-out": "they wear out: the older, the likelier to fail",
    "early failures": "they fail young: those that last get likelier to last",
    "steady": "age hardly matters: an old one fails no sooner than a new one",
    CANT_TELL: "can't tell yet whether they wear out",
}
_CANDIDATE_COLUMNS = (
    Column("model", "Law"),
    Column("log_likelihood", "Log-likelihood", numeric=True),
    Column("aicc", "AICc (least is best)", numeric=True),
)


def fits(result: LifeFits, console: Console) -> None:
    """Mean life and ageing, group by group; then parameters and shares by the fitted law."""
    source = result.source
    for group in result.groups:
        say(console, f"{who(group, source)}: {_told(group, source)}", bold=True)
    known = [group for group in result.groups if group.model is not None]
    if known and termplot.wanted(result, console):
        _picture(known, source, console)
    if known:
        console.print(table("What the law says", _law_columns(known, source), _law_rows(known, source)))
        console.print(table("Share still working", _share_columns(result), _share_rows(known)))
    if any(len(group.candidates) > 1 for group in known):
        console.print(table("Laws tried", (*group_column(source), *_CANDIDATE_COLUMNS), _candidate_rows(known)))
    for group in result.groups:
        if group.posterior is not None:
            _few(group.posterior, group.group if source.by else None, source, console)
        second_opinion(group, source, console)
    if known:
        say(console, f"limits: {result.limits}")
    remarks(console, source)
    termplot.say_where(result, console)


def _told(group: GroupFit, source: Source) -> str:
    if group.none_failed is not None:
        none = group.none_failed
        return (
            f"none failed in {number(none.use)} {source.clock} together: at the most one in "
            f"{number(none.mean_at_least)} {source.clock} ({source.conf:.0%} sure), if failures come at a steady rate"
        )
    if group.model is None:
        least = group.mean_at_least
        bound = (
            f"; mean life at least {number(least)} {source.clock} if failures come at a steady rate" if least else ""
        )
        return f"{CANT_TELL}: {group.reason}{bound}"
    mean = group.mean
    told = f"{group.model}, "
    if mean is None or mean.value is None:
        told += "a law without a mean"
    else:
        told += f"mean life {number(mean.value)} {source.clock}{at_level(source, mean.lower, mean.upper)}"
    if group.caution is not None:
        told += f"; {group.caution}"
    if group.verdict is None:
        return told
    needed = would_tell(group.failures_to_tell, group.events) if group.verdict == CANT_TELL else ""
    return f"{told}; {_AGEING[group.verdict]}{needed}"


def _law_columns(groups: list[GroupFit], source: Source) -> tuple[Column, ...]:
    conf = f"{source.conf:.0%}"
    drawn = next((group.bootstrap for group in groups if group.bootstrap is not None), None)
    by = "" if drawn is None else f"drawing {'lives' if drawn.clusters is None else 'clusters'} {drawn.draws} times"
    return (
        *group_column(source),
        Column("name", "What"),
        Column("value", "Estimate", numeric=True),
        Column("limits", f"{conf} limits", numeric=True),
        *([Column("ratio", "by likelihood ratio", numeric=True)] if _any_ratio(groups) else []),
        *([Column("drawn", f"by {by}", numeric=True)] if drawn is not None else []),
    )


def _any_ratio(groups: list[GroupFit]) -> bool:
    return any(group.shape_by_likelihood is not None for group in groups)


def _law_rows(groups: list[GroupFit], source: Source) -> list[dict[str, Any]]:
    return [
        {
            "group": group.group,
            "name": name,
            "value": number(figure.value),
            "limits": cell(number(figure.lower), number(figure.upper)),
            "ratio": "" if ratio is None else cell(number(ratio.lower), number(ratio.upper)),
            "drawn": "" if drawn is None else cell(number(drawn.lower), number(drawn.upper)),
        }
        for group in groups
        for name, figure, ratio, drawn in _figures(group, source)
        if figure is not None
    ]


def _figures(group: GroupFit, source: Source) -> list[Row]:
    """Name, estimate, and limits made in other ways, of all that a law says of a group."""
    drawn = group.bootstrap
    rows: list[Row] = [
        (f"mean life ({source.clock})", group.mean, None, drawn.mean if drawn else None),
        ("half dead by", group.median, None, drawn.median if drawn else None),
        ("a tenth dead by", group.b10, None, drawn.b10 if drawn else None),
    ]
    for name, value in (group.parameters or {}).items():
        bends = name in ("shape", "sigma")
        ratio = group.shape_by_likelihood if bends else None
        rows.append((f"{group.model} {name}", value, ratio, drawn.shape if drawn and bends else None))
    return rows


def _share_columns(result: LifeFits) -> tuple[Column, ...]:
    given = [] if result.given is None else [Column("given", f"Of those working at {result.given:g}", numeric=True)]
    return (
        *group_column(result.source),
        Column("time", result.source.clock.capitalize(), numeric=True),
        Column("survival", "Still working", numeric=True),
        Column("limits", f"{result.source.conf:.0%} limits", numeric=True),
        *given,
    )


def _share_rows(groups: list[GroupFit]) -> list[dict[str, Any]]:
    return [
        {
            "group": group.group,
            "time": number(point.time),
            "survival": share(point.survival),
            "limits": cell(share(point.lower), share(point.upper)),
            "given": point.conditional
            and f"{share(point.conditional.value)} "
            f"({between(share(point.conditional.lower), share(point.conditional.upper))})",
        }
        for group in groups
        for point in group.at
    ]


def _candidate_rows(groups: list[GroupFit]) -> list[dict[str, Any]]:
    return [
        {
            "group": group.group,
            "model": each.model,
            "log_likelihood": f"{each.log_likelihood:.2f}",
            "aicc": None if each.aicc is None else f"{each.aicc:.2f}",
        }
        for group in groups
        for each in group.candidates
    ]


def _few(found: Posterior, group: str | None, source: Source, console: Console) -> None:
    """What few failures say beside a prior, and which."""
    columns = (
        Column("name", "What"),
        Column("value", "Middle", numeric=True),
        Column("limits", "95% of it", numeric=True),
        Column("narrower", "80% of it", numeric=True),
    )
    rows = [
        {
            "name": name,
            "value": number(figure.value),
            "limits": between(number(figure.lower), number(figure.upper)),
            "narrower": "" if narrower is None else between(number(narrower.lower), number(narrower.upper)),
        }
        for name, figure, narrower in (
            (f"half dead by ({source.clock})", found.median, None),
            ("a tenth dead by", found.b10, None),
            ("shape", found.shape, found.shape_80),
        )
    ]
    console.print(table("With what was believed before" + (f": {group}" if group else ""), columns, rows))
    ageing = "" if found.verdict is None else f"; {_AGEING[found.verdict]}"
    say(console, f"chance of a shape above 1: {_chance(found.chance_of_wear)}{ageing}")
    say(console, f"believed before: {found.prior}")
    if found.kind is not None:
        lives, failures = count(found.borrowed_lives, "life"), count(found.borrowed_failures, "failure")
        say(console, f"the shape is that of every {found.kind}: {lives}, {failures} of others have their say in it")
    if found.b10_at_least is not None:
        least = f"a tenth dead no sooner than {number(found.b10_at_least)} {source.clock}, 95% sure"
        say(console, f"none failed; if they age as other {plural(str(found.kind))} do: {least}")


def _chance(probability: float) -> str | None:
    """A probability in per cent; of what may be otherwise it is never nought or whole."""
    if probability > 0.99:
        return ">99%"
    return "<1%" if probability < 0.01 else share(probability)


def _picture(groups: list[GroupFit], source: Source, console: Console) -> None:
    """Probability paper of the first law, with the groups that have it."""
    law = groups[0].model
    traces: list[termplot.Trace] = []
    papers = [(group, group.drawn) for group in groups if group.drawn is not None and group.model == law]
    for group, paper in papers:
        traces.append(termplot.Trace("", _logs(paper.line_time), paper.line, faint=True))
        label = group.group if source.by else f"failures on {law} paper"
        traces.append(termplot.Trace(label, _logs(paper.time), paper.height, joined=False))
    across, up = _paper_axes([paper for _, paper in papers], source.clock)
    termplot.plot(console, traces, across, up)


def _paper_axes(papers: list[Paper], clock: str) -> tuple[termplot.Axis, termplot.Axis]:
    """Log time, and the law's quantiles with the failed shares they stand for."""
    left = log10(min(paper.line_time[0] for paper in papers))
    right = log10(max(paper.line_time[-1] for paper in papers))
    decades = range(floor(left), ceil(right) + 1)
    times = {decade + log10(step): f"{step * 10.0**decade:g}" for decade in decades for step in (1, 2, 5)}
    bottom = min(min(paper.height[0], paper.line[0]) for paper in papers)
    top = max(max(paper.height[-1], paper.line[-1]) for paper in papers)
    shares = {h: f"{100 * s:.3g}%" for h, s in zip(papers[0].share_heights, papers[0].shares, strict=True)}
    return (
        termplot.Axis(clock, left, right, {at: text for at, text in times.items() if left <= at <= right}),
        termplot.Axis("Failed", bottom, top, {at: text for at, text in shares.items() if bottom <= at <= top}),
    )


def _logs(times: tuple[float, ...]) -> list[float]:
    return [log10(time) for time in times]
