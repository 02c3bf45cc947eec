"""The verdict on our own forecasts, in words."""

from __future__ import annotations

from maintain.results.trust import Rival, Scored


def verdict_on(whole: Scored, believable: bool, rivals: tuple[Rival, ...]) -> str:
    """
    Say whether to believe the forecasts, and whether they beat the rivals.

    Parameters
    ----------
    whole : Scored
    believable : bool
        True if what was seen lies within what the forecasts allow.
    rivals : tuple of Rival
    """
    if believable:
        said = "believable"
    else:
        said = "too high: fewer fail than it says" if whole.expected > whole.seen else "too low: more fail than it says"
    expected = f"expected {whole.expected:.0f} failures, saw {whole.seen}: {said}"
    return "; ".join((expected, *(_against(each) for each in rivals)))


def _against(rival: Rival) -> str:
    if rival.skill is None:
        return f"nothing to gain on {rival.name}"
    by = f"{abs(rival.skill.value):.0%}"
    if rival.skill.lower > 0:
        return f"better than {rival.name} by {by}"
    if rival.skill.upper < 0:
        return f"worse than {rival.name} by {by}"
    return f"can't tell yet whether it beats {rival.name} ({rival.skill.lower:+.0%} to {rival.skill.upper:+.0%})"
