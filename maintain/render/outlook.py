"""What is due and what to hold, on the screen: a plain sentence first, then the table, then what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render.tables import table
from maintain.results.base import Column
from maintain.vocabulary import many

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.outlook import Answers, Due, DueLine, Evidence, Interval


CAUTION = (
    "Gas, balls, wet batteries and cold water hurt people: the safety officer and local rules decide, not this list."
)


def due(result: Due, console: Console) -> None:
    """Dates and counts first, then what nobody hears failing, then parts by their chance, then the evidence."""
    of = {
        advice: [line for line in result.lines if line.advice == advice] for advice in ("certificate", "task", "test")
    }
    parts = [line for line in result.lines if line.failing and line.advice != "test"]
    whose = f" on {result.ship}" if result.ship else ""
    heading = f"Due{whose} by the end of {result.battle} ({result.until}), {result.sorties} sorties a ship"
    console.print(Text(heading, style="bold"))
    console.print(Text(_summary(result, parts)), soft_wrap=True)
    if of["certificate"]:
        rows = [_dated(line, result.ship) for line in of["certificate"]]
        _table(console, "Out of date by then; the one named decides", _LEGAL, rows)
    if of["task"]:
        rows = [_dated(line, result.ship) for line in of["task"]] if result.ship else _by_task(of["task"])
        _table(console, "To be done by date or count", _TASKS, rows)
    if of["test"]:
        rows = [_part(line, result.ship) for line in of["test"]] if result.ship else _by_position(of["test"])
        title = "To be tested by demand: chance that it has failed since its last test, or will"
        _table(console, f"{title} ({result.level:.0%} interval)", _SHIP_TESTS if result.ship else _TESTS, rows)
    if parts:
        rows = [_part(line, result.ship) for line in parts]
        _table(console, f"Chance of failing, given that it works now ({result.level:.0%} interval)", _PARTS, rows)
        console.print(Text(_BOUGHT), soft_wrap=True)
    _evidence(console, [*of["test"], *parts])
    _notes(console, result.notes)
    console.print(Text(CAUTION), soft_wrap=True)


_BOUGHT = (
    "Buys: points by which the ship's odds of getting through with everything vital rise if it is done; a spare "
    "carried leaves the odds of the sortie as they are, but saves the rest of the day."
)


def _summary(result: Due, parts: list[DueLine]) -> str:
    """How many parts are shown, why these, and what all of them together promise."""
    if not result.considered:
        return "No fitted part can be forecast."
    low, high = f"{result.expected.lower:.0f}", f"{result.expected.upper:.0f}"
    expected = f"among all of them {result.expected.value:.1f} failures are to be expected ({low}–{high})"
    if result.hours is None:
        likely = f"have a chance of {result.over:.0%} or more to fail by then"
        return f"{len(parts)} of {result.considered} fitted parts {likely}; {expected}."
    worked = [line for line in result.lines if line.failing]
    minutes = sum(line.minutes or 0 for line in worked)
    bought = 100 * sum(line.buys or 0.0 for line in worked)
    return (
        f"Work on {len(worked)} of {result.considered} fitted parts fits in {result.hours:g} hours: {minutes} minutes "
        f"that buy {bought:.1f} points of odds, ship by ship added up; work by date or count comes on top; {expected}."
    )


_LEGAL = (
    Column("where", "Where"),
    Column("part", "Part"),
    Column("why", "What"),
    Column("source", "Rule"),
    Column("decider", "Who decides"),
    Column("action", "Do"),
)
_TASKS = (
    Column("action", "Do"),
    Column("where", "Where"),
    Column("due_on", "By"),
    Column("why", "Why"),
    Column("source", "Source"),
)
_SHIP_TESTS = (
    Column("where", "Where"),
    Column("part", "Part"),
    Column("failing", "Chance", numeric=True),
    Column("tested", "Last test"),
    Column("seen", "Seen so far"),
    Column("in_pool", "In the pool", numeric=True),
    Column("buys", "Buys", numeric=True),
    Column("minutes", "Minutes", numeric=True),
)
_TESTS = (
    Column("position", "Position"),
    Column("ships", "Ships"),
    Column("failing", "Chance"),
    Column("tested", "Last tests"),
)
_PARTS = (
    Column("where", "Where"),
    Column("part", "Part"),
    Column("failing", "Fails", numeric=True),
    Column("seen", "Seen so far"),
    Column("in_pool", "In the pool", numeric=True),
    Column("action", "Do"),
    Column("buys", "Buys", numeric=True),
    Column("minutes", "Minutes", numeric=True),
    Column("why", "Why"),
)


def _where(line: DueLine, only: str | None) -> str | None:
    """Ship and position; the position alone where only one ship is spoken of."""
    if line.ship is None or line.position is None:
        return line.ship
    return line.position if only else f"{line.ship}/{line.position}"


def _dated(line: DueLine, only: str | None = None) -> dict[str, object]:
    facts = {name: getattr(line, name) for name in ("part", "action", "due_on", "why", "source", "decider")}
    return facts | {"where": _where(line, only)}


def _by_task(lines: list[DueLine]) -> list[dict[str, object]]:
    """One row for each task of the fleet, with the ships that want it."""
    alike: dict[str, list[DueLine]] = {}
    for line in lines:
        alike.setdefault(line.action, []).append(line)
    return [_dated(same[0]) if len(same) == 1 else _shared(same) for same in alike.values()]


def _shared(lines: list[DueLine]) -> dict[str, object]:
    ships = sorted({line.ship for line in lines if line.ship})
    dates = [line.due_on for line in lines if line.due_on]
    every = lines[0].why.partition(";")[0]
    return {
        "action": lines[0].action,
        "where": f"{len(ships)} ships: {', '.join(ships)}",
        "due_on": f"from {min(dates)}" if dates else None,
        "why": every,
        "source": lines[0].source,
    }


def _part(line: DueLine, only: str | None) -> dict[str, object]:
    assert line.failing
    assert line.evidence
    return {
        "where": _where(line, only),
        "part": f"{line.part}, {line.family}",
        "failing": _percent(line.failing),
        "seen": f"{line.evidence.failures} of {line.evidence.n} failed",
        "tested": str(line.last_tested) if line.last_tested else "never on record",
        "in_pool": line.in_pool,
        "action": line.action,
        "buys": f"{100 * line.buys:+.1f}" if line.buys else None,
        "minutes": line.minutes,
        "why": line.why,
    }


def _by_position(lines: list[DueLine]) -> list[dict[str, object]]:
    """One row for each position of the fleet whose function is hidden, with the ships that have it."""
    alike: dict[str, list[DueLine]] = {}
    for line in lines:
        alike.setdefault(line.position or "", []).append(line)
    return [
        {
            "position": position,
            "ships": ", ".join(sorted(line.ship or "" for line in same)),
            "failing": f"{_percent(same[0].failing)} and less" if same[0].failing else None,
            "tested": _tests(same),
        }
        for position, same in alike.items()
    ]


def _percent(chance: Interval) -> str:
    if chance.value < 0.005:
        return "under 1%"
    return f"{chance.value:.0%} ({100 * chance.lower:.0f}–{100 * chance.upper:.0f})"


def _tests(lines: list[DueLine]) -> str:
    """When the last tests of several parts were."""
    days = sorted(line.last_tested for line in lines if line.last_tested)
    told = [str(days[0]) if days[0] == days[-1] else f"{days[0]} to {days[-1]}"] if days else []
    never = len(lines) - len(days)
    return "; ".join([*told, *([f"{never} never on record"] if never else [])])


_WEAR = {
    "wear-out": "they wear out",
    "early failures": "young ones fail most",
    "steady": "they fail at a steady rate",
    "can't tell yet": "can't tell yet whether they wear out",
}


def _evidence(console: Console, parts: list[DueLine]) -> None:
    """Once for each category: what all its estimates rest on."""
    told = {_spoken_evidence(line.evidence) for line in parts if line.evidence}
    for text in sorted(told):
        console.print(Text(text), soft_wrap=True)


def _spoken_evidence(seen: Evidence) -> str:
    counted = f"{many(seen.category)}: {seen.category_failures} failures in {seen.category_n} lives"
    more = f"; about {seen.more_needed} more failures would tell" if seen.more_needed else ""
    return f"{counted}; {_WEAR[seen.verdict]}; {seen.clock}{more}"


def answers(result: Answers, console: Console) -> None:
    """One answer after the other."""
    from maintain.render.show import draw

    console.print(Text(result.heading, style="bold"))
    for answer in result.answers:
        console.print()
        draw(answer, console)
    console.print()
    for line in result.notes:
        console.print(Text(line), soft_wrap=True)


def _table(console: Console, title: str, columns: tuple[Column, ...], rows: list[dict[str, object]]) -> None:
    console.print(table(title, columns, rows))


def _notes(console: Console, notes: tuple[str, ...]) -> None:
    for line in notes:
        console.print(Text(f"note: {line}"), soft_wrap=True)
