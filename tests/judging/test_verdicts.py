"""What verdicts rest on: measured or assumed; survey and readings as one statistic; a joint and a main."""

import numpy as np
import pandas as pd
import pytest
from laying import EXACT, LOOKED_AT, lines, log, pipe, place
from scipy.stats import binomtest

SURE = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}


def joints(points, records=None, **tables):
    found = place(lines(A=points), log(points) if records is None else records, **tables).joints
    return found["verdict"].tolist(), found["verdict_assumes"].fillna("").tolist()


def test_a_verdict_is_measured_only_where_nothing_was_assumed():
    points = pipe([2.0, 2.0, 2.0])
    assert joints(points, centerline=SURE)[0][1:-1] == ["within"] * 3
    assert joints(points)[1][1:-1] == ["shots-exact"] * 3
    # The vertical part of the turn is used, and nothing is said of how sure it is.
    assert joints(points, centerline={"sigma_horizontal": 0.02})[1][2] == "shots-exact"
    assert joints(points, centerline=SURE | {"elevation": "none"})[1][2] == "level"


def test_blank_elevations_between_measured_ones_are_no_shots():
    points = pipe([2.0] * 8)
    points[1::2, 2] = np.nan
    verdict, assumes = joints(points, centerline=SURE)
    assert set(verdict[1:-1]) == {"within-assumed"}
    assert set(assumes[1:-1]) == {"level"}


def test_a_turn_over_the_limit_in_plan_alone_is_over():
    verdict, assumes = joints(pipe([0.0, 7.0, 0.0]), centerline=SURE | {"elevation": "none"})
    assert (verdict[2], assumes[2]) == ("over", "")


def test_a_bend_of_no_recorded_plane_is_within_only_if_it_lies_so():
    """A level pipe, a 45-deg bend, and a pipe ahead that rises 8 deg: rolled, its joints may take next to nothing."""
    start, up, across = pipe([])[0], np.radians(8.0), np.radians(45.0)
    ahead = np.array([np.sin(across) * np.cos(up), np.cos(across) * np.cos(up), np.sin(up)])
    points = start + np.outer(np.arange(4), [0.0, 20.0, 0.0])
    points = np.concatenate([points, points[-1] + 20.0 * np.arange(1, 4)[:, None] * ahead])
    kind = ["pipe"] * 3 + ["bend"] + ["pipe"] * 3
    records = log(points, kind=kind, **{"bend angle": [45 if one == "bend" else None for one in kind]})
    verdict, assumes = joints(points, records, centerline=EXACT)
    assert (verdict[3], assumes[3]) == ("within-assumed", "fitting-plane")
    found = place(lines(A=points), records, centerline=EXACT).findings
    (told,) = found.loc[found["code"] == "bend-plane-missing"].itertuples()
    assert told.joint == "4"
    # The rise is left to one joint of a level bend; upright, nearly all of the turn is.
    assert told.message.startswith(
        "the log does not say in which plane the bend of 45 deg lies: laid level it leaves 8 deg to its joints"
    )
    # A bend that lies level, or upright, needs no plane to be within.
    flat = np.concatenate([points[:4], points[3] + (points[4:] - points[3]) * [1.0, 1.0, 0.2]])
    assert "bend-plane-missing" not in set(place(lines(A=flat), records, centerline=EXACT).findings["code"])
    # By the log it is level, so the joint ahead of it takes the rise.
    level = records.assign(plane=[None] * 3 + ["right"] + [None] * 3)
    assert joints(points, level, centerline=EXACT)[0][3] == "cannot-tell"


def test_a_fitting_laid_level_on_a_slope_takes_it_at_its_joints():
    turn, grade = np.radians(45.0), 0.10
    step = np.array([[0.0, 1.0, grade]] * 3 + [[np.sin(turn), np.cos(turn), grade]] * 3)
    points = pipe([])[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(20.0 * step, axis=0)])
    kind = ["pipe"] * 3 + ["bend"] + ["pipe"] * 3
    records = log(points, kind=kind, plane=[None] * 3 + ["right"] + [None] * 3,
                  **{"bend angle": [45 if one == "bend" else None for one in kind]})  # fmt: skip
    # 10 percent are 5.7 deg, over the 5 of the table, at either of its joints.
    assert joints(points, records, centerline=EXACT)[0][3] == "cannot-tell"


def test_shots_past_the_joints_are_not_taken_for_exact():
    """5.15 deg shot 0.9 ft past the joint shows as 4.92, which was taken as it stood."""
    points = pipe([0.0, 5.15, 0.0, 0.0])
    shots = points.copy()
    shots[1:-1] += (points[2:] - points[1:-1]) * 0.9 / 20.0
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    along[1:-1] -= 0.9
    records = log(points, station=[f"0+{at:07.4f}" for at in along])
    found = place(lines(A=shots), records, centerline=EXACT).joints
    assert found["deflection_deg"][2] == pytest.approx(4.92, abs=0.01)
    assert found["verdict"][2] == "cannot-tell"
    assert found["verdict"][3] == "within"


def test_one_of_a_mixed_main_is_over_only_past_what_its_joints_may_turn_together(tmp_path):
    """Joints of 5, 1.5 and 5 degrees share a turn, and take 4.5, 1.4 and 4.5: none is over."""
    points = pipe(np.tile([4.5, 1.4], 5))
    shots = points[::2]
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    at = np.interp(np.arange(len(points)), np.arange(len(shots)) * 2, chord)
    small = ["push-on" if number % 2 else "tight" for number in range(len(points))]
    records = log(points, station=[f"{int(one // 100)}+{one % 100:05.2f}" for one in at], **{"joint type": small})
    limits = pd.DataFrame({"joint_type": ["push-on", "tight"], "size": 12, "allowable_deg": [5.0, 1.5], "source": "x"})
    limits.to_csv(tmp_path / "limits.csv", index=False)
    table = {"project": str(tmp_path / "limits.csv")}
    found = place(lines(A=shots), records, centerline=EXACT, limits=table).joints
    assert "over" not in found["verdict"].tolist()


@pytest.mark.parametrize("every", [1, 3])
def test_joints_over_by_a_turn_that_they_share_are_counted_apart(every):
    points = pipe([1.0] * 10 + [5.6] * 20 + [1.0] * 9)
    shot = points[[*range(0, 40, every), 40]] if every > 1 else points
    on_it = {"shots_at_joints": False, "between": "curve", "sigma_horizontal": 0.01, "sigma_vertical": 0.01}
    placed = place(lines(A=shot), log(points), centerline=on_it if every > 1 else EXACT)
    over = placed.joints[placed.joints["verdict"] == "over"]
    assert len(over) > 0
    together = int(over["deflection_deg"].isna().sum())
    assert placed.counts["joints_over_together"] == together == (0 if every == 1 else len(over))


def test_survey_and_readings_are_one_statistic():
    """Deflections of just their limit, surveyed and read with errors: judged within no oftener than stated."""
    from test_conflict import gaps

    chance, mains, turns = np.random.default_rng(4), 60, np.full(18, 5.001)
    points, read = pipe(turns), gaps(np.array([0, *turns, 0]))
    routes = {f"R{number}": points + chance.normal(0, 0.05, points.shape) for number in range(mains)}
    logs = [log(points, route=name, **{hour: values + chance.normal(0, 1 / 16, 20) for hour, values in read.items()})
            for name in routes]  # fmt: skip
    errors = {"sigma_horizontal": 0.05, "sigma_vertical": 0.05}
    found = place(lines(**routes), pd.concat(logs, ignore_index=True), centerline=errors,
                  records={"spacing_tolerance": 1.0, "sigma_station": 0.0}).joints  # fmt: skip
    inner = found[found["deflection_source"] == "survey-and-readings"]
    assert len(inner) > 0.9 * mains * 18
    # Neighbours share shots, so a third of the joints count as independent.
    wrong = int((inner["verdict"] == "within").sum() / 3)
    assert binomtest(wrong, len(inner) // 3, 0.05, alternative="greater").pvalue > 0.01
    # The error beside a deflection is that of the two together, under that of either.
    stated, spread = inner["sigma_deg"].mean(), (inner["deflection_deg"] - 5.001).std()
    assert stated < 0.95 * inner["sigma_measured_deg"].mean()
    assert spread == pytest.approx(stated, rel=0.05)


@pytest.mark.parametrize("errors", [{"sigma_horizontal": 0.05, "sigma_vertical": 0.05}, {}])
def test_the_error_beside_a_deflection_by_readings_is_that_of_the_readings(errors):
    """Shots at every fourth joint: between them the line does not turn, with no error, and the joints do."""
    from test_conflict import gaps

    points = pipe(np.full(18, 1.0))
    read = log(points, **gaps(np.array([0, *np.full(18, 1.0), 0])))
    found = place(lines(A=points[::4]), read.iloc[:17], centerline=errors).joints
    by_readings = found["deflection_source"] == "readings"
    assert by_readings.sum() > 10
    beside, measured = (found[name][by_readings].tolist() for name in ("sigma_deg", "sigma_measured_deg"))
    assert beside == pytest.approx(measured, rel=1e-3)
    assert min(beside) > 0.1


def test_the_confidence_of_a_main_asks_more_of_each_joint():
    points, errors = pipe([4.3] * 30), {"sigma_horizontal": 0.05, "sigma_vertical": 0.05, **LOOKED_AT}
    of_joint = place(lines(A=points), log(points), centerline=errors)
    of_main = place(lines(A=points), log(points), centerline=errors,
                    limits={"table": "awwa-c600", "confidence_of": "main"})  # fmt: skip
    assert (of_joint.joints["verdict"][1:-1] == "within").all()
    assert (of_main.joints["verdict"][1:-1] == "cannot-tell").all()
    # 30 verdicts of 5 percent each.
    assert of_joint.counts["verdicts_wrong_at_most"] == {"A": 1.5}
    assert of_main.judged.confidence == pytest.approx(1 - 0.05 / 32)


@pytest.mark.parametrize("noise", [0.0, 0.03])
def test_the_ceiling_that_is_shown_is_the_one_that_the_verdict_rests_on(noise):
    """Source: none; 20 random mains of straights and curves, seed 3, shot at every second to fifth joint."""
    rng, judged = np.random.default_rng(3), 0
    for _ in range(20):
        points = pipe(np.repeat(rng.choice([0, 0, 1.5, -1.5, 3], 15), 4))
        shot = np.unique(np.append(np.arange(0, len(points), rng.integers(2, 6)), len(points) - 1))
        seen = points[shot] + rng.normal(0.0, noise, (len(shot), 3)) * [1, 1, 0]
        errors = {"sigma_horizontal": noise, "sigma_vertical": noise}
        joints = place(lines(A=seen), log(points), centerline=errors).joints
        one_way = joints[joints["verdict_assumes"].fillna("").str.contains("one-way")]
        assert (one_way["deflection_ceiling_deg"] <= one_way["allowable_deg"]).all()
        judged += len(one_way)
    assert judged > 200


@pytest.mark.parametrize("every", [2, 3, 5])
def test_a_bend_of_unknown_angle_puts_no_joint_beside_it_over(every):
    """Its turn is shared by nobody knows how much: joints of sparse shots beside it were called over."""
    points = pipe(np.where(np.arange(24) == 10, 22.5, 0.0))
    kept = sorted({*range(0, len(points), every), len(points) - 1})
    records = log(points, kind=["bend" if row == 11 else "pipe" for row in range(len(points))])
    stated = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
    placement = place(lines(A=points[kept]), records, centerline=stated, records={"station_tolerance": 5.0})
    assert "over" not in set(placement.joints["verdict"])
    assert "cannot-tell" in set(placement.joints["verdict"])


@pytest.mark.parametrize("plane", ["right", None])
def test_a_shot_past_a_bend_cuts_its_corner_and_hides_no_joint_beside_it(plane):
    """5.6 degrees to the left of 5 allowed, and a shot 0.9 ft past the bend of 22.5 to the right ahead: once within."""
    turns = np.where(np.arange(16) == 8, 22.5, 0.0)
    turns[7] = -5.6
    points = pipe(turns)
    shots = np.concatenate([points[:1], points[1:-1] + 0.9 / 20.0 * np.diff(points[1:], axis=0), points[-1:]])
    # Stations are counted along the shots, so that all that is off is the shot's place.
    at = np.concatenate([[0.0], np.arange(1, len(points) - 1) + 0.9 / 20.0, [len(points) - 1]])
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    along = np.interp(np.arange(len(points)), at, chord)
    bend = np.arange(len(points)) == 9
    records = log(
        points, station=along, kind=np.where(bend, "bend", "pipe"),
        **{"bend angle": np.where(bend, "22.5", ""), "plane": np.where(bend & (plane is not None), plane, "")},
    )  # fmt: skip
    verdict = place(
        lines(A=shots), records, centerline={"sigma_horizontal": 0.0, "sigma_vertical": 0.0},
        records={"station_format": "decimal", "spacing_tolerance": 2.0},
    ).joints["verdict"]  # fmt: skip
    assert verdict[8] == "cannot-tell"
    assert verdict[4] == "within"


@pytest.mark.parametrize(
    ("word", "verdict"),
    [
        ("pipe", "over"),
        ("12 in DI pipe", "over"),
        (None, "over"),
        ("Bogen", "cannot-tell"),
        ("41+75.02", "cannot-tell"),
    ],
)
def test_no_joint_is_surely_over_whose_kind_cannot_be_read(word, verdict):
    points = pipe([0.0, 0.0, 45.3, 0.0, 0.2, 0.0])
    kinds = ["pipe"] * len(points)
    kinds[3] = word
    placed = place(lines(A=points), log(points, kind=kinds), centerline=EXACT)
    assert placed.joints["verdict"][3] == verdict
    unclear = placed.findings.query("code == 'deflection-unclear' and joint == '4'")["message"].tolist()
    unread = placed.findings.query("code == 'field-unreadable'")["joint"].tolist()
    if verdict == "over":
        assert (unclear, unread) == ([], [])
        return
    (message,) = unclear
    told = (
        f"the line turns 45.3 deg there, against 5 deg allowed: what was laid, '{word}', cannot be read, and may be a"
    )
    assert message.startswith(told)
    assert unread == ["4"]
    # A word of the log's own is kept; a station in its column is no word.
    assert placed.joints["kind"].fillna("blank")[3] == {"Bogen": "bogen"}.get(word, "blank")


def test_a_word_that_cannot_be_read_leaves_joints_within_and_what_is_read_as_a_bend_as_they_are():
    points = pipe([0.0, 0.0, 45.3, 0.0, 0.2, 0.0])
    kinds = ["Rohr"] * len(points)
    kinds[3] = "Bogen"
    words = {"records": {"words": {"kind": {"Bogen": "bend"}}}}
    placed = place(
        lines(A=points), log(points, kind=kinds, **{"bend angle": [None] * 3 + [45.0] + [None] * 4}), **words
    )
    assert "over" not in set(placed.joints["verdict"])
    assert "cannot-tell" not in set(placed.joints["verdict"])
    assert placed.findings.query("code == 'field-unreadable'")["joint"].tolist() == ["1", "2", "3", "5", "6", "7", "8"]
