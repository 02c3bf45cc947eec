"""maintain certificate ..."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._command import reads, writes
from maintain.cli._options import day

if TYPE_CHECKING:
    from datetime import date

    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Certificates: legal dates, with source and who decides.")


@writes(app)
def add(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The part (tag or ship/position).")],
    expires: Annotated[str, typer.Option(metavar="DATE", help="Last day it holds; a month means its last day.")],
    source: Annotated[str, typer.Option(help="The rule or regulation that sets the date.")],
    issued: Annotated[str | None, typer.Option(metavar="DATE", help="Day it was issued or stamped.")] = None,
    kind: Annotated[str, typer.Option(help="What it attests.")] = "cylinder re-test",
    decider: Annotated[str, typer.Option(help="Who decides.")] = "licensed cylinder inspector",
) -> Result:
    """Record a dated certificate."""
    from maintain.services import certificates

    last, said = _last_day(desk, expires)
    paper = certificates.Paper(kind, day(desk, issued, "--issued"), last, source, decider)
    done = certificates.add(desk, part=part, paper=paper)
    return replace(done, notes=(*said, *done.notes))


@writes(app)
def correct(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The part (tag or ship/position).")],
    kind: Annotated[str | None, typer.Option(help="Which certificate, if it has several.")] = None,
    expires: Annotated[
        str | None, typer.Option(metavar="DATE", help="Last day it holds; a month means its last day.")
    ] = None,
    issued: Annotated[str | None, typer.Option(metavar="DATE", help="Day it was issued or stamped.")] = None,
    source: Annotated[str | None, typer.Option(help="The rule or regulation that sets the date.")] = None,
    decider: Annotated[str | None, typer.Option(help="Who decides.")] = None,
) -> Result:
    """Correct the latest certificate of a part; what is left out stays."""
    from maintain.services import certificate_changes

    last, said = _last_day(desk, expires) if expires else (None, ())
    days = {"expires_on": last, "issued_on": day(desk, issued, "--issued")}
    facts = {**days, "source": source, "decider": decider}
    done = certificate_changes.correct(desk, part=part, kind=kind, facts=facts)
    return replace(done, notes=(*said, *done.notes))


def _last_day(desk: Desk, expires: str) -> tuple[date, tuple[str, ...]]:
    """The last day a certificate holds, and that it was taken as the month's, where a month was given."""
    from maintain.core.when import parse_last_day

    last = parse_last_day(expires, desk.today, what="--expires")
    whole_month = expires.strip() == f"{last:%Y-%m}"
    return last, (f"{expires.strip()} taken as its last day, {last}",) if whole_month else ()


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
