"""Options that say how a part failed, shared by `swap` and `failure log`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._missing import ask
from maintain.cli._options import choice_option, day

if TYPE_CHECKING:
    from maintain.services.failures import Symptoms
    from maintain.services.unit import Desk

Mode = Annotated[str | None, choice_option("What it did", vocabulary.MODES)]
Cause = Annotated[str | None, choice_option("What is blamed", vocabulary.BLAMED_CAUSES)]
Effect = Annotated[str, choice_option("What the ship suffered", vocabulary.EFFECTS)]
FoundBy = Annotated[str, choice_option("How it was found", vocabulary.FOUND_BY)]
LastGood = Annotated[str | None, typer.Option(metavar="DATE", help="The last day it was known to work.")]
SecondaryTo = Annotated[
    str | None,
    typer.Option(metavar="PART|NUMBER", help="Brought about by the failure of this part, or the failure so numbered."),
]
Another = Annotated[
    bool, typer.Option("--another", help="It failed anew, after the failure on record: it had worked in between.")
]


def symptoms(
    desk: Desk,
    *,
    mode: str | None,
    cause: str | None,
    effect: str,
    found_by: str,
    last_good: str | None,
    secondary_to: str | None,
    note: str | None,
    another: bool,
) -> Symptoms:
    """How it failed; mode and cause are asked for at a terminal."""
    from maintain.services.failures import Symptoms

    return Symptoms(
        mode=ask(mode, "--mode", "What did it do?", vocabulary.MODES),
        cause=ask(cause, "--cause", "What is blamed?", vocabulary.BLAMED_CAUSES),
        effect=effect,
        found_by=found_by,
        last_good=day(desk, last_good, "--last-good"),
        secondary_to=secondary_to,
        note=note,
        anew=another,
    )
