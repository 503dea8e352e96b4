"""Logs counted from laid lengths with a row that is lost: joints behind it stand a pipe off, and are not judged."""

import numpy as np
import pytest
from blunders import said
from survey_mains import laid

COUNTED = {"station_from": "laid_length", "stationing": "horizontal"}


def counted(seed, *, bends=0):
    """Lay a main of level pipes whose log has laid lengths, and no stations."""
    main = laid(seed, bends=bends, cuts=0, grade=0.0)
    main.log = main.log.drop(columns="station")
    return main


def without(main, *rows):
    main.log = main.log.drop(index=list(rows)).reset_index(drop=True)
    return main


@pytest.mark.parametrize("seed", range(1, 5))
@pytest.mark.parametrize("rows", [(30,), (44, 45)])
def test_joints_behind_a_row_that_is_lost_are_told_and_not_judged(tmp_path, seed, rows):
    placed = said(tmp_path, without(counted(seed), *rows), records=COUNTED).placed
    (found,) = placed.findings.query("code == 'joints-off-shots'")["message"]
    assert f"joint {rows[-1] + 2} comes behind joint {rows[0]}" in found
    assert f"{20 * len(rows)} ft or so" in found
    behind = placed.joints.iloc[rows[0] :]
    assert set(behind["verdict"]) <= {"cannot-tell", "not-computed"}
    assert (behind["accuracy_horizontal"].fillna(np.inf) >= 20.0).all()
    assert "within" in set(placed.joints.iloc[: rows[0] - 3]["verdict"].str.slice(0, 6))


def test_a_number_that_no_joint_has_is_named_in_the_job(tmp_path):
    main = counted(1)
    main.log["joint"] = [str(at + 1 if at < 40 else at + 2) for at in range(len(main.log))]
    main.places = np.insert(main.places, 40, np.nan, axis=0)
    told = said(tmp_path, main, records=COUNTED)
    assert "joints-off-shots" in set(told.placed.findings["code"])
    told = said(tmp_path, main, records=COUNTED | {"numbers_unused": ["41"]})
    assert "joints-off-shots" not in set(told.placed.findings["code"])
    assert told.off < 0.5


def test_where_the_next_bend_stands_at_its_corner_the_count_is_right(tmp_path):
    main = counted(2, bends=4)
    bend = int(np.flatnonzero(main.log["kind"] == "bend")[-1])
    main.log["joint"] = [str(at + 1 if at < bend - 3 else at + 2) for at in range(len(main.log))]
    main.places = np.insert(main.places, bend - 3, np.nan, axis=0)
    assert "joints-off-shots" not in set(said(tmp_path, main, records=COUNTED).placed.findings["code"])


def test_numbers_that_begin_anew_by_hundreds_are_no_lost_rows(tmp_path):
    main = counted(3)
    day = np.arange(len(main.log)) // 30
    main.log["joint"] = [str(100 * (1 + one) + at % 30) for at, one in enumerate(day)]
    assert "joints-off-shots" not in set(said(tmp_path, main, records=COUNTED).placed.findings["code"])
