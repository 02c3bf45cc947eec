"""What other files call a row: Halberd, Halberd/rudder-servo, Halberd 2026-05-03 #2; its uid if that is not unique."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from maintain.errors import InvalidRecord
from maintain.exchange.field import Sheet

_UID = re.compile(r"[0-9a-f]{32}")

Row = dict[str, Any]  # by stored column; a reference is the uid of the row it refers to
Records = dict[str, list[Row]]  # rows by table


def folded(text: str) -> str:
    """What counts when names are compared: neither case nor the number of spaces."""
    return " ".join(text.lower().split())


@dataclass(frozen=True)
class Labels:
    """
    The labels of the rows of one table.

    Attributes
    ----------
    sheet : Sheet
        Its file.
    of : dict
        Label by uid, unique or not.
    holders : dict
        Uids by folded label.
    drafted : frozenset of str
        Uids of rows that stand in the files being read.
    """

    sheet: Sheet
    of: dict[str, str]
    holders: dict[str, list[str]]
    drafted: frozenset[str] = frozenset()

    def name(self, uid: str) -> str:
        """How to write a reference to a row so that it is found again."""
        label = self.of[uid]
        unique = len(self.holders[folded(label)]) == 1 and label and not _UID.fullmatch(folded(label))
        return label if unique else uid

    def find(self, text: str) -> str:
        """
        The uid of the row a reference means.

        Raises
        ------
        InvalidRecord
            If there is no such row, or more than one.
        """
        key = folded(text)
        if key in self.of and _UID.fullmatch(key):
            return key
        holders = self.holders.get(key, [])
        if len(holders) == 1:
            return holders[0]
        if self.sheet.unique and not self.drafted.isdisjoint(holders):
            return holders[0]  # that row is refused as doubled; what refers to it is not at fault
        if holders:
            raise InvalidRecord(f"{text!r} could be any of {len(holders)}", hint=f"write its uid: {', '.join(holders)}")
        near = difflib.get_close_matches(key, self.holders, n=1)
        meant = self.of[self.holders[near[0]][0]] if near else ""
        hint = (
            f"did you mean {meant}?" if meant else f"add it to {self.sheet.file}, or write its name as it stands there"
        )
        raise InvalidRecord(f"no {self.sheet.what} called {text!r}", hint=hint)


def label_rows(sheet: Sheet, rows: Iterable[Row], labels: Mapping[str, Labels], drafted: Iterable[str] = ()) -> Labels:
    """Label the rows of a table; `labels` are those of the tables it refers to, `drafted` the uids from files."""
    columns = re.findall(r"{(\w+)}", sheet.label)
    targets = {field.column: labels[field.to] for field in sheet.references if field.column in columns}
    of: dict[str, str] = {}
    holders: dict[str, list[str]] = {}
    for row in rows:
        said = {column: _said(row[column], targets.get(column)) for column in columns}
        label = " ".join(sheet.label.format_map(said).split())
        of[row["uid"]] = label
        holders.setdefault(folded(label), []).append(row["uid"])
    return Labels(sheet, of, holders, frozenset(drafted))


def _said(value: Any, target: Labels | None) -> str:
    if value is None:
        return ""
    return target.of.get(value, "") if target else str(value)
