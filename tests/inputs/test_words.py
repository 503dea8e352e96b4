"""The log's own words: built in, said by the job, and never taken for something else in silence."""

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laying import lines, pipe

from asbuilt import place
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import allowables
from asbuilt.inputs.log import read_log
from asbuilt.job import Job
from asbuilt.vocabulary import JOINT_TYPES, KINDS, YES_NO_FIELDS, joint_type

RECORDS = {"station_unit": "us-ft", "laying_length": 20.0}


def job(**records):
    return Job.from_mapping({"name": "Mill Race", "centerline": {}, "records": RECORDS | records})


def read(columns, **records):
    return read_log(job(**records), pd.DataFrame(columns))


def refused(**records):
    with pytest.raises(JobFileError) as caught:
        job(**records)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("Slip joint", "push-on"), ("slip jt", None), ("Mech. Joint", "mechanical"), ("MECH. JT.", "mechanical"),
        ("Restr. gasket", "restrained-push-on"), ("Restr.", "restrained-push-on"), ("RMJ", "restrained-mechanical"),
    ],
)  # fmt: skip
def test_words_of_joint_types_common_practice_no_source(text, family):
    assert (joint_type(text) if family else joint_type(text) not in JOINT_TYPES) == (family or True)


@given(st.lists(st.sampled_from(["P", "p", "F", "f", "✓", "✔", "ok", "Fail", None]), min_size=1, max_size=30))
def test_pass_and_fail_are_read_by_letter_and_mark(marks):
    log = read({"station": [f"{at}+00" for at in range(len(marks))], "gauge": pd.Series(marks, dtype="str")})
    means = {"P": "yes", "p": "yes", "✓": "yes", "✔": "yes", "ok": "yes", "F": "no", "f": "no", "Fail": "no"}
    assert log.text("gauge").to_pylist() == [means.get(one) for one in marks]


@pytest.mark.parametrize("field", ["restrained", "cut"])
def test_a_letter_that_could_be_another_word_is_unreadable(field):
    # P: push-on, or plain.
    log = read({"station": ["0+00", "0+20"], field: ["P", "yes"]})
    assert log.text(field).to_pylist() == [None, "yes"]
    assert log.unreadable.field.to_pylist() == [field]


@pytest.mark.parametrize("size", ["12-", "12 -", "12-foot", '12"x8"', "12 / 8", "200 mm"])
def test_what_is_no_one_size_in_inches_is_unreadable(size):
    log = read({"station": ["0+00"], "size": [size]})
    assert np.isnan(log.number("size")[0])
    assert log.unreadable.text.to_pylist() == [size]


@given(st.lists(st.sampled_from(["X", "x", None]), min_size=1, max_size=20), st.sampled_from([None, "OK", "F", "n/a"]))
def test_a_cross_is_yes_only_where_its_column_holds_nothing_else(marks, other):
    cells = [*marks, other]
    log = read({"station": [f"{at}+00" for at in range(len(cells))], "home": pd.Series(cells, dtype="str")})
    alone = other is None and any(marks)
    crosses = [
        one for mark, one in zip(cells, log.text("insertion_mark").to_pylist(), strict=True) if mark in ("X", "x")
    ]
    assert crosses == ["yes" if alone else None] * len(crosses)
    assert any("holds X and nothing else" in note for note in log.notes) == alone
    assert len(log.unreadable.record) == (0 if alone else len(crosses) + (other == "n/a"))


def test_a_cross_that_means_no_can_be_said():
    log = read({"station": ["0+00", "0+20"], "home": ["X", None]}, words={"insertion_mark": {"x": "no"}})
    assert log.text("insertion_mark").to_pylist() == ["no", None]


@given(st.lists(st.tuples(st.sampled_from(["WM-A", "wm-a", "WM-B"]), st.sampled_from(["FLP", " flp", "B45", "Tee"]),
                          st.sampled_from(["Boltless", "MJ", "-"])), min_size=1, max_size=20))  # fmt: skip
def test_the_jobs_words_are_read_as_ours_and_nothing_else_is_changed(rows):
    frame = pd.DataFrame(rows, columns=["run", "item", "type"]).assign(sta=[f"{at}+00" for at in range(len(rows))])
    words = {"route": {"WM-A": "A"}, "kind": {"FLP": "pipe", "B45": "bend"},
             "joint_type": {"BOLTLESS": "restrained-push-on", "-": ""}}  # fmt: skip
    log = read_log(job(words=words), frame)
    assert log.text("route").to_pylist() == ["A" if one == "WM-A" else one for one, _, _ in rows]
    kinds = {"FLP": "pipe", "flp": "pipe", "B45": "bend", "Tee": "tee"}
    assert log.text("kind").to_pylist() == [kinds[one.strip()] for _, one, _ in rows]
    types = {"Boltless": "restrained-push-on", "MJ": "mechanical", "-": None}
    assert log.text("joint_type").to_pylist() == [types[one] for _, _, one in rows]
    assert np.nan_to_num(log.number("bend_angle")).tolist() == [45.0 if one == "B45" else 0.0 for _, one, _ in rows]
    assert len(log.unreadable.record) == 0
    held = {"route": {one for one, _, _ in rows}, "kind": {one.strip().upper() for _, one, _ in rows},
            "joint_type": {one.upper() for _, _, one in rows}}  # fmt: skip
    unmet = [f"records.words.{field}: no record has {one!r}" for field, said in words.items() for one in said
             if one not in held[field]]  # fmt: skip
    assert [note for note in log.notes if "no record has" in note] == unmet


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"knd": {"FLP": "pipe"}}, "records.words: there are no words for 'knd'; did you mean 'kind'?"),
        ({"station": {"a": "b"}}, "records.words: there are no words for 'station'"),
        ({"kind": {"FLP": "pip"}}, "records.words: kind: 'FLP' is said to be 'pip'; it may be pipe, bend, tee"),
        ({"gauge": {"A": "pass"}}, "records.words: gauge: 'A' is said to be 'pass'; it may be yes, no or blank"),
        ({"route": {"A": ""}}, "records.words: route: 'A' is said to be nothing; name a route of the centerline"),
        ({"kind": {"FL  P": "pipe", "fl p": "cap"}}, "records.words: kind: 'fl p' is said twice"),
    ],
)
def test_words_that_cannot_be_are_refused_with_what_may_be(words, message):
    assert message in refused(words=words)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"route": {"WM-A": "Mill Rase"}}, "is no route of the centerline; did you mean 'Mill Race'?"),
        (
            {"joint_type": {"BL": "restrained-pushon-x"}},
            "no joint type that is known; did you mean 'restrained-push-on'?",
        ),
    ],
)
def test_words_for_what_the_job_does_not_have_are_refused(words, message):
    line = lines(**{"Mill Race": pipe(np.zeros(5))})
    settings = Job.from_mapping({"name": "t", "centerline": {"route": "route"}, "records": RECORDS | {"words": words}})
    with pytest.raises(JobFileError, match=r"records\.words") as caught:
        place(settings, centerline=line, records=pd.DataFrame({"station": ["0+00", "0+20"]}))
    assert message in str(caught.value)


def test_every_kind_and_answer_of_ours_reads_as_itself():
    for field, known in (("kind", KINDS), *((one, ("yes", "no")) for one in YES_NO_FIELDS)):
        log = read({"station": ["0+00"] * len(known), field: list(known)})
        assert log.text(field).to_pylist() == list(known)


def test_a_column_of_materials_is_not_taken_for_what_was_laid():
    log = read({"station": ["0+00"], "Material": ["DI"]})
    assert "kind" not in log.fields
    assert ("the records data", "Material") in log.not_read


@pytest.mark.parametrize(
    ("size", "unit"),
    [
        *((one, "in") for one in ('12"', "12”", "12-inch", "12 in.", "12 inches", "12")),
        *((one, "mm") for one in ("200 mm", "DN 200", "200mm")),
    ],
)
def test_sizes_are_read_alike_in_the_log_and_in_the_table_of_limits(tmp_path, size, unit):
    log = read({"station": ["0+00"], "size": [size]}, size_unit=unit)
    cell = '"' + size.replace('"', '""') + '"'
    (tmp_path / "own.csv").write_text(
        f"joint_type,size,allowable_deg,source\nslip joint,{cell},3.5,submittal 4\n", "utf-8"
    )
    settings = Job.from_mapping(
        {"name": "t", "centerline": {}, "records": RECORDS | {"size_unit": unit}, "limits": {"table": "own.csv"}},
        folder=tmp_path,
    )
    degrees, _ = allowables.read_allowables(settings).look_up(pa.array(["push-on"]), log.number("size"))
    assert degrees.tolist() == [3.5]


def test_a_size_in_the_other_unit_is_refused_in_the_table_of_limits(tmp_path):
    (tmp_path / "own.csv").write_text("joint_type,size,allowable_deg,source\npush-on,200 mm,3.5,submittal 4\n")
    settings = Job.from_mapping(
        {"name": "t", "centerline": {}, "records": RECORDS, "limits": {"table": "own.csv"}}, folder=tmp_path
    )
    with pytest.raises(InputFileError, match=r"own.csv: row 2: size '200 mm' is not a number, or a size in inches"):
        allowables.read_allowables(settings)


@pytest.mark.parametrize("error", ["#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?"])
def test_what_a_spreadsheet_could_not_compute_is_unreadable_in_every_field(error):
    fields = ["joint", "inspector", "joint_type", "kind", "gauge", "size", "inspected_on", "pipe_class", "remarks"]
    log = read({"station": ["0+00", error], "route": ["A", error]} | {field: [error, "1"] for field in fields})
    assert sorted(log.unreadable.field.filter(pa.array(log.unreadable.record == 0)).to_pylist()) == sorted(fields)
    assert np.isnan(log.stations.value[1])
    assert log.text("route").to_pylist() == ["A", error]
