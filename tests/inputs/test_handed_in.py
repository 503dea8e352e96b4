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


def test_a_sheet_named_like_a_day_is_held_against_its_dates(tmp_path):
    rows = log()
    rows["date"] = ["2026-04-02" if at < 20 else "2026-04-12" for at in range(COUNT)]
    sheets = {"4-2-26": rows[:20], "Apr 3": rows[20:]}
    found = placed(tmp_path, book(tmp_path / "log.xlsx", **sheets), sheet="*")
    (text,) = [one for one in notes(found, "log-read") if "named like a day" in one]
    assert "sheet 'Apr 3'" in text
    assert "none of its records is of that day, but of 2026-04-12" in text
    rows.loc[30, "date"] = "2026-04-21"
    found = placed(tmp_path, book(tmp_path / "log.xlsx", **{"Apr 2": rows[:20], "12 April": rows[20:]}), sheet="*")
    (text,) = [one for one in notes(found, "log-read") if "named like a day" in one]
    assert "1 of its 20 records is not of that day, but of 2026-04-21" in text
    weekly = {"Week of Apr 2": rows[:20], "Apr 6-12": rows[20:]}
    found = placed(tmp_path, book(tmp_path / "log.xlsx", **weekly), sheet="*")
    assert not [one for one in notes(found, "log-read") if "named like a day" in one]


@pytest.mark.parametrize("rows", [6, COUNT])
@pytest.mark.parametrize("shuffled", [False, True])
@pytest.mark.parametrize("year", ["2016", "2062", "2036"])
@pytest.mark.parametrize("at", [0, 3])
def test_a_slip_of_the_year_is_told_wherever_it_stands(tmp_path, rows, shuffled, year, at):
    one = log()[:rows]
    if shuffled:
        one["date"] = [f"2026-04-{day:02d}" for day in np.random.default_rng(1).integers(1, 29, rows)]
    one.loc[at, "date"] = one.loc[at, "date"].replace("2026", year)
    found = handed_in(tmp_path, one)
    assert found.findings.loc[found.findings["code"] == "date-doubtful", "joint"].tolist() == [str(at + 1)]


@pytest.mark.parametrize("last", [5, 1])
def test_lengths_laid_a_year_or_two_later_have_no_slip_of_the_year(tmp_path, last):
    rows = log()
    rows.loc[COUNT - last :, "date"] = "2025-04-03"
    rows.loc[: COUNT - last - 1, "date"] = "2023-04-03"
    assert not messages(handed_in(tmp_path, rows), "date-doubtful")


def test_joints_looked_at_again_years_later_have_no_slip_of_the_year(tmp_path):
    rows = log(day=dt.date(2022, 4, 20))
    again = rows[5:9].assign(date="2026-04-21")
    assert not messages(handed_in(tmp_path, pd.concat([rows, again])), "date-doubtful")


def test_sizes_against_the_outside_diameter_and_what_was_laid(tmp_path):
    """AWWA C151 (from memory): 12 in pipe is 13.20 in across, 6 in pipe 6.90 in."""
    rows = log(size="6", **{"outside diameter": "13.2", "kind": "pipe"})
    rows.loc[5, "outside diameter"] = "6.9"
    rows.loc[5, "kind"] = '12" pipe'
    told = messages(handed_in(tmp_path, rows), "entry-doubtful")
    assert len(told) == COUNT
    assert sum("is that of 12 in pipe" in one for one in told) == COUNT - 1
    assert sum("size 6 in, and what was laid is of 12 in" in one for one in told) == 1
    # Iron pipe sizes, a tee of two sizes and a length in feet contradict nothing.
    rows = log(**{"outside diameter": "13.2", "kind": "pipe"})
    rows.loc[[5, 6, 7], "outside diameter"] = "12.75"
    rows.loc[[8, 9], "kind"] = '12" x 8" tee', "20' pipe"
    assert not messages(handed_in(tmp_path, rows), "entry-doubtful")


def two_meanings(folder):
    first = log()[:20].rename(columns={"joint type": "JT"})
    second = log()[20:].rename(columns={"joint": "No", "joint type": "Joint"})
    return book(folder / "log.xlsx", A=first.rename(columns={"joint": "Joint"}), B=second)


def test_a_name_that_means_another_thing_on_each_sheet(tmp_path):
    path = two_meanings(tmp_path)
    with pytest.raises(asbuilt.AsbuiltError, match=r"could each be joint; .*: records\.columns\.joint = 1"):
        placed(tmp_path, path, sheet="*")
    with pytest.raises(asbuilt.AsbuiltError, match=r"sheet 'B': column 'Joint' .* holds joint_type .*\[\"Joint\", "):
        placed(tmp_path, path, sheet="*", columns={"joint": "Joint"})
    found = placed(tmp_path, path, sheet="*", columns={"joint": 1})
    assert any(
        "column 'Joint', though it holds joint_type" in one and one.endswith("records.columns.joint_type = 4")
        for one in notes(found, "log-read")
    )
    for joint in (1, ["Joint", "No"]):
        found = placed(tmp_path, path, sheet="*", columns={"joint": joint, "joint_type": ["JT", "Joint"]})
        assert found.joints["joint"].tolist() == [str(at + 1) for at in range(COUNT)]
        assert found.joints["joint_type"].eq("push-on").all()


def test_a_bend_in_the_jobs_words_keeps_its_angle(tmp_path):
    rows = log(kind="pipe")
    rows.loc[[10, 20, 30], "kind"] = "Bogen 30", "Bogen 22,5°", "Bogen 12"
    words = {"kind": {"Bogen 30": "bend", "Bogen 22,5°": "bend", "Bogen 12": "bend"}}
    found = handed_in(tmp_path, rows, words=words)
    assert found.inspections["bend_angle"].dropna().tolist() == [30.0, 22.5]
    # 12 is the size.
    assert found.findings.loc[found.findings["code"] == "bend-angle-missing", "joint"].tolist() == ["31"]


def test_a_size_in_the_other_unit_names_the_key(tmp_path):
    told = messages(handed_in(tmp_path, log(size="300 mm")), "field-unreadable")
    assert len(told) == COUNT
    assert 'where those of the log are in millimetres, say records.size_unit = "mm"' in told[0]


def test_the_sum_of_the_pipes_laid_names_joints_out_of_order(tmp_path):
    rows = log(**{"laid length": "20.00"})
    rows.loc[20, ["station", "laid length"]] = station(430.0), ""
    (text,) = notes(handed_in(tmp_path, rows), "lengths-differ")
    assert "1 joint stands out of order there" in text
    assert "look for joints" not in text


@pytest.mark.parametrize("word", ["REJECTED", "rej.", "failed, ok 2nd time", "no - fixed", "NG", "not seated", "nein"])
def test_words_for_what_failed_are_a_failed_inspection(tmp_path, word):
    rows = log()
    rows.loc[7, "gauge"] = word
    assert messages(handed_in(tmp_path, rows), "inspection-failed") == ["did not pass: gauge"]


@pytest.mark.parametrize("word", ["N/A", "-", "none", "not checked", "see note"])
def test_words_that_say_nothing_of_an_item_are_neither_passed_nor_failed(tmp_path, word):
    rows = log()
    rows.loc[7, "gauge"] = word
    found = handed_in(tmp_path, rows)
    assert not messages(found, "inspection-failed")
    assert messages(found, "field-unreadable") == [f"gauge: '{word}' cannot be read; it is taken as blank"]


def test_a_failure_among_names_and_numbers_is_told(tmp_path):
    rows = log()
    rows.loc[7, "inspector"], rows.loc[9, "joint"], rows.loc[11, "inspector"] = "FAILED", "VOID", "N. Redou"
    told = messages(handed_in(tmp_path, rows), "remark-to-read")
    assert len(told) == 2
    assert '"inspector: FAILED"' in told[0]
    assert '"joint: VOID"' in told[1]


def test_a_mark_is_nobodys_name(tmp_path):
    rows = log()
    rows.loc[5:9, "inspector"] = "|"
    found = handed_in(tmp_path, rows)
    assert len(messages(found, "inspection-missing")) == 5
    assert found.inspections["inspector"].isna().sum() == 5


def test_a_row_of_another_table_has_no_joint_number(tmp_path):
    rows = log()
    more = pd.DataFrame([dict.fromkeys(rows.columns, "") | {"joint": "0+00", "station": "7+80", "size": "150"}])
    told = messages(handed_in(tmp_path, pd.concat([rows, more])), "field-unreadable")
    assert told == ["joint: '0+00' cannot be read; it is taken as blank"]
    by_station = handed_in(tmp_path, rows.assign(joint=rows["station"]))
    assert by_station.joints["joint"].tolist() == rows["station"].tolist()


def test_cells_beside_their_columns_are_told_with_their_rows(tmp_path):
    rows = log(kind="pipe", **{"laid length": "20.00"})
    names = ["joint type", "kind", "laid length", "date"]
    rows.loc[20:, names] = [["12", "push-on", "pipe", "2"]] * (COUNT - 20)
    (text,) = notes(handed_in(tmp_path, rows), "cells-shifted")
    assert "log.csv rows 22 to 41" in text
    assert "kind 'push-on'" in text
    # Words of the log's own in a whole column shift nothing.
    foreign = log(kind="Rohr", gauge="nach Plan", **{"gasket temp": "kalt"})
    assert not notes(handed_in(tmp_path, foreign), "cells-shifted")


def test_two_tables_side_by_side_are_refused(tmp_path):
    sheet = openpyxl.Workbook()
    rows = log()
    left, right = rows[:20].to_numpy().tolist(), rows[20:].to_numpy().tolist()
    for row in [
        [*rows.columns, None, *rows.columns],
        *([*one, None, *other] for one, other in zip(left, right, strict=True)),
    ]:
        sheet.active.append(row)
    sheet.save(tmp_path / "log.xlsx")
    with pytest.raises(asbuilt.AsbuiltError, match="stand twice, as of two tables side by side"):
        placed(tmp_path, "log.xlsx")


def test_points_for_plus_throughout_are_refused(tmp_path):
    rows = log()
    rows["station"] = [f"{0.2 * at:.2f}" for at in range(COUNT)]
    with pytest.raises(asbuilt.AsbuiltError, match=r"0\.2 ft apart, a part in 100 .* \(7\.8 for 7\+80\.00\)"):
        handed_in(tmp_path, rows)


def test_a_station_from_one_place_to_another_is_asked_for_one(tmp_path):
    rows = log()
    rows["station"] = [f"{station(20.0 * at)} - {station(20.0 * at + 20.0)}" for at in range(COUNT)]
    with pytest.raises(asbuilt.AsbuiltError, match="two stations stand in it; write the one at which the joint lies"):
        handed_in(tmp_path, rows)


def test_a_log_of_names_alone_has_no_records(tmp_path):
    with pytest.raises(asbuilt.AsbuiltError, match="there are no records in it"):
        handed_in(tmp_path, log(kind="pipe", crew="2")[:0])
