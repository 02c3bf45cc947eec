"""What failures, renewals and losses cost, on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.core.wording import count
from maintain.render.phrases import say
from maintain.render.tables import table
from maintain.results.base import Column
from maintain.results.pool_costs import FAILED, LOSSES, RENEWED, USES, Cost, InKind, amount

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.pool_costs import PoolCosts

_BALANCE = (
    Column("member", "Member"),
    Column("family", "Family"),
    Column("owes", "Owes", numeric=True),
    Column("is_owed", "Is owed", numeric=True),
    Column("worth", "Worth", numeric=True),
)


def costs(result: PoolCosts, console: Console) -> None:
    """The answer in a line, then what it is made of, then what nobody knows; for captains what stands open in kind."""
    say(console, _answer(result), bold=True)
    if result.lines:
        listing = result.listing()
        spare = {"unpriced"} if not result.unpriced else set()
        console.print(table("", [each for each in listing.columns if each.key not in spare], listing.rows))
    for line in _unknown(result):
        say(console, line)
    if result.by == "captain":
        _balances(result, console)
    for line in result.notes:
        say(console, line)


def _answer(result: PoolCosts) -> str:
    period = f"From {result.since} to {result.until}" if result.since else f"Up to {result.until}"
    if not result.total.costs:
        return f"{period} nothing was used up."
    told = [
        f"{what} {_money(found, result.currency)} ({count(found.pieces, noun)})"
        for what, noun, ways in (
            ("failures cost", "part", (FAILED,)),
            ("renewing what worked", "part", (RENEWED,)),
            ("pieces used and given", "piece", USES),
            ("losses", "piece", LOSSES),
        )
        for found in (result.total.of(*ways),)
        if found.pieces
    ]
    own = sum(each.pool_cents for each in result.total.costs)
    return (
        f"{period} {'; '.join(told)}. In all {amount(result.total.cents)} {result.currency}, of which "
        f"{amount(own)} was the pool's own and the rest captains'."
    )


def _money(cost: Cost, currency: str) -> str:
    if cost.unpriced == cost.pieces:
        return "nobody knows what"
    return f"{'at least ' if cost.unpriced else ''}{amount(cost.cents)} {currency}"


def _unknown(result: PoolCosts) -> list[str]:
    lines = []
    if result.unpriced:
        names = ", ".join(f"{number} {name}" for name, number in result.unpriced.items())
        lines.append(
            f"Price unknown, and not in these sums: {names} (maintain family change FAMILY --unit-cost AMOUNT)"
        )
    if result.kept_failed:
        lines.append(f"{count(result.kept_failed, 'part')} came out failed and not thrown away: not counted")
    if result.kept_working:
        lines.append(f"{count(result.kept_working, 'part')} came out working and kept for use: not counted")
    return lines


def _balances(result: PoolCosts, console: Console) -> None:
    if not result.balances:
        say(console, "Nothing is owed in kind.")
        return
    rows = [
        {
            "member": each.member,
            "family": each.family,
            "owes": each.owes,
            "is_owed": each.is_owed,
            "worth": _worth(each),
        }
        for each in result.balances
    ]
    say(console, "In kind today; worth: what is owed to the member, less what the member owes")
    console.print(table("", _BALANCE, rows))


def _worth(each: InKind) -> str | None:
    return None if each.cents is None else amount(each.cents)
