"""How long parts last, on the screen: the answer in a sentence, then the figures, then what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich.text import Text

from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure, GroupCurve, GroupFit, LifeCurves, LifeFits, Parameter, Source

CANT_TELL = "can't tell yet"
_AGEING = {
    "wear-out": "they wear out: the older, the likelier to fail",
    "early failures": "they fail young: those that last get likelier to last",
    "steady": "age hardly matters: an old one fails no sooner than a new one",
    CANT_TELL: "can't tell yet whether they wear out",
}
_ALIKE = {"life": "lives"}


def curves(result: LifeCurves, console: Console) -> None:
    """When half are dead, group by group; then the share still working at some times."""
    source = result.source
    for group in result.groups:
        _say(console, f"{_who(group, source)}: {_median_told(group, source)}", bold=True)
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
            "time": _number(point.time),
            "survival": _share(point.survival),
            "limits": _between(_share(point.lower), _share(point.upper)),
            "at_risk": point.at_risk,
        }
        for group in result.groups
        for point in group.at
    ]
    console.print(table("Share still working", columns, rows))
    for group in result.groups:
        mean = group.restricted_mean
        if mean.value is not None and mean.tau is not None:
            limits = _limits(mean.lower, mean.upper)
            label = f"{group.group}: " if source.by else ""
            _say(console, f"{label}mean life within the first {_number(mean.tau)}: {_number(mean.value)}{limits}")
    _remarks(console, source)


def fits(result: LifeFits, console: Console) -> None:
    """Mean life and ageing, group by group; then parameters and shares by the fitted law."""
    source = result.source
    for group in result.groups:
        _say(console, f"{_who(group, source)}: {_fit_told(group, source)}", bold=True)
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
                limits = _between(_number(figure.lower), _number(figure.upper))
                rows.append({"group": group.group, "name": name, "value": _number(figure.value), "limits": limits})
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
            "time": _number(point.time),
            "survival": _share(point.survival),
            "limits": _between(_share(point.lower), _share(point.upper)),
            "given": point.conditional
            and f"{_share(point.conditional.value)} "
            f"({_between(_share(point.conditional.lower), _share(point.conditional.upper))})",
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
    failures = "no failure" if group.events == 0 else _count(group.events, "failure")
    return f"{label}{_count(group.n, source.noun)}, {failures}"


def _median_told(group: GroupCurve, source: Source) -> str:
    median = group.median
    if median.value is not None:
        return f"half are dead by {_number(median.value)} {source.clock}{_limits(median.lower, median.upper)}"
    seen = [point for point in group.at if point.survival is not None]
    if not seen:
        return f"{CANT_TELL} when half are dead"
    last = seen[-1]
    share = f"{_share(last.survival)} still work at {_number(last.time)} {source.clock}"
    return f"{CANT_TELL} when half are dead; {share}{_share_limits(last.lower, last.upper)}"


def _fit_told(group: GroupFit, source: Source) -> str:
    if group.model is None:
        least = group.mean_at_least
        bound = (
            f"; mean life at least {_number(least)} {source.clock} if failures come at a steady rate" if least else ""
        )
        return f"{CANT_TELL}: {group.reason}{bound}"
    mean = group.mean
    told = f"{group.model}, "
    if mean is None or mean.value is None:
        told += "a law without a mean"
    else:
        told += f"mean life {_number(mean.value)} {source.clock}{_limits(mean.lower, mean.upper)}"
    if group.verdict is None:
        return told
    more = group.failures_to_tell
    needed = f" (about {more} failures in all would tell)" if more and group.verdict == CANT_TELL else ""
    return f"{told}; {_AGEING[group.verdict]}{needed}"


def _remarks(console: Console, source: Source) -> None:
    for each in source.excluded:
        names = ", ".join(each.examples) + (" ..." if each.n > len(each.examples) else "")
        of = f"{each.n} of {_count(each.of, source.noun)}"
        _say(console, f"{of} left out: {each.reason} ({names})")
    for note in source.notes:
        _say(console, note)


def _group_column(source: Source) -> tuple[Column, ...]:
    return (Column("group", source.by.capitalize()),) if source.by else ()


def _say(console: Console, line: str, *, bold: bool = False) -> None:
    console.print(Text(line, style="bold" if bold else ""), soft_wrap=True)


def _count(n: int, noun: str) -> str:
    return f"{n} {noun if n == 1 else _plural(noun)}"


def _plural(noun: str) -> str:
    if noun in _ALIKE:
        return _ALIKE[noun]
    if noun.endswith("y") and noun[-2:-1] not in "aeiou":
        return noun[:-1] + "ies"
    return noun + ("es" if noun.endswith(("s", "x", "ch", "sh")) else "s")


def _limits(lower: float | None, upper: float | None) -> str:
    return f" ({_between(_number(lower), _number(upper))})"


def _share_limits(lower: float | None, upper: float | None) -> str:
    return f" ({_between(_share(lower), _share(upper))})"


def _between(lower: str | None, upper: str | None) -> str:
    """Both limits, or in words which of them the data do not give."""
    if lower is None and upper is None:
        return f"limits: {CANT_TELL}"
    if upper is None:
        return f"{lower} or more, {CANT_TELL} how much"
    return f"up to {upper}" if lower is None else f"{lower}–{upper}"


def _number(value: float | None) -> str | None:
    if value is None:
        return None
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _share(value: float | None) -> str | None:
    return None if value is None else f"{value:.0%}"
