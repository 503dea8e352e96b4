"""The layers of a placed job in the open project: in their order, with their styles, titles and relations."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

from qgis.core import (
    Qgis,
    QgsProcessingContext,
    QgsProcessingLayerPostProcessorInterface,
    QgsProviderRegistry,
    QgsRelation,
    QgsVectorLayer,
    QgsWkbTypes,
)

from . import layer_forms, outputs
from .words import FOLDER, titles, tr, vocabulary

LAYERS = (
    "findings", "joints", "restraint", "pressure_tests", "segments", "centerline", "inspections", "set_aside", "run",
)  # fmt: skip
"""From the top of the map down; the last ones are tables. Not every job has every one of them."""
_ON_REQUEST = ("restraint", "pressure_tests")
_STOOD = "load_id IN (SELECT max(load_id) FROM loads WHERE state = 'standing' GROUP BY job)"
"""What holds of the layers in which a register keeps what every load brought, in one of an earlier format."""

_GROUP = "asbuilt/file"
_SHOWN_AS = {
    "joints": 'concat("route", \' \', "joint")',
    "findings": 'concat("code", \': \', "message")',
    "inspections": "concat(coalesce(format_date(\"inspected_on\", 'yyyy-MM-dd'), '?'), ' ', \"inspector\")",
}
"""By what a row is named where it stands in another row's form."""

_keep = []


class Closing:
    """Notices that a project is closed: what a work opens at its end would come into another one."""

    def __init__(self, project):
        self.seen = False
        # Without a window there may be no project.
        if project is not None:
            project.cleared.connect(self._see)

    def _see(self):
        self.seen = True


def tell_in_window(text):
    """Say something at the top of the window, where there is one: the form of the work may be closed by now."""
    from qgis.utils import iface

    if iface is not None:
        iface.messageBar().pushMessage(tr("Joint records"), text, Qgis.MessageLevel.Warning, 0)


def uri(path, name):
    """Name a layer of a GeoPackage as the host does."""
    return f"{path}|layername={name}"


def present(path):
    """Give the layers that a placed job has, in their order."""
    with closing(sqlite3.connect(path)) as database:
        names = {name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")}
    return [name for name in LAYERS if name in names]


def _asked_for(path):
    """Leave out the layers of what the job file did not ask for."""
    with closing(sqlite3.connect(path)) as database:
        return [
            name
            for name in present(path)
            if name not in _ON_REQUEST or database.execute(f"SELECT EXISTS (SELECT 1 FROM {name})").fetchone()[0]
        ]


def load_on_completion(path, title, context):
    """Ask the host to open a placed job's layers, in a group, when the algorithm is done; open ones stay."""
    # One for each layer, since the host takes each for its own; and kept, since it calls them after the algorithm.
    there = layers_of(path, context.project())
    names = [name for name in _asked_for(path) if name not in there]
    arrangers = [_Arranged(path, title) for _ in names]
    _keep.extend(arrangers)
    for name, arrange in zip(names, arrangers):
        details = QgsProcessingContext.LayerDetails(_titles()[name], context.project(), name.upper())
        details.setPostProcessor(arrange)
        details.forceName = True
        context.addLayerToLoadOnCompletion(uri(path, name), details)


def show_anew(path, project):
    """Let the layers of a file that was written anew, and that are open, show what it holds now."""
    for layer in layers_of(path, project).values():
        _show_anew(layer)


def show_file_anew(path, project):
    """Let every layer of a file of somebody else's that was written to, and that is open, show what it holds now."""
    for layer in project.mapLayers().values() if project is not None else ():
        if outputs.is_same_file(layer.source().partition("|")[0], path):
            _show_anew(layer)


def _show_anew(layer):
    # The host keeps the file that was there open, and would go on reading it.
    layer.dataProvider().reloadData()
    layer.updateFields()
    layer.updateExtents(True)
    layer.triggerRepaint()


def arrange(path, title, project):
    """Put a job's layers in their order in a group, name their columns, and relate them."""
    layers = layers_of(path, project)
    if not layers:
        return
    root = project.layerTreeRoot()
    group = _group_of(path, root)
    if group is None:
        group = root.insertGroup(0, title)
        group.setCustomProperty(_GROUP, str(path))
    for name in LAYERS:
        if name not in layers:
            continue
        layer = layers[name]
        _name_columns(layer, name)
        node = root.findLayer(layer.id())
        moved = node.clone()
        # In this order: a layer that is nowhere in the tree is taken out of the project.
        group.addChildNode(moved)
        node.parent().removeChildNode(node)
        # Their legends are long; what they show is in the map.
        moved.setExpanded(name in ("findings", "joints"))
    relate(layers, project)


def open_jobs(project):
    """Give the files of the placed jobs whose findings are open in a project, in the order of their names."""
    found = {
        layer.source().partition("|")[0] for layer in project.mapLayers().values() if _name_of(layer) == "findings"
    }
    return sorted(path for path in found if Path(path).is_file() and _is_of_a_job(path))


def title_of(path):
    """Name a placed job's file and, where it can be read, the job."""
    try:
        with closing(sqlite3.connect(f"{Path(path).resolve().as_uri()}?mode=ro", uri=True)) as database:
            (name,) = database.execute("SELECT name FROM run").fetchone()
    except (sqlite3.Error, TypeError):
        return Path(path).name
    return f"{Path(path).name} ({name})"


def _is_of_a_job(path):
    """Tell whether a GeoPackage is a placed job, of whatever version."""
    return {"run", "inspections"} <= _tables(path)


def unsaved_layers(project):
    """Give the files behind the layers of a project that have changes which are not saved, with the layers' names.

    Returns
    -------
    dict of Path to str
    """
    return _files(project, lambda layer: layer.isModified())


def layers_in_edit(project):
    """Give the files behind the layers of a project that are being edited, with the layers' names.

    Returns
    -------
    dict of Path to str
    """
    return _files(project, lambda layer: layer.isEditable())


def _files(project, wanted):
    found = {}
    for layer in project.mapLayers().values() if project is not None else ():
        if isinstance(layer, QgsVectorLayer) and wanted(layer):
            parts = QgsProviderRegistry.instance().decodeUri(layer.providerType(), layer.source())
            if parts.get("path"):
                found[Path(parts["path"]).resolve()] = layer.name()
    return found


def _tables(path):
    with closing(sqlite3.connect(path)) as database:
        return {name for (name,) in database.execute("SELECT name FROM sqlite_master")}


def layers_of(path, project):
    """Give a job's layers that are open in a project, by name."""
    found = {}
    # Without a window there may be no project.
    for layer in project.mapLayers().values() if project is not None else ():
        name = _name_of(layer)
        if name in LAYERS and outputs.is_same_file(layer.source().partition("|")[0], path):
            found[name] = layer
    return found


def _name_of(layer):
    return layer.source().partition("|layername=")[2].partition("|")[0]


def is_answer(layer):
    """Tell whether a layer holds what was found in a placed job or a register, instead of a crew's records."""
    path, name = Path(layer.source().partition("|")[0]), _name_of(layer)
    if name not in LAYERS or name == "inspections" or path.suffix.lower() != ".gpkg" or not path.is_file():
        return False
    tables = _tables(path)
    return "inspections" in tables and bool({"run", "loads"} & tables)


def only_line_layer(project):
    """Give the id of the project's only layer of lines that is none of a placed job or a register, else None."""
    found = [
        layer.id()
        for layer in project.mapLayers().values()
        if isinstance(layer, QgsVectorLayer)
        and layer.geometryType() == QgsWkbTypes.GeometryType.LineGeometry
        and not is_answer(layer)
    ]
    return found[0] if len(found) == 1 else None


def relate(layers, project):
    """Relate joints to their inspections and findings, so that a joint's form shows them."""
    if "joints" not in layers:
        return
    manager, relations = project.relationManager(), {}
    for name in ("inspections", "findings"):
        if name not in layers:
            continue
        relation = QgsRelation()
        key = hashlib.sha256(layers["joints"].source().encode()).hexdigest()[:12]
        relation.setId(f"asbuilt_{name}_{key}")
        relation.setName(_titles()[name])
        relation.setReferencedLayer(layers["joints"].id())
        relation.setReferencingLayer(layers[name].id())
        relation.addFieldPair("joint_uid", "joint_uid")
        if relation.isValid():
            manager.addRelation(relation)
            relations[name] = relation
    layer_forms.lay_out(layers["joints"], relations)


class _Arranged(QgsProcessingLayerPostProcessorInterface):
    """Arranges the layers of a job each time that the host has opened one of them."""

    def __init__(self, path, title):
        super().__init__()
        self.path, self.title = path, title

    def postProcessLayer(self, layer, context, feedback):
        """Give the layer its style, from the file or else the plugin's, and arrange what is open by now."""
        name = _name_of(layer)
        tables, stands = _tables(self.path), vocabulary()["stands"].get(name)
        # As a filter of the layer, that whoever wants to see earlier loads can take off.
        if stands is not None and "loads" in tables:
            layer.setSubsetString(stands if "waiting_routes" in tables else _STOOD)
        _, styled = layer.loadDefaultStyle()
        own = FOLDER / "styles" / f"{name}.qml"
        if not styled and layer.isSpatial() and own.is_file():
            layer.loadNamedStyle(str(own))
        if name in _SHOWN_AS:
            layer.setDisplayExpression(_SHOWN_AS[name])
        # Named first: the host forgets how a column is shown when it is named.
        _name_columns(layer, name)
        layer_forms.set_up(layer, name, self.path)
        # What the command found is corrected in the log: mended by hand it would still pass for what was found.
        layer.setReadOnly(True)
        arrange(self.path, self.title, context.project())


def _group_of(path, root):
    named = [(group, group.customProperty(_GROUP)) for group in root.findGroups(True)]
    return next((group for group, file in named if file and outputs.is_same_file(file, path)), None)


def _name_columns(layer, name):
    english, wanted = vocabulary()["layers"].get(name, {}), titles(name)
    for index, field in enumerate(layer.fields()):
        column, shown = field.name(), layer.attributeAlias(index)
        # The file gives its titles in English; a title that somebody chose stays.
        if column in wanted and shown in ("", english[column]) and shown != wanted[column]:
            layer.setFieldAlias(index, wanted[column])


def _titles():
    return {
        "findings": tr("Findings"),
        "joints": tr("Joints"),
        "restraint": tr("Restraint"),
        "pressure_tests": tr("Pressure tests"),
        "segments": tr("Segments"),
        "centerline": tr("Centerline"),
        "inspections": tr("Inspections"),
        "set_aside": tr("Set aside"),
        "run": tr("Run"),
    }
