"""How long rubber, cells and glue may lie in store, by published rule or by practice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from maintain.errors import NotFound

_DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Rule:
    """
    A limit of storage that somebody set.

    Attributes
    ----------
    name : str
        What to call it on the command line.
    years : int, optional
        From the day it was made (rubber: cured); None: no limit.
    extension_years : int, optional
        More, once it was inspected at the end of these.
    source : str
        Who says so, and of what.
    """

    name: str
    years: int | None
    extension_years: int | None
    source: str

    @property
    def days(self) -> int | None:
        """The limit in days."""
        return None if self.years is None else round(self.years * _DAYS_A_YEAR)

    @property
    def extension_days(self) -> int | None:
        """The extension in days."""
        return None if self.extension_years is None else round(self.extension_years * _DAYS_A_YEAR)


_PRACTICE = "common practice, no source"

# ISO 2230:2002 (storage of rubber products, Table 1) and SAE AS5316 (storage of elastomer seals) as tabulated in public
# guides of seal suppliers; both standards count from the cure and ask for cool, dark, dry, unstretched storage.
RULES = (
    Rule("ISO 2230 A", 5, 2, "ISO 2230:2002, group A (natural rubber, SBR, polyurethane)"),
    Rule("ISO 2230 B", 7, 3, "ISO 2230:2002, group B (nitrile, HNBR, neoprene)"),
    Rule("ISO 2230 C", 10, 5, "ISO 2230:2002, group C (FKM, EPDM, silicone)"),
    Rule("AS5316 SBR", 3, None, "SAE AS5316 (SBR)"),
    Rule("AS5316 polyurethane", 5, None, "SAE AS5316 (polyurethane)"),
    Rule("AS5316 nitrile", 15, None, "SAE AS5316 (nitrile, HNBR, neoprene)"),
    Rule("AS5316 fluorocarbon", None, None, "SAE AS5316 (FKM, EPDM, silicone): no limit"),
    Rule("lithium polymer", 3, None, f"{_PRACTICE}: 3 years, or swollen"),
    Rule("lithium iron phosphate", 5, None, f"{_PRACTICE}: 5 years"),
    Rule("nickel metal hydride", 2, None, f"{_PRACTICE}: 2 to 4 years, charged every 3 months"),
    Rule("lead acid", 2, None, f"{_PRACTICE}: 2 to 3 years, charged every 3 months"),
    Rule("cyanoacrylate", 1, None, f"{_PRACTICE}: 1 year unopened, 3 months opened"),
    Rule("epoxy", 1, None, f"{_PRACTICE}: 1 to 2 years"),
    Rule("contact cement", 1, None, f"{_PRACTICE}: 1 year"),
    Rule("dope", 2, None, f"{_PRACTICE}: 2 years"),
)


def rule(text: str) -> Rule:
    """
    The rule of this name, or the one whose name begins so.

    Examples
    --------
    >>> rule("iso 2230 b").years, rule("cyano").days
    (7, 365)

    Raises
    ------
    NotFound
        If none or several do.
    """
    folded = " ".join(text.lower().split())
    exact = [each for each in RULES if each.name.lower() == folded]
    found = exact or [each for each in RULES if folded and each.name.lower().startswith(folded)]
    if len(found) != 1:
        names = ", ".join(each.name for each in (found or RULES))
        raise NotFound(f"{text!r} is no rule of storage", hint=f"one of: {names}; or give --days and --source")
    return found[0]


def stale_on(made_on: date, days: int, extension_days: int | None = None, inspected_on: date | None = None) -> date:
    """
    The first day on which something has lain too long.

    Parameters
    ----------
    made_on : date
        From when its age counts.
    days : int
        How long it may lie.
    extension_days : int, optional
        How much longer, if it was found good at the end of these.
    inspected_on : date, optional
        When it was last found good.

    Examples
    --------
    >>> stale_on(date(2020, 1, 1), 10).isoformat()
    '2020-01-11'
    >>> stale_on(date(2020, 1, 1), 10, 5, inspected_on=date(2020, 1, 12)).isoformat()
    '2020-01-16'
    """
    first = made_on + timedelta(days=days)
    if extension_days is not None and inspected_on is not None and inspected_on >= first:
        return first + timedelta(days=extension_days)
    return first
