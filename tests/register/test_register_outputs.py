"""What the register's commands print and write: tables, CSV, workbooks, GeoPackage, GeoJSON, and the map page."""

import csv
import datetime as dt
import json
import re
import sqlite3
from contextlib import closing

import geopandas as gpd
import openpyxl
import pyogrio
import pytest
from browsers import CHROMIUM, browser_page
from laying import EAST, NORTH
from registers import placed

from asbuilt import cli
from asbuilt.terminal.cautions import DIGGING_CAUTION

FORMULA, MARKUP = '=HYPERLINK("http://x")', "</script><script>document.title='taken over'</script><b>"


@pytest.fixture(scope="module")
def register(folder):
    """Give a register of a job whose crew wrote formulas and markup, and of a later survey."""
    path = folder / "register.gpkg"
    job = placed(folder / "job.gpkg", remarks={2: FORMULA, 3: MARKUP}, inspector={2: "@cmd"}, gasket_temp={1: "30"})
    survey = placed(folder / "survey.gpkg", "Leak survey", joints=3, date="2031-05-06")
    for one in (job, survey):
        assert cli.run(["load", str(one), "--into", str(path), "--by", "R. Vance", "--json"]) == 0
    return path


def run(capsys, *arguments):
    capsys.readouterr()
    status = cli.run([str(argument) for argument in arguments])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def test_load_prints_what_was_read_and_how_to_undo_it(register, folder, capsys):
    status, out, err = run(capsys, "load", folder / "job.gpkg", "--into", folder / "new.gpkg")
    assert (status, err) == (0, "")
    assert re.search(r"joints\s*│\s*6\s*│\s*6\s*│", out)
    assert f"asbuilt load --undo 1 --into {folder / 'new.gpkg'}" in out
    status, out, _ = run(capsys, "load", folder / "job.gpkg", "--into", folder / "new.gpkg")
    assert (status, "Nothing is new in this file" in out) == (0, True)
    status, out, _ = run(capsys, "load", "--undo", "1", "--into", folder / "new.gpkg")
    assert (status, "joints taken out, as no other load knows them: 6" in out) == (0, True)


def test_load_lists_changes_and_conflicts(register, folder, capsys):
    new = folder / "lists.gpkg"
    run(capsys, "load", folder / "job.gpkg", "--into", new)
    corrected = placed(folder / "corrected.gpkg", remarks={2: "read wrongly"})
    _, out, _ = run(capsys, "load", corrected, "--into", new, "--dry-run")
    assert re.search(r"record\s+corrected", re.sub("[│\n]", " ", out))
    assert "nothing was written" in out
    other = placed(folder / "other.gpkg", "Contract 9", routes=("B",))
    status, out, _ = run(capsys, "load", other, "--into", new)
    assert (status, "Left out: 6 joints in conflict" in out) == (0, True)
    assert "6 joints not in the register until settled; to see how: asbuilt conflicts" in out
    assert run(capsys, "load", other, "--into", new, "--strict")[0] == 1
    assert (
        json.loads(run(capsys, "load", other, "--into", new, "--json")[1])["conflicts"][0]["register"]["route"] == "A"
    )


def test_new_joints_of_a_corrected_load_are_named_and_counted(folder, capsys):
    new = folder / "named.gpkg"
    run(capsys, "load", placed(folder / "short.gpkg"), "--into", new)
    longer = placed(folder / "longer.gpkg", joints=20)
    _, out, _ = run(capsys, "load", longer, "--into", new, "--dry-run")
    assert "new: 14 joints: A 7, A 8, A 9, A 10, A 11, A 12, A 13, A 14, A 15, A 16 and 4 more" in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("load", "--into", "x.gpkg"), "name files to load, or a load to undo"),
        (("load", "gone.gpkg", "--into", "x.gpkg"), "gone.gpkg: there is no such file"),
        (("load", "job.gpkg", "--into", "x.txt"), "the name of a GeoPackage ends in .gpkg; name it so in --into"),
        (("load", "job.gpkg", "--into", "no/folder/x.gpkg"), "no/folder; make it, or correct --into"),
        (("load", "job.gpkg", "--into", "."), "this is a folder; name a file in it, like register.gpkg"),
        (("load", "job.gpkg", "--into", "x.gpkg", "--tolerance", "near"), "--tolerance: 'near' is not a length"),
        (("find", "gone.gpkg"), "gone.gpkg: there is no such register"),
        (("find", "job.gpkg"), "job.gpkg: is not a register"),
        (("find", "register.gpkg", "--out", "x.pdf"), "its name must end in one of .csv, .xlsx, .gpkg, .geojson"),
        (("find", "register.gpkg", "--out", "register.gpkg"), "and is not written over; name another file with --out"),
        (("find", "register.gpkg", "--map", "x.pdf"), "the name of a page ends in .html"),
        (("find", "register.gpkg", "--verdict", "bad"), "--verdict: 'bad' is not one of over, within"),
        (("find", "register.gpkg", "--finding", "leak"), "--finding: 'leak' is not one of "),
        (("find", "register.gpkg", "--since", "yesterday"), "'yesterday' is no day; write it like 2026-03-24"),
        (("find", "register.gpkg", "--area", "gone.shp"), "gone.shp"),
        (("mark", "register.gpkg", "no-such-one"), "there is no finding no-such-one"),
    ],
)
def test_what_is_wrong_ends_with_2_and_one_message(register, folder, capsys, monkeypatch, arguments, message):
    monkeypatch.chdir(folder)
    before = sorted(path.name for path in folder.iterdir())
    status, out, err = run(capsys, *arguments)
    assert (status, out) == (2, "")
    assert message in err
    assert "Traceback" not in err
    assert sorted(path.name for path in folder.iterdir()) == before


def test_find_prints_each_joint_with_its_history_in_order(register, capsys):
    status, out, _ = run(capsys, "find", register, "--near", f"{EAST},{NORTH + 21}", "--within", "5ft")
    assert status == 0
    assert out.index("2026-04-02") < out.index("2031-05-06")
    assert re.search(r"A 2\s*│\s*0\+20.00\s*│\s*1.0", out)
    assert "No joint of the register meets the question" in run(capsys, "find", register, "--joint", "77")[1]


def test_find_json_is_one_object_and_nothing_else(register, folder, capsys):
    out = run(capsys, "find", register, "--joint", "2", "--json", "--out", folder / "o.csv")[1]
    found = json.loads(out)
    assert (found["count"], found["near"]) == (1, None)
    joint = found["joints"][0]
    assert {"joint_uid", "route", "joint", "station", "away", "away_unit", "verdict", "history"} <= set(joint)
    assert [one["job"] for one in joint["history"]] == ["Quarry Lane", "Leak survey"]


def test_mark_is_seen_by_find(register, capsys):
    found = json.loads(run(capsys, "find", register, "--finding", "gasket-cold", "--json")[1])
    (joint,) = found["joints"]
    assert [finding["code"] for finding in joint["findings"]] == ["date-doubtful"], "the later survey's"
    assert [finding["code"] for finding in joint["earlier"][0]["findings"]] == ["gasket-cold"]
    run(capsys, "load", "--undo", "2", "--into", register)
    found = json.loads(run(capsys, "find", register, "--finding", "gasket-cold", "--json")[1])
    uid = found["joints"][0]["findings"][0]["finding_uid"]
    status, out, _ = run(capsys, "mark", register, uid, "--note", "warmed", "--by", "T. Alder", "--json")
    assert (status, json.loads(out)["mark"]) == (0, "looked-at")
    found = json.loads(run(capsys, "find", register, "--finding", "gasket-cold", "--json")[1])
    assert found["joints"][0]["findings"][0]["marks"][0]["note"] == "warmed"
    shown = " ".join(run(capsys, "find", register, "--finding", "gasket-cold")[1].replace("│", " ").split())
    today = dt.datetime.now(dt.UTC).date()
    assert f"[looked-at on {today} by T. Alder: warmed] ({uid[:8]})" in shown
    assert run(capsys, "mark", register, uid[:8], "--note", "again")[0] == 0
    assert "8 letters or more" in run(capsys, "mark", register, uid[:7])[2]
    run(capsys, "load", register.parent / "survey.gpkg", "--into", register)


def test_csv_and_workbook_hold_every_record_and_no_formula(register, folder, capsys):
    run(capsys, "find", register, "--out", folder / "found.csv")
    with (folder / "found.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 9
    assert next(row["record_remarks"] for row in rows if row["joint"] == "3") == f"'{FORMULA}"
    assert not any(value.startswith(("=", "@", "+")) for row in rows for value in row.values())
    run(capsys, "find", register, "--out", folder / "found.xlsx")
    book = openpyxl.load_workbook(folder / "found.xlsx")
    assert {sheet.title: sheet.max_row for sheet in book} == {
        "joints": 7, "inspections": 10, "findings": 4, "caution": 2,
    }  # fmt: skip
    assert not any(cell.data_type == "f" for sheet in book for row in sheet.iter_rows() for cell in row)
    assert FORMULA in [cell.value for row in book["inspections"].iter_rows() for cell in row]


def test_geopackage_and_geojson_hold_the_joints_where_they_are(register, folder, capsys):
    run(capsys, "find", register, "--out", folder / "found.gpkg")
    run(capsys, "find", register, "--out", folder / "found.geojson")
    joints = gpd.read_file(folder / "found.gpkg", layer="joints")
    assert (joints.crs.to_epsg(), len(joints)) == (6418, 6)
    assert joints.geometry.x.tolist() == pytest.approx([EAST] * 6)
    assert len(pyogrio.read_dataframe(folder / "found.gpkg", layer="inspections")) == 9
    degrees = gpd.read_file(folder / "found.geojson")
    assert degrees.crs.to_epsg() == 4326
    back = degrees.to_crs("EPSG:6418")
    assert back.geometry.distance(gpd.GeoSeries(joints.geometry.force_2d(), crs=6418)).max() < 4.0


@pytest.mark.parametrize("joint", ["2", "77"])
def test_the_caution_goes_with_every_answer_and_every_file_of_one(register, folder, capsys, joint):
    for suffix in ("csv", "xlsx", "gpkg", "geojson"):
        out = run(capsys, "find", register, "--joint", joint, "--out", folder / f"caution.{suffix}")[1]
        assert " ".join(out.split()).endswith(DIGGING_CAUTION)
    written = (folder / "caution.csv").read_text("utf-8-sig")
    assert (DIGGING_CAUTION if joint == "2" else "caution") in written
    assert openpyxl.load_workbook(folder / "caution.xlsx")["caution"]["A2"].value == DIGGING_CAUTION
    assert json.loads((folder / "caution.geojson").read_text("utf-8"))["caution"] == DIGGING_CAUTION
    with closing(sqlite3.connect(folder / "caution.gpkg")) as database:
        said = database.execute("SELECT DISTINCT description FROM gpkg_contents").fetchall()
    assert said == [(DIGGING_CAUTION,)]
    # An answer takes the place of an earlier one.
    for suffix in ("csv", "xlsx", "gpkg", "geojson"):
        assert run(capsys, "find", register, "--out", folder / f"caution.{suffix}")[0] == 0
        (folder / f"caution.{suffix}").unlink()


def test_results_can_be_empty_in_every_format(register, folder, capsys):
    for suffix in ("csv", "xlsx", "gpkg", "geojson"):
        path = folder / f"none.{suffix}"
        assert run(capsys, "find", register, "--joint", "77", "--out", path)[0] == 0
        assert path.stat().st_size > 0
    assert run(capsys, "find", register, "--joint", "77", "--map", folder / "none.html")[0] == 0


@pytest.mark.parametrize("suffix", ["csv", "xlsx", "gpkg", "geojson", "html"])
@pytest.mark.parametrize(("first", "then"), [((), ("--joint", "2")), (("--joint", "77"), ()), ((), ())])
def test_an_answer_takes_the_place_of_the_one_before(register, folder, capsys, suffix, first, then):
    path, option = folder / f"again.{suffix}", "--map" if suffix == "html" else "--out"
    path.unlink(missing_ok=True)
    assert run(capsys, "find", register, *first, option, path)[0] == 0
    status, _, err = run(capsys, "find", register, *then, option, path)
    assert status == 0, err


def test_the_page_takes_texts_as_texts(register, folder, capsys):
    page = folder / "map.html"
    run(capsys, "find", register, "--near", f"{EAST},{NORTH}", "--within", "200ft", "--map", page)
    text = page.read_text("utf-8")
    assert "default-src 'none'" in text
    assert MARKUP not in text


@pytest.mark.skipif(CHROMIUM is None, reason="NOT CHECKED: the program chromium is not here")
def test_a_browser_shows_every_joint_asks_for_nothing_and_no_text_takes_the_page_over(register, folder, capsys):
    page = folder / "browser.html"
    run(capsys, "find", register, "--near", f"{EAST},{NORTH}", "--within", "200ft", "--map", page)
    with browser_page() as shown:
        asked = []
        shown.on("request", lambda request: asked.append(request.url))
        shown.goto(page.as_uri())
        shown.wait_for_selector("body[data-ready=yes]")
        assert shown.locator("#joints > li").count() == 6
        assert shown.title() == "6 joints within 200 ft of a place"
        assert "near " in shown.locator("#asked").inner_text()
        assert "Before digging" in shown.locator("header").inner_text()
    assert [url for url in asked if not url.startswith(("file:", "blob:", "data:"))] == []


def test_a_finished_search_leaves_no_lock(register, capsys):
    run(capsys, "find", register, "--joint", "2")
    with closing(sqlite3.connect(register, timeout=0)) as database:
        database.execute("BEGIN EXCLUSIVE")
        database.execute("ROLLBACK")
