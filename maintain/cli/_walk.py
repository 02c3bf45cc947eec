"""Walk through questions with one key each: at a terminal, or from a file of keys piped in."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import typer

from maintain.cli._missing import at_terminal
from maintain.errors import InvalidRecord, MaintainError

if TYPE_CHECKING:
    from maintain.results.base import Done

_BACK, _PAUSE = "u", "q"


@dataclass(frozen=True)
class Walk:
    """
    How a walk goes.

    Attributes
    ----------
    pending : function
        The first question without an answer; None: all are answered. It is asked anew after each answer.
    draw : function
        Shows a question to people.
    keys : function
        What each key means as an answer to a question: p -> pass.
    prompts : function
        Asks a person what else there is to say after a key, and returns it as a line of input would have it.
    answer : function
        Keeps the answer to a question: key, and what was said after it.
    take_back : function
        Takes back the last answer.
    paused : str
        How to go on after a pause.
    """

    pending: Callable[[], Any | None]
    draw: Callable[[Any], None]
    keys: Callable[[Any], Mapping[str, str]]
    prompts: Callable[[Any, str], str]
    answer: Callable[[Any, str, str], Done]
    take_back: Callable[[], Done]
    paused: str

    def keys_of(self, question: Any) -> Mapping[str, str]:
        """What each key means as an answer to a question."""
        return self.keys(question) if callable(self.keys) else self.keys


def walk(how: Walk) -> None:
    """
    Ask until all is answered, or somebody pauses; each answer is kept before the next question.

    Without a terminal each line of the input is one answer: its key, and after a space what else is to be said. There a
    refused answer ends the walk, since the lines after it would answer the wrong questions; a person is asked again.
    """
    people, kept = at_terminal(), 0
    take = _pressed if people else _piped
    while (question := how.pending()) is not None:
        how.draw(question)
        said = take(_offered(how, question))
        if said is None:
            typer.echo(f"paused; nothing is lost: {how.paused}", err=True)
            return
        try:
            _told(_act(how, question, *said, people=people))
            kept += 1
        except MaintainError as error:
            if not people:
                from maintain.core.wording import count

                stopped = f"stopped after {count(kept, 'answer')}, which are kept; no line after this one was read"
                typer.echo(f"{stopped}: {how.paused}", err=True)
                raise
            typer.echo(f"error: {error.message}" + (f" ({error.hint})" if error.hint else ""), err=True)


def _act(how: Walk, question: Any, key: str, rest: str, *, people: bool) -> Done:
    if key == _BACK:
        return how.take_back()
    if key not in how.keys(question):
        raise InvalidRecord(f"{key!r} is no answer", hint=_offered(how, question))
    return how.answer(question, key, rest or (how.prompts(question, key) if people else ""))


def _told(done: Done) -> None:
    for line in (done.did, *done.closed, *done.notes):
        typer.echo(f"  {line}", err=True)


def _offered(how: Walk, question: Any) -> str:
    keys = [f"{key} {meaning}" for key, meaning in how.keys(question).items()]
    return ", ".join((*keys, f"{_BACK} take back", f"{_PAUSE} pause"))


def _pressed(offered: str) -> tuple[str, str] | None:
    """One key of a person; None: a pause."""
    key = press(f"[{offered}]")
    return None if key in (_PAUSE, "") else (key, "")


def _piped(_: str) -> tuple[str, str] | None:
    """The next line that is not blank; None: a pause, or no more lines."""
    for line in sys.stdin:
        key, _blank, rest = line.strip().partition(" ")
        if key:
            return None if key.lower() == _PAUSE else (key.lower(), rest.strip())
    return None


def press(text: str) -> str:
    """The key that a person presses; nothing if they interrupt."""
    typer.echo(f"  {text} ", err=True, nl=False)
    try:
        key = typer.getchar().lower()
    except (KeyboardInterrupt, EOFError):
        key = ""
    typer.echo(key if key.isprintable() else "", err=True)
    return key


def prompt(text: str) -> str:
    """What a person writes after a key; nothing if they only press Enter."""
    return str(typer.prompt(f"  {text}", default="", show_default=False, err=True)).strip()
