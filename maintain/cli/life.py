"""maintain life ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads
from maintain.cli._options import ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.life_samples import Sample
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="How long parts last: life curves and fitted laws.")

MODELS = ("weibull", "lognormal", "loglogistic", "exponential", "best")

File = Annotated[str | None, typer.Option("--csv", metavar="FILE", help="Lives of this file instead of the records.")]
Time = Annotated[str | None, typer.Option("--time", metavar="COL", help="Column: use at failure or when last seen.")]
Entry = Annotated[str | None, typer.Option("--entry", metavar="COL", help="Column: use when first observed.")]
Event = Annotated[
    str | None,
    typer.Option("--event", metavar="COL", help="Column: 1/0, true/false, yes/no, failed/censored (none: all failed)."),
]
Lower = Annotated[str | None, typer.Option("--lower", metavar="COL", help="Column: use when last known to work.")]
Upper = Annotated[
    str | None, typer.Option("--upper", metavar="COL", help="Column: use when found failed; blank or inf: not yet.")
]
By = Annotated[
    str | None,
    typer.Option(
        "--by",
        metavar="LABEL|COL",
        help="Group by a column of the file, or by category, family, model, batch, waterproofing, zone, system, "
        "position, ship or water of the records.",
    ),
]
Clock = Annotated[str | None, choice_option("The measure of use, by default days", vocabulary.CLOCKS)]
Family = Annotated[str | None, typer.Option("--family", help="Only this family.")]
Category = Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)]
Zone = Annotated[str | None, choice_option("Only parts in this zone", vocabulary.ZONES)]
Method = Annotated[
    str | None, typer.Option("--method", help="Only parts first fitted with this waterproofing ('none recorded' too).")
]
At = Annotated[str | None, typer.Option("--at", metavar="T1,T2", help="Read the answer at these times.")]
Conf = Annotated[float, typer.Option("--conf", help="Confidence of all intervals.")]
Given = Annotated[float | None, typer.Option("--given", metavar="AGE", help="For parts that worked at this age.")]


@reads(app, table=False)
def curve(
    desk: Desk,
    file: File = None,
    time: Time = None,
    entry: Entry = None,
    event: Event = None,
    lower: Lower = None,
    upper: Upper = None,
    by: By = None,
    clock: Clock = None,
    family: Family = None,
    category: Category = None,
    zone: Zone = None,
    method: Method = None,
    ship: ShipFilter = None,
    at: At = None,
    conf: Conf = 0.95,
    given: Given = None,
) -> Result:
    """Show the share still working against use, without a law: Kaplan-Meier, or Turnbull from intervals."""
    from maintain.services import life

    columns = {"time": time, "entry": entry, "event": event, "lower": lower, "upper": upper, "by": by}
    only = {"family": family, "category": category, "zone": zone, "waterproofing": method, "ship": ship}
    return life.curve(_sample(desk, file, columns, clock, only), life.Question(_times(at), conf, given))


@reads(app, table=False)
def fit(
    desk: Desk,
    file: File = None,
    time: Time = None,
    entry: Entry = None,
    event: Event = None,
    lower: Lower = None,
    upper: Upper = None,
    by: By = None,
    clock: Clock = None,
    family: Family = None,
    category: Category = None,
    zone: Zone = None,
    method: Method = None,
    ship: ShipFilter = None,
    model: Annotated[str, choice_option("The law, or the best of them by AICc", MODELS)] = "weibull",
    at: At = None,
    conf: Conf = 0.95,
    given: Given = None,
) -> Result:
    """Fit a law of life: mean, median, age by which a tenth have failed, and whether they wear out."""
    from maintain.services import life

    columns = {"time": time, "entry": entry, "event": event, "lower": lower, "upper": upper, "by": by}
    only = {"family": family, "category": category, "zone": zone, "waterproofing": method, "ship": ship}
    return life.fit(_sample(desk, file, columns, clock, only), model, life.Question(_times(at), conf, given))


def _sample(
    desk: Desk, file: str | None, columns: dict[str, str | None], clock: str | None, only: dict[str, str | None]
) -> Sample:
    from maintain.services import life_samples

    return life_samples.sample(desk, file=file, columns=columns, wanted=life_samples.Wanted(clock, only))


def _times(text: str | None) -> tuple[float, ...]:
    """Read T1,T2."""
    try:
        return tuple(float(each) for each in text.split(",")) if text else ()
    except ValueError:
        raise typer.BadParameter("write times as numbers with commas: --at 100,200", param_hint="--at") from None
