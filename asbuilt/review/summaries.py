"""The tables of the review: what stands against a route, and what lies behind it.

Every table is made of texts ready to be read; a row that is about one joint carries its number.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.inputs.allowables import families
from asbuilt.inputs.fields import EVIDENCE_FIELDS
from asbuilt.judging.findings import CHECKS
from asbuilt.review.curves import as_crews_read, find_curves, offset_of_length, radius_of_lengths
from asbuilt.review.look import MARKS, SEVERITIES
from asbuilt.review.reading import latest_records
from asbuilt.schema import DOMAINS, LAYERS, SURVEY_CODES

if TYPE_CHECKING:
    import pandas as pd

    from asbuilt.review.curves import Curves
    from asbuilt.review.reading import Review, Route

MOST_ROWS = 100
"""Beyond these, joints of which the survey cannot tell, and findings to check of one code, are counted, not listed:
the file has them all."""
_ACCURACIES = {
    "sigma_horizontal": "Standard error of a joint's horizontal position",
    "accuracy_horizontal": "Horizontal accuracy at 95 %",
    "accuracy_vertical": "Vertical accuracy at 95 %",
}
_STATES = ("complete", "incomplete", "failed", "none")
_HIDDEN = {"route", "joint_uid", "from_distance", "to_distance", "named_by", "joints_unrestrained"}
_RESULTS = {
    "failed-retested": "failed, passed when repeated", "not-judged": "not judged", "untested": "under no test",
}  # fmt: skip
_BOUNDS = ("deflection_floor", "deflection_ceiling")
_OF_A_LENGTH = ("restraint-missing",)
"""Findings whose message is of a length of the route, and the same for all its joints."""
_WITHOUT_ROUTE = ("route-unknown", "row-unreadable")
"""Reasons for which a record may have no route that could be told."""
_COUNTED = ("fields", "joints", "records")
_UNIT_BESIDE = {"pressure": "pressure_unit", "allowance": "water_unit", "makeup": "water_unit"}
"""Columns whose unit stands in another one."""


@dataclass(frozen=True)
class Table:
    """A table of a page: texts by row; `numeric` columns are set flush right."""

    name: str
    caption: str
    columns: tuple[str, ...]
    rows: list[list[str]]
    numeric: tuple[int, ...] = ()
    joints: list[int] | None = None
    """Number of the joint that each row is about, or -1."""
    verdict_column: int = -1
    note: str = ""
    count: int | None = None
    """How many things the rows tell of, where it is not one each."""
    none: str = "None."
    """What stands in place of an empty table."""


def attention(route: Route) -> Table:
    """List the joints over their allowable and those of which the survey cannot tell, worst first."""
    joints = route.joints
    asked = joints[joints["verdict"].isin(["over", "cannot-tell"])].copy()
    asked["worst"] = worst_deg(asked)
    asked["part"] = asked["worst"] / asked["allowable_deg"]
    asked["order"] = asked["verdict"] != "over"
    asked = asked.sort_values(["order", "part"], ascending=[True, False], kind="stable")
    unclear = int(asked["order"].sum())
    asked = asked.head(len(asked) - unclear + MOST_ROWS)
    cut = f"The worst {MOST_ROWS} of {unclear} unclear joints; the stretches below hold them all. "
    sources = list(dict.fromkeys(asked["allowable_source"].dropna()))
    letters = {source: _letter(number) for number, source in enumerate(sources)}
    asked["letter"] = asked["allowable_source"].map(letters)
    rows = [[text for _, text in _joint_cells(route, joint)] for joint in asked.to_dict("records")]
    columns = [title for title, _ in _joint_cells(route, joints.iloc[0].to_dict())]
    rests_on = "; ".join(f"{letter}: {source}" for source, letter in letters.items())
    symbol = units.SYMBOLS[route.station_unit]
    return Table(
        "attention", "Joints over their allowable, and joints that the survey cannot judge: worst first",
        tuple(columns), rows, numeric=(4, 5, 7, 8, 9), joints=asked.index.tolist(), verdict_column=2,
        note=f"{cut if unclear > MOST_ROWS else ''}Allowables rest on {rests_on}. "
        "Offset of the free end of a length, and radius of lengths laid so, for "
        f"{route.laying_length:.4g} {symbol} (the job's laying length), with the value at the allowable behind the "
        "stroke; between bounds, both are for the most that it can be, or at a joint that is over for the least. Of "
        "two bounds, the first is the least that the largest deflection of the joints sharing a turn can be, and the "
        "second the most that this joint can take.",
        none="No joint is over its allowable, and the survey settles every joint.",
    )  # fmt: skip


def worst_deg(joints: pd.DataFrame) -> pd.Series:
    """Give the deflection by which each joint stands: its own, the floor by which it is over, or else its ceiling."""
    found = joints["own_deflection_deg"].fillna(joints["deflection_floor_deg"].where(joints["verdict"] == "over"))
    return found.fillna(joints["deflection_ceiling_deg"])


def _joint_cells(route: Route, joint: dict[Any, Any]) -> list[tuple[str, str]]:
    worst = joint.get("worst", np.nan)
    length, symbol = route.laying_length, units.SYMBOLS[route.station_unit]
    offsets = [as_crews_read(float(offset_of_length(length, angle)), route.station_unit)
               for angle in (worst, joint["allowable_deg"])]  # fmt: skip
    radii = [_number(float(radius_of_lengths(length, angle)), 0) for angle in (worst, joint["allowable_deg"])]
    return [
        ("Station", joint["station"] or ""),
        ("Joint", joint["joint"] or ""),
        ("Verdict", joint["verdict"] or ""),
        ("Size and type", _size_and_type(route, joint["size"], joint["joint_type"])),
        ("Deflection, deg", deflection_words(joint)),
        ("Allowable, deg", _number(joint["allowable_deg"], 2)),
        ("Rests on", joint.get("letter") or ""),
        ("Remains, deg", _number(joint["allowable_deg"] - worst, 2)),
        ("Offset per length", " / ".join(text or "–" for text in offsets)),
        (f"Radius, {symbol}", " / ".join(text or "–" for text in radii)),
    ]


def _letter(number: int) -> str:
    """Name the sources of a table: a, b, ... z, then by number."""
    return chr(ord("a") + number) if number < 26 else str(number + 1)


def deflection_words(joint: dict[Any, Any]) -> str:
    """Say a joint's deflection, or its bounds, in a few words, degrees."""
    deflection, floor, ceiling = (joint[f"{name}_deg"] for name in ("own_deflection", *_BOUNDS))
    sigma = f" ± {joint['sigma_deg']:.2f}" if np.isfinite(joint["sigma_deg"]) else ""
    if joint["verdict"] == "not-computed":
        return ""
    if np.isfinite(deflection):
        return f"{deflection:.2f}{sigma}" + (" by readings" if joint["deflection_source"] == "readings" else "")
    if np.isfinite(floor) and np.isfinite(ceiling):
        return f"{floor:.2f} to {ceiling:.2f}"
    if np.isfinite(floor):
        return f"at least {floor:.2f}" if floor > 0 else "no bound"
    return f"at most {ceiling:.2f}" if np.isfinite(ceiling) else ""


def unclear_stretches(route: Route) -> Table:
    """List the stretches of successive joints of which the survey cannot tell, longest first."""
    joints = route.joints
    unclear = np.flatnonzero(joints["verdict"] == "cannot-tell")
    runs = [run for run in np.split(unclear, np.flatnonzero(np.diff(unclear) > 1) + 1) if len(run)]
    runs.sort(key=len, reverse=True)
    rows = []
    for run in runs:
        inside = joints.iloc[run]
        most = inside["own_deflection_deg"].fillna(inside["deflection_ceiling_deg"])
        bound = "no bound" if most.isna().any() else _number(most.max(), 2)
        rows.append(
            [inside["station"].iloc[0], inside["station"].iloc[-1], str(len(run)), bound,
             _number(inside["allowable_deg"].min(), 2)]
        )  # fmt: skip
    return Table(
        "unclear", "Stretches of successive joints that the survey cannot judge, longest first",
        ("From", "To", "Joints", "Most that one can take, deg", "Least allowable, deg"), rows, numeric=(2, 3, 4),
        joints=[int(run[0]) for run in runs],
        note="Shots or readings at the joints would settle them; each finding deflection-unclear "
        "says what would settle its joint.",
        none="The survey settles every joint.",
    )  # fmt: skip


def measured_words(joint: dict[Any, Any]) -> str:
    """Say the deflection measured at a joint in a few words, degrees."""
    if not np.isfinite(joint["measured_deg"]):
        return ""
    sigma = f" ± {joint['sigma_measured_deg']:.2f}" if np.isfinite(joint["sigma_measured_deg"]) else ""
    return f"{joint['measured_deg']:.2f}{sigma}"


def without_limit(route: Route) -> Table:
    """Count the joints that have no allowable on file, by size and type."""
    joints = route.joints[route.joints["verdict"] == "no-allowable"]
    rows, first = [], []
    grouped: Any = joints.groupby([joints["size"], joints["joint_type"].fillna("")], dropna=False, sort=True)
    for kind, group in grouped:
        drawn = group["own_deflection_deg"].fillna(group["deflection_ceiling_deg"])
        stations = f"{group['station'].iloc[0]} to {group['station'].iloc[-1]}"
        rows.append([_size_and_type(route, *kind), str(len(group)), stations, _number(drawn.max(), 2)])
        first.append(int(group.index[0]))
    return Table(
        "without-limit", "Joints without an allowable on file, by size and type",
        ("Size and type", "Joints", "Between stations", "Largest deflection, deg"), rows, numeric=(1, 3),
        note="Bring their allowable from the approved submittal, and place the job again.",
        none="Every joint's allowable is on file.",
    )  # fmt: skip


def finding_tables(route: Route) -> list[tuple[str, str, Table]]:
    """Make a table of each kind of finding: its severity, what it means, and where it was found."""
    known = [check.code for check in CHECKS]
    found = route.findings
    codes = sorted(found["code"].unique(), key=lambda code: known.index(code) if code in known else len(known))
    severity = dict(zip(found["code"], found["severity"], strict=True))
    # The survey first: a pipe is blamed by what was shot of it.
    codes.sort(key=lambda code: (code not in SURVEY_CODES, list(SEVERITIES).index(severity[code])))
    return [
        (severity[code], code, _finding_table(code, found[found["code"] == code], all_of_them=severity[code] == "act"))
        for code in codes
    ]


def _finding_table(code: str, found: pd.DataFrame, *, all_of_them: bool) -> Table:
    every = _gathered(found.astype(object).where(found.notna(), None).to_dict("records"), apart=code in _OF_A_LENGTH)
    gathered = every if all_of_them else every[:MOST_ROWS]
    rows = [
        [_from_to(run, "station"), run[0].get("point") or "", _joints_of(run),
         run[0]["message"] or "", _measured(run[0]["value"], run[0]["unit"]),
         _measured(run[0]["limit"], run[0]["unit"]), run[0]["basis"] or ""]
        for run in gathered
    ]  # fmt: skip
    listed = sum(map(len, gathered))
    return _without_blanks(
        f"finding-{code}", f"{code}: {DOMAINS['finding_code'].get(code, '')}",
        ("Station", "Shot", "Joint", "What was found", "Value", "Limit", "Rests on"), rows, (4, 5),
        joints=[run[0]["at"] for run in gathered],
        note=f"The first {listed} of {len(found)}; layer findings has them all." if listed < len(found) else "",
        count=len(found),
    )  # fmt: skip


def _gathered(found: Sequence[dict[Any, Any]], *, apart: bool) -> list[list[dict[Any, Any]]]:
    """Gather what is said alike of successive joints; where it is said of a length, of all its joints `apart`, too."""
    runs: list[list[dict[Any, Any]]] = []
    last_said: dict[tuple[Any, ...], list[dict[Any, Any]]] = {}
    for one in found:
        said = tuple(one[name] for name in ("message", "basis", "value", "limit"))
        run = last_said.get(said)
        if run is not None and one["at"] >= 0 and (apart or one["at"] == run[-1]["at"] + 1):
            run.append(one)
        else:
            last_said[said] = [one]
            runs.append(last_said[said])
    return runs


def _joints_of(run: Sequence[dict[Any, Any]]) -> str:
    """Name the joints of a row, successive ones by the first and the last."""
    breaks = [at for at in range(1, len(run)) if run[at]["at"] != run[at - 1]["at"] + 1]
    edges = zip([0, *breaks], [*breaks, len(run)], strict=True)
    named = ", ".join(_from_to(run[start:end], "joint") for start, end in edges)
    return f"{named} ({len(run)} joints)" if len(run) > 1 else named


def _from_to(run: Sequence[dict[Any, Any]], name: str) -> str:
    first, last = run[0][name] or "", run[-1][name] or ""
    return f"{first} to {last}" if len(run) > 1 else first


def _without_blanks(
    name: str, caption: str, columns: Sequence[str], rows: list[list[str]], numeric: Sequence[int], **more: Any
) -> Table:
    """Make a table without the columns that are blank all the way down."""
    kept = [at for at in range(len(columns)) if at == 0 or any(row[at] for row in rows)]
    flush = tuple(new for new, at in enumerate(kept) if at in numeric)
    return Table(name, caption, tuple(columns[at] for at in kept), [[row[at] for at in kept] for row in rows],
                 numeric=flush, **more)  # fmt: skip


def curve_table(route: Route) -> Table:
    """List the curves laid by deflection, with the radius achieved against the least that their joints allow."""
    rows, firsts = [], []
    symbol = units.SYMBOLS[route.station_unit]
    for plane, found in route_curves(route).items():
        for curve in zip(*found, strict=True):
            rows.append(_curve_cells(route, plane, *curve))
            firsts.append(int(curve[0]))
    order = np.argsort(firsts, kind="stable")
    return Table(
        "curves", "Curves laid by deflection",
        ("From", "To", "Turns", "Joints", "Turn in all, deg", f"Radius achieved, {symbol}",
         f"Least radius allowed, {symbol}", "Largest deflection, deg", "Compared"),
        [rows[at] for at in order], numeric=(3, 4, 5, 6, 7), joints=[firsts[at] for at in order],
        note="A run of four or more turns one way, of at least 0.25 degrees (or two standard errors) each and 3 "
        "degrees in all, without a fitting. Radius achieved: of the circle that touches the middles of the straights, "
        "by their mean length and turn (between sparse shots, without the outermost turns). Least radius: "
        "L / (2 tan(allowable / 2)) at the laying length. A radius that is wide enough on the whole does not clear a "
        "joint that is over.",
        none="No stretch turns one way far enough to be called a curve.",
    )  # fmt: skip


def route_curves(route: Route) -> dict[str, Curves]:
    """Find the curves of a route in plan and in profile; lengths in station units."""
    joints = route.joints
    bend = np.isfinite(joints["bend_angle_deg"].to_numpy())
    shared = ~joints["deflection_source"].isin(["survey", "survey-and-readings"]).to_numpy()
    distance, sigma = joints["distance"].to_numpy() / route.scale, joints["sigma_deg"].to_numpy()
    return {
        plane: find_curves(distance, joints[f"turn_{plane}_deg"].to_numpy(), sigma, shared, bend)
        for plane in ("horizontal", "vertical")
    }


def _curve_cells(
    route: Route, plane: str, first: int, last: int, turns: int, total: float, spacing: float, radius: float
) -> list[str]:
    del turns, spacing
    inside = route.joints.iloc[first : last + 1]
    ways = ("to the right", "to the left") if plane == "horizontal" else ("upward", "downward")
    least = float(radius_of_lengths(route.laying_length, inside["allowable_deg"].min()))
    if not np.isfinite(least):
        compared = "no allowable on file"
    else:
        compared = "tighter than the least radius" if radius < least else "wider than the least radius"
        if not radius < least and inside["own_deflection_deg"].isna().any():
            compared = "not tighter on the whole; the shots do not tell of each joint"
    over = int((inside["verdict"] == "over").sum())
    # Ceilings are no deflections, and a mean hides the largest: only joints that were measured count.
    largest = inside["own_deflection_deg"].max()
    return [
        inside["station"].iloc[0], inside["station"].iloc[-1], ways[int(total < 0)], str(len(inside)),
        _number(abs(total), 1), _number(radius, 0), _number(least, 0), _number(largest, 2),
        compared + (f"; {over} of its joints over" if over else ""),
    ]  # fmt: skip


def length_tables(review: Review, route: Route) -> list[Table]:
    """Show the restrained lengths and pressure tests of a route, where the file has them."""
    captions = {
        "restraint": "Lengths that the design wants restrained",
        "pressure_tests": "Pressure tests, and lengths under no test",
    }
    tables = []
    for layer, frame in route.lengths.items():
        if frame.empty:
            continue
        if "message" in frame:
            # Result, allowance and make-up water say the same, but where a test could not be judged.
            frame = frame.assign(message=frame["message"].where(frame["result"] == "not-judged"))
        hidden = _HIDDEN | set(_UNIT_BESIDE.values())
        names = [name for name in frame.columns if name not in hidden and frame[name].notna().any()]
        symbol = units.SYMBOLS[route.station_unit]
        titles = [LAYERS[layer].columns[name].title + (f", {symbol}" if name == "length" else "") for name in names]
        records = frame.to_dict("records")
        rows = [[_with_unit(row, name) for name in names] for row in records]
        numeric = [at for at, name in enumerate(names) if frame[name].dtype.kind in "fi"]
        if layer == "restraint":
            titles += ["Recorded as restrained", "Not recorded as restrained"]
            rows = [row + _restrained_and_not(route, length) for row, length in zip(rows, records, strict=True)]
        note = "Allowances by AWWA C600 (from memory); the project's specification governs."
        tables.append(
            Table(layer, captions[layer], tuple(titles), rows, numeric=tuple(numeric),
                  note=note if layer == "pressure_tests" else "")
        )  # fmt: skip
    return tables


def _with_unit(row: dict[Any, Any], name: str) -> str:
    if name == "result":
        return _RESULTS.get(str(row[name]), _cell(row[name]))
    unit = _cell(row.get(_UNIT_BESIDE.get(name, "")))
    return f"{_cell(row[name])} {unit}".strip() if _cell(row[name]) else ""


def _restrained_and_not(route: Route, length: dict[Any, Any]) -> list[str]:
    """Name the joints of a length: those recorded as restrained, and the others with their stations."""
    joints = route.joints
    start, end = length["from_distance"] - 1e-6, length["to_distance"] + 1e-6
    inside = joints[(joints["distance"] >= start) & (joints["distance"] <= end)]
    held = inside["restrained"] == "yes"
    free = [f"{joint} ({at})" for joint, at in zip(inside["joint"][~held], inside["station"][~held], strict=True)]
    return [", ".join(inside["joint"][held]), ", ".join(free)]


def inspection_tables(review: Review, route: Route) -> list[Table]:
    """Say how complete the inspection is: by field of the log, by crew, and by date."""
    return [
        _by_field(review, route),
        _by_group(route, "crew", "Inspection by crew", "Crew"),
        _by_group(route, "inspected_on", "Inspection by date", "Inspected on"),
    ]


class Photos(NamedTuple):
    """The photos of one joint that were found: each with its name, and its address where it still is."""

    joint: str
    files: list[tuple[str, str | None]]


def photos(review: Review, route: Route) -> list[Photos]:
    """List the photos found for the joints of a route, looked for from the placed file's folder."""
    records = route.inspections
    if "photo_files" not in records:
        return []
    folder = review.path.resolve().parent
    said = records.dropna(subset=["photo_files"])
    return [
        Photos(str(joint), [(Path(one).name, _address(folder / one)) for one in str(files).split("; ")])
        for joint, files in zip(said["joint"], said["photo_files"], strict=True)
    ]


def _address(path: Path) -> str | None:
    return path.resolve().as_uri() if path.is_file() else None


def _by_field(review: Review, route: Route) -> Table:
    records = route.inspections
    rows = []
    about = LAYERS["inspections"].columns
    asked = ("inspector", "inspected_on", "crew", *EVIDENCE_FIELDS, *_gap_fields("gap"), *_gap_fields("gauge"), "photo")
    lacking = _required_and_blank(review, route)
    for field in dict.fromkeys((*asked, *lacking)):
        if field not in records and field not in lacking:
            continue
        cells = records.reindex(columns=[field])[field]
        given = int((cells.notna() & (cells != "")).sum())
        judged = about[field].domain == "yes_no"
        passed, failed = (str((cells == value).sum()) if judged else "" for value in ("yes", "no"))
        required = ["not required", "", ""]
        if field in lacking:
            joints, blank = lacking[field]
            required = [str(joints), str(blank), f"{math.floor(100 * (joints - blank) / joints)} %"]
        # The page gives no temperature, so the layer's unit would only mislead.
        title = about[field].title.removesuffix(" (F)")
        rows.append([title, str(given), passed, failed, *required])
    return Table(
        "by-field", f"Inspection by field: {len(records)} records of {len(route.joints)} joints",
        ("Field", "Recorded", "Passed", "Failed", "Required at", "Blank there", "Complete"), rows,
        numeric=(1, 2, 3, 4, 5, 6),
        note="Recorded, passed and failed count every record, those of a joint inspected again too. Required at: the "
        "joints at which the job requires the field; blank there: those of them whose latest record lacks it; "
        "complete: the others, as a part. Fields that no log has, and the job does not require, are left out.",
    )  # fmt: skip


def _required_and_blank(review: Review, route: Route) -> dict[str, tuple[int, int]]:
    """Count for each required field the joints at which it is required, and those of them whose record lacks it."""
    import pyarrow as pa

    joints = route.joints
    last = latest_records(route.inspections).reindex(joints["joint_uid"])
    family = families(*(pa.array(joints[name], pa.string(), from_pandas=True) for name in ("joint_type", "restrained")))
    told = {}
    for field, families_of in review.required.items():
        where = np.array([one in families_of for one in family.to_pylist()], dtype=np.bool_)
        blank = last[field].isna().to_numpy() | (last[field] == "").to_numpy() if field in last else where
        if where.any():
            told[field] = (int(where.sum()), int((blank & where).sum()))
    return told


def _gap_fields(field: str) -> list[str]:
    return [f"{field}_{hour}" for hour in (12, *range(1, 12))]


def _by_group(route: Route, field: str, caption: str, title: str) -> Table:
    joints = route.joints
    if field not in joints or joints[field].isna().all():
        return Table(field, caption, (title,), [], none=f"The log does not say: {title.lower()}.")
    key = joints[field].map(_cell).fillna("").replace("", "not recorded")
    rows = []
    for name, group in joints.groupby(key, sort=True):
        counts = group["inspection"].value_counts()
        share = 100 * counts.get("complete", 0) / len(group)
        rows.append([str(name), str(len(group)), *(str(counts.get(state, 0)) for state in _STATES), f"{share:.0f} %"])
    return Table(
        field, caption, (title, "Joints", *(state.capitalize() for state in _STATES), "Complete, part"), rows,
        numeric=(1, 2, 3, 4, 5, 6),
    )  # fmt: skip


def quantities(review: Review, route: Route) -> Table:
    """Count joints and lengths laid, by size and joint type."""
    joints, segments = route.joints, route.segments
    back = review.run["pipe"] == "back"
    place = dict(zip(joints["joint"], joints.index, strict=True))
    piece = segments["to_joint" if back else "from_joint"].map(place)
    symbol, scale = units.SYMBOLS[route.station_unit], route.scale
    kinds = [(_number(size, 0) or "?", kind or "unknown type")
             for size, kind in zip(joints["size"], joints["joint_type"], strict=True)]  # fmt: skip
    by_kind: dict[tuple[str, str], list[float]] = {}
    for kind in kinds:
        by_kind.setdefault(kind, [0, 0, 0.0, 0.0])[0] += 1
    laid = segments["laid_length"].fillna(0.0) / scale
    for at, length, logged in zip(piece, segments["length"] / scale, laid, strict=True):
        total = by_kind[kinds[int(at)]]
        total[1] += 1
        total[2] += length
        total[3] += logged
    rows = [
        [f"{size} {route.size_unit}", kind, f"{many[0]:.0f}", f"{many[1]:.0f}", f"{many[2]:,.2f}", f"{many[3]:,.2f}"]
        for (size, kind), many in sorted(by_kind.items(), key=lambda item: (item[0][0].rjust(8), item[0][1]))
    ]
    total = np.sum(list(by_kind.values()), axis=0)
    rows.append(["All", "", f"{total[0]:.0f}", f"{total[1]:.0f}", f"{total[2]:,.2f}", f"{total[3]:,.2f}"])
    return Table(
        "quantities", "Laid, by size and joint type",
        ("Size", "Joint type", "Joints", "Lengths", f"Surveyed length, {symbol}", f"Logged length, {symbol}"), rows,
        numeric=(2, 3, 4, 5),
        note="Surveyed length: the straights between joints, in space; each counts with the joint whose record "
        f"describes its pipe ({'back' if back else 'ahead'} of the joint). Joints missing from the log lengthen a "
        "straight; pipe beyond the first and the last joint is not in it.",
    )  # fmt: skip


def survey_table(review: Review, route: Route) -> Table:
    """Say how well the survey closes, and how well the joints' places are known."""
    joints, segments = route.joints, route.segments
    symbol = units.SYMBOLS[route.unit]
    rows = [["Centerline's system", str(review.run["crs"])], ["Map's system", str(review.run["output_crs"])],
            ["Carried over by", str(review.run["datum_step"])]]  # fmt: skip
    for source, count in joints["position_source"].value_counts().items():
        rows.append([f"Joints: {DOMAINS['position_source'].get(str(source), str(source)).lower()}", str(count)])
    compared = segments.dropna(subset=["difference"])
    whole = compared["difference"].abs() <= 0.5 * compared["laid_length"]
    difference = compared.loc[whole, "difference"]
    if len(difference):
        rms = float(np.sqrt((difference**2).mean()))
        left_out = f", {(~whole).sum()} left out as more than half a length off" if (~whole).any() else ""
        rows.append(["Surveyed less logged length: lengths compared", f"{len(difference)}{left_out}"])
        rows.append(["Surveyed less logged length: in all", f"{difference.sum():+.2f} {symbol}"])
        rows.append(["Surveyed less logged length: middle one", f"{difference.median():+.3f} {symbol}"])
        rows.append(["Surveyed less logged length: root mean square", f"{rms:.3f} {symbol}"])
    for name, words in _ACCURACIES.items():
        known = joints[name].dropna()
        said = f"{known.min():.3f} to {known.max():.3f} {symbol}" if len(known) else "not known"
        rows.append([words, said])
    for source, count in joints["accuracy_source"].value_counts().items():
        rows.append([f"Accuracy found by: {source}", f"{count} joints"])
    rows += _closures(review, route)
    rows += [["Note on the job", _file_only(note.text)] for note in review.notes]
    return Table("survey", "Survey: closure and accuracy", ("What", "Value"), rows)


def _closures(review: Review, route: Route) -> list[list[str]]:
    """Say how each interval between two ties of a route closes."""
    symbol = units.SYMBOLS[route.station_unit]
    ties = review.run["counts"]["ties"]
    return [
        [
            f"Closure from {_file_only(tie['from'])} to {_file_only(tie['to'])}, {tie['length']:,.2f} {symbol}",
            f"{tie['closure']:+.3f} {symbol}, {tie['closure_ppm']:+.0f} parts per million",
        ]
        for tie in ties
        if tie["route"] == route.name
    ]


def rests_on(review: Review) -> list[str]:
    """Give the run's notes on what all verdicts rest on: they belong beside the verdicts, not behind them."""
    return [_file_only(note.text) for note in review.notes if note.about == "verdicts"]


def design_only(review: Review) -> bool:
    """Say whether the joints lie on a design, and nothing was surveyed."""
    return any(note.code == "line-drawn" for note in review.notes)


def _file_only(text: str) -> str:
    """Leave the folders out of a text that begins with the whole path of a file.

    Examples
    --------
    >>> _file_only("/jobs/sawmill court/ties.csv: row 2"), _file_only("AWWA C150/C151: 8 joints")
    ('ties.csv: row 2', 'AWWA C150/C151: 8 joints')
    """
    return re.sub(r"^(?:[A-Za-z]:)?[\\/][^:]*[\\/](?=[^\\/:]+:)", "", text)


def set_aside_on(review: Review, route: Route) -> Table:
    """List the records that name a route, or can be of no other one, and could not be placed on it."""
    named = review.set_aside["route"]
    here = (named == route.name).to_numpy()
    nowhere = int((~here & review.set_aside["reason"].isin(_WITHOUT_ROUTE).to_numpy()).sum())
    found = _set_aside(review.set_aside[here], f"Records of route {route.name} that could not be placed")
    if not nowhere:
        return found
    many = "1 more record of the job names" if nowhere == 1 else f"{nowhere} more records of the job name"
    also = f"{many} no route of the centerline, and may belong here; the index lists all that were not placed."
    return replace(found, note=f"{found.note} {also}".strip(), none=f"Every record that names it was placed. {also}")


def set_aside_table(review: Review) -> Table:
    """List the records of the job that could not be placed."""
    return _set_aside(review.set_aside, "Records of the job that could not be placed, on any route")


def _set_aside(frame: pd.DataFrame, caption: str) -> Table:
    rows = [
        [_cell(one["file"]), _cell(one["row"]), _cell(one["joint"]),
         DOMAINS["set_aside_reason"].get(str(one["reason"]), str(one["reason"])), _cell(one["message"])]
        for one in frame.head(MOST_ROWS).to_dict("records")
    ]  # fmt: skip
    more = len(frame) - MOST_ROWS
    return Table(
        "set-aside", caption, ("File", "Row", "Joint", "Reason", "Message"), rows, numeric=(1,),
        note=f"The first {MOST_ROWS} of {len(frame)}; layer set_aside has them all." if more > 0 else "",
        count=len(frame), none="Every record was placed.",
    )  # fmt: skip


def counts(route: Route) -> dict[str, Any]:
    """Count a route's joints by verdict and its findings by severity and code."""
    verdicts = route.joints["verdict"].value_counts()
    severities = route.findings["severity"].value_counts()
    return {
        "joints": len(route.joints),
        "joints_by_verdict": {name: int(verdicts[name]) for name in MARKS if name in verdicts},
        "findings": len(route.findings),
        "findings_by_severity": {name: int(severities[name]) for name in SEVERITIES if name in severities},
        "findings_by_code": {str(code): int(n) for code, n in route.findings["code"].value_counts().items()},
        "curves": sum(len(found.first) for found in route_curves(route).values()),
    }


def _size_and_type(route: Route, size: float, kind: str | None) -> str:
    return f"{_number(size, 0)} {route.size_unit} {kind or ''}".strip() if np.isfinite(size) else kind or "unknown"


def _measured(value: float | None, unit: str | None) -> str:
    if value is None or not np.isfinite(value):
        return ""
    one = value == 1 and unit in _COUNTED
    return f"{_cell(round(value, 2))} {unit[:-1] if one and unit else unit or ''}".strip()


def _number(value: float | None, decimals: int) -> str:
    return f"{value:,.{decimals}f}" if value is not None and np.isfinite(value) else ""


def _cell(value: Any) -> str:
    """Write a value of a layer as text; a date without its time."""
    import pandas as pd

    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if isinstance(value, float):
        return f"{value:,.{2 if abs(value) >= 100 else 3}f}".rstrip("0").rstrip(".")
    return str(value)
