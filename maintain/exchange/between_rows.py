"""Rules between rows: nothing recorded twice, one part in one place, nothing powered or caused in a circle."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from maintain.exchange.fault import Fault
from maintain.exchange.labels import Row
from maintain.exchange.merge import Merged, identity

_PAST = {"sortie": "sailed_on", "failure": "found_on"}
_ALONE = {"ship": "club_number"}  # columns that no two rows share besides the identity of their file


def doubles(merged: Merged) -> Iterator[Fault]:
    """Rows of a file that are another row of the file, or of the records, once more."""
    sheet = merged.sheet
    if sheet.unique:
        heading = next((each.heading for each in sheet.fields if each.column in sheet.identity[-1:]), "")
        yield from _doubled(merged, heading, sheet.identity, lambda row: identity(sheet, row))
    column = _ALONE.get(sheet.table)
    if column:
        heading = next(each.heading for each in sheet.fields if each.column == column)
        yield from _doubled(merged, heading, (column,), lambda row: row[column])


def _doubled(merged: Merged, heading: str, columns: tuple[str, ...], key_of: Any) -> Iterator[Fault]:
    holders: dict[Any, Row] = {}
    for uid, row in merged.rows.items():
        draft = merged.drafts.get(uid)
        key = key_of(row)
        if key is None or (draft and not draft.bad.isdisjoint(columns)):
            continue
        first = holders.setdefault(key, row)
        if first is row:
            continue
        other = merged.drafts.get(first["uid"])
        if draft and other:
            yield draft.fault(heading, f"is the same as in row {other.row}", "keep one of the two rows")
        elif draft or other:
            mend = "leave the Uid cell empty to change that row" if columns != ("club_number",) else "give another"
            yield (draft or other).fault(heading, "is recorded already", mend)  # type: ignore[union-attr]


def to_come(merged: Merged, today: date) -> Iterator[Fault]:
    """Rows to be written of what can only have happened, dated later than today."""
    column = _PAST.get(merged.sheet.table)
    if column is None:
        return
    heading = next(each.heading for each in merged.sheet.fields if each.column == column)
    for row in (*merged.new, *(row for _, row in merged.changed)):
        draft = merged.drafts[row["uid"]]
        if column not in draft.bad and row[column] > today:
            mend = f"write the day it happened; today is {today}, or as --on says"
            yield draft.fault(heading, f"{row[column]} is in the future", mend)


def overlaps(merged: Merged) -> Iterator[Fault]:
    """Placements of one part, or in one position, at the same time."""
    for column, heading, what in (
        ("part_id", "Part", "is in two places"),
        ("position_id", "Position", "holds two parts"),
    ):
        by_holder: dict[str, list[Row]] = {}
        for row in merged.rows.values():
            if row[column] is not None and _dated(merged, row):
                by_holder.setdefault(row[column], []).append(row)
        for rows in by_holder.values():
            yield from _overlapping(merged, sorted(rows, key=_span), heading, what)


def _dated(merged: Merged, row: Row) -> bool:
    draft = merged.drafts.get(row["uid"])
    moments = ("from_on", "from_sortie", "until_on", "until_sortie")
    return draft is None or (draft.bad.isdisjoint(moments) and _span(row)[0] <= _span(row)[1])


def _span(row: Row) -> tuple[tuple[date, int], tuple[date, int]]:
    return (row["from_on"], row["from_sortie"]), (row["until_on"] or date.max, row["until_sortie"] or 0)


def _overlapping(merged: Merged, rows: list[Row], heading: str, what: str) -> Iterator[Fault]:
    """Hold each row against the one before it that ends last: if that does not clash, none does."""
    longest = rows[0]
    for row in rows[1:]:
        (from_, until), (first, last) = _span(row), _span(longest)
        if first < until and from_ < last:
            yield from _clash(merged, row, longest, heading, what)
        if until > last:
            longest = row


def _clash(merged: Merged, row: Row, other: Row, heading: str, what: str) -> Iterator[Fault]:
    draft, elder = merged.drafts.get(row["uid"]), merged.drafts.get(other["uid"])
    if draft is None:
        draft, elder, row, other = elder, None, other, row
    if draft is not None:
        where = f"row {elder.row}" if elder else "a placement on record"
        end = f"until {other['until_on']}" if other["until_on"] else "with no end"
        yield draft.fault(
            heading, f"{what} at once: {where} holds from {other['from_on']} {end}", "end one before the other begins"
        )


def circles(merged: Merged) -> Iterator[Fault]:
    """Rows that refer back to themselves through others of the same table."""
    for each in merged.sheet.references:
        if each.to != merged.sheet.table:
            continue
        for uid, draft in merged.drafts.items():
            if _comes_back(merged.rows, uid, each.column):
                yield draft.fault(each.heading, "comes back to this row in a circle", "empty one of these cells")


def _comes_back(rows: dict[str, Row], uid: str, column: str) -> bool:
    seen = {uid}
    following = rows[uid][column]
    if following == uid:
        return False  # a rule of the single row has said so already
    while following is not None and following not in seen:
        seen.add(following)
        following = rows[following][column]
    return bool(following == uid)
