"""maintain swap."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import writes
from maintain.cli._moments import AfterSortie, Found, found
from maintain.cli._options import Note, choice_option
from maintain.cli._symptoms import Another, Cause, Effect, FoundBy, LastGood, Mode, SecondaryTo, symptoms

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app)
def swap(
    desk: Desk,
    where: Annotated[str, typer.Argument(metavar="SHIP/POSITION", help="Where the part failed.")],
    with_: Annotated[
        str | None,
        typer.Option("--with", metavar="PART", help="The spare that goes in; with --borrowed-from, the tag it has."),
    ] = None,
    from_pool: Annotated[
        bool, typer.Option("--from-pool", help="Take the oldest fitting part of the pool (the default).")
    ] = False,
    borrowed_from: Annotated[
        str | None, typer.Option(metavar="MEMBER", help="Who lends the part; one not yet in the records is entered.")
    ] = None,
    family: Annotated[
        str | None, typer.Option(help="Family of a part entered now (default: the failed one's).")
    ] = None,
    terms: Annotated[
        str | None,
        choice_option("What the lender expects; from the pool only if it is a loan", vocabulary.LOAN_TERMS),
    ] = None,
    uncounted: Annotated[
        bool, typer.Option("--uncounted", help="The pool had one that its records lack; to be settled by a count.")
    ] = False,
    anyway: Annotated[bool, typer.Option("--anyway", help="The spare fits after rework.")] = False,
    mode: Mode = None,
    cause: Cause = None,
    effect: Effect = "unknown",
    found_: Found = None,
    after_sortie: AfterSortie = None,
    found_by: FoundBy = "unknown",
    last_good: LastGood = None,
    secondary_to: SecondaryTo = None,
    to: Annotated[str, choice_option("Where the failed part goes", ("scrapped", "suspect"))] = "scrapped",
    another: Another = False,
    note: Note = None,
) -> Result:
    """A part failed and a spare went in: log, pull, issue and fit in one go."""
    from maintain.services import swaps
    from maintain.services.pool.spares import Spare

    if from_pool and (with_ or borrowed_from):
        raise typer.BadParameter("the spare comes from one place only", param_hint="--from-pool")
    known = swaps.look_up(desk, where, another=another)
    how = symptoms(
        desk,
        mode=mode or known.mode,
        cause=cause or known.cause,
        effect=effect,
        found_by=found_by,
        last_good=last_good,
        secondary_to=secondary_to,
        note=note,
        another=another,
    )
    if uncounted and (with_ or borrowed_from):
        raise typer.BadParameter("only the pool is counted", param_hint="--uncounted")
    spare = Spare(with_, borrowed_from, family, terms, anyway, uncounted)
    timing = found(desk, found_, after_sortie)
    return swaps.swap(desk, where=where, symptoms=how, spare=spare, timing=timing, to=to)
