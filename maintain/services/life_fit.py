"""How long parts last by a law of life, group by group: the fit, how sure it is, and what can be said without one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.bootstrap import refits
from maintain.core.bounds import exponential_bound, total_use
from maintain.core.estimate import Estimate
from maintain.core.fit import Fit, fit_best
from maintain.core.fit import fit as fit_law
from maintain.core.lives import Floats, Lives
from maintain.core.posterior import Prior
from maintain.core.sample_size import failures_to_tell
from maintain.core.second_opinion import second_fit
from maintain.core.shape import hazard_verdict, profile_limits
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import (
    Bootstrap,
    Candidate,
    Figure,
    FittedAt,
    GroupFit,
    LifeFits,
    NoneFailed,
    Parameter,
    Posterior,
)
from maintain.services.life import Question, longest
from maintain.services.life_few import FEW, posterior_of
from maintain.services.life_pictures import drawn_paper, round_times
from maintain.services.life_reading import SEED, figure, opinion
from maintain.services.lives.samples import Sample

BEST = "best"
CANT_TELL = "can't tell yet"
MOST_DRAWS = 100_000

TOO_NARROW = f"these limits are too narrow with fewer than {FEW} failures"
PERHAPS_NO_MEAN = "the mean has no limits: its shape may be 1 or less, and such a law has no mean"
CLUSTERED = (
    "limits take every life on its own; parts of one ship share her sinkings, so the truth is less sure than this: "
    "--bootstrap 1000 draws whole ships"
)


@dataclass(frozen=True)
class Wish:
    """
    How a law is to be fitted.

    Attributes
    ----------
    model : str
        A name in core.models.MODELS, or "best": that with the least AICc.
    posterior : bool, optional
        Whether to say what the lives say beside a prior; None: where failures are few.
    prior : Prior, optional
        Default: that of docs/posterior.md.
    draws : int
        How often to draw the lives again for limits; 0: not at all.
    second_opinion : bool
        Whether to put the same lives to another library.
    """

    model: str = "weibull"
    posterior: bool | None = None
    prior: Prior | None = None
    draws: int = 0
    second_opinion: bool = False

    def check(self) -> None:
        """Refuse draws without end."""
        if not 0 <= self.draws <= MOST_DRAWS:
            raise InvalidRecord(f"--bootstrap takes up to {MOST_DRAWS:,} draws", hint="a thousand are plenty")


def fit(sample: Sample, wish: Wish, question: Question) -> LifeFits:
    """
    Fit a law of life to every group.

    A group that settles no law has None and the reason, and what can be said all the same: a bound, or a posterior.

    Raises
    ------
    NotEnoughData
        If nothing can be said of any group.
    """
    question.check()
    wish.check()
    groups = sample.groups()
    start, end = max(question.given or 0.0, float(sample.lives.entry.min())), longest(sample.lives)
    times = np.array(question.at or round_times(end, start if start < end else 0.0))
    found = tuple(_fit_of(name, one, sample, wish, _Reading(times, question)) for name, one in groups.items())
    if all(each.model is None and each.posterior is None and each.none_failed is None for each in found):
        raise _refusal(found, sample, question)
    return LifeFits(
        sample.source(question.conf, _notes(found, sample, wish)),
        found,
        question.given,
        _limits_told(found, question.given),
    )


@dataclass(frozen=True)
class _Reading:
    times: Floats
    question: Question


def _fit_of(name: str, one: Sample, sample: Sample, wish: Wish, reading: _Reading) -> GroupFit:
    lives, conf = one.lives, reading.question.conf
    try:
        fitted, tried = _fitted(lives, wish.model, conf)
    except NotEnoughData as error:
        return _unsettled(name, one, sample, wish, reading, error.message)
    parameters = {key: Parameter(e.value, e.lower, e.upper, e.se) for key, e in fitted.parameters.items()}
    ratio = _shape_by_likelihood(lives, fitted)
    posterior = posterior_of(one, sample, wish.prior, settled=True) if _leans(one, wish) else None
    verdict, needed = _verdict(fitted, ratio, posterior)
    return GroupFit(
        group=name,
        n=one.n,
        events=lives.failures,
        model=fitted.model,
        parameters=parameters,
        log_likelihood=fitted.log_likelihood,
        aicc=fitted.aicc,
        mean=_mean(fitted, fitted.mean),
        median=figure(fitted.median),
        b10=figure(fitted.b10),
        candidates=tuple(Candidate(each.model, each.log_likelihood, each.aicc) for each in tried),
        at=_fitted_at(fitted, reading.times, reading.question.given),
        verdict=verdict,
        failures_to_tell=needed,
        shape_by_likelihood=ratio,
        bootstrap=_bootstrap(one, fitted, wish.draws) if wish.draws else None,
        posterior=posterior,
        caution=_caution(fitted),
        second_opinion=opinion(second_fit(lives, fitted)) if wish.second_opinion else None,
        drawn=drawn_paper(lives, fitted),
    )


def _unsettled(name: str, one: Sample, sample: Sample, wish: Wish, reading: _Reading, reason: str) -> GroupFit:
    """What can be said of a group that settles no law."""
    lives = one.lives
    bound = exponential_bound(lives, reading.question.conf) if total_use(lives) > 0 else None
    return GroupFit(
        name,
        one.n,
        lives.failures,
        reason=reason,
        mean_at_least=bound,
        posterior=posterior_of(one, sample, wish.prior, settled=False) if _leans(one, wish) else None,
        none_failed=NoneFailed(total_use(lives), bound) if bound is not None and lives.failures == 0 else None,
    )


def _leans(one: Sample, wish: Wish) -> bool:
    """Tell whether to weigh these lives against a prior: as asked, else where failures are few but there are some."""
    if wish.posterior is not None:
        return wish.posterior
    few = one.lives.failures < FEW and (one.lives.failures > 0 or one.others is not None)
    return few or wish.prior is not None


def _fitted(lives: Lives, model: str, conf: float) -> tuple[Fit, tuple[Fit, ...]]:
    """The law asked for, and all that were tried, best first."""
    if model == BEST:
        tried = fit_best(lives, conf)
        return tried[0], tried
    chosen = fit_law(lives, model, conf)
    return chosen, fit_best(lives, conf)


def _fitted_at(fitted: Fit, times: Floats, given: float | None) -> tuple[FittedAt, ...]:
    band = fitted.survival_at(times)
    shares = list(zip(times.tolist(), band.value.tolist(), band.lower.tolist(), band.upper.tolist(), strict=True))
    if given is None:
        return tuple(FittedAt(*row, None) for row in shares)
    failing = fitted.conditional_failure(given, np.maximum(times - given, 0.0))
    still = zip((1 - failing.value).tolist(), (1 - failing.upper).tolist(), (1 - failing.lower).tolist(), strict=True)
    return tuple(FittedAt(*row, Figure(*each)) for row, each in zip(shares, still, strict=True))


def _shape_by_likelihood(lives: Lives, fitted: Fit) -> Figure | None:
    """Likelihood-ratio limits: they hold better than Wald's where failures are few."""
    if fitted.free < 2:
        return None
    name = "sigma" if fitted.model == "lognormal" else "shape"
    return Figure(fitted.parameters[name].value, *profile_limits(lives, fitted))


def _bootstrap(one: Sample, fitted: Fit, draws: int) -> Bootstrap:
    found = refits(one.lives, fitted, np.random.default_rng(SEED), draws, one.cluster_codes())
    name = "sigma" if fitted.model == "lognormal" else "shape"
    shape = fitted.parameters.get(name)
    return Bootstrap(
        draws=found.draws,
        settled=found.settled,
        clusters=found.clusters,
        shape=None if shape is None else _with_limits(shape, found.shape(fitted.conf)),
        mean=_mean(fitted, found.mean(fitted.conf)),
        median=_with_limits(fitted.median, found.quantile(0.5, fitted.conf)),
        b10=_with_limits(fitted.b10, found.quantile(0.1, fitted.conf)),
    )


def _with_limits(estimate: Estimate, limits: Estimate) -> Figure:
    return Figure(estimate.value, limits.lower, limits.upper)


def _mean(fitted: Fit, limits: Estimate) -> Figure:
    """The mean, without limits where the law may have none."""
    return Figure(fitted.mean.value, None, None) if _may_lack_mean(fitted) else _with_limits(fitted.mean, limits)


def _may_lack_mean(fitted: Fit) -> bool:
    """Tell whether the shape of a log-logistic may be 1 or less: its mean is then infinite."""
    shape = fitted.parameters.get("shape")
    return fitted.model == "loglogistic" and (shape is None or shape.lower is None or shape.lower <= 1)


def _caution(fitted: Fit) -> str | None:
    said = [TOO_NARROW] if fitted.failures < FEW else []
    if _may_lack_mean(fitted):
        said.append(PERHAPS_NO_MEAN)
    return "; ".join(said) or None


def _limits_told(found: tuple[GroupFit, ...], given: float | None) -> str:
    """How the limits of these laws were made."""
    laws = {each.model for each in found}
    scales = ["shares on the log(-log) scale"]
    if given is not None:
        scales.append("those of the parts that worked at an age on the logit scale")
    if "lognormal" in laws:
        scales.append("mu plainly")
    bends = "sigma" if laws <= {"lognormal", None} else "the shape"
    ratio = any(each.shape_by_likelihood is not None for each in found)
    beside = f", and beside them likelihood-ratio limits of {bends}" if ratio else ""
    return f"Wald limits made on the log scale ({', '.join(scales)}){beside}"


def _verdict(fitted: Fit, ratio: Figure | None, posterior: Posterior | None) -> tuple[str | None, int | None]:
    """
    What a Weibull shape says of ageing, and where it says nothing yet, at how many failures it would.

    Few failures make Wald's limits too narrow: then all ways of making them must say the same.
    """
    shape = fitted.parameters.get("shape") if fitted.model == "weibull" else None
    if shape is None or not (shape.value and shape.lower and shape.upper):
        return None, None
    verdict = hazard_verdict(shape.lower, shape.upper)
    if verdict == CANT_TELL:
        return verdict, failures_to_tell(shape, fitted.failures, fitted.conf)
    if fitted.failures >= FEW:
        return verdict, None
    others = [] if ratio is None else [hazard_verdict(ratio.lower, ratio.upper)]
    others += [] if posterior is None or posterior.verdict is None else [posterior.verdict]
    return (verdict if all(other == verdict for other in others) else CANT_TELL), None


def _notes(found: tuple[GroupFit, ...], sample: Sample, wish: Wish) -> list[str]:
    """Cautions: lives that share their luck, draws that settle nothing, paper that places intervals at their middle."""
    notes = []
    known = [each for each in found if each.model is not None]
    shared = sample.cluster is not None and np.unique(sample.cluster.astype(str)).size > 1
    if known and shared and not wish.draws:
        notes.append(CLUSTERED)
    for each in known:
        label = f"{each.group}: " if sample.by else ""
        if each.bootstrap is not None and each.bootstrap.settled < each.bootstrap.draws:
            lost = each.bootstrap.draws - each.bootstrap.settled
            notes.append(f"{label}{lost} of {each.bootstrap.draws} draws settle no law and are left out of its limits")
    if any(each.posterior is not None and each.events < FEW for each in found):
        notes.append("so few failures lean on what was believed before; docs/posterior.md says how far to trust that")
    return notes


def _refusal(found: tuple[GroupFit, ...], sample: Sample, question: Question) -> NotEnoughData:
    bounds = [each.mean_at_least for each in found if each.mean_at_least is not None]
    hint = "maintain life curve answers all the same"
    if len(found) == 1 and bounds:
        share = f"{question.conf:.0%}"
        hint += f"; mean life at least {bounds[0]:.4g} {sample.clock} ({share}) if failures come at a steady rate"
    reasons = [f"{each.group}: {each.reason}" if sample.by else str(each.reason) for each in found]
    return NotEnoughData("; ".join(reasons), hint=hint, mean_at_least=bounds[0] if len(found) == 1 and bounds else None)
