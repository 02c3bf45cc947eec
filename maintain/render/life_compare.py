"""A comparison on the screen: the answer in a sentence, how sure it is, whether it is fair, then the tests."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from maintain.render.phrases import CANT_TELL, between, count, left_out, limits, number, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life import Figure
    from maintain.results.life_compare import (
        AdjustedPair,
        LifeComparison,
        LogRankTest,
        PairPower,
        PairTest,
        Unfair,
        Verdict,
    )

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
    columns = (*_GROUP_COLUMNS, Column("sinkings", "Times under", numeric=True)) if known else _GROUP_COLUMNS
    title = f"By {result.source.by} (expected: failures, if all were alike)"
    console.print(table(title, columns, [vars(each) for each in result.groups]))
    early = _test_row("weighted to early failures", result.early)
    rows = [*_test_rows(result.logrank), early]
    console.print(table("Do all last equally long? (log-rank)", _TEST_COLUMNS, rows))
    if result.adjusted is not None and result.adjusted.logrank is not None:
        title = f"The same, lives compared only within one {_equal(result)}"
        console.print(table(title, _TEST_COLUMNS, _test_rows(result.adjusted.logrank)))
    shown = sorted(result.pairs, key=lambda pair: 2.0 if pair.verdict is None else pair.verdict.p)[:MOST_PAIRS]
    console.print(table(_pairs_title(result), _pair_columns(result), [_pair_row(pair, result) for pair in shown]))
    console.print(table(_means_title(result), _mean_columns(result), [_mean_row(pair, result) for pair in shown]))
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
        return _of_two(result)
    lives, failures = sum(each.n for each in result.groups), sum(each.events for each in result.groups)
    verdict = result.logrank.verdict
    assert verdict is not None
    who = f"{count(lives, result.source.noun)}, {_failures(failures)}; {_rests(verdict, result)}"
    if verdict.p < 1 - result.source.conf:
        return [f"they do not all last equally long, but {CANT_TELL} which of them differ: {who}"]
    if all(_alike(result, pair) for pair in result.pairs):
        return [f"no sign that any of {len(result.groups)} lasts longer than the others: {who}"]
    return [f"{CANT_TELL} which of {len(result.groups)} lasts longest: {who}", *_soonest(result)]


def _of_two(result: LifeComparison) -> list[str]:
    pair = result.pairs[0]
    who, power = _counts(result, pair.a, pair.b), _power(result, (pair.a, pair.b))
    unsure = f"{CANT_TELL} which lasts longer, {pair.a} or {pair.b}"
    first = (
        f"no sign that {pair.a} and {pair.b} differ: {who}"
        if _alike(result, pair)
        else f"{unsure}: {who}{_lacks(pair, power, result)}"
    )
    rests = "" if pair.verdict is None else f"; {_rests(pair.verdict, result)}"
    return [first, f"so far {_ratio_told(pair, result)}{rests}{_chance(power)}"]


def _soonest(result: LifeComparison) -> list[str]:
    """The pair that wants fewest more failures; none where those there are would have shown a difference."""
    soonest = min((each for each in result.power if each.more_events), key=lambda each: each.more_events, default=None)
    if soonest is None:
        return []
    return [f"soonest told, of {soonest.a} and {soonest.b}{_takes(soonest)}; the chance so far was {soonest.power:.0%}"]


def _rests(verdict: Verdict, result: LifeComparison) -> str:
    """The p on which the answer rests, and what it is."""
    together = f"lives of one {verdict.by} taken together" if verdict.by else "each life on its own"
    p = f"p = {_small(verdict.p)}"
    if verdict.statistic is not None:
        return f"{p} ({_statistic(verdict)} on {_degrees(verdict)} df, {together})"
    known = "of all" if verdict.method == "exact" else "by lot, of"
    deals = f"{known} {count(verdict.deals or 0, 'way')} to deal out so few lives"
    least = verdict.least_p
    none = (
        "" if least is None or least < 1 - result.source.conf else f"; so few could not show less than {_small(least)}"
    )
    return f"{p} ({deals}, {together}{none})"


def _statistic(test: Verdict) -> str:
    return f"{test.method} {number(test.statistic)}"


def _degrees(test: Verdict) -> str:
    return f"{test.df}" if test.denominator_df is None else f"{test.df} and {test.denominator_df}"


def _alike(result: LifeComparison, pair: PairTest) -> bool:
    """Whether the limits of the ratio leave out a difference worth having, either way."""
    power, ratio = _power(result, (pair.a, pair.b)), pair.hazard_ratio
    if pair.too_few or power is None or ratio is None or ratio.lower is None or ratio.upper is None:
        return False
    worth = max(power.worth, 1 / power.worth)
    return 1 / worth < ratio.lower and ratio.upper < worth


def _lacks(pair: PairTest, power: PairPower | None, result: LifeComparison) -> str:
    """Why a pair cannot be told, and what would tell."""
    least = None if pair.verdict is None else pair.verdict.least_p
    if least is not None and least >= 1 - result.source.conf:
        return f"; too few to tell whatever had happened to them{_takes(power)}"
    if power is not None and not power.more_events:
        worth = max(power.worth, 1 / power.worth)
        return f"; one may still fail {_times(worth)} as often as the other, and only more failures tell"
    return _takes(power)


def _told_apart(result: LifeComparison, place: int) -> str:
    differs = result.differs[place]
    pair = _pair(result, differs.longer, differs.shorter)
    but = f"; but not a fair comparison: they differ in {' and '.join(differs.unlike)} too" if differs.unlike else ""
    if differs.adjusted_too is False:
        but += f"; with {_equal(result)} held equal that is no longer sure"
    who = f"{differs.longer} outlasts {differs.shorter}: {_counts(result, differs.longer, differs.shorter)}"
    assert pair.verdict is not None
    rests = _rests(pair.verdict, result)
    if len(result.pairs) > 1:
        rests += f", {_small(pair.p_holm or 0.0)} corrected for {len(result.pairs)} pairs"
    return f"{who}; {_ratio_told(pair, result)}; {rests}{but}"


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
    return f"{b} fails {_times(ratio.value)} as often as {a}{_limits(ratio, result)}"


def _times(value: float | None) -> str:
    return "twice" if value == 2 else f"{number(value)} times"


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
    return f"; it would take about {_more(power)} to see one fail {_times(power.worth)} as often as the other"


def _chance(power: PairPower | None) -> str:
    """How likely it was to find one."""
    if power is None:
        return ""
    worth = f"had one failed {_times(power.worth)} as often as the other"
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
    lives = f"{power.more_lives} more {'life' if power.more_lives == 1 else 'lives'}"
    return f"{count(power.more_events, 'more failure')} ({lives}{pace})"


def _fairness(result: LifeComparison) -> list[str]:
    return [_unfair_told(each, result) for each in result.unfair]


def _unfair_told(each: Unfair, result: LifeComparison) -> str:
    told = f"not alike in {each.covariate}: {each.a} and {each.b}"
    if each.never_together:
        return f"{told} have none in common, so of these two nothing can tell it from {result.source.by}"
    told += "" if each.difference is None else f" differ by {number(each.difference)} spreads"
    return f"{told}; held equal below" if each.held_equal else f"{told}; hold it equal with --adjust {_quoted(each)}"


def _quoted(each: Unfair) -> str:
    return f"'{each.covariate}'" if " " in each.covariate else each.covariate


def _held_equal(result: LifeComparison) -> list[str]:
    adjusted = result.adjusted
    if adjusted is None:
        return []
    whole = adjusted.logrank.verdict if adjusted.logrank is not None and len(result.groups) > 2 else None
    wanted = {frozenset((each.longer, each.shorter)) for each in result.differs[:MOST_SAID]}
    told = [pair for pair in adjusted.pairs if frozenset((pair.a, pair.b)) in wanted or len(adjusted.pairs) == 1]
    return [
        *([f"all of them, compared only within one {_equal(result)}: {_rests(whole, result)}"] if whole else []),
        *(
            f"with {_equal(result)} held equal: {_ratio_told(pair, result)}, p = {_small(pair.p)}"
            f"{_lasting(pair, result)}"
            for pair in told
        ),
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


_GROUP_COLUMNS = (
    Column("group", ""),
    Column("n", "Lives", numeric=True),
    Column("events", "Failures", numeric=True),
    Column("expected", "Expected", numeric=True),
)
_TEST_COLUMNS = (
    Column("what", ""),
    Column("test", "Test", numeric=True),
    Column("df", "df", numeric=True),
    Column("p", "p", numeric=True),
    Column("effect", "Lives it takes", numeric=True),
)


def _test_rows(test: LogRankTest) -> list[dict[str, Any]]:
    rows = [
        _test_row("each life on its own", test),
        *(
            {
                "what": f"by {each.by}, of {each.clusters}",
                "test": f"F {number(each.f)}",
                "df": f"{each.df} and {each.denominator_df}",
                "p": _small(each.p),
                "effect": "as many" if each.design_effect < 1.005 else f"{number(each.design_effect)} times",
            }
            for each in test.clustered
        ),
    ]
    verdict = test.verdict
    if verdict is not None and verdict.deals is not None:
        drawn = "" if verdict.method == "exact" else " drawn"
        rows.append({"what": f"{verdict.deals} ways to deal out{drawn}", "p": _small(verdict.p)})
    return rows


def _test_row(what: str, test: LogRankTest) -> dict[str, Any]:
    return {"what": what, "test": f"chi² {number(test.statistic)}", "df": test.df, "p": _small(test.p)}


def _pairs_title(result: LifeComparison) -> str:
    hidden = len(result.pairs) - MOST_PAIRS
    most = f" (the {MOST_PAIRS} surest of {len(result.pairs)}; --json has all)" if hidden > 0 else ""
    return f"How many times as often the second fails{most}"


def _pair_columns(result: LifeComparison) -> tuple[Column, ...]:
    equal = [] if result.adjusted is None else [Column("equal", f"{_equal(result)} held equal", numeric=True)]
    return (
        Column("a", "First"),
        Column("b", "Second"),
        Column("ratio", "Times as often", numeric=True),
        *equal,
        Column("holm", "p (Holm)", numeric=True),
    )


def _pair_row(pair: PairTest, result: LifeComparison) -> dict[str, Any]:
    adjusted = result.adjusted.pairs if result.adjusted else ()
    equal = next((each for each in adjusted if (each.a, each.b) == (pair.a, pair.b)), None)
    return {
        "a": pair.a,
        "b": pair.b,
        "ratio": _figure(pair.hazard_ratio),
        "equal": None if equal is None else _figure(equal.hazard_ratio),
        "holm": None if pair.p_holm is None else _small(pair.p_holm),
    }


def _means_title(result: LifeComparison) -> str:
    tau = result.restricted_mean_difference[0].tau
    return f"Mean life up to {number(tau)} {result.source.clock} (p of each pair on its own)"


def _mean_columns(result: LifeComparison) -> tuple[Column, ...]:
    worth = f" to see {_times(result.power[0].worth)} as often" if result.power else ""
    return (
        Column("a", "First"),
        Column("b", "Second"),
        Column("mean", "First lasts longer by", numeric=True),
        Column("p", "p", numeric=True),
        Column("more", f"More failures{worth}", numeric=True),
    )


def _mean_row(pair: PairTest, result: LifeComparison) -> dict[str, Any]:
    names = (pair.a, pair.b)
    told = any({each.longer, each.shorter} == set(names) for each in result.differs)
    mean = next(each for each in result.restricted_mean_difference if (each.a, each.b) == names)
    power = _power(result, names)
    return {
        "a": pair.a,
        "b": pair.b,
        "mean": None if mean.value is None else f"{number(mean.value)}{limits(mean.lower, mean.upper)}",
        "p": None if mean.p is None else _small(mean.p),
        "more": None if told or power is None or power.more_events > _SCARCELY else power.more_events,
    }


def _figure(figure: Figure | None) -> str | None:
    if figure is None or figure.value is None:
        return None
    return f"{number(figure.value)} ({between(number(figure.lower), number(figure.upper))})"


def _small(p: float) -> str:
    return "0.0001 or less" if p < 1e-4 else f"{p:.2g}"
