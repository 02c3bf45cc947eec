"""Pages to print, as one HTML document: big type, boxes to tick, nothing fetched from anywhere."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from maintain.render.html import escaped, piece
from maintain.render.ladder import ladder
from maintain.results.paper import CheckStep, DueItem, Sheets, ShipSheet, StockLine
from maintain.vocabulary import MODES

if TYPE_CHECKING:
    from rich.console import Console

_TICK = '<span class="tick"></span>'
_SMALL_TICK = '<span class="tick little"></span>'
_DEFERENCE = (
    "This page reminds and records; it clears nobody. The safety officer stops and clears, the contest director runs "
    "the event, the technical officer decides on pressure, pump and drop test, a licensed inspector on cylinder dates, "
    "the landowner on going into the water."
)
_WATER = (
    "Never wade alone. Cold water takes the use of your hands within minutes. Lifted ship: gas shut, every battery "
    "off, then look. A hot, hissing or swollen battery goes outdoors, away from people and cars: call the fire service."
)
_MARGIN = {"A4": "11mm", "Letter": "7mm 11mm"}  # a Letter is shorter, and what stands on it is not
_BLANK_LINES = 6  # of the issue sheet, for what nobody thought of


def html(sheets: Sheets) -> str:
    """All pages as one HTML document."""
    pages = [page for ship in sheets.ships for page in (_check_page(ship, sheets), _card_page(ship, sheets))]
    if sheets.stock is not None:
        pages.append(_issue_page(sheets.stock, sheets))
    size = f"@page {{ size: {escaped(sheets.paper)}; margin: {_MARGIN[sheets.paper]}; }}"
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escaped(sheets.title)}</title>",
            f"<style>\n{size}\n{piece('sheet.css')}</style></head>",
            "<body>",
            *pages,
            "</body></html>\n",
        )
    )


def printed(sheets: Sheets, _: Console) -> None:
    """The pages on stdout, to be sent into a file."""
    sys.stdout.write(html(sheets))


def _page(head: str, *inside: str) -> str:
    return "\n".join(('<section class="page">', head, *inside, "</section>"))


def _head(title: str, sheets: Sheets, what: str) -> str:
    days = "" if not sheets.days else f", {sheets.days[0]}" + (f" to {sheets.days[-1]}" if len(sheets.days) > 1 else "")
    battle = "" if sheets.battle is None else f" · {escaped(sheets.battle)}{escaped(days)}"
    return f'<div class="under"><h1>{escaped(title)}</h1><p>{escaped(what)}{battle}</p></div>'


def _check_page(ship: ShipSheet, sheets: Sheets) -> str:
    who = [f"captain {ship.captain}" if ship.captain else "", f"number {ship.number}" if ship.number else ""]
    return _page(
        _head(ship.ship, sheets, ", ".join(filter(None, ("Check before the battle", *who)))),
        "<h2>Due</h2>",
        _due(ship, sheets),
        "<h2>In this order, gas last</h2>",
        '<table class="steps"><thead><tr><th>pass</th><th>fail</th><th>step</th><th>measured</th></tr></thead><tbody>',
        *(_step(step) for step in ship.steps),
        "</tbody></table>",
        "<p>Sails on a promise of: ____________________________ agreed with: __________________</p>",
        "<p>Checked by: ____________________ at: __________</p>",
        f'<p class="small">{escaped(_DEFERENCE)}</p>',
    )


def _due(ship: ShipSheet, sheets: Sheets) -> str:
    rows = [_due_row(item) for item in ship.due]
    rows += [f"<li>{_TICK}&nbsp; Suspect, not to go back in untested: {escaped(each)}</li>" for each in ship.suspects]
    nothing = "" if rows else f"<p>Nothing is recorded as due ({escaped(sheets.made_on)}).</p>"
    notes = "".join(f'<p class="small">{escaped(note)}</p>' for note in sheets.notes)
    listed = f'<ul class="due">{"".join(rows)}</ul>' if rows else nothing
    return listed + notes


def _due_row(item: DueItem) -> str:
    decider = "" if item.decider is None else f" <b>Decides: {escaped(item.decider)}.</b>"
    why = f'<span class="small">({escaped(item.why)})</span>'
    return f"<li>{_TICK}&nbsp; <b>{escaped(item.where)}</b>: {escaped(item.action)} {why}{decider}</li>"


def _step(step: CheckStep) -> str:
    how = f'<br><span class="small">{escaped(step.how)}</span>'
    caution = f'<br><span class="caution">{escaped(step.caution)}</span>' if step.caution else ""
    figure = f"________ {escaped(step.figure)}" if step.figure else ""
    boxes = f'<td class="boxes">{_TICK}</td>' * 2
    return f'<tr>{boxes}<td>{escaped(step.what)}{how}{caution}</td><td class="figure small">{figure}</td></tr>'


def _card_page(ship: ShipSheet, sheets: Sheets) -> str:
    rungs = "".join(f"<th><b>{escaped(rung.short)}</b>{escaped(rung.long)}</th>" for rung in ladder().values())
    boxes = f"<td>{_TICK}</td>" * len(ladder())
    rows = (f"<tr><td>{number}</td>{boxes}<td></td><td></td></tr>" for number in range(1, sheets.sorties + 1))
    words = "".join(f"<li>{_TICK} {escaped(mode)}</li>" for mode in MODES)
    return _page(
        _head(ship.ship, sheets, "Log card: one tick a sortie"),
        "<p>Day: ____________________ &nbsp; Kept by: ____________________</p>",
        f'<table class="card"><thead><tr><th>no.</th>{rungs}<th class="wide">sank: why? min under</th>'
        '<th class="wide">box opened: dry, damp, water</th></tr></thead><tbody>',
        *rows,
        "</tbody></table>",
        "<h2>Something went wrong: after which sortie, which place, what it did</h2>",
        f'<ul class="words">{words}</ul>',
        '<table class="wrong"><thead><tr><th>after sortie</th><th>place</th><th>what it did</th>'
        "<th>what was done, spare fitted</th></tr></thead><tbody>",
        "<tr><td></td><td></td><td></td><td></td></tr>" * 4,
        "</tbody></table>",
        f'<p class="caution">{escaped(_WATER)}</p>',
    )


def _issue_page(stock: Iterable[StockLine], sheets: Sheets) -> str:
    heads = ("packed", "tag", "out: when", "who takes it", "for which ship, place", "back: when", "it came back")
    rows = []
    for _, family in groupby(stock, key=lambda line: (line.category, line.what)):
        lines = list(family)
        rows.append(f'<tr class="family"><th colspan="{len(heads)}">{_of_family(lines)}</th></tr>')
        rows += [_issue_row(line.tag or "") for line in lines if line.tag is not None]
        rows += [_issue_row("")] * sum(line.tag is None for line in lines)
    rows.append(f'<tr class="family"><th colspan="{len(heads)}">whatever else leaves the box</th></tr>')
    rows += [_issue_row("")] * _BLANK_LINES
    return _page(
        _head("What the pool issues", sheets, "The quartermaster’s sheet: sign for everything that leaves the box"),
        f'<table class="issue"><thead><tr>{"".join(f"<th>{head}</th>" for head in heads)}</tr></thead><tbody>',
        *rows,
        "</tbody></table>",
        '<p class="small">A bottle out of date is not issued: the licensed inspector decides on its date.</p>',
    )


def _of_family(lines: Sequence[StockLine]) -> str:
    """A family with its category, what the pool has of it, and how many to take."""
    first, have = lines[0], sum(line.on_hand for line in lines)
    held = "none in the pool" if not have else f"{have} in the pool"
    pack = "" if first.pack is None else f" · pack {first.pack}"
    short = "" if first.pack is None or first.pack <= have else f", {first.pack - have} to be had before"
    return f'{escaped(first.what)} <span class="small">({escaped(first.category)}) · {held}{pack}{short}</span>'


def _issue_row(tag: str) -> str:
    came_back = " ".join(f"<span>{_SMALL_TICK}&nbsp;{word}</span>" for word in ("good", "suspect", "dead"))
    return (
        f'<tr><td class="boxes">{_TICK}</td><td>{escaped(tag)}</td><td></td><td></td><td></td><td></td>'
        f'<td class="small came-back">{came_back}</td></tr>'
    )
