"""One row owns a check, and one a column: nothing of either may be missing, and nothing may stand beside it."""

from pathlib import Path

import laying
import pytest

from asbuilt.checks import ASIDE_KINDS, CHECK_KINDS, KINDS
from asbuilt.judging import findings
from asbuilt.keys.fields import RECORD_FIELDS
from asbuilt.layers.tables import TABLES, run_table
from asbuilt.placed import NEVER_BLANK
from asbuilt.register import layout
from asbuilt.schema import DOMAINS, LAYERS

SEVERITIES = list(DOMAINS["severity"])


def test_every_check_has_a_function_and_every_function_a_check():
    assert set(findings._FINDERS) == set(CHECK_KINDS)
    assert [check.code for check in findings.CHECKS] == list(CHECK_KINDS) == list(DOMAINS["finding_code"])
    assert list(DOMAINS["set_aside_reason"]) == list(ASIDE_KINDS)


def test_the_checks_stand_in_the_order_in_which_they_matter():
    order = [SEVERITIES.index(kind.severity) for kind in CHECK_KINDS.values()]
    assert order == sorted(order)


@pytest.mark.parametrize("code", KINDS)
def test_every_row_is_whole(code):
    kind = KINDS[code]
    assert kind.meaning[0].isupper()
    assert not kind.meaning.endswith(".")
    assert set(kind.fields) <= set(RECORD_FIELDS)
    assert kind.expected is None or kind.expected[0].islower()
    assert kind.to_do[0].isupper()
    assert not kind.to_do.endswith(".")


def test_every_column_of_a_table_has_its_row_in_the_schema_and_is_of_its_kind():
    placement = laying.crowded()
    kinds = {"string": "text", "double": "number", "int64": "whole", "int32": "whole", "date32[day]": "date"}
    assert [*TABLES, "run"] == list(LAYERS) == list(NEVER_BLANK)
    tables = {name: placement.table(name) for name in TABLES} | {"run": run_table(placement.whole, laying.MADE)}
    for name, table in tables.items():
        columns = [column for column in table.column_names if column != "geom"]
        described = list(LAYERS[name].columns)
        # A log need not have every field; all other columns stand in the table, in the order of the schema.
        assert columns == [column for column in described if column in columns], name
        may_lack = {*RECORD_FIELDS, "photo_files"} if name == "inspections" else set()
        assert set(described) - set(columns) <= may_lack, name
        for column in columns:
            assert kinds[str(table[column].type)] == LAYERS[name].columns[column].kind, (name, column)


def test_the_register_keeps_every_column_of_what_it_takes_over():
    for layer in layout.JOB_LAYERS:
        left_out = set(LAYERS[layer].columns) - set(layout.REGISTER_LAYERS[layer].columns)
        assert left_out == ({"latest"} if layer == "inspections" else set()), layer


WHERE_IT_LIES = {"route", "joint", "station", "offset", "easting", "northing", "elevation", "laid_length", "kind"}


@pytest.mark.parametrize("code", CHECK_KINDS)
def test_a_check_of_what_an_inspector_wrote_is_about_the_inspection_and_outlasts_a_later_survey(code):
    kind = CHECK_KINDS[code]
    of_the_pipe = {"joint_type", "size"}
    if kind.fields and not (WHERE_IT_LIES | of_the_pipe) & set(kind.fields):
        assert kind.about == "inspection"


TESTS = Path(__file__).parent


def test_every_check_is_looked_for_by_a_test():
    """A row and a function that no test asks for could find nothing, and nobody would notice."""
    folders = (TESTS / one for one in ("inputs", "judging", "placing", "survey", "register"))
    files = [*(path for one in folders for path in one.rglob("*.py")), TESTS / "blunders.py"]
    asked = "".join(path.read_text("utf-8") for path in files)
    assert [code for code in KINDS if f'"{code}"' not in asked] == []
