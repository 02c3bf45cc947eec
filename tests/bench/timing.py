"""Taking the time, and saying it."""

from __future__ import annotations

import statistics
import subprocess
from collections.abc import Callable
from pathlib import Path
from time import perf_counter


def seconds(action: Callable[[], object], times: int = 5) -> float:
    """Median time of an action, after one run that warms the caches."""
    action()
    taken = []
    for _ in range(times):
        start = perf_counter()
        action()
        taken.append(perf_counter() - start)
    return statistics.median(taken)


def fastest(*actions: Callable[[], object], times: int = 5) -> tuple[float, ...]:
    """Least time of each action, taken in turns so that what else the machine does falls on all of them alike."""
    taken: list[list[float]] = [[] for _ in actions]
    for _ in range(times):
        for action, found in zip(actions, taken, strict=True):
            start = perf_counter()
            action()
            found.append(perf_counter() - start)
    return tuple(min(each) for each in taken)


def process_seconds(command: list[str | Path], times: int = 9) -> float:
    """Median time of a process from start to end."""
    return seconds(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL), times)


def line(what: str, taken: float, against: str = "", other: float = 0.0, aim: float = 0.0) -> str:
    """One line: a time, and where there is something to hold it against, the ratio and what it should reach."""
    text = f"{what:<46}{taken:9.3f} s"
    if other:
        text += f"   {against} {other:.3f} s   ratio {taken / other:.2g}"
        text += f" ({other / taken:.3g} times as fast)" if taken < other else ""
    if aim:
        text += f" (aim at most {aim:g}: {'reached' if taken <= aim * other else 'MISSED'})"
    return text
