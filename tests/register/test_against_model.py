"""Sequences of loads, corrections, undos and marks against a register in plain Python; thousands by the script."""

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test
from register_model import DAYS, FORMS, RegisterMachine, fresh_files, fresh_schema, place_forms, replay

from asbuilt.register import fields
from asbuilt.register.undo import undo


@pytest.fixture(scope="module")
def placed_forms(folder):
    return place_forms(folder)


@pytest.fixture
def machine(register, folder, placed_forms):
    on_server = register.startswith("postgresql:")
    empty = fresh_schema(register) if on_server else fresh_files(folder)
    return type("Machine", (RegisterMachine,), {"placed": placed_forms, "empty": staticmethod(empty)})


def test_sequences_end_as_the_model_says(machine):
    run_state_machine_as_test(
        seed(20)(machine),
        settings=settings(
            max_examples=3, stateful_step_count=6, deadline=None, database=None, phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    assert machine.sequences >= 3
    assert machine.steps >= 6


def form(job, date, failed=None):
    return next(one for one in FORMS if (one.job, one.date, one.failed, one.surveyed_on) == (job, date, failed, None))


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_a_register_that_takes_the_earlier_inspection_is_told_from_the_model(machine, monkeypatch):
    later, before = form("Contract 1", "2026-05-01"), form("Contract 2", "2026-03-01", 1)
    assert replay([later, before])[1].inspection == ("complete", "2026-05-01")
    steps = machine()
    steps.begin(form=later)
    monkeypatch.setattr(fields, "is_earlier", lambda day, known, today: False)
    steps.load_form(form=before)
    with pytest.raises(AssertionError):
        steps.holds()


DATED = next(one for one in FORMS if one.surveyed_on == "2026-05-20")
SURVEY = next(one for one in FORMS if one.job == "Survey" and one.surveyed_on)


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
@pytest.mark.parametrize(
    "forms",
    [
        # A correction without its survey's day, over which an earlier survey came; and one to an earlier inspection.
        (DATED, form("Contract 1", "2026-03-01"), SURVEY),
        (form("Contract 1", "2026-05-01"), form("Contract 1", "2026-03-01"), form("Contract 2", "2026-04-01")),
        # What came over it was corrected since, and would come back where its correction is undone.
        (*(form("Contract 1", day) for day in DAYS[1::-1]), *(form("Contract 2", day) for day in DAYS[:2])),
    ],
)
def test_a_correction_that_hid_a_later_day_is_undone_from_under_what_came_over_it(machine, forms):
    """What then gives way to the later day was not kept there, so that its own load is undone after it."""
    steps = machine()
    steps.begin(form=forms[0])
    for one in forms[1:]:
        steps.load_form(form=one)
    undo(2, steps.register)
    del steps.loads[1]
    steps.holds()
    for number in range(len(forms), 2, -1):
        undo(number, steps.register)
    steps.loads = steps.loads[:1]
    steps.load_form(form=forms[2])
    steps.holds()


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_a_survey_is_undone_from_under_an_earlier_one_that_gave_way_to_it(machine):
    steps = machine()
    steps.begin(form=DATED)
    steps.load_form(form=SURVEY)
    undo(1, steps.register)
    del steps.loads[0]
    steps.holds()
    steps.load_form(form=DATED)
    steps.holds()
