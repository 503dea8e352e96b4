"""The surveyed centerline read from its file: lines, survey shots, or alignments, as routes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs import tables, vectors
from asbuilt.inputs.alignments import routes_from_alignments
from asbuilt.inputs.degrees import projected
from asbuilt.inputs.line_layer import routes_from_lines
from asbuilt.inputs.line_of_joints import WHERE, shots_of_joints
from asbuilt.inputs.log import Log, read_log
from asbuilt.inputs.route_keys import told_where
from asbuilt.inputs.shots import routes_from_shots, shots_of_layer, shots_of_table
from asbuilt.inputs.where import rows_where
from asbuilt.line.routes import Routes

if TYPE_CHECKING:
    import geopandas as gpd

    from asbuilt.job import Job


_TEXT_SUFFIXES = (".csv", ".txt")
_OF_LAYERS = ("layer", "where", "encoding", "join_tolerance")
_OF_OTHER_SHOTS = ("columns", "codes", "codes_left_out", "joint_after", "sheet")
"""Keys about survey shots that are no joints of the log."""
_OF_SHOTS = (*_OF_OTHER_SHOTS, "order", "shots_left_out")
"""Keys about survey shots alone."""
_POINTS = frozenset({0, 4})
"""Kinds of geometry, as shapely numbers them, that are shots: points, and collections of points."""


def read_centerline(job: Job, data: gpd.GeoDataFrame | None = None, log: Callable[[], Log] | None = None) -> Routes:
    """Read the job's centerline: a line layer, survey shots in order, or alignments; and how it came about.

    Parameters
    ----------
    job : Job
    data : GeoDataFrame, optional
        Lines already in memory, used instead of the job's path.
    log : function, optional
        Gives the job's log, for a line that is strung through its joints; it is read here, if left out.

    Raises
    ------
    InputFileError, JobFileError
        When a file, layer, column, coordinate system or unit is missing or in conflict.
    """
    if job.centerline.from_joints and data is None:
        without_effect = ("path", "elevation_unit", "profile", *_OF_LAYERS, *_OF_OTHER_SHOTS)
        _refuse_without_effect(job, WHERE, "its shots", without_effect)
        shots = shots_of_joints(job, log() if log is not None else read_log(job))
        return _with_source(job, routes_from_shots(job, shots, WHERE))
    return _with_source(job, _read(job, data))


def _read(job: Job, data: gpd.GeoDataFrame | None) -> Routes:
    if data is not None:
        if not hasattr(data, "geometry"):
            raise JobFileError("centerline: the data frame has no geometry; give a GeoDataFrame of lines")
        return _routes_from_features(job, vectors.features_from_frame(data), "the centerline data")
    if job.centerline.path is None:
        raise JobFileError(
            f"{job.source}: centerline.path: this key is required; name the centerline's file (or say "
            "from_joints = true, where the log itself has the coordinates of its joints)"
        )
    path = job.file(job.centerline.path)
    if not vectors.is_there(path):
        raise InputFileError(f"{path}: there is no such file; correct centerline.path")
    if path.suffix.lower() == ".xml":
        _refuse_without_effect(job, str(path), "alignments", ("elevation_unit", *_OF_LAYERS, *_OF_SHOTS))
        return routes_from_alignments(job, path)
    if path.suffix.lower() in (*_TEXT_SUFFIXES, *tables.WORKBOOK_SUFFIXES):
        _refuse_without_effect(job, str(path), "survey shots in a table", ("layer", "join_tolerance", "profile"))
        return routes_from_shots(job, shots_of_table(job, path), str(path))
    wanted = job.centerline
    features = vectors.read_features(path, wanted.layer, key="centerline.layer", encoding=wanted.encoding)
    return _routes_from_features(job, features, str(path))


def _refuse_without_effect(job: Job, where: str, what: str, keys: tuple[str, ...]) -> None:
    """Refuse keys that would change nothing: who wrote them believes that they do."""
    wanted, plain = job.centerline, type(job.centerline)()
    given = [key for key in keys if getattr(wanted, key) != getattr(plain, key)]
    if given:
        raise JobFileError(
            f"{job.source}: centerline.{given[0]}: in {where} are {what}, where this has no effect; remove the key"
        )


def _routes_from_features(job: Job, features: vectors.Features, where: str) -> Routes:
    """Take the features that the job wants of a layer, as lines or as survey shots."""
    import shapely

    if job.centerline.where:
        wanted = rows_where(features.columns, job.centerline.where, where=where, key="centerline.where")
        features = vectors.taken(features, wanted)
        features = features._replace(notes=(*features.notes, told_where(where, wanted, "features")))
    features, step = projected(job, features, where)
    if set(shapely.get_type_id(features.geometry).tolist()) & _POINTS:
        _refuse_without_effect(job, where, "survey shots as points", ("sheet", "join_tolerance", "profile"))
        routes = routes_from_shots(job, shots_of_layer(job, features, where), where)
    else:
        _refuse_without_effect(job, where, "lines", (*_OF_SHOTS, "profile"))
        routes = routes_from_lines(job, features, where)
    return replace(routes, datum_step=step)


def _with_source(job: Job, routes: Routes) -> Routes:
    """Say how the line came about, as the job has it or its form tells.

    Alignments are designs unless drawn over what was built; survey shots are a survey, and so is a line for which the
    job states how well its shots are known. Of other lines nothing tells it.
    """
    wanted, shots = job.centerline, routes.shot_row is not None
    stated = [key for key in ("sigma_horizontal", "sigma_vertical") if getattr(wanted, key) is not None]
    if routes.pieces is not None and wanted.source == "survey":
        raise JobFileError(
            f'{job.source}: centerline.source: an alignment is drawn, and its curves were not shot; say "design" or '
            '"drawn", or give the shots themselves as the centerline'
        )
    if wanted.source in ("drawn", "design") and stated:
        raise JobFileError(
            f"{job.source}: centerline.{stated[0]}: the line was not shot (centerline.source), so it has no standard "
            "error of a shot; remove one of the two keys"
        )
    told = "design" if routes.pieces is not None else "survey" if shots or stated else None
    return replace(routes, source=wanted.source or told)
