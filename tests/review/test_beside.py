"""The profile of the review: ground and design are drawn where they are known, and make room for themselves."""

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import shapely
from drawings import words

from asbuilt.review import plot_route, read_review
from asbuilt.review.linked import linked_plots
from asbuilt.review.shown import heights

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


def test_without_ground_and_design_nothing_is_drawn_beside_the_pipe(tmp_path):
    found = route(tmp_path)
    assert labels(found).isdisjoint({"ground", "design"})
    np.testing.assert_allclose(heights(found), (50.0, 51.2), atol=1e-6)
    assert "dashed" not in linked_plots(found)
