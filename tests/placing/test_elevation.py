"""What the survey's elevations are of: top of pipe, center or invert, with each joint's own diameter."""

import numpy as np
import pytest
from laying import lines, log, pipe, place

import asbuilt

POINTS = pipe([0.0, 1.0, 0.0, 2.0, 0.0, 0.0], up=0.02)
INCH = 1 / 12 / 1.000002  # US survey foot in an international inch: 0.0254 m * 3937 / 1200
# AWWA C151 outside diameters, from memory: 8 in 9.05, 12 in 13.20; EN 545: DN 300 326 mm.
OD_8, OD_12 = 9.05, 13.20


def shot(reference=None, records=None, points=POINTS, **centerline):
    given = {"elevation": reference} if reference else {}
    return place(lines(A=points), log(points) if records is None else records, centerline=given | centerline)


def notes_of(placement):
    return " / ".join(note.text for note in placement.notes)


def test_a_shot_on_top_of_the_pipe_lies_half_an_outside_diameter_above_its_center():
    placement = shot("top-of-pipe")
    np.testing.assert_allclose(placement.joints["elevation"], POINTS[:, 2] - OD_12 / 2 * INCH, atol=1e-6)
    assert "elevations are of the top of the pipe: lowered to the pipe's center by half" in notes_of(placement)
    assert "0.550 ft (AWWA C150/C151" in notes_of(placement)
    z = np.array([one[2] for one in placement.centerline.geometry[0].coords])
    np.testing.assert_allclose(z, placement.joints["elevation"], atol=1e-6)


def test_an_invert_lies_half_an_inside_diameter_below_the_center():
    placement = shot("invert", wall_thickness=0.37)
    np.testing.assert_allclose(placement.joints["elevation"], POINTS[:, 2] + (OD_12 / 2 - 0.37) * INCH, atol=1e-6)
    assert "raised to the pipe's center by half of the inside diameter, 0.519 ft" in notes_of(placement)


def test_the_logs_own_outside_diameter_wins():
    found = shot("top-of-pipe", log(POINTS, od="12.75")).joints["elevation"]
    np.testing.assert_allclose(found, POINTS[:, 2] - 12.75 / 2 * INCH, atol=1e-6)


def test_metric_sizes_go_by_en_545():
    placement = place(
        lines(A=POINTS), log(POINTS, size="300"), centerline={"elevation": "top-of-pipe"},
        records={"size_unit": "mm"}, limits={"table": "en-545"},
    )  # fmt: skip
    np.testing.assert_allclose(placement.joints["elevation"], POINTS[:, 2] - 0.163 * 3937 / 1200, atol=1e-6)


def test_pipe_of_two_sizes_laid_in_one_line_does_not_turn():
    # The centers lie in one straight grade; the shots on top step down where the pipe gets smaller.
    straight = pipe([0.0] * 6, up=0.02)
    size = np.array([12, 12, 12, 12, 8, 8, 8, 8])
    tops = straight + np.array([0, 0, 1]) * (np.where(size == 12, OD_12, OD_8) / 2 * INCH)[:, None]
    records = log(straight, size=size)
    plain = shot(None, records, tops).joints
    assert plain["deflection_deg"][3] == pytest.approx(np.degrees(np.arctan((OD_12 - OD_8) / 2 * INCH / 20)), abs=0.01)
    found = shot("top-of-pipe", records, tops)
    assert found.joints["deflection_deg"][1:-1].tolist() == pytest.approx([0] * 6, abs=1e-4)
    np.testing.assert_allclose(found.joints["elevation"], straight[:, 2], atol=1e-6)
    assert "0.377 to 0.550 ft" in notes_of(found)
    walls = {"12": 0.37, "8": 0.33}
    inverts = straight - np.array([0, 0, 1]) * (np.where(size == 12, OD_12 / 2 - 0.37, OD_8 / 2 - 0.33) * INCH)[:, None]
    found = shot("invert", records, inverts, wall_thickness=walls).joints
    np.testing.assert_allclose(found["elevation"], straight[:, 2], atol=1e-6)


def test_between_sparse_shots_on_pipe_of_two_sizes_the_center_runs_straight():
    straight = pipe([0.0] * 7, up=0.02)
    size = np.array([12, 12, 12, 12, 8, 8, 8, 8, 8])
    records = log(straight, size=size)
    for every in (2, 3, 8):
        shots = [*range(0, 8, every), 8]
        tops = straight[shots] + np.array([0, 0, 1]) * (np.where(size == 12, OD_12, OD_8)[shots] / 2 * INCH)[:, None]
        found = shot("top-of-pipe", records, tops).joints
        np.testing.assert_allclose(found["elevation"], straight[:, 2], atol=1e-6)
        assert found["turn_vertical_deg"].dropna().to_numpy() == pytest.approx(0, abs=1e-4)
        assert (found["deflection_ceiling_deg"].dropna() < 1e-3).all()


def test_surveyed_joints_are_shot_as_the_centerline_is():
    records = log(POINTS, easting=POINTS[:, 0], northing=POINTS[:, 1], elevation=POINTS[:, 2] + 0.05)
    found = shot("top-of-pipe", records).joints
    np.testing.assert_allclose(found["elevation"], POINTS[:, 2] + 0.05 - OD_12 / 2 * INCH, atol=1e-6)


def test_a_joint_of_unknown_size_goes_by_its_neighbour_and_is_counted():
    size = ["12"] * 4 + ["", "8", "8", "8"]
    placement = shot("top-of-pipe", log(POINTS, size=size))
    below = POINTS[:, 2] - placement.joints["elevation"].to_numpy()
    np.testing.assert_allclose(below / INCH * 2, [OD_12] * 4 + [OD_12] + [OD_8] * 3, atol=1e-3)
    assert "joints of no known diameter, 1 of them, go by the joint nearest to each" in notes_of(placement)


def test_elevations_may_be_left_out_or_taken_as_they_are():
    none = shot("none")
    assert none.joints["elevation"].isna().all()
    assert none.joints["turn_vertical_deg"].isna().all()
    assert "leaves the survey's elevations out" in notes_of(none)
    for reference, note in ((None, "does not say what the survey shot"), ("pipe-center", "are of the pipe's center")):
        placement = shot(reference)
        np.testing.assert_allclose(placement.joints["elevation"], POINTS[:, 2], atol=1e-6)
        assert note in notes_of(placement)
    assert "what the survey shot" not in notes_of(shot(None, points=POINTS[:, :2]))


@pytest.mark.parametrize(
    ("size", "centerline", "message"),
    [
        ("12", {}, r"centerline\.wall_thickness: elevations of the invert need the pipe's wall thickness"),
        ("8", {"wall_thickness": {"12": 0.37}}, r"no wall thickness is given for size 8; add it"),
        ("12", {"wall_thickness": {"x": 0.37}}, r"the sizes must be numbers"),
        (
            "12",
            {"wall_thickness": 7},
            r"7 in of a pipe that is 13\.2 in across is no wall; give the wall's thickness in inches",
        ),
        (
            "13",
            {"wall_thickness": 0.4},
            r"centerline\.elevation: no joint on route 'A' is of a known diameter \(no pipe of 13 in, ",
        ),
    ],
)
def test_a_diameter_that_is_not_known_is_asked_for(size, centerline, message):
    with pytest.raises(asbuilt.JobFileError, match=message):
        shot("invert", log(POINTS, size=size), **centerline)
