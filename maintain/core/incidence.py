"""The share taken by one cause, and how far each life moves it: what curves, their errors and their test all need."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.at_risk import Codes, Observed, step_at, total_by, total_while
from maintain.core.lives import Bools, Floats


@dataclass(frozen=True)
class Steps:
    """What all causes share: risk sets, the share still working, and the slopes of log survival in a life's weight."""

    seen: Observed
    times: Floats
    entered: Codes  # failure times at or before each life's entry
    left: Codes  # failure times before its exit
    passed: Codes  # failure times at or before its exit
    at_risk: Floats
    working: Floats
    working_before: Floats
    leverage: Floats  # 1 / (Y (1 - h)): what one failure takes off log S, per unit of weight
    drift: Floats  # cumulated h / (Y (1 - h)): what staying under observation adds to it

    def total_inside(self, values: Floats) -> Floats:
        """Return, at each failure time, the sum of `values` over the lives that stay on beyond it."""
        return total_while(self.entered, self.left, values, self.times.size)

    def total_left(self, values: Floats) -> Floats:
        """Return, at each failure time, the sum of `values` over the lives that have left by then."""
        total: Floats = np.cumsum(total_by(self.left, values, self.times.size + 1))[:-1]
        return total


def steps_of(seen: Observed) -> Steps:
    """Count who was at risk and failed, by any cause, at each failure time."""
    times, deaths = np.unique(seen.exit[seen.failed], return_counts=True)
    at_risk = seen.at_risk(times)
    share: Floats = deaths / at_risk
    working: Floats = np.cumprod(1.0 - share, dtype=np.float64)
    # Once every part at risk has failed, survival is zero and no later term can count.
    leverage = np.divide(1.0, at_risk - deaths, out=np.zeros_like(share), where=at_risk > deaths)
    return Steps(
        seen=seen,
        times=times,
        entered=np.searchsorted(times, seen.entry, side="right"),
        left=np.searchsorted(times, seen.exit, side="left"),
        passed=np.searchsorted(times, seen.exit, side="right"),
        at_risk=at_risk,
        working=working,
        working_before=np.concatenate(([1.0], working[:-1])),
        leverage=leverage,
        drift=np.cumsum(share * leverage),
    )


@dataclass(frozen=True)
class Influence:
    """
    How far each life's weight moves the incidence F(t).

    While a life is under observation its influence is level_in + Q(t) + slope_in F(t); once it has left,
    level_out + slope_out F(t). So the sum of squares at every t needs only running sums, not a table of n by t.
    """

    steps: Steps
    share: Floats  # of those at risk that fail by this cause, at each failure time
    incidence: Floats
    common: Floats  # Q at the failure times
    level_in: Floats
    slope_in: Floats
    level_out: Floats
    slope_out: Floats

    def variance(self) -> Floats:
        """Return the sum of squared influences at each failure time."""
        share, common = self.incidence, self.common
        level, slope, level2, both, slope2, count = (
            self.steps.total_inside(part)
            for part in (
                self.level_in,
                self.slope_in,
                self.level_in**2,
                self.level_in * self.slope_in,
                self.slope_in**2,
                np.ones_like(self.level_in),
            )
        )
        inside = (
            level2 + 2 * share * both + share**2 * slope2 + 2 * common * (level + share * slope) + count * common**2
        )
        level2, both, slope2 = (
            self.steps.total_left(part)
            for part in (self.level_out**2, self.level_out * self.slope_out, self.slope_out**2)
        )
        return np.maximum(inside + level2 + 2 * share * both + share**2 * slope2, 0.0)

    def clustered_variance(self, grid: Floats, cluster: Codes) -> Floats:
        """Return, at each time of `grid`, the sum of squares of the influences added up within clusters."""
        seen, times = self.steps.seen, self.steps.times
        share, common = step_at(times, self.incidence, grid), step_at(times, self.common, grid)
        result = np.empty(grid.size)
        for place, time in enumerate(grid):
            inside = np.where(seen.entry < time, self.level_in + common[place] + self.slope_in * share[place], 0.0)
            now = np.where(seen.exit <= time, self.level_out + self.slope_out * share[place], inside)
            result[place] = np.sum(total_by(cluster, now) ** 2)
        return result


def influence_of(steps: Steps, mine: Bools) -> Influence:
    """
    Return the share taken by one cause and how far each life moves it.

    Parameters
    ----------
    steps : Steps
    mine : array of bool, shape = (n,)
        True for the failures by this cause.
    """
    share = np.bincount(steps.left[mine], minlength=steps.times.size) / steps.at_risk
    incidence = np.cumsum(steps.working_before * share)
    drift_before = np.concatenate(([0.0], steps.drift[:-1]))
    common = np.cumsum(steps.working_before * share * (drift_before - 1.0 / steps.at_risk))
    drift_in, share_in, common_in = (after(part, steps.entered) for part in (steps.drift, incidence, common))
    drift_out, share_out, common_out = (after(part, steps.passed) for part in (steps.drift, incidence, common))
    # On leaving, log S has moved by the time at risk less the life's own failure; from then on only that matters.
    slope_out = drift_out - drift_in - np.where(steps.seen.failed, after(steps.leverage, steps.passed), 0.0)
    own = np.where(mine, after(steps.working_before / steps.at_risk, steps.passed), 0.0)
    level_in = drift_in * share_in - common_in
    return Influence(
        steps=steps,
        share=share,
        incidence=incidence,
        common=common,
        level_in=level_in,
        slope_in=-drift_in,
        level_out=level_in + common_out - (drift_in + slope_out) * share_out + own,
        slope_out=slope_out,
    )


def after(values: Floats, passed: Codes) -> Floats:
    """Return the step function `values` after `passed` failure times; 0 before the first."""
    return np.concatenate(([0.0], values))[passed]
