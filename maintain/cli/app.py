"""The command table and what `maintain` itself answers."""

from __future__ import annotations

from typing import Annotated, ClassVar

import typer

from maintain import __version__
from maintain.cli._lazy import Entry, LazyGroup


class Root(LazyGroup):
    """All commands, in the order of a club's day."""

    entries: ClassVar[dict[str, Entry]] = {
        "init": Entry("maintain.cli.init:app", "Make a new, empty database for a club."),
        "member": Entry("maintain.cli.member:app", "Members: captains and whoever owns or borrows parts."),
        "ship": Entry("maintain.cli.ship:app", "Ships: add, list, change state."),
        "position": Entry("maintain.cli.position:app", "Positions: the places on a ship that take one part."),
        "family": Entry("maintain.cli.family:app", "Families: parts that swap without rework."),
        "method": Entry("maintain.cli.method:app", "Waterproofing methods: add, list."),
        "part": Entry("maintain.cli.part:app", "Parts: add, fit, take out, waterproof, correct, show, list."),
        "swap": Entry(
            "maintain.cli.swap:app", "A part failed and a spare went in: log, pull, issue and fit in one go."
        ),
        "failure": Entry("maintain.cli.failure:app", "Failures: log one without a spare, correct, list."),
        "retest": Entry("maintain.cli.retest:app", "Clear or condemn a suspect part by a test."),
        "reading": Entry("maintain.cli.reading:app", "Readings: measured values of parts and positions."),
        "check": Entry("maintain.cli.check:app", "Checks before a battle: ask, answer, and who has checked."),
        "rollcall": Entry(
            "maintain.cli.rollcall:app", "Roll calls, twice a season: what is in each ship, and does it work?"
        ),
        "venue": Entry("maintain.cli.venue:app", "Venues: ponds and their water."),
        "battle": Entry("maintain.cli.battle:app", "Battles, planned and fought."),
        "sortie": Entry("maintain.cli.sortie:app", "Sorties: log the whole fleet's in one line, correct, list."),
        "salvage": Entry(
            "maintain.cli.salvage:app", "After a sinking: what to do in which order, and what was found of every part."
        ),
        "opening": Entry("maintain.cli.opening:app", "Openings: how a box looked inside; a dry finding is data."),
        "task": Entry("maintain.cli.task:app", "Tasks: work that comes round, and promises."),
        "certificate": Entry("maintain.cli.certificate:app", "Certificates: legal dates, with source and who decides."),
        "calendar": Entry(
            "maintain.cli.calendar:app", "Battles, legal dates and work by day, also as a file for a phone's calendar."
        ),
        "show": Entry(
            "maintain.cli.show:app", "Show a ship: her positions, the parts in them, how much water they have seen."
        ),
        "life": Entry("maintain.cli.life:app", "How long parts last: life curves and fitted laws."),
        "import": Entry("maintain.cli.import_:app", "Take in records from files; all of them, or none."),
        "export": Entry("maintain.cli.export:app", "Write all records to files that import takes back."),
        "sheet": Entry("maintain.cli.sheet:app", "Pages to print: the check, the log card, what the pool issues."),
        "phone": Entry(
            "maintain.cli.phone:app",
            "A page that logs a battle on a phone without network; import takes what it hands over.",
        ),
        "due": Entry("maintain.cli.due:app", "What is due before the next battle, and why."),
        "ready": Entry(
            "maintain.cli.ready:app",
            "How likely a ship is to get through the battle, and the best things to do tonight.",
        ),
        "pool": Entry("maintain.cli.pool:app", "The pool: what the club holds, lends, owes and buys."),
        "spares": Entry(
            "maintain.cli.spares:app", "What the pool should hold, what to buy, and what to pack for a meet."
        ),
        "demo": Entry(
            "maintain.cli.demo:app", "Build an invented club in a scratch database and ask it the main questions."
        ),
        "journal": Entry("maintain.cli.journal:app", "Show who changed what, and when."),
        "undo": Entry("maintain.cli.undo:app", "Take back the last change."),
        "db": Entry("maintain.cli.db:app", "The database itself: upgrade, status, check."),
    }


app = typer.Typer(
    cls=Root,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
    help="Maintenance, spares and failure analysis for clubs that fight radio-controlled model warships.",
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"maintain {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and stop.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Show the version when asked."""
