"""What a heading says: the words that count, and the unit it names beside them."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from maintain.exchange.own_sheets.kinds import Meaning
from maintain.exchange.own_sheets.numbers import UNITS
from maintain.exchange.own_sheets.words import folded

_NO_PLURALS = ("sorties", "runs")  # a column of sorties counts them, one of the sortie numbers it
_COUNTS = frozenset(
    ("pcs", "pieces", "each", "no", "nr", "number", "total", "count", "how", "many", "gbp", "eur", "usd")
)
_ASIDE = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")


@dataclass(frozen=True)
class Match:
    """How well a heading says what a column means: 1 is one of the known ones; why, if it is less."""

    score: float
    why: str = ""


def match(heading: str, meaning: Meaning) -> Match:
    """Hold a heading against those that clubs write for a meaning."""
    return _match(heading, (*meaning.headings, meaning.key), meaning.unit)


@lru_cache(maxsize=20_000)
def _match(heading: str, headings: tuple[str, ...], unit: str) -> Match:
    known = {folded(each) for each in headings}
    forms = _forms(heading, unit)
    if any(form in known or (_singular(form) in known and form not in _NO_PLURALS) for form in forms):
        return Match(1.0)
    for form in filter(lambda form: len(form) > 3 and form not in _NO_PLURALS, forms):
        close = difflib.get_close_matches(form, known, n=1, cutoff=0.8)
        if close:
            return Match(0.7, f"its heading is close to {close[0]!r}")
    words = set(folded(heading).split())
    within = max((each for each in known if len(each) > 3 and set(each.split()) <= words), key=len, default=None)
    return Match(0.6, f"its heading holds {within!r}") if within else Match(0.0)


def factor_of(heading: str, unit: str) -> Decimal:
    """How many of our unit the unit in a heading is; 1 if it names none."""
    factors = UNITS.get(unit, {})
    for aside in [*asides(heading), *_outside(heading)[::-1]]:
        if aside.lower() in factors:
            return factors[aside.lower()]
    return Decimal(1)


def asides(heading: str) -> list[str]:
    """What stands in brackets in a heading."""
    return [text.strip(". ") for text in _ASIDE.findall(heading) if text.strip(". ")]


def _outside(heading: str) -> list[str]:
    """Words outside brackets; the s of "ship's" is no second."""
    return [word for word in folded(_ASIDE.sub(" ", heading)).split() if word != "s"]


def unit_in_doubt(heading: str, meaning: Meaning) -> str:
    """What a heading of numbers names that is no unit we know; empty if nothing."""
    unit = "money" if meaning.how == "money" else meaning.unit
    known = UNITS.get(unit, {})
    if meaning.how not in ("number", "whole", "money") or folded(heading) in map(folded, meaning.headings):
        return ""
    said = asides(heading)
    strange = [each for each in said if each.lower() not in known and not _is_harmless(each, meaning)]
    if strange:
        return strange[0]
    among = [word for word in _outside(heading) if word in known]
    clash = len({known[word] for word in among}) > 1 and not said
    return " ".join(among) if clash else ""


def _is_harmless(aside: str, meaning: Meaning) -> bool:
    """Whether a text in brackets says nothing that changes a number: a count, money, the heading said again."""
    words = set(folded(aside).split())
    own = {word for each in (*meaning.headings, meaning.key) for word in folded(each).split()}
    return aside.isdigit() or words <= own | _COUNTS or (meaning.how == "money" and not words) or meaning.key == "value"


def _forms(heading: str, unit: str) -> list[str]:
    """A heading with and without what stands in brackets and the unit at its end."""
    bare = folded(_ASIDE.sub(" ", heading))
    forms = [bare, folded(heading)]
    first, _, last = bare.rpartition(" ")
    if first and last != "s" and last in UNITS.get(unit, {}):
        forms.append(first)
    return list(dict.fromkeys(filter(None, forms)))


def _singular(text: str) -> str:
    return text.removesuffix("s")


def known_heading(text: str, meanings: tuple[Meaning, ...]) -> bool:
    """Whether a text is a heading for one of some meanings, word for word."""
    return any(match(text, each).score == 1.0 for each in meanings)
