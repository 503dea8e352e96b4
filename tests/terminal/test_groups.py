"""Remarks alike are put together, and every one of them is counted."""

import contextlib
import io
import re
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st
from laying import lines, log, pipe, place

from asbuilt.notes import noted
from asbuilt.terminal.groups import grouped, said
from asbuilt.terminal.results import print_columns, print_notes, print_rows, told_of_rows

REMARKS = st.lists(
    st.builds(
        lambda kind, severity, size: {"kind": kind, "severity": severity, "message": f"{kind} at size {size}"},
        st.sampled_from(["no-allowable", "joints-missing"]), st.sampled_from(["act", "check", "note"]),
        st.integers(1, 12),
    ),
    max_size=60,
)  # fmt: skip


def numbered(told):
    return [
        one | {"file": "log.csv", "row": at, "route": "A", "joint": str(at)} for at, one in enumerate(told, start=2)
    ]


@given(REMARKS)
def test_every_remark_is_in_one_group_and_groups_mix_neither_kind_nor_severity(told):
    told = numbered(told)
    groups = grouped(told)
    assert sorted(one["row"] for group in groups for one in group.told) == [one["row"] for one in told]
    for group in groups:
        assert len({(one["kind"], one["severity"]) for one in group.told}) == 1
        assert group.same == (len({one["message"] for one in group.told}) == 1)
        assert group.first["row"] == min(one["row"] for one in group.told)
    order = ["act", "check", "note"]
    ranks = [(order.index(group.first["severity"]), -group.times) for group in groups]
    assert ranks == sorted(ranks)


@given(REMARKS)
def test_what_is_printed_counts_every_remark(told):
    with contextlib.redirect_stdout(io.StringIO()) as out:
        print_rows(numbered(told))
    titles = re.findall(r"^To (?:act on|check, or to know) \((\d+)\)", out.getvalue(), re.MULTILINE)
    assert sum(map(int, titles)) == len(told)


def test_of_many_notes_of_one_kind_the_first_are_told_and_the_others_counted():
    short = [f"route R{at}: the line is shorter than its log" for at in range(1200)]
    with contextlib.redirect_stdout(io.StringIO()) as out:
        print_notes([*noted("shots-exact", ["no standard error is stated"]), *noted("line-short", short)])
    told = " ".join(out.getvalue().split())
    assert "no standard error is stated" in told
    assert re.findall(r"route R(\d+)", told) == [str(at) for at in range(10)]
    assert "1,190 more of this kind (line-short)" in told
    with contextlib.redirect_stdout(io.StringIO()) as out:
        print_notes(noted("line-short", short[:10]))
    assert "more of this kind" not in out.getvalue()


def test_a_family_without_allowable_is_said_once_with_its_count_and_first_row():
    points = pipe(np.zeros(30))
    table = pd.DataFrame(log(points, **{"joint type": "restr. gasket"}))
    placement = place(lines(A=points), table)
    texts = [said(group) for group in grouped(told_of_rows(placement)) if group.first["kind"] == "allowable-missing"]
    assert len(texts) == 1
    # The two ends of the route turn nowhere.
    told = "30 x allowable-missing (check): no allowable on file for restrained-push-on, 12 in;"
    assert texts[0].startswith(told)
    assert texts[0].endswith("; first in row 2, then 3, 4, 5 and 26 more")


def test_a_column_that_all_sheets_of_a_log_have_is_told_once(capsys):
    """Each sheet had a row for each of its columns: a workbook of 20 days took 300 lines."""
    read = [
        (f"days.xlsx, sheet 'Mar {day}'", field, field.title()) for day in (4, 5, 6) for field in ("route", "joint")
    ]
    log_read = SimpleNamespace(matches=[*read, ("days.xlsx, sheet 'Mar 6'", "crew", "Gang")], not_read=[])
    whole: Any = SimpleNamespace(routes=SimpleNamespace(matches=[], not_read=[]), log=log_read)
    print_columns(whole)
    rows = [re.split(r"\s*│\s*", line)[1:-1] for line in capsys.readouterr().out.splitlines() if line.startswith("│")]
    assert rows == [
        ["all 3 sheets", "Route", "route"], ["all 3 sheets", "Joint", "joint"],
        ["days.xlsx, sheet 'Mar 6'", "Gang", "crew"],
    ]  # fmt: skip
