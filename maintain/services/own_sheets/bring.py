"""Bring a club's own spreadsheet in: shown first, written once somebody agreed, and read the same way the next time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy as sa

from maintain.core.names import quoted
from maintain.core.wording import count
from maintain.errors import FileRejected, InvalidRecord
from maintain.exchange.labels import Records
from maintain.exchange.own_sheets import agreed
from maintain.exchange.own_sheets.agreed import Told
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.columns import Column
from maintain.exchange.own_sheets.grid import Grid, as_text, read_grid
from maintain.exchange.own_sheets.shape import Header, find_header
from maintain.exchange.own_sheets.understanding import AS_SAID, Understood, understand
from maintain.exchange.own_sheets.words import as_said
from maintain.records.whole import read_all
from maintain.results.base import Done, plain
from maintain.results.own_sheet import LeftOutRow, OwnSheet, ReadColumn, UnreadRow, Writes
from maintain.services import templates
from maintain.services.importing import write_all
from maintain.services.own_sheets import remembered
from maintain.services.own_sheets.proposal import Proposal, propose
from maintain.services.unit import Desk, reading, writing

_EXAMPLES = 3


@dataclass(frozen=True)
class Wish:
    """
    What somebody said of a sheet on the command line.

    Attributes
    ----------
    sheet : str, optional
        Which sheet of a workbook.
    kind, order, mark : str, optional
    columns : tuple of str
        "Heading=field".
    means : tuple of str
        "WRITTEN=MEANT".
    told : Told
        What was answered to questions.
    """

    sheet: str | None = None
    kind: str | None = None
    order: str | None = None
    mark: str | None = None
    columns: tuple[str, ...] = ()
    means: tuple[str, ...] = ()
    told: Told = field(default_factory=Told)


@dataclass(frozen=True)
class _Read:
    """A sheet read against the records."""

    header: Header
    told: Told
    agreed_on: str | None
    understood: Understood
    proposal: Proposal


def look(desk: Desk, path: Path, wish: Wish) -> OwnSheet:
    """How a sheet would be read, what it would become, and what it leaves open; nothing is written."""
    grid = read_grid(path, wish.sheet)
    with reading(desk) as connection:
        return _shown(path, _read(desk, connection, grid, wish, read_all(connection)[0]))


def bring(desk: Desk, path: Path, wish: Wish, *, agree: bool, skip_unread: bool) -> Done | OwnSheet:
    """
    Import a sheet, in one change that `undo` takes back whole, if that was agreed: now, or for sheets of its headings.

    Without agreement the answer shows what would be imported. An earlier agreement holds for what is new; what would
    change something on record is to be agreed to each time.

    Raises
    ------
    FileRejected
        If it was agreed to, but something is open, or rows can't be read and nobody said to leave them.
    """
    if not agree:
        shown = look(desk, path, wish)
        if shown.agreed_on is None or _stops(shown, skip_unread) or any(each.changed for each in shown.writes):
            return shown
    grid = read_grid(path, wish.sheet)
    try:
        with writing(desk, "import") as recorder:
            known, ids = read_all(recorder.connection)
            read = _read(desk, recorder.connection, grid, wish, known)
            shown = _shown(path, read)
            if _stops(shown, skip_unread):
                raise _refused(shown)
            write_all(recorder, read.proposal.merged, ids, lambda _what, _share: None)
            remembered.keep(recorder, desk, path.name, read.header.headings, _settled(read))
            done = _done(path, read, shown)
            recorder.summarise(done.did)
    except InvalidRecord as error:
        raise FileRejected(f"{path.name} was not imported: {error.message}", hint="nothing was written") from error
    return done


def _stops(shown: OwnSheet, skip_unread: bool) -> bool:
    """Whether something is open, or unread and not to be left out."""
    return bool(shown.questions or (shown.unread and not skip_unread))


def _read(desk: Desk, connection: sa.Connection, grid: Grid, wish: Wish, known: Records) -> _Read:
    header = find_header(grid)
    kept = remembered.find(connection, header.headings)
    club = Club(known, desk.today, templates.positions())
    told = _told(wish, wish.told.over(remembered.told_of(kept)))
    if wish.columns:
        kind = told.kind or _kind_of(understand(grid, header, club, told))
        said = {key: value for text in wish.columns for key, value in agreed.column_said(text, kind).items()}
        told = Told(kind=kind, columns=said).over(told)
    understood = understand(grid, header, club, told)
    proposal = propose(understood, club, known, desk.today)
    return _Read(header, told, None if kept is None else f"{kept.agreed_on}", understood, proposal)


def _told(wish: Wish, answered: Told) -> Told:
    means = dict(agreed.pair(text, "--means") for text in wish.means)
    said = Told(
        agreed.known_kind(wish.kind) if wish.kind else None,
        {},
        wish.order,
        wish.mark,
        {as_said(written): meant for written, meant in means.items()},
    )
    return said.over(answered)


def _kind_of(understood: Understood) -> str:
    if understood.kind is None:
        raise InvalidRecord("nobody can tell yet what this sheet lists", hint="say it with --kind, beside --column")
    return understood.kind.name


def _settled(read: _Read) -> Told:
    """All that was said, and which column is what; what the cells of one sheet decided says nothing of the next."""
    found = read.understood.settled
    return Told(found.kind, found.columns, read.told.order, read.told.mark, read.told.means)


def _as_once_said(read: _Read) -> list[str]:
    """What an earlier agreement says of dates and decimals, where nothing in the sheet does."""
    if read.agreed_on is None:
        return []
    told = [each for each in read.understood.readings if each.because == AS_SAID]
    ways = dict.fromkeys(
        (each.column.heading, each.order if each.is_dated else f"decimals {each.mark}") for each in told
    )
    return [f"{heading} is read {way}, as was said on {read.agreed_on}" for heading, way in ways]


def _shown(path: Path, read: _Read) -> OwnSheet:
    understood, proposal = read.understood, read.proposal
    kind = understood.kind
    first, last = read.header.first + 1, read.header.last + 1
    left = [(row, text, "above the headings") for row, text in read.header.titles]
    left += [(each.row, each.text, each.why) for each in understood.body.left_out]
    unread = tuple(UnreadRow(each.row, each.column, each.what, each.mend) for each in proposal.faults)
    sheet = f" [{understood.grid.sheet}]" if understood.grid.sheet else ""
    return OwnSheet(
        file=path.name + sheet,
        kind=kind.name if kind else None,
        row_is=kind.row if kind else "",
        agreed_on=read.agreed_on,
        heading_rows=tuple(range(first, last + 1)),
        columns=tuple(_column(each, understood) for each in understood.columns),
        rows=proposal.rows,
        left_out=tuple(LeftOutRow(*each) for each in left),
        unread=unread,
        questions=understood.questions,
        carried=sum(line.carried for line in understood.lines),
        notes=(*understood.grid.notes, *_as_once_said(read), *_assumed(proposal)),
        writes=tuple(Writes(file, **counts) for file, counts in proposal.counts.items()),
        agree=_agree(path, unread) if proposal.rows and not understood.questions else "",
    )


def _assumed(proposal: Proposal) -> list[str]:
    return [f"{count(n, 'time')}: {what}" for what, n in proposal.assumed.items()]


def _agree(path: Path, unread: Sequence[UnreadRow]) -> str:
    return f"maintain import {quoted(str(path))} --agree" + (" --skip-unread" if unread else "")


def _column(column: Column, understood: Understood) -> ReadColumn:
    cells = [row.cells[column.place] for row in understood.body.rows if row.cells[column.place] != ""]
    examples = tuple(dict.fromkeys(as_text(cell) for cell in cells))[:_EXAMPLES]
    reading_ = next((each for each in understood.readings if each.column == column), None)
    says = reading_.says if reading_ else ""
    is_open = reading_ is not None and reading_.open
    sure, why = ("doubtful", "to be said how it is written") if is_open else (column.sure, column.why)
    return ReadColumn(column.heading, column.key or None, says, examples, sure, why)


def _refused(shown: OwnSheet) -> FileRejected:
    lines = [f"  {each.text} Say: {each.option}" for each in shown.questions]
    lines += [
        f"  row {each.row}{f', {each.column}' if each.column else ''}: {each.what} ({each.mend})"
        for each in shown.unread
    ]
    open_ = [count(len(shown.questions), "question")] if shown.questions else []
    rows = len({each.row for each in shown.unread})
    open_ += [f"{count(rows, 'row')} can't be read"] if shown.unread else []
    hint = (
        "answer them, or leave out --agree at a terminal and be asked"
        if shown.questions
        else ("mend the rows, or leave them out with --skip-unread")
    )
    return FileRejected(
        f"{shown.file}: {' and '.join(open_)}; nothing was written",
        hint=hint,
        lines=lines,
        questions=[plain(each) for each in shown.questions],
        unread=[plain(each) for each in shown.unread],
    )


def _done(path: Path, read: _Read, shown: OwnSheet) -> Done:
    files = read.proposal.counts
    total = {key: sum(counts[key] for counts in files.values()) for key in ("new", "changed", "known")}
    told = ", ".join(
        f"{n} {key if key != 'known' else 'known already'}" for key, n in total.items() if n or key == "new"
    )
    left = sorted({each.row for each in shown.unread})
    notes = [f"read as agreed on {read.agreed_on}", *_as_once_said(read)] if read.agreed_on else []
    notes += [f"{name}: {counts['new']} new, {counts['changed']} changed" for name, counts in files.items()]
    notes += [f"row {each.row} was left out: {each.what}" for each in shown.unread]
    notes += _assumed(read.proposal)
    record = {"dry_run": False, **total, "files": files, "rows_left_out": left}
    return Done(f"imported {path.name} as {shown.kind}: {told}", notes=tuple(notes), record=record)
