"""Stations of one page with inches behind the point: named with the rows, and their places as sure as they are."""

import re

import numpy as np
import pytest
from blunders import along, changed, said
from survey_mains import laid, station

SHOTS = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}


def placed(folder, main):
    return said(folder, main, centerline=SHOTS, records={"sigma_station": 0.03}).placed


def with_page_in_inches(main, rows):
    for row in rows:
        feet, inches = divmod(round(along(main, row) * 12), 12)
        changed(main, row, station=f"{feet // 100}+{feet % 100:02d}.{inches:02d}")


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("every", [1, 4])
def test_a_page_with_inches_behind_the_point_is_named_with_its_rows(tmp_path, seed, every):
    main = laid(seed, every=every, noise=0.02, bends=2, cuts=6)
    truth = main.truth()
    # The crew's stations do not begin at whole feet, so that decimals and inches differ.
    shift = 0.4
    main.log["station"] = [station(along(main, row) + shift) for row in range(len(main.log))]
    with_page_in_inches(main, range(30, 60))
    told = said(tmp_path, main, centerline={**SHOTS, "start_station": shift}, records={"sigma_station": 0.03})
    (message,) = told.placed.findings.query("code == 'stations-shifted'")["message"]
    # Rows beside them that have few hundredths by chance cannot be told from them.
    first, last = (int(one) for one in re.search(r"rows (\d+) to (\d+): of \d+ stations", message).groups())
    assert first <= 31
    assert last >= 60
    assert "only as inches behind the point" in message
    joints = told.placed.joints
    away = [
        np.hypot(one.easting - truth[one.joint][0], one.northing - truth[one.joint][1]) for one in joints.itertuples()
    ]
    assert (np.array(away) <= joints["accuracy_horizontal"] + 0.15).all()


@pytest.mark.parametrize("seed", range(20))
def test_no_honest_page_is_told_to_have_inches(tmp_path, seed):
    rng = np.random.default_rng(seed)
    main = laid(seed, noise=0.02, cuts=int(rng.integers(0, 8)), grade=float(rng.choice([0.0, 3.0])))
    error = rng.choice([0.01, 0.03, 0.1])
    main.log["station"] = [
        station(max(along(main, row) + 0.05 + rng.normal(0.0, error), 0.0)) for row in range(len(main.log))
    ]
    assert "stations-shifted" not in set(placed(tmp_path, main).findings["code"])
