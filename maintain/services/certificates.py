"""Dated certificates: recorded, listed, and what the rules known to us say of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from maintain.errors import InvalidRecord
from maintain.records import find, upkeep
from maintain.records import tables as t
from maintain.results.base import Column, Done, Listing
from maintain.services.unit import Desk, reading, writing

_LONGEST = timedelta(days=25 * 366)  # no rule known to us sets a longer time


@dataclass(frozen=True)
class Paper:
    """What a certificate says: what it attests, from when until when, by which rule, and who decides."""

    kind: str
    issued_on: date | None
    expires_on: date
    source: str
    decider: str


def add(desk: Desk, *, part: str, paper: Paper) -> Done:
    """
    Record a dated certificate.

    Raises
    ------
    InvalidRecord
        If its dates can only be a slip.
    """
    refuse_slips(paper.issued_on, paper.expires_on, desk.today)
    with writing(desk, "certificate add") as recorder:
        row = find.part(recorder.connection, part)
        recorder.insert(t.certificate, part_id=row.id, **vars(paper))
        did = f"{row.tag}: {paper.kind} until {paper.expires_on} ({paper.source})"
        recorder.summarise(did)
    past = (f"it ran out on {paper.expires_on}",) if paper.expires_on < desk.today else ()
    notes = (f"the {paper.decider} decides, not this record", *past)
    return Done(did, notes=notes, record={"part": row.tag, "expires_on": paper.expires_on})


def refuse_slips(issued: date | None, expires: date, today: date) -> None:
    """
    Refuse dates that can only be a slip.

    Raises
    ------
    InvalidRecord
    """
    if issued is not None and issued > today:
        raise InvalidRecord(f"{issued} is to come: nothing was issued then", hint="check the year")
    if issued is not None and issued > expires:
        raise InvalidRecord(f"it can't run out on {expires}, before it was issued on {issued}", hint="check both days")
    if expires > (issued or today) + _LONGEST:
        raise InvalidRecord(f"{expires} is more than 25 years ahead", hint="check the year")


_COLUMNS = (
    Column("tag", "Part"),
    Column("family", "Family"),
    Column("where", "Where"),
    Column("kind", "Certificate"),
    Column("expires_on", "Runs out"),
    Column("expired", "Expired"),
    Column("source", "Source"),
    Column("decider", "Who decides"),
)


def listing(desk: Desk) -> Listing:
    """The latest certificate of each part, earliest first, and the cylinders that have none."""
    with reading(desk) as connection:
        found = upkeep.certificates(connection)
        bare = upkeep.without_certificate(connection, "cylinder")
    rows = tuple(
        {
            **row._mapping,
            "where": f"{row.ship}/{row.position}" if row.ship else row.place,
            "expired": row.expires_on < desk.today,
        }
        for row in found
    )
    footer = (f"no date on record of the cylinders: {', '.join(bare)}",) if bare else ()
    return Listing(
        "Certificates, earliest first", _COLUMNS, rows, footer, empty="none yet; add one with: maintain certificate add"
    )


_INSPECTOR = "licensed cylinder inspector"
# What the rules say, as far as it was read; a date of the club's is never made from it.
_RULES = (
    {
        "rule": "49 CFR 180.209 Table 1",
        "of": "DOT 3AL, carbon dioxide",
        "years": 5,
        "says": "requalified every 5 years, at 5/3 of the service pressure; the 12 years of paragraph (m) are not for "
        "carbon dioxide",
        "basis": "read",
    },
    {
        "rule": "49 CFR 180.209 Table 1, note 1",
        "of": "at most 2 in across, under 2 ft long",
        "years": None,
        "says": "excepted from the volumetric expansion test; what is still owed on them the inspector says",
        "basis": "read",
    },
    {
        "rule": "49 CFR 180.209 Table 1",
        "of": "foreign, in the United States",
        "years": 5,
        "says": "requalified every 5 years; see paragraph (l)",
        "basis": "read",
    },
    {
        "rule": "ISO 18119:2018 with ADR P200",
        "of": "seamless, carbon dioxide",
        "years": 10,
        "says": "periodic inspection; national rules set the interval, commonly 10 years",
        "basis": "from memory",
    },
)


def rules() -> Listing:
    """What named regulations say of the time between two tests; the local inspector decides."""
    columns = (
        Column("rule", "Rule"),
        Column("of", "Of"),
        Column("years", "Years", numeric=True),
        Column("says", "What it says"),
        Column("basis", "Known"),
        Column("decider", "Who decides", on_screen=False),
    )
    rows = tuple({**rule, "decider": _INSPECTOR} for rule in _RULES)
    footer = (
        f"the local {_INSPECTOR} decides which of them holds for a bottle; a club's own rule may ask for less or more",
        "the date that counts is stamped on the bottle: maintain certificate add PART --expires DATE --source RULE",
    )
    return Listing("What regulations say", columns, rows, footer)
