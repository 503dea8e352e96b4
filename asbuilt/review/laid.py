"""What was laid and how: lengths restrained and tested, quantities, and how well the survey closes."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.review.rows import known, least_and_most
from asbuilt.review.tables import Table, cell, number, on_its_page, plain_source
from asbuilt.schema import DOMAINS, LAYERS

if TYPE_CHECKING:
    from asbuilt.arrays import Floats
    from asbuilt.review.reading import Review, Route

_HIDDEN = {"route", "joint_uid", "from_distance", "to_distance", "named_by", "joints_unrestrained"}
_RESULTS = {
    "failed-retested": "failed, passed when repeated", "below-required": "below what the job requires",
    "below-retested": "below what the job requires, passed when repeated", "not-judged": "not judged",
    "untested": "under no test",
}  # fmt: skip
_UNIT_BESIDE = {"pressure": "pressure_unit", "allowance": "water_unit", "makeup": "water_unit"}
"""Columns whose unit stands in another one."""
_RESTRAINT_NOTE = "Horizontal length: on the ground along the route, from station to station."
_TEST_NOTE = (
    "Horizontal length: on the ground along the route, from station to station; grades add nothing to it. Allowance: "
    "L = S D sqrt(P) / 148,000 in US gallons an hour, times the hours of the test, for each size with the horizontal "
    "length S of it in ft, its nominal diameter D in inches, and the average pressure P of the test in psi, carried "
    f"over to the units shown; by {plain_source('AWWA C600 (from memory)')}; the project's specification governs."
)
_ACCURACIES = {
    "sigma_horizontal": "Standard error of a joint's horizontal position",
    "accuracy_horizontal": "Horizontal accuracy at 95 %",
    "accuracy_vertical": "Vertical accuracy at 95 %",
}


def has_test(route: Route) -> bool:
    """Say whether the file holds a pressure test of any part of a route."""
    return any(result != "untested" for result in route.lengths["pressure_tests"]["result"].tolist())


def length_tables(review: Review, route: Route) -> list[Table]:
    """Show the restrained lengths and pressure tests of a route, where the file has them."""
    captions = {
        "restraint": "Lengths that the design wants restrained",
        "pressure_tests": "Pressure tests, and lengths under no test",
    }
    tables = []
    for layer, on_file in route.lengths.items():
        if not len(on_file):
            continue
        some = on_file
        if "message" in some:
            # Result, allowance and make-up water say the same, but where a test could not be judged.
            said = some["message"].copy()
            said[some["result"] != "not-judged"] = None
            some = some.plus(message=said)
        hidden = _HIDDEN | set(_UNIT_BESIDE.values())
        names = [name for name in some.names if name not in hidden and known(some[name]).any()]
        symbol = units.SYMBOLS[route.station_unit]
        titles = [f"Horizontal length, {symbol}" if name == "length" else LAYERS[layer].columns[name].title
                  for name in names]  # fmt: skip
        records = some.records()
        rows = [[_with_unit(row, name) for name in names] for row in records]
        numeric = [at for at, name in enumerate(names) if some[name].dtype.kind in "fi"]
        if layer == "restraint":
            titles += ["Recorded as restrained", "Not recorded as restrained"]
            rows = [row + _restrained_and_not(route, length) for row, length in zip(rows, records, strict=True)]
        note = _TEST_NOTE if layer == "pressure_tests" else _RESTRAINT_NOTE
        tables.append(
            Table(layer, captions[layer], tuple(titles), rows, numeric=tuple(numeric), note=note)
        )  # fmt: skip
    return tables


def _with_unit(row: dict[Any, Any], name: str) -> str:
    if name == "result":
        return _RESULTS.get(str(row[name]), cell(row[name]))
    if name == "length":
        return number(row[name], 2)
    unit = cell(row.get(_UNIT_BESIDE.get(name, "")))
    return f"{cell(row[name])} {unit}".strip() if cell(row[name]) else ""


def _restrained_and_not(route: Route, length: dict[Any, Any]) -> list[str]:
    """Name the joints of a length: those recorded as restrained, and the others with their stations."""
    joints = route.joints
    # Placing takes joints at the ends with it by the tolerance of a station; how many there are, the layer says.
    start, end = length["from_distance"], length["to_distance"]
    beyond = np.maximum(start - joints["distance"], joints["distance"] - end)
    inside = joints.take(np.sort(np.argsort(beyond, kind="stable")[: int(length["joints"])]))
    told = list(zip(*(inside[name].tolist() for name in ("joint", "station", "restrained", "joint_type")), strict=True))
    held = [yes == "yes" or (kind or "").startswith("restrained") for *_, yes, kind in told]
    free = [f"{joint} ({at})" for (joint, at, *_), one in zip(told, held, strict=True) if not one]
    return [", ".join(joint for (joint, *_), one in zip(told, held, strict=True) if one), ", ".join(free)]


def quantities(review: Review, route: Route) -> Table:
    """Count joints and lengths laid, by size and joint type."""
    joints, segments = route.joints, route.segments
    back = review.run["pipe"] == "back"
    place = {name: at for at, name in enumerate(joints["joint"].tolist())}
    symbol, scale = units.SYMBOLS[route.station_unit], route.scale
    kinds = [(number(size, 0) or "?", kind or "unknown type")
             for size, kind in zip(joints["size"].tolist(), joints["joint_type"].tolist(), strict=True)]  # fmt: skip
    by_kind = {kind: np.zeros(5) for kind in kinds}
    for kind in kinds:
        by_kind[kind][0] += 1
    pieces = segments["to_joint" if back else "from_joint"].tolist()
    lengths, logged = segments["length"] / scale, segments["laid_length"] / scale
    told = np.column_stack(
        [np.zeros(len(lengths)), np.ones(len(lengths)), lengths, np.nan_to_num(logged), known(logged)]
    )
    for name, one in zip(pieces, told, strict=True):
        by_kind[kinds[place[name]]] += one
    rows = [
        [f"{size} {route.size_unit}", kind, *_laid_cells(many)]
        for (size, kind), many in sorted(by_kind.items(), key=lambda item: (item[0][0].rjust(8), item[0][1]))
    ]
    rows.append(["All", "", *_laid_cells(np.sum(list(by_kind.values()), axis=0))])
    return Table(
        "quantities", "Laid, by size and joint type",
        ("Size", "Joint type", "Joints", "Lengths", f"Surveyed length, {symbol}", f"Logged length, {symbol}"), rows,
        numeric=(2, 3, 4, 5),
        note="Surveyed length: the straights between joints, in space; each counts with the joint whose record "
        f"describes its pipe ({'back' if back else 'ahead'} of the joint). Joints missing from the log lengthen a "
        "straight; pipe beyond the first and the last joint is not in it. Logged length: the sum of those lengths "
        "whose record says how long it is.",
    )  # fmt: skip


def _laid_cells(many: Floats) -> list[str]:
    """Write joints, lengths, and how long they are by the survey and by those records that say so."""
    joints, lengths, surveyed, logged, said = many
    told = f"{logged:,.2f}" if said == lengths else f"{logged:,.2f} ({said:.0f} of {lengths:.0f} logged)"
    return [f"{joints:.0f}", f"{lengths:.0f}", f"{surveyed:,.2f}", told if said else "not logged"]


def survey_table(review: Review, route: Route) -> Table:
    """Say how well the survey closes, and how well the joints' places are known."""
    joints, segments = route.joints, route.segments
    symbol = units.SYMBOLS[route.unit]
    rows = [["Centerline's system", str(review.run["crs"])], ["Map's system", str(review.run["output_crs"])],
            ["Carried over by", str(review.run["datum_step"])]]  # fmt: skip
    for source, count in Counter(joints["position_source"].tolist()).most_common():
        rows.append([f"Joints: {DOMAINS['position_source'].get(str(source), str(source)).lower()}", str(count)])
    compared = segments.take(known(segments["difference"]))
    whole = np.abs(compared["difference"]) <= 0.5 * compared["laid_length"]
    difference = compared["difference"][whole]
    if len(difference):
        rms = float(np.sqrt((difference**2).mean()))
        left_out = f", {(~whole).sum()} left out as more than half a length off" if (~whole).any() else ""
        rows.append(["Surveyed less logged length: lengths compared", f"{len(difference)}{left_out}"])
        rows.append(["Surveyed less logged length: in all", f"{difference.sum():+.2f} {symbol}"])
        rows.append(["Surveyed less logged length: middle one", f"{np.median(difference):+.3f} {symbol}"])
        rows.append(["Surveyed less logged length: root mean square", f"{rms:.3f} {symbol}"])
    for name, words in _ACCURACIES.items():
        some = int(known(joints[name]).sum())
        ends = list(dict.fromkeys(f"{one:.3f}" for one in least_and_most(joints[name])))
        said = f"{' to '.join(ends)} {symbol}" if some else "not known"
        said += f" ({len(joints) - some} joints not known)" if 0 < some < len(joints) else ""
        rows.append([words, said])
    stated = np.any([known(joints[name]) for name in _ACCURACIES], axis=0)
    sources = zip(stated.tolist(), joints["accuracy_source"].tolist(), strict=True)
    for (any_stated, source), count in Counter(one for one in sources if one[1]).most_common():
        rows.append([f"Accuracy {'found by' if any_stated else 'not known'}: {source}", f"{count} joints"])
    rows += _closures(review, route)
    rows += [
        ["Note on the route" if note.routes else "Note on the job", on_its_page(file_only(note.text), route.name)]
        for note in review.notes_on(route)
    ]
    return Table("survey", "Survey: closure and accuracy", ("What", "Value"), rows)


def _closures(review: Review, route: Route) -> list[list[str]]:
    """Say how each interval between two ties of a route closes."""
    symbol = units.SYMBOLS[route.station_unit]
    ties = review.run["counts"]["ties"]
    return [
        [
            f"Closure from {file_only(tie['from'])} to {file_only(tie['to'])}, {tie['length']:,.2f} {symbol}",
            f"{tie['closure']:+.3f} {symbol}, {tie['closure_ppm']:+.0f} parts per million",
        ]
        for tie in ties
        if tie["route"] == route.name
    ]


def file_only(text: str) -> str:
    """Leave the folders out of a text that begins with the whole path of a file.

    Examples
    --------
    >>> file_only("/jobs/sawmill court/ties.csv: row 2"), file_only("AWWA C150/C151: 8 joints")
    ('ties.csv: row 2', 'AWWA C150/C151: 8 joints')
    """
    return re.sub(r"^(?:[A-Za-z]:)?[\\/][^:]*[\\/](?=[^\\/:]+:)", "", text)
