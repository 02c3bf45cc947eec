"""From the cells of a sheet and what was said of it to rows of our own files, and to the questions that are left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from maintain.core.names import quoted
from maintain.errors import FileRejected, InvalidRecord
from maintain.exchange.drafts import Draft, draft_page
from maintain.exchange.fault import Fault
from maintain.exchange.own_sheets import dates, numbers
from maintain.exchange.own_sheets.agreed import OUT, Told
from maintain.exchange.own_sheets.becoming import becomes
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.columns import Column, choose_kind, match_columns
from maintain.exchange.own_sheets.grid import Cell, Grid
from maintain.exchange.own_sheets.headings import factor_of, unit_in_doubt
from maintain.exchange.own_sheets.kinds import BY_NAME, KINDS, Kind, Meaning
from maintain.exchange.own_sheets.lines import Doubt, Line, LineReader, Reading
from maintain.exchange.own_sheets.making import Making, Ours
from maintain.exchange.own_sheets.settling import Settled
from maintain.exchange.own_sheets.shape import Body, BodyRow, Header, read_body
from maintain.exchange.own_sheets.words import folded
from maintain.exchange.reading import Page
from maintain.results.own_sheet import Choice, Question

_NUMERIC = ("number", "whole", "money")
_DATED = ("day", "fuzzy day")
_ONE_OF_MANY = ("ships", "members", "families")  # sheets in which a name alone is a record
_ENTRY = "abcdefghijkmnoprstvwxyz"  # keys for lists: not u and q, which take back and pause, nor l, which looks like 1
AS_SAID = "as was said"  # what decided a column where its cells decide nothing

Ask = Callable[[Column, Settled], Question]


@dataclass(frozen=True)
class Understood:
    """
    A sheet as it is read.

    Attributes
    ----------
    grid, header : Grid, Header
    kind : Kind, optional
        None: only the first question is known yet.
    columns : tuple of Column
    readings : tuple of Reading
    body : Body
    lines : tuple of Line
    questions : tuple of Question
    """

    grid: Grid
    header: Header
    kind: Kind | None
    columns: tuple[Column, ...]
    readings: tuple[Reading, ...]
    body: Body
    lines: tuple[Line, ...]
    questions: tuple[Question, ...]

    @property
    def is_open(self) -> bool:
        """Whether dates or numbers can't be read before something is said."""
        return self.kind is None or any(each.about in ("date order", "decimals") for each in self.questions)

    @property
    def settled(self) -> Told:
        """How it is read, to be kept and read so again."""
        kind = self.kind.name if self.kind else None
        said = [column for column in self.columns if column.key or column.sure == "told"]
        columns = {folded(column.heading): column.key for column in said}
        return Told(kind, columns)


def understand(grid: Grid, header: Header, club: Club, told: Told) -> Understood:
    """
    Read a sheet as far as it can be read.

    Raises
    ------
    FileRejected
        If somebody spoke of a column that is not there.
    """
    _require_headings(grid, header, told)
    cells = [[row[place] for row in grid.rows[header.last + 1 :]] for place in range(len(header.headings))]
    titles = " ".join((grid.file.rpartition(".")[0], grid.sheet, *(text for _, text in header.titles)))
    kind, likely = choose_kind(header.headings, cells, titles, club.is_known)
    kind = BY_NAME[told.kind] if told.kind else kind
    if kind is None:
        return Understood(grid, header, None, (), (), Body(), (), (_which_kind(likely),))
    columns = match_columns(kind, header.headings, cells, club.is_known, told.columns)
    used = [(column, kind.meaning(column.key)) for column in columns if column.key]
    alone = next((column.place for column, meaning in used if meaning.needed), None)
    body = read_body(
        grid,
        header,
        [column.place for column, meaning in used if meaning.carried],
        alone if kind.name in _ONE_OF_MANY else None,
    )
    readings, open_ = _read_columns(used, body.rows, (), club, told)
    lines = tuple(map(LineReader(grid.file, kind, readings, club, told.means).read, body.rows))
    readings, open_ = _read_columns(used, body.rows, lines, club, told)
    reader = LineReader(grid.file, kind, readings, club, told.means)
    lines = tuple(map(reader.read, body.rows))
    questions = [*_doubtful(columns, kind), *open_, *(_which_name(each, club) for each in reader.doubts.values())]
    return Understood(grid, header, kind, tuple(columns), tuple(readings), body, lines, tuple(_distinct(questions)))


def _read_columns(
    used: Sequence[tuple[Column, Meaning]], rows: Sequence[BodyRow], lines: Sequence[Line], club: Club, told: Told
) -> tuple[list[Reading], list[Question]]:
    """How the columns are read; a row refused for another of its cells decides none of them."""
    readings, questions = [], []
    for column, meaning in used:
        refused = {fault.row for line in lines for fault in line.faults if fault.column != column.heading}
        some = [row for row in rows if row.row not in refused]
        cells = [row.cells[column.place] for row in (some or rows)]
        reading, question = _read_as(column, meaning, cells, club, told)
        readings.append(reading)
        questions += [question] if question else []
    return readings, questions


def _require_headings(grid: Grid, header: Header, told: Told) -> None:
    there = {folded(heading) for heading in header.headings}
    stray = next((heading for heading in told.columns if heading not in there), None)
    if stray is not None:
        listed = ", ".join(header.headings)
        raise FileRejected(f"{grid.file} has no column {stray!r}", hint=f"its columns are: {listed}")


def _distinct(questions: Iterable[Question]) -> Iterator[Question]:
    """Each once: an order of dates is told for all columns that leave it open."""
    seen = set()
    for each in questions:
        key = (each.about, each.subject if each.about in ("column", "name") else "")
        if key not in seen:
            seen.add(key)
            yield each


def _which_kind(likely: Sequence[Kind]) -> Question:
    choices = tuple(
        Choice(key, f"{kind.name}: {kind.row}", kind.name) for key, kind in zip(_ENTRY, likely, strict=False)
    )
    names = ", ".join(kind.name for kind in KINDS)
    return Question("kind", "", "What is each row of this sheet?", choices, f"--kind ({names})")


def _doubtful(columns: Sequence[Column], kind: Kind) -> Iterator[Question]:
    for column in columns:
        if column.sure != "doubtful":
            continue
        says = f"{column.key} ({kind.meaning(column.key).says})" if column.key else "nothing yet"
        choices = (Choice("y", f"yes, {column.key}", column.key),) if column.key else ()
        rest = (Choice("n", "leave the column out", OUT), Choice("o", "another field", ""))
        fields = ", ".join((*(each.key for each in kind.meanings), OUT))
        option = f"--column {quoted(f'{column.heading}={column.key or OUT}')} ({fields})"
        text = (
            f"Is column {column.heading!r} {says}? ({column.why})"
            if column.key
            else (f"What is column {column.heading!r}? ({column.why})")
        )
        yield Question("column", column.heading, text, (*choices, *rest), option)


def _read_as(
    column: Column, meaning: Meaning, cells: Sequence[Cell], club: Club, told: Told
) -> tuple[Reading, Question | None]:
    """How a column is read, and what is left to ask."""
    reading = Reading(column, meaning)
    if meaning.how in _DATED:
        settled = dates.order_of(cells, club.today if meaning.past else None)
        way, against, question = _way(settled, told.order, column, _date_question)
        swapped = dates.swapped_by_the_spreadsheet(cells)
        reading = replace(reading, order=way, against=against, swapped=swapped, because=_because(settled, told.order))
        return replace(reading, open=question is not None), question
    if meaning.how in _NUMERIC:
        unit = "money" if meaning.how == "money" else meaning.unit
        settled = numbers.marks_of(cells, unit, whole=meaning.how == "whole")
        way, against, question = _way(settled, told.mark, column, _mark_question)
        factor = Decimal(1) if unit_in_doubt(column.heading, meaning) else factor_of(column.heading, unit)
        reading = replace(reading, mark=way, against=against, factor=factor, because=_because(settled, told.mark))
        return replace(reading, open=question is not None), question
    return reading, None


def _because(settled: Settled, said: str | None) -> str:
    """What decided how a column is read."""
    return settled.why if settled.way is not None else AS_SAID if said is not None else ""


def _way(settled: Settled, said: str | None, column: Column, ask: Ask) -> tuple[str, str, Question | None]:
    """The way a column is read, what speaks against it, and a question if nobody can tell."""
    if settled.way is not None:
        against = f"the column is written {settled.way} ({settled.why}), not {said}"
        return settled.way, against if said not in (None, settled.way) and settled.why else "", None
    if said is not None:
        return said, "", None
    return settled.ways[0], "", ask(column, settled)


def _date_question(column: Column, settled: Settled) -> Question:
    example = {"day-first": "day, month, year", "month-first": "month, day, year", "year-first": "year, month, day"}
    choices = tuple(Choice(way[0], f"{way} ({example[way]})", way) for way in settled.ways)
    text = f"In which order does {column.heading!r} write its dates? ({settled.why})"
    return Question("date order", column.heading, text, choices, f"--date-order {'|'.join(settled.ways)}")


def _mark_question(column: Column, settled: Settled) -> Question:
    choices = (Choice("p", "a point: 1,234.5", "point"), Choice("c", "a comma: 1.234,5", "comma"))
    text = f"What stands before the decimals in {column.heading!r}? ({settled.why})"
    return Question("decimals", column.heading, text, choices, "--decimals point|comma")


def _whether_new(doubt: Doubt, club: Club) -> Question:
    """Whether a name that nobody has recorded is one more, or one of those on record."""
    said = set(doubt.written.lower().split())
    alike = [each for each in club.names[doubt.key] if said & set(each.lower().split())]
    others = (
        Choice(key, f"no, {name}", name) for key, name in zip((k for k in _ENTRY if k not in "yo"), alike, strict=False)
    )
    choices = (Choice("y", "yes, it is new", doubt.written), *others, Choice("o", "another", ""))
    text = f"No {doubt.key} called {doubt.written!r} is on record: is it new?"
    option = f"--means {quoted(f'{doubt.written}={doubt.written}')} if it is, else =NAME"
    return Question("name", doubt.written, text, choices, option)


def _which_name(doubt: Doubt, club: Club) -> Question:
    if not doubt.proposed:
        return _whether_new(doubt, club)
    if "?" in doubt.written:
        choices = (
            Choice("y", f"yes, {doubt.proposed}", doubt.proposed),
            Choice("n", "no, it is unknown", "-"),
            Choice("o", "another", ""),
        )
        text = f"{doubt.written!r} under {doubt.heading!r} has a question mark: is it {doubt.proposed}?"
        option = f"--means {quoted(f'{doubt.written}={doubt.proposed}')}, or =- if it is unknown"
        return Question("name", doubt.written, text, choices, option)
    choices = (
        Choice("y", f"yes, {doubt.proposed}", doubt.proposed),
        Choice("n", f"no, {doubt.written} as it stands", doubt.written),
        Choice("o", "another", ""),
    )
    text = f"Is {doubt.written!r} under {doubt.heading!r} {doubt.proposed}?"
    option = f"--means {quoted(f'{doubt.written}={doubt.proposed}')}, or ={doubt.written} if it stands for itself"
    return Question("name", doubt.written, text, choices, option)


def make_drafts(
    understood: Understood, club: Club, skip: frozenset[int] = frozenset()
) -> tuple[list[Draft], list[Fault], dict[str, int]]:
    """
    Rows on their way into the records, what is wrong with others, and what was assumed.

    Parameters
    ----------
    understood : Understood
    club : Club
    skip : frozenset of int
        Rows to leave out.
    """
    assert understood.kind is not None
    kind, file = understood.kind.name, understood.grid.file
    tags = frozenset(line.texts["tag"] for line in understood.lines if "tag" in line.texts)
    days = Counter((line.texts.get("ship", ""), line.texts.get("date", "")) for line in understood.lines)
    making = Making(club, tags, _battle_days(understood.lines), days)
    drafts: list[Draft] = []
    faults: list[Fault] = []
    for line in understood.lines:
        if line.row in skip or line.faults:
            making.pass_over(line)
            faults += line.faults if line.row not in skip else []
            continue
        try:
            made = becomes(kind, line, making)
        except InvalidRecord as error:
            faults.append(Fault(file, line.row, "", error.message, error.hint))
            continue
        some, wrong = _drafted(file, line, made)
        drafts += some
        faults += wrong
    return drafts, faults, making.assumed


def _drafted(file: str, line: Line, made: Sequence[Ours]) -> tuple[list[Draft], list[Fault]]:
    drafts: list[Draft] = []
    faults: list[Fault] = []
    for sheet, texts in made:
        fields = tuple(each for each in sheet.fields if each.heading in texts)
        cells = tuple(texts[each.heading] for each in fields)
        some, wrong = draft_page(Page(file, sheet, fields, ((line.row, cells),)))
        drafts += some
        faults += wrong
    return drafts, faults


def _battle_days(lines: Iterable[Line]) -> dict[str, tuple[str, str]]:
    """First and last day of each battle that rows name."""
    days: dict[str, tuple[str, str]] = {}
    for line in lines:
        battle, day = line.texts.get("battle"), line.texts.get("date")
        if battle and day:
            first, last = days.get(battle, (day, day))
            days[battle] = (min(first, day), max(last, day))
    return days
