"""Positional accuracy by check shots, at 95 percent, and what each joint's record says of it."""

import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from laying import CRS, lines, log, pipe, place, values

import asbuilt
from asbuilt.cli import cli
from asbuilt.judging.accuracy import accuracy_of

POINTS = pipe([0, 3, 3, 0, -4, 2, 0, 1], up=0.01)
NONE = np.full(2, np.nan)


def test_alike_errors_make_1_7308_of_the_radial_one():
    # FGDC-STD-007.3-1998, part 3, appendix 3-A: RMSE_r = sqrt(2) RMSE_x, accuracy 2.4477 RMSE_x = 1.7308 RMSE_r.
    found = accuracy_of(np.array([0.3, -0.3]), np.array([-0.3, 0.3]), np.array([0.5, -0.5]))
    assert found.rmse_horizontal == pytest.approx(0.3 * np.sqrt(2))
    assert found.accuracy_horizontal == pytest.approx(1.7308 * 0.3 * np.sqrt(2))
    assert found.accuracy_horizontal == pytest.approx(2.4477 * 0.3, rel=1e-4)
    assert found.accuracy_vertical == pytest.approx(1.96 * 0.5)


def test_unequal_errors_go_by_the_mean_of_both_down_to_a_ratio_of_six_tenths():
    def horizontal(east, north):
        return accuracy_of(np.array([east, -east]), np.array([north, north]), NONE).accuracy_horizontal

    assert horizontal(0.3, 0.2) == pytest.approx(2.4477 * 0.25)
    assert horizontal(0.3, 0.18) == pytest.approx(2.4477 * 0.24)
    assert horizontal(0.3, 0.17) is None
    assert accuracy_of(np.zeros(2), np.zeros(2), NONE).accuracy_horizontal == 0.0
    assert accuracy_of(np.zeros(2), np.zeros(2), NONE).accuracy_vertical is None


def test_the_accuracy_holds_nineteen_errors_of_twenty():
    # The standard's claim itself, by a simulated survey.
    noise = np.random.default_rng(8).normal(0, [0.05, 0.05, 0.08], (100_000, 3))
    found = accuracy_of(*noise.T)
    assert np.mean(np.hypot(noise[:, 0], noise[:, 1]) <= found.accuracy_horizontal) == pytest.approx(0.95, abs=0.003)
    assert np.mean(np.abs(noise[:, 2]) <= found.accuracy_vertical) == pytest.approx(0.95, abs=0.003)


def checked(tmp_path, frame, rows=None, **tables):
    frame.to_csv(tmp_path / "check.csv", index=False)
    rows = log(POINTS) if rows is None else rows
    return place(lines(A=POINTS), rows, survey_check={"path": str(tmp_path / "check.csv")}, **tables)


def check_frame(errors):
    east, north, up = 6_700_100.0, 2_000_100.0, 50.0
    east_error, north_error, up_error = np.transpose(errors)
    return pd.DataFrame(
        {
            "Easting": east, "Northing": north, "Elevation": up, "Measured Easting": east + east_error,
            "Measured Northing": north + north_error, "Measured Elevation": up + up_error,
        }
    )  # fmt: skip


ERRORS = np.random.default_rng(3).normal(0, [0.05, 0.05, 0.08], (24, 3))


def test_the_run_and_each_joint_say_how_well_positions_are_known(tmp_path):
    placement = checked(tmp_path, check_frame(ERRORS))
    rmse = np.sqrt((ERRORS**2).mean(axis=0))
    found = placement.counts["survey_check"]
    assert (found["points"], found["points_vertical"]) == (24, 24)
    assert found["rmse_easting"] == pytest.approx(rmse[0], abs=1e-4)
    assert found["accuracy_horizontal"] == pytest.approx(2.4477 * rmse[:2].mean(), abs=1e-4)
    assert found["accuracy_vertical"] == pytest.approx(1.96 * rmse[2], abs=1e-4)
    joints = placement.joints
    np.testing.assert_allclose(joints["accuracy_horizontal"], found["accuracy_horizontal"], atol=1e-4)
    np.testing.assert_allclose(joints["accuracy_vertical"], found["accuracy_vertical"], atol=1e-4)
    assert joints["accuracy_source"][0].startswith("independent check shots (24 points)")
    assert not any("survey check" in note.text for note in placement.notes)
    assert any(path.endswith("check.csv") for path, _ in placement.inputs)
    placement.write(tmp_path / "joints.gpkg")
    run = gpd.read_file(tmp_path / "joints.gpkg", layer="run").iloc[0]
    assert json.loads(run["counts"])["survey_check"] == found


def test_a_station_adds_its_own_error_and_a_surveyed_joint_has_none(tmp_path):
    records = log(POINTS, easting=POINTS[:, 0], northing=POINTS[:, 1])
    records.loc[4:, "easting"] = np.nan
    placement = checked(tmp_path, check_frame(ERRORS), records, records={"sigma_station": 0.2})
    shot, stationed = placement.joints["accuracy_horizontal"].iloc[[0, -1]]
    assert stationed == pytest.approx(np.hypot(shot, 2.4477 * 0.2))
    sources = placement.joints["accuracy_source"].tolist()
    assert sources[0] == "independent check shots, FGDC-STD-007.3 (24 points)"
    assert sources[-1] == (
        "independent check shots (24 points), the station's error and the line between shots, as far as joints between "
        "two shots do not turn one way and back again, which no shot shows; FGDC-STD-007.3 is for what was shot alone"
    )


def test_fewer_than_twenty_points_are_noticed(tmp_path):
    placement = checked(tmp_path, check_frame(ERRORS[:19]))
    assert any("19 check points; FGDC-STD-007.3 asks for at least 20" in note.text for note in placement.notes)


def test_errors_too_unequal_have_no_accuracy_and_a_note(tmp_path):
    placement = checked(tmp_path, check_frame(ERRORS * [4.0, 1.0, 1.0]))
    assert placement.counts["survey_check"]["accuracy_horizontal"] is None
    assert placement.joints["accuracy_horizontal"].isna().all()
    assert any("too unequal for a horizontal accuracy" in note.text for note in placement.notes)


def test_a_survey_worse_than_the_job_states_is_noticed(tmp_path):
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.08}
    placement = checked(tmp_path, check_frame(ERRORS), centerline=stated)
    assert any("more than the 0.02 ft of centerline.sigma_horizontal" in note.text for note in placement.notes)
    assert not any("centerline.sigma_vertical" in note.text for note in placement.notes)
    # Verdicts go by what the check shows of the one, and by what is stated of the other.
    larger = {**stated, "sigma_horizontal": float(np.sqrt((ERRORS[:, :2] ** 2).mean()))}
    expected = checked(tmp_path, check_frame(ERRORS), centerline=larger).joints
    for name in ("sigma_deg", "sigma_horizontal"):
        np.testing.assert_allclose(placement.joints[name], expected[name], rtol=1e-6)


def test_without_a_check_the_accuracy_is_that_of_the_stated_errors():
    stated = {"sigma_horizontal": 0.05, "sigma_vertical": 0.08}
    joints = place(lines(A=POINTS), log(POINTS), centerline=stated).joints
    assert joints["accuracy_horizontal"][0] == pytest.approx(2.4477 * 0.05)
    # On a grade of 1 percent an error along the line adds next to nothing.
    assert joints["accuracy_vertical"][0] == pytest.approx(1.96 * 0.08, rel=1e-4)
    assert joints["accuracy_source"][0].startswith("the job's standard errors of shots")
    plain = place(lines(A=POINTS), log(POINTS)).joints
    assert plain[["accuracy_horizontal", "accuracy_vertical", "accuracy_source"]].isna().all(axis=None)


def shots_job(tmp_path, check):
    rows = [f"{100 + number},{n},{e},{z}" for number, (e, n, z) in enumerate(POINTS)]
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation", *rows]))
    check.to_csv(tmp_path / "check.csv", index=False)
    log(POINTS).to_csv(tmp_path / "log.csv", index=False)
    wanted = values(
        centerline={"path": "shots.csv", "route": None}, records={"path": "log.csv"}, survey_check={"path": "check.csv"}
    )
    return asbuilt.Job.from_mapping(wanted | {"crs": CRS}, folder=tmp_path)


def test_check_shots_are_matched_to_the_shots_of_the_centerline_by_their_point_numbers(tmp_path):
    errors = ERRORS[:4]
    check = POINTS[[7, 2, 4, 0]] - errors
    frame = pd.DataFrame(
        {
            "point": [107, 102, 104, 100, 999],
            **dict(zip(["E", "N", "elev"], np.vstack([check, [0, 0, 0]]).T, strict=True)),
        }
    )
    placement = asbuilt.place(shots_job(tmp_path, frame))
    found = placement.counts["survey_check"]
    assert found["points"] == 4
    assert found["rmse_vertical"] == pytest.approx(np.sqrt((errors[:, 2] ** 2).mean()), abs=1e-4)
    assert any("1 check points are not among the centerline's shots" in note.text for note in placement.notes)
    with pytest.raises(asbuilt.InputFileError, match="none of its points is among the centerline's shots"):
        asbuilt.place(shots_job(tmp_path, frame.iloc[4:]))


def test_the_terminal_shows_the_accuracy(tmp_path):
    frame = pd.DataFrame({"point": [100, 101], "E": POINTS[:2, 0] + 0.1, "N": POINTS[:2, 1] - 0.1})
    shots_job(tmp_path, frame)
    (tmp_path / "job.toml").write_text(
        f'name = "Q"\ncrs = "{CRS}"\n[centerline]\npath = "shots.csv"\n[records]\npath = "log.csv"\n'
        'station_unit = "us-ft"\nlaying_length = 20.0\n[survey_check]\npath = "check.csv"\n'
    )
    shown = CliRunner().invoke(cli, ["check", str(tmp_path / "job.toml")], terminal_width=200).output
    assert "horizontal accuracy at 95 % (FGDC-STD-007.3)" in shown
    assert "0.245 ft" in shown
    assert "not known" in shown


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("point,easting\n1,2\n", "no column is known as northing"),
        ("easting,northing\n1,2\n", "it does not say what the survey measured; add the columns measured_easting"),
        ("point,easting,northing\n1,2,3\n", "the centerline is not a file of shots with point numbers"),
        ("easting,northing,measured easting,measured northing\n1,x,1,1\n", "row 2: northing 'x' is not a number"),
    ],
)
def test_a_file_of_check_shots_that_cannot_be_used_says_why(tmp_path, text, message):
    (tmp_path / "check.csv").write_text(text)
    with pytest.raises(asbuilt.InputFileError, match=message):
        place(lines(A=POINTS), log(POINTS), survey_check={"path": str(tmp_path / "check.csv")})
    with pytest.raises(asbuilt.InputFileError, match=r"no such file; correct survey_check\.path"):
        place(lines(A=POINTS), log(POINTS), survey_check={"path": "none.csv"})


def test_a_point_counts_once(tmp_path):
    check = pd.DataFrame(POINTS, columns=["easting", "northing", "elevation"]).assign(point=range(100, 110))
    with pytest.raises(asbuilt.InputFileError, match="row 12: check point 103 is in row 5 already"):
        asbuilt.place(shots_job(tmp_path, pd.concat([check, check.iloc[[3]]])))
    job = shots_job(tmp_path, check)
    with (tmp_path / "shots.csv").open("a") as file:
        file.write(f"\n103,{POINTS[3][1] + 5},{POINTS[3][0]},50.0\n")
    with pytest.raises(asbuilt.InputFileError, match="point 103 is the number of several shots of the centerline"):
        asbuilt.place(job)


def test_columns_of_other_names_are_mapped(tmp_path):
    frame = check_frame(ERRORS)
    expected = checked(tmp_path, frame).counts["survey_check"]
    names = {"Easting": "Check Easting", "Measured Easting": "Easting"}
    frame.rename(columns=names).to_csv(tmp_path / "check.csv", index=False)
    given = {"path": str(tmp_path / "check.csv")}
    with pytest.raises(asbuilt.InputFileError, match=r"survey_check\.columns\.easting = .Check"):
        place(lines(A=POINTS), log(POINTS), survey_check=given)
    columns = {"easting": "Check Easting", "measured_easting": "Easting"}
    found = place(lines(A=POINTS), log(POINTS), survey_check=given | {"columns": columns})
    assert found.counts["survey_check"] == expected
    with pytest.raises(asbuilt.JobFileError, match=r"survey_check\.columns\.measured_eastin: unknown field"):
        place(lines(A=POINTS), log(POINTS), survey_check=given | {"columns": {"measured_eastin": "Easting"}})
