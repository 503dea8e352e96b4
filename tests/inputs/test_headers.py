"""Column names as crews write them: known, asked about, and what their cells say against their names."""

import re

import pandas as pd
import pytest
from laying import EAST, NORTH, lines, log, pipe, place

import asbuilt
from asbuilt.inputs.fields import DOUBTFUL_NAMES, FIELD_NAMES
from asbuilt.inputs.header_units import unit_said
from asbuilt.inputs.headers import match_columns

POINTS = pipe([0] * 7)

HEADERS = {
    # Joint logs of the United States and Canada.
    "Sta.": "station", "STA (ft)": "station",
    "Station_ft": "station", "Jt. Sta.": "station", "Joint Station": "station",
    "Jt #": "joint", "Jnt No.": "joint", "Joint ID": "joint", "Jt. Num": "joint",
    "Lay Lgth (ft)": "laid_length", "Laid Len.": "laid_length", "Lay Length, ft": "laid_length",
    "Length_ft": "laid_length", "Pipe Lgth": "laid_length",
    "Ins. Mark": "insertion_mark", "Insertion Mark OK": "insertion_mark", "Home to Mark (Y/N)": "insertion_mark",
    "Pushed Home": "insertion_mark", "Inserted to mark": "insertion_mark",
    "Lube OK": "lubricated", "Lubricant Applied": "lubricated", "Lubrication": "lubricated", "Lube (Y/N)": "lubricated",
    "Checked by": "inspector", "Insp. Initials": "inspector", "Inspector Name": "inspector", "Verified By": "inspector",
    "Feeler gauge ok": "gauge", "Feeler Gage OK": "gauge", "Gauge Check": "gauge", "Gauge checked": "gauge",
    "Bell Clean OK": "groove_clean", "Clean bell": "groove_clean", "Spigot Clean OK": "spigot_clean",
    "Clean Spigot": "spigot_clean", "Gasket Clean OK": "gasket_clean", "Gasket Set": "gasket_seated",
    "Gasket in place": "gasket_seated", "Gsk. Temp (F)": "gasket_temperature", "Gasket_Temp_F": "gasket_temperature",
    "Nom. Size": "size", "Pipe Dia. (in)": "size", "Diam.": "size", "Press. Class": "pipe_class",
    "Restrained Joint (Y/N)": "restrained", "RJ (Y/N)": "restrained", "Bolts Torqued (ft-lbs)": "bolt_torque",
    "T-bolt torque": "bolt_torque", "Date Installed": "inspected_on", "Install Date": "inspected_on",
    "Date checked": "inspected_on", "Insp. Date": "inspected_on", "Foreman": "crew", "Crew Foreman": "crew",
    "Laid by": "crew", "Photo #": "photo", "Photo file": "photo", "Field notes": "remarks",
    "T.O.P. Elev": "elevation", "Top of Pipe Elev. (ft)": "elevation", "Latitude": "northing", "Longitude": "easting",
    "Lat": "northing", "Long.": "easting", "Main ID": "route", "Water main": "route", "Fitting Type": "kind",
    # The United Kingdom, Ireland, Australia, New Zealand, South Africa, India.
    "Chainage (m)": "station", "Ch.": "station", "Chge": "station", "Pipe Ch": None, "Joint Chainage": "station",
    "Jointing Type": "joint_type", "Socket clean": "groove_clean", "Clean socket": "groove_clean",
    "Ring seated": "gasket_seated", "Ring clean": "gasket_clean", "Greased": "lubricated", "Ganger": "crew",
    "Gang No": "crew", "Nominal bore": "size", "DN": "size", "R.L. (m)": "elevation", "Reduced Level": "elevation",
    "Effective length": "laid_length", "Date of laying": "inspected_on", "Angle of bend": "bend_angle",
    "Offset (L/R)": "offset", "Offset from CL": "offset", "Witnessed by": "inspector", "Pipeline": "route",
    "Eastings": "easting", "Northings": "northing", "Class of pipe": "pipe_class", "Fully home": "insertion_mark",
}  # fmt: skip
"""Names, and the field that each is read as; None where nothing is. Common practice, no source."""


@pytest.mark.parametrize(("name", "field"), HEADERS.items())
def test_names_that_crews_write_are_known(name, field):
    found = match_columns([name], FIELD_NAMES, {}, where="log.csv", key="records.columns")
    assert found == ({} if field is None else {field: name})


WITH_UNITS = {
    "Gasket temp F": ("gasket_temperature", "F"), "Gasket temp (°F)": ("gasket_temperature", "F"),
    "Temp. gasket degF": ("gasket_temperature", "F"), "Gasket temp., deg. F": ("gasket_temperature", "F"),
    "Gasket temp in F": ("gasket_temperature", "F"), "gasket_temp_degC": ("gasket_temperature", "C"),
    "Ring temperature Celsius": ("gasket_temperature", "C"), "Temp-C": ("gasket_temperature", "C"),
    "Gap 12 in": ("gap_12", "in"), "Gap 12 inches": ("gap_12", "in"), "Gap (mm) 12": ("gap_12", "mm"),
    'Gap 12"': ("gap_12", "in"), "Gap at 3 o'clock (in)": ("gap_3", "in"), "9 o'clock gap mm": ("gap_9", "mm"),
    "Gap to mark (in) 12": ("gap_12", "in"), "Gap reading 9 (mm)": ("gap_9", "mm"), "Gap to mark": (None, None),
    "Gap 10:00 in": ("gap_10", "in"), "1:00 gap": ("gap_1", None), "Feeler 6 mm": ("gauge_6", "mm"),
    "Gauge depth 3 (in)": ("gauge_3", "in"), "Laid len. (ft)": ("laid_length", "ft"),
    "Laid len. ft": ("laid_length", "ft"),
    "Length LF": ("laid_length", "ft"), "Length in feet": ("laid_length", "ft"), "Chainage m": ("station", "m"),
    "Sta. ft": ("station", "ft"), "Offset (m) R": (None, None), "Elev ft": ("elevation", "ft"), "E m": ("easting", "m"),
    "Northing US survey feet": ("northing", "ft"), "Pipe size in": ("size", "in"), "DN mm": ("size", "mm"),
    "O.D. in": ("outside_diameter", "in"), "Bolt torque ft lbs": ("bolt_torque", "ft-lb"),
    "Torque N m": ("bolt_torque", "N-m"), "Bend angle degrees": ("bend_angle", None),
    # Words that look like units behind names of what has none.
    "Spigot in": (None, None), "Date in": (None, None), "Home in": (None, None), "Crew C": (None, None),
    "Inspector F": (None, None), "Line M": (None, None), "Elm": (None, None), "Run in": (None, None),
}  # fmt: skip
"""Names with units, the field that each is read as, and the unit; common practice, no source."""


@pytest.mark.parametrize(("name", "field", "unit"), [(name, *read) for name, read in WITH_UNITS.items()])
def test_a_unit_behind_a_name_is_no_part_of_it(name, field, unit):
    found = match_columns([name], FIELD_NAMES, {}, where="log.csv", key="records.columns")
    assert found == ({} if field is None else {field: name})
    assert field is None or unit_said(name, field) == unit


@pytest.mark.parametrize(
    ("column", "said"),
    [("Gasket temp C", "says C, but gasket_temperature is read in F"),
     ("Gap 12 mm", "says mm, but gap_12 is read in in"),
     ("Offset m", "says m, but offset is read in ft"), ("Torque N m", "says N-m, but bolt_torque is read in ft-lb")],
)  # fmt: skip
def test_a_unit_behind_a_name_is_held_against_the_job(column, said):
    records = log(POINTS).drop(columns="gasket temp")
    with pytest.raises(asbuilt.JobFileError, match=said):
        place(lines(A=POINTS), records.assign(**{column: "2.0"}))


def test_no_name_means_two_fields():
    every = [name for names in FIELD_NAMES.values() for name in names]
    assert len(every) == len(set(every))
    assert not set(every) & set(DOUBTFUL_NAMES)
    assert all(len(fields) > 1 and set(fields) <= set(FIELD_NAMES) for fields in DOUBTFUL_NAMES.values())


@pytest.mark.parametrize("name", ["By", "Initials", "X", "Line No.", "Gasket OK", "Description"])
def test_a_name_that_could_mean_two_things_is_asked_about_and_not_guessed(name):
    records = log(POINTS).drop(columns="inspector").assign(**{name: "12"})
    placement = place(lines(A=POINTS), records.drop(columns="joint"))
    (said,) = [one.text for one in placement.notes if repr(name) in one.text]
    assert "could be" in said
    assert "nothing is read from it" in said
    assert ("the records data", name) in placement.log.not_read


def test_the_plainer_of_two_names_is_taken():
    placement = place(lines(A=POINTS), log(POINTS).assign(**{"Checked by": "someone else"}))
    assert set(placement.inspections["inspector"]) == {"R. Vance"}


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"joint": ["push-on", "MJ", "push-on"] * 3}, r"'joint' is named like joint, but holds joint_type \('push"),
        ({"joint": ["pipe", "bend", "pipe"] * 3}, r"'joint' is named like joint, but holds kind"),
        ({"type": ["pipe", "22.5 bend", "tee"] * 3}, r"'type' is named like joint_type, but holds kind"),
        ({"type": ["CL 350", "CL 350", "Class 52"] * 3}, r"'type' is named like joint_type, but holds pipe_class"),
        ({"item": ["MJ", "PO", "MJ"] * 3}, r"'item' is named like kind, but holds joint_type"),
    ],
)  # fmt: skip
def test_a_column_that_holds_another_thing_than_its_name_says_is_asked_about(columns, message):
    (name, cells), *_ = columns.items()
    records = log(POINTS).drop(columns=["joint", "joint type"])
    records[name] = cells[: len(records)]
    records = records.rename(columns={name: name})
    with pytest.raises(asbuilt.JobFileError, match=message):
        place(lines(A=POINTS), records)


def test_the_job_says_what_the_column_holds():
    records = log(POINTS).drop(columns=["joint", "joint type"])
    records["Joint"] = ["push-on", "MJ", "push-on"] * 3
    placement = place(lines(A=POINTS), records, records={"columns": {"joint_type": "Joint"}})
    assert placement.joints["joint_type"].tolist()[:2] == ["push-on", "mechanical"]


def test_latitude_and_longitude_are_asked_for_their_system():
    records = log(POINTS, Latitude=38.9, Longitude=-121.1)
    with pytest.raises(
        asbuilt.JobFileError, match=r"'Longitude' and 'Latitude' are degrees; .*records\.crs = \"EPSG:4326"
    ):
        place(lines(A=POINTS), records)
    placement = place(lines(A=POINTS), records, records={"use_coordinates": False})
    assert set(placement.joints["position_source"]) == {"station"}


def test_a_unit_behind_an_underscore_is_held_against_the_job(tmp_path):
    with pytest.raises(asbuilt.JobFileError, match=r"column 'Station_m' says m, but station is read in ft"):
        place(lines(A=POINTS), log(POINTS).rename(columns={"station": "Station_m"}))


@pytest.mark.parametrize(("name", "field"), [("Pipe No", "joint"), ("By", "inspector")])
def test_a_name_is_asked_about_too_where_one_of_its_two_fields_has_a_column(name, field):
    records = log(POINTS).drop(columns=["joint", "inspector"])
    records = records.assign(**{"route": "A", "crew": "K1", name: "12"})
    placement = place(lines(A=POINTS), records)
    (said,) = [one.text for one in placement.notes if repr(name) in one.text]
    assert f"could be {field}: nothing is read from it; if it is, say records.columns.{field} = {name!r}" in said


@pytest.mark.parametrize("empty", ["", None])
def test_columns_of_degrees_that_nobody_filled_are_no_reason_to_refuse(empty):
    placement = place(lines(A=POINTS), log(POINTS, Latitude=empty, Longitude=empty))
    assert set(placement.joints["position_source"]) == {"station"}


@pytest.mark.parametrize(
    ("column", "field", "plainer"),
    [("Stat", "station", "station"), ("Temp (F)", "gasket_temperature", "Gasket temp (F)"),
     ("Wall class", "pipe_class", "Pressure class"), ("Fitting type", "kind", "Item"), ("Joint ref", "joint", "Jt #")],
)  # fmt: skip
def test_a_name_that_may_be_of_something_else_gives_way_to_a_plainer_one(column, field, plainer):
    found = match_columns([column, plainer], FIELD_NAMES, {}, where="log.csv", key="records.columns")
    assert found == {field: plainer}


# Days that stand in no column. ---------------------------------------------------------------------------------------


def _job(folder, **records):
    return asbuilt.Job.from_mapping(
        {"name": "A", "crs": "EPSG:6418", "centerline": {"start_station": 0}, "limits": {"table": "awwa-c600"},
         "records": {"station_unit": "us-ft", "laying_length": 20.0, **records}},
        folder=folder,
    )  # fmt: skip


def test_sheets_that_are_named_like_days_are_told_where_their_records_have_no_date(tmp_path):
    records = log(POINTS).drop(columns="date")
    names = ["Mon 3 Nov", "Nov 4", "2026-11-05"]
    with pd.ExcelWriter(tmp_path / "log.xlsx") as book:
        for at, name in enumerate(names):
            records.iloc[3 * at : 3 * at + 3].to_excel(book, sheet_name=name, index=False)
        records.iloc[:3].to_excel(book, sheet_name="4 Market St", index=False)
        pd.DataFrame({"a": ["notes"]}).to_excel(book, sheet_name="Monument St", index=False)
    job = _job(tmp_path, path="log.xlsx", sheet="*")
    placement = asbuilt.place(job, centerline=lines(A=POINTS))
    told = [one.text for one in placement.notes if "named like a day" in one.text]
    assert [name in text for name, text in zip(names, told, strict=True)] == [True] * 3
    assert all("add the date as a column" in text for text in told)


def test_what_stands_above_the_column_names_is_shown(tmp_path):
    text = log(POINTS).drop(columns="date").to_csv(index=False)
    (tmp_path / "log.csv").write_text(f"Joint log of Quarry Lane,,,\nDate:,3 Nov 2026,,\n\n{text}")
    placement = asbuilt.place(_job(tmp_path, path="log.csv"), centerline=lines(A=POINTS))
    (said,) = [one.text for one in placement.notes if "above the column names" in one.text]
    assert "'Joint log of Quarry Lane'; 'Date: 3 Nov 2026'; what they say of date or route" in said


# Columns of the survey. ----------------------------------------------------------------------------------------------


def _shots(folder, **columns):
    table = pd.DataFrame({"Pt": range(1, 10), "N": POINTS[:, 1], "E": POINTS[:, 0], **columns})
    table.to_csv(folder / "shots.csv", index=False)
    job = _job(folder).model_dump(exclude_unset=True)
    job["centerline"] = {"path": "shots.csv", "start_station": 0}
    return asbuilt.place(asbuilt.Job.from_mapping(job, folder=folder), records=log(POINTS))


def test_columns_of_the_survey_are_listed_as_read_and_not_read(tmp_path):
    routes = _shots(tmp_path, Elev=50.0, Rod=5.2).routes
    path = str(tmp_path / "shots.csv")
    assert set(routes.matches) == {
        (path, "point", "Pt"), (path, "northing", "N"), (path, "easting", "E"), (path, "elevation", "Elev"),
    }  # fmt: skip
    assert routes.not_read == ((path, "Rod"),)


@pytest.mark.parametrize("name", ["Top_RL", "Crown elev", "Ortho height", "Z top"])
def test_a_column_that_looks_like_elevations_is_named_where_none_is_read(tmp_path, name):
    placement = _shots(tmp_path, **{name: 50.0, "Code": "WM"})
    (said,) = [one.text for one in placement.notes if "looks like one" in one.text]
    assert f'{name!r} looks like one; if it is, say centerline.columns.elevation = "{name}"' in said


def test_an_elevation_with_its_unit_behind_an_underscore_is_read(tmp_path):
    heights = [50.0 + 0.1 * at for at in range(9)]
    placement = _shots(tmp_path, Elev_ft=heights)
    assert placement.joints["elevation"].tolist() == pytest.approx(heights)
    assert placement.joints[["easting", "northing"]].values[0].tolist() == [EAST, NORTH]


def test_the_encoding_of_a_workbook_has_no_effect_and_that_is_said(tmp_path):
    log(POINTS).to_excel(tmp_path / "log.xlsx", index=False)
    pd.DataFrame({"Pt": range(1, 10), "N": POINTS[:, 1], "E": POINTS[:, 0]}).to_excel(tmp_path / "s.xlsx", index=False)
    job = _job(tmp_path, path="log.xlsx").model_dump(exclude_unset=True)
    job["records"]["encoding"] = "cp1252"
    job["centerline"] = {"path": "s.xlsx", "start_station": 0}
    placement = asbuilt.place(asbuilt.Job.from_mapping(job, folder=tmp_path))
    assert any("records.encoding has no effect" in note.text for note in placement.notes)
    job["centerline"]["encoding"] = "cp1252"
    with pytest.raises(asbuilt.JobFileError, match=r"centerline\.encoding: .* is a workbook, .*; remove this key"):
        asbuilt.place(asbuilt.Job.from_mapping(job, folder=tmp_path))


@pytest.mark.parametrize(
    ("column", "replaced", "said"),
    [
        ("Laid length (yd)", "laid length", "says yd, but laid_length is read in feet"),
        ("OD (cm)", "outside diameter", "says cm, but outside_diameter is read in inches"),
        ("Gap 12 (ft)", "gap 12", "says ft, but gap_12 is read in inches"),
        ("Gasket temp (K)", "gasket temp", "says K, but gasket_temperature is read in °F"),
        ("Torque (in-lb)", "bolt torque", "says in-lb, but bolt_torque is read in ft-lb"),
    ],
)
def test_a_column_in_a_unit_that_nothing_is_read_in_is_refused(column, replaced, said):
    records = log(pipe([0.0] * 4)).drop(columns=replaced, errors="ignore")
    records[column] = "20"
    with pytest.raises(asbuilt.JobFileError, match=re.escape(f"the records data: column {column!r} {said}")):
        place(lines(A=pipe([0.0] * 4)), records)


@pytest.mark.parametrize("column", ["Laid length (est)", "Laid length (LF)", "Laid length (ft)", "Laid length (min)"])
def test_other_words_in_brackets_are_no_unit(column):
    records = log(pipe([0.0] * 4))
    records[column] = "20"
    assert place(lines(A=pipe([0.0] * 4)), records).counts["joints"] == 6


def test_a_value_for_the_whole_log_that_cannot_be_read_is_refused_by_its_key():
    with pytest.raises(asbuilt.JobFileError, match=r"records.fixed.outside_diameter: '33 cm' cannot be read in inches"):
        place(lines(A=pipe([0.0] * 4)), log(pipe([0.0] * 4)), records={"fixed": {"outside_diameter": "33 cm"}})


def test_a_value_for_the_whole_log_beside_a_column_is_told_to_have_no_effect():
    placement = place(lines(A=pipe([0.0] * 4)), log(pipe([0.0] * 4)), records={"fixed": {"size": "16"}})
    assert ["records.fixed.size has no effect" in note.text for note in placement.notes].count(True) == 1
