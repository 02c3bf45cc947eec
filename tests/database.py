"""A database read past the program."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any


def rows(path: Path, query: str) -> list[tuple[Any, ...]]:
    """What a query finds."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def dump(path: Path) -> list[str]:
    """All that is in it."""
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())
