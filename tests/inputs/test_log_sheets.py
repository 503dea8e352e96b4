"""Logs as crews hand them in: several sheets, column names again, subtotals, signatures, blanks and ditto marks."""

import csv
import datetime as dt
import io

import numpy as np
import openpyxl
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from laying import lines, pipe

from asbuilt import place
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.log import read_log
from asbuilt.job import Job
from asbuilt.returned.markup import write_return

EVERYWHERE = settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
NAMES = {
    "station": ["Station", "STA.", "Chainage"], "joint": ["Joint", "Jt. No.", "Joint #"], "size": ["Size", "Dia."],
    "gauge": ["Gauge", "Feeler"], "inspector": ["Inspector", "Insp."], "remarks": ["Remarks", "Notes"],
}  # fmt: skip
"""Column names that logs use, by what they hold; common practice, no source."""


def job(folder, path, **records):
    return Job.from_mapping(
        {"name": "Mill Race", "centerline": {"route": "route"},
         "records": {"path": path, "station_unit": "us-ft", "laying_length": 20.0} | records},
        folder=folder,
    )  # fmt: skip


def record(at):
    return {"station": f"{at // 5}+{at % 5 * 20:02d}", "joint": str(at + 1), "size": "12", "gauge": "ok",
            "inspector": "R. Vance", "remarks": f"pipe {at}"}  # fmt: skip


def told(log, word):
    return [note for note in log.notes if word in note]


@st.composite
def sections(draw, most=4):
    """Sections of a log: each with columns of its own, in an order of its own, and its records."""
    made, number = [], 0
    for _ in range(draw(st.integers(1, most))):
        more = draw(st.sets(st.sampled_from(["gauge", "inspector", "remarks"])))
        fields = draw(st.permutations(["station", "joint", "size", *sorted(more)]))
        names = [draw(st.sampled_from(NAMES[field])) for field in fields]
        count = draw(st.integers(1, 5))
        made.append((fields, names, [record(number + at) for at in range(count)]))
        number += count
    return made


def expected(made, field):
    return [one[field] if field in fields else None for fields, _, rows in made for one in rows]


def check_fields(log, made):
    assert len(log) == sum(len(rows) for _, _, rows in made)
    assert log.fields["station"].to_pylist() == expected(made, "station")
    for field in ("joint", "inspector", "remarks"):
        assert log.text(field).to_pylist() == expected(made, field)
    gauges = ["yes" if one == "ok" else None for one in expected(made, "gauge")]
    assert log.text("gauge").to_pylist() == gauges
    assert np.nan_to_num(log.number("size")).tolist() == [12.0 if one else 0.0 for one in expected(made, "size")]


@EVERYWHERE
@given(sections(), st.integers(0, 2))
def test_sheets_with_columns_of_their_own_are_one_log(tmp_path, made, above):
    book = openpyxl.Workbook()
    book.remove(book.active)
    rows = []
    for number, (fields, names, records) in enumerate(made, start=1):
        sheet = book.create_sheet(f"Week {number}")
        for _ in range(above):
            sheet.append(["Mill Race main"])
        sheet.append(names)
        for at, one in enumerate(records):
            sheet.append([one[field] for field in fields])
            rows.append(at + above + 2)
    notes = book.create_sheet("Phone list")
    notes.append(["R. Vance", "office"])
    book.save(tmp_path / "log.xlsx")
    log = read_log(job(tmp_path, "log.xlsx", sheet="*"))
    check_fields(log, made)
    assert log.row.tolist() == rows
    named = [f"log.xlsx, sheet 'Week {at}'" if len(made) > 1 else "log.xlsx"
             for at, (_, _, some) in enumerate(made, start=1) for _ in some]  # fmt: skip
    assert log.file.to_pylist() == named
    assert len(log.inputs) == 1
    assert told(log, "'Phone list' left out")
    wanted = [f"Week {at}" for at in range(1, len(made) + 1)]
    again = read_log(job(tmp_path, "log.xlsx", sheet=wanted))
    check_fields(again, made)


@EVERYWHERE
@given(sections(), st.sampled_from(["csv", "xlsx"]))
def test_column_names_that_stand_again_hold_for_the_rows_below_them(tmp_path, made, kind):
    grid = [row for fields, names, records in made
            for row in (names, *([one[field] for field in fields] for one in records))]  # fmt: skip
    if kind == "csv":
        text = io.StringIO()
        csv.writer(text).writerows(grid)
        (tmp_path / "log.csv").write_text(text.getvalue())
    else:
        book = openpyxl.Workbook()
        for row in grid:
            book.active.append(row)
        book.save(tmp_path / "log.xlsx")
    log = read_log(job(tmp_path, f"log.{kind}"))
    check_fields(log, made)
    headers = np.cumsum([0, *(1 + len(rows) for _, _, rows in made)])[:-1] + 1
    assert log.row.tolist() == [at for at in range(1, len(grid) + 1) if at not in headers]
    assert len(told(log, "has column names again")) == len(made) - 1


def test_a_row_wider_than_its_own_column_names_is_still_set_aside(tmp_path):
    rows = ["Sta,Joint,Size", "0+00,1,12", "0+20,2,12,ok", "Sta,Joint,Size,Gauge", "0+40,3,12,ok", "0+60,4,12,ok,x"]
    (tmp_path / "log.csv").write_text("\n".join(rows))
    log = read_log(job(tmp_path, "log.csv"))
    assert log.row.tolist() == [2, 3, 5, 6]
    assert [one is not None for one in log.broken.to_pylist()] == [False, True, False, True]
    assert log.text("gauge").to_pylist() == [None, None, "yes", None]


def test_records_of_words_are_not_taken_for_column_names(tmp_path):
    rows = ["Route,Joint,Station,Kind", "Main,Joint,0+00,Joint", "Main,2,0+20,Item", "Line,3,0+40,Pipe"]
    (tmp_path / "log.csv").write_text("\n".join(rows))
    assert len(read_log(job(tmp_path, "log.csv"))) == 3


NO_RECORDS = [
    {"station": "Subtotal", "laid": "100"}, {"joint": "TOTAL", "laid": "180.0"}, {"remarks": "Page 2 of 3"},
    {"inspector": "Signed: R. Vance", "date": "2026-04-02"}, {"remarks": "Inspector's signature"},
    {"station": "Approved by: T. Okafor"}, {"remarks": "Carried forward", "laid": "60"},
    {"joint": "Signed: ______ R. Vance", "size": "Inspector: ________"},
    {"station": "Signed: T. Boyd", "size": "Checked: ____________"}, {"joint": "________", "size": "Witnessed ____"},
    {"station": "Day's total", "size": "8", "gauge": "8", "laid": "160.0 ft"}, {"joint": "Count: 8", "gauge": "8"},
    {"station": "Laid today", "laid": "160"}, {"joint": "8 joints laid"}, {"station": "Cum. total", "laid": "1,240"},
    {"joint": "Tested and accepted by R. Vance", "date": "2026-04-02"}, {"station": "Accepted: T. Okafor"},
    {"station": "Foreman: J. Diaz"}, {"joint": "Contractor's representative: ____"}, {"station": "QC: R. Vance"},
    {"joint": "I certify that the above is correct"}, {"station": "Laid by K. Moe", "inspector": "R. Vance"},
]  # fmt: skip
RECORDS = [
    {"joint": "9", "remarks": "Total length short"}, {"station": "0+20", "remarks": "Subtotal checked"},
    {"joint": "____", "size": "12"}, {"station": "0+40", "remarks": "Checked: T. Boyd"},
    {"gauge": "ok", "remarks": "Signed off later"}, {"size": "12", "remarks": "total wreck"},
    {"remarks": "Total of three gaskets torn", "date": "2026-04-02", "gauge": "no"},
    {"station": "Total", "gauge": "ok"},
    {"joint": "10", "remarks": "Accepted by the engineer"}, {"station": "0+60", "joint": "Count", "gauge": "8"},
    {"station": "Inspector: R. Vance", "gauge": "fail"}, {"remarks": "inspector told to wait"},
]  # fmt: skip


@EVERYWHERE
@example(NO_RECORDS[:10])
@example([*RECORDS, *NO_RECORDS[10:20]])
@example(NO_RECORDS[20:])
@given(st.lists(st.sampled_from([*NO_RECORDS, *RECORDS]), min_size=1, max_size=8))
def test_subtotals_and_signatures_are_left_out_and_listed_and_records_never(tmp_path, among):
    columns = ["station", "joint", "size", "gauge", "laid", "inspector", "date", "remarks"]
    rows = [record(0), *among, record(1)]
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    (tmp_path / "log.csv").write_text(text.getvalue())
    log = read_log(job(tmp_path, "log.csv", columns={"laid_length": "laid"}))
    assert log.row.tolist() == [at for at, one in enumerate(rows, start=2) if one not in NO_RECORDS]
    count = sum(one in NO_RECORDS for one in rows)
    note = "".join(told(log, "no record"))
    assert bool(note) == bool(count)
    for at, one in enumerate(rows, start=2):
        assert (f"row {at} (" in note) == (one in NO_RECORDS)


@EVERYWHERE
@given(st.lists(st.sampled_from(["12", "16", None, '"', "ditto", "do.", "〃"]), min_size=1, max_size=15),
       st.booleans())  # fmt: skip
def test_ditto_marks_and_blanks_take_the_value_above_as_the_job_says(tmp_path, cells, fill):
    text = io.StringIO()
    csv.writer(text).writerows([["sta", "size"], *([f"{at}+00", one] for at, one in enumerate(cells))])
    (tmp_path / "log.csv").write_text(text.getvalue())
    log = read_log(job(tmp_path, "log.csv", fill_down=["size"] if fill else []))
    above, sizes, unread = None, [], 0
    for one in cells:
        if one in ("12", "16"):
            above = one
        elif one is None and not fill:
            above = None
        elif one is not None and above is None:
            # A mark below a blank cell says nothing, unless the blank cell itself stands for the one above it.
            unread += 1
        sizes.append(float(above) if above else 0.0)
    if not fill:
        assert np.nan_to_num(log.number("size")).tolist() == sizes
        assert len(log.unreadable.record) == unread
    marks = [one for one in cells if one not in ("12", "16", None)]
    assert bool(told(log, "ditto marks take")) <= bool(marks)


def test_blanks_are_filled_only_where_the_job_says_so_and_that_is_told(tmp_path):
    rows = ["Date,Route,Sta,Gauge", "2026-04-02,A,0+00,ok", ",,0+20,", "2026-04-03,,0+40,", ",B,0+60,"]
    (tmp_path / "log.csv").write_text("\n".join(rows))
    log = read_log(job(tmp_path, "log.csv", fill_down=["inspected_on", "route"]))
    assert [str(one) for one in log.fields["inspected_on"].to_pylist()] == ["2026-04-02"] * 2 + ["2026-04-03"] * 2
    assert log.text("route").to_pylist() == ["A", "A", "A", "B"]
    assert log.text("gauge").to_pylist() == ["yes", None, None, None]
    assert any("inspected_on: 2 blank cells take the value above them (first: row 3)" in note for note in log.notes)
    # The rows themselves stay as they were written.
    assert "Date" not in log.original[1].as_py()


@pytest.mark.parametrize("field", ["station", "joint", "gauge", "gap_12", "restrained", "insertion_mark"])
def test_what_a_joint_alone_can_have_is_never_filled_down(field):
    with pytest.raises(JobFileError, match=f"records.fill_down: '{field}' is not taken from the row above"):
        job(".", "log.csv", fill_down=[field])


@pytest.mark.parametrize(
    ("sheet", "columns", "message"),
    [
        (["North", "Suoth"], {}, "there is no sheet 'Suoth'; the sheets are 'North', 'South'"),
        ("*", {"crew": "Gng"}, "records.columns.crew: no sheet has a column 'Gng'"),
        ((), {}, "it is not clear which sheet holds the rows"),
    ],
)
def test_sheets_that_cannot_be_settled_are_refused_with_the_remedy(tmp_path, sheet, columns, message):
    book = openpyxl.Workbook()
    book.active.title = "North"
    for name in ("North", "South"):
        one = book[name] if name == "North" else book.create_sheet(name)
        one.append(["Station", "Joint", "Size", *(["Gang"] if name == "South" else [])])
        one.append(["0+00", "1", "12"])
    book.save(tmp_path / "log.xlsx")
    with pytest.raises(InputFileError) as caught:
        read_log(job(tmp_path, "log.xlsx", sheet=sheet, columns=columns))
    assert message in str(caught.value)
    log = read_log(job(tmp_path, "log.xlsx", sheet="*", columns={"crew": "Gang"}))
    assert len(log) == 2


def test_a_text_file_has_no_sheets(tmp_path):
    (tmp_path / "log.csv").write_text("Sta,Joint\n0+00,1\n")
    with pytest.raises(InputFileError, match=r"this is not a workbook, so it has no sheets"):
        read_log(job(tmp_path, "log.csv", sheet="*"))


def test_sheets_and_sections_are_marked_where_they_stand_and_handed_back_as_one_workbook(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "North"
    for row in (
        ["Sta", "Joint", "Gauge"],
        ["0+00", "1", "ok"],
        ["Joint", "Gauge", "Size", "Sta"],
        ["#REF!", "hm", "12", "0+20"],
    ):
        book.active.append(row)
    south = book.create_sheet("South")
    for row in (["Gauge", "Station", "Joint"], ["what", "0+40", "3"], [None, "9+99", "4"]):
        south.append(row)
    book.save(tmp_path / "log.xlsx")
    placement = place(job(tmp_path, "log.xlsx", sheet="*"), centerline=lines(A=pipe(np.zeros(5))))
    returned = write_return(placement, tmp_path / "back.xlsx")
    assert [one.name for one in returned.paths] == ["back.xlsx"]
    back = openpyxl.load_workbook(tmp_path / "back.xlsx")
    said = [cell.value for cell in back["North"]["E"] if cell.value]
    assert any("'hm' cannot be read. Expected: yes or no" in one for one in said)
    assert any("'#REF!' cannot be read. Expected: the word itself" in one for one in said)
    marked = {(sheet.title, cell.coordinate) for sheet in back for cells in sheet.iter_rows() for cell in cells
              if cell.comment is not None and "cannot be read" in cell.comment.text}  # fmt: skip
    assert marked == {("North", "A4"), ("North", "B4"), ("South", "A2")}
    assert "set aside" in back["South"]["B3"].comment.text
    again = place(job(tmp_path, "back.xlsx", sheet="*"), centerline=lines(A=pipe(np.zeros(5))))
    assert again.counts["records_read"] == placement.counts["records_read"] == 4


def test_rows_hidden_by_a_filter_are_read_and_named(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in [["Station", "Joint"], *([f"0+{20 * at:02d}", at + 1] for at in range(5))]:
        sheet.append(row)
    for row in (1, 3, 5):
        sheet.row_dimensions[row].hidden = True
    book.save(tmp_path / "log.xlsx")
    log = read_log(job(tmp_path, "log.xlsx"))
    assert len(log) == 5
    (note,) = told(log, "hidden")
    assert "rows hidden in the sheet, as by a filter, are read as the others: 3, 5; where" in note
    for row in (1, 3, 5):
        sheet.row_dimensions[row].hidden = False
    book.save(tmp_path / "log.xlsx")
    assert told(read_log(job(tmp_path, "log.xlsx")), "hidden") == []


def test_joint_numbers_that_became_days_are_told(tmp_path):
    book = openpyxl.Workbook()
    for row in [["Station", "Joint"], ["0+00", "2-3"], ["0+20", dt.date(2026, 3, 4)], ["0+40", "2-5"]]:
        book.active.append(row)
    book.save(tmp_path / "log.xlsx")
    (note,) = told(read_log(job(tmp_path, "log.xlsx")), "numbered by days")
    assert "in 1 rows, the first 2026-03-04" in note


def weeks(path, hidden=(), struck=()):
    """Two sheets of three joints each, the second one with joint 3 laid again elsewhere."""
    book = openpyxl.Workbook()
    for title, stations in {"Week 1": ["0+00", "0+20", "0+40"], "Week 1 old": ["0+00", "0+20", "0+43"]}.items():
        sheet = book.active if title == "Week 1" else book.create_sheet(title)
        sheet.title = title
        for row in [["Station", "Joint", "Date"], *([one, at + 1, "2026-03-02"] for at, one in enumerate(stations))]:
            sheet.append(row)
        sheet.sheet_state = "hidden" if title in hidden else "visible"
        for name in struck if title == "Week 1" else ():
            sheet[name].font = openpyxl.styles.Font(strike=True)
    if len(hidden) == len(book.sheetnames):
        book.create_sheet("Cover").append(["Prepared by N. Okafor"])
        book.active = len(book.sheetnames) - 1
    book.save(path)


def test_hidden_sheets_are_left_out_and_named(tmp_path):
    weeks(tmp_path / "log.xlsx", hidden=["Week 1 old"])
    log = read_log(job(tmp_path, "log.xlsx", sheet="*"))
    assert log.fields["station"].to_pylist() == ["0+00", "0+20", "0+40"]
    (note,) = told(log, "hidden")
    assert note.endswith(
        "'Week 1 old' left out: hidden in the workbook; where a hidden sheet counts, name all that do: "
        'records.sheet = ["Week 1", "Week 1 old"]'
    )
    assert len(read_log(job(tmp_path, "log.xlsx", sheet=["Week 1", "Week 1 old"]))) == 6
    # Without a sheet named, what is hidden makes no choice, either.
    log = read_log(job(tmp_path, "log.xlsx"))
    assert len(log) == 3
    assert told(log, "sheet 'Week 1' taken of 'Week 1', 'Week 1 old'; hidden in the workbook: 'Week 1 old'")
    weeks(tmp_path / "log.xlsx")
    assert len(read_log(job(tmp_path, "log.xlsx", sheet="*"))) == 6


def test_a_workbook_whose_logs_are_all_hidden_is_refused(tmp_path):
    weeks(tmp_path / "log.xlsx", hidden=["Week 1", "Week 1 old"])
    with pytest.raises(InputFileError, match="every sheet that names the columns of a log is hidden; name those that"):
        read_log(job(tmp_path, "log.xlsx", sheet="*"))


def test_rows_struck_through_are_set_aside_with_their_reason(tmp_path):
    weeks(tmp_path / "log.xlsx", struck=["A3", "B3", "C3", "B4"])
    of_job = job(tmp_path, "log.xlsx", sheet="Week 1")
    placement = place(of_job, centerline=lines(A=pipe(np.zeros(5))))
    (aside,) = placement.set_aside.to_dict("records")
    assert (aside["reason"], aside["row"], aside["joint"]) == ("row-struck", 3, "2")
    assert aside["message"].startswith("the row is struck through in the sheet; nothing is to be done where it is void")
    assert placement.joints["joint"].tolist() == ["1", "3"]
    rows, cells = told(placement.log, "struck")
    assert rows.endswith('are set aside as void: 3; where they count, say records.struck_out = "read"')
    assert cells.endswith("single cells that are struck through are read as they stand: B4")
    log = read_log(job(tmp_path, "log.xlsx", sheet="Week 1", struck_out="read"))
    assert log.broken.null_count == 3
    assert "rows struck through in the sheet are read as the others: 3; where" in told(log, "struck")[0]
    back = tmp_path / "back.xlsx"
    write_return(placement, back)
    again = read_log(job(tmp_path, "back.xlsx", sheet="Week 1"))
    assert again.broken.null_count == 2


def test_ditto_marks_below_a_row_struck_through_stand_for_what_it_says(tmp_path):
    book = openpyxl.Workbook()
    for row in [["Station", "Joint", "Size"], ["0+00", 1, 8], ["0+20", 2, 12], ["0+20", 2, '"'], ["0+40", 3, '"']]:
        book.active.append(row)
    for cell in book.active[3]:
        cell.font = openpyxl.styles.Font(strike=True)
    book.save(tmp_path / "log.xlsx")
    log = read_log(job(tmp_path, "log.xlsx"))
    assert log.broken.is_valid().to_pylist() == [False, True, False, False]
    assert log.fields["size"].to_pylist() == [8.0, 12.0, 12.0, 12.0]


def shifted_log(path, *, between):
    """Write a log by ditto marks of which some rows in the middle are not as the others."""
    good = "{at}+00,{at},pipe,12,push-on,2026-04-17,T. Boyd"
    rows = [
        "Station,Joint,Kind,Size,Joint type,Date,Inspector",
        good.format(at=0),
        '1+00,1,"""",do.,do.,do.,do.',
        *between,
    ]
    path.write_text("\n".join([*rows, "5+00,5,do.,do.,do.,do.,do.", good.format(at=6), "7+00,7,do.,do.,do.,do.,do."]))


def test_a_row_one_column_to_the_right_is_told_where_its_station_stands(tmp_path):
    shifted_log(tmp_path / "log.csv", between=["2+00,2,do.,do.,do.,do.,do.", ",3,3+00,pipe,12,push-on,2026-04-17"])
    placement = place(job(tmp_path, "log.csv"), centerline=lines(A=pipe(np.zeros(40))))
    (aside,) = placement.set_aside.to_dict("records")
    assert (aside["reason"], aside["row"]) == ("station-missing", 5)
    told = "no station is given; station 3+00 stands in the row under kind: put its cells into their columns"
    assert aside["message"] == told


def test_the_order_of_dates_is_shown_by_one_that_the_log_has(tmp_path):
    (tmp_path / "log.csv").write_text("Station,Date\n0+00,04/08/2026\n0+20,04/06/2026\n")
    (note,) = [one for one in read_log(job(tmp_path, "log.csv")).notes if "dates such as" in one]
    assert "dates such as 04/08/2026 are read month first" in note


ALL_FIELDS = ["kind", "size", "joint_type", "inspected_on", "inspector"]


@pytest.mark.parametrize(
    ("between", "blamed"),
    [
        # One column to the right, by ditto marks alone, and with words of its own; and a row with a cell too many.
        (["2+00,2,do.,do.,do.,do.,do.", ",3,3+00,do.,do.,do.,2026-04-17"], 5),
        ([",2,2+00,pipe,12,push-on,2026-04-17", ",3,3+00,do.,do.,do.,do."], 5),
        (["3+00,3,pipe,12,push-on,2026-04-17,T. Boyd,Y"], 4),
    ],
)
def test_ditto_marks_take_nothing_from_rows_whose_cells_are_not_in_their_columns(tmp_path, between, blamed):
    shifted_log(tmp_path / "log.csv", between=between)
    log = read_log(job(tmp_path, "log.csv"))
    at = log.row.tolist().index(4 + len(between))
    assert {field: log.fields[field][at].as_py() for field in ALL_FIELDS} == dict.fromkeys(ALL_FIELDS)
    mine = log.unreadable.record == at
    assert sorted(log.unreadable.field.filter(pa.array(mine)).to_pylist()) == sorted(ALL_FIELDS)
    why = set(log.unreadable.why.filter(pa.array(mine)).to_pylist())
    assert why == {
        f"it stands for what is above it, which in row {blamed} cannot be read or is not in its column; "
        "it is left blank"
    }
    for row in (3, len(log) + 1):
        read = [log.fields[field][log.row.tolist().index(row)].as_py() for field in ALL_FIELDS]
        assert read == ["pipe", 12.0, "push-on", dt.date(2026, 4, 17), "T. Boyd"]
    assert f"{blamed}" in told(log, "are left blank")[0]


def test_a_station_alone_that_cannot_be_read_leaves_the_marks_below_it_as_they_are(tmp_path):
    shifted_log(tmp_path / "log.csv", between=["2+0O0,2,bend,12,MJ,2026-04-18,R. Vance", ",3,do.,do.,do.,do.,do."])
    log = read_log(job(tmp_path, "log.csv"))
    read = [log.fields[field][4].as_py() for field in ALL_FIELDS]
    assert read == ["bend", 12.0, "mechanical", dt.date(2026, 4, 18), "R. Vance"]
    assert len(log.unreadable.record) == 0
    assert not told(log, "are left blank")


@pytest.mark.parametrize(
    ("field", "column", "word"),
    [("kind", 2, "41+75.02"), ("joint_type", 4, '"12"""'), ("inspector", 6, "2026-04-17"), ("inspector", 6, "12.5")],
)
def test_a_ditto_mark_does_not_copy_a_cell_that_cannot_be_what_its_column_says(tmp_path, field, column, word):
    cells = ["2+00", "2", "pipe", "12", "push-on", "2026-04-17", "T. Boyd"]
    cells[column] = word
    shifted_log(tmp_path / "log.csv", between=[",".join(cells), "3+00,3,do.,do.,do.,do.,do."])
    log = read_log(job(tmp_path, "log.csv"))
    assert log.text(field).to_pylist()[2:5] == [None] * 3
    assert log.unreadable.record.tolist() == [2, 3, 4]
    assert log.unreadable.text.to_pylist() == [word.replace('"12"""', '12"'), "do.", "do."]
    assert [bool(one) for one in log.unreadable.why.to_pylist()] == [False, True, True]


def test_one_joint_of_one_day_at_two_stations_is_to_act_on(tmp_path):
    weeks(tmp_path / "log.xlsx")
    placement = place(job(tmp_path, "log.xlsx", sheet="*"), centerline=lines(A=pipe(np.zeros(5))))
    (found,) = placement.findings.query("code == 'station-contradicted'").to_dict("records")
    assert (found["joint"], found["severity"], found["value"]) == ("3", "act", pytest.approx(3.0))
    assert found["message"].startswith("its records are of one day and give it stations up to 3.00 ft apart; the last")
    assert "'Week 1' 4 and" in found["message"]
    book = openpyxl.load_workbook(tmp_path / "log.xlsx")
    book["Week 1 old"]["C4"] = "2026-03-03"
    book.save(tmp_path / "log.xlsx")
    placement = place(job(tmp_path, "log.xlsx", sheet="*"), centerline=lines(A=pipe(np.zeros(5))))
    assert "station-contradicted" not in set(placement.findings["code"])


def named_otherwise(path, second=("Station", "Joint #", "Type of joint")):
    book = openpyxl.Workbook()
    book.active.title = "Week 1"
    for row in [["STA.", "Jt No.", "Joint"], ["0+00", "1", "push-on"]]:
        book.active.append(row)
    sheet = book.create_sheet("Week 2")
    for row in [second, ["0+20", "2", "flanged", "push-on"][: len(second)]]:
        sheet.append(row)
    book.save(path)


@pytest.mark.parametrize("name", ["Joint", ["Joint", "Type of joint"], ["joint", "TYPE OF JOINT"]])
def test_sheets_that_name_a_column_otherwise_are_mapped_by_their_names(tmp_path, name):
    named_otherwise(tmp_path / "log.xlsx")
    columns = {"joint": ["Jt No.", "Joint #"], "joint_type": name}
    log = read_log(job(tmp_path, "log.xlsx", sheet="*", columns=columns))
    assert log.fields["joint_type"].to_pylist() == ["push-on", "flanged"]
    assert log.fields["joint"].to_pylist() == ["1", "2"]


def test_names_of_one_column_that_do_not_fit_are_refused_with_the_remedy(tmp_path):
    named_otherwise(tmp_path / "log.xlsx", second=("Station", "Joint #", "Type of joint", "Kind of joint"))
    wrong = {
        ("Type of joint", "Kind of joint"): "'Type of joint' and 'Kind of joint' are both here; name one of them",
        ("Joint", "Type of joints"): "records.columns.joint_type: no sheet has a column 'Type of joints'; correct it",
    }
    for names, message in wrong.items():
        columns = {"joint": ["Jt No.", "Joint #"], "joint_type": list(names)}
        with pytest.raises((InputFileError, JobFileError)) as caught:
            read_log(job(tmp_path, "log.xlsx", sheet="*", columns=columns))
        assert message in str(caught.value)
    # Of one sheet alone, the column meant is the one by which its field goes, not the one written most alike.
    named_otherwise(tmp_path / "log.xlsx")
    with pytest.raises(InputFileError, match=r"no column 'Joint'; .*; did you mean 'Type of joint'"):
        read_log(job(tmp_path, "log.xlsx", sheet="Week 2", columns={"joint_type": "Joint"}))


@pytest.mark.parametrize("value", [1.5, [], [3], True, {}])
def test_what_names_no_column_is_refused_with_what_would(value):
    with pytest.raises(JobFileError, match=r"records.columns.joint_type: a column is given by its name, by its number"):
        job(".", "log.csv", columns={"joint_type": value})


def test_a_column_laid_is_asked_about_and_read_where_the_job_says_so(tmp_path):
    (tmp_path / "log.csv").write_text("Station,Joint,Laid\n0+00,1,18.0\n0+18,2,17.5\n", "utf-8")
    (note,) = told(read_log(job(tmp_path, "log.csv")), "'Laid'")
    assert "'Laid' could be laid_length or inspected_on or inspector: nothing is read from it; say which" in note
    log = read_log(job(tmp_path, "log.csv", columns={"laid_length": "Laid"}))
    assert log.number("laid_length").tolist() == [18.0, 17.5]
    assert told(log, "'Laid'") == []
