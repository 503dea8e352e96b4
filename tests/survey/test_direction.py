"""Which way a line runs, by its log: mains drawn right are never refused, and no chance fit passes for proof."""

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import pytest
import shapely

import asbuilt

PIPE = 20.0
ASKED = "nothing in the data tells which way the line runs"
REFUSED = "is drawn against its stations"
DOUBTED = "pipe curved there by its joints may look so, too"


def curved(turns, lengths):
    """Walk along pipes of some lengths, turning by some degrees before each; shape (pipes + 1, 2)."""
    heading = np.radians(np.cumsum(turns))
    steps = np.stack([np.sin(heading), np.cos(heading)], axis=1) * np.asarray(lengths)[:, None]
    return np.array([6_700_000.0, 2_000_000.0]) + np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])


def placed(places, shots, stations, bends=None, **key):
    """Place joints by stations on the line through some of their places; the result, or what refused it."""
    line = gpd.GeoDataFrame(geometry=[shapely.LineString(places[shots])], crs="EPSG:6418")
    angle = np.zeros(len(stations)) if bends is None else np.asarray(bends, float)
    log = pd.DataFrame({
        "joint": np.arange(len(stations)), "station": np.round(stations, 2),
        "kind": np.where(angle > 0, "bend", "pipe"), "bend angle": [str(one) if one else "" for one in angle],
    })  # fmt: skip
    job = asbuilt.Job.from_mapping({
        "name": "Lantern Row main", "centerline": {"start_station": 0.0, **key},
        "records": {"station_unit": "us-ft", "laying_length": PIPE, "station_format": "decimal",
                    "station_tolerance": 60.0},
    })  # fmt: skip
    try:
        placement = asbuilt.place(job, centerline=line, records=log)
        return " ".join([*(note.text for note in placement.notes), *placement.findings["message"]])
    except asbuilt.InputFileError as error:
        return str(error)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("drift", [0.0, 0.1])
def test_a_main_of_one_laying_length_drawn_right_is_never_refused(seed, drift):
    """Its joints lie alike from either end; eight of a hundred such mains were once refused as drawn backwards."""
    chance = np.random.default_rng([seed, 1])
    places = curved(chance.uniform(0.0, 3.0, 50), np.full(50, PIPE))
    shots = np.unique(np.concatenate([[0, 50], chance.choice(np.arange(1, 50), 14, replace=False)]))
    stations = np.arange(51) * PIPE + chance.normal(0.0, drift, 51)
    for way in (slice(None), slice(None, None, -1)):
        assert ASKED in placed(places[way], shots if way.step is None else np.sort(50 - shots), stations)


@pytest.mark.parametrize("seed", range(12))
def test_uneven_lengths_shot_at_the_joints_tell_the_direction(seed):
    chance = np.random.default_rng([seed, 2])
    lengths = chance.uniform(0.5 * PIPE, PIPE, 50)
    places = curved(chance.normal(0.0, 1.0, 50), lengths)
    stations = np.concatenate([[0.0], np.cumsum(lengths)])
    right = placed(places, np.arange(51), stations)
    assert ASKED not in right
    assert REFUSED not in right
    # Whoever says that the line is drawn from where its stations start is told that it is not.
    for key in ({}, {"starts": "as-drawn"}):
        assert "shots lie at the joints" in placed(places[::-1], np.arange(51), stations, **key)


def test_bends_that_lie_alike_from_either_end_are_no_proof():
    """A line drawn backwards with bends at 200, 400, 600 and 800 of 1,000 ft passed for one drawn right."""
    bends = np.zeros(51)
    bends[[10, 20, 30, 40]] = 45.0
    turns = np.where(bends[:50] > 0, 45.0, 0.0) * np.where(np.arange(50) % 20 < 10, -1.0, 1.0)
    places = curved(turns, np.full(50, PIPE))
    for way in (1, -1):
        assert ASKED in placed(places[::way], np.arange(51), np.arange(51) * PIPE, bends)


@pytest.mark.parametrize("joint", [7, 12, 18])
def test_a_bend_off_the_middle_tells_the_direction(joint):
    bends = np.zeros(51)
    bends[joint] = 45.0
    places = curved(bends[:50], np.full(50, PIPE))
    assert ASKED not in placed(places, np.arange(51), np.arange(51) * PIPE, bends)
    assert "turns by the bends" in placed(places[::-1], np.arange(51), np.arange(51) * PIPE, bends)


def test_a_curve_that_turns_as_much_as_a_small_bend_refuses_nothing():
    """A bend that no shot shows, on a main that curves at the place where the bend would be from the other end."""
    bends = np.zeros(51)
    bends[10] = 11.25
    turns = np.where((np.arange(50) > 36) & (np.arange(50) < 44), 3.0, 0.0)
    assert ASKED in placed(curved(turns, np.full(50, PIPE)), np.arange(51), np.arange(51) * PIPE, bends)


@pytest.mark.parametrize("joint", [22, 23, 26, 27])
def test_a_bend_near_the_middle_tells_the_direction(joint):
    """A line drawn backwards was accepted, and one drawn right was asked about, with its bend more than a pipe off."""
    bends = np.zeros(50)
    bends[joint] = 22.5
    places = curved(bends[:49] + np.random.default_rng(joint).uniform(-1.2, 1.2, 49), np.full(49, PIPE))
    right = placed(places, np.arange(50), np.arange(50) * PIPE, bends)
    assert ASKED not in right
    assert REFUSED not in right
    told = placed(places[::-1], np.arange(50), np.arange(50) * PIPE, bends)
    assert REFUSED in told
    off = abs(49 - 2 * joint) * PIPE
    assert off > 1.5 * 2 * PIPE or f"0.0 ft off, and {off:.1f} ft as it is drawn" in told


def test_a_bend_one_pipe_from_its_place_tells_no_direction():
    """A start station that is wrong by a pipe looks the same."""
    bends = np.zeros(50)
    bends[24] = 22.5
    places = curved(bends[:49], np.full(49, PIPE))
    assert ASKED in placed(places[::-1], np.arange(50), np.arange(50) * PIPE, bends)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("every", [1, 3, 10])
def test_a_main_with_a_bend_near_its_middle_drawn_right_is_never_refused(seed, every):
    chance = np.random.default_rng([seed, every])
    joint = int(chance.integers(20, 31))
    bends = np.zeros(51)
    bends[joint] = chance.choice([22.5, 45.0])
    places = curved(bends[:50] + chance.uniform(-2.0, 2.0, 50), np.full(50, PIPE))
    stations = np.arange(51) * PIPE * (1 + chance.normal(0.0, 0.002))
    assert REFUSED not in placed(places, np.arange(0, 51, every), stations, bends)


@pytest.mark.parametrize("angle", [22.5, 45.0])
def test_bends_between_sparse_shots_that_fit_from_either_end_are_no_proof(angle):
    """Bends at joints 7 and 34 of 44, shot at every fifth: from the other end they lie two pipes off, and one of them
    turns a shot nearby. Where it lies by the other end both shots were out of reach, so the main drawn backwards passed
    in silence, its joints up to 860 ft off."""
    bends = np.zeros(44)
    bends[[7, 34]] = angle
    places = curved(bends[:43], np.full(43, PIPE))
    backwards = 43 - np.append(np.arange(0, 43, 5), 43)[::-1]
    assert ASKED in placed(places[::-1], backwards, np.arange(44) * PIPE, bends)


def test_shots_in_the_wrong_order_are_not_told_as_a_line_drawn_backwards():
    """Two exchanged shots put the bend two pipes off; from the other end it was nearer, and fitted neither."""
    lengths = np.full(49, PIPE)
    lengths[0] = 12.0
    bends = np.zeros(50)
    bends[24] = 22.5
    places, order = curved(bends[:49], lengths), np.arange(50)
    order[[14, 15]] = 15, 14
    told = placed(places, order, np.concatenate([[0.0], np.cumsum(lengths)]), bends)
    assert REFUSED not in told
    assert ASKED not in told


def test_a_bend_far_from_either_shot_beside_it_is_not_sought_at_the_other_end():
    """Of shots 160 ft apart, those beside a bend turn by a part of it each; a curve near its place from the other end
    turned one shot by as much as the bend, and the main, drawn right, was refused: one of 1,500 simulated ones was."""
    bends = np.zeros(51)
    bends[11] = 22.5
    turns = bends[:50] + np.where(np.abs(np.arange(50) - 40) < 7, 2.5, 0.0)
    shots = np.append(np.arange(0, 49, 8), 50)
    assert REFUSED not in placed(curved(turns, np.full(50, PIPE)), shots, np.arange(51) * PIPE, bends)


def test_where_joints_that_all_lie_off_would_tell_as_much_the_first_shot_is_named_too():
    """The first two shots lost, of a main whose bend is in the middle."""
    bends = np.zeros(51)
    bends[25] = 22.5
    places, stations = curved(bends[:50], np.full(50, PIPE)), np.arange(51) * PIPE
    told = placed(places, np.arange(2, 51), stations, bends)
    assert DOUBTED in told
    assert REFUSED not in told
    assert "Its bends fit as well if every joint lies 40.0 ft farther back: see, too, whether a shot at its" in told
    bends[[10, 25]] = 45.0, 0.0
    backwards = placed(curved(bends[:50], np.full(50, PIPE))[::-1], np.arange(51), stations, bends)
    assert REFUSED in backwards
    assert "fit as well" not in backwards


THIRD = np.append(np.arange(0, 51, 3), 50)
"""The joints of 51 that were shot: each third, and the last."""


def risen(turns, slopes):
    """Walk along pipes of one length, by what each turns and by its slope, degrees; shape (pipes + 1, 3)."""
    slope = np.radians(slopes)
    flat = curved(turns, PIPE * np.cos(slope))
    return np.column_stack([flat, 500.0 + np.concatenate([[0.0], np.cumsum(PIPE * np.sin(slope))])])


def upright_on_a_curve():
    """A bend of 22.5 degrees at joint 12 that leads down, and a curve at the place as far from the other end."""
    bends = np.zeros(51)
    bends[12] = 22.5
    turns = np.where(np.abs(np.arange(50) - 38) < 4, 4.0, 0.0)
    slopes = np.where(np.arange(50) < 12, 8.0, -14.5)
    return risen(turns, slopes), bends


def stations_of(places):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places[:, :2], axis=0).T))])


def test_a_main_whose_bend_is_upright_is_not_told_to_be_drawn_backward_by_a_curve():
    """A simulated main of rolled bends, drawn right, was refused: its bend turned the line down and not aside."""
    places, bends = upright_on_a_curve()
    told = placed(places, THIRD, stations_of(places), bends)
    assert REFUSED not in told
    assert DOUBTED not in told


def test_where_nothing_shows_that_a_bend_is_upright_the_line_is_doubted_and_not_refused():
    """Without elevations a main drawn right looks as one that is drawn backward does: both are doubted."""
    places, bends = upright_on_a_curve()
    right = placed(places[:, :2], THIRD, stations_of(places), bends)
    assert DOUBTED in right
    assert REFUSED not in right
    flat = curved(np.where(bends[:50] > 0, 22.5, 0.0), np.full(50, PIPE))
    assert DOUBTED in placed(flat[::-1], THIRD, stations_of(flat), bends)


def test_lines_that_are_doubted_have_no_accuracy_and_no_verdict():
    places, bends = upright_on_a_curve()
    line = gpd.GeoDataFrame(geometry=[shapely.LineString(places[THIRD, :2])], crs="EPSG:6418")
    log = pd.DataFrame({
        "joint": np.arange(51), "station": np.round(stations_of(places), 2), "size": "12", "joint type": "push-on",
        "kind": np.where(bends > 0, "bend", "pipe"), "bend angle": [str(one) if one else "" for one in bends],
    })  # fmt: skip
    centerline = {"start_station": 0.0, "sigma_horizontal": 0.03, "source": "survey"}
    values = {
        "name": "Lantern Row main",
        "records": {"station_unit": "us-ft", "laying_length": PIPE, "station_format": "decimal", "sigma_station": 0.1,
                    "station_tolerance": 60.0},
        "limits": {"table": "awwa-c600"},
    }  # fmt: skip
    job = asbuilt.Job.from_mapping({**values, "centerline": centerline})
    doubted = asbuilt.place(job, centerline=line, records=log).joints
    assert doubted["accuracy_horizontal"].isna().all()
    assert not doubted["verdict"].isin(["within", "within-assumed", "over"]).any()
    job = asbuilt.Job.from_mapping({**values, "centerline": {**centerline, "starts": "south"}})
    settled = asbuilt.place(job, centerline=line, records=log)
    assert DOUBTED not in " ".join(settled.findings["message"])


@pytest.mark.parametrize("plane", ["down", "up", "V", "0", ""])
def test_what_a_log_says_of_the_plane_of_a_bend_is_gone_by(plane):
    """A bend that leads down turns the line nowhere in plan, however its plane is written."""
    bends = np.zeros(51)
    bends[12] = 45.0
    # A corner of its angle stands two pipes ahead of it, which no bend of the log explains.
    places = curved(np.where(np.arange(50) == 14, 45.0, 0.0), np.full(50, PIPE))
    line = gpd.GeoDataFrame(geometry=[shapely.LineString(places)], crs="EPSG:6418")
    log = pd.DataFrame({
        "joint": np.arange(51), "station": np.arange(51) * PIPE, "kind": np.where(bends > 0, "bend", "pipe"),
        "bend angle": [str(one) if one else "" for one in bends], "plane": np.where(bends > 0, plane, ""),
    })  # fmt: skip
    job = asbuilt.Job.from_mapping({
        "name": "Lantern Row main", "centerline": {"start_station": 0.0},
        "records": {"station_unit": "us-ft", "laying_length": PIPE, "station_format": "decimal"},
    })  # fmt: skip
    found = asbuilt.place(job, centerline=line, records=log).findings
    assert ("bend-off-corner" in set(found["code"])) == (plane == "")


ODD = np.array([20.0, 20.0, 12.0, *[20.0] * 30])
"""Lengths of pipes of which one was cut: from the other end, joints stand elsewhere."""
ACCURACIES = ("accuracy_horizontal", "accuracy_vertical", "sigma_horizontal")


def untold(turns, lengths=None, *, way=1, told=False, every=1, heights=True, **columns):
    """Place a main without logged bends, drawn as it was laid, or backward; give its joints and where each was laid."""
    lengths = np.full(len(turns) + 1, PIPE) if lengths is None else lengths
    points = np.column_stack([curved([0.0, *turns], lengths), np.linspace(100.0, 103.0, len(lengths) + 1)])
    log = laying.log(points, joint=[str(at) for at in range(len(points))], **columns)
    shots = points[::-1][::every] if way < 0 else points[::every]
    line = laying.lines(A=shots if heights else shots[:, :2])
    job = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03, "source": "survey", **laying.LOOKED_AT}
    return laying.place(line, log, told=told, centerline=job, records={"sigma_station": 0.1}), points


@pytest.mark.parametrize("heights", [True, False])
@pytest.mark.parametrize("every", [1, 3])
def test_while_nothing_tells_which_way_a_line_runs_no_accuracy_is_stated(every, heights):
    """Of 400 random mains drawn backward 200 were asked and 93 of them stated accuracies, 6,155 of 6,233 too small."""
    for way in (1, -1):
        found, points = untold(np.random.default_rng(3).uniform(-1.0, 1.0, 32), way=way, every=every, heights=heights)
        assert "direction-untold" in {note.code for note in found.notes}
        joints = found.joints
        assert joints[list(ACCURACIES)].isna().all().all()
        assert set(joints["accuracy_source"]) == {
            "nothing in the data tells which way the line runs, so that a joint may lie as far from its other end"
        }
        laid = points[joints["joint"].astype(int)]
        off = np.hypot(joints["easting"] - laid[:, 0], joints["northing"] - laid[:, 1])
        assert off.max() < 0.5 if way > 0 else off.max() > 600.0
    told, _ = untold(np.random.default_rng(3).uniform(-1.0, 1.0, 32), told=True, every=every, heights=heights)
    assert told.joints[["accuracy_horizontal", "sigma_horizontal"]].notna().all().all()


def test_a_verdict_that_the_survey_gives_either_way_stands_and_others_assume_where_the_line_starts():
    """Joint 8 of 34 turns 7 of 5 degrees allowed; drawn backward that is joint 25."""
    turns = np.zeros(32)
    turns[7] = 7.0
    alike = {}
    for way, over, other in ((1, "8", "25"), (-1, "25", "8")):
        found, _ = untold(turns, way=way)
        joints = found.joints.set_index("joint")
        assert joints.loc[over, ["verdict", "verdict_assumes"]].tolist() == ["over", "line-start"]
        assert joints.loc[other, ["verdict", "verdict_assumes"]].tolist() == ["within-assumed", "line-start"]
        rest = joints.drop(index=["0", "8", "25", "33"])
        assert set(rest["verdict"]) == {"within"}
        assert rest["verdict_assumes"].isna().all()
        alike[way] = rest["verdict"].sort_index().tolist()
        (message,) = found.findings.loc[found.findings["code"] == "deflection-over", "message"]
        assert "which nothing in the data tells" in message
    assert alike[1] == alike[-1]
    told, _ = untold(turns, told=True)
    assert told.joints["verdict_assumes"].isna().all()


def test_where_joints_stand_elsewhere_from_the_other_end_no_verdict_by_the_survey_stands():
    found, _ = untold(np.zeros(32), ODD, every=3)
    judged = found.joints[found.joints["verdict"].isin(["within", "within-assumed", "over"])]
    assert len(judged) > 20
    assert judged["verdict_assumes"].str.contains("line-start").all()
    assert not (judged["verdict"] == "within").any()


def test_a_joint_that_allows_less_is_not_within_by_the_turn_of_another():
    """A joint of 24 inches, of 3 degrees, stands where one of 12 inches, of 5 degrees, would stand the other way."""
    sizes = np.full(34, "12", dtype=object)
    sizes[8] = "24"
    joints = untold(np.full(32, 0.1), size=sizes)[0].joints
    judged = joints[joints["verdict"].isin(["within", "within-assumed"])]
    assert set(judged["verdict_assumes"]) == {"line-start"}


def test_a_verdict_by_readings_alone_stands_whichever_way_the_line_runs():
    """Shot at every third joint, and read at joint 20. A reading raises ceilings around it, so the others assume."""
    even = np.full(34, "", dtype=object)
    even[20] = "1.0"
    gaps = {f"gap {hour}": even for hour in (12, 3, 6, 9)}
    joints = untold(np.random.default_rng(3).uniform(-1.0, 1.0, 32), every=3, **gaps)[0].joints.set_index("joint")
    assert joints.loc["20", "deflection_source"] == "readings"
    assert joints.loc["20", "verdict"] == "within"
    assert joints["verdict_assumes"].dropna().str.contains("line-start").all()


@pytest.mark.parametrize("way", ["starts", "as-drawn", "reversed"])
def test_who_says_which_way_a_line_runs_is_not_asked_again(way):
    """The note names both keys; a route named in centerline.reversed was asked about for ever."""
    places = curved(np.zeros(33), np.full(33, PIPE))
    line = laying.lines(A=places[::-1] if way == "reversed" else places)
    log = laying.log(np.column_stack([places, np.full(34, 50.0)]))
    key = {"starts": {"starts": "south"}, "as-drawn": {"starts": "as-drawn"}, "reversed": {"reversed": ["A"]}}[way]
    found = laying.place(line, log, told=False, centerline=key)
    assert "direction-untold" not in {note.code for note in found.notes}
    assert found.joints["northing"].iloc[0] == pytest.approx(laying.NORTH)


def test_stakes_of_a_line_whose_direction_nothing_tells_are_marked_as_doubted():
    turns = np.zeros(32)
    turns[7] = 7.0
    found, _ = untold(turns)
    (length,) = found.counts["places_doubted"]["A"]
    assert length["code"] == "direction-untold"
    assert (length["from"], length["to"]) == (0.0, pytest.approx(33 * PIPE))
    assert not length["misplaced"]
    assert untold(turns, told=True)[0].counts["places_doubted"] == {}
