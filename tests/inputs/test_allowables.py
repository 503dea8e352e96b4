"""Allowable deflections: the shipped tables against the published values, and the job's own."""

import csv
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest

from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.allowables import read_allowables, shipped_table
from asbuilt.job import Job

PUBLISHED = Path(__file__).parents[1] / "data" / "published"


def job(tmp_path, unit="us-ft", **limits):
    return Job.from_mapping(
        {
            "name": "t",
            "centerline": {},
            "records": {"station_unit": unit, "laying_length": 20.0 if unit != "m" else 6.0},
            "limits": limits,
        },
        folder=tmp_path,
    )


def degrees(text):
    parts = [float(part) for part in text.split("-")]
    return parts[0] + (parts[1] / 60 if len(parts) > 1 else 0)


@pytest.mark.parametrize(
    ("file", "family", "column"),
    [
        ("push_on_offsets.csv", "push-on", "deflection_deg"),
        ("mechanical_offsets.csv", "mechanical", "deflection_deg_min"),
    ],
)
def test_c600_table_holds_every_published_row_and_no_other(file, family, column):
    # Source: AWWA C600, maximum deflection of full-length pipe (from memory).
    with (PUBLISHED / file).open() as handle:
        expected = {float(row["size_in"]): degrees(row[column]) for row in csv.DictReader(handle)}
    shipped = {size: allowable for (kind, size), (allowable, _) in shipped_table("awwa-c600").items() if kind == family}
    assert shipped == pytest.approx(expected, abs=1e-5)


def test_en_545_table_holds_the_published_minima():
    # Source: ISO 2531 / EN 545, least allowable angular deflection (from memory).
    shipped = shipped_table("en-545")
    with (PUBLISHED / "en545.csv").open() as handle:
        for row in csv.DictReader(handle):
            assert shipped["push-on", float(row["dn"])][0] == degrees(row["min_allowance_deg_min"])


def test_every_shipped_row_names_its_source_and_that_it_is_from_memory():
    for name in ("awwa-c600", "en-545"):
        assert all(source.endswith("(from memory)") for _, source in shipped_table(name).values())


def test_restrained_joints_stand_in_no_published_table(tmp_path):
    table = read_allowables(job(tmp_path, table="awwa-c600"))
    degrees, source = table.look_up(pa.array(["restrained-push-on", "push-on", None]), np.array([12.0, 13.0, 12.0]))
    assert np.isnan(degrees).all()
    assert source.to_pylist() == [None, None, None]


def test_the_projects_rows_win_and_the_fraction_applies(tmp_path):
    (tmp_path / "own.csv").write_text(
        "joint_type,size,allowable_deg,source\nrestrained-push-on,12,4,Submittal 14\npush-on,12,4.5,Submittal 14\n"
    )
    table = read_allowables(job(tmp_path, table="awwa-c600", project="own.csv", fraction=0.8))
    degrees, source = table.look_up(pa.array(["restrained-push-on", "push-on", "push-on"]), np.array([12.0, 12.0, 8.0]))
    assert degrees.tolist() == pytest.approx([3.2, 3.6, 4.0])
    assert source[0].as_py() == "0.8 of Submittal 14"


@pytest.mark.parametrize(
    ("degrees", "doubted"), [("0.5", True), ("1.5", False), ("4", False), ("7.5", False), ("15", True)]
)
def test_an_allowable_far_from_the_published_one_is_told(tmp_path, degrees, doubted):
    """A slipped point would make every joint within its allowable, or every joint over it."""
    (tmp_path / "own.csv").write_text(f"joint_type,size,allowable_deg,source\npush-on,12,{degrees},submittal 4\n")
    table = read_allowables(job(tmp_path, table="awwa-c600", project="own.csv"))
    told = f"own.csv: far from the published allowables (push-on 12 in: {float(degrees):g} deg, 5 deg by AWWA C600"
    assert len(table.notes) == doubted
    assert all(told in one for one in table.notes)


@pytest.mark.parametrize(
    ("value", "words"), [("21", "write 5"), ("0.07", "write 4"), ("25", "write 6"), ("40", "write 9.6")]
)
def test_an_unpublished_allowable_that_may_be_in_another_unit_says_what_it_would_be_in_degrees(tmp_path, value, words):
    """20 ft of pipe deflected 5.02 degrees are 21 in off: asin(21 / 240); 4 degrees are 0.0698 radians."""
    (tmp_path / "own.csv").write_text(f"joint_type,size,allowable_deg,source\nboltless,12,{value},submittal 4\n")
    (note,) = read_allowables(job(tmp_path, table="awwa-c600", project="own.csv")).notes
    assert note.endswith(words)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("joint_type,size,source\npush-on,12,x\n", "own.csv: no column is known as allowable_deg"),
        (
            "joint_type,size,allowable_deg,source\npush-on,12,five,x\n",
            r"row 2: allowable_deg 'five' is not a number",
        ),
        (
            "joint_type,size,allowable_deg,source\npush-on,12,-1,x\n",
            r"own.csv: row 2: allowable_deg '-1' is not possible",
        ),
        (
            "joint_type,size,allowable_deg,source\npush-on,12,300,x\n",
            "row 2: allowable_deg '300' is not possible",
        ),
        ("joint_type,size,allowable_deg,source\npush-on,12,3,\n", "row 2: source must be filled in"),
        (
            "joint_type,size,allowable_deg,source\npush-on,12,3,x\npush-on,12,4,x\n",
            "row 3: push-on size 12 occurs twice",
        ),
        ("joint_type,size,allowable_deg,source\n", "there are no rows in it"),
    ],
)
def test_an_unreadable_table_is_named_with_its_row(tmp_path, text, message):
    (tmp_path / "own.csv").write_text(text)
    with pytest.raises(InputFileError, match=message):
        read_allowables(job(tmp_path, table="own.csv"))


def test_a_table_that_is_not_there_is_named_with_the_shipped_ones(tmp_path):
    with pytest.raises(JobFileError, match=r"limits.table: .*nowhere.csv.*awwa-c600, en-545"):
        read_allowables(job(tmp_path, table="nowhere.csv"))


def test_a_table_in_inches_is_refused_for_sizes_in_millimetres(tmp_path):
    with pytest.raises(JobFileError, match="but the log's are taken to be in millimetres"):
        read_allowables(job(tmp_path, unit="m", table="awwa-c600"))
