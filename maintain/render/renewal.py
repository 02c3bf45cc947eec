"""When to renew and how often to test, on the screen: what to do first, then what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.render.phrases import CANT_TELL, count, say
from maintain.render.tables import table
from maintain.results.base import Column

if TYPE_CHECKING:
    from rich.console import Console

    from maintain.results.renewal import Age, Renewal, RenewLine, TestLine


def renewal(result: Renewal, console: Console) -> None:
    """Print one line a group: those that pay first, then those to be tested."""
    paying = [line for line in result.lines if line.policy == "renew at an age"]
    if result.lines:
        saved = sum(line.saving.cents for line in paying) / 100
        verb = "is" if len(result.lines) == 1 else "are"
        groups = f"{len(paying)} of {count(len(result.lines), 'group')} of parts {verb} worth renewing before they fail"
        told = f"; that saves {saved:.0f} {result.currency} a season" if paying else ""
        say(console, f"{groups}{told}.", bold=True)
        title = f"Renewing working parts by days fitted ({result.level:.0%} intervals)"
        shown = [line for line in result.lines if line.age.value is not None and line.policy != "never on age"]
        if shown:
            console.print(table(title, _RENEW, [_renew(line) for line in shown]))
        _rest(console, [line for line in result.lines if line not in shown])
    if result.tests:
        say(console, f"Test what fails unheard, so that it is called on in vain {result.tolerated:g} times a season.")
        console.print(table("Days between tests", _TEST, [_test(line) for line in result.tests]))
    for line in result.assumed:
        say(console, f"assumed: {line}")
    for line in result.notes:
        say(console, f"note: {line}")


def _rest(console: Console, lines: list[RenewLine]) -> None:
    """Name those without an age to renew them at, once for each category and reason."""
    alike: dict[tuple[str, str, str], list[RenewLine]] = {}
    for line in lines:
        alike.setdefault((line.evidence.category, line.policy, line.why), []).append(line)
    for (_, policy, why), mine in sorted(alike.items()):
        seen = f"{mine[0].evidence.category_failures} of {mine[0].evidence.category_n} failed"
        families = ", ".join(dict.fromkeys(line.family for line in mine))
        say(console, f"{policy}{' of' if policy == CANT_TELL else ':'} {families}: {why}; {seen}.")


_RENEW = (
    Column("group", "Parts"),
    Column("fitted", "Fitted", numeric=True),
    Column("policy", "Advice"),
    Column("age", "At days fitted", numeric=True),
    Column("saving", "Saves", numeric=True),
    Column("sure", "Chance it pays", numeric=True),
    Column("seen", "Failed (its category)", wide=True),
    Column("costs", "Season: renewing / not", numeric=True, wide=True),
)
_TEST = (
    Column("group", "Parts"),
    Column("fitted", "Fitted", numeric=True),
    Column("every", "Test every (days)", numeric=True),
    Column("calls", "Calls a season", numeric=True, wide=True),
    Column("seen", "Failed (its category)", wide=True),
)


def _renew(line: RenewLine) -> dict[str, object]:
    told = line.policy == "renew at an age"
    low, high = line.saving.lower_cents / 100, line.saving.upper_cents / 100
    return {
        "group": line.group,
        "fitted": line.fitted,
        "policy": line.policy,
        "age": _days(line.age),
        "costs": f"{line.renewing_cents / 100:.0f} / {line.running_cents / 100:.0f}",
        "saving": f"{line.saving.cents / 100:.0f} ({low:.0f} to {high:.0f})" if told else "–",
        "sure": "over 99%" if line.worthwhile > 0.99 else f"{line.worthwhile:.0%}",
        "seen": _seen(line),
    }


def _test(line: TestLine) -> dict[str, object]:
    return {
        "group": line.group,
        "fitted": line.fitted,
        "every": _days(line.every),
        "calls": f"{line.calls:.1f}",
        "seen": _seen(line),
    }


def _seen(line: RenewLine | TestLine) -> str:
    each = line.evidence
    return f"{each.failures} of {each.n} ({each.category_failures} of {each.category_n})"


def _days(age: Age) -> str:
    value, low, high = ("never" if each is None else f"{each:.0f}" for each in (age.value, age.lower, age.upper))
    return value if value == low == high else f"{value} ({low}–{high})"
