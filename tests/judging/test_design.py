"""Joints against the design: offsets, heights and stations by closed forms; and what is said where none is known."""

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import pytest
import shapely
from scipy import special

import asbuilt
from asbuilt.judging.profile import turning_points

E, N = laying.EAST, laying.NORTH
HEAD = (
    '<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units><Imperial '
    'linearUnit="USSurveyFoot"/></Units><CoordinateSystem epsgCode="6418"/><Alignments>'
)
STRAIGHT = laying.pipe(np.zeros(9))


def design(folder, geometry, *, start=1000.0, profile="", name="A"):
    """Write an alignment of elements, whose points are given as feet east and north of the origin."""
    path = folder / "design.xml"
    path.write_text(
        f'{HEAD}<Alignment name="{name}" length="0" staStart="{start}"><CoordGeom>{geometry}</CoordGeom>{profile}'
        "</Alignment></Alignments></LandXML>".replace(' length="0"', "", 1),
        "utf-8",
    )
    return {"path": str(path)}


def moved(east, up=0.0):
    return np.array([east, 0.0, up])


def at(tag, east, north):
    return f"<{tag}>{N + north:.9f} {E + east:.9f}</{tag}>"


def line(start, end):
    return f"<Line>{at('Start', *start)}{at('End', *end)}</Line>"


def flat(elevation, length, start=1000.0):
    return (
        f'<Profile><ProfAlign name="d"><PVI>{start} {elevation}</PVI><PVI>{start + length} {elevation}</PVI>'
        "</ProfAlign></Profile>"
    )


def place(points, wanted, *, log=None, **tables):
    tables = {"centerline": {"elevation": "pipe-center"}, **tables}
    return laying.place(laying.lines(A=points), laying.log(points) if log is None else log, design=wanted, **tables)


def finely(points):
    """Write the stations finely: a joint a hundredth of a foot along its chord is no longer on the curve."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points[:, :2], axis=0).T))])
    return laying.log(points, station=[f"{one:.9f}" for one in along])


def texts(placement, code):
    return [note.text for note in placement.notes if note.code == code]


def test_a_main_beside_its_design_lies_so_far_right_and_so_far_above(tmp_path):
    wanted = design(tmp_path, line((0, -20), (0, 400)), profile=flat(49.9, 420))
    wanted |= {"elevation": "pipe-center", "max_offset": 0.5, "max_height": 0.05}
    points = STRAIGHT + moved(0.6)
    found = place(points, wanted)
    np.testing.assert_allclose(found.joints["design_offset"], 0.6, atol=1e-6)
    np.testing.assert_allclose(found.joints["design_height"], 0.1, atol=1e-9)
    # The design begins 20 ft before the first joint, at 10+00.
    assert found.joints["design_station"].tolist()[:3] == ["10+20.00", "10+40.00", "10+60.00"]
    said = found.findings[found.findings["code"].isin(["line-off", "grade-off"])]
    assert set(zip(said["code"], said["joint"], strict=True)) == {
        (code, str(at)) for code in ("line-off", "grade-off") for at in range(1, len(points) + 1)
    }
    words = said.set_index("code")["message"]
    assert words["line-off"].iloc[0] == (
        "0.6 ft right of the design at its station 10+20.00, where the job allows 0.5 ft"
    )
    assert words["grade-off"].iloc[0].startswith("0.1 ft above the design at its station 10+20.00")
    assert {*said["limit"]} == {0.5, 0.05}


def test_left_and_below_are_negative_and_at_the_limit_nothing_is_found(tmp_path):
    wanted = design(tmp_path, line((0, -20), (0, 400)), profile=flat(50.05, 420))
    wanted |= {"elevation": "pipe-center", "max_offset": 0.5, "max_height": 0.05}
    found = place(STRAIGHT + moved(-0.5), wanted)
    np.testing.assert_allclose(found.joints["design_offset"], -0.5, atol=1e-6)
    np.testing.assert_allclose(found.joints["design_height"], -0.05, atol=1e-9)
    # Half a foot is the very limit; the coordinates hold it to a millionth.
    assert "grade-off" not in laying.codes(found)


def test_a_design_that_runs_the_other_way_is_told_and_so_is_one_of_other_stations(tmp_path):
    """0.6 ft right of the main as it is stationed is 0.6 ft left of a design drawn from its end to its start."""
    records = laying.log(STRAIGHT, start=1020.0)
    told = {"records": {}, "centerline": {"elevation": "pipe-center", "start_station": 1020.0}}
    right = place(STRAIGHT + moved(0.6), design(tmp_path, line((0, -20), (0, 400))), log=records, **told)
    assert texts(right, "keys-doubtful") == []
    back = place(STRAIGHT + moved(0.6), design(tmp_path, line((0, 400), (0, -20))), log=records, **told)
    np.testing.assert_allclose(back.joints["design_offset"], -0.6, atol=1e-6)
    (said,) = texts(back, "keys-doubtful")
    assert "runs against the stations of route A: right and left of the design are told looking ahead along" in said
    for start, off, word in ((1100.0, 100.0, "ahead of"), (980.5, 19.5, "behind"), (979.5, 20.5, "behind")):
        other = design(tmp_path, line((0, -20), (0, 400)), start=start)
        found = texts(place(STRAIGHT + moved(0.6), other, log=records, **told), "keys-doubtful")
        assert len(found) == (off > 20.0)
        assert all(f"lie {off:.2f} ft {word} those of route A at the same places" in one for one in found)


@pytest.mark.parametrize(
    ("right", "above", "line_code", "grade_code"),
    [
        (0.65, 0.25, "line-off", "grade-off"),
        (0.61, 0.22, "line-off", "grade-off"),
        (0.59, 0.21, "line-unclear", "grade-unclear"),
        (0.41, 0.05, "line-unclear", "grade-unclear"),
        (0.39, 0.02, None, None),
        (0.35, 0.02, None, None),
    ],
)
def test_what_passes_its_limit_by_less_than_it_is_known_to_is_not_found_beyond_it(
    tmp_path, right, above, line_code, grade_code
):
    """A shot at each joint of a straight main: an offset lies in one direction, as a height does.

    1.96 standard errors hold 95 % of errors in one direction, and 2.4477 those of places in plan. Source: the normal
    distribution and that of Rayleigh, as in FGDC-STD-007.3.
    """
    wanted = design(tmp_path, line((0, -20), (0, 400)), profile=flat(50.0 - above, 420))
    wanted |= {"elevation": "pipe-center", "max_offset": 0.5, "max_height": 0.12}
    sure = {"elevation": "pipe-center", "sigma_horizontal": 0.05, "sigma_vertical": 0.05, **laying.LOOKED_AT}
    log = laying.log(STRAIGHT)
    placement = place(STRAIGHT + moved(right), wanted, log=log, centerline=sure, records={"sigma_station": 0.0})
    known = placement.joints["accuracy_horizontal"]
    np.testing.assert_allclose(known, 2.4477 * 0.05, atol=1e-4)
    found = placement.findings[placement.findings["code"].str.contains("line-off|line-unclear|grade")]
    assert set(found["code"]) == {line_code, grade_code} - {None}
    assert len(found) == (2 * len(STRAIGHT) if line_code else 0)
    said = found["message"].str.contains("the survey cannot tell whether it lies within")
    assert said.tolist() == found["code"].str.endswith("unclear").tolist()
    if line_code:
        row = found[found["code"] == line_code].iloc[0]
        # 1.96 x 0.05 ft.
        assert "known to 0.1 ft to either side at 95 %" in row["message"]
        assert (row["value"], row["limit"]) == (pytest.approx(right, abs=1e-6), 0.5)


@pytest.mark.parametrize("errors", [{}, {"sigma_horizontal": 0.01, "sigma_vertical": 0.01}])
@pytest.mark.parametrize("above", [0.1, 0.5])
def test_an_elevation_put_between_measured_ones_is_never_held_against_the_design_as_if_measured(
    tmp_path, above, errors
):
    points = STRAIGHT + moved(0.0, above)
    points[3::2, 2] = np.nan
    wanted = design(tmp_path, line((0, 0), (0, 200)), profile=flat(50.0, 200))
    wanted |= {"elevation": "pipe-center", "max_height": 0.2}
    found = place(points, wanted, centerline={"elevation": "pipe-center", **errors}).findings
    told = found[found["code"].isin(["grade-off", "grade-unclear"])]
    blank = {str(number) for number in range(4, len(points), 2)}
    unclear = told[told["code"] == "grade-unclear"]
    assert blank <= set(unclear["joint"])
    assert unclear["message"].str.contains("put between measured ones").all()
    sure = set(told["joint"]) - set(unclear["joint"])
    assert sure == ({str(one) for one in range(1, len(points) + 1)} - set(unclear["joint"]) if above > 0.2 else set())


def known_to_either_side(message):
    return float(message.partition(", known to ")[2].partition(" ft to either side")[0])


def test_an_offset_is_known_to_as_often_as_it_says(tmp_path):
    """Joints that lie at the limit, shot with errors in every direction: one in forty looks off it by more than is
    stated. By the radius in plan it would be one in a hundred and forty, and a main that is off would be let pass.

    Source: normal distribution, 2.5 % beyond 1.96 standard errors; simulated with numpy's generator, seed 4.
    """
    wanted = design(tmp_path, line((0, -2000), (0, 100_000))) | {"max_offset": 0.5}
    points = laying.pipe(np.zeros(3999))
    noise = np.random.default_rng(4).normal(0.0, 0.05, points.shape) * [1.0, 1.0, 0.0]
    shot = points + moved(0.5) + noise
    shot[:, 1] = points[:, 1]
    found = place(shot, wanted, centerline={"sigma_horizontal": 0.05}, records={"sigma_station": 0.0})
    share = laying.codes(found).count("line-off") / len(points)
    # 4,001 joints: 2.5 % with a standard error of 0.25 %.
    assert 0.017 < share < 0.033


def test_the_error_of_a_station_counts_as_far_as_the_line_leads_toward_the_design(tmp_path):
    """A main 30 degrees off its design: a joint 1 ft along lies sin(30 deg) = 0.5 ft nearer. Closed form."""
    wanted = design(tmp_path, line((0, -20), (0, 400))) | {"max_offset": 0.05}
    points = laying.pipe(np.concatenate([[30.0], np.zeros(8)]))[1:]
    sure = {"sigma_horizontal": 0.1, "sigma_vertical": 0.1}
    for station, expected in ((0.0, 1.96 * 0.1), (0.4, 1.96 * np.hypot(0.1, 0.4 * 0.5))):
        found = place(points, wanted, centerline=sure, records={"sigma_station": station}).findings
        said = found.loc[found["code"] == "line-off", "message"]
        assert len(said) > 5
        assert [known_to_either_side(one) for one in said[:-1]] == pytest.approx(
            [expected] * (len(said) - 1), abs=0.006
        )


def test_a_main_shot_sparsely_in_a_curve_is_not_blamed_for_what_lies_between_its_shots(tmp_path):
    # Pipe laid as designed, on a curve of 2 degrees a joint, and shot at every fifth joint: between shots the line of
    # the shots lies up to a sagitta off the design, 100 ft x 10 degrees / 8 = 2.2 ft.
    points = laying.pipe(np.full(24, 2.0))
    path = tmp_path / "design.gpkg"
    gpd.GeoDataFrame(geometry=[shapely.LineString(points)], crs=laying.CRS).to_file(path)
    shots = points[::5]
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shots[:, :2], axis=0).T))])
    at = np.interp(np.arange(len(points)), np.arange(len(shots)) * 5, chord)
    log = laying.log(points, station=[f"{one:.4f}" for one in at])
    placement = laying.place(
        laying.lines(A=shots), log, design={"path": str(path), "max_offset": 0.5},
        centerline={"sigma_horizontal": 0.02, "sigma_vertical": 0.02},
    )  # fmt: skip
    assert placement.joints["design_offset"].abs().max() > 1.5
    assert "line-off" not in laying.codes(placement)
    assert laying.codes(placement).count("line-unclear") >= 12


@pytest.mark.parametrize(("side", "rotation"), [(1, "cw"), (-1, "ccw")])
def test_on_a_circular_curve_the_offset_is_the_difference_of_the_radii(tmp_path, side, rotation):
    # A quarter of a circle of 500 ft about (500, 0), or (-500, 0) for a left turn; the pipe lies on 499.6 ft.
    radius, laid = 500.0, 499.6
    curve = (
        f'<Curve rot="{rotation}">{at("Start", 0, 0)}{at("Center", side * radius, 0)}'
        f"{at('End', side * radius, radius)}</Curve>"
    )
    angle = np.arange(1, 30) * 20.0 / laid
    points = np.column_stack(
        [E + side * (radius - laid * np.cos(angle)), N + laid * np.sin(angle), np.full(len(angle), 50.0)]
    )
    found = place(points, design(tmp_path, curve, start=0.0), log=finely(points)).joints
    # Toward the center is right of a right turn, and left of a left turn.
    np.testing.assert_allclose(found["design_offset"], side * (radius - laid), atol=1e-6)
    stations = [float(text.replace("+", "")) for text in found["design_station"]]
    np.testing.assert_allclose(stations, radius * angle, atol=0.0051)


def test_on_a_spiral_offset_and_station_are_those_of_the_clothoid(tmp_path):
    # Clothoid from a line to a radius of 400 ft in 300 ft, due north and to the right: by Fresnel's integrals
    # (scipy.special), a library of its own. A = sqrt(R L); x = A sqrt(pi) S(s / (A sqrt(pi))), y with C.
    radius, length, right = 400.0, 300.0, 0.35
    scale = np.sqrt(radius * length) * np.sqrt(np.pi)
    sine, cosine = special.fresnel(length / scale)
    end, turn = (scale * sine, scale * cosine), length / (2 * radius)
    tangent = end[1] - end[0] / np.tan(turn)
    spiral = (
        f'<Spiral spiType="clothoid" rot="cw" length="{length}" radiusStart="INF" radiusEnd="{radius}">'
        f"{at('Start', 0, 0)}{at('PI', 0, tangent)}{at('End', *end)}</Spiral>"
    )
    s = np.arange(20.0, 300.0, 20.0)
    sine, cosine = special.fresnel(s / scale)
    azimuth = s**2 / (2 * radius * length)
    points = np.column_stack(
        [
            E + scale * sine + right * np.cos(azimuth),
            N + scale * cosine - right * np.sin(azimuth),
            np.full(len(s), 50.0),
        ]
    )
    found = place(points, design(tmp_path, spiral, start=0.0), log=finely(points)).joints
    np.testing.assert_allclose(found["design_offset"], right, atol=1e-6)
    stations = [float(text.replace("+", "")) for text in found["design_station"]]
    np.testing.assert_allclose(stations, s, atol=0.0051)


def test_a_design_of_the_top_of_pipe_is_lowered_by_half_the_outside_diameter(tmp_path):
    # 12 in pipe is 13.20 in outside. Source: AWWA C150/C151 outside diameters; from memory, as the package has it.
    wanted = design(tmp_path, line((0, -20), (0, 400)), profile=flat(50.0 + 13.2 / 2 * 0.0254 * 3937 / 1200, 420))
    found = place(STRAIGHT, wanted | {"elevation": "top-of-pipe"})
    np.testing.assert_allclose(found.joints["design_height"], 0.0, atol=1e-9)


@pytest.mark.parametrize(
    ("elevation", "shot", "why"),
    [
        (None, "pipe-center", "what the design's elevations are of"),
        ("pipe-center", None, "what the survey shot"),
        ("pipe-center", "none", "leaves the survey's elevations out"),
    ],
)
def test_heights_are_not_compared_where_it_is_not_said_what_they_are_of(tmp_path, elevation, shot, why):
    wanted = design(tmp_path, line((0, -20), (0, 400)), profile=flat(10.0, 420)) | {"max_height": 0.1}
    found = place(
        STRAIGHT, wanted | ({"elevation": elevation} if elevation else {}),
        centerline={"elevation": shot} if shot else {},
    )  # fmt: skip
    assert found.joints["design_height"].isna().all()
    assert "grade-off" not in laying.codes(found)
    assert any(why in text for text in texts(found, "design-read"))


def test_joints_beyond_the_design_are_held_against_nothing_and_counted(tmp_path):
    wanted = design(tmp_path, line((0.4, 30), (0.4, 110))) | {"max_offset": 0.1}
    found = place(STRAIGHT, wanted)
    inside = [30 <= 20.0 * number <= 110 for number in range(len(STRAIGHT))]
    assert found.joints["design_offset"].notna().tolist() == inside
    assert laying.codes(found).count("line-off") == sum(inside)
    assert any(f"{len(inside) - sum(inside)} joints lie beyond its ends" in one for one in texts(found, "design-read"))


def test_a_little_beyond_an_end_the_offset_is_square_to_the_design(tmp_path):
    # The first joint lies 0.3 ft before the design's start and 0.4 ft right of its line: 0.5 ft from its end.
    wanted = design(tmp_path, line((0, 0.3), (0, 400)), profile=flat(50.0, 399.7))
    found = place(STRAIGHT + moved(0.4), wanted).joints
    np.testing.assert_allclose(found["design_offset"], 0.4, atol=1e-6)


def test_a_folder_of_a_placed_jobs_layers_is_refused_as_a_design_with_the_remedy(tmp_path):
    laying.crowded().write(tmp_path / "earlier.parquet")
    with pytest.raises(asbuilt.InputFileError, match=r"earlier\.parquet: .* place that job again with --out \S+\.gpkg"):
        laying.place(laying.lines(A=STRAIGHT), laying.log(STRAIGHT), design={"path": str(tmp_path / "earlier.parquet")})


def test_an_earlier_placed_file_is_a_design_with_its_stations(tmp_path):
    earlier = laying.crowded()
    path = tmp_path / "earlier.gpkg"
    earlier.write(path)
    before = earlier.joints
    points = before[["easting", "northing", "elevation"]].to_numpy() + moved(0.0, 0.25)
    found = laying.place(
        laying.lines(A=points), laying.log(points),
        design={"path": str(path), "elevation": "pipe-center"}, centerline={"elevation": "pipe-center"},
    ).joints  # fmt: skip
    np.testing.assert_allclose(found["design_offset"], 0.0, atol=1e-5)
    np.testing.assert_allclose(found["design_height"], 0.25, atol=1e-5)
    plain = before["station"].str.replace(r" (BK|AH).*", "", regex=True)
    assert found["design_station"].tolist() == plain.tolist()


def test_lines_of_a_layer_are_matched_by_name_or_as_the_job_says(tmp_path):
    path = tmp_path / "design.gpkg"
    shapes = [shapely.LineString([(E + east, N - 20), (E + east, N + 400)]) for east in (0.2, 50.0)]
    gpd.GeoDataFrame({"MAIN": ["Main A", "B"]}, geometry=shapes, crs=laying.CRS).to_file(path)
    wanted = {"path": str(path), "route": "MAIN", "routes": {"A": "Main A"}, "start_station": "1+00"}
    both = laying.lines(A=STRAIGHT, B=STRAIGHT + moved(50.0), C=STRAIGHT + moved(100.0))
    log = pd.concat([laying.log(STRAIGHT, route=name) for name in "ABC"], ignore_index=True)
    found = laying.place(both, log, design=wanted)
    by_route = found.joints.groupby("route")["design_offset"]
    np.testing.assert_allclose(by_route.get_group("A"), -0.2, atol=1e-6)
    np.testing.assert_allclose(by_route.get_group("B"), 0.0, atol=1e-6)
    assert by_route.get_group("C").isna().all()
    assert any("no line for C, 1 of 3 routes" in text for text in texts(found, "design-read"))
    with pytest.raises(asbuilt.JobFileError, match=r"design\.routes: no line of the design has the name of a route"):
        laying.place(laying.lines(X=STRAIGHT, Y=STRAIGHT + moved(9.0)), laying.log(STRAIGHT, route="X"),
                     design=wanted | {"routes": {}})  # fmt: skip


def test_a_design_that_cannot_be_compared_is_refused_in_its_own_keys(tmp_path):
    with pytest.raises(asbuilt.InputFileError, match=r"no such file; correct design\.path"):
        place(STRAIGHT, {"path": "lost.xml"})
    metric = tmp_path / "metric.gpkg"
    gpd.GeoDataFrame(geometry=[shapely.LineString([(0, 0), (0, 9)])], crs="EPSG:6417").to_file(metric)
    with pytest.raises(asbuilt.JobFileError, match=r"design\.path.*in the system of the survey"):
        place(STRAIGHT, {"path": str(metric)})


def test_grades_under_the_least_and_points_without_an_outlet_are_notes():
    # Up 1 in 100, level, down, up again: one high stretch of three lengths without grade, one low point.
    rise = np.array([0.2, 0.2, 0.2, 0.0, 0.0, 0.0, -0.2, -0.2, -0.2, -0.2, 0.2, 0.2, 0.2])
    points = laying.pipe(np.zeros(len(rise) - 1))
    points[:, 2] = 50.0 + np.concatenate([[0.0], np.cumsum(rise)])
    log, wanted = laying.log(points, kind="pipe"), {"least_grade": 0.5, "least_rise": 0.5}

    def told(log, **profile):
        return texts(laying.place(laying.lines(A=points), log, profile=wanted | profile), "profile-found")

    flat, *others = told(log)
    assert flat.endswith("3 of 13 lengths of pipe lie flatter than the job's least grade of 0.5 %: 0+60.00 to 1+20.00")
    assert len(others) == 2
    assert "near 1 low point of the pipe: 2+00.00" in others[1]
    log.loc[10, "kind"] = "drain"
    assert not any("low point" in text for text in told(log))
    assert told(log, least_grade=None, least_rise=0.9) == []
    level = laying.place(laying.lines(A=points[:, :2]), log, profile=wanted)
    assert "no elevations are known" in texts(level, "profile-found")[0]


@pytest.mark.parametrize("seed", range(5))
def test_turning_points_rise_and_fall_by_the_height_asked_for(seed):
    height = np.cumsum(np.random.default_rng(seed).normal(0.0, 0.3, 400))
    found = turning_points(height, 1.0)
    assert len(found) > 3
    places = [0, *(at for at, _ in found), len(height) - 1]
    for number, (at, word) in enumerate(found, 1):
        around = height[places[number - 1] : places[number + 1] + 1]
        sign = 1 if word == "high" else -1
        assert sign * height[at] == max(sign * around)
        assert sign * height[at] - min(sign * height[places[number - 1] : at + 1]) >= 1.0
        # Before the next turning point, or the end, it falls by as much.
        assert sign * height[at] - min(sign * height[at : places[number + 1] + 1]) >= 1.0
