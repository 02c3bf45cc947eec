"""Does it deserve trust? Every past battle, forecast from what was known the day before, held against what happened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import sqlalchemy as sa

from maintain.core.exposure import Ints
from maintain.core.lives import Bools, Floats
from maintain.core.scores import brier, calibration, log_score, skill, skill_limits, tally
from maintain.errors import NotEnoughData
from maintain.results.outlook import Interval
from maintain.results.trust import Backtest, Calibrated, Rival, Scored
from maintain.services.eve import SEED, forecasts
from maintain.services.lives.columns import Words
from maintain.services.lives.history import history
from maintain.services.outlook import LEVEL
from maintain.services.past_battles import Aftermath, PastBattle, aftermath, past_battles
from maintain.services.trust import verdict_on
from maintain.services.unit import Desk, reading

RIVALS = ("the failures a day of its category so far", "a Weibull law of days alone")

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class _Forecast:
    """One battle's forecasts and what happened; `chances` are ours, then the rivals'."""

    battle: PastBattle
    category: Words
    chances: Floats  # shape = (3, n)
    failed: Bools


@dataclass
class _Untold:
    """Parts that sailed, and those of them of which the records don't tell whether they failed."""

    sailed: int = 0
    unsettled: int = 0
    not_seen_to: int = 0
    battles: int = 0

    def add(self, after: Aftermath) -> None:
        """Take in a battle."""
        self.sailed += int(after.sailed.sum())
        self.not_seen_to += int(np.sum(after.sailed & ~after.seen_to))
        self.unsettled += int(np.sum(after.sailed & after.seen_to & ~after.settled))

    def notes(self) -> tuple[str, ...]:
        """What is left out, in words."""
        reasons = (
            (
                self.unsettled,
                "nobody hears them fail, or a ball, another failure, a swap or a suspicion took them away",
            ),
            (self.not_seen_to, "their ship has not sailed since, so nobody knows yet"),
        )
        notes = [f"{n} of {self.sailed} parts that sailed are left out: {why}" for n, why in reasons if n]
        if self.battles:
            which = "1 battle is" if self.battles == 1 else f"{self.battles} battles are"
            notes.append(f"{which} left out: nothing had sailed before to go by, or no ship has sailed since")
        return tuple(notes)


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
        battles = battles if last is None else battles[max(len(battles) - last, 0) :]
        told: list[_Forecast] = []
        untold = _Untold()
        for place, battle in enumerate(battles):
            if progress:
                progress(battle.name, place / len(battles))
            after = aftermath(known, battle)
            untold.add(after)
            scored = _scored(connection, battle, after)
            if scored is not None:
                told.append(scored)
    if len(told) < 2:
        raise NotEnoughData(
            "fewer than two battles can be scored: a battle counts once parts had sailed before it and its ships have "
            "sailed again",
            hint="log battles with their sorties and failures, then ask again",
        )
    untold.battles = len(battles) - len(told)
    return _summed(desk, told, untold.notes())


def _scored(connection: sa.Connection, battle: PastBattle, after: Aftermath) -> _Forecast | None:
    """Forecast what the records tell of; None if that is nothing."""
    made = forecasts(connection, battle, after.asked) if after.told.any() else None
    if made is None or not made.tag.size:
        return None
    failed = set(after.tag[after.failed].tolist())
    happened = np.array([tag in failed for tag in made.tag.tolist()])
    return _Forecast(battle, made.category, np.stack([made.ours, made.by_rate, made.by_days]), happened)


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
    surprise = log_score(chances[0], failed)
    return Scored(
        name=name,
        on=battle.from_on if battle else None,
        n=failed.size,
        expected=float(chances[0].sum()),
        seen=int(failed.sum()),
        brier=brier(chances[0], failed),
        log_score=surprise,
        log_skill=skill(surprise, log_score(chances[1], failed)),
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
