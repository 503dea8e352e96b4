"""Questions to the register as commands, and what its answers hold."""

import getpass
import tempfile
from pathlib import Path

from qgis.core import (
    QgsCoordinateReferenceSystem,
    QgsCoordinateTransform,
    QgsFeature,
    QgsGeometry,
    QgsProject,
    QgsSettings,
    QgsUnitTypes,
    QgsVectorFileWriter,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QObject, pyqtSignal

from . import environment, outputs, results
from .child import ChildError
from .words import tr

_DEGREE_METRES = 111_320.0
"""A degree of latitude, near enough for the reach of a pointer."""


class _News(QObject):
    """What is heard of registers in this window."""

    changed = pyqtSignal(str, bool)
    """A register's file or address, and whether a job was loaded into it."""


news = _News()


def was_changed(place, project, *, loaded=False):
    """Let layers of a register that are open, and the panel, show what it holds now."""
    results.show_anew(place, project)
    news.changed.emit(str(place), loaded)


def is_same(one, other):
    """Tell whether two files or addresses are of one register."""
    if not one.strip() or not other.strip():
        return False
    return one == other if "://" in one + other else outputs.is_same_file(one, other)


class Query:
    """A command to ask, and the folder of files that it reads, for as long as it is asked."""

    def __init__(self, arguments, folder=None):
        self.arguments, self.folder = arguments, folder


def near(place, point, within, crs):
    """Ask for the nearest joint to a point.

    Parameters
    ----------
    place : str, the register's file or address
    point : QgsPointXY
    within : float, in units of the coordinate system
    crs : QgsCoordinateReferenceSystem
    """
    return Query(["find", place, f"--near={point_text(point, crs)}", f"--within={_distance_text(within, crs)}"])


def by_name(place, route, joint):
    """Ask for the joints of a route, or for a joint by its number or its ID."""
    named = [*([f"--route={route}"] if route else []), *([f"--joint={joint}"] if joint else [])]
    return Query(["find", place, *named])


def inside(place, extent, crs):
    """Ask for the joints in a rectangle of the map."""
    layer = QgsVectorLayer("Polygon", "area", "memory")
    layer.setCrs(crs)
    feature = QgsFeature()
    feature.setGeometry(QgsGeometry.fromRect(extent))
    layer.dataProvider().addFeatures([feature])
    folder = tempfile.TemporaryDirectory(prefix="asbuilt-")
    path = Path(folder.name) / "area.gpkg"
    options = QgsVectorFileWriter.SaveVectorOptions()
    options.driverName, options.layerName = "GPKG", "area"
    context = QgsProject.instance().transformContext()
    written = QgsVectorFileWriter.writeAsVectorFormatV3(layer, str(path), context, options)
    if written[0] != QgsVectorFileWriter.WriterError.NoError:
        raise ChildError(tr("The area cannot be handed to asbuilt: {0}").format(written[1]))
    return Query(["find", place, f"--area={path}"], folder)


def mark(place, finding, note, as_="looked-at"):
    """Keep in the register that somebody has looked at a finding, or that it is open again."""
    return Query(["mark", place, finding["finding_uid"], f"--note={note}", f"--as={as_}", f"--by={who()}"])


def who():
    """Give the name under which findings are marked: that of the settings, else the computer's."""
    return str(QgsSettings().value(environment.WHO_SETTING, "") or "").strip() or getpass.getuser()


def joints(answer):
    """Give the joints of an answer, each with the coordinate system of its coordinates."""
    return [{**joint, "crs": answer.get("crs")} for joint in answer["joints"]]


def last_mark(finding):
    """Give the last mark of a finding: what became of it, by whom, when, and their note; None where nobody looked."""
    return finding["marks"][-1] if finding["marks"] else None


def looked_at(finding):
    """Tell whether somebody has looked at a finding, and nobody has opened it again."""
    return finding["mark"] == "looked-at"


def marked(finding, answer):
    """Add a mark that the register has kept to a finding."""
    finding["mark"] = answer["mark"]
    mark = {"mark": answer["mark"], "note": answer["note"], "by": answer["marked_by"], "at": answer["marked_at"]}
    finding["marks"].append(mark)


def place_of(joint, crs):
    """Give a joint's point in a coordinate system."""
    step = QgsCoordinateTransform(QgsCoordinateReferenceSystem(joint["crs"]), crs, QgsProject.instance())
    return step.transform(joint["easting"], joint["northing"])


def _distance_text(length, crs):
    """Write a length as the command reads it, in feet where the map is in feet."""
    if crs.isGeographic():
        return f"{length * _DEGREE_METRES:.3f}m"
    metres = QgsUnitTypes.fromUnitToUnitFactor(crs.mapUnits(), QgsUnitTypes.DistanceUnit.DistanceMeters)
    return f"{length:.3f}ft" if 0.304 < metres < 0.305 else f"{length * metres:.3f}m"


def point_text(point, crs):
    """Write a point as the command reads it, always with the code of its coordinate system.

    Degrees are latitude and longitude, whatever order the host has them in.
    """
    if not crs.authid().startswith("EPSG:"):
        degrees = QgsCoordinateReferenceSystem("EPSG:4326")
        point, crs = QgsCoordinateTransform(crs, degrees, QgsProject.instance()).transform(point), degrees
    first, second = (point.y(), point.x()) if crs.isGeographic() else (point.x(), point.y())
    return f"{first:.9f},{second:.9f},{crs.authid()}"
