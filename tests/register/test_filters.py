"""What a register is asked by: each filter alone against known joints, words misspelt, units and places as written."""

from dataclasses import replace

import geopandas
import laying
import numpy as np
import pytest
import shapely
from laying import EAST, NORTH
from pyproj import Transformer
from registers import placed

from asbuilt.commands.serving import read_question
from asbuilt.errors import AsbuiltError
from asbuilt.register.grouping import group
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.service import note_service

JOB = {
    "size": {1: "8"}, "joint_type": {2: "mechanical"}, "crew": {0: "Crew 2", 3: "crew 2"}, "gauge": {4: "no"},
    "date": {0: "2026-01-15", 5: None}, "Lot": {2: "4711", 3: "47110", 4: "100% ok"}, "photo": {1: "p1.jpg"},
    "kind": "pipe",
}  # fmt: skip


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a main of 6 joints whose log says something of each, and a leak's record of the first two."""
    return (
        placed(folder / "main.gpkg", "Contract 1", **JOB),
        placed(folder / "leak.gpkg", "Leak 2031", joints=2, date="2031-05-06"),
    )


def test_joints_whose_deflection_nothing_bounds_are_counted_where_a_deflection_is_asked_for(register, folder):
    """Shot at every fourth joint: which joint between takes the turn nobody measured, nor what the ends take."""
    points = laying.pipe(np.full(29, 2.0))
    lines, log = laying.lines(A=points[::4]), laying.log(points)
    laying.place(lines, log).write(folder / "sparse.gpkg")
    load(folder / "sparse.gpkg", register)
    every = find(register, Question()).joints
    for limit in (0.5, 2.5, 4.5):
        asked = Question(over_deg=limit)
        over = {one["joint"] for one in every if (one["deflection_deg"] or one["deflection_floor_deg"] or 0.0) > limit}
        known = {
            one["joint"]
            for one in every
            if one["deflection_deg"] is not None or (one["deflection_ceiling_deg"] or 99.0) <= limit
        }
        found = find(register, asked)
        assert {one["joint"] for one in found.joints} == over
        left = len(every) - len(over | known)
        assert left >= 2
        assert found.may_be_over is not None
        assert found.may_be_over.startswith(f"{left} joints more may be deflected by more than {limit:g} deg")
        assert group(register, asked, ["size"]).may_be_over == found.as_json()["may_be_over"] == found.may_be_over
    assert find(register, Question(over_deg=2.5, joints=["1"])).may_be_over.startswith("1 joint more may be")
    assert find(register, Question()).may_be_over is None


def test_each_filter_finds_the_joints_known_to_meet_it(register, jobs):
    for job in jobs:
        load(job, register)

    def numbers(**asked):
        return "".join(one["joint"] for one in find(register, Question(**asked)).joints)

    for size in ("8", "8in", '8"', "12mm"):  # the leak's says 12
        with pytest.raises(AsbuiltError, match="the nearest sizes are 12in"):
            numbers(sizes=[size])
    assert numbers(sizes=["12 in"]) == "123456"
    assert numbers(types=["Mechanical"]) == "3"
    assert numbers(kinds=["pipe"]) == "123456"
    assert numbers(crews=["CREW 2"]) == "14"
    assert numbers(jobs=["Leak 2031"]) == numbers(loads=[2]) == "12"
    assert numbers(jobs=["Contract 1"]) == numbers(loads=[1]) == "123456"
    assert numbers(months=["2026-01"]) == "1"
    assert numbers(months=["2026"]) == "12345"
    assert numbers(months=["2026-01", "2031-05"]) == "12"
    assert numbers(items=["gauge=no"]) == "5"
    assert numbers(items=["gauge=no"], jobs=["Leak 2031"]) == ""
    states = {one["joint"]: one["inspection"] for one in find(register, Question()).joints}
    for state in set(states.values()):
        assert numbers(items=[f"inspection={state}"]) == "".join(k for k, v in states.items() if v == state)
    assert numbers(items=["inspection=failed"]) == numbers(items=["inspection=Failed", "gauge=no"]) == "5"
    with pytest.raises(AsbuiltError, match="did you mean 'failed'"):
        numbers(items=["inspection=faild"])
    assert numbers(columns=["Lot=4711"]) == "3"
    assert numbers(columns=["lot=100% ok"]) == "5"
    with pytest.raises(AsbuiltError, match="did you mean '100% ok'"):
        numbers(columns=["Lot=100_ ok"])
    assert numbers(no_inspection=True) == "6"
    assert numbers(no_photo=True) == "13456"
    assert numbers(over_deg=0.5) == ""
    note_service(register, "A 0+80..1+00", "abandoned")
    assert numbers(services=["abandoned"]) == "56"
    assert numbers(services=["in-service"]) == "1234"
    unmarked = numbers(unmarked=True)
    assert "5" in unmarked
    for finding in find(register, Question(joints=["5"])).joints[0]["findings"]:
        mark(register, finding["finding_uid"], note="seen")
    assert numbers(unmarked=True) == unmarked.replace("5", "")
    asked = read_question([("size", "12in"), ("no-photo", ""), ("load", "2"), ("month", "2031")])
    assert "".join(one["joint"] for one in find(register, asked).joints) == "1"


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_names_are_found_in_any_letters_whichever_way_the_log_wrote_them(register, folder):
    crews = dict(enumerate(("ÑANDÚ", "Ñandú", "ñandú", "ИВАНОВ И.", "Иванов И.", "İbrahim")))
    load(placed(folder / "letters.gpkg", "Letters", crew=crews, inspector=crews, Lot={0: "Ä1", 1: "ä1"}), register)
    for given, there in (
        ("ñandú", "123"), ("ÑANDÚ", "123"), ("Ñandú", "123"), ("иванов и.", "45"), ("ИВАНОВ И.", "45"),
        ("İbrahim", "6"),
    ):  # fmt: skip
        for asked in (Question(crews=[given]), Question(inspectors=[given]), Question(items=[f"crew={given}"])):
            assert "".join(one["joint"] for one in find(register, asked).joints) == there, given
    for lot in ("ä1", "Ä1"):
        assert [one["joint"] for one in find(register, Question(columns=[f"Lot={lot}"])).joints] == ["1", "2"]
    counted = group(register, Question(crews=["ñandú"]), ["crew"])
    assert [one["joints"] for one in counted.groups] == [3]


def test_two_spaces_make_no_other_crew(register, folder):
    crews = {0: "Crew 1", 1: "Crew  1", 2: "Crew\u00a01", 3: "Crew 10", 4: "Crew 10", 5: "Crew 10"}
    load(placed(folder / "spaces.gpkg", "Spaces", crew=crews, inspector=crews), register)
    for asked in (Question(crews=["crew 1"]), Question(inspectors=["Crew 1"])):
        assert [one["joint"] for one in find(register, asked).joints] == ["1", "2", "3"]
    assert {one["crew"]: one["joints"] for one in group(register, Question(), ["crew"]).groups} == {
        "Crew 1": 3, "Crew 10": 3,
    }  # fmt: skip


def test_places_and_words_as_people_write_them(register, jobs):
    load(jobs[0], register)
    longitude, latitude = Transformer.from_crs("EPSG:6418", "EPSG:6318", always_xy=True).transform(EAST, NORTH)

    def parts(value):
        degrees, rest = divmod(abs(value) * 3600.0, 3600.0)
        return int(degrees), int(rest // 60.0), rest % 60.0

    dms = "{}°{}'{:.4f}\"N, {}°{}'{:.4f}\"W".format(*parts(latitude), *parts(longitude))
    found = find(register, Question(near=dms, within="3 feet"))
    assert [one["joint"] for one in found.joints] == ["1"]
    assert found.joints[0]["away"] < 0.1
    with pytest.raises(AsbuiltError, match="latitude comes first: LAT,LON"):
        find(register, Question(near=f"{longitude},{latitude}"))
    for asked, told in (
        (Question(verdicts=["ower"]), "did you mean 'over'"),
        (Question(items=["gage=no"]), "did you mean 'gauge'"),
        (Question(services=["abandonned"]), "did you mean 'abandoned'"),
        (Question(months=["2026-13"]), "neither a year nor a month"),
        (Question(sizes=["big"]), "not a nominal size"),
        (Question(near="38°61'N, 121°12'W"), "60 minutes or seconds"),
        (Question(near=f"{latitude},{-longitude}"), rf"far outside .* did you mean {latitude:.7g},{longitude:.7g}\?"),
        (Question(near="0,0"), "far outside .* check the two numbers"),
        (Question(near=f"{EAST},{NORTH},2229"), "far outside"),
    ):
        with pytest.raises(AsbuiltError, match=told):
            find(register, asked)


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_places_are_read_without_a_comma_and_numbers_exchanged_are_told(register, jobs):
    load(jobs[0], register)
    longitude, latitude = Transformer.from_crs("EPSG:6418", "EPSG:6318", always_xy=True).transform(EAST, NORTH)
    of = [(int(one), int(one * 60 % 60), one * 3600 % 60) for one in (latitude, -longitude)]
    north, east = ("{}°{}'{:.4f}\"".format(*one) for one in of)
    spaced = [" ".join(f"{part:.4f}" if number == 2 else f"{part}" for number, part in enumerate(one)) for one in of]
    for near in (
        f"{north}N {east}W", f"{north}N{east}W", f"N{north} W{east}", f"{east}W {north}N", f"{spaced[0]} -{spaced[1]}",
        f"{spaced[0]} N {spaced[1]} W", f"{spaced[0]},-{spaced[1]}".replace(" ", "-"), f"{latitude} {longitude}",
        f"{EAST} {NORTH}",
    ):  # fmt: skip
        found = find(register, Question(near=near, within="3 feet"))
        assert [one["joint"] for one in found.joints] == ["1"], near
        assert "far from there" not in found.near.read_as
    for within in (None, "30 feet"):
        told = find(register, Question(near=f"{NORTH},{EAST}", within=within)).near.read_as
        assert f"not from {EAST},{NORTH}: easting comes first" in told
    assert "check the order" in find(register, Question(near=f"{EAST + 1e6},{NORTH}", within="30 feet")).near.read_as
    # The joints of one crew may be far from a place that lies well within the mains.
    assert "far" not in find(register, Question(near=f"{EAST},{NORTH}", joints=["none"])).near.read_as


def test_stations_are_told_as_they_were_read(register, jobs):
    load(jobs[0], register)
    asked = Question(routes=["A"], from_station="0+20", to_station="20 m")
    told = "from station 0+20, read as 20 ft; to station 20 m, read as 20 m"
    assert find(register, asked).as_json()["stations_read_as"] == told
    assert group(register, asked, ["main"]).as_json()["stations_read_as"] == told
    assert find(register, Question(routes=["A"])).stations_read_as is None


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_a_polygon_that_crosses_itself_is_refused_and_a_slip_is_not(register, jobs, folder):
    load(jobs[0], register)
    corners = [(EAST - 9, NORTH - 9), (EAST + 9, NORTH - 9), (EAST + 9, NORTH + 29), (EAST - 9, NORTH + 29)]

    def joints(*order, more=()):
        path = folder / "area.gpkg"
        drawn = shapely.Polygon([*(corners[one] for one in order), *more])
        geopandas.GeoDataFrame(geometry=[drawn], crs="EPSG:6418").to_file(path)
        return [one["joint"] for one in find(register, Question(area=path)).joints]

    assert joints(0, 1, 2, 3) == ["1", "2"]
    with pytest.raises(AsbuiltError, match=r"area.gpkg: the outline of polygon 1 crosses itself at 6700000, 2000010"):
        joints(0, 2, 1, 3)
    # A last stroke that goes a hair beyond the first corner and comes back.
    slip = [(EAST - 9, NORTH - 9.01), (EAST - 8.99, NORTH - 9.01), (EAST - 9.01, NORTH - 8.99)]
    assert joints(0, 1, 2, 3, more=slip) == ["1", "2"]


def test_nothing_found_says_the_nearest_and_how_far(register, jobs):
    load(jobs[0], register)
    found = find(register, Question(near=f"{EAST},{NORTH - 60.0}", within="50 feet"))
    assert found.joints == []
    assert (found.nearest["joint"], found.as_json()["nearest"]["away_unit"]) == ("1", "ft")
    assert found.nearest["away"] == pytest.approx(60.0, abs=0.1)
    assert find(register, Question(near=f"{EAST},{NORTH - 60.0}", within="70 feet")).nearest is None


@pytest.fixture(scope="module")
def contract_survey_and_leak(folder):
    """Give a contract that failed joint 3 alone, a survey without inspections, and a leak that failed joint 2."""
    nothing = dict.fromkeys(("date", "inspector", "crew", "gauge", "gasket_temp", "home_to_mark"))
    said = {"date": "2019-03-02", "inspector": "M. Sol", "crew": "Crew 2", "photo": {1: "p1.jpg"}}
    lots = dict.fromkeys((0, 1, 2, 4), "4711")
    leak = {"date": "2026-06-10", "inspector": "P. Adeyemi", "crew": "Crew 10", "joints": 2}
    return (
        placed(folder / "contract.gpkg", "Contract 1", gauge={2: "no"}, Lot=lots, **said),
        placed(folder / "survey.gpkg", "Survey 2023", **nothing),
        placed(folder / "dug_up.gpkg", "Leak 2026", gauge={1: "no"}, remarks={1: "Leak at 5 o clock"}, **leak),
    )


def test_conditions_on_records_hold_of_the_one_record_that_was_judged(register, contract_survey_and_leak):
    for job in contract_survey_and_leak:
        load(job, register)

    def numbers(**asked):
        return "".join(one["joint"] for one in find(register, Question(**asked)).joints)

    failed, finding = ["inspection=failed"], ["inspection-failed"]
    assert numbers(items=failed) == numbers(findings=finding) == "23"
    assert numbers(items=failed, crews=["Crew 2"]) == numbers(findings=finding, crews=["Crew 2"]) == "3"
    assert numbers(items=failed, crews=["Crew 10"]) == numbers(findings=finding, inspectors=["P. Adeyemi"]) == "2"
    assert numbers(items=failed, months=["2019-03"]) == numbers(findings=finding, inspectors=["M. Sol"]) == "3"
    assert numbers(items=failed, months=["2026"]) == numbers(findings=finding, months=["2026-06"]) == "2"
    assert "2" in numbers(crews=["Crew 2"])
    # A finding that nobody marked is of the inspector whose record it is about.
    assert "2" in numbers(unmarked=True, inspectors=["P. Adeyemi"])
    about_2 = {one["code"] for one in find(register, Question(joints=["2"])).joints[0]["findings"]}
    assert about_2 == {"inspection-failed", "remark-to-read"}
    assert "2" not in numbers(unmarked=True, inspectors=["M. Sol"])
    assert "3" in numbers(unmarked=True, crews=["Crew 2"])
    for asked in (Question(items=failed), Question(findings=finding)):
        told = group(register, asked, ["crew"]).groups
        assert {one["crew"]: one["joints"] for one in told} == {"Crew 2": 1, "Crew 10": 1}, asked


def test_a_record_that_another_job_had_brought_is_the_one_that_failed(register, contract_survey_and_leak, folder):
    load(contract_survey_and_leak[0], register)
    said = {"date": "2019-03-02", "inspector": "M. Sol", "crew": "Crew 2", "photo": {1: "p1.jpg"}}
    lots = dict.fromkeys((0, 1, 2, 4), "4711")
    load(placed(folder / "renamed.gpkg", "Contract One", gauge={2: "no"}, Lot=lots, **said), register)
    joint = find(register, Question(joints=["3"])).joints[0]
    assert (joint["job"], len(joint["history"])) == ("Contract One", 1)
    for asked in (Question(items=["inspection=failed"]), Question(findings=["inspection-failed"])):
        assert [one["joint"] for one in find(register, replace(asked, crews=["Crew 2"])).joints] == ["3"], asked
        assert [one["crew"] for one in group(register, asked, ["crew"]).groups] == ["Crew 2"], asked


def test_what_a_survey_did_not_inspect_is_not_blank(register, contract_survey_and_leak):
    contract, survey, leak = contract_survey_and_leak
    load(survey, register)
    assert len(find(register, Question(items=["gauge="])).joints) == 6
    for job in (contract, leak):
        load(job, register)
    for item in ("gauge=", "inspector=", "crew="):
        assert find(register, Question(items=[item])).joints == [], item
    for key, said in (("year", {"2019": 6, "2026": 2}), ("crew", {"Crew 2": 6, "Crew 10": 2}),
                      ("column=Lot", {"4711": 4, "blank": 4})):  # fmt: skip
        assert {one[key]: one["joints"] for one in group(register, Question(), [key]).groups} == said
    blank = [one["joint"] for one in find(register, Question(columns=["lot="])).joints]
    assert blank == ["1", "2", "4", "6"]
    assert len(find(register, read_question([("column", "Lot=")])).joints) == 4
    told = group(register, Question(findings=["inspection-failed"]), ["job"]).groups
    assert {one["job"]: one["joints"] for one in told} == {"Contract 1": 1, "Leak 2026": 1}


def test_unmarked_is_held_against_the_findings_asked_for(register, contract_survey_and_leak):
    for job in contract_survey_and_leak:
        load(job, register)
    asked = Question(findings=["inspection-failed"], unmarked=True)
    assert [one["joint"] for one in find(register, asked).joints] == ["2", "3"]
    joint = find(register, Question(joints=["2"])).joints[0]
    of_leak = next(one for one in joint["findings"] if one["code"] == "inspection-failed")
    mark(register, of_leak["finding_uid"], note="clamp holds")
    assert [one["joint"] for one in find(register, asked).joints] == ["3"]
    assert "2" in [one["joint"] for one in find(register, Question(unmarked=True)).joints]


@pytest.fixture(scope="module")
def of_temperatures(folder):
    """Give a main of 6 joints logged in F, its joint 6 fitted again by another job, and a main logged in C."""
    warm = {0: "39.9", 1: "40", 2: "40.1", 3: None, 4: "55", 5: "38"}
    celsius = {"records": {"temperature_unit": "C"}}
    return (
        placed(folder / "fahrenheit.gpkg", "Contract 1", gasket_temp=warm),
        placed(folder / "again.gpkg", "Leak 2031", joints=1, first=6, north=100.0, date="2031-05-06", gasket_temp="60",
               station={0: "1+00.00"}, tables={"centerline": {"start_station": "1+00"}}),
        placed(folder / "celsius.gpkg", "Contract 2", routes=("C",), east=900.0, tables=celsius,
               gasket_temp={0: "4", 1: "4.5", 2: "12", 3: "12", 4: "12", 5: "12"}),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("item", "there"),
    [
        ("gasket_temperature=below 40 F", "A1 A6 C1"),
        ("gasket temperature<40F", "A1 A6 C1"),
        ("gasket_temperature=at most 40 degF", "A1 A2 A6 C1"),
        ("gasket_temperature<=4.45 °C", "A1 A2 A6 C1"),  # 40.01 F
        ("gasket_temperature=below 4.5C", "A1 A2 A6 C1"),  # 40.1 F
        ("gasket_temperature=above 54 F", "A5 A6"),
        ("gasket_temperature>=12 C", "A5 A6 C3 C4 C5 C6"),
        ("gasket_temperature=4 C", "C1"),
        ("gasket_temperature=", "A4"),
    ],
)
def test_a_temperature_as_recorded_is_asked_for_over_jobs_of_both_units(register, of_temperatures, item, there):
    """The finding is each job's own, by its own limit; 39.2 F is 4 C, 40.1 F is 4.5 C."""
    for job in of_temperatures:
        load(job, register)
    asked = read_question([("item", item)])
    assert " ".join(f"{one['route']}{one['joint']}" for one in find(register, asked).joints) == there


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("gasket_temperature=below 40", "write it like 40 F or 4.5 C"),
        ("gasket_temperature<", "is not an item and its value"),
        ("gasket_temprature=below 40 F", "did you mean 'gasket_temperature'"),
        ("gap_12=below 0.5", "each job has gap_12 in a unit of its own"),
        ("gauge<no", "is not an item and its value"),
    ],
)
def test_a_temperature_without_its_unit_is_not_guessed(register, jobs, item, said):
    load(jobs[0], register)
    with pytest.raises(AsbuiltError, match=said):
        find(register, Question(items=[item]))
