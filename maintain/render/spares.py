"""What to hold and what to buy, on the screen: the shopping list first, then the table, then what nothing covers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render import termplot
from maintain.render.phrases import say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from maintain.results.spares import (
        FrontierPoint,
        Lumps,
        Plan,
        Spares,
        SparesLine,
        Together,
        Uncovered,
    )
    from maintain.results.spares_why import Holding, SparesWhy

_MAY_RUN_OUT = 0.01
_NAMED = 4  # ships or positions named before the rest are counted


def spares(result: Spares, console: Console) -> None:
    """What to buy first, then the families that may run out, what nothing covers, and how much to believe."""
    say(console, f"Spares until {result.until}, {result.sorties} sorties a ship", bold=True)
    say(console, shopping(result))
    shown = [x for x in result.lines if result.everything or x.buy or x.running_out > _MAY_RUN_OUT]
    if shown:
        ordered = any(line.on_order for line in shown)
        columns = [each for each in _COLUMNS if each.key not in (_WITHOUT if ordered else _OF_ORDERS)]
        console.print(table(f"Demand with its {result.level:.0%} interval", columns, [_spare(x) for x in shown]))
        if leaning := _leaning(shown):
            say(console, leaning)
    if len(shown) < len(result.lines):
        rest = len(result.lines) - len(shown)
        say(console, f"{rest} more run out with {_MAY_RUN_OUT:.0%} or less; --all shows them")
    below(result, console)


def below(result: Plan, console: Console) -> None:
    """What stands below every plan."""
    order = [line for line in result.lines if line.order_now and not line.buy]
    if order:
        named = "; ".join(f"{line.family} ({line.on_hand + line.on_order} of {line.reorder_line})" for line in order)
        say(console, f"Below the reorder line, order soon: {named}.")
    stale = [f"{line.stale} {line.family}" for line in result.lines if line.stale]
    if stale:
        told = "; ".join(stale)
        say(console, f"There, but past what they may lie and not tested since, so not counted on: {told} (pool stale).")
    lent = [f"{line.lent} {line.family}" for line in result.lines if line.lent]
    if lent:
        say(console, f"Lent, to come back and not counted on: {'; '.join(lent)}.")
    for line in (uncovered(result.uncovered), lumpy(result.lumps)):
        if line:
            say(console, line)
    if termplot.wanted(result, console) and len(result.frontier) > 1:
        _plot_frontier(result.frontier, result.currency, console)
    for note in result.notes:
        say(console, f"note: {note}")
    termplot.say_where(result, console)


def shopping(result: Plan) -> str:
    """What to buy, what it costs as far as known, what it comes to, and of which families nothing can be said."""
    buy = [line for line in result.lines if line.buy]
    unpriced = [line.family for line in buy if line.cost_cents is None]
    told = []
    if buy:
        cost = f"{'at least ' if unpriced else ''}{_money(sum(x.cost_cents or 0 for x in buy), result.currency)}"
        told.append(f"Buy {'; '.join(f'{line.buy} {line.family}' for line in buy)}: {cost}.")
    told += _reached(result, bool(buy))
    if unpriced:
        told.append(f"No unit cost is known of {'; '.join(unpriced)}.")
    late = [f"{line.family} ({line.lead_time_days} days)" for line in result.lines if line.too_late]
    if late:
        told.append(f"Ordered today, these come too late: {'; '.join(late)}: borrow, or make do.")
    unsaid = [line.family for line in buy if line.lead_time_days is None]
    if unsaid:
        told.append(f"Nobody noted how long these take to come, so they are taken to be in time: {'; '.join(unsaid)}.")
    stale = [line.family for line in result.lines if line.capped_by_shelf_life]
    if stale:
        told.append(f"Fewer than would be needed, as more would go stale unused: {'; '.join(stale)}.")
    guesses = [line.family for line in result.lines if line.guess]
    if guesses:
        told.append(f"A guess, no more: {'; '.join(guesses)}.")
    if result.silent:
        told.append(f"There is nothing to go by yet for {'; '.join(result.silent)}.")
    return " ".join(told)


def _reached(result: Plan, bought: bool) -> list[str]:
    """What the plan comes to."""
    if not result.lines:
        return []
    enough = _enough(result)
    if result.budget is not None:
        budget = result.budget
        spent = f"{_money(budget.spent_cents, result.currency)} of {_money(budget.cents, result.currency)}"
        saved = f"{budget.hours_before:.1f} hours of battle lost to want of spares become {budget.hours_after:.1f}"
        bound = f"no other use of that money saves {max(budget.at_most_better, 0.05):.1f} hours more"
        left = [f"Nobody noted what these cost: {'; '.join(budget.unpriced)}."] if budget.unpriced else []
        return [f"That is {spent}: {saved}; {bound}.", *left, enough]
    if result.whole:
        nothing = "" if bought else "Nothing needs buying. "
        return [f"{nothing}{enough}"]
    if result.together_asked is not None:
        return [f"If all of it were there in time, each holding below would suffice with {result.service:.0%}.", enough]
    first = "Each holding below then suffices" if bought else "Nothing needs buying: each holding below suffices"
    return [f"{first} with {result.service:.0%}.", enough]


def _enough(result: Plan) -> str:
    """The chance with what can be there, and beside it with all that is asked for."""
    enough = together(result.together, result.level)
    if result.together is None or result.together_asked is None:
        return enough
    asked = result.together_asked.value
    return f"{enough[:-1]}, with what can be there in time; with all that is asked for it would be {asked:.0%}."


def together(found: Together | None, level: float) -> str:
    """The chance of all families together, with what is not known of it."""
    if found is None:
        return ""
    limits = ""
    if found.lower is not None and found.upper is not None:
        limits = f" ({100 * found.lower:.0f}–{100 * found.upper:.0f}, {level:.0%} interval)"
    return f"That nobody goes home for want of a spare then has a chance of {found.value:.0%}{limits}."


def _money(cents: int, currency: str) -> str:
    return f"{cents / 100:.2f} {currency}"


_COLUMNS = (
    Column("family", "Family"),
    Column("held", "Held", numeric=True),
    Column("both", "Held + ordered", numeric=True),
    Column("demand", "Demand", numeric=True),
    Column("running_out", "Runs out", numeric=True),
    Column("once_ordered", "Once orders are in", numeric=True),
    Column("needed", "Hold", numeric=True),
    Column("buy", "Buy", numeric=True),
    Column("line", "Order below", numeric=True, wide=True),
    Column("cost", "Cost", numeric=True, wide=True),
    Column("basis", "Seen so far", wide=True),
)
_OF_ORDERS, _WITHOUT = ("both", "once_ordered"), ("held",)


def _spare(line: SparesLine) -> dict[str, object]:
    return {
        "family": line.family,
        "held": line.on_hand,
        "both": f"{line.on_hand} + {line.on_order}" if line.on_order else str(line.on_hand),
        "demand": f"{line.demand.value:.1f} ({line.demand.lower:.0f}–{line.demand.upper:.0f})",
        "running_out": _short(line.running_out),
        "once_ordered": _short(line.running_out_ordered) if line.on_order else None,
        "needed": line.needed,
        "buy": line.buy or None,
        "cost": f"{line.cost_cents / 100:.2f}" if line.cost_cents else None,
        "line": line.reorder_line,
        "basis": f"{_own(line)}; too few to tell" if line.too_few and not line.guess else _own(line),
    }


def _own(line: SparesLine) -> str:
    """What was seen of the family itself."""
    return line.basis.partition("; ")[0]


def _leaning(lines: list[SparesLine]) -> str:
    """What was seen of the categories that families lean on, once for each."""
    told = sorted({line.basis.partition("; ")[2] for line in lines} - {""})
    return f"Failed of all lives seen, by category: {', '.join(told)}." if told else ""


def percent(chance: float) -> str:
    """A chance of running out; a small one is never nothing."""
    return f"{chance:.0%}" if chance >= 0.005 else "under 1%"


def _short(chance: float) -> str:
    """The same for a table."""
    return percent(chance).replace("under ", "<")


def uncovered(found: tuple[Uncovered, ...]) -> str:
    """Positions for which nothing is held, the critical first."""
    if not found:
        return "Some spare is there for every position."
    told = "; ".join(f"{_what(each)}: {_some(each.positions)}" for each in found)
    return f"No spare covers {told}."


def _what(each: Uncovered) -> str:
    weight = "hidden, vital" if each.hidden else each.dependence
    return f"{' or '.join(each.families) or 'positions nothing is said to fit'} ({weight})"


def _some(names: Sequence[str]) -> str:
    rest = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {rest} more" if rest > 0 else "")


def lumpy(found: Lumps | None) -> str:
    """How lumpy demand was, and is forecast to be."""
    if found is None:
        return ""
    forecast = f"the forecast's is {found.forecast:.1f} times its mean"
    if found.past is None:
        return f"Too few parts failed in {found.battles} battles to tell how lumpy demand is; {forecast}."
    was = f"{found.past.value:.1f} ({found.past.lower:.1f}–{found.past.upper:.1f}) times what its sorties explain"
    called = f"In the past {found.battles} battles {found.calls} parts were called for"
    return f"{called}, with a variance of {was}; {forecast}."


def why(result: SparesWhy, console: Console) -> None:
    """The whole reasoning about one family: what comes, what each holding means, what to do."""
    line = result.line
    say(console, f"{result.family}: spares until {result.until}, {result.sorties} sorties a ship", bold=True)
    for told in _reasons(result):
        say(console, told)
    rows = [_held(each, line) for each in result.holdings]
    console.print(table("What each holding means", _HOLDINGS, rows))
    for told in _lines(result):
        say(console, told)
    if termplot.wanted(result, console):
        _plot_holdings(result, console)
    for note in result.notes:
        say(console, f"note: {note}")
    termplot.say_where(result, console)


def _reasons(result: SparesWhy) -> list[str]:
    line = result.line
    demand = f"{line.demand.value:.1f} ({line.demand.lower:.0f}–{line.demand.upper:.0f}, {result.level:.0%} interval)"
    fitted = (
        f"{line.installed} are fitted, in positions of {len(line.ships)} ships" if line.installed else "none is fitted"
    )
    held = f"{line.on_hand} on hand, {line.on_order} on order, {line.lent} lent"
    stale = f" ({line.stale} more are past what they may lie, and not counted on until tested)" if line.stale else ""
    out = f"What is on hand runs out with {percent(line.running_out)}"
    out += f", with what is on order as well {percent(line.running_out_ordered)}" if line.on_order else ""
    weight = "hidden, so it counts as vital" if line.hidden else f"in its most critical position: {line.dependence}"
    told = [
        f"Called for by then: {demand}; {fitted}.",
        f"There are {held}{stale}. {out}.",
        f"What is missing costs {line.hours_lost:.1f} hours of battle a piece ({weight}; common practice, no source).",
        f"Seen so far: {line.basis}{'; too few to tell' if line.too_few and not line.guess else ''}.",
    ]
    if result.positions:
        told.append(f"It fits {_some(result.positions)}.")
    if result.stands_in:
        told.append(f"In all of these {' or '.join(result.stands_in)} fits as well.")
    return told


_HOLDINGS = (
    Column("pieces", "Holding"),
    Column("running_out", "Runs out", numeric=True),
    Column("short", "Calls unmet", numeric=True),
    Column("supplied", "Calls supplied", numeric=True),
    Column("cost", "Cost", numeric=True),
    Column("mark", ""),
)


def _held(each: Holding, line: SparesLine) -> dict[str, object]:
    marks = ["on hand"] * (each.pieces == line.on_hand) + ["aimed at"] * (each.pieces == line.needed)
    return {
        "pieces": str(each.pieces),
        "running_out": f"{each.running_out:.1%}",
        "short": f"{each.short:.2f}",
        "supplied": f"{each.supplied:.0%}",
        "cost": f"{each.cost_cents / 100:.2f}" if each.cost_cents else None,
        "mark": ", ".join(marks),
    }


def _lines(result: SparesWhy) -> list[str]:
    """When to order, what is worth its money, what goes stale."""
    line = result.line
    told = []
    if line.reorder_line is not None:
        own = f"; the club's own line is {result.own_line}" if result.own_line is not None else ""
        told.append(
            f"Order when fewer than {line.reorder_line} are held and on order: an order takes {line.lead_time_days} "
            f"days, and the shelf is looked at every {result.review_days} (common practice, no source){own}."
        )
    elif line.lead_time_days is None:
        told.append("Nobody noted how long an order takes, so there is no reorder line.")
    else:
        told.append("It has been kept for too short a time to tell when to order.")
    if result.worth_holding is not None and result.over_cents is not None:
        short, over = (_money(cents, result.currency) for cents in (result.short_cents, result.over_cents))
        told.append(
            f"By cost alone {result.worth_holding} are worth holding: one missing costs {short}, one left {over}."
        )
    if result.worth_shelving is not None:
        told.append(f"More than {result.worth_shelving} would rather go stale than be used.")
    told.append(lumpy(result.lumps))
    return [each for each in told if each]


def _plot_frontier(points: tuple[FrontierPoint, ...], currency: str, console: Console) -> None:
    trace = termplot.Trace(
        "each further coin well spent", [p.spent_cents / 100 for p in points], [p.hours_lost for p in points]
    )
    up = termplot.Axis("Hours of battle lost", 0)
    termplot.plot(console, [trace], termplot.Axis(f"spent ({currency})", 0), up)


def _plot_holdings(result: SparesWhy, console: Console) -> None:
    pieces = [float(each.pieces) for each in result.holdings]
    trace = termplot.Trace("now aimed at: " + str(result.line.needed), pieces, [x.running_out for x in result.holdings])
    chance = termplot.Axis("Runs out", 0, 1, termplot.SHARES.ticks)
    termplot.plot(console, [trace], termplot.Axis("holding", 0), chance)
