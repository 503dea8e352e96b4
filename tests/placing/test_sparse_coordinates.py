"""Few coordinates in a log of stations: a wrong one is held against the stations around it, and does not place its
joint; a wrong station is not taken for wrong coordinates."""

import numpy as np
import pandas as pd
import pytest
from laying import lines, log, pipe, place

JOINTS = 41
TURNS = np.where(np.arange(JOINTS - 2) % 7, 1.0, -4.0)
POINTS = pipe(TURNS)


def sparse(rows, off=(), by=(0.0, 0.0), points=POINTS):
    """Give a log with coordinates in some rows, some of them wrong."""
    records = log(points)
    records[["easting", "northing"]] = np.nan
    records.loc[rows, ["easting", "northing"]] = points[rows, :2]
    for row in off:
        records.loc[row, ["easting", "northing"]] += np.array(by)
    return records


def off(placement):
    """Give how far each joint was placed from where it was laid, ft."""
    found = placement.joints.set_index("joint").loc[[str(at + 1) for at in range(JOINTS)], ["easting", "northing"]]
    return np.hypot(*(found.to_numpy() - POINTS[:, :2]).T)


def conflicts(placement):
    found = placement.findings[placement.findings["code"] == "position-conflict"]
    return dict(zip(found["joint"], found["message"], strict=True))


@pytest.mark.parametrize("rows", [[20], [10, 20], [5, 20, 33], [20, 22, 30, 40]])
@pytest.mark.parametrize("by", [(150.0, 0.0), (0.0, 150.0), (0.0, -150.0), (-90.0, 70.0)])
@pytest.mark.parametrize("order", ["as laid", "against it", "shuffled"])
def test_one_wrong_of_few_coordinates_is_not_used_and_named_by_its_row(rows, by, order):
    records = sparse(rows, [20], by)
    if order != "as laid":
        records = records.iloc[::-1] if order == "against it" else records.sample(frac=1.0, random_state=4)
    records = records.reset_index(drop=True)
    placement = place(lines(A=POINTS), records)
    assert off(placement).max() < 0.05
    assert list(conflicts(placement)) == ["21"]
    assert "mistyped, and not used" in conflicts(placement)["21"]
    row = records.index[records["joint"] == "21"][0] + 1
    (note,) = [one for one in placement.notes if one.code == "positions-doubtful"]
    assert f"row {row}: coordinates up to" in note.text
    assert "centerline.start_station" in note.text


def test_two_wrong_of_three_are_both_left_out_where_they_lie_beside_the_line():
    placement = place(lines(A=POINTS), sparse([5, 20, 33], [20, 33], (150.0, 0.0)))
    assert off(placement).max() < 0.05
    assert list(conflicts(placement)) == ["21", "34"]


@pytest.mark.parametrize("rows", [[20], [10, 20], [5, 20, 33]])
@pytest.mark.parametrize("order", ["as laid", "shuffled"])
def test_a_wrong_station_beside_one_of_few_coordinates_does_not_move_the_joint(rows, order):
    records = sparse(rows)
    records.loc[20, "station"] = "2+51.00"
    if order == "shuffled":
        records = records.sample(frac=1.0, random_state=4).reset_index(drop=True)
    placement = place(lines(A=POINTS), records)
    assert off(placement).max() < 0.05
    assert "it stands where it was surveyed" in conflicts(placement)["21"]


def test_where_the_few_coordinates_all_say_the_same_it_is_the_stations_that_are_asked_about():
    records = sparse([10, 20])
    shifted = log(POINTS, start=60.0)["station"].iloc[: JOINTS - 4]
    records = records.iloc[: JOINTS - 4].assign(station=shifted)
    placement = place(lines(A=POINTS), records)
    where = placement.joints.set_index("joint")
    for joint in ("11", "21"):
        place_of = where.loc[joint, ["easting", "northing"]].to_numpy(dtype=float)
        np.testing.assert_allclose(place_of, POINTS[int(joint) - 1, :2], atol=0.05)
    (note,) = [one.text for one in placement.notes if one.code == "positions-doubtful"]
    assert [one in note for one in ("row 11", "row 21", "centerline.start_station")] == [True] * 3


@pytest.mark.parametrize("by", [(150.0, 0.0), (0.0, 150.0)])
@pytest.mark.parametrize("rows", [[10, 20], list(range(JOINTS))])
def test_wrong_coordinates_without_a_station_place_nothing_and_are_told_by_their_row(rows, by):
    records = sparse(rows, [20], by)
    records.loc[20, "station"] = None
    placement = place(lines(A=POINTS), records)
    (aside,) = placement.set_aside.itertuples()
    assert (aside.row, aside.reason) == (21, "station-missing")
    assert "its coordinates lie out of the way" in aside.message
    right = place(lines(A=POINTS), sparse(rows).assign(station=records["station"]))
    assert not [one for one in right.notes if one.code == "positions-doubtful"]
    assert right.counts["records_set_aside"] == (0 if 20 in rows else 1)


def test_right_coordinates_without_stations_place_their_joints_wherever_they_stand_in_the_log():
    records = sparse(range(JOINTS))
    records.loc[[15, 20, 24], "station"] = None
    late = pd.concat([records.drop(index=[15, 20, 24]), records.loc[[15, 20, 24]]], ignore_index=True)
    placement = place(lines(A=POINTS), late)
    assert placement.counts["records_set_aside"] == 0
    assert off(placement).max() < 0.05
