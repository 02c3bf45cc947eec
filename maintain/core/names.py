"""What may be a name: of a ship, position, family, member, venue, battle, method, or the tag of a part; and a text."""

from __future__ import annotations

import re
import shlex

from maintain.errors import InvalidRecord

# What a terminal obeys instead of showing it, and what turns the order of letters round; line ends are text.
_COMMANDS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def readable(text: str, what: str) -> str:
    """
    Return a free text, such as a note or a source, that holds nothing a terminal would obey.

    Raises
    ------
    InvalidRecord
        If it does.
    """
    if _COMMANDS.search(text):
        raise InvalidRecord(
            f"{what} {text!r} holds a control character",
            hint="write it in plain letters: a name in one line, a note in one or more",
        )
    return text


def harmless(text: str) -> str:
    r"""
    A text as it may be printed: what a terminal would obey shows as a mark.

    Examples
    --------
    >>> harmless("Ev\x1b[31mil")
    'Ev�[31mil'
    """
    return _COMMANDS.sub("\N{REPLACEMENT CHARACTER}", text)


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
