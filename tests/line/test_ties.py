"""Ties: stations stretched onto the line between points of known station and coordinates, and what that makes up."""

import json
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from laying import CRS, EAST, NORTH, lines, place, values
from pyproj import CRS as System

import asbuilt
from asbuilt.cli import cli
from asbuilt.line import ties
from asbuilt.line.curves import Pieces
from asbuilt.line.nearest import nearest
from asbuilt.line.routes import routes_from_vertices

LINE = np.array([(EAST, NORTH, 50.0), (EAST, NORTH + 400, 52.0), (EAST + 300, NORTH + 800, 50.0)])
LENGTH = 900.0


def at(distance, line=LINE):
    """Give the coordinates at distances along the line, by GEOS."""
    points = shapely.line_interpolate_point(shapely.LineString(line[:, :2]), distance)
    return shapely.get_coordinates(points)


def tie(station, distance, route="A", line=LINE):
    ((east, north),) = at([distance], line)
    return {"route": route, "station": station, "easting": float(east), "northing": float(north)}


def stationed(stations, **columns):
    names = [str(number) for number in range(1, len(stations) + 1)]
    return pd.DataFrame({"joint": names, "station": stations, "size": "12", **columns})


def decimal(*ties, **centerline):
    return {
        "centerline": {"ties": list(ties), **centerline},
        "records": {"station_format": "decimal", "laying_length": 20.0},
    }


def test_stations_between_ties_lie_where_linear_interpolation_of_the_ties_puts_them():
    # numpy.interp is the independent reference for the calibration, GEOS for the points.
    known = [(100.0, 101.0), (300.0, 299.5), (650.0, 652.0), (800.0, 801.0)]
    stations = np.round(np.random.default_rng(4).uniform(100, 800, 200), 4)
    stations.sort()
    ties = [tie(station, distance) for station, distance in known]
    placement = place(lines(A=LINE), stationed(stations.astype(str)), **decimal(*ties[::-1]))
    expected = np.interp(stations, *np.transpose(known))
    np.testing.assert_allclose(placement.joints["distance"], expected, atol=1e-6)
    np.testing.assert_allclose(placement.joints[["easting", "northing"]], at(expected), atol=1e-6)
    assert placement.joints["position_source"].unique().tolist() == ["station-tied"]
    assert placement.counts["ties"][0]["closure"] == pytest.approx(-1.5)
    assert placement.counts["ties"][0]["closure_ppm"] == pytest.approx(-7500)
    assert placement.counts["ties"][1]["length"] == pytest.approx(350)


def test_beyond_the_first_and_the_last_tie_stations_go_on_with_the_combined_factor_alone():
    ties = decimal(tie(100.0, 101.0), tie(800.0, 795.0), combined_factor=0.9999)
    joints = place(lines(A=LINE), stationed(["50", "100", "450", "800", "850"]), **ties).joints
    expected = [101 - 50 * 0.9999, 101, 101 + 694 / 2, 795, 795 + 50 * 0.9999]
    assert joints["distance"].tolist() == pytest.approx(expected, abs=1e-6)
    assert joints["position_source"].tolist() == ["station", *["station-tied"] * 3, "station"]


def test_the_closure_is_what_remains_after_the_combined_factor():
    ties = (tie(0.0, 0.0), tie(900.0, 899.91))
    plain = place(lines(A=LINE), stationed(["10"]), **decimal(*ties)).counts["ties"][0]
    assert (plain["closure"], plain["closure_ppm"]) == pytest.approx((-0.09, -100), abs=0.001)
    scaled = place(lines(A=LINE), stationed(["10"]), **decimal(*ties, combined_factor=0.9999)).counts["ties"][0]
    assert scaled["closure"] == pytest.approx(0.0, abs=1e-3)
    assert scaled["closure_ppm"] == pytest.approx(0.0, abs=0.1)
    assert scaled["length"] == 900.0


def test_ties_say_where_the_stations_begin():
    # No start station is given: by the tie the line begins at 9+99 and ends at 18+99.
    placement = place(lines(A=LINE), stationed(["999", "1898.5", "1900.1"]), **decimal(tie(1100, 101)))
    assert placement.joints["distance"].tolist() == pytest.approx([0.0, 899.5])
    assert placement.set_aside["reason"].tolist() == ["station-off-route"]
    assert placement.centerline["start_station"].tolist() == ["9+99.00"]
    assert placement.counts["ties"] == []


def test_a_stated_start_station_that_the_ties_contradict_is_noticed():
    wanted = decimal(tie(1100, 101), start_station="10+00")
    notes = place(lines(A=LINE), stationed(["1200"]), **wanted).notes
    assert any("by its ties the line begins at station 999.00, not at 1000.00" in note.text for note in notes)
    wanted = decimal(tie(1100, 100.1), start_station="10+00")
    assert not any("by its ties" in note.text for note in place(lines(A=LINE), stationed(["1200"]), **wanted).notes)


def test_ties_work_across_a_station_equation():
    # 4+50 back is 10+00 ahead: 11+00 lies 550 ft from the start by the stations.
    equations = [{"route": "A", "back": 450, "ahead": 1000}]
    wanted = decimal(tie(100, 100), tie(1200, 651), equations=equations)
    joints = place(lines(A=LINE), stationed(["300", "450", "1100", "1300"]), **wanted).joints
    expected = [*np.interp([300, 450, 550], [100, 650], [100, 651]), 751]
    assert joints["distance"].tolist() == pytest.approx(expected, abs=1e-6)
    assert joints["station"].tolist() == ["3+00.00", "4+50.00", "11+00.00", "13+00.00"]


def test_a_tie_whose_station_stands_twice_says_which_one_it_means():
    equations = [{"route": "A", "back": 500, "ahead": 300}]
    with pytest.raises(
        asbuilt.JobFileError, match=r"centerline\.ties \(no\. 1\): station 400\.00 occurs more than once"
    ):
        place(lines(A=LINE), stationed(["100"]), **decimal(tie(400, 601), equations=equations))
    ahead = decimal(tie(100, 100), tie("400 AH", 601), equations=equations)
    joints = place(lines(A=LINE), stationed(["350 AH", "350 BK"]), **ahead).joints
    assert joints["distance"].tolist() == pytest.approx([100 + 250 * 501 / 500, 100 + 450 * 501 / 500])
    gap = [{"route": "A", "back": 300, "ahead": 500}]
    with pytest.raises(asbuilt.JobFileError, match="falls in the gap of a station equation"):
        place(lines(A=LINE), stationed(["100"]), **decimal(tie(400, 400), equations=gap))


def test_ties_on_a_line_drawn_against_its_stations():
    ties = [tie(100, 101), tie(800, 799)]
    drawn = place(lines(A=LINE), stationed(["100", "333", "850"]), **decimal(*ties))
    turned = place(lines(A=LINE[::-1]), stationed(["100", "333", "850"]), **decimal(*ties, reversed=["A"]))
    columns = ["easting", "northing", "distance"]
    np.testing.assert_allclose(turned.joints[columns], drawn.joints[columns], atol=1e-6)


def test_ties_stretch_slope_stations_along_the_pipe():
    steep = np.array([(EAST, NORTH, 0.0), (EAST, NORTH + 400, 300.0)])
    wanted = decimal(
        {"station": 250, "easting": EAST, "northing": NORTH + 200},
        {"station": 498, "easting": EAST, "northing": NORTH + 400},
    )
    wanted["records"]["stationing"] = "slope"
    joints = place(lines(A=steep), stationed(["374"]), **wanted).joints
    assert joints["distance"].tolist() == pytest.approx([300.0])


def test_lengths_named_by_stations_go_by_the_ties_too():
    wanted = decimal(tie(100, 102), tie(800, 800))
    restraint = [{"from": 100, "to": 450, "why": "bend"}]
    found = place(lines(A=LINE), stationed(["100", "440"]), restraint=restraint, **wanted).restraint
    assert found["from_distance"].tolist() == pytest.approx([102.0])
    assert found["to_distance"].tolist() == pytest.approx([102 + 350 * 698 / 700])
    assert found["joints"].tolist() == [2]


def test_each_route_has_ties_of_its_own():
    other = LINE + np.array([2000, 0, 0])
    ties = decimal(tie(100, 110, "B", other), tie(200, 205, "B", other), tie(100, 100))
    wanted = ties | {"centerline": ties["centerline"] | {"max_closure_ppm": 60_000}}
    records = stationed(["150", "150"], route=["A", "B"])
    placement = place(lines(A=LINE, B=other), records, **wanted)
    assert placement.joints["distance"].tolist() == pytest.approx([150.0, 157.5])
    assert placement.joints["position_source"].tolist() == ["station", "station-tied"]


def test_ties_come_from_a_file_as_well(tmp_path):
    (east, north), (far_east, far_north) = at([101, 799])
    (tmp_path / "ties.csv").write_text(f"STA,Northing,Easting\n1+00,{north},{east}\n8+00.0,{far_north},{far_east}\n")
    lines(A=LINE).to_file(tmp_path / "line.gpkg")
    stationed(["4+50"]).to_csv(tmp_path / "log.csv", index=False)
    wanted = values(centerline={"path": "line.gpkg", "ties_path": "ties.csv"}, records={"path": "log.csv"})
    placement = asbuilt.place(asbuilt.Job.from_mapping(wanted, folder=tmp_path))
    assert placement.joints["distance"].tolist() == pytest.approx([450.0])
    assert any(path.endswith("ties.csv") for path, _ in placement.inputs)
    placement.write(tmp_path / "joints.gpkg")
    run = gpd.read_file(tmp_path / "joints.gpkg", layer="run").iloc[0]
    assert json.loads(run["counts"])["ties"][0]["closure"] == -2.0


def test_a_file_of_ties_may_be_written_with_decimal_commas(tmp_path):
    rows = zip(("1+00,00", "8+00,00"), *np.transpose(at([101, 799])), strict=True)
    written = ["STA;Easting;Northing", *(f"{station};{east:.3f};{north:.3f}" for station, east, north in rows)]
    (tmp_path / "ties.csv").write_text("\n".join(written).replace(".", ","))
    lines(A=LINE).to_file(tmp_path / "line.gpkg")
    stationed(["4+50"]).to_csv(tmp_path / "log.csv", index=False)
    wanted = values(centerline={"path": "line.gpkg", "ties_path": "ties.csv"}, records={"path": "log.csv"})
    placement = asbuilt.place(asbuilt.Job.from_mapping(wanted, folder=tmp_path))
    assert placement.joints["distance"].tolist() == pytest.approx([450.0], abs=1e-3)


def test_the_terminal_shows_the_closure(tmp_path):
    lines(A=LINE).to_file(tmp_path / "line.gpkg")
    stationed(["450"]).to_csv(tmp_path / "log.csv", index=False)
    ties = "".join(
        f"[[centerline.ties]]\nstation = {one['station']}\neasting = {one['easting']}\nnorthing = {one['northing']}\n"
        for one in (tie(100, 101), tie(800, 799))
    )
    (tmp_path / "job.toml").write_text(
        f'name = "Q"\n[centerline]\npath = "line.gpkg"\n{ties}[records]\npath = "log.csv"\nstation_unit = "us-ft"\n'
        "laying_length = 20.0\n"
    )
    shown = CliRunner().invoke(cli, ["check", str(tmp_path / "job.toml")], terminal_width=200).output
    assert "-2.00 ft, -2857 ppm" in shown
    found = json.loads(CliRunner().invoke(cli, ["check", "--json", str(tmp_path / "job.toml")]).output)
    assert found["ties"][0]["closure_ppm"] == pytest.approx(-2857.1)


@pytest.mark.parametrize(
    ("ties", "message"),
    [
        ([(100, 101), (800, 780)], r"\(no\. 1\) to .*\(no\. 2\): the line measures 679\.00 ft where the stations count "
         r"700\.00 ft: -21\.00 ft, -30000 parts per million"),
        ([(100, 500), (800, 300)], r"the second lies 700\.00 ahead of the first by their stations, but -200\.00 along"),
        ([(100, 300), (100, 300)], "the second lies 0.00 ahead"),
        # Stations in metres on a line in feet: 1 ft is 0.3048 m.
        ([(30.48, 100), (243.84, 800)], r"stations in another unit do this: see records\.station_unit"),
    ],
)  # fmt: skip
def test_ties_that_do_not_close_are_refused(ties, message):
    with pytest.raises(asbuilt.JobFileError, match=message):
        place(lines(A=LINE), stationed(["450"]), **decimal(*(tie(*one) for one in ties)))


def test_the_limit_of_the_job_is_the_one_that_counts():
    ties = (tie(100, 100.1), tie(800, 800.4))
    assert place(lines(A=LINE), stationed(["450"]), **decimal(*ties)).counts["ties"][0]["closure"] == 0.3
    with pytest.raises(asbuilt.JobFileError, match="at most 400 are allowed"):
        place(lines(A=LINE), stationed(["450"]), **decimal(*ties, max_closure_ppm=400))
    # Over a short interval the writing of the stations alone makes more than one part in a hundred.
    assert place(lines(A=LINE), stationed(["450"]), **decimal(tie(100, 100), tie(110, 110.3))).counts["ties"]


def test_a_tie_beside_the_line_or_on_no_route_is_refused():
    beside = {**tie(100, 100), "easting": EAST + 50.0}
    with pytest.raises(asbuilt.JobFileError, match=r"\(no\. 1\): lies 50\.00 ft from the line of route 'A'"):
        place(lines(A=LINE), stationed(["450"]), **decimal(beside))
    with pytest.raises(asbuilt.JobFileError, match=r"\(no\. 1\): there is no route 'Z'; the routes are A"):
        place(lines(A=LINE), stationed(["450"]), **decimal(tie(100, 100, "Z")))
    with pytest.raises(asbuilt.JobFileError, match=r"\(no\. 1\)\.station: 'x' is not a station"):
        place(lines(A=LINE), stationed(["450"]), **decimal(tie("x", 100)))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("station,easting\n1+00,3\n", "no column is known as northing"),
        ("station,easting,northing\n1+00,3,\n", "row 2: northing must be filled in"),
        ("station,easting,northing\n1+00,3,4\n1-x,3,4\n", r"row 3: station '1-x' cannot be read; write it like 12\+34"),
        ("station,sta,easting,northing\n1,1,3,4\n", r"say which with centerline\.ties_columns\.station = \"station\""),
    ],
)
def test_a_file_of_ties_that_cannot_be_read_says_why(tmp_path, text, message):
    (tmp_path / "ties.csv").write_text(text)
    with pytest.raises(asbuilt.InputFileError, match=message):
        place(lines(A=LINE), stationed(["450"]), centerline={"ties_path": str(tmp_path / "ties.csv")})
    with pytest.raises(asbuilt.InputFileError, match=r"there is no such file; correct centerline\.ties_path"):
        place(lines(A=LINE), stationed(["450"]), centerline={"ties_path": "none.csv"})


def test_columns_of_a_file_of_ties_are_mapped(tmp_path):
    (easting, northing), (other, north) = at([100.0, 800.0])
    rows = f"Chain.,Sta,East,North\n7,1+00.00,{easting},{northing}\n8,8+00.70,{other},{north}\n"
    (tmp_path / "ties.csv").write_text(rows)
    wanted = {"ties_path": str(tmp_path / "ties.csv"), "ties_columns": {"station": "Sta"}}
    placement = place(lines(A=LINE), stationed(["4+50.35"]), centerline=wanted)
    assert placement.joints["distance"].tolist() == pytest.approx([450.0])


def test_points_are_projected_as_geos_does():
    chance = np.random.default_rng(7)
    first = np.array([0, 40, 41 * 2])
    walk = np.cumsum(chance.normal(10, 8, (82, 2)), axis=0) + np.array([EAST, NORTH])
    none = np.full(82, np.nan)
    easting, northing = walk.T
    routes = routes_from_vertices(["A", "B"], first, easting, northing, none, np.zeros(2), System(CRS), "us-ft")
    route = chance.integers(0, 2, 500)
    points = walk[chance.integers(0, 40, 500) + 40 * route] + chance.normal(0, 5, (500, 2))
    found = nearest(routes, route, *points.T)
    shapes = np.array([shapely.LineString(walk[:40]), shapely.LineString(walk[40:])])[route]
    np.testing.assert_allclose(found.away, shapely.distance(shapes, shapely.points(points)), atol=1e-6)
    np.testing.assert_allclose(found.distance, shapely.line_locate_point(shapes, shapely.points(points)), atol=1e-6)
    # Looked for near the place, it is the same place.
    again = nearest(routes, route, *points.T, near=found.distance + chance.uniform(-9, 9, 500), reach=10, enough=1e9)
    np.testing.assert_allclose(again.distance, found.distance, atol=1e-6)


def test_where_a_route_comes_back_to_itself_the_place_near_the_station_is_meant():
    hairpin = np.array([(0, 0), (0, 500), (3, 500), (3, 0)], dtype=float)
    routes = routes_from_vertices(
        ["A"], np.array([0, 4]), hairpin[:, 0], hairpin[:, 1], np.full(4, np.nan), np.zeros(1), System(CRS), "us-ft"
    )
    point = np.array([1.6]), np.array([200.0])
    assert nearest(routes, np.zeros(1, int), *point).distance.tolist() == [803.0]
    near = nearest(routes, np.zeros(1, int), *point, near=np.array([205.0]), reach=20.0, enough=5.0)
    assert (near.distance.tolist(), near.away.tolist()) == ([200.0], [1.6])
    far = nearest(routes, np.zeros(1, int), *point, near=np.array([400.0]), reach=20.0, enough=5.0)
    assert far.distance.tolist() == [803.0]


def test_a_point_beside_a_curve_is_projected_onto_the_curve_itself():
    # A quarter of a circle of radius 500 to the right: the foot of a point is on its radius.
    one = np.ones(1)
    curve = Pieces(0 * one, 0 * one, 0 * one, 0 * one, one / 500, one / 500, one * 250 * np.pi)
    end = np.array([0.0, 500.0])
    routes = routes_from_vertices(
        ["A"], np.array([0, 2]), end, end, np.full(2, np.nan), np.zeros(1), System(CRS), "us-ft"
    )
    along = np.array([0.0, 250 * np.pi])
    routes = replace(routes, pieces=curve, profiles=(None,), distance=along)
    angle, radius = np.radians([10.0, 33.3, 80.0]), np.array([480.0, 500.5, 530.0])
    found = nearest(routes, np.zeros(3, int), 500 - radius * np.cos(angle), radius * np.sin(angle))
    np.testing.assert_allclose(found.distance, 500 * angle, atol=1e-6)
    np.testing.assert_allclose(found.away, np.abs(radius - 500), atol=1e-6)


def test_sigma_of_a_position_is_that_of_the_shots_through_their_weights_and_of_the_station():
    line = lines(A=LINE).assign(error=0.06)
    records: dict[str, Any] = {"station_format": "decimal", "sigma_station": 0.0}
    wanted = {"centerline": {"sigma_horizontal": "error"}, "records": records}
    found = place(line, stationed(["0", "200", "300", "400"]), **wanted).joints["sigma_horizontal"]
    expected = 0.06 * np.sqrt([1, 0.25 + 0.25, 0.25**2 + 0.75**2, 1])
    np.testing.assert_allclose(found, expected)
    records["sigma_station"] = 0.1
    found = place(line, stationed(["0", "200", "300", "400"]), **wanted).joints["sigma_horizontal"]
    np.testing.assert_allclose(found, np.hypot(expected, 0.1))
    assert place(lines(A=LINE), stationed(["0+10"])).joints["sigma_horizontal"].isna().all()


@given(st.data())
def test_each_of_several_routes_is_stretched_by_its_own_ties_as_numpy_interpolates(data):
    gaps = st.lists(st.floats(50, 500), min_size=1, max_size=6)
    counted = [np.cumsum(data.draw(gaps)) + data.draw(st.floats(-300, 300)) for _ in range(3)]
    actual = [one * data.draw(st.floats(0.99, 1.01)) + data.draw(st.floats(-5, 5)) for one in counted]
    first = np.cumsum([0, *(len(one) for one in counted), 0])  # the last route has no ties
    found = ties.Calibration(first, np.concatenate(counted), np.concatenate(actual), (), np.zeros(first[-1]))
    for number, (source, target) in enumerate(zip(counted, actual, strict=True)):
        asked = np.linspace(source[0], source[-1], 41)
        on_line = ties.onto_line(found, np.full(41, number), asked)
        np.testing.assert_allclose(on_line, np.interp(asked, source, target), atol=1e-6)
        np.testing.assert_allclose(ties.off_line(found, np.full(41, number), on_line), asked, atol=1e-6)
        ends = ties.onto_line(found, np.full(2, number), np.array([source[0] - 30.0, source[-1] + 30.0]))
        np.testing.assert_allclose(ends, [target[0] - 30.0, target[-1] + 30.0], atol=1e-6)
    assert ties.onto_line(found, np.array([3, -1]), np.array([7.0, 8.0])).tolist() == [7.0, 8.0]
    assert np.isnan(ties.onto_line(found, np.array([0]), np.array([np.nan]))).all()
