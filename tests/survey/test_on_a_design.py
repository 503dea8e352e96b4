"""Logs on a design, or a line that was drawn: its corners are where bends lie, so a wrong start or direction shows."""

from itertools import pairwise

import numpy as np
import pytest
from laying import TODAY, lines, log, pipe, place, values

import asbuilt

HEAD = (
    '<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units><Imperial '
    'linearUnit="USSurveyFoot"/></Units><CoordinateSystem epsgCode="6418"/><Alignments>'
)
BENDS = (17, 44)
FORMS = pytest.mark.parametrize("form", ["layer", "alignment"])


def main(bends=BENDS, *, upright=()):
    """Lay a main with bends of 22.5 deg at some joints, and upright ones of which the log does not say that."""
    turn = np.zeros(69)
    turn[[at - 1 for at in bends]] = 22.5 * np.where(np.arange(len(bends)) % 2, -1.0, 1.0)
    points, told = pipe(turn), np.isin(np.arange(71), [*bends, *upright])
    more = {"kind": np.where(told, "bend", "pipe"), "bend angle": np.where(told, "22.5", "")}
    return points[[0, *bends, -1]], log(points, **more)


def alignment(folder, corners):
    """Write an alignment of straights from corner to corner, its stations from 0."""

    def at(tag, point):
        return f"<{tag}>{point[1]:.6f} {point[0]:.6f}</{tag}>"

    ways = "".join(f"<Line>{at('Start', one)}{at('End', other)}</Line>" for one, other in pairwise(corners))
    path = folder / "design.xml"
    path.write_text(
        f'{HEAD}<Alignment name="A" staStart="0"><CoordGeom>{ways}</CoordGeom></Alignment></Alignments></LandXML>',
        "utf-8",
    )
    return path


def placed(folder, form, corners, records, **centerline):
    if form == "layer":
        return place(lines(A=corners), records, told=False, centerline={"source": "design", **centerline})
    job = values() | {"centerline": {"path": str(alignment(folder, corners)), **centerline}}
    return asbuilt.place(asbuilt.Job.from_mapping(job), records=records, today=TODAY)


@FORMS
@pytest.mark.parametrize("start", [20.0, -20.0, 40.0])
def test_a_start_station_that_is_off_by_pipes_is_told_and_no_joint_is_judged(tmp_path, form, start):
    corners, records = main()
    honest = placed(tmp_path, form, corners, records, start_station=0.0)
    assert not len(honest.findings)
    assert set(honest.joints["verdict"]) == {"within-assumed", "not-computed"}
    wrong = placed(tmp_path, form, corners, records, start_station=start)
    said = wrong.findings.query("code == 'bend-off-corner' or code == 'coverage-short'")["message"]
    assert said.str.contains(f" {abs(start):.0f}(?:\\.0+)? ft .*corners? of the line that turns? so", regex=True).all()
    assert said.str.contains("centerline.start_station|shots are missing at its", regex=True).all()
    assert set(wrong.joints["verdict"]) == {"cannot-tell", "not-computed"}


@FORMS
def test_a_design_that_runs_against_the_stations_of_its_log_is_refused(tmp_path, form):
    corners, records = main()
    with pytest.raises(asbuilt.InputFileError, match="only if its stations are counted from its other end") as refused:
        placed(tmp_path, form, corners[::-1], records)
    remedy = "centerline.reversed" if form == "layer" else "get the alignment by whose stations the crew went"
    assert remedy in str(refused.value)
    # Who says so has looked.
    stated = placed(tmp_path, form, corners[::-1], records, starts={"A": "north"})
    assert "bend-off-corner" in set(stated.findings["code"])


@FORMS
def test_bends_that_lie_alike_from_either_end_tell_no_direction_of_a_design(tmp_path, form):
    corners, records = main((22, 48))
    assert not len(placed(tmp_path, form, corners[::-1], records).findings)


@FORMS
def test_upright_bends_on_a_straight_of_a_design_are_no_other_main_s(tmp_path, form):
    """A pipe goes under something with two bends of which the log does not say that they are upright."""
    corners, records = main((), upright=(20, 26))
    assert "bend-off-corner" not in set(placed(tmp_path, form, corners, records).findings["code"])
    corners, records = main(upright=(30, 33))
    assert "bend-off-corner" not in set(placed(tmp_path, form, corners, records).findings["code"])


@pytest.mark.parametrize("radius", [3.0, 10.0])
def test_a_bend_that_an_alignment_draws_as_a_short_curve_lies_at_it(tmp_path, radius):
    """The log has its bend at the middle of the curve, half its arc behind its end: closed form."""
    angle, leg = np.radians(45.0), 300.0
    tangent = radius * np.tan(angle / 2.0)
    start = np.array([6_700_000.0, 2_000_000.0])
    first, corner = start + np.array([0.0, leg - tangent]), start + np.array([0.0, leg])
    way = np.array([np.sin(angle), np.cos(angle)])
    second, center, last = corner + tangent * way, first + np.array([radius, 0.0]), corner + 460.0 * way

    def at(tag, point):
        return f"<{tag}>{point[1]:.9f} {point[0]:.9f}</{tag}>"

    path = tmp_path / "design.xml"
    path.write_text(
        f'{HEAD}<Alignment name="A" staStart="0"><CoordGeom><Line>{at("Start", start)}{at("End", first)}</Line>'
        f'<Curve rot="cw" radius="{radius}">{at("Start", first)}{at("Center", center)}{at("End", second)}</Curve>'
        f"<Line>{at('Start', second)}{at('End', last)}</Line></CoordGeom></Alignment></Alignments></LandXML>",
        "utf-8",
    )
    bend = leg - tangent + radius * angle / 2.0
    length = leg - tangent + radius * angle + 460.0 - tangent
    along = np.unique(np.concatenate([np.arange(0.0, bend - 1.0, 20.0), np.arange(bend, length, 20.0)]))
    points = np.column_stack([np.full(len(along), start[0]), start[1] + along, np.full(len(along), 50.0)])
    is_bend = np.isclose(along, bend)
    records = log(points, kind=np.where(is_bend, "bend", "pipe"), **{"bend angle": np.where(is_bend, "45", "")})
    job = values() | {"centerline": {"path": str(path)}}
    right = asbuilt.place(asbuilt.Job.from_mapping(job), records=records, today=TODAY)
    assert "bend-off-corner" not in set(right.findings["code"])
    job["centerline"]["start_station"] = -20.0
    wrong = asbuilt.place(asbuilt.Job.from_mapping(job), records=records, today=TODAY)
    (said,) = wrong.findings.query("code == 'bend-off-corner'")["message"]
    # By half the arc, at the most, less than it is.
    off = float(said.partition(" lies ")[2].partition(" ft")[0])
    assert 20.0 - radius * angle / 2.0 - 0.1 <= off <= 20.0
