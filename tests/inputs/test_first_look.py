"""A log's file looked at before there is a job, and rows of it taken by their numbers."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from asbuilt import place
from asbuilt.cli import run
from asbuilt.errors import JobFileError
from asbuilt.inputs.centerline import read_centerline
from asbuilt.inputs.first_look import look
from asbuilt.inputs.log import read_log
from asbuilt.job import Job, load_job

LOG = 'Crew 2,,\n,,\nSta.,Jt,Notes\n10+00,1,"two\nlines"\n\n10+20,2,\n,,\n10+40,3,\n10+60,4,\n'
"""Column names in row 3, a cell of two lines, two blank rows: records in rows 4, 6, 8 and 9."""


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(LOG)
    return path


def job_of(log, more=""):
    path = log.parent / "job.toml"
    path.write_text(
        f'name = "J"\n[centerline]\npath = "line.csv"\n[records]\npath = "{log.name}"\nstation_unit = "ft"\n'
        f"laying_length = 20\n{more}"
    )
    return path


def test_a_first_look_finds_the_names_what_they_mean_and_the_rows(log):
    found = look(log)
    assert (found.header_row, found.columns) == (3, ("Sta.", "Jt", "Notes"))
    assert found.fields == {"joint": "Jt", "station": "Sta.", "remarks": "Notes"}
    assert found.rows == ("4", "6", "8-9")


def test_a_field_that_two_columns_could_be_is_doubtful(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("Station,Sta,Joint\n10+00,10+00,1\n")
    found = look(path)
    assert found.doubtful == {"station": ["Station", "Sta"]}
    assert "station" not in found.fields


def test_the_command_says_it_as_json_and_in_words(log, capsys):
    assert run(["columns", str(log), "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["files"]
    assert told["rows"] == ["4", "6", "8-9"]
    assert run(["columns", str(log)]) == 0
    assert "column names in row 3; rows 4, 6, 8-9" in capsys.readouterr().out
    assert run(["columns", str(log.parent / "none.csv")]) == 2


def test_rows_named_keep_their_numbers_and_the_file_its_digest(log):
    whole, part = read_log(load_job(job_of(log))), read_log(load_job(job_of(log, 'rows = ["6-7", "9"]')))
    assert whole.row.tolist() == [4, 6, 8, 9]
    assert part.row.tolist() == [6, 9]
    assert part.text("joint").to_pylist() == ["2", "4"]
    assert part.inputs == whole.inputs
    assert any("2 of 4 rows are taken" in note for note in part.notes)


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ('rows = "5"', "has no record in row 5"),
        ('rows = ["6", "10-20"]', "has no record in rows 10 to 20"),
        ('rows = "9-6"', "'9-6' ends before it begins"),
        ('rows = "six"', "records.rows"),
        ('rows = "6"\npath = ["a.csv", "b.csv"]', "rows are those of one file"),
    ],
)
def test_rows_that_are_not_there_are_named(log, rows, message):
    text = job_of(log, rows)
    if "path" in rows:
        text.write_text(text.read_text().replace(f'path = "{log.name}"\n', ""))
    with pytest.raises(JobFileError, match=message):
        read_log(load_job(text))


def test_rows_of_a_point_layer_keep_their_points(tmp_path):
    import geopandas as gpd
    import shapely

    line = gpd.GeoDataFrame(geometry=[shapely.LineString([(6.7e6, 2.1e6), (6.7e6, 2.1e6 + 400)])], crs=6418)
    line.to_file(tmp_path / "line.gpkg", layer="line")
    points = gpd.GeoDataFrame(
        {"joint": list("abcd")}, geometry=shapely.points(np.full(4, 6.7e6), 2.1e6 + np.arange(4) * 20.0), crs=6418
    )
    points.to_file(tmp_path / "log.gpkg", layer="log")
    job = tmp_path / "job.toml"
    job.write_text(
        'name = "J"\n[centerline]\npath = "line.gpkg"\n[records]\npath = "log.gpkg"\nstation_unit = "us-ft"\n'
        'laying_length = 20\nrows = "3-4"\n'
    )
    placed = place(job)
    assert placed.log.row.tolist() == [3, 4]
    assert placed.joints["northing"].to_list() == [2100040.0, 2100060.0]


@pytest.mark.parametrize("srs", [0, -1])
def test_a_geopackage_whose_system_is_undefined_states_none(tmp_path, srs):
    import sqlite3
    from contextlib import closing

    import geopandas as gpd
    import shapely

    from asbuilt.inputs.vectors import read_features

    path = tmp_path / "points.gpkg"
    gpd.GeoDataFrame(geometry=[shapely.Point(1, 2)], crs=6418).to_file(path, layer="points")
    with closing(sqlite3.connect(path)) as database, database:
        for table in ("gpkg_contents", "gpkg_geometry_columns"):
            database.execute(f"UPDATE {table} SET srs_id = ?", (srs,))
    assert read_features(path, "points", key="layer").crs is None


def test_the_columns_of_a_line_layer_that_name_route_and_start_station_are_known():
    sample = Path(__file__).resolve().parents[2] / "sample_gis"
    assert look(sample / "centerline.gpkg").line_fields == {"route": "route_id", "start_station": "sta_start"}
    job = Job.from_mapping({"name": "J", "centerline": {"path": "centerline.gpkg"}, "records": {
        "path": "joint_log_quarry.csv", "station_unit": "us-ft", "laying_length": 20}}, folder=sample)  # fmt: skip
    with pytest.raises(JobFileError, match="by its name, 'route_id' could be it"):
        read_centerline(job)


def test_every_sheet_is_looked_at_as_the_job_would_read_them(tmp_path, capsys):
    path = tmp_path / "log.xlsx"
    with pd.ExcelWriter(path) as book:
        for name, station in (("Main A", "Sta."), ("Main B", "Chainage")):
            pd.DataFrame({"Joint": ["1", "2"], station: ["0+00", "0+20"]}).to_excel(book, sheet_name=name, index=False)
        pd.DataFrame({"Crew": ["Vance"]}).to_excel(book, sheet_name="People", index=False)
    assert run(["columns", str(path), "--sheet", "*", "--json"]) == 0
    files = json.loads(capsys.readouterr().out)["files"]
    assert [(one["sheet"], one["fields"]["station"]) for one in files] == [("Main A", "Sta."), ("Main B", "Chainage")]
    assert run(["columns", str(path), "--sheet", "*"]) == 0
    assert run(["columns", str(tmp_path / "none.xlsx"), "--sheet", "*"]) == 2
