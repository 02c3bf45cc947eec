"""Which family of a category is the cheapest to run: what it fails in a sortie, and what it costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from maintain.core.lives import Floats
from maintain.core.rates import Rates, pooled_rates
from maintain.core.stock.pooling import chance_least
from maintain.results.outlook import Interval
from maintain.results.spares_families import Candidate, Standard
from maintain.services.lives.columns import Words
from maintain.services.lives.ends import FAILED
from maintain.services.lives.labels import labels_of
from maintain.services.lives.service_ages import SEED
from maintain.services.lives.table import use_at_ends
from maintain.services.outlook import LEVEL, TELLING, Outlook
from maintain.services.spares_basis import Family
from maintain.services.stakes import HOUR_CENTS

_PER = 100  # sorties
_DRAWS = 4000


@dataclass(frozen=True)
class _Place:
    """Families of one category that serve one system in one zone, and what was seen of them there."""

    category: str
    system: str
    zone: str
    kind: list[Family]
    ships: list[int]
    installed: list[int]
    parts: Floats
    failures: Floats
    sorties: Floats


def standards(look: Outlook, families: list[Family]) -> tuple[Standard, ...]:
    """
    Which family to standardise on wherever several serve in like places, as far as can be told.

    A servo that steers in the bilge says little of one that fires a gun on the dry deck: families are compared within
    one system and zone only.
    """
    return tuple(_standard(each) for each in _places(look, families))


def _places(look: Outlook, families: list[Family]) -> Iterator[_Place]:
    past, names = look.past, ("category", "system", "zone", "family")
    sailed, labels = use_at_ends(past, "sorties"), labels_of(past)
    use = np.zeros(past.part.size) if sailed is None else sailed.end - sailed.entry
    failed = (past.ends.how.astype(str) == FAILED) & (use > 0)
    seen = _rows([labels[name] for name in names])
    fitted = _rows([look.fleet.labels[name] for name in names])
    for where in sorted({key[:3] for key in fitted}):
        kind = [each for each in families if (*where, each.name) in fitted]
        if len(kind) < 2:
            continue
        now = [fitted[(*where, each.name)] for each in kind]
        then = [seen.get((*where, each.name), []) for each in kind]
        yield _Place(
            category=where[0],
            system=where[1],
            zone=where[2],
            kind=kind,
            ships=[np.unique(look.fleet.ship[rows]).size for rows in now],
            installed=[len(rows) for rows in now],
            parts=np.array([float(len(rows)) for rows in then]),
            failures=np.array([float(failed[rows].sum()) for rows in then]),
            sorties=np.array([float(use[rows].sum()) for rows in then]),
        )


def _rows(columns: list[Words]) -> dict[tuple[str, ...], list[int]]:
    """Places of the rows with each combination of words."""
    found: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for row, key in enumerate(zip(*(column.astype(str).tolist() for column in columns), strict=True)):
        found[key].append(row)
    return dict(found)


def _standard(of: _Place) -> Standard:
    rates = pooled_rates(of.failures, of.sorties) if of.sorties.any() else None
    chances = {} if rates is None else _chances(of, rates)
    candidates = [_candidate(of, place, rates, chances) for place in range(len(of.kind))]
    candidates.sort(key=_cheapest_first)
    why_not = _why_not(candidates, of)
    family = candidates[0].family if why_not is None else None
    return Standard(of.category, of.system, of.zone, family, why_not, tuple(candidates))


def _cheapest_first(each: Candidate) -> tuple[bool, float, str]:
    running = each.running_cents
    return running is None, 0.0 if running is None else running.value, each.family


def _failure_cents(of: _Place) -> list[float | None]:
    """A new part and the hours of battle lost, these alike for all: the one chosen would serve all their positions."""
    lost = float(np.average([each.serves.hours for each in of.kind], weights=of.installed)) * HOUR_CENTS
    prices = [each.row.unit_cost_cents for each in of.kind]
    return [None if price is None else price + lost for price in prices]


def _chances(of: _Place, rates: Rates) -> dict[str, float]:
    """Chance of each family with a price to run at the least cost."""
    known = {place: cents for place, cents in enumerate(_failure_cents(of)) if cents is not None}
    if not known:
        return {}
    drawn = rates.draw(np.random.default_rng([SEED, *of.category.encode()]), _DRAWS)[:, list(known)]
    least = chance_least(drawn * np.array(list(known.values())))
    return {of.kind[place].name: chance for place, chance in zip(known, least.tolist(), strict=True)}


def _candidate(of: _Place, place: int, rates: Rates | None, chances: Mapping[str, float]) -> Candidate:
    each = of.kind[place]
    rate, running, cents = None, None, _failure_cents(of)[place]
    if rates is not None:
        low, high = rates.interval(LEVEL)
        rate = Interval(*(float(x[place]) * _PER for x in (rates.mean, low, high)))
    if rate is not None and cents is not None:
        running = Interval(rate.value * cents, rate.lower * cents, rate.upper * cents)
    return Candidate(
        family=each.name,
        ships=of.ships[place],
        installed=of.installed[place],
        parts=int(of.parts[place]),
        failures=int(of.failures[place]),
        sorties=round(float(of.sorties[place])),
        rate=rate,
        unit_cost_cents=each.row.unit_cost_cents,
        running_cents=running,
        chance_cheapest=chances.get(each.name),
        lead_time_days=each.row.lead_time_days,
    )


def _why_not(candidates: list[Candidate], of: _Place) -> str | None:
    """What stands in the way of naming the first; None if nothing does."""
    if not of.sorties.any():
        return "no sortie was logged of any of them"
    failures = int(of.failures.sum())
    if failures < TELLING:
        return f"{failures} failed; {TELLING - failures} more failures would begin to tell"
    unpriced = [each.family for each in candidates if each.unit_cost_cents is None]
    if unpriced:
        return f"nobody said what these cost: {', '.join(unpriced)} (maintain family change FAMILY --unit-cost AMOUNT)"
    first = candidates[0]
    chance = first.chance_cheapest or 0.0
    if chance < LEVEL:
        return f"{first.family} is the cheapest to run with a chance of {chance:.0%} only"
    return None
