"""What is different between two placed files of a job: joints, evidence, findings, records, lengths and routes.

Nothing is left out: every joint of either file is the same, changed, came or went, and the counts say so.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints
from asbuilt.checks import as_found
from asbuilt.errors import InputFileError
from asbuilt.line import stationing
from asbuilt.owner_map.differences import PART, RENUMBERED_M, SEVERAL
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.stored import GEOMETRY

if TYPE_CHECKING:
    import pandas as pd

SEEN = 0.001
"""Numbers that differ by less, in their own unit, are the same: the arithmetic's noise is no change."""
SAME_M = 0.001
"""Moves up to here are not told where nobody says more, metres."""
SAME_PIPE = 0.1
"""A joint under another number is taken for one that went when it lies within this part of a laying length of it."""
SURE = 1.96
"""Standard errors that hold 95 in 100 of normal errors."""

_FIGURES = re.compile(r"(\d+)\+(\d+(?:\.\d+)?)|-?\d+(?:\.\d+)?")
"""Stations and other numbers in what a finding says."""
_LAST_DECIMAL = 0.0101
"""Stations are written to a hundredth."""

VERDICT = ("verdict", "verdict_assumes")
PLACE = ("station", "distance", "elevation", "position_source", "sigma_horizontal", "accuracy_horizontal",
         "accuracy_vertical", "accuracy_source")  # fmt: skip
DESIGN = ("design_station", "design_offset", "design_height")
COVER = ("ground_elevation", "cover", "cover_least")
ANGLES = ("turn_deg", "turn_horizontal_deg", "turn_vertical_deg", "deflection_deg", "deflection_floor_deg",
          "deflection_ceiling_deg")  # fmt: skip
BOUNDS = ("deflection_floor_deg", "deflection_ceiling_deg")
ACCURACIES = ("sigma_horizontal", "accuracy_horizontal", "accuracy_vertical")
RECORD = ("size", "joint_type", "kind", "restrained", "inspection", "inspected_on", "inspector")
_ORDER = ("verdict", "evidence", "deflection", "place", "design", "cover")
"""What matters most stands first."""
_ELSEWHERE = ("joint_uid", "route", "joint", "easting", "northing", "longitude", "latitude", "findings")
_OF_THE_FILE = ("record", "file", "row", "joint_uid", "route", "joint", "station", "latest", "original")
_SAME_IN_BOTH = {
    "output_crs": "coordinate system of the layers", "coordinate_unit": "unit of the centerline's coordinates",
    **{f"{one}_unit": f"unit of the {one}s" for one in ("station", "size", "reading", "torque")},
}  # fmt: skip


@dataclass(frozen=True)
class Comparison:
    """Two placed files of one job, and what is different between them; each list is of rows with names."""

    old: PlacedFile
    new: PlacedFile
    tolerance: float
    """Moves up to this far are not listed, in `unit`."""
    joints: list[dict[str, Any]]
    """Joints that came, went, were renamed or moved: by how far, in `unit`, east, north and up positive."""
    fields: list[dict[str, Any]]
    """What changed of joints that are in both, field by field."""
    findings: list[dict[str, Any]]
    """Findings that came, went or say something else."""
    set_aside: list[dict[str, Any]]
    """Records set aside that came or went."""
    lengths: list[dict[str, Any]]
    """Routes, restrained lengths and pressure tests that came, went or changed."""
    inputs: list[dict[str, Any]]
    """Files that the job was read from, where they are not the same."""
    job_lines: list[str]
    """Lines of the job file that went (-) and came (+)."""
    counts: dict[str, Any]
    notes: list[str]

    @property
    def names(self) -> tuple[str, str]:
        """Names of the two files, with their folders where the files are called the same."""
        both = (self.old.path, self.new.path)
        return (both[0].name, both[1].name) if both[0].name != both[1].name else (str(both[0]), str(both[1]))

    @property
    def unit(self) -> str:
        """Unit of lengths: that of the centerline's coordinates."""
        return str(self.new.run["coordinate_unit"])

    @property
    def same(self) -> bool:
        """Whether the two say the same of the work; inputs and job may be written otherwise."""
        return not (self.joints or self.fields or self.findings or self.set_aside or self.lengths)

    def as_json(self) -> dict[str, Any]:
        """Give all of it as one object."""
        return {
            "old": str(self.old.path), "new": str(self.new.path), "job": self.new.job, "same": self.same,
            "unit": self.unit, "tolerance": self.tolerance, "counts": self.counts, "joints": self.joints,
            "fields": self.fields, "findings": self.findings, "set_aside": self.set_aside, "lengths": self.lengths,
            "inputs": self.inputs, "job_lines": self.job_lines, "notes": self.notes,
        }  # fmt: skip


def compare(old: Path | str, new: Path | str, *, tolerance_m: float = SAME_M, other_name: bool = False) -> Comparison:
    """Hold two placed files of one job against each other.

    Parameters
    ----------
    old, new : path of a GeoPackage that `place` wrote
    tolerance_m : float
        Moves of a joint up to here are not told, metres. Where it is more than a millimetre, deflections that differ
        by no more than their standard errors explain are not listed but counted, as long as the verdict is the same.
    other_name : bool
        Whether the two are of one job although its name is another now.

    Raises
    ------
    InputFileError
        When a file is not a placed one, the two are one file, are of different jobs, or cannot be held against each
        other because they are in different coordinate systems or units.

    Examples
    --------
    The same main with its second joint laid otherwise:

    >>> import tempfile, asbuilt, geopandas as gpd, pandas as pd, shapely
    >>> job = asbuilt.Job.from_mapping({"name": "Quarry Lane", "centerline": {},
    ...     "records": {"station_unit": "us-ft", "laying_length": 20}})
    >>> log = pd.DataFrame({"station": ["0+00", "0+20", "0+40"], "joint": [1, 2, 3], "size": 12})
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     for name, aside in (("old", 0.0), ("new", 0.3)):
    ...         points = [(6700000, 2000000), (6700000 + aside, 2000020), (6700000, 2000040)]
    ...         line = gpd.GeoDataFrame(geometry=[shapely.LineString(points)], crs="EPSG:6418")
    ...         asbuilt.place(job, centerline=line, records=log).write(Path(folder, f"{name}.gpkg"))
    ...     found = compare(Path(folder, "old.gpkg"), Path(folder, "new.gpkg"), tolerance_m=0.05)
    ...     print([(one["joint"], one["what"], round(one["horizontal"], 2)) for one in found.joints])
    [('2', 'moved', 0.3)]
    """
    both = read_placed(old), read_placed(new)
    _refuse_unlike(*both, other_name)
    was, now = both
    unit = now.run["coordinate_unit"]
    tolerance = max(tolerance_m * units.factor("m", unit), SEEN)
    frames = [one.frame("joints") for one in both]
    places = _places(frames, str(now.run["output_crs"]), unit)
    pairs = _pairs(frames, places, SAME_PIPE * now.run["laying_length"] * units.factor(now.run["station_unit"], unit))
    joints = _joints(frames, places, pairs, tolerance)
    forms = [one.run["station_format"] for one in both]
    near = tolerance * units.factor(unit, now.run["station_unit"]) + _LAST_DECIMAL
    fields, explained = _fields(frames, pairs, forms, near, tolerance), list[str]()
    length = now.run["laying_length"] * units.factor(now.run["station_unit"], unit)
    if tolerance_m > SAME_M:
        fields, explained = _unexplained(fields, _errors(frames, pairs, tolerance, length), tolerance)
    judged = {(one["route"], one["joint"]) for one in fields if one["what"] == "verdict"}
    fields += _evidence(both, frames, pairs)
    fields = sorted(fields, key=lambda one: (_ORDER.index(one["what"]), int(one.pop("at"))))
    renamed = dict(zip(frames[0]["joint_uid"].iloc[pairs[0]], frames[1]["joint_uid"].iloc[pairs[1]], strict=True))
    findings = _findings(was.frame("findings"), now.frame("findings"), renamed)
    if tolerance_m > SAME_M:
        findings, alike = _findings_unexplained(findings, _errors(frames, pairs, tolerance, length), judged, near)
        explained += alike
    aside = _set_aside(was.frame("set_aside"), now.frame("set_aside"))
    lengths = _routes(was, now, tolerance) + [
        row
        for layer in ("restraint", "pressure_tests")
        for row in _rows(layer, was.frame(layer), now.frame(layer), tolerance)
    ]
    return Comparison(
        was, now, tolerance, joints, fields, findings, aside, lengths, _inputs(was, now), _job_lines(was, now),
        _counts(frames, pairs, joints, fields, findings, aside),
        [*_notes(was, now), *explained, *_renumbered(frames, places, pairs, unit)],
    )  # fmt: skip


def _refuse_unlike(old: PlacedFile, new: PlacedFile, other_name: bool) -> None:
    if old.path.samefile(new.path):
        raise InputFileError(f"{new.path}: both names are of this one file; name the earlier file and the later one")
    if old.job != new.job and not other_name:
        raise InputFileError(
            f"{new.path}: is of job {new.job!r}, and {old.path} is of job {old.job!r}: joints of different jobs may "
            "have the same numbers; name two files of one job, or say with --other-name that it is one job under "
            "another name"
        )
    for column, words in _SAME_IN_BOTH.items():  # Earlier files do not tell the unit of torques.
        if old.run[column] != new.run[column] and None not in (old.run[column], new.run[column]):
            raise InputFileError(
                f"{new.path}: the {words} is {new.run[column]}, and in {old.path} it is {old.run[column]}: numbers "
                "of the two cannot be held against each other; place the earlier job again as the later one is placed"
            )


def _places(frames: Sequence[pd.DataFrame], crs: str, unit: str) -> list[Floats]:
    """Give the joints of both files on one plane, in the unit of the coordinates: easting, northing, elevation."""
    from pyproj import CRS, Transformer

    system = CRS(crs)
    columns = [[one[name].to_numpy(np.float64) for name in ("easting", "northing", "elevation")] for one in frames]
    if not system.is_geographic:
        horizontal = units.factor(units.of_crs(system) or unit, unit)
        return [np.column_stack([horizontal * east, horizontal * north, up]) for east, north, up in columns]
    # Degrees are laid flat in metres about the middle of the job.
    middle = [float(np.nanmean(np.concatenate([one[at] for one in columns]))) for at in (1, 0)]
    flat = CRS(f"+proj=tmerc +lat_0={middle[0]} +lon_0={middle[1]} +units=m")
    carry = Transformer.from_crs(system, flat, always_xy=True)
    factor = units.factor("m", unit)
    return [np.column_stack([*(factor * np.asarray(carry.transform(east, north))), up]) for east, north, up in columns]


def _pairs(frames: Sequence[pd.DataFrame], places: Sequence[Floats], apart: float) -> tuple[Ints, Ints]:
    """Pair the joints of both files: by route and number, and what is left by its place on the same route."""
    import pandas as pd
    import shapely

    at = pd.Index(frames[1]["joint_uid"]).get_indexer(frames[0]["joint_uid"])
    old, new = np.flatnonzero(at >= 0), at[at >= 0]
    left_old = np.flatnonzero(at < 0)
    left_new = np.setdiff1d(np.arange(len(frames[1])), new)
    if not len(left_old) or not len(left_new):
        return old, new
    points = [shapely.points(places[side][left, :2]) for side, left in enumerate((left_old, left_new))]
    there = shapely.STRtree(points[1]).query_nearest(points[0], max_distance=apart, all_matches=False)
    back = shapely.STRtree(points[0]).query_nearest(points[1], max_distance=apart, all_matches=False)
    nearest = dict(zip(*back, strict=True))
    mutual = np.array([nearest.get(two) == one for one, two in zip(*there, strict=True)], dtype=np.bool_)
    one, two = left_old[there[0][mutual]], left_new[there[1][mutual]]
    alike = frames[0]["route"].to_numpy()[one] == frames[1]["route"].to_numpy()[two]
    return np.concatenate([old, one[alike]]), np.concatenate([new, two[alike]])


def _joints(
    frames: Sequence[pd.DataFrame], places: Sequence[Floats], pairs: tuple[Ints, Ints], tolerance: float
) -> list[dict[str, Any]]:
    """List the joints that came, went or were renamed, and then those that only moved, the farthest first."""
    step = places[1][pairs[1]] - places[0][pairs[0]]
    far = np.hypot(step[:, 0], step[:, 1])
    moved = (far > tolerance) | (np.abs(step[:, 2]) > tolerance)
    names = [frame["joint"].to_numpy() for frame in frames]
    renamed = names[0][pairs[0]] != names[1][pairs[1]]
    rows: list[dict[str, Any]] = []
    for side, word in ((1, "came"), (0, "went")):
        alone = np.setdiff1d(np.arange(len(frames[side])), pairs[side])
        rows += [_who(frames[side], at) | {"what": word} for at in alone]
    stayed = []
    for at in np.flatnonzero(moved | renamed):
        words = [word for word, holds in (("renamed", renamed[at]), ("moved", moved[at])) if holds]
        row = _who(frames[1], pairs[1][at]) | {"what": " and ".join(words)}
        row["was"] = names[0][pairs[0][at]] if renamed[at] else None
        stayed.append(
            row
            | {"horizontal": float(far[at]), "up": _known(step[at, 2])}
            | {"east": float(step[at, 0]), "north": float(step[at, 1])}
        )
    return rows + sorted(stayed, key=lambda row: (row["was"] is None, -row["horizontal"]))


def _who(frame: pd.DataFrame, at: int) -> dict[str, Any]:
    return {name: frame[name].to_numpy()[at] for name in ("route", "joint", "station")}


def _fields(
    frames: Sequence[pd.DataFrame],
    pairs: tuple[Ints, Ints],
    forms: Sequence[stationing.Form],
    near: float,
    tolerance: float,
) -> list[dict[str, Any]]:
    """List what the layer of joints has otherwise."""
    old, new = (frame.iloc[side].reset_index(drop=True) for frame, side in zip(frames, pairs, strict=True))
    rows = []
    for name in (str(name) for name in new if name not in _ELSEWHERE):
        changed = _differ(old[name], new[name], tolerance if name in ("distance", "elevation") else SEEN)
        if name == "station":
            changed &= ~_stations_near(old[name], new[name], forms, near)
        what = next((word for word, some in (("verdict", VERDICT), ("place", PLACE), ("evidence", RECORD),
                     ("design", DESIGN), ("cover", COVER)) if name in some), "deflection")  # fmt: skip
        rows += _changed(frames[1], pairs[1], changed, what, name, old[name], new[name])
    return rows


class _Errors(NamedTuple):
    """By how much the numbers of a joint may differ from one survey to the next, by its route and number, degrees."""

    own: dict[tuple[str, str], float]
    """Deflections: by the standard errors of both, or as a bound where these are not known."""
    turn: dict[tuple[str, str], float]
    """Turns of the line: the same by the survey alone, as a bound where readings have a part in the deflection."""
    told: dict[tuple[str, str], float]
    """The deflection that a finding tells: a bound, where the deflection of the joint alone is not known."""
    bound: float
    """Bounds: what shots a laying length apart can turn that move up to the tolerance. At shots farther apart a turn is
    less by as much as the share of a joint that lies between them."""


def _errors(frames: Sequence[pd.DataFrame], pairs: tuple[Ints, Ints], tolerance: float, length: float) -> _Errors:
    sigma, known = (
        [frame[name].to_numpy(np.float64)[side] for frame, side in zip(frames, pairs, strict=True)]
        for name in ("sigma_deg", "deflection_deg")
    )
    bound = float(np.degrees(4.0 * tolerance / length))
    error = SURE * np.hypot(*sigma)
    own = np.where(np.isfinite(error), error, bound)
    told = np.where(np.isfinite(known[0] + known[1]), own, bound)
    read = np.logical_or(*(
        frame["deflection_source"].isin(("readings", "survey-and-readings")).to_numpy()[side]
        for frame, side in zip(frames, pairs, strict=True)
    ))  # fmt: skip
    turn = np.where(read, bound, own)
    who = list(zip(*(frames[1][name].to_numpy()[pairs[1]] for name in ("route", "joint")), strict=True))
    by_joint = [dict(zip(who, one.tolist(), strict=True)) for one in (own, turn, told)]
    return _Errors(by_joint[0], by_joint[1], by_joint[2], bound)


def _unexplained(
    fields: list[dict[str, Any]], errors: _Errors, tolerance: float
) -> tuple[list[dict[str, Any]], list[str]]:
    """Leave out what a survey taken anew makes different of joints whose verdict is the same, and count it."""
    judged = {one["at"] for one in fields if one["what"] == "verdict"}
    kept, joints = [], set()
    for one in fields:
        at, old, new = int(one["at"]), one["old"], one["new"]
        most = tolerance
        if one["field"] in ANGLES:
            of_joint = errors.own if one["field"] == "deflection_deg" else errors.turn
            most = errors.bound if one["field"] in BOUNDS else of_joint[one["route"], one["joint"]]
        elif one["field"] == "sigma_deg":  # it goes by the way a small deflection points, which is chance
            most = errors.own[one["route"], one["joint"]] / (2.0 * SURE)
        explained = one["field"] in (*ANGLES, *ACCURACIES, "sigma_deg") and at not in judged and None not in (old, new)
        if explained and abs(new - old) <= most:
            joints.add(at)
        else:
            kept.append(one)
    if not joints:
        return kept, []
    many = f"{len(fields) - len(kept):,} numbers of {len(joints):,} joint{'s' if len(joints) > 1 else ''}"
    return kept, [
        f"{many} (deflections, their bounds, turns and accuracies) differ by no more than standard errors and moves "
        "within the tolerance explain, under the same verdict, and are not listed"
    ]


def _findings_unexplained(
    findings: list[dict[str, Any]], errors: _Errors, judged: set[tuple[str, str]], near: float
) -> tuple[list[dict[str, Any]], list[str]]:
    """Leave out findings of deflection that say the same but for figures which errors explain, and count them."""
    kept = []
    for one in findings:
        who = one["route"], one["joint"]
        told = one["what"] == "changed" and one["code"].startswith("deflection-") and who not in judged
        if not told or not _says_alike(one["old"], one["new"], errors.told.get(who, errors.bound), near):
            kept.append(one)
    many = len(findings) - len(kept)
    if not many:
        return kept, []
    return kept, [
        f"{many:,} finding{'s' if many > 1 else ''} of deflection, under the same verdict, say the same with figures "
        "that differ by no more than errors explain, and are not listed"
    ]


def _says_alike(old: str, new: str, most: float, near: float) -> bool:
    """Say whether two texts are the same but for stations that are near one another and for numbers that are alike.

    Examples
    --------
    >>> words = "up to {} deg: the 5 joints from {} to 2+80.00 share the turn"
    >>> before = words.format(5.34, "2+00.00")
    >>> [_says_alike(before, words.format(*now), 0.5, 0.1) for now in ((5.68, "2+00.02"), (5.9, "2+00.00"))]
    [True, False]
    """
    if _FIGURES.sub("#", old) != _FIGURES.sub("#", new):
        return False
    for was, now in zip(_FIGURES.finditer(old), _FIGURES.finditer(new), strict=True):
        if (was[1] is None) != (now[1] is None):
            return False
        first, second = (float(f"{one[1]}{one[2]}" if one[1] else one[0]) for one in (was, now))
        if abs(second - first) > (most if was[1] is None else near):
            return False
    return True


def _stations_near(old: pd.Series, new: pd.Series, forms: Sequence[stationing.Form], near: float) -> Bools:
    """Mark the stations that are no farther apart than so much."""
    read = [stationing.parse_stations(pa.array(one, pa.string()), form)
            for one, form in zip((old, new), forms, strict=True)]  # fmt: skip
    alike = (read[0].side == read[1].side) & (read[0].region == read[1].region)
    found: Bools = alike & (np.abs(read[1].value - read[0].value) <= near)
    return found


def _evidence(
    both: tuple[PlacedFile, PlacedFile], frames: Sequence[pd.DataFrame], pairs: tuple[Ints, Ints]
) -> list[dict[str, Any]]:
    """List what the record that counts of each joint has otherwise, and where the number of records is another."""
    logged = [[name for name in one.columns["inspections"] if name != "original"] for one in both]
    records = [one.frame("inspections", names) for one, names in zip(both, logged, strict=True)]
    latest, number = [], []
    for frame, joints, side in zip(records, frames, pairs, strict=True):
        uid = joints["joint_uid"].iloc[side]
        latest.append(frame[frame["latest"] == "yes"].set_index("joint_uid").reindex(uid).reset_index(drop=True))
        number.append(uid.map(frame["joint_uid"].value_counts()).fillna(0).reset_index(drop=True))
    rows = _changed(
        frames[1], pairs[1], _differ(number[0], number[1], SEEN), "evidence", "number of records", number[0], number[1]
    )
    names = [name for name in dict.fromkeys(logged[0] + logged[1]) if name not in (*_OF_THE_FILE, *RECORD)]
    for name in names:
        old, new = (frame[name] if name in frame else frame["record"] * np.nan for frame in latest)
        rows += _changed(frames[1], pairs[1], _differ(old, new, SEEN), "evidence", name, old, new)
    return rows


def _differ(old: pd.Series, new: pd.Series, seen: float) -> Bools:
    """Mark where two columns differ, blanks being alike."""
    if old.dtype.kind in "fiu" and new.dtype.kind in "fiu":
        values = np.abs(new.to_numpy(np.float64) - old.to_numpy(np.float64))
        found: Bools = (values > seen) | (old.isna() != new.isna()).to_numpy()
        return found
    texts = [one.astype(object).where(one.notna(), "").astype(str).to_numpy() for one in (old, new)]
    return np.asarray(texts[0] != texts[1], dtype=np.bool_)


def _changed(
    joints: pd.DataFrame, side: Ints, changed: Bools, what: str, field: str, old: pd.Series, new: pd.Series
) -> list[dict[str, Any]]:
    return [
        _who(joints, side[at])
        | {"what": what, "field": field, "old": _known(old.iloc[at]), "new": _known(new.iloc[at]), "at": side[at]}
        for at in np.flatnonzero(changed)
    ]


def _known(value: Any) -> Any:
    """Give a value as JSON and a workbook take it; None where it is unknown."""
    if value is None or value != value:
        return None
    if isinstance(value, float | np.floating):
        return float(value)
    return int(value) if isinstance(value, np.integer) else str(value)


def _findings(old: pd.DataFrame, new: pd.DataFrame, renamed: dict[str, str]) -> list[dict[str, Any]]:
    """List the findings that came and went, and those that say something else of the same thing, in whatever rows."""
    old = old.assign(joint_uid=old["joint_uid"].map(lambda uid: renamed.get(uid, uid)))
    key = ["code", "route", "joint_uid", "point", "place"]
    old, new = (
        _texts(
            frame.assign(
                place=frame["station"].where(frame["joint_uid"].isna()), message=frame["message"].map(as_found)
            )
        )
        for frame in (old, new)
    )
    old, new = _left(old, new, [*key, "message"])
    # What is left of one kind at one joint is the same thing with other words, one by one.
    went, came = _left(old, new, key)
    said = old.drop(went.index), new.drop(came.index)
    pairs = said[0].assign(number=_number(said[0], key)).merge(
        said[1].assign(number=_number(said[1], key)), on=[*key, "number"], suffixes=("_old", "")
    )  # fmt: skip
    rows = [("came", None, one) for one in came.to_dict("records")]
    rows += [("went", one["message"], one | {"message": None}) for one in went.to_dict("records")]
    rows += [("changed", one["message_old"], one) for one in pairs.to_dict("records")]
    names = ("code", "severity", "route", "joint", "station", "point")
    return [
        {"what": what} | {name: one[name] or None for name in names} | {"old": was, "new": one["message"]}
        for what, was, one in rows
    ]


def _set_aside(old: pd.DataFrame, new: pd.DataFrame) -> list[dict[str, Any]]:
    """List the records set aside in one of the files only, known by what their row holds."""
    went, came = _left(_texts(old), _texts(new), ["reason", "original"])
    return [
        {"what": what} | {name: one[name] for name in ("file", "row", "route", "joint", "reason", "message")}
        for what, frame in (("came", came), ("went", went))
        for one in frame.to_dict("records")
    ]


def _rows(layer: str, old: pd.DataFrame, new: pd.DataFrame, tolerance: float) -> list[dict[str, Any]]:
    """List the lengths that came and went, and what is otherwise of those that are in both.

    A length is the same one whose ends lie where they did, within the tolerance, and which is named for the same;
    which row of a file, or which key of the job, names it is no part of it.
    """
    words = {"restraint": "restrained length", "pressure_tests": "pressure test"}
    own = ["route", "why" if layer == "restraint" else "tested_on"]
    texts = [_texts(one) for one in (old, new)]
    ends = [one[["from_distance", "to_distance"]].to_numpy(np.float64) for one in (old, new)]
    fellows: dict[tuple[str, ...], list[int]] = {}
    for at, key in enumerate(texts[0][own].itertuples(index=False, name=None)):
        fellows.setdefault(key, []).append(at)
    rows = []
    for at, key in enumerate(texts[1][own].itertuples(index=False, name=None)):
        left = fellows.get(key, [])
        fellow = next((one for one in left if np.abs(ends[0][one] - ends[1][at]).max() <= tolerance), None)
        now = texts[1].iloc[at].to_dict()
        if fellow is None:
            rows.append({"about": words[layer], "route": now["route"], "what": "came", "old": None, "new": _told(now)})
            continue
        left.remove(fellow)
        was = texts[0].iloc[fellow].to_dict()
        other = [name for name in now if name not in _OF_ENDS and was.get(name, "") != now[name]]
        if other:
            before, after = (_told({name: one.get(name, "") for name in other}) for one in (was, now))
            about = {"about": words[layer], "route": now["route"], "what": "changed"}
            rows.append(about | {"old": f"{was['from_station']} to {was['to_station']}: {before}", "new": after})
    return rows + [
        {"about": words[layer], "route": one["route"], "what": "went", "old": _told(one), "new": None}
        for one in texts[0].iloc[sorted(at for left in fellows.values() for at in left)].to_dict("records")
    ]


_OF_ENDS = ("from_distance", "to_distance", "from_station", "to_station", "length", "named_by")
"""Of a length that is where it was; stations on another start are told with the joints."""


def _told(row: Mapping[Hashable, Any]) -> str:
    hidden = ("route", "from_distance", "to_distance")
    return "; ".join(f"{name} {value}" for name, value in row.items() if value and name not in hidden)


def _routes(old: PlacedFile, new: PlacedFile, tolerance: float) -> list[dict[str, Any]]:
    """List the routes that came, went, or run otherwise."""
    tables = [one.table("centerline", geometry=True).to_pandas().set_index("route") for one in (old, new)]
    rows: list[dict[str, Any]] = []
    for side, word in ((1, "came"), (0, "went")):
        alone = [name for name in tables[side].index if name not in tables[1 - side].index]
        rows += [{"about": "route", "route": name, "what": word, "old": None, "new": None} for name in alone]
    for name in (name for name in tables[1].index if name in tables[0].index):
        was, now = (table.loc[name] for table in tables)
        for field in ("start_station", "equations", "length", "vertices"):
            pair = [_known(one[field]) for one in (was, now)]
            close = isinstance(pair[0], float) and isinstance(pair[1], float) and abs(pair[1] - pair[0]) <= tolerance
            if pair[0] != pair[1] and not close:
                rows.append(
                    {"about": field.replace("_", " "), "route": name, "what": "changed", "old": pair[0], "new": pair[1]}
                )
        if was["vertices"] == now["vertices"] and was[GEOMETRY] != now[GEOMETRY]:
            rows += _bent(name, was[GEOMETRY], now[GEOMETRY], tolerance, new)
    return rows


def _bent(name: str, old: bytes, new: bytes, tolerance: float, file: PlacedFile) -> list[dict[str, Any]]:
    """Say by how much the vertices of a route lie elsewhere, at most."""
    import pandas as pd
    import shapely

    unit = file.run["coordinate_unit"]
    vertices = [shapely.get_coordinates(shapely.from_wkb(one), include_z=True) for one in (old, new)]
    if vertices[0].shape != vertices[1].shape:
        # A curve is drawn with as many points as it needs.
        return [{"about": "shape", "route": name, "what": "changed", "old": None, "new": "drawn otherwise"}]
    frames = [pd.DataFrame(one, columns=["easting", "northing", "elevation"]) for one in vertices]
    step = np.abs(np.subtract(*_places(frames, str(file.run["output_crs"]), unit)))
    far = max(float(np.hypot(step[:, 0], step[:, 1]).max()), float(np.nan_to_num(step[:, 2]).max()))
    if far <= tolerance:
        return []
    words = f"vertices lie elsewhere, by {far:.3f} {units.SYMBOLS[unit]} at most"
    return [{"about": "shape", "route": name, "what": "changed", "old": None, "new": words}]


def _texts(frame: pd.DataFrame) -> pd.DataFrame:
    """Give a table with all its values as texts, by which rows are known; blanks are empty."""
    numbers = frame.select_dtypes("float").columns
    frame = frame.assign(**{name: frame[name].map(lambda value: f"{value + 0.0:.3f}") for name in numbers})
    texts = frame.astype(object).where(frame.notna(), "").astype(str)
    return texts.where(texts != "nan", "").reset_index(drop=True)


def _number(frame: pd.DataFrame, key: list[str]) -> pd.Series:
    """Number the rows of one key, from 0."""
    return frame.groupby(key, sort=False).cumcount()


def _left(old: pd.DataFrame, new: pd.DataFrame, key: list[str]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give the rows of each that have no fellow in the other, one for one."""
    import pandas as pd

    indexes = [pd.MultiIndex.from_frame(frame[key].assign(number=_number(frame, key))) for frame in (old, new)]
    return old[~indexes[0].isin(indexes[1])], new[~indexes[1].isin(indexes[0])]


def _inputs(old: PlacedFile, new: PlacedFile) -> list[dict[str, Any]]:
    """List the files read that are in one only, or hold something else now."""
    was, now = ({one["path"]: one["sha256"] for one in file.run["inputs"]} for file in (old, new))
    rows = []
    # What is read from another folder, or under another name, and holds the same is no other file.
    apart = [{one for path, one in mine.items() if path not in other} for mine, other in ((was, now), (now, was))]
    same = apart[0] & apart[1]
    for path in dict.fromkeys([*was, *now]):
        moved = (path in was) != (path in now) and (was.get(path) or now.get(path)) in same
        if was.get(path) != now.get(path) and not moved:
            what = "came" if path not in was else "went" if path not in now else "changed"
            rows.append({"file": path, "what": what})
    return rows


def _job_lines(old: PlacedFile, new: PlacedFile) -> list[str]:
    texts = [str(one.run["job"] or "").splitlines() for one in (old, new)]
    lines = difflib.unified_diff(texts[0], texts[1], n=0, lineterm="")
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))]


def _counts(
    frames: Sequence[pd.DataFrame],
    pairs: tuple[Ints, Ints],
    joints: list[dict[str, Any]],
    fields: list[dict[str, Any]],
    findings: list[dict[str, Any]],
    aside: list[dict[str, Any]],
) -> dict[str, Any]:
    """Count the joints, which must come out, and what is said of them."""
    whats = [one["what"] for one in joints]
    came, went = whats.count("came"), whats.count("went")
    assert (len(frames[0]), len(frames[1])) == (len(pairs[0]) + went, len(pairs[1]) + came)
    verdicts: dict[str, int] = {}
    for one in fields:
        if one["field"] == "verdict":
            step = f"{one['old']} to {one['new']}"
            verdicts[step] = verdicts.get(step, 0) + 1
    changed = {word: {(one["route"], one["joint"]) for one in fields if one["what"] == word}
               for word in _ORDER}  # fmt: skip
    touched = set().union(*changed.values()) | {
        (one["route"], one["joint"]) for one in joints if one["what"] not in ("came", "went")
    }
    return {
        "joints": {
            "old": len(frames[0]), "new": len(frames[1]), "in_both": len(pairs[0]), "came": came, "went": went,
            "same": len(pairs[0]) - len(touched), "renamed": sum("renamed" in what for what in whats),
            "moved": sum("moved" in what for what in whats),
        } | {f"other_{word}": len(some) for word, some in changed.items()},
        "verdicts": verdicts,
        "findings": _by_what(findings),
        "set_aside": _by_what(aside),
    }  # fmt: skip


def _by_what(rows: list[dict[str, Any]]) -> dict[str, int]:
    whats = [one["what"] for one in rows]
    return {what: whats.count(what) for what in ("came", "went", "changed") if what in whats}


def _notes(old: PlacedFile, new: PlacedFile) -> list[str]:
    notes = []
    if old.job != new.job:
        notes.append(f"the job was called {old.job!r}, and is called {new.job!r} now")
    if old.run["made_at"] > new.run["made_at"]:
        notes.append(
            f"{new.path.name} was made before {old.path.name}; if the two were named the wrong way round, exchange them"
        )
    if old.run["asbuilt_version"] != new.run["asbuilt_version"]:
        versions = f"{old.run['asbuilt_version']} and {new.run['asbuilt_version']}"
        notes.append(f"the two were made by different versions of asbuilt, {versions}, which may judge differently")
    return notes


def _renumbered(
    frames: Sequence[pd.DataFrame], places: Sequence[Floats], pairs: tuple[Ints, Ints], unit: str
) -> list[str]:
    """Say of which routes joints stand now where the earlier file has others: their numbers are of other pipes."""
    import shapely

    near = RENUMBERED_M * units.factor("m", unit)
    moved = np.hypot(*(places[1][pairs[1], :2] - places[0][pairs[0], :2]).T) > near
    old, new = pairs[0][moved], pairs[1][moved]
    if not len(old):
        return []
    was = shapely.points(places[0][:, :2])
    there = shapely.STRtree(was).query(shapely.points(places[1][new, :2]), predicate="dwithin", distance=near)
    names = [frame["joint"].to_numpy() for frame in frames]
    alike = frames[0]["route"].to_numpy()[there[1]] == frames[1]["route"].to_numpy()[new[there[0]]]
    taken, first = np.unique(there[0][alike], return_index=True)
    other = there[1][alike][first]
    route = frames[1]["route"].to_numpy()[new]
    notes = []
    for name in dict.fromkeys(route[taken].tolist()):
        own = np.flatnonzero(route[taken] == name)
        count, of = len(own), int((route == name).sum())
        if count < SEVERAL or count < PART * of:
            continue
        one = int(own[0])
        notes.append(
            f"{count} of {of} joints of route {name} that moved stand now where the earlier file has another joint "
            f"(the first is {names[1][new[taken[one]]]}, where {names[0][other[one]]} was): the log was renumbered, or "
            "its stations moved by the length of a pipe. Joints are known by their numbers, so one pipe is held here "
            "against another, and marks of a review, a map and a register follow the numbers, too. Give the joints "
            "their old numbers, and one put between them a number of its own, such as 21A"
        )
    return notes
