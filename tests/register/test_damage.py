"""A register that was damaged or edited by hand: every question is refused in words that name what is wrong."""

import sqlite3
from contextlib import closing

import pytest
from registers import placed

from asbuilt import cli
from asbuilt.register.loading import load
from asbuilt.register.opening import open_existing
from asbuilt.register.service import note_service


@pytest.fixture(scope="module")
def sound(folder):
    """Load two jobs, one twice with changes, into a register."""
    path = folder / "sound.gpkg"
    for job in (placed(folder / "one.gpkg"), placed(folder / "two.gpkg", gauge={2: "no"})):
        load(job, str(path))
    note_service(str(path), "A 0+40..0+60", "abandoned")
    return path


def test_a_sound_register_has_no_damage(sound):
    with closing(open_existing(str(sound))) as store:
        assert store.damage() is None


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE joints SET easting = 'east'", "column easting of table joints holds values of another kind in 6 rows"),
        ("UPDATE joints SET load_id = NULL", "column load_id of table joints holds values of another kind in 6 rows"),
        ("DROP TABLE joints", "it has no table joints any more"),
        ("ALTER TABLE loads DROP COLUMN job", "table loads has no column job any more"),
        ("UPDATE register SET format = NULL", "column format of table register"),
        (
            "ALTER TABLE gpkg_ogr_contents DROP COLUMN feature_count",
            "table gpkg_ogr_contents has no column feature_count",
        ),
        ("DELETE FROM loads", "6 rows of table joints are of loads that table loads has no more"),
        ("UPDATE loads SET run = 'none'", "column run of table loads does not hold what a load says of its job"),
        ("UPDATE joints SET inspector = CAST(X'ff' AS TEXT)", "Could not decode to UTF-8 column"),
        ("DROP TABLE rtree_joints_geom_rowid", "its index rtree_joints_geom does not go with its joints"),
        ("DROP TABLE rtree_joints_geom", "its index rtree_joints_geom does not go with its joints"),
        ("DELETE FROM rtree_joints_geom_rowid WHERE rowid = 2", "its index rtree_joints_geom does not go"),
    ],
)
def test_a_damaged_register_is_refused_in_words(sound, tmp_path, capsys, statement, said):
    path = tmp_path / "register.gpkg"
    path.write_bytes(sound.read_bytes())
    with closing(sqlite3.connect(path)) as database, database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute(statement)
    ends = []
    for command in (["find", "--joint", "2"], ["info"], ["conflicts", "--all"]):
        ends.append(cli.run([command[0], str(path), *command[1:]]))
        told = " ".join(capsys.readouterr().err.split())
        assert ends[-1] in (0, 2), told
        if ends[-1] == 2:
            assert said in told
            assert "put back a copy" in told
    assert 2 in ends


def test_a_torn_page_is_named_and_no_fault_of_the_program(sound, tmp_path, capsys):
    content = bytearray(sound.read_bytes())
    pages = len(content) // 4096
    failed = 0
    for page in range(2, pages, 3):
        path = tmp_path / "torn.gpkg"
        path.write_bytes(bytes(content[: page * 4096]) + bytes(4096) + bytes(content[(page + 1) * 4096 :]))
        status = cli.run(["find", str(path), "--joint", "2"])
        told = capsys.readouterr().err
        assert status in (0, 2), (page, told)
        failed += status == 2
    assert failed


def test_a_row_that_an_index_lacks_is_named_when_the_register_is_read_whole(sound, tmp_path, capsys):
    path = tmp_path / "register.gpkg"
    path.write_bytes(sound.read_bytes())
    with closing(sqlite3.connect(path)) as database, database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("PRAGMA writable_schema = ON")
        (kept,) = database.execute("SELECT * FROM sqlite_master WHERE name = 'joints_verdict'").fetchall()
        database.execute("DELETE FROM sqlite_master WHERE name = 'joints_verdict'")
    # A program that does not know the index writes past it.
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("UPDATE joints SET verdict = 'over' WHERE joint = '2'")
        database.execute("PRAGMA writable_schema = ON")
        database.execute("INSERT INTO sqlite_master VALUES (?, ?, ?, ?, ?)", kept)
    assert cli.run(["info", str(path)]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "was damaged or edited by hand (" in told
    assert "joints_verdict" in told
    assert "put back a copy" in told


def test_a_lost_page_where_no_question_looks_is_found_when_the_register_is_read_whole(sound, tmp_path, capsys):
    content = sound.read_bytes()
    # Source: SQLite's file format, clause 1.3.2: the size of a page stands in bytes 16 and 17.
    size = int.from_bytes(content[16:18], "big")
    ends = {}
    for page in range(1, len(content) // size, 7):
        path = tmp_path / "lost.gpkg"
        path.write_bytes(content[: page * size] + bytes(size) + content[(page + 1) * size :])
        ends[page] = cli.run(["info", str(path)])
        assert "was damaged" in " ".join(capsys.readouterr().err.split()) or ends[page] != 2
    assert set(ends.values()) == {2}, ends
