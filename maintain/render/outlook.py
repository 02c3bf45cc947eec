"""What is due and what to hold, on the screen: a plain sentence first, then the table, then what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render.first import first, legal_dates, named, to_do
from maintain.render.phrases import count, say
from maintain.render.tables import table
from maintain.results.base import Column
from maintain.vocabulary import many

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.deeds import Deed
    from maintain.results.outlook import Answers, Due, DueLine, Evidence, Interval


CAUTION = (
    "Gas, balls, wet batteries and cold water hurt people: the safety officer and local rules decide, not this list."
)


def due(result: Due, console: Console) -> None:
    """What to do first, in a sentence; then dates, what nobody hears failing, parts by what work on them buys, why."""
    of = {
        advice: [line for line in result.lines if line.advice == advice and not line.first]
        for advice in ("certificate", "task", "test")
    }
    parts = [line for line in result.lines if line.failing and line.advice != "test"]
    whose = f" on {result.ship}" if result.ship else ""
    by = f"the end of {result.battle} ({result.until})" if result.battle else str(result.until)
    say(console, f"Due{whose} by {by}, {count(result.sorties, 'sortie')} a ship", bold=True)
    if result.battle is None:
        say(console, NO_BATTLE)
    for line in (each for each in result.lines if each.first):
        say(console, failed(line, result.ship), bold=True)
    say(console, _first(result))
    say(console, _summary(result, parts))
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
        title = "Chance that it has failed since it was last seen to work, or will"
        _table(console, f"{title} ({result.level:.0%} interval)", _PARTS, rows)
        _reasons(console, parts, result.ship)
        say(console, _BOUGHT)
    _running(console, result.runs, result.ship)
    _evidence(console, [*of["test"], *parts])
    _notes(console, result.notes)
    say(console, CAUTION)


NO_BATTLE = "No battle is planned; plan one with: maintain battle add NAME --from DATE --planned-sorties 2"
_BOUGHT = (
    "Buys: points (in a hundred) by which the ship's odds of getting through with everything vital rise if it is done; "
    "a spare carried leaves the odds of the sortie as they are, but saves the rest of the day."
)
_FEW = 3  # names of many that matter


def _first(result: Due) -> str:
    """What to do before reading on."""
    legal = [line for line in result.lines if line.advice == "certificate" and not line.first]
    tasks = [line for line in result.lines if line.advice == "task" and not line.first]
    untested = [
        str(_where(line, result.ship)) for line in result.lines if line.advice == "test" and not line.last_tested
    ]
    told = first(
        legal=legal_dates(legal, by_name=result.ship is not None),
        missing=[_missing(result)] if result.empty else [],
        worth=[*_runs(result), *(to_do(deed, with_ship=result.ship is None) for deed in result.tonight)],
        untested=sorted(untested) if result.ship else untested,
        tasks=(len(tasks), sum(line.overdue for line in tasks)),
    )
    if told:
        return told
    if any(line.first for line in result.lines):
        return "Nothing else has to be done first."
    return "Nothing has to be done first." if result.considered else "No date runs out and no task is due by then."


def _runs(result: Due) -> list[str]:
    """Running everything, of the fleet in a word: where it buys more than any single work."""
    if result.ship or not result.runs:
        return []
    most = result.runs[0]
    if result.tonight and most.gain < result.tonight[0].gain:
        return []
    return [f"run everything once on every ship (most on {most.ship}: {_points(most.gain)})"]


def _missing(result: Due) -> str:
    """Vital positions without a part; of the fleet how many each ship has."""
    if result.ship:
        return f"fit what she can't do without: {named(result.empty)}"
    ships = [place.partition("/")[0] for place in result.empty]
    counted = [f"{count(ships.count(ship), 'position')} of {ship}" for ship in dict.fromkeys(ships)]
    return f"fit what ships can't do without: {named(counted)}"


def failed(line: DueLine, only: str | None) -> str:
    """What failed and is aboard, and what to do about it."""
    return f"{_where(line, only)}: {line.why}: {line.action}."


def _summary(result: Due, parts: list[DueLine]) -> str:
    """How many parts are shown, why these, and what all of them together promise."""
    if not result.considered:
        return f"None of {count(result.fitted, 'fitted part')} can be forecast." if result.fitted else _NO_PART
    low, high = f"{result.expected.lower:.0f}", f"{result.expected.upper:.0f}"
    silent = result.fitted - result.considered
    whole = count(result.considered, "fitted part") + (f" ({silent} more have no forecast)" if silent > 0 else "")
    expected = f"among all of them expect about {result.expected.value:.1f} failures by then ({low} to {high})"
    if result.hours is None:
        have = "has" if len(parts) == 1 else "have"
        likely = f"{have} a chance of {result.over:.0%} or more to fail by then"
        shown = f"{whole} can be forecast" if result.over == 0 else f"{len(parts)} of {whole} {likely}"
        return f"{shown}; {expected}."
    worked = [line for line in result.lines if line.failing]
    minutes = sum(line.minutes or 0 for line in worked)
    bought = 100 * sum(line.buys or 0.0 for line in worked)
    hours = "1 hour" if result.hours == 1 else f"{result.hours:g} hours"
    return (
        f"Work on {len(worked)} of {whole} fits in {hours}: {count(minutes, 'minute')} that buy {bought:.1f} points of "
        f"odds, ship by ship added up; work by date or count comes on top; {expected}."
    )


_NO_PART = "No fitted part can be forecast."
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
    Column("seen", "Failed so far"),
    Column("in_pool", "In the pool", numeric=True),
    Column("buys", "Buys"),
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
    Column("seen", "Failed so far"),
    Column("in_pool", "In the pool", numeric=True),
    Column("advice", "Do"),
    Column("buys", "Buys"),
)


def _where(line: DueLine, only: str | None) -> str | None:
    """Ship and position; the position alone where only one ship is spoken of."""
    if line.ship is None or line.position is None:
        return line.ship
    return line.position if only else f"{line.ship}/{line.position}"


def _dated(line: DueLine, only: str | None = None) -> dict[str, object]:
    facts = {name: getattr(line, name) for name in ("part", "action", "why", "source", "decider")}
    return facts | {"where": _where(line, only), "due_on": _by(line)}


def _by(line: DueLine) -> str | None:
    """By when, and whether that is past."""
    if line.overdue:
        return f"overdue since {line.due_on}" if line.due_on else "overdue"
    return str(line.due_on) if line.due_on else None


def _by_task(lines: list[DueLine]) -> list[dict[str, object]]:
    """One row for each task of the fleet, with the ships that want it."""
    alike: dict[str, list[DueLine]] = {}
    for line in lines:
        alike.setdefault(line.action, []).append(line)
    return [_dated(same[0]) if len(same) == 1 else _shared(same) for same in alike.values()]


def _shared(lines: list[DueLine]) -> dict[str, object]:
    ships = sorted({line.ship for line in lines if line.ship})
    dates = [line.due_on for line in lines if line.due_on]
    late = sum(line.overdue for line in lines)
    by = [f"from {min(dates)}"] if dates else []
    every = lines[0].why.partition(";")[0]
    return {
        "action": lines[0].action,
        "where": f"{count(len(ships), 'ship')}: {', '.join(ships)}",
        "due_on": "; ".join([*by, *([f"{late} overdue"] if late else [])]) or None,
        "why": every,
        "source": lines[0].source,
    }


def _part(line: DueLine, only: str | None) -> dict[str, object]:
    return {
        "where": _where(line, only),
        "part": f"{line.part}, {line.family}",
        "failing": _percent(line.failing) if line.failing else None,
        "seen": f"{line.evidence.failures} of {line.evidence.n}" if line.evidence else None,
        "tested": str(line.last_tested) if line.last_tested else "never on record",
        "in_pool": line.in_pool,
        "advice": line.advice,
        "buys": _buys(line),
    }


def _buys(line: DueLine) -> str | None:
    """What the work buys, and how long it takes."""
    takes = None if line.minutes is None else f"{line.minutes} min"
    if not line.buys:
        return takes and f"nothing vital, {takes}"
    return _points(line.buys) + (f", {takes}" if takes else "")


def _points(gain: float) -> str:
    return f"{100 * gain:+.1f} points"


def _running(console: Console, runs: tuple[Deed, ...], only: str | None) -> None:
    """What running everything once buys, ship by ship."""
    if runs:
        takes = count(runs[0].minutes or 0, "minute") + ("" if only else " a ship")
        buys = _points(runs[0].gain) if only else named([f"{run.ship} {_points(run.gain)}" for run in runs])
        say(console, f"Run everything once ({takes}): {runs[0].why}. Buys: {buys}.")


def _reasons(console: Console, parts: list[DueLine], only: str | None) -> None:
    """Once for each reason: which parts it holds for; of the fleet in short, how many and the first of them."""
    alike: dict[tuple[str, str], list[str]] = {}
    for line in parts:
        why = line.why if only else line.why.partition("; ")[0]
        alike.setdefault((line.action, why), []).append(str(_where(line, only)))
    for (action, why), where in alike.items():
        whose = (
            ", ".join(where) if only or len(where) <= _FEW else f"{count(len(where), 'part')} ({named(where, _FEW)})"
        )
        say(console, f"{whose}: {action}; {why}.")
    if not only:
        say(console, "All that is to be said of a ship's parts: maintain due --ship NAME.")


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
        say(console, text)


def _spoken_evidence(seen: Evidence) -> str:
    failures, lives = count(seen.category_failures, "failure"), count(seen.category_n, "life")
    counted = f"{many(seen.category)}: {failures} in {lives}"
    more = f"; about {count(seen.more_needed, 'more failure')} would tell" if seen.more_needed else ""
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
        say(console, line)


def _table(console: Console, title: str, columns: tuple[Column, ...], rows: list[dict[str, object]]) -> None:
    console.print(table(title, columns, rows))


def _notes(console: Console, notes: tuple[str, ...]) -> None:
    for line in notes:
        say(console, f"note: {line}")
