"""What was read at a joint by one job, beside what others surveyed there: neither makes the other vanish."""

import laying
import numpy as np
import pytest
from registers import change, make_earlier

from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

SHOT = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
DRAWN = {"source": "drawn", "shots_at_joints": False}
RADIUS_IN = 6.6
"""Of a 12 in pipe, outside (AWWA C151, from memory)."""


def gaps(degrees):
    """Give the gaps around a joint that is deflected to the right, inches."""
    wide = RADIUS_IN * np.tan(np.radians(degrees))
    return {f"gap_{hour}": f"{0.9 - wide * np.cos(np.radians(hour * 30 - 90)):.4f}" for hour in (12, 3, 6, 9)}


def job(folder, name, *, read=None, turns=(0.0,) * 5, line=SHOT, only=range(6), **columns):
    """Place a job of six joints; what is read, degrees, is read at joint 3."""
    points = laying.pipe(turns)
    log = laying.log(points[:6], route="A")
    change(log, columns | ({} if read is None else {one: {2: text} for one, text in gaps(read).items()}))
    path = folder / f"{name} {len(list(folder.glob('*.gpkg')))}.gpkg"
    records = {"reading_unit": "in", "covers": "part"}
    laying.place(laying.lines(A=points), log.loc[list(only)], name=name, centerline=line, records=records).write(path)
    return path


@pytest.fixture(scope="module")
def jobs(folder):
    later = {"date": "2026-05-05"}
    return {
        "survey": job(folder, "Survey"),
        "surveyed again": job(folder, "Second survey"),
        "survey over": job(folder, "Survey", turns=(0.0, 9.0, 0.0, 0.0, 0.0)),
        "leak": job(folder, "Leak", read=6.8, **later),
        "leak, one joint": job(folder, "Leak", read=6.8, only=(0, 2, 5), **later),
        "leak, drawn": job(folder, "Leak", read=6.8, line=DRAWN, **later),
        "leak, straight": job(folder, "Leak", read=1.0, line=DRAWN, **later),
        "leak, unread": job(folder, "Leak", line=DRAWN, **later),
        "read again": job(folder, "Second leak", read=0.5, line=DRAWN, date="2026-06-06"),
    }


def third(register):
    return find(register, Question(joints=["3"])).joints[0]


def codes(register):
    return sorted(one["code"] for one in third(register)["findings"])


def asked(register, **question):
    return [joint["joint"] for joint in find(register, Question(**question)).joints]


@pytest.mark.parametrize(
    ("form", "verdict", "code"),
    [
        ("leak", "cannot-tell", "deflection-conflict"),
        ("leak, one joint", "cannot-tell", "deflection-conflict"),
        ("leak, drawn", "over", "deflection-over"),
    ],
)
def test_a_reading_over_stays_at_the_joint_before_and_after_surveys(register, jobs, form, verdict, code):
    load(jobs["survey"], register)
    assert third(register)["verdict"] == "within"
    loaded = load(jobs[form], register)
    assert loaded.findings["unchanged"] == 0
    for nth, reads in ((2, None), (3, 2)):
        joint = third(register)
        assert (joint["load_id"], joint["reading_load_id"]) == (nth, reads)
        assert joint["measured_deg"] == pytest.approx(6.8, abs=0.01)
        assert joint["verdict"] == verdict
        assert code in codes(register)
        assert joint["findings_count"] == len(joint["findings"])
        assert asked(register, over_deg=5.0) == asked(register, findings=[code]) == ["3"]
        if nth == 2:
            load(jobs["surveyed again"], register)
    undo(3, register)
    assert (third(register)["verdict"], third(register)["reading_load_id"]) == (verdict, None)
    load(jobs["surveyed again"], register)
    undo(2, register)
    joint = third(register)
    assert (joint["verdict"], joint["measured_deg"], codes(register)) == ("within", None, [])


def test_a_reading_of_a_first_load_outlasts_a_survey(register, jobs):
    load(jobs["leak, one joint"], register)
    load(jobs["survey"], register)
    assert "deflection-conflict" in codes(register)
    assert third(register)["verdict"] in ("cannot-tell", "not-computed")
    assert third(register)["reading_load_id"] == 1


def test_an_earlier_over_stands_beside_a_reading_that_is_within(register, jobs):
    load(jobs["survey over"], register)
    assert asked(register, verdicts=["over"]) == ["3"]
    load(jobs["leak, straight"], register)
    joint = third(register)
    assert (joint["verdict"], joint["deflection_load_id"]) == ("over", 1)
    assert joint["measured_deg"] == pytest.approx(1.0, abs=0.01)
    assert "deflection-over" in codes(register)


def test_only_another_reading_takes_the_place_of_a_reading(register, jobs):
    load(jobs["survey"], register)
    load(jobs["leak, drawn"], register)
    load(jobs["read again"], register)
    joint = third(register)
    assert (joint["verdict"], joint["measured_deg"]) == ("within", pytest.approx(0.5, abs=0.01))
    assert codes(register) == []
    undo(3, register)
    assert (third(register)["verdict"], codes(register)) == ("over", ["deflection-over"])


def test_a_job_without_a_reading_neither_blanks_nor_weakens(register, jobs):
    load(jobs["survey over"], register)
    before = third(register)
    load(jobs["leak, unread"], register)
    after = third(register)
    assert [after[name] for name in ("verdict", "deflection_deg")] == [before[n] for n in ("verdict", "deflection_deg")]


def test_a_register_of_before_learns_which_load_read(register, jobs):
    load(jobs["survey"], register)
    load(jobs["leak, drawn"], register)
    make_earlier(register, 14)
    load(jobs["surveyed again"], register)
    assert (third(register)["verdict"], third(register)["reading_load_id"]) == ("over", 2)


def test_what_was_read_is_told_with_the_unit_of_the_job_that_read_it(register, folder):
    """0.9 in one job is inches, 22.86 in another millimetres: 25.4 to the inch, exactly (definition)."""
    inches = {one: {2: text} for one, text in gaps(0.5).items()}
    millimetres = {one: {3: f"{float(text[2]) * 25.4:.3f}"} for one, text in inches.items()}
    load(job(folder, "Inches", **inches, **{"bolt torque": {2: "80"}}), register)
    points = laying.pipe((0.0,) * 5)
    log = laying.log(points[:6], route="A")
    change(log, millimetres | {"bolt torque": {3: "108"}})
    of_log = {"reading_unit": "mm", "torque_unit": "N-m", "covers": "part"}
    laying.place(laying.lines(A=points), log, name="Millimetres", centerline=SHOT, records=of_log).write(
        folder / "millimetres.gpkg"
    )
    load(folder / "millimetres.gpkg", register)
    two, three, four = find(register, Question(joints=["2", "3", "4"])).joints
    assert [one["reading_unit"] for one in (two, three, four)] == [None, "in", "mm"]
    assert four["gap_mean"] == pytest.approx(25.4 * three["gap_mean"], rel=1e-4)
    records = [[one.get("reading_unit") for one in joint["history"] if "gap_12" in one] for joint in (two, three, four)]
    assert records == [[], ["in"], ["mm"]]
    torques = [[one["torque_unit"] for one in joint["history"] if "bolt_torque" in one] for joint in (two, three, four)]
    assert torques == [[], ["ft-lb"], ["N-m"]]
