"""How ready ships are, on the screen: legal dates first, then the odds, then what to do about them tonight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.first import first, legal_dates, named, to_do
from maintain.render.outlook import NO_BATTLE, failed
from maintain.render.phrases import CANT_TELL, count, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.deeds import Deed
    from maintain.results.ready import Odds, PlaceLine, Ready, ReadyFleet, ReadyShip, SystemLine

_MOST_PLACES = 8
NOTHING_FIRST = "Nothing known here has to be done first."


def ready(result: Ready, console: Console) -> None:
    """One ship: open safety items, odds by system, what to do, what matters most."""
    say(console, f"{result.ship} {_before(result)}, {count(result.sorties, 'sortie')}", bold=True)
    if result.battle is None:
        say(console, NO_BATTLE)
    for line in result.failed:
        say(console, failed(line, result.ship), bold=True)
    say(console, _first(result))
    for line in result.safety:
        decided = f"{line.decider} decides ({line.source})"
        say(console, f"Open: {line.part} in {line.position}: {line.why}; {line.action}; {decided}")
    say(console, f"She gets through with everything vital: {odds(result.through)}.")
    _unknown(result, console)
    console.print(table(f"Chance ({result.level:.0%} interval)", _SYSTEMS, [_system(each) for each in result.systems]))
    _tonight(result, console)
    known = [line for line in result.places if line.failing is not None]
    if known:
        console.print(table("What matters most", _PLACES, [_place(each) for each in known[:_MOST_PLACES]]))
    if len(known) > _MOST_PLACES:
        say(console, f"{len(known) - _MOST_PLACES} more positions matter less; --csv has all")
    if result.tasks:
        say(console, f"{count(result.tasks, 'task')} due by date or count: maintain due --ship {result.ship}")
    for note in result.notes:
        say(console, f"note: {note}")
    say(console, result.caution)


def _unknown(result: Ready, console: Console) -> None:
    """Positions of which nothing can be said, and why."""
    if result.empty:
        say(console, f"Nothing is fitted in: {', '.join(result.empty)}.")
    if result.silent:
        say(console, f"No forecast yet, for nothing was seen of such parts: {', '.join(result.silent)}.")
    if result.untested:
        say(console, f"No forecast, for nobody hears it fail and none was ever tested: {', '.join(result.untested)}.")


_SYSTEMS = (Column("system", "System"), Column("works", "Works"), Column("full", "At full strength"))
_DEEDS = (
    Column("position", "Position"),
    Column("part", "Part"),
    Column("action", "Do"),
    Column("odds", "Odds", numeric=True),
    Column("minutes", "Minutes", numeric=True),
    Column("why", "Why"),
)
_PLACES = (
    Column("position", "Position"),
    Column("part", "Part"),
    Column("failing", "Lets down", numeric=True),
    Column("decisive", "Costs in odds if it fails", numeric=True),
    Column("share", "Share of the risk", numeric=True),
)


def fleet(result: ReadyFleet, console: Console) -> None:
    """A line for each ship, the least likely to get through first."""
    heading = f"Ships {_before(result)}, {count(result.sorties, 'sortie')} each"
    if result.battle is None:
        say(console, NO_BATTLE)
    if not result.ships:
        say(console, f"{heading}: no ship in commission has positions (maintain ship add NAME --like cruiser)")
    else:
        _board(heading, [_ship(each) for each in result.ships], console)
    out_of_date = sum(each.out_of_date for each in result.ships)
    if out_of_date:
        say(console, f"{count(out_of_date, 'legal date')} run out by then: maintain due says which and who decides")
    for note in result.notes:
        say(console, f"note: {note}")
    say(console, result.caution)


_FLEET = (
    Column("ship", "Ship"),
    Column("through", "Gets through"),
    Column("weakest", "Weakest system"),
    Column("best", "Do first"),
    Column("after", "Then", numeric=True),
    Column("minutes", "Minutes", numeric=True),
    Column("open", "Open"),
)


_FEWER = tuple(column for column in _FLEET if column.key not in ("minutes", "open"))


def _board(heading: str, rows: list[dict[str, object]], console: Console) -> None:
    """All columns, or on a narrow screen the fewer that decide, and what is open below them."""
    whole = table(heading, _FLEET, rows)
    if whole.fits(console.width):
        console.print(whole)
        return
    console.print(table(heading, _FEWER, rows))
    for row in rows:
        if row["open"]:
            say(console, f"Open on {row['ship']}: {row['open']}")


def _before(result: Ready | ReadyFleet) -> str:
    return f"before {result.battle} ({result.until})" if result.battle else f"until {result.until}"


def _first(result: Ready) -> str:
    """What a captain does before reading on."""
    dead = {line.part for line in result.failed}
    told = first(
        legal=legal_dates(result.safety, by_name=True),
        missing=[f"fit what she can't do without: {named(result.missing)}"] if result.missing else [],
        worth=[to_do(deed) for deed in result.tonight if deed.part not in dead],
        untested=result.never_tested,
        tasks=(result.tasks, result.overdue),
    )
    if told:
        return told
    return "Nothing else known here has to be done first." if result.failed else NOTHING_FIRST


def odds(found: Odds) -> str:
    """A chance with its interval, as a bound where something is unknown."""
    if found.value is None:
        return CANT_TELL
    if found.upper == 0:
        return "0%, as things stand"
    told = f"{_percent(found.value)} ({_percent(found.lower)}–{_percent(found.upper)})"
    return told if found.least is None else f"at most {told}, {_percent(found.least)} if all that is unknown fails"


def _percent(chance: float | None) -> str:
    """Of a forecast never 0% or 100%: nothing is that sure."""
    if chance is None:
        return CANT_TELL
    if chance in (0, 1):  # what has failed is no forecast
        return f"{chance:.0%}"
    if chance > 0.999:
        return "over 99.9%"
    return "under 0.1%" if chance < 0.001 else f"{chance:.1%}"


def _system(line: SystemLine) -> dict[str, object]:
    works = "nothing vital" if line.works.value is None and line.full.value is not None else odds(line.works)
    return {"system": line.system, "works": works, "full": odds(line.full)}


def _tonight(result: Ready, console: Console) -> None:
    if result.tonight:
        console.print(table("Best things to do tonight", _DEEDS, [_deed(each) for each in result.tonight]))
    else:
        say(console, "Nothing known here raises her odds tonight.")
    best = result.best_per_minute
    if best is not None:
        gain = f"+{100 * best.gain:.2g} points in {count(best.minutes or 0, 'minute')}"
        say(console, f"Best for the time: {to_do(best)} ({gain})")
    if result.carry:
        told = "A spare carried leaves the odds of the sortie as they are, but saves the rest of the day"
        say(console, f"{told}; the first to carry: {', '.join(result.carry)}")


def _deed(deed: Deed) -> dict[str, object]:
    return {
        "position": deed.position,
        "part": f"{deed.part}, {deed.family}" if deed.part else None,
        "action": deed.action,
        "odds": f"{_percent(deed.before)} → {_percent(deed.after)}",
        "minutes": deed.minutes,
        "why": deed.why,
    }


def _place(line: PlaceLine) -> dict[str, object]:
    return {
        "position": line.position,
        "part": f"{line.part}, {line.family}" if line.part else None,
        "failing": None if line.failing is None else _percent(line.failing),
        "decisive": f"{100 * line.decisive:.0f} points",
        "share": f"{line.share:.0%}",
    }


def _ship(line: ReadyShip) -> dict[str, object]:
    weakest = f"{line.weakest} {_percent(line.weakest_works)}" if line.weakest else None
    unknown = [count(line.unknown, "position") + " unknown"] if line.unknown else []
    legal = [count(line.out_of_date, "legal date")] if line.out_of_date else []
    dead = [f"{line.failed} failed and aboard"] if line.failed else []
    return {
        "ship": line.ship,
        "through": odds(line.through),
        "weakest": weakest,
        "best": line.first,
        "after": _percent(line.best.after) if line.best else None,
        "minutes": line.best.minutes if line.best else None,
        "open": ", ".join([*dead, *legal, *unknown]) or None,
    }
