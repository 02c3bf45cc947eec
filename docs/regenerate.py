"""What the documents show of the program, made by running it; `cog -I . -r README.md DEVELOPERS.md docs/*.md` does it.

In a document, a scratch club is set up once and asked as often as needed:

    from docs.regenerate import Pond
    pond = Pond(on="2026-06-01")
    pond.quietly("maintain init --club 'Mill Pond'")
    cog.out(pond.shows("maintain ship add Halberd --like cruiser", "maintain ship list"))
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer

from maintain import errors
from maintain.cli import _command
from maintain.cli.app import app

Words = tuple[str, ...]

_COMMON = (_command.Db, _command.On, _command.Who, _command.AsJson, _command.AsCsv)
COMMON_HELP = {each.__metadata__[0].help for each in _COMMON}  # of options told once for all commands


def walk() -> Iterator[tuple[Words, Any]]:
    """Every command and group of the program: the words that call it, and itself."""
    yield from _walk((), typer.main.get_command(app))


def _walk(path: Words, command: Any) -> Iterator[tuple[Words, Any]]:
    yield path, command
    for name in getattr(command, "commands", {}):
        yield from _walk((*path, name), command.commands[name])


def leaves() -> dict[Words, Any]:
    """The commands that do something, by the words that call them."""
    return {path: command for path, command in walk() if _does_something(command)}


def _does_something(command: Any) -> bool:
    return not hasattr(command, "commands") or bool(command.invoke_without_command)


def commands_reference() -> str:
    """All commands with their arguments and options, as Markdown."""
    parts = []
    for path, command in walk():
        if len(path) == 1:
            parts.append(f"## maintain {path[0]}\n\n{first_line(command)}\n")
        if path and _does_something(command):
            parts.append(_command_reference(path, command))
    return "\n".join(parts)


def _command_reference(path: Words, command: Any) -> str:
    usage = " ".join(["maintain", *path, *command.collect_usage_pieces(_context(command))])
    lines = [f"### `{usage}`\n", f"{first_line(command)}\n"] if len(path) > 1 else [f"`{usage}`\n"]
    common = [each.opts[0] for each in command.params if each.help in COMMON_HELP]
    rows = [_row(each.get_help_record(_context(command))) for each in command.params if each.help not in COMMON_HELP]
    if rows:
        lines += ["| | |", "|---|---|", *rows, ""]
    if common:
        lines.append("Common options: " + ", ".join(f"`{each}`" for each in common) + "\n")
    return "\n".join(lines)


def _row(record: tuple[str, str] | None) -> str:
    name, text = (cell.replace("|", "\\|").replace("\n", " ") for cell in record or ("", ""))
    return f"| `{name}` | {text} |"


def _context(command: Any) -> Any:
    return command.make_context(command.name, [], resilient_parsing=True)


def first_line(command: Any) -> str:
    """What a command or group says of itself in one line."""
    return (command.help or "").strip().partition("\n")[0]


def exit_codes() -> str:
    """All exit codes as a Markdown table; those without an error class are told here."""
    rows = {
        0: ("", "Done."),
        1: ("", "A fault of the program: please report what it printed."),
        2: ("", "Wrong usage: unknown command or option, or a value that is none of the choices."),
        10: ("", "`maintain due --exit-code`: something is due."),
        130: ("", "Interrupted with Ctrl-C; nothing was written."),
        **{each.exit_code: (each.code, (each.__doc__ or "").strip()) for each in errors.MaintainError.__subclasses__()},
    }
    lines = [f"| {code} | {f'`{name}`' if name else ''} | {text} |" for code, (name, text) in sorted(rows.items())]
    return "\n".join(["| exit code | `code` in `--json` | when |", "|---|---|---|", *lines]) + "\n"


class Pond:
    """A scratch folder with a club's database, in which the commands of one document are run in order."""

    def __init__(self, on: str | None = None) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="maintain-docs-")
        self._on = on

    def dated(self, on: str) -> Pond:
        """The same pond on another day."""
        self._on = on
        return self

    def quietly(self, line: str) -> str:
        """Run a command line and return what it printed; a failure stops the making of the document."""
        done = self._run(line)
        if done.returncode:
            raise RuntimeError(f"{line}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    def holds(self, *names: str) -> None:
        """Put files of docs/examples into the folder."""
        for name in names:
            shutil.copy(Path(__file__).with_name("examples") / name, self._folder.name)

    def shows(self, *lines: str) -> str:
        """A console block: each command line and all it answered."""
        shown = ["```console"]
        for line in lines:
            done = self._run(line)
            if done.returncode == 1:  # a fault of the program is no answer to show
                raise RuntimeError(f"{line}:\n{done.stdout}{done.stderr}")
            answer = (done.stdout + done.stderr).replace(self._folder.name, "~")
            shown += [f"$ {line}", *(each.rstrip() for each in answer.rstrip().splitlines())]
        return "\n".join([*shown, "```", ""])

    def file(self, name: str, text: str) -> None:
        """Put a file into the folder."""
        (Path(self._folder.name) / name).write_text(text, encoding="utf-8")

    def walks(self, line: str, *keys: str) -> str:
        """A console block: a command that asks, and what it said to these answers."""
        done = self._run(line, "".join(f"{key}\n" for key in keys))
        if done.returncode:
            raise RuntimeError(f"{line}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        said = (each.rstrip() for each in done.stderr.rstrip().splitlines())
        return "\n".join(["```console", f"$ {line}", *said, "```", ""])

    def _run(self, line: str, keys: str = "") -> subprocess.CompletedProcess[str]:
        program, *words = shlex.split(line)
        if program != "maintain":
            raise ValueError(f"a document shows commands of maintain only: {line}")
        dated = ["--on", self._on] if self._on and "--on" in _options_of(words) else []
        command = [sys.executable, "-m", "maintain", *words, *dated]
        folder = Path(self._folder.name)
        env = {
            **os.environ,
            "MAINTAIN_DB": str(folder / "club.db"),
            "MAINTAIN_WHO": "Avery",
            "NO_COLOR": "1",
            "COLUMNS": "110",
            "PYTHONPATH": str(Path(__file__).resolve().parents[1]),
        }
        return subprocess.run(
            command, cwd=folder, env=env, input=keys, capture_output=True, text=True, timeout=300, check=False
        )


def _options_of(words: list[str]) -> set[str]:
    """Options that the command named by the first of `words` takes."""
    known = leaves()
    path = next((tuple(words[:n]) for n in range(len(words), 0, -1) if tuple(words[:n]) in known), None)
    return {option for each in known[path].params for option in each.opts} if path else set()
