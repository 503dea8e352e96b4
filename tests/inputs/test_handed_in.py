"""Logs as crews hand them in: what a technician found when loading logs of his own; each is read right, or told."""

import datetime as dt

import numpy as np
import openpyxl
import pandas as pd
import pytest
from laying import COMPLETE, CRS, TODAY, pipe
from survey_mains import station

import asbuilt

COUNT = 40


def log(count=COUNT, *, day=dt.date(2026, 4, 1), **columns):
    """Give a straight main of 20-ft pipes, ten of them laid on a day."""
    return pd.DataFrame({
        "joint": [str(at + 1) for at in range(count)], "station": [station(20.0 * at) for at in range(count)],
        **{name: [text] * count for name, text in COMPLETE.items()},
        "date": [f"{day + dt.timedelta(days=at // 10)}" for at in range(count)], "remarks": "",
    } | columns)  # fmt: skip


def book(path, **sheets):
    """Write sheets of rows, texts as texts."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name.replace("_", " "))
        for row in [list(rows.columns), *rows.replace("", None).to_numpy().tolist()]:
            sheet.append(row)
    workbook.save(path)
    return path.name


def placed(folder, path, count=COUNT, **records):
    points = pipe(np.zeros(count - 2))
    shots = {"point": range(101, 101 + count), "northing": points[:, 1], "easting": points[:, 0]}
    pd.DataFrame(shots).to_csv(folder / "shots.csv", index=False)
    values = {
        "name": "Mill Race", "crs": CRS,
        "centerline": {"path": "shots.csv", "start_station": 0, "sigma_horizontal": 0.03},
        "records": {"path": path, "station_unit": "us-ft", "laying_length": 20.0} | records,
        "limits": {"table": "awwa-c600"},
    }  # fmt: skip
    return asbuilt.place(asbuilt.Job.from_mapping(values, folder=folder), today=TODAY)


def handed_in(folder, rows, **records):
    rows.to_csv(folder / "log.csv", index=False)
    return placed(folder, "log.csv", **records)


def notes(placement, code):
    return [note.text for note in placement.notes if note.code == code]


def messages(placement, code):
    found = placement.findings
    return found.loc[found["code"] == code, "message"].tolist()


def reason(placement, row):
    (at,) = np.flatnonzero(placement.log.row == row)
    return placement.placed.records.message[int(at)].as_py()


@pytest.mark.parametrize("where", ["?", "", "99+00"])
def test_a_failed_inspection_in_a_record_set_aside_is_told(tmp_path, where):
    rows = log()
    rows.loc[10, ["station", "gasket seated"]] = where, "F"
    found = handed_in(tmp_path, rows)
    assert reason(found, 12).endswith("it says that gasket seated did not pass")
    (note,) = [note for note in found.notes if note.code == "failures-aside"]
    assert note.severity == "act"
    assert "log.csv row 12 (gasket seated)" in note.text


def test_a_row_that_does_not_fit_its_columns_still_tells_what_failed(tmp_path):
    rows = log()
    rows.loc[10, "gauge"] = "fail"
    rows.to_csv(tmp_path / "log.csv", index=False)
    lines = (tmp_path / "log.csv").read_text().splitlines()
    lines[11] += ",,bell cracked"
    lines[13] += ",,fine day"
    (tmp_path / "log.csv").write_text("\n".join(lines) + "\n")
    found = placed(tmp_path, "log.csv")
    assert "it says that gauge did not pass" in reason(found, 12)
    assert "bell cracked" in reason(found, 12)
    assert reason(found, 14).endswith("correct the row")
    assert len(notes(found, "failures-aside")) == 1


def test_what_nobody_can_read_and_what_a_remark_tells_stands_with_a_record_set_aside(tmp_path):
    rows = log()
    rows.loc[10, ["station", "gauge"]] = "?", "F?"
    rows.loc[20, ["station", "remarks"]] = "?", "gasket rolled, joint leaked"
    rows.loc[30, ["station", "remarks"]] = "?", "no leaks"
    found = handed_in(tmp_path, rows)
    assert "gauge 'F?' cannot be read" in reason(found, 12)
    assert 'it says "gasket rolled, joint leaked"' in reason(found, 22)
    assert "leak" not in reason(found, 32)
    assert not notes(found, "failures-aside")


def test_a_sheet_that_was_copied_is_told_and_the_joint_at_which_the_two_disagree(tmp_path):
    first, second = log()[:20], log()[20:]
    copied = first.copy()
    copied.loc[12, "station"] = station(247.0)
    found = placed(tmp_path, book(tmp_path / "log.xlsx", Day_1=first, Day_2=second, Copy=copied), sheet="*")
    (text,) = notes(found, "rows-doubled")
    assert "sheet 'Copy' rows 2 to 21 repeat log.xlsx, sheet 'Day 1' rows 2 to 21" in text
    assert "19 of them at the same stations" in text
    assert "joint 13 (2+40.00, and 2+47.00)" in text
    told = messages(found, "station-contradicted")
    assert len(told) == 2
    assert all("2+40.00 and 2+47.00, 7.00 ft apart" in one for one in told)


def test_numbers_that_begin_anew_and_joints_looked_at_again_are_no_copied_sheet(tmp_path):
    anew = log()
    anew["joint"] = [str(at % 20 + 1) for at in range(COUNT)]
    anew["date"] = "2026-04-01"
    again = pd.concat([log(), log()[10:18].assign(date="2026-05-20")])
    (tmp_path / "anew").mkdir()
    for rows, folder in ((anew, tmp_path / "anew"), (again, tmp_path)):
        found = handed_in(folder, rows)
        assert not notes(found, "rows-doubled")
        assert not messages(found, "station-contradicted")


SIGNATURES = [
    {"size": "Foreman", "joint type": "J. Orr"},
    {"joint": "Signature:", "size": "R. Vale", "joint type": "Inspector"},
    {"joint": "Inspector", "joint type": "R. Vale"},
    {"joint type": "Signed", "kind": "R. Vale", "date": "2026-04-05"},
    {"joint": "Reviewed by", "size": "4/5/26", "joint type": "PM", "kind": "T. Ash"},
]
RECORDS = [
    {"joint": "61", "joint type": "Inspector"},
    {"size": "12", "joint type": "MJ", "inspector": "Inspector:"},
    {"kind": "hydrant shoe", "remarks": "Approved by engineer"},
    {"joint": "Foreman", "size": "12", "kind": "valve"},
    {"kind": "Foreman", "gauge": "F"},
]


def test_signatures_under_size_and_type_are_no_records_and_what_says_a_thing_of_a_joint_is_one(tmp_path):
    rows = log(kind="pipe")
    more = pd.DataFrame([dict.fromkeys(rows.columns, "") | one for one in (*SIGNATURES, *RECORDS)])
    found = handed_in(tmp_path, pd.concat([rows, more]))
    assert len(found.log) == COUNT + len(RECORDS)
    (text,) = [one for one in notes(found, "log-read") if "no records" in one]
    assert f"{len(SIGNATURES)} rows are no records" in text
    assert "'Foreman J. Orr'" in text


def test_a_decimal_comma_in_the_cells_of_a_workbook_is_read_and_told(tmp_path):
    stations = [station(20.0 * at).replace(".", ",") for at in range(COUNT)]
    rows = log(station=stations, **{"laid length": "20,00", "gap 12": "1,25", "gap 3": "1,250"})
    found = placed(tmp_path, book(tmp_path / "log.xlsx", Log=rows))
    assert len(found.joints) == COUNT
    assert found.inspections["laid_length"].eq(20.0).all()
    for field in ("gap_12", "gap_3"):
        assert found.log.number(field).tolist() == [1.25] * COUNT
    assert any("read with a decimal comma" in one and "'1,250'" in one for one in notes(found, "log-read"))


def test_a_comma_that_may_part_thousands_is_asked_about(tmp_path):
    rows = log(**{"laid length": "20.00", "torque (ft-lb)": "1,250"})
    found = placed(tmp_path, book(tmp_path / "log.xlsx", Log=rows))
    assert found.log.number("bolt_torque").tolist() == [1250.0] * COUNT
    assert any("taken to part thousands, as '1,250'" in one for one in notes(found, "log-read"))
    photos = handed_in(tmp_path, log(photo="12,13"))
    assert not any("thousands" in note.text or "decimal comma" in note.text for note in photos.notes)


def test_a_station_with_a_comma_alone_among_others_names_the_key(tmp_path):
    rows = log()
    rows.loc[10, "station"] = "2,00"
    assert 'say records.decimal = ","' in reason(
        placed(tmp_path, book(tmp_path / "log.xlsx", Log=rows), decimal="."), 12
    )
