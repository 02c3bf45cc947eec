"""maintain part ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._missing import ask
from maintain.cli._moments import AfterSortie, From, Until, timing, when
from maintain.cli._options import Anyway, Note, ShipFilter, cents, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Parts: add, fit, take out, waterproof, correct, show, list.")

Part = Annotated[str, typer.Argument(help="The part: its tag, or ship/position for the one fitted there.")]
Position = Annotated[str, typer.Argument(metavar="SHIP/POSITION", help="Where it goes.")]


@writes(app)
def add(
    desk: Desk,
    family: Annotated[str, typer.Option(help="The family it belongs to.")],
    tag: Annotated[str | None, typer.Option(help="Its tag; made for you if left out.")] = None,
    model: Annotated[str | None, typer.Option(help="Maker's name for it.")] = None,
    batch: Annotated[str | None, typer.Option(help="Batch or order it came with.")] = None,
    origin: Annotated[str, choice_option("Where it came from", vocabulary.ORIGINS)] = "unknown",
    prior_use: Annotated[
        str | None, choice_option("Use before the records (a new part has none)", vocabulary.PRIOR_USE)
    ] = None,
    owner: Annotated[str | None, typer.Option(help="The member who owns it (none: the pool).")] = None,
    acquired: Annotated[str | None, typer.Option(metavar="WHEN", help="When it was bought, as far as known.")] = None,
    made: Annotated[str | None, typer.Option(metavar="DATE", help="When it was made.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost, for example 12.50.")] = None,
    count: Annotated[int, typer.Option(help="How many of the same.", min=1, max=1000)] = 1,
    into: Annotated[str | None, typer.Option(metavar="SHIP/POSITION", help="Where it is fitted already.")] = None,
    from_: From = None,
    after_sortie: AfterSortie = None,
    anyway: Anyway = False,
    note: Note = None,
) -> Result:
    """Add a part to the pool, to its owner's box, or to the ship it is fitted in."""
    from maintain.services import parts

    new = parts.NewPart(
        family=family,
        tag=tag,
        model=model,
        batch=batch,
        origin=origin,
        prior_use=prior_use,
        owner=owner,
        acquired=when(desk, acquired, "--acquired"),
        made_on=day(desk, made, "--made"),
        cost_cents=cents(cost, "--cost"),
        note=note,
    )
    position = parts.Into(into, anyway) if into else None
    return parts.add(desk, new=new, count=count, into=position, timing=timing(desk, from_, "--from", after_sortie))


@writes(app)
def install(
    desk: Desk,
    part: Part,
    where: Position,
    from_: From = None,
    after_sortie: AfterSortie = None,
    anyway: Anyway = False,
) -> Result:
    """Fit a part to a position."""
    from maintain.services import parts

    moment = timing(desk, from_, "--from", after_sortie)
    return parts.install(desk, part=part, where=where, timing=moment, anyway=anyway)


@writes(app)
def pull(
    desk: Desk,
    part: Part,
    until: Until = None,
    after_sortie: AfterSortie = None,
    reason: Annotated[
        str | None, choice_option("Why (default: working, or suspect if it goes there)", vocabulary.PULL_REASONS)
    ] = None,
    to: Annotated[
        str | None,
        choice_option("Where it goes (default: to its owner)", ("pool", "captain", "suspect", "scrapped", "lost")),
    ] = None,
    mode: Annotated[str | None, choice_option("What a suspect part did", vocabulary.MODES)] = None,
    note: Annotated[str | None, typer.Option(help="More about what a suspect part did.")] = None,
) -> Result:
    """Take a part out, or from where it lies to another place."""
    from maintain.services import pulls

    if "suspect" in (reason, to):
        mode = ask(mode, "--mode", "What did it do?", vocabulary.MODES)
    why = pulls.Why(reason=reason, to=to, mode=mode)
    return pulls.pull(desk, part=part, timing=timing(desk, until, "--until", after_sortie), why=why, note=note)


@writes(app)
def treat(
    desk: Desk,
    part: Part,
    method: Annotated[str, typer.Argument(help="The waterproofing method.")],
    done: Annotated[str | None, typer.Option(metavar="WHEN", help="When (default: today).")] = None,
    renewed: Annotated[bool, typer.Option("--renewed", help="It was done again.")] = False,
    removed: Annotated[bool, typer.Option("--removed", help="It was taken off.")] = False,
    note: Note = None,
) -> Result:
    """Record a waterproofing applied, renewed or removed."""
    from maintain.services import parts

    if renewed and removed:
        raise typer.BadParameter("a treatment is renewed or removed, not both", param_hint="--renewed / --removed")
    kind = "renewed" if renewed else "removed" if removed else "applied"
    return parts.treat(desk, part=part, method=method, done=when(desk, done, "--done"), kind=kind, note=note)


@writes(app)
def change(
    desk: Desk,
    part: Part,
    model: Annotated[str | None, typer.Option(help="Maker's name for it.")] = None,
    batch: Annotated[str | None, typer.Option(help="Batch or order it came with.")] = None,
    origin: Annotated[str | None, choice_option("Where it came from", vocabulary.ORIGINS)] = None,
    prior_use: Annotated[
        str | None, choice_option("Use before the records (a new part has none)", vocabulary.PRIOR_USE)
    ] = None,
    acquired: Annotated[str | None, typer.Option(metavar="WHEN", help="When it was bought, as far as known.")] = None,
    made: Annotated[str | None, typer.Option(metavar="DATE", help="When it was made.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost, for example 12.50.")] = None,
    from_: From = None,
    after_sortie: AfterSortie = None,
    place: Annotated[
        int | None,
        typer.Option(help="The place that --from is about, as part show lists them (default: the last).", min=1),
    ] = None,
    treated: Annotated[str | None, typer.Option(metavar="WHEN", help="When its last waterproofing was done.")] = None,
    note: Note = None,
) -> Result:
    """Correct what is recorded of a part: earlier use, model, batch, since when it is where it is."""
    from maintain.services import part_changes

    if from_ is None and (after_sortie is not None or place is not None):
        raise typer.BadParameter("goes with --from", param_hint="--after-sortie / --place")
    facts = {
        "model": model,
        "batch": batch,
        "origin": origin,
        "prior_use": prior_use,
        "made_on": day(desk, made, "--made"),
        "cost_cents": cents(cost, "--cost"),
        "note": note,
    }
    dates = part_changes.Dates(
        since=timing(desk, from_, "--from", after_sortie) if from_ else None,
        place=place,
        acquired=when(desk, acquired, "--acquired"),
        treated=when(desk, treated, "--treated"),
    )
    return part_changes.change(desk, part=part, facts=facts, dates=dates)


@reads(app)
def show(desk: Desk, part: Part) -> Result:
    """Show a part: places, use, treatments, failures, readings."""
    from maintain.services.part_sheet import part_sheet

    return part_sheet(desk, part=part)


@reads(app, "list")
def list_(
    desk: Desk,
    ship: ShipFilter = None,
    family: Annotated[str | None, typer.Option(help="Only this family.")] = None,
    place: Annotated[str | None, choice_option("Only those here", vocabulary.PLACES)] = None,
) -> Result:
    """List parts with where they are."""
    from maintain.services import parts

    return parts.listing(desk, ship=ship, family=family, place=place)
