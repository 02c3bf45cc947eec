"""Answers that take long, kept in the database until a record or the program changes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import sqlalchemy as sa

import maintain
from maintain.errors import DatabaseBusy, DatabaseUnusable
from maintain.records import fitted
from maintain.records.engine import make_engine
from maintain.results.base import Result, plain, restored
from maintain.services.unit import Desk, reading, translated

R = TypeVar("R", bound=Result)


def kept(desk: Desk, kind: type[R], asked: Mapping[str, Any], make: Callable[[], R], *, refit: bool = False) -> R:
    """
    Answer from what is kept, else work it out and keep it.

    Parameters
    ----------
    desk : Desk
    kind : type
        Of the answer.
    asked : mapping
        All that the answer depends on besides the records and the day, as plain values.
    make : function
        Works the answer out; what it raises is never kept.
    refit : bool
        True works it out in any case.
    """
    question = f"{kind.__name__} {json.dumps(plain(asked), sort_keys=True)}"
    with reading(desk) as connection:
        fingerprint = _fingerprint(connection, desk)
        found = None if refit else fitted.read(connection, question, fingerprint)
    if found is not None:
        return restored(kind, json.loads(found))
    answer = make()
    keep(desk, question, fingerprint, answer)
    return answer


def keep(desk: Desk, question: str, fingerprint: str, answer: Result) -> None:
    """
    Keep an answer, if the file can be written just now; if not, nothing is lost but time.

    Parameters
    ----------
    desk : Desk
    question, fingerprint : str
        By which it is found again; records.fitted.STANDING as fingerprint outlasts changes of the records.
    answer : Result
    """
    payload = json.dumps(plain(answer), ensure_ascii=False)
    try:
        with translated(desk.db), make_engine(desk.db).connect() as connection, connection.begin():
            fitted.write(connection, question, fingerprint, payload)
    except (DatabaseBusy, DatabaseUnusable):
        return


def _fingerprint(connection: sa.Connection, desk: Desk) -> str:
    """What an answer was made of: the records, the day, and the program."""
    made_of = f"{fitted.state_of(connection)} {desk.today} {maintain.__version__} {_program()}"
    return hashlib.sha256(made_of.encode()).hexdigest()


def _program() -> str:
    """Sizes and times of the program's files: another program may answer differently, whatever its version says."""
    files = [(path, path.stat()) for path in sorted(Path(maintain.__file__).parent.rglob("*.py"))]
    return repr([(path.name, stat.st_size, stat.st_mtime_ns) for path, stat in files])
