"""maintain pool lend, return, owe, settle: between the pool and members, or two members"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._missing import ask
from maintain.cli._moments import when
from maintain.cli._options import Note, choice, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

Item = Annotated[str, typer.Argument(metavar="PART|FAMILY", help="A tag, or a family (a beginning is enough).")]
Quantity = Annotated[int | None, typer.Argument(metavar="NUMBER", help="How many (default: one).")]
Due = Annotated[str | None, typer.Option(metavar="WHEN", help="By when: 2026-10-12, 2026-10 or 2026.")]
Creditor = Annotated[str, typer.Option("--to", metavar="MEMBER", help="To whom: a member, or pool.")]
Debtor = Annotated[str, typer.Argument(metavar="MEMBER", help="Who owes: a member, or pool.")]

_CONDITIONS = tuple(each for each in vocabulary.RETURN_CONDITIONS if each != "kept")  # that is settled


def lend(
    desk: Desk,
    item: Item,
    number: Quantity = None,
    to: Annotated[str | None, typer.Option(metavar="MEMBER", help="Who borrows: a member, or pool.")] = None,
    from_: Annotated[str, typer.Option("--from", metavar="MEMBER", help="Who lends: a member, or pool.")] = "pool",
    ship: Annotated[str | None, typer.Option(help="For which ship.")] = None,
    due: Due = None,
    terms: Annotated[str, choice_option("What is expected", vocabulary.LOAN_TERMS)] = "return",
    uncounted: Annotated[
        bool, typer.Option("--uncounted", help="It was in the pool, whatever the records hold.")
    ] = False,
    note: Note = None,
) -> Result:
    """Lend a part or pieces."""
    from maintain.services.pool import lending

    if to is None:
        raise typer.BadParameter("who borrows it?", param_hint="--to")
    due_on = when(desk, due, "--due")
    wish = lending.Lending(item, to, from_, number, ship, due_on, terms, uncounted, note)
    return lending.lend(desk, wish)


def return_(
    desk: Desk,
    item: Item,
    condition: Annotated[str, choice("How it came back", _CONDITIONS)],
    number: Annotated[int | None, typer.Argument(metavar="NUMBER", help="How many pieces (default: all).")] = None,
    from_: Annotated[str | None, typer.Option("--from", metavar="MEMBER", help="Who brings it.")] = None,
    tested: Annotated[bool, typer.Option("--tested", help="It passed a test on coming back.")] = False,
    mode: Annotated[str | None, choice_option("What a suspect or dead one did", vocabulary.MODES)] = None,
    cause: Annotated[str, choice_option("What is blamed for a dead one", vocabulary.BLAMED_CAUSES)] = "unknown",
    owed: Annotated[bool, typer.Option("--owed", help="A dead one is owed in kind.")] = False,
    note: Note = None,
) -> Result:
    """Take back what was lent: good to the shelf, suspect to quarantine, dead to scrap."""
    from maintain.services.failures import Symptoms
    from maintain.services.pool import returning

    if condition == "suspect":
        mode = ask(mode, "--mode", "What did it do?", vocabulary.MODES)
    symptoms = Symptoms(mode=mode or "just died", cause=cause, found_by="unknown", note=note)
    back = returning.Return(item, condition, symptoms, number, from_, tested, owed)
    return returning.take_back(desk, back)


def owe(
    desk: Desk,
    debtor: Debtor,
    family: Annotated[str, typer.Argument(help="The family (a beginning is enough).")],
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="How many.")] = 1,
    to: Creditor = "pool",
    since: Annotated[str | None, typer.Option(metavar="WHEN", help="Since when (default: today).")] = None,
    due: Due = None,
    note: Note = None,
) -> Result:
    """Note a debt in kind: who owes what to whom."""
    from maintain.services.pool import owing

    begun, due_on = when(desk, since, "--since"), when(desk, due, "--due")
    return owing.owe(desk, owing.Owing(debtor, family, number, to, begun, due_on, note))


def settle(
    desk: Desk,
    debtor: Debtor,
    family: Annotated[str, typer.Argument(help="The family (a beginning is enough).")],
    number: Annotated[int | None, typer.Argument(metavar="NUMBER", help="How many (default: all owed).")] = None,
    to: Creditor = "pool",
    with_: Annotated[str | None, typer.Option("--with", metavar="PART", help="The tagged part handed over.")] = None,
    origin: Annotated[
        str, choice_option("Where a part entered in the pool now came from", vocabulary.ORIGINS)
    ] = "unknown",
    forgiven: Annotated[bool, typer.Option("--forgiven", help="Nothing is handed over.")] = False,
) -> Result:
    """Settle a debt in kind: what is handed over goes where it belongs."""
    from maintain.services.pool import owing

    return owing.settle(desk, owing.Settlement(debtor, family, number, to, with_, origin, forgiven))
