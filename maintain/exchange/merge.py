"""What a file would change: its rows joined to those already recorded, without touching either."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from maintain.errors import InvalidRecord
from maintain.exchange.drafts import Draft, complete
from maintain.exchange.fault import Fault
from maintain.exchange.field import Field, Sheet
from maintain.exchange.labels import Labels, Records, Row, folded, label_rows
from maintain.exchange.layout import SHEETS

_NAMESPACE = uuid.UUID("7d0f3c1e-52b5-4c0b-9a2e-6f3b8a1d9c40")  # drawn once; a change would give old rows new uids


@dataclass(frozen=True)
class Merged:
    """
    The rows of one table as they would stand afterwards.

    Attributes
    ----------
    sheet : Sheet
        Its file.
    rows : dict
        All rows by uid.
    drafts : dict
        The rows of the file by uid.
    new : list of dict
        Rows to add.
    changed : list of (str, dict)
        Uid of a recorded row, and the row it becomes.
    unchanged : int
        Rows of the file that stand in the records already.
    """

    sheet: Sheet
    rows: dict[str, Row]
    drafts: dict[str, Draft]
    new: list[Row] = field(default_factory=list)
    changed: list[tuple[str, Row]] = field(default_factory=list)
    unchanged: int = 0


def merge(drafts: Iterable[Draft], known: Records) -> tuple[list[Merged], list[Fault]]:
    """Join the rows of the files to the recorded ones, table by table."""
    by_table: dict[str, list[Draft]] = {}
    for draft in drafts:
        by_table.setdefault(draft.sheet.table, []).append(draft)
    labels: dict[str, Labels] = {}
    merged: list[Merged] = []
    faults: list[Fault] = []
    for sheet in SHEETS:
        table, some = _merge_table(sheet, by_table.get(sheet.table, []), known[sheet.table], labels)
        merged.append(table)
        faults += some
    return merged, faults


def _merge_table(
    sheet: Sheet, drafts: Sequence[Draft], known: Sequence[Row], labels: dict[str, Labels]
) -> tuple[Merged, list[Fault]]:
    recorded = {row["uid"]: row for row in known}
    others = [each for each in sheet.references if each.to != sheet.table]
    faults = _find_references(drafts, others, labels)
    faults += _give_uids(sheet, drafts, recorded)
    rows = {uid: row for uid, row in recorded.items() if uid not in {draft.known_as for draft in drafts}}
    for draft in drafts:
        before = recorded.get(draft.known_as, {})
        rows[draft.uid] = complete(sheet, {**before, **draft.values, "uid": draft.uid})
    if sheet.label:
        labels[sheet.table] = label_rows(sheet, rows.values(), labels, (draft.uid for draft in drafts))
    own = [each for each in sheet.references if each.to == sheet.table]
    faults += _find_references(drafts, own, labels)
    for draft in drafts:
        rows[draft.uid].update({each.column: draft.values[each.column] for each in own if each.column in draft.values})
    return _compared(sheet, drafts, recorded, rows), faults


def _compared(sheet: Sheet, drafts: Sequence[Draft], recorded: Mapping[str, Row], rows: dict[str, Row]) -> Merged:
    new, changed, unchanged = [], [], 0
    for draft in drafts:
        row = rows[draft.uid]
        if not draft.known_as:
            new.append(row)
        elif row != recorded[draft.known_as]:
            changed.append((draft.known_as, row))
        else:
            unchanged += 1
    return Merged(sheet, rows, {draft.uid: draft for draft in drafts}, new, changed, unchanged)


def _find_references(drafts: Iterable[Draft], fields: Sequence[Field], labels: Mapping[str, Labels]) -> list[Fault]:
    faults = []
    for draft in drafts:
        for each in fields:
            text = draft.references.get(each.column)
            if text is None:
                continue
            try:
                draft.values[each.column] = labels[each.to].find(text)
            except InvalidRecord as error:
                draft.values[each.column] = None
                draft.bad.add(each.column)
                faults.append(draft.fault(each.heading, error.message, error.hint))
    return faults


def identity(sheet: Sheet, row: Mapping[str, Any]) -> tuple[str, ...]:
    """What a row is known by when it has no uid."""
    return tuple("" if row.get(column) is None else folded(str(row[column])) for column in sheet.identity)


def _give_uids(sheet: Sheet, drafts: Sequence[Draft], recorded: Mapping[str, Row]) -> list[Fault]:
    """Settle which recorded row each row of the file is, and the uid of those that bring none."""
    faults = list(_refuse_given_twice(drafts))
    used = {draft.uid for draft in drafts if draft.uid}
    free: dict[tuple[str, ...], list[str]] = {}
    for uid, row in recorded.items():
        if uid not in used:
            free.setdefault(identity(sheet, row), []).append(uid)
    _know_again(sheet, drafts, free)
    used |= {draft.uid for draft in drafts}
    for draft in drafts:
        if not draft.uid:
            draft.uid = next(each for each in _made_uids(sheet, draft) if each not in used)
            used.add(draft.uid)
        if not draft.known_as and draft.uid in recorded:
            draft.known_as = draft.uid
    return faults


def _refuse_given_twice(drafts: Sequence[Draft]) -> Iterator[Fault]:
    rows: dict[str, int] = {}
    for draft in drafts:
        if draft.uid in rows:
            yield draft.fault("Uid", f"stands in row {rows[draft.uid]} too", "leave it empty in a new row")
            draft.uid = uuid.uuid4().hex
        elif draft.uid:
            rows[draft.uid] = draft.row


def _know_again(sheet: Sheet, drafts: Iterable[Draft], free: dict[tuple[str, ...], list[str]]) -> None:
    """Match rows without uid to recorded rows of the same identity, the first to the first."""
    for draft in drafts:
        holders = free.get(identity(sheet, draft.values))
        # The club is one, whatever its uid was where the file was made.
        if holders and (not draft.uid or not sheet.identity):
            draft.known_as = holders.pop(0)
            draft.uid = draft.uid or draft.known_as


def _made_uids(sheet: Sheet, draft: Draft) -> Iterator[str]:
    """Uids for the first, second ... row of an identity: the same from the same file, today and tomorrow."""
    key = identity(sheet, draft.values)
    for count in itertools.count(1):
        yield uuid.uuid5(_NAMESPACE, "\n".join((sheet.table, *key, str(count)))).hex
