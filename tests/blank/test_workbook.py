"""The blank log as a workbook: filled in, it is read without one note; its limits ask, its headings are locked."""

import datetime as dt
import json
import re

import crews
import laying
import openpyxl
import pytest
from openpyxl.worksheet.datavalidation import DataValidation

import asbuilt
from asbuilt import checks
from asbuilt.blank.blank import CAUTION
from asbuilt.blank.columns import columns
from asbuilt.blank.writing import write_sheet
from asbuilt.checks import CheckKind
from asbuilt.cli import run
from asbuilt.errors import JobFileError, OutputError
from asbuilt.inputs.fields import EVIDENCE_FIELDS, FIELD_NAMES, READING_FIELDS
from asbuilt.inputs.headers import match_columns
from asbuilt.inputs.text_table import BLANK_HEADER_ROW
from asbuilt.keys.fields import RECORD_FIELDS

FIRST = BLANK_HEADER_ROW + 1


def fill(path, made, rows, *, sheet=0):
    """Type rows into a sheet of the workbook as a spreadsheet program does."""
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[sheet]
    for at, row in enumerate(rows):
        for column, one in enumerate(made, start=1):
            if one.field in row:
                sheet.cell(FIRST + at, column).value = row[one.field]
    book.save(path)


def rules(sheet):
    """Give each column's rule by its heading."""
    found = {}
    for rule in sheet.data_validations.dataValidation:
        (cells,) = rule.sqref.ranges
        found[sheet.cell(BLANK_HEADER_ROW, cells.min_col).value] = rule
    return found


def test_what_is_filled_in_is_read_without_one_note_and_as_it_was_written(tmp_path):
    job = crews.job(tmp_path, records={"photos": ["photos"]})
    (tmp_path / "photos").mkdir()
    made = write_sheet(job, tmp_path / "log.xlsx").blank.columns
    rows = [crews.entries(made, number) for number in range(crews.JOINTS)]
    for row in rows:
        for name in row["photo"].split("; "):
            (tmp_path / "photos" / name).touch()
    fill(tmp_path / "log.xlsx", made, rows)
    placement = asbuilt.place(job, today=laying.TODAY)
    crews.no_note_but_the_job_s(placement)
    crews.same(placement.log, made, rows)


def test_a_heading_of_every_field_is_known_again(tmp_path):
    required = {**crews.INSPECTION, "required": list(RECORD_FIELDS)}
    job = crews.job(tmp_path, records={"fixed": {}}, inspection=required)
    made = write_sheet(job, tmp_path / "log.xlsx").blank.columns
    assert [one.field for one in made] == list(RECORD_FIELDS)
    found = match_columns([one.heading for one in made], FIELD_NAMES, {}, where="log.xlsx", key="records.columns")
    assert found == {one.field: one.heading for one in made}


def test_every_step_of_making_a_joint_has_its_column(tmp_path):
    fields = {one.field for one in write_sheet(crews.job(tmp_path), tmp_path / "log.xlsx").blank.columns}
    steps = {field for field in EVIDENCE_FIELDS if field not in READING_FIELDS}
    assert steps <= fields
    assert {field for field in fields if field in READING_FIELDS} == {
        f"{what}_{hour}" for what in ("gap", "gauge") for hour in (12, 3, 6, 9)
    }


def test_a_new_check_brings_its_column_along(tmp_path, monkeypatch):
    job = crews.job(tmp_path)
    before = {one.field for one in write_sheet(job, tmp_path / "log.xlsx").blank.columns}
    new = {"class-doubtful": CheckKind("check", "The class is not that of the submittal", ("pipe_class",), None)}
    monkeypatch.setattr(checks, "KINDS", checks.KINDS | new)
    after = write_sheet(job, tmp_path / "log.xlsx").blank.columns
    assert {one.field for one in after} - before == {"pipe_class"}
    book = openpyxl.load_workbook(tmp_path / "log.xlsx")
    (head,) = [cell for cell in book.worksheets[0][BLANK_HEADER_ROW] if cell.value == "Pipe class"]
    assert "The class is not that of the submittal" in head.comment.text


def test_a_log_whose_stations_are_counted_asks_for_lengths_and_for_no_station(tmp_path):
    job = crews.job(tmp_path, records={"station_from": "laid_length"})
    made = {one.field: one for one in write_sheet(job, tmp_path / "log.xlsx").blank.columns}
    assert "station" not in made
    assert {"*", "mechanical"} <= set(made["laid_length"].required)


def test_units_stand_in_the_headings_and_are_those_of_the_job(tmp_path):
    metric = {"station_unit": "m", "laying_length": 6.0, "temperature_unit": "C", "torque_unit": "N-m",
              "reading_unit": "mm", "fixed": {}}  # fmt: skip
    job = crews.job(tmp_path, records=metric, limits={"table": "en-545"})
    heads = [one.heading for one in write_sheet(job, tmp_path / "log.xlsx").blank.columns]
    wanted = {"Station (m, as 1+234.567)", "Size (mm)", "Laid length (m)", "Gasket temperature (C)", "Gap 12 (mm)",
              "Bolt torque (N-m)", "Bend angle (deg)"}  # fmt: skip
    assert wanted <= set(heads)
    assert openpyxl.load_workbook(tmp_path / "log.xlsx").worksheets[0].page_setup.paperSize == 9  # A4


def test_a_column_that_the_log_left_unnamed_gives_a_blank_log_no_heading(tmp_path):
    job = crews.job(tmp_path, records={"columns": {"station": "column 2", "remarks": "column 11"}})
    heads = [one.heading for one in write_sheet(job, tmp_path / "log.xlsx").blank.columns]
    assert {"column 2", "column 11"}.isdisjoint(heads)


def test_limits_ask_and_lists_that_are_whole_hold(tmp_path):
    write_sheet(crews.job(tmp_path), tmp_path / "log.xlsx")
    found = rules(openpyxl.load_workbook(tmp_path / "log.xlsx").worksheets[0])
    assert found["Insertion mark"].formula1 == '"yes,no"'
    assert found["Insertion mark"].errorStyle in (None, "stop")
    cold = found["Gasket temperature (F)"]
    assert (cold.type, cold.errorStyle) == ("custom", "warning")
    assert ">=40.0" in cold.formula1
    assert "12" in found["Size (in)"].formula1.strip('"').split(",")
    # What was found must be writable, whatever the limit: none of them stops an entry.
    limited = [rule for rule in found.values() if rule.type == "custom"]
    assert len(limited) >= 12
    assert {rule.errorStyle for rule in limited} == {"warning"}
    assert all(len(rule.formula1) <= 255 and len(rule.error) <= 255 for rule in limited)
    assert all(len(rule.prompt or "") <= 255 and len(rule.promptTitle or "") <= 32 for rule in found.values())
    # AWWA C600/C111, from memory: 3/4 in bolts of 4 to 24 in joints take 75 to 90 ft-lb, 5/8 in bolts of 3 in 45 to 60.
    assert "<=3,AND(" in found["Bolt torque (ft-lb)"].formula1
    assert re.search(r"<=24,AND\(\w+>=75,\w+<=90\)", found["Bolt torque (ft-lb)"].formula1)


@pytest.mark.parametrize(
    ("records", "written", "stands"), [({}, "7/8", "fraction"), ({"reading_unit": "mm"}, "22", "General")]
)
def test_a_reading_in_inches_typed_as_a_fraction_is_no_date(tmp_path, records, written, stands):
    inspection = {**crews.INSPECTION, "insertion_band": [0.5, 40.0]}
    write_sheet(crews.job(tmp_path, records=records, inspection=inspection), tmp_path / "log.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "log.xlsx").worksheets[0]
    (at,) = [cell.column for cell in sheet[BLANK_HEADER_ROW] if cell.value.startswith("Gap 12")]
    assert sheet.cell(FIRST, at).number_format == ("# ??/??" if stands == "fraction" else "General")


def test_headings_are_locked_cells_are_open_and_every_page_has_headings_route_job_and_caution(tmp_path):
    job = crews.job(tmp_path, name="Quarry & Mill")
    blank = write_sheet(job, tmp_path / "log.xlsx", rows=50).blank
    sheet = openpyxl.load_workbook(tmp_path / "log.xlsx").worksheets[0]
    assert sheet.protection.sheet
    assert all(cell.protection.locked for cell in sheet[BLANK_HEADER_ROW])
    cells = [cell for row in sheet.iter_rows(min_row=FIRST, max_row=FIRST + 49) for cell in row]
    assert len(cells) == 50 * len(blank.columns)
    assert not any(cell.protection.locked for cell in cells)
    assert sheet.print_title_rows == f"$1:${BLANK_HEADER_ROW}"
    assert sheet.page_setup.orientation == "landscape"
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert "Route A" in sheet.oddFooter.left.text
    assert "Quarry && Mill" in sheet.oddFooter.left.text
    assert "Page &P of &N" in sheet.oddFooter.right.text
    assert CAUTION in [sheet.cell(row, 1).value for row in range(1, BLANK_HEADER_ROW)]
    assert all(head.comment is not None for head in sheet[BLANK_HEADER_ROW])


def test_a_log_that_is_filled_in_is_never_written_over(tmp_path):
    job = crews.job(tmp_path)
    path = tmp_path / "log.xlsx"
    made = write_sheet(job, path, rows=10).blank.columns
    assert write_sheet(job, path, rows=20).blank.rows == 20
    fill(path, made, [{"remarks": "one word is enough"}])
    there = path.read_bytes()
    with pytest.raises(OutputError, match=r"log\.xlsx: a log that is filled in is there, and is not written over"):
        write_sheet(job, path)
    assert path.read_bytes() == there


def test_nothing_else_is_written_over(tmp_path):
    job = crews.job(tmp_path)
    for name in ("crew.xlsx", "page.html"):
        (tmp_path / name).write_bytes(b"something of theirs")
        with pytest.raises(OutputError, match="no blank log of asbuilt sheet, and is not written over"):
            write_sheet(job, tmp_path / name)
    for name in ("a.xlsx", "a.html"):
        write_sheet(crews.job(tmp_path, name="Another"), tmp_path / name)
        with pytest.raises(OutputError, match=r"of another job is there \(Another\)"):
            write_sheet(job, tmp_path / name)
        write_sheet(crews.job(tmp_path, name="Another"), tmp_path / name)
    with pytest.raises(OutputError, match=r"workbook \(.xlsx\) or a page \(.html\)"):
        write_sheet(job, tmp_path / "log.csv")
    book = openpyxl.Workbook()
    book.active.append(["joint_type", "size", "allowable_deg", "source"])
    book.active.append(["push-on", 12, 3.0, "submittal 14"])
    book.save(tmp_path / "limits.xlsx")
    with_limits = crews.job(tmp_path, limits={"table": "awwa-c600", "project": "limits.xlsx"})
    with pytest.raises(OutputError, match="an input of the job"):
        write_sheet(with_limits, tmp_path / "limits.xlsx")


def test_the_job_s_own_names_sheet_and_fixed_values_are_kept(tmp_path):
    records = {
        "sheet": "Crew log",
        "columns": {"kind": "Ftg", "station": "STA.", "joint": 1},
        "fixed": {"size": "12", **crews.FIXED},
    }
    job = crews.job(tmp_path, records=records)
    made = write_sheet(job, tmp_path / "log.xlsx").blank.columns
    heads = {one.field: one.heading for one in made}
    assert (heads["kind"], heads["station"], made[0].field) == ("Ftg", "STA.", "joint")
    assert "size" not in heads
    rows = [crews.entries(made, number) for number in range(crews.JOINTS)]
    fill(tmp_path / "log.xlsx", made, rows)
    placement = asbuilt.place(job, today=laying.TODAY)
    crews.no_note_but_the_job_s(placement)
    crews.same(placement.log, made, rows)
    assert placement.log.fields["size"].to_pylist() == [12.0] * crews.JOINTS


@pytest.mark.parametrize("filled", [{0: 9, 1: 7}, {0: 16}, {1: 16}], ids=["both", "the first", "the second"])
def test_several_sheets_are_blank_logs_each_and_read_as_one_without_a_note(tmp_path, filled):
    job = crews.job(tmp_path, records={"sheet": ["Crew 1", "Crew 2"]})
    written = write_sheet(job, tmp_path / "log.xlsx")
    book = openpyxl.load_workbook(tmp_path / "log.xlsx")
    assert book.sheetnames == ["Crew 1", "Crew 2"]
    assert [sheet.protection.sheet for sheet in book] == [True, True]
    assert len({len(sheet.data_validations.dataValidation) for sheet in book}) == 1
    made = written.blank.columns
    rows, start = [crews.entries(made, number) for number in range(crews.JOINTS)], 0
    for sheet, count in filled.items():
        fill(tmp_path / "log.xlsx", made, rows[start : start + count], sheet=sheet)
        start += count
    placement = asbuilt.place(job, today=laying.TODAY)
    crews.no_note_but_the_job_s(placement)
    crews.same(placement.log, made, rows)


@pytest.mark.parametrize("sheets", [["Log", "log"], ["North/South"]])
def test_sheets_that_no_workbook_can_have_are_refused(tmp_path, sheets):
    with pytest.raises(JobFileError, match=r"records\.sheet: no workbook can have (a sheet|sheets) named"):
        write_sheet(crews.job(tmp_path, records={"sheet": sheets}), tmp_path / "log.xlsx")


def test_two_columns_of_one_name_are_refused(tmp_path):
    with pytest.raises(JobFileError, match=r"'Joint' would head the columns of joint and remarks"):
        write_sheet(crews.job(tmp_path, records={"columns": {"remarks": "Joint"}}), tmp_path / "log.xlsx")
    with pytest.raises(JobFileError, match=r"records.columns.joint: a blank log of this job has \d+ columns"):
        write_sheet(crews.job(tmp_path, records={"columns": {"joint": 99}}), tmp_path / "log.xlsx")
    assert not (tmp_path / "log.xlsx").exists()


def test_a_log_begins_before_the_survey_with_the_routes_that_the_job_names(tmp_path, capsys):
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "Quarry Lane"\n[centerline]\npath = "later.gpkg"\nstart_station = {A = "10+00", B = "2+00"}\n'
        '[records]\npath = "log.xlsx"\nstation_unit = "us-ft"\nlaying_length = 20.0\n'
    )
    assert run(["sheet", str(job), "--out", str(tmp_path / "log.xlsx"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["routes"] == ["A", "B"]
    (note,) = told["notes"]
    assert "later.gpkg is not there yet: routes are those that the job file names (A, B)" in note
    assert told["columns"][0] == {"field": "route", "heading": "Route"}
    assert run(["sheet", str(job), "--out", str(tmp_path / "c.xlsx"), "--route", "C"]) == 2
    assert "--route C: there is no such route; the routes are A, B" in capsys.readouterr().err
    assert run(["sheet", str(job), "--out", str(tmp_path / "b.xlsx"), "--route", "B"]) == 0
    assert "a blank log of" in capsys.readouterr().out
    sheet = openpyxl.load_workbook(tmp_path / "b.xlsx").worksheets[0]
    assert rules(sheet)["Route"].formula1 == '"B"'


def test_rows_are_as_many_as_the_line_has_pipes_and_some_more(tmp_path):
    job = crews.job(tmp_path, records={"laying_length": 5.0})
    pipes = (crews.JOINTS - 1) * 20.0 / 5.0
    assert pipes * 1.1 <= write_sheet(job, tmp_path / "log.xlsx").blank.rows <= pipes * 1.1 + 11


def test_routes_too_many_for_a_list_are_written_freely(tmp_path):
    names = [f"Lateral {number:03d}" for number in range(40)]
    job = crews.job(tmp_path, centerline={"start_station": dict.fromkeys(names, "1+00"), "path": "later.gpkg"})
    write_sheet(job, tmp_path / "log.xlsx")
    found = rules(openpyxl.load_workbook(tmp_path / "log.xlsx").worksheets[0])
    assert found["Route"].type is None
    assert all(len(rule.formula1 or "") <= 257 for rule in found.values())


def test_a_filled_log_can_be_handed_back_with_remarks(tmp_path):
    job = crews.job(tmp_path)
    made = write_sheet(job, tmp_path / "log.xlsx").blank.columns
    rows = [crews.entries(made, number) for number in range(crews.JOINTS)]
    rows[3]["gasket_temperature"] = 31
    rows[4]["inspected_on"] = dt.date(2027, 1, 1)
    fill(tmp_path / "log.xlsx", made, rows)
    from asbuilt.returned.markup import write_return

    placement = asbuilt.place(job, today=laying.TODAY)
    handed = write_return(placement, tmp_path / "back.xlsx")
    assert (handed.remarks["gasket-cold"], handed.remarks["date-doubtful"]) == (1, 1)
    kept = openpyxl.load_workbook(tmp_path / "back.xlsx")["Joint log"].data_validations.dataValidation
    assert all(isinstance(one, DataValidation) for one in kept)


def test_the_columns_of_a_log_stand_in_the_order_of_the_fields_of_a_record(tmp_path):
    made = columns(crews.job(tmp_path), (), "hundreds", one_route=False)
    assert [one.field for one in made] == [field for field in RECORD_FIELDS if field in {one.field for one in made}]
