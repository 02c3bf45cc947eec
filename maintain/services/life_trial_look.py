"""Look at a trial that runs: is one method doing worse, and is that reason to stop?"""

from __future__ import annotations

from datetime import date

import numpy as np
import sqlalchemy as sa

from maintain.core.exposure import day_of
from maintain.core.log_rank import LogRank, log_rank
from maintain.core.trial import bound_on_looking
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.records import tables as t
from maintain.results.life_trial import MethodSoFar, TrialLook
from maintain.services.life_trial import Place
from maintain.services.lives.columns import day_number, first_rows, places
from maintain.services.lives.history import History, history
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
    table = life_table(past, "days", Selection(chosen))
    cohort = _on_trial(past, table.known, names, place.start)
    so_far = cohort.labels["waterproofing"]
    tested, within = _tested(cohort)
    failures = cohort.lives.failures
    z = None if tested is None else _z(tested, names[0])
    bound = bound_on_looking(failures / planned) if z is not None else None
    passed = z is not None and bound is not None and abs(z) >= bound
    expected = {} if tested is None else dict(zip(tested.groups, tested.expected.tolist(), strict=True))
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


def _on_trial(past: History, known: Cohort, names: list[str], start: date) -> Cohort:
    begun = day_of(past.stays.start[first_rows(past.stays.part)])[places(past.part, known.part)]
    return known.take((begun >= day_number(start)) & np.isin(known.labels["waterproofing"].astype(str), names))


def _tested(cohort: Cohort) -> tuple[LogRank | None, str]:
    """The log-rank test within ship and zone; within the zone where no ship has both methods; None if there is none."""
    method, zone = cohort.labels["waterproofing"].astype(str), cohort.labels["zone"].astype(str)
    ship = cohort.labels["ship"].astype(str)
    for strata, within in ((np.char.add(np.char.add(ship, "/"), zone), "ship and zone"), (zone, "zone")):
        try:
            return log_rank(cohort.lives, method, strata=strata), within
        except NotEnoughData:
            continue
    return None, "zone"


def _z(tested: LogRank, first: str) -> float:
    sign = 1.0 if tested.groups[0] == first else -1.0
    return sign * float(tested.score / np.sqrt(tested.variance))
