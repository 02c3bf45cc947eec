"""Commands whose answer can be drawn: in the terminal, and to a file."""

from __future__ import annotations

import functools
import importlib
import inspect
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from maintain.results.base import Pictured

_Plot = Annotated[
    Path | None, typer.Option("--plot", metavar="FILE", help="Draw the answer to this .svg, .png or .pdf file.")
]
_Picture = Annotated[
    bool | None,
    typer.Option(
        "--picture/--no-picture",
        help="Draw in the terminal, or don't; by default where a person looks on.",
        show_default=False,
    ),
]


def pictured(drawn_by: str) -> Callable[[Callable[..., Pictured]], Callable[..., Pictured]]:
    """
    Give a command --plot and --picture.

    Parameters
    ----------
    drawn_by : str
        "module:function" that draws its result to a file; imported when asked for.
    """

    def decorate(function: Callable[..., Pictured]) -> Callable[..., Pictured]:
        @functools.wraps(function)
        def run(*args: Any, plot: Path | None, picture: bool | None, **given: Any) -> Pictured:
            if plot is not None:
                from maintain.render.figure import check_target

                check_target(plot)
            result = replace(function(*args, **given), picture=picture)
            if plot is None:
                return result
            module, _, name = drawn_by.partition(":")
            getattr(importlib.import_module(module), name)(result, plot)
            return replace(result, plotted=str(plot))

        signature = inspect.signature(function)
        keyword = inspect.Parameter.KEYWORD_ONLY
        own = {"plot": _Plot, "picture": _Picture}
        added = [inspect.Parameter(name, keyword, default=None, annotation=kind) for name, kind in own.items()]
        run.__signature__ = signature.replace(parameters=[*signature.parameters.values(), *added])  # type: ignore[attr-defined]
        run.__annotations__ = {**function.__annotations__, **own}
        return run

    return decorate
