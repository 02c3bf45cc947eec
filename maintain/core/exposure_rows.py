"""The exposure history of parts: one row for each interval from one moment a part was known to work to the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from maintain.core.exposure import Exposure, Ints, Logbook, Stays, day_of
from maintain.core.lives import Bools, Floats
from maintain.vocabulary import CLOCKS


@dataclass(frozen=True)
class ExposureRows:
    """
    Observation intervals, by part and in order of time.

    Attributes
    ----------
    part : array of int, shape = (n,)
    failed : array of bool, shape = (n,)
        True where the part was found failed at the end; at all other ends it worked.
    gain : array, shape = (n, n_clocks)
        What the interval added to each clock, in the order of vocabulary.CLOCKS.
    """

    part: Ints
    failed: Bools
    gain: Floats


@dataclass(frozen=True)
class Watch:
    """
    What is known of each part's state, by part.

    Attributes
    ----------
    from_moment : array of int, shape = (n_parts,)
        When it was first under observation.
    alive_until : array of int, shape = (n_parts,)
        When it was last known to work.
    end : array of int, shape = (n_parts,)
        When it was found failed or was last seen.
    failed : array of bool, shape = (n_parts,)
    heard : array of bool, shape = (n_parts,)
        True if every sortie it came through shows that it works; False if only tests do (a hidden function).
    """

    from_moment: Ints
    alive_until: Ints
    end: Ints
    failed: Bools
    heard: Bools


def exposure_rows(stays: Stays, exposures: dict[str, Exposure], watch: Watch) -> ExposureRows:
    """
    Split the service of parts at the moments they were known to work.

    Parameters
    ----------
    stays : Stays
        Sorted by part and start.
    exposures : dict
        One for each clock of use, of one logbook.
    watch : Watch

    Returns
    -------
    ExposureRows
        Intervals that add nothing to any clock are left out, but for a failure: one that took no time at all is taken
        to have taken a day.
    """
    log = next(iter(exposures.values())).log
    cut = np.where(watch.failed, watch.alive_until, watch.end)
    observed = stays.since(watch.from_moment)
    alive = _pieces(log, observed.until(cut), exposures)
    # A hidden function is known to work only at the end of its good time: one row; another row ends at every sortie.
    alive_rows = _merged(alive, np.where(watch.heard[alive.part], np.arange(alive.part.size), -1))
    dying_stays = observed.until(watch.end).since(cut)
    dying = _pieces(log, dying_stays.take(watch.failed[stays.part]), exposures)
    last = _merged(dying, np.full(dying.part.size, -1))
    idle = ~last.gain.any(axis=1)
    last.gain[idle, 0] = 1.0
    kept = alive_rows.gain.any(axis=1)
    part = np.concatenate((alive_rows.part[kept], last.part))
    failed = np.concatenate((np.zeros(int(kept.sum()), dtype=bool), np.ones(last.part.size, dtype=bool)))
    order = np.argsort(part, kind="stable")
    return ExposureRows(part[order], failed[order], np.concatenate((alive_rows.gain[kept], last.gain))[order])


def _pieces(log: Logbook, stays: Stays, exposures: dict[str, Exposure]) -> ExposureRows:
    """One row for each stay and sortie, and one from the last sortie to the end of the stay."""
    low, high = log.span(stays)
    count = high - low + 1
    stay = np.repeat(np.arange(count.size), count)
    first = np.repeat(np.cumsum(count) - count, count)
    step = np.arange(stay.size) - first
    at_sea = step < count[stay] - 1
    row = (low[stay] + step)[at_sea]
    end = stays.end[stay]
    end[at_sea] = log.moments[row]
    begin = np.where(step == 0, stays.start[stay], np.roll(end, 1))
    gain = np.zeros((stay.size, len(CLOCKS)))
    gain[:, 0] = day_of(end) - day_of(begin)
    for column, clock in enumerate(CLOCKS[1:], start=1):
        gain[at_sea, column] = exposures[clock].of_sorties(stays.zone[stay[at_sea]], stays.position[stay[at_sea]], row)
    return ExposureRows(stays.part[stay], np.zeros(stay.size, dtype=bool), gain)


def _merged(rows: ExposureRows, mark: Ints) -> ExposureRows:
    """Add up neighbouring rows of one part that bear the same mark."""
    if not rows.part.size:
        return rows
    starts = np.flatnonzero(np.append(True, (np.diff(rows.part) != 0) | (np.diff(mark) != 0)))
    return ExposureRows(rows.part[starts], rows.failed[starts], np.add.reduceat(rows.gain, starts, axis=0))
