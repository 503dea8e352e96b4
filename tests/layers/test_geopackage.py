"""The GeoPackage: geometry as GEOS knows it, every column explained, valid, and written whole or not at all."""

import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import textwrap
import warnings
import weakref
import xml.etree.ElementTree as ElementTree
from contextlib import closing
from pathlib import Path

import fiona
import geopandas as gpd
import numpy as np
import pyarrow as pa
import pyogrio
import pytest
import shapely
from hosts import python_with
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from pyogrio.raw import read_arrow

import asbuilt
from asbuilt.errors import OutputError
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.layers import geopackage, outputs
from asbuilt.layers.geopackage import Layer, write_geopackage
from asbuilt.layers.shapes import lines_wkb, paths_wkb, points_wkb
from asbuilt.review.look import MARKS
from asbuilt.schema import DOMAINS, LAYERS

pytestmark = pytest.mark.filterwarnings("error")

CRS = "EPSG:6418"
UNITS = {"unit": "US survey feet", "station_unit": "international feet", "reading_unit": "inches"}
UNKNOWN = float("nan")
STYLES = Path(asbuilt.__file__).parent / "data" / "styles"


def joints(count=3, **columns):
    number = np.arange(count)
    table = {
        "joint": pa.array([f"{101 + one}" for one in number], pa.string()),
        "verdict": pa.array(["within", "over", None] * count).slice(0, count),
        "deflection_deg": pa.array(number / 4.0),
        "findings": pa.array(number, pa.int32()),
        "inspected_on": pa.array(number.astype(np.int32) + 20_500, pa.date32()),
        "geom": points_wkb(6.7e6 + 20.0 * number, np.full(count, 2.0e6), np.full(count, 50.0)),
    }
    return Layer("joints", pa.table(table | columns))


def all_layers():
    """Make every layer of the schema with every one of its columns: filled, of unknown elevation, or empty."""
    east, north = np.array([6.7e6, 6.7e6 + 20, 6.7e6 + 40]), np.array([2.0e6, 2.0e6 + 1, 2.0e6 + 3])
    up = np.array([50.0, UNKNOWN, 51.0])
    segments = lines_wkb(east[:-1], north[:-1], up[:-1], east[1:], north[1:], up[1:])
    geometry = {
        "joints": points_wkb(east, north, up),
        "segments": segments,
        "findings": pa.array([], pa.binary()),
        "centerline": paths_wkb(east, north, up, np.array([0.0, 20.02, 40.12]), np.array([0, 3])),
    }
    for name, about in LAYERS.items():
        rows = len(geometry[name]) if name in geometry else 2
        columns = {column: a_column(info, rows) for column, info in about.columns.items()}
        yield Layer(name, pa.table(columns | ({"geom": geometry[name]} if name in geometry else {})))


def a_column(info, rows):
    return pa.array([next(iter(DOMAINS[info.domain])) if info.domain else "text"] * rows, pa.string())


def write(path, *layers):
    write_geopackage(path, layers, crs=CRS, units=UNITS)
    return path


def query(path, text, *values):
    with closing(sqlite3.connect(path)) as database:
        return database.execute(text, values).fetchall()


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def tool(name):
    return shutil.which(name) or pytest.skip(f"NOT CHECKED: the program {name} is not here")


ordinates = arrays(np.float64, st.shared(st.integers(0, 20), key="n"), elements=st.floats(-1e7, 1e7))


@given(ordinates, ordinates, ordinates)
def test_points_are_the_bytes_that_geos_writes(easting, northing, elevation):
    expected = shapely.to_wkb(shapely.points(easting, northing, elevation), flavor="iso", byte_order=1)
    assert points_wkb(easting, northing, elevation).to_pylist() == list(expected)


@given(st.tuples(*[ordinates] * 6))
def test_lines_are_the_bytes_that_geos_writes(ends):
    vertices = np.stack(ends, axis=1).reshape(-1, 2, 3)
    expected = shapely.to_wkb(shapely.linestrings(vertices), flavor="iso", byte_order=1)
    assert lines_wkb(*ends).to_pylist() == list(expected)


@given(st.lists(st.integers(2, 9), max_size=6), st.randoms(use_true_random=False))
def test_paths_of_any_number_of_vertices_are_read_back_by_geos(sizes, random):
    first = np.concatenate([[0], np.cumsum(sizes, dtype=np.int64)]).astype(np.int64)
    vertices = np.array([[random.uniform(-1e6, 1e6) for _ in range(4)] for _ in range(first[-1])]).reshape(-1, 4)
    easting, northing, elevation, measure = vertices.T
    paths = shapely.from_wkb(paths_wkb(easting, northing, elevation, measure, first).to_numpy(zero_copy_only=False))
    assert shapely.get_num_points(paths).tolist() == sizes
    assert shapely.get_coordinates(paths, include_z=True).tolist() == vertices[:, :3].tolist()


@pytest.mark.skipif(shapely.geos_version < (3, 12, 0), reason="NOT CHECKED: this GEOS knows no measures")
def test_the_measure_of_a_path_is_read_back_by_geos():
    measure = np.array([0.0, 5.0, 9.0])
    path = shapely.from_wkb(paths_wkb(np.zeros(3), measure, np.ones(3), measure, np.array([0, 3]))[0].as_py())
    assert shapely.get_coordinates(path, include_z=True, include_m=True)[:, 3].tolist() == measure.tolist()


def test_an_unknown_elevation_is_nan_and_an_unknown_position_is_null():
    known, unknown = np.array([1.0]), np.array([UNKNOWN])
    point = shapely.from_wkb(points_wkb(known, known, unknown)[0].as_py())
    np.testing.assert_equal(shapely.get_coordinates(point, include_z=True), [[1.0, 1.0, UNKNOWN]])
    for place in ((unknown, known), (known, unknown), (np.array([np.inf]), known)):
        assert points_wkb(*place, known).to_pylist() == [None]
        assert lines_wkb(*place, known, known, known, known).to_pylist() == [None]
        assert lines_wkb(known, known, known, *place, known).to_pylist() == [None]


def test_geopandas_and_fiona_read_what_was_written(tmp_path):
    layer = joints(4)
    path = write(tmp_path / "joints.gpkg", layer)
    frame = gpd.read_file(path, layer="joints")
    assert frame.crs == CRS
    assert frame["joint"].tolist() == ["101", "102", "103", "104"]
    assert frame["verdict"].fillna("unknown").tolist() == ["within", "over", "unknown", "within"]
    assert frame["deflection_deg"].tolist() == [0.0, 0.25, 0.5, 0.75]
    assert frame["findings"].tolist() == [0, 1, 2, 3]
    assert frame["inspected_on"].dt.strftime("%Y-%m-%d").tolist()[:2] == ["2026-02-16", "2026-02-17"]
    assert shapely.to_wkb(frame.geometry, flavor="iso").tolist() == layer.table["geom"].to_pylist()
    with fiona.open(path, layer="joints") as source:
        assert source.schema["geometry"] == "3D Point"
        assert [feature.properties["joint"] for feature in source] == ["101", "102", "103", "104"]
        assert source[1].geometry.coordinates == (6.7e6, 2.0e6, 50.0)


def test_all_layers_come_back_with_their_rows_columns_and_geometry(tmp_path):
    path = write(tmp_path / "all.gpkg", *all_layers())
    for layer in all_layers():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pyogrio warns that GeoPandas knows no measures
            _, table = read_arrow(path, layer=layer.name)
        assert table.num_rows == layer.table.num_rows
        assert set(table.column_names) == set(layer.table.column_names)
        for name in layer.table.column_names:
            assert table[name].to_pylist() == layer.table[name].to_pylist()
    kinds = {"Point Z": ("POINT", 1, 0), "LineString Z": ("LINESTRING", 1, 0), "LineString ZM": ("LINESTRING", 1, 1)}
    written = query(path, "SELECT table_name, geometry_type_name, z, m FROM gpkg_geometry_columns")
    assert {name: kind for name, *kind in written} == {
        name: list(kinds[about.geometry_type]) for name, about in LAYERS.items() if about.geometry_type
    }


def test_text_may_come_as_codes_with_a_dictionary(tmp_path):
    coded = pa.array(["over", "within", None]).dictionary_encode()
    path = write(tmp_path / "joints.gpkg", joints(3, verdict=coded))
    assert query(path, "SELECT verdict FROM joints") == [("over",), ("within",), (None,)]


def test_a_feature_without_a_position_is_kept_and_left_out_of_the_index(tmp_path):
    geometry = points_wkb(np.array([6.7e6, UNKNOWN]), np.array([2.0e6, 2.0e6]), np.array([50.0, 50.0]))
    path = write(tmp_path / "joints.gpkg", joints(2, geom=geometry))
    assert gpd.read_file(path, layer="joints").geometry.isna().tolist() == [False, True]
    assert query(path, "SELECT id FROM rtree_joints_geom") == [(1,)]


def test_a_box_finds_the_joints_in_it(tmp_path):
    path = write(tmp_path / "joints.gpkg", joints(100))
    box = (6.7e6 + 199, 1.9e6, 6.7e6 + 241, 2.1e6)
    assert gpd.read_file(path, layer="joints", bbox=box)["joint"].tolist() == ["111", "112", "113"]
    assert query(path, "SELECT count(*) FROM rtree_joints_geom") == [(100,)]


def test_every_layer_and_column_is_described_with_its_unit(tmp_path):
    path = write(tmp_path / "all.gpkg", *all_layers())
    columns = query(path, "SELECT table_name, column_name, title, description, constraint_name FROM gpkg_data_columns")
    expected = {(layer, column) for layer, about in LAYERS.items() for column in about.columns}
    assert {row[:2] for row in columns} == expected
    described = {row[:2]: row[2:] for row in columns}
    assert described["joints", "distance"][1].startswith("Horizontal distance along the route from its start, in US s")
    assert described["inspections", "laid_length"][1] == "Length of the pipe as laid, in international feet."
    assert described["joints", "verdict"][2] == "verdict"
    layers = dict(query(path, "SELECT table_name, description FROM gpkg_contents"))
    assert all(layers[name] for name in LAYERS)
    assert layers["centerline"].endswith("is the distance from its start, in US survey feet.")
    assert not [text for text in [*layers.values(), *(row[3] for row in columns)] if "{" in text]


def test_coded_values_stand_in_the_file_for_the_columns_that_have_them(tmp_path):
    path = write(tmp_path / "joints.gpkg", joints())
    values = query(
        path, "SELECT constraint_name, constraint_type, value, description FROM gpkg_data_column_constraints"
    )
    assert sorted(values) == sorted(("verdict", "enum", *pair) for pair in DOMAINS["verdict"].items())


def test_ogrinfo_sees_layers_and_field_domains(tmp_path):
    path = write(tmp_path / "all.gpkg", *all_layers())
    program = tool("ogrinfo")
    layer = subprocess.run([program, "-ro", "-so", path, "findings"], capture_output=True, text=True, check=True)
    assert re.search(r"^code: String \(0\.0\), domain name=finding_code$", layer.stdout, re.MULTILINE)
    assert "Feature Count: 0" in layer.stdout
    assert "user_version" not in layer.stderr, "the version of the standard is newer than this GDAL knows"
    domain = subprocess.run([program, "-fielddomain", "severity", path], capture_output=True, text=True, check=True)
    assert all(f"{value}: {meaning}" in domain.stdout for value, meaning in DOMAINS["severity"].items())


@pytest.mark.parametrize("layers", [all_layers, lambda: [joints(100)]], ids=["every layer", "every kind of column"])
def test_an_independent_validator_finds_nothing(tmp_path, layers):
    """GDAL's sample validator of the GeoPackage standard, with its checks of contents and every warning an error."""
    validator = "osgeo_utils.samples.validate_gpkg"
    python = python_with(validator)
    path = write(tmp_path / "all.gpkg", *layers())
    strict = [python, "-m", validator, "-k", "--extra", "--warning-as-error"]
    done = subprocess.run([*strict, path], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("UPDATE gpkg_data_columns SET table_name = 'elsewhere' WHERE column_name = 'verdict'")
    assert subprocess.run([*strict, path], capture_output=True).returncode == 1


def test_a_layer_or_column_without_a_description_is_refused(tmp_path):
    with pytest.raises(ValueError, match="does not describe these columns of 'joints': colour, mood"):
        write(tmp_path / "joints.gpkg", joints(1, colour=["red"], mood=["fair"]))
    with pytest.raises(ValueError, match="does not describe the layer 'valves'"):
        write(tmp_path / "joints.gpkg", Layer("valves", joints().table))
    assert not list(tmp_path.iterdir())


def test_the_schema_is_whole():
    for about in LAYERS.values():
        titles = [column.title for column in about.columns.values()]
        assert len(set(titles)) == len(titles)
        for column in about.columns.values():
            assert column.domain is None or column.domain in DOMAINS
            assert column.description.endswith(".")
            assert set(re.findall(r"{(\w+)}", column.description)) <= {"unit", "station_unit", "reading_unit"}
    assert {
        domain for about in LAYERS.values() for column in about.columns.values() if (domain := column.domain)
    } == set(DOMAINS)
    assert set(RECORD_FIELDS) <= set(LAYERS["inspections"].columns)


def test_meanings_of_coded_values_are_single_short_sentences():
    for domain in DOMAINS.values():
        for meaning in domain.values():
            assert len(meaning) <= 85
            assert ". " not in meaning


def test_an_earlier_file_is_replaced_when_the_new_one_is_complete(tmp_path):
    path = write(tmp_path / "joints.gpkg", joints(3))
    write(path, joints(5))
    assert len(gpd.read_file(path, layer="joints")) == 5
    assert list(tmp_path.iterdir()) == [path]


def test_a_placed_file_with_a_table_of_somebody_else_is_not_replaced(tmp_path):
    """A layer that was exported into it from a GIS, or the GIS's own project, would be gone with the file."""
    path = write(tmp_path / "joints.gpkg", *all_layers())
    outputs.refuse_to_replace(path, kind="placed", key="--out")
    with closing(sqlite3.connect(path)) as database, database:
        database.execute('CREATE TABLE "punch list" (fid INTEGER PRIMARY KEY, what TEXT)')
    with pytest.raises(OutputError, match=r"nobody could bring back \(punch list\); keep it in a file"):
        outputs.refuse_to_replace(path, kind="placed", key="--out")


def test_a_link_stays_a_link_to_the_file(tmp_path):
    store = tmp_path / "store"
    store.mkdir()
    link = tmp_path / "joints.gpkg"
    link.symlink_to(store / "joints of 2026.gpkg")
    write(link, joints(3))
    assert link.is_symlink()
    assert len(gpd.read_file(store / "joints of 2026.gpkg", layer="joints")) == 3


@pytest.mark.parametrize("failure", [KeyboardInterrupt, MemoryError, RuntimeError, OutputError])
def test_a_failure_on_the_way_leaves_the_earlier_file_and_nothing_else(tmp_path, failure):
    path = write(tmp_path / "joints.gpkg", joints())
    before = digest(path)

    def layers():
        yield joints(10)
        raise failure("in the middle")

    with pytest.raises(failure, match=r"^in the middle$"):
        write_geopackage(path, layers(), crs=CRS, units=UNITS)
    assert digest(path) == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_kill_in_the_middle_leaves_the_earlier_file(tmp_path):
    path = write(tmp_path / "joints.gpkg", joints())
    before = digest(path)
    script = textwrap.dedent(
        f"""
        import sys, time
        sys.path[:0] = [{str(Path(__file__).parent)!r}, {str(Path(__file__).parents[1])!r}]
        from test_geopackage import *

        def layers():
            yield joints(1000)
            print("half", flush=True)
            time.sleep(600)

        write_geopackage(Path({str(path)!r}), layers(), crs=CRS, units=UNITS)
        """
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "half\n"
        process.kill()
    assert digest(path) == before
    write(path, joints(7))
    assert len(gpd.read_file(path, layer="joints")) == 7


def test_a_full_disk_is_said_so_and_leaves_the_earlier_file(tmp_path):
    pytest.importorskip("resource", reason="NOT CHECKED: the size of a file cannot be limited here")
    path = write(tmp_path / "joints.gpkg", joints())
    before = digest(path)
    script = textwrap.dedent(
        f"""
        import resource, signal, sys
        sys.path[:0] = [{str(Path(__file__).parent)!r}, {str(Path(__file__).parents[1])!r}]
        from test_geopackage import *

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        whole = write(Path({str(tmp_path / "whole.gpkg")!r}), joints(2000)).stat().st_size
        for part in (0.0, 0.1, 0.5, 0.9, 0.99):
            resource.setrlimit(resource.RLIMIT_FSIZE, (int(part * whole), resource.RLIM_INFINITY))
            try:
                write(Path({str(path)!r}), joints(2000))
            except OutputError as error:
                print(error)
        """
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    messages = done.stdout.splitlines()
    assert len(messages) == 5
    for message in messages:
        assert re.search(r"joints\.gpkg: cannot be written \(.*; \d+ MB are free there\); make room", message)
    assert digest(path) == before
    assert {one.name for one in tmp_path.iterdir()} == {"joints.gpkg", "whole.gpkg"}


def test_places_that_cannot_be_written_are_named_with_the_remedy(tmp_path):
    (tmp_path / "folder.gpkg").mkdir()
    (tmp_path / "file").write_text("")
    cases = {
        tmp_path / "joints.sqlite": "the name of a GeoPackage ends in .gpkg",
        tmp_path / "folder.gpkg": "this is a folder; name a file",
        tmp_path / "nowhere" / "joints.gpkg": f"there is no folder {tmp_path / 'nowhere'}; make it",
        tmp_path / "file" / "joints.gpkg": f"there is no folder {tmp_path / 'file'}",
    }
    for path, words in cases.items():
        with pytest.raises(OutputError, match=f"^{re.escape(str(path))}: {re.escape(words)}"):
            write(path, joints())
    assert {one.name for one in tmp_path.iterdir()} == {"folder.gpkg", "file"}


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="NOT CHECKED: rights of folders work differently here")
def test_a_folder_without_the_right_to_write_is_named(tmp_path):
    tmp_path.chmod(0o555)
    root = os.geteuid() == 0
    try:
        if root:
            os.seteuid(65534)
        with pytest.raises(
            OutputError, match=r"joints\.gpkg: cannot be written \(Permission denied\); check the folder"
        ):
            write(tmp_path / "joints.gpkg", joints())
    finally:
        if root:
            os.seteuid(0)
        tmp_path.chmod(0o755)


def test_a_file_that_is_being_edited_elsewhere_is_not_replaced(tmp_path):
    """SQLite would replay the editor's log onto the new file, and spoil it: https://sqlite.org/howtocorrupt.html"""
    path = write(tmp_path / "joints.gpkg", joints())
    with closing(sqlite3.connect(path)) as editor:
        editor.execute("PRAGMA journal_mode = wal")
        editor.execute("UPDATE gpkg_contents SET description = 'edited'")
        editor.commit()
        with pytest.raises(OutputError, match=r"open for editing, .*joints\.gpkg-wal lies beside it.*close the file"):
            write(path, joints(9))
    assert query(path, "SELECT description FROM gpkg_contents WHERE table_name = 'joints'") == [("edited",)]


def test_one_table_at_a_time_is_in_memory(tmp_path):
    earlier = []

    def layers():
        for name in ("inspections", "set_aside", "run"):
            assert [one() for one in earlier] == [None] * len(earlier)
            table = pa.table({next(iter(LAYERS[name].columns)): [1]})
            earlier.append(weakref.ref(table))
            yield Layer(name, table)
            del table

    write_geopackage(tmp_path / "joints.gpkg", layers(), crs=CRS, units=UNITS)
    assert len(earlier) == 3


def test_settings_of_gdal_are_as_they_were_afterwards(tmp_path):
    name = next(iter(geopackage._GDAL_OPTIONS))
    assert pyogrio.get_gdal_config_option(name) is None
    pyogrio.set_gdal_config_options({name: "page_size=8192"})
    try:
        path = write(tmp_path / "joints.gpkg", joints())
        assert pyogrio.get_gdal_config_option(name) == "page_size=8192"
    finally:
        pyogrio.set_gdal_config_options({name: None})
    assert query(path, "PRAGMA page_size") == [(16384,)]


@pytest.mark.parametrize(("layer", "domain"), [("joints", "verdict"), ("findings", "severity")])
def test_each_coded_value_has_a_colour_and_a_shape_of_its_own(layer, domain):
    style = ElementTree.parse(STYLES / f"{layer}.qml")
    categories = style.findall(".//category")
    assert style.find(".//renderer-v2").get("attr") == next(
        name for name, column in LAYERS[layer].columns.items() if column.domain == domain
    )
    assert {category.get("value") for category in categories} == set(DOMAINS[domain])
    looks = []
    for category in categories:
        top = style.findall(f".//symbols/symbol[@name='{category.get('symbol')}']/layer")[-1]
        options = {option.get("name"): option.get("value") for option in top.findall(".//Option[@name]")}
        filled = not options["color"].endswith(",0")
        colour = options["color" if filled else "outline_color"]
        looks.append((options["name"], tuple(int(part) for part in colour.split(",")[:3])))
    shapes, colours = zip(*looks, strict=True)
    assert len(set(shapes)) == len(set(colours)) == len(categories)
    # tests/review/test_colours.py computes how these differ; the middle severity is drawn in black.
    ours = [*(mark.color for mark in MARKS.values()), "#000000"]
    assert set(colours) <= {tuple(bytes.fromhex(colour[1:])) for colour in ours}


def test_joints_over_the_allowable_are_largest_and_on_top():
    style = ElementTree.parse(STYLES / "joints.qml")
    assert style.find(".//renderer-v2").get("symbollevels") == "1"
    level, size = {}, {}
    for symbol in style.findall(".//symbols/symbol"):
        level[symbol.get("name")] = int(symbol.find("layer").get("pass"))
        size[symbol.get("name")] = float(symbol.find(".//Option[@name='size']").get("value"))
    assert max(level, key=level.get) == max(size, key=size.get) == "over"
    assert sorted(level.values()) == list(range(6))


def test_a_default_style_travels_with_every_layer_of_the_map(tmp_path):
    path = write(tmp_path / "all.gpkg", *all_layers())
    rows = query(path, "SELECT f_table_name, f_geometry_column, useAsDefault, styleQML FROM layer_styles")
    assert {row[0] for row in rows} == {name for name, about in LAYERS.items() if about.geometry_type}
    for name, column, default, text in rows:
        assert (column, default) == ("geom", 1)
        assert text == (STYLES / f"{name}.qml").read_text("utf-8")
        ElementTree.fromstring(text)


def test_a_desktop_gis_opens_the_layers_with_their_style(tmp_path):
    python = python_with("qgis.core")
    path = write(tmp_path / "all.gpkg", *all_layers())
    script = textwrap.dedent(
        f"""
        import json, os
        from qgis.core import QgsApplication, QgsVectorLayer

        application = QgsApplication([], False)
        application.initQgis()
        found = {{}}
        for name in ("joints", "findings", "segments", "centerline"):
            layer = QgsVectorLayer({str(path)!r} + "|layername=" + name, name, "ogr")
            renderer = layer.renderer()
            categories = renderer.categories() if renderer.type() == "categorizedSymbol" else []
            labels = [[one.value(), one.label()] for one in categories]
            drawn = layer.labelsEnabled() and layer.labeling().settings().drawLabels
            scale = layer.labeling().settings().minimumScale if drawn else None
            found[name] = [layer.isValid(), renderer.type(), labels, drawn, scale]
        print(json.dumps(found), flush=True)
        os._exit(0)
        """
    )
    environment = os.environ | {"QT_QPA_PLATFORM": "offscreen", "XDG_RUNTIME_DIR": str(tmp_path)}
    done = subprocess.run([python, "-c", script], capture_output=True, text=True, check=True, env=environment)
    found = json.loads(done.stdout)
    assert found["joints"][:2] == [True, "categorizedSymbol"]
    assert found["joints"][2] == [
        ["over", "Over the allowable"],
        ["cannot-tell", "Survey cannot tell"],
        ["no-allowable", "No allowable on file"],
        ["within-assumed", "Within, if what it assumes holds"],
        ["within", "Within the allowable"],
        ["not-computed", "Not computed (end of route)"],
    ]
    assert found["joints"][3:] == [True, 1000.0]
    assert found["findings"] == [
        True,
        "categorizedSymbol",
        [["act", "Act"], ["check", "Check"], ["note", "Note"]],
        False,
        None,
    ]
    assert found["segments"] == [True, "singleSymbol", [], False, None]
    assert found["centerline"] == [True, "singleSymbol", [], True, 0.0]
