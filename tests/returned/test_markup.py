"""The contractor's log handed back: every cell as it was, remarks beside it, and read again as the log."""

import datetime as dt
import json
import re
import shutil
import tomllib
import zipfile
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from laying import TODAY, lines, log, pipe
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

import asbuilt
from asbuilt import cli
from asbuilt.checks import ASIDE_KINDS, KINDS
from asbuilt.errors import InputFileError, LogRefusedError, OutputError
from asbuilt.inputs.text_table import RETURN_COLUMN, RETURN_SHEET
from asbuilt.judging.findings import CHECKS
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.returned import markup

ROOT = Path(__file__).resolve().parents[2]
STRAIGHT = pipe([0.0] * 9)


@pytest.fixture
def sample(tmp_path):
    return Path(shutil.copytree(ROOT / "sample_gis", tmp_path / "sample"))


def sample_job(folder, name, paths=None):
    values = tomllib.loads((folder / name).read_text("utf-8"))
    if paths is not None:
        values["records"]["path"] = [str(path) for path in paths]
    return asbuilt.Job.from_mapping(values, folder=folder)


def small_job(folder, records, **more):
    """Write a log of one straight route, and give its job."""
    path = folder / ("log.csv" if isinstance(records, str | bytes) else "log.xlsx")
    if isinstance(records, bytes):
        path.write_bytes(records)
    elif isinstance(records, str):
        path.write_text(records, "utf-8")
    else:
        records.save(path)
    lines(A=STRAIGHT).to_file(folder / "line.gpkg")
    values = {
        "name": "Quarry Lane",
        "centerline": {"path": "line.gpkg", "route": "route"},
        "records": {"path": path.name, "station_unit": "us-ft", "laying_length": 20.0, **more},
        "limits": {"table": "awwa-c600"},
    }
    return asbuilt.Job.from_mapping(values, folder=folder)


def csv(**cells):
    """Write the straight route's log as CSV, with single cells replaced: column = {row of the file: text}."""
    records = log(STRAIGHT).astype(object)
    for column, changes in cells.items():
        name = column.replace("_", " ")
        if name not in records:
            records[name] = None
        for row, text in changes.items():
            records.loc[row - 2, name] = text
    return records.to_csv(index=False)


def workbook(**cells):
    """Make the same as a workbook with formats of its own."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Joints"
    for row in csv(**cells).splitlines():
        sheet.append([float(cell) if re.fullmatch(r"\d+", cell) else cell for cell in row.split(",")])
    sheet["B3"].font = Font(name="Courier New", bold=True)
    sheet["C4"].number_format = "0.000"
    sheet.column_dimensions["B"].width = 31
    sheet.freeze_panes = "A2"
    return book


def placed(job):
    return asbuilt.place(job, today=TODAY)


def returned(job, folder, name="back.xlsx"):
    back = markup.write_return(placed(job), folder / name)
    return back, openpyxl.load_workbook(back.paths[0], rich_text=True)


def sheet_of(book):
    return book[book.sheetnames[-1]]


def remarks_in(sheet):
    (column,) = {cell.column for cells in sheet.iter_rows() for cell in cells if cell.value == RETURN_COLUMN}
    texts = {row: sheet.cell(row, column).value for row in range(1, sheet.max_row + 1)}
    return {row: text for row, text in texts.items() if text and text != RETURN_COLUMN}


def findings_of(placement):
    """Give what was found, without the files that are named with rows: the log handed back is another file."""
    found = placement.findings
    return sorted(
        (one["code"], one["joint"] or "", one["station"], re.sub(r"\S+\.(csv|xlsx)(?= \d)", "", one["message"]))
        for one in found.to_dict("records")
    ), sorted(zip(placement.set_aside["row"], placement.set_aside["reason"], strict=True))


# Nothing of theirs changes


def test_every_cell_comes_back_with_its_value_and_format(sample):
    job = sample_job(sample, "job.toml", [sample / "joint_log.xlsx"])
    theirs = openpyxl.load_workbook(sample / "joint_log.xlsx", rich_text=True)
    _, ours = returned(job, sample)
    assert ours.sheetnames == [RETURN_SHEET, *theirs.sheetnames]
    marked = 0
    for name in theirs.sheetnames:
        before, after = theirs[name], ours[name]
        assert after.merged_cells.ranges == before.merged_cells.ranges
        assert after.freeze_panes == before.freeze_panes
        widths = {key: one.width for key, one in before.column_dimensions.items()}
        assert {key: after.column_dimensions[key].width for key in widths} == widths
        for row in before.iter_rows():
            for cell in row:
                same = after[cell.coordinate]
                assert (same.value, same.data_type, same.number_format) == (
                    cell.value, cell.data_type, cell.number_format,
                )  # fmt: skip
                for look in ("font", "border", "alignment", "protection"):
                    assert repr(getattr(same, look)) == repr(getattr(cell, look))
                if repr(same.fill) != repr(cell.fill):
                    marked += 1
                    assert same.comment is not None
    assert marked > 20


def test_the_returned_log_is_read_as_the_log_was(sample):
    for name in ("job.toml", "job_metric.toml"):
        job = sample_job(sample, name)
        first = placed(job)
        back = markup.write_return(first, sample / f"back-{name}.xlsx")
        again = placed(sample_job(sample, name, back.paths))
        assert findings_of(again) == findings_of(first)
        assert again.counts == first.counts
        assert not [column for _, column in again.log.not_read if column == RETURN_COLUMN]
        # What a cell holds is kept as it was read; of the workbook that is all there is.
        if name == "job.toml":
            assert again.inspections["original"].tolist() == first.inspections["original"].tolist()


def test_cells_of_a_csv_come_back_as_text_just_as_they_were(tmp_path):
    text = csv(remarks={3: '=HYPERLINK("http://x.test")', 4: " 007 ", 5: "1,5", 6: "+1+1", 7: "@SUM(A1)", 8: "-2+3"})
    job = small_job(tmp_path, text)
    _, book = returned(job, tmp_path)
    sheet = sheet_of(book)
    import csv as reader

    for row, cells in enumerate(reader.reader(text.splitlines()), start=1):
        for column, cell in enumerate(cells, start=1):
            assert sheet.cell(row, column).value == (cell or None)
            assert sheet.cell(row, column).data_type in ("s", "n")  # never a formula
            assert not cell or sheet.cell(row, column).number_format == "@"
    with zipfile.ZipFile(tmp_path / "back.xlsx") as packed:
        assert not [name for name in packed.namelist() if b"<f" in packed.read(name) and "worksheets/" in name]


def test_a_csv_with_title_rows_line_breaks_and_another_encoding(tmp_path):
    head, *rows = csv(remarks={3: "Stra\u00dfe\nsecond line", 5: "x"}, gauge={7: "x"}).split("\n", 1)
    text = f"Marrow Creek Water District\n\n{head}\n{rows[0]}"
    job = small_job(tmp_path, text.encode("cp1252"))
    _, book = returned(job, tmp_path)
    sheet = sheet_of(book)
    assert sheet["A1"].value == "Marrow Creek Water District"
    assert [cell.value for cell in sheet[5]][-2] == "Stra\u00dfe\nsecond line"
    assert remarks_in(sheet).keys() == {9}
    assert sheet.cell(3, sheet.max_column).value == RETURN_COLUMN


# What is said


def test_offending_cells_are_marked_in_colour_comment_and_words(tmp_path):
    job = small_job(tmp_path, workbook(gasket_temp={5: "34"}, gauge={8: None}, station={7: "l+00.00"}))
    _, book = returned(job, tmp_path)
    sheet = sheet_of(book)
    head = [cell.value for cell in sheet[1]]
    cell = sheet.cell(5, head.index("gasket temp") + 1)
    assert "gasket at 34 F when fitted, under 40 F" in cell.comment.text
    assert "Expected: if it was written down wrongly, the entry corrected; if it is true" in cell.comment.text
    blank = sheet.cell(8, head.index("gauge") + 1)
    assert "not recorded: gauge. Expected: the marked cells filled in" in blank.comment.text
    wrong = sheet.cell(7, head.index("station") + 1)
    assert "station 'l+00.00' cannot be read; write it like 12+34.56" in wrong.comment.text
    said = remarks_in(sheet)
    assert {row: text.split(" ")[0] for row, text in said.items()} == {
        5: "gasket-cold", 7: "station-unreadable", 8: "joints-missing",
    }  # fmt: skip
    assert said[8].split(" | ")[1].startswith("inspection-missing (check):")
    colours = {one.fill.fgColor.rgb for one in (cell, wrong)}
    assert len(colours) == 2
    unmarked = [
        one for row in sheet.iter_rows() for one in row if one.comment is None and one.fill.fgColor.rgb in colours
    ]
    assert {one.column for one in unmarked} == {sheet.max_column}


def test_joints_missing_are_remarked_on_the_row_after_the_gap(tmp_path):
    text = csv().splitlines(keepends=True)
    job = small_job(tmp_path, "".join([*text[:5], *text[7:]]))
    _, book = returned(job, tmp_path)
    ((row, said),) = remarks_in(sheet_of(book)).items()
    assert row == 6
    assert "at least 2 joints are missing between 0+60.00 and 1+20.00" in said


def test_a_row_set_aside_where_joints_are_missing_is_named_there(tmp_path):
    _, book = returned(small_job(tmp_path, csv(station={7: "l+00.00"})), tmp_path)
    said = remarks_in(sheet_of(book))
    assert said.keys() == {7, 8}
    assert "Expected: row 7, set aside, put right; or a row for each joint before this one" in said[8]


def test_a_repeated_joint_is_remarked_on_each_of_its_rows(tmp_path):
    text = csv()
    job = small_job(tmp_path, text + text.splitlines()[4] + "\n")
    _, book = returned(job, tmp_path)
    assert remarks_in(sheet_of(book)).keys() == {5, 13}


def test_an_unreadable_cell_of_a_record_set_aside_is_remarked_too(tmp_path):
    job = small_job(tmp_path, csv(station={4: "none"}, gauge={4: "x"}))
    _, book = returned(job, tmp_path)
    assert "gauge: 'x' cannot be read. Expected: yes or no" in remarks_in(sheet_of(book))[4]


def test_deflection_over_the_allowable_is_remarked_on_its_row(tmp_path):
    points = pipe([0, 0, 4.9, 0, 5.2, 0, 0, 0, 0])
    job = small_job(tmp_path, log(points).to_csv(index=False))
    lines(A=points).to_file(tmp_path / "line.gpkg")
    _, book = returned(job, tmp_path)
    said = remarks_in(sheet_of(book))
    assert said.keys() == {7}
    assert re.search(r"deflection-over \(act\): .*over the allowable 5 deg", said[7])


def test_the_first_sheet_counts_the_remarks_by_kind(tmp_path):
    job = small_job(tmp_path, workbook(gasket_temp={5: "34", 6: "35"}, gauge={8: "no"}))
    back, book = returned(job, tmp_path)
    rows = [tuple(row) for row in book[RETURN_SHEET].iter_rows(max_col=3, values_only=True)]
    # Nobody is asked to make an entry fit.
    assert any("If a reading is true, leave it as it is, and report it" in (row[0] or "") for row in rows)
    assert ("gasket-cold", "check", 2) in rows
    assert ("inspection-failed", "act", 1) in rows
    assert ("All remarks", None, 3) in rows
    # Of two returns of one log the contractor must know which is the later one.
    assert any(f"Checked on {dt.date.today().isoformat()}" in (row[0] or "") for row in rows)
    assert back.remarks == {"gasket-cold": 2, "inspection-failed": 1}
    assert book.active.title == RETURN_SHEET
    assert [sheet.title for sheet in book if sheet.sheet_view.tabSelected] == [RETURN_SHEET]


def test_a_log_in_order_comes_back_without_remarks(tmp_path):
    back, book = returned(small_job(tmp_path, csv()), tmp_path)
    assert back.remarks == {}
    assert remarks_in(sheet_of(book)) == {}


def test_a_mark_in_merged_cells_stands_in_the_one_that_shows(tmp_path):
    book = workbook()
    sheet = book.active
    column = [cell.value for cell in sheet[1]].index("date") + 1
    for row in range(3, 6):
        sheet.cell(row, column).value = None
    sheet.cell(3, column).value = "2062-04-02"
    sheet.merge_cells(start_row=3, end_row=5, start_column=column, end_column=column)
    _, back = returned(small_job(tmp_path, book), tmp_path)
    sheet = sheet_of(back)
    assert remarks_in(sheet).keys() == {3, 4, 5}
    assert sheet.cell(3, column).comment.text.count("date-doubtful") == 1


# Handed in again


def test_corrected_cells_are_no_longer_remarked_and_others_still_are(tmp_path):
    job = small_job(tmp_path, workbook(gasket_temp={5: "34"}, gauge={8: "no"}, station={7: "l+00.00"}))
    _, book = returned(job, tmp_path)
    sheet = sheet_of(book)
    sheet.cell(7, [cell.value for cell in sheet[1]].index("station") + 1).value = "1+00.00"
    sheet.cell(5, [cell.value for cell in sheet[1]].index("gasket temp") + 1).value = 55
    book.save(tmp_path / "corrected.xlsx")
    again = placed(small_job_with(job, "corrected.xlsx"))
    assert again.findings["code"].tolist() == ["inspection-failed"]
    assert again.set_aside.empty


def small_job_with(job, path):
    return job_with(job, records=job.records.model_copy(update={"path": (path,)}))


def job_with(job, **parts):
    other = job.model_copy(update=parts)
    other._folder = job.folder
    return other


def test_a_log_returned_twice_has_one_sheet_and_one_column_of_remarks(tmp_path):
    book = workbook(gasket_temp={5: "34"}, gauge={8: "no"})
    sheet = book.active
    column = [cell.value for cell in sheet[1]].index("gauge") + 1
    sheet.cell(8, column).comment = Comment("ask Vance", "crew")
    job = small_job(tmp_path, book)
    _, once = returned(job, tmp_path)
    marked = sheet_of(once)
    assert marked.cell(8, column).comment.text.startswith("ask Vance")
    temperature = [cell.value for cell in marked[1]].index("gasket temp") + 1
    marked.cell(5, temperature).value = 55
    once.save(tmp_path / "corrected.xlsx")
    _, twice = returned(small_job_with(job, "corrected.xlsx"), tmp_path, "again.xlsx")
    sheet = sheet_of(twice)
    assert twice.sheetnames == [RETURN_SHEET, "Joints"]
    assert sheet.cell(8, column).comment.text.count("Remarks by asbuilt:") == 1
    assert sheet.cell(8, column).comment.text.startswith("ask Vance")
    assert sheet.cell(5, temperature).comment is None
    assert sheet.cell(5, temperature).fill == PatternFill()
    assert remarks_in(sheet).keys() == {8}


def test_a_returned_log_saved_as_csv_is_read_without_its_remarks(tmp_path):
    _, book = returned(small_job(tmp_path, csv(gauge={8: "no"})), tmp_path)
    import csv as writer

    with open(tmp_path / "again.csv", "w", newline="", encoding="utf-8") as file:
        writer.writer(file).writerows(sheet_of(book).iter_rows(values_only=True))
    again = placed(small_job_with(small_job(tmp_path, csv()), "again.csv"))
    assert again.findings["code"].tolist() == ["inspection-failed"]
    assert RETURN_COLUMN not in json.loads(again.inspections["original"][6])


def test_a_title_across_the_whole_sheet_stays_a_title(tmp_path):
    book = workbook(gauge={8: "no"})
    sheet = book.active
    sheet.insert_rows(1)
    sheet["A1"] = "Marrow Creek Water District"
    sheet.merge_cells(start_row=1, end_row=1, start_column=1, end_column=sheet.max_column)
    job = small_job(tmp_path, book)
    back, _ = returned(job, tmp_path)
    first, again = placed(job), placed(small_job_with(job, str(back.paths[0])))
    assert again.log.matches == tuple((str(back.paths[0]), *match[1:]) for match in first.log.matches)
    assert len(again.log.notes) == len(first.log.notes)


def test_a_formula_that_no_program_has_computed_is_not_read_as_blank(tmp_path):
    book = workbook()
    book.active["B4"] = '="0+40"'
    with pytest.raises(InputFileError, match="cell B4 holds a formula without its value; open the workbook"):
        placed(small_job(tmp_path, book))


def test_a_formula_that_gives_an_empty_text_is_a_blank_cell(tmp_path):
    book = workbook(remarks={3: "x"})
    book.active["J4"] = '=IF(1,"","x")'
    job = small_job(tmp_path, book)
    with zipfile.ZipFile(tmp_path / "log.xlsx") as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    # So a spreadsheet program saves the empty text that a formula gave.
    parts[sheet] = parts[sheet].replace(b'<c r="J4">', b'<c r="J4" t="str">')
    assert b'<c r="J4" t="str"><f>' in parts[sheet]
    with zipfile.ZipFile(tmp_path / "log.xlsx", "w") as packed:
        for name, content in parts.items():
            packed.writestr(name, content)
    assert len(placed(job).inspections) == 11


# Where it cannot be done


def test_several_logs_come_back_as_a_workbook_each(sample):
    back = markup.write_return(placed(sample_job(sample, "job.toml")), sample / "back.xlsx")
    assert [path.name for path in back.paths] == ["back-joint_log.xlsx", "back-joint_log_quarry.xlsx"]


def test_places_that_cannot_be_written_are_named(tmp_path):
    job = small_job(tmp_path, workbook())
    first = placed(job)
    with pytest.raises(OutputError, match=r"ends in \.xlsx; name it so in --return"):
        markup.write_return(first, tmp_path / "back.csv")
    with pytest.raises(OutputError, match="this is an input of the job"):
        markup.write_return(first, tmp_path / "log.xlsx")
    with pytest.raises(OutputError, match="cannot be written"):
        markup.write_return(first, tmp_path / "no" / "folder" / "back.xlsx")


@pytest.mark.parametrize(
    ("later", "rows_remarked"), [("", [2]), ("gasket", [2]), ("gasket rolled", [2, len(STRAIGHT)])]
)
def test_what_a_record_of_a_joint_says_is_remarked_in_its_own_row_alone(tmp_path, later, rows_remarked):
    """Once the row was found by its words in the message, which hold those of other rows as well."""
    rows = csv(remarks={4: "gasket rolled"}).splitlines()
    rows.append(rows[3].replace("gasket rolled", later))
    job = small_job(tmp_path, "\n".join(rows) + "\n")
    found = [one for one in markup.remarks(placed(job)) if one.kind == "remark-to-read"]
    assert [one.record for one in found] == rows_remarked


def test_a_log_that_is_a_layer_is_refused_as_one_and_not_as_a_text(tmp_path):
    import geopandas as gpd

    points = gpd.points_from_xy(*STRAIGHT.T[:2])
    table = {"joint": [str(at + 1) for at in range(len(STRAIGHT))], "size": 12, "joint type": "push-on"}
    gpd.GeoDataFrame(table, geometry=points, crs=lines(A=STRAIGHT).crs).to_file(tmp_path / "joints.gpkg")
    job = small_job(tmp_path, csv(), path=["joints.gpkg"])
    with pytest.raises(InputFileError, match=r"joints\.gpkg: this is a layer, and only CSV files and \.xlsx workbooks"):
        markup.write_return(placed(job), tmp_path / "back.xlsx")
    assert not (tmp_path / "back.xlsx").exists()


def test_a_log_that_changed_meanwhile_is_refused(tmp_path):
    job = small_job(tmp_path, workbook())
    first = placed(job)
    workbook(gauge={8: "no"}).save(tmp_path / "log.xlsx")
    with pytest.raises(InputFileError, match="has changed since it was read"):
        markup.write_return(first, tmp_path / "back.xlsx")
    assert not (tmp_path / "back.xlsx").exists()


def test_a_failure_on_the_way_leaves_the_earlier_return(tmp_path, monkeypatch):
    job = small_job(tmp_path, workbook())
    markup.write_return(placed(job), tmp_path / "back.xlsx")
    earlier = (tmp_path / "back.xlsx").read_bytes()
    monkeypatch.setattr(markup, "_count", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        markup.write_return(placed(job), tmp_path / "back.xlsx")
    assert (tmp_path / "back.xlsx").read_bytes() == earlier
    assert sorted(path.name for path in tmp_path.iterdir()) == ["back.xlsx", "line.gpkg", "log.xlsx"]


def test_a_workbook_that_is_no_return_of_this_job_stays(tmp_path):
    job = small_job(tmp_path, workbook())
    workbook().save(tmp_path / "theirs.xlsx")
    before = (tmp_path / "theirs.xlsx").read_bytes()
    with pytest.raises(OutputError, match=r"theirs\.xlsx: a file is there that is no log handed back"):
        markup.write_return(placed(job), tmp_path / "theirs.xlsx")
    assert (tmp_path / "theirs.xlsx").read_bytes() == before


def test_records_in_memory_have_no_log_to_hand_back(tmp_path):
    job = small_job(tmp_path, csv())
    placement = asbuilt.place(job, records=log(STRAIGHT), today=TODAY)
    with pytest.raises(OutputError, match="the log is not in files"):
        markup.write_return(placement, tmp_path / "back.xlsx")


def test_the_return_prints_across_with_its_column_names_unless_its_owner_chose_otherwise(sample, tmp_path):
    book = openpyxl.load_workbook(sample / "joint_log.xlsx")
    assert book["Joint log"].page_setup.orientation in (None, "default")
    asbuilt.write_return(asbuilt.place(sample / "job.toml"), tmp_path / "back.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "back-joint_log.xlsx")["Joint log"]
    assert (sheet.page_setup.orientation, sheet.print_title_rows) == ("landscape", "$5:$5")
    book["Joint log"].page_setup.orientation, book["Joint log"].print_title_rows = "portrait", "1:5"
    book.save(sample / "joint_log.xlsx")
    asbuilt.write_return(asbuilt.place(sample / "job.toml"), tmp_path / "again.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "again-joint_log.xlsx")["Joint log"]
    assert (sheet.page_setup.orientation, sheet.print_title_rows) == ("portrait", "$1:$5")


def test_the_command_writes_the_return_and_says_so(sample, capsys):
    assert cli.run(["check", str(sample / "job.toml"), "--return", str(sample / "back.xlsx")]) == 0
    out = capsys.readouterr().out
    assert re.search(
        r"Wrote .*back-joint_log\.xlsx, .*back-joint_log_quarry\.xlsx \(\d+ remarks\), and nothing else", out
    )
    assert not (sample / "joints.gpkg").exists()
    assert cli.run(["check", str(sample / "job_metric.toml"), "--return", str(sample / "m.xlsx"), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["returned"] == [str(sample / "m.xlsx")]
    assert sum(result["remarks"].values()) > 0


SHOT_CHECKS = (
    "shot-astray", "shot-order", "shot-repeated", "shot-height", "shots-too-even", "line-doubles-back",
    "coverage-short", "unit-doubtful", "bend-off-corner", "equation-ignored", "joints-off-shots", "routes-exchanged",
    "stations-shifted",
)  # fmt: skip


def test_the_words_for_remarks_are_those_of_the_checks():
    assert {field for kind in KINDS.values() for field in kind.fields} <= set(RECORD_FIELDS)
    # What is not about a row of the log expects nothing of its writer; a message of a record set aside says it itself.
    silent = {code for code, kind in KINDS.items() if kind.expected is None and code not in ASIDE_KINDS}
    assert silent == {
        *SHOT_CHECKS, "test-failed", "test-pressure-low", "test-short", "test-doubtful", "test-early", "cover-short",
        "line-unclear", "grade-unclear", "cover-unclear", "length-untested", "field-unreadable",
    }  # fmt: skip
    # No remark invites anyone to alter evidence: what was judged by a value may only be corrected or left.
    for code in ("gasket-cold", "insertion-off", "gap-uneven", "gauge-uneven", "torque-off", "inspection-failed"):
        assert "left as it is, and reported" in KINDS[code].expected
    assert {check.severity for check in CHECKS} <= set(markup._FILLS)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_log_refused_as_a_whole_is_handed_back_with_the_reason_at_its_row(tmp_path, monkeypatch, capsys, kind):
    first, second = log(STRAIGHT), log(STRAIGHT[:5])
    both = pd.concat([first.iloc[:6], second], ignore_index=True)
    small_job(tmp_path, both.to_csv(index=False))
    if kind == "xlsx":
        both.to_excel(tmp_path / "log.xlsx", index=False)
    (tmp_path / "job.toml").write_text(
        f'name = "Quarry Lane"\n[centerline]\npath = "line.gpkg"\nroute = "route"\n[records]\npath = "log.{kind}"\n'
        'station_unit = "us-ft"\nlaying_length = 20\n[limits]\ntable = "awwa-c600"\n'
    )
    monkeypatch.chdir(tmp_path)
    assert cli.run(["check", "job.toml", "--return", "back.xlsx"]) == 2
    said = capsys.readouterr().err
    assert "begin anew at 0+00" in said
    assert "The log with this remark at its row: back.xlsx" in said
    book = openpyxl.load_workbook("back.xlsx")
    counted, sheet = book.worksheets
    assert counted.title == RETURN_SHEET
    assert any(cell.value == "log-refused" for row in counted for cell in row)
    column = next(cell.column for cell in sheet[1] if cell.value == RETURN_COLUMN)
    remarked = [cell.row for (cell,) in sheet.iter_rows(min_row=2, min_col=column, max_col=column) if cell.value]
    assert remarked == [8]
    station = next(cell.column for cell in sheet[1] if cell.value == "station")
    assert "begin anew" in sheet.cell(8, station).comment.text
    # Handed in as it is, it is refused for the same reason at the same row.
    (tmp_path / "job.toml").write_text((tmp_path / "job.toml").read_text().replace(f"log.{kind}", "back.xlsx"))
    assert cli.run(["check", "job.toml"]) == 2
    assert "row 8: the stations of route" in capsys.readouterr().err


def test_a_refused_log_is_handed_back_under_a_name_of_a_workbook_alone(tmp_path):
    both = pd.concat([log(STRAIGHT).iloc[:6], log(STRAIGHT[:5])], ignore_index=True)
    job = small_job(tmp_path, both.to_csv(index=False))
    with pytest.raises(LogRefusedError) as refused:
        asbuilt.place(job, today=TODAY)
    with pytest.raises(OutputError, match=r"ends in \.xlsx"):
        markup.write_refused(job, refused.value, tmp_path / "back.csv")
    with pytest.raises(OutputError, match=r"log\.xlsx|log\.csv|input"):
        markup.write_refused(
            asbuilt.Job.from_mapping(
                {"name": "Q", "centerline": {"path": "line.gpkg"}, "limits": {"table": "awwa-c600"},
                 "records": {"path": "twice.xlsx", "station_unit": "us-ft", "laying_length": 20.0}},
                folder=_as_workbook(both, tmp_path),
            ),
            refused.value, tmp_path / "twice.xlsx",
        )  # fmt: skip


def _as_workbook(records, folder):
    records.to_excel(folder / "twice.xlsx", index=False)
    return folder
