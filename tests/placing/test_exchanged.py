"""Logs of equally long mains that stand on one another's lines: told as that, and not as shots astray."""

import numpy as np
import pandas as pd
import pytest
from bent_mains import JOINTS, STATED, TWO, main, placed
from laying import lines, place

from asbuilt.placing import exchanged


def said(placement):
    return [note.text for note in placement.notes if note.code == "line-of-another"]


def lost(placement, routes):
    """Check that nothing is claimed of routes but that their joints stand elsewhere."""
    joints = placement.joints.query("route in @routes")
    assert set(joints["verdict"]) <= {"cannot-tell", "not-computed"}
    assert joints["accuracy_horizontal"].isna().all()
    assert set(placement.findings.query("route in @routes")["code"]) <= {"routes-exchanged", "deflection-unclear"}
    found = placement.findings.query("code == 'routes-exchanged'")
    assert sorted(found["route"]) == sorted(routes)
    unclear = placement.findings.query("code == 'deflection-unclear' and route in @routes")["message"]
    assert all("look at what is said of the whole line first" in one for one in unclear)


THREE = TWO | {"C": main(3, (14, 40, 62))}


def test_two_routes_exchanged_are_told_in_one_note_and_nothing_else_of_them_is():
    placement = placed(TWO, {"A": "B", "B": "A"})
    (note,) = said(placement)
    assert note.startswith(
        "routes A and B seem to be exchanged: of 2 bends of 20 deg and more in the log of A, 2 lie at corners of the "
        "line of B that turn so (the first at 4+40.00), and none lies at one of its own line; of 2 bends"
    )
    lost(placement, ["A", "B"])
    honest = placed(TWO)
    assert said(honest) == []
    assert honest.joints["accuracy_horizontal"].notna().all()
    assert not set(honest.findings["code"]) & {"routes-exchanged", "bend-off-corner", "shot-astray"}


@pytest.mark.parametrize("named", [{"A": "B", "B": "C", "C": "A"}, {"A": "C", "B": "A", "C": "B"}])
def test_three_routes_exchanged_in_a_ring_are_told_in_one_note(named):
    placement = placed(THREE, named)
    (note,) = said(placement)
    assert note.startswith("routes A, B and C seem to be exchanged: ")
    lost(placement, ["A", "B", "C"])


def test_of_three_routes_the_one_that_is_right_keeps_what_is_said_of_it():
    placement = placed(THREE, {"A": "B", "B": "A", "C": "C"})
    assert said(placement)[0].startswith("routes A and B seem to be exchanged: ")
    lost(placement, ["A", "B"])
    honest = placed(THREE)
    verdicts = (one.joints.query("route == 'C'")["verdict"].tolist() for one in (placement, honest))
    assert next(verdicts) == next(verdicts)


def test_a_straight_main_exchanged_with_one_that_has_bends_is_told():
    mains = {"A": TWO["A"], "B": main(5, ())}
    placement = placed(mains, {"A": "B", "B": "A"})
    (note,) = said(placement)
    assert "the log of B has no such bend, and the line of A no such corner" in note
    lost(placement, ["A", "B"])
    assert said(placed(mains)) == []


def test_mains_of_other_lengths_exchanged_are_told_once_and_not_as_lines_that_are_short():
    mains = {"A": TWO["A"], "B": main(2, (30, 42), joints=60)}
    placement = placed(mains, {"A": "B", "B": "A"})
    assert said(placement)[0].startswith("routes A and B seem to be exchanged: ")
    assert not [note for note in placement.notes if note.code == "line-short"]
    lost(placement, ["A", "B"])


def test_stations_of_each_line_go_on_from_another_start():
    starts = {"A": "0+00", "B": "50+00"}
    points, records = TWO["B"]
    ahead = [f"{int(one.split('+')[0]) + 50}+{one.split('+')[1]}" for one in records["station"]]
    mains = {"A": TWO["A"], "B": (points, records.assign(station=ahead))}
    # The names of the lines are exchanged, and the stations of each log are still those of its own name.
    placement = place(
        lines(A=points[::2], B=TWO["A"][0][::2]),
        pd.concat([one.assign(route=name) for name, (_, one) in mains.items()], ignore_index=True),
        centerline=STATED | {"start_station": starts},
    )
    assert said(placement)[0].startswith("routes A and B seem to be exchanged: ")


@pytest.mark.parametrize("every", [1, 2])
@pytest.mark.parametrize("apart", [1, 2])
@pytest.mark.parametrize("bends", [(24,), (24, 51), (13, 31, 52)])
def test_mains_with_the_same_bends_a_pipe_or_two_apart_are_told_as_exchanged(every, apart, bends):
    """Each start station would be wrong by as much; joints were blamed that turn as bends do."""
    mains = {"A": main(1, bends), "B": main(2, tuple(at + apart for at in bends))}
    placement = placed(mains, {"A": "B", "B": "A"}, every=every)
    (note,) = said(placement)
    assert note.startswith("routes A and B seem to be exchanged: ")
    lost(placement, ["A", "B"])
    honest = placed(mains, every=every)
    assert said(honest) == []
    assert not set(honest.findings["code"]) & {"routes-exchanged", "bend-off-corner"}


@pytest.mark.parametrize("every", [1, 2])
def test_a_start_station_that_is_off_by_a_pipe_is_told_where_every_other_joint_was_shot(every):
    placement = placed({"A": TWO["B"]}, every=every, centerline=STATED | {"start_station": 20.0})
    told = placement.findings.query("code == 'bend-off-corner'")["message"]
    assert len(told)
    assert told.str.contains("off alike, as every joint of the route is|all joints of the route stand 20.00 ft").all()
    assert set(placement.joints["verdict"]) <= {"cannot-tell", "not-computed"}


def test_the_log_of_another_route_written_over_again_is_told_of_that_one_alone():
    three = {"A": main(1, (14, 33, 48)), "B": main(2, (24, 40, 56))}
    placement = placed(three | {"B": (three["B"][0], three["A"][1])})
    (note,) = said(placement)
    assert note.startswith("route B seems to have a log of the line of A, as A has, too: of 3 bends of 20 deg")
    lost(placement, ["B"])


def test_a_log_of_another_main_on_the_only_line_blames_no_shot_and_no_pipe():
    placement = placed({"A": (TWO["B"][0], TWO["A"][1])})
    codes = placement.findings["code"].value_counts()
    assert codes["bend-off-corner"] == 1
    assert set(codes.index) == {"bend-off-corner", "deflection-unclear"}
    assert set(placement.joints["verdict"]) <= {"cannot-tell", "not-computed"}
    assert placement.joints["accuracy_horizontal"].isna().all()


def test_mains_side_by_side_with_the_same_bends_are_no_exchange():
    mains = {"A": main(1, (22, 48)), "B": main(2, (22, 48))}
    assert said(placed(mains)) == []
    assert said(placed(mains, {"A": "B", "B": "A"})) == []


@pytest.mark.parametrize("seed", range(10, 22))
def test_of_mains_with_bends_missing_from_the_log_or_logged_beside_their_corners_nothing_is_told(seed):
    chance = np.random.default_rng(seed)
    mains = {}
    for number, name in enumerate("ABC"):
        bends = tuple(np.sort(chance.choice(np.arange(5, JOINTS - 5, 4), 3, replace=False)).tolist())
        points, records = main(seed + number, bends)
        beside = bends[1:] if seed % 2 else bends
        stations = records["station"].to_numpy().copy()
        for at in beside:
            along = float(stations[at].replace("+", "")) + chance.uniform(-4.0, 4.0)
            stations[at] = f"{int(along // 100)}+{along % 100:05.2f}"
        gone = np.arange(JOINTS) == bends[0] if seed % 2 else np.zeros(JOINTS, dtype=bool)
        kinds = {name: records[name].where(~gone, plain) for name, plain in (("kind", "pipe"), ("bend angle", ""))}
        mains[name] = points, records.assign(station=stations, **kinds)
    placement = placed(mains)
    assert said(placement) == []
    assert not set(placement.findings["code"]) & {"routes-exchanged", "bend-off-corner", "shot-astray"}


def test_of_many_mains_that_all_turn_alike_rings_are_found_without_trying_all(monkeypatch):
    tried, keep = [], exchanged._keep
    monkeypatch.setattr(exchanged, "_keep", lambda found, ring: tried.append(keep(found, ring)))
    counts = []
    for mains in (40, 80):
        tried.clear()
        links = {
            one: [exchanged._Link(to, 3, 3, 0, 0, 0.001, True) for to in range(mains) if to != one]
            for one in range(mains)
        }
        rings = exchanged._rings(links, {}, mains)
        # Each fits all others: nearly all are told, as one of a ring.
        assert sum(len(ring.routes) for ring in rings) >= mains - 1
        counts.append(len(tried))
    # By trying all of four they would be sixteen times as many.
    assert counts[1] <= 2.5 * counts[0]
