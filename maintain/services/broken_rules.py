"""What the database's own rules say, in words; the last resort behind the use-cases' own checks."""

from __future__ import annotations

import re

from maintain.records.tables import metadata

_TWO_PLACES = {
    "one part, one place": "a part can't be in two places at once",
    "one position, one part": "a position can't hold two parts at once",
}


def spoken(message: str, rule: str = "") -> str:
    """
    Turn a driver's message about a broken rule into a sentence.

    Parameters
    ----------
    message : str
    rule : str
        Name of the constraint, where the driver tells it apart from what the user wrote.

    Examples
    --------
    >>> spoken("UNIQUE constraint failed: index 'uq_ship_name_folded'")
    'a ship of that name is recorded already'
    >>> spoken("CHECK constraint failed: ck_battle_ends_after_start")
    "this battle breaks the rule 'ends after start'"
    >>> spoken('duplicate key value violates unique constraint "uq_sortie_ship_id_sailed_on_number"')
    'a sortie of that ship, sailed on and number is recorded already'
    >>> spoken("Key (lower(name))=(foreign key) already exists", "uq_member_name_folded")
    'a member of that name is recorded already'
    """
    message = rule or message
    for guard, words in _TWO_PLACES.items():
        if guard in message:
            return words
    if "FOREIGN" in message or "foreign key" in message or rule.startswith("fk_"):
        return "other records still refer to this one"
    named = re.search(r"\b(uq|ck)_(\w+)", message)
    if named:
        table, rule = _table_and_rule(named[2])
        return _twice(table, [rule.removesuffix("_folded")]) if named[1] == "uq" else _breaks(table, rule)
    columns = re.findall(r"(\w+)\.(\w+)", message.partition("UNIQUE constraint failed: ")[2])
    if columns:
        return _twice(columns[0][0], [column for _, column in columns])
    return f"the records refuse this: {message}"


def _table_and_rule(name: str) -> tuple[str, str]:
    """The table a constraint's name begins with, and the rest."""
    table = max((each for each in metadata.tables if name.startswith(f"{each}_")), key=len, default="record")
    return table, name.removeprefix(f"{table}_")


def _twice(table: str, columns: list[str]) -> str:
    known = [each.name for each in metadata.tables[table].columns] if table in metadata.tables else []
    if len(columns) == 1 and columns[0] not in known:  # a name made of several columns
        columns = re.findall("|".join(sorted(known, key=len, reverse=True)), columns[0]) or columns
    words = [column.removesuffix("_id").replace("_", " ") for column in columns]
    told = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    return f"a {table.replace('_', ' ')} of that {told} is recorded already"


def _breaks(table: str, rule: str) -> str:
    return f"this {table.replace('_', ' ')} breaks the rule '{rule.replace('_', ' ')}'"
