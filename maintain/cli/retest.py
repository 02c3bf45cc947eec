"""maintain retest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import writes
from maintain.cli._options import Note, choice, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer()


@writes(app)
def retest(
    desk: Desk,
    part: Annotated[str, typer.Argument(help="The suspect part.")],
    result: Annotated[str, choice("What the test showed", vocabulary.TEST_RESULTS)],
    cause: Annotated[str, choice_option("What is blamed, if it failed", vocabulary.BLAMED_CAUSES)] = "unknown",
    note: Note = None,
) -> Result:
    """Clear or condemn a suspect part by a test."""
    from maintain.services import retests

    return retests.retest(desk, part=part, result=result, cause=cause, note=note)
