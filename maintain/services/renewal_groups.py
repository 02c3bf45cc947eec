"""Groups of fitted parts that age alike: at what age to renew them, and where one part stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from typing import Any

import numpy as np
import sqlalchemy as sa
from numpy.typing import NDArray

from maintain.core.lives import Floats
from maintain.core.replacement import Advice, advise
from maintain.records import tables as t
from maintain.services.outlook import LEVEL, CategoryOutlook, Outlook
from maintain.services.stakes import Stakes

_ADVISED_ON = 1000  # draws: enough for an interval, and quick for every group


@dataclass(frozen=True)
class RenewalGroup:
    """
    Fitted parts of one family, zone and waterproofing.

    Attributes
    ----------
    look : Outlook
    of : CategoryOutlook
    name : str
    rows : array of int
        Their places in the category's `parts`.
    family : dict
        The family's row.
    dependence : list of str
        How much the ship depends on the position of each.
    """

    look: Outlook
    of: CategoryOutlook
    name: str
    rows: NDArray[np.intp]
    family: dict[str, Any]
    dependence: list[str]

    @cached_property
    def pace(self) -> Floats:
        """Service age in a day fitted, draw by draw: that of the group, or of its category where it has no days yet."""
        fleet, own = self.look.fleet, self.of.parts[self.rows]
        place = own if fleet.age["days"][own].sum() > 0 else self.of.parts
        use = {clock: each[place].sum(keepdims=True) for clock, each in fleet.age.items()}
        days = float(use["days"][0])
        pace = self.of.learnt.age(use)[:, 0] / days if days > 0 else np.ones(self.of.learnt.drawn.shape.size)
        return np.asarray(pace[:_ADVISED_ON])

    @cached_property
    def law(self) -> tuple[Floats, Floats]:
        """Shape and scale, draw by draw, in days fitted at the usual pace."""
        place = self.of.parts[self.rows[:1]]
        drawn = self.of.learnt.draws({name: column[place] for name, column in self.look.fleet.labels.items()})
        return drawn.shapes[:_ADVISED_ON, 0], drawn.scale[:_ADVISED_ON, 0] / self.pace

    def costs(self, stakes: Stakes) -> tuple[float, float]:
        """Cents for renewing a part that works, and for one that fails in battle."""
        return stakes.renewal(self.family), stakes.failure(self.family, self.dependence)

    def advice(self, stakes: Stakes) -> Advice:
        """Whether, and at how many days fitted, to renew them."""
        return advise(*self.law, *self.costs(stakes), LEVEL)

    @cached_property
    def usual(self) -> Advice:
        """The advice at the usual stakes."""
        return self.advice(Stakes())


@dataclass(frozen=True)
class Standing:
    """
    Where a part stands between new and the age at which its group is best renewed.

    Attributes
    ----------
    group : RenewalGroup
    service_age : float
        Expected by the end of what lies ahead, sinkings left out.
    """

    group: RenewalGroup
    service_age: float

    @property
    def days(self) -> float:
        """The same in days fitted at its group's pace."""
        return self.service_age / float(self.group.pace.mean())

    @property
    def advice(self) -> Advice:
        """That on its group."""
        return self.group.usual

    @property
    def reached(self) -> bool:
        """True if renewing by age pays, and it is old enough."""
        return self.advice.policy == "renew at an age" and self.days >= self.advice.age


def told(found: Advice, renewal_cents: float, failure_cents: float) -> str:
    """Say why to renew parts of a group by age, or not."""
    if failure_cents <= renewal_cents:
        return "failing costs no more than renewing: wait until it fails"
    if found.policy == "never on age":
        return "an old one fails no sooner than a new one: renewing a good part buys nothing"
    if found.policy == "renew at an age":
        return f"wears out; renewing then is cheaper with {found.worthwhile:.0%}"
    if not isfinite(found.age):
        return f"wears out with {found.rising:.0%}, and no age is expected to pay"
    return f"wears out with {found.rising:.0%}; renewing then is cheaper with {found.worthwhile:.0%}"


def renewal_groups(connection: sa.Connection, look: Outlook) -> Iterator[RenewalGroup]:
    """Every group of parts that have a forecast."""
    families = {row["name"]: dict(row) for row in connection.execute(sa.select(t.family)).mappings()}
    positions = connection.execute(sa.select(t.position.c.id, t.position.c.dependence))
    dependence = {row.id: row.dependence for row in positions}
    for of in look.categories:
        for name in sorted(set(of.group.tolist())):
            rows = np.flatnonzero(of.group == name)
            place = of.parts[rows]
            needed = [dependence[each] for each in look.fleet.position_id[place].tolist()]
            yield RenewalGroup(look, of, name, rows, families[look.fleet.labels["family"][place[0]]], needed)
