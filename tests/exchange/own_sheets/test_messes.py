"""A tidy table that was made a mess of in the ways clubs do reads back to the same, or is asked about."""

from __future__ import annotations

import csv
import io
import tempfile
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from maintain.errors import MaintainError
from maintain.exchange.own_sheets.agreed import Told
from tests.exchange.own_sheets.clubs import SHIPS, TODAY, read

_HEADINGS = {
    "date": ("Date", "date ", "DAY", "Sailed on"),
    "ship": ("Ship", "Vessel", "ship name", "Hull"),
    "minutes": ("Minutes", "Afloat (mins)", "Time afloat [min]", "minutes afloat"),
    "shots": ("Shots", "shots fired", "Rounds"),
    "wetness": ("Wetness", "How wet? (wetness)", "wet"),
    "note": ("Notes", "Remarks"),
}
_ORDERS = {
    "day-first": "{d:02d}/{m:02d}/{y}",
    "month-first": "{m}/{d}/{y}",
    "iso": "{y}-{m:02d}-{d:02d}",
    "words": "words",
}
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_WETNESS = {"W0": "dry", "W1": "Splash", "W2": "flooded"}


class Sortie(NamedTuple):
    """A row of the tidy table."""

    date: date
    ship: str
    minutes: int
    shots: int
    wetness: str
    note: str


class Mess(NamedTuple):
    """What is made of it."""

    order: str
    columns: tuple[str, ...]
    wordings: dict[str, int]
    carried: bool
    total: bool
    blanks: bool
    title: bool
    separator: str
    encoding: str
    case: bool


_SORTIES = st.builds(
    Sortie,
    st.dates(date(2024, 1, 1), TODAY),
    st.sampled_from(SHIPS),
    st.integers(1, 90),
    st.integers(0, 300),
    st.sampled_from(sorted(_WETNESS)),
    st.sampled_from(["", "pump slow", "naïve patch, held", 'said "fine"']),
)
_MESSES = st.builds(
    Mess,
    st.sampled_from(sorted(_ORDERS)),
    st.permutations(sorted(_HEADINGS)).map(tuple),
    st.fixed_dictionaries({key: st.integers(0, 3) for key in _HEADINGS}),
    *[st.booleans()] * 4,
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]),
    st.booleans(),
)


def _written(sortie: Sortie, mess: Mess) -> dict[str, str]:
    day = sortie.date
    pattern = _ORDERS[mess.order]
    told = (
        f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
        if pattern == "words"
        else pattern.format(d=day.day, m=day.month, y=day.year)
    )
    ship = sortie.ship.upper() if mess.case else sortie.ship
    minutes, shots = str(sortie.minutes), str(sortie.shots)
    note = {"note": sortie.note}
    return {"date": told, "ship": ship, "minutes": minutes, "shots": shots, "wetness": _WETNESS[sortie.wetness], **note}


def _bytes(sorties: list[Sortie], mess: Mess) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=mess.separator)
    if mess.title:
        writer.writerow(["The pond's log", *[""] * (len(mess.columns) - 1)])
        writer.writerow([])
    writer.writerow([_HEADINGS[key][mess.wordings[key] % len(_HEADINGS[key])] for key in mess.columns])
    above: dict[str, str] = {}
    for sortie in sorties:
        cells = _written(sortie, mess)
        carried = [key for key in mess.columns if key in ("date", "ship")]
        shown = dict(cells)
        if mess.carried:
            for key in carried:
                if above.get(key) != cells[key]:
                    break
                shown[key] = ""
        above = cells
        writer.writerow([shown[key] for key in mess.columns])
        if mess.blanks:
            writer.writerow([""] * len(mess.columns))
    if mess.total:
        sums = {"date": "Total", "minutes": str(sum(each.minutes for each in sorties))}
        writer.writerow([sums.get(key, "") for key in mess.columns])
    return text.getvalue().encode(mess.encoding)


def _tidy(sortie: Sortie) -> dict[str, Any]:
    texts = {"date": sortie.date.isoformat(), "ship": sortie.ship, "wetness": sortie.wetness}
    texts |= {"minutes": str(sortie.minutes), "shots": str(sortie.shots)}
    return {**texts, **({"note": sortie.note} if sortie.note else {})}


@settings(max_examples=150, deadline=None)
@given(st.lists(_SORTIES, min_size=1, max_size=12), _MESSES)
def test_a_tidy_table_made_a_mess_of_reads_back_to_the_same_or_is_asked_about(
    sorties: list[Sortie], mess: Mess
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(_bytes(sorties, mess))
        understood = read(path)
    if understood.questions:
        assert {each.about for each in understood.questions} <= {"date order", "column", "kind"}
        return
    faulty = [line for line in understood.lines if line.faults]
    assert not faulty, faulty
    assert [line.texts for line in understood.lines] == [_tidy(sortie) for sortie in sorties]


@settings(max_examples=100, deadline=None)
@given(st.lists(st.dates(date(2024, 1, 1), TODAY).filter(lambda day: day.day > 12), min_size=1, max_size=8), _MESSES)
def test_a_day_beyond_the_twelfth_leaves_no_date_open(days: list[date], mess: Mess) -> None:
    sorties = [Sortie(day, "Halberd", 20 + number, 7, "W1", "") for number, day in enumerate(days)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(_bytes(sorties, mess))
        understood = read(path)
    assert not [each for each in understood.questions if each.about == "date order"]
    assert [line.texts.get("date") for line in understood.lines] == [day.isoformat() for day in days]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.text(max_size=12), min_size=1, max_size=5), max_size=8))
def test_whatever_is_written_is_read_or_refused_but_never_breaks_the_reader(rows: list[list[str]]) -> None:
    text = io.StringIO(newline="")
    csv.writer(text).writerows([["Ship", "Date", "Wetness", "Minutes", "Shots"], *rows])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(text.getvalue().encode("utf-8", errors="replace"))
        try:
            understood = read(path, Told(kind="sorties"))
        except MaintainError:
            return
    for line in understood.lines:
        assert line.texts.get("ship", "Halberd") in SHIPS
