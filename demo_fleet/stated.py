"""The truth as a document for machines, and as a page for people."""

from __future__ import annotations

from collections import Counter
from typing import Any

import truth as t
from blemishes import ACQUISITIONS_LOST, MONTHS_ONLY, SEASONS_ONLY
from season import Season


def stated(season: Season) -> dict[str, Any]:
    """The whole truth, by family, method, zone and ship, and what the records hide or get wrong."""
    return {
        "seed": t.SEED,
        "today": t.TODAY.isoformat(),
        "records_from": t.RECORDS_FROM.isoformat(),
        "service_age": {
            category: {
                "per_minute": age.per_minute,
                "per_wet_sortie": age.per_wet_sortie,
                "per_immersion": age.per_immersion,
            }
            for category, age in t.SERVICE_AGE.items()
        },
        "families": {
            each.name: {
                "category": each.category,
                "shape": each.life.shape,
                "scale": each.life.scale,
                "ages_on_shelf": each.ages_on_shelf,
                "hidden": each.hidden,
            }
            for each in t.FAMILIES
        },
        "zone_ratios": t.ZONE_RATIO,
        "method_ratios": {"untreated": 1.0, **t.METHOD_RATIO},
        "water_ratio": 1.0,
        "ships": {each.name: _ship(each) for each in t.SHIPS},
        "formats": {
            each.name: {"sorties": each.sorties, "minutes": each.minutes, "sinking_factor": each.sinking_factor}
            for each in (*t.FORMATS, t.MEET, t.PRACTICE)
        },
        "sinkings_lie": dict(zip(("W3", "W4", "W5"), t.LIES_LONG, strict=True)),
        "splash_chance": t.SPLASH,
        "pump_seconds_per_litre": _pump(),
        "box_lets_in": {"W3": t.BOX_LETS_IN[0], "W4 or W5": t.BOX_LETS_IN[1]},
        "hidden": _hidden(season),
    }


def _pump() -> dict[str, float]:
    return {
        "new": t.PUMP_NEW,
        "more_when_its_motor_is_worn": t.PUMP_WORN,
        "scatter": t.PUMP_SCATTER,
        "least": t.PUMP_LEAST,
    }


def _ship(ship: t.ShipTruth) -> dict[str, Any]:
    return {
        "kind": ship.kind,
        "joined": ship.joined.isoformat(),
        "attendance": ship.attendance,
        "sinking_chance": ship.sinking,
        "flooding_chance": ship.flooding,
    }


def _hidden(season: Season) -> dict[str, Any]:
    treated = {row["part_id"] for row in season.book.rows["treatment"]}
    parts = season.fleet.parts
    return {
        "treated_but_not_written_down": {
            each.row["tag"]: each.method for each in parts if each.method and each.row["id"] not in treated
        },
        "practice_days_not_written_down": sorted(
            outing.day.isoformat() for outings in season.outings.values() for outing in outings if not outing.logged
        ),
        "failed_but_not_yet_found": sorted(
            part.row["tag"] for ship in season.fleet.ships.values() for _, part in ship.parts() if part.failed
        ),
    }


def page(season: Season, ahead: dict[str, Any]) -> str:
    """README of the folder."""
    rows = season.book.rows
    family_of = {row["id"]: row for row in rows["family"]}
    part_of = {row["id"]: family_of[row["family_id"]] for row in rows["part"]}
    own = [row for row in rows["failure"] if not row["secondary"] and row["cause"] != "ball hit"]
    seen = Counter(part_of[row["part_id"]]["name"] for row in own)
    figures = {
        "ships": len(rows["ship"]),
        "captains": len({each.captain for each in t.SHIPS}),
        "late": sum(each.joined > t.RECORDS_FROM for each in t.SHIPS),
        "sorties": len(rows["sortie"]),
        "sinkings": sum(row["ending"] == "sank" for row in rows["sortie"]),
        "installed": len(ahead["parts"]),
        "own": len(own),
        "secondary": sum(row["secondary"] for row in rows["failure"]),
        "hits": sum(row["cause"] == "ball hit" for row in rows["failure"]),
        "unlogged": len(_hidden(season)["treated_but_not_written_down"]),
        "practice": len(_hidden(season)["practice_days_not_written_down"]),
        "latent": len(_hidden(season)["failed_but_not_yet_found"]),
    }
    return _PAGE.format(
        t=t,
        f=figures,
        months=MONTHS_ONLY,
        seasons=SEASONS_ONLY,
        acquisitions=ACQUISITIONS_LOST,
        ages=_ages(),
        families=_families(seen, ahead),
        methods=_methods(),
        zones=_table(("zone", "hazard ratio"), t.ZONE_RATIO.items()),
        ships=_ships(season),
        formats=_formats(),
    )


def _table(headings: tuple[str, ...], rows: Any) -> str:
    lines = ["| " + " | ".join(headings) + " |", "|" + "---|" * len(headings)]
    return "\n".join([*lines, *("| " + " | ".join(str(cell) for cell in row) + " |" for row in rows)])


def _ages() -> str:
    rows = ((name, age.per_minute, age.per_wet_sortie, age.per_immersion) for name, age in t.SERVICE_AGE.items())
    return _table(("category", "a (a minute afloat)", "b (a wet sortie)", "c (an immersion)"), rows)


def _families(seen: Counter[str], ahead: dict[str, Any]) -> str:
    coming = {row["family"]: row for row in ahead["families"]}
    rows = []
    for each in t.FAMILIES:
        row = coming[each.name]
        range_ = f"{row['expected_failures']:.2f} ({row['p10']} to {row['p90']})"
        traits = ["hidden"] * each.hidden + ["ages on the shelf"] * each.ages_on_shelf
        law = (each.life.shape, each.life.scale, ", ".join(traits))
        rows.append((each.name, each.category, *law, row["installed"], seen[each.name], range_))
    headings = ("family", "category", "shape", "scale", "", "aboard", "own failures", "coming by the meet's end")
    return _table(headings, rows)


def _methods() -> str:
    shares = [sum(each.servo_share for each in t.METHODS), sum(each.board_share for each in t.METHODS)]
    untreated = t.Method("untreated (nothing recorded)", 1.0, *(round(1.0 - share, 2) for share in shares))
    rows = sorted((*t.METHODS, untreated), key=lambda each: each.ratio)
    return _table(
        ("method", "hazard ratio", "of new servos", "of new receivers and controllers"),
        ((each.name, each.ratio, each.servo_share, each.board_share) for each in rows),
    )


def _ships(season: Season) -> str:
    sailed: Counter[int] = Counter(row["ship_id"] for row in season.book.rows["sortie"])
    sank = Counter(row["ship_id"] for row in season.book.rows["sortie"] if row["ending"] == "sank")
    rows = []
    for each in t.SHIPS:
        row = season.fleet.ships[each.name].row
        fate = row["state"] if each.leaves is None else f"{row['state']} since {row['state_since']}"
        habits = (each.attendance, each.sinking, each.flooding)
        rows.append((each.name, each.kind, each.joined, fate, *habits, sailed[row["id"]], sank[row["id"]]))
    return _table(
        ("ship", "kind", "joined", "state", "attendance", "sinks", "floods", "sorties", "sinkings"),
        rows,
    )


def _formats() -> str:
    rows = ((each.name, each.sorties, each.minutes, each.sinking_factor) for each in (*t.FORMATS, t.MEET, t.PRACTICE))
    return _table(("kind", "sorties a day", "minutes", "factor on the sinking chance"), rows)


_PAGE = """\
# {t.CLUB}: an invented club, drawn from a stated truth

No such club, ponds, ships or people exist. This page and every file beside it are written by

    python demo_fleet/make_fleet.py          # writes the files; --check only compares them

from the truth below and the seed {t.SEED}: the same bytes each time. The files are what the club wrote down
(read them with `maintain import demo_fleet`); the truth is what really happened. Hold any answer against it.

The story: {f[ships]} ships of {f[captains]} captains sail four seasons on the Sallow, from {t.RECORDS_FROM} to today,
**{t.TODAY}**: about ten battle days a season, a meet of four days without resupply each October, some practice.
{f[sorties]} sorties and {f[sinkings]} sinkings are recorded. One ship was lost and never found, one left with her
captain, one is in dry dock, {f[late]} joined late. {f[installed]} parts are aboard today. The records hold {f[own]}
failures of parts by themselves, {f[secondary]} brought about by another part's failure, and {f[hits]} parts destroyed
by a ball. Next come a battle day on {t.NEXT_BATTLE[0]} and the annual meet from {t.NEXT_MEET[0]} to {t.NEXT_MEET[1]}.

Figures of cost, lead time, weight and work are common practice, no source. Every life, ratio and chance is invented.

## How parts truly live

A part's service age is **ψ = days aboard + a · minutes afloat + b · wet sorties + c · immersions**, in days of life;
days on the shelf count only for what ages there. Its cumulative hazard grows by
**ratio of the method × ratio of the zone × increase of (ψ / scale)^shape**, and it fails when that passes a threshold
drawn from the unit exponential distribution. New servos, receivers and controllers get a method by lot; it works from
the day it is applied until it is removed. Nothing else matters: the kind of water truly does nothing, nor does the
ship, the batch, a renewal, or who did the work.

{ages}

{families}

Coming failures: of parts that work today and of what replaces them, expected number and 10 % to 90 % range, if every
ship in commission sails all planned sorties of both events and no others.
`truth_parts.json` has the chance of each part aboard, given that it works; the few that do not are marked.

{methods}

{zones}

Water reaches a part outside or in the bilge at W1 and worse, on the dry deck at W2 and worse; all three are under at
W3 and worse. It gets into the sealed box with chance {t.BOX_LETS_IN[0]} at W3 and {t.BOX_LETS_IN[1]} at W4 or W5.

A pump takes {t.PUMP_NEW:g} s for a litre when its motor is new, and {t.PUMP_WORN:g} s more when the motor's service age
is its family's scale, give or take {t.PUMP_SCATTER:g} s a reading. It is the motor that wears: another one starts anew.

## How wet the ships truly are

{ships}

"Sinks" is the chance at a sortie of a fleet battle, "floods" that of W2 at a sortie that does not sink her; of the
others {t.SPLASH} are W1. Sinkings are W3, W4, W5 in the shares {t.LIES_LONG}. Failures do not make a ship wetter.

{formats}

## How the club finds and records failures

- A failure aboard shows at a sortie with chance 0.88, at the check before the day with 0.7, in winter with 0.97.
- Hidden functions show only when a test or the water calls for them: every winter, some in July, some before a battle.
- "Last known good" is true wherever it stands; a quarter of the failures have none.
- Pump motors, seals and batteries that are old are sometimes replaced in winter though they work: no failures.
- 15 % of the failed servos and receivers were taken for suspects first and condemned by a retest. Now and then a good
  part is suspected, passes its retests, and goes to the pool.
- The blamed cause is an opinion: "water" three times in four if it was a wet sortie, else mostly wear.

## What the records hide or get wrong, on purpose

- Parts aboard when a ship's records began, and second-hand ones, have truly been used before; nobody knows how much.
- {f[unlogged]} treated parts have no treatment on record; they look untreated.
- {f[practice]} practice days were not written down; ships sank there too.
- After 15 % of the sinkings nobody noted whether the box held. 4 % of the dry sorties have no wetness, 7 % no minutes.
- Of some fittings only the month ({months:.0%}) or the season ({seasons:.0%}) is remembered; {acquisitions:.0%} of the
  new parts have no date of purchase.
- {f[latent]} parts aboard have failed and nobody has noticed yet.
"""
