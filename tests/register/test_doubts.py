"""What a load asks about: a name spelled otherwise, a job far from all others, heights that another survey has not."""

import laying
import pytest
from bent_mains import TWO
from bent_mains import placed as placed_on
from registers import placed

from asbuilt import cli
from asbuilt.register.loading import load
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.undo import undo

SPELLED, FAR, HIGHER = "is spelled otherwise", "no joint of the register lies within", "by this job than by"


def notes(result, words):
    return [one for one in result.notes if words in one]


@pytest.mark.parametrize("name", ["quarry lane ", "Quarry-Lane"])
def test_a_correction_under_another_spelling_of_its_job_is_asked_about(register, tmp_path, name):
    load(placed(tmp_path / "spelled.gpkg", "Quarry Lane"), register)
    # Not one record is the same, so that nothing else tells of it.
    corrected = placed(tmp_path / "corrected.gpkg", name, inspector="A. Marsh")
    for dry_run in (True, False):
        [note] = notes(load(corrected, register, dry_run=dry_run), SPELLED)
        assert "the register has a job 'Quarry Lane' (load 1)" in note
        assert f"{name!r}" in note
    # Once it is there under that name, it is a job like others, until that load is undone.
    assert not notes(load(placed(tmp_path / "again.gpkg", name, inspector="B. Hale"), register), SPELLED)
    undo(3, register)
    undo(2, register)
    assert len(notes(load(corrected, register), SPELLED)) == 1


@pytest.mark.parametrize("name", ["Quarry Lane 10", "Quarryl Ane", "Contract 27-10"])
def test_other_names_are_other_jobs(register, tmp_path, name):
    for number, first in enumerate(("Quarry Lane", "Quarry Lane 1", "Contract 27-01")):
        load(placed(tmp_path / f"name{number}.gpkg", first, routes=(f"R{number}",), north=1000.0 * number), register)
    assert not notes(load(placed(tmp_path / "other_name.gpkg", name, routes=("S",), north=9000.0), register), SPELLED)


@pytest.mark.parametrize(("feet", "told"), [(150_000.0, False), (200_000.0, True)])
def test_a_job_far_from_all_others_is_asked_about(register, tmp_path, feet, told):
    assert not notes(load(placed(tmp_path / "here.gpkg", "Phase 1"), register), FAR)
    there = placed(tmp_path / "there.gpkg", "Phase 2", routes=("B",), north=feet)
    for dry_run in (True, False):
        said = notes(load(there, register, dry_run=dry_run), FAR)
        assert len(said) == told
        assert (
            not said
            or "50 km (31 miles) of this job, which lies around latitude 39.2023, longitude -121.5118" in said[0]
        )
    # What goes on where the register has some of it by now is near.
    assert not notes(load(placed(tmp_path / "on.gpkg", "Phase 3", routes=("C",), north=feet + 500.0), register), FAR)


def test_heights_of_another_survey_are_held_against_it(register, tmp_path):
    load(placed(tmp_path / "level.gpkg", "Phase 1"), register)
    datum = placed(tmp_path / "datum.gpkg", "Survey 2031", up=-2.75, remarks="shot anew")
    for dry_run in (True, False):
        [note] = notes(load(datum, register, dry_run=dry_run), HIGHER)
        assert note.startswith("6 joints lie 2.75 ft lower by this job than by Phase 1 (load 1): is one of the two in")
        assert note.endswith("The heights of this job hold now")
    # A job's own correction of its heights is what it says it is.
    assert not notes(load(placed(tmp_path / "own.gpkg", "Survey 2031", up=1.0, remarks="shot anew"), register), HIGHER)
    # A record at one joint, whose place stays what the later survey has.
    days = {"tables": {"centerline": {"surveyed_on": "2026-06-04"}}}
    load(placed(tmp_path / "later.gpkg", "Survey 2032", up=1.0, remarks="again", **days), register)
    days = {"tables": {"centerline": {"surveyed_on": "2026-05-04"}}}
    leak = placed(tmp_path / "leak.gpkg", "Leak", joints=2, up=31.0, date="2026-06-20", **days)
    [note] = notes(load(leak, register), HIGHER)
    assert note.startswith("2 joints lie 30.00 ft higher by this job than by Survey 2032 (load 4)")
    assert note.endswith("The heights of Survey 2032 stay")


@pytest.mark.parametrize("register", ["geopackage"], indirect=True)
def test_heights_within_what_surveys_are_good_for_are_no_doubt(register, tmp_path):
    load(placed(tmp_path / "fine.gpkg", "Phase 1"), register)
    assert not notes(load(placed(tmp_path / "near.gpkg", "Phase 2", up=0.4, remarks="x"), register), HIGHER)
    rough = {"tables": {"centerline": {"sigma_vertical": 0.8}}}
    assert not notes(load(placed(tmp_path / "rough.gpkg", "Phase 3", up=1.2, remarks="y", **rough), register), HIGHER)
    assert notes(load(placed(tmp_path / "sure.gpkg", "Phase 4", up=4.0, remarks="z"), register), HIGHER)


GOOD, STAY = "had places good to", "stay where Phase 1"
FIRST, LESS, WORSE = ({"sigma_horizontal": one, "sigma_vertical": one} for one in (0.02, 0.028, 0.05))


@pytest.mark.parametrize(
    ("sigma", "east", "told"),
    # 95 % of a circle are 2.4477 standard errors of a coordinate; a station as laid adds to neither.
    [# Half a foot is beyond what both are good to: the two contradict one another, and the later one holds.
     (WORSE, 0.5, "at 95 % by Phase 1 (load 1); those of this job, which hold now, are good to 0.12 ft"),
     (FIRST, 0.06, None), (LESS, 0.06, None), ({"sigma_horizontal": 0.01, "sigma_vertical": 0.01}, 0.06, None),
     ({}, 0.06, "by Phase 1 (load 1); how good those of this job are, which hold now, it does not say")],
)  # fmt: skip
def test_a_survey_that_is_not_as_good_says_so_where_it_takes_the_place_of_another(
    register, tmp_path, sigma, east, told
):
    load(placed(tmp_path / "good.gpkg", "Phase 1", tables={"centerline": FIRST}), register)
    again = placed(tmp_path / "again.gpkg", "Survey 2031", east=east, tables={"centerline": sigma})
    for dry_run in (True, False):
        result = load(again, register, dry_run=dry_run)
        said = notes(result, GOOD)
        assert [told in note for note in said] == ([] if told is None else [True])
        assert not said or said[0].startswith("6 joints had places")
        assert not notes(result, STAY)
    # A job that the register has under a later survey takes no place, and makes none worse.
    assert not notes(load(placed(tmp_path / "log.gpkg", "Phase 1", gauge="no", tables={"centerline": FIRST}), register),
                     GOOD)  # fmt: skip


def places(register):
    return [
        (one["easting"], one["accuracy_horizontal"], one["place_load_id"]) for one in find(register, Question()).joints
    ]


def test_a_survey_that_is_two_and_a_half_times_worse_does_not_take_the_place_of_one_it_agrees_with(register, tmp_path):
    load(placed(tmp_path / "good.gpkg", "Phase 1", tables={"centerline": FIRST}), register)
    before = places(register)
    again = placed(tmp_path / "again.gpkg", "Survey 2031", east=0.06, remarks="seen", tables={"centerline": WORSE})
    for dry_run in (True, False):
        result = load(again, register, dry_run=dry_run)
        [note] = notes(result, STAY)
        assert note.startswith("6 joints stay where Phase 1 (load 1) has them, up to 0.06 ft from where this job has")
        assert "good to 0.05 ft at 95 % there and to 0.12 ft by this job" in note
        assert not notes(result, GOOD)
        assert result.gave_way_to == [1]
    assert places(register) == before
    # What its log says is taken, and its load waits for no one.
    assert (result.joints["updated"], result.joints["left_out"]) == (6, 0)
    assert all(one["load_id"] == 2 for one in find(register, Question()).joints)
    # The same file once more changes nothing; and a correction of it gives way as it did.
    assert load(again, register).joints["unchanged"] == 6
    more = placed(tmp_path / "more.gpkg", "Survey 2031", east=0.06, remarks="read", tables={"centerline": WORSE})
    assert len(notes(load(more, register), STAY)) == 1
    assert places(register) == before


def test_a_load_to_which_a_less_sure_one_gave_way_is_undone_from_under_it(register, tmp_path):
    load(placed(tmp_path / "good.gpkg", "Phase 1", tables={"centerline": FIRST}), register)
    again = placed(tmp_path / "again.gpkg", "Survey 2031", east=0.06, remarks="seen", tables={"centerline": WORSE})
    load(again, register)
    undo(1, register)
    assert {load_id for *_, load_id in places(register)} == {2}
    assert places(register)[0][0] == pytest.approx(laying.EAST + 0.06)
    assert places(register)[0][1] == pytest.approx(2.4477 * 0.05, abs=1e-4)


def test_a_place_that_a_load_undone_since_let_pass_gives_way_to_the_surer_one(register, tmp_path):
    """Each is not much less sure than the one before it, but the third is than the first."""
    for number, sigma in enumerate((0.02, 0.028, 0.04)):
        line = {"centerline": {"sigma_horizontal": sigma, "sigma_vertical": 0.02}}
        more = {"east": 0.03 * number, "remarks": str(number), "tables": line}
        load(placed(tmp_path / f"{number}.gpkg", f"Phase {number}", **more), register)
    assert {load_id for *_, load_id in places(register)} == {3}
    undo(2, register)
    assert {load_id for *_, load_id in places(register)} == {1}
    assert places(register)[0][0] == pytest.approx(laying.EAST)
    undo(1, register)
    assert places(register)[0][0] == pytest.approx(laying.EAST + 0.06)


def test_a_survey_less_sure_in_plan_brings_the_heights_that_it_alone_knows(register, tmp_path):
    level = {"centerline": FIRST | {"elevation": "none"}}
    load(placed(tmp_path / "level.gpkg", "Phase 1", tables=level), register)
    again = placed(tmp_path / "again.gpkg", "Survey 2031", east=0.06, tables={"centerline": WORSE})
    result = load(again, register)
    assert not notes(result, STAY)
    assert len(notes(result, GOOD)) == 1
    assert all(one["elevation"] is not None for one in find(register, Question()).joints)


def test_joints_of_a_replaced_main_that_lie_along_the_new_one_and_stay_are_named(register, tmp_path):
    """Whoever mistook the stations by a pipe left joints in service beside the main that replaced them."""
    load(placed(tmp_path / "old.gpkg", "Contract 1", joints=12), register)
    relaid = placed(tmp_path / "relaid.gpkg", "Relay 2031", routes=("N",), joints=5, north=60.0, east=1.0)
    for dry_run in (True, False):
        loaded = load(relaid, register, replaces=["A 0+80..1+00"], dry_run=dry_run)
        assert loaded.replaced == 2
        [note] = notes(loaded, "stay")
        assert note.startswith("1 joint of A within 5 ft of the new main stays in service, as --replaces does not name")
        # The joints at 0+60 and 1+40, where the new main begins and ends, may be those that it is joined to.
        assert "(7 at 1+20.00)" in note
    undo(2, register)
    assert not notes(load(relaid, register, replaces=["A 0+60..1+40"]), "in service, as")


def test_an_answer_near_mains_whose_names_were_exchanged_says_so(register, tmp_path, capsys):
    for name, named in (("exchanged", {"A": "B", "B": "A"}), ("right", None)):
        placed_on(TWO, named).write(tmp_path / f"{name}.gpkg")
    load(placed(tmp_path / "other.gpkg", "Mill Race", routes=("C",), east=-3000.0), register)
    load(tmp_path / "exchanged.gpkg", register)

    def doubted(**asked):
        found = find(register, Question(**asked))
        assert found.joints
        return [(one["route"], one["code"]) for one in found.as_json()["doubtful_lines"]]

    assert doubted(routes=("A",), joints=("5",)) == [("A", "routes-exchanged")]
    assert sorted(doubted()) == [("A", "routes-exchanged"), ("B", "routes-exchanged")]
    assert doubted(routes=("C",)) == []
    assert cli.run(["find", register, "--route", "B", "--joint", "5"]) == 0
    said = " ".join("".join(capsys.readouterr()).split())
    assert "joints of B may all stand elsewhere (Quarry Lane): routes A and B seem to be exchanged" in said
    load(tmp_path / "right.gpkg", register)
    assert doubted() == []
