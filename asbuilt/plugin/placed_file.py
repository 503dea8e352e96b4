"""What the findings panel shows of a placed job, read from its GeoPackage."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from qgis.core import QgsGeometry, QgsPointXY, QgsVectorLayer

from . import results, stations

SEVERITIES = ("act", "check", "note")
"""From what must be acted on down."""


class PlacedFile:
    """Findings, rows set aside and stationing of a placed job."""

    def __init__(self, path):
        self.path = str(path)
        # Read only: a file that is not there is not made.
        with closing(sqlite3.connect(f"{Path(path).resolve().as_uri()}?mode=ro", uri=True)) as database:
            database.row_factory = sqlite3.Row
            self.form, read = database.execute("SELECT station_format, inputs FROM run").fetchone()
            self.inputs = [Path(one["path"]) for one in json.loads(read)]
            places = dict(database.execute("SELECT joint_uid, distance FROM joints"))
            self.findings = [
                dict(row, distance=places.get(row["joint_uid"]))
                for row in database.execute(
                    "SELECT fid, code, severity, route, joint, joint_uid, station, point, message FROM findings"
                )
            ]
            self.set_aside = [
                dict(row)
                for row in database.execute("SELECT record, file, row, route, joint, reason, message FROM set_aside")
            ]
            self.stretches = {}
            for row in database.execute("SELECT * FROM stationing ORDER BY route, stretch"):
                ends = (row[name] for name in ("from_distance", "to_distance", "from_station", "to_station"))
                self.stretches.setdefault(row["route"], []).append(stations.Stretch(row["stretch"], *ends))
            self.lengths = dict(database.execute("SELECT route, length FROM centerline"))
        self.findings.sort(
            key=lambda one: (SEVERITIES.index(one["severity"]), one["route"] or "", one["distance"] or 0.0)
        )
        layer = QgsVectorLayer(results.uri(self.path, "centerline"), "centerline", "ogr")
        self.crs = layer.crs()
        # Copies, for the host's own geometries go with their features.
        self.lines = {one["route"]: QgsGeometry(one.geometry()) for one in layer.getFeatures()}
        points = QgsVectorLayer(results.uri(self.path, "findings"), "findings", "ogr")
        self.points = {
            one.id(): one.geometry().asPoint() for one in points.getFeatures() if not one.geometry().isNull()
        }

    def said(self):
        """Give what is found, to compare one placing with the next."""
        return {_said(one) for one in self.findings}

    def path_of(self, name):
        """Give the path of one of the log's files, None where it is there no more."""
        found = [path for path in self.inputs if path.name == Path(name).name and path.is_file()]
        return found[0] if found else None

    def station_near(self, point, reach):
        """Say which station a point of the map is at, and how far off the line; "" beyond reach of every route."""
        nearest = None
        for route, line in self.lines.items():
            distance2, on_line, _, left_of = line.closestSegmentWithContext(point)
            if distance2 >= 0 and (nearest is None or distance2 < nearest[0]):
                nearest = (distance2, route, line, on_line, left_of)
        if nearest is None or nearest[0] > reach**2:
            return ""
        distance2, route, line, on_line, left_of = nearest
        along = line.lineLocatePoint(QgsGeometry.fromPointXY(on_line)) * self.lengths[route] / line.length()
        station = stations.at_distance(self.stretches[route], along, self.form)
        return f"{route}  {station}  {distance2**0.5:.1f} {'L' if left_of < 0 else 'R'}"

    def place_of_station(self, route, text):
        """Give the point of a station.

        Raises
        ------
        stations.StationError
        """
        if route not in self.lines:
            raise stations.StationError(", ".join(sorted(self.lines)))
        distance = stations.distance_of(self.stretches[route], text, self.form)
        line = self.lines[route]
        point = line.interpolate(distance * line.length() / self.lengths[route]).asPoint()
        return QgsPointXY(point.x(), point.y())


def new_findings(before, now):
    """Give how many findings are gone, and what those that are new say."""
    return len(before - now), now - before


def is_new(finding, new):
    """Tell whether a finding is among the new ones."""
    return _said(finding) in new


def _said(finding):
    return tuple(finding[name] for name in ("code", "route", "joint", "point", "message"))
