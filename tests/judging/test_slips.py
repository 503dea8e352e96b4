"""A station that is off by less than a pipe: its joint is known no better than the steps beside it say."""

import numpy as np
import pytest
from blunders import along, changed, said
from survey_mains import laid, station

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}


def placed(folder, main):
    return said(folder, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed.joints.set_index("joint")


def off(joints, main, name):
    east, north = main.truth()[name][:2]
    return float(np.hypot(joints.loc[name, "easting"] - east, joints.loc[name, "northing"] - north))


@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("slip", [-10.0, -5.0, -2.0, 2.0, 5.0, 10.0])
def test_a_station_a_few_feet_off_says_so_in_the_accuracy_of_its_joint(tmp_path, slip, every):
    main = laid(2, every=every, noise=0.02)
    sound = placed(tmp_path, main)
    changed(main, 40, station=station(along(main, 40) + slip))
    joints = placed(tmp_path, main)
    assert off(joints, main, "41") > abs(slip) - 1.0
    assert joints.loc["41", "accuracy_horizontal"] > off(joints, main, "41")
    # Those beside it are known as well as they were.
    others = joints.index.difference(["41"])
    wider = joints.loc[others, "accuracy_horizontal"] > sound.loc[others, "accuracy_horizontal"] + 0.1
    assert wider.sum() <= 2


@pytest.mark.parametrize("slip", [-5.0, 5.0])
def test_the_pipes_laid_add_up_to_what_they_did(tmp_path, slip):
    main = laid(2, noise=0.02)
    main.log["laid length"] = "20.0"
    before = said(tmp_path, main, centerline=SHOTS).placed.counts["lengths"]
    changed(main, 40, station=station(along(main, 40) + slip))
    after = said(tmp_path, main, centerline=SHOTS).placed.counts["lengths"]
    assert [one["laid"] for one in after] == [one["laid"] for one in before] != []


@pytest.mark.parametrize("seed", range(6))
def test_sound_stations_widen_nothing(tmp_path, seed):
    main = laid(seed, noise=0.02)
    joints = placed(tmp_path, main)
    assert joints["accuracy_horizontal"].max() < 1.0


def widened(tmp_path, main, **more):
    """Give the joints that are stated less sure than with their stations and lengths as they were laid."""
    sound = placed(tmp_path, laid(2, noise=0.02))
    joints = placed(tmp_path, main)
    both = joints.index.intersection(sound.index)
    wider = joints.loc[both, "accuracy_horizontal"] > sound.loc[both, "accuracy_horizontal"] + 0.5
    return both[wider].tolist()


def test_a_joint_between_two_that_are_missing_has_no_slip(tmp_path):
    main = laid(2, noise=0.02)
    main.log = main.log.drop([39, 41])
    assert widened(tmp_path, main) == []


def test_lengths_in_one_anothers_rows_are_no_slip_of_a_station(tmp_path):
    main = laid(2, noise=0.02)
    lengths = main.log["laid length"].astype(float)
    row = next(row for row in range(2, 80) if abs(lengths[row] - lengths[row + 1]) > 4.0)
    main.log.loc[[row, row + 1], "laid length"] = main.log.loc[[row + 1, row], "laid length"].to_numpy()
    assert widened(tmp_path, main) == []


def test_coordinates_are_no_less_sure_for_lengths_that_were_misread(tmp_path):
    main = laid(2, noise=0.02)
    places = main.places + np.random.default_rng(3).normal(0.0, 0.02, main.places.shape)
    main.log["easting"], main.log["northing"] = places[:, 0], places[:, 1]
    changed(main, 39, laid_length="15.0")
    changed(main, 40, laid_length="25.0")
    assert placed(tmp_path, main)["accuracy_horizontal"].max() < 1.0


@pytest.mark.parametrize("numbers", [True, False])
def test_a_row_with_the_station_of_the_joint_before_it_is_told(tmp_path, numbers):
    main = laid(2, noise=0.02, cuts=0)
    changed(main, 40, station=station(along(main, 39)))
    if not numbers:
        main.log = main.log.drop(columns="joint")
    placement = said(tmp_path, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed
    found = placement.findings.set_index("code")["message"]
    if numbers:
        assert "shorter" in found["spacing-short"] or "under" in found["spacing-short"]
        joint = placement.joints.set_index("joint").loc["41"]
        east, north = main.truth()["41"]
        assert np.hypot(joint["easting"] - east, joint["northing"] - north) < joint["accuracy_horizontal"] + 0.5
        assert joint["verdict"] not in ("within", "within-assumed", "over")
    else:
        assert "or they are of two joints, and one has the other's station" in found["joint-repeated"]
        assert "joints-missing" in found.index
