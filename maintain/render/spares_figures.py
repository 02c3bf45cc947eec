"""What money buys, and what each holding of a family means, drawn to files."""

from __future__ import annotations

from pathlib import Path

from maintain.errors import NotEnoughData
from maintain.render import figure
from maintain.results.spares import Plan
from maintain.results.spares_why import SparesWhy


def plan(result: Plan | SparesWhy, path: Path) -> None:
    """
    Draw what was asked.

    Raises
    ------
    NotEnoughData
        If no family has a price and a demand.
    """
    if isinstance(result, SparesWhy):
        _holdings(result, path)
        return
    if not result.frontier:
        raise NotEnoughData(
            "there is nothing to draw: no priced family may run out",
            hint="note what families cost with: maintain family change FAMILY --unit-cost 12.50",
        )
    _frontier(result, path)


def _frontier(result: Plan, path: Path) -> None:
    points = result.frontier
    with figure.drawing(path) as page:
        axes, how = page.subplots(), figure.look(0)
        spent, hours = [each.spent_cents / 100 for each in points], [each.hours_lost for each in points]
        axes.plot(spent, hours, color=how.colour, linestyle=how.line, marker="o", markersize=3)
        if result.budget is not None:
            axes.axvline(result.budget.cents / 100, color="#707070", lw=0.8, linestyle=":")
            axes.annotate(
                "the budget", (result.budget.cents / 100, max(hours)), xytext=(4, -8), textcoords="offset points"
            )
        axes.set_ylim(bottom=0)
        axes.set_xlim(left=0)
        axes.set_xlabel(f"Spent ({result.currency})")
        axes.set_ylabel("Hours of battle lost to want of spares")
        axes.set_title(f"What each further coin buys until {result.until}", loc="left")


def _holdings(result: SparesWhy, path: Path) -> None:
    with figure.drawing(path) as page:
        left, right = page.subplots(1, 2)
        how = figure.look(0)
        left.bar(range(len(result.chances)), result.chances, color=how.colour, alpha=0.6)
        left.set_xlabel(f"Called for until {result.until}")
        left.set_ylabel("Chance")
        pieces = [each.pieces for each in result.holdings]
        right.plot(pieces, [each.running_out for each in result.holdings], color=how.colour, marker="o", markersize=4)
        right.axhline(1 - result.service, color="#707070", lw=0.8, linestyle=":")
        right.axvline(result.line.needed, color="#707070", lw=0.8, linestyle=":")
        right.set_xlabel("Holding")
        figure.share_axis(right, "Runs out")
        page.suptitle(figure.short(result.family), fontsize=10, x=0.01, ha="left")
