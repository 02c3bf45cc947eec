"""What fits in an evening: the work that buys the most odds for each minute."""

from __future__ import annotations

from maintain.results.outlook import DueLine

_TO_A_THOUSANDTH = 3  # digits of what is bought that are worth an order


def fitting(lines: list[DueLine], hours: float) -> list[DueLine]:
    """
    Choose work whose minutes are known and that buys something, the most for each minute first, while there is time.

    What no longer fits is passed over for shorter work that does.
    """
    left = hours * 60
    chosen = []
    for line in sorted(filter(worthwhile, lines), key=lambda each: -per_minute(each)):
        if line.minutes is not None and line.minutes <= left:
            left -= line.minutes
            chosen.append(line)
    return chosen


def by_what_it_buys(buys: float, chance: float) -> tuple[float, float]:
    """Key that puts work in order: what buys most first, to a thousandth, then what is likeliest to fail."""
    return -round(buys, _TO_A_THOUSANDTH), -chance


def worthwhile(line: DueLine) -> bool:
    """True if the work raises a ship's odds."""
    return line.buys is not None and line.buys > 0


def per_minute(line: DueLine) -> float:
    """Odds bought by a minute of the work; 0 where its minutes are unknown."""
    return (line.buys or 0.0) / max(line.minutes, 1) if line.minutes is not None else 0.0
