"""Cells that a spreadsheet program could not compute, in every kind of workbook: none is blank, none loses its row."""

import io
import re
import zipfile

import numpy as np
import openpyxl
import pytest
import workbooks_by_hand
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from laying import lines, pipe, values

from asbuilt import place
from asbuilt.inputs.tables import read_table
from asbuilt.job import Job

FIELDS = {one: frozenset({one}) for one in ("route", "joint", "station", "gauge")}
HEAD = ["Route", "Joint", "Station", "Gauge"]


def xlsx(sheets, *, plain=False):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()


def xlsx_without_places(sheets, *, plain=False):
    """Leave out the names of cells and the numbers of rows, which ECMA-376 part 1, 18.3.1.4 and 18.3.1.73, lets be."""
    written = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(xlsx(sheets))) as book, zipfile.ZipFile(written, "w") as other:
        for name in book.namelist():
            part = book.read(name)
            if name.startswith("xl/worksheets/sheet"):
                part = re.sub(rb'(<(?:c|row) )r="\w+"', rb"\1", part)
            other.writestr(name, part)
    return written.getvalue()


KINDS = {
    "xlsx": xlsx, "xls": workbooks_by_hand.xls, "xlsb": workbooks_by_hand.xlsb, "ods": workbooks_by_hand.ods,
}  # fmt: skip


@pytest.mark.parametrize("plain", [False, True], ids=["computed", "as such"])
@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.lists(st.sampled_from([None, "A", "ok", *workbooks_by_hand.ERRORS]), min_size=4, max_size=4),
        min_size=1, max_size=9,
    ).filter(lambda rows: any(rows[-1]))
)  # fmt: skip
def test_every_error_stands_in_its_cell_and_is_named(tmp_path, kind, plain, rows):
    path = tmp_path / f"log.{kind}"
    path.write_bytes(KINDS[kind]({"Notes": [["#REF!", "x"]], "Log": [HEAD, *rows]}, plain=plain))
    table = read_table(path, fields=FIELDS, sheet="Log")
    kept = [(at, row) for at, row in enumerate(rows, 2) if any(row)]
    assert table.row.tolist() == [at for at, _ in kept]
    assert [list(row.values()) for row in table.data.to_pylist()] == [row for _, row in kept]
    named = {f"{'ABCD'[column]}{at} ({cell})" for at, row in kept for column, cell in enumerate(row)
             if cell in workbooks_by_hand.ERRORS}  # fmt: skip
    told = [note for note in table.notes if "could not compute" in note]
    assert len(told) == bool(named)
    if 0 < len(named) <= 10:
        assert set(re.findall(r"[A-D]\d+ \([^)]+\)", told[0])) == named
    assert not named or (f"{len(named)} cell" in told[0])


def test_a_workbook_that_names_neither_cells_nor_rows_keeps_its_errors(tmp_path):
    (tmp_path / "log.xlsx").write_bytes(xlsx_without_places({"Log": [HEAD, ["A", "#N/A", "0+20", "ok"], ["A", "2"]]}))
    table = read_table(tmp_path / "log.xlsx", fields=FIELDS)
    assert table.data["Joint"].to_pylist() == ["#N/A", "2"]
    assert any("B2 (#N/A)" in note for note in table.notes)


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_of_an_error_alone_is_set_aside_by_its_row(tmp_path, kind):
    rows = [["A", str(at), f"0+{at * 10:02d}", "ok"] for at in range(6)]
    rows[2] = [None, None, "#N/A", None]
    rows[4][3] = "#REF!"
    (tmp_path / f"log.{kind}").write_bytes(KINDS[kind]({"Log": [HEAD, *rows]}))
    job = Job.from_mapping(values(records={"path": f"log.{kind}"}), folder=tmp_path)
    placement = place(job, centerline=lines(A=pipe(np.zeros(4))))
    assert placement.counts["records_read"] == 6
    aside = placement.set_aside
    assert aside["row"].tolist() == [4]
    unreadable = placement.findings.query("code == 'field-unreadable'")
    assert unreadable["joint"].tolist() == ["4"]
    assert "'#REF!'" in unreadable["message"].iloc[0]
    assert any("C4 (#N/A), D6 (#REF!)" in note.text for note in placement.notes)
