"""Simulate clubs and write docs/service_age_figures.md: `python -m docs.service_age_figures` (minutes on two cores)."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from tests.core.test_service_age_clubs import INHERITED, KINDS, PRIOR, STATED, UNLIKE, ranks, tally, uneven

CLUBS, RANKED = 200, 1000
PAGE = Path(__file__).with_name("service_age_figures.md")
_PARAMETERS = (
    "scale", "shape", "a minute afloat", "a wet sortie", "a sinking",
    "zone 1", "zone 2", "family 1", "family 2", "family 3",
    "shape of family 1", "of family 2", "of family 3", "longest earlier service",
)  # fmt: skip
_HEAD = f"""\
# Does service age keep its promises?

Written by `python -m docs.service_age_figures`; {CLUBS} simulated clubs of each kind. Truth: shape {STATED.shape},
scale {STATED.scale:.0f} days, a minute afloat costs {STATED.worth[1]}, a wet sortie {STATED.worth[2]:.0f} and a sinking
{STATED.worth[3]:.0f} days; two zones, two families; {INHERITED:.0%} of the first parts of
unknown earlier use, of up to {STATED.longest:.0f} days. Lower rows: 14 ships and four seasons, with shapes of
{UNLIKE.shape_of(0):.2f} and {UNLIKE.shape_of(1):.2f}, or another longest earlier service.
Belief beforehand as shipped, that of servos: scale {PRIOR.scale:.0f} days. Cost: share of clubs whose interval of the
cost of a sinking holds it. Chance: share of parts whose interval holds their true chance of failing in the two months
ahead; of unknown use: of those parts alone. Skill: 1 − Brier score / that of the rival, over those two months.

| clubs | cost, 80 % | cost, 95 % | chance, 80 % | chance, 95 % | unknown use, 80 % | 95 % | skill: base | days |
|---|---|---|---|---|---|---|---|---|
"""


def main() -> None:
    """Simulate, and write the page."""
    with ProcessPoolExecutor() as pool:
        side_by_side = partial(pool.map, chunksize=5)
        found_of = {kind: tally(CLUBS, kind, side_by_side) for kind in KINDS}
        ranked = ranks(RANKED, side_by_side)
    rows = []
    for kind, found in found_of.items():
        held = (f"{found[f'{what}_{level}']:.1%}" for what in ("cost", "chance", "strange") for level in (80, 95))
        rows.append("| " + " | ".join((kind, *held, f"{found['skill_base']:.1%}", f"{found['skill_days']:.1%}")) + " |")
    even = uneven(ranked, 10)
    told = ", ".join(f"{name} {chance:.2f}" for name, chance in zip(_PARAMETERS, even, strict=True))
    tail = (
        f"\n\nRanks of the truth among draws, for {RANKED} clubs of 6 ships and one season whose truth is drawn from\n"
        f"the prior (Talts et al. 2018): chance of ranks as uneven as these if the posterior is exact: {told}.\n"
    )
    PAGE.write_text(_HEAD + "\n".join(rows) + tail, encoding="utf-8")


if __name__ == "__main__":
    main()
