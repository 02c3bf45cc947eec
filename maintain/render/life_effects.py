"""Effects on the screen: what each does in a sentence, then the figures and what to be wary of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from maintain.render.phrases import CANT_TELL, between, count, left_out, number, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_effects import Coefficient, FactorTest, LifeEffects

MOST_SAID = 4
_MODELS = {"cox": "Cox's model", "grouped": "Hazards between looks"}


def effects(result: LifeEffects, console: Console) -> None:
    """What matters surely, with the others held equal; then all of it."""
    for line in _answer(result):
        say(console, line, bold=True)
    ratio = "Fails so many times as often" if result.ratio_of == "hazard" else "Lasts so many times as long"
    columns = (
        Column("name", ""),
        Column("ratio", ratio, numeric=True),
        Column("limits", f"{result.source.conf:.0%} limits", numeric=True),
    )
    console.print(table(_title(result), columns, [_row(each) for each in result.coefficients]))
    console.print(table(_test_title(result), _TEST_COLUMNS, [_test_row(each) for each in result.factors]))
    if result.proportional_hazards:
        console.print(table("Does the effect change as parts age?", _CHANGE_COLUMNS, _change_rows(result)))
    for line in (*result.cautions, *_beside(result)):
        say(console, line)
    left_out(console, result.source.excluded, result.source.noun)
    for note in result.source.notes:
        say(console, note)


def _answer(result: LifeEffects) -> list[str]:
    failures = "no failure" if result.events == 0 else count(result.events, "failure")
    shared = (count(result.clusters, result.clustered_by),) if result.clusters and result.clustered_by else ()
    who = ", ".join((count(result.n, result.source.noun), failures, *shared))
    level = 1 - result.source.conf
    asked = [each for each in result.factors if each.name not in result.no_cause]
    sure = sorted((each for each in asked if _tells(each, level)), key=lambda each: each.p_holm or 0.0)
    unsure = [each.name for each in asked if not _tells(each, level)]
    lines = [told for each in sure for told in _told(each, result, level)]
    if unsure and sure:
        lines.append(f"{CANT_TELL} about {_either(unsure)}")
    elif len(unsure) > 1:
        lines.append(f"{CANT_TELL} whether any of these matters, the others held equal")
    elif unsure:
        lines.append(f"{CANT_TELL} about {unsure[0]}")
    if result.no_cause:
        lines.append(f"can't tell from {_either(list(result.no_cause))}, reckoned over the life itself")
    return [f"{who}: {lines[0]}", *lines[1:]]


def _tells(test: FactorTest, level: float) -> bool:
    return test.p_holm is not None and test.p_holm < level


def _either(names: list[str]) -> str:
    shown = [*names[:MOST_SAID], *(["others"] if len(names) > MOST_SAID else [])]
    return " or ".join((", ".join(shown[:-1]), shown[-1])) if len(shown) > 1 else shown[0]


def _told(test: FactorTest, result: LifeEffects, level: float) -> list[str]:
    """What a covariate that matters does: a number for each one more, a label by its values against their reference."""
    reference = next((each.value for each in result.references if each.covariate == test.name), None)
    if reference is None:
        own = next(each for each in result.coefficients if each.name == test.name)
        more = "each one" if own.step == 1 else f"every {number(own.step)}"
        return [f"{own.name}: for {more} more it {_ratio(own, result)}"]
    values = [each for each in result.coefficients if each.name.startswith(f"{test.name}: ")]
    plain = sorted((each for each in values if each.p * test.df < level), key=lambda each: each.p)[:MOST_SAID]
    if not plain:
        return [f"{test.name} matters, but {CANT_TELL} of any one value that it differs from {reference}"]
    return [f"{each.name} {_ratio(each, result, against=f' as {reference}')}" for each in plain]


def _ratio(each: Coefficient, result: LifeEffects, against: str = "") -> str:
    does, much = ("fails", "often") if result.ratio_of == "hazard" else ("lasts", "long")
    ratio, lower, upper = _stepped(each)
    spread = between(number(lower), number(upper))
    return f"{does} {number(ratio)} times as {much}{against} ({result.source.conf:.0%} limits {spread})"


def _title(result: LifeEffects) -> str:
    model = _MODELS.get(result.model, f"{result.model} law, accelerated life")
    within = f", within {' and '.join(result.strata)}" if result.strata else ""
    errors = f", errors by {count(result.clusters, 'cluster')}" if result.clusters else ""
    return f"{model}{within}{errors}" + (", penalised" if result.penalised else "")


def _row(each: Coefficient) -> dict[str, Any]:
    ratio, lower, upper = _stepped(each)
    bound = each.interval == "profile" and (lower is None or lower < 1) and (upper is None or upper > 1)
    return {
        "name": each.name if each.step == 1 else f"{each.name}, {number(each.step)} more",
        "ratio": None if bound else number(ratio),  # the penalty's own choice where the lives set only limits
        "limits": between(number(lower), number(upper)),
    }


def _stepped(each: Coefficient) -> tuple[float | None, float | None, float | None]:
    """Ratio and limits for as many units as are spoken of."""
    return tuple(None if one is None else _power(one, each.step) for one in (each.ratio, each.lower, each.upper))  # type: ignore[return-value]


def _power(ratio: float, step: float) -> float | None:
    try:
        return float(ratio**step)
    except OverflowError:
        return None


_TEST_COLUMNS = (
    Column("name", ""),
    Column("statistic", "Chi-square", numeric=True),
    Column("df", "df", numeric=True),
    Column("p", "p", numeric=True),
    Column("p_holm", "p (Holm)", numeric=True),
)


def _test_title(result: LifeEffects) -> str:
    by = {"Wald": "Wald's test"}
    used = dict.fromkeys(by.get(each.test, each.test) for each in result.factors)
    return f"Does it matter at all? ({', '.join(used)})"


def _test_row(each: FactorTest) -> dict[str, Any]:
    p, corrected = (CANT_TELL if p is None else f"{p:.2g}" for p in (each.p, each.p_holm))
    return {"name": each.name, "statistic": each.statistic, "df": each.df, "p": p, "p_holm": corrected}


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
