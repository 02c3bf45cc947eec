"""Do groups of parts last equally long, and is it a fair comparison?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from maintain.core.compare import Ask, Comparison, Pair, Power
from maintain.core.compare import compare as compare_groups
from maintain.core.estimate import check_share
from maintain.core.fairness import imbalances, late_entry_cautions
from maintain.core.log_rank import LogRank
from maintain.core.verdict import Verdict as Rested
from maintain.core.verdict import judged, too_few
from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.results.life import Figure
from maintain.results.life_compare import (
    Adjusted,
    AdjustedPair,
    ClusteredTest,
    Differs,
    GroupCount,
    LifeComparison,
    LogRankTest,
    MeanDifference,
    PairPower,
    PairTest,
    Unfair,
    Verdict,
)
from maintain.services.life import Question
from maintain.services.life_effects import cox, strata_of, weibull
from maintain.services.lives.columns import Words
from maintain.services.lives.samples import Sample

MOST_GROUPS = 30
SEED = 1
COX, PENALISED, ONE_STEP = "Cox", "penalised Cox", "one-step"


@dataclass(frozen=True)
class Fairly:
    """
    How to compare.

    Attributes
    ----------
    between : tuple of str
        Only these groups; none: all.
    adjust, strata : tuple of str
        Columns held equal, by a model, and by comparing only within them.
    worth, power : float
        Hazard ratio worth finding, and the chance of finding it that is thought enough.
    """

    between: tuple[str, ...] = ()
    adjust: tuple[str, ...] = ()
    strata: tuple[str, ...] = ()
    worth: float = 2.0
    power: float = 0.8


def compare(sample: Sample, question: Question, how: Fairly) -> LifeComparison:
    """
    Compare the groups of a sample.

    Raises
    ------
    InvalidRecord
        If it is not said what the groups differ in, or there are too many of them.
    NotEnoughData
        If there is only one group, or nothing has failed.
    """
    question.check()
    check_share(how.power, "--power")
    if sample.by is None:
        raise InvalidRecord("it is not said what to compare", hint="name it with --by, for example --by waterproofing")
    if sample.several_rows:
        raise InvalidRecord(
            "what changes during a life can't be held equal in a comparison", hint="ask: maintain life effects"
        )
    how = replace(how, adjust=tuple(map(sample.heading, how.adjust)), strata=tuple(map(sample.heading, how.strata)))
    if sample.by in (*how.adjust, *how.strata):
        raise InvalidRecord(f"{sample.by} can't be compared and held equal at once", hint="leave it out of one of them")
    sample = _between(sample, how.between).known_by((sample.by, *how.adjust, *how.strata))
    sample = sample.clustered_beside((str(sample.by),))
    groups = np.unique(sample.group.astype(str)).size
    if groups > MOST_GROUPS:
        raise InvalidRecord(
            f"{groups} groups by {sample.by}: more than {MOST_GROUPS} can't be told apart",
            hint="choose some with --between A,B or fewer lives, or ask: maintain life effects",
        )
    tau = max(question.at) if question.at else None
    ask = Ask(tau=tau, worth=how.worth, power=how.power, conf=question.conf)
    lot = np.random.default_rng(SEED)
    found = compare_groups(sample.lives, sample.group, clusters=sample.clusters, ask=ask, rng=lot)
    adjusted = _adjusted(sample, how, found, question.conf) if how.adjust or how.strata else None
    notes = [*found.cautions, *late_entry_cautions(sample.lives, sample.group), *_alone(sample)]
    return LifeComparison(
        source=sample.source(question.conf, notes),
        groups=_counts(found.overall, sample),
        logrank=_test(found.overall, found.verdict),
        early=_test(found.early, None),
        pairs=tuple(_pair(pair, sample, question.conf) for pair in found.pairs),
        restricted_mean_difference=tuple(_mean_difference(pair, found.tau) for pair in found.pairs),
        power=tuple(_power(pair, pair.power, sample.seasons) for pair in found.pairs if pair.power is not None),
        differs=_differs(found, adjusted, lambda a, b: _unlike(_between(sample, (a, b)), how)),
        unfair=_unfair(sample, how),
        adjusted=adjusted,
    )


def _between(sample: Sample, wanted: tuple[str, ...]) -> Sample:
    if not wanted:
        return sample
    names = sorted(set(sample.group.astype(str).tolist()))
    exact = [each for each in wanted if each in names]
    begun = [each for each in wanted if each not in names]
    chosen = exact + [find.match(names, each, str(sample.by), f"one of: {', '.join(names)}") for each in begun]
    return sample.take(np.isin(sample.group.astype(str), chosen))


def _alone(sample: Sample) -> list[str]:
    return (
        [] if sample.clusters else ["lives are taken on their own; if they share their luck, name how with --cluster"]
    )


def _counts(test: LogRank, sample: Sample) -> tuple[GroupCount, ...]:
    group, sunk = sample.group.astype(str), sample.sunk
    rows = zip(test.groups, test.n.tolist(), test.observed.tolist(), test.expected.tolist(), strict=True)
    return tuple(
        GroupCount(name, n, int(failed), expected, None if sunk is None else round(float(sunk[group == name].sum()), 1))
        for name, n, failed, expected in rows
    )


def _test(test: LogRank, verdict: Rested | None) -> LogRankTest:
    clustered = tuple(
        ClusteredTest(
            by=each.by,
            clusters=each.clusters,
            statistic=each.statistic,
            f=each.f,
            df=each.df,
            denominator_df=each.denominator_df,
            p=each.p,
            design_effect=each.design_effect,
            rough=each.rough,
        )
        for each in test.robust
    )
    return LogRankTest(test.statistic, test.df, test.p, test.careful_p, clustered, _verdict(verdict))


def _verdict(found: Rested | None) -> Verdict | None:
    return None if found is None else Verdict(**vars(found))


def _pair(pair: Pair, sample: Sample, conf: float) -> PairTest:
    test = pair.test
    if test is None or pair.power is None:
        return PairTest(pair.a, pair.b, None, None, None, None, None, None, None, too_few=True)
    figure, estimator = _hazard_ratio(pair, sample, conf)
    return PairTest(
        a=pair.a,
        b=pair.b,
        statistic=test.statistic,
        p=test.p,
        p_careful=test.careful_p,
        verdict=_verdict(pair.verdict),
        p_holm=pair.p_holm,
        hazard_ratio=figure,
        estimator=estimator,
        too_few=too_few(test),
    )


def _hazard_ratio(pair: Pair, sample: Sample, conf: float) -> tuple[Figure | None, str | None]:
    """The ratio of b to a by Cox, the least sure way of clustering deciding; one step towards it where that fails."""
    told = sample.take(np.isin(sample.group.astype(str), (pair.a, pair.b)))
    try:
        found = cox(told, {pair.b: _is(told.group.astype(str), pair.b)}, conf=conf)
    except NotEnoughData:
        step = pair.power.hazard_ratio if pair.power else None
        return (None, None) if step is None else (Figure(step.value, step.lower, step.upper), ONE_STEP)
    effect = found.effects[0]
    return Figure(effect.ratio, effect.lower, effect.upper), PENALISED if found.penalised else COX


def _mean_difference(pair: Pair, tau: float) -> MeanDifference:
    """Turned round: a less b, as the pair is named."""
    found = pair.mean_difference
    if found is None or found.estimate.value is None:
        return MeanDifference(pair.a, pair.b, tau, None, None, None, None, None, None)
    gap = found.estimate
    value, lower, upper = (None if each is None else -each for each in (gap.value, gap.upper, gap.lower))
    return MeanDifference(pair.a, pair.b, tau, value, lower, upper, found.p, found.by, found.df)


def _power(pair: Pair, power: Power, seasons: float | None) -> PairPower:
    needed, lives = math.ceil(power.events_needed), math.ceil(power.lives_needed)
    more = max(needed - power.events, 0)
    return PairPower(
        a=pair.a,
        b=pair.b,
        events=power.events,
        lives=power.lives,
        worth=power.worth,
        power=power.power,
        detectable=power.detectable,
        events_needed=needed,
        lives_needed=lives,
        more_events=more,
        more_lives=max(lives - power.lives, 0),
        more_seasons=None if seasons is None else more * seasons / power.events,
        design_effect=power.design_effect,
    )


def _unfair(sample: Sample, how: Fairly) -> tuple[Unfair, ...]:
    """In what else groups differ, of all that is told of them."""
    wanted = [*sample.told, *how.adjust, *how.strata]
    told: dict[str, Any] = {
        name: sample.columns[name]
        for name in dict.fromkeys(wanted)
        if name != sample.by and np.unique(sample.columns[name].astype(str)).size > 1
    }
    return tuple(
        Unfair(
            covariate=each.covariate,
            a=each.a,
            b=each.b,
            difference=each.difference if math.isfinite(each.difference) else None,
            never_together=each.never_together,
            held_equal=each.covariate in (*how.adjust, *how.strata) and not each.never_together,
        )
        for each in imbalances(sample.group.astype(str), told)
        if each.unfair
    )


def _adjusted(sample: Sample, how: Fairly, found: Comparison, conf: float) -> Adjusted:
    """The same question with other things held equal: a stratified test, Cox and accelerated life."""
    labels = tuple(name for name in how.adjust if sample.columns[name].dtype.kind not in "fiub")
    within = tuple(dict.fromkeys((*how.strata, *labels)))
    cautions: list[str] = []
    stratified = None
    if within:
        try:
            telling = {test.by: sample.clusters[test.by] for test in found.overall.robust}
            layers = strata_of(sample, within)
            lot = np.random.default_rng(SEED)
            stratified = _test(*judged(sample.lives, sample.group, lot, strata=layers, clusters=telling))
        except NotEnoughData as error:
            cautions.append(f"within {' and '.join(within)}: {error.message}")
    try:
        pairs = _ratios(sample, found.overall.groups, how, conf, cautions)
    except NotEnoughData as error:
        pairs = ()
        cautions.append(error.message)
    return Adjusted(how.adjust, how.strata, stratified, pairs, tuple(dict.fromkeys(cautions)))


def _ratios(
    sample: Sample, groups: tuple[str, ...], how: Fairly, conf: float, cautions: list[str]
) -> tuple[AdjustedPair, ...]:
    """Every group against each later one, by Cox and by accelerated life, with the rest held equal."""
    told = _where_something_failed(sample.take(np.isin(sample.group.astype(str), groups)), how.adjust, cautions)
    group, found = told.group.astype(str), []
    for reference in groups[:-1]:
        others = {f"{told.by}: {name}": _is(group, name) for name in groups if name != reference}
        columns = {**others, **{name: told.columns[name] for name in how.adjust}}
        hazard = cox(told, columns, strata=how.strata, conf=conf)
        times = weibull(told, columns, conf=conf) if not how.strata else None
        cautions += hazard.cautions
        ratios = {effect.name: effect for effect in hazard.effects}
        lasting = {} if times is None else {effect.name: effect for effect in times.effects}
        for name in groups[groups.index(reference) + 1 :]:
            key = f"{told.by}: {name}"
            if key not in ratios:
                continue
            ratio, lasts = ratios[key], lasting.get(key)
            time_ratio = None if lasts is None else Figure(lasts.ratio, lasts.lower, lasts.upper)
            found.append(
                AdjustedPair(reference, name, Figure(ratio.ratio, ratio.lower, ratio.upper), ratio.p, time_ratio)
            )
    return tuple(found)


def _where_something_failed(sample: Sample, names: tuple[str, ...], cautions: list[str]) -> Sample:
    """
    Leave out lives of a zone, water ... in which nothing has failed.

    The likelihood gives such a place no hazard at all, so that its lives say nothing of what is compared; left in, they
    let the whole answer rest on a penalty.
    """
    for name in names:
        column = sample.columns[name].astype(str)
        if sample.columns[name].dtype.kind in "fiub":
            continue
        for value in sorted(set(column.tolist()) - set(column[sample.lives.failed].tolist())):
            n = int(np.sum(column == value))
            cautions.append(f"{name} {value}: no failure among {count(n, 'life')}, which say nothing here")
        sample = sample.take(np.isin(column, column[sample.lives.failed]))
    return sample


def _is(group: Words, name: str) -> Any:
    return group == name


def _unlike(pair: Sample, how: Fairly) -> tuple[str, ...]:
    return tuple(each.covariate for each in _unfair(pair, how) if not each.held_equal)


def _differs(
    found: Comparison, adjusted: Adjusted | None, unlike: Callable[[str, str], tuple[str, ...]]
) -> tuple[Differs, ...]:
    """Pairs told apart, the surest first."""
    level = 1 - found.conf
    told = [pair for pair in found.pairs if pair.p_holm is not None and pair.p_holm < level]
    told.sort(key=lambda pair: pair.verdict.p if pair.verdict else 1.0)
    again = {(each.a, each.b): each for each in (adjusted.pairs if adjusted else ())}
    verdicts = []
    for pair in told:
        assert pair.test is not None
        # More failures of the first than expected: it fails sooner.
        longer, shorter = (pair.b, pair.a) if pair.test.score > 0 else (pair.a, pair.b)
        too = None
        if adjusted is not None:
            other = again.get((pair.a, pair.b))
            too = (
                other is not None
                and other.p < level
                and other.hazard_ratio.value is not None
                and (other.hazard_ratio.value > 1) == (longer == pair.a)
            )
        verdicts.append(Differs(longer, shorter, too, unlike(longer, shorter)))
    return tuple(verdicts)
