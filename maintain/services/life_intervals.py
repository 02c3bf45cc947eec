"""Life curves where failures are known only to an interval."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from maintain.core.at_risk import observed
from maintain.core.estimate import Estimate
from maintain.core.interval_limits import DRAWS, Asked, Resampling, interval_limits
from maintain.core.lives import Lives
from maintain.core.midpoints import at_middle, moved_by_intervals
from maintain.core.second_opinion import no_curve_from_intervals
from maintain.core.wording import count
from maintain.results.life import GroupCurve, SurvivalAt
from maintain.services.life_pictures import corners_of, drawn_corners
from maintain.services.life_reading import EMPTIED, SEED, Reading, Sound, emptied, few, opinion
from maintain.services.lives.samples import Sample

MOST_DRAWN = 2000  # to draw more lives than this again and again takes longer than anybody waits
HARDLY_MOVED = 0.02  # of all lives: far within the limits of any club's curve


def at_middle_if_alike(sample: Sample) -> tuple[Sample, list[str]]:
    """
    Count failures of the records at the middle of their intervals where allowing for these in full changes nothing.

    It is decided once for all groups. A file that names both ends of its intervals has them allowed for in full.
    """
    lives = sample.lives
    if sample.tag is None or not lives.interval_censored:
        return sample, []
    moved = moved_by_intervals(lives)
    if moved > HARDLY_MOVED:
        return sample, []
    said = (
        f"{_known_to_intervals(lives)}: the middle counts; to allow for intervals in full would move the share still "
        f"working by {_points(moved)} on average"
    )
    return replace(sample, lives=at_middle(lives)), [said]


def interval_curve_of(name: str, one: Sample, reading: Reading) -> tuple[GroupCurve, list[str]]:
    """Draw the curve of one group, with limits from drawing its lives, or whole clusters of them, again and again."""
    lives, small = one.lives, one.lives.n <= MOST_DRAWN
    how = Resampling(np.random.default_rng(SEED), one.cluster_codes(), DRAWS if small else 0)
    corners = corners_of(lives, reading.given)
    asked = Asked(np.append(reading.times, corners), reading.tau, reading.given)
    found = interval_limits(lives, asked, how, reading.conf)
    shares, at_corners = found.survival[: reading.times.size], found.survival[reading.times.size :]
    watched = observed(lives).at_risk(reading.times)
    curve, notes = found.curve, few(one)
    sound = Sound.of(curve.emptied_at, np.maximum(lives.entry, curve.start))
    if curve.emptied_at is not None and curve.emptied_until is not None:
        those = int(observed(lives).at_risk(np.array([curve.emptied_at]))[0])
        notes.append(emptied(curve.emptied_at, curve.emptied_until, those))
    here = one if reading.given is None else one.take(observed(lives).exit > reading.given)
    notes.append(f"{_known_to_intervals(lives)}: the curve allows for that")
    if not small:
        notes.append(f"no limits: drawing more than {MOST_DRAWN} such lives again and again takes too long")
    at = zip(reading.times.tolist(), shares, watched.tolist(), strict=True)
    return (
        GroupCurve(
            group=name,
            n=here.n,
            events=here.lives.failures,
            median=sound.quantile(found.median),
            at=tuple(_point(t, share, int(n), reading.conf, sound) for t, share, n in at),
            restricted_mean=sound.restricted_mean(reading.tau, found.restricted_mean),
            b10=sound.quantile(found.b10),
            estimator="Turnbull",
            drawn=drawn_corners(lives, corners, at_corners, reading.watched_at),
            caution=None if curve.emptied_at is None else EMPTIED,
            second_opinion=opinion(no_curve_from_intervals()) if reading.second_opinion else None,
        ),
        notes,
    )


def _point(time: float, share: Estimate, watched: int, conf: float, sound: Sound) -> SurvivalAt:
    if time >= sound.until:
        return SurvivalAt(time, None, None, None, watched)
    return SurvivalAt(time, share.value, *_spread(share, watched, conf), watched)


def _spread(share: Estimate, watched: int, conf: float) -> tuple[float | None, float | None]:
    """Limits of a share; where all draws agree, that of no failure among the watched, or none: nobody is so sure."""
    if share.lower is None or share.lower != share.upper:
        return share.lower, share.upper
    return (((1 - conf) / 2) ** (1 / watched), 1.0) if share.lower == 1 and watched else (None, None)


def _known_to_intervals(lives: Lives) -> str:
    within = int(np.sum(lives.failed & (lives.lower < lives.upper)))
    if within < lives.failures:
        return f"of {count(lives.failures, 'failure')}, {within} known only to an interval"
    return (
        "the failure is known only to an interval"
        if within == 1
        else f"each of the {within} failures is known only to an interval"
    )


def _points(moved: float) -> str:
    """
    Say a difference between shares in points of a hundred.

    Examples
    --------
    >>> _points(0.0042), _points(0.0002)
    ('0.4 points', 'less than 0.1 points')
    """
    return f"{100 * moved:.1f} points" if moved >= 0.001 else "less than 0.1 points"
