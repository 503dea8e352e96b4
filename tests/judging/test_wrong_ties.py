"""Ties that are wrong, planted in mains whose joints are known: told by shots, by laid lengths, by the other ties."""

import numpy as np
import pytest
from laying import codes, lines, log, pipe, place

AT = [20, 50, 80, 110]
"""Joints that are ties."""
JOINTS = 140


def main(seed, wrong, *, at=AT, cuts=0, every=1, beside=0.0, laid=False, error=0.05, taped=0.0):
    """Lay a main with ties at some of its joints, the station of one of them wrong: `wrong` is which, and feet.

    Stations are `taped` so many feet long up to its second tie, and as much short from there to the third one.

    Gives the placement, how far off its joints are, and whether they lie between the ties beside that one.
    """
    chance = np.random.default_rng(seed)
    turns = np.cumsum(chance.normal(0.0, 0.3, JOINTS - 2)).clip(-2.0, 2.0)
    length = np.full(JOINTS - 1, 20.0)
    length[chance.choice(JOINTS - 1, cuts, replace=False)] = np.round(chance.uniform(5.0, 17.0, cuts), 2)
    unit = np.diff(pipe(turns), axis=0) / 20.0
    points = pipe(turns)[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(length[:, None] * unit, axis=0)])
    along = np.concatenate([[0.0], np.cumsum(length)])
    joint = np.arange(JOINTS)
    taken = np.unique(np.concatenate([[0.0], np.arange(beside, JOINTS - 1, every), [JOINTS - 1.0]]))
    shots = np.stack([np.interp(taken, joint, axis) for axis in points.T], axis=1)
    shots += chance.normal(0.0, 0.02, shots.shape)
    counted = along + np.interp(joint, at[:3], [0.0, taped, 0.0])
    logged = (counted + chance.normal(0.0, error, JOINTS)).clip(0.0)
    logged[[0, -1]] = along[[0, -1]]
    records = log(points, station=[f"{one:.2f}" for one in logged])
    if laid:
        records["laid length"] = [f"{one:.2f}" for one in [*length, 20.0]]
    which, feet = wrong
    stations = counted[at] + np.where(np.arange(len(at)) == which, feet, 0.0)
    ties = [
        {"route": "A", "station": round(float(one), 2), "easting": float(east), "northing": float(north)}
        for one, (east, north) in zip(stations, points[at, :2] + chance.normal(0.0, 0.02, (len(at), 2)), strict=True)
    ]
    placed = place(
        lines(A=shots), records, centerline={"ties": ties, "sigma_horizontal": 0.02, "sigma_vertical": 0.02,
                                             "shots_at_joints": beside == 0.0, "max_closure_ppm": 50_000},
        records={"station_format": "decimal", "spacing_tolerance": 30.0, "sigma_station": error},
    )  # fmt: skip
    number = placed.joints["joint"].astype(int).to_numpy() - 1
    off = np.hypot(*(placed.joints[["easting", "northing"]].to_numpy() - points[number, :2]).T)
    around = [0, *at, JOINTS - 1]
    return placed, off, (number > around[which]) & (number < around[which + 2])


def told(placed):
    return placed.findings.query("code == 'joints-off-shots'")["message"].tolist()


@pytest.mark.parametrize("feet", [2.0, -5.0, 15.0])
@pytest.mark.parametrize("which", [0, 1, 3])
def test_a_wrong_tie_is_told_where_joints_were_shot_and_joints_beside_it_are_no_surer_than_it_is(which, feet):
    placed, off, between = main(1, (which, feet))
    (message,) = told(placed)
    assert message.startswith(f"centerline.ties (no. {which + 1}) of route 'A' lies {abs(feet):.0f}."[:-2])
    # What it should be is what it was: at joint 21, 51 or 111 of pipes of 20 ft.
    said = float(message.split("its station would be ")[1].split(";")[0].replace("+", ""))
    assert said == pytest.approx(20.0 * AT[which], abs=0.2)
    accuracy = placed.joints["accuracy_horizontal"].to_numpy()
    assert off.max() > 0.8 * abs(feet)
    assert (off <= accuracy + 0.2).all()
    assert (accuracy[between] > abs(feet) - 0.2).all()
    assert accuracy[between].min() > np.median(accuracy[~between]) + abs(feet) - 0.3
    assert set(placed.joints["verdict"][between][1:-1]) <= {"cannot-tell", "not-computed"}
    assert "within" in set(placed.joints["verdict"][~between])


@pytest.mark.parametrize("which", [1, 2])
@pytest.mark.parametrize(("laid", "cuts"), [(True, 12), (False, 0)])
def test_the_pipes_laid_tell_it_where_no_joint_was_shot(which, laid, cuts):
    placed, _, between = main(2, (which, 6.0), every=2.6, beside=0.5, laid=laid, cuts=cuts)
    (message,) = told(placed)
    assert message.startswith(f"centerline.ties (no. {which + 1}) of route 'A' lies ")
    assert "while the pipes laid go with the stations" in message
    assert (placed.joints["accuracy_horizontal"].to_numpy()[between] > 5.5).all()


def test_other_ties_tell_it_where_nothing_else_does():
    at = [15, 40, 65, 90, 115]
    placed, _, _ = main(3, (2, 6.0), at=at, every=2.6, beside=0.5, cuts=30)
    (message,) = told(placed)
    assert message.startswith("centerline.ties (no. 3) of route 'A' lies ")
    assert "unless it is the stations that run off there, and back again" in message
    # Of three ties the lengths beside the middle one are all there are: what the stations do elsewhere is not known.
    assert not told(main(3, (1, 6.0), at=[30, 65, 100], every=2.6, beside=0.5, cuts=30)[0])


def test_two_wrong_ties_of_six_are_both_told():
    at = [15, 38, 61, 84, 107, 130]
    placed, _, _ = main(4, (1, 8.0), at=at)
    assert len(told(placed)) == 1
    chance = np.random.default_rng(4)
    points = pipe(chance.normal(0.0, 0.5, JOINTS - 2))
    ties = [
        {"route": "A", "station": 20.0 * one + {38: 8.0, 107: -5.0}.get(one, 0.0), "easting": float(points[one, 0]),
         "northing": float(points[one, 1])}
        for one in at
    ]  # fmt: skip
    both = place(
        lines(A=points), log(points), centerline={"ties": ties, "max_closure_ppm": 50_000},
        records={"spacing_tolerance": 30.0},
    )  # fmt: skip
    assert [one[: one.index(")") + 1] for one in sorted(told(both))] == [
        "centerline.ties (no. 2)",
        "centerline.ties (no. 5)",
    ]


@pytest.mark.parametrize("seed", range(6))
def test_sound_ties_are_not_doubted_whatever_the_stations_suffer_from(seed):
    for more in ({}, {"every": 3}, {"every": 2.6, "beside": 0.5, "laid": True, "cuts": 9}, {"error": 0.4, "cuts": 5}):
        placed, _, _ = main(seed, (0, 0.0), **more)
        assert not told(placed), more


def test_stations_that_slip_between_ties_are_not_laid_at_a_tie():
    # From joint 60 on stations run 4 ft ahead up to joint 81, which is a tie; the joints between are off their shots.
    points = pipe(np.zeros(JOINTS - 2))
    along = 20.0 * np.arange(JOINTS)
    slipped = along + np.where((np.arange(JOINTS) >= 59) & (np.arange(JOINTS) < 80), 4.0, 0.0)
    ties = [{"route": "A", "station": float(along[one]), "easting": float(points[one, 0]),
             "northing": float(points[one, 1])} for one in AT]  # fmt: skip
    placed = place(lines(A=points), log(points, station=[f"{one:.2f}" for one in slipped]), centerline={"ties": ties},
                   records={"station_format": "decimal"})  # fmt: skip
    assert not any("centerline.ties" in one for one in told(placed))
    assert "spacing-short" in codes(placed)


@pytest.mark.parametrize("more", [{}, {"every": 2.6, "beside": 0.5, "laid": True, "cuts": 9}])
def test_stations_that_were_taped_long_and_then_short_are_no_wrong_tie(more):
    for feet in (2.0, -4.0):
        placed, _, _ = main(5, (0, 0.0), taped=feet, **more)
        assert not any("centerline.ties" in one for one in told(placed)), feet
