"""Blunders of survey and log, told where they are; healthy mains, of which nothing is told."""

import re
from typing import Any

import blunders
import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from blunders import bust, moved, point, said
from laying import CRS
from survey_mains import laid, station

SEEDS = (1, 2)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", blunders.REFUSED, ids=lambda one: one.__name__)
def test_what_is_certain_to_be_wrong_is_refused_with_the_remedy(tmp_path, blunder, seed):
    main = laid(seed)
    job, message = blunder(main, seed)
    assert re.search(message, said(tmp_path, main, **job).refused)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", blunders.FOUND, ids=lambda one: one.__name__)
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


@pytest.mark.parametrize("seed", SEEDS)
def test_a_shot_shot_again_at_the_end_of_the_day_is_told_by_the_shot_whose_place_it_is(tmp_path, seed):
    """Its number strings it in last, and around a corner the line does not turn back to it as no pipe does."""
    main = laid(seed, bends=0)
    corner, first = main.shots.iloc[70], point(main, 12)
    ahead = main.shots.index > 70
    east, north = (main.shots.loc[ahead, one] - corner[one] for one in ("easting", "northing"))
    main.shots.loc[ahead, "easting"] = corner["easting"] + north
    main.shots.loc[ahead, "northing"] = corner["northing"] - east
    again = main.shots.iloc[[12]].assign(point=9001)
    again["northing"] += 0.02
    main.shots = pd.concat([main.shots, again], ignore_index=True)
    told = said(tmp_path, main)
    found = told.placed.findings.query("code == 'coverage-short'")["message"]
    (message,) = [one for one in found if "nothing was shot" in one]
    assert re.search(rf"point 9001 .*is the place of point {first} .*, shot again, and its number strings", message)
    # Where the survey ends elsewhere, no shot is blamed.
    main.shots.loc[len(main.shots) - 1, "northing"] += 30.0
    found = said(tmp_path, main).placed.findings.query("code == 'coverage-short'")["message"]
    assert any("nothing was shot" in one for one in found)
    assert all("shot again" not in one for one in found)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("blunder", blunders.IN_THE_LOG, ids=lambda one: one.__name__)
def test_what_is_wrong_in_the_log_is_told_at_its_joint_or_row(tmp_path, blunder, seed):
    main = laid(seed)
    job, expected, most = blunder(main, seed)
    told = said(tmp_path, main, **job)
    if isinstance(expected, str):
        assert re.search(expected, told.refused)
        return
    assert told.refused == ""
    code, where = expected
    findings, aside = told.placed.findings, told.placed.set_aside
    hits = [*zip(findings["code"], findings["joint"], strict=True), *zip(aside["reason"], aside["row"], strict=True)]
    assert (code, where) in hits or (
        where is None and (code in {one for one, _ in hits} or re.search(code, told.notes))
    )
    assert not told.off > most


@pytest.mark.parametrize("seed", range(1000, 1012))
def test_two_blunders_at_once_do_not_silence_each_other(tmp_path, seed):
    rng = np.random.default_rng(seed)
    plants = (*blunders.IN_THE_LOG, *blunders.FOUND)
    one, other = (plants[at] for at in rng.choice(len(plants), 2, replace=False))
    main, job = laid(seed), {}
    try:
        for plant in (one, other):
            job |= plant(main, seed)[0]
    except (KeyError, ValueError, TypeError, IndexError):
        pytest.skip(f"{one.__name__} and {other.__name__} cannot be planted in one main")
    told = said(tmp_path, main, **job)
    assert told.refused or len(told.placed.findings) or told.placed.counts["records_set_aside"]
    if told.off > 1.0:
        told_in_notes = {"positions-doubtful", "stations-doubtful"} & {note.code for note in told.placed.notes}
        about_places = {"position-conflict", "order-broken", "joints-missing", "joint-repeated", "spacing-short"}
        assert told.found or told_in_notes or about_places & set(told.placed.findings["code"])


def test_the_table_of_blunders_leaves_none_unsaid(tmp_path):
    table = blunders.rows(tmp_path, 3)
    assert len(table) == len({one.planted for one in table}) >= 60
    assert [one.planted for one in table if not one.said] == []
    # A joint that is placed elsewhere by more than a pipe is one whose station or shot says so, and that is told.
    noted = ("a station equation between", "do not run with it", "the log runs on for")
    far = [one for one in table if (one.off or 0) > 25 and not any(said in one.said for said in noted)]
    assert {one.said.split(":")[0] for one in far} <= {
        "shot-astray", "shot-repeated", "shot-order", "order-broken", "joints-missing", "coverage-short",
        "position-conflict", "equation-ignored", "bend-off-corner", "routes-exchanged", "stations-shifted",
    }  # fmt: skip


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


@pytest.mark.parametrize("seed", range(4))
def test_where_the_one_bend_lies_a_pipe_off_its_corner_no_joint_of_the_route_is_judged_by_shots(tmp_path, seed):
    main = laid(seed, bends=1, cuts=0, noise=0.02)
    sure = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    placed = said(tmp_path, main, centerline={"start_station": 20, **sure}).placed
    assert "bend-off-corner" in set(placed.findings["code"])
    assert set(placed.joints["verdict"]) <= {"cannot-tell", "not-computed"}
    assert not (placed.joints["accuracy_horizontal"] < 19.0).any()
    assert "within" in set(said(tmp_path, main, centerline=sure).placed.joints["verdict"])


@pytest.mark.parametrize("every", [1, 2, 5])
@pytest.mark.parametrize("seed", range(4))
def test_no_pipe_is_over_where_the_shots_before_it_are_doubted(tmp_path, every, seed):
    main = laid(seed, bends=2, every=every)
    healthy = set(said(tmp_path, main).placed.joints.query("verdict == 'over'")["joint"])
    row = len(main.shots) // 2
    east, north = np.diff(main.shots.loc[[row - 1, row + 1], ["easting", "northing"]].to_numpy(), axis=0)[0]
    by = 36.0 * np.array([-north, east]) / np.hypot(east, north)
    main.shots.loc[row, ["easting", "northing"]] += by
    told = said(tmp_path, main)
    assert "shot-astray" in {code for code, _ in told.found}
    assert set(told.placed.joints.query("verdict == 'over'")["joint"]) <= healthy
    ahead = told.placed.findings.query("code == 'deflection-unclear'")["message"]
    assert ahead.str.contains("look at the shots? before the pipe").any()


def test_joints_ahead_of_an_equation_that_the_crew_counted_past_are_not_judged(tmp_path):
    main = laid(3)
    job, *_ = blunders.equation_counted_past(-50.0)(main, 3)
    told = said(tmp_path, main, **job).placed
    (message,) = told.findings.query("code == 'equation-ignored'")["message"]
    assert "counted on past the station equation" in message
    assert "they run 50.00 ft ahead of the pipes laid" in message
    assert "50.00 ft too far ahead: leave the equation out" in message
    assert not any(note.code == "equation-unstated" for note in told.notes)
    ahead = told.joints[told.joints["joint"].astype(int) > 46]
    assert set(ahead["verdict"]) <= {"cannot-tell", "not-computed"}


@pytest.mark.parametrize("by", [50.0, -50.0, -7.0])
def test_an_equation_that_the_crew_went_by_is_not_told(tmp_path, by):
    main = laid(4)
    job, *_ = blunders.equation_counted_past(by)(main, 4)
    for row in range(42, len(main.log)):
        blunders.changed(main, row, station=station(blunders.along(main, row) + by))
    told = said(tmp_path, main, **job)
    assert (told.refused, told.found) == ("", [])
    assert told.off < 0.5


def test_joints_off_their_shots_say_where_the_line_starts(tmp_path):
    told = said(tmp_path, laid(3), centerline={"start_station": -5.0})
    (message,) = told.placed.findings.query("code == 'joints-off-shots'")["message"]
    assert "5.00 ft ahead of the shots" in message
    assert "the line starts at station 0+00.00" in message


def test_stations_along_the_slope_or_on_the_ground_name_a_key_that_settles_them(tmp_path):
    """It named `centerline.stationing`, a key that no job has; and of coordinates on the grid it said nothing."""
    main = laid(3, grade=8.0, cuts=0)
    job, *_ = blunders.stations_along_the_slope(main, 3)
    told = said(tmp_path, main, **job)
    (message,) = told.placed.findings.query("code == 'joints-off-shots'")["message"]
    (key, value) = re.search(r"say (\w+\.\w+) = \"(\w+)\"", message).groups()
    assert (key, value) == ("records.stationing", "slope")
    assert said(tmp_path, main, records={"stationing": "slope"}).found == []
    main = laid(3, cuts=0, joints=200, grade=0.5)
    ground = [station(1.0003 * blunders.along(main, row)) for row in range(200)]
    main.log["station"] = ground
    told = said(tmp_path, main, records={"station_tolerance": 5.0})
    (message,) = told.placed.findings.query("code == 'joints-off-shots'")["message"]
    assert "centerline.combined_factor" in message
    assert said(tmp_path, main, centerline={"combined_factor": 1.0 / 1.0003}).found == []


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("start", [0.0, -5.0])
def test_a_wrong_start_station_is_told_by_the_joints_behind_a_shot_that_lengthens_the_line(tmp_path, seed, start):
    main = laid(seed, bends=0)
    bust(10)(main, seed)
    told = said(tmp_path, main, centerline={"start_station": start})
    codes = {code for code, _ in told.found}
    assert ("joints-off-shots" in codes) == (start != 0.0)
    assert "shot-astray" in codes


def sparse(seed):
    rng = np.random.default_rng(seed)
    spread, noise, every = rng.choice([0.3, 1.0, 2.0]), rng.choice([0.0, 0.02]), int(rng.choice([3, 5]))
    return laid(seed, bends=2, spread=spread, noise=noise, every=every), int(rng.integers(3, 12))


def test_a_shot_beside_the_pipe_of_a_sparse_survey_is_told_by_what_it_makes_the_line_longer(tmp_path):
    hits = 0
    for seed in range(20):
        main, row = sparse(seed)
        assert (said(tmp_path, main).refused, said(tmp_path, main).found) == ("", [])
        leg = np.diff(main.shots.loc[[row - 1, row + 1], ["easting", "northing"]].to_numpy(), axis=0)[0]
        moved(main, row, easting=-5.0 * leg[1] / np.hypot(*leg), northing=5.0 * leg[0] / np.hypot(*leg))
        hits += ("shot-astray", point(main, row)) in said(tmp_path, main).found
    assert hits >= 15


@pytest.mark.parametrize("seed", range(3))
def test_pipe_that_goes_around_something_between_sparse_shots_is_no_shot_astray(tmp_path, seed):
    main = laid(seed, bends=0, spread=0.3, cuts=0)
    flat = np.hypot(*np.diff(main.places[:, :2], axis=0).T)
    swung = np.zeros(len(flat))
    swung[40:47] = np.radians([3.5, 7.0, 3.5, 0.0, -3.5, -7.0, -3.5])
    ahead = np.arctan2(*np.diff(main.places[:, :2], axis=0).T) + swung
    main.places[1:, :2] = main.places[0, :2] + np.cumsum(np.stack([flat * np.sin(ahead), flat * np.cos(ahead)], 1), 0)
    main.shots = main.shots.iloc[::2].reset_index(drop=True)
    main.shots[["easting", "northing"]] = np.round(main.places[::2, :2], 3)
    assert said(tmp_path, main).found == []


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
    "a riser of 30 ft, no other bend": {"riser": 30.0, "bends": 0},
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


# What is said beside a finding, and of whom. --------------------------------------------------------------------------


def over(told, joint):
    """Give what is said of a joint that is over."""
    found = told.placed.findings
    return " ".join(found[(found["code"] == "deflection-over") & (found["joint"] == joint)]["message"])


def test_bends_that_are_all_off_alike_say_to_look_at_the_start_station(tmp_path):
    main = laid(3, bends=3)
    told = said(tmp_path, main, centerline={"start_station": -20})
    (message, *_) = told.placed.findings.query("code == 'bend-off-corner'")["message"]
    assert "look at the start station, centerline.start_station" in message
    assert re.search(r"20\.\d+ ft ahead of (the corner|corners)", message)
    # All joints stand elsewhere: none is blamed, and none is judged.
    assert set(told.placed.joints["verdict"]) <= {"cannot-tell", "not-computed"}


def test_one_bend_off_its_corner_among_others_that_are_not_says_to_look_at_its_row(tmp_path):
    main = laid(2, bends=4)
    blunders.bend_written_a_row_late(main, 2)
    told = said(tmp_path, main)
    (message,) = told.placed.findings.query("code == 'bend-off-corner'")["message"]
    assert "other bends lie at theirs, so look at the station of this one" in message
    assert "start_station" not in message


@pytest.mark.parametrize("seed", range(4))
def test_bends_off_alike_from_one_on_say_to_look_at_the_stations_between(tmp_path, seed):
    main = laid(seed, bends=8)
    turning = np.flatnonzero(pd.to_numeric(main.log["bend angle"], errors="coerce") >= 20)
    for row in range((turning[1] + turning[2]) // 2, len(main.log)):
        blunders.changed(main, row, station=station(blunders.along(main, row) + 35))
    main.log = main.log.iloc[:-3].drop(columns=["joint", "laid length", "cut"])
    told = said(tmp_path, main, records={"covers": "part"})
    messages = told.placed.findings.query("code == 'bend-off-corner'")["message"]
    assert len(messages) >= 2
    assert all(
        re.search(r"all \d farther on that tell are off alike: look at the stations between", one) for one in messages
    )


@pytest.mark.parametrize("seed", range(3))
def test_a_step_of_the_shots_is_told_at_its_shot_and_a_bend_not_logged_is_none(tmp_path, seed):
    main = laid(seed, bends=0)
    blunders.instrument_set_up_anew(main, seed)
    told = said(tmp_path, main)
    (found,) = told.placed.findings.query("code == 'shot-astray'").itertuples()
    assert re.search(r"the line runs about [123]\.\d ft left of where it ran up to point 1040", found.message)
    assert set(told.placed.joints["verdict"][39:41]) == {"cannot-tell"}
    assert "over" not in set(told.placed.joints["verdict"])
    other = laid(seed)
    _, (_, joint), _ = blunders.bend_not_logged(other, seed)
    told = said(tmp_path, other)
    assert over(told, joint)
    assert told.found == []


def test_a_step_between_two_bends_of_the_log_is_theirs(tmp_path):
    main = laid(4, bends=0)
    blunders.rod_changed(6.0)(main, 4)
    assert [code for code, _ in said(tmp_path, main).found] == ["shot-height"]
    main.log["bend plane"] = ""
    for row in (39, 40):
        blunders.changed(main, row, kind="bend", bend_angle="22.5", bend_plane="vertical")
    assert said(tmp_path, main).found == []


def test_a_step_that_the_job_says_was_looked_at_is_of_the_pipe(tmp_path):
    main = laid(1, bends=0)
    blunders.instrument_set_up_anew(main, 1)
    told = said(tmp_path, main, centerline={"shots_checked": [blunders.point(main, 40)]})
    assert told.found == []
    assert over(told, "40") or over(told, "41")


@pytest.mark.parametrize("seed", range(6))
def test_a_line_that_is_short_at_either_end_says_so_once_for_its_route(tmp_path, seed):
    main = laid(seed)
    cut = slice(4, None) if seed % 2 else slice(None, -4)
    main.shots = main.shots.iloc[cut]
    told = said(tmp_path, main)
    (note,) = [one.text for one in told.placed.notes if one.code == "line-short"]
    assert f"the {told.placed.counts['records_set_aside']} joints there are set aside" in note
    # One joint beyond the end is a station to correct, not a line that is short.
    whole = laid(seed)
    whole.shots = whole.shots.iloc[:-1]
    assert not any(one.code == "line-short" for one in said(tmp_path, whole).placed.notes)


@pytest.mark.parametrize("seed", range(4))
def test_bends_tell_at_which_end_of_a_short_line_shots_are_missing(tmp_path, seed):
    main = laid(seed, bends=5)
    bends = pd.to_numeric(main.log["bend angle"], errors="coerce") >= 20
    main.shots = main.shots.iloc[7:]
    told = said(tmp_path, main)
    (note,) = [one.text for one in told.placed.notes if one.code == "line-short"]
    (many,) = re.findall(r"by as much as the log runs on: shots are missing at its (\w+), and all joints", note)
    assert many == "start"
    assert bends.sum() > 1
    assert "ahead of corners of the line that turn so" in note
    # No shot and no pipe is blamed where every joint stands 140 ft from where it was laid.
    assert [code for code, _ in told.found] == ["coverage-short"]
    assert set(told.placed.joints["verdict"]) <= {"cannot-tell", "not-computed"}
    whole = laid(seed, bends=5)
    whole.shots = whole.shots.iloc[:-7]
    (note,) = [one.text for one in said(tmp_path, whole).placed.notes if one.code == "line-short"]
    assert "The other shots are at joints as the stations have them: shots are missing beyond the end" in note


@pytest.mark.parametrize("seed", range(4))
def test_bends_tell_that_what_a_line_has_more_than_its_log_lies_before_its_first_joint(tmp_path, seed):
    main = laid(seed, bends=5)
    main.log = main.log.iloc[7:].drop(columns=["joint", "laid length"])
    main.log["station"] = [station(blunders.along(main, row) - blunders.along(main, 7)) for row in main.log.index]
    told = said(tmp_path, main)
    ((code, _),) = told.found
    (message,) = told.placed.findings.query("code == 'coverage-short'")["message"]
    assert code == "coverage-short"
    assert "the line has that much more at its start than the log, and not at its end, and all joints" in message
    assert "stand that much too far back" in message
    assert set(told.placed.joints["verdict"]) <= {"cannot-tell", "not-computed"}


def test_a_log_that_begins_before_its_line_says_so_with_the_other_way(tmp_path):
    told = said(tmp_path, laid(1), centerline={"start_station": 100.0})
    (note,) = [one.text for one in told.placed.notes if one.code == "line-short"]
    assert "the log runs on for 100.00 ft before the start" in note
    assert "all joints of the route stand 100.00 ft too far back" in note


@pytest.mark.parametrize("how", [{}, {"every": 5}, {"noise": 0.05, "bends": 8}])
@pytest.mark.parametrize("throughout", [True, False])
def test_bends_logged_to_the_other_side_are_told_by_their_side_and_blame_no_joint(tmp_path, throughout, how):
    for seed in range(5):
        main = laid(seed, **how)
        (_, (code, joint), _) = blunders.left_and_right_exchanged(throughout=throughout)(main, seed)
        placed = said(tmp_path, main).placed
        found = placed.findings[placed.findings["code"] == code]
        assert joint in set(found["joint"])
        assert len(found) == (how.get("bends", 4) if throughout else 1)
        assert (
            found["message"].str.contains("are so, as where the crew looked back along the stations").all()
            == throughout
        )
        assert "over" not in set(placed.joints["verdict"])


@pytest.mark.parametrize(
    "how", [{}, {"every": 5}, {"noise": 0.08}, {"bends": 12}, {"noise": 0.05, "every": 4, "spread": 4.0}]
)
def test_bends_logged_to_their_own_side_raise_nothing(tmp_path, how):
    for seed in range(6):
        main = laid(seed, **how)
        blunders.with_sides(main)
        assert "bend-other-way" not in set(said(tmp_path, main).placed.findings["code"])


@pytest.mark.parametrize(("logged", "told"), [(True, False), (False, True)])
def test_two_small_bends_close_together_are_no_place_shot_twice(tmp_path, logged, told):
    """An offset of two bends of 45 deg, 0.8 ft apart: small fittings are so short; common practice, no source."""
    main = laid(5, bends=0)
    along, aside = (
        np.array([main.shots.loc[41, name] - main.shots.loc[40, name] for name in ("easting", "northing")]),
        0.8,
    )
    ahead = along / np.hypot(*along)
    step = aside * np.sqrt(0.5) * np.array([ahead[0] - ahead[1], ahead[0] + ahead[1]])
    again = main.shots.loc[40].copy()
    again["easting"], again["northing"] = again["easting"] + step[0], again["northing"] + step[1]
    again["point"] = again["point"] + 0.5
    main.shots = pd.concat([main.shots, again.to_frame().T]).astype(
        dict.fromkeys(("point", "easting", "northing", "elevation"), float)
    )
    if logged:
        main.log.loc[[40, 41], ["kind", "bend angle"]] = "bend", "45"
    found = said(tmp_path, main).found
    assert ("shot-repeated" in {code for code, _ in found}) == told


@pytest.mark.parametrize("start", [0.0, 5.0])
@pytest.mark.parametrize("side", [0.5, 0.8, 1.5])
def test_joints_shot_on_either_side_of_their_bells_are_not_off_their_shots(tmp_path, side, start):
    """All were told to lie 0.8 ft ahead of their shots, and their start station to be wrong."""
    main = laid(4, bends=0, cuts=0)
    along = 20.0 * np.arange(90)
    at = np.union1d(np.concatenate([along[1:-1] - side, along[1:-1] + side]), along[[0, -1]])
    places = [np.interp(at, along, one) for one in main.places.T]
    shots = pd.DataFrame({
        "point": 1001 + np.arange(len(at)), "northing": places[1], "easting": places[0], "elevation": places[2],
        "description": "WM-A TOP",
    })  # fmt: skip
    main.shots = shots.round(3)
    told = said(tmp_path, main, centerline={"start_station": -start}, records={"station_tolerance": 10.0})
    assert ("joints-off-shots" in {code for code, _ in told.found}) == (start != 0.0)
