"""The register's tables: what a row of each is, what every column means, and the kind of value it holds.

Joints are as they are known now; their earlier states, every inspection and every load stay beside them.
"""

from __future__ import annotations

import json
import math
from typing import Any

from asbuilt.schema import DOMAINS, LAYERS, ColumnInfo, Kind, LayerInfo

SEEN = 0.001
"""What a person would see of a computed number, in its own unit: less is the arithmetic's, and no other content."""

FORMAT = 18
"""Number of the format in which these tables are, as the last step of `migrations` leaves them."""

JOB_LAYERS = ("joints", "inspections", "findings")
"""Layers of a placed job whose rows the register merges."""
LINES = "centerline"
BESIDE = ("pressure_tests", "restraint", "set_aside", LINES)
"""Layers of a placed job that the register keeps as they are, with the load that brought them."""

_LOAD = ColumnInfo("Load", "Number of the load that brought this row; see table loads.", kind="whole")
_CONTENT = ColumnInfo(
    "Content", "Digest of what the job said of the joint, by which a repeated load is recognised.", kind="whole"
)
_STATE = ColumnInfo("State", "Whether the row still stands.", "state")
_ENDED = ColumnInfo(
    "Ended by",
    "Number of the load that superseded this row, its own where it never stood; blank while it stands.",
    kind="whole",
)

REGISTER_DOMAINS: dict[str, dict[str, str]] = DOMAINS | {
    "state": {
        "standing": "Stands",
        "superseded": "Superseded by a later load of the same job, or by the joint's later state",
        "undone": "Its load was undone",
    },
    "decision": {
        "ours": "The register's joint stays as it is; the one left out stays out",
        "theirs": "The one left out is the register's joint, and became its present state",
    },
    "service": {
        "in-service": "In service, as a joint is unless something else was noted",
        "replaced": "A main laid later took its place; the joint is out of service",
        "abandoned": "Out of service, and left in the ground",
    },
    "mark": {"looked-at": "Someone looked at the finding", "open": "To be looked at again"},
    "size_unit": {"in": "Inches", "mm": "Millimetres: the size is a DN"},
}


def _with_size_unit(columns: dict[str, ColumnInfo]) -> dict[str, ColumnInfo]:
    """Put the unit of a size beside it: a register holds jobs of both."""
    told = ColumnInfo(
        "Size unit", "Unit of the size, as its job has it; blank where its job does not say.", "size_unit"
    )
    size = ColumnInfo("Size", "Nominal pipe size, in size_unit.", kind="number")
    beside: dict[str, ColumnInfo] = {}
    for name, about in columns.items():
        beside |= {"size": size, "size_unit": told} if name == "size" else {name: about}
    return beside


_JOINTS: dict[str, ColumnInfo] = {
    **_with_size_unit(LAYERS["joints"].columns),
    "station_number": ColumnInfo(
        "Station, as a number", "The station as a number, in station_unit; for searching.", kind="number"
    ),
    "station_unit": ColumnInfo("Station unit", "Unit of the station.", "length_unit"),
    "coordinate_unit": ColumnInfo(
        "Unit of distance and elevation", "Unit of distance and elevation, which are as their job has them.",
        "length_unit",
    ),
    "first_load_id": ColumnInfo("First load", "Number of the load that first brought this joint.", kind="whole"),
    "load_id": ColumnInfo(
        "Load", "Number of the load that brought the joint's present state; see table loads.", kind="whole"
    ),
    "inspection_load_id": ColumnInfo(
        "Inspection from load", "Number of the load that the inspection's state, date and inspector are from.",
        kind="whole",
    ),
    "deflection_load_id": ColumnInfo(
        "Deflection from load", "Number of the load that the deflection and its verdict are from.", kind="whole"
    ),
    "place_load_id": ColumnInfo("Place from load", "Number of the load that the joint's place is from.", kind="whole"),
    **{
        f"{name}_load_id": ColumnInfo(
            f"{title} from load",
            f"Number of the load that {what} from, as later loads of other jobs left it blank; blank where that is the "
            "load of the present state.",
            kind="whole",
        )
        for name, title, what in (
            ("size", "Size", "the size is"), ("joint_type", "Joint type", "the joint type is"),
            ("kind", "Kind", "the kind is"), ("restrained", "Restrained", "what is known of restraint is"),
            ("elevation", "Elevation", "the elevation is"), ("reading", "Reading", "what was read at the joint is"),
        )
    },
    "gave_way": ColumnInfo(
        "Gave way",
        "What the load of the joint's present state says of it where another load's holds, as JSON by column; "
        "blank where all is its own.",
    ),
    "content": _CONTENT,
}  # fmt: skip

_NAMING = ("joint_uid", "route", "joint", "station", "station_number", "station_unit", "distance", "coordinate_unit")

_FINDINGS = {
    "finding_uid": ColumnInfo(
        "Finding ID", "Lasting identifier of the finding, made from what it says; marks are kept under it."
    ),
    **LAYERS["findings"].columns,
    "load_id": _LOAD,
    "state": _STATE,
    "ended_by": _ENDED,
}

_INSPECTIONS = {
    # Which record is a joint's latest changes with later loads.
    **_with_size_unit({name: about for name, about in LAYERS["inspections"].columns.items() if name != "latest"}),
    "load_id": _LOAD,
    "content": _CONTENT,
    "state": _STATE,
    "ended_by": _ENDED,
}


def _kept_beside(layer: str) -> LayerInfo:
    """Give a layer of the job with the load that each row is from; those of a job's latest standing load hold."""
    unit = ColumnInfo("Unit of distances", "Unit of distances, which are as their job has them.", "length_unit")
    about = LAYERS[layer]
    columns = about.columns | {"coordinate_unit": unit, "load_id": _LOAD}
    return LayerInfo(
        f"{about.description} Of all jobs; those of a job's latest load hold.", about.geometry_type, columns
    )


REGISTER_LAYERS: dict[str, LayerInfo] = {
    "joints": LayerInfo("Pipe joints of all jobs, each in its present state.", "Point Z", _JOINTS),
    "findings": LayerInfo(
        "Things to look at, of all loads; those that stand belong to the present state of their joint.",
        "Point Z",
        _FINDINGS,
    ),
    "inspections": LayerInfo(
        "Every inspection record of all loads; rows are added, and never changed but for their state.",
        None,
        _INSPECTIONS,
    ),
    "inspections_undone": LayerInfo(
        "Inspection records of loads that were undone.",
        None,
        _INSPECTIONS,
    ),
    "findings_undone": LayerInfo("Findings of loads that were undone.", None, _FINDINGS),
    "joints_earlier": LayerInfo(
        "Earlier states of joints: what stood in joints until a load replaced it, or until its load was undone.",
        None,
        {
            **_JOINTS,
            "replaced_by": ColumnInfo(
                "Replaced by", "Number of the load that replaced this state, or was undone.", kind="whole"
            ),
            "ended_as": ColumnInfo("Ended as", "Why this state no longer stands.", "state"),
        },
    ),
    "loads": LayerInfo(
        "Every load: what was loaded, when and by whom, and what came of it.",
        None,
        {
            "load_id": ColumnInfo("Load", "Number of the load, counted from 1.", kind="whole"),
            "job": ColumnInfo("Job", "Name of the job; a later load of the same name corrects the earlier one."),
            "file": ColumnInfo("File", "File that was loaded."),
            "sha256": ColumnInfo("SHA-256", "SHA-256 of the file."),
            "content_sha256": ColumnInfo("Content", "SHA-256 of what the file says, whatever its name or layout."),
            "loaded_at": ColumnInfo("Loaded at", "When it was loaded, UTC."),
            "loaded_by": ColumnInfo("Loaded by", "Who loaded it."),
            "crs": ColumnInfo("File's system", "Coordinate system of the file's layers."),
            "datum_step": ColumnInfo("Datum step", "How coordinates were carried to the register's system."),
            "tolerance_m": ColumnInfo(
                "Tolerance (m)", "Distance within which two places were taken for one, metres.", kind="number"
            ),
            "joints_read": ColumnInfo(
                "Joints read", "Joints in the file: new, updated, unchanged and left out.", kind="whole"
            ),
            "joints_new": ColumnInfo("Joints new", "Joints that the register did not have.", kind="whole"),
            "joints_updated": ColumnInfo("Joints updated", "Joints whose present state was replaced.", kind="whole"),
            "joints_unchanged": ColumnInfo(
                "Joints unchanged", "Joints of which the register knew all that was said.", kind="whole"
            ),
            "joints_left_out": ColumnInfo(
                "Joints left out", "Joints in conflict with the register; see conflicts.", kind="whole"
            ),
            "conflicts": ColumnInfo("Conflicts", "What was left out and why, as JSON."),
            "run": ColumnInfo("Run", "What made the file: its table run, as JSON."),
            "state": _STATE,
            "undone_at": ColumnInfo("Undone at", "When the load was undone, UTC; blank while it stands."),
            "undone_by": ColumnInfo("Undone by", "Who undid the load."),
        },
    ),
    "finding_marks": LayerInfo(
        "Notes on findings by those who looked at them; the latest of a finding counts, and all are kept.",
        None,
        {
            "finding_uid": ColumnInfo("Finding ID", "The finding; see layer findings."),
            "mark": ColumnInfo("Mark", "What became of the finding.", "mark"),
            "note": ColumnInfo("Note", "The note."),
            "marked_by": ColumnInfo("Marked by", "Who wrote it."),
            "marked_at": ColumnInfo("Marked at", "When it was written, UTC."),
        },
    ),
    "settled": LayerInfo(
        "What was settled of joints that a load left out; the latest of a job's joint counts, and all are kept.",
        None,
        {
            "job": ColumnInfo("Job", "Name of the job whose joint was left out."),
            "joint_uid": ColumnInfo("Joint ID", "The joint that was left out, as its job names it."),
            "decision": ColumnInfo("Decision", "What was settled.", "decision"),
            "register_uid": ColumnInfo("Joint of the register", "The joint that it was in conflict with."),
            "said": ColumnInfo("Content", "Digest of what the job said; said otherwise, the joint waits anew."),
            "load_id": ColumnInfo("Load", "Number of the load that left it out.", kind="whole"),
            "note": ColumnInfo("Note", "The note."),
            "settled_by": ColumnInfo("Settled by", "Who settled it."),
            "settled_at": ColumnInfo("Settled at", "When it was settled, UTC."),
        },
    ),
    "joint_service": LayerInfo(
        "Which joints are out of service, and why; the latest of a joint counts, and all are kept.",
        None,
        {
            "joint_uid": ColumnInfo("Joint ID", "The joint; see layer joints."),
            "service": ColumnInfo("Service", "Whether the joint is in service.", "service"),
            "by_route": ColumnInfo("Replaced by", "Route of the main that took its place."),
            "load_id": ColumnInfo(
                "Load", "Number of the load that replaced it; blank where a person noted it.", kind="whole"
            ),
            "note": ColumnInfo("Note", "The note."),
            "noted_by": ColumnInfo("Noted by", "Who wrote it."),
            "noted_at": ColumnInfo("Noted at", "When it was written, UTC."),
        },
    ),
    **{layer: _kept_beside(layer) for layer in BESIDE},
    "joint_names": LayerInfo(
        "What jobs call joints that stand under another job's route: route, number and place along their own line. Of "
        "all loads; those of a job's latest load hold.",
        None,
        {
            **{name: _JOINTS[name] for name in _NAMING},
            "load_id": _LOAD,
        },
    ),
    "waiting_routes": LayerInfo(
        "Routes of which a load left out every joint: what it brought beside them waits with them.",
        None,
        {
            "route": ColumnInfo("Route", "The route, as its joints would have it in the register."),
            "joint_uid": ColumnInfo("Joint ID", "The first of its joints; the route is settled as that one is."),
            "load_id": _LOAD,
        },
    ),
    "register": LayerInfo(
        "What this register is: one row.",
        None,
        {
            "crs": ColumnInfo("System", "Coordinate system of the register."),
            "crs_wkt": ColumnInfo("System in full", "The coordinate system as well-known text."),
            "made_at": ColumnInfo("Made at", "When the register was made, UTC."),
            "asbuilt_version": ColumnInfo("Version", "Version of the asbuilt software that made it."),
            "format": ColumnInfo("Format", "Number of the format that its tables are in.", kind="whole"),
        },
    ),
}
"""Every table of the register, in the order in which they are made."""

UNIT_WORDS = {
    "unit": "the job's unit (column coordinate_unit)",
    "station_unit": "the job's station unit",
    "reading_unit": "the job's unit of readings",
}
"""What stands for "{unit}" and the like in descriptions: a register holds jobs of several units."""

RELATIONS = {"joint_inspections": ("joints", "inspections"), "joint_findings": ("joints", "findings")}
"""Relations between a joint and what is known of it, by the name of their mapping."""


def kind(column: str) -> Kind:
    """Tell what kind of value a column of the register holds; columns of one name are of one kind.

    Examples
    --------
    >>> kind("deflection_deg"), kind("inspected_on"), kind("joint"), kind("load_id")
    ('number', 'date', 'text', 'whole')
    """
    return _KINDS.get(column, "text")


_KINDS: dict[str, Kind] = {
    name: about.kind for table in REGISTER_LAYERS.values() for name, about in table.columns.items()
}


def kinds(table: str) -> dict[str, Kind]:
    """Give the columns of a table of the register, with the kind of value that each holds.

    Examples
    --------
    >>> list(kinds("finding_marks"))
    ['finding_uid', 'mark', 'note', 'marked_by', 'marked_at']
    """
    return {column: kind(column) for column in REGISTER_LAYERS[table].columns}


def run_told(run: str | None) -> dict[str, Any]:
    """Read what the row of a load keeps in its column run: what made the file, and what the load adds of itself.

    Examples
    --------
    >>> run_told('{"main": "Contract 27-01"}'), run_told(None)
    ({'main': 'Contract 27-01'}, {})
    """
    told: dict[str, Any] = json.loads(run or "{}")
    return told


def as_json(told: Any) -> str:
    """Write what a column keeps as JSON; a number that is not known is null, as JSON has none that is no number.

    Examples
    --------
    >>> as_json({"crew": "ÑANDÚ", "laying_length": float("nan"), "routes": ["A"]})
    '{"crew": "ÑANDÚ", "laying_length": null, "routes": ["A"]}'
    """
    return json.dumps(_known(told), ensure_ascii=False, allow_nan=False, default=str)


def _known(told: Any) -> Any:
    """Put null in the place of numbers that are none."""
    if isinstance(told, dict):
        return {name: _known(one) for name, one in told.items()}
    if isinstance(told, list | tuple):
        return [_known(one) for one in told]
    return None if isinstance(told, float) and not math.isfinite(told) else told


def main_route(main: str, route: str) -> str:
    """Name a route under the main that it belongs to.

    Examples
    --------
    >>> main_route("Contract 27-01", "A")
    'Contract 27-01: A'
    """
    return f"{main}: {route}"
