"""Nothing is left out of a register in silence: it is kept, counted in every answer near it, and can be settled."""

import datetime as dt
import json
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely
from laying import CRS, EAST, NORTH
from registers import column, placed

import asbuilt
from asbuilt import cli
from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.placed import read_placed
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.settling import settle
from asbuilt.register.undo import undo
from asbuilt.schema import FILE_VERSION

FAR = 5000.0
ANY = "--however-far"


def run(capsys, *arguments):
    status = cli.run([str(one) for one in arguments])
    return status, capsys.readouterr().out


@pytest.fixture
def second(folder):
    """Give the job of a second contract whose route is A too, and numbered from 1, a mile from the first."""
    return placed(folder / "second.gpkg", "Contract 2", east=FAR)


@pytest.fixture
def first(register, folder):
    load(placed(folder / "first.gpkg", "Contract 1"), register)
    return register


def test_a_second_contract_with_the_same_route_is_kept_waiting_and_told(first, second, capsys):
    loaded = load(second, first)
    assert (loaded.joints["left_out"], loaded.joints["new"], loaded.changed) == (6, 0, True)
    waiting = asbuilt.conflicts(first)
    assert [(one["job"], one["route"], one["joint"]) for one in waiting] == [
        ("Contract 2", "A", str(number)) for number in range(1, 7)
    ]
    out = run(capsys, "conflicts", first)[1]
    assert "6 joints of 1 job wait to be settled" in out
    assert "--main NAME" in out
    assert json.loads(run(capsys, "conflicts", first, "--json")[1])["joints"] == 6


def test_joints_where_others_lie_wait_though_their_job_calls_a_main_elsewhere_by_the_name_of_those(first, folder):
    """The joints of its A waited, and those of its B stood in the places of the register's A, as a second main."""
    loaded = load(placed(folder / "both.gpkg", "Contract 2", routes=("B", "A")), first)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (0, 12)
    assert {(one["route"], one["reason"]) for one in loaded.conflicts} == {
        ("A", "same-joint-elsewhere"), ("B", "two-joints-in-one-place"),
    }  # fmt: skip
    near = find(first, Question(near=f"{EAST},{NORTH + 40.0}", within="2ft"))
    assert [(one["route"], one["joint"]) for one in near.joints] == [("A", "3")]
    assert near.waiting["joints"] == 1


def test_a_main_beside_that_has_the_name_of_the_registers_and_more_joints_is_asked_about(first, folder):
    """Its joints 7 to 9 stood in the register's A, between whose joints they do not lie."""
    said = "are taken into the register's A all the same"
    loaded = load(placed(folder / "beside.gpkg", "Contract 2", joints=9, east=25.0), first)
    assert (loaded.joints["new"], loaded.joints["left_out"]) == (3, 6)
    [note] = [note for note in loaded.notes if said in note]
    assert note.startswith("6 joints of route A wait")
    undo(2, first)
    # A later phase that has joints where the register has them, or whose joints are all other ones, is not.
    phases: list[dict[str, Any]] = [{"joints": 9}, {"joints": 4, "first": 10, "north": 180.0}]
    for number, how in enumerate(phases):
        later = placed(folder / f"later {number}.gpkg", f"Phase {number}", **how)
        assert not [note for note in load(later, first).notes if said in note]


def test_loading_what_waits_again_changes_nothing_and_does_not_say_that_nothing_is_new(first, second, capsys):
    load(second, first)
    again = load(second, first)
    assert (again.changed, again.load) == (False, None)
    status, out = run(capsys, "load", second, "--into", first)
    assert (status, "Nothing is new" in out) == (0, False)
    assert "6 joints of this file wait to be settled" in out
    assert len(asbuilt.conflicts(first)) == 6
    assert run(capsys, "load", second, "--into", first, "--strict")[0] == 1


def test_an_answer_near_what_waits_says_so_and_one_elsewhere_does_not(first, second, capsys):
    load(second, first)
    there = Question(near=f"{EAST + FAR},{NORTH}", within="110ft")
    assert find(first, there).as_json()["count"] == 0
    assert find(first, there).waiting == {"joints": 6, "jobs": 1}
    assert "6 joints of 1 job there wait" in run(capsys, "find", first, "--near", there.near, "--within", "110ft")[1]
    assert find(first, Question(near=f"{EAST},{NORTH}", within="110ft")).waiting["joints"] == 0
    assert find(first, Question(routes=("A",))).waiting["joints"] == 6


def test_a_main_of_its_own_settles_it_and_a_later_load_keeps_it(first, second, folder):
    load(second, first)
    settled = load(second, first, main="Contract 2")
    assert (settled.joints["new"], settled.joints["left_out"]) == (6, 0)
    assert asbuilt.conflicts(first) == []
    joints = find(first, Question(routes=("Contract 2: A",))).joints
    assert [one["joint"] for one in joints] == [str(number) for number in range(1, 7)]
    assert all(len(one["history"]) == 1 and one["history"][0]["route"] == "Contract 2: A" for one in joints)
    assert joints[0]["easting"] == pytest.approx(EAST + FAR)
    assert joints[0]["next"]["joint"] == "2"
    assert {one["joint_uid"] for one in joints}.isdisjoint(
        one["joint_uid"] for one in find(first, Question(routes=("A",))).joints
    )
    corrected = load(placed(folder / "corrected.gpkg", "Contract 2", east=FAR, remarks={2: "wet"}), first)
    assert (corrected.joints["updated"], corrected.joints["left_out"], corrected.main) == (1, 0, "Contract 2")


def test_undoing_gives_back_what_waited(first, second):
    load(second, first)
    number = load(second, first, main="Contract 2").load
    undo(number, first)
    assert len(asbuilt.conflicts(first)) == 6
    undo(2, first)
    assert asbuilt.conflicts(first) == []
    assert len(find(first, Question()).joints) == 6


def test_two_jobs_under_one_name_do_not_correct_one_another(first, folder):
    """As when a second phase of one name counts from joint 1 again, or a form kept its default name."""
    other = load(placed(folder / "phase.gpkg", "Contract 1", east=FAR), first)
    assert (other.joints["left_out"], other.joints["updated"], other.joints["unchanged"]) == (6, 0, 0)
    assert len(find(first, Question(near=f"{EAST},{NORTH}", within="110ft")).joints) == 6
    assert len(asbuilt.conflicts(first)) == 6


def test_what_waits_outlives_another_job_of_the_same_name(first, folder):
    load(placed(folder / "b.gpkg", "Form", east=FAR), first)
    assert len(asbuilt.conflicts(first)) == 6
    assert load(placed(folder / "c.gpkg", "Form", routes=("Z",), north=FAR), first).joints["new"] == 6
    assert len(asbuilt.conflicts(first)) == 6


def test_ours_kept_for_one_joint_or_a_route_holds_until_the_job_says_otherwise(first, second, folder, capsys):
    load(second, first)
    assert (
        "1 joint settled"
        in run(capsys, "conflicts", first, "--settle", "ours", "--joint", "3", "--by", "R. Vance", ANY)[1]
    )
    assert [one["joint"] for one in asbuilt.conflicts(first)] == ["1", "2", "4", "5", "6"]
    assert find(first, Question(joints=("3",), routes=("A",))).waiting["joints"] == 0
    assert column(first, "settled", "settled_by") == ["R. Vance"]
    told = json.loads(run(capsys, "conflicts", first, "--settle", "ours", "--job", "Contract 2", "--json", ANY)[1])
    assert (told["joints"], told["still"], told["loads"]) == (5, [], [])
    again = load(second, first)
    assert (again.conflicts, again.settled, again.joints["left_out"], again.changed) == ([], 6, 6, False)
    assert run(capsys, "load", second, "--into", first, "--strict")[0] == 0
    assert len(find(first, Question()).joints) == 6
    otherwise = load(placed(folder / "otherwise.gpkg", "Contract 2", east=FAR, size={2: "8"}), first)
    # A size that changes is asked about at the next joint too; of the others the same is said.
    assert "3" in [one["joint"] for one in otherwise.conflicts]
    assert len(asbuilt.conflicts(first)) == len(otherwise.conflicts) == 2


def test_joints_far_apart_are_settled_only_where_somebody_says_so_once_more(first, second, capsys):
    load(second, first)
    for decision in ("ours", "theirs"):
        with pytest.raises(
            AsbuiltError, match=r"5,000\.29 ft away: farther than a pipe is long.*--settle main.*" + ANY
        ):
            settle(first, decision, job="Contract 2")
    assert len(asbuilt.conflicts(first)) == len(find(first, Question()).joints) == 6
    assert column(first, "settled", "settled_by") == []
    out = " ".join(run(capsys, "conflicts", first, "--settle", "theirs", ANY)[1].split())
    assert "6 joints settled: the job's were taken; the job has them 5,000.29 ft from there. This is load 3." in out
    assert f"To undo it: asbuilt load --undo 3 --into {first}" in out
    undo(3, first)
    assert len(find(first, Question(near=f"{EAST},{NORTH}", within="110ft")).joints) == 6


def test_joints_settled_to_stay_out_are_told_near_their_place_and_can_be_taken_after_all(first, second, folder, capsys):
    load(second, first)
    out = " ".join(run(capsys, "conflicts", first, "--settle", "ours", ANY)[1].split())
    assert "the job has them 5,000.29 ft from there" in out
    assert "To take them after all" in out
    # A corrected log leaves them out as before, and they are told as before.
    load(placed(folder / "longer.gpkg", "Contract 2", east=FAR, joints=6, routes=("A", "B")), first)
    there, here = (Question(near=f"{east},{NORTH}", within="110ft") for east in (EAST + FAR, EAST))
    assert find(first, there).as_json()["settled_away"] == {"joints": 6, "jobs": 1}
    assert find(first, here).as_json()["settled_away"] == {"joints": 0, "jobs": 0}
    assert find(first, there).waiting["joints"] == 0
    said = " ".join(run(capsys, "find", first, "--near", there.near, "--within", "110ft")[1].split())
    assert "Besides, 6 joints of 1 job were settled to stay out" in said
    listed = " ".join(run(capsys, "conflicts", first)[1].split())
    assert "Settled to stay out: 6 joints: A 1, A 2" in listed
    assert len(json.loads(run(capsys, "conflicts", first, "--json")[1])["settled_away"]) == 6
    done = settle(first, "theirs", job="Contract 2", however_far=True)
    assert (done.joints, done.still) == (6, [])
    assert len(find(first, Question(near=there.near, within="110ft", routes=("A",))).joints) == 6


def test_theirs_is_the_register_s_joint_moved_and_a_correction_finds_it_again(first, folder, capsys):
    again = placed(folder / "survey2.gpkg", "Survey 2", east=2.5)
    load(again, first)
    told = json.loads(run(capsys, "conflicts", first, "--settle", "theirs", "--joint", "2", "--json")[1])
    assert (told["joints"], told["still"]) == (1, [])
    assert len(asbuilt.conflicts(first)) == 5
    run(capsys, "conflicts", first, "--settle", "theirs", "--job", "Survey 2", "--route", "A")
    assert asbuilt.conflicts(first) == []
    joints = find(first, Question(routes=("A",))).joints
    assert [one["easting"] for one in joints] == pytest.approx([EAST + 2.5] * 6)
    corrected = load(placed(folder / "survey3.gpkg", "Survey 2", east=2.5, remarks={1: "photo lost"}), first)
    assert (corrected.joints["updated"], corrected.joints["left_out"]) == (1, 0)
    assert len(find(first, Question()).joints) == 6


def test_theirs_of_another_route_in_the_same_place_keeps_the_register_s_joint(first, folder):
    """A contractor calls the same main B: the same joints, settled once, are known in his next log too."""
    other = placed(folder / "other_name.gpkg", "Repair", routes=("B",), joints=4)
    assert load(other, first).joints["left_out"] == 4
    before = [one["joint_uid"] for one in find(first, Question()).joints]
    settle(first, "theirs", job="Repair")
    assert [one["joint_uid"] for one in find(first, Question()).joints] == before
    later = placed(folder / "other_name2.gpkg", "Repair", routes=("B",), joints=4, remarks={1: "clamp"})
    loaded = load(later, first)
    assert (loaded.joints["updated"], loaded.joints["unchanged"], loaded.joints["left_out"]) == (1, 3, 0)
    undo(loaded.load, first)
    assert [one["joint_uid"] for one in find(first, Question()).joints] == before


def test_main_by_settling_and_what_cannot_be_settled_says_why(first, second, folder, capsys):
    load(second, first)
    done = settle(first, "main", job="Contract 2", main="Contract 2")
    assert (done.joints, done.still, asbuilt.conflicts(first)) == (6, [], [])
    assert len(find(first, Question(routes=("Contract 2: A",))).joints) == 6
    with pytest.raises(AsbuiltError, match="no joint waits to be settled"):
        settle(first, "ours")
    load(placed(folder / "third.gpkg", "Contract 3", east=2 * FAR), first)
    with pytest.raises(AsbuiltError, match="those that do: Contract 3, route A"):
        settle(first, "ours", job="Contract 2")
    (folder / "third.gpkg").rename(folder / "moved.gpkg")
    with pytest.raises(AsbuiltError, match="the file of load 4 is not there; name where it is now with --file"):
        settle(first, "theirs", however_far=True)
    with pytest.raises(AsbuiltError, match="is not as it was when load 4 read it"):
        settle(first, "theirs", file=folder / "first.gpkg", however_far=True)
    assert settle(first, "main", main="C 3", file=folder / "moved.gpkg").joints == 6


def test_conflicts_lists_every_job_and_route_and_distances_in_the_register_s_unit(first, second, folder, capsys):
    load(second, first)
    load(placed(folder / "nearer.gpkg", "Survey 2", east=2.5), first)
    out = run(capsys, "conflicts", first)[1]
    assert "12 joints of 2 jobs wait" in out
    assert "Contract 2 (2)" in out
    assert "Survey 2 (3)" in out
    assert "2.50 ft" in out.replace("\n", " ")
    assert run(capsys, "conflicts", first, "--all")[1].count("Contract 2 (2)") == 6
    assert run(capsys, "conflicts", first, "--job", "Survey 2", "--all")[1].count("Survey 2 (3)") == 6


def test_what_waits_is_counted_as_the_question_narrows_it(first, folder):
    load(placed(folder / "dated.gpkg", "Contract 2", east=FAR, date={2: "2027-01-05"}, inspector={3: "M. Sol"}), first)
    waits = {
        "since": Question(since=dt.date(2027, 1, 1)),
        "until": Question(until=dt.date(2026, 12, 31)),
        "inspector": Question(inspectors=("m. sol",)),
        "verdict": Question(verdicts=("not-computed",)),
        "joint": Question(joints=("5",)),
    }
    counts = {name: find(first, asked).waiting["joints"] for name, asked in waits.items()}
    assert counts == {"since": 1, "until": 5, "inspector": 1, "verdict": 2, "joint": 1}
    area = folder / "area.geojson"
    box = shapely.box(EAST + FAR - 10.0, NORTH - 10.0, EAST + FAR + 10.0, NORTH + 50.0)
    gpd.GeoDataFrame(geometry=[box], crs=CRS).to_file(area)
    assert find(first, Question(area=area)).waiting["joints"] == 3


def test_a_count_of_what_waits_says_what_it_is_not_held_against(first, second, folder, capsys):
    """Of a joint that waits no crew is kept: it may meet the question, and it may not."""
    load(second, first)
    for options, named in (
        (["--crew", "Crew 9", "--crew", "Crew 8"], "--crew"),
        (["--route", "A", "--from", "0+00", "--item", "gauge=no"], "--from and --item"),
        (["--route", "A", "--month", "2026"], None),
    ):
        out = " ".join(run(capsys, "find", first, *options)[1].split())
        assert "joints of 1 job there wait to be settled" in out
        said = f"the most there may be, as no joint that waits is held against {named}"
        assert (said in out) == (named is not None), options
        assert ("the most there may be" in out) == (named is not None), options
        counted = run(capsys, "find", first, *options, "--group-by", "job")[1]
        assert ("the most there may be" in " ".join(counted.split())) == (named is not None), options
    told = json.loads(run(capsys, "find", first, "--route", "A", "--no-photo", "--json")[1])
    assert told["waiting_not_held_against"] == ["--no-photo"]
    run(capsys, "find", first, "--no-photo", "--out", folder / "unsure.csv")
    assert "held against --no-photo" in (folder / "unsure.csv").read_text()


def test_files_of_answers_say_what_waits(first, second, folder, capsys):
    load(second, first)
    for suffix in ("csv", "xlsx", "gpkg", "geojson"):
        run(capsys, "find", first, "--route", "A", "--out", folder / f"answer.{suffix}")
    rows = pd.read_csv(folder / "answer.csv")
    assert rows["waiting"].str.startswith("besides, 6 joints of 1 job wait to be settled and are not here").all()
    sheet = pd.read_excel(folder / "answer.xlsx", sheet_name="waiting", engine="calamine")
    assert sheet["joint"].astype(str).tolist() == list("123456")
    assert len(pyogrio.read_dataframe(folder / "answer.gpkg", layer="waiting")) == 6
    assert json.loads((folder / "answer.geojson").read_text())["waiting"] == {"joints": 6, "jobs": 1}
    run(capsys, "find", first, "--near", f"{EAST + FAR},{NORTH}", "--within", "50ft", "--out", folder / "none.csv")
    assert "3 joints of 1 job wait" in (folder / "none.csv").read_text()


def test_a_main_surveyed_again_is_not_entered_twice(first, folder, capsys):
    again = placed(folder / "again.gpkg", "Survey 2", east=2.5)
    assert load(again, first).joints["left_out"] == 6
    assert "larger --tolerance" in run(capsys, "conflicts", first)[1]
    with pytest.raises(AsbuiltError, match="6 joints lie within 16 ft of joints of the same route and number"):
        load(again, first, main="Survey 2")
    settled = load(again, first, tolerance_m=1.0)
    assert (settled.joints["updated"], settled.joints["left_out"], settled.joints["new"]) == (6, 0, 0)
    assert asbuilt.conflicts(first) == []
    assert len(find(first, Question()).joints) == 6


def test_a_reader_needs_no_right_to_write_and_changes_nothing(folder):
    path = folder / "only_read.gpkg"
    load(placed(folder / "first.gpkg", "Contract 1"), str(path))
    before = path.read_bytes()
    path.chmod(0o444)
    try:
        assert len(find(str(path), Question(routes=("A",))).joints) == 6
        assert asbuilt.conflicts(str(path)) == []
    finally:
        path.chmod(0o644)
    assert path.read_bytes() == before


@pytest.mark.parametrize("register", ["postgis"], indirect=True)
@pytest.mark.parametrize("less", ["REVOKE TEMPORARY ON DATABASE postgres FROM PUBLIC", "only reads"])
def test_a_reader_with_select_alone_is_answered_as_the_owner_is(folder, register, less):
    import psycopg

    load(placed(folder / "first.gpkg", "Contract 1", gauge={2: "no"}), register)
    load(placed(folder / "near.gpkg", "Contract 2", east=60.0), register)
    with psycopg.connect(register, autocommit=True) as connection:
        connection.execute("DROP OWNED BY reader" if connection.execute(
            "SELECT 1 FROM pg_roles WHERE rolname = 'reader'").fetchone() else "CREATE ROLE reader LOGIN")  # fmt: skip
        connection.execute("GRANT USAGE ON SCHEMA asbuilt TO reader")
        connection.execute("GRANT SELECT ON ALL TABLES IN SCHEMA asbuilt TO reader")
        if less == "only reads":
            connection.execute("ALTER ROLE reader SET default_transaction_read_only = on")
        else:
            connection.execute(less)
    reader = register.replace("asbuilt@", "reader@")
    try:
        near = Question(near=f"{EAST},{NORTH}", within="50 ft")
        for asked in (near, Question(routes=["A"], from_station="0+20"), Question(items=["gauge=no"])):
            told, own = find(reader, asked).as_json(), find(register, asked).as_json()
            assert told["joints"] == own["joints"] != []
            assert told["waiting"] == own["waiting"]
        assert load(folder / "near.gpkg", reader, dry_run=True).joints["left_out"] == 6
        assert asbuilt.conflicts(reader) == asbuilt.conflicts(register) != []
    finally:
        with psycopg.connect(register, autocommit=True) as connection:
            connection.execute("GRANT TEMPORARY ON DATABASE postgres TO PUBLIC")
            connection.execute("ALTER ROLE reader RESET default_transaction_read_only")


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
@pytest.mark.parametrize(
    "how",
    [
        {"east": FAR, "crs": "EPSG:6417"},  # a second contract, mapped in metres
        {"north": 90.0},  # a second phase that begins anew, and whose line overlaps the first by 10 ft
        {"east": 2.5, "crs": "EPSG:6417"},  # surveyed again, 2.5 ft off
        {"east": 0.5, "north": 40.0, "joints": 4},  # relaid in the same trench, shorter
        {"routes": ("A", "B"), "east": FAR},  # two routes in one load, of which one is known
    ],
)
def test_every_joint_answers_or_waits_where_it_lies(register, folder, how):
    jobs = {"Contract 1": placed(folder / "known.gpkg", "Contract 1", date="2026-04-01")}
    jobs["Contract 2"] = placed(folder / "other.gpkg", "Contract 2", **how)
    places = {job: read_placed(file).shapes("joints").to_crs(CRS) for job, file in jobs.items()}
    for into, files in ((register, [*jobs.values()]), (f"{folder}/turned.gpkg", [*jobs.values()][::-1])):
        Path(into).unlink(missing_ok=True)
        for file in files:
            loaded = load(file, into, crs=CRS)
            assert sum(loaded.joints[name] for name in ("new", "updated", "left_out")) == loaded.joints["read"]
        for job, joints in places.items():
            for name, place in zip(joints["joint"], joints.geometry, strict=True):
                there = find(into, Question(near=f"{place.x},{place.y}", within="3ft"))
                told = {(record["job"], record["joint"]) for one in there.joints for record in one["history"]}
                assert (job, name) in told | {(one["job"], one["joint"]) for one in there.waits}


def test_settling_by_a_file_of_an_earlier_version_names_its_load_and_what_to_do(register, tmp_path, monkeypatch):
    load(placed(tmp_path / "contract.gpkg", "Contract"), register)
    file = placed(tmp_path / "survey.gpkg", "Survey", east=0.7, routes=("B",))
    waits = len(load(file, register).conflicts)
    assert waits == 6
    told = r"earlier version.* place the job again .* file of load 2 \(Survey\), which left these joints out: load"
    with monkeypatch.context() as patch:
        patch.setattr(asbuilt.placed, "FILE_VERSION", FILE_VERSION + 1)
        for decision, main in (("theirs", None), ("main", "Survey")):
            with pytest.raises(InputFileError, match=told):
                settle(register, decision, job="Survey", main=main)
    # What the message says to do.
    load(placed(file, "Survey", east=0.7, routes=("B",), remarks="placed again"), register)
    assert settle(register, job="Survey", decision="theirs").joints == waits
