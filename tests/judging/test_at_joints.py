"""Shots beside the joints by a constant, or by a part of a pipe, that stations counted from the first one hide."""

import re

import numpy as np
import pytest
from laying import lines, log, pipe, place

SIGMA = {"sigma_horizontal": 0.01, "sigma_vertical": 0.01}
UNSAID = {**SIGMA, "shots_at_joints": False}
CHANCE = np.random.default_rng(5)
TURNS = CHANCE.uniform(-5.6, 5.6, 46)
"""Degrees, of 5 allowed."""
BENDS = np.isin(np.arange(46), [9, 20, 33])


def main(beside, turns=TURNS):
    """Give joints as laid, and shots so far past them, as a part of a pipe; the last pipe ends at a shot."""
    points = pipe(turns)
    along = np.minimum(np.arange(len(points)) + beside, len(points) - 1)
    shots = np.stack([np.interp(along, np.arange(len(points)), one) for one in points.T], axis=1)
    return points, shots + np.random.default_rng(7).normal(0.0, 0.01, shots.shape)


def judged(shots, records=None, **centerline):
    """Place a log whose stations are counted along the shots, as if they were the joints."""
    records = log(shots) if records is None else records
    return placed(shots, records, **centerline).joints


def placed(shots, records, **centerline):
    return place(lines(A=shots), records, centerline={**UNSAID, **centerline})


def words(joints):
    return set(joints["verdict_assumes"].fillna("")[joints["verdict"].isin(["within", "within-assumed", "over"])])


@pytest.mark.parametrize("beside", [0.0, 0.05, 0.25, 0.5])
def test_what_stations_alone_put_at_joints_is_never_within_as_measured(beside):
    _, shots = main(beside)
    joints = judged(shots)
    assert "within" not in set(joints["verdict"])
    assert words(joints) == {"shots-at-joints"}
    said = judged(shots, shots_at_joints=True)
    assert words(said) == {""}
    assert list(said["verdict"]) == list(joints["verdict"].replace("within-assumed", "within"))
    # That is what it is about: beside their joints, shots show joints that are over as within.
    over = np.abs(TURNS) > 5.0
    wrong = np.count_nonzero(over & (said["verdict"][1:-1] == "within")) / np.count_nonzero(over)
    assert wrong == 0.0 if beside == 0.0 else wrong > 0.3 or beside == 0.05


@pytest.mark.parametrize("said", [None, True, False])
def test_a_note_counts_what_rests_on_stations_where_the_job_says_nothing(said):
    _, shots = main(0.0)
    placement = placed(shots, log(shots), shots_at_joints=said)
    notes = [note.text for note in placement.notes if note.code == "joints-by-stations"]
    within = int((placement.joints["verdict"] == "within").sum())
    assert (within > 20) == (said is not False)
    assert len(notes) == (said is None)
    if notes:
        assert notes[0].startswith(f"{within} verdicts are within by shots that stations alone put at the joints")


@pytest.mark.parametrize(("off", "assumed"), [(0.0, False), (0.8, False), (4.0, True)])
def test_a_joint_surveyed_by_name_shows_where_the_joints_are(off, assumed):
    _, shots = main(0.0)
    records = log(shots, easting="", northing="")
    ahead = (shots[21] - shots[20]) / 20.0
    records.loc[20, "easting"], records.loc[20, "northing"] = (str(one) for one in (shots[20] + off * ahead)[:2])
    joints = judged(shots, records)
    assert ("shots-at-joints" in words(joints)) == assumed


def test_between_two_ties_the_joints_are_where_the_ties_have_them():
    _, shots = main(0.0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    ties = [
        {"route": "A", "station": float(along[at]), "easting": shots[at, 0], "northing": shots[at, 1]} for at in (5, 30)
    ]
    assumes = judged(shots, ties=ties)["verdict_assumes"].fillna("")
    assert set(assumes[6:29]) == {""}
    assert set(assumes[33:45]) - {""} == {"shots-at-joints"}


def with_bends(beside, angle):
    turns = np.random.default_rng(3).normal(0.0, 0.6, len(TURNS)) + angle * BENDS * [(-1) ** at for at in range(46)]
    _, shots = main(beside, turns)
    at = np.concatenate([[False], BENDS, [False]])
    return shots, log(shots, kind=np.where(at, "bend", "pipe"), plane=np.where(at, "horizontal", ""),
                      **{"bend angle": np.where(at, f"{angle}", "")})  # fmt: skip


@pytest.mark.parametrize(("beside", "angle", "shown"), [(0.0, 45.0, True), (0.5, 45.0, False), (0.25, 45.0, False),
                                                        (0.0, 11.25, False), (0.5, 22.5, False)])  # fmt: skip
def test_bends_show_it_where_they_turn_at_their_own_shot(beside, angle, shown):
    assert ("shots-at-joints" not in words(judged(*with_bends(beside, angle)))) == shown


@pytest.mark.parametrize(("beside", "angle", "told"), [(0.5, 22.5, 1), (0.5, 45.0, 1), (0.0, 22.5, 0), (0.0, 45.0, 0)])
def test_bends_that_turn_at_two_shots_are_told_whatever_the_job_says(beside, angle, told):
    findings = placed(*with_bends(beside, angle), shots_at_joints=True).findings
    messages = findings["message"][findings["code"] == "joints-off-shots"].tolist()
    assert len(messages) == told
    for one in messages:
        more, less = (int(part) for part in re.findall(r"(\d+) % ", one))
        assert more - less < 20
        assert 90 < more + less < 115
        assert re.search(r"so it lies between the two, (8|9|10|11)\.\d ft behind where its station puts it", one)
