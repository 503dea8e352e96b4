"""A job's joints fitted to the utility's layer, whatever it is kept in, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.errors import JobFileError
from asbuilt.line import projection
from asbuilt.owner_map import utility_map
from asbuilt.owner_map.utility_map import Target

if TYPE_CHECKING:
    from asbuilt.job import Map
    from asbuilt.placement import Placement

SHAPE_NAME, SHAPE_TEXT = 10, 254
"""Longest column name, and widest text, of a Shapefile's table. Source: dBASE file format; from memory."""


@dataclass(frozen=True)
class Written:
    """What became of the joints on the utility's map."""

    into: str
    layer: str
    created: bool
    joints: int
    already_there: int
    notes: tuple[str, ...]

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
    unknown = int(np.isnan(placement.judged.joints.elevation).sum())
    if found is None:
        target = utility_map.described(wanted, ours, wanted.crs or placement.map_crs)
        # Points without an elevation are points in the plane, not at height zero or none.
        target = replace(target, has_z=not unknown)
        target = _as_shapefile(target, problems) if shape else target
    else:
        target = replace(found, crs=_crs_of(found, wanted))
        if wanted.types:
            problems.append("map.types: the layer is there already; remove the types, or name another layer")
    if shape and found is not None and target.has_z and unknown:
        problems.append(
            f"map.into: {unknown} joints have no elevation, and every point of {target.name} must have one; name a "
            "layer of points in the plane"
        )
    if target.geometry not in ("Point", "MultiPoint", "Geometry"):
        problems.append(f"map.layer: {target.name} holds {target.geometry}, not points; name a layer of points")
    routes, joints = placement.routes, placement.judged.joints
    step = projection.map_step(routes.crs, str(target.crs), joints.easting, joints.northing, key="map.crs")
    easting, northing = step.apply(joints.easting, joints.northing)
    for name, values in (("easting", easting), ("northing", northing)):
        ours = ours.set_column(ours.column_names.index(name), name, pa.array(values, from_pandas=True))
    table, misfits = utility_map.fit(ours, wanted, target)
    if problems or misfits:
        raise JobFileError(
            "\n  ".join([f"{placement.job.source}: nothing was written to the map", *problems, *misfits])
        )
    points = _points(target, easting, northing, joints.elevation)
    notes = [*step.notes]
    if target.has_z and units.of_crs(projected(target.crs)) != routes.unit:
        notes.append(f"elevations on the map are in {units.WORDS[routes.unit]}, as in the centerline")
    return target, table.append_column("geom", points), tuple(notes)


def without_present(table: pa.Table, target: Target, wanted: Map, present: pa.Array) -> pa.Table:
    """Leave out the joints whose key is on the map already.

    Parameters
    ----------
    table : pyarrow table
        Joints in the layer's columns.
    target : Target
    wanted : Map
    present : pyarrow string array
        Keys on the map, as `utility_map.keys` writes them.
    """
    key = utility_map.keys(table, key_columns(target, wanted))
    return table.filter(pc.invert(pc.is_in(key, value_set=present)))


def key_columns(target: Target, wanted: Map) -> list[str]:
    """Name the layer's columns by which joints are known."""
    found = [target.field(wanted.columns[field]) for field in wanted.key]
    return [one.name for one in found if one is not None]


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

    points = shapely.points(easting, northing, elevation) if target.has_z else shapely.points(easting, northing)
    if target.geometry == "MultiPoint":
        points = shapely.multipoints(points, indices=np.arange(len(points)))
    return pa.array(shapely.to_wkb(points, flavor="iso"), pa.binary())
