"""Blunders of survey and log planted in mains whose joints are known: what is said of each, where, and how far off any
joint is placed. The mains are made anew for each seed; the truth is where they were laid.
"""

import re
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from laying import CRS, TODAY
from pyproj import Transformer
from survey_mains import laid, station

import asbuilt
from asbuilt.schema import SURVEY_CODES

SEEDS = (1, 2)
FT = 1200 / 3937


class Said(NamedTuple):
    """What came of a blunder."""

    refused: str
    found: list[tuple[str, str | None]]
    """Code and point of each finding on the survey."""
    notes: str
    off: float
    """How far the joint that is farthest off was placed from where it was laid, ft."""
    placed: object


def said(tmp_path, main, *, crs=CRS, line=None, log=None, centerline=None, records=None):
    """Place a main and give what was said of it."""
    values = {
        "name": "A", "crs": crs,
        "centerline": {"start_station": 0, **({"path": "shots.csv"} if line is None else {}), **(centerline or {})},
        "records": {"station_unit": "us-ft", "laying_length": 20.0, **(records or {})},
        "limits": {"table": "awwa-c600"},
    }  # fmt: skip
    main.shots.to_csv(tmp_path / "shots.csv", index=False)
    job = asbuilt.Job.from_mapping(values, folder=tmp_path)
    try:
        placement = asbuilt.place(job, centerline=line, records=main.log if log is None else log, today=TODAY)
    except asbuilt.AsbuiltError as error:
        return Said(str(error), [], "", 0.0, None)
    found = placement.findings[placement.findings["code"].isin(SURVEY_CODES)]
    pairs = list(zip(found["code"], found["point"].where(found["point"].notna(), None), strict=True))
    truth, joints = main.truth(), placement.joints
    off = [
        float(np.hypot(east - truth[name][0], north - truth[name][1]))
        for name, east, north in zip(joints["joint"], joints["easting"], joints["northing"], strict=True)
    ]
    return Said("", pairs, " ".join(note.text for note in placement.notes), max(off), placement)


def moved(main, row, **by):
    """Move one shot."""
    for column, amount in by.items():
        main.shots.loc[row, column] += amount
    return main


def point(main, row):
    """Name a shot as a message does."""
    return str(main.shots.loc[row, "point"])


def exchanged_in(main, rows):
    main.shots.loc[rows, ["northing", "easting"]] = main.shots.loc[rows, ["easting", "northing"]].to_numpy()


def other_things(main, seed, *, described):
    """String shots of the edge of pavement and of trees in among the main's."""
    rng = np.random.default_rng(seed)
    some = main.shots.iloc[3:80:7].copy()
    for column in ("easting", "northing"):
        some[column] += rng.uniform(25, 60, len(some)) * rng.choice([-1, 1], len(some))
    some["description"] = np.where(np.arange(len(some)) % 2, "EP", "TREE 12 oak")
    some["point"] = some["point"] + 0.5
    main.shots = pd.concat([main.shots, some])
    if not described:
        main.shots = main.shots.drop(columns="description")
    return main


# Certain to be wrong: refused, naming the shot, row or key, and the remedy. ------------------------------------------


def one_shot_exchanged(main, seed):
    exchanged_in(main, [40])
    return {}, f"northing and easting of point {point(main, 40)} \\(row 42\\) are exchanged.*exchange the two"


def shots_exchanged(*rows):
    def planted(main, seed):
        places = [row % len(main.shots) for row in rows]
        exchanged_in(main, places)
        named = ", ".join(f"point {point(main, row)} \\(row {row + 2}\\)" for row in places)
        return {}, f"northing and easting of {named} are exchanged.*exchange the two"

    planted.__name__ = f"shots_exchanged_{rows}"
    return planted


def five_shots_exchanged(main, seed):
    exchanged_in(main, [12, 30, 45, 46, 70])
    return {}, "northing and easting of point .* are exchanged|exchanged throughout"


def all_exchanged(main, seed):
    main.shots = main.shots.rename(columns={"northing": "easting", "easting": "northing"})
    return {}, "northing and easting are exchanged throughout: name the columns the other way round"


def feet_taken_for_metres(main, seed):
    return {"crs": "EPSG:6417"}, "they are written in feet, and .* is in metres: name the same system in feet"


def metres_taken_for_feet(main, seed):
    main.shots[["northing", "easting"]] *= FT
    return {}, "they are written in metres, and .* is in US survey feet: name the same system in metres"


def degrees_under_a_projected_system(main, seed):
    degrees = Transformer.from_crs(CRS, "EPSG:6318", always_xy=True)
    main.shots["easting"], main.shots["northing"] = degrees.transform(main.shots["easting"], main.shots["northing"])
    return {}, "these are degrees, not a projected system"


def web_map_projection(main, seed):
    web = Transformer.from_crs(CRS, "EPSG:3857", always_xy=True)
    main.shots["easting"], main.shots["northing"] = web.transform(main.shots["easting"], main.shots["northing"])
    return {"crs": "EPSG:3857"}, r"draws lengths here 1\.2\d* times as long.*State Plane or UTM"


def control_point_strung_in(main, seed):
    moved(main, 40, easting=640.0, northing=-700.0)
    return {}, f"point {point(main, 40)} .* lies .* ft off the line from point {point(main, 39)}"


def other_features_strung_in(main, seed):
    other_things(main, seed, described=True)
    return {}, r"shots of several descriptions .* WM-A \(\d+\), (EP|TREE) .*: name the main's in centerline.codes"


def other_features_without_descriptions(main, seed):
    other_things(main, seed, described=False)
    return {}, "shots of other things may be among the main's, see centerline.codes"


def far_shot_shot_again_in_sequence(main, seed):
    columns = ["northing", "easting", "elevation"]
    main.shots.loc[70, columns] = main.shots.loc[11, columns].to_numpy() + 0.05
    return {}, f"point {point(main, 70)} .* is the place of point {point(main, 11)} .*, shot again"


def two_crews_numbers(main, seed):
    count = len(main.shots)
    main.shots["point"] = np.concatenate([np.arange(201, 246), np.arange(1, count - 44)])
    return {}, r"jumps \d+ ft to point 201 .*two crews.*lie in the order point 201 .* to point 245"


def second_crew_from_the_other_end(main, seed):
    count = len(main.shots)
    main.shots["point"] = np.concatenate([np.arange(1, 46), np.arange(200 + count - 45, 200, -1)])
    return {}, r"jumps \d+ ft to point 201 .*two crews.*number them so"


def shot_numbered_far_out_of_order(main, seed):
    main.shots["point"] = main.shots["point"].astype(float)
    main.shots.loc[20, "point"] = main.shots.loc[50, "point"] + 0.5
    return {}, f"point {point(main, 20)} .* stands in the wrong order: it lies between"


def line_drawn_backwards(main, seed):
    main.shots["point"] = main.shots["point"].to_numpy()[::-1]
    return {}, r'drawn against its stations: name it in centerline.reversed = \["A"\]'


def line_drawn_backwards_no_bends_logged(main, seed):
    main.shots["point"] = main.shots["point"].to_numpy()[::-1]
    main.log = main.log.drop(columns=["kind", "bend angle"])
    return {}, r"shots lie at the joints of the log only if its stations are counted from its other end"


def start_stated_at_the_other_end(main, seed):
    ends = main.shots.iloc[[-1, 0]][["easting", "northing"]].to_numpy()
    east, north = ends[0] - ends[1]
    names = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
    said = names[round(np.degrees(np.arctan2(east, north)) / 45) % 8]
    return {"centerline": {"starts": said}}, f"but centerline.starts says {said}"


def stations_in_metres(main, seed):
    along = [float(text.replace("+", "")) * FT for text in main.log["station"]]
    main.log["station"] = [station(one) for one in along]
    return {}, r"stations run over 30 % of the line and are 0\.30 laying lengths apart, so they are written in metres"


REFUSED = (
    one_shot_exchanged, shots_exchanged(0), shots_exchanged(-1), shots_exchanged(0, 1), shots_exchanged(40, 41),
    five_shots_exchanged, all_exchanged, feet_taken_for_metres, metres_taken_for_feet,
    degrees_under_a_projected_system, web_map_projection, control_point_strung_in, other_features_strung_in,
    other_features_without_descriptions, far_shot_shot_again_in_sequence, two_crews_numbers,
    second_crew_from_the_other_end, shot_numbered_far_out_of_order, line_drawn_backwards,
    line_drawn_backwards_no_bends_logged, start_stated_at_the_other_end, stations_in_metres,
)  # fmt: skip


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", REFUSED, ids=lambda one: one.__name__)
def test_what_is_certain_to_be_wrong_is_refused_with_the_remedy(tmp_path, blunder, seed):
    main = laid(seed)
    job, message = blunder(main, seed)
    assert re.search(message, said(tmp_path, main, **job).refused)


# Doubtful: a finding at the shot, and no joint farther off than is said. ----------------------------------------------


def bust(feet):
    def planted(main, seed):
        row, ahead = 40, main.shots.loc[[39, 41], ["easting", "northing"]].to_numpy()
        east, north = (ahead[1] - ahead[0]) / np.hypot(*(ahead[1] - ahead[0]))
        moved(main, row, easting=-north * feet, northing=east * feet)
        return {}, ("shot-astray", point(main, row)), 1.1 * feet

    planted.__name__ = f"shot_{feet}_ft_off"
    return planted


def next_but_one_shot_again(main, seed):
    columns = ["northing", "easting", "elevation"]
    main.shots.loc[40, columns] = main.shots.loc[38, columns].to_numpy() + 0.03
    return {}, ("shot-repeated", point(main, 40)), 45.0


def neighbours_exchanged(main, seed):
    main.shots.loc[[40, 41], "point"] = main.shots.loc[[41, 40], "point"].to_numpy()
    return {}, ("shot-order", point(main, 41)), 45.0


def numbered_two_late(main, seed):
    main.shots["point"] = main.shots["point"].astype(float)
    main.shots.loc[40, "point"] += 2.5
    return {}, ("shot-order", point(main, 40)), 90.0


def one_place_shot_twice(main, seed):
    again = main.shots.iloc[[40]].copy()
    leg = main.shots.loc[41, ["easting", "northing"]] - main.shots.loc[39, ["easting", "northing"]]
    east, north = leg.to_numpy(float) / np.hypot(*leg.to_numpy(float))
    again["easting"], again["northing"] = again["easting"] - 0.3 * north, again["northing"] + 0.3 * east
    again["point"] = again["point"] + 0.5
    main.shots = pd.concat([main.shots, again])
    return {}, ("shot-repeated", "1041.0"), 1.0


def elevation(value, rows=slice(40, 40), *, by=None):
    def planted(main, seed):
        if by is None:
            main.shots.loc[rows, "elevation"] = value
        else:
            main.shots.loc[rows, "elevation"] += by
        return {}, ("shot-height", point(main, rows.start - (1 if by and rows.stop > rows.start else 0))), 0.5

    what = f"by_{by}" if by else str(value)
    planted.__name__ = f"elevation_{what}_at_{rows.stop - rows.start + 1}_shots"
    return planted


def log_covers_half(main, seed):
    main.log = main.log.iloc[:45]
    return {}, ("coverage-short", None), 0.5


def log_begins_late(main, seed):
    main.log = main.log.iloc[20:]
    return {}, ("coverage-short", None), 0.5


def part_of_the_log_as_long_as_feet_for_metres(main, seed):
    length = float(main.log["station"].iloc[-1].replace("+", "")) * 0.3048
    reach = [float(text.replace("+", "")) <= length + 10 for text in main.log["station"]]
    main.log = main.log[reach]
    return {}, ("unit-doubtful", None), 0.5


def nothing_shot_for_600_ft(main, seed):
    main.shots = main.shots.drop(index=range(40, 70)).reset_index(drop=True)
    return {}, ("coverage-short", None), None


FOUND = (
    bust(30), bust(10), bust(5), next_but_one_shot_again, neighbours_exchanged, numbered_two_late,
    one_place_shot_twice, elevation(0.0), elevation(0.0, slice(30, 60)), elevation(-9999.0),
    elevation(-9999.0, slice(20, 80)), elevation(None, by=30), elevation(None, slice(46, 200), by=40),
    log_covers_half, log_begins_late, part_of_the_log_as_long_as_feet_for_metres, nothing_shot_for_600_ft,
)  # fmt: skip


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", FOUND, ids=lambda one: one.__name__)
def test_what_is_doubtful_is_a_finding_at_the_shot(tmp_path, blunder, seed):
    # Straight enough beside the shots in question that no bend logged there explains them.
    main = laid(seed, bends=0)
    job, (code, where), most = blunder(main, seed)
    told = said(tmp_path, main, **job)
    assert told.refused == ""
    assert code in [one for one, _ in told.found]
    if where is not None:
        assert (code, where) in told.found
    if most is not None:
        assert told.off <= most
    assert {one for one, _ in told.found} <= {code, "coverage-short"}
    # Bad heights are not told as joints that nobody laid.
    if code == "shot-height" and "step" not in blunder.__name__:
        missing = told.placed.findings.query("code == 'joints-missing'")["message"]
        assert all("which is doubted" in one for one in missing)


def test_a_shot_astray_is_a_point_to_look_at_and_its_joints_are_not_called_bad_pipe(tmp_path):
    main = laid(3, bends=0)
    where = bust(10)(main, 3)[1][1]
    placement = said(tmp_path, main).placed
    found = placement.findings.query("code == 'shot-astray'").iloc[0]
    shot = main.shots.loc[40]
    assert (found.geometry.x, found.geometry.y) == pytest.approx((shot["easting"], shot["northing"]), abs=1e-3)
    near = placement.joints.iloc[38:43]
    assert set(near["verdict"]) == {"cannot-tell"}
    unclear = placement.findings.query("code == 'deflection-unclear'")["message"]
    assert f"rests on shot {where}, which is doubted: look at the shot before the pipe" in unclear.iloc[0]
    assert all("look at the shot" in one for one in unclear)
    assert "over" not in set(placement.joints["verdict"])


def test_a_lateral_traced_out_and_back_doubles_the_line_back(tmp_path):
    main = laid(4, bends=0)
    places = main.places.tolist()
    out = [[places[40][0] + 30 * at, places[40][1] - 17 * at, places[40][2]] for at in (1, 2)]
    line = gpd.GeoDataFrame(geometry=[shapely.LineString([*places[:41], *out, out[0], *places[40:]])], crs=CRS)
    told = said(tmp_path, main, line=line)
    assert told.refused or {code for code, _ in told.found} & {"line-doubles-back", "shot-astray", "shot-order"}


def test_the_direction_of_a_line_that_nothing_shows_is_asked_of_the_job(tmp_path):
    main = laid(5, bends=0, cuts=0)
    main.shots["point"] = main.shots["point"].to_numpy()[::-1]
    main.log = main.log.drop(columns=["kind", "bend angle"])
    told = said(tmp_path, main)
    assert "nothing in the data tells which way the line runs" in told.notes
    assert "centerline.starts" in told.notes


def test_shots_that_were_looked_at_are_doubted_no_more(tmp_path):
    main = laid(6, bends=0)
    bust(10)(main, 6)
    assert said(tmp_path, main).found
    assert said(tmp_path, main, centerline={"shots_checked": [point(main, 40)]}).found == []
    left = said(tmp_path, main, centerline={"shots_left_out": [point(main, 40)]})
    assert left.found == []
    assert left.off < 1.0


def test_a_point_to_leave_out_that_is_not_there_is_named(tmp_path):
    told = said(tmp_path, laid(7), centerline={"shots_left_out": ["9999"]})
    assert "has no point '9999'" in told.refused


# False alarms matter as much. -----------------------------------------------------------------------------------------

HEALTHY: dict[str, dict[str, Any]] = {
    "shot at every joint": {},
    "shot at every fifth": {"every": 5},
    "shot at every tenth": {"every": 10},
    "noisy shots": {"noise": 0.05},
    "noisy shots, sparse": {"noise": 0.08, "every": 4},
    "hilly": {"grade": 12.0},
    "many bends and cuts": {"bends": 12, "cuts": 25},
    "tight curves": {"spread": 5.0, "bends": 1},
    "a riser of 12 ft": {"riser": 12.0},
    "a riser of 30 ft, its bends logged": {"riser": 30.0},
    "short": {"joints": 16, "bends": 1, "cuts": 1},
    "no bends, no cuts": {"bends": 0, "cuts": 0},
}


@pytest.mark.parametrize("seed", range(10, 16))
@pytest.mark.parametrize("kind", HEALTHY)
def test_a_healthy_main_raises_nothing(tmp_path, kind, seed):
    main = laid(seed, **HEALTHY[kind])
    told = said(tmp_path, main)
    assert told.refused == ""
    assert told.found == []


@pytest.mark.parametrize("seed", range(20, 24))
def test_a_healthy_main_whose_log_does_not_say_what_was_laid_raises_nothing(tmp_path, seed):
    main = laid(seed, bends=6)
    told = said(tmp_path, main, log=main.log.drop(columns=["kind", "bend angle"]))
    assert (told.refused, told.found) == ("", [])


def test_a_ring_main_that_comes_back_to_its_start_raises_nothing(tmp_path):
    angle = np.linspace(0, 2 * np.pi, 101)
    radius = 20 * 100 / (2 * np.pi)
    ring = np.stack([6_700_000 + radius * np.sin(angle), 2_000_000 + radius * np.cos(angle), 150 + 0 * angle], axis=1)
    main = laid(1, joints=101, bends=0, cuts=0)
    main.places = ring
    main.shots[["easting", "northing", "elevation"]] = np.round(ring, 3)
    step = float(np.hypot(*np.diff(ring[:2, :2], axis=0)[0]))
    main.log["station"] = [station(step * at) for at in range(101)]
    told = said(tmp_path, main)
    assert (told.refused, told.found) == ("", [])
    assert "which way the line runs" not in told.notes


def test_a_drawn_line_with_long_straights_and_close_vertices_in_its_curves_raises_nothing(tmp_path):
    main = laid(1, joints=120, bends=0, cuts=0)
    straight = [(6_700_000.0, 2_000_000.0 + 20 * at) for at in range(60)]
    curve = [(6_700_000 + 300 * (1 - np.cos(a)), straight[-1][1] + 300 * np.sin(a)) for a in np.linspace(0.02, 1.4, 60)]
    line = shapely.LineString([straight[0], straight[-1], *curve])
    along = np.arange(0, line.length, 20.0)
    main.places = np.array([[*line.interpolate(one).coords[0], 0.0] for one in along])
    main.log = main.log.iloc[: len(along)].assign(station=[station(one) for one in along])
    told = said(tmp_path, main, line=gpd.GeoDataFrame(geometry=[line], crs=CRS))
    assert (told.refused, told.found) == ("", [])


def test_a_main_in_salt_marsh_keeps_its_zero_elevations(tmp_path):
    main = laid(8, bends=0)
    main.shots["elevation"] = np.round(np.sin(np.arange(len(main.shots)) / 5) * 2, 1)
    told = said(tmp_path, main)
    assert (told.refused, told.found) == ("", [])
