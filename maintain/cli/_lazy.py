"""A command group that imports its commands on demand."""

from __future__ import annotations

import importlib
from collections.abc import Iterator, MutableMapping
from typing import Any, ClassVar, NamedTuple

import typer
from typer.core import TyperGroup


class Entry(NamedTuple):
    """Where a command lives ("module:app", a Typer app) and its line in the help."""

    target: str
    help: str


class _OnDemand(MutableMapping[str, Any]):
    """Commands by name; a command's module is imported when it is looked up."""

    def __init__(self, entries: dict[str, Entry]) -> None:
        self._entries = entries
        self._made: dict[str, Any] = {}

    def __getitem__(self, name: str) -> Any:
        if name not in self._made:
            module, _, attribute = self._entries[name].target.partition(":")
            command = command_of(getattr(importlib.import_module(module), attribute))
            command.name = name
            self._made[name] = command
        return self._made[name]

    def __setitem__(self, name: str, command: Any) -> None:
        self._made[name] = command

    def __delitem__(self, name: str) -> None:
        del self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter({**self._entries, **self._made})

    def __len__(self) -> int:
        return len({**self._entries, **self._made})

    def __contains__(self, name: object) -> bool:  # the default would import the command to find out
        return name in self._entries or name in self._made


def command_of(app: typer.Typer) -> Any:
    """The command behind an app: a lone command without a callback stands for itself, else the group."""
    group = typer.main.get_group(app)
    if app.registered_groups or app.registered_callback is not None or len(group.commands) != 1:
        return group
    (command,) = group.commands.values()  # not typer's own get_command: that adds options for shell completion
    return command


class LazyGroup(TyperGroup):
    """A group whose commands are named in `entries` and imported when they are run."""

    entries: ClassVar[dict[str, Entry]] = {}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.commands = _OnDemand(self.entries)

    def list_commands(self, ctx: Any) -> list[str]:
        """Names in the order of the table."""
        return list(self.commands)

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Show the commands with their one line each, importing none of them."""
        formatter.write(ctx.get_usage() + "\n\n" + (self.help or "") + "\n\nCommands:\n")
        width = max(map(len, self.entries)) + 2
        for name, entry in self.entries.items():
            formatter.write(f"  {name:<{width}}{entry.help}\n")
        formatter.write("\nOptions:\n")
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record:
                formatter.write(f"  {record[0]:<{width + 12}}{record[1]}\n")
