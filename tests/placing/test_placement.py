"""Records onto routes: every record is placed or set aside, in the right place, with its reason."""

import json
import uuid

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from laying import EAST, NORTH, lines, log, pipe, place

from asbuilt.errors import InputFileError, JobFileError
from asbuilt.placing.naming import UID_NAMESPACE, joint_uids

STRAIGHT = pipe([0.0] * 9)
BESIDE = STRAIGHT + np.array([500.0, 0.0, 0.0])


def reasons(placement):
    return dict(zip(placement.set_aside["row"], placement.set_aside["reason"], strict=True))


def test_a_joint_lies_on_the_line_at_its_station():
    placement = place(lines(A=STRAIGHT), log(STRAIGHT))
    joints = placement.joints
    np.testing.assert_allclose(joints[["easting", "northing", "elevation"]], STRAIGHT, atol=1e-6)
    np.testing.assert_allclose(joints["distance"], np.arange(11) * 20.0, atol=1e-9)
    assert joints["station"].tolist()[:3] == ["0+00.00", "0+20.00", "0+40.00"]
    assert shapely.get_coordinates(joints.geometry.iloc[3], include_z=True)[0] == pytest.approx(STRAIGHT[3])


def test_the_offset_is_square_to_the_line_and_right_positive_looking_ahead():
    records = log(STRAIGHT, offset=["2.5", *[""] * 10])
    assert place(lines(A=STRAIGHT), records).joints["easting"].iloc[0] == pytest.approx(EAST + 2.5)
    east = STRAIGHT[:, [1, 0, 2]] - (NORTH - EAST, EAST - NORTH, 0)
    assert place(lines(A=east), records).joints["northing"].iloc[0] == pytest.approx(NORTH - 2.5)


@pytest.mark.parametrize(
    ("unit", "length", "metres"), [("us-ft", 100.0, 100 * 1200 / 3937), ("ft", 100.0, 30.48), ("m", 30.0, 30.0)]
)
def test_stations_in_any_unit_land_at_their_distance_in_the_coordinates_unit(unit, length, metres):
    records = pd.DataFrame({"joint": ["1"], "station": [f"{length}"]})
    placement = place(lines(A=STRAIGHT), records, records={"station_unit": unit, "size_unit": "in"})
    assert placement.joints["distance"].iloc[0] == pytest.approx(metres * 3937 / 1200, abs=1e-9)


def test_ground_stations_are_scaled_to_the_grid():
    placement = place(lines(A=STRAIGHT), log(STRAIGHT).iloc[:9], centerline={"combined_factor": 0.9999})
    assert placement.joints["distance"].iloc[5] == pytest.approx(100 * 0.9999)


def test_slope_stationing_runs_along_the_pipe():
    steep = pipe([0.0] * 9, up=0.75)
    records = pd.DataFrame({"joint": ["1"], "station": ["1+25"]})
    placement = place(lines(A=steep), records, records={"stationing": "slope"})
    assert placement.joints["distance"].iloc[0] == pytest.approx(100.0)
    assert placement.joints["elevation"].iloc[0] == pytest.approx(50.0 + 75.0)


def test_slope_stationing_without_elevations_is_refused():
    with pytest.raises(JobFileError, match=r'records.stationing = "slope": route .A. has no elevation on a part of it'):
        place(lines(A=STRAIGHT[:, :2]), log(STRAIGHT), records={"stationing": "slope"})


def test_wrong_rows_are_set_aside_each_with_its_reason():
    records = log(STRAIGHT, route="A")
    records.loc[1, "station"] = "about 0+20"
    records.loc[2, "station"] = ""
    records.loc[3, "station"] = "9+99"
    records.loc[4, "route"] = "Z"
    records.loc[5, "route"] = ""
    placement = place(lines(A=STRAIGHT, B=BESIDE), records)
    assert reasons(placement) == {
        2: "station-unreadable", 3: "station-missing", 4: "station-off-route", 5: "route-unknown", 6: "route-unknown"
    }  # fmt: skip
    messages = placement.set_aside["message"].tolist()
    assert "write it like 12+34.56" in messages[0]
    assert "runs 0+00.00 to 2+00.00" in messages[2]
    assert "there is no route 'Z'; the routes are A, B; correct the route" in messages[3]
    assert placement.counts["records_read"] == placement.counts["inspections_placed"] + 5


def test_a_station_beyond_straights_that_are_shorter_than_the_pipe_is_told_with_what_makes_them_longer():
    """61 joints turning 2 degrees, 20 ft apart, shot at every tenth: a chord of ten is 20 sin(10 deg) / sin(1 deg)."""
    joints = pipe(np.full(59, 2.0))
    records = log(joints)
    records["station"] = [f"{int(at // 100)}+{at % 100:05.2f}" for at in 20.0 * np.arange(61)]
    sparse = lines(A=joints[::10])
    placement = place(sparse, records)
    (message,) = placement.set_aside["message"]
    chords = 6 * 20.0 * np.sin(np.radians(10.0)) / np.sin(np.radians(1.0))
    assert f"it lies {1200.0 - chords:.2f} ft beyond the end" in message
    assert 'centerline.between = "curve"' in message
    for word in ("(centerline.ties)", "(records.station_tolerance)", "if this is not so, correct the station"):
        assert word in message
    # Each of the three does what the message says of it.
    tie = {"route": "A", "station": "12+00", "easting": joints[-1, 0], "northing": joints[-1, 1]}
    start = tie | {"station": "0+00", "easting": EAST, "northing": NORTH}
    curved = {"centerline": {"between": "curve"}, "records": {"station_tolerance": 2.0}}
    for more in (curved, {"centerline": {"ties": [start, tie]}}, {"records": {"station_tolerance": 7.0}}):
        assert len(place(sparse, records, **more).set_aside) == 0, more


def test_a_station_beyond_a_line_that_is_as_long_as_its_pipes_is_to_be_corrected():
    joints = pipe(np.full(59, 2.0))
    records = log(joints)
    records.loc[60, "station"] = "12+03.00"
    (message,) = place(lines(A=joints), records).set_aside["message"]
    assert "beyond the end" not in message
    assert "correct the station, or the route's start station" in message


def test_route_names_are_exact_and_one_that_is_nearly_right_is_suggested():
    records = pd.concat([log(STRAIGHT, route="Mill Race"), log(STRAIGHT, route="MILL-RACE").iloc[:2]])
    placement = place(lines(**{"Mill Race": STRAIGHT, "B": BESIDE}), records)
    assert len(placement.joints) == 11
    asked = "there is no route 'MILL-RACE'; did you mean 'Mill Race'? Route names must match exactly"
    assert placement.set_aside["message"].tolist() == [f"{asked}; correct the route, or have its line surveyed"] * 2


def test_routes_whose_names_differ_by_case_alone_keep_their_own_records():
    records = pd.concat([log(STRAIGHT, route="A"), log(STRAIGHT, route="a").iloc[:4]])
    joints = place(lines(A=STRAIGHT, a=BESIDE), records).joints
    assert joints["route"].value_counts().to_dict() == {"A": 11, "a": 4}
    assert joints["joint_uid"].is_unique


def test_a_log_without_a_route_column_needs_one_where_there_are_several_routes():
    with pytest.raises(JobFileError, match=r"records\.columns\.route: the centerline has several routes \(A, B\)"):
        place(lines(A=STRAIGHT, B=BESIDE), log(STRAIGHT))
    fixed = {"fixed": {"route": "B"}}
    placement = place(lines(A=STRAIGHT, B=BESIDE), log(STRAIGHT), records=fixed)
    assert set(placement.joints["route"]) == {"B"}


GAP = {"equations": [{"route": "A", "back": "0+50", "ahead": "2+00"}]}
REPEAT = {"equations": [{"route": "A", "back": "1+20", "ahead": "0+60"}]}


def test_a_station_in_a_gap_is_set_aside():
    records = pd.DataFrame({"joint": ["1", "2", "3"], "station": ["0+40", "1+00", "2+10"]})
    placement = place(lines(A=STRAIGHT), records, centerline=GAP)
    assert reasons(placement) == {2: "station-in-gap"}
    assert placement.joints["distance"].tolist() == pytest.approx([40.0, 60.0])


def test_a_repeated_station_says_back_or_ahead_or_its_equation():
    records = pd.DataFrame({"joint": list("abc"), "station": ["1+00 BK", "1+00 AH", "1+10 AH EQ 1"]})
    placement = place(lines(A=STRAIGHT), records, centerline=REPEAT)
    assert placement.joints["distance"].tolist() == pytest.approx([100.0, 160.0, 170.0])
    assert placement.joints["station"].tolist() == ["1+00.00 BK", "1+00.00 AH", "1+10.00 AH"]
    assert placement.inspections["station_settled_by"].tolist() == ["back/ahead", "back/ahead", "equation"]


def test_the_joint_sequence_settles_a_repeated_station_where_only_one_order_is_possible():
    distance = np.arange(0, 200, 20.0)
    stations = [
        f"0+{d:02.0f}" if d < 100 else f"1+{d - 100:02.0f}" for d in np.where(distance > 120, distance - 60, distance)
    ]
    records = pd.DataFrame({"joint": [str(n) for n in range(1, 11)], "station": stations})
    placement = place(lines(A=STRAIGHT), records, centerline=REPEAT)
    assert placement.joints["distance"].tolist() == pytest.approx(distance.tolist())
    assert (placement.inspections["station_settled_by"] == "joint sequence").sum() >= 4


def test_a_repeated_station_that_nothing_settles_is_set_aside_with_both_places():
    records = pd.DataFrame({"joint": ["1", "2", "3"], "station": ["0+20", "1+00", "1+35"]})
    placement = place(lines(A=STRAIGHT), records, centerline=REPEAT)
    assert reasons(placement) == {2: "station-ambiguous"}
    assert "100.00 ft and 160.00 ft from its start; add BK or AH" in placement.set_aside["message"][0]


def test_two_records_of_one_joint_are_one_joint_and_the_later_one_counts():
    records = log(STRAIGHT)
    again = records.iloc[[4]].assign(date="2026-04-09", gauge="fail")
    placement = place(lines(A=STRAIGHT), pd.concat([again, records]))
    assert len(placement.joints) == 11
    assert len(placement.inspections) == 12
    assert placement.joints["inspection"].tolist()[4] == "failed"
    assert placement.inspections["joint_uid"].value_counts().max() == 2


def test_one_number_at_two_places_is_two_joints():
    records = log(STRAIGHT)
    records.loc[7, "joint"] = "3"
    placement = place(lines(A=STRAIGHT), records)
    assert len(placement.joints) == 11
    assert placement.joints["joint"].tolist()[7] == "3 at 1+40.00"
    assert placement.joints["joint_uid"].is_unique


def test_a_joint_without_a_number_goes_by_its_station():
    records = log(STRAIGHT)
    records.loc[2, "joint"] = ""
    assert place(lines(A=STRAIGHT), records).joints["joint"].tolist()[2] == "at 0+40.00"


def test_no_record_placed_is_an_error_that_says_why():
    with pytest.raises(InputFileError, match=r"none of the 11 records could be placed \(11 station-off-route\)"):
        place(lines(A=STRAIGHT), log(STRAIGHT, start=9000.0))


def test_a_line_run_against_its_stations_is_noticed():
    # The first vertex was given the station of the other end, so nearly all stations lie before it.
    records = pd.concat([log(STRAIGHT, start=1000.0), pd.DataFrame({"joint": ["99"], "station": ["13+00"]})])
    placement = place(lines(A=STRAIGHT), records, centerline={"start_station": "12+00"})
    assert any(
        "name it in centerline.reversed and give its start station as 1000.00" in note.text for note in placement.notes
    )


@pytest.mark.parametrize(
    ("unit", "length", "factor"),
    [("us-ft", 20.0, 0.3048), ("us-ft", 6.096, 0.3048), ("m", 6.096, 1.0), ("m", 20.0, 1.0)],
    ids=["metres read as feet", "with the laying length", "feet read as metres", "with the laying length"],
)
def test_stations_in_another_unit_are_noticed(unit, length, factor):
    """The line is in feet, with joints every 20: 1 ft is 0.3048 m by the definition of the international foot."""
    at = np.arange(11) * 20.0 * factor
    records = log(STRAIGHT)
    records["station"] = [f"{value:.2f}" for value in at]
    notes = place(
        lines(A=STRAIGHT), records, records={"station_unit": unit, "laying_length": length, "size_unit": "in"}
    ).notes
    told = [note.text for note in notes if "see records.station_unit" in note.text]
    assert len(told) == 1
    assert f"as if they were written in {'m' if unit == 'us-ft' else 'ft'}" in told[0]


def test_stations_of_a_log_that_covers_a_part_of_its_route_are_not_taken_for_metres():
    placement = place(lines(A=pipe(np.zeros(35))), log(pipe(np.zeros(35))[:12]))
    assert not any("station_unit" in note.text for note in placement.notes)


def test_a_start_station_that_nobody_states_is_told():
    stated = place(lines(A=STRAIGHT), log(STRAIGHT), centerline={"start_station": "0+00"})
    silent = place(lines(A=STRAIGHT), log(STRAIGHT))
    assert [any("states no start station" in note.text for note in one.notes) for one in (stated, silent)] == [
        False,
        True,
    ]


@given(st.lists(st.tuples(st.text(max_size=12), st.text(max_size=12)), min_size=1, max_size=50))
def test_uids_are_the_version_5_uuids_of_the_standard_library(pairs):
    # Python's uuid module is the independent reference (RFC 9562, section 5.5).
    pairs = [(a.encode("utf-8", "ignore").decode(), b.encode("utf-8", "ignore").decode()) for a, b in pairs]
    found = joint_uids(pa.array([a for a, _ in pairs]), pa.array([b for _, b in pairs])).to_pylist()
    # A tab parts the two names; a pair with a tab of its own is written as JSON, and meets no other pair.
    names = [json.dumps([a, b]) if "\t" in a + b else f"{a}\t{b}" for a, b in pairs]
    assert found == [str(uuid.uuid5(UID_NAMESPACE, name)) for name in names]
    assert len(set(found)) == len(set(pairs))


def test_no_two_joints_are_one_joint_to_a_register():
    # A joint that already bears the name which a repeated number would get, and names that part only by a tab.
    records = pd.DataFrame(
        {"joint": ["1", "1", "1 at 0+20.00", "1\t2", "1 2"], "station": ["0+00", "0+20", "0+40", "0+60", "0+80"]}
    )
    joints = place(lines(A=STRAIGHT), records).joints
    assert joints["joint"].tolist() == ["1", "1 at 0+20.00 (2)", "1 at 0+20.00", "1\t2", "1 2"]
    assert joints["joint_uid"].is_unique
    both = joint_uids(pa.array(["A", "A\tB"]), pa.array(["B\tC", "C"])).to_pylist()
    assert both[0] != both[1]


cells = st.one_of(
    st.sampled_from(["0+20", "0+40", "1+00", "1+99.5", "9+00", "", "x", "0+60 BK", "1+10 AH", "1+00 AH EQ 1", "-0+10"]),
    st.text(max_size=8),
)


@given(
    st.lists(st.tuples(cells, st.sampled_from(["A", "B", "a", "", "Z"]), st.text(max_size=4)), min_size=1, max_size=40)
)
def test_every_record_is_placed_or_set_aside_whatever_the_log_holds(rows):
    records = pd.DataFrame(rows, columns=["station", "route", "joint"])
    line = lines(A=STRAIGHT, B=BESIDE)
    equation = {"equations": [{"route": "A", "back": "1+20", "ahead": "0+60"}]}
    try:
        placement = place(line, records, centerline=equation, records={"station_format": "hundreds"})
    except InputFileError as none_placed:
        assert f"none of the {len(rows)} records could be placed" in str(none_placed)  # noqa: PT017 - either may be
        return
    counts = placement.counts
    assert counts["records_read"] == len(rows)
    assert counts["records_read"] == counts["inspections_placed"] + counts["records_set_aside"]
    assert len(placement.inspections) == counts["inspections_placed"]
    assert len(placement.set_aside) == counts["records_set_aside"]
    together = [*placement.inspections["record"], *placement.set_aside["record"]]
    assert sorted(together) == list(range(1, counts["records_read"] + 1))
    assert set(placement.inspections["joint_uid"]) == set(placement.joints["joint_uid"])


def test_an_undated_record_counts_after_the_one_before_it():
    records = log(STRAIGHT)
    again = records.iloc[[4]].assign(date="??", gauge="fail")
    joints = place(lines(A=STRAIGHT), pd.concat([records, again])).joints
    assert joints["inspection"].tolist()[4] == "failed"


@pytest.mark.parametrize(("cell", "offset"), [("2.5 ft", 2.5), ("2.5'", 2.5), ("12 in", None), ("12,5", None)])
def test_an_offset_in_another_unit_is_unreadable_not_taken_for_feet(cell, offset):
    placement = place(lines(A=STRAIGHT), log(STRAIGHT, offset=[cell, *[""] * 10]))
    # A record whose offset cannot be read is set aside: it would lie on the line as if it had none.
    assert placement.set_aside["reason"].tolist() == (["offset-unreadable"] if offset is None else [])
    if offset is not None:
        assert placement.joints["easting"].iloc[0] == pytest.approx(EAST + offset)


def test_slope_stations_in_a_riser_have_places_of_their_own():
    foot = (EAST, NORTH + 100, 50.0)
    riser = np.array([(EAST, NORTH, 50.0), foot, (EAST, NORTH + 100, 70.0), (EAST, NORTH + 200, 70.0)])
    records = pd.DataFrame({"joint": ["1", "2", "3"], "station": ["1+05", "1+15", "1+30"]})
    joints = place(lines(A=riser), records, records={"stationing": "slope"}).joints
    assert joints["elevation"].tolist() == pytest.approx([55.0, 65.0, 70.0])
    assert joints["distance"].tolist() == pytest.approx([100.0, 100.0, 110.0])


def test_a_route_whose_stations_all_run_off_says_how_to_turn_its_line_round():
    with pytest.raises(InputFileError, match=r"name it in centerline\.reversed and give its start station as 1000\.00"):
        place(lines(A=STRAIGHT), log(STRAIGHT, start=1000.0).iloc[:-1], centerline={"start_station": "12+00"})


def test_logs_that_write_stations_in_different_ways_are_refused(tmp_path):
    (tmp_path / "one.csv").write_text("joint,station\n1,0+20\n")
    (tmp_path / "two.csv").write_text("joint,station\n2,0+040\n")
    paths = [str(tmp_path / "one.csv"), str(tmp_path / "two.csv")]
    with pytest.raises(
        InputFileError, match=r"two\.csv: stations are written as thousands, but in .*one\.csv as hundreds"
    ):
        place(lines(A=STRAIGHT), None, records={"path": paths})


def test_a_second_place_is_named_alike_however_the_log_writes_its_station():
    plain, spelled = log(STRAIGHT), log(STRAIGHT)
    plain.loc[7, "joint"] = spelled.loc[7, "joint"] = "3"
    spelled["station"] = "STA " + spelled["station"]
    uids = [place(lines(A=STRAIGHT), records).joints["joint_uid"].tolist() for records in (plain, spelled)]
    assert uids[0] == uids[1]


def test_joint_numbers_of_mixed_kinds_in_a_frame_are_taken_as_text():
    records = log(STRAIGHT).astype({"joint": object})
    records["joint"] = pd.Series([1, "2A", 3.0, *range(4, 12)], dtype=object)
    assert place(lines(A=STRAIGHT), records).joints["joint"].tolist()[:2] == ["1", "2A"]


@pytest.mark.parametrize(("written", "right"), [("3.2 LT", -3.2), ("RT 3.0", 3.0), ("2.5' right", 2.5), ("-1", -1.0)])
def test_an_offset_may_name_its_side(written, right):
    placement = place(lines(A=STRAIGHT), log(STRAIGHT, offset=[written, *[""] * 10]))
    assert placement.joints["easting"].iloc[0] == pytest.approx(EAST + right)
    assert placement.inspections["offset"].iloc[0] == right


def test_a_record_whose_offset_cannot_be_read_is_set_aside():
    placement = place(lines(A=STRAIGHT), log(STRAIGHT, offset=["", "3.2 up", *[""] * 9]))
    assert reasons(placement) == {2: "offset-unreadable"}
    assert "3.2 LT" in placement.set_aside["message"].iloc[0]
