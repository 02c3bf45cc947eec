"""The same lives put to lifelines, a general library of survival analysis: does it find what we found?

What it does wrong without a word is kept from it, or told: units far from 1 stop its search early, delayed entry can
send its log-logistic astray, a risk set that empties early is refused, and its curve from intervals takes no entry.
"""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass
from typing import Any

import numpy as np

from maintain.core.curve import SurvivalCurve
from maintain.core.fit import Fit
from maintain.core.lives import Floats, Lives

LIBRARY = "lifelines"
AGREE = 1e-4  # of a parameter; what differs by more is not told to agree
LIKELIER = 1e-4  # in log-likelihood: a peak so much lower is not the peak
# lifelines' names, in the order in which it fits them, and ours.
_LAWS = {
    "weibull": ("WeibullFitter", ("scale", "shape")),
    "lognormal": ("LogNormalFitter", ("mu", "sigma")),
    "loglogistic": ("LogLogisticFitter", ("scale", "shape")),
    "exponential": ("ExponentialFitter", ("scale",)),
}
_SEARCH = {"ftol": 1e-16, "gtol": 1e-11}  # its own defaults stop at the fifth digit
_ROUNDS = 3


@dataclass(frozen=True)
class SecondOpinion:
    """
    What lifelines says of the same lives.

    Attributes
    ----------
    library, version : str
    parameters : dict of str to float
        Of its law, by our names and in our unit; of its curve, the median if it is reached. Empty without an answer.
    log_likelihood : float or None
        Of its law.
    largest_difference : float or None
        Between its answer and ours: of parameters as a share of ours (of mu, which is a log, as it is); of curves the
        largest between two shares still working.
    reason : str or None
        Why it has no answer, or why its answer is not ours; None: they agree.
    """

    library: str
    version: str
    parameters: dict[str, float]
    log_likelihood: float | None
    largest_difference: float | None
    reason: str | None

    @property
    def digits(self) -> int | None:
        """To how many digits both agree; None where they do not, or there is no answer."""
        if self.reason is not None or self.largest_difference is None:
            return None
        return int(-math.log10(max(self.largest_difference, 1e-12)))


def second_fit(lives: Lives, fitted: Fit) -> SecondOpinion:
    """
    Fit the same law to the same lives by lifelines.

    Parameters
    ----------
    lives : Lives
        As `fitted` had them: any mix of exact, censored, interval-censored and late-entered lives.
    fitted : Fit
        Our own; lifelines does not see it, and begins from a start of its own.

    Returns
    -------
    SecondOpinion

    References
    ----------
    Davidson-Pilon (2019), lifelines: survival analysis in Python, J. Open Source Software 4(40), 1317.
    """
    unit = _typical(lives)
    fitter, names = _LAWS[fitted.model]
    try:
        with _unheard():
            found = _searched(fitter, lives, unit)
    except Exception as error:  # whatever it throws at odd lives is its answer, not a fault of ours
        return _silent(f"its search found no law ({type(error).__name__})")
    values = dict(zip(names, map(float, found.params_.to_numpy()), strict=True))
    parameters = {name: _in_our_unit(name, value, unit) for name, value in values.items()}
    exact = int(np.sum(lives.failed & (lives.lower == lives.upper)))
    likelihood = float(found.log_likelihood_) - exact * math.log(unit)
    if not all(map(math.isfinite, (likelihood, *parameters.values()))):
        return _silent("its search ended in no number")
    ours = {name: each.value for name, each in fitted.parameters.items() if each.value is not None}
    gap = max(_apart(name, parameters[name], value) for name, value in ours.items())
    reason = _why_apart(gap, likelihood - fitted.log_likelihood)
    return SecondOpinion(LIBRARY, _version(), parameters, likelihood, gap, reason)


def second_curve(lives: Lives, drawn: SurvivalCurve) -> SecondOpinion:
    """
    Draw the same Kaplan-Meier curve by lifelines.

    Parameters
    ----------
    lives : Lives
        As `drawn` had them: exact or right-censored. One that enters at the very time of a failure is not watched at
        it; lifelines is told so by the next larger number.
    drawn : SurvivalCurve
        Our own.

    Returns
    -------
    SecondOpinion
        Without an answer where an early risk set emptied.
    """
    if drawn.emptied_at is not None:
        return _silent("it refuses lives of which all watched so early had failed")
    unit = _typical(lives)
    entry = np.where(lives.entry > 0, np.nextafter(lives.entry / unit, np.inf), 0.0)
    try:
        with _unheard():
            from lifelines import KaplanMeierFitter

            found = KaplanMeierFitter().fit(_ends(lives) / unit, lives.failed, entry=_if_any(entry))
            shares = found.survival_function_at_times(drawn.time / unit).to_numpy()
    except Exception as error:  # as above
        return _silent(f"it draws no curve of these ({type(error).__name__})")
    gap = float(np.max(np.abs(shares - drawn.survival), initial=0.0))
    median = float(found.median_survival_time_) * unit
    parameters = {"median": median} if math.isfinite(median) else {}
    reason = None if gap <= AGREE else f"shares still working differ by up to {gap:.2g}"
    return SecondOpinion(LIBRARY, _version(), parameters, None, gap, reason)


def no_curve_from_intervals() -> SecondOpinion:
    """Say why no curve of lifelines stands beside ours where failures are known only to intervals."""
    return _silent("its curve from intervals takes no late entry, and its search ends too early for ours to be told by")


def _searched(fitter: str, lives: Lives, unit: float) -> Any:
    """A law fitted by lifelines in units of a typical time, its search begun again where it came to rest."""
    import lifelines

    rest: dict[str, Any] = {"entry": _if_any(lives.entry / unit), "fit_options": _SEARCH}
    found = None
    for _ in range(_ROUNDS):
        begun: dict[str, Any] = {} if found is None else {"initial_point": found.params_.to_numpy()}
        one = getattr(lifelines, fitter)()
        if lives.interval_censored:
            found = one.fit_interval_censoring(_known_working(lives) / unit, lives.upper / unit, **begun, **rest)
        else:
            found = one.fit(_ends(lives) / unit, lives.failed, **begun, **rest)
    return found


def _known_working(lives: Lives) -> Floats:
    return np.maximum(lives.lower, lives.entry)


def _ends(lives: Lives) -> Floats:
    return np.where(lives.failed, lives.upper, lives.lower)


def _if_any(entry: Floats) -> Floats | None:
    return entry if entry.any() else None


def _typical(lives: Lives) -> float:
    """A time that laws of these lives are about: use for each failure, or the middle of the times seen if greater."""
    ends = _ends(lives)
    use = float(np.sum(ends - lives.entry)) / max(lives.failures, 1)
    return max(use, float(np.exp(np.mean(np.log(ends)))))


def _in_our_unit(name: str, value: float, unit: float) -> float:
    if name == "mu":
        return value + math.log(unit)
    return value * unit if name == "scale" else value


def _apart(name: str, theirs: float, ours: float) -> float:
    return abs(theirs - ours) if name == "mu" else abs(theirs / ours - 1)


def _why_apart(gap: float, higher: float) -> str | None:
    """Say what a difference comes from; `higher` is by how much its log-likelihood exceeds ours."""
    if higher < -LIKELIER:
        return f"its search stopped short of the peak: log-likelihood lower by {-higher:.2g}"
    if higher > LIKELIER:
        return f"its law is likelier than ours: log-likelihood higher by {higher:.2g}, so do not trust ours"
    return None if gap <= AGREE else f"equally likely, yet parameters differ by up to {gap:.1%}"


def _silent(reason: str) -> SecondOpinion:
    return SecondOpinion(LIBRARY, _version(), {}, None, None, reason)


def _version() -> str:
    from importlib.metadata import version

    return version(LIBRARY)


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep a library's warnings and prints from the user."""
    with warnings.catch_warnings(), np.errstate(all="ignore"), redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        yield
