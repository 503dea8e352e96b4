"""Layers, tables and choices of a form, written down as files and a job file for the child.

A layer that is a file is handed over as that file, so that records keep its name, its rows and its digest; what is
not in a file is handed over as a copy.
"""

import contextlib
import json
import re
import sqlite3
from pathlib import Path
from urllib.parse import parse_qs, unquote, urlsplit

from qgis.core import (
    QgsFeatureRequest,
    QgsFields,
    QgsProcessingUtils,
    QgsProviderRegistry,
    QgsVectorFileWriter,
    QgsVectorLayer,
)

from .child import ChildError
from .words import tr

_LAYERS = (".gpkg", ".shp", ".geojson", ".json", ".fgb")
_TABLES = (".csv", ".txt", ".tsv", ".xlsx", ".xlsm", ".xls", ".ods")
_BOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
_SEPARATORS = {",", ";", "\t", "\\t", "|"}
_LONG_AGO = "2000-01-01T00:00:00.000Z"


class LayerFile:
    """The file that a layer is, with what the command must be told to read the same."""

    def __init__(self, path, name, keys, written_by):
        self.path, self.name, self.keys, self.written_by = path, name, keys, written_by

    @staticmethod
    def of(layer):
        """Give the file that a layer is, without asking whether the command would read the same there; or None."""
        return _text_file(layer) if layer.providerType() == "delimitedtext" else _data_file(layer)

    @property
    def is_table(self):
        """Tell whether it is a text file or a workbook, whose rows a spreadsheet numbers."""
        return Path(self.path).suffix.lower() in _TABLES


def layer_of(value, context):
    """Give the layer behind what a parameter of a form was given, and whether only its selection is meant.

    Parameters
    ----------
    value : a layer, its id or source, or such wrapped as a model and a selection hand it in
    context : QgsProcessingContext

    Returns
    -------
    layer, selected : QgsVectorLayer or None, bool
    """
    selected = bool(getattr(value, "selectedFeaturesOnly", False))
    static = getattr(getattr(value, "source", None), "staticValue", None)
    source = static() if static is not None else value
    if isinstance(source, str) and source:
        source = QgsProcessingUtils.mapLayerFromString(source, context, False)
    return (source if isinstance(source, QgsVectorLayer) else None), selected


def file_of(layer):
    """Give the file that a layer is, or None where the command would not read the same there.

    Raises
    ------
    ChildError
        When the layer has changes that its file has not.
    """
    found = LayerFile.of(layer)
    if found is None or not Path(found.path).is_file():
        return None
    if layer.isModified():
        raise ChildError(
            tr("{0} has changes that are not saved in {1}: save them, or discard them, and run this again.").format(
                layer.name(), found.path
            )
        )
    fields = layer.fields()
    own = all(fields.fieldOrigin(at) == QgsFields.FieldOrigin.OriginProvider for at in range(fields.count()))
    in_file = layer.dataProvider().crs()
    same_crs = not in_file.isValid() or not layer.crs().isValid() or layer.crs() == in_file
    return found if own and same_crs else None


def _data_file(layer):
    if layer.providerType() != "ogr":
        return None
    parts = QgsProviderRegistry.instance().decodeUri("ogr", layer.source())
    path, name = parts.get("path") or "", parts.get("layerName")
    suffix = Path(path).suffix.lower()
    if parts.get("openOptions") or suffix not in (*_LAYERS, *_TABLES):
        return None
    if name is None and suffix in (".gpkg", *_BOOKS):
        # The host shows the first one.
        sub_layers = layer.dataProvider().subLayers()
        name = sub_layers[0].split("!!::!!")[1] if sub_layers else None
    return LayerFile(path, name if suffix in (".gpkg", *_BOOKS) else None, {}, "ogr")


def _text_file(layer):
    """Read the address of a delimited text layer; its points are columns of the file."""
    address = urlsplit(layer.source())
    told = {name: values[-1] for name, values in parse_qs(address.query, keep_blank_values=True).items()}
    if (
        told.get("useHeader", "").lower() == "no"
        or told.get("type", "csv") not in ("csv", "")
        or told.get("delimiter", ",") not in _SEPARATORS
        or "wktField" in told
        or "xyDms" in told
    ):
        return None
    keys = {}
    if told.get("xField") and told.get("yField"):
        keys = {"records.columns.easting": told["xField"], "records.columns.northing": told["yField"]}
        keys["records.crs"] = authority(layer.crs())
    if told.get("decimalPoint") == ",":
        keys["records.decimal"] = ","
    return LayerFile(unquote(address.path), None, keys, "delimitedtext")


def authority(crs):
    """Name a coordinate system as the job file does; its well-known text where it has no number."""
    if not crs.isValid():
        return ""
    # What somebody defined in this host alone has a number that nobody else knows.
    named = crs.authid()
    return named if named and not named.startswith("USER:") else crs.toWkt()


def log_keys(value, source, context, feedback, folder, ask):
    """Give the keys of a job that name a layer as its log.

    Parameters
    ----------
    value : what the form's parameter was given
    source : QgsProcessingFeatureSource, the same as the host reads it
    folder : Path, for copies
    ask : function of a command's arguments that gives its answer

    Raises
    ------
    ChildError
    """
    layer, selected = layer_of(value, context)
    found = file_of(layer) if layer is not None else None
    if found is None:
        return {"records.path": [str(write_source(source, folder, context, feedback))]}
    keys = {"records.path": [found.path], **found.keys}
    if layer.isSpatial() and not layer.dataProvider().crs().isValid() and layer.crs().isValid():
        keys.setdefault("records.crs", authority(layer.crs()))
    if found.name:
        keys["records.sheet" if found.is_table else "records.layer"] = found.name
    if selected or layer.subsetString():
        keys["records.rows"] = _rows(layer, source, found, ask)
        # A part of a log need not reach from end to end.
        keys["records.covers"] = "part"
    return keys


def line_keys(value, source, context, feedback, folder, columns):
    """Give the keys of a job that name a layer as its centerline.

    Parameters
    ----------
    value, source, context, feedback, folder : as for `log_keys`
    columns : list of str
        Columns of the layer that the job reads.

    Raises
    ------
    ChildError
    """
    layer, selected = layer_of(value, context)
    found = file_of(layer) if layer is not None else None
    if found is not None and not selected and not layer.subsetString() and not found.is_table:
        provider = layer.dataProvider()
        numbered = {layer.fields().at(at).name() for at in provider.pkAttributeIndexes()}
        if not numbered & set(columns):
            crs = "" if provider.crs().isValid() else authority(layer.crs())
            return {"crs": crs, "centerline.path": found.path, "centerline.layer": found.name}
    return {"centerline.path": str(write_source(source, folder, context, feedback))}


def look_at(found):
    """Give the arguments by which the command says what is in the file of a layer."""
    name = ["--sheet" if found.is_table else "--layer", found.name] if found.name else []
    return ["columns", found.path, *name]


def row_numbers(layer, found, look):
    """Give which row of its file each feature of a layer is, as the command numbers them.

    Parameters
    ----------
    layer : QgsVectorLayer
        Without regard to its filter.
    found : LayerFile
    look : dict, what the command answers of the file

    Returns
    -------
    dict of a feature's id to its row, or None where it cannot be told
    """
    rows = [row for one in look["rows"] for row in _range(one)]
    whole = layer.clone()
    whole.setSubsetString("")
    request = QgsFeatureRequest().setFlags(QgsFeatureRequest.Flag.NoGeometry)
    features = sorted(whole.getFeatures(request), key=lambda one: one.id())
    if found.is_table:
        features = [one for one in features if any(str(cell).strip() not in ("", "NULL") for cell in one.attributes())]
    # The host may take title rows for records, but both end with the same one.
    above = len(features) - len(rows)
    if above < 0 or above > (look["header_row"] if found.written_by == "ogr" and found.is_table else 0):
        return None
    return {one.id(): rows[at - above] for at, one in enumerate(features) if at >= above}


def _rows(layer, source, found, ask):
    """Give the rows of the file that a filter or selection leaves, as the command numbers them."""
    (look,) = ask(look_at(found))["files"]
    number = row_numbers(layer, found, look)
    if number is None:
        raise ChildError(
            tr(
                "{0}: which rows of {1} the filter or selection leaves cannot be told. Take it off, or save the rows "
                "as a file of their own."
            ).format(layer.name(), found.path)
        )
    request = QgsFeatureRequest().setFlags(QgsFeatureRequest.Flag.NoGeometry)
    wanted = sorted(number[one.id()] for one in source.getFeatures(request) if one.id() in number)
    if not wanted:
        raise ChildError(tr("{0}: the filter or selection leaves no record.").format(layer.name()))
    return _ranges(wanted)


def _range(text):
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def _ranges(numbers):
    """Write numbers in order as ranges.

    Examples
    --------
    >>> _ranges([6, 7, 8, 12])
    ['6-8', '12']
    """
    groups = []
    for number in numbers:
        if groups and number == groups[-1][1] + 1:
            groups[-1][1] = number
        else:
            groups.append([number, number])
    return [str(first) if first == last else f"{first}-{last}" for first, last in groups]


def write_source(source, folder, context, feedback):
    """Write a layer or table, as filtered and selected, to a GeoPackage in a folder.

    The same rows give the same bytes, so that the same work has the same digest.

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
    # The host gives a copy its default where the layer has none.
    layer.setCrs(source.sourceCrs())
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName = "GPKG"
    options.layerName = path.stem
    # Names that no column of a log has.
    options.layerOptions = ["FID=asbuilt_feature", "GEOMETRY_NAME=asbuilt_geometry"]
    written = QgsVectorFileWriter.writeAsVectorFormatV3(layer, str(path), context.transformContext(), options)
    if written[0] != QgsVectorFileWriter.WriterError.NoError:
        raise ChildError(tr("{0} cannot be handed to asbuilt: {1}").format(source.sourceName(), written[1]))
    with contextlib.closing(sqlite3.connect(path)) as database, database:
        database.execute("UPDATE gpkg_contents SET last_change = ?", (_LONG_AGO,))
    return path


def keys_of(more):
    """Give the keys that lines of TOML begin with.

    Examples
    --------
    >>> sorted(keys_of('name = "A"\\nrecords.rows = ["2-9"]'))
    ['name', 'records.rows']
    """
    return {line.partition("=")[0].strip() for line in more.splitlines() if "=" in line}


def job_text(keys, more=""):
    """Write a job file: one dotted key a line, and behind them the lines that the user added.

    Parameters
    ----------
    keys : dict of dotted key to text, number, list or dict; None and empty ones are left out
        A key that the user's lines have too is theirs, such as one that goes with a layer.
    more : str, TOML

    Examples
    --------
    >>> print(job_text({"name": "Quarry Lane", "records.laying_length": 20.0, "crs": ""}), end="")
    name = "Quarry Lane"
    records.laying_length = 20.0
    """
    theirs = keys_of(more)
    lines = [
        f"{key} = {_toml(value)}"
        for key, value in keys.items()
        if value not in (None, "", [], {}) and key not in theirs
    ]
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
