"""Lives to ask about: of the club's records, or of any file of lives."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain import vocabulary as say
from maintain.core.lives import Bools, Floats, Lives
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.exchange.lives_csv import LifeColumns, read_lives
from maintain.records import find
from maintain.records import tables as t
from maintain.results.life_source import Exclusion, Source
from maintain.services.lives.changing import CHANGING, RENEWALS, Stretches, stretches
from maintain.services.lives.circumstances import MAY_BE_UNFAIR, causes_of, seasons_of, sinkings_of, sunk_of, told_of
from maintain.services.lives.columns import Words, as_date, day_number, places
from maintain.services.lives.history import History, history, history_of
from maintain.services.lives.labels import LABELS, UNTREATED
from maintain.services.lives.table import EXAMPLES, Cohort, Selection, life_table
from maintain.services.unit import Desk, reading

ALL = "all"
NOT_RECORDED = "not recorded"
UNTOLD = (NOT_RECORDED, "unknown")


@dataclass(frozen=True)
class Sample:
    """
    Lives to be asked about; all arrays by life.

    Attributes
    ----------
    lives : Lives
    group : array of str
    clock : str
        The unit of their times.
    noun : str
        What one life is of.
    by : str, optional
        What the groups differ in.
    cluster : array of str, optional
        Lives with the same word share their luck.
    clusters : mapping of array of str
        All ways in which they may share it, by name.
    columns : mapping of array
        Labels or numbers by which they differ, by name: all labels of the records, or the columns named of a file.
    cause : array of str, optional
        What ended each life, "" where nothing did; of the records also what ended lives that had not failed by
        themselves.
    told : tuple of str
        Names in `columns` that may make a comparison of groups unfair.
    seasons : float, optional
        Years in which these lives were watched.
    others : function, optional
        Returns the club's lives that were not chosen; read when asked for.
    part : array, optional
        Whose life each row is a stretch of; None: every row is a whole life.
    interval : array of int, optional
        Of rows of the records: ALIVE, or which failure came somewhere in this row or others of that number.
    tag : array of str, optional
        Of the records, the part's.
    sunk : array, optional
        Of the records, the sinkings each was under in while it was watched.
    """

    lives: Lives
    group: Words
    clock: str
    noun: str
    by: str | None
    cluster: Words | None = None
    excluded: tuple[Exclusion, ...] = ()
    notes: tuple[str, ...] = ()
    clusters: Mapping[str, Words] = field(default_factory=dict)
    columns: Mapping[str, NDArray[Any]] = field(default_factory=dict)
    cause: Words | None = None
    told: tuple[str, ...] = ()
    seasons: float | None = None
    others: Callable[[], Cohort] | None = None
    part: NDArray[Any] | None = None
    interval: NDArray[np.intp] | None = None
    tag: Words | None = None
    sunk: Floats | None = None

    @property
    def n(self) -> int:
        """Number of lives, however many rows they take."""
        return self.lives.n if self.part is None else int(np.unique(self.part.astype(str)).size)

    @property
    def several_rows(self) -> bool:
        """True if what changes during a life is told in several rows."""
        return self.n < self.lives.n

    def take(self, rows: Bools | NDArray[np.intp]) -> Sample:
        """Return the lives in `rows` (indices or mask)."""
        return replace(
            self,
            lives=self.lives.take(rows),
            group=self.group[rows],
            cluster=None if self.cluster is None else self.cluster[rows],
            clusters={name: each[rows] for name, each in self.clusters.items()},
            columns={name: each[rows] for name, each in self.columns.items()},
            cause=None if self.cause is None else self.cause[rows],
            part=None if self.part is None else self.part[rows],
            interval=None if self.interval is None else self.interval[rows],
            tag=None if self.tag is None else self.tag[rows],
            sunk=None if self.sunk is None else self.sunk[rows],
        )

    def cluster_codes(self) -> NDArray[np.intp] | None:
        """Clusters numbered from 0; None if it is not known which lives share their luck."""
        return None if self.cluster is None else np.unique(self.cluster.astype(str), return_inverse=True)[1]

    def groups(self) -> dict[str, Sample]:
        """The sample split by group, in order of name."""
        return {name: self.take(self.group == name) for name in sorted(set(self.group.tolist()))}

    def clustered_beside(self, names: Iterable[str]) -> Sample:
        """Return the sample without clusters of these names: what is asked about can't be luck as well."""
        ways = {name: each for name, each in self.clusters.items() if name not in names}
        if len(ways) == len(self.clusters):
            return self
        return replace(self, clusters=ways, cluster=next(iter(ways.values()), None))

    def known_by(self, names: Iterable[str]) -> Sample:
        """
        Return the lives whose labels of these names somebody knows; what is left out is counted and named.

        The words of a file are its own and all count.
        """
        sample = self
        for name in dict.fromkeys(names):
            known = ~np.isin(sample.columns[name], UNTOLD) if name in sample.columns else np.array([True])
            if sample.tag is None or known.all():
                continue
            if not known.any():
                raise NotEnoughData(f"no life has its {name} recorded", hint="record it, or ask for another label")
            tags = tuple(dict.fromkeys(sample.tag[~known].tolist()))
            left = Exclusion(f"{name} is not known", len(tags), sample.n, tags[:EXAMPLES])
            sample = replace(sample.take(known), excluded=(*sample.excluded, left))
        return sample

    def heading(self, name: str) -> str:
        """The full name of a column."""
        if name in self.columns:
            return name
        known = ", ".join((*self.columns, *(() if self.tag is None else CHANGING)))
        return find.match(list(self.columns), name, "label or column", f"one of: {known}")

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
    since : date, optional
        Lives are watched from this day on; older parts enter at the age they had.
    fitted_since : date, optional
        Only parts first fitted on this day or later.
    """

    clock: str | None
    only: Mapping[str, str | None]
    since: date | None = None
    fitted_since: date | None = None


def sample(
    desk: Desk,
    *,
    file: str | None,
    columns: Mapping[str, str | None],
    wanted: Wanted,
    further: tuple[str, ...] = (),
) -> Sample:
    """
    Take the lives of a file if one is named, else those of the records.

    Parameters
    ----------
    desk : Desk
    file : str, optional
    columns : mapping
        Headings by the attributes of LifeColumns; of the records only `by` and `cluster`, labels, can be asked.
    wanted : Wanted
        Of the records.
    further : tuple of str
        Columns of the file by which lives differ; of the records every label comes along.

    Raises
    ------
    InvalidRecord
        If columns are named without a file, or filters of the records with one.
    """
    if file is not None:
        days = (("since", wanted.since), ("fitted-since", wanted.fitted_since))
        given = [name for name, value in (("clock", wanted.clock), *days, *wanted.only.items()) if value is not None]
        if given:
            option = "method" if given[0] == "waterproofing" else given[0]
            raise InvalidRecord(f"--{option} chooses among the club's records, not in a file", hint="leave it out")
        return of_file(Path(file), LifeColumns(**columns, further=tuple(dict.fromkeys(further))))
    named = [name for name, value in columns.items() if value is not None and name not in _LABELLED]
    if named:
        option = _SPELT.get(named[0], named[0])
        raise InvalidRecord(f"--{option} names a column of a file", hint="name the file with --csv")
    return of_records(desk, wanted, columns.get("by"), columns.get("cluster"), further)


_LABELLED = ("by", "cluster")
_SPELT = {"part": "id"}


def of_file(path: Path, columns: LifeColumns) -> Sample:
    """Lives of a CSV file."""
    read = read_lives(path, columns)
    if not read.lives.n:
        names = ", ".join(read.incomplete)
        raise NotEnoughData(f"no row of {path.name} has all of: {names}", hint="fill these in, or leave the column out")
    group = np.array(read.group, dtype=object) if columns.by else np.full(read.lives.n, ALL, dtype=object)
    cluster = np.array(read.cluster, dtype=object) if columns.cluster else None
    return Sample(
        lives=read.lives,
        group=group,
        clock=columns.time or "time",
        noun="life",
        by=columns.by,
        cluster=cluster,
        excluded=tuple(
            Exclusion(f"{name} is missing", len(lines), read.rows, tuple(f"row {line}" for line in lines[:EXAMPLES]))
            for name, lines in read.incomplete.items()
        ),
        clusters={} if cluster is None else {str(columns.cluster): cluster},
        columns=read.further,
        cause=np.where(read.lives.failed, np.array(read.cause, dtype=object), "") if columns.cause else None,
        told=tuple(read.further),
        notes=_written_twice(read.twice),
        part=np.array(read.part, dtype=object) if columns.part else None,
    )


def _written_twice(lines: tuple[int, ...]) -> tuple[str, ...]:
    """Caution that some rows may be one life written twice."""
    if not lines:
        return ()
    first = ", ".join(map(str, lines[:EXAMPLES])) + (" ..." if len(lines) > EXAMPLES else "")
    which = f"row {first} is" if len(lines) == 1 else f"{len(lines)} rows ({first}) are"
    return (
        f"{which} like an earlier row in every column: if that is a life written twice, name whose it is with --id",
    )


def of_records(
    desk: Desk, wanted: Wanted, by: str | None, cluster: str | None = None, further: tuple[str, ...] = ()
) -> Sample:
    """
    Lives of the club's parts on one clock, in groups by a label.

    Where `further` names a count that grows during a life (sinkings, renewals), each life is cut into stretches.

    Raises
    ------
    NotEnoughData
        If there is no such life.
    """
    label, shared = (
        find.match(list(LABELS), name, "label", f"--{option} {', '.join(LABELS)}") if name else None
        for option, name in (("by", by), ("cluster", cluster))
    )
    with reading(desk) as connection:
        chosen = {name: meant(connection, name, text) for name, text in wanted.only.items() if text is not None}
        past = history(connection, desk.today, wanted.since)
    clock = wanted.clock or say.CLOCKS[0]
    table = life_table(past, clock, Selection(chosen, day_number(wanted.fitted_since) if wanted.fitted_since else None))
    noun = chosen.get("family") or chosen.get("category") or "part"
    known = table.known
    if not known.lives.n:
        raise _nothing_known(chosen, clock, table.excluded, wanted)
    labels = {name: np.where(column == "", NOT_RECORDED, column) for name, column in known.labels.items()}
    told = told_of(past, known)

    def others() -> Cohort:
        everyone = life_table(past, clock).known
        return everyone.take(~np.isin(everyone.part, known.part))

    whole_lives = Sample(
        lives=known.lives,
        group=labels[label] if label else np.full(known.lives.n, ALL, dtype=object),
        clock=clock,
        noun=noun,
        by=label,
        cluster=labels[shared or "ship"],
        excluded=table.excluded,
        notes=(*_watched_from(wanted.since), *table.notes),
        clusters={shared: labels[shared]} if shared else {"ship": labels["ship"], "sinking": sinkings_of(known)},
        columns={**labels, **told},
        cause=causes_of(known),
        told=(*MAY_BE_UNFAIR, *told),
        seasons=seasons_of(past, known),
        others=others,
        tag=known.tag,
        sunk=sunk_of(past, known),
    )
    counts = tuple(name for name in further if name in CHANGING)
    return _in_stretches(whole_lives, _cut(past, known, counts), counts) if counts else whole_lives


def _watched_from(since: date | None) -> tuple[str, ...]:
    return (
        () if since is None else (f"watched from {since} on: parts fitted earlier enter at the age they had by then",)
    )


def _cut(past: History, known: Cohort, counts: tuple[str, ...]) -> Stretches:
    """Lives cut where counts change; what was counted before the day asked for still counts."""
    if past.since is None:
        return stretches(past, known, counts)
    ever = history_of(past.rows, as_date(past.today))
    everyone = life_table(ever, say.CLOCKS[0]).known
    return stretches(ever, everyone.take(places(everyone.part, known.part)), counts).from_age(known.lives.entry)


def _in_stretches(sample: Sample, cut: Stretches, counts: tuple[str, ...]) -> Sample:
    if sample.clock != say.CLOCKS[0]:
        raise InvalidRecord(
            f"{counts[0]} are counted along the days, not along {sample.clock}", hint="leave out --clock"
        )
    grow = f"{' and '.join(counts)}: counted up to each day of a life"
    if RENEWALS in counts:
        grow += "; a renewal is given to a part that still works, mostly in winter, and some of its effect may be that"
    rows = sample.take(cut.life)
    return replace(
        rows,
        lives=cut.lives,
        columns={**rows.columns, **cut.counts},
        part=cut.life,
        interval=cut.interval,
        notes=(*rows.notes, grow),
    )


def meant(connection: sa.Connection, label: str, text: str) -> str:
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


def _nothing_known(
    chosen: Mapping[str, str], clock: str, excluded: tuple[Exclusion, ...], wanted: Wanted
) -> NotEnoughData:
    what = ", ".join(chosen.values()) or "any part"
    left_out = "; ".join(f"{each.n} left out: {each.reason}" for each in excluded)
    begun = {"since": wanted.since, "fitted-since": wanted.fitted_since}
    days = " or ".join(f"--{name}" for name, day in begun.items() if day is not None)
    fitted = "record when parts were fitted, with: maintain part add --origin new --into SHIP/POSITION --from DATE"
    return NotEnoughData(
        f"no lives of {what} on the clock {clock!r}" + (f" ({left_out})" if left_out else ""),
        hint=f"name an earlier day with {days}, or leave it out" if days else fitted,
    )
