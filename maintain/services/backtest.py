"""Does it deserve trust? Every past battle, forecast from what was known the day before, held against what happened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from maintain.core.exposure import Ints
from maintain.core.lives import Bools, Floats
from maintain.core.scores import brier, calibration, log_score, skill, skill_limits, tally
from maintain.errors import NotEnoughData
from maintain.results.outlook import Interval
from maintain.results.trust import Backtest, Calibrated, Rival, Scored
from maintain.services.eve import SEED, Forecasts, forecasts
from maintain.services.lives.columns import Words, day_number
from maintain.services.lives.history import History, history
from maintain.services.outlook import LEVEL
from maintain.services.past_battles import Aftermath, PastBattle, aftermath, fitted_on_eve, past_battles
from maintain.services.trust import verdict_on
from maintain.services.unit import Desk, reading

RIVALS = ("the base rate of its category so far", "a Weibull law of days alone")

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class _Forecast:
    """One battle's forecasts that can be scored, and what happened; `chances` are ours, then the rivals'."""

    battle: PastBattle
    category: Words
    chances: Floats  # shape = (3, n)
    failed: Bools

    def take(self, rows: Bools) -> _Forecast:
        return _Forecast(self.battle, self.category[rows], self.chances[:, rows], self.failed[rows])


@dataclass
class _Seen:
    """Parts that sailed in earlier battles and what became of them, as far as it was known on a day."""

    category: list[Words] = field(default_factory=list)
    failed_on: list[Ints] = field(default_factory=list)

    def add(self, category: Words, after: Aftermath) -> None:
        """Take in a battle."""
        rows = after.sailed & after.settled
        self.category.append(category[rows])
        self.failed_on.append(np.where(after.failed, after.found_on, np.iinfo(np.int64).max)[rows])

    def rates(self, battle: PastBattle, category: Words) -> Floats | None:
        """Share of each category that failed in a battle, as known on the eve; None if nothing had sailed by then."""
        if not sum(each.size for each in self.category):
            return None
        earlier = np.concatenate(self.category)
        failed = np.concatenate(self.failed_on) <= day_number(battle.horizon.today)
        whole = (failed.sum() + 0.5) / (failed.size + 1)
        rate = np.empty(category.size)
        for name in set(category.tolist()):
            mine = earlier == name
            # a category of which little has sailed leans, by the weight of one part, on all of them together
            rate[category == name] = (failed[mine].sum() + whole) / (mine.sum() + 1)
        return rate


def backtest(desk: Desk, last: int | None = None, progress: Progress | None = None) -> Backtest:
    """
    Forecast the last battles (by default all) from what was recorded up to the day before each, and score that.

    Raises
    ------
    NotEnoughData
        If no two battles can be scored.
    """
    with reading(desk) as connection:
        known = history(connection, desk.today)
        battles = past_battles(connection, desk.today)
        seen, scored = _Seen(), []
        sailed = untold = 0
        first = 0 if last is None else max(len(battles) - last, 0)
        for place, battle in enumerate(battles):
            if progress:
                progress(battle.name, place / len(battles))
            if place >= first and (made := forecasts(connection, battle)):
                after = aftermath(known, battle, made.tag, made.ship)
                sailed, untold = sailed + int(after.sailed.sum()), untold + int(np.sum(after.sailed & ~after.settled))
                rates = seen.rates(battle, made.category)
                if rates is not None:
                    scored.append(_forecast(battle, made, rates, after))
            _learn(seen, known, battle)
    told = [each for each in scored if each.failed.size]
    if len(told) < 2:
        raise NotEnoughData(
            "fewer than two battles can be scored (the first one only tells the base rate)",
            hint="log battles with their sorties and failures, then ask again",
        )
    return _summed(desk, told, _notes(len(battles) - first - len(told), sailed, untold))


def _learn(seen: _Seen, known: History, battle: PastBattle) -> None:
    tag, category, ship = fitted_on_eve(known, battle)
    seen.add(category, aftermath(known, battle, tag, ship))


def _forecast(battle: PastBattle, made: Forecasts, rates: Floats, after: Aftermath) -> _Forecast:
    by_days = np.where(np.isnan(made.by_days), rates, made.by_days)
    whole = _Forecast(battle, made.category, np.stack([made.ours, rates, by_days]), after.failed)
    return whole.take(after.sailed & after.settled)


def _summed(desk: Desk, told: list[_Forecast], notes: tuple[str, ...]) -> Backtest:
    chances = np.concatenate([each.chances for each in told], axis=1)
    failed = np.concatenate([each.failed for each in told])
    category = np.concatenate([each.category for each in told])
    cluster = np.repeat(np.arange(len(told)), [each.failed.size for each in told])
    whole = _score("all battles", chances, failed)
    counted = tally(chances[0], failed, cluster)
    rivals = tuple(_rival(name, chances[[0, place]], failed, cluster) for place, name in enumerate(RIVALS, 1))
    bins = calibration(chances[0], failed, level=LEVEL)
    return Backtest(
        until=desk.today,
        whole=whole,
        allowed=Interval(counted.expected, counted.lower, counted.upper),
        p_value=counted.p_value,
        spread=counted.spread,
        believable=counted.believable,
        verdict=verdict_on(whole, counted.believable, rivals),
        battles=tuple(_score(each.battle.name, each.chances, each.failed, each.battle) for each in told),
        categories=tuple(
            _score(name, chances[:, category == name], failed[category == name]) for name in sorted(set(category))
        ),
        calibration=tuple(
            Calibrated(b.least, b.most, b.n, b.expected, b.failures, Interval(b.observed, b.lower, b.upper))
            for b in bins
        ),
        level=LEVEL,
        rivals=rivals,
        notes=notes,
    )


def _score(name: str, chances: Floats, failed: Bools, battle: PastBattle | None = None) -> Scored:
    ours, base = brier(chances[0], failed), brier(chances[1], failed)
    return Scored(
        name=name,
        on=battle.from_on if battle else None,
        n=failed.size,
        expected=float(chances[0].sum()),
        seen=int(failed.sum()),
        brier=ours,
        log_score=log_score(chances[0], failed),
        skill=skill(ours, base),
    )


def _rival(name: str, chances: Floats, failed: Bools, cluster: Ints) -> Rival:
    return Rival(
        name=name,
        expected=float(chances[1].sum()),
        brier=brier(chances[1], failed),
        log_score=log_score(chances[1], failed),
        skill=_gain((chances - failed) ** 2, cluster),
        log_skill=_gain(-np.log(np.where(failed, chances, 1 - chances)), cluster),
    )


def _gain(scores: Floats, cluster: Ints) -> Interval | None:
    """Share of the rival's scores (second row) that ours (first row) saved, battles resampled for its interval."""
    own, other = (np.bincount(cluster, each) for each in scores)
    saved = skill(float(own.sum()), float(other.sum()))
    return None if saved is None else Interval(saved, *skill_limits(own, other, np.random.default_rng(SEED), LEVEL))


def _notes(unscored: int, sailed: int, untold: int) -> tuple[str, ...]:
    notes = [
        f"{untold} of {sailed} parts that sailed are left out: nobody hears them fail, or a ball, another failure, a "
        "swap or a suspicion took them from sight"
    ]
    if unscored:
        notes.append(f"{unscored} battles are left out: nothing had sailed, or failed, before them to go by")
    return tuple(notes)
