"""The tables of docs/files.md, made from the layout that import and export use."""

from __future__ import annotations

from maintain.exchange.field import Field, Sheet
from maintain.exchange.layout import BY_TABLE, SHEETS

_WRITTEN = {
    "text": "text",
    "name": "name: one line without a slash",
    "tag": "name: one line without a slash, not only digits",
    "day": "day",
    "fuzzy day": "fuzzy day",
    "number": "number",
    "yes/no": "yes or no",
    "money": "money",
}


def list_of_files() -> str:
    """Every file in a line."""
    rows = [f"| [{sheet.file}](#{sheet.file.replace('.', '')}) | {sheet.about} |" for sheet in SHEETS]
    return "\n".join(["| file | what it holds |", "|---|---|", *rows]) + "\n"


def files_reference() -> str:
    """Every file with its headings."""
    return "\n".join(_file(sheet) for sheet in SHEETS)


def _file(sheet: Sheet) -> str:
    known_by = [field.heading for field in sheet.fields if field.column in sheet.identity]
    told = [f"## {sheet.file}\n", f"{sheet.about}\n"]
    if known_by:
        again = "No two rows agree in" if sheet.unique else "Rows without a uid are known again by"
        told.append(f"{again} {_listed(known_by)}.\n")
    if sheet.label:
        told.append(f"Other files refer to a row as `{_label(sheet)}`.\n")
    rows = [f"| {field.heading} | {_written(field)} | {_empty(field)} | {field.meaning} |" for field in sheet.fields]
    return "\n".join([*told, "| heading | written as | if empty | meaning |", "|---|---|---|---|", *rows, ""])


def _label(sheet: Sheet) -> str:
    """The label with headings in place of columns: Ship/Position."""
    headings = {field.column: field.heading for field in sheet.fields}
    return sheet.label.format_map(headings)


def _written(field: Field) -> str:
    if field.kind == "reference":
        target = BY_TABLE[field.to]
        return f"{target.what} ([{target.file}](#{target.file.replace('.', '')}))"
    if field.kind == "word":
        return f"one of: {', '.join(field.words)}"
    if field.kind == "integer":
        return f"whole number, {field.least} or more"
    return _WRITTEN[field.kind]


def _empty(field: Field) -> str:
    if field.needed:
        return "**refused**"
    if field.column == "uid":
        return "one is made"
    if field.default is None:
        return ""
    return "no" if field.default is False else f"{field.default}"


def _listed(headings: list[str]) -> str:
    return headings[0] if len(headings) == 1 else f"{', '.join(headings[:-1])} and {headings[-1]}"
