"""The plan of a trial, and a look at one that runs, on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import CANT_TELL, count, number, say, share
from maintain.render.tables import listing, table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.life_trial import LifeTrial, OwnClub, SizeAt, TrialLook


def trial(result: LifeTrial, console: Console) -> None:
    """How large it must be, what this club can do of that, the lot, when to stop, and how to judge it."""
    apart = f"{share(result.usual)} failing in {number(result.days)} days from {share(result.hoped)}"
    size = f"{result.per_group} parts of each method, about {result.failures_needed} failures in all"
    say(console, f"to tell {apart}: {size} (found {share(result.power)} of the time)", bold=True)
    if result.club is not None:
        say(console, _club_told(result.club, result), bold=True)
    say(console, "one club in one season can find only huge differences: pool seasons and clubs, or say " + CANT_TELL)
    limits = f" ({share(result.usual_lower)}–{share(result.usual_upper)})" if len(result.size_at_limits) == 2 else ""
    say(console, f"{share(result.usual)}{limits} failing by the usual method: {result.usual_from}")
    for each in result.size_at_limits:
        say(console, _size_told(each))
    if result.design_effect > 1:
        more = f"{number(result.design_effect)} times as many parts as if each failed on its own"
        together = f"{number(result.per_ship)} parts of one ship, failing together by {number(result.icc)}"
        say(console, f"{together}, take {more}; lots drawn within ships may do with fewer")
    sure = "; ".join(f"{share(each.at_most)} of {each.n}" for each in result.no_failure)
    say(console, f"no failure at all still leaves up to (95 %): {sure}")
    say(console, _shown_alone(result))
    if result.lot:
        listing(result.listing(), console)
        say(console, f"drawn within ship and zone with --lot {result.seed}; the same number draws the same lots")
        say(console, _within_told(result))
    say(console, f"from {result.start} to {result.stop}, whatever the figures say before")
    if result.look is not None:
        say(console, f"to look while it runs: {result.look}")
        say(console, f"when it is over: {result.analysis}")
    for note in result.notes:
        say(console, note)


def _size_told(at: SizeAt) -> str:
    if at.per_group is None:
        return f"were it {share(at.usual)}, then {share(at.hoped)} would be no gain"
    return f"were it {share(at.usual)}, to tell it from {share(at.hoped)} takes {at.per_group} parts of each method"


def _within_told(result: LifeTrial) -> str:
    if "ship" in result.within:
        return "ships hold both methods: they are compared within each ship" + (
            " and zone" if "zone" in result.within else ""
        )
    zones = ", within each zone" if "zone" in result.within else ""
    return (
        f"most ships hold one method only: they are compared from ship to ship{zones}, a ship's parts sharing her luck"
    )


def _club_told(club: OwnClub, result: LifeTrial) -> str:
    have = (
        f"this club has {count(club.positions, 'position')} on {count(club.ships, 'ship')}, {club.per_group} a method"
    )
    if club.per_group >= result.per_group:
        return f"{have}: enough"
    least = "no difference whatever" if club.detectable is None else f"a drop to {share(club.detectable)} or less"
    trials = f"; {club.trials} such seasons or clubs together would do" if club.trials else ""
    alone = f", and these parts alone in about {number(club.days_needed)} days" if club.days_needed else ""
    return (
        f"{have}: in one trial it would find this {share(club.chance)} of the time, and {least} with that power"
        f"{trials}{alone}"
    )


def _shown_alone(result: LifeTrial) -> str:
    """What the new method can show without another beside it."""
    takes = " or ".join(
        f"{count(each.n, 'part')} with {count(each.failures, 'failure') if each.failures else 'no failure'}"
        for each in result.to_show
    )
    return f"the new method alone, to show (95 %) that {share(result.hoped)} or fewer fail, takes {takes}"


def look(result: TrialLook, console: Console) -> None:
    """Whether to stop, and why; then how each method fared."""
    say(console, _verdict(result), bold=True)
    columns = (
        Column("method", "Method"),
        Column("n", "Parts", numeric=True),
        Column("events", "Failures", numeric=True),
        Column("expected", "Expected if alike", numeric=True),
    )
    rows = [{**vars(each), "expected": number(each.expected)} for each in result.methods]
    console.print(table(f"Fitted since {result.start}", columns, rows))
    if result.z is not None:
        within = f" within {' and '.join(result.within)}" if result.within else ""
        shared = "" if "ship" in result.within else ", ships as clusters"
        say(console, f"log-rank{within}{shared}: z {result.z:.2f}; to stop now it must pass {result.bound:.2f}")
    say(console, "the bound holds however often one looks (O'Brien and Fleming 1979); it closes in as failures come")
    for note in result.notes:
        say(console, note)


def _verdict(result: TrialLook) -> str:
    far = f"{result.failures} of {count(result.planned, 'planned failure')}"
    if result.worse is not None:
        return f"{far}: stop, {result.worse} is doing worse"
    if result.stop:
        return f"{far}: it is over and {CANT_TELL} which is worse; compare, and pool with other seasons or clubs"
    if result.z is None:
        return f"{far}: go on, {CANT_TELL}: no failure yet while both were in use"
    return f"{far}: go on, {CANT_TELL} which is worse"
