"""What a sheet would put into the records: its rows held against them, without touching either."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from maintain.exchange.cells import write_cell
from maintain.exchange.drafts import Draft
from maintain.exchange.fault import Fault
from maintain.exchange.field import Field
from maintain.exchange.labels import Records, Row
from maintain.exchange.merge import Merged
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.understanding import Understood, make_drafts
from maintain.results.own_sheet import ReadRow
from maintain.services.importing import check

_ROUNDS = 20  # in which rows that lean on rows left out are left out too


@dataclass(frozen=True)
class Proposal:
    """
    What would be written.

    Attributes
    ----------
    merged : list of Merged
        Without the rows that can't be read.
    faults : tuple of Fault
        What is wrong with those.
    rows : tuple of ReadRow
    assumed : mapping
        What was taken for granted, and of how many rows.
    """

    merged: list[Merged] = field(default_factory=list)
    faults: tuple[Fault, ...] = ()
    rows: tuple[ReadRow, ...] = ()
    assumed: dict[str, int] = field(default_factory=dict)

    @property
    def counts(self) -> dict[str, dict[str, int]]:
        """New, changed and known rows by file of ours."""
        return {
            table.sheet.name: {"new": len(table.new), "changed": len(table.changed), "known": table.unchanged}
            for table in self.merged
            if table.drafts
        }


def propose(understood: Understood, club: Club, known: Records, today: date) -> Proposal:
    """Leave out what can't be recorded, and whatever leans on it, until the rest holds."""
    if understood.is_open:
        return Proposal()  # whatever it said of the rows might be wrong
    skip: frozenset[int] = frozenset()
    faults: list[Fault] = []
    for _ in range(_ROUNDS):
        drafts, found, assumed = make_drafts(understood, club, skip)
        bad = skip | {fault.row for fault in found}
        good = [draft for draft in drafts if draft.row not in bad]
        merged, broken = check(good, known, today)
        broken += [fault for table in merged for fault in _unfilled(table)]
        faults += [*found, *broken]
        if not found and not broken:
            break
        skip = bad | {fault.row for fault in broken}
    rows = tuple(ReadRow(row, lines) for row, lines in sorted(_told(merged, known).items()))
    ordered = sorted(dict.fromkeys(faults), key=lambda fault: fault.row)
    return Proposal(merged, tuple(ordered), rows, assumed)


def _unfilled(table: Merged) -> list[Fault]:
    """New rows that lack what no record can do without."""
    faults = []
    for row in table.new:
        draft = table.drafts[row["uid"]]
        for each in table.sheet.fields:
            if each.needed and row.get(each.column) is None and each.column not in draft.references:
                mend = f"the new {table.sheet.what} needs it: {each.meaning}"
                faults.append(draft.fault("", f"nothing says its {each.heading.lower()}", mend))
    return faults


def _told(merged: Sequence[Merged], known: Records) -> dict[int, tuple[str, ...]]:
    """What each row becomes, a line for each record."""
    lines: dict[int, tuple[str, ...]] = {}
    names = {
        row["uid"]: str(row.get("name") or row.get("tag")) for rows in known.values() for row in rows if "uid" in row
    }
    for table in merged:
        recorded = {row["uid"]: row for row in known[table.sheet.table]}
        changed = {row["uid"]: recorded[uid] for uid, row in table.changed}
        new = {row["uid"] for row in table.new}
        for uid, draft in table.drafts.items():
            state = "new" if uid in new else "changed" if uid in changed else "known"
            said = ", ".join(_values(draft, table.rows[uid], changed.get(uid), names))
            lines[draft.row] = (*lines.get(draft.row, ()), f"{state} {table.sheet.what}: {said}")
    return lines


def _values(draft: Draft, row: Row, before: Row | None, names: Mapping[str, str]) -> list[str]:
    """The cells of a record as our own file would show them; of a changed one what it is known by, and old and new."""
    said = []
    for each in draft.sheet.fields:
        if each.column not in draft.values or row[each.column] is None:
            continue
        is_new = before is None or before[each.column] != row[each.column]
        text = draft.references.get(each.column) or write_cell(each, row)
        if before is not None and is_new:
            said.append(f"{each.heading} {text} (was {_old(each, before, names)})")
        elif is_new or each.column in draft.sheet.identity:
            said.append(text if each.kind in ("name", "reference", "day", "tag") else f"{each.heading} {text}")
    return said


def _old(each: Field, before: Row, names: Mapping[str, str]) -> str:
    """What stood in a cell."""
    if before[each.column] is None:
        return "nothing"
    return names[before[each.column]] if each.kind == "reference" else write_cell(each, before)
