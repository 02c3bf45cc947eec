"""The verdict on our own forecasts: put in words, kept, and told where forecasts are read."""

from __future__ import annotations

import json

from maintain.records import fitted
from maintain.results.base import restored
from maintain.results.trust import Backtest, Rival, Scored, Verdict
from maintain.services.kept import keep
from maintain.services.unit import Desk, reading

_QUESTION = "the last verdict"


def remember(desk: Desk, answer: Backtest) -> None:
    """Keep the verdict of a backtest until the next one, whatever is recorded meanwhile."""
    keep(
        desk,
        _QUESTION,
        fitted.STANDING,
        Verdict(believed(answer.whole, answer.believable), len(answer.battles), answer.until),
    )


def last_verdict(desk: Desk) -> tuple[str, ...]:
    """What the last backtest said, as one note; none if there was none."""
    with reading(desk) as connection:
        found = fitted.read(connection, _QUESTION, fitted.STANDING)
    if found is None:
        return ()
    told = restored(Verdict, json.loads(found))
    return (f"checked on {told.until} against {told.battles} past battles: {told.verdict} (maintain life backtest)",)


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
    gain = rival.log_skill
    if gain is None:
        return f"nothing to gain on {rival.name}"
    between = f"{gain.lower:+.1%} to {gain.upper:+.1%}"
    if gain.lower > 0:
        return f"better than {rival.name} by {gain.value:.1%} of its log score ({between})"
    if gain.upper < 0:
        return f"worse than {rival.name} by {-gain.value:.1%} of its log score ({between})"
    return f"can't tell yet whether it beats {rival.name} ({gain.value:+.1%} of its log score, {between})"
