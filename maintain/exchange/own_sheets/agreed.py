"""What a person said about a sheet: its kind, its columns, its dates, its names; kept by the sheet's headings."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace

from maintain.errors import InvalidRecord
from maintain.exchange.own_sheets.columns import LEFT_OUT
from maintain.exchange.own_sheets.dates import ORDERS
from maintain.exchange.own_sheets.kinds import BY_NAME
from maintain.exchange.own_sheets.numbers import MARKS
from maintain.exchange.own_sheets.words import as_said, folded, near
from maintain.results.own_sheet import Question

OUT = "out"  # how a person says that a column is left out


@dataclass(frozen=True)
class Told:
    """
    What a person said.

    Attributes
    ----------
    kind : str, optional
    columns : mapping
        Key by folded heading; an empty key leaves the column out.
    order, mark : str, optional
        Of dates, and what stands before decimals, wherever a column leaves it open.
    means : mapping
        What a text of the sheet means, by `words.as_said` of it.
    """

    kind: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    order: str | None = None
    mark: str | None = None
    means: Mapping[str, str] = field(default_factory=dict)

    def over(self, earlier: Told) -> Told:
        """This, and of an earlier telling whatever this leaves open; columns of another kind are forgotten."""
        same = self.kind in (None, earlier.kind)
        return Told(
            self.kind or earlier.kind,
            {**(earlier.columns if same else {}), **self.columns},
            self.order or earlier.order,
            self.mark or earlier.mark,
            {**earlier.means, **self.means},
        )

    def answered(self, question: Question, answer: str) -> Told:
        """This, with a question answered."""
        if question.about == "kind":
            return replace(self, kind=known_kind(answer))
        if question.about == "date order":
            return replace(self, order=_one_of(answer, ORDERS, "an order of dates"))
        if question.about == "decimals":
            return replace(self, mark=_one_of(answer, MARKS, "a mark of decimals"))
        if question.about == "column":
            assert self.kind is not None  # it is asked first
            return replace(self, columns={**self.columns, **column_said(f"{question.subject}={answer}", self.kind)})
        return replace(self, means={**self.means, as_said(question.subject): answer})

    def as_json(self) -> str:
        """As it is kept."""
        return json.dumps(asdict(self), ensure_ascii=False, sort_keys=True)


def from_json(text: str) -> Told:
    """As it was kept; columns and kinds that this program no longer knows are forgotten."""
    kept = Told(**json.loads(text))
    if kept.kind not in BY_NAME:
        return Told()
    keys = {LEFT_OUT, *(each.key for each in BY_NAME[kept.kind].meanings)}
    return replace(kept, columns={heading: key for heading, key in kept.columns.items() if key in keys})


def fingerprint(headings: Sequence[str]) -> str:
    """What sheets with the same headings, in any order and case, have in common."""
    return hashlib.sha256("\n".join(sorted(map(folded, headings))).encode()).hexdigest()


def known_kind(text: str) -> str:
    """
    The kind of sheet a text names.

    Raises
    ------
    InvalidRecord
    """
    return _one_of(text, tuple(BY_NAME), "a kind of sheet")


def column_said(text: str, kind: str) -> dict[str, str]:
    """
    What "Heading=field" says of a column in a kind of sheet.

    Raises
    ------
    InvalidRecord
        If there is no such field.
    """
    heading, key = pair(text, "--column")
    keys = [each.key for each in BY_NAME[kind].meanings]
    if key.lower() == OUT:
        return {folded(heading): LEFT_OUT}
    found = next((each for each in keys if folded(each) == folded(key)), None)
    if found is None:
        meant = near(key, keys)
        hint = f"did you mean {meant}? " if meant else ""
        listed = ", ".join((*keys, OUT))
        raise InvalidRecord(f"a sheet of {kind} has no field {key!r}", hint=f"{hint}it has: {listed}")
    return {folded(heading): found}


def pair(text: str, option: str) -> tuple[str, str]:
    """
    The two sides of WRITTEN=MEANT.

    Raises
    ------
    InvalidRecord
    """
    written, equals, meant = text.rpartition("=")
    if not (equals and written.strip() and meant.strip()):
        raise InvalidRecord(f"{option} {text!r} says nothing", hint=f'write {option} "WRITTEN=MEANT"')
    return written.strip(), meant.strip()


def _one_of(text: str, words: Sequence[str], what: str) -> str:
    found = [word for word in words if word == text.strip().lower()] or [
        word for word in words if text.strip() and word.startswith(text.strip().lower())
    ]
    if len(found) != 1:
        raise InvalidRecord(f"{text!r} is not {what}", hint=f"one of: {', '.join(words)}")
    return found[0]
