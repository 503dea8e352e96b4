"""Joint logs and survey shots as people hand them in: delimited text and workbooks, tidy or not."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import random
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from asbuilt.errors import InputFileError
from asbuilt.inputs import values
from asbuilt.inputs.fields import FIELD_NAMES
from asbuilt.inputs.headers import match_columns, normalised
from asbuilt.inputs.tables import read_table
from asbuilt.inputs.text_table import TextTable, table_from_columns, with_source

FIELDS = {
    "route": frozenset({"line"}),
    "joint": frozenset({"jt", "jointno"}),
    "station": frozenset({"sta"}),
    "inspected_on": frozenset({"date"}),
    "groove_clean": frozenset({"groove", "cleanedgroove"}),
    "spigot_clean": frozenset({"spigot"}),
    "gap_12": frozenset(),
    "gap_3": frozenset(),
    "gauge_12": frozenset(),
    "gauge_3": frozenset(),
    "remarks": frozenset({"notes"}),
}


def read_bytes(tmp_path: Path, content: bytes, name: str = "log.csv", **options: Any) -> TextTable:
    path = tmp_path / name
    path.write_bytes(content)
    return read_table(path, fields=FIELDS, **options)


def read_workbook(tmp_path: Path, fill: Callable[[Worksheet], None], **options: Any) -> TextTable:
    book = openpyxl.Workbook()
    fill(book.active)
    book.save(tmp_path / "log.xlsx")
    return read_table(tmp_path / "log.xlsx", **{"fields": FIELDS} | options)


def rows_of(table: TextTable) -> list[list[str | None]]:
    return [list(row.values()) for row in table.data.to_pylist()]


def refusal(tmp_path: Path, content: bytes, name: str = "log.csv", **options: Any) -> str:
    with pytest.raises(InputFileError) as refused:
        read_bytes(tmp_path, content, name, **options)
    assert str(refused.value).startswith(str(tmp_path / name))
    return str(refused.value).removeprefix(str(tmp_path / name))


# Delimited text

CELL = st.text(
    st.one_of(
        st.sampled_from(',;\t|"\n\r \u00a0'),
        st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufeff"),
    ),
    max_size=8,
)
"""Any text but control characters and byte-order marks; delimiters, quotation marks and line breaks are likely."""


def written(rows: list[list[str]], delimiter: str) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(CELL, CELL, CELL), max_size=8), st.sampled_from(",;\t|"))
def test_any_log_comes_back_cell_for_cell(tmp_path: Path, rows: list[tuple[str, str, str]], delimiter: str) -> None:
    table = read_bytes(tmp_path, written([["Route", "Joint", "Remarks"], *map(list, rows)], delimiter))
    trimmed = [[cell.strip() or None for cell in row] for row in rows]
    assert rows_of(table) == [row for row in trimmed if any(row)]
    assert table.row.tolist() == [number for number, row in enumerate(trimmed, start=2) if any(row)]
    assert table.broken == ()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(CELL, max_size=6), max_size=9))
def test_no_row_is_lost_however_many_cells_it_has(tmp_path: Path, rows: list[list[str]]) -> None:
    table = read_bytes(tmp_path, written([["Route", "Joint", "Remarks"], *rows], ","))
    found = dict(zip(table.row.tolist(), rows_of(table), strict=True)) | {
        one.row: list(one.cells.values()) for one in table.broken
    }
    cells = {number: [cell for cell in found[number] if cell] for number in sorted(found)}
    given_cells = {number: [cell.strip() for cell in row if cell.strip()] for number, row in enumerate(rows, start=2)}
    assert cells == {number: row for number, row in given_cells.items() if row}
    too_wide = {number for number, row in enumerate(rows, start=2) if any(cell.strip() for cell in row[3:])}
    assert {one.row for one in table.broken} == too_wide
    assert np.all(np.diff(table.row) > 0)


def test_quotation_follows_the_common_csv_rules(tmp_path: Path) -> None:
    # RFC 4180, section 2, rules 5 to 7: quoted cells, line breaks in them, and doubled quotation marks.
    content = b'Route,Joint,Notes\r\n"aaa","b\r\nbb","ccc"\r\n"aaa","b""bb","ccc"\r\n'
    assert rows_of(read_bytes(tmp_path, content)) == [["aaa", "b\r\nbb", "ccc"], ["aaa", 'b"bb', "ccc"]]


def test_inch_marks_inside_a_cell_are_text(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b'Route,Joint,Notes\nA,1,12" pipe\nA,2,8" pipe\n')
    assert rows_of(table) == [["A", "1", '12" pipe'], ["A", "2", '8" pipe']]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_row_numbers_count_blank_rows_and_take_a_quoted_break_as_one_row(tmp_path: Path, end: str) -> None:
    lines = ["Crew log", "", "Route,Joint,Notes", "A,1,", "", 'A,2,"first' + end + 'second"', ",,", "A,3,"]
    table = read_bytes(tmp_path, (end.join(lines) + end).encode())
    assert table.row.tolist() == [4, 6, 8]
    assert table.data["Joint"].to_pylist() == ["1", "2", "3"]
    assert [note.split(": ")[1] for note in table.notes if "left out" in note] == [
        "2 rows above the column names in row 3 left out",
        "2 rows left out as blank",
    ]


def test_rows_of_other_widths_keep_their_place(tmp_path: Path) -> None:
    content = b"Route,Joint,Notes\nA,1,ok\nA,2\nA,3,wet, cold\nA,4,ok,,\nA,5,ok\n"
    table = read_bytes(tmp_path, content)
    assert rows_of(table) == [["A", "1", "ok"], ["A", "2", None], ["A", "4", "ok"], ["A", "5", "ok"]]
    assert table.row.tolist() == [2, 3, 5, 6]
    (broken,) = table.broken
    assert (broken.row, broken.reason) == (4, "the row has 4 cells for 3 columns")
    assert broken.cells == {"Route": "A", "Joint": "3", "Notes": "wet", "column 4": "cold"}
    assert f"{tmp_path / 'log.csv'}: 1 row with too few cells (first: row 3); the others are blank" in table.notes


def test_a_delimiter_at_the_end_of_every_row_makes_no_column(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b"Route,Joint,Notes\nA,1,ok,\nA,2,wet,cold\nA,3,,\n")
    assert table.columns == ("Route", "Joint", "Notes")
    assert rows_of(table) == [["A", "1", "ok"], ["A", "3", None]]
    assert [one.row for one in table.broken] == [3]


def test_rows_that_all_end_early_are_filled_up(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b"Route,Joint,Notes\nA,1\nA,2\nA,3,ok\n")
    assert rows_of(table) == [["A", "1", None], ["A", "2", None], ["A", "3", "ok"]]
    assert any("most rows have 2 cells for 3 columns" in note for note in table.notes)


def test_a_short_row_among_a_hundred_thousand_is_found_in_its_place(tmp_path: Path) -> None:
    lines = [f"A,{number},ok" for number in range(100_000)]
    lines[77_777] = "A,77777"
    table = read_bytes(tmp_path, ("Route,Joint,Notes\n" + "\n".join(lines)).encode())
    assert table.data["Joint"].to_pylist() == [str(number) for number in range(100_000)]
    assert table.data["Notes"].null_count == 1
    assert table.row.tolist() == list(range(2, 100_002))


@pytest.mark.parametrize(
    ("encoding", "noted"),
    [("utf-8", ""), ("utf-8-sig", ""), ("utf-16", "UTF-16"), ("cp1252", "Windows-1252, for line 2 is not UTF-8")],
)
def test_common_encodings_are_told_apart(tmp_path: Path, encoding: str, noted: str) -> None:
    table = read_bytes(tmp_path, "Route,Joint,Notes\nA,1,café – Zoë, 5 °C\n".replace(", 5", " 5").encode(encoding))
    assert table.columns == ("Route", "Joint", "Notes")
    assert rows_of(table) == [["A", "1", "café – Zoë 5 °C"]]
    assert noted in " ".join(table.notes)


def test_the_job_can_name_the_encoding(tmp_path: Path) -> None:
    content = "Route,Joint,Notes\nŁ,1,Łódź\n".encode("cp1250")
    assert rows_of(read_bytes(tmp_path, content, encoding="cp1250")) == [["Ł", "1", "Łódź"]]


def test_a_semicolon_file_is_read_with_its_decimal_comma(tmp_path: Path) -> None:
    content = b"Route;Station;Notes\nC;1+234,567;rained, stopped\nC;1+240,567;\n"
    table = read_bytes(tmp_path, content)
    assert table.decimal_comma
    assert table.data["Station"].to_pylist() == ["1+234,567", "1+240,567"]
    assert not read_bytes(tmp_path, content, decimal=".").decimal_comma
    assert read_bytes(tmp_path, b"Route,Station\nC,12.5\n", decimal=",").decimal_comma


@pytest.mark.parametrize(
    "content",
    [
        b"Route;Station;Notes\nC;1,234.50;\nC;1,250;\n",
        b"Route;Station;Notes\nC;12.5;wet, cold\n",
        b'Route,Station,Notes\nC,"1,250",\n',
    ],
)
def test_a_comma_between_thousands_is_no_decimal_comma(tmp_path: Path, content: bytes) -> None:
    assert not read_bytes(tmp_path, content).decimal_comma


def test_shots_without_column_names_are_data_from_the_first_row(tmp_path: Path) -> None:
    content = b'1001,4307219.500,656089.800,121.4,TOP\n1002,4307216.410,656094.943,121.3,"GS, edge"\n1003,1.0,2.0,3.0\n'
    table = read_bytes(tmp_path, content, "shots.csv")
    assert not table.headed
    assert table.columns == ("column 1", "column 2", "column 3", "column 4", "column 5")
    assert table.row.tolist() == [1, 2, 3]
    assert table.data["column 5"].to_pylist() == ["TOP", "GS, edge", None]
    chosen: dict[str, str | int] = {"joint": 1, "remarks": "column 5"}
    assert match_columns(table.columns, FIELDS, chosen, where="shots.csv", key="records.columns") == {
        "joint": "column 1",
        "remarks": "column 5",
    }


def test_shots_with_decimal_commas_are_split_at_their_semicolons(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b"P1;2,5;3,5;4,5\nP2;2,6;3,6;4,6\n")
    assert rows_of(table) == [["P1", "2,5", "3,5", "4,5"], ["P2", "2,6", "3,6", "4,6"]]
    assert table.decimal_comma


def test_the_header_can_be_settled_by_the_caller(tmp_path: Path) -> None:
    assert not read_bytes(tmp_path, b"Route,Joint\nA,1\n", header=False).headed
    assert read_bytes(tmp_path, b"12,24\n1,2\n", header=True).columns == ("12", "24")
    assert read_bytes(tmp_path, b"Item,Where\nA,1\n").columns == ("Item", "Where")


def test_a_title_is_no_row_of_column_names_even_where_no_name_is_known(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b"Crew log\n\nItem,Where,Who\nA,1,x\n")
    assert (table.columns, table.row.tolist()) == (("Item", "Where", "Who"), [4])
    alone = read_bytes(tmp_path, b"\nItem\nA\n")
    assert alone.columns == ("Item",)
    assert alone.notes[0].endswith("columns are separated by a comma")


def test_one_known_name_does_not_make_a_row_the_header(tmp_path: Path) -> None:
    assert read_bytes(tmp_path, b"Item,Where\nJoint,1\n").columns == ("Item", "Where")


def test_repeated_and_blank_column_names_are_made_different(tmp_path: Path) -> None:
    table = read_bytes(tmp_path, b"Route,Joint,Clean,Clean,,Clean (2),\nA,1,Y,N,x,Y,\n")
    assert table.columns == ("Route", "Joint", "Clean", "Clean (2)", "column 5", "Clean (2) (2)")
    assert rows_of(table) == [["A", "1", "Y", "N", "x", "Y"]]


@pytest.mark.parametrize("content", [b"Route,Joint", b"Route,Joint\n", b"Route,Joint\n\n,\n"])
def test_a_header_alone_is_a_table_of_no_rows(tmp_path: Path, content: bytes) -> None:
    table = read_bytes(tmp_path, content)
    assert (table.columns, table.data.num_rows, table.row.tolist()) == (("Route", "Joint"), 0, [])
    assert table.data.schema.types == [pa.string(), pa.string()]


def test_the_digest_is_of_the_file_as_it_is(tmp_path: Path) -> None:
    content = "Route,Joint\nA,1\n".encode("utf-16")
    assert read_bytes(tmp_path, content).sha256 == hashlib.sha256(content).hexdigest()


HEAD = b"Route,Joint,Notes\nA,1,ok\n"
OPEN_QUOTE = (
    ": row {}: a quotation mark opens a cell and none closes it; close it, or write it twice if it belongs to the text"
)


@pytest.mark.parametrize(
    ("content", "row"),
    [
        (HEAD + b'A,2,"wet\nA,3,ok\n', 3),
        (HEAD + b'A,2,"wet', 3),
        (HEAD + b'A,2,"', 3),
        (HEAD + b'"A,2,wet\n', 3),
        (HEAD + b'A,2,ok,"wet\nA,3\n', 3),
        (HEAD + b'A,2,"wet\n' + b"A,3,ok\n" * 3_000_000, 3),
        (HEAD + b'A,2,"wet\n' + b"A,3,ok\n" * 30_000 + b'A,4,"ok"\n', 3),
        (b'"Route,Joint\nA,1\n', 1),
        (b'"Route,Joint\n' + b"A,1\n" * 100_000, 1),
    ],
)
def test_a_quotation_mark_left_open_is_refused_with_its_row(tmp_path: Path, content: bytes, row: int) -> None:
    assert refusal(tmp_path, content) == OPEN_QUOTE.format(row)


@pytest.mark.parametrize(
    "last", [b'A,2,""', b'A,2,"ok"', b'A,2,""""', b'A,2,"a\n"', b'A,2,"a\n"\n', b'A,2,12"', b'"A"']
)
def test_a_quotation_mark_closed_at_the_very_end_is_no_fault(tmp_path: Path, last: bytes) -> None:
    assert read_bytes(tmp_path, HEAD + last).row.tolist() == [2, 3]


@pytest.mark.parametrize("content", [b"", b"\n \n", b"\xef\xbb\xbf", b"\xff\xfe"])
def test_an_empty_file_is_refused(tmp_path: Path, content: bytes) -> None:
    assert refusal(tmp_path, content) == ": the file is empty; give a file with rows"


def test_rows_of_nothing_but_delimiters_are_refused(tmp_path: Path) -> None:
    message = ": there is nothing in the first 2 rows; remove blank rows at the top"
    assert refusal(tmp_path, b",,\n, ,\n") == message


def test_binary_content_is_refused(tmp_path: Path) -> None:
    assert ": line 2 holds a NUL byte, so this is not a text file" in refusal(tmp_path, b"Route,Joint\nA,\0\n")
    noise = bytes(random.Random(1).choices(range(1, 128), k=5000))
    assert refusal(tmp_path, noise) == ": this is not a text file; give a CSV file or a workbook"
    assert 'set encoding = "utf-16-le"' in refusal(tmp_path, "Route,Joint\n".encode("utf-16-le"))


def test_text_that_no_encoding_fits_is_refused_with_its_byte(tmp_path: Path) -> None:
    remedy = "; set the encoding that the file was saved in, or save it as UTF-8"
    content = b"Route,Joint\nA,\x81\n"
    assert refusal(tmp_path, content) == ": byte 15, in line 2, is not cp1252 text" + remedy
    assert refusal(tmp_path, content, encoding="utf-8") == ": byte 15, in line 2, is not utf-8 text" + remedy
    assert refusal(tmp_path, content, encoding="ebc") == ": there is no encoding 'ebc'; use utf-8, utf-16 or cp1252"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputFileError, match=r"gone\.csv: cannot be read \(No such file or directory\); check"):
        read_table(tmp_path / "gone.csv", fields=FIELDS)


# Workbooks


def test_workbook_cells_become_the_text_that_a_person_would_write(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Joint", "Station", "Date", "Length", "Groove", "Notes"])
        sheet.append([12, 1234.56, dt.date(2026, 4, 2), 0.1 + 0.2, True, " home\nto the mark "])
        sheet.append([13, 656089.8000000001, dt.datetime(2026, 4, 2, 13, 5), -0.25, False, "#REF!"])
        sheet.append(["14", 20.0, "4/2/26", 123456789012345, None, 7])
        # Serial 46114 counts days from 1899-12-30 (date base 1900; ECMA-376 part 1, 18.17.4.1).
        sheet.append([9007199254740991, 1e-7, 46114, 12345.678901234567, dt.time(7, 30), "#DIV/0!"])
        sheet["C5"].number_format = "yyyy-mm-dd"
        # 13:05:00 as a part of the day, cut off at ten digits.
        sheet.append([15, None, 46114.5451388888, None, None, None])
        sheet["C6"].number_format = "yyyy-mm-dd hh:mm"

    table = read_workbook(tmp_path, fill)
    assert rows_of(table) == [
        ["12", "1234.56", "2026-04-02", "0.3", "yes", "home\nto the mark"],
        ["13", "656089.8", "2026-04-02 13:05:00", "-0.25", "no", "#REF!"],
        ["14", "20", "4/2/26", "123456789012345", None, "7"],
        ["9007199254740991", "1e-7", "2026-04-02", "12345.6789012346", "07:30:00", "#DIV/0!"],
        ["15", None, "2026-04-02 13:05:00", None, None, None],
    ]
    assert table.numeric == {"Station", "Length"}
    assert table.sheet == "Sheet"


def test_a_number_shown_as_a_station_by_its_format_is_known_as_a_number(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Joint", "Station", "Notes"])
        sheet.append(["1", 1234.56, "12.5"])
        sheet.append(["2", None, "13.5"])
        sheet["B2"].number_format = '0"+"00.00'

    table = read_workbook(tmp_path, fill)
    assert table.data["Station"].to_pylist() == ["1234.56", None]
    assert table.numeric == {"Station"}


@settings(deadline=None)
@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1))
def test_numbers_are_written_with_fifteen_digits_at_most(numbers: list[float]) -> None:
    texts = table_from_columns(pa.table({"a": pa.array(numbers)}), name="n").data["a"].to_pylist()
    for number, text in zip(numbers, texts, strict=True):
        assert float(text) == pytest.approx(number, rel=1e-14, abs=0)
        if 1e-7 < abs(number) < 1e15:
            assert len(Decimal(text).normalize().as_tuple().digits) <= 15


def test_rows_are_numbered_as_the_sheet_numbers_them(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["B3"] = "Joint log, Quarry Lane"
        rows: dict[int, list[str | int]] = {
            5: ["Route", "Joint", "Notes"],
            6: ["A", 1, "x"],
            9: ["A", 2, "y"],
            10: ["A", 3, "z"],
        }
        for row, cells in rows.items():
            for column, cell in enumerate(cells, start=2):
                sheet.cell(row, column, cell)
        sheet.row_dimensions[7].hidden = sheet.row_dimensions[8].hidden = sheet.row_dimensions[10].hidden = True

    table = read_workbook(tmp_path, fill)
    assert table.row.tolist() == [6, 9, 10]
    assert table.columns == ("column 1", "Route", "Joint", "Notes")
    assert table.data["Joint"].to_pylist() == ["1", "2", "3"]
    # Rows 7 and 8 are hidden as well, and hold nothing.
    assert any(note.endswith("; where they do not count, say which rows do (records.rows), or take them out")
               and ": 10;" in note for note in table.notes)  # fmt: skip
    assert [note.split(": ")[1] for note in table.notes] == [
        "rows hidden in the sheet, as by a filter, are read as the others",
        "4 rows above the column names in row 5 left out",
        "2 rows left out as blank",
    ]


def test_a_merged_title_is_said_once(tmp_path: Path) -> None:
    """It was said once for each column that it covers, and took the place of what stands beside it."""

    def fill(sheet: Worksheet) -> None:
        for row in (["Crew log"], ["Place", None, "Pipe"], ["Route", "Joint", "Notes"], ["A", 1, "x"]):
            sheet.append(row)
        sheet.merge_cells("A1:C1")
        sheet.merge_cells("A2:B2")

    (note,) = [one for one in read_workbook(tmp_path, fill).notes if "above the column names" in one]
    assert "left out: 'Crew log'; 'Place Pipe'; what they say" in note


def test_merged_cells_speak_for_every_record_that_they_cover(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Crew log of Marrow Creek Water District"])
        sheet.append(["Date", "Joint", "Groove", "Spigot", "Notes"])
        sheet.append([dt.date(2026, 4, 2), 1, "Y", None, "begins"])
        sheet.append([None, 2, "N", "Y", None])
        sheet.append([])
        sheet.append(["Day two, rained until noon"])
        sheet.append([dt.date(2026, 4, 3), 3, "Y", "Y", None])
        for span in ("A1:E1", "A3:A5", "C3:D3", "A6:E6"):
            sheet.merge_cells(span)

    table = read_workbook(tmp_path, fill)
    assert rows_of(table) == [
        ["2026-04-02", "1", "Y", "Y", "begins"],
        ["2026-04-02", "2", "N", "Y", None],
        ["Day two, rained until noon", None, None, None, None],
        ["2026-04-03", "3", "Y", "Y", None],
    ]
    # A blank row inside the merged day is no record; a line across the sheet is not every column's value.
    assert table.row.tolist() == [3, 4, 6, 7]
    assert any("merged cells" in note for note in table.notes)


@pytest.mark.parametrize("names_merged_down", [True, False])
def test_column_names_in_two_rows_take_the_groups_name_where_their_own_is_not_enough(
    tmp_path: Path, names_merged_down: bool
) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Joint log"])
        sheet.append(["Joint", "Station", "Cleaned", None, "Gap", None, "Gauge", None, "Notes"])
        sheet.append([None, None, "Groove", "Spigot", 12, 3, 12, 3, None])
        sheet.append([1, "0+20.00", "Y", "N", 1.1, 1.2, 2.1, 2.2, "ok"])
        for span in ("A1:I1", "C2:D2", "E2:F2", "G2:H2"):
            sheet.merge_cells(span)
        if names_merged_down:
            for span in ("A2:A3", "B2:B3", "I2:I3"):
                sheet.merge_cells(span)

    table = read_workbook(tmp_path, fill)
    assert table.columns == ("Joint", "Station", "Groove", "Spigot", "Gap 12", "Gap 3", "Gauge 12", "Gauge 3", "Notes")
    assert rows_of(table) == [["1", "0+20.00", "Y", "N", "1.1", "1.2", "2.1", "2.2", "ok"]]
    assert table.row.tolist() == [4]
    matched = match_columns(table.columns, FIELDS, {}, where="log.xlsx", key="records.columns")
    assert matched["gap_3"] == "Gap 3"
    assert matched["groove_clean"] == "Groove"


@pytest.mark.parametrize("second_names_more", [True, False])
def test_column_names_that_go_on_in_the_next_row_are_one_name_where_nothing_is_merged(
    tmp_path: Path, second_names_more: bool
) -> None:
    more = (["Laid", "Insp"], ["Date", None]) if second_names_more else (["Date Laid", "Insp"], [None, None])

    def fill(sheet: Worksheet) -> None:
        sheet.append(["Job 2611", "Alder Street", "Foreman", "R. Vance"])
        sheet.append(["Joint", "Station", "Laid", *more[0]])
        sheet.append(["No.", None, "Length (ft)", *more[1]])
        sheet.append([1, "0+20.00", 20, "4/2/2026", "RV"])

    table = read_workbook(tmp_path, fill, fields=FIELD_NAMES)
    matched = match_columns(table.columns, FIELD_NAMES, {}, where="log.xlsx", key="records.columns")
    assert {"joint": "Joint No.", "station": "Station"}.items() <= matched.items()
    assert {"inspected_on", "laid_length", "inspector"} <= matched.keys()
    assert rows_of(table) == [["1", "0+20.00", "20", "4/2/2026", "RV"]]


def test_a_title_above_column_names_is_no_part_of_them(tmp_path: Path) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Joint log", "Alder Street", "Date", "4/2/2026"])
        sheet.append(["No.", "Station", "Remarks", None])
        sheet.append([1, "0+20.00", "ok", None])

    assert read_workbook(tmp_path, fill, fields=FIELD_NAMES).columns[:3] == ("No.", "Station", "Remarks")


def test_the_sheet_that_looks_like_the_log_is_taken_and_the_choice_noted(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Cover"
    book.active.append(["Joint", "prepared by N. Okafor"])
    book.create_sheet("Blank")
    for row in (["Route", "Joint"], ["A", 1]):
        book.create_sheet("Log").append(row) if "Log" not in book.sheetnames else book["Log"].append(row)
    book.create_chartsheet("Progress")
    path = tmp_path / "log.xlsx"
    book.save(path)
    table = read_table(path, fields=FIELDS)
    assert (table.sheet, rows_of(table)) == ("Log", [["A", "1"]])
    assert table.notes[0].startswith(f"{path}: sheet 'Log' taken of 'Cover', 'Blank', 'Log'")
    assert read_table(path, fields=FIELDS, sheet="cover ").sheet == "Cover"
    with pytest.raises(InputFileError, match=r"log\.xlsx: there is no sheet 'Logs'; the sheets are 'Cover', 'Blank', "):
        read_table(path, fields=FIELDS, sheet="Logs")
    with pytest.raises(InputFileError, match=r"log\.xlsx: sheet 'Blank' is empty; name the sheet that has the rows"):
        read_table(path, fields=FIELDS, sheet="Blank")


@pytest.mark.parametrize(
    ("key", "said"),
    [
        (
            "records.sheet",
            r'name one of them with records\.sheet, or several as one log: records\.sheet = "\*" takes all',
        ),
        ("centerline.sheet", r"name one of them with centerline\.sheet$"),
        ("--sheet", r"name one of them with --sheet; --sheet '\*' takes all of them"),
        (None, "save the one that is meant as a file of its own, and name that"),
    ],
)
def test_two_sheets_that_look_alike_are_not_guessed_between(tmp_path: Path, key: str | None, said: str) -> None:
    book = openpyxl.Workbook()
    for sheet in (book.active, book.create_sheet("Week 2")):
        sheet.append(["Route", "Joint"])
    book.save(tmp_path / "log.xlsx")
    with pytest.raises(InputFileError, match=f"not clear which sheet holds the rows, 'Sheet', 'Week 2'; {said}"):
        read_table(tmp_path / "log.xlsx", fields=FIELDS, sheet_key=key)


def test_a_workbook_is_known_by_its_content_not_its_name(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Route", "Joint"])
    stream = io.BytesIO()
    book.save(stream)
    assert read_bytes(tmp_path, stream.getvalue(), "log.csv").columns == ("Route", "Joint")
    assert refusal(tmp_path, b"Route,Joint\nA,1\n", "log.xlsx").startswith(": this is not a workbook, or a damaged one")


def test_a_workbook_with_a_header_alone_has_no_rows(tmp_path: Path) -> None:
    table = read_workbook(tmp_path, lambda sheet: sheet.append(["Route", "Joint"]))
    assert (table.columns, table.data.num_rows) == (("Route", "Joint"), 0)


def test_a_damaged_workbook_is_refused_or_read_never_a_failure(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["Route", "Joint", "Notes"], ["A", 1, "#REF!"], ["A", 2, "ok"]):
        book.active.append(row)
    stream = io.BytesIO()
    book.save(stream)
    whole, chance = stream.getvalue(), random.Random(7)
    refused = 0
    for _ in range(200):
        damaged = bytearray(whole[: chance.randrange(len(whole))] if chance.random() < 0.3 else whole)
        for _ in range(chance.randrange(1, 20)):
            damaged[chance.randrange(4, max(len(damaged), 5)) % len(damaged)] = chance.randrange(256)
        if not damaged.startswith(b"PK\x03\x04"):
            continue
        try:
            read_bytes(tmp_path, bytes(damaged), "log.xlsx")
        except InputFileError as error:
            refused += "open it in a spreadsheet program and save it as .xlsx" in str(error)
    assert refused > 50


def test_a_password_is_named_as_the_reason(tmp_path: Path) -> None:
    # An encrypted workbook is a compound file with a stream of this name (MS-OFFCRYPTO 2.3.4.4, from memory).
    content = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(1024) + "EncryptedPackage".encode("utf-16-le") + bytes(512)
    assert refusal(tmp_path, content, "log.xlsx") == ": the workbook is protected by a password; save it without one"


# Columns in memory


def test_columns_in_memory_follow_the_same_rules() -> None:
    data = pa.table(
        {
            "joint": pa.array([1, 2, None]),
            "length": pa.array([20.0, float("nan"), 19.75]),
            "single": pa.array([0.1, 20, None], pa.float32()),
            "cut": pa.array([True, None, False]),
            "laid": pa.array([dt.date(2026, 4, 2), None, dt.date(2026, 4, 3)]),
            "seen": pa.array([dt.datetime(2026, 4, 2), dt.datetime(2026, 4, 2, 13, 5), None]),
            "type": pa.array(["push-on", " ", "mechanical"]).dictionary_encode(),
            "remarks": pa.array([" ok ", "", None], pa.large_string()),
            "photos": pa.array([["a.jpg"], None, []]),
        }
    )
    table = table_from_columns(data, name="the crew's rows")
    assert table.data.to_pydict() == {
        "joint": ["1", "2", None],
        "length": ["20", None, "19.75"],
        "single": ["0.1", "20", None],
        "cut": ["yes", None, "no"],
        "laid": ["2026-04-02", None, "2026-04-03"],
        "seen": ["2026-04-02", "2026-04-02 13:05:00", None],
        "type": ["push-on", None, "mechanical"],
        "remarks": ["ok", None, None],
        "photos": ["['a.jpg']", None, "[]"],
    }
    assert set(table.data.schema.types) == {pa.string()}
    assert table.numeric == {"joint", "length", "single"}
    assert table.row.tolist() == [1, 2, 3]


def test_a_source_can_be_named_afterwards() -> None:
    table = with_source(table_from_columns(pa.table({"a": ["1"]}), name="joints.gpkg"), "ab12", ["one point is broken"])
    assert (table.path, table.sha256, table.notes) == ("joints.gpkg", "ab12", ("one point is broken",))


# Column names and fields


@pytest.mark.parametrize(
    ("name", "plain"),
    [("Gasket temp. (°C)", "gaskettemp"), ("Temp °F", "temp"), ("Joint\nNo.", "jointno"), ("Torque [ft-lb]", "torque")],
)
def test_the_plain_form_of_a_name_has_no_units(name: str, plain: str) -> None:
    assert normalised(name) == plain


def test_the_jobs_choice_wins_over_the_name() -> None:
    columns = ["Route", "Station", "Field station", "STA"]
    matched = match_columns(columns, FIELDS, {"station": "field  STATION"}, where="log.csv", key="records.columns")
    assert matched == {"station": "Field station", "route": "Route"}


def test_a_column_chosen_for_one_field_is_not_matched_to_another() -> None:
    matched = match_columns(["Route", "Jt"], FIELDS, {"remarks": "Jt"}, where="log.csv", key="records.columns")
    assert matched == {"remarks": "Jt", "route": "Route"}


def test_a_fields_own_name_wins_over_anothers_synonym() -> None:
    fields = {"cut": frozenset({"length"}), "length": frozenset({"cut"})}
    assert match_columns(["Length"], fields, {}, where="log.csv", key="k") == {"length": "Length"}
    assert match_columns(["Cut"], fields, {}, where="log.csv", key="k") == {"cut": "Cut"}


@pytest.mark.parametrize(
    ("columns", "chosen", "message"),
    [
        (
            ["Route", "Chainage"],
            {"station": "Chainaje"},
            "log.csv: records.columns.station: there is no column 'Chainaje'; "
            "the columns are Route, Chainage; did you mean 'Chainage'?",
        ),
        (
            ["Route", "Joint"],
            {"station": "Milepost"},
            "log.csv: records.columns.station: there is no column 'Milepost'; the columns are Route, Joint",
        ),
        (
            ["Route", "Joint"],
            {"station": 3},
            "log.csv: records.columns.station: there is no column 3; the file has 2 columns",
        ),
        (
            ["Mark", "MARK"],
            {"station": "mark"},
            "log.csv: records.columns.station: 'mark' could be 'Mark' or 'MARK'; write it just as it is",
        ),
        (
            ["Sta.", "Route", "Station (ft)"],
            {},
            "log.csv: the columns 'Sta.' and 'Station (ft)' could each be station; "
            'say which with records.columns.station = "Sta.", or by its position, counted from the left: '
            "records.columns.station = 1",
        ),
    ],
)
def test_a_column_that_cannot_be_settled_is_refused_with_the_remedy(
    columns: list[str], chosen: dict[str, str | int], message: str
) -> None:
    with pytest.raises(InputFileError) as refused:
        match_columns(columns, FIELDS, chosen, where="log.csv", key="records.columns")
    assert str(refused.value) == message


@pytest.mark.parametrize("cells", [["XFD1048576"], ["A1048576", "XFD1"]])
def test_a_stray_cell_in_a_workbooks_corner_is_refused_before_memory_is_gone(tmp_path, cells):
    book = openpyxl.Workbook()
    for row in (["joint", "station"], ["1", "0+00"], ["2", "0+20"]):
        book.active.append(row)
    for cell in cells:
        book.active[cell] = "x"
    book.save(tmp_path / "log.xlsx")
    with pytest.raises(InputFileError, match=r"log\.xlsx: sheet1\.xml has a value in cell XFD\d+, far beyond any log"):
        read_table(tmp_path / "log.xlsx", fields=FIELDS)


@pytest.mark.parametrize("cell", ["A100000", "XFD3", "ZZ2000"])
def test_a_stray_cell_that_can_be_laid_out_is_read_around(tmp_path, cell):
    book = openpyxl.Workbook()
    for row in (["joint", "station"], ["1", "0+00"], ["2", "0+20"]):
        book.active.append(row)
    book.active[cell] = "x"
    book.save(tmp_path / "log.xlsx")
    assert read_table(tmp_path / "log.xlsx", fields=FIELDS).data["joint"].to_pylist()[:2] == ["1", "2"]


@pytest.mark.parametrize("text", ["9" * 5000, "1e400", "-1e400"])
def test_a_number_that_no_computer_holds_is_no_number(text):
    assert values.number(text) is None
    assert values.offset(text) is None
    assert values.nominal_size(text, unit="in") is None
