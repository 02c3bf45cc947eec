"""What general-purpose libraries get wrong without a word about lives like these: none of it reaches a user.

Each was reproduced with lifelines 0.30.3, whose figures stand beside the tests; the right ones are published, R's, or
worked by hand.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from maintain.core.effects import cox_effects
from maintain.core.lives import lives_from_times
from tests.published.reading import EXPECTED, HERE, column, numbers


def lives(path: Path, rows: str) -> tuple[object, ...]:
    path.write_text("use,dead\n" + rows, encoding="utf-8")
    return ("--csv", path, "--time", "use", "--event", "dead")


def test_the_cumulative_hazard_is_not_smoothed_where_failures_tie(run):
    # With its default the library gives 0.15025 at 6 weeks; the textbook 3/21.
    asked = ("--csv", HERE / "freireich.csv", "--time", "weeks", "--event", "event", "--by", "group", "--at", "6")
    found = {each["group"]: each for each in run("life", "curve", *asked, "--json").json["groups"]}
    hazard = found["6MP"]["at"][0]["cumulative_hazard"]["value"]
    assert hazard == pytest.approx(EXPECTED["P01"]["6MP"]["NA_cumhaz"][0], rel=1e-6)
    assert hazard == pytest.approx(3 / 21)


def test_tied_causes_are_not_moved_apart_at_random(run, tmp_path):
    # The library moves ties at random: 1/6, 1/6 and 11/18, or others by seed.
    path = tmp_path / "ties.csv"
    path.write_text("use,why\n1,1\n2,1\n2,2\n2,0\n3,1\n4,0\n", encoding="utf-8")
    asked = ("--csv", path, "--time", "use", "--cause", "why", "--at", "1,2,3", "--json")
    answers = [run("life", "causes", *asked) for _ in range(3)]
    assert len({each.stdout for each in answers}) == 1
    shares = {each["cause"]: [at["incidence"] for at in each["at"]] for each in answers[0].json["causes"]}
    assert shares["1"] == pytest.approx(EXPECTED["P07b"]["cif1"])
    assert shares["2"] == pytest.approx(EXPECTED["P07b"]["cif2"])


@pytest.mark.parametrize(
    "rows",
    [
        "50,0\n60,0\n70,0\n",  # all censored: a shape of 170
        "50,0\n60,0\n70,1\n",  # one failure, at the longest time: 2.9e22
        "50,1\n50,1\n50,1\n",  # all failures at one time: 1.2e15
    ],
)
def test_lives_that_settle_no_law_get_none_and_the_reason(run, tmp_path, rows):
    answer = run("life", "fit", *lives(tmp_path / "odd.csv", rows), "--json")
    assert answer.exit_code == 0
    group = answer.json["groups"][0]
    assert (group["model"], group["parameters"]) == (None, None)
    assert group["reason"]
    assert "e+" not in answer.stdout


def test_limits_of_a_law_are_made_on_the_log_scale_and_say_so(run):
    # On the natural scale they are 1.458 to 2.746.
    asked = ("--csv", HERE / "ball_bearings_4848.csv", "--time", "megacycles")
    found, expected = run("life", "fit", *asked, "--json").json, EXPECTED["P02_4848"]["weibull"]
    shape = found["groups"][0]["parameters"]["shape"]
    assert (shape["lower"], shape["upper"]) == pytest.approx((expected["shape_lo"], expected["shape_hi"]), rel=1e-3)
    assert "log scale" in found["limits"]


def test_the_error_of_a_restricted_mean_is_that_of_the_mean(run):
    # The library gives the spread of single lives, 5.56, for 6-MP to 20 weeks.
    asked = ("--csv", HERE / "freireich.csv", "--time", "weeks", "--event", "event", "--by", "group", "--tau", "20")
    found = {each["group"]: each["restricted_mean"] for each in run("life", "curve", *asked, "--json").json["groups"]}
    reach = (found["6MP"]["upper"] - found["6MP"]["value"]) / 1.959964
    assert reach == pytest.approx(EXPECTED["P14a"]["6MP"]["se"], rel=1e-5)


def test_an_early_risk_set_that_empties_is_explained_and_not_an_error_of_the_library(run, tmp_path):
    # The library stops with StatError on the men of Channing House.
    path, rows = tmp_path / "men.csv", ["entry,exit,event"]
    entry, out = numbers("channing", "entry_months", "exit_months").T
    kept = (column("channing", "sex") == "Male") & (out > entry)
    events = column("channing", "event")
    rows += [f"{entry[row]},{out[row]},{events[row]}" for row in np.flatnonzero(kept)]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    asked = ("life", "curve", "--csv", path, "--time", "exit", "--entry", "entry", "--event", "event")
    raw = run(*asked)
    assert (raw.exit_code, raw.stderr) == (0, "")
    assert "few were watched so young" in raw.stdout
    given = run(*asked, "--given", "816", "--at", "900", "--json").json["groups"][0]
    assert given["at"][0]["survival"] == pytest.approx(EXPECTED["P05"]["Male"]["km_given_816"]["S"][1], rel=1e-6)


@pytest.mark.parametrize("rows", ["-5,1\n8,1\n", "5,2\n8,1\n"])
@pytest.mark.parametrize("question", ["curve", "fit"])
def test_negative_times_and_event_codes_other_than_failed_or_not_are_refused(run, tmp_path, rows, question):
    # The library takes both: a negative time as a time, and every code but 0 as a failure.
    answer = run("life", question, *lives(tmp_path / "odd.csv", rows), "--json")
    assert answer.exit_code == 4
    assert [each["row"] for each in answer.json["error"]["rows"]] == [2]


def test_robust_errors_with_entry_times_are_the_sandwich_of_the_score(run):
    # The library's were 18 % too small on rows with a start and a stop. Here every life is cut in two: nothing changes.
    rng = np.random.default_rng(4)
    ship, x = np.repeat(np.arange(30), 8), rng.normal(size=240)
    luck = np.repeat(rng.normal(0, 0.5, 30), 8)
    life = rng.exponential(np.exp(-0.6 * x - luck))
    end, dead = np.minimum(life, 1.5), life <= 1.5
    whole = cox_effects(lives_from_times(end, dead), {"x": x}, cluster=ship).effects[0]
    cut = end / 2
    halves = lives_from_times(
        np.concatenate((cut, end)), np.concatenate((np.zeros(240, bool), dead)), np.concatenate((np.zeros(240), cut))
    )
    split = cox_effects(halves, {"x": np.tile(x, 2)}, cluster=np.tile(ship, 2)).effects[0]
    assert (split.coef, split.se) == pytest.approx((whole.coef, whole.se), rel=1e-9)
    plain = cox_effects(halves, {"x": np.tile(x, 2)}).effects[0]
    assert split.se != pytest.approx(plain.se, rel=0.01)


def test_the_breast_cosmesis_data_are_the_published_ones():
    # Two packages carry copies that differ from Finkelstein and Wolfe (1985): one has 95 rows, one other intervals.
    treat = column("breast_cosmesis", "treat")
    lower, upper = numbers("breast_cosmesis", "lower_months", "upper_months").T
    assert (treat.size, int(np.sum(treat == "RT")), int(np.sum(treat == "RT_CT"))) == (94, 46, 48)
    assert int(np.sum(np.isnan(upper))) == 38
    known = ~np.isnan(upper)
    assert np.all(lower[known] < upper[known])
    assert not any(math.isclose(low, 34) and math.isclose(high, 34) for low, high in zip(lower, upper, strict=True))
