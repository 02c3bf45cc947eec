"""Effects on the screen: what each does in a sentence, then the figures and what to be wary of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_effects import Coefficient, LifeEffects

MOST_SAID = 4
_SURE = 0.01  # where errors are known to be too small
_RENEWALS = "renewals"


def effects(result: LifeEffects, console: Console) -> None:
    """Which effects are sure, with the others held equal; then all of them."""
    for line in _answer(result):
        say(console, line, bold=True)
    ratio = "Fails so many times as often" if result.ratio_of == "hazard" else "Lasts so many times as long"
    columns = (
        Column("name", ""),
        Column("ratio", ratio, numeric=True),
        Column("limits", f"{result.source.conf:.0%} limits", numeric=True),
        Column("p", "p", numeric=True),
    )
    console.print(table(_title(result), columns, [_row(each) for each in result.coefficients]))
    if result.proportional_hazards:
        console.print(table("Does the effect change as parts age?", _CHANGE_COLUMNS, _change_rows(result)))
    for line in (*result.cautions, *_beside(result)):
        say(console, line)
    left_out(console, result.source.excluded, result.source.noun)
    for note in result.source.notes:
        say(console, note)


def _answer(result: LifeEffects) -> list[str]:
    failures = "no failure" if result.events == 0 else count(result.events, "failure")
    who = f"{count(result.n, result.source.noun)}, {failures}"
    level = 1 - result.source.conf
    needed = min(level, _SURE) if result.too_narrow else level
    told = [each for each in result.coefficients if each.name != _RENEWALS]
    sure = sorted((each for each in told if each.p < needed), key=lambda each: each.p)
    unsure = [each for each in told if each.p >= needed]
    lines = ["; ".join(_told(each, result) for each in sure[:MOST_SAID])] if sure else []
    if unsure and sure:
        shown = ", ".join(each.name for each in unsure[:MOST_SAID]) + (" ..." if len(unsure) > MOST_SAID else "")
        lines.append(f"{CANT_TELL} of {shown}{_why(unsure, level)}")
    elif unsure:
        lines.append(f"{CANT_TELL} whether any of these matters, the others held equal{_why(unsure, level)}")
    if len(told) < len(result.coefficients):
        lines.append(f"can't tell what {_RENEWALS} do: parts renewed are parts that worked")
    return [f"{who}: {lines[0]}", *lines[1:]]


def _why(unsure: list[Coefficient], level: float) -> str:
    near = any(each.p < level for each in unsure)
    return f" (limits are too narrow here: only p under {_SURE} counts)" if near else ""


def _told(each: Coefficient, result: LifeEffects) -> str:
    does = "fails" if result.ratio_of == "hazard" else "lasts"
    much = "often" if result.ratio_of == "hazard" else "long"
    against = next(
        (f" as {one.value}" for one in result.references if each.name.startswith(f"{one.covariate}: ")), None
    )
    unit = "" if against else " for each one more"
    ratio = f"{number(each.ratio)}{limits(each.lower, each.upper)}"
    return f"{each.name} {does} {ratio} times as {much}{against or unit}"


def _title(result: LifeEffects) -> str:
    model = "Cox's model" if result.model == "cox" else f"{result.model} law, accelerated life"
    within = f", within {' and '.join(result.strata)}" if result.strata else ""
    errors = f", errors by {result.clusters} clusters" if result.clusters and not result.penalised else ""
    return f"{model}{within}{errors}" + (", penalised" if result.penalised else "")


def _row(each: Coefficient) -> dict[str, Any]:
    return {
        "name": each.name,
        "ratio": number(each.ratio),
        "limits": between(number(each.lower), number(each.upper)),
        "p": f"{each.p:.2g}",
    }


_CHANGE_COLUMNS = (
    Column("name", ""),
    Column("statistic", "Chi-square", numeric=True),
    Column("df", "df", numeric=True),
    Column("p", "p", numeric=True),
    Column("way", ""),
)


def _change_rows(result: LifeEffects) -> list[dict[str, Any]]:
    level = 1 - result.source.conf
    return [
        {
            "name": each.name,
            "statistic": each.statistic,
            "df": each.df,
            "p": f"{each.p:.2g}",
            "way": "no sign of it"
            if each.p >= level
            else ("changes", "falls", "rises")[1 + bool(each.grows)]
            if each.grows is not None
            else "changes",
        }
        for each in result.proportional_hazards
    ]


def _beside(result: LifeEffects) -> list[str]:
    """What the labels are held against, and how well the model puts lives in order."""
    lines = [f"{each.covariate} is held against {each.value}" for each in result.references]
    if result.concordance is not None:
        lines.append(
            f"of two lives it says rightly which fails first {result.concordance:.0%} of the time (50% is guessing)"
        )
    if result.sigma is not None and result.sigma.value and result.model == "weibull":
        lines.append(f"Weibull shape {number(1 / result.sigma.value)}")
    return lines
