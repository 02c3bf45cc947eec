"""Where readings are heading."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from maintain.results.base import Column, Listing, Pictured
from maintain.results.battle_day import Limit
from maintain.results.life import Figure
from maintain.results.life_source import Exclusion

# What may be said of readings and their limit, the most pressing first.
VERDICTS = ("beyond", "crossed", "heads for it", "can't tell", "too few", "away from it", "no limit", "former")


@dataclass(frozen=True)
class Point:
    """A reading, with the age of what it was taken of."""

    taken_on: date
    age_days: int
    value: float


@dataclass(frozen=True)
class LinePoint:
    """Where a line stands at an age, with its interval."""

    age_days: float
    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Line:
    """
    A straight line through readings.

    Attributes
    ----------
    per_100_days : Figure
        How much it changes in so many days.
    scatter : float
        Standard deviation of readings about it.
    today : Figure
        Where it stands today.
    next_reading : Figure
        Where a reading taken today falls.
    drawn : tuple of LinePoint
        From the first reading to today, or to where it meets its limit if that is soon.
    """

    per_100_days: Figure
    scatter: float
    today: Figure
    next_reading: Figure
    drawn: tuple[LinePoint, ...]


@dataclass(frozen=True)
class Meets:
    """
    When a line meets its limit; a day more than a hundred years off is None.

    Attributes
    ----------
    on : date, optional
    earliest, latest : date, optional
        Interval of that day. Where the line may not head for its limit, only `earliest` may be known.
    """

    on: date | None
    earliest: date | None
    latest: date | None


@dataclass(frozen=True)
class HolesCarried:
    """How many holes of a size and depth a pump keeps up with."""

    diameter_mm: float
    depth_mm: float
    inflow_litres_per_minute: float
    holes: int


@dataclass(frozen=True)
class PumpFlow:
    """What a pump throws by its last reading; `at_limit` the holes it would still carry at its limit."""

    litres_per_minute: float
    holes: tuple[HolesCarried, ...]
    at_limit: tuple[HolesCarried, ...]


@dataclass(frozen=True)
class Series:
    """
    Readings of one measure between two changes, and what they tell.

    Attributes
    ----------
    part, ship, position : str, optional
        What was measured, and where; None: no part was recorded, or it is in no ship now.
    current : bool
        False: the part was swapped since, or something beside it changed.
    since : date
        From when ages count.
    because : str
        Why from then.
    line : Line, optional
        None: too few readings.
    verdict : str
        One of VERDICTS.
    told : str
        The same in a sentence.
    """

    measure: str
    unit: str
    part: str | None
    ship: str | None
    position: str | None
    current: bool
    since: date
    because: str
    readings: tuple[Point, ...]
    limit: Limit | None
    line: Line | None
    verdict: str
    meets: Meets | None
    told: str
    flow: PumpFlow | None = None

    @property
    def name(self) -> str:
        """What was measured, and where."""
        where = f"{self.ship}/{self.position}" if self.ship else None
        return ", ".join(filter(None, (where, self.part)))


@dataclass(frozen=True)
class ReadingTrend(Pictured):
    """
    Readings against age.

    Attributes
    ----------
    of : str, optional
        The part, position or ship asked for; None: all.
    closely : bool
        True: a part or position was asked for, and its readings are wanted one by one.
    conf : float
        Confidence of all intervals.
    cautions : tuple of str
        What to mind, and who decides.
    """

    of: str | None
    closely: bool
    on: date
    conf: float
    series: tuple[Series, ...]
    excluded: tuple[Exclusion, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]

    def listing(self) -> Listing:
        """A row for each series."""
        return Listing("Readings and their trend", _COLUMNS, tuple(_row(each) for each in self.series))


def _row(each: Series) -> dict[str, object]:
    line, meets, last = each.line, each.meets, each.readings[-1]
    return {
        "ship": each.ship,
        "position": each.position,
        "part": each.part,
        "measure": each.measure,
        "current": each.current,
        "n": len(each.readings),
        "last": last.value,
        "last_on": last.taken_on,
        "unit": each.unit,
        "change": line.per_100_days.value if line else None,
        "change_lower": line.per_100_days.lower if line else None,
        "change_upper": line.per_100_days.upper if line else None,
        "bound": each.limit.bound if each.limit else None,
        "limit": each.limit.value if each.limit else None,
        "on": meets.on if meets else None,
        "earliest": meets.earliest if meets else None,
        "latest": meets.latest if meets else None,
        "verdict": each.verdict,
    }


_COLUMNS = (
    Column("ship", "Ship"),
    Column("position", "Position"),
    Column("part", "Part"),
    Column("measure", "Measure"),
    Column("current", "Current"),
    Column("n", "Readings", numeric=True),
    Column("last", "Last", numeric=True),
    Column("last_on", "Taken on"),
    Column("unit", "Unit"),
    Column("change", "In 100 days", numeric=True),
    Column("change_lower", "At least", numeric=True),
    Column("change_upper", "At most", numeric=True),
    Column("bound", "Bound"),
    Column("limit", "Limit", numeric=True),
    Column("on", "Meets it on"),
    Column("earliest", "Earliest"),
    Column("latest", "Latest"),
    Column("verdict", "Verdict"),
)
