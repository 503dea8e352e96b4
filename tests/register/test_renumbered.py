"""A job loaded again: other numbers, other stations, another route's name, dates in another order."""

import pytest
from registers import column, placed, uid

from asbuilt.register.loading import load
from asbuilt.register.settling import settle
from asbuilt.register.waiting import conflicts

JOINTS = 12
LOTS = {number: f"heat {4000 + 37 * number}" for number in range(JOINTS + 1)}


def job(folder, name, numbers=None, lots=None, joints=JOINTS, **more):
    """Place the log: joint numbers by row where they differ, and the heat number of the pipe in each row."""
    lots = {row: lot for row, lot in (lots or LOTS).items() if row < joints}
    return placed(folder / f"{name}.gpkg", joints=joints, heat=lots, joint=numbers or {}, **more)


def numbered(*names):
    return dict(enumerate(map(str, names)))


@pytest.fixture
def loaded(register, folder):
    load(job(folder, "first"), register)
    return register


def heats(register):
    """Give the heat number of each joint's standing record by its northing, in feet from the first."""
    import json

    rows = zip(*(column(register, "inspections", name) for name in ("joint_uid", "original", "state")), strict=True)
    said = {joint: json.loads(original)["heat"] for joint, original, state in rows if state == "standing"}
    at = zip(column(register, "joints", "joint_uid"), column(register, "joints", "northing"), strict=True)
    return {round(north - 2_000_000.0): said.get(joint) for joint, north in at}


BY_PLACE = {20 * number: LOTS[number] for number in range(JOINTS)}


@pytest.mark.parametrize("how", [{"north": 0.04}, {"station": {row: f"0+{20.0 * row:07.3f}" for row in range(5)}}],
                         ids=["surveyed again", "other decimals"])  # fmt: skip
def test_numbers_that_moved_in_a_log_whose_rows_are_alike_wait_though_its_stations_are_written_otherwise(
    register, folder, how
):
    """The number stayed one cell of each row, and the station none: twelve joints took their neighbours' histories."""
    logged = "0+{:05.2f}".format
    alike = dict.fromkeys(range(JOINTS), "heat 4000")
    first = job(folder, "alike", lots=alike, joints=5, station={row: logged(20.0 * row) for row in range(5)})
    load(first, register)
    off = {row: logged(20.0 * row + 0.04) for row in range(5)} if "north" in how else {}
    again = job(folder, "alike again", numbered(2, 3, 4, 5, 6), alike, 5, **({"station": off} | how))
    result = load(again, register)
    assert (result.joints["updated"], result.joints["left_out"]) == (0, 5)
    assert "stand where load 1 has joints of other numbers" in " ".join(result.notes)


@pytest.mark.parametrize(
    ("numbers", "waiting"),
    [
        (numbered(1, 2, 3, 4, *range(6, 14)), 8),  # one was put in before 5, at no place of its own here
        (numbered(*range(5, 17)), 12),
        (numbered(*range(12, 0, -1)), 12),
        (numbered(1, 2, 3, 5, 4, *range(6, 13)), 2),
    ],
    ids=["up by one", "up by four", "backwards", "exchanged"],
)
def test_joints_that_took_the_numbers_of_others_wait_and_keep_their_history(loaded, folder, numbers, waiting):
    again = job(folder, "again", numbers)
    before = heats(loaded)
    dry = load(again, loaded, dry_run=True)
    result = load(again, loaded)
    assert dry.notes == result.notes
    [note] = [one for one in result.notes if "of other numbers" in one]
    assert note.startswith(f"{waiting} joints of route A stand where load 1 has joints of other numbers")
    assert (result.joints["left_out"], result.joints["unchanged"]) == (waiting, JOINTS - waiting)
    assert heats(loaded) == before == BY_PLACE
    # By its remedy each place keeps its history and takes the new number.
    done = settle(loaded, "theirs", job="Quarry Lane")
    assert (done.joints, done.still) == (waiting, [])
    assert heats(loaded) == BY_PLACE
    names = dict(zip(column(loaded, "joints", "northing"), column(loaded, "joints", "joint"), strict=True))
    assert [name for _, name in sorted(names.items())] == [numbers[row] for row in range(JOINTS)]
    # It holds for what the job says later.
    longer = job(folder, "longer", numbers | {4: numbers[4]}, gauge={2: "no"})
    later = load(longer, loaded)
    assert (later.joints["updated"], later.joints["left_out"], later.conflicts) == (1, 0, [])


def test_what_was_put_between_under_the_number_of_another_waits_for_a_number_of_its_own(loaded, folder):
    """A joint at 0+75 was overlooked: the office gives it number 5, and all behind it one more."""
    rows = [*range(4), 12, *range(4, 12)]
    stations = {place: f"{number * 20 // 100}+{number * 20 % 100:02d}.00" for place, number in enumerate(rows)}
    lots = {place: LOTS[number] for place, number in enumerate(rows)}
    again = job(folder, "between", numbered(*range(1, 14)), lots, joints=13, station=stations | {4: "0+75.00"})
    result = load(again, loaded)
    [note] = [one for one in result.notes if "of other numbers" in one]
    assert "6 where 5 was" in note
    assert "5 put between" in note
    assert (result.joints["unchanged"] + result.joints["updated"], result.joints["left_out"]) == (4, 9)
    done = settle(loaded, "theirs", job="Quarry Lane")
    assert [one["joint"] for one in done.still] == ["5"]
    assert heats(loaded) == BY_PLACE
    own = job(folder, "own", numbered(1, 2, 3, 4, "4A", *range(5, 13)), lots, joints=13,
              station=stations | {4: "0+75.00"})  # fmt: skip
    assert load(own, loaded).joints["left_out"] == 0
    assert conflicts(loaded) == []
    assert heats(loaded) == BY_PLACE | {75: LOTS[12]}


def test_a_start_station_moved_by_a_pipe_is_a_correction_of_places(loaded, folder):
    result = load(job(folder, "start", north=20.0), loaded)
    [note] = [one for one in result.notes if "at other stations" in one]
    assert note.startswith("11 joints of route A stand now where load 1 has others (1 where 2 was")
    assert result.joints["left_out"] == 0
    assert heats(loaded) == {20 * number + 20: LOTS[number] for number in range(JOINTS)}


@pytest.mark.parametrize("moved", [3.0, 7.0, 31.0])
def test_a_joint_that_a_corrected_survey_moves_beside_no_other_is_corrected(loaded, folder, moved):
    result = load(job(folder, "survey", north=moved), loaded)
    assert (result.joints["updated"], result.joints["left_out"]) == (JOINTS, 0)
    assert not [one for one in result.notes if "other numbers" in one or "other stations" in one]
    assert heats(loaded) == {20 * number + moved: LOTS[number] for number in range(JOINTS)}


def test_new_numbers_that_none_had_are_told_and_keep_the_history(loaded, folder):
    again = job(folder, "anew", first=101)
    result = load(again, loaded)
    [note] = [one for one in result.notes if "other numbers" in one]
    assert "12 joints of route A have other numbers than in load 1 (101 where 1 was" in note
    assert heats(loaded) == BY_PLACE
    assert column(loaded, "joints", "joint_uid")[0] == uid("A", "1")
    assert not load(again, loaded).changed


def test_another_name_of_a_route_is_asked_about_once(loaded, folder):
    result = load(job(folder, "name", routes=("Elm",)), loaded)
    [note] = [one for one in result.notes if "another name" in one]
    assert note.startswith("12 of 12 joints of route Elm stand where an earlier load of this job has route A")
    assert heats(loaded) == BY_PLACE
    assert settle(loaded, "theirs", job="Quarry Lane", route="Elm").still == []
    assert set(column(loaded, "joints", "route")) == {"A"}


def test_dates_read_by_another_order_are_told(register, folder):
    days = {row: f"0{1 + row // 4}/0{4 + row % 4}/2019" for row in range(JOINTS)}
    by_month = {"tables": {"records": {"date_order": "mdy"}}, "date": days}
    load(job(folder, "by_month", **by_month), register)
    result = load(job(folder, "by_day", date=days, tables={"records": {"date_order": "dmy"}}), register)
    [note] = [one for one in result.notes if "month and day exchanged" in one]
    assert "A 1: 2019-01-04, now 2019-04-01" in note
    later = {row: f"0{1 + row // 4}/0{5 + row % 4}/2019" for row in range(JOINTS)}
    again = load(job(folder, "later", date=later, tables=by_month["tables"]), register)
    assert not [one for one in again.notes if "month and day exchanged" in one]


def twins(folder, name, first, second, **more):
    """Place two mains side by side, with the heat numbers of their joints."""
    heats = {row: f"heat {lot}" for row, lot in enumerate([*first, *second])}
    return placed(folder / f"{name}.gpkg", routes=("P", "Q"), joints=4, heat=heats, **more)


@pytest.mark.parametrize(
    ("now", "waiting"), [((range(20, 24), range(10, 14)), 8), (([20, 11, 12, 13], [10, 21, 22, 23]), 2)]
)
def test_route_names_exchanged_in_the_log_alone_are_asked_about(register, folder, now, waiting):
    load(twins(folder, "twins", range(10, 14), range(20, 24)), register)
    before = column(register, "inspections", "original")
    again = twins(folder, "again", *now, gauge={2: "no"})
    result = load(again, register)
    notes = [one for one in result.notes if "names of the routes exchanged" in one]
    assert [one.split(" (")[0] for one in notes] == [
        f"{waiting // 2} joint{'s' if waiting > 2 else ''} of route {route}" for route in "PQ"
    ]
    assert result.joints["left_out"] == waiting == len(conflicts(register))
    assert before == column(register, "inspections", "original")[: len(before)]
    done = settle(register, "theirs", job="Quarry Lane")
    assert (done.joints, done.still) == (waiting, [])
    assert not [one for one in load(again, register).notes if "exchanged" in one]  # It holds.


@pytest.mark.parametrize(
    "now",
    [([10, 11, 12, 13], [10, 11, 12, 13]), ([20, 21, 22, 23], [30, 31, 32, 33]), ([11, 10, 12, 13], range(20, 24))],
)
def test_a_correction_that_exchanges_nothing_between_routes_is_none(register, folder, now):
    load(twins(folder, "twins", range(10, 14), range(20, 24)), register)
    result = load(twins(folder, "again", *now), register)
    assert not [one for one in result.notes if "exchanged" in one]
    assert result.joints["left_out"] == 0
