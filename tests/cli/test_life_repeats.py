"""`maintain life repeats` from the command line: published repairs, odd data, and a small fleet counted by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from maintain.records import tables as t
from tests.published.reading import EXPECTED, HERE
from tests.services.lives.fleet_of_parts import Fleet, day

TODAY = "2025-09-01"


def write(path: Path, text: str) -> Path:
    path.write_text(text.replace(" ", ""), encoding="utf-8")
    return path


def test_valve_seats_have_the_published_mean_and_limits_from_its_robust_error(run):
    # Nelson and Doganaksoy (1989), R survival's valveSeat; robust errors by survfit(..., id=).
    expected = EXPECTED["P09a"]
    at = ",".join(str(time) for time in expected["times"])
    asked = ("--csv", HERE / "valve_seats.csv", "--id", "engine", "--time", "days", "--event", "replacement")
    found = run("life", "repeats", *asked, "--at", at, "--json").json
    assert (found["n"], found["events"], found["clock"]) == (41, 48, "days")
    assert [point["mean"] for point in found["mcf"]] == pytest.approx(expected["MCF"], rel=1e-6)
    for point, se in zip(found["mcf"], expected["se_robust"], strict=True):
        reach = 2.718281828459045 ** (1.959963985 * se / point["mean"])
        assert (point["lower"], point["upper"]) == pytest.approx(
            (point["mean"] / reach, point["mean"] * reach), rel=1e-6
        )
    assert "2 failures share their unit and time with another: each counts" in found["notes"]


@pytest.mark.parametrize(
    ("case", "name", "column"),
    [
        ("P04d", "nist_repairs_case1", "system_age_h"),  # NIST/SEMATECH e-Handbook 8.4.5.2
        ("P09d", "milhdbk189_1981_appC", "cum_test_h"),  # MIL-HDBK-189 (1981), appendix C
    ],
)
def test_the_tests_of_trend_are_those_of_the_handbooks(run, case, name, column):
    expected = EXPECTED[case]
    asked = ("--csv", HERE / f"{name}.csv", "--time", column, "--end", str(expected["T"]))
    found = run("life", "repeats", *asked, "--json").json
    assert found["laplace"] == pytest.approx(
        {"statistic": expected["laplace_U"], "p": expected["laplace_p2"], "p_alone": expected["laplace_p2"]}, rel=1e-6
    )
    law = found["power_law"]
    assert (law["shape"], law["lower"], law["upper"]) == pytest.approx(
        (expected["beta_mle"], expected["beta_lo95"], expected["beta_hi95"]), rel=1e-6
    )
    assert law["estimator"] == "maximum likelihood"
    assert law["scale"] ** -law["shape"] == pytest.approx(expected["lambda_mle"], rel=1e-6)
    assert law["shape_corrected"] == pytest.approx(expected["beta_unbiased"], rel=1e-6)
    assert law["scale_corrected"] ** -law["shape_corrected"] == pytest.approx(expected["lambda_unbiased"], rel=1e-6)
    assert (law["between"], law["between_corrected"]) == pytest.approx(
        (expected["mtbf_T"], expected["mtbf_T_unb"]), rel=1e-6
    )
    assert law["p"] == pytest.approx(2 * (1 - expected["mil_p_lower_tail"]), rel=1e-6)


def test_the_answer_is_a_sentence_that_labels_both_estimates(run):
    asked = ("--csv", HERE / "nist_repairs_case1.csv", "--time", "system_age_h", "--end", "1500")
    answer = run("life", "repeats", *asked)
    assert answer.stdout.startswith(
        "1 unit, 10 failures in 1500 system_age_h of watching: getting better, failures come ever slower"
    )
    assert "power of time, maximum likelihood" in answer.stdout
    assert "power of time, corrected for bias" in answer.stdout
    assert "gaps sorted by length carry no trend" in answer.stdout


def test_a_trend_does_not_stand_beside_limits_that_take_the_rate_for_steady(run):
    asked = ("--csv", HERE / "nist_repairs_case1.csv", "--time", "system_age_h", "--end", "1500")
    first = run("life", "repeats", *asked).stdout.splitlines()[0]
    # NIST/SEMATECH e-Handbook 8.4.5.2: 10 failures in 1500 hours; the time between failures at the end.
    now = EXPECTED["P04d"]["mtbf_T"]
    assert first.endswith(
        f"so far one failed every 150 system_age_h on average; by the power law it is every {now:.0f} now"
    )


def test_tests_that_disagree_on_a_trend_are_said_to(run, tmp_path):
    # Failures at the very start and then evenly: the power sees the start, Laplace's test the even rest.
    times = [0.01, 0.02, 0.05, *range(10, 100, 10)]
    path = write(tmp_path / "a.csv", "hours\n" + "".join(f"{time}\n" for time in times))
    asked = ("--csv", path, "--time", "hours", "--end", "100")
    found = run("life", "repeats", *asked, "--json").json
    assert (found["verdict"], found["laplace"]["p"] > 0.05) == ("getting better", True)
    first = run("life", "repeats", *asked).stdout.splitlines()[0]
    assert "but Laplace's test sees no trend (p = 0." in first
    assert "the two disagree" in first


def test_the_end_of_the_watch_may_stand_in_a_column_a_row_or_the_option(run, tmp_path):
    column = write(tmp_path / "a.csv", "pump,hours,until\na,30,100\na,80,100\nb,,60\n")
    rows = write(tmp_path / "b.csv", "pump,hours,dead\nb,60,no\na,80,yes\na,100,no\na,30,yes\n")
    first = run("life", "repeats", "--csv", column, "--id", "pump", "--time", "hours", "--end", "until", "--json").json
    second = run("life", "repeats", "--csv", rows, "--id", "pump", "--time", "hours", "--event", "dead", "--json").json
    assert first == second
    assert [(point["time"], point["mean"], point["at_risk"]) for point in first["mcf"]] == [(30, 0.5, 2), (80, 1.5, 1)]
    assert first["watched"] == 160


def test_watches_may_begin_late_and_groups_answer_apart(run, tmp_path):
    text = "pump,kind,hours,since,until\na,old,30,20,100\na,old,80,20,100\nb,new,50,0,60\nc,new,,0,60\n"
    asked = ("--id", "pump", "--time", "hours", "--start", "since", "--end", "until", "--by", "kind")
    found = run("life", "repeats", "--csv", write(tmp_path / "a.csv", text), *asked, "--json").json
    assert found["watched"] == 80 + 60 + 60
    assert [(group["group"], group["n"], group["events"]) for group in found["groups"]] == [
        ("old", 1, 2),
        ("new", 2, 1),
    ]
    assert found["power_law"]["limits"] == "likelihood ratio"


def test_rows_that_fit_no_watch_are_listed_at_once_with_their_line(run, tmp_path):
    path = write(
        tmp_path / "a.csv",
        "pump,hours,from,until,dead\na,30,0,100,1\na,120,0,100,1\n,5,0,100,1\nb,x,0,50,1\nc,-3,0,50,1\n"
        "d,5,0,50,1\nd,6,1,50,1\ne,5,0,50,1\ne,6,0,51,1\nf,5,5,50,1\ng,5,0,50,maybe\nh,9,0,,1\n",
    )
    asked = ("--id", "pump", "--time", "hours", "--start", "from", "--end", "until", "--event", "dead")
    answer = run("life", "repeats", "--csv", path, *asked, "--json")
    assert answer.exit_code == 4
    assert [(each["row"], each["reason"]) for each in answer.json["error"]["rows"]] == [
        (3, "the failure comes after the end of the unit's watch"),
        (4, "pump is missing"),
        (5, "time is missing or not a number"),
        (6, "time is negative"),
        (8, "the unit has two different starts of its watch"),
        (10, "the unit has two different ends of its watch"),
        (11, "the time is not after the start of the unit's watch"),
        (12, "dead is neither failed nor not"),
        (13, "end of the watch is missing or not a number"),
    ]


def test_two_ends_of_one_unit_are_refused(run, tmp_path):
    path = write(tmp_path / "a.csv", "pump,hours,dead\na,30,1\na,40,0\na,50,0\n")
    answer = run("life", "repeats", "--csv", path, "--id", "pump", "--time", "hours", "--event", "dead", "--json")
    assert [each["row"] for each in answer.json["error"]["rows"]] == [3, 4]


@pytest.mark.parametrize(
    ("text", "events", "said"),
    [
        ("pump,hours,until\na,30,100\nb,,100\n", 1, "1 failure of 2 units"),
        ("pump,hours,until\na,,100\nb,,100\n", 0, "one fails no oftener than every"),
    ],
)
def test_one_failure_or_none_is_answered_with_what_can_be_said(run, tmp_path, text, events, said):
    asked = ("--csv", write(tmp_path / "a.csv", text), "--id", "pump", "--time", "hours", "--end", "until")
    found = run("life", "repeats", *asked, "--json").json
    assert (found["events"], found["laplace"], found["power_law"]) == (events, None, None)
    assert found["verdict"] == "can't tell yet"
    assert found["between"]["lower"] > 0
    answer = run("life", "repeats", *asked)
    assert "can't tell yet whether failures come faster or slower" in answer.stdout
    assert said in answer.stdout


def test_one_unit_alone_has_no_limits_of_its_mean(run, tmp_path):
    path = write(tmp_path / "a.csv", "hours\n30\n80\n90\n")
    found = run("life", "repeats", "--csv", path, "--time", "hours", "--end", "100", "--json").json
    assert [(point["mean"], point["lower"], point["upper"]) for point in found["mcf"]] == [
        (1, None, None),
        (2, None, None),
        (3, None, None),
    ]
    # Two Poisson rates, 3 failures in 90 against none in 10 (Cox and Lewis 1966): (90 / 100)^3.
    assert found["silence"] == {"time": 10, "chance": pytest.approx(0.729)}


@pytest.mark.parametrize(
    ("asked", "exit_code", "said"),
    [
        (("--csv", "{file}"), 4, "it is not said which column holds the times"),
        (("--csv", "{file}", "--time", "hour"), 3, "did you mean hours?"),
        (("--csv", "{file}", "--time", "hours", "--end", "later"), 3, "has no column 'later'"),
        (("--csv", "{file}", "--time", "hours", "--ship", "Halberd"), 4, "chooses among the club's records"),
        (("--time", "hours"), 4, "name the file with --csv"),
        (("--csv", "{file}", "--time", "hours", "--at", "soon"), 2, "write times as numbers"),
        (("--csv", "{file}", "--time", "hours", "--conf", "95"), 4, "write 95 % as 0.95"),
        (("--csv", "{file}", "--time", "hours", "--plot", "picture.doc"), 4, "end its name in .svg, .png or .pdf"),
        (("--by", "colour"), 3, "no label called 'colour'"),
        ((), 5, "nothing of any position was watched"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(run, tmp_path, asked, exit_code, said):
    file = write(tmp_path / "a.csv", "hours\n5\n8\n")
    answer = run("life", "repeats", *(each.format(file=file) for each in asked))
    assert (answer.exit_code, answer.stdout) == (exit_code, "")
    assert said in answer.stderr


def test_a_picture_is_drawn_to_a_file_and_in_the_terminal(run, tmp_path):
    asked = ("--csv", HERE / "valve_seats.csv", "--id", "engine", "--time", "days", "--event", "replacement")
    answer = run("life", "repeats", *asked, "--picture", "--plot", tmp_path / "seats.svg")
    assert "Failures of one unit so far, on average" in answer.stdout
    assert "41 units, 48 failures" in answer.stdout
    drawn = (tmp_path / "seats.svg").read_text(encoding="utf-8")
    assert drawn.count("41 units, 48 failures") == 1
    assert "<!-- Days since watching began -->" in drawn
    assert "Days since watching began" in answer.stdout


def serve(made: Fleet, position: int, family: int, *stays: tuple[str, str, str, str]) -> dict[str, int]:
    """Fit parts one after another: tag, first and last day, and why it was pulled."""
    parts = {}
    for tag, begin, end, reason in stays:
        parts[tag] = made.part(tag, family)
        made.fit(parts[tag], position, day(begin), day(end), reason=reason)
    return parts


@pytest.fixture
def fleet(club: Path) -> Fleet:
    """
    Two ships watched from 2025-01-01; Argo's servo fails three times, the last of it brought about by another part.

    Boreas was paid off on 2025-06-30 and had a servo hit by a ball, another condemned on the bench, and one pulled as
    failed that nobody wrote a failure for.
    """
    made = Fleet(str(club))
    family = made.family()
    argo, boreas = made.ship("Argo"), made.ship("Boreas", state="paid off", state_since=day("2025-06-30"))
    helm, winch = made.position(argo, "helm"), made.position(boreas, "winch", zone="dry deck", system="guns")
    for month in (2, 4, 6):
        made.sail(argo, day(f"2025-0{month}-01"))
        made.sail(boreas, day(f"2025-0{month}-01"))
    parts = serve(
        made,
        helm,
        family,
        ("A0", "2024-12-01", "2025-02-20", "failed"),
        ("A1", "2025-02-20", "2025-05-10", "failed"),
        ("A2", "2025-05-10", "2025-08-01", "failed"),
    )
    parts |= serve(
        made,
        winch,
        family,
        ("B0", "2025-02-01", "2025-03-01", "failed"),
        ("B1", "2025-03-01", "2025-04-11", "suspect"),
        ("B2", "2025-04-11", "2025-06-15", "failed"),
    )
    made.fail(parts["A0"], day("2025-02-20"))
    made.fail(parts["A1"], day("2025-05-10"))
    made.fail(parts["A2"], day("2025-08-01"), secondary=True)
    made.fail(parts["B0"], day("2025-03-01"), cause="ball hit")
    told = {"raised_on": day("2025-04-11"), "closed_on": day("2025-05-01"), "outcome": "condemned"}
    made.add(t.suspicion, part_id=parts["B1"], mode="dead", **told)
    made.commit()
    made.close()
    return made


def test_failures_of_positions_are_those_counted_by_hand(run, fleet):
    found = run("life", "repeats", "--by", "ship", "--on", TODAY, "--json").json
    # Argo from 2025-01-01 to 2025-09-01, both days watched; Boreas from her first part to the day she was paid off.
    assert found["watched"] == 244 + 150
    assert [point["time"] for point in found["mcf"]] == [50.5, 69.5, 129.5, 134.5]
    assert [point["at_risk"] for point in found["mcf"]] == [2, 2, 2, 2]
    groups = {group["group"]: (group["watched"], group["events"]) for group in found["groups"]}
    assert groups == {"Argo": (244, 2), "Boreas": (150, 2)}
    assert [(each["reason"], each["n"], each["of"], each["examples"]) for each in found["excluded"]] == [
        ("brought about by another part's failure", 1, 6, ["A2"]),
        ("battle damage", 1, 6, ["B0"]),
    ]


def test_on_the_clock_of_sorties_a_failure_lies_within_the_last_one_sailed(run, fleet):
    # Argo: one sortie before the first failure, two before the second; Boreas: two before her first, then three.
    found = run("life", "repeats", "--clock", "sorties", "--unit", "ship", "--on", TODAY, "--json").json
    assert found["watched"] == 6
    assert [(point["time"], point["mean"]) for point in found["mcf"]] == [(0.5, 0.5), (1.5, 1.5), (2.5, 2)]


@pytest.mark.parametrize(
    ("asked", "watched", "events"),
    [
        (("--ship", "argo"), 244, 2),
        (("--position", "winch"), 150, 2),
        (("--system", "guns"), 150, 2),
        (("--zone", "bilge"), 244, 2),
        (("--category", "servo"), 394, 4),
    ],
)
def test_positions_are_chosen_by_what_they_are(run, fleet, asked, watched, events):
    found = run("life", "repeats", *asked, "--on", TODAY, "--json").json
    assert (found["watched"], found["events"]) == (watched, events)


def test_a_single_position_is_asked_whether_it_is_mended(run, fleet):
    answer = run("life", "repeats", "--ship", "argo", "--position", "helm", "--on", TODAY)
    # 129.5 days with 2 failures, then 114.5 without: (129.5 / 244)^2 = 0.28.
    assert "quiet for 114 days since the last failure" in answer.stdout
    assert "still happen 28% of the time, so can't tell yet if it is mended" in answer.stdout


def test_failures_count_from_the_day_asked_for_at_the_age_their_positions_had_then(run, fleet):
    """Own failures from 2025-04-01 on: Argo is 90 days old by then and watched to 244, Boreas from 59 to 150."""
    found = run("life", "repeats", "--since", "2025-04-01", "--on", TODAY, "--json").json
    assert (found["since"], found["events"], found["watched"]) == ("2025-04-01", 3, 154 + 91)
    assert [(point["time"], point["at_risk"]) for point in found["mcf"]] == [(69.5, 1), (129.5, 2), (134.5, 2)]
    assert ("found before the day from which you asked to watch", 1) in [
        (each["reason"], each["n"]) for each in found["excluded"]
    ]
    assert "of watching since 2025-04-01" in run("life", "repeats", "--since", "2025-04-01", "--on", TODAY).stdout


def test_on_the_clock_of_sorties_what_was_sailed_before_the_day_is_left_out(run, fleet):
    asked = ("--clock", "sorties", "--unit", "ship", "--since", "2025-05-01", "--on", TODAY, "--json")
    found = run("life", "repeats", *asked).json
    # Each ship sailed once after that day. Argo's failure of 10 May came of her sortie in April.
    assert (found["watched"], found["events"]) == (2, 1)
    assert [(point["time"], point["at_risk"]) for point in found["mcf"]] == [(2.5, 2)]


def test_pumps_of_a_ship_share_her_luck_where_the_file_names_her(run, tmp_path):
    """Six ships of five pumps; in each a sinking kills four pumps late on."""
    rows = ["boat,pump,hours,until"]
    for boat in range(6):
        rows += [f"b{boat},b{boat}p{pump},{60 + 6 * boat if pump else ''},100" for pump in range(5)]
    path = write(tmp_path / "a.csv", "\n".join(rows))
    asked = ("--csv", path, "--id", "pump", "--time", "hours", "--end", "until")
    plain, shared = (run("life", "repeats", *asked, *more, "--json").json for more in ((), ("--cluster", "boat")))
    assert (plain["shared"], shared["shared"]) == (None, {"by": "boat", "n": 6})
    assert shared["power_law"]["p_alone"] == plain["power_law"]["p"] < shared["power_law"]["p"]
    assert shared["between"]["lower"] <= plain["between"]["lower"]
    answer = run("life", "repeats", *asked, "--cluster", "boat")
    assert "failures that share their boat may come of one event" in answer.stdout


def test_a_unit_in_two_clusters_is_refused_with_its_line(run, tmp_path):
    path = write(tmp_path / "a.csv", "boat,pump,hours\nx,a,30\ny,a,80\n,b,9\n")
    answer = run("life", "repeats", "--csv", path, "--id", "pump", "--time", "hours", "--cluster", "boat", "--json")
    assert [(each["row"], each["reason"]) for each in answer.json["error"]["rows"]] == [
        (3, "the unit is in two clusters"),
        (4, "the cluster is missing"),
    ]


def worn(made: Fleet, positions: int, *, failing: int, renewed: int) -> None:
    """Ten ships whose parts were all fitted new on one day; some fail late, some are renewed though good."""
    family = made.family()
    ships = [made.ship(f"Ship {number}") for number in range(10)]
    for ship in ships:
        made.sail(ship, day("2025-02-01"))
    for number in range(positions):
        position = made.position(ships[number % 10], f"servo-{number}")
        found = day(f"2025-0{6 + number % 3}-{10 + number // 10}")
        if number < failing:
            part = serve(made, position, family, (f"P{number}", "2025-01-01", found.isoformat(), "failed"))
            made.fail(part[f"P{number}"], found)
        elif number < failing + renewed:
            serve(made, position, family, (f"P{number}", "2025-01-01", "2025-05-01", "working"))
            made.fit(made.part(f"Q{number}", family), position, day("2025-05-01"))
        else:
            made.fit(made.part(f"P{number}", family), position, day("2025-01-01"))
    made.commit()
    made.close()


def test_a_young_fleet_whose_parts_all_age_together_is_not_said_to_get_worse(run, club):
    worn(Fleet(str(club)), 60, failing=20, renewed=0)
    found = run("life", "repeats", "--on", TODAY, "--json").json
    assert found["power_law"]["lower"] > 1
    assert found["verdict"] == "can't tell yet"
    assert found["age"] == {"n": 60, "untouched": 40, "together": 60, "within_days": 0, "weakened": True}
    first, second = run("life", "repeats", "--on", TODAY).stdout.splitlines()[:2]
    assert "can't tell yet whether repairs matter: failures come ever faster" in first
    assert second == (
        "40 of 60 positions still hold their first part: parts that wear look just like that, however well mended"
    )


def test_where_most_were_renewed_the_verdict_stands_with_its_caution(run, club):
    worn(Fleet(str(club)), 60, failing=20, renewed=20)
    found = run("life", "repeats", "--unit", "ship", "--on", TODAY, "--json").json
    assert (found["verdict"], found["age"]["untouched"], found["age"]["weakened"]) == ("getting worse", 20, False)
    second = run("life", "repeats", "--unit", "ship", "--on", TODAY).stdout.splitlines()[1]
    assert second == (
        "60 of 60 positions began on one day: parts that wear, and years of harder use, look just like that too; "
        "do they wear? ask: maintain life fit"
    )


def test_units_of_a_file_that_mostly_never_failed_are_not_said_to_get_worse(run, tmp_path):
    rows = "".join(f"u{n},{70 + n if n < 12 else ''},100\n" for n in range(40))
    path = write(tmp_path / "a.csv", "pump,hours,until\n" + rows)
    answer = run("life", "repeats", "--csv", path, "--id", "pump", "--time", "hours", "--end", "until")
    assert "28 of 40 units have never failed: parts that wear look just like that" in answer.stdout
