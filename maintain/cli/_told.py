"""Around every command: an error of ours becomes a message and an exit code, and so does an answer nobody can take."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import typer

from maintain.errors import DatabaseUnusable, MaintainError


@contextmanager
def told(*, as_json: bool) -> Iterator[None]:
    """
    Run a command to the last letter of its answer.

    A reader that has seen enough (`| head -1`) is no failure; a disk that takes no more is one, whatever was recorded
    before.
    """
    try:
        yield
        sys.stdout.flush()
    except MaintainError as error:
        report(error, as_json=as_json)
        raise typer.Exit(error.exit_code) from None
    except BrokenPipeError:
        _write_no_more()
        raise typer.Exit(0) from None
    except OSError as error:
        if error.filename is not None:  # about a file that the command opened, not about the answer
            raise
        _write_no_more()
        unsaid = DatabaseUnusable(
            f"the answer can't be written: {error.strerror}",
            hint="what was recorded stands (maintain journal shows it); ask again where there is room",
        )
        report(unsaid, as_json=False)
        raise typer.Exit(unsaid.exit_code) from None


def report(error: MaintainError, *, as_json: bool) -> None:
    """Say what went wrong, on stderr in words or, for scripts, on stdout as one document."""
    if as_json:
        fault = {"code": error.code, "message": error.message, "hint": error.hint, **error.context}
        typer.echo(json.dumps({"error": fault}, ensure_ascii=False, default=str))
        return
    for line in (f"error: {error.message}", *error.lines):
        typer.echo(line, err=True)
    if error.hint:
        typer.echo(f"hint: {error.hint}", err=True)


def _write_no_more() -> None:
    """Send what is still to be written nowhere, so that closing stdout does not fail as well."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
