"""maintain check ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli._command import reads, writes
from maintain.cli._options import Note, choice, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Done, Result
    from maintain.results.battle_day import CheckPage, CheckStep
    from maintain.services.battle_day.answers import Reply
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="Checks before a battle: ask, answer, and who has checked.")

Ship = Annotated[str, typer.Argument(help="The ship.")]
Battle = Annotated[str | None, typer.Option(help="Before this battle (default: the one that is on, else the next).")]
By = Annotated[str | None, typer.Option(help="The member who answers (default: whoever is named by --who).")]

_KEYS = {"p": "pass", "f": "fail", "n": "not done", "s": "promise"}
_OPENS = {"f": "failure", "s": "suspect"}


@reads(app)
def show(desk: Desk, ship: Ship, battle: Battle = None) -> Result:
    """Show the check of a ship: the morning's questions in their order, gas last, and what is open."""
    from maintain.services.battle_day import check_page

    return check_page.show(desk, ship=ship, battle=battle)


@writes(app)
def run(desk: Desk, ship: Ship, battle: Battle = None, by: By = None) -> Result:
    """Walk through the check with one key each; each answer is kept at once, so a break loses nothing."""
    from maintain.cli._walk import Walk, walk
    from maintain.render.battle_day import ask
    from maintain.services.battle_day import answers, check_page

    answers.begin(desk, ship=ship, battle=battle)

    def page() -> CheckPage:
        return check_page.show(desk, ship=ship, battle=battle)

    def reply(step: CheckStep, key: str, rest: str) -> Done:
        return answers.answer(desk, ship=ship, battle=battle, step=step.step, reply=_reply(step, key, rest, by))

    walk(
        Walk(
            pending=lambda: page().pending(),
            draw=ask,
            keys=lambda _: _KEYS,
            prompts=_prompts,
            answer=reply,
            take_back=lambda: answers.take_back(desk, ship=ship, battle=battle),
            paused=f"go on with: maintain check run {ship}",
        )
    )
    return page()


@writes(app, numbers=True)
def answer(
    desk: Desk,
    ship: Ship,
    step: Annotated[int, typer.Argument(help="The number of the step.")],
    found: Annotated[str, choice("What was found", vocabulary.CHECK_ANSWERS)],
    figure: Annotated[str | None, typer.Option(help="What the test measured, in the unit of the step.")] = None,
    opens: Annotated[
        str | None, choice_option("What a fail makes of the part, which comes out", tuple(_OPENS.values()))
    ] = None,
    mode: Annotated[str | None, choice_option("What the part did", vocabulary.MODES)] = None,
    due: Annotated[
        str | None, typer.Option(metavar="DATE", help="By when a promise is kept (default: the battle after this one).")
    ] = None,
    battle: Battle = None,
    by: By = None,
    note: Note = None,
) -> Result:
    """Answer one step; an answer given again replaces the earlier one."""
    from maintain.services.battle_day import answers

    reply = answers.Reply(
        answer=found, figure=figure, note=note, by=by, due=day(desk, due, "--due"), opens=opens, mode=mode
    )
    return answers.answer(desk, ship=ship, battle=battle, step=step, reply=reply)


@reads(app)
def fleet(desk: Desk, battle: Battle = None) -> Result:
    """Who has checked, what is open on safety, and who has not begun."""
    from maintain.services.battle_day import fleet_board

    return fleet_board.board(desk, battle=battle)


def _prompts(step: CheckStep, key: str) -> str:
    """Ask a person for what belongs to an answer, and write it as a line of input would have it."""
    from maintain.cli._walk import press, prompt

    said = []
    if key == "f" and step.part is not None:
        pressed = press(f"{step.part}: f log a failure, s suspect, any other key: only note the fail")
        said.append(pressed if pressed in _OPENS else "")
    if key in ("p", "f") and step.measure is not None:
        figure = prompt(f"{step.measure} in {step.unit} (Enter: none)")
        said.append(f"={''.join(figure.split())}" if figure else "")
    if key == "s":
        said.append(prompt("what is promised? (Enter: to put it right)"))
    return " ".join(filter(None, said))


def _reply(step: CheckStep, key: str, rest: str, by: str | None) -> Reply:
    """An answer as it was keyed: after f what it opens, then the figure, then a note."""
    from maintain.services.battle_day.answers import Reply

    words = rest.split()
    opens = _OPENS.get(words[0].lower()) if key == "f" and words else None
    words = words[1:] if opens else words
    written = words[0] if words and key in ("p", "f") and _is_figure(words[0], step) else None
    words = words[1:] if written is not None else words
    return Reply(
        answer=_KEYS[key],
        figure=None if written is None else written.removeprefix("="),
        note=" ".join(words) or None,
        by=by,
        opens=opens,
    )


def _is_figure(word: str, step: CheckStep) -> bool:
    return word.startswith("=") or (step.measure is not None and word[0].isdigit())
