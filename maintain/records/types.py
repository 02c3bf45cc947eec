"""How SQLAlchemy's types are spelt in a STRICT table of SQLite, which knows INTEGER, REAL, TEXT, BLOB and ANY only."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from sqlalchemy.ext.compiler import compiles


@compiles(sa.Date, "sqlite")
@compiles(sa.String, "sqlite")
def _as_text(_type: sa.types.TypeEngine[Any], _compiler: Any, **_kw: Any) -> str:
    return "TEXT"


@compiles(sa.Boolean, "sqlite")
def _as_integer(_type: sa.types.TypeEngine[Any], _compiler: Any, **_kw: Any) -> str:
    return "INTEGER"


@compiles(sa.Double, "sqlite")
def _as_real(_type: sa.types.TypeEngine[Any], _compiler: Any, **_kw: Any) -> str:
    return "REAL"
