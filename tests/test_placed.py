"""The placed file as a contract: what is written is read again as it was, and a file that was changed is refused."""

import shutil
import sqlite3
from contextlib import closing

import geopandas as gpd
import laying
import numpy as np
import pandas as pd
import pytest

import asbuilt
from asbuilt.commands import jobs
from asbuilt.errors import InputFileError, OutputError
from asbuilt.notes import NOTES, SUBJECTS
from asbuilt.placed import NEVER_BLANK, read_placed
from asbuilt.register.loading import load
from asbuilt.review.pages import write_review
from asbuilt.review.reading import read_review
from asbuilt.schema import DOMAINS, FILE_VERSION, LAYERS

POINTS = laying.pipe([0, 3, 3, 0, -4], up=0.01)


def tied_and_repeated():
    """Stations of three decimals that run short between ties; a record set aside, and a joint with two records."""
    points = laying.pipe(np.zeros(9), length=6.0)
    log = laying.log(points)
    log["station"] = [f"0+{0.99 * 6.0 * at:07.3f}" for at in range(len(points))]
    log = pd.concat([log, log.iloc[[3]].assign(date="2026-04-09"), log.iloc[[2]].assign(joint="99", station="9+000")])
    ends = [{"route": "A", "station": station, "easting": points[at, 0], "northing": points[at, 1]}
            for station, at in (("0+000.000", 0), ("0+053.460", 9))]  # fmt: skip
    return laying.place(
        laying.lines(A=points),
        log.reset_index(drop=True),
        centerline={"ties": ends, "max_closure_ppm": 20000},
        records={"station_unit": "us-ft", "laying_length": 6.0, "size_unit": "in", "station_format": "thousands"},
    )


def surveyed_flat():
    return laying.place(
        laying.lines(A=POINTS[:, :2], **{"b; DROP": POINTS[:, :2] + 900}), laying.log(POINTS, route="A")
    )


JOBS = [laying.crowded, tied_and_repeated, surveyed_flat]


@pytest.fixture(scope="module")
def placed_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("placed") / "joints.gpkg"
    laying.crowded().write(path)
    return path


@pytest.fixture
def copy(placed_file, tmp_path):
    return shutil.copy(placed_file, tmp_path / "joints.gpkg")


@pytest.mark.parametrize("job", JOBS)
def test_what_is_read_is_what_was_written(job, tmp_path):
    placement = job()
    placement.write(tmp_path / "joints.gpkg")
    placed = read_placed(tmp_path / "joints.gpkg")
    for layer in placed.columns:
        if layer == "run":
            continue
        written = placement.table(layer)
        geometry = LAYERS[layer].geometry_type is not None
        assert placed.table(layer, geometry=geometry).equals(written), layer
        if geometry:
            frame = getattr(placement, layer)
            pd.testing.assert_frame_equal(pd.DataFrame(placed.shapes(layer)), pd.DataFrame(frame), check_exact=True)
    assert placed.notes == placement.notes
    assert placed.run["counts"] == placement.counts
    assert (placed.run["size_unit"], placed.run["laying_length"]) == ("in", placement.job.records.laying_length)


@pytest.mark.parametrize("job", JOBS)
def test_the_pieces_of_stationing_give_every_joint_its_station_without_resolving_it_again(job, tmp_path):
    placement = job()
    placement.write(tmp_path / "joints.gpkg")
    for route in read_review(tmp_path / "joints.gpkg").routes:
        read = route.stations.text(route.joints["distance"] - 1e-9)
        plain = route.joints.frame["station"].str.replace(r" (BK|AH).*", "", regex=True)
        decimals = np.array([[float(text.replace("+", "")) for text in texts] for texts in (read, plain)])
        np.testing.assert_allclose(decimals[0], decimals[1], atol=0.011)


def test_the_latest_record_and_the_route_of_a_record_set_aside_are_said(tmp_path):
    placement = tied_and_repeated()
    inspections, aside = placement.inspections, placement.set_aside
    twice = inspections[inspections["joint"] == "4"]
    assert twice[["latest", "inspected_on"]].astype(str).to_numpy().tolist() == [
        ["no", "2026-04-02"],
        ["yes", "2026-04-09"],
    ]
    assert aside[["route", "joint", "reason"]].to_numpy().tolist() == [["A", "99", "station-off-route"]]


def test_two_logs_of_one_name_stay_apart(tmp_path):
    laying.lines(A=POINTS).to_file(tmp_path / "line.gpkg")
    for folder, rows in (("monday", slice(0, 4)), ("tuesday", slice(4, None))):
        (tmp_path / folder).mkdir()
        laying.log(POINTS)[rows].to_csv(tmp_path / folder / "log.csv", index=False)
    paths = {"path": ["monday/log.csv", "tuesday/log.csv"]}
    job = asbuilt.Job.from_mapping(laying.values(centerline={"path": "line.gpkg"}, records=paths), folder=tmp_path)
    files = asbuilt.place(job, today=laying.TODAY).inspections["file"]
    assert files.value_counts().to_dict() == {"monday/log.csv": 4, "tuesday/log.csv": 3}


def changed(path, statement):
    with closing(sqlite3.connect(path)) as database, database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute(statement)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("ALTER TABLE joints DROP COLUMN verdict", "layer joints has no column verdict any more"),
        ("DROP TABLE stationing", "has no layer stationing any more"),
        ("UPDATE inspections SET latest = NULL WHERE record = 3", "latest of layer inspections is blank in 1 rows"),
        ("DELETE FROM joints WHERE joint = '4'", "layer joints has 99 rows, and 100 were written"),
        ("DELETE FROM stationing", "layer stationing has no row for some route"),
        ("DELETE FROM centerline", "layer centerline has 0 rows, and 1 were written"),
        ("DELETE FROM run", "layer run has 0 rows, not one"),
        ("UPDATE run SET counts = 'none'", "a column is no JSON"),
        ("UPDATE run SET counts = '[1]'", "counts names nothing"),
        ("UPDATE run SET size_unit = NULL", "layer run does not say size_unit"),
        ("ALTER TABLE run DROP COLUMN file_version", "was made by asbuilt 0.1.0, an earlier version"),
        (
            f"UPDATE run SET file_version = {FILE_VERSION + 1}",
            rf"a later version \(file version {FILE_VERSION + 1}; this one reads {FILE_VERSION}\)",
        ),
        (f"UPDATE run SET file_version = {FILE_VERSION - 1}", "was made by asbuilt 0.1.0, an earlier version"),
        ("UPDATE run SET file_version = 'new'", "has no file version that is known"),
    ],
)
def test_a_file_that_was_changed_is_refused_by_every_reader_with_the_remedy(copy, tmp_path, statement, said):
    changed(copy, statement)
    for read in (read_placed, read_review, lambda path: load(path, str(tmp_path / "register.gpkg"))):
        with pytest.raises(InputFileError, match=rf"joints\.gpkg: .*{said}.*place the job again"):
            read(copy)
    assert not (tmp_path / "register.gpkg").exists()


@pytest.mark.parametrize("routes", ["A", "[]", '["Z"]', "3", "[3]"])
def test_a_note_on_routes_that_are_not_there_is_refused_since_it_would_stand_nowhere(copy, routes):
    assert [note.routes for note in read_placed(copy).notes if note.code == "direction-untold"] == [("A",)]
    changed(copy, f"UPDATE notes SET routes = '{routes}' WHERE code = 'direction-untold'")
    for read in (lambda path: read_placed(path).notes, read_review):
        with pytest.raises(InputFileError, match=r"joints\.gpkg: layer notes was changed: .*place the job again"):
            read(copy)


def test_a_file_whose_table_of_contents_was_changed_is_refused_with_the_remedy(copy, tmp_path):
    changed(copy, "ALTER TABLE gpkg_contents DROP COLUMN min_x")
    with pytest.raises(InputFileError, match=r"joints\.gpkg: layer joints cannot be read .*place the job again"):
        load(copy, str(tmp_path / "register.gpkg"))
    assert not (tmp_path / "register.gpkg").exists()


def test_a_line_without_its_geometry_is_refused_with_the_remedy(copy, tmp_path):
    changed(copy, "UPDATE centerline SET geom = NULL")
    with pytest.raises(InputFileError, match=r"joints\.gpkg: 1 rows of layer centerline have no geometry; place"):
        load(copy, str(tmp_path / "register.gpkg"))
    assert not (tmp_path / "register.gpkg").exists()


def test_a_torn_file_is_refused_by_every_reader(copy, tmp_path):
    content = copy.read_bytes()
    copy.write_bytes(content[: len(content) // 3])
    for read in (read_placed, read_review, lambda path: load(path, str(tmp_path / "register.gpkg"))):
        with pytest.raises(InputFileError, match=r"joints\.gpkg: "):
            read(copy)


def test_every_column_that_is_never_blank_is_one_and_every_note_is_whole():
    assert set(NEVER_BLANK) == set(LAYERS)
    for layer, names in NEVER_BLANK.items():
        assert set(names) <= set(LAYERS[layer].columns), layer
    assert {kind.severity for kind in NOTES.values()} <= set(DOMAINS["severity"])
    assert {kind.about for kind in NOTES.values()} <= set(SUBJECTS)


def test_an_output_takes_the_place_of_nothing_but_an_earlier_one_of_its_job(tmp_path):
    placement = surveyed_flat()
    out = tmp_path / "joints.gpkg"
    placement.write(out)
    placement.write(out)
    register = tmp_path / "register.gpkg"
    load(out, str(register))
    (tmp_path / "link.gpkg").symlink_to(register)
    gpd.GeoDataFrame(laying.lines(A=POINTS)).to_file(tmp_path / "theirs.gpkg", layer="mains")
    (tmp_path / "text.gpkg").write_text("a letter")
    other = laying.place(laying.lines(A=POINTS), laying.log(POINTS), name="Mill Street")
    other.write(tmp_path / "other.gpkg")
    for name, said in {
        "register.gpkg": "a register is there",
        "link.gpkg": "a register is there",
        "theirs.gpkg": "a file is there that is no placed file",
        "text.gpkg": "a file is there that is no placed file",
        "other.gpkg": r"a placed file of another job is there \(Mill Street\)",
    }.items():
        before = (tmp_path / name).read_bytes()
        with pytest.raises(OutputError, match=rf"{said}.*not written over; .*name another"):
            placement.write(tmp_path / name)
        assert (tmp_path / name).read_bytes() == before


def test_the_utilitys_layer_and_the_output_may_not_be_one_file(tmp_path):
    job = laying.values(
        map={"into": "all.gpkg", "layer": "joints", "columns": {"joint_uid": "uid"}}, output={"path": "all.gpkg"}
    )
    job = asbuilt.Job.from_mapping(job, folder=tmp_path)
    placement = asbuilt.place(job, centerline=laying.lines(A=POINTS), records=laying.log(POINTS), today=laying.TODAY)
    for write in (lambda: placement.write(tmp_path / "." / "all.gpkg"), lambda: asbuilt.write_map(placement)):
        with pytest.raises(OutputError, match=r"map\.into and the output of place are one file"):
            write()
    assert not (tmp_path / "all.gpkg").exists()


def test_a_review_leaves_folders_alone_that_it_did_not_make_and_reviews_of_other_jobs(placed_file, tmp_path):
    out = tmp_path / "review"
    write_review(placed_file, out)
    (out / "photos").mkdir()
    with pytest.raises(OutputError, match=r"holds what no review wrote \(photos\)"):
        write_review(placed_file, out)
    (out / "photos").rmdir()
    other = laying.place(laying.lines(A=POINTS), laying.log(POINTS), name="Mill Street")
    other.write(tmp_path / "other.gpkg")
    before = (out / "index.html").read_bytes()
    with pytest.raises(OutputError, match=r"holds the review of another job \(Quarry Lane\)"):
        write_review(tmp_path / "other.gpkg", out)
    assert (out / "index.html").read_bytes() == before


@pytest.mark.parametrize("there", [True, False])
def test_an_interrupted_demo_leaves_nothing_half(tmp_path, monkeypatch, there):
    if there:
        (tmp_path / "demo").mkdir()

    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(jobs, "_place", interrupted)
    with pytest.raises(KeyboardInterrupt):
        jobs.demo.callback(tmp_path / "demo", False, "none")
    assert [one.name for one in tmp_path.rglob("*")] == (["demo"] if there else [])


def test_a_file_exchanged_or_edited_while_it_is_read_is_noticed(copy, tmp_path):
    opened = read_placed(copy)
    assert opened.table("joints").num_rows == len(laying.crowded().joints)
    surveyed_flat().write(tmp_path / "other.gpkg")
    shutil.copy(tmp_path / "other.gpkg", copy)
    with pytest.raises(InputFileError, match="was written anew or edited while it was being read; do this again"):
        opened.table("joints")
    assert read_placed(copy).table("joints").num_rows == len(surveyed_flat().joints)


def test_a_placed_file_answers_all_its_checks_over_one_connection(copy, monkeypatch):
    opened = []
    real = sqlite3.connect

    def counted(*given, **more):
        opened.append(given)
        return real(*given, **more)

    monkeypatch.setattr("asbuilt.stored.sqlite3.connect", counted)
    placed = read_placed(copy)
    assert len(opened) == 1
    assert placed.run["joints"] == placed.table("joints").num_rows
    # Nothing holds the file afterwards: where names can be locked, it could not be placed again.
    laying.crowded().write(copy)
