"""A job's joints fitted to the utility's layer, whatever it is kept in, and what became of them."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.errors import JobFileError
from asbuilt.inputs.text_table import as_text
from asbuilt.line import projection
from asbuilt.owner_map import utility_map
from asbuilt.owner_map.differences import Compared, Difference, Measure, Present, compare
from asbuilt.owner_map.utility_map import Target
from asbuilt.vocabulary import JOINT_TYPES, joint_type

if TYPE_CHECKING:
    from asbuilt.job import Job
    from asbuilt.keys.outputs import Map
    from asbuilt.placement import Placement

SHAPE_NAME, SHAPE_TEXT = 10, 254
"""Longest column name, and widest text, of a Shapefile's table. Source: dBASE file format; from memory."""


_DEGREES = 1e-4
"""A step on a map in degrees by which its lengths are measured."""
_HEIGHT_DIGITS = 4
"""Decimals of a height on the map: a survey knows fewer."""

_OTHER = re.compile(
    r"valve|hydrant|manhole|catch_?basin|curb_?stop|(?:^|[^a-z])(?:\w?(?:water|sewer))?_?(?:meter|service|pump|tank|well|"
    r"pole|tree|sign|lateral|inlet|backflow|sampling)s?(?:[^a-z]|$)"
)
_OTHER_COLUMN = re.compile(
    r"(?:valve|hydrant|manhole|meter|pump|tank)s?_?(?:id|no|num|number|type|kind|size|status|key|class|make|model|name)?"
)
_OF_JOINTS = re.compile(r"joint|(?:^|_)jn?ts?(?:_|\d|$)|bell|spigot|gasket|weld")
"""What names of layers and columns say they hold; common practice, no source."""
_FEWEST = 3
"""Rows from which on the words that a layer holds tell what it is of."""


@dataclass(frozen=True)
class Written:
    """What became of the joints on the utility's map."""

    into: str
    layer: str
    created: bool
    joints: int
    already_there: int
    notes: tuple[str, ...]
    differing: int = 0
    """Joints that are there and differ from the job."""
    updated: int = 0
    """Those of them that follow the job now, or would."""
    differences: tuple[Difference, ...] = ()
    dropped: tuple[str, ...] = ()
    """Joints on the map that the job has no more; they stay."""
    moves: str = ""
    """How many joints lie elsewhere than on the map, and how far."""

    @property
    def added(self) -> int:
        """Joints added, or to be added."""
        return self.joints - self.already_there


def fitted(
    placement: Placement, wanted: Map, found: Target | None, *, shape: bool = False
) -> tuple[Target, pa.Table, tuple[str, ...]]:
    """Fit a job's joints to the utility's layer, with their points in its coordinate system.

    Parameters
    ----------
    placement : Placement
    wanted : Map
    found : Target, or None where the layer must be made
    shape : bool
        Whether a layer to be made is a Shapefile.

    Returns
    -------
    target : Target
    table : pyarrow table
        The layer's columns, and the points as well-known binary in "geom".
    notes : tuple of str

    Raises
    ------
    JobFileError
        Naming every value that does not fit.
    """
    ours = placement.table("joints").drop_columns(["geom"])
    problems: list[str] = []
    elevation = placement.judged.joints.elevation
    unknown = int(np.isnan(elevation).sum())
    if found is None:
        target = utility_map.described(wanted, ours, wanted.crs or placement.map_crs)
        target = _as_shapefile(target, problems) if shape else target
    else:
        target = replace(found, crs=_crs_of(found, wanted))
        problems += utility_map.other_types(wanted, target)
    if target.geometry not in ("Point", "MultiPoint", "Geometry"):
        problems.append(f"map.layer: {target.name} holds {target.geometry}, not points; name a layer of points")
    if found is not None and not wanted.other_features:
        problems += _of_something_else(target)
    routes, joints = placement.routes, placement.judged.joints
    step = projection.map_step(
        routes.crs, str(target.crs), joints.easting, joints.northing, key="map.crs",
        accept_m=placement.job.accept_accuracy_m,
    )  # fmt: skip
    easting, northing = step.apply(joints.easting, joints.northing)
    for name, values in (("easting", easting), ("northing", northing)):
        ours = ours.set_column(ours.column_names.index(name), name, pa.array(values, from_pandas=True))
    if target.has_z and wanted.unknown_elevation is not None:
        elevation = np.where(np.isnan(elevation), wanted.unknown_elevation, elevation)
    elif target.has_z and unknown:
        problems.append(
            f"map.layer: {target.name} holds points with an elevation, and {unknown} joints have none; complete the "
            "survey, name a layer of points without one, or say what stands for none in map.unknown_elevation"
        )
    table, misfits = utility_map.fit(ours, wanted, target)
    if problems or misfits:
        raise JobFileError(
            "\n  ".join([f"{placement.job.source}: nothing was written to the map", *problems, *misfits])
        )
    points = _points(target, easting, northing, elevation)
    notes = step.told_of("the map")
    if found is not None and not target.has_z and unknown < len(elevation):
        notes.append(
            f"{target.name} holds points without an elevation: those of {len(elevation) - unknown} joints are not in "
            "their points"
            + ("" if "elevation" in wanted.columns else "; map.columns.elevation names a column for them")
        )
    if unknown and found is None and not target.has_z:
        notes.append(f"{unknown} joints have no elevation, so the layer is made of points without one")
    if target.has_z and units.of_crs(projected(target.crs)) != routes.unit:
        notes.append(f"elevations on the map are in {units.WORDS[routes.unit]}, as in the centerline")
    return target, table.append_column("geom", points), tuple(notes)


def against(
    table: pa.Table, present: Present | None, target: Target, job: Job, into: str, notes: tuple[str, ...]
) -> tuple[Written, Compared]:
    """Hold a job's joints against what is on the map, and say what becomes of them.

    Parameters
    ----------
    table : pyarrow table
        Joints in the layer's columns, with their points.
    present : Present, or None where the layer must be made
    target : Target
    job : Job
    into : str
        The map's name for messages.
    notes : tuple of str
    """
    wanted = job.map
    assert wanted is not None
    if present is None:
        return Written(into, target.name, True, table.num_rows, 0, notes), Compared(
            table, table.slice(0, 0), [], (), (), "", ()
        )
    if not wanted.other_features:
        _refuse_other_types(table, present, target, wanted)
    found = compare(table, present, target, wanted, _measure(table, target, job.records.station_unit))
    differing = found.changed.num_rows
    if not wanted.update:
        found = found._replace(changed=table.slice(0, 0), rows=[])
    more = list(found.notes)
    if differing and not wanted.update:
        more.append("joints that are there and differ stay as they are; map.update = true lets them follow the job")
    if "route" not in wanted.columns:
        more.append("without map.columns.route it is not told which joints on the map the job has no more")
    written = Written(
        into, target.name, False, table.num_rows, table.num_rows - found.new.num_rows, (*notes, *more), differing,
        found.changed.num_rows, found.differences, found.dropped, found.moves,
    )  # fmt: skip
    return written, found


def _measure(table: pa.Table, target: Target, unit: units.Unit) -> Measure:
    """Give how long a metre is on the map, in degrees where it is in degrees, at the job's first joint."""
    import shapely

    crs = projected(target.crs)
    step = crs.axis_info[0].unit_conversion_factor
    if not crs.is_geographic or not table.num_rows:
        return Measure(1.0 / step, 1.0 / step, unit)
    place = shapely.get_coordinates(shapely.from_wkb(table["geom"][0].as_py()))[0]
    ends = place + np.array([[_DEGREES, 0.0], [0.0, _DEGREES]])
    metres = [crs.get_geod().inv(*place, *end)[2] for end in ends]
    return Measure(_DEGREES / metres[0], _DEGREES / metres[1], unit)


def _as_shapefile(target: Target, problems: list[str]) -> Target:
    """Hold the layer to be made against what a Shapefile can hold."""
    names: dict[str, str] = {}
    fields = []
    for one in target.fields:
        if len(one.name.encode()) > SHAPE_NAME:
            problems.append(f"map: the column {one.name} has more than the {SHAPE_NAME} letters of a Shapefile's name")
        names[one.name.casefold()] = one.name
        if one.kind == "boolean":
            problems.append(f'map.types.{one.name}: a Shapefile made here has no yes or no; use "text(3)" or "integer"')
        width = min(one.width or SHAPE_TEXT, SHAPE_TEXT) if one.kind == "text" else None
        limits = {"least": -1e17, "most": 1e17} if one.kind == "integer" else {}
        fields.append(replace(one, width=width, encoding="utf-8" if one.kind == "text" else None, **limits))  # type: ignore[arg-type]
    return replace(target, fields=tuple(fields))


def _crs_of(found: Target, wanted: Map) -> str:
    from pyproj import CRS

    if found.crs is None:
        if wanted.crs is None:
            raise JobFileError(f"map.crs: the layer {found.name} does not say its coordinate system; name it")
        return wanted.crs
    if wanted.crs is not None and not CRS(found.crs).equals(CRS(wanted.crs), ignore_axis_order=True):
        raise JobFileError(
            f"map.crs: the layer {found.name} is in {CRS(found.crs).name}, not {wanted.crs}; leave map.crs out"
        )
    return found.crs


def projected(crs: str | None) -> Any:
    from pyproj import CRS

    return CRS(crs)


def _points(target: Target, easting: Any, northing: Any, elevation: Any) -> pa.Array:
    import shapely

    # Halves of diameters make digits that nobody measured.
    height = np.round(elevation, _HEIGHT_DIGITS)
    points = shapely.points(easting, northing, height) if target.has_z else shapely.points(easting, northing)
    if target.geometry == "MultiPoint":
        points = shapely.multipoints(points, indices=np.arange(len(points)))
    return pa.array(shapely.to_wkb(points, flavor="iso"), pa.binary())


_REMEDY = "name the utility's layer of joints, or write map.other_features = true if joints belong into this one"


def _of_something_else(target: Target) -> list[str]:
    """Say that a layer is of valves or the like, where a name of it or of a column says so and none is of joints."""
    names = [_plain(target.name), *(_plain(one.name) for one in target.fields)]
    if any(map(_OF_JOINTS.search, names)):
        return []
    column = next((one.name for one in target.fields if _OTHER_COLUMN.fullmatch(_plain(one.name))), None)
    if column is None and not _OTHER.search(names[0]):
        return []
    seen = "" if column is None else f" (it has a column {column})"
    return [f"map.layer: {target.name} holds something else than joints, as its names say{seen}; {_REMEDY}"]


def _plain(name: str) -> str:
    """Write a name in small letters, words in it apart."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])|[^A-Za-z0-9]+", "_", name).lower()


def _refuse_other_types(table: pa.Table, present: Present, target: Target, wanted: Map) -> None:
    """Refuse a layer whose rows are of types that are no joint's, in the column into which the job writes types."""
    field = target.field(wanted.columns["joint_type"]) if "joint_type" in wanted.columns else None
    if field is None:
        return
    there = pc.value_counts(as_text(present.table[field.name]).drop_null()).to_pylist()
    ours = {str(code) for code in wanted.values.get("joint_type", {}).values()}
    ours |= set(pc.unique(as_text(table[field.name])).to_pylist())
    rows = sum(one["counts"] for one in there)
    if rows < _FEWEST or any(one["values"] in ours or joint_type(one["values"]) in JOINT_TYPES for one in there):
        return
    shown = ", ".join(repr(one["values"]) for one in sorted(there, key=lambda one: -one["counts"])[:_FEWEST])
    raise JobFileError(
        f"map.layer: none of the {rows} rows of {target.name} is of a type of joint: {field.name} is {shown} there. "
        f"Nothing was written; {_REMEDY}, or map.columns.joint_type another column"
    )
