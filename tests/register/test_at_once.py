"""Two loads at once into a register that is not there yet: each tells what it did itself."""

import multiprocessing

import pytest
from registers import contents, placed

from asbuilt.errors import InputFileError
from asbuilt.register import loading
from asbuilt.register.loading import load


@pytest.fixture(scope="module")
def jobs(folder):
    return placed(folder / "one.gpkg", "Phase 1"), placed(folder / "two.gpkg", "Phase 2", routes=("B",), north=900.0)


def test_a_register_that_another_load_made_meanwhile_is_told_as_new_by_that_one_alone(register, jobs, monkeypatch):
    assert load(jobs[0], register).made
    # As it was when this load looked for the register, a moment before the other one made it.
    monkeypatch.setattr(loading, "open_register", lambda *_, **__: None)
    same = load(jobs[0], register)
    assert (same.made, same.changed, same.load) == (False, False, None)
    other = load(jobs[1], register)
    assert (other.made, other.changed, other.load) == (False, True, 2)
    with pytest.raises(InputFileError, match="leave --crs out"):
        load(jobs[1], register, crs="EPSG:6339")


def _load(job, register, told):
    result = load(job, register)
    told.put((result.load, result.made, result.changed, result.joints["new"]))


def test_of_loads_of_one_file_at_once_one_wrote_and_the_others_had_nothing_new(register, jobs):
    make = multiprocessing.get_context("spawn")
    told = make.Queue()
    loads = [make.Process(target=_load, args=(jobs[0], register, told)) for _ in range(3)]
    for one in loads:
        one.start()
    said = sorted((told.get(timeout=120) for _ in loads), key=str)
    for one in loads:
        one.join()
    assert said == [(1, True, True, 6), (None, False, False, 0), (None, False, False, 0)]
    assert len(contents(register, "joints")["joints"]) == 6
