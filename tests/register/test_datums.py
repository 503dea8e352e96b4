"""Jobs on a datum other than the register's: what is refused, what a person accepts, and how good places then are."""

import json

import geopandas as gpd
import laying
import numpy as np
import pytest
import shapely
from laying import EAST, NORTH
from pyproj import CRS, Transformer
from registers import placed

from asbuilt import cli
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.line.projection import best_step
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle

US_FOOT = 1200.0 / 3937.0


def on(crs, path, *arguments, **columns):
    """Place a job whose line is said to be in a system."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(laying, "CRS", crs)
        return placed(path, *arguments, **columns)


@pytest.fixture(scope="module")
def jobs(folder):
    """Give a job on NAD83(2011) and one on plain NAD83, 1,000 ft away; sigma 0.1 ft is stated of both lines."""
    place = np.array([EAST]), np.array([NORTH])
    if best_step(CRS("EPSG:2226"), CRS("EPSG:6418"), *place) is not None:
        pytest.skip("NOT CHECKED: the grids between NAD83 and NAD83(2011) are installed here")
    stated = {"tables": {"centerline": {"sigma_horizontal": 0.1, "sigma_vertical": 0.1}}}
    return (
        placed(folder / "new.gpkg", "Contract 2027", **stated),
        on("EPSG:2226", folder / "old.gpkg", "Contract 1998", routes=("B",), east=1000.0, **stated),
    )


def accuracies(register, route):
    told = find(register, Question(routes=[route])).joints
    return [one["accuracy_horizontal"] for one in told], told


def test_plain_nad83_is_refused_with_advice_that_works_when_followed(register, jobs, capsys):
    new, old = jobs
    load(new, register)
    with pytest.raises(InputFileError, match="--accept-accuracy 1m") as refused:
        load(old, register)
    assert "python -m pyproj sync --file us_noaa" in str(refused.value)
    assert cli.run(["load", str(old), "--into", register]) == 2
    assert len(find(register, Question()).joints) == 6
    with pytest.raises(InputFileError, match=r"0\.5 m does not cover"):
        load(old, register, accept_m=0.5)
    capsys.readouterr()
    assert cli.run(["load", str(old), "--into", register, "--accept-accuracy", "1m"]) == 0
    assert "NAD83 taken for NAD83(2011), good to 1 m" in " ".join(capsys.readouterr().out.split())
    assert cli.run(["find", register, "--route", "B"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "place good to 3." in shown


def test_the_accuracy_accepted_is_in_that_of_every_joint_s_place(register, jobs):
    """Squares add: 1 m is 3.2808 US survey feet, and the job's own accuracy at 95 % stays what it was."""
    new, old = jobs
    load(new, register)
    load(old, register, accept_m=1.0)
    alone = gpd.read_file(old, layer="joints")["accuracy_horizontal"].to_numpy()
    together, told = accuracies(register, "B")
    assert together == pytest.approx(np.hypot(alone, 1.0 / US_FOOT))
    assert all("change of datum: NAD83 taken for NAD83(2011), good to 1 m" in one["accuracy_source"] for one in told)
    assert "change of datum" not in accuracies(register, "A")[1][0]["accuracy_source"]
    # One system is taken for the other: their coordinates stay.
    assert told[0]["easting"] == pytest.approx(EAST + 1000.0, abs=0.001)


def test_a_datum_that_nobody_knows_the_distance_to_is_refused_however_much_is_accepted(folder, jobs):
    """NAD27 lies about 90 m from NAD83 in California; taking one for the other is no accuracy that anybody stated."""
    register = str(folder / "nad27.gpkg")
    load(jobs[0], register)
    there = {"east": 2_000_000.0 - EAST, "north": 450_000.0 - NORTH}
    old = on("EPSG:26742", folder / "nad27_job.gpkg", "Contract 1971", routes=("C",), **there)
    for accepted in (None, 1.0, 500.0):
        with pytest.raises(InputFileError, match="install the PROJ grids") as refused:
            load(old, register, accept_m=accepted)
        assert "--accept-accuracy" not in str(refused.value)


def test_a_known_change_of_datum_counts_too_and_may_be_too_coarse(folder, jobs):
    """From WGS 84 to NAD83(2011) the EPSG data set states 2 m."""
    register = str(folder / "wgs84.gpkg")
    load(jobs[0], register)
    carry = Transformer.from_crs("EPSG:6418", "EPSG:32610", always_xy=True)
    east, north = carry.transform(EAST, NORTH + 5000.0)
    there = {"routes": ("D",), "east": east - EAST, "north": north - NORTH}
    job = on("EPSG:32610", folder / "utm.gpkg", "Contract 2030", **there)
    with pytest.raises(InputFileError, match="--accept-accuracy 2m"):
        load(job, register, accept_m=1.0)
    load(job, register)
    assert "good to 2 m" in find(register, Question(routes=["D"])).joints[0]["accuracy_source"]


def test_places_and_polygons_asked_for_follow_the_same_rule(folder, jobs):
    register = str(folder / "asked.gpkg")
    load(jobs[0], register)
    polygon = folder / "old.geojson.gpkg"
    box = shapely.box(EAST - 10.0, NORTH - 10.0, EAST + 10.0, NORTH + 50.0)
    gpd.GeoDataFrame(geometry=[box], crs="EPSG:2226").to_file(polygon, engine="pyogrio")
    near = f"{EAST},{NORTH},2226"
    for asked in ({"near": near, "within": "5ft"}, {"area": polygon}):
        with pytest.raises(AsbuiltError, match="--accept-accuracy 1m"):
            find(register, Question(**asked))
        assert find(register, Question(**asked, accept_accuracy="1m")).joints[0]["joint"] == "1"
    assert cli.run(["find", register, "--near", near, "--accept-accuracy", "1m", "--json"]) == 0


def test_settling_takes_the_accuracy_that_its_load_accepted(folder, jobs):
    register = str(folder / "settled.gpkg")
    load(jobs[0], register)
    other = on("EPSG:2226", folder / "other.gpkg", "Contract 1999", east=60.0)
    assert load(other, register, accept_m=1.0).joints["left_out"] == 6
    assert settle(register, "main", job="Contract 1999", main="Old").joints == 6
    assert len(find(register, Question(routes=["Old: A"])).joints) == 6


def test_a_load_says_what_it_accepted(folder, jobs):
    register = str(folder / "said.gpkg")
    load(jobs[0], register)
    load(jobs[1], register, accept_m=1.0)
    store = open_existing(register)
    try:
        ((step, run),) = store.rows("SELECT datum_step, run FROM loads WHERE load_id = 2")
    finally:
        store.close()
    assert "good to 1 m" in step
    assert json.loads(run)["accept_m"] == 1.0
