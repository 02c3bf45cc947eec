"""Why a part gets its advice: its history, its kind, what ages it, the forecast and what the work buys."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Any

import numpy as np
import sqlalchemy as sa

from maintain.core.wording import count
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find, holdings
from maintain.records import tables as t
from maintain.records.failed_aboard import failed_aboard
from maintain.results.explanation import Explanation, Reason
from maintain.results.life import GroupCurve
from maintain.results.outlook import Evidence
from maintain.results.part_sheet import PartSheet, Worked
from maintain.services import life
from maintain.services.dated_work.failed_aboard import standing, to_do
from maintain.services.due import ahead, part_line
from maintain.services.lives.samples import Wanted, of_records
from maintain.services.odds import ShipOdds, drag, fleet_odds
from maintain.services.outlook import HOW_TO_TEST, outlook
from maintain.services.part_sheet import part_sheet
from maintain.services.prospects import Prospect, prospects
from maintain.services.renewal_groups import told
from maintain.services.stakes import Stakes
from maintain.services.unit import Desk, reading
from maintain.vocabulary import many

_POINTS = 40  # of the curve, for its picture
_WEAR = {
    "wear-out": "the more they have been through, the likelier they fail",
    "early failures": "new ones fail more often than seasoned ones",
    "steady": "they fail at the same rate whatever they have been through",
}


def explain(desk: Desk, *, part: str, battle: str | None) -> Explanation:
    """
    All there is to say of a fitted part.

    Raises
    ------
    NotFound, InvalidRecord
        If there is no such part, or it is fitted on no ship in commission.
    NotEnoughData
        If no part of its category has a life of known age.
    """
    sheet = part_sheet(desk, part=part)
    with reading(desk) as connection:
        fought, horizon = ahead(connection, desk.today, battle)
        family = find.family(connection, sheet.facts["family"])
        look = outlook(connection, horizon, desk)
        currency = str(connection.execute(sa.select(t.club.c.currency)).scalar_one())
        if sheet.tag not in look.fleet.tag:
            where = sheet.where or "nobody knows where"
            raise InvalidRecord(
                f"{sheet.tag} is fitted on no ship in commission ({where}): nothing is forecast of it",
                hint=f"maintain part show {sheet.tag}",
            )
        parts = prospects(connection, look)
        found = next((each for each in parts if each.tag == sheet.tag), None)
        in_pool = {row.name: row.on_hand for row in holdings.by_family(connection, desk.today)}
        failed = {row.position_id: row for row in failed_aboard(connection, desk.today)}
        if found is None:
            raise _no_forecast(family, next((row for row in failed.values() if row.tag == sheet.tag), None))
        ship, dragging = found.labels["ship"], drag(connection, desk.today)
        [odds] = fleet_odds(connection, parts, dragging, desk.today, ship, failed)
    curve = _curve(desk, sheet)
    place = odds.parts.index(found)
    reasons = (
        *_past(sheet),
        *_kind(found.evidence, sheet, curve),
        *_renewing(found, currency),
        *_forecast(found, f"the end of {fought} ({horizon.until})" if fought else str(horizon.until)),
        Reason("advice", f"{found.advice.action}: {found.advice.why}"),
        Reason("what it buys", _bought(found, odds, place)),
    )
    return Explanation(
        part_line(found, {found.position_id: float(odds.gains[place])}, in_pool.get(family.name, 0)), reasons, curve
    )


def _no_forecast(family: Any, failed: Any) -> NotEnoughData:
    """Why there is none: it failed, its kind was never tested, or nothing was seen of such parts."""
    kind = many(family.category)
    if failed is not None:
        return NotEnoughData(f"no forecast: {standing(failed)}", hint=to_do(failed))
    if family.hidden:
        return NotEnoughData(f"none of the {kind} was ever tested, and nobody hears them fail", hint=HOW_TO_TEST)
    hint = "record when parts of its kind were fitted and failed"
    return NotEnoughData(f"no life of known age yet of {kind}", hint=hint)


def _curve(desk: Desk, sheet: PartSheet) -> GroupCurve | None:
    """How long parts of its family last, with points enough to draw."""
    try:
        sample = of_records(desk, Wanted(None, {"family": sheet.facts["family"]}), None)
    except NotEnoughData:
        return None
    lives = sample.lives
    longest = float(np.where(np.isfinite(lives.upper), lives.upper, lives.lower).max())
    return life.curve(sample, life.Question(at=tuple(np.linspace(0, longest, _POINTS).tolist()))).groups[0]


def _past(sheet: PartSheet) -> Iterator[Reason]:
    facts = sheet.facts
    bought = f", bought {facts['acquired']}" if facts["acquired"] else ""
    treated = [f"{each['method']} {each['kind']} {each['on']}" for each in sheet.treatments]
    against = f"; against water: {', '.join(treated)}" if treated else "; nothing on record against water"
    yield Reason(
        "the part", f"{facts['family']}, {facts['origin']}{bought}; in {sheet.where} since {sheet.since}{against}"
    )
    least = "" if sheet.use_known else "at least "
    yield Reason("its use", least + _used(sheet.use) + _repaired(sheet))


def _repaired(sheet: PartSheet) -> str:
    failed, doubted = len(sheet.failures), len(sheet.suspicions)
    return (
        f"; failed {count(failed, 'time')} and doubted {count(doubted, 'time')} so far"
        if failed or doubted
        else "; never failed so far"
    )


def _used(use: Worked) -> str:
    unknown = f" ({use.unknown_wetness} sorties of unknown wetness)" if use.unknown_wetness else ""
    counted = f"{count(use.days, 'day')}, {count(use.sorties, 'sortie')}, {use.wet_sorties} of them wet"
    return f"{counted}, {count(use.immersions, 'sinking')}{unknown}"


def _kind(evidence: Evidence, sheet: PartSheet, curve: GroupCurve | None) -> Iterator[Reason]:
    lean = f"it leans on all {many(evidence.category)}: {evidence.category_failures} of {evidence.category_n} failed"
    yield Reason("parts like it", f"{evidence.group}: {evidence.failures} of {evidence.n} failed; {lean}")
    if curve is not None and curve.median.value is not None:
        half = f"half of all {sheet.facts['family']} have failed by {curve.median.value:.0f} days"
        yield Reason("how long they last", f"{half} ({curve.events} of {curve.n} failed)")
    wear = _WEAR.get(evidence.verdict, "can't tell yet how wear goes with use")
    yield Reason("what ages them", f"{evidence.clock}; {wear}")


def _forecast(found: Prospect, by: str) -> Iterator[Reason]:
    if found.failed is not None:
        new = _percent(found.failing_if_new.value)
        yield Reason(
            "forecast", f"{found.failed}: it lets her down until it is out; a new one fails by {by} with {new}"
        )
        return
    chance = found.failing
    seen = "at its last test" if found.hidden else "when it was last seen to"
    known = f"having worked {seen}, it has failed by now or fails"
    unknown = "" if found.aged else "; its earlier use is unknown: what was seen is the least it has been through"
    new = f"; a new one in its place: {_percent(found.failing_if_new.value)}"
    sure = f"{_percent(chance.value)} ({_percent(chance.lower)}–{_percent(chance.upper)})"
    yield Reason("forecast", f"{known} by {by} with {sure}{new}{unknown}")
    silent = float(found.chances.kept.of(found.row).silent.mean())
    points = f"{_points(silent)} of these {_points(chance.value)} points"
    yield Reason("failed already", f"{points} a check tonight would find; the rest is still to come")


def _points(chance: float) -> str:
    return f"{100 * chance:.1f}" if chance >= 0.001 else "under 0.1"


def _renewing(found: Prospect, currency: str) -> Iterator[Reason]:
    """By the rule that `maintain life renew` goes by, with its costs; not of what is tested, or dead."""
    if found.hidden or found.failed is not None:
        return
    stand, advice = found.standing, found.standing.advice
    renewing, failing = (f"{each / 100:.2f} {currency}" for each in stand.group.costs(Stakes()))
    costs = f"a new one and the work cost {renewing}, a failure in battle {failing} (maintain life renew says how)"
    why = told(advice, *stand.group.costs(Stakes()))
    if advice.policy == "never on age" or not isfinite(advice.age):
        yield Reason("when to renew", f"{why}; {costs}")
        return
    low, high = (f"{each:.0f}" if isfinite(each) else "never" for each in advice.age_interval)
    at = f"cheapest at {advice.age:.0f} days fitted ({low}–{high}), and it stands at {stand.days:.0f} by then"
    yield Reason("when to renew", f"{at}, at the pace of its group; {why}; {costs}")


def _percent(chance: float) -> str:
    return f"{chance:.1%}" if chance >= 0.001 else "under 0.1%"


def _bought(found: Prospect, odds: ShipOdds, place: int) -> str:
    through = odds.odds(odds.structure.fails)
    if found.advice.kind == "carry a spare":
        return "the odds of the sortie stay as they are; a spare at hand saves the rest of the day"
    if through.value is None:
        return f"can't tell yet: too little is known of what is vital on {odds.ship}"
    after = through.value + float(odds.gains[place])
    minutes = "" if found.minutes is None else f", for {count(found.minutes, 'minute')} of work"
    told = f"{odds.ship} gets through with everything vital with {after:.1%} instead of {through.value:.1%}{minutes}"
    return told if through.least is None else f"{told}, if all that is unknown holds"
