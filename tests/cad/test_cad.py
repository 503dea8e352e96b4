"""What was built, handed back to who draws: each file read again by a reader that is not the one who wrote it."""

import ezdxf
import laying
import numpy as np
import pyproj
import pytest
import whole_jobs
from lxml import etree

import asbuilt
from asbuilt.cad.alignment import NAMESPACE, write_alignment
from asbuilt.cad.drawing import LAYERS, write_drawing
from asbuilt.cad.lines import read_work
from asbuilt.errors import InputFileError
from asbuilt.inputs.landxml import read_alignments

POINTS = laying.pipe([0, 3, 3, 0, -4], up=0.01)
LAND = {"x": NAMESPACE}


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    path = tmp_path_factory.mktemp("cad") / "joints.gpkg"
    placement = laying.crowded()
    placement.write(path)
    return path, placement


def placed(path, points=POINTS, log=None, **tables):
    laying.place(laying.lines(A=points), laying.log(POINTS) if log is None else log, **tables).write(path)
    return path


def drawn(path, name="as-built.dxf"):
    file = path.with_name(name)
    write_drawing(read_work(path), file, "Not for locating. Ask first.")
    drawing = ezdxf.filemanagement.readfile(file)
    assert drawing.audit().errors == []
    return drawing


def aligned(path, name="as-built.xml"):
    file = path.with_name(name)
    write_alignment(read_work(path), file)
    return file


def attributes(block):
    return {one.dxf.tag: one.dxf.text for one in block.attribs}


def test_the_centerline_is_drawn_in_3d_through_every_shot(tmp_path):
    drawing = drawn(placed(tmp_path / "joints.gpkg"))
    (line,) = drawing.modelspace().query("POLYLINE")
    assert line.is_3d_polyline
    assert line.dxf.layer == "ASBUILT-CENTERLINE"
    np.testing.assert_allclose([tuple(one.dxf.location) for one in line.vertices], POINTS, atol=1e-6)
    # 21: US survey feet. Source: DXF reference, $INSUNITS; from memory.
    assert drawing.header["$INSUNITS"] == 21
    assert set(LAYERS) <= {layer.dxf.name for layer in drawing.layers}


def test_every_joint_is_a_block_with_its_attributes_and_every_finding_a_flag(crowded):
    path, placement = crowded
    drawing = drawn(path)
    blocks = drawing.modelspace().query("INSERT")
    joints = [one for one in blocks if one.dxf.layer == "ASBUILT-JOINTS"]
    assert len(joints) == len(placement.joints)
    told = {attributes(one)["JOINT_UID"]: one for one in joints}
    for row in placement.joints.itertuples():
        block = told[row.joint_uid]
        np.testing.assert_allclose(tuple(block.dxf.insert), (row.easting, row.northing, row.elevation), atol=1e-6)
        values = attributes(block)
        assert (values["JOINT"], values["STATION"], values["VERDICT"]) == (row.joint, row.station, row.verdict)
    flags = [attributes(one) for one in blocks if one.dxf.layer == "ASBUILT-FINDINGS"]
    assert sorted(one["CODE"] for one in flags) == sorted(placement.findings["code"])
    assert [one["JOINT"] for one in flags] == [joint or "" for joint in placement.findings["joint"]]


def test_the_mark_of_a_joint_stands_across_a_line_that_runs_north(tmp_path):
    drawing = drawn(
        placed(tmp_path / "joints.gpkg", points=laying.pipe(np.zeros(5)), log=laying.log(laying.pipe(np.zeros(5))))
    )
    turned = {round(one.dxf.rotation, 6) for one in drawing.modelspace().query("INSERT") if "JOINTS" in one.dxf.layer}
    assert turned == {180.0}


def test_what_has_no_elevation_is_drawn_flat_and_says_so(tmp_path):
    space = drawn(placed(tmp_path / "joints.gpkg", points=POINTS[:, :2])).modelspace()
    assert {one.dxf.layer for one in space.query("LWPOLYLINE")} == {"ASBUILT-CENTERLINE-FLAT"}
    assert not space.query("POLYLINE")
    joints = [one for one in space.query("INSERT") if "JOINTS" in one.dxf.layer]
    assert {one.dxf.layer for one in joints} == {"ASBUILT-JOINTS-FLAT"}
    assert {attributes(one)["ELEVATION"] for one in joints} == {"unknown"}


def test_a_map_in_metres_of_a_survey_in_feet_has_elevations_in_metres(tmp_path):
    path = placed(tmp_path / "joints.gpkg", output={"crs": "EPSG:6417"})
    carry = pyproj.Transformer.from_crs(laying.CRS, "EPSG:6417", always_xy=True)
    drawing = drawn(path)
    (line,) = drawing.modelspace().query("POLYLINE")
    found = np.array([tuple(one.dxf.location) for one in line.vertices])
    np.testing.assert_allclose(found[:, :2].T, carry.transform(POINTS[:, 0], POINTS[:, 1]), atol=1e-6)
    np.testing.assert_allclose(found[:, 2], POINTS[:, 2] * 1200 / 3937, atol=1e-6)
    assert drawing.header["$INSUNITS"] == 6
    (alignment,) = read_alignments(aligned(path)).alignments
    np.testing.assert_allclose(alignment.profile.at(np.zeros(1))[0], [50.0 * 1200 / 3937], atol=1e-6)


def test_odd_names_and_remarks_are_texts_in_both(tmp_path):
    name, log = 'x%%u "<b>^ \N{SNOWMAN}', laying.log(POINTS)
    log["joint"] = [f"{at}%%o\n<&>" for at in range(len(POINTS))]
    log["route"] = name
    path = tmp_path / "joints.gpkg"
    laying.place(laying.lines(**{name: POINTS}), log).write(path)
    values = [attributes(one) for one in drawn(path).modelspace().query("INSERT") if "JOINTS" in one.dxf.layer]
    assert {one["ROUTE"] for one in values} == {'x% %u "<b>^  \N{SNOWMAN}'}
    tree = etree.parse(aligned(path))
    assert tree.xpath("//x:Alignment/@name", namespaces=LAND) == [name]


def test_the_alignment_is_read_back_as_it_was_laid(tmp_path):
    path = placed(
        tmp_path / "joints.gpkg", log=laying.log(POINTS, start=1000.0), centerline={"start_station": {"A": "10+00"}}
    )
    read = read_alignments(aligned(path))
    (alignment,) = read.alignments
    assert (read.unit, read.epsg, read.notes) == ("us-ft", 6418, ())
    assert alignment.start_station == 1000.0
    np.testing.assert_allclose(alignment.vertices, POINTS[:, :2], atol=1e-5)
    # Lengths of 20 ft, rising 1 in 100: the profile is a straight.
    assert alignment.length == pytest.approx(20.0 * (len(POINTS) - 1), abs=1e-5)
    along = np.array([0.0, 33.0, 119.0])
    np.testing.assert_allclose(alignment.profile.at(along)[0], 50.0 + 0.01 * along, atol=1e-5)


def test_the_document_holds_the_closed_form_in_the_schema_s_own_names(tmp_path):
    tree = etree.parse(aligned(placed(tmp_path / "joints.gpkg")))
    assert tree.getroot().tag == f"{{{NAMESPACE}}}LandXML"
    starts = [list(map(float, text.split())) for text in tree.xpath("//x:Line/x:Start/text()", namespaces=LAND)]
    # Points are northing and easting.
    np.testing.assert_allclose(starts, POINTS[:-1, 1::-1], atol=1e-5)
    points = tree.xpath("//x:CgPoint", namespaces=LAND)
    assert [one.get("name") for one in points] == [f"A {number}" for number in range(1, len(POINTS) + 1)]
    np.testing.assert_allclose([list(map(float, one.text.split())) for one in points], POINTS[:, [1, 0, 2]], atol=0.011)
    assert tree.xpath("//x:Imperial/@linearUnit", namespaces=LAND) == ["USSurveyFoot"]


def test_a_job_placed_on_its_own_alignment_has_its_joints_where_they_were(crowded, tmp_path):
    path, before = crowded
    file = aligned(path)
    (alignment,) = read_alignments(file).alignments
    assert [(round(back, 3), round(ahead, 3)) for _, back, ahead in alignment.equations] == [
        (810.0, 1310.0), (1350.0, 1850.0), (1890.0, 2390.0)
    ]  # fmt: skip
    job = asbuilt.Job.from_mapping(laying.values(centerline={"path": str(file), "route": None}), folder=tmp_path)
    log = laying.log(laying.pipe(np.zeros(98)))
    log["station"] = before.joints["station"].str.replace(r" EQ \d", "", regex=True)
    after = asbuilt.place(job, records=log, today=laying.TODAY).joints
    np.testing.assert_allclose(after["distance"], before.joints["distance"], atol=1e-4)
    np.testing.assert_allclose(after[["easting", "northing"]], before.joints[["easting", "northing"]], atol=1e-4)


def test_stations_counted_on_the_ground_are_told_where_the_alignment_s_differ(tmp_path):
    log = laying.log(POINTS)
    path = placed(tmp_path / "joints.gpkg", log=log, centerline={"combined_factor": 0.9995})
    (line,) = read_work(path).lines
    # 120 ft on the grid are 120 / 0.9995 ft on the ground.
    assert line.station_miss == pytest.approx(120 / 0.9995 - 120, abs=1e-6)
    status, told = whole_jobs.run(
        "review", path, "--out", tmp_path / "review", "--landxml", tmp_path / "line.xml", "--json"
    )
    assert status == 0
    assert any("differ from them by up to 0.06 ft" in one for one in told["handed_back"])
    assert "up to 0.06" in etree.parse(tmp_path / "line.xml").xpath("//x:Alignment/@desc", namespaces=LAND)[0]


def test_nothing_is_written_where_any_of_it_could_not_be(tmp_path):
    path = placed(tmp_path / "joints.gpkg")
    dxf, xml = tmp_path / "as-built.dxf", tmp_path / "as-built.xml"
    asked = ("review", path, "--out", tmp_path / "review", "--dxf", dxf, "--landxml", xml)
    xml.write_text("<LandXML/>")
    status, message = whole_jobs.run(*asked)
    assert (status, dxf.exists(), (tmp_path / "review").exists()) == (2, False, False)
    assert "is not written over" in message
    xml.unlink()
    assert whole_jobs.run(*asked)[0] == 0
    assert whole_jobs.run(*asked)[0] == 0
    other = placed(tmp_path / "other.gpkg", name="Mill Road")
    status, message = whole_jobs.run("review", other, "--out", tmp_path / "other", "--dxf", dxf)
    assert status == 2
    assert "a drawing of asbuilt review of another job is there (Quarry Lane)" in message


def test_degrees_cannot_be_drawn(tmp_path):
    path = placed(tmp_path / "joints.gpkg", output={"crs": "EPSG:4326"})
    with pytest.raises(InputFileError, match=r"projected system in output\.crs"):
        read_work(path)
