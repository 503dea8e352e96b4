"""Two placed files of a job: what was changed on purpose is told, and nothing else."""

import json
import re
from random import Random

import laying
import numpy as np
import openpyxl
import pandas as pd
import pytest
import whole_jobs

from asbuilt.commands.options import DIFFERENT
from asbuilt.comparing import comparison
from asbuilt.comparing.comparison import compare
from asbuilt.comparing.written import answer, write_page
from asbuilt.errors import InputFileError
from asbuilt.placed import read_placed
from asbuilt.terminal.differences import print_comparison

POINTS = laying.pipe([0, 1, 1, 0, -1, 0, 0])


def placed(path, *, points=POINTS, log=None, **tables):
    laying.place(laying.lines(A=points), laying.log(POINTS) if log is None else log, **tables).write(path)
    return path


@pytest.fixture
def old(tmp_path):
    return placed(tmp_path / "old.gpkg")


def whats(rows):
    return sorted((one["what"], one["joint"]) for one in rows)


def test_the_same_job_placed_twice_is_the_same(old, tmp_path):
    found = compare(old, placed(tmp_path / "new.gpkg"))
    assert found.same
    assert found.counts["joints"]["same"] == found.counts["joints"]["in_both"] == len(POINTS)


@pytest.mark.parametrize(("moved", "told"), [((0.3, 0.4, 0.0), (0.5, 0.0)), ((0.0, 0.0, -0.2), (0.0, -0.2))])
def test_a_joint_that_was_shot_elsewhere_has_moved_by_so_much(old, tmp_path, moved, told):
    points = POINTS.copy()
    points[-1] += moved
    found = compare(old, placed(tmp_path / "new.gpkg", points=points), tolerance_m=0.05)
    last = [one for one in found.joints if one["joint"] == "9"]
    assert [one["what"] for one in last] == ["moved"]
    assert last[0]["up"] == pytest.approx(told[1], abs=2e-3)
    if told[0]:
        # Its station holds it on the line, so that it moves with the line square to it, and no farther than the shot.
        assert 0.25 < last[0]["horizontal"] <= told[0] + 1e-6
    assert {one["about"] for one in found.lengths} <= {"shape", "length"}


def test_moves_within_the_tolerance_are_not_told(old, tmp_path):
    points = POINTS + np.array([0.02, 0.0, 0.01])
    new = placed(tmp_path / "new.gpkg", points=points)
    assert compare(old, new, tolerance_m=0.03 * 0.3048).same
    found = compare(old, new)
    # The whole main moved 0.02 east and 0.01 up: each joint alike.
    assert [round(one["horizontal"], 6) for one in found.joints] == [0.02] * len(POINTS)
    assert [round(one["up"], 6) for one in found.joints] == [0.01] * len(POINTS)
    assert {(round(one["east"], 6), round(one["north"], 6)) for one in found.joints} == {(0.02, 0.0)}


def shot(folder, name, seed, *, every=1, turn=0.0):
    """Shoot a main with errors of 0.03 ft, at every joint or sparsely; one joint turns by so much more."""
    turns = np.random.default_rng(0).uniform(-2.0, 2.0, 58)
    turns[30] += turn
    points = laying.pipe(turns)
    errors = np.random.default_rng(seed).normal(0.0, 0.03, points.shape)
    stated = {"sigma_horizontal": 0.03, "sigma_vertical": 0.03}
    line, log = laying.lines(A=(points + errors)[::every]), laying.log(points[:56])
    laying.place(line, log, centerline=stated).write(folder / name)
    return folder / name


@pytest.mark.parametrize("seed", range(4))
def test_of_a_main_shot_anew_only_what_errors_do_not_explain_is_listed(tmp_path, seed):
    old, new = (shot(tmp_path, f"{at}.gpkg", at) for at in (2 * seed + 10, 2 * seed + 11))
    every, some = compare(old, new), compare(old, new, tolerance_m=0.05)
    angles = [one for one in some.fields if one["what"] == "deflection"]
    assert len([one for one in every.fields if one["what"] == "deflection"]) > 300
    # Three turns and three numbers of the deflection, one in twenty of them beyond its error by chance.
    assert len(angles) < 0.15 * 300
    (note,) = [one for one in some.notes if "numbers of" in one]
    told = int(note.split(" numbers")[0].replace(",", ""))
    numbers = [one for one in every.fields if one["what"] in ("deflection", "place") and one["field"] != "elevation"]
    assert told == len(numbers) - len([one for one in some.fields if one["what"] in ("deflection", "place")])
    # How well stations are known differs, too, from survey to survey: it is no more listed than the accuracies by it.
    assert not [one for one in some.fields if one["field"] in comparison.ACCURACIES]
    assert every.counts["verdicts"] == some.counts["verdicts"]


def test_bounds_of_a_sparse_main_shot_anew_are_counted_and_not_listed(tmp_path):
    """Known only as floor and ceiling; the share of a joint in the turn makes much of little at one in twenty."""
    listed = findings = 0
    for seed in range(4):
        old, new = (shot(tmp_path, f"{at}.gpkg", at, every=4) for at in (2 * seed + 30, 2 * seed + 31))
        every, some = compare(old, new), compare(old, new, tolerance_m=0.05)
        judged = {one["joint"] for one in every.fields if one["what"] == "verdict"}
        bounds = [one for one in some.fields if one["field"] in comparison.BOUNDS and one["joint"] not in judged]
        assert len([one for one in every.fields if one["field"] in comparison.BOUNDS]) > 40
        listed += len(bounds)
        left, all_of = ([one for one in found.findings if one["what"] == "changed"] for found in (some, every))
        assert len(all_of) > 10
        findings += len(left)
        assert any("say the same with figures" in note for note in some.notes)
    assert listed < 0.05 * 4 * 55
    assert findings < 0.05 * 4 * 55


def test_a_bound_that_moved_by_more_is_listed_with_its_finding(tmp_path):
    old, new = shot(tmp_path, "old.gpkg", 1, every=4), shot(tmp_path, "new.gpkg", 2, every=4, turn=6.0)
    some = compare(old, new, tolerance_m=0.05)
    assert [one for one in some.fields if one["field"] in comparison.BOUNDS]
    assert [one for one in some.findings if one["code"].startswith("deflection-")]


def test_a_pipe_that_moved_is_listed_among_those_that_errors_explain(tmp_path):
    old, new = shot(tmp_path, "old.gpkg", 1), shot(tmp_path, "new.gpkg", 2, turn=2.5)
    some = compare(old, new, tolerance_m=0.05)
    assert "32" in {one["joint"] for one in some.fields if one["field"] == "deflection_deg"}


def test_joints_that_another_verdict_stands_at_are_listed_with_all_numbers(tmp_path):
    old, new = shot(tmp_path, "old.gpkg", 1, every=4), shot(tmp_path, "new.gpkg", 2, every=4)
    every, some = compare(old, new), compare(old, new, tolerance_m=0.05)
    judged = {one["joint"] for one in every.fields if one["what"] == "verdict"}
    assert judged

    def of(found):
        names = (*comparison.ANGLES, *comparison.ACCURACIES)
        return [one for one in found.fields if one["joint"] in judged and one["field"] in names]

    assert of(every) == of(some) != []


def test_joints_that_came_went_and_were_renumbered(old, tmp_path):
    log = laying.log(POINTS).drop(index=3)
    log.loc[5, "joint"] = "6A"
    found = compare(old, placed(tmp_path / "new.gpkg", log=log))
    assert whats(found.joints) == [("renamed", "6A"), ("went", "4")]
    assert next(one for one in found.joints if one["what"] == "renamed")["was"] == "6"
    back = compare(tmp_path / "new.gpkg", old)
    assert whats(back.joints) == [("came", "4"), ("renamed", "6")]
    joints = found.counts["joints"]
    assert joints["old"] == joints["in_both"] + joints["went"]
    assert joints["new"] == joints["in_both"] + joints["came"]


def test_a_renumbered_log_is_noticed_and_one_that_only_lost_a_joint_is_not(old, tmp_path):
    log = laying.log(POINTS).drop(index=3)
    kept = compare(old, placed(tmp_path / "kept.gpkg", log=log))
    assert not any("renumbered" in note for note in kept.notes)
    log["joint"] = [str(at + 1) for at in range(len(log))]
    (told,) = [note for note in compare(old, placed(tmp_path / "new.gpkg", log=log)).notes if "renumbered" in note]
    count = len(POINTS) - 4
    assert told.startswith(f"{count} of {count} joints of route A that moved stand now where the earlier file has")
    assert "the first is 4, where 5 was" in told


def test_what_came_went_or_has_another_number_stands_before_what_only_moved(old, tmp_path, capsys):
    (tmp_path / "april").mkdir()
    log = laying.log(POINTS).drop(index=3)
    log.loc[5, "joint"] = "6A"
    new = placed(tmp_path / "april" / "old.gpkg", points=POINTS + np.array([0.02, 0.0, 0.0]), log=log)
    found = compare(old, new)
    assert [one["what"] for one in found.joints[:2]] == ["went", "renamed and moved"]
    assert {one["what"] for one in found.joints[2:]} == {"moved"}
    # Two files of one name are told apart by their folders.
    print_comparison(found, [])
    told = capsys.readouterr().out
    assert f"{old} and {new}" in told
    assert "Joints that came, went or moved (lengths in ft)" in told
    write_page(found, tmp_path / "changes.html", "")
    page = (tmp_path / "changes.html").read_text("utf-8")
    assert f"Later: {new}, made" in page
    # On a phone each cell stands alone, with its title and unit.
    assert re.search(r'<td data-title="in plan, ft">0\.0\d+</td>', page)
    assert "<td>" not in page


@pytest.mark.parametrize("main", ["A", "Foundry Road 24"])
def test_headings_stand_whole_on_a_terminal_of_80_letters_where_no_joint_has_another_number(tmp_path, capsys, main):
    """An empty column for numbers that were, or the name of the main, broke "horizontal" in two."""
    places = laying.log(POINTS, route=main)
    places["station"] = [f"10{one[1:]}" for one in places["station"]]
    for name, points in (("one", POINTS), ("two", POINTS + np.array([2.0, -1.0, -0.02]))):
        line = laying.lines(**{main: points})
        laying.place(line, places, centerline={"start_station": "10+00"}).write(tmp_path / f"{name}.gpkg")
    print_comparison(compare(tmp_path / "one.gpkg", tmp_path / "two.gpkg"), [])
    lines = capsys.readouterr().out.splitlines()
    (heading,) = [line for line in lines if " north " in line]
    assert " in plan " in heading
    assert " was " not in heading
    assert max(map(len, lines[lines.index(heading) - 1 : lines.index(heading) + 4])) <= 80


def test_a_record_that_is_set_aside_now_is_told_in_the_first_sentence(old, tmp_path):
    log = laying.log(POINTS)
    log.loc[3, "station"] = "what"
    found = compare(old, placed(tmp_path / "new.gpkg", log=log))
    assert "Records set aside: 1 came." in answer(found)


def test_verdict_and_evidence_are_told_field_by_field_and_findings_with_them(old, tmp_path, capsys):
    log = laying.log(POINTS)
    log.loc[2, ["gauge", "inspector"]] = "no", "B. Holt"
    log = pd.concat([log, log.loc[[4]].assign(date="2026-04-09")], ignore_index=True)
    found = compare(old, placed(tmp_path / "new.gpkg", log=log, limits={"table": "awwa-c600", "fraction": 0.1}))
    by_joint = {(one["joint"], one["field"]): (one["what"], one["old"], one["new"]) for one in found.fields}
    assert by_joint["3", "inspector"] == ("evidence", "R. Vance", "B. Holt")
    assert by_joint["3", "inspection"] == ("evidence", "complete", "failed")
    gauge = [key for key in by_joint if key[0] == "3" and "gauge" in key[1]]
    assert [by_joint[key][2] for key in gauge] == ["no"]
    assert by_joint["5", "number of records"] == ("evidence", 1.0, 2.0)
    assert by_joint["5", "inspected_on"] == ("evidence", "2026-04-02", "2026-04-09")
    # A tenth of 5 degrees is over where the main turns 1 degree: joints 3, 4 and 6.
    over = {joint for (joint, field), (_, _, now) in by_joint.items() if field == "verdict" and now == "over"}
    assert over == {"3", "4", "6"}
    codes = {(one["what"], one["code"], one["joint"]) for one in found.findings}
    assert {("came", "inspection-failed", "3"), ("came", "deflection-over", "6")} <= codes
    assert any(line.startswith("+") for line in found.job_lines) == bool(found.new.run["job"])
    # Another limit is told in the answer, and on a terminal no word is cut.
    assert f"{len(POINTS)} with other deflections or limits" in answer(found)
    print_comparison(found, [])
    told = capsys.readouterr().out
    assert "A, 3, 0+40.00, evidence, inspection\n      was: complete\n      now: failed" in told
    assert "now: did not pass: gauge" in told
    assert "…" not in told
    # Joints that nothing was done to are told of by their limit alone.
    assert {field for joint, field in by_joint if joint == "8"} <= {
        "allowable_deg", "allowable_source", "verdict_assumes", "verdict"
    }  # fmt: skip


def test_a_record_set_aside_is_told_when_it_comes_and_when_it_goes(old, tmp_path):
    log = laying.log(POINTS)
    log.loc[3, "station"] = "lost"
    new = placed(tmp_path / "new.gpkg", log=log)
    assert [(one["what"], one["reason"], one["row"]) for one in compare(old, new).set_aside] == [
        ("came", "station-unreadable", "4")
    ]
    assert [one["what"] for one in compare(new, old).set_aside] == ["went"]


RESTRAINT = {"route": "A", "from": "0+40", "to": "1+00", "why": "bend, sheet C-4"}


def test_a_restrained_length_that_another_row_names_is_the_same_and_one_that_changed_is_told_by_what_changed(tmp_path):
    other = {"route": "A", "from": "1+20", "to": "1+40", "why": "tee"}
    old = placed(tmp_path / "old.gpkg", restraint=[RESTRAINT, other])
    assert compare(old, placed(tmp_path / "turned.gpkg", restraint=[other, RESTRAINT])).lengths == []
    (told,) = compare(old, placed(tmp_path / "one.gpkg", restraint=[RESTRAINT])).lengths
    assert (told["about"], told["what"]) == ("restrained length", "went")
    log = laying.log(POINTS, restrained=np.where(np.arange(len(POINTS)) == 3, "yes", ""))
    (told,) = compare(old, placed(tmp_path / "restrained.gpkg", log=log, restraint=[RESTRAINT, other])).lengths
    assert (told["what"], told["old"], told["new"]) == (
        "changed", "0+40.00 to 1+00.00: joints_unrestrained 4", "joints_unrestrained 3",
    )  # fmt: skip


def test_a_pressure_test_is_known_by_its_day_and_its_ends(tmp_path):
    test = {"route": "A", "from": "0+00", "to": "1+00", "pressure_psi": 150, "duration_h": 2, "makeup_gal": 0.0,
            "tested_on": "2026-06-02"}  # fmt: skip
    old = placed(tmp_path / "old.gpkg", pressure_tests=[test])
    lower = placed(tmp_path / "new.gpkg", pressure_tests=[test | {"pressure_psi": 140}])
    (told,) = [one for one in compare(old, lower).lengths if one["what"] == "changed"]
    assert "pressure 140" in told["new"]
    assert "pressure 150" in told["old"]
    again = placed(tmp_path / "again.gpkg", pressure_tests=[test | {"tested_on": "2026-06-03"}])
    assert sorted(one["what"] for one in compare(old, again).lengths) == ["came", "went"]


def test_a_file_of_the_same_content_in_another_folder_is_no_other_file(old, tmp_path):
    new = placed(tmp_path / "new.gpkg")
    was, now = read_placed(old), read_placed(new)
    was.run["inputs"] = [{"path": "/a/log.csv", "sha256": "1"}, {"path": "/a/shots.csv", "sha256": "2"}]
    now.run["inputs"] = [{"path": "/b/log.csv", "sha256": "1"}, {"path": "/b/shots.csv", "sha256": "3"}]
    assert comparison._inputs(was, now) == [
        {"file": "/a/shots.csv", "what": "went"}, {"file": "/b/shots.csv", "what": "came"},
    ]  # fmt: skip
    now.run["inputs"] = [{"path": "/a/log.csv", "sha256": "4"}, {"path": "/a/shots.csv", "sha256": "2"}]
    assert comparison._inputs(was, now) == [{"file": "/a/log.csv", "what": "changed"}]


def test_restationing_is_told_although_no_joint_moves(old, tmp_path):
    new = placed(
        tmp_path / "new.gpkg", log=laying.log(POINTS, start=100.0), centerline={"start_station": {"A": "1+00"}}
    )
    found = compare(old, new)
    assert not found.joints
    assert {one["field"] for one in found.fields} == {"station"}
    assert len(found.fields) == len(POINTS)


def test_a_map_in_degrees_gives_moves_in_the_unit_of_the_survey(tmp_path):
    output = {"crs": "EPSG:4326"}
    old = placed(tmp_path / "old.gpkg", output=output)
    new = placed(tmp_path / "new.gpkg", points=POINTS + np.array([3.0, 4.0, 0.0]), output=output)
    found = compare(old, new)
    # A foot of the grid is longer or shorter on the ground by less than 2 parts in 10,000.
    assert [one["horizontal"] for one in found.joints] == pytest.approx([5.0] * len(POINTS), rel=2e-4)


def test_files_that_cannot_be_held_against_each_other_are_refused(old, tmp_path):
    with pytest.raises(InputFileError, match="this one file"):
        compare(old, old)
    with pytest.raises(InputFileError, match=r"coordinate system of the layers.*place the earlier job again"):
        compare(old, placed(tmp_path / "degrees.gpkg", output={"crs": "EPSG:4326"}))
    with pytest.raises(InputFileError, match="unit of the readings"):
        compare(old, placed(tmp_path / "mm.gpkg", records={"station_unit": "us-ft", "laying_length": 20.0,
                                                           "reading_unit": "mm"}))  # fmt: skip
    other = placed(tmp_path / "other.gpkg", name="Mill Road")
    with pytest.raises(InputFileError, match=r"'Mill Road'.*--other-name"):
        compare(old, other)
    renamed = compare(old, other, other_name=True)
    assert renamed.same
    assert any("was called" in note for note in renamed.notes)


def test_every_random_job_placed_again_is_the_same(tmp_path):
    told = 0
    for seed in range(6):
        folder = tmp_path / str(seed)
        folder.mkdir()
        job = whole_jobs.make(Random(seed), folder)
        if whole_jobs.run("place", job.path)[0] == 2:
            continue
        again = folder / "again.gpkg"
        assert whole_jobs.run("place", job.path, "--out", again)[0] == 0
        status, same = whole_jobs.run("compare", folder / "joints.gpkg", again, "--strict", "--json")
        assert (status, same["same"], same["counts"]["joints"]["new"]) == (0, True, len(job.places))
        told += 1
    assert told >= 3


def test_the_command_writes_a_page_and_a_workbook_and_ends_with_1_only_where_asked(old, tmp_path):
    log = laying.log(POINTS, remarks="=1+1")
    log.loc[1, "remarks"] = "<script>[/b]"
    new = placed(tmp_path / "new.gpkg", log=log)
    page, book = tmp_path / "changes.html", tmp_path / "changes.xlsx"
    status, told = whole_jobs.run("compare", old, new, "--page", page, "--out", book, "--json")
    assert (status, told["same"], told["written"]) == (0, False, [str(page), str(book)])
    assert "<script>" not in page.read_text("utf-8")
    assert "&lt;script&gt;[/b]" in page.read_text("utf-8")
    sheets = openpyxl.load_workbook(book)
    assert sheets.sheetnames == ["comparison", "joints", "fields", "findings", "set aside", "lengths", "inputs"]
    cells = [cell.value for cell in sheets["fields"]["G"]]
    assert cells.count("=1+1") == len(POINTS) - 1
    assert all(cell.data_type == "s" for cell in sheets["fields"]["G"])
    # A newer comparison takes their place; a file of another kind stays.
    status, words = whole_jobs.run("compare", old, new, "--page", page, "--out", book, "--strict")
    assert status == DIFFERENT
    assert "with other evidence" in words
    log_page = tmp_path / "notes.html"
    log_page.write_text("<title>Notes</title>")
    assert whole_jobs.run("compare", old, new, "--page", log_page)[0] == 2
    assert log_page.read_text() == "<title>Notes</title>"
    assert json.dumps(told)


def test_another_ground_is_told_as_that_and_not_as_another_deflection(tmp_path):
    grounds = (laying.log(POINTS, ground="60"), laying.log(POINTS, ground=["60"] * 4 + ["61"] * 5))
    old, new = (
        placed(tmp_path / f"{at}.gpkg", log=log, cover={"log_column": "ground", "least": 1.0})
        for at, log in enumerate(grounds)
    )
    found = compare(old, new)
    assert {one["what"] for one in found.fields} == {"cover"}
    joints = found.counts["joints"]
    assert (joints["other_cover"], joints["other_deflection"]) == (5, 0)
    assert "5 with another ground or cover" in answer(found)


def test_another_design_is_told_as_that_and_not_as_another_deflection(tmp_path):
    paths = []
    for at, east in enumerate((0.0, 0.5)):
        drawn = tmp_path / f"design {at}.gpkg"
        laying.lines(A=POINTS + np.array([east, 0.0, 0.0])).to_file(drawn, layer="mains")
        design = {"path": str(drawn), "route": "route"}
        paths.append(placed(tmp_path / f"{at}.gpkg", design=design))
    found = compare(*paths)
    assert {one["what"] for one in found.fields} == {"design"}
    assert found.counts["joints"]["other_deflection"] == 0
    assert "placed otherwise against the design" in answer(found)
