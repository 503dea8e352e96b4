"""LandXML alignments: every statement of two open files, wrong files, and what an engineer would write."""

import hashlib
import math
import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from asbuilt import Job, place
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import landxml_file
from asbuilt.inputs.landxml import read_alignments

FOLDER = Path(__file__).parents[1] / "data" / "landxml"
CLOTHOIDS = FOLDER / "metric_clothoids.xml"
ARCS = FOLDER / "metric_arcs_with_profile.xml"
PER_CIRCLE = {"grads": 400.0, "decimal degrees": 360.0}
"""The files' own units of direction; their directions run clockwise from grid north."""


class Stated:
    """What an open file states, read plainly and apart from the reader under test."""

    def __init__(self, path):
        root = ElementTree.parse(path).getroot()
        for element in root.iter():
            element.tag = element.tag.rpartition("}")[2]
        self.alignment = root.find(".//Alignment")
        self.elements = list(self.alignment.find("CoordGeom"))
        self.profile = list(self.alignment.find(".//ProfAlign"))
        self.per_circle = PER_CIRCLE[next(iter(root.find("Units"))).get("directionUnit")]

    def point(self, element, name):
        northing, easting = (float(value) for value in element.findtext(name).split()[:2])
        return np.array([easting, northing])

    def angle(self, radians):
        return radians / (2 * math.pi) * self.per_circle


def ends(alignment):
    """Start and end of every piece as the reader computes them: points, and azimuths in radians."""
    pieces = alignment.pieces
    easting, northing, azimuth = pieces.locate(np.arange(len(pieces.length)), pieces.length)
    start = np.stack([pieces.easting, pieces.northing], axis=1)
    return start, pieces.azimuth, np.stack([easting, northing], axis=1), azimuth


def tangents(start, azimuth_start, end, azimuth_end):
    """Lengths of the tangents of a curve, from its ends to their intersection."""
    first = np.array([np.sin(azimuth_start), np.cos(azimuth_start)])
    last = np.array([np.sin(azimuth_end), np.cos(azimuth_end)])
    return np.linalg.solve(np.stack([first, last], axis=1), end - start)


def agreement(path):
    """Differences between what the file states and what the reader computes, by quantity.

    Left out is what the reader only repeats: starts, centers, lengths and radii of spirals.
    """
    stated = Stated(path)
    (alignment,) = read_alignments(path).alignments
    pieces = alignment.pieces
    start, azimuth_start, end, azimuth_end = ends(alignment)
    differences = {}

    def compare(quantity, computed, text):
        differences.setdefault(quantity, []).append(abs(float(computed) - float(text)))

    def compare_direction(quantity, radians, text):
        off = stated.angle(radians) - float(text)
        compare(quantity, off - stated.per_circle * round(off / stated.per_circle), 0.0)

    for i, element in enumerate(stated.elements):
        says = element.attrib
        compare("End (distance)", math.dist(end[i], stated.point(element, "End")), 0.0)
        compare("staStart", alignment.start_station + pieces.distance[i], says["staStart"])
        right = pieces.curvature_start[i] + pieces.curvature_end[i]
        assert says.get("rot") == {1: "cw", -1: "ccw", 0: None}[int(np.sign(right))]
        if element.tag == "Line":
            compare("length of Line", pieces.length[i], says["length"])
            compare_direction("dir of Line", azimuth_start[i], says["dir"])
        if element.tag == "Curve":
            compare("length of Curve", pieces.length[i], says["length"])
            compare("radius of Curve", 1 / abs(pieces.curvature_start[i]), says["radius"])
            compare("chord of Curve", math.dist(start[i], end[i]), says["chord"])
            compare_direction("dirStart of Curve", azimuth_start[i], says["dirStart"])
            compare_direction("dirEnd of Curve", azimuth_end[i], says["dirEnd"])
            if "delta" in says:
                compare_direction("delta of Curve", azimuth_end[i] - azimuth_start[i], says["delta"])
        if element.tag == "Spiral":
            lengths = tangents(start[i], azimuth_start[i], end[i], azimuth_end[i])
            compare("tanLong of Spiral", max(lengths), says["tanLong"])
            compare("tanShort of Spiral", min(lengths), says["tanShort"])
            intersection = start[i] + lengths[0] * np.array([np.sin(azimuth_start[i]), np.cos(azimuth_start[i])])
            compare("PI of Spiral (distance)", math.dist(intersection, stated.point(element, "PI")), 0.0)
    compare("length of Alignment", alignment.length, stated.alignment.get("length"))
    arcs = np.flatnonzero(alignment.profile.curvature)
    for at, element in zip(arcs, (element for element in stated.profile if element.tag == "CircCurve"), strict=True):
        compare("length of CircCurve", slope_length(alignment.profile, at), element.get("length"))
    return differences


def by_quadrature(direction, length):
    """Easting and northing at the end of a curve of this direction, from its start."""
    return [quad(lambda s: part(direction(s)), 0, length)[0] for part in (np.sin, np.cos)]  # noqa: B023


def slope_length(profile, at):
    """Length along a piece of a profile, by quadrature of its grade."""
    bounds = profile.distance[at], np.nextafter(profile.distance[at + 1], 0)
    return quad(lambda distance: math.hypot(1.0, profile.at(np.array([distance]))[1][0]), *bounds)[0]


LIMITS = {
    "End (distance)": 1e-6,
    "PI of Spiral (distance)": 1e-6,
    "staStart": 2e-6,
    "length of Line": 1.5e-6,
    "length of Curve": 2e-6,
    "radius of Curve": 1e-6,
    "chord of Curve": 1.5e-6,
    "tanLong of Spiral": 1e-6,
    "tanShort of Spiral": 1e-6,
    "dir of Line": 1e-5,
    "dirStart of Curve": 1e-5,
    "dirEnd of Curve": 1e-5,
    "delta of Curve": 1e-5,
    "length of Alignment": 5e-4,
    "length of CircCurve": 1e-4,
}
"""Metres, or the file's unit of direction. Coordinates and elevations are written to 1e-6 m: this makes 1.4e-6 m in
a length between two points, 1e-5 grads in the direction of the shortest line (10 m), and 1300 x 1e-6 / 20 m in the
length of a vertical arc of radius 1,300 m between grades over 20 m. One file writes its whole length to 1e-3 m."""


@pytest.mark.parametrize(
    ("path", "statements"), [(CLOTHOIDS, 80), (ARCS, 45)], ids=["metric_clothoids", "metric_arcs_with_profile"]
)
def test_every_element_of_an_open_file_has_the_measures_that_it_states(path, statements):
    # Source: buildingSMART International, IFC infra unit test collection, CC BY 4.0 (tests/data/landxml).
    differences = agreement(path)
    assert sum(map(len, differences.values())) == statements
    assert {quantity: max(found) for quantity, found in differences.items() if max(found) > LIMITS[quantity]} == {}


@pytest.mark.parametrize("path", [CLOTHOIDS, ARCS], ids=["metric_clothoids", "metric_arcs_with_profile"])
def test_the_open_files_leave_no_gap_and_no_kink(path):
    _, azimuth_start, end, azimuth_end = ends(read_alignments(path).alignments[0])
    start = ends(read_alignments(path).alignments[0])[0]
    assert np.hypot(*(start[1:] - end[:-1]).T).max() < 1e-6
    assert np.abs((azimuth_start[1:] - azimuth_end[:-1] + np.pi) % (2 * np.pi) - np.pi).max() < 1e-7


def test_points_on_the_spirals_of_an_open_file_agree_with_quadrature_from_their_stated_measures():
    stated = Stated(CLOTHOIDS)
    pieces = read_alignments(CLOTHOIDS).alignments[0].pieces
    spirals = [i for i, element in enumerate(stated.elements) if element.tag == "Spiral"]
    assert len(spirals) == 7
    for i in spirals:
        element = stated.elements[i]
        start, intersection = stated.point(element, "Start"), stated.point(element, "PI")
        side = 1 if element.get("rot") == "cw" else -1
        first, last = (side / float(element.get(name)) for name in ("radiusStart", "radiusEnd"))
        length = float(element.get("length"))
        toward = np.arctan2(*(intersection - start))

        def direction(s, toward=toward, first=first, last=last, length=length):
            return toward + first * s + (last - first) * s**2 / (2 * length)

        along = np.linspace(0, length, 9)
        easting, northing, _ = pieces.locate(np.full(9, i), along)
        for s, *point in zip(along, easting, northing, strict=True):
            # The PI is known to 1e-6 m at 3 m from the start, which makes three times that at 9 m.
            assert math.dist(point, start + by_quadrature(direction, s)) < 5e-6


def test_the_parabolas_of_an_open_file_are_textbook_vertical_curves():
    # y = y0 + g1 x + (g2 - g1) x**2 / (2 L) from the beginning of the curve, with the file's own PVIs.
    profile = read_alignments(CLOTHOIDS).alignments[0].profile
    points = [(0.0, 365.8, 0.0), (79.0, 372.0, 129.487), (467.0, 346.0, 47.922), (507.067, 350.7, 0.0)]
    for (d0, z0, _), (d1, z1, length), (d2, z2, _) in zip(points, points[1:], points[2:], strict=False):
        back, ahead = (z1 - z0) / (d1 - d0), (z2 - z1) / (d2 - d1)
        x = np.linspace(0, length, 11)
        elevation, grade = profile.at(d1 - length / 2 + x)
        expected = z1 - back * length / 2 + back * x + (ahead - back) * x**2 / (2 * length)
        np.testing.assert_allclose(elevation, expected, atol=1e-10)
        np.testing.assert_allclose(grade, back + (ahead - back) * x / length, atol=1e-12)
        middle = profile.at(np.array([d1]))[0][0]
        assert middle == pytest.approx(z1 + (ahead - back) * length / 8)  # the middle ordinate, textbook
    assert profile.at(np.array([0.0, 200.0]))[0] == pytest.approx([365.8, 372.0 + (200 - 79) * (346 - 372) / 388])


def test_the_vertical_arcs_of_an_open_file_touch_their_grades_and_stay_on_their_circles():
    stated, profile = Stated(ARCS), read_alignments(ARCS).alignments[0].profile
    points = [[float(value) for value in element.text.split()] for element in stated.profile]
    seen = 0
    for (d0, z0), (d1, z1), (d2, z2), element in zip(points, points[1:], points[2:], stated.profile[1:], strict=False):
        if element.tag != "CircCurve":
            continue
        seen += 1
        radius, back, ahead = float(element.get("radius")), (z1 - z0) / (d1 - d0), (z2 - z1) / (d2 - d1)
        # The center is where the grades, moved by the radius square to themselves, meet.
        up = np.sign(ahead - back) * radius
        off = up * (math.hypot(1, back) - math.hypot(1, ahead)) / (ahead - back)
        center = d1 + off, z1 + back * off + up * math.hypot(1, back)
        begin, end = center[0] + up * math.sin(math.atan(back)), center[0] + up * math.sin(math.atan(ahead))
        distance = np.linspace(begin, end, 11)
        elevation, grade = profile.at(distance)
        np.testing.assert_allclose(np.hypot(distance - center[0], elevation - center[1]), radius, atol=1e-8)
        assert grade[[0, -1]] == pytest.approx([back, ahead], abs=1e-9)
        outside = np.array([begin - 0.5, end + 0.5])
        expected = [z1 + back * (outside[0] - d1), z1 + ahead * (outside[1] - d1)]
        assert profile.at(outside)[0] == pytest.approx(expected, abs=1e-9)
    assert seen == 4


def test_what_an_open_file_says_of_itself_is_kept():
    read = read_alignments(ARCS)
    assert (read.unit, read.epsg) == ("m", 3878)
    assert read.sha256 == hashlib.sha256(ARCS.read_bytes()).hexdigest()
    alignment = read.alignments[0]
    assert (alignment.name, alignment.start_station, alignment.equations) == ("alignment-1", 0.0, ())
    assert alignment.vertices[0].tolist() == [24525276.867419, 6876935.549267]
    assert alignment.vertices.shape == (8, 2)
    assert alignment.profile.end == 616.442493
    assert any("runs from station 135.557 to 616.442; elevations are unknown on the rest" in n for n in read.notes)
    assert read_alignments(CLOTHOIDS).epsg is None


@settings(max_examples=20)
@given(st.floats(0, 2 * np.pi), st.integers(-(10**6), 10**6), st.integers(-(10**6), 10**6))
def test_turning_and_moving_the_points_of_a_file_turns_and_moves_its_alignment(tmp_path_factory, turn, east, north):
    def move(easting, northing):
        # About a corner near the site, so that written digits do not run out.
        easting, northing = easting - 335000.0, northing - 4084500.0
        return (
            easting * np.cos(turn) + northing * np.sin(turn) + east,
            northing * np.cos(turn) - easting * np.sin(turn) + north,
        )

    def moved(match):
        easting, northing = move(float(match[3]), float(match[2]))
        return f"<{match[1]}>{northing:.9f} {easting:.9f}</"

    text = re.sub(r"<(Start|End|PI|Center)>(\S+) (\S+)</", moved, CLOTHOIDS.read_text())
    path = tmp_path_factory.getbasetemp() / "moved.xml"
    path.write_text(text)
    before, after = read_alignments(CLOTHOIDS).alignments[0], read_alignments(path).alignments[0]
    piece = np.repeat(np.arange(15), 7)
    part = np.tile(np.linspace(0, 1, 7), 15)
    here = before.pieces.locate(piece, part * before.pieces.length[piece])
    there = after.pieces.locate(piece, part * after.pieces.length[piece])
    np.testing.assert_allclose(there[:2], move(*here[:2]), atol=1e-7)
    np.testing.assert_allclose(np.exp(1j * there[2]), np.exp(1j * (here[2] + turn)), atol=1e-8)
    assert after.length == pytest.approx(before.length, abs=1e-7)


LINE = '<Line length="50"><Start>1000 500 7</Start><End>1030 540 7</End></Line>'
METRES = '<Metric linearUnit="meter"/>'
PROFILE = "<Profile><ProfAlign name='top'><PVI>0 10</PVI><PVI>50 12</PVI></ProfAlign></Profile>"


def document(geometry=LINE, more=PROFILE, units=METRES, before="", head="", name="A", start='staStart="0"'):
    return (
        f'{head}<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units>{units}</Units>{before}'
        f'<Alignments><Alignment name="{name}" length="50" {start}><CoordGeom>{geometry}</CoordGeom>{more}'
        "</Alignment></Alignments></LandXML>"
    )


def read(tmp_path, text):
    path = tmp_path / "main.xml"
    path.write_text(text)
    return read_alignments(path)


def test_coordinates_are_written_northing_first(tmp_path):
    alignment = read(tmp_path, document()).alignments[0]
    assert alignment.vertices.tolist() == [[500.0, 1000.0], [540.0, 1030.0]]
    assert np.degrees(alignment.pieces.azimuth[0]) == pytest.approx(np.degrees(np.arctan2(40, 30)))
    assert alignment.profile.at(np.array([25.0]))[0][0] == pytest.approx(11.0)


@pytest.mark.parametrize(
    ("namespace", "prefix"),
    [(' xmlns="http://www.inframodel.fi/inframodel"', ""), ("", ""), (' xmlns:lx="urn:any"', "lx:")],
)
def test_the_namespace_may_be_any(tmp_path, namespace, prefix):
    text = document().replace(' xmlns="http://www.landxml.org/schema/LandXML-1.2"', "")
    text = re.sub(r"<(/?)(\w)", rf"<\1{prefix}\2", text).replace(f"<{prefix}LandXML", f"<{prefix}LandXML{namespace}")
    assert read(tmp_path, text).alignments[0].length == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("units", "unit"),
    [
        (METRES, "m"),
        ('<Imperial linearUnit="foot"/>', "ft"),
        ('<Imperial linearUnit="USSurveyFoot"/>', "us-ft"),
        ('<Imperial linearUnit="USSurveyFoot" elevationUnit="feet"/>', "us-ft"),
    ],
)
def test_the_two_feet_and_the_metre_are_told_apart(tmp_path, units, unit):
    assert read(tmp_path, document(units=units)).unit == unit


def test_a_gap_is_held_against_one_millimetre_in_feet_too(tmp_path):
    # 1 mm is 0.00328 ft.
    def geometry(start):
        return f"{LINE}<Line><Start>1030 {start}</Start><End>1060 540</End></Line>"

    feet = '<Imperial linearUnit="USSurveyFoot"/>'
    assert len(read(tmp_path, document(geometry(540.003), units=feet)).alignments[0].pieces.length) == 2
    with pytest.raises(InputFileError, match=r"element 2 \(Line\): its Start lies 0\.0035 from the End of element 1"):
        read(tmp_path, document(geometry(540.0035), units=feet))
    with pytest.raises(InputFileError, match=r"element 2 \(Line\): its Start lies 0\.0030"):
        read(tmp_path, document(geometry(540.003)))


def test_several_alignments_keep_their_names_and_starts(tmp_path):
    second = document(name="B", start='staStart="1000"', more="")
    second = second[second.index("<Alignment ") : second.index("</Alignments>")]
    found = read(tmp_path, document().replace("</Alignments>", second + "</Alignments>")).alignments
    assert [(alignment.name, alignment.start_station) for alignment in found] == [("A", 0.0), ("B", 1000.0)]


def test_profile_stations_count_from_the_start_station(tmp_path):
    profile = PROFILE.replace(">0 10", ">1000 10").replace(">50 12", ">1050 12")
    alignment = read(tmp_path, document(more=profile, start='staStart="1000"')).alignments[0]
    assert alignment.profile.at(np.array([0.0, 50.0]))[0] == pytest.approx([10.0, 12.0])


def test_station_equations_are_given_with_their_internal_stations(tmp_path):
    # 10+20 back is 20+00 ahead; 20+10 back, 30 further on than the start, is 10+00 ahead.
    equations = (
        '<StaEquation staInternal="1020" staBack="1020" staAhead="2000"/>'
        '<StaEquation staInternal="1030" staAhead="1000"/>'
    )
    alignment = read(tmp_path, document(more=equations, start='staStart="1000"')).alignments[0]
    assert alignment.equations == ((1020.0, 1020.0, 2000.0), (1030.0, 2010.0, 1000.0))


def test_points_may_be_named_ones(tmp_path):
    points = '<CgPoints><CgPoint name="7">1000 500 3</CgPoint><CgPoint name="8">1030 540</CgPoint></CgPoints>'
    line = '<Line><Start pntRef="7"/><End pntRef="8"/></Line>'
    assert read(tmp_path, document(line, before=points)).alignments[0].length == pytest.approx(50.0)
    with pytest.raises(InputFileError, match=r"element 1 \(Line\): Start refers to point '7', but no CgPoint has"):
        read(tmp_path, document(line))
    twice = points.replace('name="8"', 'name="7"')
    with pytest.raises(InputFileError, match="several CgPoints with different places have that name"):
        read(tmp_path, document(line, before=twice))


@pytest.mark.parametrize(
    "points", ["<PntList2D>1000 500 1030 500</PntList2D>", "<PntList3D>1030 500 9 1030 540 9</PntList3D>"]
)
def test_an_irregular_line_is_its_chords(tmp_path, points):
    line = f"<IrregularLine><Start>1000 500</Start><End>1030 540</End>{points}</IrregularLine>"
    alignment = read(tmp_path, document(line)).alignments[0]
    assert alignment.pieces.length.tolist() == [30.0, 40.0]
    assert alignment.vertices.tolist() == [[500, 1000], [500, 1030], [540, 1030]]


def test_surfaces_are_passed_over(tmp_path):
    surface = "<Surfaces><Surface><Alignment/><Pnts><P id='1'>1 2 not-a-number</P></Pnts></Surface></Surfaces>"
    assert len(read(tmp_path, document(before=surface)).alignments) == 1


def test_an_arc_may_be_more_than_half_a_circle(tmp_path):
    # From due west of the center round by south and east to due north: three quarters, to the left.
    curve = '<Curve rot="ccw"><Start>0 -10</Start><Center>0 0</Center><End>10 0</End></Curve>'
    alignment = read(tmp_path, document(curve)).alignments[0]
    assert alignment.length == pytest.approx(15 * np.pi)
    easting, northing, _ = alignment.pieces.locate(np.array([0]), np.array([5 * np.pi]))
    assert (easting[0], northing[0]) == pytest.approx((0.0, -10.0))


def spiral(radius_start="INF", radius_end="50", rot="cw", length="30", end=None, point="", kind="clothoid"):
    # From the origin due north. End and PI by quadrature and by the tangent there.
    first, last = (0.0 if radius == "INF" else 1 / float(radius) for radius in (radius_start, radius_end))
    size, side = float(length), 1 if rot == "cw" else -1

    def turn(s):
        return first * s + (last - first) * s**2 / (2 * size)

    easting, northing = by_quadrature(turn, size)
    point = point or f"<PI>{northing - easting / np.tan(turn(size)):.6f} 0</PI>"
    end = end or f"{northing:.6f} {side * easting:.6f}"
    return (
        f'<Spiral spiType="{kind}" rot="{rot}" radiusStart="{radius_start}" radiusEnd="{radius_end}" length="{length}">'
        f"<Start>0 0</Start>{point}<End>{end}</End></Spiral>"
    )


@pytest.mark.parametrize("rot", ["cw", "ccw"])
@pytest.mark.parametrize("radii", [("INF", "50"), ("50", "INF"), ("80", "50"), ("50", "80")])
def test_a_spiral_joins_any_two_radii(tmp_path, rot, radii):
    pieces = read(tmp_path, document(spiral(radii[0], radii[1], rot))).alignments[0].pieces
    assert abs((pieces.azimuth[0] + np.pi) % (2 * np.pi) - np.pi) < 1e-6
    side = 1 if rot == "cw" else -1
    curvature = [0.0 if radius == "INF" else side / float(radius) for radius in radii]
    assert [pieces.curvature_start[0], pieces.curvature_end[0]] == curvature


@pytest.mark.parametrize("measures", [("INF", "50", "cw", "30"), ("INF", "10", "ccw", "62")])
def test_coordinates_to_the_millimetre_are_exact_enough_for_a_spiral(tmp_path, measures):
    # The second spiral turns nearly half round, so that its PI lies more than its own length away.
    text = re.sub(r"(\d\.\d{3})\d{3}", r"\1", spiral(*measures))
    pieces = read(tmp_path, document(text)).alignments[0].pieces
    assert np.sin(pieces.azimuth[0]) == pytest.approx(0.0, abs=1e-4)


def test_a_spiral_without_its_pi_is_turned_by_its_ends(tmp_path):
    found = read(tmp_path, document(spiral().replace("<PI>", "<Other>").replace("</PI>", "</Other>")))
    assert np.cos(found.alignments[0].pieces.azimuth[0]) == pytest.approx(1.0)
    assert any("element 1 (Spiral): has no PI" in note for note in found.notes)


@pytest.mark.parametrize(
    ("text", "note"),
    [
        (document(more=""), "alignment 'A': has no design profile (ProfAlign), so its elevations are unknown"),
        (
            document(more=PROFILE + PROFILE.replace("top", "pipe")),
            "has 2 profiles (ProfAlign); the first, 'top', was used, and not 'pipe': name the pipe's in",
        ),
        (
            document().replace('length="50" sta', 'length="51" sta'),
            "states length 51, but its elements add up to 50.000",
        ),
        (document().replace('version="1.2"', 'version="1.1"'), "states LandXML version 1.1; it was read as 1.2"),
        (document(before='<CoordinateSystem epsgCode="none"/>'), "epsgCode 'none' is not an EPSG code"),
        (document(LINE + "<Line><Start>1030 540</Start><End>1030 540</End></Line>"), "element 2 (Line): has no length"),
        (document(more=PROFILE.replace("50 12", "49 12")), "runs from station 0.000 to 49.000"),
        (
            document(more='<StaEquation staInternal="20" staAhead="0"/>' + PROFILE),
            "profile stations are read as internal ones",
        ),
    ],
)
def test_what_was_assumed_or_left_out_is_noted(tmp_path, text, note):
    found = read(tmp_path, text)
    assert any(note in line and line.startswith(f"{found.path}: ") for line in found.notes)


def test_a_plain_file_has_nothing_to_note(tmp_path):
    assert read(tmp_path, document()).notes == ()


def test_a_profile_whose_stations_are_rounded_reaches_the_ends_of_its_alignment(tmp_path):
    rounded = PROFILE.replace(">0 10", ">0.004 10").replace(">50 12", ">49.996 12")
    elevation, _ = read(tmp_path, document(more=rounded)).alignments[0].profile.at(np.array([0.0, 50.0]))
    assert elevation == pytest.approx([10.0, 12.0], abs=2e-4)


@pytest.mark.parametrize(
    ("code", "epsg"), [("3878", 3878), ("EPSG:6418", 6418), ("", None), ("0", None)]
)  # fmt: skip
def test_the_epsg_code_is_read(tmp_path, code, epsg):
    assert read(tmp_path, document(before=f'<CoordinateSystem epsgCode="{code}"/>')).epsg == epsg


CURVE = '<Curve rot="cw" radius="10"><Start>0 -10</Start><Center>0 0</Center><End>10 0</End></Curve>'


def vertical(*elements):
    return f"<Profile><ProfAlign>{''.join(elements)}</ProfAlign></Profile>"


FIRST, LAST = "<PVI>0 10</PVI>", "<PVI>50 10</PVI>"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is not well-formed XML"),
        ("Point,Northing\n1,2\n", "is not well-formed XML"),
        (document()[:-20], "is not well-formed XML"),
        ("<gpx/>", r"is not LandXML \(its outermost element is gpx\)"),
        (document(units=""), "has no Units"),
        (document(units='<Metric linearUnit="millimeter"/>'), "linearUnit 'millimeter' is not supported"),
        (
            document(units='<Metric linearUnit="meter" elevationUnit="millimeter"/>'),
            "elevationUnit 'millimeter' differs",
        ),
        (re.sub("<Alignments>.*</Alignments>", "", document()), "has no Alignment; export"),
        (document(geometry=""), "alignment 'A': has no CoordGeom with elements"),
        (document(start=""), "alignment 'A': has no staStart"),
        (document(start='staStart="0+00"'), r"staStart '0\+00' is not a number"),
        (document(LINE.replace("540", "5x40")), r"element 1 \(Line\): End '5x40' is not a number"),
        (document(LINE.replace("540", "nan")), r"element 1 \(Line\): End 'nan' is not a number"),
        (document(LINE.replace("540 7", "")), "End must be northing, easting and perhaps elevation, but has 1 numbers"),
        (document(LINE.replace("End>", "Stop>")), r"element 1 \(Line\): has no End"),
        (document(LINE.replace('"50"', '"60"')), "states length 60, but its points give 50.0000"),
        (document(LINE + LINE), r"element 2 \(Line\): its Start lies 50\.0000 from the End of element 1"),
        (document("<Line><Start>1 1</Start><End>1 1</End></Line>"), "alignment 'A': has no length"),
        (document("<Chain>1 2 3</Chain>"), r"element 1 \(Chain\): Chain is not supported; supported are Line, Curve"),
        (document("<IrregularLine><Start>0 0</Start><End>1 1</End></IrregularLine>"), "has neither PntList2D nor"),
        (document(CURVE.replace("cw", "right")), r"element 1 \(Curve\): rot 'right' is neither cw"),
        (document(CURVE.replace(' rot="cw"', "")), "has no rot"),
        (
            document(CURVE.replace("<End>10 ", "<End>10.01 ")),
            "its Start lies 10.0000 and its End 10.0100 from its Center",
        ),
        (document(CURVE.replace('"10"', '"12.5"')), "states radius 12.5, but its points give 10.0000"),
        (document(CURVE.replace('"cw"', '"ccw" length="15.708"')), "length 15.708, but its points give 47.1239"),
        (document(CURVE.replace("10 0<", "0 -10<")), "its Start and End are one point"),
        (document(CURVE.replace("<Center>0 0</Center>", "")), "has no Center"),
        (document(spiral(kind="cubic")), r"element 1 \(Spiral\): spiType 'cubic' is not supported, only clothoid"),
        (document(spiral().replace('"50"', '"0"')), "radiusEnd 0 must be above 0"),
        (document(spiral().replace('"30"', '"-30"')), "length -30 must be above 0"),
        (document(spiral().replace('length="30"', 'length="3e9"')), "make more than two full turns"),
        (document(spiral(end="29.7 2.9")), "its End is 29.88.. from its Start, but the points are"),
        (document(spiral().replace('"cw"', '"ccw"')), "its PI lies .* off the tangent at its Start"),
        (
            document(spiral().replace('"INF"', '"R"').replace('"50"', '"INF"').replace('"R"', '"50"')),
            "its PI lies .* off the tangent at its Start",
        ),
        (document(spiral(point="<PI>20.1 0.005</PI>")), "its PI lies 0.00.. off the tangent at its Start"),
        (document(spiral(point="<PI>22 0</PI>")), "its PI lies 0.5.* off the tangent at its End"),
        (document(more='<StaEquation staInternal="60" staAhead="0"/>'), "StaEquation 1: staInternal 60.000 must lie"),
        (
            document(more='<StaEquation staInternal="20" staBack="30" staAhead="0"/>'),
            "staBack 30.000 contradicts staInternal, which gives 20.000",
        ),
        (
            document(more='<StaEquation staInternal="20" staAhead="0" staIncrement="decreasing"/>'),
            "stations that decrease ahead are not supported",
        ),
        (document(more=vertical(FIRST)), "profile: has fewer than two points"),
        (document(more=vertical(LAST, FIRST)), r"profile: element 2 \(PVI\): station 0\.000 is not beyond"),
        (document(more=vertical("<PVI>0</PVI>", LAST)), "must be a station and an elevation, but has 1 numbers"),
        (document(more=vertical("<PVI>0 ten</PVI>", LAST)), r"element 1 \(PVI\): station and elevation 'ten'"),
        (document(more=vertical('<ParaCurve length="9">0 10</ParaCurve>', LAST)), "must begin and end with a PVI"),
        (
            document(more=vertical(FIRST, '<UnsymParaCurve lengthIn="9" lengthOut="5">20 11</UnsymParaCurve>', LAST)),
            r"element 2 \(UnsymParaCurve\): UnsymParaCurve is not supported",
        ),
        (document(more=vertical(FIRST, "<ParaCurve>20 11</ParaCurve>", LAST)), r"\(ParaCurve\): has no length"),
        (
            document(more=vertical(FIRST, '<ParaCurve length="61">25 11</ParaCurve>', LAST)),
            r"element 2 \(ParaCurve\): it and the one before it overlap by 5\.500",
        ),
        (
            document(more=vertical(FIRST, '<CircCurve length="20" radius="100">25 11</CircCurve>', LAST)),
            r"states length 20\.000, but its radius and grades give 7\.996",
        ),
        (document(more=vertical("<PVI>100 10</PVI>", "<PVI>150 10</PVI>")), "lies wholly beyond its alignment"),
    ],
)
def test_a_wrong_file_is_refused_with_the_place_and_the_fault(tmp_path, text, message):
    with pytest.raises(InputFileError, match=message) as caught:
        read(tmp_path, text)
    assert str(tmp_path / "main.xml") in str(caught.value)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(InputFileError, match=r"gone\.xml: cannot be read \(No such file"):
        read_alignments(tmp_path / "gone.xml")


LAUGHS = "<!DOCTYPE LandXML [" + '<!ENTITY a0 "ha">' + "".join(
    f'<!ENTITY a{i + 1} "{f"&a{i};" * 10}">' for i in range(9)
) + "]>"  # fmt: skip


@pytest.mark.parametrize(
    "head",
    [
        LAUGHS,
        '<!DOCTYPE LandXML [<!ENTITY a9 SYSTEM "SECRET">]>',
        '<!DOCTYPE LandXML [<!ENTITY % a SYSTEM "SECRET"> %a;]>',
        '<!DOCTYPE LandXML SYSTEM "SECRET">',
        "<!DOCTYPE LandXML>",
    ],
    ids=["expansion", "external entity", "parameter entity", "external declaration", "plain declaration"],
)
def test_entities_and_document_types_are_refused(tmp_path, head):
    (tmp_path / "secret.txt").write_text("1000 500")
    head = head.replace("SECRET", (tmp_path / "secret.txt").as_uri())
    text = document(LINE.replace("1000 500 7", "&a9;"), head=head)
    with pytest.raises(InputFileError, match="document type declaration or entities") as caught:
        read(tmp_path, text)
    assert "1000 500" not in str(caught.value)


def test_an_undeclared_entity_is_refused(tmp_path):
    with pytest.raises(InputFileError, match="undefined entity"):
        read(tmp_path, document(LINE.replace("540 7", "&e;")))


def test_a_file_that_is_too_large_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(landxml_file, "MAX_BYTES", 400)
    with pytest.raises(InputFileError, match=r"main\.xml: is larger than 0\.0004 MB.*export the alignments alone"):
        read(tmp_path, document() + " " * 400)


def test_of_several_profiles_the_one_that_is_named_is_taken(tmp_path):
    path = tmp_path / "main.xml"
    path.write_text(
        document(more=PROFILE + PROFILE.replace("top", "pipe").replace("0 10", "0 4").replace("50 12", "50 8"))
    )
    read = read_alignments(path, "pipe")
    assert (read.alignments[0].profile.at(np.array([25.0]))[0][0], read.notes) == (6.0, ())
    with pytest.raises(InputFileError, match=r"alignment 'A': has no profile 'bed', but 'top', 'pipe'; correct center"):
        read_alignments(path, "bed")


@pytest.mark.parametrize("path", [CLOTHOIDS, ARCS])
def test_a_line_cut_into_more_pieces_is_the_same_line(path):
    alignment = read_alignments(path).alignments[0]
    whole, rng = alignment.pieces, np.random.default_rng(1)
    places = rng.uniform(-5.0, alignment.length + 5.0, 400)
    cut = whole.cut(places)
    assert len(cut.length) == len(whole.length) + np.count_nonzero((places > 0) & (places < alignment.length))
    assert cut.length.sum() == pytest.approx(alignment.length, abs=1e-9)
    at = rng.uniform(0.0, alignment.length, 500)
    here, there = (
        pieces.locate(piece, at - pieces.distance[piece])
        for pieces in (whole, cut)
        for piece in [np.searchsorted(pieces.distance, at, side="right") - 1]
    )
    np.testing.assert_allclose(there[:2], here[:2], atol=1e-7)
    np.testing.assert_allclose(np.exp(1j * there[2]), np.exp(1j * here[2]), atol=1e-8)


def along_the_slope(folder):
    """Give a job whose stations run along the slope of the alignment in the folder."""
    values = {
        "name": "Fullers Lane",
        "crs": "EPSG:25832",
        "centerline": {"path": "main.xml"},
        "records": {"station_unit": "m", "stationing": "slope", "laying_length": 6},
    }
    return Job.from_mapping(values, folder=folder)


ROUNDED = (
    "<Profile><ProfAlign name='pipe'><PVI>0 10</PVI><ParaCurve length='60'>80 26</ParaCurve>"
    "<CircCurve length='{arc}' radius='150'>150 16</CircCurve><PVI>220 40</PVI></ProfAlign></Profile>"
)
STEEP = ROUNDED.format(arc=150.0 * (math.atan(24 / 70) - math.atan(-10 / 70)))


def test_stations_along_the_slope_run_on_an_alignments_profile(tmp_path):
    """Held against a quadrature of the grade, over grades, a parabola and an arc, on a line and a curve in plan."""
    plan = (
        "<Line><Start>5601000 500500</Start><End>5601100 500500</End></Line>"
        f'<Curve rot="cw" radius="100" length="120"><Start>5601100 500500</Start><Center>5601100 500600</Center>'
        f"<End>{5601100 + 100 * math.sin(1.2):.9f} {500600 - 100 * math.cos(1.2):.9f}</End></Curve>"
    )
    (tmp_path / "main.xml").write_text(
        document(plan, more=STEEP, start='staStart="0"').replace('length="50" sta', "sta")
    )
    stations = np.array([0.0, 31.0, 64.5, 97.0, 141.0, 180.0, 221.0])
    log = pd.DataFrame({"joint": range(1, 8), "station": [f"0+{one:07.3f}" for one in stations], "size": 200})
    joints = place(along_the_slope(tmp_path), records=log).joints
    profile = read_alignments(tmp_path / "main.xml").alignments[0].profile
    bends = [*profile.distance.tolist(), profile.end]

    def along(distance):
        grade = lambda s: math.hypot(1.0, profile.at(np.array([s]))[1][0])  # noqa: E731
        return sum(quad(grade, a, min(b, distance))[0] for a, b in pairwise(bends) if a < distance)

    np.testing.assert_allclose([along(one) for one in joints["distance"]], stations, atol=1e-5)
    np.testing.assert_allclose(joints["elevation"], profile.at(joints["distance"].to_numpy())[0], atol=1e-9)
    away = np.hypot(joints["easting"] - 500600, joints["northing"] - 5601100)[joints["distance"] > 100]
    np.testing.assert_allclose(away, 100.0, atol=1e-6)


def test_stations_along_the_slope_ask_for_a_profile_over_the_whole_line(tmp_path):
    (tmp_path / "main.xml").write_text(
        document(
            LINE.replace("1000 500", "5601000 500500").replace("1030 540", "5601030 500540"),
            PROFILE.replace("50 12", "49 12"),
        )
    )
    with pytest.raises(
        JobFileError, match=r"route 'A' has no elevation on a part of it; .* the profile of its alignment"
    ):
        place(along_the_slope(tmp_path), records=pd.DataFrame({"joint": [1], "station": ["0+010"]}))
