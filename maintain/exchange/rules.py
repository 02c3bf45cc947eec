"""Rules of a single row, checked before the database would: which columns, what must hold, what to say."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from maintain import vocabulary as say
from maintain.exchange.drafts import Draft
from maintain.exchange.fault import Fault
from maintain.exchange.labels import Row

_MINUTES_A_DAY = 1440


@dataclass(frozen=True)
class Rule:
    """
    A rule over some columns of a row.

    Attributes
    ----------
    columns : tuple of str
        Stored columns; the fault is shown under the first.
    holds : callable
        Takes their values, True if all is well.
    what, mend : str
        What to say if it does not hold.
    """

    columns: tuple[str, ...]
    holds: Callable[..., bool]
    what: str
    mend: str


def broken_rules(draft: Draft, row: Row) -> Iterator[Fault]:
    """The rules that a row of a file breaks; those over a cell that can't be read are left alone."""
    for rule in RULES.get(draft.sheet.table, ()):
        if draft.bad.isdisjoint(rule.columns) and not rule.holds(*(row[column] for column in rule.columns)):
            heading = next(each.heading for each in draft.sheet.fields if rule.columns[0] in each.columns)
            yield draft.fault(heading, rule.what, rule.mend)


def _in_order(earlier: str, later: str) -> Rule:
    says = f"is before {earlier.replace('_', ' ')}"
    return Rule((later, earlier), lambda b, a: None in (a, b) or a <= b, says, "put the two days right")


def _both_or_none(one: str, other: str, what: str, mend: str) -> Rule:
    return Rule((one, other), lambda a, b: (a is None) == (b is None), what, mend)


def _moments_in_order(*columns: str) -> Rule:
    """Columns: later day, its sorties, earlier day, its sorties."""
    mend = "put the days, or the sorties sailed on them, right"
    return Rule(
        columns,
        lambda day, count, first, first_count: None in (day, first) or (first, first_count) <= (day, count),
        f"is before {columns[2].replace('_', ' ')}",
        mend,
    )


def _two_parties(giver: str, taker: str) -> Rule:
    return Rule((giver, taker), lambda a, b: a != b, "is the same on both sides", "name two; an empty cell is the pool")


def _named_if(column: str, place: str, needs: Callable[..., bool], words: str) -> Rule:
    return Rule(
        (column, *place.split()),
        lambda named, *places: (named is not None) == needs(*places),
        f"goes with {words}, and only with that",
        "fill it in or empty it",
    )


def _under(code: str, fits: Callable[[float], bool], words: str) -> Rule:
    return Rule(
        ("minutes_under", "wetness"),
        lambda minutes, wetness: wetness != code or minutes is None or fits(minutes),
        f"does not fit wetness {code}",
        words,
    )


_SORTIE = (
    Rule(
        ("wetness", "ending"),
        lambda wetness, ending: wetness is None or (wetness in say.SUNK) == (ending == "sank"),
        "does not agree with the ending: she sank at W3, W4 and W5 and only then",
        "write sank as the ending, or another wetness",
    ),
    Rule(
        ("wetness", "ending"),
        lambda wetness, ending: ending != "sank" or wetness is not None,
        "is empty though she sank",
        "write W3, W4 or W5, by how long she lay",
    ),
    Rule(
        ("sinking_cause", "ending"),
        lambda cause, ending: (cause is not None) == (ending == "sank"),
        "goes with a sinking, and only with that",
        "fill it in if she sank (unknown is a cause), else empty it",
    ),
    Rule(
        ("sinking_system", "sinking_cause"),
        lambda system, cause: system is None or cause == "system",
        "is named though no system sank her",
        "write system as the cause, or empty it",
    ),
    Rule(
        ("minutes_under", "ending"),
        lambda minutes, ending: minutes is None or ending == "sank",
        "is given though she did not sink",
        "write sank as the ending, or empty it",
    ),
    _under("W3", lambda minutes: minutes < 10, "W3 is under 10 minutes"),
    _under("W4", lambda minutes: 10 <= minutes <= _MINUTES_A_DAY, "W4 is 10 minutes to a day"),
    _under("W5", lambda minutes: minutes > _MINUTES_A_DAY, "W5 is more than a day"),
)

_PLACEMENT = (
    _named_if("position_id", "place", lambda place: place == "installed", "the place installed"),
    _named_if("member_id", "place", lambda place: place in ("captain", "loan"), "the places captain and loan"),
    _moments_in_order("until_on", "until_sortie", "from_on", "from_sortie"),
    Rule(
        ("until_on", "until_precision"),
        lambda _day, precision: precision != "before records",
        "has no day",
        "write the day, month or year it ended",
    ),
    Rule(
        ("reason", "until_on"),
        lambda reason, until: reason is None or until is not None,
        "is given though it is still there",
        "fill in Until, or empty it",
    ),
)

_FAILURE = (
    _moments_in_order("found_on", "found_sortie", "last_good_on", "last_good_sortie"),
    Rule(
        ("caused_by_id", "secondary"),
        lambda cause, secondary: cause is None or secondary,
        "is given though the failure is not secondary",
        "write yes under Secondary, or empty it",
    ),
    Rule(("caused_by_id", "uid"), lambda cause, uid: cause != uid, "is the failure itself", "name another failure"),
)

_MOVEMENT = (
    _named_if("from_member_id", "from_place", lambda place: place == "captain", "From captain"),
    _named_if("to_member_id", "to_place", lambda place: place == "captain", "To captain"),
    _named_if("ship_id", "from_place to_place", lambda *places: "ship" in places, "From or To ship"),
    Rule(
        ("to_place", "from_place", "to_member_id", "from_member_id"),
        lambda there, here, taker, giver: (there, taker) != (here, giver),
        "is where it came from",
        "name another place",
    ),
)

_ONE_TAGGED = Rule(
    ("quantity", "part_id"),
    lambda quantity, part: part is None or quantity == 1,
    "is not 1 though one tagged part is named",
    "write 1, and one row for each part",
)

RULES: dict[str, tuple[Rule, ...]] = {
    "club": (Rule(("currency",), lambda code: len(code) == 3, "is no code of three letters", "write EUR, USD, GBP"),),
    "position": (
        _both_or_none("bank_needs", "bank", "goes with a bank, and only with that", "fill in both or neither"),
        Rule(("powered_by_id", "uid"), lambda by, uid: by != uid, "is the position itself", "name another position"),
    ),
    "part": (
        Rule(
            ("prior_use", "origin"),
            lambda prior, origin: prior == "unknown" or origin == "new",
            "is none though the part did not come new",
            "write unknown",
        ),
    ),
    "placement": _PLACEMENT,
    "battle": (_in_order("from_on", "until_on"),),
    "sortie": _SORTIE,
    "failure": _FAILURE,
    "suspicion": (
        _both_or_none("outcome", "closed_on", "goes with the day it was closed", "fill in both or neither"),
        _in_order("raised_on", "closed_on"),
    ),
    "loan": (
        _ONE_TAGGED,
        _two_parties("borrower_id", "lender_id"),
        _in_order("lent_on", "due_on"),
        _both_or_none("came_back", "closed_on", "goes with the day it was closed", "fill in both or neither"),
        _in_order("lent_on", "closed_on"),
    ),
    "movement": _MOVEMENT,
    "debt": (
        _two_parties("creditor_id", "debtor_id"),
        _in_order("since_on", "due_on"),
        _in_order("since_on", "settled_on"),
    ),
    "purchase": (_in_order("ordered_on", "expected_on"), _in_order("ordered_on", "received_on")),
    "discrepancy": (_ONE_TAGGED,),
    "shelf_limit": (
        Rule(
            ("family_id", "category"),
            lambda family, category: (family is None) != (category is None),
            "and Category are both filled in or both empty",
            "name the one it is a limit of",
        ),
        Rule(
            ("extension_days", "days"),
            lambda more, days: more is None or days is not None,
            "extend no limit",
            "fill in Days, or empty it",
        ),
    ),
    "reading": (
        Rule(
            ("part_id", "position_id"),
            lambda part, position: part is not None or position is not None,
            "is empty, and so is Position",
            "name a part or a position",
        ),
    ),
    "reading_limit": (
        Rule(
            ("family_id", "category"),
            lambda family, category: family is None or category is None,
            "and Category are both filled in",
            "name the one it is a limit of; neither: a limit wherever nothing closer is said",
        ),
    ),
    "task": (
        _both_or_none("every", "clock", "goes with a clock, and only with that", "fill in both or neither"),
        Rule(
            ("due_on", "clock"),
            lambda due, clock: due is not None or clock is not None,
            "is empty, and so is Clock",
            "give the day it is due, or a clock and how often",
        ),
        Rule(
            ("why_closed", "closed_on"),
            lambda why, closed: why is None or closed is not None,
            "is given of a task that is not closed",
            "fill in Closed on, or empty it",
        ),
    ),
    "certificate": (_in_order("issued_on", "expires_on"),),
    "prebattle_check": (_in_order("begun_on", "finished_on"),),
    "check_answer": (
        Rule(
            ("task_id", "answer"),
            lambda task, answer: task is None or answer == "promise",
            "is given though the answer is no promise",
            "write promise as the answer, or empty it",
        ),
    ),
    "roll_call": (_in_order("begun_on", "finished_on"),),
    "roll_call_answer": (
        Rule(
            ("part_id", "answer"),
            lambda part, answer: part is None or answer != "empty",
            "is named though the position was empty",
            "empty it, or write what was found",
        ),
    ),
    "salvage": (_in_order("begun_on", "finished_on"),),
    "salvage_step": (
        Rule(
            ("part_id", "position_id"),
            lambda part, position: part is None or position is not None,
            "is named without its position",
            "name the position it sat in",
        ),
    ),
    "salvage_answer": (
        Rule(
            ("opening_id", "answer"),
            lambda opening, answer: opening is None or answer in say.OPENED_FINDINGS,
            "is named though nothing was found inside",
            "empty it, or write dry, damp or water",
        ),
    ),
}
