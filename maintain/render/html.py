"""Pages that stand alone: text made harmless, and the files of the page put into one."""

from __future__ import annotations

import html
import json
from importlib import resources
from pathlib import Path
from typing import Any

from maintain.errors import DatabaseUnusable, InvalidRecord


def escaped(value: object) -> str:
    """
    A value as text of a page: whatever it holds, it is read and never obeyed; None is a dash.

    Examples
    --------
    >>> escaped('<b title="x">')
    '&lt;b title=&quot;x&quot;&gt;'
    """
    return "–" if value is None else html.escape(_seen(str(value)), quote=True)


def _seen(text: str) -> str:
    """Text without characters that no page may hold."""
    return "".join(each if each.isprintable() or each in "\n\t" else "\N{REPLACEMENT CHARACTER}" for each in text)


def embedded(value: Any) -> str:
    """
    Plain values as JSON that can stand inside a script element.

    Examples
    --------
    >>> embedded("</script>")
    '"\\\\u003c/script\\\\u003e"'
    """
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def piece(name: str) -> str:
    """One of the files that pages are made of."""
    return (resources.files("maintain.render") / "pages" / name).read_text(encoding="utf-8")


def write(out: Path, page: str) -> None:
    """
    Write a page to a file, over an older one of its name.

    Raises
    ------
    InvalidRecord, DatabaseUnusable
        If it is no page's name, or can't be written.
    """
    if out.suffix.lower() not in (".html", ".htm"):
        raise InvalidRecord(f"{out} is no name of a page", hint="end it with .html")
    try:
        out.write_text(page, encoding="utf-8")
    except OSError as error:
        raise DatabaseUnusable(
            f"{out} can't be written: {error.strerror}", hint="name a file in a folder you may write to"
        ) from error
