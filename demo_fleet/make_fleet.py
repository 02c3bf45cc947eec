"""Write the demo club's files, or compare them: python demo_fleet/make_fleet.py [--check]."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from asked import ask
from blemishes import blur
from book import Book, Chance
from outlook import outlook
from season import Season
from stated import page, stated
from stockroom import Stockroom
from truth import CLUB, CURRENCY, RECORDS_FROM, SEED

from maintain.exchange.labels import Records
from maintain.exchange.layout import SHEETS
from maintain.exchange.writing import csv_bytes, write_cells

_HERE = Path(__file__).resolve().parent


def records(book: Book) -> Records:
    """The rows as files take them: a reference is the uid of the row it points to."""
    uids = {table: {row["id"]: row["uid"] for row in rows} for table, rows in book.rows.items()}
    found: Records = {}
    for sheet in SHEETS:
        targets = {field.column: uids.get(field.to, {}) for field in sheet.references}
        found[sheet.table] = [
            {key: targets[key].get(value) if key in targets else value for key, value in row.items() if key != "id"}
            for row in book.rows[sheet.table]
        ]
    return found


def files() -> dict[str, bytes]:
    """All files of the folder by name."""
    book = Book()
    book.add("club", name=CLUB, currency=CURRENCY, records_from=RECORDS_FROM)
    season = Season(book, Chance(SEED))
    season.run()
    Stockroom(season.fleet).tidy()
    ask(book)
    blur(book, Chance(SEED + 2))
    ahead = outlook(season.fleet)
    written = {each.sheet.file: csv_bytes(each) for each in write_cells(records(book))}
    written["truth.json"] = _json(stated(season))
    written["truth_parts.json"] = _json(ahead)
    written["README.md"] = page(season, ahead).encode()
    return written


def _json(document: dict[str, Any]) -> bytes:
    return (json.dumps(document, indent=1, ensure_ascii=False) + "\n").encode()


def main() -> int:
    """Write or compare; 1 if a file differs."""
    differing = 0
    for name, data in files().items():
        path = _HERE / name
        if "--check" not in sys.argv[1:]:
            path.write_bytes(data)
        elif not path.is_file() or path.read_bytes() != data:
            print(f"{name} differs from what the truth gives", file=sys.stderr)
            differing = 1
    return differing


if __name__ == "__main__":
    sys.exit(main())
