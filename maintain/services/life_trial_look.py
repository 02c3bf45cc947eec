"""Look at a trial that runs: is one method doing worse, and is that reason to stop?"""

from __future__ import annotations

import numpy as np
import sqlalchemy as sa

from maintain.core.histories import LEAST_CLUSTERS
from maintain.core.log_rank import LogRank
from maintain.core.trial import blocks_of, bound_on_looking
from maintain.core.verdict import Verdict, judged
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.records import tables as t
from maintain.results.life_trial import MethodSoFar, TrialLook
from maintain.services.life_reading import SEED
from maintain.services.life_trial import Place
from maintain.services.lives.columns import day_number
from maintain.services.lives.history import history
from maintain.services.lives.labels import UNTREATED
from maintain.services.lives.table import Cohort, Selection, life_table
from maintain.services.unit import Desk, reading


def look(desk: Desk, place: Place, methods: tuple[str, ...], planned: int) -> TrialLook:
    """
    Compare the parts fitted since the trial began, by the rule that lets one look as often as one likes.

    Parameters
    ----------
    desk : Desk
    place : Place
        Family, zone and start of the trial.
    methods : tuple of str
        Two, as people write them.
    planned : int
        Failures of both at which the trial was to end.

    Raises
    ------
    InvalidRecord
        If the family or the two methods are not named.
    """
    if place.family is None or len(methods) != 2 or planned < 1:
        raise InvalidRecord(
            "a look needs the family, two methods and the failures planned",
            hint="run the command that the plan of the trial ended with",
        )
    with reading(desk) as connection:
        known = [*connection.execute(sa.select(t.method.c.name)).scalars(), UNTREATED]
        names = [find.match(known, each, "waterproofing method", "maintain method list") for each in methods]
        chosen = {"family": str(find.family(connection, place.family).name)}
        past = history(connection, desk.today)
    if place.zone:
        chosen["zone"] = place.zone
    table = life_table(past, "days", Selection(chosen, day_number(place.start)))
    cohort = table.known.take(np.isin(table.known.labels["waterproofing"].astype(str), names))
    so_far = cohort.labels["waterproofing"]
    tested, within = _tested(cohort)
    failures = cohort.lives.failures
    z = None if tested is None else _z(*tested, names[0])
    bound = bound_on_looking(failures / planned) if z is not None else None
    passed = z is not None and bound is not None and abs(z) >= bound
    expected = {} if tested is None else dict(zip(tested[0].groups, tested[0].expected.tolist(), strict=True))
    return TrialLook(
        methods=tuple(
            MethodSoFar(
                name, int(np.sum(so_far == name)), cohort.take(so_far == name).lives.failures, expected.get(name)
            )
            for name in names
        ),
        start=place.start,
        failures=failures,
        planned=planned,
        z=z,
        bound=bound,
        within=within,
        worse=names[0 if z > 0 else 1] if passed and z is not None else None,
        stop=passed or failures >= planned,
        notes=table.notes,
    )


def _tested(cohort: Cohort) -> tuple[tuple[LogRank, Verdict] | None, tuple[str, ...]]:
    """The test within the blocks of the plan, ships as clusters where they are no blocks, with its verdict, or None."""
    method, ship = cohort.labels["waterproofing"].astype(str), cohort.labels["ship"].astype(str)
    within = blocks_of(ship, cohort.labels["zone"], method) if method.size else ()
    strata = None
    for name in within:
        label = cohort.labels[name].astype(str)
        strata = label if strata is None else np.char.add(np.char.add(strata, "/"), label)
    shared = {} if "ship" in within or np.unique(ship).size < LEAST_CLUSTERS else {"ship": ship}
    try:
        lot = np.random.default_rng(SEED)
        return judged(cohort.lives, method, lot, strata=strata, clusters=shared), within
    except NotEnoughData:
        return None, within


def _z(tested: LogRank, verdict: Verdict, first: str) -> float:
    """Positive when the first method fails more often; as large as the p on which a comparison would rest."""
    from scipy.special import ndtri

    sign = 1.0 if (tested.groups[0] == first) == (tested.score > 0) else -1.0
    return sign * abs(float(ndtri(verdict.p / 2)))
