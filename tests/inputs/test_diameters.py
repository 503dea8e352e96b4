"""Outside diameters: the shipped table against the published values, and the log's own."""

import csv
from pathlib import Path

import numpy as np
import pytest
from laying import codes, lines, log, pipe, place

from asbuilt.inputs.diameters import outside_diameters, published

PUBLISHED = Path(__file__).parents[1] / "data" / "published"
POINTS = pipe([0.0] * 3)


@pytest.mark.parametrize(
    ("file", "size", "outside", "sizes_in"),
    [("outside_diameters.csv", "size_in", "od_in", "in"), ("en545.csv", "dn", "od_mm", "mm")],
)
def test_every_published_diameter_and_no_other(file, size, outside, sizes_in):
    # Sources: AWWA C150/C151 (inches); ISO 2531 / EN 545 (millimetres); both from memory.
    with (PUBLISHED / file).open() as handle:
        expected = {float(row[size]): float(row[outside]) for row in csv.DictReader(handle)}
    table = published(sizes_in)
    assert {one: diameter for one, (diameter, _) in table.items()} == expected
    assert all(source.endswith("(from memory)") for _, source in table.values())


def test_diameters_are_metres_whatever_the_unit_of_sizes():
    # 12 in pipe is 13.20 in outside (C151), DN 300 is 326 mm (EN 545): near each other, and not the same.
    inches, millimetres = outside_diameters(np.array([12.0]), "in"), outside_diameters(np.array([300.0]), "mm")
    assert inches.outside_m[0] == pytest.approx(0.33528)
    assert millimetres.outside_m[0] == pytest.approx(0.326)


def test_a_size_that_stands_in_no_table_has_no_diameter():
    found = outside_diameters(np.array([13.0, np.nan, 1e9, 0.0]), "in")
    assert np.isnan(found.outside_m).all()
    assert found.source.null_count == 4


def test_the_logs_own_diameter_wins():
    found = outside_diameters(np.array([12.0, np.nan]), "in", np.array([12.75, 14.0]))
    np.testing.assert_allclose(found.outside_m, [12.75 * 0.0254, 14.0 * 0.0254])
    assert found.source.to_pylist() == ["the log", "the log"]


def test_the_log_carries_an_outside_diameter_with_its_unit():
    placement = place(lines(A=POINTS), log(POINTS, **{"O.D. (in)": ["13.2 in", "12.75", "", '13.2"', "0"]}))
    assert placement.inspections["outside_diameter"].tolist()[:2] == [13.2, 12.75]
    assert codes(placement) == ["field-unreadable"]
    fixed = place(lines(A=POINTS), log(POINTS), records={"fixed": {"outside_diameter": "12.75 in"}})
    assert fixed.inspections["outside_diameter"].tolist() == [12.75] * 5
