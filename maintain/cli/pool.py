"""maintain pool ..."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain import vocabulary
from maintain.cli import pool_debts, pool_looks
from maintain.cli._command import reads, writes
from maintain.cli._moments import when
from maintain.cli._options import Anyway, Note, cents, choice_option, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

app = typer.Typer(no_args_is_help=True, help="The pool: what the club holds, lends, owes and buys.")

Item = Annotated[str, typer.Argument(metavar="PART|FAMILY", help="A tag, or a family (a beginning is enough).")]
Family = Annotated[str, typer.Argument(metavar="FAMILY", help="The family (a beginning is enough).")]
Quantity = Annotated[int | None, typer.Argument(metavar="NUMBER", help="How many (default: one).")]
Uncounted = Annotated[
    bool, typer.Option("--uncounted", help="It was there, whatever the records hold; to be settled by a count.")
]
Cost = Annotated[str | None, typer.Option("--cost", help="Of one, in the club's currency, for example 12.50.")]

reads(app)(pool_looks.status)
reads(app)(pool_looks.board)


@writes(app, numbers=True)
def count(
    desk: Desk,
    family: Family,
    number: Annotated[int, typer.Argument(help="How many were really there.")],
    missing: Annotated[
        str | None, typer.Option(metavar="TAG,TAG", help="Tagged parts that should be there and are not.")
    ] = None,
    reason: Annotated[str | None, typer.Option(help="Why it differs, or which count it was.")] = None,
) -> Result:
    """Record a count; the records are adjusted to it."""
    from maintain.services.pool import counting

    gone = tuple(each.strip() for each in (missing or "").split(",") if each.strip())
    return counting.count(desk, counting.Counted(family, number, gone, reason))


@writes(app, numbers=True)
def order(
    desk: Desk,
    family: Family,
    number: Annotated[int, typer.Argument(help="How many.")],
    expected: Annotated[
        str | None, typer.Option(metavar="WHEN", help="By when (default: after the lead time of the family).")
    ] = None,
    cost: Cost = None,
    supplier: Annotated[str | None, typer.Option(help="Of whom.")] = None,
    note: Note = None,
) -> Result:
    """Note an order."""
    from maintain.services.pool import supply

    expected_on, unit_cost = when(desk, expected, "--expected"), cents(cost, "--cost")
    return supply.order(desk, supply.Order(family, number, expected_on, unit_cost, supplier, note))


@writes(app, numbers=True)
def cancel(
    desk: Desk,
    family: Family,
    number: Annotated[int | None, typer.Argument(metavar="NUMBER", help="How many (default: all).")] = None,
) -> Result:
    """Call off what is on order."""
    from maintain.services.pool import supply

    return supply.cancel(desk, family_text=family, quantity=number)


@writes(app, numbers=True)
def receive(
    desk: Desk,
    family: Family,
    number: Annotated[
        int | None, typer.Argument(metavar="NUMBER", help="How many (default: all of the oldest order).")
    ] = None,
    cost: Cost = None,
    made: Annotated[
        str | None, typer.Option(metavar="DATE", help="When it was made: rubber ages from its cure.")
    ] = None,
    batch: Annotated[str | None, typer.Option(help="Batch of tagged parts.")] = None,
    model: Annotated[str | None, typer.Option(help="Maker's name for tagged parts.")] = None,
    origin: Annotated[
        str, choice_option("Where it came from; only new ones fill an order", vocabulary.ORIGINS)
    ] = "new",
    note: Note = None,
) -> Result:
    """Take a delivery or a gift into the pool."""
    from maintain.services.pool import supply

    made_on, unit_cost = day(desk, made, "--made"), cents(cost, "--cost")
    return supply.receive(desk, supply.Delivery(family, number, unit_cost, made_on, batch, model, origin, note))


@writes(app, numbers=True)
def issue(
    desk: Desk,
    item: Item,
    number: Quantity = None,
    into: Annotated[
        str | None, typer.Option(metavar="SHIP/POSITION", help="The position a tagged part is fitted to.")
    ] = None,
    ship: Annotated[str | None, typer.Option(help="The ship that counted pieces go into.")] = None,
    to: Annotated[str | None, typer.Option(metavar="MEMBER", help="The member who gets it for good.")] = None,
    uncounted: Uncounted = False,
    anyway: Anyway = False,
    note: Note = None,
) -> Result:
    """Issue a part or pieces for good."""
    from maintain.services.pool import issuing

    return issuing.issue(desk, issuing.Issue(item, number, into, ship, to, uncounted, anyway, note))


writes(app, numbers=True)(pool_debts.lend)
writes(app, "return", numbers=True)(pool_debts.return_)
reads(app)(pool_looks.owed)
writes(app, numbers=True)(pool_debts.owe)
writes(app, numbers=True)(pool_debts.settle)


@writes(app, numbers=True)
def scrap(
    desk: Desk,
    item: Item,
    number: Quantity = None,
    reason: Annotated[str | None, typer.Option(help="Why.")] = None,
    suspect: Annotated[bool, typer.Option("--suspect", help="Counted pieces out of quarantine.")] = False,
) -> Result:
    """Throw away a part or pieces of the pool."""
    from maintain.services.pool import scrapping

    return scrapping.scrap(desk, item_text=item, quantity=number, reason=reason, suspect=suspect)


@writes(app, numbers=True)
def clear(desk: Desk, item: Item, number: Quantity = None) -> Result:
    """Put counted pieces that passed a test back on the shelf."""
    from maintain.services.pool import scrapping

    return scrapping.clear(desk, item_text=item, quantity=number)


reads(app)(pool_looks.history)
reads(app)(pool_looks.stale)
reads(app)(pool_looks.costs)
reads(app)(pool_looks.limits)


@writes(app)
def limit(
    desk: Desk,
    family: Annotated[str | None, typer.Argument(metavar="FAMILY", help="The family.")] = None,
    category: Annotated[str | None, choice_option("Or a whole category", vocabulary.CATEGORIES)] = None,
    rule: Annotated[
        str | None, typer.Option(help="A rule known by name, for example 'ISO 2230 B' (see: pool limits --rules).")
    ] = None,
    days: Annotated[int | None, typer.Option(min=1, help="Days it may lie.")] = None,
    extension: Annotated[int | None, typer.Option(min=1, help="Days more, once inspected at the end.")] = None,
    endless: Annotated[bool, typer.Option("--endless", help="Its source sets no limit.")] = False,
    source: Annotated[str | None, typer.Option(help="Who says so.")] = None,
    remove: Annotated[bool, typer.Option("--remove", help="Take the limit back.")] = False,
) -> Result:
    """Set how long a family or category may lie in store, and who says so."""
    from maintain.services.pool import limits

    setting = limits.Setting(family, category, rule, days, extension, endless, source, remove)
    return limits.set_limit(desk, setting)
