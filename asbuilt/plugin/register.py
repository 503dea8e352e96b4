"""Questions to the register as commands, and what its answers hold."""

import tempfile
from pathlib import Path

from qgis.core import (
    QgsFeature,
    QgsGeometry,
    QgsPointXY,
    QgsProject,
    QgsUnitTypes,
    QgsVectorFileWriter,
    QgsVectorLayer,
)

from .child import ChildError
from .words import tr


class Query:
    """A command to ask, and the files that it reads, for as long as it is asked."""

    def __init__(self, arguments, folder=None):
        self.arguments, self.folder = arguments, folder


def near(place, point, within, crs):
    """Ask for the joints near a point, nearest first.

    Parameters
    ----------
    place : str, the register's file or address
    point : QgsPointXY
    within : float, in units of the coordinate system
    crs : QgsCoordinateReferenceSystem
    """
    return Query(["find", place, "--near", _point_text(point, crs), "--within", f"{_metres(within, crs):.3f}m"])


def by_name(place, route, joint):
    """Ask for the joints of a route, or for a joint by its number."""
    named = [*(["--route", route] if route else []), *(["--joint", joint] if joint else [])]
    return Query(["find", place, *named])


def inside(place, extent, crs):
    """Ask for the joints in a rectangle of the map."""
    layer = QgsVectorLayer("Polygon", "area", "memory")
    layer.setCrs(crs)
    feature = QgsFeature()
    feature.setGeometry(QgsGeometry.fromRect(extent))
    layer.dataProvider().addFeatures([feature])
    folder = tempfile.TemporaryDirectory(prefix="asbuilt-")
    return Query(["find", place, "--area", str(write_area(layer, folder.name))], folder)


def write_area(layer, folder):
    """Write a layer of polygons to a file for the command."""
    path = Path(folder) / "area.gpkg"
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName, options.layerName = "GPKG", "area"
    context = QgsProject.instance().transformContext()
    written = QgsVectorFileWriter.writeAsVectorFormatV3(layer, str(path), context, options)
    if written[0] != QgsVectorFileWriter.WriterError.NoError:
        raise ChildError(tr("The area cannot be handed to asbuilt: {0}").format(written[1]))
    return path


def mark(place, finding, note):
    """Keep in the register that somebody has looked at a finding."""
    return Query(["mark", place, str(finding["finding_uid"]), "--note", note])


def joints(answer):
    """Give the joints of an answer."""
    return answer.get("joints") or []


def findings(joint):
    """Give the findings at a joint."""
    found = joint.get("findings")
    return found if isinstance(found, list) else []


def _point_text(point, crs):
    if crs.isGeographic():
        return f"{point.y():.9f},{point.x():.9f}"
    return f"{point.x():.4f},{point.y():.4f},{crs.authid()}"


def _metres(length, crs):
    if crs.isGeographic():
        return length * 111_320.0  # a degree of latitude, near enough for a pointer
    return length * QgsUnitTypes.fromUnitToUnitFactor(crs.mapUnits(), QgsUnitTypes.DistanceUnit.DistanceMeters)


def looked_at(finding):
    """Tell whether somebody has looked at a finding."""
    return bool(finding.get("marked_at"))


def place(joint):
    """Give a joint's longitude and latitude with their coordinate system; None where unknown."""
    longitude, latitude = joint.get("longitude"), joint.get("latitude")
    if longitude is None or latitude is None:
        return None
    return QgsPointXY(longitude, latitude), "EPSG:4326"
