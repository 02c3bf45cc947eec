"""What a life can be grouped by: kind of part, where it sat, how it was treated, which water it sailed."""

from __future__ import annotations

import numpy as np

from maintain import vocabulary as say
from maintain.core.exposure import Ints, day_of
from maintain.core.lives import Bools
from maintain.services.lives.columns import Words, coded, days, first_rows, last_up_to, places, whole, words
from maintain.services.lives.history import History

UNTREATED = "none recorded"
LABELS = ("category", "family", "model", "batch", "waterproofing", "zone", "system", "position", "ship", "water")


def labels_of(past: History) -> dict[str, Words]:
    """
    Return the labels of every part, by name of the label.

    Ship, position, zone and system are those of the life's last stay; waterproofing is what was in force when the part
    was first fitted; water is the kind it sailed in most often.
    """
    rows = past.rows
    row = places(whole(rows.part["id"]), past.part)
    family = places(whole(rows.family["id"]), whole(rows.part["family_id"])[row])
    last = past.ends.stay
    position = past.stays.position[last]
    return {
        "category": words(rows.family["category"])[family],
        "family": words(rows.family["name"])[family],
        "model": words(rows.part["model"])[row],
        "batch": words(rows.part["batch"])[row],
        "waterproofing": _waterproofing(past),
        "zone": words(rows.position["zone"])[position],
        "system": words(rows.position["system"])[position],
        "position": words(rows.position["name"])[position],
        "ship": words(rows.ship["name"])[past.stays.ship[last]],
        "water": _water(past),
    }


def tags_of(past: History) -> Words:
    """Return the tag of every part."""
    return words(past.rows.part["tag"])[places(whole(past.rows.part["id"]), past.part)]


def retreated(past: History) -> Bools:
    """Tell which parts had their waterproofing changed to another while in service."""
    owner, done, method = _treatments(past)
    if not owner.size:
        return np.zeros(past.part.size, dtype=bool)
    begun = day_of(past.stays.start[first_rows(past.stays.part)])
    at_first = last_up_to(owner, done, np.arange(past.part.size), begun)
    before = np.where(at_first >= 0, method[at_first], -1)
    during = (done > begun[owner]) & (done <= day_of(past.ends.moment)[owner]) & (method != before[owner])
    return np.bincount(owner[during], minlength=past.part.size) > 0


def renewals_of(past: History) -> tuple[Ints, Ints]:
    """Return part and day of every renewal of a waterproofing, by part and day; parts by their place in the history."""
    columns = past.rows.treatment
    owner, done = places(past.part, whole(columns["part_id"])), days(columns["done_on"])
    known = np.flatnonzero((owner >= 0) & (done <= past.today) & (words(columns["kind"]) == "renewed"))
    known = known[np.lexsort((done[known], owner[known]))]
    return owner[known], done[known]


def _waterproofing(past: History) -> Words:
    owner, done, method = _treatments(past)
    names = np.append(words(past.rows.method["name"]), UNTREATED)  # no method (-1) is the last of these
    begun = day_of(past.stays.start[first_rows(past.stays.part)])
    row = last_up_to(owner, done, np.arange(past.part.size), begun)
    found: Words = names[np.where(row >= 0, method[row], -1) if owner.size else np.full(past.part.size, -1)]
    return found


def _treatments(past: History) -> tuple[Ints, Ints, Ints]:
    """Owner, day and method of every treatment, by owner and day; a treatment removed is no method."""
    columns = past.rows.treatment
    owner, done = places(past.part, whole(columns["part_id"])), days(columns["done_on"])
    method = places(whole(past.rows.method["id"]), whole(columns["method_id"]))
    method = np.where(words(columns["kind"]) == "removed", -1, method)
    known = np.flatnonzero((owner >= 0) & (done <= past.today))
    known = known[np.lexsort((done[known], owner[known]))]
    return owner[known], done[known], method[known]


def _water(past: History) -> Words:
    """The water each part sailed most of its sorties in; unknown if it never sailed or nobody noted where."""
    kind = coded(past.rows.sortie["water"], say.WATERS)[past.log.order]
    stays = past.stays.until(past.ends.moment)
    low, high = past.log.span(stays)
    sailed = np.zeros((len(say.WATERS), past.part.size))
    for code, name in enumerate(say.WATERS):
        if name != "unknown":
            total = np.concatenate(([0], np.cumsum(kind == code)))
            sailed[code] = np.bincount(stays.part, total[high] - total[low], past.part.size)
    unknown = say.WATERS.index("unknown")
    most = np.where(sailed.any(axis=0), sailed.argmax(axis=0), unknown)
    found: Words = np.array(say.WATERS, dtype=object)[most]
    return found
