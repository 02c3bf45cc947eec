"""The verdict on our own forecasts: put in words, kept, and told where forecasts are read."""

from __future__ import annotations

import json

from maintain.records import fitted
from maintain.results.base import restored
from maintain.results.outlook import Interval
from maintain.results.trust import Backtest, Rival, Scored, Verdict
from maintain.services.kept import keep
from maintain.services.unit import Desk, reading

_QUESTION = "the verdict on most battles"


def remember(desk: Desk, answer: Backtest, *, every: bool) -> None:
    """
    Keep the verdict of a backtest whatever is recorded meanwhile, until one of as many battles.

    Of fewer battles only one of every battle by a later day, or the same, takes its place: a look at the last few says
    less than what is kept.
    """
    told = Verdict(
        believed(answer.whole, answer.believable), in_short(answer.rivals), len(answer.battles), answer.until
    )
    kept = _kept(desk)
    if kept is None or told.battles >= kept.battles or (every and told.until >= kept.until):
        keep(desk, _QUESTION, fitted.STANDING, told)


def last_verdict(desk: Desk) -> tuple[str, ...]:
    """What is kept of backtests, as one note; none if there was none."""
    told = _kept(desk)
    if told is None:
        return ()
    said = "; ".join(filter(None, (told.verdict, told.rivals)))
    return (f"checked on {told.until} against {told.battles} past battles: {said} (maintain life backtest)",)


def _kept(desk: Desk) -> Verdict | None:
    with reading(desk) as connection:
        found = fitted.read(connection, _QUESTION, fitted.STANDING)
    return None if found is None else restored(Verdict, json.loads(found))


def in_short(rivals: tuple[Rival, ...]) -> str:
    """Say which rivals the forecasts beat, without numbers."""
    told: dict[str, list[str]] = {}
    for each in rivals:
        told.setdefault(_outcome(each.log_skill), []).append(each.name)
    return "; ".join(f"{outcome} {' and '.join(names)}" for outcome, names in told.items())


def _outcome(gain: Interval | None) -> str:
    if gain is None:
        return "nothing to gain on"
    if gain.lower > 0:
        return "better than"
    return "worse than" if gain.upper < 0 else "can't tell yet whether better than"


def verdict_on(whole: Scored, believable: bool, rivals: tuple[Rival, ...]) -> str:
    """
    Say whether to believe the forecasts, and whether they beat the rivals.

    It goes by the log score: of rare failures the Brier score hardly notices whether one in a hundred or one in a
    thousand was said (Benedetti 2010, Monthly Weather Review 138, 203-211, from memory).

    Parameters
    ----------
    whole : Scored
    believable : bool
        True if what was seen lies within what the forecasts allow.
    rivals : tuple of Rival
    """
    return "; ".join((believed(whole, believable), *(_against(each) for each in rivals)))


def believed(whole: Scored, believable: bool) -> str:
    """Say whether as many failed as was said, in a line."""
    if believable:
        said = "believable"
    else:
        said = "too high: fewer fail than it says" if whole.expected > whole.seen else "too low: more fail than it says"
    return f"expected {whole.expected:.0f} failures, saw {whole.seen}: {said}"


def _against(rival: Rival) -> str:
    gain, outcome = rival.log_skill, _outcome(rival.log_skill)
    if gain is None:
        return f"{outcome} {rival.name}"
    between = f"{gain.lower:+.1%} to {gain.upper:+.1%}"
    if gain.lower <= 0 <= gain.upper:
        return f"can't tell yet whether it beats {rival.name} ({gain.value:+.1%} of its log score, {between})"
    return f"{outcome} {rival.name} by {abs(gain.value):.1%} of its log score ({between})"
