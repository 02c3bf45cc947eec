"""Every fitted part with its chance of failing before the horizon, the advice, and what following it would change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import sqlalchemy as sa

from maintain.core.forecast import Chance
from maintain.core.lives import Floats
from maintain.records import tables as t
from maintain.records.failed_aboard import failed_aboard
from maintain.results.outlook import Evidence, Interval
from maintain.services.advice import Advice, Case, advise
from maintain.services.chances import Chances, chances
from maintain.services.dated_work.failed_aboard import standing
from maintain.services.lives.columns import NO_DAY, as_date
from maintain.services.lives.service_ages import KEPT
from maintain.services.outlook import Outlook
from maintain.services.renewal_groups import RenewalGroup, Standing, renewal_groups

WORTH_ACTING_ON = 0.03  # a part less likely to fail than this is left alone
TEST_MINUTES = 5  # to test a hidden function by demand (common practice, no source)


@dataclass(frozen=True)
class Prospect:
    """
    What is to be expected of one fitted part.

    Attributes
    ----------
    tag : str
    position_id : int
    labels : dict of str
        Ship, position, system, family and what else lives differ by.
    aged : bool
        True if its earlier use is known.
    hidden : bool
        True if it makes no noise when it fails.
    tested : date, optional
        The last day it was shown to work.
    advice : Advice
    standing : Standing
        How old it is by the horizon, and at what age its group is best renewed.
    evidence : Evidence
    failing, failing_if_new : Interval
        Chance that it has failed since it was last shown to work or will by the horizon, and that a new one in its
        place will.
    chances : Chances
        Of its category; `row` is its place there.
    minutes : int, optional
        Of the work advised; None if nobody recorded them, or if the work is no work tonight.
    failed : str, optional
        How it is known not to do its job, in words; then nothing is left to chance.
    """

    tag: str
    position_id: int
    labels: dict[str, str]
    aged: bool
    hidden: bool
    tested: date | None
    advice: Advice
    standing: Standing
    evidence: Evidence
    failing: Interval
    failing_if_new: Interval
    chances: Chances
    row: int
    minutes: int | None
    failed: str | None = None

    @property
    def let_down(self) -> Floats:
        """Chance, draw by draw, that it lets the ship down: it has failed, perhaps unseen, or will fail."""
        if self.failed is not None:
            return np.ones(KEPT)
        return self.chances.kept.of(self.row).let_down

    @property
    def let_down_after(self) -> Floats:
        """The same once the advice is followed."""
        if self.advice.kind == "replace":
            return self.chances.kept.of(self.row).new
        return self.let_down_seen if self.advice.kind == "test" else self.let_down

    @property
    def let_down_seen(self) -> Floats:
        """The same once somebody saw whether it works: found failed, a new one is put in."""
        if self.failed is not None:
            return self.let_down
        drawn = self.chances.kept.of(self.row)
        seen: Floats = drawn.silent * drawn.new + (1 - drawn.silent) * drawn.now
        return seen


def _intervals(chance: Chance) -> list[Interval]:
    columns = (chance.mean.tolist(), chance.lower.tolist(), chance.upper.tolist())
    return [Interval(*each) for each in zip(*columns, strict=True)]


def prospects(connection: sa.Connection, look: Outlook, over: float = WORTH_ACTING_ON) -> list[Prospect]:
    """Look at every part that has a forecast, category by category; what is less likely than `over` is left alone."""
    positions = connection.execute(sa.select(t.position.c.id, t.position.c.dependence))
    families = connection.execute(sa.select(t.family.c.name, t.family.c.fitting_minutes))
    dependence = {row.id: row.dependence for row in positions}
    minutes = {row.name: row.fitting_minutes for row in families}
    told = {row.tag: standing(row) for row in failed_aboard(connection, as_date(look.past.today))}
    groups = {(each.of.category, each.name): each for each in renewal_groups(connection, look)}
    fleet = _Fleet(look, groups, dependence, minutes)
    return [_known_failed(part, told, minutes) for part in _prospects(fleet, over)]


def _known_failed(part: Prospect, told: dict[str, str], minutes: dict[str, Any]) -> Prospect:
    """A part as forecast, unless it is known to have failed already."""
    why = told.get(part.tag)
    if why is None:
        return part
    return replace(
        part,
        advice=Advice("replace", "take it out", why),
        failing=Interval(1.0, 1.0, 1.0),
        minutes=minutes[part.labels["family"]],
        failed=why,
    )


@dataclass(frozen=True)
class _Fleet:
    """What is known of all fitted parts: by category and group, by position, and minutes of work by family."""

    look: Outlook
    groups: dict[tuple[str, str], RenewalGroup]
    dependence: dict[int, str]
    minutes: dict[str, Any]


def _prospects(fleet: _Fleet, over: float) -> Iterator[Prospect]:
    look = fleet.look
    families = look.past.rows.family
    hidden = dict(zip(families["name"], map(bool, families["hidden"]), strict=True))
    for of in look.categories:
        found = chances(look, of)
        now, new = _intervals(found.now), _intervals(found.new)
        for row, place in enumerate(of.parts.tolist()):
            labels = {name: str(column[place]) for name, column in look.fleet.labels.items()}
            tested = int(look.fleet.last_tested[place])
            position_id = int(look.fleet.position_id[place])
            case = Case(
                evidence=of.evidence(row),
                now=now[row],
                standing=Standing(fleet.groups[of.category, str(of.group[row])], float(found.age[row])),
                aged=bool(of.aged[row]),
                hidden=hidden[labels["family"]],
                tested=None if tested == NO_DAY else as_date(tested),
                dependence=fleet.dependence[position_id],
                over=over,
            )
            advice = advise(case)
            work = {"replace": fleet.minutes[labels["family"]], "test": TEST_MINUTES}
            yield Prospect(
                tag=str(look.fleet.tag[place]),
                position_id=position_id,
                labels=labels,
                aged=case.aged,
                hidden=case.hidden,
                tested=case.tested,
                advice=advice,
                standing=case.standing,
                evidence=case.evidence,
                failing=case.now,
                failing_if_new=new[row],
                chances=found,
                row=row,
                minutes=work.get(advice.kind),
            )
