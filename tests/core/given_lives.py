"""Random lives for properties that must always hold."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from maintain.core.lives import Lives, lives_from_times

WHOLE = st.integers(1, 60)


@st.composite
def any_lives(draw: st.DrawFn, *, least: int = 1, delayed: bool = True) -> Lives:
    """Lives on a coarse clock, so that ties are common; entries before exits; any share censored."""
    exits = draw(st.lists(WHOLE, min_size=least, max_size=25))
    entries = [draw(st.integers(0, out - 1)) if delayed else 0 for out in exits]
    failed = [draw(st.booleans()) for _ in exits]
    return lives_from_times(np.array(exits, dtype=float), failed, np.array(entries, dtype=float))


@st.composite
def fittable_lives(draw: st.DrawFn) -> Lives:
    """Lives with failures at two times or more, so that every law has a best fit."""
    exits = draw(st.lists(WHOLE, min_size=3, max_size=25).filter(lambda out: len(set(out)) >= 3))
    rest = set(range(len(exits))) - {exits.index(min(exits)), exits.index(max(exits))}
    failed = [row not in rest or draw(st.booleans()) for row in range(len(exits))]
    return lives_from_times(np.array(exits, dtype=float), failed)
