"""Layers, tables and choices of a form, written down as files and a job file for the child."""

import json
import re
from pathlib import Path

from qgis.core import QgsFeatureRequest, QgsVectorFileWriter

from .child import ChildError
from .words import tr


def write_source(source, folder, context, feedback):
    """Write a layer or table, as filtered and selected, to a GeoPackage in a folder.

    Parameters
    ----------
    source : QgsProcessingFeatureSource
    folder : Path

    Returns
    -------
    Path

    Raises
    ------
    ChildError
    """
    name = re.sub(r"[^\w.-]+", "_", source.sourceName()).strip("._") or "layer"
    path = Path(folder) / f"{name}.gpkg"
    number = 1
    while path.exists():
        number += 1
        path = Path(folder) / f"{name}_{number}.gpkg"
    layer = source.materialize(QgsFeatureRequest(), feedback)
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName = "GPKG"
    options.layerName = path.stem
    # Names that no column of a log has.
    options.layerOptions = ["FID=asbuilt_feature", "GEOMETRY_NAME=asbuilt_geometry"]
    written = QgsVectorFileWriter.writeAsVectorFormatV3(layer, str(path), context.transformContext(), options)
    if written[0] != QgsVectorFileWriter.WriterError.NoError:
        raise ChildError(tr("{0} cannot be handed to asbuilt: {1}").format(source.sourceName(), written[1]))
    return path


def job_text(keys, more=""):
    """Write a job file: one dotted key a line, and behind them the lines that the user added.

    Parameters
    ----------
    keys : dict of dotted key to text, number, list or dict; None and empty ones are left out
    more : str, TOML

    Examples
    --------
    >>> print(job_text({"name": "Quarry Lane", "records.laying_length": 20.0, "crs": ""}), end="")
    name = "Quarry Lane"
    records.laying_length = 20.0
    """
    lines = [f"{key} = {_toml(value)}" for key, value in keys.items() if value not in (None, "", [], {})]
    return "\n".join([*lines, *more.splitlines()]) + "\n"


def _toml(value):
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{json.dumps(key, ensure_ascii=False)} = {_toml(one)}" for key, one in value.items()) + "}"
        )
    return repr(value)
