"""Take in files: everything is checked first, then all of it is written, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path

from maintain.core.wording import count
from maintain.errors import FileRejected, InvalidRecord
from maintain.exchange.between_rows import circles, doubles, overlaps, to_come
from maintain.exchange.drafts import Draft, draft_page
from maintain.exchange.fault import Fault
from maintain.exchange.labels import Records
from maintain.exchange.layout import SHEETS
from maintain.exchange.merge import Merged, merge
from maintain.exchange.reading import Page, in_our_layout, read_path
from maintain.exchange.rules import broken_rules
from maintain.records.journal import Recorder
from maintain.records.tables import metadata
from maintain.records.whole import Ids, read_all, write_table
from maintain.results.base import Done, plain
from maintain.services.battle_day.figures import sensible
from maintain.services.unit import Desk, reading, writing

Progress = Callable[[str, float], None]  # what is being done, and how much of all is done (0 to 1)


def is_own_sheet(path: Path) -> bool:
    """Whether a file is a club's own, in a layout that nobody knows yet."""
    return not in_our_layout(path)


def import_folder(desk: Desk, folder: Path, *, dry_run: bool = False, progress: Progress | None = None) -> Done:
    """
    Take in a folder of our files, one of them, or a workbook, in one change that `undo` takes back whole.

    Rows known already are left alone or, where they differ, changed. A dry run only says what would happen.

    Raises
    ------
    FileRejected
        If anything in the files is wrong; all of it is listed and nothing is written.
    """
    told = progress or (lambda _what, _share: None)
    told("reading the files", 0.0)
    pages, faults = read_path(folder)
    drafts: list[Draft] = []
    for page in pages:
        some, wrong = draft_page(page)
        drafts += some
        faults += wrong
    told("checking", 0.2)
    if dry_run:
        with reading(desk) as connection:
            merged = _checked(drafts, read_all(connection)[0], faults, desk.today)
        return _done(folder, pages, merged, dry_run=True)
    try:
        with writing(desk, "import") as recorder:
            known, ids = read_all(recorder.connection)
            merged = _checked(drafts, known, faults, desk.today)
            write_all(recorder, merged, ids, told)
            done = _done(folder, pages, merged, dry_run=False)
            recorder.summarise(done.did)
    except InvalidRecord as error:
        # All rules were checked, but of the rows as they would stand in the end, not of each step on the way.
        hint = "nothing was written; if rows trade names or places, import them in two steps"
        raise FileRejected(f"{folder} was not imported: {error.message}", hint=hint) from error
    return done


def _checked(drafts: Sequence[Draft], known: Records, faults: Sequence[Fault], today: date) -> list[Merged]:
    merged, found = check(drafts, known, today)
    if faults or found:
        raise _rejected([*faults, *found])
    return merged


def check(drafts: Sequence[Draft], known: Records, today: date) -> tuple[list[Merged], list[Fault]]:
    """Join drafts to the records, and hold the whole against every rule."""
    merged, found = merge(drafts, known)
    for table in merged:
        for uid, draft in table.drafts.items():
            found += broken_rules(draft, table.rows[uid])
        found += doubles(table)
        found += circles(table)
        found += to_come(table, today)
        found += _senseless(table)
        if table.sheet.table == "placement":
            found += overlaps(table)
    return merged, found


def _senseless(table: Merged) -> Iterator[Fault]:
    """Readings to be written that can't be meant, as when they are recorded one by one."""
    if table.sheet.table != "reading":
        return
    for row in (*table.new, *(row for _, row in table.changed)):
        draft = table.drafts[row["uid"]]
        if draft.bad.isdisjoint(("measure", "value")):
            try:
                sensible(row["value"], row["measure"])
            except InvalidRecord as error:
                yield draft.fault("Value", error.message, error.hint or "read it again")


def _rejected(faults: Sequence[Fault]) -> FileRejected:
    place = {sheet.file: number for number, sheet in enumerate(SHEETS)}
    ordered = sorted(faults, key=lambda fault: (place.get(fault.file, -1), fault.file, fault.row))
    return FileRejected(
        f"{count(len(ordered), 'fault')} found, nothing was written",
        hint="mend the rows named and import again",
        lines=[f"  {fault}" for fault in ordered],
        faults=[plain(fault) for fault in ordered],
    )


def write_all(recorder: Recorder, merged: Sequence[Merged], ids: Ids, told: Progress) -> None:
    """Write all that is new or changed."""
    total = sum(len(table.new) + len(table.changed) for table in merged)
    written = 0
    for table in merged:
        told(f"writing {table.sheet.name}", 0.3 + 0.7 * written / max(total, 1))
        write_table(recorder, metadata.tables[table.sheet.table], table.new, table.changed, ids)
        written += len(table.new) + len(table.changed)
    told("done", 1.0)


def _done(source: Path, pages: Sequence[Page], merged: Sequence[Merged], *, dry_run: bool) -> Done:
    named: dict[str, list[str]] = {}
    for page in pages:
        named.setdefault(page.sheet.table, []).append(page.file)
    files = {
        " and ".join(named[table.sheet.table]): {
            "new": len(table.new),
            "changed": len(table.changed),
            "known": table.unchanged,
        }
        for table in merged
        if table.sheet.table in named
    }
    total = {key: sum(counts[key] for counts in files.values()) for key in ("new", "changed", "known")}
    did = "would import" if dry_run else "imported"
    lines = tuple(f"{file}: {_counted(counts)}" for file, counts in files.items() if counts["new"] or counts["changed"])
    return Done(f"{did} {source}: {_counted(total)}", notes=lines, record={"dry_run": dry_run, **total, "files": files})


def _counted(counts: dict[str, int]) -> str:
    said = {"changed": "changed", "known": "known already"}
    return ", ".join(
        [f"{counts['new']} new", *(f"{counts[key]} {words}" for key, words in said.items() if counts[key])]
    )
