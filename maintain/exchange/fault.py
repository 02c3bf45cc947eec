"""What is wrong with a file: found, kept, and listed together with all the rest."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """
    One thing to mend in a file.

    Attributes
    ----------
    file : str
        Name of the file, or of the workbook and its sheet.
    row : int
        Row as a spreadsheet counts it: the headings are row 1; 0 for the file as a whole.
    column : str
        Heading of the column; empty for the row as a whole.
    what : str
        What is wrong.
    mend : str
        What to do about it.
    """

    file: str
    row: int
    column: str
    what: str
    mend: str

    def __str__(self) -> str:
        place = self.file + (f" row {self.row}" if self.row else "") + (f", {self.column}" if self.column else "")
        return f"{place}: {self.what}" + (f" ({self.mend})" if self.mend else "")
