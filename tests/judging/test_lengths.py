"""The line against the stations and the pipes laid, before any stretching."""

import numpy as np
import pytest
from laying import lines, log, pipe, place

STRAIGHT = pipe([0.0] * 29)
CURVE = pipe([2.0] * 44)


def notes(placement):
    return [note.text for note in placement.notes if note.code == "lengths-differ"]


def tie(station, point):
    return {"station": station, "easting": float(point[0]), "northing": float(point[1])}


def logged(points, **more):
    return log(points, station=np.char.mod("%.2f", 20.0 * np.arange(len(points))), **more)


def wanted(*ties, **centerline):
    return {
        "centerline": {"start_station": 0.0, "ties": list(ties), **centerline},
        "records": {"station_format": "decimal", "station_tolerance": 5.0},
    }


def test_lengths_that_agree_are_told_in_numbers_alone():
    placement = place(lines(A=STRAIGHT), logged(STRAIGHT, **{"laid length": "20.00"}), **wanted())
    assert notes(placement) == []
    (found,) = placement.counts["lengths"]
    assert found == {
        "route": "A", "start": "first joint", "end": "last joint", "joints": 31, "line": 600.0, "stations": 600.0,
        "laid": 600.0, "curve": 0.0,
    }  # fmt: skip


def test_a_sparse_curve_is_shorter_than_its_pipes_and_the_arcs_through_the_shots_mend_it():
    shots = CURVE[::5]
    chord = place(lines(A=shots), logged(CURVE), **wanted())
    # Each straight of 100 ft stands for an arc of 10 degrees: shorter by length times turn squared over 24.
    # The first and the last have a turn at one end alone, and half the curvature is taken for them.
    expected = (7 + 2 / 4) * 100 * np.radians(10.0) ** 2 / 24
    assert chord.counts["lengths"][0]["curve"] == pytest.approx(expected, rel=0.02)
    (told,) = notes(chord)
    assert 'with centerline.between = "curve", or add a tie at the end' in told
    assert notes(place(lines(A=shots), logged(CURVE), **wanted(between="curve"))) == []


def test_a_closure_that_ties_make_up_is_put_down_to_the_curve_between_shots():
    shots, ends = CURVE[::5], (tie(0.0, CURVE[0]), tie(900.0, CURVE[45]))
    placement = place(lines(A=shots), logged(CURVE), **wanted(*ends))
    (told,) = notes(placement)
    assert "centerline.ties (no. 1) to centerline.ties (no. 2): the line measures 89" in told
    assert "the stations count 900.00 ft; the ties spread the" in told
    assert 'place joints on it, with centerline.between = "curve"' in told
    closure = placement.counts["ties"][0]["closure"]
    (found,) = (one for one in placement.counts["lengths"] if one["start"].startswith("centerline.ties"))
    assert found["line"] - found["stations"] == pytest.approx(closure, abs=2e-3)


def test_a_closure_without_a_cause_asks_for_ties_between():
    ends = (tie(0.0, STRAIGHT[0]), tie(596.0, STRAIGHT[30]))
    (told,) = notes(place(lines(A=STRAIGHT), logged(STRAIGHT).iloc[:29], **wanted(*ends)))
    assert "the line measures 600.00 ft, and the stations count 596.00 ft" in told
    assert told.endswith("proves nothing: add ties between them, to see where it comes from")


def test_pipes_that_do_not_add_up_to_the_stations_are_told():
    # A little each, which no spacing shows, and much together.
    laid = ["19.80"] * 31
    (told,) = notes(place(lines(A=STRAIGHT), logged(STRAIGHT, **{"laid length": laid}), **wanted()))
    assert "the pipes laid add up to 594.00 ft, and the stations count 600.00 ft" in told


@pytest.mark.parametrize(("known", "told"), [(True, False), (False, True)])
def test_pipes_on_a_hill_are_longer_than_level_stations_by_the_climb(known, told):
    """30 pipes of 20 ft on a grade of 8 percent are 598.09 ft long in plan: no joint is missing from the log."""
    level = 20.0 / np.hypot(1.0, 0.08)
    points = STRAIGHT.copy()
    points[:, :2] = points[0, :2] + (points[:, :2] - points[0, :2]) * level / 20.0
    points[:, 2] += 0.08 * level * np.arange(len(points))
    named = log(points, station=np.char.mod("%.2f", level * np.arange(len(points))), **{"laid length": "20.00"})
    placement = place(lines(A=points if known else points[:, :2]), named, **wanted())
    assert bool(notes(placement)) == told
    # Pipes that are too short in all are told on the hill as well.
    short = named.assign(**{"laid length": "19.80"})
    assert "the pipes laid add up to 594.00 ft" in notes(place(lines(A=points), short, **wanted()))[0]
