"""maintain life trial"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._lives import Conf, names
from maintain.cli._options import choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

_Methods = typer.Option("--methods", metavar="A,B", help="The methods on trial, the usual one first.")
_Usual = typer.Option(
    "--usual", metavar="SHARE", help="Share failing in that time by the usual method; else as the records have it."
)
_Hoped = typer.Option(
    "--hoped", metavar="SHARE", help="Share by the new method that would be worth having; else half of the usual."
)
_PerShip = typer.Option(
    "--per-ship", metavar="N", help="Parts on trial on one ship; else as the club has them.", min=1.0
)
_Icc = typer.Option("--icc", metavar="0..1", help="How much parts of one ship fail together.")
_Failures = typer.Option("--failures", metavar="N", help="With --check: the failures planned.")


def trial(
    desk: Desk,
    family: Annotated[str | None, typer.Option("--family", help="The family of parts to be tried.")] = None,
    zone: Annotated[str | None, choice_option("Only positions in this zone", vocabulary.ZONES)] = None,
    methods: Annotated[str | None, _Methods] = None,
    usual: Annotated[float | None, _Usual] = None,
    hoped: Annotated[float | None, _Hoped] = None,
    days: Annotated[int, typer.Option("--days", help="Length of the trial in days.")] = 365,
    start: Annotated[str | None, typer.Option("--start", metavar="DATE", help="First day (default: today).")] = None,
    per_ship: Annotated[float | None, _PerShip] = None,
    icc: Annotated[float, _Icc] = 0.1,
    power: Annotated[float, typer.Option("--power", help="Chance of finding the difference.")] = 0.8,
    conf: Conf = 0.95,
    lot: Annotated[int, typer.Option("--lot", metavar="N", help="Seed of the lot: the same one draws the same.")] = 1,
    check: Annotated[bool, typer.Option("--check", help="Look at a running trial: is it time to stop?")] = False,
    failures: Annotated[int, _Failures] = 0,
) -> Result:
    """Plan a fair trial of waterproofing methods, draw its lots, or look at one that runs; nothing is recorded."""
    from maintain.services import life_trial, life_trial_look

    place = life_trial.Place(family, zone, day(desk, start, "--start") or desk.today, days, per_ship, icc)
    if check:
        return life_trial_look.look(desk, place, names(methods), failures)
    return life_trial.plan(desk, life_trial.Difference(usual, hoped, power, conf), place, names(methods), lot)
