"""Centerlines as surveyors hand them in, and points found along them."""

import re
import zipfile
from itertools import pairwise

import geopandas as gpd
import numpy as np
import openpyxl
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS

from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import joining
from asbuilt.inputs.centerline import read_centerline
from asbuilt.inputs.vectors import file_digest
from asbuilt.job import Job
from asbuilt.line.routes import between, locate, routes_from_vertices

CRS_FT = "EPSG:6418"
ONE_POINT = b"\x01\xea\x03\x00\x00\x01\x00\x00\x00"
LINE = [(6700000.0, 2000000.0, 50.0), (6700030.0, 2000040.0, 50.0), (6700030.0, 2000140.0, 52.0)]


def job(tmp_path, crs=None, **wanted):
    return Job.from_mapping(
        {
            "name": "main",
            **({"crs": crs} if crs else {}),
            "centerline": wanted,
            "records": {"station_unit": "us-ft", "laying_length": 20.0},
        },
        folder=tmp_path,
    )


def frame(*shapes, crs=CRS_FT, **columns):
    return gpd.GeoDataFrame(columns, geometry=list(shapes), crs=crs)


def read(data, tmp_path=".", crs=None, **wanted):
    return read_centerline(job(tmp_path, crs, **wanted), data)


@pytest.mark.parametrize("suffix", ["gpkg", "shp", "geojson", "fgb", "parquet"])
def test_line_layers_of_every_format_give_the_same_route(tmp_path, suffix):
    data = frame(shapely.LineString(LINE), route_id=["A"], sta=["10+00"])
    path = tmp_path / f"lines.{suffix}"
    if suffix == "parquet":
        data.to_parquet(path)
    elif suffix == "geojson":  # GeoJSON is in degrees by its standard, so this one states a projected system
        data.to_file(path, RFC7946="NO")
    else:
        data.to_file(path)
    routes = read_centerline(job(tmp_path, path=path.name, route="route_id", start_station="sta"))
    assert routes.names == ("A",)
    assert routes.distance.tolist() == pytest.approx([0.0, 50.0, 150.0])
    assert routes.slope_distance[-1] == pytest.approx(50.0 + np.hypot(100.0, 2.0))
    assert routes.start_station.tolist() == [1000.0]
    assert routes.unit == "us-ft"


def test_parts_are_joined_where_their_ends_meet_in_any_order_and_direction():
    a, b, c, d = (0, 0), (10, 0), (20, 0), (20, 10)
    lines = shapely.MultiLineString([[a, b], [d, c], [b, c]])
    routes = read(frame(lines))
    assert routes.easting.tolist() == [0, 10, 20, 20]
    assert routes.northing.tolist() == [0, 0, 0, 10]


def test_parts_that_do_not_meet_are_refused_with_the_gap():
    with pytest.raises(InputFileError, match=r"route 'main': 2 pieces do not meet: .* at 10\.00, 0\.00 is 5\.00 apart"):
        read(frame(shapely.MultiLineString([[(0, 0), (10, 0)], [(15, 0), (20, 0)]])))


def test_ends_within_the_tolerance_meet_halfway_and_are_told_with_size_and_place():
    # The second piece stops 0.4 short, the third, drawn backwards, overshoots by 0.3 beside the line.
    pieces = [[(0, 0, 5), (10, 0, 5)], [(10.4, 0, 5), (20, 0, 5)], [(30, 0, 5), (20, 0.3, 5)]]
    routes = read(frame(shapely.MultiLineString(pieces)), join_tolerance=0.5)
    assert routes.easting.tolist() == pytest.approx([0, 10.2, 20, 30])
    assert routes.northing.tolist() == pytest.approx([0, 0, 0.15, 0])
    (note,) = [note for note in routes.notes if "joined" in note]
    assert "up to 0.400 ft apart were joined halfway: 0.400 ft at 10.20, 0.00; 0.300 ft at 20.00, 0.15" in note


@pytest.mark.parametrize("seed", range(5))
def test_random_pieces_with_gaps_become_the_line_that_was_cut_and_each_gap_is_told(seed):
    rng = np.random.default_rng(seed)
    line = np.column_stack([np.cumsum(rng.uniform(5, 40, 60)), np.cumsum(rng.uniform(-20, 20, 60))])
    cuts = np.sort(rng.choice(np.arange(2, 58), 8, replace=False))
    pieces = [line[a : b + 1].copy() for a, b in zip([0, *cuts], [*cuts, 59], strict=True)]
    shift = rng.uniform(0.05, 0.9, len(cuts))
    for at, width in enumerate(shift):
        angle = rng.uniform(0, 2 * np.pi)
        pieces[at + 1][0] += width * np.array([np.cos(angle), np.sin(angle)])
    first, *others = pieces
    others = [one[::-1] if rng.random() < 0.5 else one for one in others]
    rng.shuffle(others)
    routes = read(frame(shapely.MultiLineString([first, *others])), join_tolerance=1.0)
    placed = np.column_stack([routes.easting, routes.northing])
    assert np.hypot(*(placed - line).T).max() <= shift.max() / 2 + 1e-6
    (note,) = [note for note in routes.notes if "joined" in note]
    assert f"up to {shift.max():.3f} ft apart" in note
    assert "and 3 narrower" in note
    with pytest.raises(InputFileError, match=r"is [\d.]+ apart from the nearest, feature .*centerline\.join_tolerance"):
        read(frame(shapely.MultiLineString([first, *others])), join_tolerance=float(shift.max()) - 0.01)


def test_a_tolerance_as_long_as_a_pipe_is_refused():
    with pytest.raises(JobFileError, match=r"centerline\.join_tolerance: 20 ft is no less than a pipe length"):
        read(frame(shapely.MultiLineString([[(0, 0), (10, 0)], [(15, 0), (20, 0)]])), join_tolerance=20)


KEYS_OF_SHOTS = {
    "codes": {"WM": "A"}, "codes_left_out": ["EP"], "columns": {"northing": "N"}, "order": "file", "sheet": "Shots",
    "joint_after": "JT", "shots_left_out": ["7"],
}  # fmt: skip


@pytest.mark.parametrize("key", KEYS_OF_SHOTS)
def test_a_key_without_effect_on_lines_is_refused(key):
    with pytest.raises(JobFileError, match=rf"centerline\.{key}: .* lines.* no effect; remove the key"):
        read(frame(shapely.LineString(LINE)), **{key: KEYS_OF_SHOTS[key]})


@pytest.mark.parametrize(("key", "value"), [("layer", "mains"), ("join_tolerance", 0.5)])
def test_a_key_without_effect_on_a_table_of_shots_is_refused(tmp_path, key, value):
    (tmp_path / "shots.csv").write_text("1,0,0,50,WM\n2,0,10,,WM\n")
    with pytest.raises(JobFileError, match=rf"centerline\.{key}: .*survey shots.* no effect; remove the key"):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv", **{key: value}))


def test_the_job_says_the_encoding_of_a_shapefile_that_does_not(tmp_path):
    # cp1252, F8: o with a stroke.
    data = frame(shapely.LineString(LINE), route_id=["S\u00f8ndre vei"])
    data.to_file(tmp_path / "line.shp", encoding="cp1252")
    (tmp_path / "line.cpg").unlink()
    keys = {"path": "line.shp", "route": "route_id"}
    assert read_centerline(job(tmp_path, encoding="cp1252", **keys)).names == ("S\u00f8ndre vei",)
    with pytest.raises(JobFileError, match="there is no encoding 'ebc'"):
        read_centerline(job(tmp_path, encoding="ebc", **keys))
    (tmp_path / "line.cpg").write_text("1252")
    with pytest.raises(JobFileError, match=r"line\.cpg says the encoding; remove the key"):
        read_centerline(job(tmp_path, encoding="cp1252", **keys))
    data.to_file(tmp_path / "line.gpkg")
    with pytest.raises(JobFileError, match=r"line\.gpkg says its encoding itself; remove the key"):
        read_centerline(job(tmp_path, encoding="cp1252", **keys | {"path": "line.gpkg"}))


def test_a_file_in_a_zip_that_is_no_shapefile_is_refused(tmp_path):
    frame(shapely.LineString(LINE)).to_file(tmp_path / "line.gpkg")
    source = f"<SrcDataSource>{tmp_path}/line.gpkg</SrcDataSource>"
    other = f"<OGRVRTDataSource><OGRVRTLayer name='line'>{source}</OGRVRTLayer></OGRVRTDataSource>"
    with zipfile.ZipFile(tmp_path / "line.zip", "w") as packed:
        packed.writestr("line.shp", other)
    with pytest.raises(InputFileError, match=r"line\.zip, line\.shp: .*does not begin like a Shapefile"):
        read_centerline(job(tmp_path, path="line.zip"))


def test_several_features_of_one_route_are_one_line():
    data = frame(
        shapely.LineString([(0, 0), (10, 0)]), shapely.LineString([(0, 50), (10, 50)]),
        shapely.LineString([(10, 0), (10, 10)]), route_id=["A", "B", "A"],
    )  # fmt: skip
    routes = read(data, route="route_id")
    assert routes.names == ("A", "B")
    assert routes.length.tolist() == [20.0, 10.0]


def nearest_first(pieces, tolerance):
    """Join pieces by looking at every end for each one; None where the nearest ends are too far apart."""
    chain, waiting = [pieces[0]], list(range(1, len(pieces)))
    while waiting:
        ends = [(np.hypot(*(end - pieces[one][-side][:2])), at_head, one, side)
                for at_head, end in enumerate((chain[-1][-1][:2], chain[0][0][:2]))
                for one in waiting for side in (0, 1)]  # fmt: skip
        away, at_head, number, side = min(ends)
        if round(away, 6) > tolerance:
            return None
        piece = pieces[number] if side == at_head else pieces[number][::-1]
        back, ahead = (piece, chain[0]) if at_head else (chain[-1], piece)
        # Heights do not meet halfway: the first one stays.
        back[-1, :2] = ahead[0, :2] = (back[-1, :2] + ahead[0, :2]) / 2
        ahead[0, 2] = back[-1, 2]
        chain.insert(0 if at_head else len(chain), piece)
        waiting.remove(number)
    return np.concatenate([chain[0], *(one[1:] for one in chain[1:])])


@pytest.mark.parametrize("seed", range(6))
def test_pieces_in_any_order_are_joined_as_by_looking_at_all_ends_for_each(seed):
    rng = np.random.default_rng(seed)
    tolerance, refused = 0.6, 0
    for _ in range(8):
        places = np.cumsum(rng.normal(0, 3, (int(rng.integers(3, 15)), 3)), axis=0)
        pieces = [np.array([one + rng.normal(0, 0.1, 3), other]) for one, other in pairwise(places)]
        pieces = [pieces[at] if rng.random() < 0.5 else pieces[at][::-1] for at in rng.permutation(len(pieces))]
        expected = nearest_first([one.copy() for one in pieces], tolerance)
        lines = [shapely.LineString(one) for one in pieces]
        if expected is None:
            refused += 1
            with pytest.raises(InputFileError, match="pieces do not meet"):
                joining.joined(lines, tolerance, "line", range(len(lines)))
        else:
            found = joining.joined(lines, tolerance, "line", range(len(lines))).line
            np.testing.assert_array_equal(shapely.get_coordinates(found, include_z=True), expected)
    assert refused < 8


def test_repeated_vertices_and_zero_length_pieces_are_dropped():
    routes = read(frame(shapely.LineString([(0, 0), (0, 0), (10, 0), (10, 0), (20, 0)])))
    assert routes.distance.tolist() == [0.0, 10.0, 20.0]


def test_lines_without_elevations_say_that_deflection_is_horizontal_only():
    routes = read(frame(shapely.LineString([(0, 0), (10, 0)])))
    assert np.isnan(routes.elevation).all()
    assert "horizontal only" in routes.notes[0]


def test_elevations_that_are_all_zero_are_unknown():
    routes = read(frame(shapely.LineString([(0, 0, 0), (10, 0, 0)])))
    assert np.isnan(routes.elevation).all()


def test_a_missing_elevation_between_known_ones_is_interpolated_by_distance(tmp_path):
    (tmp_path / "shots.csv").write_text("1,0,0,50.0,WM\n2,0,10,,WM\n3,0,40,54.0,WM\n4,0,50,,WM\n")
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv"))
    assert routes.elevation[:3].tolist() == [50.0, 51.0, 54.0]
    assert np.isnan(routes.elevation[3])
    assert "2 of 4 vertices have no elevation" in routes.notes[-1]


def test_shots_without_a_header_are_point_northing_easting_elevation_description(tmp_path):
    (tmp_path / "shots.csv").write_text("3,40,30,50,WM-A TOP\n1,0,0,50,WM-A TOP\n2,99,99,48,GS\n4,140,30,52,WM-A\n")
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv", codes={"WM-A": "A"}))
    assert routes.names == ("A",)
    assert routes.distance.tolist() == [0.0, 50.0, 150.0]
    assert any("1 shot with other codes was left out (GS)" in note for note in routes.notes)


def test_shots_with_a_header_in_any_order_grouped_by_a_column(tmp_path):
    (tmp_path / "shots.csv").write_text(
        "Elev,Easting,Northing,Pt,Line\n50,0,0,7,A\n50,5,0,9,B\n50,10,0,8,A\n50,5,9,10,B\n"
    )
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv", start_station={"A": "10+00", "B": 5}))
    assert routes.names == ("A", "B")
    assert routes.length.tolist() == [10.0, 9.0]
    assert routes.start_station.tolist() == [1000.0, 5.0]


@pytest.mark.parametrize(
    ("column", "unit", "said"),
    [
        ("Elev (m)", None, "elevation is read in ft"),
        ("EL_m", None, "elevation is read in ft"),
        ("Elev (ft)", "m", "in m"),
    ],
)
def test_elevations_whose_column_says_another_unit_are_refused_with_the_key_that_says_it(tmp_path, column, unit, said):
    (tmp_path / "shots.csv").write_text(f"Pt,Northing,Easting,{column}\n1,0,0,100\n2,0,20,101\n")
    wanted = {"columns": {"elevation": column}} | ({"elevation_unit": unit} if unit else {})
    with pytest.raises(
        JobFileError, match=rf"shots\.csv: column '{re.escape(column)}' says .*{said}.*elevation_unit = "
    ):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv", **wanted))


def test_elevations_in_another_unit_than_eastings_are_brought_to_it_where_the_job_says_so(tmp_path):
    # 1200/3937 m in a US survey foot: National Bureau of Standards, Federal Register 24 FR 5348 (1959), from memory.
    (tmp_path / "shots.csv").write_text("Pt,Northing,Easting,Elev (m)\n1,0,0,12\n2,0,20,24\n")
    wanted = {"columns": {"elevation": "Elev (m)"}, "elevation_unit": "m"}
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv", **wanted))
    assert routes.elevation == pytest.approx([39.37, 78.74])
    line = frame(shapely.LineString([(0, 0, 12), (0, 20, 24)]))
    assert read(line, elevation_unit="m").elevation == pytest.approx([39.37, 78.74])


def test_a_unit_of_elevations_that_contradicts_the_file_is_refused(tmp_path):
    line = frame(shapely.LineString([(0, 0, 12), (0, 20, 24)]), crs="EPSG:6418+6360")
    with pytest.raises(JobFileError, match=r"centerline\.elevation_unit: the job says m, but .* US survey foot"):
        read(line, elevation_unit="m")


def test_shots_in_order_of_a_station_column(tmp_path):
    (tmp_path / "shots.csv").write_text("pt,n,e,sta\n1,0,20,0+20\n2,0,0,0+00\n")
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv", order="station"))
    assert routes.easting.tolist() == [0.0, 20.0]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1,0,0,50,WM\n2,zero,10,50,WM\n", r"shots\.csv: row 2: northing 'zero' is not a number"),
        ("pt,north,elev\n1,0,0\n2,1,0\n", r"centerline\.columns\.easting: no column of .*shots\.csv"),
        ("1,0,0,50,WM\n", r"route 'main' has no length"),
        ("1,0,0,50,WM\n2,0,0,60,WM\n", r"route 'main' has no length in plan: all its points lie above one another"),
    ],
)
def test_wrong_shots_are_named_with_their_row(tmp_path, text, message):
    (tmp_path / "shots.csv").write_text(text)
    with pytest.raises((InputFileError, JobFileError), match=message):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv"))


def test_a_routes_name_in_the_place_of_its_column_is_answered_with_the_key_that_takes_it(tmp_path):
    (tmp_path / "shots.csv").write_text("pt,n,e,main\n1,0,0,A\n2,0,20,A\n")
    told = r"centerline\.route: .*shots\.csv has no column 'A'; .*'main' could be it\. .*centerline\.route_name"
    with pytest.raises(JobFileError, match=told):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv", route="A"))


def test_a_line_digitised_against_the_stations_is_turned_round_where_the_job_says_so():
    routes = read(frame(shapely.LineString([(0, 0), (10, 0), (10, 5)])), reversed=["main"])
    assert routes.easting.tolist() == [10, 10, 0]
    assert routes.distance.tolist() == [0.0, 5.0, 15.0]


@pytest.mark.parametrize(
    ("crs", "own", "wanted", "message"),
    [
        (None, None, {}, "does not say its coordinate system; add it to the job"),
        ("EPSG:4326", None, {}, r"is in degrees \(WGS 84\).*EPSG:32610"),
        (CRS_FT, "EPSG:6339", {}, r"the job says EPSG:6339 .* but the centerline data says"),
        (CRS_FT, "EPSG:99999999", {}, "'EPSG:99999999' is not a known coordinate system"),
        (CRS_FT, None, {"unit": "ft"}, "the job says ft, but the coordinates .* are in US survey feet"),
        (CRS_FT, None, {"route": "main_id"}, r"centerline\.route: .* has no column 'main_id'"),
        (CRS_FT, None, {"reversed": ["Z"]}, r"centerline\.reversed: there is no route 'Z'"),
        (CRS_FT, None, {"start_station": "start"}, r"centerline\.start_station .*'start' is not a station"),
    ],
)
def test_a_wrong_centerline_is_refused_with_the_remedy(crs, own, wanted, message):
    data = frame(shapely.LineString([(-121.5, 38.6), (-121.4, 38.6)]), crs=crs)
    with pytest.raises(JobFileError, match=message):
        read(data, crs=own, **wanted)


def test_a_layer_of_areas_is_not_a_centerline():
    with pytest.raises(InputFileError, match="feature 0 is a Polygon, neither a line nor a point"):
        read(frame(shapely.Point(0, 0).buffer(1)))


SHOTS = [(6700000.0, 2000000.0, 50.0), (6700000.0, 2000040.0, 51.0), (6700000.0, 2000090.0, 52.0)]


def zipped(folder, name, inner=""):
    """Pack what begins with a name into a zip file, with what other systems put beside it."""
    path = folder / f"{name}.zip"
    with zipfile.ZipFile(path, "w") as packed:
        for one in sorted(folder.glob(f"{name}.*")):
            for file in sorted(one.rglob("*")) if one.is_dir() else [one]:
                if file.is_file() and file != path:
                    packed.write(file, f"{inner}{file.relative_to(folder)}")
        packed.writestr("__MACOSX/._shadow.shp", b"not a shapefile")
        packed.writestr("read me.txt", "about the survey")
    return path


@pytest.mark.parametrize("inner", ["", "delivery/as built/"])
@pytest.mark.parametrize("kind", ["shp", "gdb"])
def test_zipped_shapefiles_and_file_geodatabases_are_read_as_they_are(tmp_path, kind, inner):
    data = frame(shapely.LineString(LINE), route_id=["A"], sta=["10+00"])
    data.to_file(tmp_path / f"lines.{kind}", **({"driver": "OpenFileGDB", "layer": "mains"} if kind == "gdb" else {}))
    zipped(tmp_path, "lines", inner)
    for name in (f"lines.{kind}", "lines.zip"):
        routes = read_centerline(job(tmp_path, path=name, route="route_id", start_station="sta"))
        assert routes.names == ("A",)
        assert routes.distance.tolist() == pytest.approx([0.0, 50.0, 150.0])
        assert routes.unit == "us-ft"
        ((where, digest),) = routes.inputs
        assert where == str(tmp_path / name)
        assert re.fullmatch("[0-9a-f]{64}", digest)


def test_a_geodatabase_that_changed_has_another_digest(tmp_path):
    path = tmp_path / "lines.gdb"
    frame(shapely.LineString(LINE)).to_file(path, driver="OpenFileGDB", layer="mains")
    before = file_digest(path)
    assert file_digest(path) == before
    (one, *_) = sorted(path.glob("*.gdbtable"))
    one.write_bytes(one.read_bytes() + b"\0")
    assert file_digest(path) != before


def test_a_zip_file_without_a_layer_or_with_several_folders_of_them_is_refused(tmp_path):
    frame(shapely.LineString(LINE)).to_file(tmp_path / "lines.shp")
    path = zipped(tmp_path, "lines", "one/")
    with zipfile.ZipFile(path, "a") as packed:
        packed.write(tmp_path / "lines.shp", "two/lines.shp")
    with pytest.raises(InputFileError, match=r"lines\.zip: there is 2 folders with layers in it; unpack it"):
        read_centerline(job(tmp_path, path="lines.zip"))
    zipped(tmp_path, "nothing")
    with pytest.raises(InputFileError, match="there is no Shapefile and no file geodatabase in it"):
        read_centerline(job(tmp_path, path="nothing.zip"))
    (tmp_path / "lines.zip").write_bytes(b"PK\x03\x04 cut off")
    with pytest.raises(InputFileError, match="cannot be read as a zip file"):
        read_centerline(job(tmp_path, path="lines.zip"))


@pytest.mark.parametrize("suffix", ["gpkg", "shp", "geojson", "parquet"])
def test_a_layer_of_points_is_survey_shots_in_the_order_of_their_numbers(tmp_path, suffix):
    order = [2, 0, 1]
    data = frame(
        *(shapely.Point(SHOTS[at]) for at in order), pt=[f"W{101 + at}" for at in order],
        desc=["WM-A TOP"] * 3, E=[0.0, 1.0, 2.0],
    )  # fmt: skip
    path = tmp_path / f"shots.{suffix}"
    if suffix == "parquet":
        data.to_parquet(path)
    else:
        data.to_file(path, **({"RFC7946": "NO"} if suffix == "geojson" else {}))
    routes = read_centerline(job(tmp_path, path=path.name, codes={"WM-A": "A"}))
    assert routes.names == ("A",)
    assert routes.northing.tolist() == [shot[1] for shot in SHOTS]
    assert routes.elevation.tolist() == [50.0, 51.0, 52.0]
    assert routes.shot_point.to_pylist() == ["W101", "W102", "W103"]
    assert routes.unit == "us-ft"


def test_flat_points_take_their_elevations_from_a_column_and_missing_points_are_named(tmp_path):
    flat = [shapely.Point(shot[:2]) for shot in SHOTS]
    assert read(frame(*flat, elev=[50.0, None, 52.0])).elevation[[0, 2]].tolist() == [50.0, 52.0]
    with pytest.raises(InputFileError, match="feature 1 is no single point"):
        read(frame(flat[0], None, flat[2]))
    with pytest.raises(JobFileError, match=r"centerline\.columns\.easting: the shots of .* are points already"):
        read(frame(*flat, E=[1, 2, 3]), columns={"easting": "E"})


def test_shots_come_in_a_workbook_too(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Shots"
    sheet.append(["Point", "North", "East", "Elev", "Code"])
    for at, (east, north, up) in enumerate(SHOTS):
        sheet.append([1001 + at, north, east, up, "WM-A"])
    book.create_sheet("Control").append(["Point", "North", "East", "Elev", "Code"])
    book.save(tmp_path / "shots.xlsx")
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.xlsx", sheet="Shots", codes={"WM-A": "A"}))
    assert routes.northing.tolist() == [shot[1] for shot in SHOTS]
    with pytest.raises(InputFileError, match="there is no sheet 'Shot'"):
        read_centerline(job(tmp_path, CRS_FT, path="shots.xlsx", sheet="Shot"))


def test_a_layer_that_holds_other_lines_is_filtered_and_the_filter_s_mistakes_are_named():
    data = frame(
        shapely.LineString(LINE), shapely.LineString([(0, 0), (9, 9)]), shapely.LineString([(5, 0), (9, 9)]),
        system=["water", "sewer", "water"], size=[12, 12, 8], built=[True, True, False], route=["A", "S", "B"],
    )  # fmt: skip
    routes = read(data, where={"system": "water", "size": [12, 16], "built": True}, route="route")
    assert routes.names == ("A",)
    assert "the centerline data: 1 of 3 features are taken, as centerline.where says" in routes.notes
    for where, message in (
        (
            {"systm": "water"},
            r"centerline\.where: the centerline data has no column 'systm'; its columns are system",
        ),
        ({"system": "storm"}, r"no system of the centerline data is 'storm'; it holds sewer, water"),
        ({"system": "sewer", "size": 8}, "no row of the centerline data holds all that is wanted at once"),
    ):
        with pytest.raises(JobFileError, match=message):
            read(data, where=where, route="route")
    with pytest.raises(JobFileError, match=r"centerline\.where\.system"):
        read(data, where={"system": []})


def test_a_file_of_shots_is_filtered_too(tmp_path):
    rows = [f"{at},{north},{east},{up},{'FIN' if at != 1 else 'TMP'}" for at, (east, north, up) in enumerate(SHOTS)]
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation,status", *rows]))
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv", where={"status": "FIN"}))
    assert routes.northing.tolist() == [SHOTS[0][1], SHOTS[2][1]]
    assert routes.shot_point.to_pylist() == ["0", "2"]


def coded(tmp_path, *codes):
    points = [(6700000.0, 2000000.0 + 20.0 * at, 50.0) for at in range(len(codes))]
    rows = [f'{9 - at},{y},{x},{z},"{code}"' for at, ((x, y, z), code) in enumerate(zip(points, codes, strict=True))]
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation,desc", *rows]))
    return lambda **wanted: read_centerline(job(tmp_path, CRS_FT, path="shots.csv", order="file", **wanted))


def test_codes_of_two_words_and_the_order_of_the_file(tmp_path):
    shots = coded(tmp_path, "WM A TOP", "WM A", "WM B", "WM B, joint", "WM A top", "GS")
    routes = shots(codes={"WM A": "A", "WM B": "B"})
    assert routes.names == ("A", "B")
    assert (routes.northing - 2000000.0).tolist() == [0.0, 20.0, 80.0, 40.0, 60.0]
    # The longest code wins: what is not of main B is of the other.
    routes = shots(codes={"WM": "rest", "WM B": "B"})
    assert np.diff(routes.first).tolist() == [3, 2]


def test_codes_are_left_out_and_every_other_one_must_be_known(tmp_path):
    shots = coded(tmp_path, "PIPE", "GS edge", "CTRL", "PIPE", "PIPE")
    routes = shots(codes_left_out=["GS", "CTRL"], route_name="A")
    assert (routes.northing - 2000000.0).tolist() == [0.0, 60.0, 80.0]
    assert any("2 shots as the job says were left out (CTRL, GS)" in note for note in routes.notes)
    with pytest.raises(InputFileError, match=r"row 4: the code 'CTRL' stands neither in centerline\.codes nor in"):
        shots(codes={"PIPE": "A"}, codes_left_out=["GS"])
    notes = shots(codes_left_out=["TREE", "GS"]).notes
    assert any("no shot has the code TREE (centerline.codes_left_out)" in note for note in notes)
    assert any(
        "shots of several codes are strung into the main: PIPE (3), CTRL (1); leave out" in note for note in notes
    )
    assert not any("several codes" in note for note in routes.notes)
    with pytest.raises(JobFileError, match=r"'GS' is a route's code in centerline\.codes too"):
        shots(codes={"GS": "A"}, codes_left_out=["GS"])


def test_point_names_of_several_kinds_have_no_order_of_their_own(tmp_path):
    rows = [f"{name},{2000000 + 20 * at},6700000,50" for at, name in enumerate(("W9", "W10", "C11"))]
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation", *rows]))
    with pytest.raises(InputFileError, match=r'the point cannot be read as a number; .* centerline\.order = "file"'):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv"))
    assert len(read_centerline(job(tmp_path, CRS_FT, path="shots.csv", order="file")).northing) == 3


def test_layers_are_chosen_by_name_where_there_are_several(tmp_path):
    data = frame(shapely.LineString(LINE))
    data.to_file(tmp_path / "two.gpkg", layer="mains")
    data.to_file(tmp_path / "two.gpkg", layer="services")
    with pytest.raises(JobFileError, match=r"centerline\.layer: .* has 2 layers \(mains, services\)"):
        read_centerline(job(tmp_path, path="two.gpkg"))
    with pytest.raises(JobFileError, match="has no layer 'main'; its layers are mains, services"):
        read_centerline(job(tmp_path, path="two.gpkg", layer="main"))
    assert read_centerline(job(tmp_path, path="two.gpkg", layer="mains")).length[0] == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda blob: blob[:-20], "feature 2 has no readable line"),
        # A line of one point: the GeoPackage header of the whole one, then well-known binary with a count of 1.
        (
            lambda blob: blob[: -(9 + 24 * 3)] + b"\x01\xea\x03\x00\x00\x01\x00\x00\x00" + bytes(24),
            "feature 2 is broken",
        ),
    ],
)
def test_one_broken_feature_is_named_by_its_id_and_does_not_sink_the_file(tmp_path, damage, words):
    import sqlite3

    path = tmp_path / "broken.gpkg"
    frame(shapely.LineString(LINE), shapely.LineString(LINE), route_id=["A", "B"]).to_file(path, layer="mains")
    with sqlite3.connect(path) as database:
        for trigger in [row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
            database.execute(f'DROP TRIGGER "{trigger}"')
        whole = database.execute("SELECT geom FROM mains WHERE fid = 2").fetchone()[0]
        database.execute("UPDATE mains SET geom = ? WHERE fid = 2", (damage(whole),))
    database.close()
    routes = read_centerline(job(tmp_path, path="broken.gpkg", route="route_id"))
    assert routes.names == ("A",)
    assert any(words in note for note in routes.notes)


def test_a_file_that_is_no_vector_file_is_named(tmp_path):
    (tmp_path / "line.gpkg").write_bytes(b"not a database")
    with pytest.raises(InputFileError, match=r"line\.gpkg: cannot be read as a vector layer file"):
        read_centerline(job(tmp_path, path="line.gpkg"))


vertices = st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 10**6)), min_size=2, max_size=12, unique=True)


@given(st.lists(vertices, min_size=1, max_size=4), st.data())
def test_placing_a_point_of_the_line_by_its_own_distance_returns_the_point(lines, data):
    coordinates = np.concatenate([np.array(line, dtype=float) for line in lines]) / 100.0
    first = np.concatenate([[0], np.cumsum([len(line) for line in lines])])
    routes = routes_from_vertices(
        [str(number) for number in range(len(lines))], first, coordinates[:, 0], coordinates[:, 1],
        np.full(len(coordinates), np.nan), np.zeros(len(lines)), CRS(CRS_FT), "us-ft",
    )  # fmt: skip
    route = data.draw(st.integers(0, len(lines) - 1))
    part = data.draw(st.floats(0, 1))
    line = shapely.LineString(coordinates[first[route] : first[route + 1]])
    point = line.interpolate(part, normalized=True)  # GEOS is the independent reference
    located = locate(routes, np.array([route]), np.array([part * routes.length[route]]))
    found = between(routes.easting, located)[0], between(routes.northing, located)[0]
    assert found == pytest.approx((point.x, point.y), abs=1e-6)
    assert routes.length[route] == pytest.approx(line.length, rel=1e-12)


def test_positions_agree_with_geos_at_a_hundred_thousand_points_of_a_thousand_routes():
    rng = np.random.default_rng(7)
    lines = [rng.normal(0, 40, (30, 2)).cumsum(axis=0) + np.array([6.7e6, 2e6]) for _ in range(1000)]
    coordinates = np.concatenate(lines)
    routes = routes_from_vertices(
        [str(number) for number in range(1000)], np.arange(1001) * 30, coordinates[:, 0], coordinates[:, 1],
        np.full(30000, np.nan), np.zeros(1000), CRS(CRS_FT), "us-ft",
    )  # fmt: skip
    route = rng.integers(0, 1000, 100_000)
    distance = rng.uniform(0, 1, 100_000) * routes.length[route]
    located = locate(routes, route, distance)
    expected = shapely.get_coordinates(
        shapely.line_interpolate_point(np.array([shapely.LineString(line) for line in lines])[route], distance)
    )
    np.testing.assert_allclose(between(routes.easting, located), expected[:, 0], atol=1e-6)
    np.testing.assert_allclose(between(routes.northing, located), expected[:, 1], atol=1e-6)


def test_pieces_given_from_the_far_end_start_at_the_station_of_the_first_one():
    pieces = frame(
        shapely.LineString([(100, 0), (200, 0)]), shapely.LineString([(0, 0), (100, 0)]),
        route_id=["A", "A"], sta=[100.0, 0.0],
    )  # fmt: skip
    routes = read(pieces, route="route_id", start_station="sta")
    assert routes.start_station.tolist() == [0.0]
    assert routes.easting.tolist() == [0, 100, 200]


def test_elevations_in_another_unit_are_brought_to_that_of_the_coordinates():
    # EPSG:5703 is NAVD88 height in metres: 10 m are 32.8083 US survey feet.
    routes = read(frame(shapely.LineString([(0, 0, 0), (100, 0, 10)]), crs="EPSG:6418+5703"))
    assert routes.elevation[1] == pytest.approx(10 * 3937 / 1200)


def test_a_repeated_vertex_keeps_the_elevation_that_either_copy_has(tmp_path):
    (tmp_path / "shots.csv").write_text("1,0,0,50,WM\n2,0,10,,WM\n3,0,10,60,WM\n4,0,20,50,WM\n")
    routes = read_centerline(job(tmp_path, CRS_FT, path="shots.csv"))
    assert routes.elevation.tolist() == [50.0, 60.0, 50.0]


def test_a_route_of_zero_elevations_beside_one_with_elevations_is_unknown():
    level, high = shapely.LineString([(0, 0, 0), (9, 0, 0)]), shapely.LineString([(0, 5, 50), (9, 5, 51)])
    routes = read(frame(level, high, route_id=["A", "B"]), route="route_id")
    assert np.isnan(routes.elevation).tolist() == [True, True, False, False]
    assert "route A has no elevations" in routes.notes[0]


def test_a_shot_without_a_route_is_named(tmp_path):
    (tmp_path / "shots.csv").write_text("pt,n,e,line\n1,0,0,A\n2,0,9,\n")
    with pytest.raises(InputFileError, match=r"shots\.csv: row 3: the shot has no route in 'line'"):
        read_centerline(job(tmp_path, CRS_FT, path="shots.csv"))


@pytest.mark.parametrize("crs", ["EPSG:4978", "EPSG:5703"])
def test_a_system_that_is_not_projected_is_refused(crs):
    with pytest.raises(JobFileError, match="is not a projected coordinate system"):
        read(frame(shapely.LineString(LINE), crs=None), crs=crs)


def test_a_piece_that_is_there_twice_is_refused():
    one, two = shapely.LineString([(0, 0), (9, 0)]), shapely.LineString([(9, 0), (20, 0)])
    with pytest.raises(InputFileError, match="route 'A': two pieces are the same line; delete one"):
        read(frame(one, two, one.reverse(), route_id=["A"] * 3), route="route_id")


def test_a_missing_piece_of_a_route_is_refused_by_its_id():
    with pytest.raises(InputFileError, match="feature 0, a piece of route 'A', has no readable line"):
        read(frame(None, shapely.LineString([(9, 0), (20, 0)]), route_id=["A", "A"]), route="route_id")


def test_only_columns_that_a_layer_of_shots_has_are_told_as_not_read():
    routes = read(frame(*(shapely.Point(one) for one in SHOTS), pt=["1", "2", "3"], crew=["N", "N", "N"]))
    assert [column for _, column in routes.not_read] == ["crew"]
    assert routes.easting.tolist() == [one[0] for one in SHOTS]


def test_a_survey_without_descriptions_to_find_codes_in_is_refused_with_its_columns():
    shots = frame(*(shapely.Point(one) for one in SHOTS), pt=["1", "2", "3"], feat=["WL", "WL", "WL"])
    with pytest.raises(JobFileError, match=r"map it, centerline.columns.description \(its columns are pt, feat\)"):
        read(shots, codes={"WL": "A"})
