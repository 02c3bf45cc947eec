"""The score sheet of a battle: which ship sank how often; its columns go by many names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from maintain.errors import NotFound
from maintain.exchange.any_table import Table, read_table

# Headings that clubs write, the first the one to recommend (common practice, no source).
_HEADINGS = {
    "battle": ("battle", "event", "meet"),
    "ship": ("ship", "vessel", "hull"),
    "sinkings": ("sinkings", "sinks", "sank", "sunk", "times sunk"),
    "sortie": ("sortie", "sortie no.", "sortie number"),
}
_WORDS = {"": 0, "-": 0, "no": 0, "n": 0, "yes": 1, "y": 1, "sank": 1, "sunk": 1}
_NOT_KNOWN = ("n/a", "na", "?", "unknown")
_TOTALS = ("total", "totals", "sum")


@dataclass(frozen=True)
class Score:
    """
    One row.

    Attributes
    ----------
    row : int
        Its line in the file.
    battle : str, optional
        None: the sheet has no column for it.
    sinkings : int
    sortie : int, optional
        Of the day, where the sheet says so.
    """

    row: int
    battle: str | None
    ship: str
    sinkings: int
    sortie: int | None


@dataclass(frozen=True)
class ScoreSheet:
    """The rows that say something, what was left out, one line each, and what can't be read, by its line."""

    scores: tuple[Score, ...]
    left_out: tuple[str, ...]
    faults: Mapping[int, str]


def read_scores(path: Path) -> ScoreSheet:
    """
    Read a score sheet; a blank battle is the one above, and a row of totals is left out.

    Raises
    ------
    NotFound
        If there is no such file, or no column of ships or sinkings.
    """
    table = read_table(path, "a ship in a battle, or in one of its sorties")
    columns = {what: _column(table, names) for what, names in _HEADINGS.items()}
    for what in ("ship", "sinkings"):
        if columns[what] is None:
            raise NotFound(
                f"{path.name} has no column of {what}s" if what == "ship" else f"{path.name} has no column of {what}",
                hint=f"head it {_HEADINGS[what][0]}; its columns are: {', '.join(table.headings)}",
            )
    faults: dict[int, str] = {}
    left_out: list[str] = []
    scores = tuple(_scores(table, columns, faults, left_out))
    return ScoreSheet(scores, tuple(left_out), faults)


def _column(table: Table, names: tuple[str, ...]) -> list[str] | None:
    found = [each for name in names for each in table.headings if each.lower() == name]
    return table.column(found[0]) if found else None


def _scores(
    table: Table, columns: dict[str, list[str] | None], faults: dict[int, str], left_out: list[str]
) -> Iterator[Score]:
    battle = None
    for row, line in enumerate(table.lines):
        cells = {what: column[row] if column is not None else "" for what, column in columns.items()}
        battle = cells["battle"] or battle
        if not cells["ship"] or cells["ship"].lower() in _TOTALS:
            left_out.append(f"row {line} names no ship")
            continue
        if cells["sinkings"].lower() in _NOT_KNOWN:
            left_out.append(f"row {line}: nobody knows whether {cells['ship']} sank")
            continue
        sinkings, sortie = _whole(cells["sinkings"]), _whole(cells["sortie"]) or None
        if sinkings is None:
            faults[line] = f"{cells['sinkings']!r} is no number of sinkings, nor yes or no"
        elif cells["sortie"] and sortie is None:
            faults[line] = f"{cells['sortie']!r} is no number of a sortie"
        else:
            yield Score(line, battle, cells["ship"], sinkings, sortie)


def _whole(text: str) -> int | None:
    folded = text.strip().lower().removesuffix(".0")
    if folded in _WORDS:
        return _WORDS[folded]
    return int(folded) if folded.isascii() and folded.isdigit() and len(folded) <= 2 else None
