"""What is done after a sinking, and what was found of every part."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Result


@dataclass(frozen=True)
class Answered:
    """
    An answer as it was given.

    Attributes
    ----------
    answer : str
    opened : bool
        Whether the part's own case was opened.
    dried : str, optional
        How it was dried; None: nobody said.
    by : str, optional
        The member who answered.
    at : str
        When.
    """

    answer: str
    opened: bool
    dried: str | None
    by: str | None
    at: str
    note: str | None


@dataclass(frozen=True)
class SalvageStep:
    """
    One step after a sinking.

    Attributes
    ----------
    step : int
        Its number, which stays.
    topic, question : str
        What it is about, and how it is asked.
    answers : tuple of str
        What may be answered.
    position, part : str, optional
        Where and which; None: the ship as a whole.
    how : str, optional
        How it is done.
    safety : bool
        True: until it is done, a safety item is open.
    decider : str, optional
        Who decides.
    cautions : tuple of str
        What to mind.
    due_on : date, optional
        Of a retest: not before this day.
    stands : str, optional
        Why it is not asked, if it is not: the box was dry, the part has left, something else showed that it works.
    apart : bool
        True: a battery that is neither charged nor tried.
    given : Answered, optional
        The answer.
    """

    step: int
    topic: str
    question: str
    answers: tuple[str, ...]
    position: str | None = None
    part: str | None = None
    how: str | None = None
    safety: bool = False
    decider: str | None = None
    cautions: tuple[str, ...] = ()
    due_on: date | None = None
    stands: str | None = None
    apart: bool = False
    given: Answered | None = None

    @property
    def settled(self) -> bool:
        """Whether it was answered, and not by saying that nobody did it."""
        return self.given is not None and self.given.answer != "not done"

    def open_on(self, day: date) -> bool:
        """Whether it is to be answered by a day."""
        return self.given is None and self.stands is None and (self.due_on is None or self.due_on <= day)


@dataclass(frozen=True)
class Retest:
    """A part that is to be tried again, from which day on, and which time that is."""

    part: str
    position: str
    step: int
    after: str
    due_on: date


@dataclass(frozen=True)
class SalvagePage(Result):
    """
    A ship after a sinking.

    Attributes
    ----------
    day, number : date, int
        The sortie that sank her.
    wetness, water : str
        How wet she got (None: nobody said), and the kind of water.
    minutes_under : float, optional
        None: nobody knows.
    cause, system : str, optional
        Why she sank.
    begun_on, finished_on : date, optional
        None: not begun; not all answered that is not for a later day.
    as_of : date
        The day that counts as today.
    answered, asked : int
        How many steps are answered, of how many that are asked today.
    retests : tuple of Retest
        The next one of each part.
    open_safety : tuple of str
        Steps of safety that are not done.
    suspects : tuple of str
        Parts of hers withdrawn and not judged yet.
    verdict : str
        What may be said; never that she is cleared.
    """

    ship: str
    captain: str | None
    day: date
    number: int
    battle: str | None
    wetness: str | None
    water: str
    minutes_under: float | None
    cause: str
    system: str | None
    begun_on: date | None
    finished_on: date | None
    as_of: date
    answered: int
    asked: int
    steps: tuple[SalvageStep, ...]
    retests: tuple[Retest, ...]
    open_safety: tuple[str, ...]
    suspects: tuple[str, ...]
    verdict: str
    notes: tuple[str, ...] = ()

    def pending(self) -> SalvageStep | None:
        """The first step that is to be answered by today."""
        return next((each for each in self.steps if each.open_on(self.as_of)), None)

    def listing(self) -> Listing:
        """The steps as a table."""
        rows = tuple(
            {
                "step": each.step,
                "question": each.question,
                "position": each.position,
                "part": each.part,
                "due_on": each.due_on,
                "answer": each.given.answer if each.given else None,
                "opened": each.given.opened if each.given else None,
                "dried": each.given.dried if each.given else None,
                "by": each.given.by if each.given else None,
                "at": each.given.at if each.given else None,
                "note": each.given.note if each.given else each.stands,
            }
            for each in self.steps
        )
        return Listing(f"{self.ship} after sortie {self.number} of {self.day}", _STEP_COLUMNS, rows)


_STEP_COLUMNS = (
    Column("step", "Step", numeric=True),
    Column("question", "Question"),
    Column("position", "Position"),
    Column("part", "Part"),
    Column("due_on", "Due on"),
    Column("answer", "Answer"),
    Column("opened", "Opened"),
    Column("dried", "Dried"),
    Column("by", "By"),
    Column("at", "When"),
    Column("note", "Note"),
)
