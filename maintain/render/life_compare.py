"""A comparison on the screen: the answer in a sentence, how sure it is, whether it is fair, then the tests."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from maintain.core.compare import LEAST_FAILURES, LEAST_LIVES
from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure
    from maintain.results.life_compare import AdjustedPair, LifeComparison, LogRankTest, PairPower, PairTest, Unfair

MOST_SAID, MOST_PAIRS = 3, 10
_ESTIMATORS = {
    "penalised Cox": "by Cox's model, penalised: no finite ratio fits",
    "one-step": "one step from the log-rank score: it overstates large ratios",
}
_SCARCELY = 1000  # more failures than this no club will live to see


def comparison(result: LifeComparison, console: Console) -> None:
    """The answer, what would settle it, what makes it unfair, and the tables."""
    for line in _answer(result):
        say(console, line, bold=True)
    for line in (*_fairness(result), *_held_equal(result)):
        say(console, line)
    known = any(each.sinkings is not None for each in result.groups)
    columns = (*_GROUP_COLUMNS, Column("sinkings", "Times under, in all", numeric=True)) if known else _GROUP_COLUMNS
    console.print(table(f"By {result.source.by}", columns, [vars(each) for each in result.groups]))
    console.print(table("Do all last equally long? (log-rank)", _TEST_COLUMNS, _test_rows(result)))
    shown = sorted(result.pairs, key=lambda pair: 2.0 if pair.p_careful is None else pair.p_careful)[:MOST_PAIRS]
    console.print(table(_pairs_title(result), _pair_columns(result), [_pair_row(pair, result) for pair in shown]))
    for each in shown:
        if each.estimator not in (None, "Cox"):
            say(console, f"{each.a} / {each.b}: the ratio is {_ESTIMATORS[str(each.estimator)]}")
    if result.adjusted is not None:
        for caution in result.adjusted.cautions:
            say(console, f"held equal: {caution}")
    left_out(console, result.source.excluded, result.source.noun)
    for note in result.source.notes:
        say(console, note)


def _answer(result: LifeComparison) -> list[str]:
    if result.differs:
        return [_told_apart(result, place) for place in range(min(len(result.differs), MOST_SAID))]
    if len(result.groups) == 2:
        pair = result.pairs[0]
        who, power = _counts(result, pair.a, pair.b), _power(result, (pair.a, pair.b))
        unsure = f"{CANT_TELL} which lasts longer, {pair.a} or {pair.b}"
        return [
            f"no sign that {pair.a} and {pair.b} differ: {who}"
            if _alike(result, pair)
            else f"{unsure}: {who}{_lacks(pair, power)}",
            f"so far {_ratio_told(pair, result)}{_p(pair.p_careful)}{_chance(power)}",
        ]
    lives, failures = sum(each.n for each in result.groups), sum(each.events for each in result.groups)
    who = f"{count(lives, result.source.noun)}, {_failures(failures)}"
    p = result.logrank.p_careful
    if p < 1 - result.source.conf and lives >= LEAST_LIVES and failures >= LEAST_FAILURES:
        return [f"they do not all last equally long ({who}, p = {_small(p)}), but {CANT_TELL} which of them differ"]
    if all(_alike(result, pair) for pair in result.pairs):
        return [f"no sign that any of {len(result.groups)} lasts longer than the others: {who}, p = {_small(p)}"]
    told = [f"{CANT_TELL} which of {len(result.groups)} lasts longest: {who}, p = {_small(p)}"]
    soonest = min(result.power, key=lambda each: each.more_events, default=None)
    if soonest is not None:
        told.append(f"soonest told: {soonest.a} and {soonest.b}{_takes(soonest)}{_chance(soonest)}")
    return told


def _alike(result: LifeComparison, pair: PairTest) -> bool:
    """Whether the limits of the ratio leave out a difference worth having, either way."""
    power, ratio = _power(result, (pair.a, pair.b)), pair.hazard_ratio
    if pair.too_few or power is None or ratio is None or ratio.lower is None or ratio.upper is None:
        return False
    worth = max(power.worth, 1 / power.worth)
    return 1 / worth < ratio.lower and ratio.upper < worth


def _lacks(pair: PairTest, power: PairPower | None) -> str:
    """Why a pair cannot be told, and what would tell."""
    if pair.too_few:
        few = f"; too few: no test of under {LEAST_LIVES} lives or {LEAST_FAILURES} failures is to be trusted"
        return few + _takes(power)
    if power is not None and not power.more_events:
        worth = max(power.worth, 1 / power.worth)
        return f"; one may still fail {number(worth)} times as often as the other, and only more failures tell"
    return _takes(power)


def _told_apart(result: LifeComparison, place: int) -> str:
    differs = result.differs[place]
    pair = _pair(result, differs.longer, differs.shorter)
    but = f"; but not a fair comparison: they differ in {' and '.join(differs.unlike)} too" if differs.unlike else ""
    if differs.adjusted_too is False:
        but += f"; with {_equal(result)} held equal that is no longer sure"
    who = f"{differs.longer} outlasts {differs.shorter}: {_counts(result, differs.longer, differs.shorter)}"
    return f"{who}; {_ratio_told(pair, result)}, p = {_small(pair.p_holm or 0.0)}{but}"


def _counts(result: LifeComparison, a: str, b: str) -> str:
    known = {each.group: each for each in result.groups}
    first = f"{count(known[a].n, result.source.noun)}, {_failures(known[a].events)}"
    return f"{first} against {count(known[b].n, result.source.noun)}, {_failures(known[b].events)}"


def _failures(n: int) -> str:
    return "no failure" if n == 0 else count(n, "failure")


def _ratio_told(pair: PairTest | AdjustedPair, result: LifeComparison) -> str:
    ratio = pair.hazard_ratio
    if ratio is None or ratio.value is None:
        return f"{pair.a} and {pair.b} were never watched together when one failed"
    if ratio.value < 1:  # said the way round that is easier to follow
        a, b, ratio = pair.b, pair.a, _turned(ratio)
    else:
        a, b = pair.a, pair.b
    return f"{b} fails {number(ratio.value)} times as often as {a}{_limits(ratio, result)}"


def _limits(figure: Figure, result: LifeComparison) -> str:
    """Limits and their level, in brackets."""
    if figure.lower is None and figure.upper is None:
        return limits(None, None)
    return f" ({100 * result.source.conf:.3g}%: {between(number(figure.lower), number(figure.upper))})"


def _turned(ratio: Figure) -> Figure:
    """The ratio of the first to the second; no limit where the other is zero."""
    value, upper, lower = (None if not each else 1 / each for each in (ratio.value, ratio.lower, ratio.upper))
    return replace(ratio, value=value, lower=lower, upper=upper)


def _takes(power: PairPower | None) -> str:
    """What it would take to find a difference worth having."""
    if power is None or not power.more_events:
        return ""
    if power.more_events > _SCARCELY:
        return "; it would take more failures than any club has"
    return f"; it would take about {_more(power)}"


def _chance(power: PairPower | None) -> str:
    """How likely it was to find one."""
    if power is None:
        return ""
    worth = f"had one failed {number(power.worth)} times as often as the other"
    return f"; {worth}, the chance of seeing it was {power.power:.0%}"


def _power(result: LifeComparison, names: tuple[str, str]) -> PairPower | None:
    return next((each for each in result.power if (each.a, each.b) == names), None)


def _more(power: PairPower) -> str:
    seasons = power.more_seasons
    if seasons is None:
        pace = ""
    else:
        pace = f", {seasons:.0f} seasons" if seasons >= 1.5 else ", a season"
        pace += " as this club goes"
    return f"{power.more_events} more failures ({power.more_lives} more lives{pace})"


def _fairness(result: LifeComparison) -> list[str]:
    return [_unfair_told(each, result) for each in result.unfair]


def _unfair_told(each: Unfair, result: LifeComparison) -> str:
    told = f"not alike in {each.covariate}: {each.a} and {each.b}"
    if each.never_together:
        return f"{told} have none in common, so nothing can tell it from {result.source.by}"
    told += "" if each.difference is None else f" differ by {number(each.difference)} spreads"
    return f"{told}; held equal below" if each.held_equal else f"{told}; hold it equal with --adjust {_quoted(each)}"


def _quoted(each: Unfair) -> str:
    return f"'{each.covariate}'" if " " in each.covariate else each.covariate


def _held_equal(result: LifeComparison) -> list[str]:
    adjusted = result.adjusted
    if adjusted is None or not adjusted.pairs:
        return []
    wanted = {frozenset((each.longer, each.shorter)) for each in result.differs[:MOST_SAID]}
    told = [pair for pair in adjusted.pairs if frozenset((pair.a, pair.b)) in wanted or len(adjusted.pairs) == 1]
    return [
        f"with {_equal(result)} held equal: {_ratio_told(pair, result)}{_p(pair.p)}{_lasting(pair, result)}"
        for pair in told
    ]


def _lasting(pair: AdjustedPair, result: LifeComparison) -> str:
    times = pair.time_ratio
    if times is None or times.value is None:
        return ""
    if times.value < 1:
        times = _turned(times)
        return f"; {pair.a} lasts {number(times.value)} times as long{_limits(times, result)}"
    return f"; {pair.b} lasts {number(times.value)} times as long{_limits(times, result)}"


def _equal(result: LifeComparison) -> str:
    assert result.adjusted is not None
    return " and ".join(dict.fromkeys((*result.adjusted.covariates, *result.adjusted.strata)))


def _pair(result: LifeComparison, one: str, other: str) -> PairTest:
    return next(pair for pair in result.pairs if {pair.a, pair.b} == {one, other})


_ALONE = " (each life on its own, one pair at a time)"
_GROUP_COLUMNS = (
    Column("group", ""),
    Column("n", "Lives", numeric=True),
    Column("events", "Failures", numeric=True),
    Column("expected", "Expected if all alike", numeric=True),
)
_TEST_COLUMNS = (
    Column("what", ""),
    Column("statistic", "Chi-square", numeric=True),
    Column("df", "df", numeric=True),
    Column("p", "p", numeric=True),
    Column("effect", "Lives it takes", numeric=True),
)


def _test_rows(result: LifeComparison) -> list[dict[str, Any]]:
    rows = [_test_row("each life on its own", result.logrank), *_clustered_rows(result.logrank, "")]
    rows.append(_test_row("weighted to early failures", result.early))
    if result.adjusted is not None and result.adjusted.logrank is not None:
        rows.append(_test_row(f"only within {_equal(result)}", result.adjusted.logrank))
        rows += _clustered_rows(result.adjusted.logrank, f" only within {_equal(result)}")
    return rows


def _test_row(what: str, test: LogRankTest) -> dict[str, Any]:
    return {"what": what, "statistic": test.statistic, "df": test.df, "p": _small(test.p)}


def _clustered_rows(test: LogRankTest, where: str) -> list[dict[str, Any]]:
    return [
        {
            "what": f"by {each.by}, of {each.clusters}{where}",
            "statistic": each.statistic,
            "df": test.df,
            "p": _small(each.p),
            "effect": f"{number(max(each.design_effect, 1.0))} times",
        }
        for each in test.clustered
    ]


def _pairs_title(result: LifeComparison) -> str:
    hidden = len(result.pairs) - MOST_PAIRS
    return "Pairs" + (f" (the {MOST_PAIRS} surest of {len(result.pairs)}; --json has all)" if hidden > 0 else "")


def _pair_columns(result: LifeComparison) -> tuple[Column, ...]:
    equal = [] if result.adjusted is None else [Column("equal", f"With {_equal(result)} equal", numeric=True)]
    tau = result.restricted_mean_difference[0].tau if result.restricted_mean_difference else 0.0
    return (
        Column("pair", ""),
        Column("ratio", "Second fails so many times as often (Cox)", numeric=True),
        *equal,
        Column("p", "p (Holm)", numeric=True),
        Column("mean", f"First lasts longer by, within {number(tau)} {result.source.clock}{_ALONE}", numeric=True),
        Column("more", "More failures to tell", numeric=True),
    )


def _pair_row(pair: PairTest, result: LifeComparison) -> dict[str, Any]:
    names = (pair.a, pair.b)
    told = any({each.longer, each.shorter} == set(names) for each in result.differs)
    mean = next(each for each in result.restricted_mean_difference if (each.a, each.b) == names)
    power = _power(result, names)
    equal = next((e for e in (result.adjusted.pairs if result.adjusted else ()) if (e.a, e.b) == names), None)
    return {
        "pair": f"{pair.a} / {pair.b}",
        "ratio": _figure(pair.hazard_ratio),
        "equal": None if equal is None else _figure(equal.hazard_ratio),
        "p": None if pair.p_holm is None else _small(pair.p_holm),
        "mean": None if mean.value is None else f"{number(mean.value)}{limits(mean.lower, mean.upper)}",
        "more": None if told or power is None or power.more_events > _SCARCELY else power.more_events,
    }


def _figure(figure: Figure | None) -> str | None:
    if figure is None or figure.value is None:
        return None
    return f"{number(figure.value)} ({between(number(figure.lower), number(figure.upper))})"


def _p(p: float | None) -> str:
    return "" if p is None else f", p = {_small(p)}"


def _small(p: float) -> str:
    return "0.0001 or less" if p < 1e-4 else f"{p:.2g}"
