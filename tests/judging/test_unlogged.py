"""Turns of the line where the log has no joint, and what is said beside joints that the log lacks."""

import csv
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from laying import lines, log, pipe, place

SURE = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
STRAIGHT = pipe(np.zeros(20))


def turning(degrees, at=10):
    turns = np.zeros(20)
    turns[at - 1] = degrees
    return pipe(turns)


def lacking(points, *rows):
    return log(points).drop(index=list(rows)).reset_index(drop=True)


def found(placement, code):
    return placement.findings.query(f"code == '{code}'")


@pytest.mark.parametrize(("degrees", "told"), [(8.0, True), (-4.0, True), (0.2, False)])
def test_a_turn_at_a_joint_that_the_log_lacks_is_named_at_its_shot(degrees, told):
    points = turning(degrees)
    placement = place(lines(A=points), lacking(points, 10), centerline=SURE)
    rows = found(placement, "turn-unlogged")
    assert rows["joint"].tolist() == (["10"] if told else [])
    if told:
        row = rows.iloc[0]
        assert (row["value"], row["limit"]) == (pytest.approx(abs(degrees), abs=0.01), 5.0)
        assert "at vertex 11, 20 ft ahead of this joint" in row["message"]


def test_turn_and_deflection_agree_beside_a_joint_that_the_log_lacks():
    """Half of the 8 degrees was told as the turn of either neighbour, and none as its deflection."""
    points = turning(8.0)
    joints = place(lines(A=points), lacking(points, 10), centerline=SURE).joints
    beside = joints[joints["joint"].isin(["10", "12"])]
    assert beside["turn_deg"].to_numpy() == pytest.approx(beside["deflection_deg"].to_numpy(), abs=1e-6)
    assert beside["turn_horizontal_deg"].abs().max() < 1e-6


def test_no_deflection_is_measured_where_a_joint_that_the_log_lacks_may_share_the_turn():
    """25.8 ft in two pieces: the joint between them may lie on either side of the shot halfway."""
    points = pipe(np.zeros(20))
    along = np.concatenate([20.0 * np.arange(10), 205.8 + 20.0 * np.arange(10)])
    points = points[0] + np.outer(along, [0.0, 1.0, 0.0])
    # A shot stands halfway of the longer piece, as if it were a joint of the crew's.
    shots = np.insert(points, 10, points[9] + [0.0, 12.9, 0.0], axis=0)
    joints = place(lines(A=shots), log(points), centerline=SURE).joints
    beside = joints[joints["joint"].isin(["10", "11"])]
    assert set(beside["verdict"]) == {"within-assumed"}
    assert beside["deflection_deg"].isna().all()


@pytest.mark.parametrize("seed", range(3))
def test_shots_with_noise_alone_name_no_turn(seed):
    chance = np.random.default_rng(seed)
    shots = np.repeat(pipe(np.zeros(60)), 2, axis=0)[:-1]
    shots[1::2] = (shots[:-1:2] + shots[2::2]) / 2.0
    noisy = shots + chance.normal(0.0, 0.02, shots.shape)
    assert found(place(lines(A=noisy), log(pipe(np.zeros(60))), centerline=SURE), "turn-unlogged").empty


def test_a_bend_leaves_no_turn_unlogged():
    """Its second joint has no record of its own."""
    points = turning(22.5)
    kind = ["bend" if row == 9 else "pipe" for row in range(22)]
    records = log(points, kind=kind, **{"bend angle": [22.5 if one == "bend" else None for one in kind]})
    placement = place(lines(A=points), records.drop(index=10).reset_index(drop=True), centerline=SURE)
    assert found(placement, "turn-unlogged").empty


def test_a_spacing_too_long_between_successive_numbers_may_be_a_wrong_station():
    records = log(STRAIGHT)
    records.loc[10, "station"] = "2+05.80"
    placement = place(lines(A=STRAIGHT), records, centerline=SURE)
    (message,) = found(placement, "joints-missing")["message"]
    assert "at least 1 joint may be missing between 1+80.00 and 2+05.80" in message
    assert placement.counts["joints_missing_at_least"] == {}
    assert placement.counts["joints_missing_perhaps"] == {"A": 1}
    assert "or else one of the two stations is wrong: the joints are numbered 10 and 11" in message
    placement = place(lines(A=STRAIGHT), lacking(STRAIGHT, 10), centerline=SURE)
    (message,) = found(placement, "joints-missing")["message"]
    assert placement.counts["joints_missing_at_least"] == {"A": 1}
    assert placement.counts["joints_missing_perhaps"] == {}
    assert "numbered 10 and 12, which leaves room for 1 between them" in message
    assert "wrong" not in message


def test_a_joint_that_stands_elsewhere_is_not_missing_from_the_log():
    records = log(STRAIGHT).assign(**{"laid length": "20"})
    records.loc[4, "station"] = "2+07.00"
    placement = place(lines(A=STRAIGHT), records, centerline=SURE)
    assert found(placement, "joints-missing").empty
    assert placement.counts["joints_missing_at_least"] == {}
    (message,) = found(placement, "order-broken")["message"]
    assert "it belongs at about 0+80.00, in the gap between 0+60.00 and 1+00.00" in message
    # Its pipe is not counted twice either.
    assert not any("the pipes laid add up" in note for note in placement.notes)


def test_of_a_gap_of_two_joints_the_one_that_stands_elsewhere_is_not_counted():
    records = log(STRAIGHT)
    records.loc[4, "station"] = "2+07.00"
    placement = place(lines(A=STRAIGHT), records.drop(index=5), centerline=SURE)
    (message,) = found(placement, "joints-missing")["message"]
    assert message.startswith("at least 1 joint is missing between 0+60.00 and 1+20.00")
    assert "joint 5, which belongs between 4 and 7 by its number, stands at 2+07.00" in message
    assert placement.counts["joints_missing_at_least"] == {"A": 1}


def remarked(*texts, **inspection):
    records = log(STRAIGHT, remarks=[*texts, *[None] * (len(STRAIGHT) - len(texts))])
    return found(place(lines(A=STRAIGHT), records, centerline=SURE, inspection=inspection), "remark-to-read")


def test_remarks_that_may_tell_of_trouble_are_told_and_fail_no_joint():
    rows = remarked("LEAKING at bell", "re-worked", "gasket rolled", "ok, controlled", "sunny", None)
    assert rows["joint"].tolist() == ["1", "2", "3"]
    assert set(rows["severity"]) == {"note"}
    assert '"LEAKING at bell"' in rows["message"].iloc[0]
    assert not set(place(lines(A=STRAIGHT), log(STRAIGHT, remarks="leaking")).joints["inspection"]) - {"complete"}


@pytest.mark.parametrize(
    "remark",
    ["Weeping at 6 o'clock", "gasket torn", "spigot scratched", "bolts loose", "not tight", "dropped", "Gasket cut"],
)
def test_more_that_crews_write_of_trouble_is_told(remark):
    assert remarked(remark)["joint"].tolist() == ["1"]


def test_a_job_may_have_its_own_words_or_none():
    assert remarked("undicht an Muffe", "leaking", remark_words=["undicht"])["joint"].tolist() == ["1"]
    assert remarked("leaking", remark_words=[]).empty
    assert remarked("50 % (x", remark_words=["% (x"])["joint"].tolist() == ["1"]


def unread(**columns):
    whole = {name: [*cells, *[None] * (len(STRAIGHT) - len(cells))] for name, cells in columns.items()}
    placement = place(lines(A=STRAIGHT), log(STRAIGHT, **whole), centerline=SURE)
    told = [note.text for note in placement.notes if "nothing is read from" in note.text]
    return found(placement, "remark-to-read"), told


def test_what_a_column_that_is_not_read_says_of_trouble_is_told_at_its_joint():
    rows, notes = unread(**{"Leaking?": ["No", "YES", "x", "n/a"], "Foreman's log": ["bell cracked", "fine"]})
    assert rows["joint"].tolist() == ["1", "2", "3"]
    assert '"Foreman\'s log: bell cracked"' in rows["message"].iloc[0]
    assert '"Leaking?: YES"' in rows["message"].iloc[1]
    assert ["'Leaking?'" in note and "Foreman" not in note for note in notes] == [True]


def test_a_column_named_for_the_absence_of_trouble_tells_where_it_says_no():
    rows, notes = unread(**{"No leak": ["Yes", "No", None]})
    assert (rows["joint"].tolist(), len(notes)) == (["2"], 1)


def test_remarks_and_other_columns_make_one_finding_of_a_joint():
    rows, _ = unread(remarks=["leaking at bell", None], Damage=["Yes", None])
    assert rows["joint"].tolist() == ["1"]
    assert '"leaking at bell; Damage: Yes"' in rows["message"].iloc[0]


@pytest.mark.parametrize("name", ["Lot", "Weather", "Market Street", "Homework", "Glubb"])
def test_other_columns_that_are_not_read_are_named_by_no_note(name):
    rows, notes = unread(**{name: ["North", "12", "to be seen"]})
    assert (notes, rows["joint"].tolist()) == ([], [])


def test_the_documentation_lists_the_words():
    text = resources.files("asbuilt").joinpath("data/remark_words.csv").read_text("utf-8")
    docs = Path(__file__).parents[2] / "scripts" / "docs" / "howto" / "results.md"
    listed = " ".join(docs.read_text("utf-8").split())
    for row in csv.DictReader(text.splitlines()):
        assert f"`{row['word'].strip()}`" in listed


def test_a_column_that_answers_yes_or_no_is_named_whatever_it_is_called():
    _, notes = unread(Stabbed=["Y", "N", "Y"], Lot=["Y", "7", "N"])
    (told,) = notes
    assert "nothing is read from column 'Stabbed', though its cells say yes or no" in told


def test_a_log_from_which_no_joint_number_is_read_is_told():
    records = log(STRAIGHT)
    for frame, count in ((records, 0), (records.drop(columns="joint"), 1)):
        told = [one.text for one in place(lines(A=STRAIGHT), frame).notes if "the joint's number" in one.text]
        assert len(told) == count
