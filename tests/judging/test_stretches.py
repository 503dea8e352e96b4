"""Lengths named by two stations: restraint and pressure tests, against equations, tables and the design."""

import datetime as dt
import math
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laying import EAST, NORTH, codes, lines, log, pipe, place, values

import asbuilt
from asbuilt import cli
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.job import Job
from asbuilt.judging import pressure

STRAIGHT = pipe([0.0] * 9)
BEND = {"from": "0+60", "to": "1+00", "why": "45 degree bend at 0+80, sheet C-4"}


def placed(records=None, **tables):
    return place(lines(A=STRAIGHT), log(STRAIGHT) if records is None else records, **tables)


def restrained(cells, **more):
    return log(STRAIGHT, restrained=cells, **more)


def refused(**tables):
    with pytest.raises(JobFileError) as caught:
        placed(**tables)
    return str(caught.value)


# Restraint


def test_joints_in_a_restrained_length_that_are_not_recorded_as_restrained():
    records = restrained([None, "no", None, "yes", "no", None, "yes", "no", None, None, None])
    placement = placed(records, restraint=[BEND])
    found = placement.findings.query("code == 'restraint-missing'")
    assert found["joint"].tolist() == ["5", "6"]
    assert found["severity"].tolist() == ["act", "act"]
    assert found["message"].tolist() == [
        "recorded as not restrained, between 0+60.00 and 1+00.00, where the design wants it restrained: "
        "45 degree bend at 0+80, sheet C-4",
        "not recorded as restrained, between 0+60.00 and 1+00.00, where the design wants it restrained: "
        "45 degree bend at 0+80, sheet C-4",
    ]
    assert set(found["basis"]) == {"the design, by the job's restraint (no. 1)"}
    row = placement.restraint.iloc[0]
    assert row[["route", "from_station", "to_station", "why"]].tolist() == ["A", "0+60.00", "1+00.00", BEND["why"]]
    assert row[["from_distance", "to_distance", "length"]].tolist() == pytest.approx([60.0, 100.0, 40.0])
    assert row[["joints", "joints_unrestrained"]].tolist() == [3, 2]
    assert placement.counts["restraint"] == {"lengths": 1, "joints": 3, "joints_unrestrained": 2}


def test_a_joint_a_hands_breadth_beyond_an_end_is_at_the_end():
    # A station's tolerance, 0.15 m: 0.49 ft.
    for end, joints in (("0+99.6", 3), ("0+99.4", 2)):
        assert placed(restraint=[BEND | {"to": end}]).restraint["joints"].tolist() == [joints]


def test_a_restrained_joint_type_needs_no_word_of_restraint():
    records = log(STRAIGHT)
    records["joint type"] = ["restrained push-on"] * 11
    assert "restraint-missing" not in codes(placed(records, restraint=[BEND]))


def test_nothing_is_asked_where_the_design_names_no_length():
    placement = placed()
    assert codes(placement) == []
    assert placement.restraint.empty
    assert placement.counts["restraint"] == {"lengths": 0, "joints": 0, "joints_unrestrained": 0}


def test_lengths_to_be_restrained_from_a_file(tmp_path):
    path = tmp_path / "restraint.csv"
    path.write_text("route,from,to,why\nA,0+60,1+00,bend\n,1+80,2+00,dead end\n", "utf-8")
    placement = placed(restraint={"path": str(path)})
    assert placement.restraint["joints"].tolist() == [3, 2]
    assert placement.restraint["named_by"].tolist() == [f"{path}: row 2", f"{path}: row 3"]
    assert codes(placement) == ["restraint-missing"] * 5
    assert str(path) in dict(placement.inputs)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("from,why\n", "no column is known as to; name it so \\(the columns needed are from, to, why\\)"),
        ("from,to,why\n0+60,,bend\n", "row 2: to must be filled in"),
        ("from,to,why\n0+60,1+00,\n", "row 2: why must be filled in"),
        (b"\xff\xfe\x00", "is not utf-16 text"),
    ],
)
def test_a_wrong_file_of_lengths_is_named_with_its_row(tmp_path, text, words):
    path = tmp_path / "restraint.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputFileError, match=words):
        placed(restraint={"path": str(path)})
    with pytest.raises(InputFileError, match=r"there is no such file; correct restraint \(no. 1\).path"):
        placed(restraint={"path": str(tmp_path / "none.csv")})


def test_every_wrong_length_is_named_by_its_key():
    message = refused(restraint=[BEND | {"route": "Q"}, BEND | {"from": "twelve"}])
    assert "restraint (no. 1).route: there is no route 'Q'; the routes are A" in message
    assert "restraint (no. 2).from: 'twelve' is not a station" in message
    message = refused(restraint=[BEND | {"to": "9+00"}])
    assert message == (
        "restraint (no. 1).to: station 9+00 is not on route A, which runs 0+00.00 to 2+00.00; "
        "correct the station or the route"
    )
    message = refused(restraint=[BEND | {"from": "1+20"}])
    assert message == "restraint (no. 1): from 1+20 is not before to 1+00 along the route; exchange them"
    test = {"from": "0+00", "to": "5+00", "pressure_psi": 150, "duration_h": 2}
    assert "pressure_tests (no. 1).to: station 5+00 is not on route A" in refused(pressure_tests=[test])


def test_the_route_must_be_named_where_there_are_several():
    both = lines(A=STRAIGHT, B=STRAIGHT + np.array([100.0, 0.0, 0.0]))
    records = pd.concat([log(STRAIGHT, route="A"), log(STRAIGHT, route="B")])
    with pytest.raises(JobFileError, match=r"restraint \(no. 1\).route: the centerline has several routes"):
        place(both, records, restraint=[BEND])
    with pytest.raises(JobFileError, match=r"restraint \(no. 1\).route: there is no route 'b'; did you mean 'B'\?"):
        place(both, records, restraint=[BEND | {"route": "b"}])
    found = place(both, records, restraint=[BEND | {"route": "B"}]).findings
    assert found["route"].tolist() == ["B"] * 3


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"from": "0+60", "to": "1+00"}, "restraint (no. 1): why is required"),
        ({"path": "a.csv", "from": "0+60"}, "restraint (no. 1): has a path and from"),
        ({"from": "0+60", "too": "1+00", "why": "bend"}, "restraint (no. 1).too: unknown key; did you mean 'to'?"),
    ],
)
def test_a_length_in_the_job_file_is_whole(given, words):
    with pytest.raises(JobFileError) as caught:
        Job.from_mapping(values(restraint=[given]))
    assert words in str(caught.value)


def test_stations_of_a_length_are_resolved_by_the_equations():
    # Textbook arithmetic: 1+00 back is 5+00 ahead, so 5+40 lies 140 ft from the start.
    equations = {"equations": [{"back": "1+00", "ahead": "5+00"}]}
    records = log(STRAIGHT)
    records["station"] = [*(f"0+{at}" for at in ("00", "20", "40", "60", "80")), *(
        f"5+{at}" for at in ("00", "20", "40", "60", "80")), "6+00"]  # fmt: skip
    length = BEND | {"from": "0+90", "to": "5+40"}
    placement = placed(records, centerline=equations, restraint=[length])
    row = placement.restraint.iloc[0]
    assert row[["from_distance", "to_distance", "joints"]].tolist() == pytest.approx([90.0, 140.0, 3])
    assert "restraint (no. 1).to: station 2+00 falls in the gap" in refused(
        centerline=equations, restraint=[BEND | {"to": "2+00"}]
    )


def test_a_repeated_station_of_a_length_must_say_which():
    # 1+00 back is 0+40 ahead: 0+60 stands 60 ft and 120 ft from the start.
    equations = {"equations": [{"back": "1+00", "ahead": "0+40"}]}
    records = log(STRAIGHT)
    records["station"] = [f"{(at if at <= 100 else at - 60) // 100}+"
                          f"{(at if at <= 100 else at - 60) % 100:02d}" for at in range(0, 201, 20)]  # fmt: skip
    records["station"] += [" BK" if at <= 100 else " AH" for at in range(0, 201, 20)]
    with pytest.raises(JobFileError, match=r"from: station 0\+60 occurs more than once .* add BK or AH"):
        placed(records, centerline=equations, restraint=[BEND | {"to": "1+40"}])
    placement = placed(records, centerline=equations, restraint=[BEND | {"from": "0+60 AH", "to": "1+40"}])
    row = placement.restraint.iloc[0]
    assert row[["from_station", "to_station", "from_distance"]].tolist() == ["0+60.00 AH", "1+40.00", 120.0]


# Pressure tests


@pytest.mark.parametrize(("size_in", "printed"), [(6.0, 0.50), (12.0, 0.99)])
def test_testing_allowance_of_1000_ft_at_150_psi(size_in, printed):
    # AWWA C600, testing allowance per 1,000 ft at 150 psi (from memory).
    assert round(float(pressure.allowance_gal_h(1000.0, size_in, 150.0)), 2) == printed


def test_the_metric_divisor_follows_from_the_us_one():
    # AWWA C600: 148,000 in US units, 794,797 in metres, millimetres, kPa and L/h (both from memory).
    assert 1.0 / float(pressure.allowance_l_h(1.0, 1.0, 1.0)) == pytest.approx(794_797, rel=2e-6)
    # Its earlier editions: 133,200 and 715,317 (from memory); the unit factors between the two are the same.
    assert 133_200 / pressure.DIVISOR_US / float(pressure.allowance_l_h(1.0, 1.0, 1.0)) == pytest.approx(
        715_317, rel=2e-6
    )


@given(st.floats(1.0, 1e5), st.floats(2.0, 64.0), st.floats(10.0, 500.0))
def test_both_forms_give_one_amount_of_water(length_ft, size_in, psi):
    litres = pressure.allowance_l_h(length_ft * 0.3048, size_in * 25.4, psi * 6.894757293168361)
    gallons = pressure.allowance_gal_h(length_ft, size_in, psi)
    assert litres / gallons == pytest.approx(3.785411784, rel=1e-12)


def under_test(size="12", records=None, **more):
    test = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, **more}
    records = log(STRAIGHT, size=size) if records is None else records
    return placed(records, pressure_tests=[test])


def test_a_test_is_held_against_the_allowance_of_its_length_size_pressure_and_time():
    # 200 ft of 12 in at 150 psi for 2 h, by the rule with a calculator: 200 x 12 x 12.2474 / 148,000 x 2 = 0.3972 gal.
    row = under_test(makeup_gal=0.39).pressure_tests.iloc[0]
    assert row["allowance"] == pytest.approx(0.3972, abs=5e-5)
    assert row[["route", "from_station", "to_station", "length"]].tolist() == ["A", "0+00.00", "2+00.00", 200.0]
    assert row[["result", "makeup", "water_unit", "pressure_unit", "duration_h"]].tolist() == [
        "passed", 0.39, "gal", "psi", 2.0,
    ]  # fmt: skip
    assert row["pressure"] == pytest.approx(150.0)
    assert codes(under_test(makeup_gal=0.39)) == []


def test_a_failed_test_is_a_finding_on_its_length_and_at_no_joint():
    placement = under_test(makeup_gal=0.5)
    (found,) = placement.findings.to_dict("records")
    assert (found["code"], found["severity"], found["route"], found["station"]) == (
        "test-failed",
        "act",
        "A",
        "0+00.00",
    )
    assert pd.isna(found["joint"])
    assert pd.isna(found["joint_uid"])
    assert found["geometry"] is None
    assert (found["value"], found["unit"]) == (0.5, "gal")
    assert found["limit"] == pytest.approx(0.3972, abs=5e-5)
    assert found["message"] == (
        "pressure test 0+00.00 to 2+00.00: took 0.50 gal of make-up water in 2 h, over the allowance of 0.40 gal"
    )
    assert placement.joints["findings"].sum() == 0


def test_units_of_pressure_and_water_may_be_mixed():
    by_unit = [
        under_test(pressure_psi=None, makeup_l=1.0, **{f"pressure_{unit}": value})
        for unit, value in (("kpa", 1034.2135939752542), ("bar", 10.342135939752542))
    ]
    assert [one.pressure_tests["allowance"][0] for one in by_unit] == pytest.approx(
        [under_test().pressure_tests["allowance"][0]] * 2
    )
    assert by_unit[0].pressure_tests["makeup"][0] == pytest.approx(1.0 / 3.785411784)


def test_sizes_in_one_tested_length_add_up():
    # Each joint speaks for the pipe ahead of it: 100 ft of 12 in and 100 ft of 6 in.
    sizes = ["12"] * 5 + ["6"] * 6
    row = under_test(sizes).pressure_tests.iloc[0]
    assert row["allowance"] == pytest.approx(100 * (12 + 6) * math.sqrt(150) / 148_000 * 2, rel=1e-5)
    assert row["sizes"] == "100.00 ft of 6 in, 100.00 ft of 12 in"
    records = log(STRAIGHT, size=sizes)
    test = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2}
    back = place(lines(A=STRAIGHT), records, pressure_tests=[test], records={"pipe": "back"}).pressure_tests.iloc[0]
    assert back["sizes"] == "120.00 ft of 6 in, 80.00 ft of 12 in"


def test_pipe_of_unknown_size_allows_nothing_and_lets_a_test_pass_but_not_fail():
    sizes = ["12"] * 5 + [None] * 6
    assert under_test(sizes, makeup_gal=0.19).pressure_tests["result"][0] == "passed"
    placement = under_test(sizes, makeup_gal=0.3)
    row = placement.pressure_tests.iloc[0]
    assert row["result"] == "not-judged"
    assert "give the missing sizes in the log" in row["message"]
    assert "100.00 ft of unknown size" in row["sizes"]
    assert "test-failed" not in codes(placement)


def test_a_test_without_its_make_up_water_is_not_judged():
    row = under_test().pressure_tests.iloc[0]
    assert (row["result"], row["message"]) == (
        "not-judged", "no make-up water is given: add makeup_gal or makeup_l",
    )  # fmt: skip


def test_a_length_whose_only_test_cannot_be_judged_is_told_until_one_passes_it():
    def told(*tests):
        first = {"from": "0+20", "to": "2+00", "pressure_psi": 150, "duration_h": 2}
        found = placed(pressure_tests=[first, *tests]).findings.query("code == 'length-untested'")
        return found["message"].tolist()

    before = "no pressure test from 0+00.00 to 0+20.00, 20 ft"
    assert told() == [
        before,
        "no pressure test that can be judged from 0+20.00 to 2+00.00, 180 ft: no make-up water is given: add "
        "makeup_gal or makeup_l",
    ]
    again = {"from": "0+20", "to": "2+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0.1}
    assert told(again) == [before]


def test_lengths_under_no_test_are_listed():
    def test(start, end):
        return {"from": start, "to": end, "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0}

    placement = placed(pressure_tests=[test("1+20", "1+80"), test("0+20", "0+60"), test("0+40", "0+80")])
    untested = placement.pressure_tests.query("result == 'untested'")
    assert untested[["from_station", "to_station", "length"]].values.tolist() == [
        ["0+00.00", "0+20.00", 20.0], ["0+80.00", "1+20.00", 40.0], ["1+80.00", "2+00.00", 20.0],
    ]  # fmt: skip
    assert codes(placement) == ["length-untested"] * 3
    assert placement.counts["pressure_tests"] == {
        "tests": 3, "by_result": {"passed": 3}, "untested_lengths": 3, "untested_length": 80.0,
    }  # fmt: skip


def test_lengths_under_test_and_under_none_make_up_the_whole_route():
    test = {"from": "0+31.5", "to": "1+07", "pressure_psi": 150, "duration_h": 2}
    table = placed(pressure_tests=[test]).pressure_tests
    assert table["length"].sum() == pytest.approx(200.0)


def test_a_failed_length_that_later_tests_passed_is_no_finding():
    first = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 9}
    halves = [first | {"to": "1+00", "makeup_gal": 0}, first | {"from": "1+00", "makeup_gal": 0}]
    placement = placed(pressure_tests=[first, *halves])
    assert placement.pressure_tests["result"].tolist() == ["failed-retested", "passed", "passed"]
    assert codes(placement) == []
    assert codes(placed(pressure_tests=[first, halves[0]])) == ["test-failed"]
    assert codes(placed(pressure_tests=[*halves, first])) == ["test-failed"]


@pytest.mark.parametrize(
    ("limits", "test", "found"),
    [
        ({"test_pressure_psi": 150}, {"pressure_psi": 149}, ["test-pressure-low"]),
        ({"test_pressure_psi": 150}, {"pressure_psi": 150}, []),
        # 10 bar are 145.04 psi.
        ({"test_pressure_bar": 10}, {"pressure_psi": 145}, ["test-pressure-low"]),
        ({"test_pressure_bar": 10}, {"pressure_psi": 145.04}, []),
        ({"test_pressure_kpa": 1000}, {"pressure_psi": 145}, ["test-pressure-low"]),
        ({"test_hours": 2}, {"duration_h": 1.5}, ["test-short"]),
        ({"test_hours": 2, "test_pressure_psi": 160}, {"duration_h": 1.5}, ["test-pressure-low", "test-short"]),
        ({}, {"duration_h": 0.1}, []),
    ],
)
def test_a_test_below_what_the_job_requires_proves_nothing(limits, test, found):
    given = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0} | test
    placement = placed(pressure_tests=[given], limits={"table": "awwa-c600"} | limits)
    assert codes(placement) == found
    assert placement.pressure_tests["result"].tolist() == ["below-required" if found else "passed"]
    for row in placement.findings.to_dict("records"):
        assert row["value"] < row["limit"]
        assert row["unit"] == {"test-short": "h", "test-pressure-low": "psi"}[row["code"]]


def test_a_test_below_what_is_required_is_settled_by_a_later_one_and_settles_no_earlier_one():
    whole = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0}
    low, failed = whole | {"pressure_psi": 100}, whole | {"makeup_gal": 9}
    limits = {"table": "awwa-c600", "test_pressure_psi": 150}
    assert codes(placed(pressure_tests=[low, whole], limits=limits)) == []
    placement = placed(pressure_tests=[failed, low], limits=limits)
    assert codes(placement) == ["test-failed", "test-pressure-low"]
    assert placement.pressure_tests["result"].tolist() == ["failed", "below-required"]
    # Too much water at less pressure is too much all the more.
    both = placed(pressure_tests=[low | {"makeup_gal": 9}], limits=limits)
    assert both.pressure_tests["result"].tolist() == ["failed"]
    assert "held at 100 psi, where the job requires 150 psi" in both.pressure_tests["message"].iloc[0]


def _one_test(limits=None, **test):
    """Place a job with one test of 200 ft of 12 in, which may take 0.40 gal in 2 h at 150 psi."""
    given = {"from": "0+00", "to": "2+00", "duration_h": 2, "makeup_gal": 0.45} | test
    if not any(name in given for name in ("pressure_psi", "pressure_kpa", "pressure_bar")):
        given["pressure_psi"] = 150
    return placed(pressure_tests=[given], limits={"table": "awwa-c600"} | (limits or {}))


@pytest.mark.parametrize(
    ("test", "words"),
    [
        ({"pressure_psi": 1034}, "1034 psi is more than mains are tested at, as if it was written in kPa"),
        ({"pressure_bar": 150}, "150 bar is more than mains are tested at, as if it was written in psi"),
        ({"duration_h": 120}, "120 h is longer than mains are tested, as if it was written in minutes"),
        ({"pressure_psi": 6000}, "6000 psi is more than mains are tested at"),
    ],
)
def test_no_length_passes_by_a_pressure_or_duration_in_another_unit(test, words):
    assert _one_test().pressure_tests["result"].tolist() == ["failed"]
    placement = _one_test(**test)
    assert codes(placement) == ["test-doubtful"]
    assert placement.pressure_tests["result"].tolist() == ["not-judged"]
    assert words in placement.findings["message"].iloc[0]
    assert words in placement.pressure_tests["message"].iloc[0]
    assert placement.findings["value"].iloc[0] > placement.findings["limit"].iloc[0]


def test_a_doubtful_test_that_passes_either_way_has_passed_and_is_told():
    placement = _one_test(pressure_psi=1034, makeup_gal=0.1)
    assert codes(placement) == ["test-doubtful"]
    assert placement.pressure_tests["result"].tolist() == ["passed"]
    low = _one_test(pressure_psi=10, makeup_gal=0)
    assert "10 psi is less than mains are tested at, as if it was written in bar" in low.findings["message"].iloc[0]


@pytest.mark.parametrize(
    ("limits", "test"),
    [
        ({"test_pressure_bar": 100}, {"pressure_bar": 100}),
        ({"test_pressure_psi": 25}, {"pressure_psi": 30, "makeup_gal": 0}),
        ({"test_hours": 72}, {"duration_h": 72}),
    ],
)
def test_what_the_job_requires_of_a_test_is_in_no_doubt(limits, test):
    placement = _one_test(limits, **test)
    assert codes(placement) == []
    assert placement.pressure_tests["result"].tolist() == ["passed"]


def test_a_job_without_tests_lists_none():
    assert placed().pressure_tests.empty


def test_a_metric_test_in_its_own_units():
    # 90 m of DN 300 at 1,000 kPa for 2 h, by the metric rule (from memory): 90 x 300 x 31.623 / 794,797 x 2 = 2.1485 L.
    line = np.array([[EAST, NORTH, 50.0], [EAST, NORTH + 90, 50.0]])
    gdf = lines(A=line).set_crs("EPSG:26910", allow_override=True).translate(-6_200_000, 2_000_000)
    gdf = gdf.to_frame("geometry").assign(route="A")
    records = pd.DataFrame(
        {"station": [f"0+{at:03d}" for at in range(0, 91, 6)], "size": "DN300", "joint type": "push-on"}
    )
    records["joint"] = [str(at) for at in range(len(records))]
    test = {"from": "0+000", "to": "0+090", "pressure_kpa": 1000, "duration_h": 2, "makeup_l": 2.2}
    job = Job.from_mapping(
        values(records={"station_unit": "m", "laying_length": 6.0}, pressure_tests=[test]) | {"limits": {}}
    )
    row = asbuilt.place(job, centerline=gdf, records=records).pressure_tests.iloc[0]
    assert row["allowance"] == pytest.approx(2.1485, abs=1e-4)
    assert row[["result", "pressure_unit", "water_unit", "sizes"]].tolist() == [
        "failed", "kPa", "L", "90.00 m of 300 mm",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"pressure_bar": 10}, "give the average test pressure once: pressure_psi, pressure_kpa or pressure_bar"),
        ({"pressure_psi": None}, "give the average test pressure once"),
        ({"makeup_gal": 1, "makeup_l": 1}, "give the make-up water once: makeup_gal or makeup_l"),
        ({"duration_h": 0}, "duration_h: input should be greater than 0"),
        ({"makeup_gal": -1}, "makeup_gal: input should be greater than or equal to 0"),
    ],
)
def test_a_test_in_the_job_file_is_whole(more, words):
    test = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, **more}
    with pytest.raises(JobFileError) as caught:
        Job.from_mapping(values(pressure_tests=[test]))
    assert "pressure_tests (no. 1)" in str(caught.value)
    assert words in str(caught.value)


def test_the_terminal_shows_restraint_and_tests_with_their_caution(tmp_path, capsys):
    lines(A=STRAIGHT).to_file(tmp_path / "line.gpkg")
    log(STRAIGHT).to_csv(tmp_path / "log.csv", index=False)
    (tmp_path / "job.toml").write_text(
        'name = "t"\n[centerline]\npath = "line.gpkg"\nroute = "route"\n[records]\npath = "log.csv"\n'
        'station_unit = "us-ft"\nlaying_length = 20.0\n[[restraint]]\nfrom = "0+60"\nto = "1+00"\nwhy = "bend"\n'
        '[[pressure_tests]]\nfrom = "0+00"\nto = "1+50"\npressure_psi = 150\nduration_h = 2\nmakeup_gal = 9\n'
    )
    assert cli.run(["check", str(tmp_path / "job.toml")]) == 0
    out = capsys.readouterr().out
    for pattern in (r"joints not recorded as restrained\D+3 ", r"failed\D+1 ", r"lengths under no test: 1\D+50 ft"):
        assert re.search(pattern, out), pattern
    assert "Pressure testing injures and kills" in out


def test_both_tables_stand_in_the_file(tmp_path):
    test = {"from": "0+00", "to": "1+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 9}
    placement = placed(restraint=[BEND], pressure_tests=[test])
    placement.write(tmp_path / "joints.gpkg")
    import geopandas as gpd

    for name, frame in (("restraint", placement.restraint), ("pressure_tests", placement.pressure_tests)):
        read = gpd.read_file(tmp_path / "joints.gpkg", layer=name)
        assert read["from_station"].tolist() == frame["from_station"].tolist()
    found = gpd.read_file(tmp_path / "joints.gpkg", layer="findings")
    assert len(found) == len(placement.findings)


@pytest.mark.parametrize(
    ("tests", "late"),
    [
        ([("0+00", "2+00", "2026-03-04")], 0),
        ([("0+00", "2+00", "2026-03-03")], 3),
        ([("0+00", "2+00", "2026-03-01")], 11),
        ([("0+00", "1+00", "2026-03-01"), ("1+00", "2+00", "2026-03-09")], 5),
        ([("0+00", "2+00", "2026-03-09"), ("0+00", "2+00", "2026-03-01")], 0),
        ([("0+00", "2+00", "2026-03-01"), ("0+00", "2+00", None)], 0),
    ],
)
def test_joints_inspected_after_the_test_of_their_length_were_not_under_it(tests, late):
    """A test of 1 March says nothing of joints made on the 2nd; a later test, or one without a date, may cover them."""
    dates = ["2026-03-02"] * 8 + ["2026-03-04"] * 3
    given = [
        {"from": start, "to": end, "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0}
        | ({"tested_on": dt.date.fromisoformat(day)} if day else {})
        for start, end, day in tests
    ]
    placement = placed(log(STRAIGHT, size="12", date=dates), pressure_tests=given)
    found = placement.findings.query("code == 'test-early'")
    assert found["value"].sum() == late
    if late:
        assert "they were not under this test" in found["message"].iloc[0]


def test_a_failed_test_is_not_told_to_be_early():
    test = {"from": "0+00", "to": "2+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 9}
    placement = placed(
        log(STRAIGHT, size="12", date="2026-03-02"), pressure_tests=[test | {"tested_on": dt.date(2026, 3, 1)}]
    )
    assert "test-early" not in codes(placement)
