"""The present state of a joint that several jobs speak of: latest place, latest inspection, and what findings hold."""

import datetime as dt
import re

import laying
import numpy as np
import pandas as pd
import pytest
from registers import placed

from asbuilt import cli
from asbuilt.errors import InputFileError
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo


@pytest.fixture(scope="module")
def job(folder):
    """Give a maker of placed jobs: a name, and how they differ from the first contract."""
    made = iter(range(1000))
    return lambda name="Quarry Lane", **how: placed(folder / f"present {next(made)}.gpkg", name, **how)


@pytest.fixture(scope="module")
def surveyed(folder):
    """Give a maker of surveys of the same joints, a little east, whose log says nothing but the stations."""
    made = iter(range(1000))

    def make(name="Second survey", east=0.5, joints=6, **centerline):
        points = laying.pipe(np.zeros(joints - 1)) + np.array([east, 0.0, 0.0])
        log = laying.log(points[:joints], route="A")[["joint", "station", "route"]]
        path = folder / f"survey {next(made)}.gpkg"
        laying.place(laying.lines(A=points), log, name=name, centerline=centerline).write(path)
        return path

    return make


def east_of(register, joint="3"):
    return find(register, Question(joints=[joint])).joints[0]["easting"] - laying.EAST


def asked(register, **question):
    return [joint["joint"] for joint in find(register, Question(**question)).joints]


def codes(register, joint="3"):
    return sorted(one["code"] for one in find(register, Question(joints=[joint])).joints[0]["findings"])


def test_a_corrected_log_does_not_bring_its_old_survey_back(register, job, surveyed):
    load(job(), register)
    load(surveyed(), register)
    assert east_of(register) == pytest.approx(0.5, abs=1e-6)
    loaded = load(job(remarks={2: "seen again"}), register)
    assert east_of(register) == pytest.approx(0.5, abs=1e-6)
    said = [note for note in loaded.notes if "1 joint stays where the survey of Second survey (load 2)" in note]
    assert len(said) == 1
    assert "0.50 ft" in said[0]
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["load_id"], third["place_load_id"], third["inspection_load_id"]) == (3, 2, 3)
    # The same log once more changes nothing, and a longer one only adds.
    longer = load(job(remarks={2: "seen again"}, joints=9), register)
    assert (longer.joints["new"], longer.joints["unchanged"]) == (3, 6 - 1)


def test_a_survey_undone_gives_the_place_back_under_a_correction(register, job, surveyed):
    load(job(), register)
    load(surveyed(), register)
    load(job(remarks={2: "seen again"}), register)
    undo(2, register)
    assert east_of(register) == pytest.approx(0.0, abs=1e-6)
    (near,) = find(register, Question(near=f"{laying.EAST},{laying.NORTH + 40.0}", within="0.1ft")).joints
    assert (near["joint"], near["place_load_id"]) == ("3", 3)


def test_a_correction_that_moves_its_joints_counts_and_says_so(register, job, surveyed):
    load(job(), register)
    load(surveyed(), register)
    loaded = load(job(east=-0.25), register)
    assert east_of(register) == pytest.approx(-0.25, abs=1e-6)
    (said,) = [note for note in loaded.notes if "move by up to" in note]
    assert "6 joints move by up to 0.75 ft, from where Second survey (load 2) had them" in said
    assert "undo this load and load 2" in said


def test_findings_of_an_inspection_outlast_a_later_survey(register, job, surveyed):
    load(job(gauge={2: "no"}, inspector={2: "M. Sol"}), register)
    failed = {"findings": ["inspection-failed"]}
    assert asked(register, **failed, unmarked=True) == ["3"]
    load(surveyed(), register)
    assert asked(register, **failed) == asked(register, **failed, unmarked=True) == ["3"]
    assert asked(register, inspectors=["M. Sol"], unmarked=True) == ["3"]
    # The survey says nothing of the size, so it knows no allowable: the earlier verdict stays.
    assert codes(register) == ["inspection-failed"]
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["inspection"], third["findings_count"], third["place_load_id"]) == ("failed", 1, 2)
    # A correction of the log ends it, and undoing that correction brings it back.
    load(job(gauge={2: "ok"}, inspector={2: "M. Sol"}), register)
    assert asked(register, **failed) == []
    assert "inspection-failed" not in codes(register)
    undo(3, register)
    assert asked(register, **failed, unmarked=True) == ["3"]
    undo(1, register)
    assert asked(register, **failed) == []


def test_what_the_crew_remarked_outlasts_a_later_survey(register, job, surveyed):
    """Once such a finding was told of the joint's place, and a survey took it away: nobody saw the leak any more."""
    load(job(remarks={2: "leaking at bell"}), register)
    assert "remark-to-read" in codes(register)
    load(surveyed(), register)
    assert "remark-to-read" in codes(register)


def test_a_survey_that_knows_no_allowable_takes_no_verdict_away(register, folder, surveyed):
    points = laying.pipe([0.0, 9.0, 0.0, 0.0, 0.0])
    laying.place(laying.lines(A=points), laying.log(points[:6], route="A"), name="Contract 1").write(
        folder / "bent.gpkg"
    )
    load(folder / "bent.gpkg", register)
    (over,) = asked(register, verdicts=["over"])
    found = codes(register, over)
    assert "deflection-over" in found
    load(surveyed(joints=6), register)
    assert asked(register, verdicts=["over"]) == [over]
    assert codes(register, over) == found
    # Joints of the survey, which goes straight on, wait beside those of the contract: without that they would not.
    with pytest.raises(
        InputFileError, match=r"load 2 \(Second survey\) left joints out, as they contradict what load 1 says"
    ):
        undo(1, register)
    undo(2, register)
    undo(1, register)
    load(surveyed(joints=6), register)
    assert asked(register, verdicts=["over"]) == []


def test_a_survey_that_knows_of_no_restraint_judges_no_restrained_joint(register, job):
    load(job(restrained={2: "yes"}), register)
    before = find(register, Question(joints=["3"])).joints[0]
    assert (before["restrained"], before["verdict"]) == ("yes", "no-allowable")
    result = load(job("Second survey", east=0.05), register)
    [note] = [one for one in result.notes if "restrained in the register" in one]
    assert note.startswith("1 joint is restrained in the register (A 3)")
    three, four = find(register, Question(joints=["3", "4"])).joints
    assert (three["restrained"], three["verdict"], three["allowable_deg"]) == ("yes", "no-allowable", None)
    assert four["verdict"].startswith("within")
    said = load(job("Third survey", east=0.06, restrained={2: "no"}), register)
    assert not [one for one in said.notes if "restrained in the register" in one]
    assert find(register, Question(joints=["3"])).joints[0]["verdict"].startswith("within")


def test_an_inspection_of_an_earlier_day_does_not_take_the_place_of_a_later_one(register, job):
    load(job("Leak", date="2031-05-06", gauge={2: "no"}), register)
    load(job("Archive", date="2026-04-02"), register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["inspected_on"], third["inspection"]) == ("2031-05-06", "failed")
    assert asked(register, findings=["inspection-failed"], unmarked=True) == ["3"]
    assert [one["inspected_on"] for one in third["history"]] == ["2026-04-02", "2031-05-06"]


def test_two_contracts_with_a_main_of_one_name_a_mile_apart_are_not_one_main(register, job):
    """The straight between two joints of one main is never longer than the way between them along it."""
    load(job("Contract 1"), register)
    loaded = load(job("Contract 2", east=5280.0, first=101), register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (0, 6)
    (said,) = [note for note in loaded.notes if "two mains of one name" in note]
    assert all(word in said for word in ("Contract 1", "Contract 2", "5,280 ft", "--main", "6 joints wait"))
    assert {one["reason"] for one in loaded.conflicts} == {"same-route-elsewhere"}
    apart = load(job("Contract 2", east=5280.0, first=101), register, main="Contract 2")
    assert apart.joints["new"] == len(asked(register, routes=["A"])) == 6


def test_a_route_whose_stations_begin_anew_is_one_main_if_somebody_says_so(register, job):
    from asbuilt.register.settling import settle

    load(job("Contract 1"), register)
    load(job("Contract 2", east=5280.0, first=101), register)
    settled = settle(register, "theirs")
    assert (settled.joints, settled.still) == (6, [])
    assert len(asked(register, routes=["A"])) == 12
    assert load(job("Contract 2", east=5280.0, first=101, joints=8), register).joints["left_out"] == 0


@pytest.mark.parametrize("north", [120.0, 190.0])
def test_a_main_that_goes_on_within_a_hundred_feet_is_one_main(register, job, north):
    load(job("Contract 1"), register)
    loaded = load(job("Contract 2", north=north, first=7), register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (6, 0)
    assert not any("no joint is in both" in note for note in loaded.notes)


def test_a_main_far_off_under_stations_that_may_be_true_is_told(register, folder, job):
    load(job("Contract 1"), register)
    points = laying.pipe(np.zeros(5)) + np.array([0.0, 2000.0, 0.0])
    log = laying.log(points, first=101, route="A", start=3000.0)
    path = folder / "far phase.gpkg"
    laying.place(laying.lines(A=points), log, name="Contract 2", centerline={"start_station": "30+00"}).write(path)
    loaded = load(path, register)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (7, 0)
    (said,) = [note for note in loaded.notes if "no joint is in both" in note]
    assert "1,900 ft" in said
    assert "--main NAME" in said


@pytest.mark.parametrize(("name", "routes"), [("Relaid", ("B",)), ("Relaid", ("A",))])
def test_a_main_laid_beside_an_old_one_is_told_with_the_way_to_replace_it(register, job, name, routes):
    load(job("Contract 1"), register)
    loaded = load(job(name, east=2.0, north=9.0, first=201, routes=routes), register)
    (said,) = [note for note in loaded.notes if "--replaces" in note]
    assert "5 of the 6 new joints of this job lie within 5 ft of the main A of Contract 1" in said
    assert "--replaces 'A'" in said


def test_a_main_that_crosses_another_is_not_taken_for_its_replacement(register, job, folder):
    load(job("Contract 1"), register)
    points = laying.pipe(np.zeros(5))
    points = points[:, [1, 0, 2]] - np.array([laying.NORTH, laying.EAST, 0.0])
    points = points + np.array([laying.EAST - 50.0, laying.NORTH + 47.0, 0.0])
    path = folder / "crossing.gpkg"
    log = pd.DataFrame(laying.log(points, route="X"))
    laying.place(laying.lines(X=points), log, name="Crossing").write(path)
    assert not any("--replaces" in note for note in load(path, register).notes)


def test_a_main_out_of_service_is_not_offered_for_replacement(register, job):
    from asbuilt.register.service import note_service

    load(job("Contract 1"), register)
    note_service(register, "A", "abandoned")
    loaded = load(job("Relaid", east=2.0, routes=("B",)), register)
    assert not any("--replaces" in note for note in loaded.notes)


def test_what_a_log_without_inspections_finds_is_not_lost(register, job, surveyed):
    """It says nothing of an inspection, and that sizes change all the same."""
    blank = dict.fromkeys(("inspector", "date", "home_to_mark", "gauge", "gasket_temp"), "")
    load(job(gauge={2: "no"}), register)
    load(job("As found", size={2: "8"}, **blank), register)
    assert codes(register) == ["inspection-failed", "size-changes"]
    # The job corrects itself, which ends its own finding and not the other's; undone, it stands again.
    load(job("As found", **blank), register)
    assert codes(register) == ["inspection-failed"]
    undo(3, register)
    assert codes(register) == ["inspection-failed", "size-changes"]
    load(job("As found", size={2: "8"}, remarks={2: "seen again"}, **blank), register)
    assert codes(register) == ["inspection-failed", "size-changes"]


def test_a_later_inspection_is_undone_from_under_an_earlier_one_which_holds_then(register, job):
    load(job("Leak", date="2031-05-06"), register)
    load(job("Archive", date="2026-04-02", gauge={2: "no"}), register)
    assert asked(register, findings=["inspection-failed"]) == []
    undo(1, register)
    (third,) = find(register, Question(joints=["3"])).joints
    assert (third["inspection"], third["inspected_on"], third["first_load_id"]) == ("failed", "2026-04-02", 2)
    assert asked(register, findings=["inspection-failed"]) == ["3"]
    assert third["findings_count"] == len(third["findings"])


def test_a_joint_that_stays_is_not_listed_as_moved(register, job, surveyed):
    load(job(), register)
    load(surveyed(), register)
    (third,) = load(job(remarks={2: "seen again"}), register).changes
    assert third["moved_m"] == 0.0
    assert third["changed"] == {}


def test_a_job_without_elevations_does_not_bring_its_old_survey_back(register, job, folder):
    def flat(name, east, remark):
        points = laying.pipe(np.zeros(5)) + np.array([east, 0.0, 0.0])
        log = laying.log(points, route="A").assign(remarks=remark)
        path = folder / f"flat {name} {remark}.gpkg"
        laying.place(laying.lines(A=points[:, :2]), log, name=name).write(path)
        return path

    load(job("Levelled"), register)
    load(flat("Flat", 0.3, "first"), register)
    load(job("Later survey", east=0.6), register)
    load(flat("Flat", 0.3, "second"), register)
    assert east_of(register) == pytest.approx(0.6, abs=1e-6)


def test_an_inspection_of_an_earlier_day_is_told_and_one_of_a_later_day_is_not(register, job):
    load(job(date="2026-05-01"), register)
    loaded = load(job("Paper sheets", date="2026-04-02", gauge={1: "no"}), register)
    (said,) = [note for note in loaded.notes if "earlier day" in note]
    assert "the inspections of 6 joints are of an earlier day" in said
    assert "A 1: 2026-04-02, there 2026-05-01; " in said
    assert asked(register, items=["inspection=failed"]) == []
    assert len(find(register, Question(joints=["2"])).joints[0]["history"]) == 2
    later = load(job("Repair", date="2026-06-01", gauge={1: "no"}), register)
    assert [note for note in later.notes if "earlier day" in note] == []
    assert asked(register, items=["inspection=failed"]) == ["2"]


def test_an_inspection_without_a_day_that_takes_the_place_of_a_dated_one_is_told(register, job, capsys):
    load(job(date="2026-05-01"), register)
    undated = job("Paper sheets", date=None, gauge={1: "no"})
    for dry_run in (True, False):
        [said] = [note for note in load(undated, register, dry_run=dry_run).notes if "one without in this file" in note]
        assert said.startswith("6 joints have an inspection of another job with a day")
        assert "A 1: there 2026-05-01" in said
    # What another job has without a day, or the job itself had dated, is taken without a word; so is a later day.
    for later in (job("Sheets again", date=None), job("Repair", date="2026-06-01"), job("Repair", date=None)):
        assert not [note for note in load(later, register).notes if "one without in this file" in note]


def test_an_answer_says_which_loads_place_and_inspection_are_from(register, job, surveyed, capsys):
    load(job(), register)
    load(surveyed(), register)
    cli.run(["find", register, "--joint", "3"])
    assert "place from load 2; inspection and deflection from load 1" in capsys.readouterr().out
    load(job(gauge="no", date="2026-06-01"), register)
    cli.run(["find", register, "--joint", "3"])
    assert "place from load 2; inspection and deflection from load 3" in capsys.readouterr().out


def test_a_survey_of_a_long_main_is_told_on_a_page(register, job, surveyed, capsys):
    load(job(joints=60), register)
    assert cli.run(["load", str(surveyed(joints=60)), "--into", register]) == 0
    said = capsys.readouterr().out
    assert len(said.splitlines()) < 60
    assert "... and 50 more; --json lists all. Of 60 joints: moved 60" in " ".join(said.split())


def test_a_mistyped_year_hides_no_inspection_whichever_comes_first(register, job):
    load(job(date="2062-04-02"), register)
    # The next job's day is earlier than the mistyped one, and counts all the same.
    loaded = load(job("Repair", date="2026-06-01", gauge={1: "no"}), register)
    assert asked(register, items=["inspection=failed"]) == ["2"]
    assert [note for note in loaded.notes if "2062" in note] == []
    loaded = load(job("Third", date="2062-07-01"), register)
    assert asked(register, items=["inspection=failed"]) == ["2"]
    (said,) = [note for note in loaded.notes if "later than today" in note]
    assert said.startswith("inspections dated later than today: 6 (A 1 2062-07-01, ")
    # Corrected, it is the latest.
    load(job("Third", date="2026-07-01"), register)
    assert asked(register, items=["inspection=failed"]) == []


@pytest.mark.parametrize(("first", "second", "there"), [
    ("2026-04-20", "2026-05-20", 0.5), ("2026-05-20", "2026-04-20", 0.0), ("2026-05-20", "2026-05-20", 0.5),
    (None, "2026-04-20", 0.5), ("2026-05-20", None, 0.5), ("2062-05-20", "2026-04-20", 0.5),
    ("2026-05-20", "2062-04-20", 0.0),
])  # fmt: skip
def test_the_later_survey_counts_where_both_are_dated(register, surveyed, monkeypatch, first, second, there):
    monkeypatch.setattr(laying, "TODAY", dt.date(2099, 1, 1))
    days = [{} if day is None else {"surveyed_on": day} for day in (first, second)]
    load(surveyed("First", east=0.0, **days[0]), register)
    loaded = load(surveyed("Second", **days[1]), register)
    assert east_of(register) == pytest.approx(there, abs=1e-6)
    (said,) = [note for note in loaded.notes if "0.50 ft" in note]
    if None in (first, second):
        assert "not both jobs say when they were surveyed (centerline.surveyed_on)" in said
    elif there:
        assert f"its survey, of {second}, is not earlier than that one, of {first}" in said
    else:
        assert f"that survey, of {first}, is the later one; this job's is of {second}" in said
    assert (second == "2062-04-20") == any("is later than today" in note for note in loaded.notes)
    (joint,) = find(register, Question(joints=("2",))).joints
    assert joint["surveyed_on"] == (second if there else first)
    assert [one["surveyed_on"] for one in joint["earlier"]] == [first]


def test_the_day_of_a_survey_stands_in_the_joints_history(register, surveyed, capsys):
    load(surveyed("First", east=0.0, surveyed_on="2026-04-20"), register)
    load(surveyed("Second", surveyed_on="2026-05-20"), register)
    assert cli.run(["find", register, "--joint", "2"]) == 0
    said = " ".join(capsys.readouterr().out.replace("│", " ").split())
    assert "place surveyed on 2026-05-20" in said
    assert "by load 1, surveyed on 2026-04-20: deflection" in said


def test_what_is_less_than_is_shown_is_no_change(register, folder, capsys):
    """A bend of 3 degrees leaves a noise of 1e-9 degrees at the joints beside it; it stood there as what they were."""
    paths = []
    for name, noise in (("First", 0.0), ("Second", 0.05)):
        points = laying.pipe(np.array([0.0, 0.0, 3.0, 0.0, 0.0, 0.0]))
        points[::2, 0] += noise
        paths.append(folder / f"noise {name}.gpkg")
        laying.place(laying.lines(A=points), laying.log(points), name=name).write(paths[-1])
    loaded = [load(path, register) for path in paths][1]
    were = [old for one in loaded.changes for old, _ in one["changed"].values() if isinstance(old, float)]
    assert any(0.0 < abs(old) < 1e-6 for old in were)
    undo(2, register)
    capsys.readouterr()
    assert cli.run(["load", str(paths[1]), "--into", register, "--dry-run"]) == 0
    said = capsys.readouterr().out
    assert "deflection_deg: 0 ->" in " ".join(said.replace("│", " ").split())
    assert re.findall(r"\de-\d+", said) == []


def test_a_correction_in_another_unit_is_compared_in_one(register, folder, surveyed):
    """The same main in feet and in metres: EPSG:6418 and EPSG:6417 are one zone of NAD83(2011), California 2."""
    points = laying.pipe(np.zeros(5))
    laying.place(laying.lines(A=points), laying.log(points[:6], route="A"), name="Contract 1").write(
        folder / "feet.gpkg"
    )
    load(folder / "feet.gpkg", register)
    load(surveyed(), register)
    metres = points * (1200.0 / 3937.0)
    line = laying.lines(A=metres).set_crs("EPSG:6417", allow_override=True)
    log = laying.log(points[:6], route="A", remarks="in metres")
    laying.place(line, log, name="Contract 1").write(folder / "metres.gpkg")
    loaded = load(folder / "metres.gpkg", register)
    # The elevation is as it was, in another unit: no change to tell, and no old survey that comes back.
    changed = {name for one in loaded.changes for name in one["changed"]}
    assert "coordinate_unit" in changed
    assert not changed & {"elevation", "distance"}
    assert east_of(register) == pytest.approx(0.5, abs=1e-4)


def test_a_main_of_its_own_takes_no_load_away_that_another_rests_on(register, job):
    load(job(date="2026-05-01"), register)
    load(job("Paper sheets", date="2026-04-02"), register)
    for dry_run in (True, False):
        with pytest.raises(InputFileError, match=r"number \(load 2\): the same main, surveyed again"):
            load(job(date="2026-05-01"), register, main="North", dry_run=dry_run)
    assert len(find(register, Question()).joints) == 6
