"""The job file: validated whole, with every problem named at once."""

import re
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from asbuilt import cli
from asbuilt.errors import JobFileError
from asbuilt.job import Job, load_job, template

SAMPLE = Path(__file__).parent.parent / "sample_gis"
GOOD: dict[str, Any] = {"name": "t", "centerline": {}, "records": {"station_unit": "us-ft", "laying_length": 20.0}}


def refused(values):
    with pytest.raises(JobFileError) as caught:
        Job.from_mapping(values, source="job.toml")
    return str(caught.value)


def test_every_problem_is_reported_at_once_with_its_key():
    message = refused(
        {
            "crs": 3,
            "centerlin": {},
            "centerline": {"layr": "a", "equations": [{"back": 1}], "columns": {"eastng": "E"}},
            "records": {"station_unit": "yard", "laying_length": -2, "columns": {"sttion": "x"}},
            "inspection": {"required": ["insp"], "laid_from": "2026-05-01", "laid_to": "2026-01-01"},
        }
    )
    for part in (
        "job.toml: 10 problems in the job file",
        "name: this key is required; add it",
        "crs: input should be a valid string (given: 3)",
        "centerlin: unknown key; did you mean 'centerline'?",
        "centerline.layr: unknown key; did you mean 'layer'?",
        "centerline.equations (no. 1).ahead: this key is required",
        "centerline.columns.eastng: unknown field; did you mean 'easting'?",
        "records.station_unit: 'yard' is not one of 'us-ft', 'ft' or 'm'",
        "records.laying_length: input should be greater than 0 (given: -2)",
        "records.columns.sttion: unknown field; did you mean 'station'?",
        "inspection.required (no. 1): there is no field 'insp'; did you mean 'inspector'?",
    ):
        assert part in message


def test_keys_that_are_numbers_are_told_as_they_stand():
    message = refused(GOOD | {"records": GOOD["records"] | {"5": 1, "9" * 5000: 1}})
    assert "records.5: unknown key" in message
    assert f"records.{'9' * 80}: unknown key" in message


@pytest.mark.parametrize(
    ("table", "key", "told"),
    [
        ("centerline", "crs", "centerline.crs: unknown key; it stands above the first table"),
        ("records", "route_name", "records.route_name: unknown key; it stands in [centerline]"),
    ],
)
def test_a_key_of_another_table_is_told_where_it_stands(table, key, told):
    assert told in refused(GOOD | {table: GOOD[table] | {key: "x"}})


def test_dates_of_laying_must_be_in_order():
    message = refused(GOOD | {"inspection": {"laid_from": "2026-05-01", "laid_to": "2026-01-01"}})
    assert "inspection: laid_from is later than laid_to; exchange the two dates" in message


@pytest.mark.parametrize("length", [0, -1, "long", None, float("nan"), float("inf")])
def test_a_laying_length_that_is_none_is_refused(length):
    assert "records.laying_length" in refused(GOOD | {"records": {"station_unit": "m", "laying_length": length}})


def test_an_absent_laying_length_is_refused():
    assert "records.laying_length: this key is required" in refused(GOOD | {"records": {"station_unit": "m"}})


def test_a_job_file_that_is_not_there_or_not_toml_is_named(tmp_path):
    with pytest.raises(JobFileError, match=r"nowhere\.toml: there is no such file.*--template"):
        load_job(tmp_path / "nowhere.toml")
    with pytest.raises(JobFileError, match="this is a folder"):
        load_job(tmp_path)
    (tmp_path / "bad.toml").write_text("name = \n")
    with pytest.raises(JobFileError, match=r"bad\.toml: this is not valid TOML: .*line 1"):
        load_job(tmp_path / "bad.toml")
    (tmp_path / "bad.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(JobFileError, match="not a text file in UTF-8"):
        load_job(tmp_path / "bad.toml")


def test_paths_are_relative_to_the_job_file(tmp_path):
    folder = tmp_path / "contract"
    folder.mkdir()
    (folder / "job.toml").write_text(template(), "utf-8")
    assert load_job(folder / "job.toml").file("joint_log.xlsx") == folder / "joint_log.xlsx"


def test_the_template_is_a_job_with_every_key_in_it():
    Job.from_mapping(tomllib.loads(template()))
    uncommented = re.sub(r"^# (?=[a-z_\"]+ = |\[)", "", template(), flags=re.MULTILINE)
    Job.from_mapping(tomllib.loads(uncommented))
    schema = Job.model_json_schema()
    keys = set(schema["properties"]) | {key for part in schema["$defs"].values() for key in part.get("properties", ())}
    assert {key for key in keys if not re.search(rf"\b{key}\b", template())} == set()


def test_a_job_keeps_its_text_for_the_record(tmp_path):
    path = Path(tmp_path / "job.toml")
    path.write_text(template(), "utf-8")
    assert load_job(path).text == template()


def test_a_log_named_twice_is_refused():
    message = refused(GOOD | {"records": GOOD["records"] | {"path": ["a.csv", "a.csv"]}})
    assert "records: path names a.csv twice; name each file once" in message


@pytest.mark.parametrize("number", [float("nan"), float("inf"), -float("inf"), 1e308])
def test_no_key_takes_a_number_that_is_none(number):
    taken = [
        ("centerline", "combined_factor"), ("centerline", "max_closure_ppm"), ("centerline", "sigma_horizontal"),
        ("centerline", "sigma_vertical"), ("centerline", "wall_thickness"), ("centerline", "start_station"),
        ("records", "laying_length"), ("records", "sigma_station"), ("records", "position_tolerance"),
        ("records", "spacing_tolerance"), ("records", "station_tolerance"), ("limits", "fraction"),
        ("limits", "confidence"), ("inspection", "sigma_reading"), ("inspection", "gauge_spread"),
        ("inspection", "min_gasket_temperature_f"),
    ]  # fmt: skip
    tables = {
        "centerline": {},
        "records": {"station_unit": "us-ft", "laying_length": 20},
        "limits": {},
        "inspection": {},
    }
    for table, key in taken:
        values: dict[str, Any] = {"name": "Quarry Lane", **{name: dict(rows) for name, rows in tables.items()}}
        values[table][key] = number
        with pytest.raises(JobFileError, match=rf"{table}\.{key}"):
            Job.from_mapping(values)
    for key in ("easting", "northing", "station"):
        tie = {"station": 1.0, "easting": 1.0, "northing": 1.0, key: number}
        with pytest.raises(JobFileError, match=rf"centerline\.ties \(no\. 1\)\.{key}"):
            Job.from_mapping({"name": "Quarry Lane", **tables, "centerline": {"ties": [tie]}})


@pytest.mark.parametrize(("unit", "length"), [("m", 0.05), ("m", 101.0), ("ft", 0.3), ("us-ft", 400.0)])
def test_a_laying_length_is_a_length_of_pipe(unit, length):
    with pytest.raises(
        JobFileError, match=r"laying_length .* is not a length in which pipe is laid .*; correct it, or station_unit"
    ):
        Job.from_mapping(
            {"name": "Quarry Lane", "centerline": {}, "records": {"station_unit": unit, "laying_length": length}}
        )


def test_a_key_that_was_renamed_says_its_new_name():
    with pytest.raises(JobFileError, match=r"centerline\.grid_factor: this key is now called combined_factor; rename"):
        Job.from_mapping(
            {
                "name": "Quarry Lane",
                "centerline": {"grid_factor": 0.9999},
                "records": {"station_unit": "m", "laying_length": 6.0},
            }
        )


def test_a_job_written_with_backslashes_reads_and_writes_what_it_names(tmp_path):
    for name in ("centerline.gpkg", "joint_log_repair.csv", "allowables.csv"):
        (tmp_path / "from office").mkdir(exist_ok=True)
        shutil.copy(SAMPLE / name, tmp_path / "from office" / name)
    text = (SAMPLE / "job_repair.toml").read_text("utf-8")
    job = tmp_path / "job.toml"
    text, many = re.subn(r'^(path|project) = "(.*)"', r"\1 = 'from office\\\2'", text, flags=re.MULTILINE)
    job.write_text(text, "utf-8")
    assert many == 4
    assert cli.run(["place", str(job)]) in (0, 1)
    assert {one.name for one in tmp_path.iterdir()} == {"from office", "job.toml"}
    assert (tmp_path / "from office" / "joints_repair.gpkg").is_file()


def test_a_file_whose_name_holds_a_backslash_is_that_file(tmp_path):
    (tmp_path / "a\\b.csv").touch()
    job = Job.from_mapping(GOOD, folder=tmp_path)
    assert (job.file("a\\b.csv"), job.file("a\\c.csv")) == (tmp_path / "a\\b.csv", tmp_path / "a" / "c.csv")
