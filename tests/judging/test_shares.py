"""How joints share turns: weights, what they may turn together, and ceilings, against a linear programme."""

import numpy as np
import pytest
from scipy.optimize import linprog

from asbuilt.judging.bounds import Measured
from asbuilt.judging.shares import Shares, one_way, room, sums
from asbuilt.line.routes import Located

LENGTH = 20.0
SHOTS = {
    "2nd": lambda end, chance: np.arange(0.0, end + 1.0, 40.0),
    "5th": lambda end, chance: np.arange(0.0, end + 1.0, 100.0),
    "mid-pipe": lambda end, chance: np.arange(10.0, end, 20.0),
    "anywhere": lambda end, chance: np.sort(chance.uniform(0.0, end, int(end / 40.0))),
    "sparse, anywhere": lambda end, chance: np.sort(chance.uniform(0.0, end, int(end / 80.0))),
}


def laid(shots, chance, joints=30):
    """Give the deflections of joints that all turn one way, where they lie among shots, and the weights."""
    place, turn = LENGTH * np.arange(1, joints + 1), np.radians(chance.uniform(0.0, 6.0, joints))
    at = SHOTS[shots](LENGTH * (joints + 1), chance)
    kept = (place > at[0]) & (place < at[-1])
    place, turn = place[kept], turn[kept]
    vertex = np.searchsorted(at, place, side="right") - 1
    weight = (place - at[vertex]) / np.diff(at)[vertex]
    matrix = np.zeros((len(at), len(turn)))
    matrix[vertex, np.arange(len(turn))] = 1.0 - weight
    inside = np.flatnonzero(weight > 0)
    matrix[vertex[inside] + 1, inside] = weight[inside]
    return turn, Located(vertex, weight), matrix, np.append(np.diff(at), 1.0)


@pytest.mark.parametrize("shots", SHOTS)
@pytest.mark.parametrize("seed", [1, 2])
def test_ceilings_are_the_optimum_of_their_linear_programme(shots, seed):
    """Maximise each deflection under W d = t, d >= 0: scipy's linprog; within 5 percent, never under."""
    turn, located, matrix, legs = laid(shots, np.random.default_rng(seed))
    seen, many = matrix @ turn, len(legs)
    usable = np.zeros(many, dtype=bool)
    usable[1:-1] = True
    none, axis, same_route = np.zeros(many), np.zeros((many, 3)), np.ones(many, dtype=bool)
    axis[:, 2], same_route[-1] = seen, False
    shares = Shares(located, np.full(len(turn), np.radians(5.0)), 0.0)
    found = one_way(Measured(seen, none, none, none, none), axis, usable, shares, same_route, legs, 0.95)
    ceiling = found.ceilings(located)
    assert (ceiling >= turn - 1e-9).all()
    for joint in range(len(turn)):
        wanted = -np.eye(len(turn))[joint]
        best = linprog(wanted, A_eq=matrix[usable], b_eq=seen[usable], bounds=(0, None))
        if best.status == 3:
            assert np.isinf(ceiling[joint])
        else:
            assert -best.fun * (1 - 1e-6) - 1e-9 <= ceiling[joint] <= -best.fun * 1.05 + 1e-9


@pytest.mark.parametrize("allowables", [(5.0,), (1.5, 5.0), (3.0, 8.0, 1.5)])
def test_no_joints_within_their_allowables_turn_more_than_the_room_they_have(allowables):
    """Lay chains of pipes of unequal lengths at their allowables, or under them, and turn them as they are."""
    chance = np.random.default_rng(7)
    for _ in range(300):
        back, ahead = chance.integers(1, 9, 2)
        length = chance.uniform(0.3, 1.0, back + ahead)
        allowable = np.radians(chance.choice(allowables, back + ahead - 1))
        turn = allowable * np.where(chance.random(len(allowable)) < 0.8, 1.0, chance.random(len(allowable)))
        azimuth = np.concatenate([[0.0], np.cumsum(turn)])
        step = length * np.stack([np.sin(azimuth), np.cos(azimuth)])
        (a, b), (c, d) = step[:, :back].sum(axis=1), step[:, back:].sum(axis=1)
        seen = np.arctan2(c * b - d * a, a * c + b * d)
        ends = np.cumsum(length)[:-1]
        middle, whole = length[:back].sum(), length.sum()
        vertex = np.where(ends < middle - 1e-9, 0, 1)
        weight = np.where(vertex == 0, ends / middle, (ends - middle) / (whole - middle))
        weight = np.where(np.abs(ends - middle) < 1e-9, 0.0, weight)
        legs = np.array([middle, whole - middle, 1.0])
        assert seen <= room(Shares(Located(vertex, weight), allowable, 0.0), legs).most[1] * (1.0 + 1e-4)


def test_weights_of_equal_lengths_are_halves_and_wholes():
    # For legs of two lengths: 1/2, 1, 1/2.
    located = Located(np.array([0, 1, 1]), np.array([0.5, 0.0, 0.5]))
    assert sums(located, np.array([1.0, 2.0, 4.0]), 3).tolist() == [0.5, 4.5, 2.0]
