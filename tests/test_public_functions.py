"""Every public function that takes a file takes its path as a text and as a Path, and does the same with both."""

import json
from pathlib import Path

import geopandas as gpd
import laying
import numpy as np
import pytest
import shapely

import asbuilt
from asbuilt.cad.lines import read_work
from asbuilt.register.grouping import group
from asbuilt.register.inventory import info
from asbuilt.register.service import note_service
from asbuilt.register.settling import settle
from asbuilt.review import read_review, write_review


@pytest.fixture(scope="module")
def job(folder):
    """Write a job file with its inputs, and a polygon around its first joints."""
    points = laying.pipe(np.array([0.0, 0.0, 7.0, 0.0, 0.0]))
    laying.lines(A=points).to_file(folder / "line.gpkg", layer="line")
    laying.log(points).to_csv(folder / "log.csv", index=False)
    box = shapely.box(laying.EAST - 5, laying.NORTH - 5, laying.EAST + 5, laying.NORTH + 25)
    gpd.GeoDataFrame(geometry=[box], crs=laying.CRS).to_file(folder / "area.geojson")
    text = (
        'name = "Quarry Lane"\n[centerline]\npath = "line.gpkg"\nroute = "route"\n[records]\npath = "log.csv"\n'
        'station_unit = "us-ft"\nlaying_length = 20.0\n[limits]\ntable = "awwa-c600"\n[output]\npath = "joints.gpkg"\n'
    )
    (folder / "job.toml").write_text(text, "utf-8")
    return folder / "job.toml"


@pytest.mark.parametrize("of", [str, Path])
def test_paths_are_texts_or_paths(job, tmp_path, of):
    def at(name):
        return of(tmp_path / name)

    assert asbuilt.load_job(of(job)).name == "Quarry Lane"
    placement = asbuilt.place(of(job), today=laying.TODAY)
    placement.write(at("joints.gpkg"))
    assert asbuilt.write_return(placement, at("returned.xlsx")).paths
    assert len(read_review(at("joints.gpkg")).routes) == 1
    assert write_review(at("joints.gpkg"), at("review"))["routes"]
    written = at("review/issues.xlsx")
    assert write_review(at("joints.gpkg"), at("review"), issues=written, photo_folder=at("."))["issues"]
    assert read_work(at("joints.gpkg")).lines
    register = at("register.gpkg")
    loaded = asbuilt.load(at("joints.gpkg"), register, by="R. Vance")
    assert (loaded.joints["new"], loaded.register) == (7, str(register))
    found = asbuilt.find(register, asbuilt.Question(area=of(job.parent / "area.geojson")))
    assert [one["joint"] for one in found.joints] == ["1", "2"]
    assert json.dumps(found.as_json())
    over = asbuilt.find(register, asbuilt.Question(verdicts=("over",))).joints[0]
    asbuilt.mark(register, over["findings"][0]["finding_uid"], by="R. Vance")
    assert asbuilt.conflicts(register) == []
    assert group(register, asbuilt.Question(), ("job",)).total["joints"] == info(register)["joints"] == 7
    with pytest.raises(asbuilt.InputFileError, match="no joint waits"):
        settle(register, "ours", by="R. Vance")
    assert json.dumps(note_service(register, "A", "abandoned", by="R. Vance").__dict__, default=list)
    assert asbuilt.undo(1, register, by="R. Vance").joints_removed == 7
