"""The commands as a person types them: what they print, what they write, and how they end."""

import datetime as dt
import hashlib
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import geopandas as gpd
import pytest

from asbuilt import cli, place
from asbuilt.commands import options
from asbuilt.job import template
from asbuilt.schema import LAYERS, SURVEY_CODES
from asbuilt.terminal import history
from asbuilt.terminal.cautions import CAUTION, DIGGING_CAUTION

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "sample_gis"


@pytest.fixture
def sample(tmp_path):
    return Path(shutil.copytree(SAMPLE, tmp_path / "sample"))


def run(capsys, *arguments):
    status = cli.run([str(argument) for argument in arguments])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def folder_state(folder):
    return {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_place_prints_what_became_of_every_record_and_where_it_wrote(sample, capsys):
    status, out, err = run(capsys, "place", sample / "job.toml")
    assert (status, err) == (0, "")
    for pattern in (r"records read\D+481", r"= placed\D+471", r"\+ set aside\D+10", r"deflection: over\D+2",
                    r"joints-missing \(act\)"):  # fmt: skip
        assert re.search(pattern, out), pattern
    assert f"Wrote {sample / 'joints.gpkg'}" in out
    assert "a licensed engineer's" in out
    assert len(gpd.read_file(sample / "joints.gpkg", layer="joints")) == 469


def test_json_is_one_object_on_stdout_and_nothing_else(sample, capsys):
    status, out, _ = run(capsys, "place", sample / "job_metric.toml", "--json", "--out", sample / "here.gpkg")
    result = json.loads(out)
    assert status == 0
    assert result["records_read"] == result["inspections_placed"] + result["records_set_aside"] == 119
    assert result["written"] == str(sample / "here.gpkg")
    assert (sample / "here.gpkg").exists()


def ignore_interrupts():
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
def test_a_command_asked_to_end_leaves_everything_as_it_was(sample):
    """By SIGTERM; SIGINT is ignored, as it is below a shell that starts programs in the background."""
    (sample / "joints.gpkg").write_bytes(b"as it was")
    before = folder_state(sample)
    command = [sys.executable, "-m", "asbuilt", "place", str(sample / "job.toml"), "--progress", "json"]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, cwd=ROOT, stderr=pipe, stdout=pipe, preexec_fn=ignore_interrupts) as process:
        assert json.loads(process.stderr.readline())["step"] == "read the centerline"
        process.send_signal(signal.SIGTERM)
        process.communicate()
    assert process.returncode == options.INTERRUPTED
    assert folder_state(sample) == before


def test_strict_ends_with_1_when_records_were_set_aside(sample, capsys):
    assert run(capsys, "place", sample / "job.toml", "--strict")[0] == 1
    assert (sample / "joints.gpkg").exists()


def test_check_judges_alike_and_writes_nothing(sample, capsys):
    before = folder_state(sample)
    status, out, _ = run(capsys, "check", sample / "job.toml", "--json")
    checked = json.loads(out)
    assert status == 0
    assert folder_state(sample) == before
    placed = json.loads(run(capsys, "place", sample / "job.toml", "--json")[1])
    same = ("records_read", "set_aside_by_reason", "joints_by_verdict", "joints_by_inspection", "findings_by_code")
    assert {key: checked[key] for key in same} == {key: placed[key] for key in same}
    assert [str(sample / "joint_log.xlsx"), "station", "STA."] in checked["columns"]


def test_check_ends_with_the_cautions(sample, capsys):
    _, out, _ = run(capsys, "check", sample / "job.toml")
    assert " ".join(out.split()).endswith(f"{CAUTION} {DIGGING_CAUTION}")


def test_check_names_the_rows_to_act_on_and_json_all_that_the_return_marks(sample, capsys):
    out = run(capsys, "check", sample / "job_metric.toml")[1]
    assert re.search(r"joint_log_mill_race.csv\s+24\D+C 23\D+station-unreadable", " ".join(out.split()))
    assert "To check, or to know (2)" in out
    assert "--return FILE.xlsx marks all of them in the log" in out
    rows = json.loads(run(capsys, "check", sample / "job.toml", "--json")[1])["rows"]
    returned = run(capsys, "check", sample / "job.toml", "--json", "--return", sample / "back.xlsx")[1]
    assert len(rows) == sum(json.loads(returned)["remarks"].values())
    over = [(one["file"], one["row"], one["route"], one["joint"]) for one in rows if one["kind"] == "deflection-over"]
    assert over == [("joint_log_quarry.csv", 87, "B", "176"), ("joint_log_quarry.csv", 88, "B", "177")]
    out = run(capsys, "check", sample / "job.toml")[1]
    counted = [int(one) for one in re.findall(r"^To (?:act on|check, or to know) \((\d+)\)", out, re.MULTILINE)]
    of_survey = [one for one in rows if one["kind"] in SURVEY_CODES]
    assert sum(counted) == len(rows) - len(of_survey)


def test_check_names_a_failed_test_and_an_untested_length_too(sample, capsys):
    job = sample / "job_sawmill.toml"
    # Without its repetition the test of 10 June stays failed.
    job.write_text(job.read_text().replace("makeup_gal = 0.9\ntested_on", "makeup_gal = 2.9\ntested_on"))
    out = " ".join(run(capsys, "check", job)[1].replace("│", " ").split())
    assert "(a length) D test-failed (act): pressure test 17+00.00 to 24+20.00" in out
    rows = json.loads(run(capsys, "check", job, "--json")[1])["rows"]
    assert [one["kind"] for one in rows if one["row"] is None] == ["test-failed", "test-failed", "length-untested"]


def test_a_check_of_a_log_without_a_flaw_has_nothing_to_act_on(sample, capsys):
    status, out, err = run(capsys, "check", sample / "job_foundry.toml")
    assert (status, err, "To act on" in out) == (0, "", False)
    assert json.loads(run(capsys, "check", sample / "job_foundry.toml", "--json")[1])["rows"] == []


def test_check_reports_how_columns_were_read(sample, capsys):
    out = run(capsys, "check", sample / "job.toml")[1]
    assert re.search(r"Home to mark\?\s*│\s*insertion_mark", out)
    assert "Nothing was written" in out


def test_demo_writes_and_runs_the_sample(tmp_path, capsys):
    status, out, _ = run(capsys, "demo", tmp_path / "try")
    assert status == 0
    assert (tmp_path / "try" / "joints.gpkg").exists()
    assert (tmp_path / "try" / "joints_metric.gpkg").exists()
    assert str(tmp_path / "try" / "README.md") in out


def test_demo_does_not_write_over_what_is_there(tmp_path, capsys):
    (tmp_path / "mine.txt").write_text("keep")
    status, _, err = run(capsys, "demo", tmp_path)
    assert status == 2
    assert "is not empty; name another folder" in err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_progress_is_one_json_object_a_line_on_stderr(sample, capsys):
    _, _, err = run(capsys, "place", sample / "job.toml", "--progress", "json", "--json")
    lines = [json.loads(line) for line in err.splitlines()]
    assert [line["done"] for line in lines] == list(range(len(lines)))
    assert all(set(line) == {"step", "done", "of"} for line in lines)


def edit(path, old, new):
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('path = "centerline.gpkg"', 'path = "gone.gpkg"', r"gone\.gpkg: there is no such file; correct centerline"),
        ('layer = "mains"', 'layer = "pipes"', r"centerline\.layer: .* has no layer 'pipes'; its layers are mains"),
        ('route = "route_id"', 'route = "line"', r"centerline\.route: .* has no column 'line'"),
        ('"joint_log.xlsx"', '"job.toml"', r"job\.toml"),
        ('sheet = "Joint log"', 'sheet = "Log"', r"joint_log\.xlsx.*'Log'.*Joint log"),
        ('station_unit = "us-ft"', 'station_unit = "feet"', r"records\.station_unit: 'feet' is not one of"),
        ('laying_length = 20.0', 'laying_length = -20.0', r"records\.laying_length: input should be greater than 0"),
        ('project = "allowables.csv"', 'project = "joint_log.xlsx"', r"joint_log\.xlsx: it is not clear which sheet"),
        ('kind = "Ftg"', 'kind = "Fitting kind"', r"records\.columns\.kind.*'Fitting kind'"),
        ('crs = "EPSG:6418"', 'crs = "EPSG:6339"', r"crs: the job says EPSG:6339"),
        ('path = "joints.gpkg"', 'path = "centerline.gpkg"', r"this is an input of the job; give another output\.path"),
        ('path = "joints.gpkg"', 'path = "no/such/folder/joints.gpkg"', r"no/such/folder"),
        ('back = "24+50.00"', 'back = "soon"', r"centerline\.equations \(no\. 1\)\.back: 'soon' is not a station"),
    ],
)  # fmt: skip
def test_wrong_inputs_end_with_2_one_message_and_nothing_written(sample, capsys, old, new, message):
    edit(sample / "job.toml", old, new)
    before = folder_state(sample)
    status, out, err = run(capsys, "place", sample / "job.toml")
    assert status == 2
    assert out == ""
    assert re.search(message, err), err
    assert "Traceback" not in err
    assert folder_state(sample) == before


def test_a_log_without_records_is_an_error(sample, capsys):
    (sample / "joint_log_quarry.csv").write_text("Joint,STA.\n")
    edit(sample / "job.toml", 'path = ["joint_log.xlsx", "joint_log_quarry.csv"]', 'path = "joint_log_quarry.csv"')
    edit(sample / "job.toml", 'kind = "Ftg"\nbend_angle = "Bend (deg)"\nbend_plane = "Bend plane"\n', "")
    edit(sample / "job.toml", 'bolt_torque = "Torque (ft-lb)"\n', "")
    status, _, err = run(capsys, "place", sample / "job.toml")
    assert status == 2
    assert "there are no records in it" in err


def test_a_wrong_option_ends_with_2(capsys):
    status, _, err = run(capsys, "place", "--quickly")
    assert status == 2
    assert "No such option" in err


def test_a_failure_of_the_program_ends_with_3_and_says_where_the_details_are(sample, capsys, monkeypatch):
    import asbuilt.judging.findings

    monkeypatch.setattr(asbuilt.judging.findings, "find_all", lambda judged: 1 / 0)
    status, _, err = run(capsys, "place", sample / "job.toml")
    assert status == 3
    details = Path(re.search(r"The details are in (\S+);", err)[1])
    assert "ZeroDivisionError" in details.read_text()
    details.unlink()
    assert not (sample / "joints.gpkg").exists()


def test_every_command_has_help_with_an_example_and_stands_in_the_documentation(capsys):
    pages = "\n".join(page.read_text("utf-8") for page in (ROOT / "scripts" / "docs").rglob("*.md"))
    for name in cli.cli.commands:
        status, out, _ = run(capsys, name, "--help")
        assert status == 0
        assert re.search(rf"Examples?:\n\s+asbuilt {name}", out), name
        assert f"asbuilt {name}" in pages


def test_help_does_not_load_the_geometry_libraries():
    heavy = "{'numpy', 'pandas', 'pyarrow', 'shapely'}"
    code = f"import sys; from asbuilt.cli import run; run(['--help']); print([m for m in sys.modules if m in {heavy}])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.splitlines()[-1] == "[]"


def as_a_command(*arguments, cwd, of=("pandas", "geopandas")):
    """Run a command in a process of its own; give what it printed, and which of some libraries it loaded."""
    code = (
        "import sys\nfrom asbuilt.cli import main\ntry:\n    main()\n"
        f"finally:\n    print(sorted({set(of)} & sys.modules.keys()), file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=cwd)
    assert done.returncode == 0, done.stderr
    return done.stdout, done.stderr.splitlines()[-1]


def rows_of(path):
    with closing(sqlite3.connect(path)) as database:
        return {layer: database.execute(f'SELECT * FROM "{layer}"').fetchall() for layer in LAYERS if layer != "run"}


@pytest.mark.parametrize("job", ["job.toml", "job_metric.toml", "job_foundry.toml"])
def test_place_writes_the_same_without_data_frames(sample, job):
    # This process has loaded pandas: this file imports GeoPandas.
    place(sample / job).write(sample / "with.gpkg")
    _, loaded = as_a_command("place", sample / job, "--out", "without.gpkg", cwd=sample)
    assert loaded == "[]"
    rows = rows_of(sample / "without.gpkg")
    assert rows == rows_of(sample / "with.gpkg")
    assert len(rows["joints"]) > 40


def test_geoparquet_is_read_and_written_by_data_frames_all_the_same(sample):
    gpd.read_file(sample / "centerline.gpkg").to_parquet(sample / "line.parquet")
    text = (sample / "job.toml").read_text("utf-8")
    (sample / "job.toml").write_text(text.replace('"centerline.gpkg"', '"line.parquet"'), "utf-8")
    assert "line.parquet" in (sample / "job.toml").read_text("utf-8")
    as_a_command("place", "job.toml", "--out", "joints.gpkg", cwd=sample)
    as_a_command("place", "job_metric.toml", "--out", "metric.parquet", cwd=sample)
    assert len(gpd.read_file(sample / "joints.gpkg", layer="joints")) == 469
    placed = gpd.read_parquet(sample / "metric.parquet" / "joints.parquet")
    assert len(placed) == place(sample / "job_metric.toml").counts["joints"]


def test_review_writes_the_same_without_data_frames(sample, capsys):
    place(sample / "job.toml").write(sample / "joints.gpkg")
    run(capsys, "review", sample / "joints.gpkg", "--out", sample / "with")
    _, loaded = as_a_command("review", "joints.gpkg", "--out", "without", cwd=sample)
    assert loaded == "[]"
    pages = {one.name: one.read_text("utf-8") for one in (sample / "without").iterdir() if one.suffix != ".xlsx"}
    for name in sorted(set(pages) - {"review.json"}):
        assert pages[name] == (sample / "with" / name).read_text("utf-8"), name
    assert {"route-A.html", "whole.html", "issues.csv", "stakes.gpx"} <= set(pages)
    place(sample / "job.toml").write(sample / "joints.parquet")
    as_a_command("review", "joints.parquet", "--out", "without", cwd=sample)


def test_every_joint_stands_in_one_column_of_what_a_review_prints(sample, capsys):
    """Joints without an allowable, and the ends of routes, stood in none: the columns did not add up to the joints."""
    run(capsys, "place", sample / "job.toml")
    _, out, _ = run(capsys, "review", sample / "joints.gpkg", "--out", sample / "pages")
    rows = [line.split() for line in out.splitlines() if line[:2] in ("A ", "B ")]
    assert [one[0] for one in rows] == ["A", "B"]
    for one in rows:
        joints, *verdicts = map(int, one[1:-2])
        assert (len(verdicts), sum(verdicts)) == (6, joints)


def test_find_answers_the_same_without_data_frames(sample, capsys):
    run(capsys, "place", sample / "job.toml")
    run(capsys, "load", sample / "joints.gpkg", "--into", sample / "register.gpkg")
    route = json.loads(run(capsys, "find", sample / "register.gpkg", "--json")[1])["joints"][0]["route"]
    area = gpd.read_file(sample / "joints.gpkg", layer="joints").dissolve().convex_hull.buffer(10)
    gpd.GeoDataFrame(geometry=area).to_file(sample / "area.gpkg")
    gpd.GeoDataFrame(geometry=area).to_parquet(sample / "area.parquet")
    for asked, spared in (
        (("--route", route, "--from", "10+00", "--to", "12+00"), True),
        (("--area", "area.gpkg"), True),
        (("--area", "area.parquet"), False),
        (("--group-by", "size"), False),
    ):
        told, loaded = as_a_command("find", "register.gpkg", *asked, "--json", cwd=sample)
        assert (loaded == "[]") == spared, asked
        named = [sample / one if str(one).startswith("area.") else one for one in asked]
        here = json.loads(run(capsys, "find", sample / "register.gpkg", *named, "--json")[1])
        told = json.loads(told)
        assert told.pop("register", None) in (None, "register.gpkg")
        here.pop("register", None)
        assert told == here, asked
        assert told.get("count") != 0, asked


def test_a_question_loads_no_more_than_its_answer_needs(sample, capsys):
    """Loading Arrow and the library of coordinate systems takes longer than the answer of a small register."""
    assert run(capsys, "place", sample / "job.toml")[0] == 0
    assert run(capsys, "load", sample / "joints.gpkg", "--into", sample / "register.gpkg")[0] == 0
    with closing(sqlite3.connect(sample / "register.gpkg")) as database:
        route, joint, uid, east, north = database.execute(
            "SELECT route, joint, joint_uid, easting, northing FROM joints WHERE joint IS NOT NULL LIMIT 1"
        ).fetchone()
    heavy = ("pyarrow", "pyproj", "shapely", "pandas", "geopandas", "pyogrio", "multiprocessing")
    for asked, needed in (
        (("--route", route, "--from", "10+00", "--to", "12+00"), []),
        (("--joint", joint), []),
        (("--joint", uid, "--verdict", "within"), []),
        (("--near", f"{east:.2f},{north:.2f}", "--within", "50ft"), ["pyproj"]),
    ):
        told, loaded = as_a_command("find", "register.gpkg", *asked, cwd=sample, of=heavy)
        assert loaded == str(needed), asked
        status, here, _ = run(capsys, "find", sample / "register.gpkg", *asked)
        assert status == 0
        assert told == here.replace(str(sample / "register.gpkg"), "register.gpkg")
        assert " joint" in told


def test_answers_say_what_their_words_mean_and_which_mains_have_days_to_come(sample, capsys, monkeypatch):
    register = sample / "register.gpkg"
    assert run(capsys, "place", sample / "job.toml")[0] == 0
    assert run(capsys, "load", sample / "joints.gpkg", "--into", register)[0] == 0
    out = " ".join(run(capsys, "find", register, "--route", "A", "--from", "10+00", "--to", "10+20")[1].split())
    assert "within-assumed: within the allowable deflection only if what the verdict assumes holds." in out
    assert "not-computed: not computed, as at an end of the route" in out
    out = " ".join(run(capsys, "find", register, "--verdict", "over")[1].split())
    assert "over: over" not in out
    assert f"name it by the letters in parentheses behind it: asbuilt mark {register} LETTERS --note NOTE" in out
    # The sample's log has an inspection of 2062 on route A, mistyped.
    monkeypatch.setattr(history, "today", lambda: dt.date(2026, 7, 1))
    out = " ".join(run(capsys, "info", register)[1].split())
    assert "note: main A: inspections are dated after today" in out
    assert f"asbuilt find {register} --since 2026-07-02 lists the joints" in out
    monkeypatch.setattr(history, "today", lambda: dt.date(2062, 3, 26))
    assert "after today" not in run(capsys, "info", register)[1]


def test_the_template_can_be_printed_and_checked(sample, capsys):
    status, out, _ = run(capsys, "check", "--template")
    assert status == 0
    assert out == template()  # whole, though it is longer than any other text that is shown
    (sample / "new.toml").write_text(out, "utf-8")
    status, _, err = run(capsys, "check", sample / "new.toml")
    assert status == 2
    assert "centerline.route" in err  # the template's centerline has one route, the sample's two


def test_counts_stay_in_sight_beside_labels_that_are_wider_than_the_terminal(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    shutil.copytree(SAMPLE, tmp_path / "a_folder_whose_name_makes_every_label_of_a_tie_very_long_indeed")
    monkeypatch.chdir(tmp_path)
    job = "a_folder_whose_name_makes_every_label_of_a_tie_very_long_indeed/job_sawmill.toml"
    assert cli.run(["check", job]) == 0
    shown = capsys.readouterr().out
    assert re.search(r"records read +│ +100 │", shown)
    assert re.search(r"closure on D.*│ +-0\.89 ft, -624 ppm │", shown)
    assert "horizontal accuracy at 95 % (FGDC-STD-007.3) │" in shown
