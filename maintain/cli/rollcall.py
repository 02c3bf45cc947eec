"""maintain rollcall ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Anyway, Note, choice, choice_option

if TYPE_CHECKING:
    from maintain.results.base import Done, Result
    from maintain.results.roll_call import RollCall, RollCallLine
    from maintain.services.battle_day.roll_answers import Found
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Roll calls, twice a season: what is in each ship, and does it work?")

Where = Annotated[str, typer.Argument(metavar="SHIP/POSITION", help="The position.")]
By = Annotated[str | None, typer.Option(help="The member who answers (default: whoever is named by --who).")]

_KEYS = {"w": "works", "d": "does not work", "o": "other part", "e": "empty", "n": "not seen"}
_OPENS = {"f": "failure", "s": "suspect"}


@writes(app)
def run(desk: Desk, ship: Annotated[str, typer.Argument(help="The ship.")], by: By = None) -> Result:
    """Walk through a ship's positions with one key each; each answer is kept at once."""
    from maintain.cli._walk import Walk, walk
    from maintain.render.roll_call import ask
    from maintain.services.battle_day import roll_answers, roll_call

    roll_answers.begin(desk, ship=ship)

    def page() -> RollCall:
        return roll_call.show(desk, ship=ship)

    def reply(line: RollCallLine, key: str, rest: str) -> Done:
        where = f"{page().ship}/{line.position}"
        if key == "o":
            tag, anyway, _ = rest.partition("--anyway")
            there = roll_answers.There(tag.strip(), anyway=bool(anyway))
            return roll_answers.correct(desk, where=where, there=there)
        return roll_answers.answer(desk, where=where, found=_found(key, rest, by))

    walk(
        Walk(
            pending=lambda: page().pending(),
            draw=ask,
            keys=lambda _: _KEYS,
            prompts=_prompts,
            answer=reply,
            take_back=lambda: roll_answers.take_back(desk, ship=ship),
            paused=f"go on with: maintain rollcall run {ship}",
        )
    )
    return page()


@writes(app)
def answer(
    desk: Desk,
    where: Where,
    found: Annotated[str, choice("What was found", vocabulary.ROLL_CALL_ANSWERS)],
    opens: Annotated[
        str, choice_option("What is made of a part that does not work", tuple(_OPENS.values()))
    ] = "failure",
    mode: Annotated[str, choice_option("What it did", vocabulary.MODES)] = "dead",
    by: By = None,
    note: Note = None,
) -> Result:
    """Write down what was found at one position; a later answer replaces it, but a part taken out stays out."""
    from maintain.services.battle_day import roll_answers

    said = roll_answers.Found(answer=found, opens=opens, mode=mode, by=by, note=note)
    return roll_answers.answer(desk, where=where, found=said)


@writes(app)
def correct(
    desk: Desk,
    where: Where,
    tag: Annotated[str, typer.Argument(help="The part that is there; a new tag enters a part of unknown history.")],
    family: Annotated[
        str | None, typer.Option(help="Family of a new part (default: of the part recorded there).")
    ] = None,
    anyway: Anyway = False,
) -> Result:
    """Put the records right: another part is there than they have."""
    from maintain.services.battle_day import roll_answers

    return roll_answers.correct(desk, where=where, there=roll_answers.There(tag, family, anyway))


@reads(app)
def show(
    desk: Desk, ship: Annotated[str | None, typer.Argument(help="The ship; without one, the whole fleet.")] = None
) -> Result:
    """Who has not been called this half season, or what was found in one ship."""
    from maintain.services.battle_day import roll_call

    return roll_call.board(desk) if ship is None else roll_call.show(desk, ship=ship)


def _prompts(line: RollCallLine, key: str) -> str:
    """Ask a person for what belongs to an answer, and write it as a line of input would have it."""
    from maintain.cli._walk import press, prompt

    if key == "o":
        return prompt("the tag of the part that is there")
    if key == "d" and line.part is not None:
        return press(f"{line.part}: s suspect, any other key: it failed")
    return ""


def _found(key: str, rest: str, by: str | None) -> Found:
    """An answer as it was keyed: after d what is made of the part, then a note."""
    from maintain.services.battle_day.roll_answers import Found

    words = rest.split()
    opens = _OPENS.get(words[0].lower()) if key == "d" and words else None
    note = " ".join(words[1:] if opens else words) or None
    return Found(answer=_KEYS[key], opens=opens or "failure", by=by, note=note)
