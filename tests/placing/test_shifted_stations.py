"""Stations of a run of rows that run off the pipes and back again: named with the rows, and none of them judged."""

import numpy as np
import pytest
from blunders import said, stations_of_a_page_shifted
from survey_mains import laid

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}


@pytest.mark.parametrize("by", [20.0, -20.0, 33.0])
@pytest.mark.parametrize("every", [1, 4])
def test_joints_of_a_page_whose_stations_are_shifted_may_lie_as_far_off_and_are_not_judged(tmp_path, by, every):
    main = laid(6, every=every, noise=0.02, cuts=0)
    truth = main.truth()
    stations_of_a_page_shifted(by)(main, 6)
    placement = said(tmp_path, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed
    (message,) = placement.findings.query("code == 'stations-shifted'")["message"]
    assert f"{'ahead of' if by > 0 else 'behind'} the pipes laid at 30 joints" in message
    assert "row 31, joint 31" in message
    assert "row 60, joint 60" in message
    assert ("as if these were the stations of the other end of each pipe" in message) == (abs(by) == 20.0)
    joints = placement.joints.assign(number=placement.joints["joint"].astype(int)).set_index("number").sort_index()
    assert not {"within", "within-assumed", "over"} & set(joints.loc[31:60, "verdict"])
    away = [
        np.hypot(one.easting - truth[one.joint][0], one.northing - truth[one.joint][1]) for one in joints.itertuples()
    ]
    assert (np.array(away) <= joints["accuracy_horizontal"] + 0.5).all()
    assert joints.loc[2:28, "accuracy_horizontal"].max() < 5.0


@pytest.mark.parametrize("seed", range(6))
def test_a_joint_left_out_and_one_short_pipe_are_no_shift(tmp_path, seed):
    main = laid(seed, noise=0.02)
    main.log = main.log.drop(index=[30, 55]).reset_index(drop=True)
    placement = said(tmp_path, main, centerline=SHOTS).placed
    assert "stations-shifted" not in set(placement.findings["code"])
