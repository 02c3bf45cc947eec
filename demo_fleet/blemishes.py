"""What memory does to the records: days become months or seasons, and some dates are lost."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from book import Book, Chance, Row

MONTHS_ONLY, SEASONS_ONLY, ACQUISITIONS_LOST = 0.08, 0.03, 0.10


def blur(book: Book, chance: Chance) -> None:
    """Blur some dates; every row stays consistent with every other."""
    before: dict[int, Row] = {}
    occupants: dict[int, list[Row]] = defaultdict(list)
    for row in book.rows["placement"]:
        if row["place"] == "installed":
            occupants[row["position_id"]].append(row)
            if row["part_id"] in before and row["from_precision"] == "day":
                _recall(book, chance, row, before[row["part_id"]], occupants[row["position_id"]][:-1])
        before[row["part_id"]] = row
    for part in book.rows["part"]:
        if part["acquired_precision"] == "day" and chance.happens(ACQUISITIONS_LOST):
            part.update(acquired_on=None, acquired_precision=None)


def _recall(book: Book, chance: Chance, row: Row, ashore: Row, earlier: list[Row]) -> None:
    """Of some fittings only the month or the season is remembered, where that contradicts nothing."""
    precision = chance.pick(("month", "season", "day"), (MONTHS_ONLY, SEASONS_ONLY, 1.0))
    fitted: date = row["from_on"]
    day = {"month": fitted.replace(day=15), "season": date(fitted.year, 7, 1), "day": fitted}[precision]
    free_from = max(((each["until_on"], each["until_sortie"]) for each in earlier), default=(date.min, 0))
    works_until = row["until_on"] or date.max
    # Only rows that follow are still to be blurred: the place ashore keeps its start.
    if precision == "day" or (ashore["from_on"], ashore["from_sortie"]) > (day, 0) or free_from > (day, 0):
        return
    if day >= works_until or ashore["until_on"] != fitted or _noted_before(book, row["part_id"], day):
        return
    ashore.update(until_on=day, until_sortie=0, until_precision=precision)
    row.update(from_on=day, from_sortie=0, from_precision=precision)
    for treatment in book.rows["treatment"]:
        if treatment["part_id"] == row["part_id"] and treatment["done_on"] == fitted and treatment["kind"] == "applied":
            treatment.update(done_on=day, done_precision=precision)
    for failure in book.rows["failure"]:
        known = failure["last_good_on"]
        if failure["part_id"] == row["part_id"] and known is not None and known < day:
            failure.update(last_good_on=None, last_good_sortie=None)


def _noted_before(book: Book, part_id: int, day: date) -> bool:
    """Whether anything dated was written down about a part on its ship before `day`."""
    rows = (*book.rows["reading"], *book.rows["loan"])
    days = (row.get("taken_on") or row.get("lent_on") for row in rows if row["part_id"] == part_id)
    return any(each < day for each in days if each is not None)
