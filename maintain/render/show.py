"""The one place that prints an answer: as words and tables for people, as JSON or CSV for scripts."""

from __future__ import annotations

import csv
import importlib
import json
import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from maintain.errors import InvalidRecord
from maintain.results.base import Listing, Result

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions

_UNCUT = 200  # columns, wide enough for every table

# Result class -> "module:function" that shows it; imported when needed, because each brings its own weight.
_SHOWN_BY = {
    "Answers": "maintain.render.outlook:answers",
    "Backtest": "maintain.render.trust:backtest",
    "Calendar": "maintain.render.calendar:calendar",
    "CalendarText": "maintain.render.calendar:printed",
    "CheckPage": "maintain.render.battle_day:check",
    "Crate": "maintain.render.crate:crate",
    "Done": "maintain.render.words:done",
    "Due": "maintain.render.outlook:due",
    "LifeCauses": "maintain.render.life_causes:causes",
    "LifeComparison": "maintain.render.life_compare:comparison",
    "LifeAftermath": "maintain.render.life_aftermath:aftermath",
    "Explanation": "maintain.render.explain:explanation",
    "LifeClock": "maintain.render.life_clock:clock",
    "LifeCurves": "maintain.render.life:curves",
    "LifeEffects": "maintain.render.life_effects:effects",
    "LifeFits": "maintain.render.life_fit:fits",
    "LifeRepeats": "maintain.render.life_repeats:repeats",
    "LifeTrial": "maintain.render.life_trial:trial",
    "Listing": "maintain.render.tables:listing",
    "OwnSheet": "maintain.render.own_sheet:own_sheet",
    "PartSheet": "maintain.render.part_sheet:part_sheet",
    "PhonePage": "maintain.render.phone:printed",
    "PoolCosts": "maintain.render.pool_costs:costs",
    "ReadingTrend": "maintain.render.readings:trend",
    "Ready": "maintain.render.ready:ready",
    "ReadyFleet": "maintain.render.ready:fleet",
    "Renewal": "maintain.render.renewal:renewal",
    "RollCall": "maintain.render.roll_call:roll_call",
    "SalvagePage": "maintain.render.salvage:salvage",
    "ShipPage": "maintain.render.ship_page:ship_page",
    "Sheets": "maintain.render.sheet:printed",
    "Spares": "maintain.render.spares:spares",
    "SparesFamilies": "maintain.render.spares_families:families",
    "SparesWhy": "maintain.render.spares:why",
    "TaskPage": "maintain.render.task:page",
    "TrialLook": "maintain.render.life_trial:look",
}


def show(result: Result, *, as_json: bool = False, as_csv: bool = False) -> None:
    """Print a result on stdout in the form asked for."""
    if as_json:
        json.dump(result.document(), sys.stdout, ensure_ascii=False, indent=2, allow_nan=False)
        sys.stdout.write("\n")
    elif as_csv:
        _write_csv(result)
    else:
        if isinstance(result, Listing) and result.on_screen is not None:
            result = result.cut(result.on_screen)
        draw(result, console())


def draw(result: Result, console: Console) -> None:
    """Show a result to people, by the function registered for its class."""
    module, _, function = _SHOWN_BY[type(result).__name__].partition(":")
    getattr(importlib.import_module(module), function)(result, console)


def console() -> Console:
    """A console that honours NO_COLOR, and COLUMNS where the output goes to a file or a pipe (else nothing is cut)."""
    from rich.console import Console, RenderableType
    from rich.segment import Segment

    from maintain.core.names import harmless

    class Screen(Console):
        def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterator[Segment]:
            for segment in super().render(renderable, options):
                yield segment if segment.control else segment._replace(text=harmless(segment.text))

        def on_broken_pipe(self) -> None:  # the library's own ends the program as a failure
            raise BrokenPipeError

    width = None if sys.stdout.isatty() else int(os.environ.get("COLUMNS") or _UNCUT)
    return Screen(width=width, highlight=False, soft_wrap=False)


def _write_csv(result: Result) -> None:
    table = result if isinstance(result, Listing) else getattr(result, "listing", lambda: None)()
    if not isinstance(table, Listing):
        raise InvalidRecord("this answer is not one table", hint="ask for --json instead of --csv")
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow([column.heading for column in table.columns])
    for row in table.rows:
        writer.writerow(["" if row.get(c.key) is None else _cell(row[c.key]) for c in table.columns])


def _cell(value: Any) -> Any:
    return ("no", "yes")[value] if isinstance(value, bool) else value
