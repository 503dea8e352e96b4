"""Tables beside the log: whatever they are written with, they say the same, and an error names file and row."""

import csv
import io

import numpy as np
import openpyxl
import pytest
from laying import EAST, NORTH, lines, log, pipe, place

import asbuilt
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.inputs.side_tables import read_side_table

STRAIGHT = pipe([0.0] * 9)
KINDS: dict[str, tuple[tuple[str, ...], list[tuple[object, ...]]]] = {
    "ties": (("station", "easting", "northing"), [("0+10", EAST, NORTH + 10.25), ("1+90", EAST, NORTH + 189.5)]),
    "restraint": (("route", "from", "to", "why"),
                  [("A", "0+20.50", "0+60", "bend; level"), ("A", "1+80", "2+00", "end")]),
    "allowables": (("joint_type", "size", "allowable_deg", "source"), [("push-on", 12, 4.5, "Submittal 14, sheet 2")]),
    "check": (("easting", "northing", "measured_easting", "measured_northing"),
              [(EAST, NORTH, EAST + 0.25, NORTH - 0.5), (EAST, NORTH + 20, EAST - 0.125, NORTH + 20.5)]),
}  # fmt: skip


def comma(value):
    return str(value).replace(".", ",") if isinstance(value, float) else str(value)


def delimited(head, rows, delimiter=",", write=str, **how):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, **how).writerows([head, *[[write(cell) for cell in row] for row in rows]])
    return out.getvalue()


def written(path, how, head, rows):
    """Write a table in one of the ways in which offices hand them in."""
    if how == "workbook":
        book = openpyxl.Workbook()
        for row in (head, *rows):
            book.active.append(row)
        book.save(path.with_suffix(".xlsx"))
        return path.with_suffix(".xlsx")
    text = {
        "comma": lambda: delimited(head, rows),
        "semicolon": lambda: delimited(head, rows, ";"),
        "tab": lambda: delimited(head, rows, "\t"),
        "decimal comma": lambda: delimited(head, rows, ";", comma),
        "mark": lambda: "\ufeff" + delimited(head, rows),
        "quoted": lambda: delimited(head, rows, quoting=csv.QUOTE_ALL),
    }[how]()
    path.write_text(text, "utf-8")
    return path


def job(kind, path):
    return {
        "ties": {"centerline": {"ties_path": str(path), "max_closure_ppm": 20_000}},
        "restraint": {"restraint": {"path": str(path)}},
        "allowables": {"limits": {"table": str(path)}},
        "check": {"survey_check": {"path": str(path)}},
    }[kind]


def said(kind, path):
    placement = place(lines(A=STRAIGHT), log(STRAIGHT), **job(kind, path))
    counts = placement.counts
    return {
        "ties": lambda: [one["closure"] for one in counts["ties"]],
        "restraint": lambda: placement.restraint[["from_distance", "to_distance", "why"]].values.tolist(),
        "allowables": lambda: placement.joints[["allowable_deg", "allowable_source"]].values[0].tolist(),
        "check": lambda: [counts["survey_check"]["rmse_horizontal"]],
    }[kind]()


WAYS = ("comma", "semicolon", "tab", "decimal comma", "mark", "quoted", "workbook")
SAID = {
    "ties": [-0.75],
    "restraint": [[20.5, 60.0, "bend; level"], [180.0, 200.0, "end"]],
    "allowables": [4.5, "Submittal 14, sheet 2"],
    "check": [round(float(np.sqrt((0.25**2 + 0.5**2 + 0.125**2 + 0.5**2) / 2)), 4)],
}


@pytest.mark.parametrize("how", WAYS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_table_says_the_same_however_it_is_written(tmp_path, kind, how):
    assert said(kind, written(tmp_path / "table.csv", how, *KINDS[kind])) == SAID[kind]


@pytest.mark.parametrize("how", WAYS)
@pytest.mark.parametrize(
    ("kind", "column", "wrong"),
    [("ties", 1, "12o"), ("ties", 0, "1-x"), ("restraint", 1, "x"), ("allowables", 2, "nan"), ("check", 3, "1e400")],
)
def test_what_cannot_be_read_is_named_with_its_file_and_row(tmp_path, kind, column, wrong, how):
    head, rows = KINDS[kind]
    rows = [*rows, tuple(wrong if at == column else cell for at, cell in enumerate(rows[-1]))]
    path = written(tmp_path / "table.csv", how, head, rows)
    with pytest.raises(AsbuiltError) as caught:
        said(kind, path)
    assert f"{path.name}: row {len(rows) + 1}: " in str(caught.value)
    assert wrong in str(caught.value)


def test_a_missing_column_and_a_missing_file_are_named_with_the_key(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("a,b\n1,2\n")
    fields = {"size": frozenset({"dn"}), "source": frozenset()}
    with pytest.raises(InputFileError, match=r"no column is known as size; name it so .*size, source"):
        read_side_table(path, fields, required=("size", "source"), key="limits.table")
    with pytest.raises(InputFileError, match=r"none.csv: there is no such file; correct limits.table"):
        read_side_table(tmp_path / "none.csv", fields, required=(), key="limits.table")
    assert issubclass(InputFileError, asbuilt.InputFileError)
