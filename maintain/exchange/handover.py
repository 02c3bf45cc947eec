"""What a phone hands over: a small JSON file, read with mistrust and told in sentences."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from maintain.errors import FileRejected, NotFound
from maintain.results.phone import FORMAT, VERSION
from maintain.vocabulary import (
    MODES,
    MOST_OF_A_SORTIE,
    MOST_SORTIES_A_DAY,
    OPENED_FINDINGS,
    SINKING_CAUSES,
    SUNK,
    WETNESS,
    wetness_of,
)

_LARGEST_BYTES = 5_000_000  # a week's meet of forty ships takes a tenth of it
_LONGEST_NAME = 40
_ID = re.compile(r"[0-9a-f]{8,64}")


@dataclass(frozen=True)
class Named:
    """A ship or battle as the page knew it."""

    uid: str
    name: str


@dataclass(frozen=True)
class Tap:
    """
    One record made on a phone.

    Attributes
    ----------
    id : str
        Given by the phone, never twice.
    ship : Named
    day : date
        Of the battle, as chosen on the page.
    sortie : int
        Number of the sortie it tells of, or after which a symptom was seen (0: before the first).
    at : datetime
        By the phone's clock, with its zone.
    undone : bool
        True if it was taken back after it had been handed over.
    wetness, cause : str, optional
        Of a sortie; None if nobody looked, or she did not sink.
    minutes_under : float, optional
        Of a sinking, as the captain guessed it.
    box : str, optional
        How the sealed box looked inside when it was opened after a sinking.
    position, mode : str, optional
        Of a symptom.
    """

    id: str
    ship: Named
    day: date
    sortie: int
    at: datetime
    undone: bool = False
    wetness: str | None = None
    cause: str | None = None
    minutes_under: float | None = None
    box: str | None = None
    position: str | None = None
    mode: str | None = None


@dataclass(frozen=True)
class Handover:
    """
    Everything one phone handed over, when by its own clock: sorties and symptoms in the order they were tapped.

    `shift` is what its clock was set right by.
    """

    device: str
    name: str
    battle: Named
    handed_at: datetime | None
    sorties: tuple[Tap, ...]
    symptoms: tuple[Tap, ...]
    shift: timedelta = timedelta()


class _Wrong(Exception):
    """What is wrong with one value."""


def read(path: Path) -> Handover:
    """
    Read a hand-over.

    Raises
    ------
    NotFound
        If there is no such file.
    FileRejected
        If it is cut short, of another kind, or holds what no page writes; all faults are listed.
    """
    given = _document(path)
    try:
        _require_ours(given)
        head = {key: _id(given, key) for key in ("device",)}
        battle = _named(given, "battle")
        name = _name(given)
        handed_at = _time(given, "handed_over_at") if given.get("handed_over_at") is not None else None
    except _Wrong as wrong:
        raise FileRejected(f"{path.name} is no hand-over: {wrong}", hint=_AGAIN) from None
    taps, faults = _taps(given.get("records"))
    if faults:
        raise FileRejected(
            f"{path.name}: {len(faults)} of its records can't be read, nothing was written",
            hint=_AGAIN,
            lines=[f"  {fault}" for fault in faults],
            faults=faults,
        )
    sorties = tuple(tap for tap in taps if tap.mode is None)
    return Handover(
        head["device"], name, battle, handed_at, sorties, tuple(tap for tap in taps if tap.mode is not None)
    )


_AGAIN = "save the file again on the phone, which still has every tap, and import that"


def _document(path: Path) -> dict[str, Any]:
    try:
        if not path.is_file():
            raise NotFound(f"no file at {path}", hint="name the file that the phone handed over")
        if path.stat().st_size > _LARGEST_BYTES:
            raise FileRejected(f"{path.name} is too large for a hand-over", hint="name the file the phone saved")
        given = json.loads(path.read_bytes().decode("utf-8-sig"), parse_constant=_no_number)
    except UnicodeDecodeError:
        raise FileRejected(f"{path.name} is not text", hint=_AGAIN) from None
    except (ValueError, RecursionError):
        raise FileRejected(
            f"{path.name} is cut short or damaged: it is no whole JSON document; nothing was written", hint=_AGAIN
        ) from None
    except OSError as error:
        raise FileRejected(f"{path.name} can't be read: {error.strerror}", hint="copy it to this computer") from error
    if not isinstance(given, dict):
        raise FileRejected(f"{path.name} is no hand-over of a phone", hint="name the file the phone saved")
    return given


def _no_number(text: str) -> None:
    raise ValueError(text)


def _require_ours(given: dict[str, Any]) -> None:
    if given.get("format") != FORMAT:
        raise _Wrong("it does not say that it is one")
    version = given.get("version")
    if version != VERSION:
        raise _Wrong(f"it is written in version {version!r}, and this program reads {VERSION}")


def _name(given: dict[str, Any]) -> str:
    text = given.get("device_name")
    if not isinstance(text, str):
        raise _Wrong("the phone's name is no text")
    seen = " ".join("".join(each if each.isprintable() else " " for each in text).split())
    return seen[:_LONGEST_NAME] or f"phone {_id(given, 'device')[:4]}"


def _taps(records: Any) -> tuple[list[Tap], list[str]]:
    if not isinstance(records, list):
        return [], ["it has no list of records"]
    taps: dict[str, Tap] = {}
    faults = []
    for number, record in enumerate(records, 1):
        try:
            tap = _tap(record)
            if taps.setdefault(tap.id, tap) != tap:
                raise _Wrong("has the id of another record")
        except _Wrong as wrong:
            faults.append(f"record {number}: {wrong}")
    return list(taps.values()), faults


def _tap(record: Any) -> Tap:
    if not isinstance(record, dict):
        raise _Wrong("is no record")
    shared: dict[str, Any] = {
        "id": _id(record, "id"),
        "ship": _named(record, "ship"),
        "day": _day(record),
        "at": _time(record, "at"),
        "undone": record.get("undone") is True,
    }
    if record.get("kind") == "sortie":
        wetness = _word(record, "wetness", WETNESS, null=True)
        cause = _word(record, "cause", SINKING_CAUSES, null=True)
        if (cause is not None) != (wetness in SUNK):
            raise _Wrong("has a cause of sinking without a sinking, or a sinking without one")
        return Tap(
            **shared,
            sortie=_number(record, "number", 1),
            wetness=wetness,
            cause=cause,
            minutes_under=_minutes(record, wetness),
            box=_word(record, "box", OPENED_FINDINGS, null=True),
        )
    if record.get("kind") == "symptom":
        position, mode = record.get("position"), _word(record, "mode", MODES)
        if not isinstance(position, str) or not position:
            raise _Wrong("names no position")
        return Tap(**shared, sortie=_number(record, "after_sortie", 0), position=position, mode=mode)
    raise _Wrong(f"is of no known kind ({record.get('kind')!r})")


def _id(given: dict[str, Any], key: str) -> str:
    value = given.get(key)
    if not isinstance(value, str) or not _ID.fullmatch(value):
        raise _Wrong(f"has no {key}" if key == "id" else f"its {key} has no id")
    return value


def _named(given: dict[str, Any], key: str) -> Named:
    value = given.get(key)
    if not isinstance(value, dict) or not all(isinstance(value.get(each), str) for each in ("uid", "name")):
        raise _Wrong(f"names no {key}")
    return Named(value["uid"], value["name"])


def _day(record: dict[str, Any]) -> date:
    try:
        return date.fromisoformat(str(record.get("day")))
    except ValueError:
        raise _Wrong(f"{record.get('day')!r} is no day of the calendar") from None


def _time(record: dict[str, Any], key: str) -> datetime:
    try:
        found = datetime.fromisoformat(str(record.get(key)))
    except ValueError:
        raise _Wrong(f"{record.get(key)!r} is no time") from None
    if found.tzinfo is None:
        raise _Wrong("its time has no zone")
    return found


def _number(record: dict[str, Any], key: str, least: int) -> int:
    value = record.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= MOST_SORTIES_A_DAY:
        raise _Wrong(f"{json.dumps(value)} is no number of a sortie ({least} to {MOST_SORTIES_A_DAY})")
    return value


def _minutes(record: dict[str, Any], wetness: str | None) -> float | None:
    value = record.get("minutes_under")
    if value is None:
        return None
    if (
        not isinstance(value, int | float)
        or isinstance(value, bool)
        or not 0 <= value <= MOST_OF_A_SORTIE["minutes_under"]
    ):
        raise _Wrong(f"{json.dumps(value)} is no number of minutes")
    if wetness != (meant := wetness_of(value)):
        raise _Wrong(f"{value:g} minutes under water are {meant}, not {wetness}")
    return float(value)


def _word(record: dict[str, Any], key: str, words: Any, *, null: bool = False) -> str | None:
    value = record.get(key)
    if (value is None and null) or (isinstance(value, str) and value in words):
        return value
    raise _Wrong(f"{value!r} is no {key}")
