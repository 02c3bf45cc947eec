"""How far long work is: a bar on stderr, and only where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def bar() -> Iterator[Callable[[str, float], None] | None]:
    """A function that takes what is being done and the share done; None where stderr is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=1.0)
        yield lambda what, share: progress.update(task, description=what, completed=share)
