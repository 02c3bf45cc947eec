"""Options and arguments that several commands share, each defined once."""

from __future__ import annotations

from typing import Annotated, Any

import typer

Since = Annotated[str | None, typer.Option("--since", help="From which day (default: today).", metavar="DATE")]


def choice(what: str, words: tuple[str, ...]) -> Any:
    """An argument that takes one of `words`."""
    return typer.Argument(
        help=f"{what}: {', '.join(words)}.", callback=_one_of(words), autocompletion=lambda: list(words)
    )


def choice_option(what: str, words: tuple[str, ...]) -> Any:
    """An option that takes one of `words`."""
    return typer.Option(
        help=f"{what}: {', '.join(words)}.", callback=_one_of(words), autocompletion=lambda: list(words)
    )


def _one_of(words: tuple[str, ...]) -> Any:
    def check(value: str | None) -> str | None:
        if value is None:
            return None
        folded = value.strip().lower()
        meant = [word for word in words if word.lower() == folded] or [w for w in words if w.lower().startswith(folded)]
        if len(meant) != 1:
            raise typer.BadParameter(f"{value!r} is not one of: {', '.join(words)}")
        return meant[0]

    return check
