"""What is due and what to hold, on the screen: a plain sentence first, then the table, then what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from maintain.render.tables import table
from maintain.results.base import Column
from maintain.vocabulary import many

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.outlook import Answers, Due, DueLine, Interval, Spares, SparesLine


def due(result: Due, console: Console) -> None:
    """Dates and counts first, then parts by their chance of failing, then the evidence."""
    legal = [line for line in result.lines if line.advice == "certificate"]
    tasks = [line for line in result.lines if line.advice == "task"]
    parts = [line for line in result.lines if line.failing is not None]
    whose = f" on {result.ship}" if result.ship else ""
    heading = f"Due{whose} by the end of {result.battle} ({result.until}), {result.sorties} sorties a ship"
    console.print(Text(heading, style="bold"))
    console.print(Text(_chosen(result, parts)), soft_wrap=True)
    if legal:
        _table(
            console, "Out of date by then; the one named decides", _LEGAL, [_dated(line, result.ship) for line in legal]
        )
    if tasks:
        rows = [_dated(line, result.ship) for line in tasks] if result.ship else _by_task(tasks)
        _table(console, "To be done by date or count", _TASKS, rows)
    if parts:
        rows = [_part(line, result.ship) for line in parts]
        _table(console, f"Chance of failing, given that it works now ({result.level:.0%} interval)", _PARTS, rows)
        console.print(Text(_BOUGHT), soft_wrap=True)
        _evidence(console, parts)
    _notes(console, result.notes)


_BOUGHT = (
    "Buys: points by which the ship's odds of getting through with everything vital rise if it is done; a spare "
    "carried leaves the odds of the sortie as they are, but saves the rest of the day."
)


def _chosen(result: Due, parts: list[DueLine]) -> str:
    """How many parts are shown, why these, and what all of them together promise."""
    expected = f"among all of them {result.expected_failures:.1f} failures are to be expected."
    if result.hours is None:
        likely = f"have a chance of {result.over:.0%} or more to fail by then"
        return f"{len(parts)} of {result.considered} fitted parts {likely}; {expected}"
    minutes = sum(line.minutes or 0 for line in parts)
    bought = 100 * sum(line.buys or 0.0 for line in parts)
    return (
        f"Work on {len(parts)} of {result.considered} fitted parts fits in {result.hours:g} hours: {minutes} minutes "
        f"that buy {bought:.1f} points of odds, ship by ship added up; work by date or count comes on top; {expected}"
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
_PARTS = (
    Column("where", "Where"),
    Column("part", "Part"),
    Column("failing", "Fails", numeric=True),
    Column("seen", "Seen so far"),
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
        "action": line.action,
        "buys": f"{100 * line.buys:+.1f}" if line.buys else None,
        "minutes": line.minutes,
        "why": line.why,
    }


def _percent(chance: Interval) -> str:
    low, high = f"{100 * chance.lower:.0f}", f"{100 * chance.upper:.0f}"
    return f"{100 * chance.value:.0f}% ({low}–{high})"


def _evidence(console: Console, parts: list[DueLine]) -> None:
    """Once for each category: what all its estimates rest on."""
    told = dict.fromkeys(
        f"{many(each.category)}: {each.category_failures} failures in {each.category_n} lives; "
        f"wear: {each.verdict}; {each.clock}"
        for line in parts
        if (each := line.evidence)
    )
    for text in sorted(told):
        console.print(Text(text), soft_wrap=True)


def spares(result: Spares, console: Console) -> None:
    """What to buy first, then the families that may run out."""
    buy = [line for line in result.lines if line.buy]
    cost = sum(line.cost_cents or 0 for line in buy)
    console.print(Text(f"Spares until {result.until}, {result.sorties} sorties a ship", style="bold"))
    what = ", ".join(f"{line.buy} {line.family}" for line in buy)
    told = f"Buy {what}: {cost / 100:.2f} {result.currency}." if buy else "Nothing needs buying."
    console.print(Text(f"{told} Each holding then suffices with {result.service:.0%}."), soft_wrap=True)
    unpriced = [line.family for line in buy if line.cost_cents is None]
    if unpriced:
        console.print(Text(f"No unit cost is known of: {', '.join(unpriced)}."), soft_wrap=True)
    shown = [x for x in result.lines if result.everything or x.buy or x.running_out > _MAY_RUN_OUT]
    if shown:
        _table(console, f"Demand with its {result.level:.0%} interval", _SPARES_COLUMNS, [_spare(x) for x in shown])
    if len(shown) < len(result.lines):
        rest = len(result.lines) - len(shown)
        console.print(
            Text(f"{rest} other families run out with {_MAY_RUN_OUT:.0%} or less; --all shows them"), soft_wrap=True
        )
    _notes(console, result.notes)


_MAY_RUN_OUT = 0.01
_SPARES_COLUMNS = (
    Column("family", "Family"),
    Column("held", "On hand", numeric=True),
    Column("demand", "Demand", numeric=True),
    Column("running_out", "Runs out", numeric=True),
    Column("needed", "Needed", numeric=True),
    Column("buy", "Buy", numeric=True),
    Column("cost", "Cost", numeric=True),
    Column("basis", "Seen so far"),
)


def _spare(line: SparesLine) -> dict[str, object]:
    return {
        "family": line.family,
        "held": f"{line.on_hand} + {line.on_order} ordered" if line.on_order else line.on_hand,
        "demand": f"{line.demand.value:.1f} ({line.demand.lower:.0f}–{line.demand.upper:.0f})",
        "running_out": f"{line.running_out:.0%}",
        "needed": line.needed,
        "buy": line.buy or None,
        "cost": f"{line.cost_cents / 100:.2f}" if line.cost_cents else None,
        "basis": line.basis,
    }


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
