"""What is asked and answered on the day of a battle."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result


@dataclass(frozen=True)
class Limit:
    """
    What a figure is held against, and who says so.

    Attributes
    ----------
    bound : str
        "at most" or "at least".
    """

    bound: str
    value: float
    unit: str
    source: str

    def kept_by(self, value: float) -> bool:
        """Whether a figure is on the right side of it."""
        return value <= self.value if self.bound == "at most" else value >= self.value


@dataclass(frozen=True)
class Figure:
    """A figure that was read, and when."""

    value: float
    taken_on: date


@dataclass(frozen=True)
class Given:
    """
    An answer as it was given.

    Attributes
    ----------
    answer : str
        pass, fail, not done or promise.
    figure : float, optional
    by : str, optional
        The member who answered.
    at : str
        When.
    promise : str, optional
        The task it became.
    promise_due_on : date, optional
    """

    answer: str
    figure: float | None
    by: str | None
    at: str
    note: str | None
    promise: str | None = None
    promise_due_on: date | None = None


@dataclass(frozen=True)
class CheckStep:
    """
    One question of the morning.

    Attributes
    ----------
    step : int
        Its number, which stays.
    topic : str, optional
        None: it was answered elsewhere.
    question : str
        In the pond's words.
    position, part : str, optional
        Where and which; None: the whole ship, or nothing fitted.
    how : str, optional
        How it is tested.
    measure, unit : str, optional
        Of the figure the test gives.
    limit : Limit, optional
        None: none is known.
    last : Figure, optional
        The figure of the last time.
    safety : bool
        True: while it is open, a safety item is open.
    decider : str, optional
        Who decides on it.
    cautions, due, suspects : tuple of str
        What to mind, what is due on it, what is doubted.
    given : Given, optional
        The answer.
    """

    step: int
    topic: str | None
    question: str
    position: str | None
    part: str | None = None
    how: str | None = None
    measure: str | None = None
    unit: str | None = None
    limit: Limit | None = None
    last: Figure | None = None
    safety: bool = False
    decider: str | None = None
    cautions: tuple[str, ...] = ()
    due: tuple[str, ...] = ()
    suspects: tuple[str, ...] = ()
    given: Given | None = None


@dataclass(frozen=True)
class Promise:
    """Work promised at an earlier check and still open."""

    what: str
    due_on: date
    since: date
    decider: str | None


@dataclass(frozen=True)
class LegalDate:
    """
    A certificate of a part aboard.

    Attributes
    ----------
    holds : bool
        Whether it runs out after the battle.
    """

    part: str
    position: str
    kind: str
    expires_on: date
    source: str
    decider: str
    holds: bool


@dataclass(frozen=True)
class CheckPage(Result):
    """
    The check of a ship before a battle.

    Attributes
    ----------
    begun_on, finished_on : date, optional
        None: not begun, not finished.
    answered : int
        How many of the steps.
    due : tuple of str
        What is due on the ship as a whole.
    due_from : str
        What the lines of what is due rest on.
    open_safety, open_items : tuple of str
        What is recorded as open, on safety and otherwise.
    verdict : str
        What may be said of it; never that she is cleared.
    """

    ship: str
    captain: str | None
    battle: str
    from_on: date
    until_on: date
    begun_on: date | None
    finished_on: date | None
    answered: int
    steps: tuple[CheckStep, ...]
    promises: tuple[Promise, ...]
    suspects: tuple[str, ...]
    certificates: tuple[LegalDate, ...]
    due: tuple[str, ...]
    due_from: str
    open_safety: tuple[str, ...]
    open_items: tuple[str, ...]
    verdict: str
    notes: tuple[str, ...] = ()

    def pending(self) -> CheckStep | None:
        """The first step without an answer."""
        return next((each for each in self.steps if each.given is None), None)

    def listing(self) -> Listing:
        """The steps as a table."""
        rows = tuple(
            {
                "step": each.step,
                "question": each.question,
                "position": each.position,
                "answer": each.given.answer if each.given else None,
                "figure": each.given.figure if each.given else None,
                "unit": each.unit,
                "by": each.given.by if each.given else None,
                "at": each.given.at if each.given else None,
                "note": each.given.note if each.given else None,
            }
            for each in self.steps
        )
        return Listing(f"{self.ship} before {self.battle}", _STEP_COLUMNS, rows)


_STEP_COLUMNS = (
    Column("step", "Step", numeric=True),
    Column("question", "Question"),
    Column("position", "Position"),
    Column("answer", "Answer"),
    Column("figure", "Figure", numeric=True),
    Column("unit", "Unit"),
    Column("by", "By"),
    Column("at", "When"),
    Column("note", "Note"),
)
