"""The layers of a placed job in the open project: in their order, with their styles, titles and relations."""

import hashlib
from pathlib import Path

from qgis.core import (
    QgsProcessingContext,
    QgsProcessingLayerPostProcessorInterface,
    QgsProject,
    QgsRelation,
    QgsVectorLayer,
)

from .words import tr, vocabulary

LAYERS = ("findings", "joints", "segments", "centerline", "inspections", "set_aside", "run")
"""From the top of the map down; the last ones are tables."""

_keep = []


def uri(path, name):
    """Name a layer of a GeoPackage as the host does."""
    return f"{path}|layername={name}"


def load_on_completion(path, title, context):
    """Ask the host to open a placed job's layers, in a group, when the algorithm is done."""
    # One for each layer, since the host takes each for its own; and kept, since it calls them after the algorithm.
    arrangers = [_Arranged(path, title) for _ in LAYERS]
    _keep.extend(arrangers)
    for name, arrange in zip(LAYERS, arrangers):
        details = QgsProcessingContext.LayerDetails(_titles()[name], context.project(), name.upper())
        details.setPostProcessor(arrange)
        details.forceName = True
        context.addLayerToLoadOnCompletion(uri(path, name), details)


def open_job(path, title, project=None):
    """Open a placed job's layers in a project at once; gives them by name."""
    project = project or QgsProject.instance()
    layers = {name: QgsVectorLayer(uri(path, name), _titles()[name], "ogr") for name in LAYERS}
    for layer in layers.values():
        project.addMapLayer(layer)
    arrange(path, title, project)
    return layers


def arrange(path, title, project):
    """Put a job's layers in their order in a group, name their columns, and relate them."""
    layers = layers_of(path, project)
    if not layers:
        return
    root = project.layerTreeRoot()
    group = _group_of(layers, root) or root.insertGroup(0, title)
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


def layers_of(path, project):
    """Give a job's layers that are open in a project, by name."""
    found = {}
    for layer in project.mapLayers().values():
        where, _, rest = layer.source().partition("|layername=")
        name = rest.partition("|")[0]
        if name in LAYERS and Path(where) == Path(path):
            found[name] = layer
    return found


def relate(layers, project):
    """Relate joints to their inspections and findings, so that a joint's form shows them."""
    if "joints" not in layers:
        return
    manager = project.relationManager()
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


class _Arranged(QgsProcessingLayerPostProcessorInterface):
    """Arranges the layers of a job each time that the host has opened one of them."""

    def __init__(self, path, title):
        super().__init__()
        self.path, self.title = path, title

    def postProcessLayer(self, layer, context, feedback):
        """Give the layer its style from the file, and arrange what is open by now."""
        layer.loadDefaultStyle()
        arrange(self.path, self.title, context.project())


def _group_of(layers, root):
    for layer in layers.values():
        node = root.findLayer(layer.id())
        if node is not None and node.parent() is not root:
            return node.parent()
    return None


def _name_columns(layer, name):
    titles = vocabulary()["layers"].get(name, {})
    for index, field in enumerate(layer.fields()):
        if field.name() in titles and not layer.attributeAlias(index):
            layer.setFieldAlias(index, titles[field.name()])


def _titles():
    return {
        "findings": tr("Findings"),
        "joints": tr("Joints"),
        "segments": tr("Segments"),
        "centerline": tr("Centerline"),
        "inspections": tr("Inspections"),
        "set_aside": tr("Set aside"),
        "run": tr("Run"),
    }
