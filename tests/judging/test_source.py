"""How the line came about: what was drawn or designed measures nothing, and nobody knows how often it is wrong."""

import laying
import numpy as np
import pytest

from asbuilt.errors import AsbuiltError
from asbuilt.review import answer, read_review

STATED = {"sigma_horizontal": 0.02, "sigma_vertical": 0.02}
TURNS = np.array([0, 2, 0, 0, 6, 0, 0, 1, 1, 0, 0, 0.0])


def placed(centerline, *, every=1, up=0.0, heights=None, **tables):
    points = laying.pipe(TURNS, up=up)
    kept = points[::every].copy()
    if heights is not None:
        kept[~np.isin(np.arange(len(kept)), heights), 2] = np.nan
    return laying.place(laying.lines(A=kept), laying.log(points), centerline=centerline, **tables)


def basis(placement, folder):
    placement.write(folder / "placed.gpkg")
    review = read_review(folder / "placed.gpkg")
    return answer.basis(review, review.routes[0])


@pytest.mark.parametrize("every", [1, 2])
@pytest.mark.parametrize("source", ["drawn", "design"])
def test_no_verdict_on_a_line_that_nobody_shot_is_measured(source, every, tmp_path):
    found = placed({"source": source}, every=every)
    told = found.joints[found.joints["verdict"].isin(["within", "within-assumed", "over"])]
    assert len(told) >= 10
    assert set(told["verdict_assumes"]) == {"drawn"}
    assert found.counts["verdicts_wrong_at_most"] == {}
    assert found.counts["verdicts_of_unknown_rate"] == {"A": len(told)}
    assert [note.severity for note in found.notes if note.code == "line-drawn"] == ["act"]
    said = basis(found, tmp_path)
    assert said.startswith("A line that was drawn, not a survey" if source == "drawn" else "A design, not a survey")
    assert f"how many of {len(told)} verdicts are wrong is not known" in said
    assert "at most" not in said
    assert "a shot every" not in said


def test_elevations_put_between_those_of_a_drawn_line_are_not_taken_for_its_own():
    found = placed({"source": "drawn"}, heights=[0, 6, 12])
    within = found.joints[found.joints["verdict"] == "within-assumed"]
    assert set(within["verdict_assumes"]) == {"level drawn"}


def test_a_line_of_which_nobody_says_whether_it_was_shot_is_not_called_a_survey(tmp_path):
    found = placed({})
    assert ["centerline.source" in note.text for note in found.notes if note.code == "shots-exact"] == [True]
    said = basis(found, tmp_path)
    assert said.startswith("A line of which nobody says whether it was shot on the pipe or drawn;")
    assert "how many of 12 verdicts are wrong is not known" in said
    assert "at most" not in said


def test_errors_that_are_stated_make_it_a_survey_whose_wrong_verdicts_are_counted(tmp_path):
    found = placed(STATED, every=2)
    assumed = int((found.joints["verdict"] == "within-assumed").sum())
    assert found.counts["verdicts_wrong_at_most"] == {"A": 0.05 * assumed}
    assert found.counts["verdicts_of_unknown_rate"] == {}
    said = basis(found, tmp_path)
    assert said.startswith("A survey of the pipe;")
    assert (
        f"of {assumed} verdicts wrong by chance, if all lay at their limits and what {assumed} of them assume" in said
    )


def test_wrong_verdicts_are_counted_only_where_there_are_verdicts(tmp_path):
    """Without an allowable no joint is judged: at most 0 of 0 wrong told nothing."""
    points = laying.pipe(TURNS)
    found = laying.place(laying.lines(A=points), laying.log(points, size="13"), centerline=STATED)
    assert set(found.joints["verdict"]) == {"no-allowable", "not-computed"}
    said = basis(found, tmp_path)
    assert "no joint is judged over or within; allowables: none on file" in said
    assert "wrong by chance" not in said


def test_a_missing_vertical_error_is_told_as_a_missing_horizontal_one_is():
    """Once only the horizontal one was looked for, and every verdict assumed exact heights in silence."""
    notes = [note.text for note in placed({"sigma_horizontal": 0.02}).notes if note.code == "shots-exact"]
    assert len(notes) == 1
    assert "(centerline.sigma_vertical)" in notes[0]
    without = laying.place(
        laying.lines(A=laying.pipe(TURNS)[:, :2]), laying.log(laying.pipe(TURNS)),
        centerline={"sigma_horizontal": 0.02},
    )  # fmt: skip
    assert not [note for note in without.notes if note.code == "shots-exact"]


@pytest.mark.parametrize("key", STATED)
def test_a_line_that_was_not_shot_has_no_error_of_a_shot(key):
    with pytest.raises(AsbuiltError, match=rf"centerline\.{key}: the line was not shot"):
        placed({"source": "drawn", key: 0.02})


def test_check_shots_say_how_well_a_drawn_line_lies_and_no_verdict_rests_on_them(tmp_path):
    points = laying.pipe(TURNS)
    rows = [f"{n},{x + 0.5},{y - 0.5},{z},{x},{y},{z}" for n, (x, y, z) in enumerate(points)]
    head = "point,easting,northing,elevation,measured_easting,measured_northing,measured_elevation"
    (tmp_path / "check.csv").write_text("\n".join([head, *rows]) + "\n")
    found = placed(
        {"source": "drawn"}, survey_check={"path": str(tmp_path / "check.csv")}, records={"sigma_station": 0.0}
    )
    assert set(found.joints["verdict_assumes"].dropna()) == {"drawn"}
    assert found.joints["accuracy_horizontal"].iloc[5] > 1.0


@pytest.mark.parametrize(
    ("heights", "said"), [([0, 6, 12], "11 of 14 shots without a measured elevation"), ([], "no shot has an elevation")]
)
def test_what_verdicts_rest_on_tells_shots_without_elevation(heights, said, tmp_path):
    found = placed(STATED, heights=heights)
    assert found.counts["shots_without_elevation"] == {"A": 14 - len(heights)}
    assert f"; {said};" in basis(found, tmp_path)
    assert "elevation;" not in basis(placed(STATED | laying.LOOKED_AT), tmp_path)


@pytest.mark.parametrize("between", ["chord", "curve"])
def test_how_far_shots_are_apart_is_told_of_the_shots_and_not_of_points_of_a_curve(between, tmp_path):
    """A curve through the shots is drawn with a point each metre: once these were told as shots."""
    points = laying.pipe(np.full(24, 1.0))
    log = laying.log(points)
    line = laying.lines(A=points[::5])
    found = laying.place(
        line, log, centerline=STATED | {"between": between}, records={"station_tolerance": 5.0}
    )  # fmt: skip
    assert "; a shot every 100 ft (the middle one of 5 legs, all alike);" in basis(found, tmp_path)
