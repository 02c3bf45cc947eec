"""Ask what a club's own sheet leaves open, one key each; nothing is imported before the last answer."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from maintain.cli._missing import at_terminal
from maintain.errors import InvalidRecord

if TYPE_CHECKING:
    from maintain.results.base import Done, Result
    from maintain.results.own_sheet import OwnSheet, Question
    from maintain.services.own_sheets.bring import Wish
    from maintain.services.unit import Desk

_AGREED, _SKIPPED = "y", "s"


def bring(
    desk: Desk, path: Path, wish: Wish, *, agree: bool, skip_unread: bool, ask: bool | None, dry_run: bool
) -> Result:
    """Show a sheet, ask what it leaves open, and import it if that was agreed."""
    from maintain.services.own_sheets import bring as service

    asks = at_terminal() if ask is None else ask
    if dry_run:
        return service.look(desk, path, wish)
    if agree or not asks:
        return service.bring(desk, path, wish, agree=agree, skip_unread=skip_unread)
    asking = _Asking(desk, path, wish)
    asking.go()
    if asking.agreed is None:
        return asking.page()
    skips = skip_unread or asking.agreed == _SKIPPED
    return service.bring(desk, path, asking.wish, agree=True, skip_unread=skips)


@dataclass
class _Asking:
    """What was answered so far."""

    desk: Desk
    path: Path
    wish: Wish
    agreed: str | None = None
    before: list[Wish] = field(default_factory=list)

    def page(self) -> OwnSheet:
        """The sheet as it would be read with what was answered."""
        from maintain.services.own_sheets import bring as service

        return service.look(self.desk, self.path, self.wish)

    def go(self) -> None:
        """Walk through the questions; the last is whether to import."""
        from maintain.cli._walk import Walk, walk
        from maintain.render.own_sheet import ask

        walk(
            Walk(
                pending=self._pending,
                draw=ask,
                keys=_keys,
                prompts=_prompts,
                answer=self._answer,
                take_back=self._take_back,
                paused="nothing was imported",
            )
        )

    def _pending(self) -> Question | None:
        if self.agreed is not None:
            return None
        page = self.page()
        return page.questions[0] if page.questions else _whether(page)

    def _answer(self, question: Question, key: str, rest: str) -> Done:
        from maintain.results.base import Done

        chosen = next(each for each in question.choices if each.key == key)
        answer = rest or chosen.answer
        if not answer:
            raise InvalidRecord("nothing was said", hint="write what it is after the key")
        if question.about == "import":
            self.agreed = key
        else:
            told = replace(self.wish.told, kind=self.page().kind)
            self.before.append(self.wish)
            self.wish = replace(self.wish, told=told.answered(question, answer))
        return Done(f"{question.subject or question.about}: {answer if rest else chosen.says}")

    def _take_back(self) -> Done:
        from maintain.results.base import Done

        if not self.before:
            raise InvalidRecord("nothing was answered yet", hint="answer, or pause with q")
        self.wish = self.before.pop()
        return Done("taken back")


def _keys(question: Question) -> dict[str, str]:
    return {each.key: each.says for each in question.choices}


def _prompts(question: Question, key: str) -> str:
    from maintain.cli._walk import prompt

    needed = not next(each for each in question.choices if each.key == key).answer
    return prompt(question.option if question.about == "column" else "which?") if needed else ""


def _whether(page: OwnSheet) -> Question:
    """Show the whole, and ask whether to import it."""
    from maintain.render.own_sheet import preview
    from maintain.results.own_sheet import Choice, Question

    preview(page)
    if page.unread:
        choice = Choice(_SKIPPED, "import the rest", "import the rest")
        return Question(
            "import", "", "Import what can be read, and leave out the rows named?", (choice,), "--skip-unread"
        )
    choice = Choice(_AGREED, "import", "import")
    return Question("import", "", "Import it so?", (choice,), "--agree")
