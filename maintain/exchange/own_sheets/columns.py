"""Which column says what: by its heading, by how its cells look, and by what a person said of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from maintain.exchange.own_sheets import dates, numbers
from maintain.exchange.own_sheets.grid import Cell, Unreadable
from maintain.exchange.own_sheets.headings import Match, match, unit_in_doubt
from maintain.exchange.own_sheets.kinds import KINDS, Kind, Meaning
from maintain.exchange.own_sheets.words import UNKNOWN, folded

LEFT_OUT = ""
_MANY = "note"  # the one meaning that several columns may have
_LOOKED_AT = 300  # cells of a column
_FEW = 0.5  # share of cells below which a heading is doubted
_MOST = 0.8  # share of cells from which a column of unknown heading is proposed
_CLEAR = 0.75  # by how much a kind of sheet must stand out to be taken

IsKnown = Callable[[str, str], bool]  # table, text -> whether something recorded there has that name


@dataclass(frozen=True)
class Column:
    """
    A column of the sheet.

    Attributes
    ----------
    place : int
    heading : str
    key : str
        Its meaning in the kind of sheet; empty: it is left out.
    sure : str
        "sure", "doubtful", "told" (a person said it) or "left out".
    why : str
        What speaks for it, or against.
    """

    place: int
    heading: str
    key: str
    sure: str
    why: str = ""


def choose_kind(
    headings: Sequence[str], cells: Sequence[Sequence[Cell]], titles: str, known: IsKnown
) -> tuple[Kind | None, list[Kind]]:
    """The kind of sheet that its columns speak for, None if several do; and all of them, the likeliest first."""
    scores = {kind.name: _score(kind, match_columns(kind, headings, cells, known, {}), titles) for kind in KINDS}
    ordered = sorted(KINDS, key=lambda kind: -scores[kind.name])
    first, second = ordered[:2]
    clear = scores[first.name] >= 1 and scores[first.name] - scores[second.name] >= _CLEAR
    return (first if clear else None), ordered


def _score(kind: Kind, columns: Sequence[Column], titles: str) -> float:
    weights = {"sure": 1.0, "doubtful": 0.5}
    keys = {column.key: weights.get(column.sure, 0.0) for column in columns if column.key}
    told = sum(weight for key, weight in keys.items() if key != _MANY)
    lacking = sum(each.needed and each.key not in keys for each in kind.meanings)
    hinted = 1.0 if set(folded(titles).split()) & set(kind.hints) else 0.0
    return told - 1.5 * lacking + hinted


def match_columns(
    kind: Kind, headings: Sequence[str], cells: Sequence[Sequence[Cell]], known: IsKnown, told: Mapping[str, str]
) -> list[Column]:
    """
    Give each column its meaning in a kind of sheet.

    Parameters
    ----------
    kind : Kind
    headings : sequence of str
    cells : sequence of sequence
        The cells of each column.
    known : function
    told : mapping
        Keys by folded heading, as a person said; an empty key leaves the column out.
    """
    columns: dict[int, Column] = {}
    for place, heading in enumerate(headings):
        if folded(heading) in told:
            columns[place] = Column(place, heading, told[folded(heading)], "told")
    taken = {column.key for column in columns.values() if column.key and column.key != _MANY}
    for score, fit, place, meaning, found in _candidates(kind, headings, cells, known):
        if place in columns:
            continue
        if meaning.key in taken and meaning.key != _MANY:
            if score == 1.0 and not _has_other(kind, headings[place], taken):
                columns[place] = Column(place, headings[place], LEFT_OUT, "doubtful", f"{meaning.key} is read already")
            continue
        unit = unit_in_doubt(headings[place], meaning)
        sure = score == 1.0 and fit >= _FEW and not unit
        why = found.why or ("" if fit >= _FEW else f"few of its cells are {_spoken(meaning)}")
        why = f"{unit!r} is no unit we know: its numbers would be read as they stand" if unit else why
        columns[place] = Column(place, headings[place], meaning.key, "sure" if sure else "doubtful", why)
        taken.add(meaning.key)
    for place, heading in enumerate(headings):
        if place not in columns:
            columns[place] = _nothing_we_keep(place, heading, cells[place])
    return [_empty(columns[place], cells[place]) for place in sorted(columns)]


def _nothing_we_keep(place: int, heading: str, cells: Sequence[Cell]) -> Column:
    """A column of a heading nobody knows; numbers are not left out without a question."""
    told = [cell for cell in cells[:_LOOKED_AT] if cell != "" and str(cell).lower() not in UNKNOWN]
    numeric = sum(bool(numbers.readings(cell)) for cell in told)
    if told and numeric >= _FEW * len(told):
        return Column(place, heading, LEFT_OUT, "doubtful", "it holds numbers, and we know no such heading")
    return Column(place, heading, LEFT_OUT, "left out", "nothing we keep has such a heading")


def _empty(column: Column, cells: Sequence[Cell]) -> Column:
    if column.sure != "told" and not any(cell != "" for cell in cells):
        return replace(column, key=LEFT_OUT, sure="left out", why="it holds nothing")
    return column


def _has_other(kind: Kind, heading: str, taken: set[str]) -> bool:
    return any(match(heading, each).score == 1.0 and each.key not in taken for each in kind.meanings)


def _candidates(
    kind: Kind, headings: Sequence[str], cells: Sequence[Sequence[Cell]], known: IsKnown
) -> list[tuple[float, float, int, Meaning, Match]]:
    """All that any column could mean, the best first."""
    found = []
    for place, heading in enumerate(headings):
        sample = [cell for cell in cells[place][:_LOOKED_AT] if cell != "" and not isinstance(cell, Unreadable)]
        for meaning in kind.meanings:
            by_heading = match(heading, meaning)
            fit = _fit(sample, meaning, known)
            if by_heading.score:
                found.append((by_heading.score, fit, place, meaning, by_heading))
            elif sample and fit >= _MOST and _telling(meaning):
                found.append((0.4, fit, place, meaning, Match(0.4, f"its cells look like {_spoken(meaning)}")))
    return sorted(found, key=lambda each: (-each[0], -each[1], each[2]))


def _telling(meaning: Meaning) -> bool:
    """Whether the look of cells alone can tell this meaning."""
    return meaning.needed and (meaning.how in ("day", "word") or meaning.of == "ship")


def _fit(sample: Sequence[Cell], meaning: Meaning, known: IsKnown) -> float:
    """The share of cells that can be read as this."""
    told = [cell for cell in sample if not (isinstance(cell, str) and cell.lower() in UNKNOWN)]
    if not told:
        return 1.0
    return sum(_fits(cell, meaning, known) for cell in told) / len(told)


def _fits(cell: Cell, meaning: Meaning, known: IsKnown) -> bool:
    if meaning.how in ("day", "fuzzy day"):
        return bool(dates.readings(cell)) and not (meaning.how == "day" and isinstance(cell, int) and cell < 3000)
    if meaning.how in ("number", "whole", "money"):
        unit = "money" if meaning.how == "money" else meaning.unit
        return bool(numbers.readings(numbers.split_unit(cell, unit)[0]))
    text = "yes" if cell is True else "no" if cell is False else str(cell)
    if meaning.how == "word":
        return folded(text) in meaning.words or text.lower() in meaning.words
    if meaning.of in ("ship", "position"):
        return known(meaning.of, text) or _may_be_new(meaning, cell)
    return not dates.readings(cell) or meaning.how != "name"


def _may_be_new(meaning: Meaning, cell: Cell) -> bool:
    """A ship nobody has recorded yet is no number and no date; a position is known, at least of typical ships."""
    return meaning.of == "ship" and not meaning.carried and isinstance(cell, str) and not numbers.readings(cell)


def _spoken(meaning: Meaning) -> str:
    return {"day": "days", "fuzzy day": "dates", "word": "its words"}.get(meaning.how, f"{meaning.key}s")
