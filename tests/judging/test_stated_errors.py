"""The stated standard error of shots against the lengths of the pipes laid between them."""

import numpy as np
import pytest
from laying import lines, log, pipe, place

POINTS = pipe(np.random.default_rng(7).uniform(-2.0, 2.0, 58))


def placed(*, noise, stated, seed=1, opened=0.0, laid=None, rounded=2, **says):
    """Shoot every joint with errors of a size; joints are open by up to so much, and pipes of 20 ft are logged."""
    chance = np.random.default_rng(seed)
    step = np.diff(POINTS, axis=0) * (1.0 + chance.uniform(0.0, opened, (len(POINTS) - 1, 1)) / 20.0)
    shots = np.vstack([POINTS[:1], POINTS[0] + np.cumsum(step, axis=0)]) + chance.normal(0.0, noise, POINTS.shape)
    lengths = [f"{20.0 if laid is None else one:.{rounded}f}" for one in (laid or [20.0] * len(POINTS))]
    centerline = {"sigma_horizontal": stated, "sigma_vertical": stated, **says}
    records = {"station_tolerance": 5.0, "spacing_tolerance": 2.0}
    return place(lines(A=shots), log(shots, **{"laid length": lengths}), centerline=centerline, records=records)


def notes(**shot):
    return [note.text for note in placed(**shot).notes if note.code == "sigma-understated"]


def test_shots_known_worse_than_is_stated_are_noted_with_both_errors():
    (told,) = notes(noise=0.15, stated=0.02)
    assert told.startswith("route A: the straights between its shots miss the lengths of 59 pipes as shots")
    assert "centerline.sigma_horizontal states 0.02 ft" in told
    seen = float(told.split("standard error of ")[1].split()[0])
    assert seen == pytest.approx(0.15, rel=0.3)


@pytest.mark.parametrize("noise", [0.02, 0.05, 0.15])
@pytest.mark.parametrize("seed", range(4))
def test_nothing_is_noted_where_errors_are_as_stated_whatever_the_joints_are_open(noise, seed):
    assert notes(noise=noise, stated=noise, seed=seed, opened=0.1) == []


def test_nothing_is_noted_by_a_few_lengths_written_wrongly():
    wrong = [20.0] * len(POINTS)
    for row in (7, 20, 33):
        wrong[row] = 18.0
    assert notes(noise=0.02, stated=0.02, laid=wrong) == []


def test_verdicts_and_accuracies_take_the_error_that_lengths_show_where_less_is_stated():
    understated, true = (placed(noise=0.1, stated=one).joints for one in (0.02, 0.1))
    # Of joints up to 2 of 5 degrees all are within; an error of 0.1 ft at 20 ft is 0.7 degrees of a turn.
    for name in ("sigma_deg", "accuracy_horizontal", "sigma_horizontal"):
        assert understated[name].median() == pytest.approx(true[name].median(), rel=0.3)
    beside = placed(noise=0.1, stated=0.02, shots_at_joints=False)
    assert [note for note in beside.notes if note.code == "sigma-understated"] == []
