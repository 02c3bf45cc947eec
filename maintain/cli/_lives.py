"""Which lives a command is about: the options that all `maintain life` commands share, made into one sample."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

import typer

from maintain import vocabulary
from maintain.cli._options import ShipFilter, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

_By = typer.Option(
    "--by",
    metavar="LABEL|COL",
    help="Group by a column of the file, or by category, family, model, batch, waterproofing, zone, system, position, "
    "ship or water of the records.",
)
_Event = typer.Option(
    "--event", metavar="COL", help="Column: 1/0, true/false, yes/no, failed/censored; without it all failed."
)
_Upper = typer.Option("--upper", metavar="COL", help="Column: use when found failed; blank or inf: not yet.")
_Method = typer.Option("--method", help="Only parts first fitted with this waterproofing ('none recorded' too).")

# Options that name columns of a file, and those that choose among the records; by the names the services know them by.
_COLUMNS: dict[str, Any] = {
    "time": Annotated[
        str | None, typer.Option("--time", metavar="COL", help="Column: use when it failed or was last seen.")
    ],
    "entry": Annotated[str | None, typer.Option("--entry", metavar="COL", help="Column: use when first observed.")],
    "event": Annotated[str | None, _Event],
    "lower": Annotated[str | None, typer.Option("--lower", metavar="COL", help="Column: use when last known to work.")],
    "upper": Annotated[str | None, _Upper],
    "by": Annotated[str | None, _By],
}
_ONLY: dict[str, Any] = {
    "family": Annotated[str | None, typer.Option("--family", help="Only this family.")],
    "category": Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)],
    "zone": Annotated[str | None, choice_option("Only parts in this zone", vocabulary.ZONES)],
    "waterproofing": Annotated[str | None, _Method],
    "ship": ShipFilter,
}
_SHARED: dict[str, Any] = {
    "file": Annotated[
        str | None, typer.Option("--csv", metavar="FILE", help="Lives of this file instead of the records.")
    ],
    **_COLUMNS,
    "clock": Annotated[str | None, choice_option("The measure of use, by default days", vocabulary.CLOCKS)],
    **_ONLY,
}


def of_lives(function: Callable[..., Result]) -> Callable[..., Result]:
    """Give a command, after its desk, the sample that the shared options choose; its own options follow."""

    @functools.wraps(function)
    def run(desk: Desk, **given: Any) -> Result:
        chosen = {name: given.pop(name) for name in _SHARED}
        return function(desk, _sample(desk, chosen), **given)

    first, _, *own = inspect.signature(function).parameters.values()
    keyword = inspect.Parameter.KEYWORD_ONLY
    shared = [inspect.Parameter(name, keyword, default=None, annotation=_SHARED[name]) for name in _SHARED]
    run.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [first, *shared, *(each.replace(kind=keyword) for each in own)]
    )
    run.__annotations__ = {first.name: first.annotation, **_SHARED, **{each.name: each.annotation for each in own}}
    return run


def _sample(desk: Desk, chosen: dict[str, str | None]) -> Sample:
    from maintain.services.lives import samples

    columns = {name: chosen[name] for name in _COLUMNS}
    wanted = samples.Wanted(chosen["clock"], {name: chosen[name] for name in _ONLY})
    return samples.sample(desk, file=chosen["file"], columns=columns, wanted=wanted)
