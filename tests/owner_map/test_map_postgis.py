"""Joints in the utility's own table of a PostGIS database: its types, lookups and keys, in one transaction."""

import threading

import pytest
import servers
from laying import CRS, TODAY, lines, log, pipe, values
from pyproj import Transformer

import asbuilt
from asbuilt.errors import AsbuiltError
from asbuilt.job import Job
from asbuilt.owner_map import map_layers

sa = pytest.importorskip("sqlalchemy", reason="NOT CHECKED: the libraries for PostGIS are not installed")
pytestmark = pytest.mark.skipif(
    servers.programs() is None, reason="NOT CHECKED against PostGIS: Debian's postgresql-postgis is not installed"
)

POINTS = pipe([0.0] * 9)
COLUMNS = {"joint_uid": "asset_id", "joint": "jt_no", "size": "diam", "verdict": "defl", "inspected_on": "seen"}
CODES = {
    "verdict": {"within": 1, "within-assumed": 1, "over": 2, "cannot-tell": 3, "no-allowable": 4, "not-computed": 9}
}
TABLE = """
CREATE SCHEMA utility;
CREATE TABLE utility.defl_codes (code smallint PRIMARY KEY, meaning text);
INSERT INTO utility.defl_codes VALUES (1, 'within'), (2, 'over'), (9, 'ends');
CREATE TYPE utility.owner AS ENUM ('Marrow', 'other');
CREATE TABLE utility.water_joints (
    id serial PRIMARY KEY, asset_id uuid UNIQUE, jt_no varchar(6), diam numeric(4, 1),
    defl smallint REFERENCES utility.defl_codes, seen date, owner utility.owner NOT NULL,
    made timestamp NOT NULL DEFAULT now(), live boolean, geom geometry(PointZ, 6339)
);
INSERT INTO utility.water_joints (asset_id, jt_no, owner, geom)
VALUES ('00000000-0000-0000-0000-000000000001', 'old', 'other', ST_GeomFromText('POINT Z (629166 4279316 1)', 6339));
"""


@pytest.fixture(scope="module")
def server():
    with servers.postgis() as url:
        yield url


@pytest.fixture
def database(server):
    """Give an empty database with PostGIS, and a way to ask it."""
    engine = sa.create_engine(server.replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text("DROP DATABASE IF EXISTS city WITH (FORCE)"))
        connection.execute(sa.text("CREATE DATABASE city"))
    engine.dispose()
    url = server.rpartition("/")[0] + "/city"
    engine = sa.create_engine(url.replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text("CREATE EXTENSION postgis"))
        yield url, lambda statement: _asked(connection, statement)
    engine.dispose()


def _asked(connection, statement):
    result = connection.execute(sa.text(statement))
    return result.all() if result.returns_rows else None


def placed(url, *, records=None, **wanted):
    into = {"into": url, "layer": "utility.water_joints", "columns": COLUMNS, "values": CODES, **wanted}
    job = Job.from_mapping(values(map={key: value for key, value in into.items() if value is not None}))
    return asbuilt.place(
        job, centerline=lines(A=POINTS), records=log(POINTS) if records is None else records, today=TODAY
    )


def test_joints_are_appended_to_the_utilitys_table_and_its_rows_stay(database):
    url, ask = database
    ask(TABLE)
    before = ask("SELECT * FROM utility.water_joints")
    placement = placed(url, fixed={"owner": "Marrow", "live": True})
    written = map_layers.write_map(placement)
    assert (written.created, written.already_there, written.added) == (False, 0, 11)
    assert ask("SELECT * FROM utility.water_joints WHERE id = 1") == before
    rows = ask(
        "SELECT asset_id::text, jt_no, diam, defl, seen::text, owner::text, live, made IS NOT NULL, ST_X(geom), "
        "ST_Y(geom), ST_Z(geom), ST_SRID(geom) FROM utility.water_joints WHERE id > 1 ORDER BY id"
    )
    assert [row[0] for row in rows] == placement.joints["joint_uid"].tolist()
    assert [row[3] for row in rows] == [9, *[1] * 9, 9]
    assert {row[4:8] for row in rows} == {("2026-04-02", "Marrow", True, True)}
    to_map = Transformer.from_crs(CRS, "EPSG:6339", always_xy=True)
    east, north = to_map.transform(placement.joints.geometry.x, placement.joints.geometry.y)
    assert [row[8] for row in rows] == pytest.approx(list(east))
    assert [row[9] for row in rows] == pytest.approx(list(north))
    assert {row[11] for row in rows} == {6339}
    assert [row[10] for row in rows] == pytest.approx([50.0] * 11)


def test_the_same_joints_are_never_there_twice(database):
    url, ask = database
    ask(TABLE)
    first = map_layers.write_map(placed(url, fixed={"owner": "Marrow"}, records=log(POINTS).iloc[:6], values={
        "verdict": CODES["verdict"]}))  # fmt: skip
    second = map_layers.write_map(placed(url, fixed={"owner": "Marrow"}))
    third = map_layers.write_map(placed(url, fixed={"owner": "Marrow"}))
    assert [(one.already_there, one.added) for one in (first, second, third)] == [(0, 6), (6, 5), (11, 0)]
    assert ask("SELECT count(*) FROM utility.water_joints") == [(12,)]


def test_every_value_that_does_not_fit_is_reported_and_nothing_is_written(database):
    url, ask = database
    ask(TABLE)
    codes = {"verdict": CODES["verdict"] | {"not-computed": 7}}
    placement = placed(
        url, columns=COLUMNS | {"station": "jt_no", "joint": "live"}, values=codes, fixed={"owner": "nobody"},
        records=log(POINTS, size="12345"),
    )  # fmt: skip
    with pytest.raises(AsbuiltError) as caught:
        map_layers.write_map(placement)
    for part in (
        "11 values do not fit defl (a whole number, from -32768 to 32767, one of 1, 2, 9): '7', '4'",
        "map.columns.station: 11 values do not fit jt_no (text of at most 6 characters): '0+00.00'",
        "map.columns.size: 11 values do not fit diam (a number, from -999.9 to 999.9): '12345'",
        "map.fixed.owner: 11 values do not fit owner (text, one of Marrow, other): 'nobody'",
        "map.columns.joint: 10 values do not fit live (yes or no): '2', '3', '4'",
    ):
        assert part in str(caught.value), part
    with pytest.raises(AsbuiltError, match="map: the column owner must be filled in"):
        map_layers.write_map(placed(url))
    with pytest.raises(AsbuiltError, match="the column id is filled by the layer itself"):
        map_layers.write_map(
            placed(url, columns={"joint_uid": "asset_id", "findings": "id"}, values={}, fixed={"owner": "Marrow"})
        )
    assert ask("SELECT count(*) FROM utility.water_joints") == [(1,)]


def test_what_only_the_database_refuses_changes_nothing(database):
    url, ask = database
    ask(TABLE)
    ask("ALTER TABLE utility.water_joints ADD CHECK (jt_no <> '7')")
    with pytest.raises(AsbuiltError, match=r"violates check constraint .*; nothing was changed"):
        map_layers.write_map(placed(url, fixed={"owner": "Marrow"}))
    assert ask("SELECT count(*) FROM utility.water_joints") == [(1,)]


def test_a_table_is_made_with_index_and_key(database):
    url, ask = database
    written = map_layers.write_map(
        placed(url, layer="joints", types={"asset_id": "text(36)"}, fixed={"owner": "Marrow"})
    )
    assert (written.created, written.added) == (True, 11)
    assert ask("SELECT count(*), min(ST_SRID(geom)), min(ST_NDims(geom)) FROM joints") == [(11, 6418, 3)]
    columns = dict(ask("SELECT column_name, data_type FROM information_schema.columns WHERE table_name = 'joints'"))
    assert columns["asset_id"] == "character varying"
    assert columns["seen"] == "date"
    assert columns["defl"] == "bigint"
    assert any("USING gist" in row[0] for row in ask("SELECT indexdef FROM pg_indexes WHERE tablename = 'joints'"))
    assert map_layers.write_map(placed(url, layer="joints", fixed={"owner": "Marrow"})).added == 0


def test_a_dry_run_leaves_no_table_behind(database):
    url, ask = database
    written = map_layers.write_map(placed(url, layer="joints"), dry_run=True)
    assert (written.created, written.added) == (True, 11)
    assert ask("SELECT to_regclass('joints') IS NULL") == [(True,)]


def test_two_at_once_do_not_add_a_joint_twice(database):
    url, ask = database
    ask(TABLE.replace("uuid UNIQUE", "uuid"))
    placements = [placed(url, fixed={"owner": "Marrow"}) for _ in range(4)]
    added = []
    runs = [
        threading.Thread(target=lambda one=one: added.append(map_layers.write_map(one).added)) for one in placements
    ]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert sorted(added) == [0, 0, 0, 11]
    assert ask("SELECT count(*) FROM utility.water_joints") == [(12,)]


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ({"layer": None}, "map.layer: this key is required for a database"),
        ({"layer": "nowhere.joints"}, "map.layer: the database has no schema 'nowhere'"),
        ({"layer": "utility.defl_codes"}, "map.layer: 'defl_codes' has 0 columns of geometry"),
        ({"layer": "geometry_columns"}, "map.layer: 'geometry_columns' is a view; name a table"),
    ],
)
def test_a_table_that_cannot_be_is_named(database, wanted, words):
    url, ask = database
    ask(TABLE)
    with pytest.raises(AsbuiltError) as caught:
        map_layers.write_map(placed(url, **wanted))
    assert words in str(caught.value)


def test_a_server_that_does_not_answer_is_one_message():
    with pytest.raises(
        AsbuiltError, match=r"map\.into: postgresql://asbuilt@127\.0\.0\.1:1/city: .*; nothing was changed"
    ):
        map_layers.write_map(placed("postgresql://asbuilt@127.0.0.1:1/city"))
    with pytest.raises(AsbuiltError, match="this is no database URL"):
        map_layers.write_map(placed("postgresql:city"))


def test_joints_that_differ_follow_the_job_on_request_alone(database):
    url, ask = database
    ask(TABLE)
    columns = COLUMNS | {"route": "route"}
    ask("ALTER TABLE utility.water_joints ADD COLUMN route text")
    map_layers.write_map(placed(url, columns=columns, fixed={"owner": "Marrow"}))
    before = ask("SELECT * FROM utility.water_joints ORDER BY id")
    records = log(POINTS).drop(index=[7])
    records.loc[4, ["size", "station"]] = ["8", "0+83.00"]
    told = map_layers.write_map(placed(url, columns=columns, fixed={"owner": "Marrow"}, records=records))
    assert (told.differing, told.updated, len(told.dropped)) == (1, 0, 1)
    assert {(one.column, one.there, one.here) for one in told.differences if one.column != "place"} == {
        ("diam", "12", "8")
    }
    assert ask("SELECT * FROM utility.water_joints ORDER BY id") == before
    dry = placed(url, columns=columns, fixed={"owner": "Marrow"}, records=records, update=True)
    assert map_layers.write_map(dry, dry_run=True).updated == 1
    assert ask("SELECT * FROM utility.water_joints ORDER BY id") == before
    assert map_layers.write_map(dry).updated == 1
    after = ask("SELECT * FROM utility.water_joints ORDER BY id")
    same = [one for one in after if one in before]
    assert len(same) == len(before) - 1
    (moved,) = [one for one in after if one not in before]
    assert float(moved.diam) == 8
    assert map_layers.write_map(dry).differing == 0


def test_what_only_the_database_refuses_is_told_by_the_dry_run_too(database):
    url, ask = database
    ask(TABLE)
    ask("ALTER TABLE utility.water_joints ADD CHECK (jt_no <> '7')")
    with pytest.raises(AsbuiltError, match=r"violates check constraint .*; nothing was changed"):
        map_layers.write_map(placed(url, fixed={"owner": "Marrow"}), dry_run=True)
    assert ask("SELECT count(*) FROM utility.water_joints") == [(1,)]


@pytest.mark.parametrize("layer", ["asbuilt.joints", "asbuilt.owners"])
def test_the_schema_of_a_register_is_no_map_of_the_utility(database, tmp_path, layer):
    url, ask = database
    asbuilt.place(Job.from_mapping(values()), centerline=lines(A=POINTS), records=log(POINTS), today=TODAY).write(
        tmp_path / "placed.gpkg"
    )
    asbuilt.load(tmp_path / "placed.gpkg", url)
    before = ask("SELECT * FROM asbuilt.joints ORDER BY joint_uid")
    with pytest.raises(AsbuiltError, match=r"'asbuilt' holds a register.*name the utility's own table"):
        map_layers.write_map(placed(url, layer=layer, values={}, update=True))
    assert ask("SELECT * FROM asbuilt.joints ORDER BY joint_uid") == before
