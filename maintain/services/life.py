"""How long parts last: life curves and fitted laws of a sample, group by group."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import found_late_caution, observed, when_found
from maintain.core.bounds import exponential_bound, total_use
from maintain.core.curve import condition_on, survival_curve
from maintain.core.estimate import Estimate, two_sided_z
from maintain.core.fit import Fit, fit_best
from maintain.core.fit import fit as fit_law
from maintain.core.interval_limits import DRAWS, Resampling, interval_limits
from maintain.core.lives import Floats, Lives
from maintain.core.shape import hazard_verdict
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.results.life import (
    Candidate,
    Figure,
    FittedAt,
    GroupCurve,
    GroupFit,
    LifeCurves,
    LifeFits,
    Parameter,
    RestrictedMean,
    SurvivalAt,
)
from maintain.services.lives.samples import Sample

BEST = "best"
SEED = 1  # the same lives always have the same limits
MOST_DRAWN = 2000  # to draw more lives than this again and again takes longer than anybody waits
MOST_TO_TELL = 1000  # beyond as many failures no club will ever tell
MOST_READINGS = 6

CLUSTERED = (
    "limits take every life on its own; parts of one ship share her sinkings, so the truth is less sure than this"
)


@dataclass(frozen=True)
class Question:
    """
    What is asked of a sample.

    Attributes
    ----------
    at : tuple of float
        Times to read at; none: round times over the whole range. The last of them limits the restricted mean, which
        else goes as far as every group was watched.
    conf : float
        Confidence of all intervals.
    given : float, optional
        An age: answer for the parts that worked then.
    """

    at: tuple[float, ...] = ()
    conf: float = 0.95
    given: float | None = None

    def check(self) -> None:
        """Refuse times that are no times."""
        two_sided_z(self.conf)
        for name, times in (("--at", self.at), ("--given", () if self.given is None else (self.given,))):
            if not all(math.isfinite(time) and time >= 0 for time in times):
                raise InvalidRecord(f"{name} takes times of 0 or more", hint="write for example: --at 100,200,365")


def curve(sample: Sample, question: Question) -> LifeCurves:
    """Draw the life curve of every group."""
    question.check()
    groups = sample.groups()
    ends = [_longest(one.lives) for one in groups.values()]
    times = np.array(question.at or round_times(max(ends)))
    tau = min((*ends, max(question.at)) if question.at and max(question.at) > 0 else ends)
    drawn, notes = [], []
    for name, one in groups.items():
        found, said = _curve_of(name, one, _Reading(times, tau, question))
        drawn.append(found)
        notes += [f"{name}: {line}" if sample.by else line for line in said]
    return LifeCurves(sample.source(question.conf, notes), tuple(drawn))


@dataclass(frozen=True)
class _Reading:
    times: Floats
    tau: float
    question: Question


def _curve_of(name: str, one: Sample, reading: _Reading) -> tuple[GroupCurve, list[str]]:
    lives, notes = one.lives, []
    if reading.question.given is not None:
        lives = condition_on(lives, reading.question.given)
    if lives.interval_censored and np.any(lives.entry > 0):
        notes, lives = found_late_caution(lives), when_found(lives)
    if lives.interval_censored:
        return _interval_curve_of(name, one, reading)
    drawn = survival_curve(lives, reading.question.conf)
    points = drawn.survival_at(reading.times)
    mean = drawn.restricted_mean(reading.tau)
    if not mean.se:  # nothing failed before the limit: no spread to make limits from, which is not to be sure
        mean = Estimate(mean.value, None, None)
    if drawn.emptied_at is not None:
        notes.append(
            f"all that were watched at {drawn.emptied_at:g} failed then, though others were seen later: from there the "
            "curve says nothing; ask for the parts that worked at a later age with --given"
        )
    at = zip(points.time, points.survival, points.lower, points.upper, points.at_risk, strict=True)
    return (
        GroupCurve(
            name,
            lives.n,
            lives.failures,
            _figure(drawn.median),
            tuple(SurvivalAt(float(t), _told(s), _told(low), _told(high), int(n)) for t, s, low, high, n in at),
            RestrictedMean(reading.tau, mean.value, mean.lower, mean.upper),
        ),
        notes,
    )


def _interval_curve_of(name: str, one: Sample, reading: _Reading) -> tuple[GroupCurve, list[str]]:
    lives, few = one.lives, one.lives.n <= MOST_DRAWN
    clusters = None if one.cluster is None else np.unique(one.cluster.astype(str), return_inverse=True)[1]
    how = Resampling(np.random.default_rng(SEED), clusters, DRAWS if few else 0)
    found = interval_limits(lives, reading.times, reading.tau, how, reading.question.conf)
    at_risk = observed(lives).at_risk(reading.times)
    at = zip(reading.times.tolist(), found.survival, at_risk, strict=True)
    mean = found.restricted_mean
    within = int(np.sum(lives.failed & (lives.lower < lives.upper)))
    notes = [f"{within} of {lives.failures} failures are known only to an interval: the curve allows for that"]
    if not few:
        notes.append(f"no limits: drawing more than {MOST_DRAWN} such lives again and again takes too long")
    return (
        GroupCurve(
            name,
            lives.n,
            lives.failures,
            _figure(found.median),
            tuple(SurvivalAt(t, s.value, s.lower, s.upper, int(n)) for t, s, n in at),
            RestrictedMean(reading.tau, mean.value, mean.lower, mean.upper),
        ),
        notes,
    )


def fit(sample: Sample, model: str, question: Question) -> LifeFits:
    """
    Fit a law of life to every group.

    Parameters
    ----------
    sample : Sample
    model : str
        A name in core.models.MODELS, or "best": that with the least AICc.
    question : Question

    Raises
    ------
    NotEnoughData
        If no group settles a law; where some do, the others have None and the reason.
    """
    question.check()
    groups = sample.groups()
    times = np.array(question.at or round_times(max(_longest(one.lives) for one in groups.values())))
    found = tuple(_fit_of(name, one.lives, model, times, question) for name, one in groups.items())
    if all(each.model is None for each in found):
        raise _refusal(found, sample, question)
    notes = [CLUSTERED] if sample.cluster is not None and np.unique(sample.cluster.astype(str)).size > 1 else []
    return LifeFits(sample.source(question.conf, notes), found, question.given)


def _fit_of(name: str, lives: Lives, model: str, times: Floats, question: Question) -> GroupFit:
    try:
        fitted, tried = _fitted(lives, model, question.conf)
    except NotEnoughData as error:
        bound = exponential_bound(lives, question.conf) if total_use(lives) > 0 else None
        return GroupFit(name, lives.n, lives.failures, reason=error.message, mean_at_least=bound)
    parameters = {key: Parameter(e.value, e.lower, e.upper, e.se) for key, e in fitted.parameters.items()}
    verdict, needed = _verdict(fitted)
    return GroupFit(
        group=name,
        n=lives.n,
        events=lives.failures,
        model=fitted.model,
        parameters=parameters,
        log_likelihood=fitted.log_likelihood,
        aicc=fitted.aicc,
        mean=_figure(fitted.mean),
        median=_figure(fitted.median),
        b10=_figure(fitted.b10),
        candidates=tuple(Candidate(each.model, each.log_likelihood, each.aicc) for each in tried),
        at=_fitted_at(fitted, times, question.given),
        verdict=verdict,
        failures_to_tell=needed,
    )


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
    return tuple(FittedAt(*row, Figure(*figure)) for row, figure in zip(shares, still, strict=True))


def _verdict(fitted: Fit) -> tuple[str | None, int | None]:
    """What a Weibull shape says of ageing, and where it says nothing yet, at how many failures it would."""
    shape = fitted.parameters.get("shape") if fitted.model == "weibull" else None
    if shape is None or not (shape.value and shape.lower and shape.upper):
        return None, None
    verdict = hazard_verdict(shape.lower, shape.upper)
    if verdict != "can't tell yet" or shape.value == 1:
        return verdict, None
    # The limits of the log shape close in with the square root of the failures.
    half, distance = math.log(shape.upper / shape.lower) / 2, abs(math.log(shape.value))
    needed = math.ceil(fitted.failures * (half / distance) ** 2)
    return verdict, needed if needed <= MOST_TO_TELL else None


def _refusal(found: tuple[GroupFit, ...], sample: Sample, question: Question) -> NotEnoughData:
    bounds = [each.mean_at_least for each in found if each.mean_at_least is not None]
    hint = "maintain life curve answers all the same"
    if len(found) == 1 and bounds:
        share = f"{question.conf:.0%}"
        hint += f"; mean life at least {bounds[0]:.4g} {sample.clock} ({share}) if failures come at a steady rate"
    reasons = [f"{each.group}: {each.reason}" if sample.by else str(each.reason) for each in found]
    return NotEnoughData("; ".join(reasons), hint=hint, mean_at_least=bounds[0] if len(found) == 1 and bounds else None)


def round_times(longest: float) -> tuple[float, ...]:
    """
    Return some round times up to the longest.

    Examples
    --------
    >>> round_times(730)
    (200.0, 400.0, 600.0)
    """
    unit = 10.0 ** math.floor(math.log10(longest / MOST_READINGS))
    step = next(unit * by for by in (1, 2, 5, 10) if longest <= unit * by * MOST_READINGS)
    return tuple(float(step * count) for count in range(1, math.floor(longest / step) + 1))


def _longest(lives: Lives) -> float:
    return float(np.where(lives.failed, lives.upper, lives.lower).max())


def _figure(found: Estimate) -> Figure:
    return Figure(found.value, found.lower, found.upper)


def _told(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
