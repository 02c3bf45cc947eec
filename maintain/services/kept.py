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
        True forgets all that is kept and works it out in any case.
    """
    question = _question(kind, asked)
    if refit:
        forget(desk)
    with reading(desk) as connection:
        fingerprint = fingerprint_of(connection, desk)
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
    store(desk, fingerprint, {question: json.dumps(plain(answer), ensure_ascii=False)})


def forget(desk: Desk) -> None:
    """Forget all that is kept of the records, so that everything is worked out anew."""
    _write(desk, fitted.forget)


def store(desk: Desk, fingerprint: str, payloads: Mapping[str, str]) -> None:
    """Keep texts by their questions, as `keep` does."""

    def write(connection: sa.Connection) -> None:
        for question, payload in payloads.items():
            fitted.write(connection, question, fingerprint, payload)

    _write(desk, write)


def _write(desk: Desk, action: Callable[[sa.Connection], None]) -> None:
    try:
        with translated(desk.db), make_engine(desk.db).connect() as connection, connection.begin():
            action(connection)
    except (DatabaseBusy, DatabaseUnusable):
        return


def fingerprint_of(connection: sa.Connection, desk: Desk) -> str:
    """What an answer was made of: the records, the day, and the program."""
    made_of = f"{fitted.state_of(connection)} {desk.today} {maintain.__version__} {_program()}"
    return hashlib.sha256(made_of.encode()).hexdigest()


def _program() -> str:
    """Sizes and times of the program's files: another program may answer differently, whatever its version says."""
    files = [(path, path.stat()) for path in sorted(Path(maintain.__file__).parent.rglob("*.py"))]
    return repr([(path.name, stat.st_size, stat.st_mtime_ns) for path, stat in files])


def at_hand(desk: Desk, kind: type[R], asked: Mapping[str, Any]) -> R | None:
    """An answer that is kept and still true; None where it would have to be worked out."""
    with reading(desk) as connection:
        found = fitted.read(connection, _question(kind, asked), fingerprint_of(connection, desk))
    return None if found is None else restored(kind, json.loads(found))


def _question(kind: type[R], asked: Mapping[str, Any]) -> str:
    return f"{kind.__name__} {json.dumps(plain(asked), sort_keys=True)}"
