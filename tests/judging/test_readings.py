"""Readings at the joint: against a spigot tilted in space, other least-squares solvers, and repeated reading."""

import re

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from laying import EAST, NORTH, codes, lines, log, pipe, place, values
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation
from scipy.stats import chi2

import asbuilt
from asbuilt.judging import bounds
from asbuilt.judging.readings import CHI_SQUARE_999, clock_angles, components, deflections, fitted, residual_limit

OUTSIDE = 13.20  # inches; 12 in pipe, AWWA C151 (from memory)
QUARTERS = [12, 3, 6, 9]
HOURS = [12, *range(1, 12)]
POINTS = pipe([0.0] * 5)
AHEAD, UP, RIGHT = np.eye(3)


def tilted(deflection, toward, gap, hours, outside=OUTSIDE):
    """Read the gaps of a spigot that enters a bell askew: where lines along its wall meet the plane of the bell's face.

    The bell faces ahead; its face is the plane square to `AHEAD` through the origin. The spigot's axis is turned by
    `deflection` degrees toward the clock position `toward` (degrees), and its mark lies `gap` along that axis.
    """
    clock = np.radians(toward)
    side = np.cos(clock) * UP + np.sin(clock) * RIGHT
    turn = Rotation.from_rotvec(np.radians(deflection) * np.cross(AHEAD, side))
    axis = turn.apply(AHEAD)
    angles = np.radians(30.0 * np.array(hours))
    wall = outside / 2 * turn.apply(np.outer(np.cos(angles), UP) + np.outer(np.sin(angles), RIGHT))
    mark = gap * axis + wall
    return (mark @ AHEAD) / (axis @ AHEAD)  # along the wall, from the mark back to the plane of the face


def measured(gaps, hours=QUARTERS, outside=OUTSIDE, sigma=1 / 16):
    fit = fitted(np.atleast_2d(gaps), clock_angles(hours))
    return fit, *deflections(fit, np.full(len(fit.mean), outside), sigma)


@pytest.mark.parametrize("hours", [QUARTERS, [12, 4, 8], [12, 3, 6], [1, 2, 3], HOURS])
@pytest.mark.parametrize("toward", [0.0, 90.0, 137.0, 270.0, 359.0])
@pytest.mark.parametrize("deflection", [0.01, 1.0, 5.0, 8.3])
def test_a_spigot_tilted_in_space_is_measured_as_it_lies(deflection, toward, hours):
    fit, found, direction, _, _ = measured(tilted(deflection, toward, 2.0, hours), hours)
    assert found[0] == pytest.approx(deflection, abs=1e-9)
    assert 0 <= direction[0] < 360
    assert (direction[0] - toward + 180) % 360 == pytest.approx(180.0, abs=1e-6)
    assert fit.mean[0] == pytest.approx(2.0, abs=1e-9)
    if len(hours) > 3:
        assert fit.residual[0] == pytest.approx(0.0, abs=1e-12)


def test_the_pipe_ahead_turns_away_from_the_widest_gap():
    # Common practice, no source: the joint opens on the outside of the curve.
    _, found, direction, _, _ = measured([2.0, 1.5, 2.0, 2.5])
    assert (found[0], direction[0]) == (pytest.approx(np.degrees(np.arctan(0.5 / 6.6))), pytest.approx(90.0))


def test_even_readings_are_a_straight_joint_without_direction():
    fit, found, direction, sigma, _ = measured([[2.1] * 4, [0.0] * 4])
    assert found.tolist() == [0.0, 0.0]
    assert np.isnan(direction).all()
    assert fit.residual == pytest.approx([0.0, 0.0])
    # Four positions, a reading to 1/16 in on 13.20 in pipe: 1/16 / sqrt(2) over 6.60 in, a closed form.
    assert sigma == pytest.approx(np.degrees(1 / 16 / np.sqrt(2) / 6.6))


GAPS = st.floats(-1.0, 5.0).map(lambda gap: round(gap, 3))


@given(st.lists(st.lists(st.one_of(GAPS, st.none()), min_size=12, max_size=12), min_size=1, max_size=8))
def test_every_joint_is_fitted_as_numpy_fits_it_alone(rows):
    gaps = np.array([[np.nan if gap is None else gap for gap in row] for row in rows])
    fit = fitted(gaps, clock_angles(HOURS))
    design = np.stack([np.ones(12), np.cos(clock_angles(HOURS)), np.sin(clock_angles(HOURS))], axis=1)
    for at, row in enumerate(gaps):
        here = np.isfinite(row)
        assert fit.positions[at] == here.sum()
        if here.sum() < 3:
            assert np.isnan(fit.amplitude[at])
            continue
        (mean, up, right), *_ = np.linalg.lstsq(design[here], row[here], rcond=None)
        assert fit.mean[at] == pytest.approx(mean, abs=1e-9)
        assert fit.amplitude[at] == pytest.approx(np.hypot(up, right), abs=2e-8)
        if here.sum() == 3:
            assert np.isnan(fit.residual[at])
        else:
            left = row[here] - design[here] @ [mean, up, right]
            assert fit.residual[at] == pytest.approx(np.sqrt(np.mean(left**2)), abs=1e-9)


def test_scipy_finds_the_same_deflection_without_a_linear_form():
    random = np.random.default_rng(3)
    gaps = 2.0 + random.normal(0, 0.2, 12)
    fit, found, direction, _, _ = measured(gaps, HOURS)

    def left(unknown):
        gap, angle, toward = unknown
        return tilted(np.degrees(angle), np.degrees(toward), gap, HOURS) - gaps

    best = least_squares(left, [2.0, 0.02, 1.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    gap, angle, toward = best.x
    angle, toward = (angle, toward) if angle > 0 else (-angle, toward + np.pi)
    assert found[0] == pytest.approx(np.degrees(angle), abs=1e-6)
    assert direction[0] == pytest.approx(np.degrees(toward) % 360, abs=1e-4)
    assert fit.mean[0] == pytest.approx(gap, abs=1e-8)
    assert fit.residual[0] == pytest.approx(np.sqrt(np.mean(best.fun**2)), abs=1e-9)


@given(st.lists(GAPS, min_size=12, max_size=12), st.integers(0, 11), st.sets(st.integers(0, 11), min_size=3))
def test_turning_the_clock_turns_the_direction_and_nothing_else(row, hours, read):
    gaps = np.where([at in read for at in range(12)], row, np.nan)
    fit, found, direction, sigma, across = measured(gaps, HOURS)
    assume(fit.amplitude[0] > 1e-3)
    turned_fit, turned, turned_direction, turned_sigma, turned_across = measured(np.roll(gaps, hours), HOURS)
    assert turned[0] == pytest.approx(found[0], abs=1e-7)
    assert (turned_direction[0] - direction[0] - 30 * hours + 180) % 360 == pytest.approx(180, abs=1e-3)
    assert turned_fit.mean[0] == pytest.approx(fit.mean[0], abs=1e-9)
    assert (turned_sigma[0], turned_across[0]) == pytest.approx((sigma[0], across[0]), rel=1e-4, abs=1e-6)


@given(st.lists(GAPS, min_size=4, max_size=4))
def test_the_unit_does_not_change_the_deflection(gaps):
    fit, found, direction, *sigmas = measured(gaps)
    in_mm = measured(25.4 * np.array(gaps), outside=25.4 * OUTSIDE, sigma=25.4 / 16)
    for one, other in zip((found, *sigmas), (in_mm[1], *in_mm[3:]), strict=True):
        np.testing.assert_allclose(one, other, atol=1e-6)
    # 360 degrees are 0.
    np.testing.assert_allclose((direction - in_mm[2] + 180) % 360, 180 + 0 * direction, atol=1e-6)
    np.testing.assert_allclose(25.4 * fit.mean, in_mm[0].mean, atol=1e-9)


@given(st.floats(0.1, 8.0), st.floats(0.0, 359.9), st.floats(-0.5, 0.5))
def test_pushing_the_spigot_home_changes_the_mean_alone(deflection, toward, push):
    gaps = tilted(deflection, toward, 2.0, QUARTERS)
    before, after = measured(gaps), measured(gaps + push)
    assert after[1][0] == pytest.approx(before[1][0], abs=1e-9)
    assert after[0].mean[0] - before[0].mean[0] == pytest.approx(push, abs=1e-12)


@pytest.mark.parametrize("hours", [QUARTERS, [12, 4, 8], [12, 3, 6], [10, 12, 1, 2], HOURS])
@pytest.mark.parametrize("toward", [0.0, 45.0, 100.0])
def test_the_stated_error_is_that_of_repeated_reading(hours, toward):
    random = np.random.default_rng(11)
    gaps = tilted(4.0, toward, 2.0, hours) + random.normal(0, 1 / 64, (40_000, len(hours)))
    fit, found, direction, _, _ = measured(gaps, hours, sigma=1 / 64)
    _, _, _, stated, stated_across = measured(tilted(4.0, toward, 2.0, hours), hours, sigma=1 / 64)
    assert np.std(found) == pytest.approx(stated[0], rel=0.05)
    assert np.std(fit.mean) == pytest.approx(fit.mean_factor[0] / 64, rel=0.05)
    square = np.degrees(np.sin(np.radians(found)) * np.sin(np.radians(direction - toward)))
    assert np.std(square) == pytest.approx(stated_across[0], rel=0.05)


def test_a_deflection_lies_in_its_bounds_as_often_as_stated():
    # Read to 1/16 in, so that one sigma is 0.38 deg: at 95 % one-sided, the truth passes each bound 5 times in 100.
    random = np.random.default_rng(12)
    for deflection in (0.0, 0.3, 1.0, 4.0):
        gaps = tilted(deflection, 20.0, 2.0, QUARTERS) + random.normal(0, 1 / 16, (2_000, 4))
        records = pd.concat([log(POINTS).iloc[[0]]] * len(gaps), ignore_index=True)
        records["joint"] = [str(number) for number in range(len(gaps))]
        for hour, column in zip(QUARTERS, gaps.T, strict=True):
            records[f"Gap {hour}"] = column
        readings = placed(records).judged.readings
        limit = np.full(len(gaps), np.radians(deflection))
        factor = bounds.factor_outside(readings.vector, limit, 0.95)
        assert np.mean(bounds.most(readings.vector, 1.645) < limit) < 0.06
        assert np.mean(bounds.least(readings.vector, factor) > limit) < 0.06


def test_two_readings_across_from_one_another_give_the_mean_alone():
    fit = fitted(np.array([[2.3, np.nan, 1.7, np.nan], [2.3, 1.7, np.nan, np.nan]]), clock_angles(QUARTERS))
    np.testing.assert_allclose(fit.mean, [2.0, np.nan])
    assert np.isnan(fit.amplitude).all()


def test_components_are_those_of_the_compound_bend_relation():
    # Textbook (from memory), with a level pipe back: cos(turn) = cos(horizontal) cos(vertical).
    deflection, toward = np.array([0.5, 3.0, 8.0, 8.0]), np.array([10.0, 135.0, 225.0, 300.0])
    horizontal, vertical = components(deflection, toward)
    product = np.cos(np.radians(horizontal)) * np.cos(np.radians(vertical))
    np.testing.assert_allclose(np.degrees(np.arccos(product)), deflection, atol=1e-9)
    assert np.sign(horizontal).tolist() == [1, 1, -1, -1]
    assert np.sign(vertical).tolist() == [1, -1, -1, 1]


def test_the_chi_square_limits_are_those_of_scipy():
    np.testing.assert_allclose(CHI_SQUARE_999, chi2.ppf(0.999, np.arange(1, 10)), atol=6e-4)


@pytest.mark.parametrize("hours", [QUARTERS, [12, 2, 4, 6, 8, 10], HOURS])
def test_good_readings_pass_the_limit_of_the_residual_once_in_a_thousand(hours):
    random = np.random.default_rng(5)
    fit, *_ = measured(tilted(3.0, 70.0, 2.0, hours) + random.normal(0, 0.05, (200_000, len(hours))), hours)
    share = np.mean(fit.residual > residual_limit(fit.freedom, fit.positions, 0.05))
    assert share == pytest.approx(0.001, abs=0.0003)


# Through the whole job


def with_gaps(gaps, hours=QUARTERS, row=3, points=POINTS, name="Gap", **more):
    columns = {f"{name} {hour}": [None] * len(points) for hour in hours}
    for hour, gap in zip(hours, gaps, strict=True):
        columns[f"{name} {hour}"][row] = gap
    return log(points, **columns, **more)


def placed(log, points=POINTS, **tables):
    """Place a log; `records` and the like are tables of the job."""
    return place(lines(A=points), log, **tables)


def test_readings_become_a_deflection_on_the_joints_layer():
    placement = placed(with_gaps(["2 1/4", "2", '1-3/4"', "2.0 in"]))
    joints = placement.joints
    assert joints["measured_deg"].notna().tolist() == [False] * 3 + [True] + [False] * 3
    joint = joints.iloc[3]
    assert joint["measured_deg"] == pytest.approx(np.degrees(np.arctan(0.25 / 6.6)))
    assert joint["measured_direction_deg"] == pytest.approx(180.0)
    assert (joint["gap_mean"], joint["gap_residual"]) == (pytest.approx(2.0), pytest.approx(0.0, abs=1e-12))
    # Of a length with errors s alike both ways: s^2 - s^4 / (2 d^2), to second order (Rice distribution, textbook).
    alone = np.degrees(1 / 16 / np.sqrt(2) / 6.6)
    spread = np.sqrt(alone**2 - alone**4 / (2.0 * joint["measured_deg"] ** 2))
    assert joint["sigma_measured_deg"] == pytest.approx(spread, rel=2e-3)
    assert placement.inspections["gap_12"].tolist()[3] == 2.25
    assert codes(placement) == []


def test_any_hours_of_the_clock_may_be_read():
    gaps = tilted(3.0, 200.0, 2.0, [1, 5, 8, 10])
    joint = placed(with_gaps([f"{gap:.9f}" for gap in gaps], [1, 5, 8, 10])).joints.iloc[3]
    assert joint["measured_deg"] == pytest.approx(3.0, abs=1e-6)
    assert joint["measured_direction_deg"] == pytest.approx(200.0, abs=1e-4)


def test_metric_jobs_read_millimetres_on_the_diameters_of_en_545():
    # DN 300 is 326 mm outside: ISO 2531 / EN 545 (from memory).
    points = pipe([0.0] * 5, length=6.0) - [EAST - 656_000, NORTH - 4_307_000, 0]
    records = with_gaps([56.0, 50.0, "44 mm", "50"], points=points)
    records["size"], records["station"] = "300", [f"0+{6 * at:03d}.000" for at in range(7)]
    job = asbuilt.Job.from_mapping(
        values(records={"station_unit": "m", "laying_length": 6.0}) | {"limits": {"table": "en-545"}}
    )
    line = gpd.GeoDataFrame(lines(A=points)).set_crs("EPSG:6339", allow_override=True)
    placement = asbuilt.place(job, centerline=line, records=records)
    assert placement.joints["measured_deg"][3] == pytest.approx(np.degrees(np.arctan(6 / 163)))
    assert any("EN 545" in note.text and "1 joints" in note.text for note in placement.notes)


def test_the_pipes_own_diameter_is_used():
    own = with_gaps(["2.25", "2", "1.75", "2"], **{"OD": "12.75"})
    assert placed(own).joints["measured_deg"][3] == pytest.approx(np.degrees(np.arctan(0.25 / 6.375)))


def test_the_latest_record_of_a_joint_counts():
    first = with_gaps(["2.5", "2", "1.5", "2"])
    again = with_gaps(["2.25", "2", "1.75", "2"]).iloc[[3]].assign(date="2026-04-09")
    joint = placed(pd.concat([again, first])).joints.iloc[3]
    assert joint["measured_deg"] == pytest.approx(np.degrees(np.arctan(0.25 / 6.6)))


def test_readings_that_give_no_deflection_are_counted_with_the_reason():
    def unused(placement):
        return [one.text for one in placement.notes if one.code == "readings-unused" and one.severity == "check"]

    few = placed(with_gaps(["2.25", "2", "", ""]))
    assert few.judged.readings.reason[3].as_py() == "fewer than three positions"
    assert few.joints["measured_deg"].isna().all()
    assert any("no deflection: fewer than three positions at 1" in text for text in unused(few))
    unknown = placed(with_gaps(["2.25", "2", "1.75", "2"], size="13"))
    assert unknown.judged.readings.reason[3].as_py() == "unknown outside diameter"
    assert unknown.joints["gap_mean"][3] == 2.0
    assert any("unknown outside diameter at 1; give outside_diameter" in text for text in unused(unknown))
    assert unused(placed(with_gaps(["2.25", "2", "1.75", "2"]))) == []


def test_gap_columns_that_only_number_the_readings_are_refused():
    with pytest.raises(asbuilt.JobFileError, match=r"seem to number the gap readings.*records\.columns\.gap_12"):
        placed(with_gaps(["2"] * 4, [1, 2, 3, 4]))
    said = {f"gap_{hour}": f"Gap {number}" for number, hour in enumerate((12, 3, 6, 9), start=1)}
    joint = placed(with_gaps(["2.25", "2", "1.75", "2"], [1, 2, 3, 4]), records={"columns": said}).joints.iloc[3]
    assert joint["measured_direction_deg"] == pytest.approx(180.0)


@pytest.mark.parametrize(
    ("column", "field", "key"),
    [
        ("Gap 12 (mm)", "gap_12", "reading_unit"),
        ("Gauge 3, mm", "gauge_3", "reading_unit"),
        ("OD [MM]", "outside_diameter", "size_unit"),
    ],
)
def test_a_column_that_says_another_unit_is_refused(column, field, key):
    message = f"column '{column}' says mm, but {field} is read in in; say records.{key} = \"mm\""
    with pytest.raises(asbuilt.JobFileError, match=re.escape(message)):
        placed(log(POINTS, **{column: "57"}))
    said = {"reading_unit": "mm", "size_unit": "mm"}
    assert placed(log(POINTS, **{column: "57"}), records=said, limits={}).inspections[field].tolist() == [57.0] * 7
    assert placed(log(POINTS, **{column.lower().replace("mm", "in."): "2"})).inspections[field].tolist() == [2.0] * 7


@pytest.mark.parametrize(
    ("header", "records", "key"),
    [
        ("Sta (ft)", {"station_unit": "m", "size_unit": "in"}, 'records.station_unit = "ft"'),
        ("Station [m]", {}, 'records.station_unit = "m"'),
        ("Station, metres", {}, 'records.station_unit = "m"'),
    ],
)
def test_a_station_column_that_says_another_unit_than_the_job_is_refused(header, records, key):
    """Feet read as metres stand three times too far along the line."""
    said = {"columns": {"station": header}, **records}
    with pytest.raises(asbuilt.JobFileError, match=re.escape(key)):
        placed(log(POINTS).rename(columns={"station": header}), records=said)


def test_a_station_column_that_says_the_unit_of_the_job_is_read():
    header = "Sta (ft)"
    records = placed(log(POINTS).rename(columns={"station": header}), records={"columns": {"station": header}})
    assert len(records.joints) == len(placed(log(POINTS)).joints)


BAND = {"insertion_band": [1.75, 2.25]}


@pytest.mark.parametrize(
    ("gaps", "words"),
    [
        (["2.6", "2.3", "2.0", "2.3"], "the spigot is not far enough in: the gap to the insertion mark is 2.3 in"),
        (["1.9", "1.6", "1.3", "1.6"], "the spigot is in too far: the gap to the insertion mark is 1.6 in"),
        (["2.6", "2.25", "1.9", "2.25"], None),
        (["2.4", "1.75", "1.1", "1.75"], None),
        (["3", "", "1", ""], None),
        (["3", "", "2", ""], "the spigot is not far enough in: the gap to the insertion mark is 2.5 in"),
        (["3", "", "", ""], None),
    ],
)
def test_the_mean_gap_lies_in_the_jobs_band(gaps, words):
    placement = placed(with_gaps(gaps), inspection=BAND)
    found = placement.findings.query("code == 'insertion-off'")
    assert len(found) == (words is not None)
    if words:
        assert found["message"].iloc[0] == f"{words} on average, outside 1.75 to 2.25 in"
        assert (found["joint"].iloc[0], found["unit"].iloc[0]) == ("4", "in")
        assert found["limit"].iloc[0] == (2.25 if "not far" in words else 1.75)


def test_a_mean_from_one_side_of_the_pipe_is_not_held_against_the_band():
    gaps = ["2.5", "2.6", "2.5"]
    assert codes(placed(with_gaps(gaps, [11, 12, 1]), inspection=BAND)) == []
    assert codes(placed(with_gaps(gaps, [4, 12, 8]), inspection=BAND)) == ["insertion-off"]


def test_checks_without_a_limit_are_not_made_and_the_run_says_so():
    records = with_gaps(["9", "9", "9", "9"])
    records["Gauge 12"], records["Gauge 6"] = "1", "5"
    placement = placed(records)
    assert codes(placement) == []
    told = " ".join(note.text for note in placement.notes)
    assert "inspection.insertion_band" in told
    assert "inspection.gauge_spread" in told
    assert "0.0625 in (1 sigma): an assumption" in told
    assert "taken as inches, as stations suggest" in told
    stated = placed(
        records,
        records={"reading_unit": "in"},
        inspection=BAND | {"gauge_spread": 5, "sigma_reading": 0.1},
    )
    assert not any(
        key in note.text
        for note in stated.notes
        for key in ("insertion_band", "gauge_spread", "sigma_reading", "unit)")
    )


def test_readings_that_contradict_one_another():
    # A rule read off by half an inch at 3 o'clock: four readings leave an eighth of an inch at each.
    placement = placed(with_gaps(["2", "2.5", "2", "2"]))
    assert codes(placement) == ["gap-uneven"]
    found = placement.findings.iloc[0]
    assert (found["severity"], found["value"]) == ("check", pytest.approx(0.125))
    assert found["limit"] == pytest.approx(np.sqrt(chi2.ppf(0.999, 1) / 4) / 16, rel=1e-3)
    assert "leaves 0.12 in of them unexplained (RMS), more than 0.1 in" in found["message"]
    assert codes(placed(with_gaps(["2", "2.5", "2", "2"]), inspection={"sigma_reading": 0.08})) == []
    assert codes(placed(with_gaps(["2.5", "2", "1.5", "2"]))) == []
    # Three readings always fit, here by a turn of 4.3 deg, up to 5.3, where shots of unstated error show none.
    assert codes(placed(with_gaps(["2", "2.5", "2"], [12, 3, 6]))) == ["deflection-unclear"]


def test_feeler_gauge_depths_that_differ():
    limit = {"gauge_spread": 0.125}
    placement = placed(with_gaps(["3 1/8", "3", "3.25", "3"], name="Gauge"), inspection=limit)
    assert codes(placement) == ["gauge-uneven"]
    found = placement.findings.iloc[0]
    assert found[["severity", "value", "limit", "unit"]].tolist() == ["act", 0.25, 0.125, "in"]
    assert "feeler-gauge depths differ by 0.25 in around the joint, more than 0.125 in" in found["message"]
    assert codes(placed(with_gaps(["3 1/8", "3", "3.1", "3"], name="Gauge"), inspection=limit)) == []
    assert codes(placed(with_gaps(["9", "", "", ""], name="Gauge"), inspection=limit)) == []


def test_readings_are_evidence_of_an_inspection():
    records = with_gaps(["2", "2", "2", "2"])
    records.loc[3, ["inspector", "date", "home to mark", "gauge", "gasket temp"]] = ""
    assert placed(records).joints["inspection"].tolist()[3] == "incomplete"


@pytest.mark.parametrize("band", [[2.25, 1.75], [2, 2]])
def test_an_insertion_band_runs_from_the_least_to_the_most(band):
    with pytest.raises(asbuilt.JobFileError, match=r"inspection\.insertion_band: give the least and then the most"):
        asbuilt.Job.from_mapping(values(inspection={"insertion_band": band}))


def test_the_written_layer_says_the_unit_of_the_readings(tmp_path):
    import sqlite3

    placement = placed(with_gaps(["2.25", "2", "1.75", "2"]))
    placement.write(tmp_path / "joints.gpkg")
    written = gpd.read_file(tmp_path / "joints.gpkg", layer="joints")
    assert written["measured_deg"][3] == pytest.approx(placement.joints["measured_deg"][3])
    with sqlite3.connect(tmp_path / "joints.gpkg") as database:
        (text,) = database.execute(
            "SELECT description FROM gpkg_data_columns WHERE table_name = 'joints' AND column_name = 'gap_mean'"
        ).fetchone()
    assert text.endswith("averaged around the joint, in inches.")


@pytest.mark.parametrize("border", [6, 12])
def test_no_series_is_filled_down_from_one_file_into_another(tmp_path, border):
    """Six rows of steady steps end a file, and six begin the next: no one filled these down."""
    points = pipe(np.zeros(15))
    records = log(points).assign(**{"gasket temp": [str(50 + min(at, 11)) for at in range(17)]})
    for name, rows in (("first", records.iloc[:border]), ("second", records.iloc[border:])):
        rows.to_csv(tmp_path / f"{name}.csv", index=False)
    lines(A=points).to_file(tmp_path / "line.gpkg", layer="mains")
    given = values(centerline={"path": "line.gpkg"}, records={"path": ["first.csv", "second.csv"]})
    placement = asbuilt.place(asbuilt.Job.from_mapping(given, folder=tmp_path))
    told = [note.text for note in placement.notes if "filled down" in note.text]
    assert len(told) == (border == 12)


def test_many_series_are_named_in_a_few_notes_and_counted_in_one_more(tmp_path):
    """Twelve runs of ten rows in even steps: the first five by their rows, the other seven by their number."""
    points = pipe(np.zeros(119))
    records = log(points)
    warm = [str(40 + 2 * (at % 10) + at // 10) for at in range(len(records) - 1)]
    records = records.assign(**{"gasket temp": [*warm, ""]})
    records.to_csv(tmp_path / "log.csv", index=False)
    lines(A=points).to_file(tmp_path / "line.gpkg", layer="mains")
    given = values(centerline={"path": "line.gpkg"}, records={"path": "log.csv"})
    placement = asbuilt.place(asbuilt.Job.from_mapping(given, folder=tmp_path))
    told = [note.text for note in placement.notes if "filled down" in note.text]
    assert [text.split(":")[0] for text in told[:2]] == ["log.csv rows 2 to 11", "log.csv rows 12 to 21"]
    assert len(told) == 6
    assert "in all 70 rows of 7 more runs of rows" in told[-1]
