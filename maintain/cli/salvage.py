"""maintain salvage ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, Number, choice, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Done, Result
    from maintain.results.salvage import SalvagePage, SalvageStep
    from maintain.services.salvage.answers import Reply
    from maintain.services.salvage.begun import Which
    from maintain.services.unit import Desk

T = TypeVar("T")

app = typer.Typer(
    no_args_is_help=True, help="After a sinking: what to do in which order, and what was found of every part."
)

Ship = Annotated[str, typer.Argument(help="The ship.")]
SunkOn = Annotated[str | None, typer.Option("--day", metavar="DATE", help="The day she sank (default: the last time).")]
By = Annotated[str | None, typer.Option(help="The member who answers (default: whoever is named by --who).")]

_KEYS = {
    "done": "y",
    "not done": "n",
    "dry": "d",
    "damp": "m",
    "water": "w",
    "not seen": "n",
    "pass": "p",
    "fail": "f",
    "timed": "m",
    "damage": "d",
    "system": "s",
    "trim": "t",
    "operator": "o",
    "unknown": "n",
}
_OPENS = {"f": "failure", "s": "suspect"}
_OPENED = "o"
_DRIED = {str(number): word for number, word in enumerate(vocabulary.DRYING, start=1)}


@reads(app)
def show(desk: Desk, ship: Ship, day: SunkOn = None, number: Number = None) -> Result:
    """Show the salvage of a ship: its steps in their order, what was found, and what is to be tried again."""
    from maintain.services.salvage import page

    return page.show(desk, _which(desk, ship, day, number))


@writes(app)
def run(desk: Desk, ship: Ship, day: SunkOn = None, number: Number = None, by: By = None) -> Result:
    """Walk through the salvage with one key each; each answer is kept at once, so a break loses nothing."""
    from maintain.cli._walk import Walk, walk
    from maintain.render.salvage import ask
    from maintain.services.salvage import answers, page

    which = _which(desk, ship, day, number)
    answers.begin(desk, which)

    def now() -> SalvagePage:
        return page.show(desk, which)

    def reply(step: SalvageStep, key: str, rest: str) -> Done:
        return answers.answer(desk, which=which, step=step.step, reply=_reply(_keys(step)[key], rest, by))

    walk(
        Walk(
            pending=lambda: now().pending(),
            draw=ask,
            keys=_keys,
            prompts=lambda step, key: _prompts(step, _keys(step)[key]),
            answer=reply,
            take_back=lambda: answers.take_back(desk, which),
            paused=f"go on with: maintain salvage run {ship}",
        )
    )
    return now()


@writes(app, numbers=True)
def answer(
    desk: Desk,
    ship: Ship,
    step: Annotated[int, typer.Argument(help="The number of the step.")],
    found: Annotated[str, choice("What was done or found", vocabulary.SALVAGE_ANSWERS)],
    figure: Annotated[str | None, typer.Option(help="Minutes under, with timed.")] = None,
    system: Annotated[str | None, choice_option("Which one sank her, with system", vocabulary.SYSTEMS)] = None,
    opened: Annotated[bool, typer.Option("--opened", help="The part's own case was opened.")] = False,
    dried: Annotated[str | None, choice_option("How it was dried", vocabulary.DRYING)] = None,
    opens: Annotated[
        str | None,
        choice_option("What is made of a part that does not work, which comes out", tuple(_OPENS.values())),
    ] = None,
    mode: Annotated[str | None, choice_option("What the part did", vocabulary.MODES)] = None,
    cause: Annotated[str, choice_option("What is blamed, if it failed", vocabulary.BLAMED_CAUSES)] = "unknown",
    day: SunkOn = None,
    number: Number = None,
    by: By = None,
    note: Note = None,
) -> Result:
    """Answer one step; an answer given again replaces the earlier one."""
    from maintain.services.salvage import answers

    reply = answers.Reply(found, figure, system, opened, dried, opens, mode, cause, by, note)
    return answers.answer(desk, which=_which(desk, ship, day, number), step=step, reply=reply)


def _which(desk: Desk, ship: str, on: str | None, number: int | None) -> Which:
    from maintain.services.salvage.begun import Which

    return Which(ship, day(desk, on, "--day"), number)


def _keys(step: SalvageStep) -> dict[str, str]:
    return {_KEYS[each]: each for each in step.answers}


def _prompts(step: SalvageStep, answer: str) -> str:
    """Ask a person for what belongs to an answer, and write it as a line of input would have it."""
    from maintain.cli._walk import press, prompt

    if answer == "timed":
        return prompt("how many minutes?")
    if answer == "system":
        return prompt(f"which one? {', '.join(vocabulary.SYSTEMS)} (Enter: nobody knows)")
    said = []
    if answer in ("damp", "water"):
        if step.part is not None:
            said.append(press(f"{_OPENED} its case is open, any other key: not opened"))
        said.append(press(f"dried with: {', '.join(f'{key} {word}' for key, word in _DRIED.items())}"))
    if step.part is not None and answer in ("damp", "water", "fail"):
        other = "suspect" if answer == "fail" else "works, or not tried yet"
        said.append(press(f"{step.part}: f log a failure, s suspect, any other key: {other}"))
    return " ".join(each for each in said if each in (_OPENED, *_DRIED, *_OPENS))


def _reply(answer: str, rest: str, by: str | None) -> Reply:
    """An answer as it was keyed: of a part whether it was opened, how it was dried, what it opens; then a note."""
    from maintain.services.salvage.answers import Reply

    words = rest.split()
    if answer == "timed":
        return Reply(answer, figure=words[0] if words else None, by=by, note=" ".join(words[1:]) or None)
    if answer == "system":
        system = next((each for each in vocabulary.SYSTEMS if words and each == words[0].lower()), None)
        return Reply(answer, system=system, by=by, note=" ".join(words[1:] if system else words) or None)
    looked = answer in vocabulary.OPENED_FINDINGS
    opened = _taken(words, {_OPENED: True}) if looked else None
    dried = _taken(words, _DRIED) if looked else None
    opens = _taken(words, _OPENS) if looked or answer == "fail" else None
    return Reply(answer, opened=bool(opened), dried=dried, opens=opens, by=by, note=" ".join(words) or None)


def _taken(words: list[str], meant: dict[str, T]) -> T | None:
    """What the first word stands for, which is then taken off; None: nothing, and it stays."""
    if words and words[0].lower() in meant:
        return meant[words.pop(0).lower()]
    return None
