"""Plan a fair trial of ways to waterproof, and look at one that runs. Nothing is written to the records."""

from __future__ import annotations

import math
import shlex
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import sqlalchemy as sa

from maintain import vocabulary as say
from maintain.core.bounds import failure_share_bound, trials_to_show
from maintain.core.estimate import check_share
from maintain.core.fit import fit
from maintain.core.sample_size import power_for_two_shares
from maintain.core.trial import (
    TrialAsk,
    TrialPlan,
    assign_by_lot,
    blocks_of,
    days_to_failures,
    detectable_share,
    plan_trial,
)
from maintain.errors import InvalidRecord, NotEnoughData
from maintain.records import find
from maintain.records import tables as t
from maintain.results.life_trial import Drawn, LifeTrial, NoFailure, OwnClub, SizeAt, ToShow
from maintain.services.lives import samples
from maintain.services.lives.labels import UNTREATED
from maintain.services.unit import Desk, reading

SHOWN = (5, 10, 20, 40)
ALLOWED = (0, 1)  # failures of the new method by itself
NAMES = ("the usual method", "the new method")

MORE_THAN_TWO = "sizes are for each pair of methods; every further method makes a chance difference likelier (Holm)"
RULES = (
    "new parts of one batch, numbered; the same pair of hands treats them all, on one day, photographed",
    "say beforehand what counts as a failure, and test every part at the start, on each battle day and at the end, not "
    "only those that complain",
    "take a part out for any other reason as pulled working; keep the dead ones to be opened",
    "solvents, coatings, hot glue and wax mean fumes, fire and burns: the makers' sheets, local rules and the club's "
    "safety officer decide how and where it is done",
)


@dataclass(frozen=True)
class Difference:
    """
    The difference worth having.

    Attributes
    ----------
    usual : float, optional
        Share failing by the usual method in the time of the trial; None: read off the club's records.
    hoped : float, optional
        The same by the new method; None: half of `usual`.
    power, conf : float
    """

    usual: float | None
    hoped: float | None
    power: float
    conf: float

    def hoped_of(self, usual: float) -> float:
        """The share worth having, given the usual one."""
        return usual / 2 if self.hoped is None else self.hoped


@dataclass(frozen=True)
class Place:
    """
    Where and when.

    Attributes
    ----------
    family, zone : str, optional
        As people write them.
    start : date
    days : int
        Length of the trial.
    per_ship : float, optional
        Parts on trial on one ship; None: as the club has them, else 1.
    icc : float
        How much parts of one ship fail together.
    """

    family: str | None
    zone: str | None
    start: date
    days: int
    per_ship: float | None
    icc: float


@dataclass(frozen=True)
class _Site:
    """Names as recorded, and the positions of ships in commission that take such parts."""

    family: str | None
    zone: str | None
    methods: tuple[str, ...]
    positions: tuple[tuple[str, str, str, str | None], ...]  # ship, position, zone, tag of the part there


@dataclass(frozen=True)
class _Usual:
    """The usual share failing, its limits where it was read off records, and where it comes from."""

    share: float
    lower: float | None
    upper: float | None
    told: str


def plan(desk: Desk, difference: Difference, place: Place, methods: tuple[str, ...], seed: int) -> LifeTrial:
    """
    Plan a trial.

    Parameters
    ----------
    desk : Desk
    difference : Difference
    place : Place
    methods : tuple of str
        As people write them, the usual one first; a new one need not be recorded yet.
    seed : int
        Of the lot.

    Raises
    ------
    InvalidRecord
        If the usual share is neither given nor to be read off the records, or no two different methods are named.
    """
    if place.days < 1:
        raise InvalidRecord(f"a trial lasts a day or more, not {place.days}", hint="--days 365")
    site = _site(desk, place, methods)
    usual = _usual(desk, site, difference, place)
    ships = len({ship for ship, *_ in site.positions})
    ask = _ask(usual.share, difference, place, place.per_ship or max(1.0, len(site.positions) / max(ships, 1)))
    planned, lot = plan_trial(ask), _lot(site, seed)
    within = blocks_of([each.ship for each in lot], [each.zone for each in lot], [each.method for each in lot])
    return LifeTrial(
        methods=site.methods,
        family=site.family,
        zone=site.zone,
        usual=ask.first,
        hoped=ask.second,
        usual_from=usual.told,
        usual_lower=usual.lower,
        usual_upper=usual.upper,
        size_at_limits=_sizes(usual, difference, ask),
        days=place.days,
        start=place.start,
        stop=place.start + timedelta(days=place.days),
        power=ask.power,
        conf=ask.conf,
        per_ship=ask.cluster_size,
        icc=place.icc,
        design_effect=planned.design_effect,
        per_group=planned.per_group,
        failures_needed=planned.failures_needed,
        per_group_by_failures=planned.per_group_by_failures,
        hazard_ratio=planned.hazard_ratio,
        club=_own_club(site, ask, planned, ships),
        no_failure=tuple(NoFailure(n, failure_share_bound(0, n)) for n in SHOWN),
        to_show=tuple(_to_show(ask.second, failures, planned.design_effect) for failures in ALLOWED),
        lot=lot,
        seed=seed,
        within=within,
        look=_look(site, place, min(planned.failures_needed, _expected(site, ask))),
        analysis=_analysis(site, place, within),
        notes=(*((MORE_THAN_TWO,) if len(site.methods) > 2 else ()), *RULES),
    )


def _ask(usual: float, difference: Difference, place: Place, per_ship: float) -> TrialAsk:
    hoped = difference.hoped_of(usual)
    return TrialAsk(usual, hoped, place.days, difference.power, difference.conf, per_ship, place.icc)


def _site(desk: Desk, place: Place, methods: tuple[str, ...]) -> _Site:
    if len({each.lower() for each in methods}) not in (0, len(methods)) or len(methods) == 1:
        raise InvalidRecord("a trial needs two or more different methods", hint="--methods grease,oil")
    if place.family is None:
        if place.zone is not None:
            raise InvalidRecord("--zone chooses among the positions of a family", hint="name the --family as well")
        return _Site(None, None, methods or NAMES, ())
    zone = find.match(list(say.ZONES), place.zone, "zone", f"one of: {', '.join(say.ZONES)}") if place.zone else None
    with reading(desk) as connection:
        family = find.family(connection, place.family)
        known = [*connection.execute(sa.select(t.method.c.name)).scalars(), UNTREATED]
        rows = connection.execute(_positions(int(family.id), zone)).all()
    names = tuple(_recorded(each, known) for each in methods) or NAMES
    return _Site(str(family.name), zone, names, tuple((row[0], row[1], row[2], row[3]) for row in rows))


def _recorded(name: str, known: list[str]) -> str:
    """The recorded method that a name or a unique beginning of it means; else the name itself, of a method to come."""
    meant = [each for each in known if each.lower() == name.lower()]
    meant = meant or [each for each in known if each.lower().startswith(name.lower())]
    return meant[0] if len(meant) == 1 else name


def _positions(family: int, zone: str | None) -> sa.Select[Any]:
    now_there = sa.and_(t.placement.c.position_id == t.position.c.id, t.placement.c.until_on.is_(None))
    query = (
        sa.select(t.ship.c.name, t.position.c.name, t.position.c.zone, t.part.c.tag)
        .select_from(t.position)
        .join(t.ship)
        .join(t.position_family, t.position_family.c.position_id == t.position.c.id)
        .outerjoin(t.placement, now_there)
        .outerjoin(t.part, t.part.c.id == t.placement.c.part_id)
        .where(t.position_family.c.family_id == family, t.ship.c.state == "in commission")
        .order_by(t.ship.c.name, t.position.c.name)
    )
    return query if zone is None else query.where(t.position.c.zone == zone)


def _usual(desk: Desk, site: _Site, difference: Difference, place: Place) -> _Usual:
    """The usual share failing, as given or as seen in the records of the same parts in the same zone."""
    if difference.usual is not None:
        return _Usual(check_share(difference.usual, "--usual"), None, None, "given")
    mend = "give it with --usual, for example --usual 0.4"
    if site.family is None:
        raise InvalidRecord("it is not said how many parts usually fail in that time", hint=mend)
    wanted = samples.Wanted("days", {"family": site.family, "zone": site.zone})
    sample = samples.of_records(desk, wanted, None)
    try:
        alive = fit(sample.lives, conf=difference.conf).survival_at([place.days])
    except NotEnoughData as error:
        raise NotEnoughData(f"the records don't say how many usually fail: {error.message}", hint=mend) from error
    lower, upper = (None if not math.isfinite(each[0]) else 1 - float(each[0]) for each in (alive.upper, alive.lower))
    told = f"by a Weibull law from the club's records, {sample.n} parts, {sample.lives.failures} failures"
    return _Usual(1 - float(alive.value[0]), lower, upper, told)


def _sizes(usual: _Usual, difference: Difference, ask: TrialAsk) -> tuple[SizeAt, ...]:
    """How large the trial must be at both limits of the usual share."""
    found = []
    for share in (usual.lower, usual.upper):
        if share is None or not 0 < share < 1:
            continue
        hoped = difference.hoped_of(share)
        if hoped < share:
            planned = plan_trial(replace(ask, first=share, second=hoped))
            found.append(SizeAt(share, hoped, planned.per_group, planned.failures_needed))
        else:
            found.append(SizeAt(share, hoped, None, None))
    return tuple(found)


def _to_show(hoped: float, failures: int, effect: float) -> ToShow:
    """Parts of the new method alone; the more, the more of them share a ship."""
    return ToShow(failures, math.ceil(effect * trials_to_show(1 - hoped, 0.95, failures)))


def _own_club(site: _Site, ask: TrialAsk, planned: TrialPlan, ships: int) -> OwnClub | None:
    if site.family is None:
        return None
    per_group = len(site.positions) // len(site.methods)
    chance = power_for_two_shares(per_group, ask.first, ask.second, conf=ask.conf, design_effect=planned.design_effect)
    return OwnClub(
        positions=len(site.positions),
        ships=ships,
        per_group=per_group,
        chance=chance if per_group else 0.0,
        detectable=detectable_share(ask, per_group),
        trials=math.ceil(planned.per_group / per_group) if per_group else 0,
        failures=per_group * (ask.first + ask.second),
        days_needed=days_to_failures(ask, per_group, planned.failures_needed),
    )


def _expected(site: _Site, ask: TrialAsk) -> int:
    """Failures to be expected of the club's own parts by the stop date, at least 1."""
    return max(1, round(len(site.positions) // len(site.methods) * (ask.first + ask.second)))


def _lot(site: _Site, seed: int) -> tuple[Drawn, ...]:
    if site.family is None:
        return ()
    if not site.positions:
        where = f" in the {site.zone}" if site.zone else ""
        raise NotEnoughData(
            f"no ship in commission has a position{where} for {site.family}",
            hint="see what takes it with: maintain position list",
        )
    ships, _, zones, _ = zip(*site.positions, strict=True)
    methods = assign_by_lot(ships, zones, site.methods, np.random.default_rng(seed))
    drawn = zip(site.positions, methods.tolist(), strict=True)
    return tuple(Drawn(*where, method) for where, method in drawn)


def _look(site: _Site, place: Place, planned: int) -> str | None:
    if site.family is None or site.methods == NAMES:
        return None
    words = ["maintain", "life", "trial", "--check", *_chosen(site), "--methods", ",".join(site.methods)]
    return shlex.join([*words, "--start", place.start.isoformat(), "--failures", str(planned)])


def _analysis(site: _Site, place: Place, within: tuple[str, ...]) -> str | None:
    """The comparison of the parts fitted for the trial, within the blocks in which the lot was drawn."""
    if site.family is None or site.methods == NAMES:
        return None
    words = [
        "maintain",
        "life",
        "compare",
        *_chosen(site),
        "--by",
        "waterproofing",
        "--between",
        ",".join(site.methods),
    ]
    words += ["--strata", ",".join(within)] if within else []
    words += [] if "ship" in within else ["--cluster", "ship"]
    stop = place.start + timedelta(days=place.days)
    return shlex.join([*words, "--fitted-since", place.start.isoformat(), "--on", stop.isoformat()])


def _chosen(site: _Site) -> list[str]:
    return ["--family", str(site.family), *(["--zone", site.zone] if site.zone else [])]
