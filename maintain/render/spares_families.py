"""What sharing would save, on the screen: what to pool, which families to make one, on which to standardise."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from maintain.core.wording import count, plural
from maintain.render.phrases import CANT_TELL, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.spares_families import Candidate, Shared, SparesFamilies, Standard, StandIn

_NAMED = 6  # families named in a line
_SHOWN = 12  # groups; all are in --json and --csv


def families(result: SparesFamilies, console: Console) -> None:
    """Three questions, each answered in a line above the table it comes from."""
    say(
        console,
        f"Until {result.until}, {result.sorties} sorties a ship, each holding sufficing with {result.service:.0%}",
    )
    say(console, _pool_these(result.shared), bold=True)
    if result.shared:
        console.print(table("", _columns_shared(result.currency), [_shared(each) for each in result.shared]))
    say(console, _make_one(result.groups, result.currency), bold=True)
    worth = [each for each in result.groups if each.saved > 0][:_SHOWN]
    if worth:
        console.print(table("", _columns_groups(result.currency), [_group(each) for each in worth]))
    if len(worth) < len(result.groups):
        say(console, f"{len(result.groups) - len(worth)} more groups: --json or --csv has them")
    if not result.standards:
        say(console, "Nowhere do two families of a category serve one system in one zone: none can be compared.")
    for each in result.standards:
        _standard(each, result, console)
    for line in result.notes:
        say(console, f"note: {line}")


def _pool_these(shared: tuple[Shared, ...]) -> str:
    gain = [each for each in shared if each.saved > 0 and each.ships > 1]
    none = [each for each in shared if each.saved <= 0 or each.ships == 1]
    if not gain:
        return "One shelf for all ships saves nothing of any family: let captains hold their own."
    pieces = sum(each.saved for each in gain)
    told = (
        f"Pool these first: {_named(gain)}. One shelf for all ships needs {count(pieces, 'piece')} fewer in all than a "
    )
    told += "spare box on each that leaves nobody without as surely."
    return told + (f" Leave to the ships: {_named(none)}." if none else "")


def _named(lines: list[Shared]) -> str:
    names = ", ".join(each.family for each in lines[:_NAMED])
    return names if len(lines) <= _NAMED else f"{names} and {len(lines) - _NAMED} more"


def _make_one(groups: tuple[StandIn, ...], currency: str) -> str:
    gain = [each for each in groups if each.alike and each.saved > 0 and len(each.families) == 2]
    if not groups:
        return "No two families are of one category: there is nothing to make one."
    if not gain:
        return "Making one of any two families that serve alike would save no piece."
    best = max(
        gain, key=lambda each: (each.shared_positions > 0, max(each.saved_cents.values(), default=0), each.saved)
    )
    one, other = best.families
    told = f"One family in place of {one} and {other} would save {count(best.saved, 'piece')}, if they fit"
    return f"{told}{_money(best, currency)}."


def _money(group: StandIn, currency: str) -> str:
    if not group.saved_cents:
        return "; a price is unknown"
    sums = [f"{cents / 100:.2f} {currency} with {name}" for name, cents in group.saved_cents.items()]
    return f": {' or '.join(sums)} on the shelf"


def _columns_shared(currency: str) -> tuple[Column, ...]:
    return (
        Column("family", "Family"),
        Column("ships", "Ships", numeric=True),
        Column("demand", "Demand", numeric=True),
        Column("private", "Held on ships", numeric=True),
        Column("pooled", "In the pool", numeric=True),
        Column("saved", "Saved", numeric=True),
        Column("worth", f"Worth ({currency})", numeric=True),
    )


def _shared(each: Shared) -> dict[str, Any]:
    names = ("family", "ships", "private", "pooled", "saved")
    worth = None if each.saved_cents is None else f"{each.saved_cents / 100:.2f}"
    return {name: getattr(each, name) for name in names} | {"demand": f"{each.demand:.1f}", "worth": worth}


def _columns_groups(currency: str) -> tuple[Column, ...]:
    return (
        Column("category", "Category"),
        Column("families", "If they fit"),
        Column("apart", "Apart", numeric=True),
        Column("together", "As one", numeric=True),
        Column("saved", "Saved", numeric=True),
        Column("worth", f"Worth ({currency})", numeric=True),
        Column("share", "Spread shrinks to", numeric=True, wide=True),
        Column("fit", "Positions all fit already", wide=True),
        Column("serve", "Serve", wide=True),
    )


def _group(each: StandIn) -> dict[str, Any]:
    several = len(each.families) > 2
    sums = sorted(each.saved_cents.values())
    return {
        "category": each.category,
        "families": f"all {len(each.families)} {plural(each.category)}" if several else " + ".join(each.families),
        "apart": " + ".join(map(str, each.apart)),
        "together": each.together,
        "saved": each.saved,
        "worth": f"{sums[0] / 100:.2f} to {sums[-1] / 100:.2f}" if sums else None,
        "share": f"{each.safety_share:.0%}",
        "fit": f"{each.shared_positions} of {each.positions}",
        "serve": ", ".join(each.systems),
    }


def _standard(of: Standard, result: SparesFamilies, console: Console) -> None:
    what = f"{plural(of.category)} for {of.system}, {of.zone}"
    if of.family is not None:
        first = of.candidates[0]
        say(
            console,
            f"Of {what}, standardise on {of.family}: {_rate(first)}, the cheapest to run{_chance(first)}",
            bold=True,
        )
    else:
        say(console, f"Of {what}: {CANT_TELL} which to standardise on: {of.why_not}", bold=True)
    columns = (
        Column("family", "Family"),
        Column("seen", "Seen"),
        Column("rate", f"Failures in 100 sorties ({result.level:.0%})"),
        Column("running", f"Cost of 100 sorties ({result.currency})"),
        Column("chance", "Cheapest", numeric=True),
        Column("price", "Price", numeric=True, wide=True),
        Column("lead", "Lead time (days)", numeric=True, wide=True),
        Column("ships", "Ships", numeric=True),
    )
    console.print(table("", columns, [_candidate(each) for each in of.candidates]))


def _rate(each: Candidate) -> str:
    return "" if each.rate is None else f"{each.rate.value:.2g} failures in 100 sorties"


def _chance(each: Candidate) -> str:
    return "" if each.chance_cheapest is None else f" with a chance of {each.chance_cheapest:.0%}"


def _candidate(each: Candidate) -> dict[str, Any]:
    rate, running = each.rate, each.running_cents
    return {
        "family": each.family,
        "seen": f"{each.failures} of {each.parts} failed, {each.sorties} sorties",
        "rate": None if rate is None else f"{rate.value:.2g} ({rate.lower:.2g}–{rate.upper:.2g})",
        "running": None
        if running is None
        else f"{running.value / 100:.0f} ({running.lower / 100:.0f}–{running.upper / 100:.0f})",
        "chance": None if each.chance_cheapest is None else f"{each.chance_cheapest:.0%}",
        "price": None if each.unit_cost_cents is None else f"{each.unit_cost_cents / 100:.2f}",
        "lead": each.lead_time_days,
        "ships": each.ships,
    }
