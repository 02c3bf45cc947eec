"""Rows of a table to what they say: each cell as our own files would write it, with its faults and doubts beside it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from maintain.core.names import quoted
from maintain.errors import InvalidRecord
from maintain.exchange.fault import Fault
from maintain.exchange.own_sheets import dates, numbers
from maintain.exchange.own_sheets.club import Club
from maintain.exchange.own_sheets.columns import Column
from maintain.exchange.own_sheets.grid import Cell, Unreadable, as_text
from maintain.exchange.own_sheets.headings import asides
from maintain.exchange.own_sheets.kinds import Kind, Meaning
from maintain.exchange.own_sheets.shape import BodyRow
from maintain.exchange.own_sheets.words import UNKNOWN, as_said, folded, namesake, near, squashed

# What a sheet may be the first to name; anything else must be on record.
_DEFINES = {
    "ships": ("ship", "captain"),
    "members": ("member",),
    "families": ("family",),
    "parts": ("family", "owner"),
    "battles": ("battle", "venue"),
    "sorties": ("battle", "venue"),
    "stock": ("family",),
}
_ASKED = ("name", "tag", "word")  # a question mark beside one of these is a doubt
_BROKEN = re.compile(
    r"\b(?:broken|dead|faulty|defective|failed|burnt|burned|scrap|scrapped|kaput|u/s|for (?:parts|spares|repair)|"
    r"spares or repair|not working)\b",
    re.IGNORECASE,
)
_AMOUNTS = ("number", "whole", "money")


@dataclass(frozen=True)
class Reading:
    """
    How the cells of one column are read.

    Attributes
    ----------
    column : Column
    meaning : Meaning
    order, mark : str
        In what order it writes its dates, and what stands before decimals.
    factor : Decimal
        How many of our unit its unit is.
    swapped : bool
        Whether a spreadsheet may have swapped day and month in some cells.
    against : str
        What in the column contradicts the way it was said to be read.
    because : str
        What decided the order or mark; empty if any reads the column alike.
    open : bool
        Whether nobody can tell the order or mark yet.
    """

    column: Column
    meaning: Meaning
    order: str = "day-first"
    mark: str = "point"
    factor: Decimal = Decimal(1)
    swapped: bool = False
    against: str = ""
    because: str = ""
    open: bool = False

    @property
    def is_dated(self) -> bool:
        """Whether it holds days."""
        return self.meaning.how in ("day", "fuzzy day")

    @property
    def says(self) -> str:
        """What the column says, and how it writes it."""
        how = self.meaning.how
        written = {
            "day": self.order,
            "fuzzy day": self.order,
            "number": f"decimals after a {self.mark}",
            "whole": f"decimals after a {self.mark}",
            "money": f"decimals after a {self.mark}",
        }.get(how, "")
        many = f"{self.factor.quantize(Decimal('0.0001')).normalize():f}"
        unit = f"{many} {self.meaning.unit or how} each" if self.factor != 1 else self.meaning.unit
        details = ", ".join(filter(None, (unit, f"{written} {self.because}".strip() if self.because else "")))
        return self.meaning.says + (f" ({details})" if details else "")


@dataclass
class Line:
    """
    What a row says.

    Attributes
    ----------
    row : int
    texts : dict
        By key, as our own files would write it; what is unknown is missing.
    notes : list of str
    faults : list of Fault
    carried : int
        How many cells were taken from the row above.
    """

    row: int
    texts: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    carried: int = 0


@dataclass(frozen=True)
class Doubt:
    """A text that may mean something on record or elsewhere in the sheet; of nothing proposed, whether it is new."""

    heading: str
    key: str
    written: str
    proposed: str


class LineReader:
    """
    Reads rows.

    Parameters
    ----------
    file : str
        What to call it in a message.
    kind : Kind
    readings : sequence of Reading
    club : Club
    means : mapping
        What texts mean, by `words.as_said` of them, as a person said.
    """

    def __init__(
        self, file: str, kind: Kind, readings: Sequence[Reading], club: Club, means: Mapping[str, str]
    ) -> None:
        self.file, self.kind, self.readings, self.club, self.means = file, kind, readings, club, means
        self.doubts: dict[tuple[str, str], Doubt] = {}
        self._new: dict[str, dict[str, str]] = {}  # names first met in this sheet, by what they name
        self._ship = next((each for each in readings if each.meaning.key == "ship"), None)

    def read(self, row: BodyRow) -> Line:
        """What a row says."""
        line = Line(row.row, carried=len(row.carried))
        if row.doubt:
            line.faults.append(
                Fault(self.file, row.row, "", row.doubt, "fill in what it is of, write total, or delete the row")
            )
        for each in sorted(self.readings, key=lambda each: each.meaning.key != "ship"):
            cell = row.cells[each.column.place]
            if cell == "":
                continue
            try:
                if each.meaning.how in _AMOUNTS and each.column.place in row.merged:
                    raise InvalidRecord("is one cell over several rows", hint="write in each row what belongs to it")
                self._take(line, each, cell)
            except InvalidRecord as error:
                line.faults.append(Fault(self.file, row.row, each.column.heading, error.message, error.hint))
        if line.notes:
            line.texts["note"] = "; ".join(line.notes)
        return line

    def _take(self, line: Line, each: Reading, cell: Cell) -> None:
        if isinstance(cell, Unreadable):
            raise InvalidRecord(cell.what, hint=cell.mend)
        if each.against:
            raise InvalidRecord(each.against, hint="say it otherwise, or mend the column")
        meaning = each.meaning
        text = self.means.get(as_said(as_text(cell)), as_text(cell))
        if text.lower() in UNKNOWN and not (meaning.how == "word" and text.lower() in meaning.words):
            return
        if meaning.key == "note":
            line.notes.append(" ".join(as_text(cell).split()))
            return
        if "?" in text and (meaning.how in _ASKED or meaning.of == "position") and text == as_text(cell):
            self._question_mark(line, each, text)
            return
        found = _READ[meaning.how](self, line, each, cell if text == as_text(cell) else text)
        if found:
            line.texts[meaning.key] = found

    def _question_mark(self, line: Line, each: Reading, text: str) -> None:
        """A word with a question mark: what it would say without, if somebody says that it does."""
        meant = _READ[each.meaning.how](self, line, each, text.replace("?", " ").strip())
        if meant:
            self._doubt(each, text, meant)
            line.texts[each.meaning.key] = meant

    def _text(self, line: Line, each: Reading, cell: Cell) -> str:
        text = " ".join(as_text(cell).split())
        if each.meaning.of == "position":
            return self._position(line, each, text)
        return text

    def _position(self, line: Line, each: Reading, text: str) -> str:
        """The name of a position as it is on record on the row's ship; the ship may stand before it."""
        ship, slash, name = text.rpartition("/")
        if slash and "ship" not in line.texts and self._ship is None:
            line.texts["ship"] = self._named(each, "ship", ship)
        text = name if slash else text
        ship = line.texts.get("ship", "")
        known = self.club.position(ship, text)
        if known is not None:
            return str(known["name"])
        meant = near(text, self.club.positions(ship))
        if meant is not None and as_said(text) not in self.means:
            self._doubt(each, text, meant)
        return next((place for place in self.club.typical if squashed(place) == squashed(text)), text)

    def _name(self, line: Line, each: Reading, cell: Cell) -> str:
        text = " ".join(as_text(cell).split())
        if each.meaning.key == "family" and self.kind.name in ("parts", "stock"):
            return self._counted(line, each, text)
        named = self._named(each, each.meaning.of, text)
        if each.meaning.key == "captain":
            self._other_captain(line, each, named)
        return named

    def _other_captain(self, line: Line, each: Reading, named: str) -> None:
        """Ask of a captain whose name is nearly that of the one on record."""
        now = self.club.captain(line.texts.get("ship", ""))
        if now is not None and now != named and as_said(named) not in self.means and near(named, [now]):
            self._doubt(each, named, now)

    def _counted(self, line: Line, each: Reading, text: str) -> str:
        """A family, out of a text that may say how many as well."""
        if _BROKEN.search(text) and not self.club.find("family", text) and as_said(text) not in self.means:
            raise InvalidRecord(
                f"{text!r} is told to be broken: it is none that works",
                hint=f"leave the row out, or say what it is: --means {quoted(f'{text}=NAME')}",
            )
        told = None if self.club.find("family", text) else numbers.how_many(text)
        if told is None:
            return self._named(each, "family", text)
        number, what, sure = told
        line.texts["pieces"] = str(number)
        single = what.removesuffix("s") if number != 1 or not sure else what
        for form in (what, single):
            if self.club.find("family", form):
                return self._named(each, "family", form)
        if not sure and as_said(text) not in self.means:
            self._doubt(each, text, f"{number} x {single}")
        return self._named(each, "family", what if sure else single)

    def _named(self, each: Reading, table: str, text: str) -> str:
        """A name as it is on record; one that is not may be new where the sheet can tell of it."""
        known = self.club.find(table, text)
        if known is not None:
            return known
        told = as_said(text) in self.means or folded(text) in map(folded, self.means.values())
        meant = None if told else near(text, self.club.names[table])
        if meant is None and table == "member" and not told:
            meant = namesake(text, self.club.names[table])
        if meant is not None:
            self._doubt(each, text, meant)
            return text
        if each.meaning.key not in _DEFINES.get(self.kind.name, ()):
            raise InvalidRecord(
                f"no {table} called {text!r} is on record",
                hint=f"record it first, or say which it is: --means {quoted(f'{text}=NAME')}",
            )
        others = self._new.setdefault(table, {})
        spelled = others.get(squashed(text))
        if spelled is None:
            other = None if told else near(text, others.values(), least=0.85)
            if other is not None:
                self._doubt(each, text, other)
            elif table == "family" and self.kind.name != "families" and not told:
                self._doubt(each, text, "")
            others[squashed(text)] = text
        return spelled or text

    def _tag(self, line: Line, each: Reading, cell: Cell) -> str:
        del line
        text = " ".join(as_text(cell).split())
        known = self.club.find("part", text)
        if known is not None:
            return known
        if each.meaning.of == "part":
            meant = near(text, self.club.names["part"])
            hint = f"did you mean {meant}?" if meant else "write its tag as it is on record"
            raise InvalidRecord(f"no part called {text!r} is on record", hint=hint)
        return text

    def _word(self, line: Line, each: Reading, cell: Cell) -> str:
        del line
        text = as_text(cell)
        words = each.meaning.words
        found = words.get(folded(text)) or words.get(text.lower())
        if found is not None:
            return found
        meant = near(text, words)
        if meant is not None and len(squashed(text)) > 3:
            self._doubt(each, text, words[meant])
            return words[meant]
        listed = ", ".join(dict.fromkeys(words.values()))
        raise InvalidRecord(
            f"{text!r} is none of our words", hint=f"--means {quoted(f'{text}=WORD')}, one of: {listed}"
        )

    def _day(self, line: Line, each: Reading, cell: Cell) -> str:
        del line
        if each.swapped and isinstance(cell, date):
            raise InvalidRecord(
                f"{cell} may have day and month swapped: the spreadsheet took it for a day, others of its column not",
                hint="write the whole column as text, or year-month-day",
            )
        return dates.read(cell, each.order, exact=each.meaning.how == "day")

    def _amount(self, line: Line, each: Reading, cell: Cell) -> str:
        how = each.meaning.how
        if how == "money":
            code = numbers.currency_of(cell) or numbers.currency_of(each.column.heading)
            if code is not None and code != self.club.currency:
                raise InvalidRecord(
                    f"{as_text(cell)!r} is in {code}, the club's money is {self.club.currency}", hint="convert it"
                )
        unit = "money" if how == "money" else each.meaning.unit
        if each.meaning.key == "value" and (named := asides(each.column.heading)):
            line.texts.setdefault("unit", named[0])
        return numbers.read(cell, each.mark, unit, whole=how == "whole", factor=each.factor)

    def _doubt(self, each: Reading, written: str, proposed: str) -> None:
        self.doubts.setdefault(
            (each.meaning.key, as_said(written)), Doubt(each.column.heading, each.meaning.key, written, proposed)
        )


_READ: dict[str, Callable[[LineReader, Line, Reading, Cell], str]] = {
    "text": LineReader._text,
    "name": LineReader._name,
    "tag": LineReader._tag,
    "word": LineReader._word,
    "day": LineReader._day,
    "fuzzy day": LineReader._day,
    "number": LineReader._amount,
    "whole": LineReader._amount,
    "money": LineReader._amount,
}
