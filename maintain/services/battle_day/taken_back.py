"""Taking back an answer with all that followed from it, whatever was recorded elsewhere since."""

from __future__ import annotations

from maintain.errors import InvalidRecord, NotFound
from maintain.records import journal, standing_changes
from maintain.records.journal import Recorder


def take_back(recorder: Recorder, table: str, uids: list[str], of: str) -> str:
    """
    Undo the last change that wrote one of these answers; returns what it was.

    Raises
    ------
    NotFound, InvalidRecord
        If there is none, or later records build on it.
    """
    change = standing_changes.last_change(recorder.connection, table, uids)
    if change is None:
        raise NotFound(f"no answer of {of} is left to take back", hint="maintain journal shows all changes")
    if standing_changes.built_upon(recorder.connection, change.id):
        raise InvalidRecord(f"later records build on it: {change.summary}", hint="answer it again instead")
    recorder.undoes_id = change.id
    journal.undo(recorder, change.id)
    did = f"took back: {change.summary}"
    recorder.summarise(did)
    return did
