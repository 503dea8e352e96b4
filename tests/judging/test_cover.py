"""Cover over the pipe by closed forms, under a surface and a grid that kept libraries made, and under shots."""

import laying
import numpy as np
import pandas as pd
import pyproj
import pytest
import rasterio
from lxml import etree
from rasterio.transform import from_origin
from scipy.spatial import Delaunay

import asbuilt

E, N = laying.EAST, laying.NORTH
FOOT = 1200 / 3937
HALF = 13.2 / 2 * 0.0254 / FOOT
"""Half the outside diameter of 12 in pipe, US survey feet. Source: AWWA C150/C151; from memory."""
POINTS = laying.pipe(np.zeros(9), up=0.01)
NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"


def plane(east, north):
    return 55.0 + 0.02 * (east - E) + 0.015 * (north - N)


def surface(path, points, *, faces=None, name="Ground", unit="USSurveyFoot", epsg="6418", left_out=()):
    """Write a surface of triangles with lxml; the triangles are scipy's, if none are given."""
    faces = Delaunay(points[:, :2] - points[0, :2]).simplices if faces is None else faces
    root = etree.Element("LandXML", nsmap={None: NAMESPACE}, version="1.2")
    etree.SubElement(etree.SubElement(root, "Units"), "Imperial", linearUnit=unit)
    etree.SubElement(root, "CoordinateSystem", epsgCode=epsg)
    definition = etree.SubElement(
        etree.SubElement(etree.SubElement(root, "Surfaces"), "Surface", name=name), "Definition", surfType="TIN"
    )
    corners, triangles = etree.SubElement(definition, "Pnts"), etree.SubElement(definition, "Faces")
    for number, (east, north, up) in enumerate(points, 1):
        etree.SubElement(corners, "P", id=str(number)).text = f"{north:.9f} {east:.9f} {up:.9f}"
    for number, face in enumerate(faces):
        element = etree.SubElement(triangles, "F", **({"i": "1"} if number in left_out else {}))
        element.text = " ".join(str(corner + 1) for corner in face)
    etree.ElementTree(root).write(path, xml_declaration=True, encoding="utf-8")
    return {"path": str(path)}


def grid(path, height, *, cell, west, north, crs=laying.CRS):
    """Write a GeoTIFF with rasterio."""
    with rasterio.open(
        path, "w", driver="GTiff", width=height.shape[1], height=height.shape[0], count=1, dtype="float64", crs=crs,
        transform=from_origin(west, north, cell, cell), nodata=-9999.0,
    ) as file:  # fmt: skip
        file.write(height, 1)
    return {"path": str(path)}


def middles(shape, cell, west, north):
    column, row = np.meshgrid(np.arange(shape[1]) + 0.5, np.arange(shape[0]) + 0.5)
    return west + cell * column, north - cell * row


def scattered(count=60, seed=3):
    random = np.random.default_rng(seed)
    places = np.column_stack([random.uniform(E - 60, E + 60, count), random.uniform(N - 60, N + 260, count)])
    edge = [[E - 80, N - 80], [E + 80, N - 80], [E - 80, N + 280], [E + 80, N + 280]]
    places = np.concatenate([edge, places])
    return np.column_stack([places, plane(*places.T)])


def place(cover, *, points=POINTS, shot="pipe-center", **tables):
    return laying.place(
        laying.lines(A=points),
        laying.log(POINTS),
        cover=cover,
        centerline={"elevation": shot} if shot else {},
        **tables,
    )


def notes(placement):
    return [note.text for note in placement.notes if note.code == "cover-found"]


@pytest.mark.parametrize("kind", ["triangles", "grid"])
def test_under_an_even_slope_the_cover_is_the_ground_less_the_top_of_the_pipe(tmp_path, kind):
    if kind == "triangles":
        cover = surface(tmp_path / "ground.xml", scattered())
    else:
        height = plane(*middles((50, 30), 10.0, E - 150, N + 300))
        cover = grid(tmp_path / "ground.tif", height, cell=10.0, west=E - 150, north=N + 300) | {"unit": "us-ft"}
    joints = place(cover).joints
    ground = plane(joints["easting"], joints["northing"])
    np.testing.assert_allclose(joints["ground_elevation"], ground, atol=1e-6)
    np.testing.assert_allclose(joints["cover"], ground - joints["elevation"] - HALF, atol=1e-6)
    # The ground rises faster than the pipe, so the least is at the joint itself.
    np.testing.assert_allclose(joints["cover_least"], joints["cover"], atol=1e-6)


def test_a_ditch_between_two_joints_is_found_though_both_joints_are_deep(tmp_path):
    # The ground lies 6 ft over the line of the pipe's centers, with a ditch 3 ft deep across it between joints 5 and 6.
    across = np.array([-60.0, 80.0, 87.0, 90.0, 93.0, 100.0, 280.0])
    depth = np.array([0.0, 0.0, 0.0, 3.0, 0.0, 0.0, 0.0])
    height = 56.0 + 0.01 * across - depth
    sides = [np.column_stack([np.full(7, E + side), N + across, height]) for side in (-50.0, 50.0)]
    faces = [face for at in range(6) for face in ((at, at + 1, at + 7), (at + 1, at + 8, at + 7))]
    cover = surface(tmp_path / "ground.xml", np.concatenate(sides), faces=faces) | {"least": 4.0}
    placement = place(cover)
    found = placement.findings[placement.findings["code"] == "cover-short"]
    assert found["joint"].tolist() == ["5"]
    joint = placement.joints.set_index("joint").loc["5"]
    assert joint["cover"] == pytest.approx(6.0 - HALF, abs=1e-6)
    # Looked at each metre or oftener, the pipe passes within half a metre of the bottom, whose sides rise 1 in 1.
    assert 3.0 - HALF <= joint["cover_least"] <= 3.0 - HALF + 0.5 / FOOT
    assert found["value"].iloc[0] == pytest.approx(joint["cover_least"])
    assert (
        "of cover over the pipe ahead of it, 5.45 ft at the joint, where the job asks for 4 ft"
        in (found["message"].iloc[0])
    )


def test_cover_that_the_heights_do_not_settle_is_told_as_that(tmp_path):
    """Heights of the pipe known to 1.96 x 0.1 ft, those of the ground to 1.96 x 0.2 ft: the cover to their root sum."""
    shots = np.column_stack([POINTS[:, :2], POINTS[:, 2] + HALF + np.linspace(2.0, 4.0, len(POINTS))])
    pd.DataFrame(shots, columns=["Easting", "Northing", "Ground"]).to_csv(tmp_path / "shots.csv", index=False)
    cover = {"path": str(tmp_path / "shots.csv"), "least": 3.0, "sigma": 0.2}
    sure = {"elevation": "pipe-center", "sigma_horizontal": 0.0, "sigma_vertical": 0.1}
    log = laying.log(POINTS)
    placement = laying.place(laying.lines(A=POINTS), log, cover=cover, centerline=sure)
    joints, known = placement.joints, 1.96 * np.hypot(0.1, 0.2)
    short = joints["cover_least"] + known < 3.0
    unsure = ~short & (joints["cover_least"] - known < 3.0)
    for code, which in (("cover-short", short), ("cover-unclear", unsure)):
        found = placement.findings[placement.findings["code"] == code]
        assert found["joint"].tolist() == joints.loc[which, "joint"].tolist()
        assert len(found) >= 2
        assert found["message"].str.contains("known to 0.44 ft at 95 %").all()
        assert set(found["basis"]) == {"the job's cover.least"}
    del cover["sigma"]
    exact = laying.place(laying.lines(A=POINTS), log, cover=cover, centerline=sure).findings
    assert exact.loc[exact["code"] == "cover-short", "basis"].str.contains("the ground is taken as exact").all()


def test_cover_over_an_elevation_that_was_put_between_others_is_unclear_also_where_the_ground_has_an_error(tmp_path):
    shots = np.column_stack([POINTS[:, :2], POINTS[:, 2] + HALF + 3.0])
    pd.DataFrame(shots, columns=["Easting", "Northing", "Ground"]).to_csv(tmp_path / "shots.csv", index=False)
    sure = {"elevation": "pipe-center", "sigma_horizontal": 0.0, "sigma_vertical": 0.1}
    survey = POINTS.copy()
    survey[5, 2] = np.nan
    for sigma in (0.0, 0.2):
        cover = {"path": str(tmp_path / "shots.csv"), "least": 2.0, "sigma": sigma}
        placement = laying.place(laying.lines(A=survey), laying.log(POINTS), cover=cover, centerline=sure)
        found = placement.findings[placement.findings["code"] == "cover-unclear"].set_index("joint")
        assert "6" in found.index, sigma
        assert ", by an elevation put between measured ones" in found.loc["6", "message"]
        assert "known to" not in found.loc["6", "message"]


def test_the_logs_own_column_is_the_ground_and_a_cell_that_cannot_be_read_is_told():
    depth = np.linspace(5.0, 8.0, len(POINTS))
    ground = [f"{up:.6f}" for up in POINTS[:, 2] + depth]
    ground[4], ground[7] = "", "about 60"
    log = laying.log(POINTS, **{"Ground elev.": ground})
    tables = {"centerline": {"elevation": "pipe-center"}, "cover": {"log_column": "Ground elev.", "least": 5.0}}
    placement = laying.place(laying.lines(A=POINTS), log, **tables)
    joints = placement.joints
    # Between its neighbours the ground runs straight, and so do depth and pipe here.
    np.testing.assert_allclose(joints["ground_elevation"], POINTS[:, 2] + depth, atol=1e-5)
    np.testing.assert_allclose(joints["cover"], depth - HALF, atol=1e-5)
    short = placement.findings.loc[placement.findings["code"] == "cover-short", "joint"].tolist()
    assert short == joints.loc[depth - HALF < 5.0, "joint"].tolist()
    unread = placement.findings[placement.findings["code"] == "field-unreadable"]
    assert unread["message"].tolist() == ["ground: 'about 60' cannot be read; it is taken as blank"]
    assert any("9 of 11 joints have it in the log's column 'Ground elev.'" in text for text in notes(placement))
    with pytest.raises(asbuilt.InputFileError, match=r"cover\.log_column: there is no column 'Terrain'"):
        laying.place(laying.lines(A=POINTS), log, cover={"log_column": "Terrain"})
    for wrong in ({}, {"path": "a.xml", "log_column": "Ground elev."}):
        with pytest.raises(asbuilt.JobFileError, match="path names its file, or log_column a column of the log"):
            laying.place(laying.lines(A=POINTS), log, cover=wrong)


def test_shots_of_the_ground_count_between_themselves_and_nowhere_else(tmp_path):
    shots = pd.DataFrame({"Easting": E + 1.0, "Northing": N + np.array([20.0, 100.0, 160.0, 180.0]),
                          "Ground": [55.0, 57.0, 57.6, np.nan], "Top of pipe": 1.0})  # fmt: skip
    shots.loc[4] = [E + 500.0, N + 50.0, 90.0, 1.0]
    shots.to_csv(tmp_path / "shots.csv", index=False)
    placement = place({"path": str(tmp_path / "shots.csv"), "least": 5.0})
    joints = placement.joints
    ground = np.interp(joints["distance"], [20.0, 100.0, 160.0], [55.0, 57.0, 57.6], left=np.nan, right=np.nan)
    np.testing.assert_allclose(joints["ground_elevation"], ground, atol=1e-6)
    np.testing.assert_allclose(joints["cover"], ground - joints["elevation"] - HALF, atol=1e-6)
    told = notes(placement)
    assert any("1 shots of shots.csv lie more than a laying length from every route" in text for text in told)
    assert any(f"the cover of {int(np.isnan(ground).sum())} of 11 joints is not known" in text for text in told)
    short = set(placement.findings.loc[placement.findings["code"] == "cover-short", "joint"])
    assert short == set(joints.loc[joints["cover_least"] < 5.0, "joint"])
    assert 0 < len(short) < 8


def test_a_grid_in_metres_and_another_system_under_a_survey_in_feet(tmp_path):
    carry = pyproj.Transformer.from_crs(laying.CRS, "EPSG:6417", always_xy=True)
    west, north = carry.transform(E, N)
    west, north = west - 60.0, north + 120.0
    height = 17.0 + 0.02 * (middles((80, 60), 2.0, west, north)[1] - north + 120.0)
    cover = grid(tmp_path / "ground.tif", height, cell=2.0, west=west, north=north, crs="EPSG:6417")
    with pytest.raises(asbuilt.JobFileError, match=r"cover\.unit.*us-ft, ft or m"):
        place(cover)
    joints = place(cover | {"unit": "m"}).joints
    ground = (17.0 + 0.02 * (carry.transform(joints["easting"], joints["northing"])[1] - north + 120.0)) / FOOT
    np.testing.assert_allclose(joints["ground_elevation"], ground, atol=1e-6)


def test_a_hole_in_the_ground_is_not_known_and_no_cover_is_made_up(tmp_path):
    height = plane(*middles((50, 30), 10.0, E - 150, N + 300))
    height[20:22] = -9999.0
    cover = grid(tmp_path / "ground.tif", height, cell=10.0, west=E - 150, north=N + 300) | {
        "unit": "us-ft",
        "least": 9.0,
    }
    placement = place(cover)
    joints = placement.joints
    # Rows 20 and 21 hold what lies 80 to 100 ft north; half a cell beyond, a neighbour is missing.
    hole = (joints["northing"] - N > 75.0 - 1e-6) & (joints["northing"] - N < 105.0 + 1e-6)
    assert joints["cover"].isna().tolist() == hole.tolist()
    short = set(placement.findings.loc[placement.findings["code"] == "cover-short", "joint"])
    assert short.isdisjoint(joints.loc[hole, "joint"])
    assert any(f"{int(hole.sum())} of 11 joints is not known" in text for text in notes(placement))


def test_faces_that_are_no_part_of_the_surface_give_no_ground(tmp_path):
    points = np.array([[E - 50, N - 50, 60.0], [E + 50, N - 50, 60.0], [E, N + 150, 60.0], [E - 50, N + 400, 60.0]])
    faces = [(0, 1, 2), (1, 2, 3)]
    whole = place(surface(tmp_path / "all.xml", points, faces=faces)).joints["ground_elevation"].notna().sum()
    part = place(surface(tmp_path / "part.xml", points, faces=faces, left_out={1})).joints["ground_elevation"]
    assert part.notna().sum() == 8 < whole


def test_without_what_the_survey_shot_there_is_ground_but_no_cover(tmp_path):
    placement = place(surface(tmp_path / "ground.xml", scattered()) | {"least": 99.0}, shot=None)
    assert placement.joints["ground_elevation"].notna().all()
    assert placement.joints["cover"].isna().all()
    assert "cover-short" not in laying.codes(placement)
    assert any("does not say what the survey shot" in text for text in notes(placement))


@pytest.mark.parametrize(
    ("made", "message"),
    [
        ({"unit": "meter"}, "is in metres, and the survey in US survey feet"),
        ({"epsg": "6417"}, "is in EPSG:6417, and the survey in EPSG:6418"),
        ({"faces": [(0, 1, 99)]}, "a face names point '100', which is not there"),
        ({"faces": []}, "has no surface of triangles"),
    ],
)
def test_a_surface_that_cannot_be_the_ground_here_is_refused(tmp_path, made, message):
    with pytest.raises(asbuilt.AsbuiltError, match=message):
        place(surface(tmp_path / "ground.xml", scattered(), **made))


def test_files_that_are_no_ground_are_refused_with_a_remedy(tmp_path):
    with pytest.raises(asbuilt.InputFileError, match=r"no such file; correct cover\.path"):
        place({"path": "lost.tif"})
    # A system on an unnamed sphere has no known relation to the survey's: a guess reads the ground of somewhere else.
    sphere = "+proj=tmerc +lon_0=-123 +R=6370997 +units=m +no_defs +type=crs"
    height = plane(*middles((50, 30), 10.0, E - 150, N + 300))
    far = grid(tmp_path / "ground.tif", height, cell=10.0, west=E - 150, north=N + 300, crs=sphere)
    with pytest.raises(asbuilt.JobFileError, match=r"cover\.path: .*no transformation from .* that is good enough"):
        place(far | {"unit": "m"})
    (tmp_path / "ground.tif").write_text("no grid")
    with pytest.raises(asbuilt.InputFileError, match="cannot be read as a GeoTIFF"):
        place({"path": str(tmp_path / "ground.tif"), "unit": "m"})
    (tmp_path / "ground.xml").write_text("<!DOCTYPE a []><LandXML/>")
    with pytest.raises(asbuilt.InputFileError, match="document type declaration"):
        place({"path": str(tmp_path / "ground.xml")})


def shots_of_the_ground(path, *, up=6.0, times=1.0, east=0.0):
    """Write ground shots over the pipe, up above it."""
    frame = pd.DataFrame(
        {"easting": POINTS[:, 0] + east, "northing": POINTS[:, 1], "ground": POINTS[:, 2] * times + up}
    )
    frame.to_csv(path, index=False)
    return {"path": str(path), "least": 3.0, "columns": {"elevation": "ground"}}


def doubts(placement):
    return " ".join(note.text for note in placement.notes if note.code == "cover-doubtful")


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({}, ""),
        ({"up": 40.0}, ""),
        ({"times": 3.2808}, "at 11 of 11 joints the ground is more than 49 ft above the pipe, up to 124 ft"),
        ({"times": 0.3048, "up": 1.83}, "at 11 of 11 joints the ground lies below the top of the pipe, by up to 34"),
        ({"up": 0.6}, ""),
        ({"east": 900.0}, "cover.least asks for 3 ft, and the cover of 11 of 11 joints is not known"),
    ],
)
def test_ground_that_hides_shallow_pipe_or_lies_under_it_is_told(tmp_path, wrong, told):
    said = doubts(place(shots_of_the_ground(tmp_path / "ground.csv", **wrong)))
    assert told in said
    assert bool(told) == bool(said)
