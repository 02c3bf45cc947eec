"""How long parts last, on the screen: the answer in a sentence, then the figures, then what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say, share, share_limits
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure, GroupCurve, GroupFit, LifeCurves, LifeFits, Parameter, Source

_AGEING = {
    "wear-out": "they wear out: the older, the likelier to fail",
    "early failures": "they fail young: those that last get likelier to last",
    "steady": "age hardly matters: an old one fails no sooner than a new one",
    CANT_TELL: "can't tell yet whether they wear out",
}


def curves(result: LifeCurves, console: Console) -> None:
    """When half are dead, group by group; then the share still working at some times."""
    source = result.source
    for group in result.groups:
        say(console, f"{_who(group, source)}: {_median_told(group, source)}", bold=True)
    columns = (
        *_group_column(source),
        Column("time", source.clock.capitalize(), numeric=True),
        Column("survival", "Still working", numeric=True),
        Column("limits", f"{source.conf:.0%} limits", numeric=True),
        Column("at_risk", "Watched then", numeric=True),
    )
    rows = [
        {
            "group": group.group,
            "time": number(point.time),
            "survival": share(point.survival),
            "limits": between(share(point.lower), share(point.upper)),
            "at_risk": point.at_risk,
        }
        for group in result.groups
        for point in group.at
    ]
    console.print(table("Share still working", columns, rows))
    for group in result.groups:
        mean = group.restricted_mean
        if mean.value is not None and mean.tau is not None:
            sure = limits(mean.lower, mean.upper)
            label = f"{group.group}: " if source.by else ""
            say(console, f"{label}mean life within the first {number(mean.tau)}: {number(mean.value)}{sure}")
    _remarks(console, source)


def fits(result: LifeFits, console: Console) -> None:
    """Mean life and ageing, group by group; then parameters and shares by the fitted law."""
    source = result.source
    for group in result.groups:
        say(console, f"{_who(group, source)}: {_fit_told(group, source)}", bold=True)
    known = [group for group in result.groups if group.model is not None]
    console.print(table("What the law says", (*_group_column(source), *_FIT_COLUMNS), _fit_rows(known, source)))
    console.print(table("Share still working", _share_columns(result), _share_rows(known)))
    if any(len(group.candidates) > 1 for group in known):
        console.print(table("Laws tried", (*_group_column(source), *_CANDIDATE_COLUMNS), _candidate_rows(known)))
    _remarks(console, source)


_FIT_COLUMNS = (
    Column("name", ""),
    Column("value", "Estimate", numeric=True),
    Column("limits", "Limits", numeric=True),
)
_CANDIDATE_COLUMNS = (
    Column("model", "Law"),
    Column("log_likelihood", "Log-likelihood", numeric=True),
    Column("aicc", "AICc (least is best)", numeric=True),
)


def _fit_rows(groups: list[GroupFit], source: Source) -> list[dict[str, Any]]:
    rows = []
    for group in groups:
        figures: list[tuple[str, Figure | Parameter | None]] = [
            (f"mean life ({source.clock})", group.mean),
            ("half dead by", group.median),
            ("a tenth dead by", group.b10),
            *((f"{group.model} {name}", value) for name, value in (group.parameters or {}).items()),
        ]
        for name, figure in figures:
            if figure is not None:
                limits = between(number(figure.lower), number(figure.upper))
                rows.append({"group": group.group, "name": name, "value": number(figure.value), "limits": limits})
    return rows


def _share_columns(result: LifeFits) -> tuple[Column, ...]:
    given = [] if result.given is None else [Column("given", f"Of those working at {result.given:g}", numeric=True)]
    return (
        *_group_column(result.source),
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
            "limits": between(share(point.lower), share(point.upper)),
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


def _who(group: GroupCurve | GroupFit, source: Source) -> str:
    """Who is spoken of, with how many and how many failed."""
    label = f"{group.group}: " if source.by else ""
    failures = "no failure" if group.events == 0 else count(group.events, "failure")
    return f"{label}{count(group.n, source.noun)}, {failures}"


def _median_told(group: GroupCurve, source: Source) -> str:
    median = group.median
    if median.value is not None:
        return f"half are dead by {number(median.value)} {source.clock}{limits(median.lower, median.upper)}"
    seen = [point for point in group.at if point.survival is not None]
    if not seen:
        return f"{CANT_TELL} when half are dead"
    last = seen[-1]
    alive = f"{share(last.survival)} still work at {number(last.time)} {source.clock}"
    return f"{CANT_TELL} when half are dead; {alive}{share_limits(last.lower, last.upper)}"


def _fit_told(group: GroupFit, source: Source) -> str:
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
        told += f"mean life {number(mean.value)} {source.clock}{limits(mean.lower, mean.upper)}"
    if group.verdict is None:
        return told
    more = group.failures_to_tell
    needed = f" (about {more} failures in all would tell)" if more and group.verdict == CANT_TELL else ""
    return f"{told}; {_AGEING[group.verdict]}{needed}"


def _remarks(console: Console, source: Source) -> None:
    left_out(console, source.excluded, source.noun)
    for note in source.notes:
        say(console, note)


def _group_column(source: Source) -> tuple[Column, ...]:
    return (Column("group", source.by.capitalize()),) if source.by else ()
