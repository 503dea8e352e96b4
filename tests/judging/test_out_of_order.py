"""Joints out of order: named with the station that is likely, and not judged where nobody knows where they lie."""

import numpy as np
import pytest
from blunders import along, changed, said
from survey_mains import laid, station

from asbuilt.judging.out_of_order import mended_by_a_digit

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
JUDGED = {"within", "within-assumed", "over"}


def placed(folder, main):
    return said(folder, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed


def order(placement):
    return placement.findings.query("code == 'order-broken'")


def far_off(placement, main):
    """Give the joints that stand farther from where they were laid than their accuracy and half a foot."""
    truth, joints = main.truth(), placement.joints
    away = [
        np.hypot(east - truth[name][0], north - truth[name][1])
        for name, east, north in zip(joints["joint"], joints["easting"], joints["northing"], strict=True)
    ]
    return joints[np.array(away) > joints["accuracy_horizontal"] + 0.5]


@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("seed", range(4))
def test_a_station_by_one_digit_wrong_leaves_its_joint_unjudged_and_names_the_likely_one(tmp_path, seed, every):
    main = laid(seed, every=every, noise=0.02)
    right = main.log.loc[40, "station"]
    far = abs(float(right[0]) - (digit := (int(right[0]) + 3 + seed) % 10)) * 100.0
    changed(main, 40, station=f"{digit}{right[1:]}")
    placement = placed(tmp_path, main)
    (found,) = order(placement).itertuples()
    assert found.joint == "41"
    assert f"its station may be a slip for {right};" in found.message
    joint = placement.joints.set_index("joint").loc["41"]
    assert joint["verdict"] == "cannot-tell"
    assert joint["accuracy_horizontal"] > far
    # Neither it nor the pipes that it parts where it stands are judged by the turns there.
    at = int(np.flatnonzero(placement.joints["joint"] == "41")[0])
    assert not JUDGED & set(placement.joints.loc[at - 1 : at + 1, "verdict"])
    assert len(far_off(placement, main)) == 0
    unclear = placement.findings.query("code == 'deflection-unclear' and joint == '41'")["message"].iloc[0]
    assert "stands out of order by its number or row" in unclear


@pytest.mark.parametrize("number", ["60", "10", "33", "400"])
def test_a_wrong_number_leaves_its_joint_where_the_pipes_fit_it(tmp_path, number):
    main = laid(3, noise=0.02)
    healthy = placed(tmp_path, main).joints
    changed(main, 40, joint=number)
    placement = placed(tmp_path, main)
    assert "its number is likely the wrong one: one is free between 40 and 42" in order(placement)["message"].iloc[0]
    assert placement.joints["verdict"].tolist() == healthy["verdict"].tolist()
    assert np.allclose(placement.joints["accuracy_horizontal"], healthy["accuracy_horizontal"])


@pytest.mark.parametrize("seed", range(4))
def test_two_joints_that_changed_numbers_may_each_stand_where_the_other_does(tmp_path, seed):
    main = laid(seed, noise=0.02)
    main.log.loc[[40, 41], "joint"] = ["42", "41"]
    placement = placed(tmp_path, main)
    assert "numbers or stations of the two are exchanged" in order(placement)["message"].iloc[0]
    both = placement.joints[placement.joints["joint"].isin(["41", "42"])]
    assert set(both["verdict"]) == {"cannot-tell"}
    assert len(far_off(placement, main)) == 0


@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("seed", range(4))
def test_two_stations_in_one_anothers_row_across_a_joint_are_no_crew_from_the_other_end(tmp_path, seed, every):
    main = laid(seed, every=every, noise=0.02)
    back, ahead = main.log.loc[[40, 42], "station"]
    changed(main, 40, station=ahead)
    changed(main, 42, station=back)
    placement = placed(tmp_path, main)
    found = order(placement)
    assert sorted(found["joint"]) == ["41", "43"]
    assert not found["message"].str.contains("other end").any()
    both = placement.joints[placement.joints["joint"].isin(["41", "43"])]
    assert set(both["verdict"]) == {"cannot-tell"}
    assert len(far_off(placement, main)) == 0


def test_a_crew_from_the_other_end_is_told_of_and_judged(tmp_path):
    main = laid(5, noise=0.02)
    healthy = placed(tmp_path, main).joints["verdict"].tolist()
    main.log.loc[50:, "joint"] = [str(number) for number in range(90, 50, -1)]
    placement = placed(tmp_path, main)
    assert order(placement)["message"].str.contains("the numbers fall along the line there").all()
    assert placement.joints["verdict"].tolist() == healthy


def test_rows_stand_for_numbers_where_one_alone_fits_nowhere_else(tmp_path):
    main = laid(4, noise=0.02)
    changed(main, 40, station=station(along(main, 40) + 310))
    main.log = main.log.drop(columns="joint")
    placement = placed(tmp_path, main)
    (found,) = order(placement).itertuples()
    assert found.message.startswith("the row stands out of order at ")
    assert "by the rows beside its own and the pipes laid it belongs at about " in found.message
    assert found.value == pytest.approx(310.0, abs=1.0)
    # Rows in any order tell no order.
    main.log = laid(4, noise=0.02).log.drop(columns="joint").sample(frac=1.0, random_state=1)
    assert len(order(placed(tmp_path, main))) == 0


def test_a_slip_is_one_digit_or_two_that_stand_side_by_side():
    written = np.array([2941.33, 1620.0, 999.0, 1520.0, np.nan])
    expected = np.array([2491.3, 1520.2, 1520.0, 1520.0, 10.0])
    found = mended_by_a_digit(written, expected, 0.5)
    assert found[:2].tolist() == [2491.33, 1520.0]
    assert np.isnan(found[2:]).all()
