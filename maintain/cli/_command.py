"""How a command is made: it takes a desk and its own options, returns a result, and one place shows it.

    @writes(app)
    def add(desk: Desk, name: Annotated[str, typer.Argument()]) -> Result: ...

`writes` adds --db, --on, --who and --json; `reads` adds --db, --on, --json and, for tables, --csv; `answers_alone`
makes what a group answers where no sub-command is named.
"""

from __future__ import annotations

import functools
import getpass
import inspect
import os
import typing
from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from maintain.cli._told import told

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk

Db = Annotated[
    str | None,
    typer.Option("--db", envvar="MAINTAIN_DB", metavar="PATH|URL", help="The club's database.", show_default=False),
]
On = Annotated[
    str | None,
    typer.Option("--on", "--as-of", metavar="DATE", help="The day that counts as today.", show_default=False),
]
Who = Annotated[
    str | None,
    typer.Option("--who", envvar="MAINTAIN_WHO", help="Who makes the record, for the journal.", show_default=False),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer with one JSON document.")]
AsCsv = Annotated[bool, typer.Option("--csv", help="Answer with comma-separated values.")]

# A command returns its result, or its result and the exit code it asks for.
Command = Callable[..., "Result | tuple[Result, int]"]

_COMMON: dict[str, Any] = {"db": Db, "on": On, "who": Who, "as_json": AsJson, "as_csv": AsCsv}
_READING = ("db", "on", "as_json", "as_csv")
_DEFAULTS: dict[str, Any] = {"db": None, "on": None, "who": None, "as_json": False, "as_csv": False}


def writes(app: typer.Typer, name: str | None = None, *, numbers: bool = False) -> Callable[[Command], Command]:
    """Register a command that changes records; with `numbers`, -3 is a number to refuse and not an option."""
    return _registered(app, name, ("db", "on", "who", "as_json"), numbers=numbers)


def reads(app: typer.Typer, name: str | None = None, *, table: bool = True) -> Callable[[Command], Command]:
    """Register a command that only reads; `table` says that its answer can be had as CSV."""
    return _registered(app, name, _READING if table else ("db", "on", "as_json"))


def answers_alone(app: typer.Typer) -> Callable[[Command], Command]:
    """Register the answer of a group that is called without a sub-command; it only reads."""

    def register(function: Command) -> Command:
        answer = _with_options(function, _READING)

        @functools.wraps(answer)
        def run(ctx: typer.Context, **given: Any) -> None:
            if ctx.invoked_subcommand is None:
                answer(**given)
            elif any(getattr(ctx.get_parameter_source(each), "name", "") == "COMMANDLINE" for each in given):
                raise typer.BadParameter(f"options stand after {ctx.invoked_subcommand}, not before it")

        context = inspect.Parameter("ctx", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=typer.Context)
        run.__signature__ = inspect.Signature([context, *inspect.signature(answer).parameters.values()])  # type: ignore[attr-defined]
        run.__annotations__ = {"ctx": typer.Context, **answer.__annotations__}
        app.callback(invoke_without_command=True)(run)
        return function

    return register


def _registered(
    app: typer.Typer, name: str | None, common: tuple[str, ...], *, numbers: bool = False
) -> Callable[[Command], Command]:
    settings = {"ignore_unknown_options": numbers}

    def register(function: Command) -> Command:
        app.command(name, context_settings=settings)(_with_options(function, common))
        return function

    return register


def _with_options(function: Command, common: tuple[str, ...]) -> Callable[..., None]:
    """Give `function` the common options in place of its first parameter, the desk; show what it returns."""

    @functools.wraps(function)
    def run(**given: Any) -> None:
        options = {key: given.pop(key) for key in common}
        with told(as_json=options["as_json"]):
            _require_readable({**given, "who": options.get("who")})
            result = function(desk(options["db"], options["on"], options.get("who")), **given)
            from maintain.render.show import show

            answer, code = result if isinstance(result, tuple) else (result, 0)
            show(answer, as_json=options["as_json"], as_csv=options.get("as_csv", False))
        if code:
            raise typer.Exit(code)

    signature = inspect.signature(function)
    own = list(signature.parameters.values())[1:]
    unloaded = {"Desk": object, "Result": object, "Pictured": object}
    hints = typing.get_type_hints(function, include_extras=True, localns=unloaded)
    shared = [
        inspect.Parameter(key, inspect.Parameter.KEYWORD_ONLY, default=_DEFAULTS[key], annotation=_COMMON[key])
        for key in common
    ]
    keyword_only = [each.replace(kind=inspect.Parameter.KEYWORD_ONLY, annotation=hints[each.name]) for each in own]
    run.__signature__ = inspect.Signature([*keyword_only, *shared])  # type: ignore[attr-defined]
    run.__annotations__ = {**{each.name: hints[each.name] for each in own}, **{key: _COMMON[key] for key in common}}
    return run


def _require_readable(given: dict[str, Any]) -> None:
    """Refuse texts that a terminal would obey wherever they are shown."""
    from maintain.core.names import readable

    for name, value in given.items():
        for text in value if isinstance(value, list | tuple) else (value,):
            if isinstance(text, str):
                readable(text, name.replace("_", " "))


def desk(db: str | None, on: str | None, who: str | None = None) -> Desk:
    """Where the command works: the database named, else the one in the user's data folder."""
    from maintain.core.when import parse_day
    from maintain.services.unit import Desk

    today = date.today()  # noqa: DTZ011  (the one place that asks the clock; the pond's own day is meant)
    return Desk(
        db=db or os.environ.get("MAINTAIN_DB") or default_db(),
        who=who or os.environ.get("MAINTAIN_WHO") or login(),
        today=parse_day(on, today, what="--on") if on else today,
    )


def default_db() -> str:
    """Path of the database in the platform's user data folder."""
    import platformdirs

    return str(platformdirs.user_data_path("maintain", appauthor=False) / "club.db")


def login() -> str:
    """Name of whoever is at the keyboard."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"
