"""The profile of the review: ground and design are drawn where they are known, and make room for themselves."""

import json

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import shapely
from drawings import words

from asbuilt.review import plot_route, read_review
from asbuilt.review.linked import linked_plots
from asbuilt.review.shown import design_in_plan, heights

POINTS = laying.pipe(np.zeros(5), up=0.01)


def route(folder, **tables):
    path = folder / "joints.gpkg"
    laying.place(laying.lines(A=POINTS), laying.log(POINTS), centerline={"elevation": "pipe-center"}, **tables).write(
        path
    )
    (found,) = read_review(path).routes
    return found


def labels(found):
    return {text for text, _ in words(plot_route(found, "profile", width=8, height=3))}


def test_ground_and_design_are_drawn_where_they_are_known(tmp_path):
    design = tmp_path / "design.gpkg"
    line = shapely.LineString(POINTS + np.array([0.0, 0.0, -0.5]))
    gpd.GeoDataFrame(geometry=[line], crs=laying.CRS).to_file(design)
    ground = tmp_path / "ground.csv"
    shots = POINTS + np.array([0.0, 0.0, 7.0])
    pd.DataFrame(shots, columns=["Easting", "Northing", "Ground"]).to_csv(ground, index=False)
    found = route(tmp_path, design={"path": str(design), "elevation": "pipe-center"}, cover={"path": str(ground)})
    assert {"ground", "design"} <= labels(found)
    # Pipe from 50 to 51.2 ft; the design half a foot below it, the ground 7 ft above it.
    np.testing.assert_allclose(heights(found), (49.5, 58.2), atol=1e-6)
    assert "ground dotted, design dashed" in linked_plots(found)


def test_a_design_beside_the_main_is_drawn_in_plan_where_it_lies(tmp_path):
    """The main runs north, 3 ft to the right of its design, which lies 3 ft west of it; drawn, both are turned."""
    design = tmp_path / "design.gpkg"
    gpd.GeoDataFrame(geometry=[shapely.LineString(POINTS - [3.0, 0.0, 0.0])], crs=laying.CRS).to_file(design)
    found = route(tmp_path, design={"path": str(design), "elevation": "pipe-center"})
    assert found.plan.turned
    np.testing.assert_allclose(found.joints["design_offset"], 3.0, atol=1e-6)
    # With north to the right, west is up.
    np.testing.assert_allclose(design_in_plan(found) - found.plan.joints, [[0.0, 3.0]] * len(POINTS), atol=1e-6)
    assert "design dashed" in {text for text, _ in words(plot_route(found, "plan", width=8, height=3))}
    told = json.loads(linked_plots(found))
    (drawn,) = (one["data"] for one in named(told, "plan design"))
    up = dict(drawn["entries"])["up"]
    joints = dict(next(one["data"] for one in named(told, "joints"))["entries"])["north"]
    np.testing.assert_allclose(np.subtract(up, joints), 3.0, atol=2e-4)


def named(item, name):
    """Give what the parts of the linked plots of a name are made of."""
    if isinstance(item, dict) and item.get("attributes", {}).get("name") == name:
        yield item["attributes"]
    for one in item.values() if isinstance(item, dict) else item if isinstance(item, list) else ():
        yield from named(one, name)


def test_without_ground_and_design_nothing_is_drawn_beside_the_pipe(tmp_path):
    found = route(tmp_path)
    assert labels(found).isdisjoint({"ground", "design"})
    np.testing.assert_allclose(heights(found), (50.0, 51.2), atol=1e-6)
    assert "dashed" not in linked_plots(found)
