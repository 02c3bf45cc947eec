"""Ask at a terminal for what the command line left out; elsewhere say what is missing."""

from __future__ import annotations

import sys

import typer


def ask(value: str | None, option: str, question: str, words: tuple[str, ...]) -> str:
    """Return `value`, or at a terminal the answer to `question`: one of `words`, by its number or its beginning."""
    if value is not None:
        return value
    if not at_terminal():
        raise typer.BadParameter(f"missing; choose one of: {', '.join(words)}", param_hint=option)
    for number, word in enumerate(words, start=1):
        typer.echo(f"{number:>3}  {word}", err=True)
    while True:
        answer = str(typer.prompt(question, err=True)).strip().lower()
        meant = [word for number, word in enumerate(words, start=1) if answer in (str(number), word.lower())]
        meant = meant or [word for word in words if word.lower().startswith(answer)]
        if len(meant) == 1:
            return meant[0]
        typer.echo("choose one of the list, by number or word", err=True)


def at_terminal() -> bool:
    """Whether somebody is there to answer."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def confirm(question: str, *, yes: bool) -> None:
    """Ask a person at a terminal before much is changed at once; scripts, and whoever says --yes, are not asked."""
    if not yes and at_terminal() and not typer.confirm(question, err=True):
        raise typer.Abort
