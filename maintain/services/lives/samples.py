"""Lives to ask about: of the club's records, or of any file of lives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.core.lives import Lives
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.exchange.lives_csv import LifeColumns, read_lives
from maintain.records import find
from maintain.records import tables as t
from maintain.results.life import Exclusion, Source
from maintain.services.lives.columns import Words
from maintain.services.lives.history import history
from maintain.services.lives.labels import LABELS, UNTREATED
from maintain.services.lives.table import Selection, life_table
from maintain.services.unit import Desk, reading

ALL = "all"
NOT_RECORDED = "not recorded"


@dataclass(frozen=True)
class Sample:
    """
    Lives to be asked about.

    Attributes
    ----------
    lives : Lives
    group : array of str
        Group of each life.
    clock : str
        The unit of their times.
    noun : str
        What one life is of.
    by : str, optional
        What the groups differ in.
    cluster : array of str, optional
        Lives with the same word share their luck.
    """

    lives: Lives
    group: Words
    clock: str
    noun: str
    by: str | None
    cluster: Words | None = None
    excluded: tuple[Exclusion, ...] = ()
    notes: tuple[str, ...] = ()

    def groups(self) -> dict[str, Sample]:
        """The sample split by group, in order of name."""
        found = {}
        for name in sorted(set(self.group.tolist())):
            rows = self.group == name
            cluster = None if self.cluster is None else self.cluster[rows]
            found[name] = replace(self, lives=self.lives.take(rows), group=self.group[rows], cluster=cluster)
        return found

    def source(self, conf: float, notes: list[str]) -> Source:
        """What an answer rests on."""
        return Source(self.clock, self.noun, self.by, conf, self.excluded, (*self.notes, *notes))


@dataclass(frozen=True)
class Wanted:
    """
    Which of the club's lives.

    Attributes
    ----------
    clock : str, optional
        Default: days.
    only : mapping
        By label, its value as people write it; None: any.
    """

    clock: str | None
    only: Mapping[str, str | None]


def sample(desk: Desk, *, file: str | None, columns: Mapping[str, str | None], wanted: Wanted) -> Sample:
    """
    Take the lives of a file if one is named, else those of the records.

    Parameters
    ----------
    desk : Desk
    file : str, optional
    columns : mapping
        Headings by the attributes of LifeColumns; of the records only `by`, a label, can be asked.
    wanted : Wanted
        Of the records.

    Raises
    ------
    InvalidRecord
        If columns are named without a file, or filters of the records with one.
    """
    if file is not None:
        given = [name for name, value in (("clock", wanted.clock), *wanted.only.items()) if value is not None]
        if given:
            option = "method" if given[0] == "waterproofing" else given[0]
            raise InvalidRecord(f"--{option} chooses among the club's records, not in a file", hint="leave it out")
        return of_file(Path(file), LifeColumns(**columns))
    named = [name for name, value in columns.items() if value is not None and name != "by"]
    if named:
        raise InvalidRecord(f"--{named[0]} names a column of a file", hint="name the file with --csv")
    return of_records(desk, wanted, columns.get("by"))


def of_file(path: Path, columns: LifeColumns) -> Sample:
    """Lives of a CSV file."""
    read = read_lives(path, columns)
    group = np.array(read.group, dtype=object) if columns.by else np.full(read.lives.n, ALL, dtype=object)
    return Sample(read.lives, group, columns.time or "time", "life", columns.by)


def of_records(desk: Desk, wanted: Wanted, by: str | None) -> Sample:
    """
    Lives of the club's parts on one clock, in groups by a label.

    Raises
    ------
    NotEnoughData
        If there is no such life.
    """
    label = find.match(list(LABELS), by, "label", f"--by {', '.join(LABELS)}") if by else None
    with reading(desk) as connection:
        chosen = {name: _value(connection, name, text) for name, text in wanted.only.items() if text is not None}
        past = history(connection, desk.today)
    clock = wanted.clock or say.CLOCKS[0]
    table = life_table(past, clock, Selection(chosen))
    noun = chosen.get("family") or chosen.get("category") or "part"
    lives = table.known.lives
    if not lives.n:
        raise _nothing_known(chosen, clock, table.excluded)
    group = table.known.labels[label] if label else np.full(lives.n, ALL, dtype=object)
    spoken = np.where(group == "", NOT_RECORDED, group)
    return Sample(lives, spoken, clock, noun, label, table.known.labels["ship"], table.excluded, table.notes)


def _value(connection: sa.Connection, label: str, text: str) -> str:
    """The value of a label that `text` means."""
    if label == "ship":
        return str(find.ship(connection, text).name)
    if label == "family":
        return str(find.family(connection, text).name)
    if label == "waterproofing":
        names = list(connection.execute(sa.select(t.method.c.name)).scalars())
        return find.match([*names, UNTREATED], text, "waterproofing method", "maintain method list")
    listed = {"category": say.CATEGORIES, "zone": say.ZONES}[label]
    return find.match(list(listed), text, label, f"one of: {', '.join(listed)}")


def _nothing_known(chosen: Mapping[str, str], clock: str, excluded: tuple[Exclusion, ...]) -> NotEnoughData:
    what = ", ".join(chosen.values()) or "any part"
    left_out = "; ".join(f"{each.n} left out: {each.reason}" for each in excluded)
    return NotEnoughData(
        f"no lives of {what} on the clock {clock!r}" + (f" ({left_out})" if left_out else ""),
        hint="record when parts were fitted, with: maintain part add --origin new --into SHIP/POSITION --from DATE",
    )
