"""How likely each ship is to get through the battle, and what to do about it tonight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import sqlalchemy as sa

from maintain.core.structure import components
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.records.failed_aboard import failed_aboard
from maintain.records.ship_layout import was_sailing
from maintain.results.deeds import Deed
from maintain.results.outlook import DueLine
from maintain.results.ready import Odds, PlaceLine, Ready, ReadyFleet, ReadyShip, SystemLine
from maintain.services.dated_work.gather import dated_work
from maintain.services.deeds import BEST, deeds
from maintain.services.due import ahead, dated_line, notes_of_ship
from maintain.services.empty_positions import empty_vital
from maintain.services.horizon import Horizon
from maintain.services.odds import Drag, ShipOdds, drag, fleet_odds
from maintain.services.outlook import LEVEL, outlook
from maintain.services.prospects import prospects
from maintain.services.unit import Desk, reading

CAUTION = (
    "These are odds that machinery lasts, from the club's records. They clear no ship: gas, balls, batteries and cold "
    "water hurt people, and the safety officer, local rules and licensed inspectors decide."
)
_CARRIED = 3  # spares named


@dataclass(frozen=True)
class _Asked:
    """Everything learnt once for all ships asked about."""

    battle: str | None
    horizon: Horizon
    fleet: list[ShipOdds]
    missing: tuple[str, ...]
    dated: list[DueLine]
    notes: tuple[str, ...]


def ready(desk: Desk, *, ship: str, battle: str | None) -> Ready:
    """
    One ship before a battle.

    Raises
    ------
    NotEnoughData
        If she has no positions, or nothing fitted.
    InvalidRecord
        If she is not in commission.
    """
    with reading(desk) as connection:
        row = find.ship(connection, ship)
        if not was_sailing(row, desk.today):
            hint = f"ask again once she sails: maintain ship state {row.name!r} 'in commission'"
            raise InvalidRecord(f"{row.name} is not in commission: {row.state}", hint=hint)
        asked = _ask(connection, desk, battle, row.name)
    if not asked.fleet:
        raise NotEnoughData(f"{row.name} has no positions", hint=f"add them: maintain position add {row.name}/NAME")
    [odds] = asked.fleet
    if all(place.tag is None for place in odds.structure.places):
        raise NotEnoughData(f"nothing is fitted on {row.name}", hint="fit parts with: maintain part install")
    empty, silent, untested = _unknown(odds)
    failed = tuple(line for line in asked.dated if line.first)
    tasks = [line for line in asked.dated if line.advice == "task" and not line.first]
    work = deeds(odds)
    timed = [deed for deed in work if deed.per_minute is not None]
    return Ready(
        ship=odds.ship,
        battle=asked.battle,
        until=asked.horizon.until,
        sorties=asked.horizon.sorties,
        level=LEVEL,
        through=odds.odds(odds.structure.fails),
        systems=_systems(odds),
        places=_places(odds),
        tonight=tuple(_tonight(work, {line.part for line in failed})),
        best_per_minute=max(timed, key=lambda deed: deed.per_minute or 0.0, default=None),
        carry=_carried(odds),
        empty=empty,
        silent=silent,
        safety=tuple(line for line in asked.dated if line.advice == "certificate"),
        tasks=len(tasks),
        overdue=sum(line.overdue for line in tasks),
        caution=CAUTION,
        notes=(*asked.notes, *odds.structure.notes),
        failed=failed,
        missing=asked.missing,
        untested=untested,
        never_tested=_never_tested(odds),
    )


def _tonight(work: list[Deed], dead: set[str | None]) -> list[Deed]:
    """What failed and is aboard, and of the rest what buys most."""
    alive = [deed for deed in work if deed.part not in dead]
    return [*(deed for deed in work if deed.part in dead), *alive[:BEST]]


def ready_fleet(desk: Desk, *, battle: str | None) -> ReadyFleet:
    """Every ship in commission that has positions, the least likely to get through first."""
    with reading(desk) as connection:
        asked = _ask(connection, desk, battle, None)
    ships = sorted((_in_short(odds, asked.dated) for odds in asked.fleet), key=_worst_first)
    return ReadyFleet(
        battle=asked.battle,
        until=asked.horizon.until,
        sorties=asked.horizon.sorties,
        level=LEVEL,
        ships=tuple(ships),
        caution=CAUTION,
        notes=(*asked.notes, *(note for odds in asked.fleet for note in odds.structure.notes)),
    )


def _ask(connection: sa.Connection, desk: Desk, battle: str | None, ship: str | None) -> _Asked:
    name, horizon = ahead(connection, desk.today, battle)
    look = outlook(connection, horizon, desk)
    dragging = drag(connection, desk.today)
    parts = prospects(connection, look)
    failed = {row.position_id for row in failed_aboard(connection, desk.today)}
    fleet = list(fleet_odds(connection, parts, dragging, desk.today, ship, failed))
    missing = tuple(row.name for row in empty_vital(connection, desk.today, ship))
    dated = [dated_line(work) for work in dated_work(connection, horizon) if ship in (None, work.ship)]
    notes = look.notes if ship is None else notes_of_ship(look, parts, ship)
    return _Asked(name, horizon, fleet, missing, dated, (*horizon.notes, *_assumed(fleet, dragging), *notes))


def _assumed(fleet: list[ShipOdds], dragging: Drag) -> Iterator[str]:
    """What the diagrams take for granted, where it matters."""
    if any(odds.structure.dragging for odds in fleet):
        seen = f"{dragging.dragged} of {dragging.failed} did on record"
        share = f"{dragging.draws.mean():.0%} of cases ({seen})"
        yield f"a servo that fails is taken to drag the radio's supply down with it in {share}"
    if any("pumping" in odds.structure.systems for odds in fleet):
        yield "pumps and switches count as needed whether or not she is holed"


def _systems(odds: ShipOdds) -> tuple[SystemLine, ...]:
    return tuple(
        SystemLine(system, odds.odds(events.fails), odds.odds(events.impaired))
        for system, events in odds.structure.systems.items()
    )


def _places(odds: ShipOdds) -> tuple[PlaceLine, ...]:
    """Positions her odds rest on, the largest share of what may end her first."""
    decisive, criticality, share = odds.importance()
    lines = [
        PlaceLine(
            position=place.name,
            system=place.system,
            part=place.tag,
            family=place.family,
            failing=float(part.let_down.mean()) if part else None,
            decisive=float(decisive[number]),
            criticality=float(criticality[number]),
            share=float(share[number]),
        )
        for number, (place, part) in enumerate(zip(odds.structure.places, odds.parts, strict=True))
    ]
    counting = set(components(odds.structure.fails))
    kept = [line for number, line in enumerate(lines) if number in counting]
    return tuple(sorted(kept, key=lambda line: (-line.share, -line.decisive, line.position)))


def _carried(odds: ShipOdds) -> tuple[str, ...]:
    carried = [part for part in odds.parts if part is not None and part.advice.kind == "carry a spare"]
    carried.sort(key=lambda part: -part.failing.value)
    return tuple(f"{part.labels['family']} for the {part.labels['position']}" for part in carried[:_CARRIED])


def _unknown(odds: ShipOdds) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Positions that count and are empty, those whose part has no forecast, and those never tested."""
    counting = {each for events in odds.structure.systems.values() for each in components(events.impaired)}
    places = [
        place
        for number, (place, part) in enumerate(zip(odds.structure.places, odds.parts, strict=True))
        if part is None and number in counting and not odds.failed[number]
    ]
    empty = tuple(place.name for place in places if place.tag is None)
    silent, untested = (
        tuple(f"{place.name} ({place.tag})" for place in places if place.tag and bool(place.hidden) == hidden)
        for hidden in (False, True)
    )
    return empty, silent, untested


def _never_tested(odds: ShipOdds) -> tuple[str, ...]:
    """Positions of hidden functions whose part nobody ever tested, but of those known to have failed."""
    each = zip(odds.structure.places, odds.parts, odds.failed.tolist(), strict=True)
    return tuple(
        place.name
        for place, part, failed in each
        if place.tag and place.hidden and not failed and (part is None or part.tested is None)
    )


def _in_short(odds: ShipOdds, dated: list[DueLine]) -> ReadyShip:
    work = deeds(odds)
    works = {line.system: line.works.value for line in _systems(odds) if line.works.value is not None}
    weakest = min(works, key=lambda system: works[system], default=None)
    legal = [line for line in dated if line.advice == "certificate" and line.ship == odds.ship]
    return ReadyShip(
        ship=odds.ship,
        through=odds.odds(odds.structure.fails),
        weakest=weakest,
        weakest_works=works[weakest] if weakest else None,
        best=next(iter(work), None),
        best_part=next((deed for deed in work if deed.part), None),
        unknown=sum(map(len, _unknown(odds))),
        out_of_date=len(legal),
        failed=sum(line.first and line.ship == odds.ship for line in dated),
    )


def _worst_first(line: ReadyShip) -> tuple[float, str]:
    return (_sure(line.through), line.ship)


def _sure(odds: Odds) -> float:
    """What can be counted on: the lower bound where something is unknown; least of all where nothing is known."""
    if odds.value is None:
        return -1.0
    return odds.value if odds.least is None else odds.least
