"""Age or water? What a sinking costs parts in days of life, and which clock explains their failures best."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maintain.core.lives import Bools, Floats
from maintain.core.service_age.ages import Ages
from maintain.core.service_age.comparison import Candidate, Explained, alone, explained
from maintain.core.service_age.prior import Layout
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.results.life_clock import ClockLine, CostOf, FailureAt, GroupClock, LifeClock, Ratio
from maintain.results.outlook import Interval
from maintain.services.lives.club import ClubLives, club_lives
from maintain.services.lives.history import History, history
from maintain.services.lives.service_age_words import in_units, per_unit, unit_of
from maintain.services.lives.service_ages import Learnt, Names, learn
from maintain.services.lives.table import LifeTable, Selection, UseAtEnds, life_table, use_at_ends
from maintain.services.unit import Desk, reading

SERVICE_AGE = "service age"
_FAILURES_TO_COMPARE, _SHIPS_TO_COMPARE = 2, 2


@dataclass(frozen=True)
class Question:
    """
    What is asked.

    Attributes
    ----------
    category, family, zone : str, optional
        Only such parts.
    level : float
        Of all intervals.
    """

    category: str | None = None
    family: str | None = None
    zone: str | None = None
    level: float = 0.8


def clock(desk: Desk, question: Question) -> LifeClock:
    """
    Learn the service age of the parts asked for, each category on its own.

    Raises
    ------
    NotEnoughData
        If nothing was seen yet of any of them.
    """
    if not 0 < question.level < 1:
        raise InvalidRecord(f"--conf {question.level:g} is no confidence", hint="write one between 0 and 1: --conf 0.8")
    with reading(desk) as connection:
        family = find.family(connection, question.family).name if question.family else None
        past = history(connection, desk.today)
    lives = club_lives(past)
    asked = {"category": question.category, "family": family, "zone": question.zone}
    chosen = Selection({label: value for label, value in asked.items() if value})
    mine = lives.told & chosen(lives.labels)
    if not mine.any():
        raise NotEnoughData("nothing was seen yet of these parts", hint="fit parts: maintain part install ...")
    categories = sorted(set(lives.labels["category"][mine].tolist()))
    pond = _Pond(past, lives, use_at_ends(past, "sorties"), question)
    groups = [
        pond.group(name, np.flatnonzero(mine & (lives.labels["category"] == name)), family) for name in categories
    ]
    groups.sort(key=lambda group: -group.failures)
    return LifeClock(question.level, tuple(groups), _notes(lives, life_table(past, "days", chosen), mine))


@dataclass(frozen=True)
class _Pond:
    past: History
    lives: ClubLives
    sorties: UseAtEnds | None
    question: Question

    def group(self, category: str, rows: NDArray[np.intp], family: str | None) -> GroupClock:
        lives, level = self.lives, self.question.level
        labels = {name: column[rows] for name, column in lives.labels.items()}
        names = Names.of(lives.clocks, labels)
        ages = lives.ages(rows, names.kinds(labels))
        learnt = learn(names, ages)
        kind = family or category
        return GroupClock(
            group=", ".join(filter(None, (kind, self.question.zone))),
            noun=" ".join(filter(None, (self.question.zone, kind))),
            n=ages.n,
            failures=ages.failures,
            costs=_costs(learnt, level),
            shape=_interval(learnt.drawn.shape, level),
            scale=_interval(np.exp(learnt.drawn.theta[:, 0]), level),
            verdict=learnt.verdict,
            ratios=_ratios(learnt, level),
            clocks=self._clocks(rows, names, labels),
            failed_at=_failed_at(learnt),
        )

    def _clocks(
        self, rows: NDArray[np.intp], names: Names, labels: dict[str, NDArray[np.object_]]
    ) -> tuple[ClockLine, ...]:
        """Hold all clocks against the lives whose use is known on every one of them."""
        lives = self.lives
        known = lives.aged[rows] & ~lives.blind[rows]
        rows, labels = rows[known], {name: column[known] for name, column in labels.items()}
        ship = np.unique(labels["ship"].astype(str), return_inverse=True)[1]
        ages = lives.ages(rows, names.kinds(labels))
        if ages.failures < _FAILURES_TO_COMPARE or ship.max(initial=0) + 1 < _SHIPS_TO_COMPARE:
            return ()
        found = [explained(each, ship) for each in self._candidates(ages, rows, names)]
        days = found[0]
        return tuple(_line(each, days) for each in sorted(found, key=lambda each: -each.log_score))

    def _candidates(self, ages: Ages, rows: NDArray[np.intp], names: Names) -> list[Candidate]:
        single = Layout(1, len(names.zone), len(names.method), len(names.family))
        plain = [(clock, ages, place) for place, clock in enumerate(names.clocks)]
        if self.sorties is not None:
            plain.insert(1, ("sorties", _with(ages, self.sorties, rows), len(names.clocks)))
        moved = [(clock, alone(use, place)) for clock, use, place in plain if (use.end - use.entry)[:, place].any()]
        usual = names.prior
        return [
            *(Candidate(clock, use, single, usual) for clock, use in moved),
            Candidate(SERVICE_AGE, ages, names.layout, usual),
        ]


def _with(ages: Ages, more: UseAtEnds, rows: NDArray[np.intp]) -> Ages:
    """Ages on one clock more."""
    end = more.end[rows]
    alive = np.where(ages.failed, np.minimum(more.alive[rows], end), end)
    entry, alive, end = (
        np.column_stack(pair) for pair in ((ages.entry, more.entry[rows]), (ages.alive, alive), (ages.end, end))
    )
    return Ages(entry, alive, end, ages.failed, ages.kinds)


def _line(found: Explained, days: Explained) -> ClockLine:
    ahead = found.by_ship - days.by_ship
    return ClockLine(
        clock=found.name,
        parameters=found.parameters,
        log_likelihood=found.log_likelihood,
        aic=found.aic,
        log_score=found.log_score,
        ahead=float(ahead.sum()),
        ahead_error=float(ahead.std(ddof=1) * np.sqrt(ahead.size)),
    )


def _costs(learnt: Learnt, level: float) -> tuple[CostOf, ...]:
    ages = learnt.posterior.ages
    moved = dict(zip(learnt.names.clocks, (ages.end - ages.entry).sum(axis=0).tolist(), strict=True))
    return tuple(
        CostOf(each.clock, unit_of(each), Interval(*in_units(each)), each.told, moved[each.clock] / per_unit(each))
        for each in reversed(learnt.costs(level))
    )


def _ratios(learnt: Learnt, level: float) -> tuple[Ratio, ...]:
    layout, names, ages = learnt.drawn.layout, learnt.names, learnt.posterior.ages
    found = []
    for kind, named, block, of in (
        ("zone", names.zone, layout.zone, ages.kinds.zone),
        ("waterproofing", names.method, layout.method, ages.kinds.method),
    ):
        drawn = np.exp(learnt.drawn.theta[:, block])
        for place, name in enumerate(named):
            mine = of == place
            counts = int(mine.sum()), int((mine & ages.failed).sum())
            found.append(Ratio(kind, name, _interval(drawn[:, place], level), *counts))
    return tuple(found)


def _failed_at(learnt: Learnt) -> tuple[FailureAt, ...]:
    ages = learnt.posterior.ages
    use = ages.end[ages.failed]
    service = use @ np.array(list(learnt.worth_middle.values()))
    return tuple(FailureAt(*pair) for pair in zip(use[:, 0].tolist(), service.tolist(), strict=True))


def _interval(drawn: Floats, level: float) -> Interval:
    low, middle, high = np.quantile(drawn, [(1 - level) / 2, 0.5, (1 + level) / 2]).tolist()
    return Interval(middle, low, high)


def _notes(lives: ClubLives, table: LifeTable, mine: Bools) -> tuple[str, ...]:
    unknown = mine & (lives.strange | lives.blind)
    compared = ("clocks are compared without lives whose use was not seen from the beginning",) if unknown.any() else ()
    return (*lives.notes(table, mine), *compared)
