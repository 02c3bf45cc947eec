"""What may be a name: of a ship, position, family, member, venue, battle, method, or the tag of a part."""

from __future__ import annotations

import shlex

from maintain.errors import InvalidRecord


def checked(text: str, what: str) -> str:
    """
    Return a name as it is kept: no blanks around it, single ones within.

    Parameters
    ----------
    text : str
        As somebody wrote it.
    what : str
        What it names, for the message: "ship".

    Raises
    ------
    InvalidRecord
        If commands or files could not tell it from something else.

    Examples
    --------
    >>> checked(" Heavy  Goods ", "ship")
    'Heavy Goods'
    """
    name = " ".join(filter(None, text.split(" ")))
    if not name:
        raise InvalidRecord(f"a {what} needs a name", hint="write at least one letter")
    if not name.isprintable():
        raise InvalidRecord(
            f"{name!r} can't name a {what}: it holds a line end or another character that can't be seen",
            hint="write it in one line of plain letters",
        )
    if "/" in name:
        raise InvalidRecord(
            f"{name!r} can't name a {what}: a slash stands between a ship and her position", hint="write it without /"
        )
    if name.startswith("-"):
        raise InvalidRecord(
            f"{name!r} can't name a {what}: commands would take it for an option", hint="begin with another character"
        )
    return name


def checked_tag(text: str) -> str:
    """
    Return the tag of a part as it is kept: a name, and not a number only, since numbers name failures.

    Raises
    ------
    InvalidRecord
        If it can't be a tag.
    """
    tag = checked(text, "part")
    if tag.isdigit():
        raise InvalidRecord(
            f"{tag!r} can't name a part: a bare number names a failure", hint="add a letter, for example S-01"
        )
    return tag


def quoted(name: str) -> str:
    """
    A name as a shell takes it in one piece, for the commands in hints.

    Examples
    --------
    >>> quoted("Halberd/pump"), quoted("Heavy Goods/pump")
    ('Halberd/pump', "'Heavy Goods/pump'")
    """
    return shlex.quote(name)
