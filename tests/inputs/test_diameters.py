"""Outside diameters: the shipped table against the published values, and the log's own."""

import csv
import math
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from laying import codes, lines, log, pipe, place

from asbuilt.inputs.diameters import outside_diameters, published
from asbuilt.inputs.pipe import CAST_IRON, IRON_PIPE, NOT_SAID, sizes_of

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


IRON_PIPE_IN = {4: 4.5, 6: 6.625, 8: 8.625, 10: 10.75, 12: 12.75, 14: 14.0, 16: 16.0, 20: 20.0, 24: 24.0, 36: 36.0}
"""Outside diameters of pipe in iron pipe sizes, inches. Source: ASME B36.10M; from memory."""


def test_pipe_in_iron_pipe_sizes_has_other_diameters_than_ductile_iron():
    size = np.array([*IRON_PIPE_IN], dtype=float)
    found = outside_diameters(size, "in", None, pa.array([IRON_PIPE] * len(size)))
    np.testing.assert_allclose(found.outside_m / 0.0254, [*IRON_PIPE_IN.values()])
    assert set(found.source.to_pylist()) == {
        "ASTM D2241 and ASME B36.10M, outside diameter of pipe in iron pipe sizes (from memory)"
    }


def test_pvc_in_cast_iron_sizes_has_the_diameters_of_ductile_iron():
    # AWWA C900 takes its outside diameters from cast iron, 4 to 60 in; from memory.
    iron, pvc = published("in"), published("in", CAST_IRON)
    assert {size: row[0] for size, row in pvc.items()} == {s: row[0] for s, row in iron.items() if 4 <= s <= 60}
    assert not published("mm", CAST_IRON)


MADE_OF = {
    "C900 DR 18": CAST_IRON, "AWWA C-900": CAST_IRON, "PVC C909": CAST_IRON, "PVC CIOD DR25": CAST_IRON,
    "HDPE DR11 DIPS": CAST_IRON, "PVC (C.I.O.D.)": CAST_IRON, "PVC SDR 21 IPS": IRON_PIPE, "PVC D2241": IRON_PIPE,
    "HDPE IPS DR 11": IRON_PIPE, "PVC": NOT_SAID, "PVC DR18": NOT_SAID, "SDR 26": NOT_SAID, "uPVC": NOT_SAID,
    "C905": NOT_SAID, "HDPE": NOT_SAID, "PE 100": NOT_SAID, "Steel": NOT_SAID, "steel pipe": NOT_SAID,
    '12" PVC': NOT_SAID,
    "DIP": "", "DI CL 350": "", "Class 52": "", "PC 350": "", "K9": "", "CL350 zinc, polyethylene encased": "",
    "DIP w/ polyethylene wrap": "", "12": "", "": "", "pipe": "", "22.5 bend": "", "steel coupling": "",
    "Ductile iron": "", "MJ DI tee x PVC": "", "cement lined": "", "CIP": "",
}  # fmt: skip
"""Cells as logs have them, and whose diameters the pipe has; common practice, no source."""


@pytest.mark.parametrize(("text", "sizes"), MADE_OF.items())
def test_what_a_cell_says_of_the_pipe(text, sizes):
    assert sizes_of(text) == sizes


def tilted(turn_deg, outside_in):
    """Give gaps around pipe that deflects to the right, each pushed home a little otherwise: the closed form."""
    half, mean = outside_in / 2 * math.tan(math.radians(turn_deg)), 1.9 + 0.03 * np.arange(len(POINTS))
    around = {12: 0, 3: -1, 6: 0, 9: 1}
    return {f"gap {hour}": [f"{one:.4f}" for one in mean + part * half] for hour, part in around.items()}


@pytest.mark.parametrize(
    ("column", "text", "job", "outside"),
    [("class", "C900 DR 18", {}, 13.20), ("Material", "PVC IPS", {}, 12.75), ("class", "PVC DR 18", {}, None),
     ("class", "PVC DR 18", {"diameters": "ductile-iron"}, 13.20), ("class", "", {"diameters": "iron-pipe"}, 12.75),
     ("Pipe material", "PVC", {"diameters": "iron-pipe"}, 12.75), ("class", "CL 350", {}, 13.20),
     ("class", "PVC", {"fixed": {"outside_diameter": "12.75"}}, 12.75)],
)  # fmt: skip
def test_a_deflection_is_read_by_the_diameter_of_the_pipe_that_the_log_names_or_not_at_all(column, text, job, outside):
    # 12 in: 13.20 in cast-iron sizes (AWWA C151, C900), 12.75 in iron pipe sizes (ASME B36.10M); from memory.
    records = log(POINTS).assign(**{column: text}, **tilted(2.0, outside or 13.20))
    placement = place(lines(A=POINTS), records, records=job)
    measured = placement.joints["measured_deg"].to_numpy()
    if outside is None:
        assert np.isnan(measured).all()
        assert 'records.diameters = "ductile-iron"' in " ".join(one.text for one in placement.notes)
    else:
        np.testing.assert_allclose(measured, 2.0, atol=1e-3)


def test_no_allowable_of_ductile_iron_is_taken_for_other_pipe():
    iron, pvc = log(POINTS), log(POINTS).assign(Material="PVC C900")
    assert set(place(lines(A=POINTS), iron).joints["allowable_deg"]) == {5.0}
    placement = place(lines(A=POINTS), pvc)
    assert placement.joints["allowable_deg"].isna().all()
    missing = placement.findings[placement.findings["code"] == "allowable-missing"]
    assert missing["message"].str.contains("12 in of pipe that is not of ductile iron").all()
    assert len(missing) == len(POINTS) - 2


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
