"""Which lives a command is about: the options that all `maintain life` commands share, made into one sample."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from maintain import vocabulary
from maintain.cli._options import ShipFilter, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk

Answer = TypeVar("Answer", bound="Result")

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
_Cluster = typer.Option(
    "--cluster", metavar="LABEL|COL", help="Lives alike in this share their luck; of the records, by default the ship."
)
_Cause = typer.Option(
    "--cause", metavar="COL", help="Column: what it failed by; blank, 0, none or censored: it did not fail."
)
_Part = typer.Option(
    "--id", metavar="COL", help="Column: whose life a row is part of; one life may take several rows, none twice."
)
_Covariates = typer.Option(
    "--covariates", metavar="A,B", help="Labels or columns whose effect is asked, the others held equal."
)
_Adjust = typer.Option("--adjust", metavar="A,B", help="Compare with these labels or columns held equal.")
_Strata = typer.Option(
    "--strata", metavar="A,B", help="Compare only within lives alike in these labels or columns, never between."
)

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
    "cluster": Annotated[str | None, _Cluster],
    "part": Annotated[str | None, _Part],
}
# What only some of these commands ask besides; the first names one column of a file, the others as many as wanted.
_SINGLE: dict[str, Any] = {"cause": Annotated[str | None, _Cause]}
_SEVERAL: dict[str, Any] = {
    "covariates": Annotated[str | None, _Covariates],
    "adjust": Annotated[str | None, _Adjust],
    "strata": Annotated[str | None, _Strata],
}
_ONLY: dict[str, Any] = {
    "family": Annotated[str | None, typer.Option("--family", help="Only this family.")],
    "category": Annotated[str | None, choice_option("Only this kind of part", vocabulary.CATEGORIES)],
    "zone": Annotated[str | None, choice_option("Only parts in this zone", vocabulary.ZONES)],
    "waterproofing": Annotated[str | None, _Method],
    "ship": ShipFilter,
}
Since = Annotated[
    str | None,
    typer.Option("--since", metavar="DATE", help="Watch only from this day on; what is older enters at its age then."),
]
_FittedSince = typer.Option(
    "--fitted-since", metavar="DATE", help="Only parts first fitted on or after this day, as those of a trial are."
)
_FROM: dict[str, Any] = {"since": Since, "fitted_since": Annotated[str | None, _FittedSince]}
_SHARED: dict[str, Any] = {
    "file": Annotated[
        str | None, typer.Option("--csv", metavar="FILE", help="Lives of this file instead of the records.")
    ],
    **_COLUMNS,
    "clock": Annotated[str | None, choice_option("The measure of use, by default days", vocabulary.CLOCKS)],
    **_ONLY,
    **_FROM,
}

At = Annotated[str | None, typer.Option("--at", metavar="T1,T2", help="Read the answer at these times.")]
Conf = Annotated[float, typer.Option("--conf", help="Confidence of all intervals.")]


def of_lives(function: Callable[..., Answer]) -> Callable[..., Answer]:
    """Give a command, after its desk, the sample that the shared options choose; its own options follow."""
    return lives_with()(function)


def lives_with(*also: str) -> Callable[[Callable[..., Answer]], Callable[..., Answer]]:
    """
    Give a command the sample, with what it asks of it besides.

    Parameters
    ----------
    *also : str
        "cause": a column that the sample takes in. "covariates", "adjust", "strata": names of columns or labels;
        the sample takes them in, and the command gets them as a tuple of that name.
    """
    single = {name: _SINGLE[name] for name in also if name in _SINGLE}
    several = {name: _SEVERAL[name] for name in also if name in _SEVERAL}
    options = {**_SHARED, **single, **several}

    def decorate(function: Callable[..., Answer]) -> Callable[..., Answer]:
        @functools.wraps(function)
        def run(desk: Desk, **given: Any) -> Answer:
            chosen = {name: given.pop(name) for name in (*_SHARED, *single)}
            named = {name: names(given.pop(name)) for name in several}
            further = tuple(name for some in named.values() for name in some)
            return function(desk, _sample(desk, chosen, further), **named, **given)

        first, _, *own = [each for each in inspect.signature(function).parameters.values() if each.name not in several]
        keyword = inspect.Parameter.KEYWORD_ONLY
        shared = [inspect.Parameter(name, keyword, default=None, annotation=kind) for name, kind in options.items()]
        run.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
            [first, *shared, *(each.replace(kind=keyword) for each in own)]
        )
        run.__annotations__ = {first.name: first.annotation, **options, **{each.name: each.annotation for each in own}}
        return run

    return decorate


def times(text: str | None) -> tuple[float, ...]:
    """Read T1,T2."""
    try:
        return tuple(float(each) for each in text.split(",")) if text else ()
    except ValueError:
        raise typer.BadParameter("write times as numbers with commas: --at 100,200", param_hint="--at") from None


def names(text: str | None) -> tuple[str, ...]:
    """Read A,B."""
    return tuple(dict.fromkeys(each.strip() for each in text.split(",") if each.strip())) if text else ()


def _sample(desk: Desk, chosen: dict[str, str | None], further: tuple[str, ...]) -> Sample:
    from maintain.services.lives import samples

    columns = {name: chosen.get(name) for name in (*_COLUMNS, *_SINGLE)}
    since, fitted_since = (day(desk, chosen[name], f"--{name.replace('_', '-')}") for name in _FROM)
    wanted = samples.Wanted(chosen["clock"], {name: chosen[name] for name in _ONLY}, since, fitted_since)
    return samples.sample(desk, file=chosen["file"], columns=columns, wanted=wanted, further=further)
