"""maintain certificate ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads, writes
from maintain.cli._options import day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Certificates: legal dates, with source and who decides.")


@writes(app)
def add(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The part (tag or ship/position).")],
    expires: Annotated[str, typer.Option(metavar="DATE", help="Last day it holds.")],
    source: Annotated[str, typer.Option(help="The rule or regulation that sets the date.")],
    issued: Annotated[str | None, typer.Option(metavar="DATE", help="Day it was issued or stamped.")] = None,
    kind: Annotated[str, typer.Option(help="What it attests.")] = "cylinder re-test",
    decider: Annotated[str, typer.Option(help="Who decides.")] = "licensed cylinder inspector",
) -> Result:
    """Record a dated certificate."""
    from maintain.services import certificates

    last = day(desk, expires, "--expires")
    assert last is not None
    paper = certificates.Paper(kind, day(desk, issued, "--issued"), last, source, decider)
    return certificates.add(desk, part=part, paper=paper)


@writes(app)
def correct(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The part (tag or ship/position).")],
    kind: Annotated[str | None, typer.Option(help="Which certificate, if it has several.")] = None,
    expires: Annotated[str | None, typer.Option(metavar="DATE", help="Last day it holds.")] = None,
    issued: Annotated[str | None, typer.Option(metavar="DATE", help="Day it was issued or stamped.")] = None,
    source: Annotated[str | None, typer.Option(help="The rule or regulation that sets the date.")] = None,
    decider: Annotated[str | None, typer.Option(help="Who decides.")] = None,
) -> Result:
    """Correct the latest certificate of a part; what is left out stays."""
    from maintain.services import certificate_changes

    days = {"expires_on": day(desk, expires, "--expires"), "issued_on": day(desk, issued, "--issued")}
    facts = {**days, "source": source, "decider": decider}
    return certificate_changes.correct(desk, part=part, kind=kind, facts=facts)


@reads(app, "list")
def list_(desk: Desk) -> Result:
    """List certificates, earliest first, and the cylinders without one."""
    from maintain.services import certificates

    return certificates.listing(desk)


@reads(app)
def rules(_: Desk) -> Result:
    """What named regulations say of the time between two tests; the local inspector decides."""
    from maintain.services import certificates

    return certificates.rules()
