"""What the findings panel shows of a placed job, read from its GeoPackage."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from qgis.core import QgsGeometry, QgsPointXY, QgsVectorLayer
from qgis.PyQt.QtCore import QDateTime, QLocale, Qt

from . import results, since, stations
from .words import tr, vocabulary

SEVERITIES = ("act", "check", "note")
"""From what must be acted on down."""
_COUNTED = {
    "joints": "joints", "segments": "segments", "findings": "findings", "inspections": "inspections_placed",
    "set_aside": "records_set_aside",
}  # fmt: skip
"""Layers, and the count of the run that each must have."""


class PlacedFileError(Exception):
    """A file is none of a job, or cannot be trusted to be what the job wrote; the text is the whole message."""


class PlacedFile:
    """Findings, rows set aside and stationing of a placed job."""

    def __init__(self, path):
        self.path = str(path)
        self.stamp = since.stamp([Path(path)])
        # Read only: a file that is not there is not made.
        with closing(sqlite3.connect(f"{Path(path).resolve().as_uri()}?mode=ro", uri=True)) as database:
            database.row_factory = sqlite3.Row
            run = self._run(database)
            self.form, self.made_at, self.made_by = run["station_format"], run["made_at"], run["asbuilt_version"]
            self.inputs = [(self._where(one["path"]), one["sha256"]) for one in json.loads(run["inputs"])]
            self.counts = {name: run[name] for name in ("joints", "findings")}
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
            self.notes = [dict(row) for row in database.execute("SELECT code, severity, text AS message FROM notes")]
            self.stretches = {}
            for row in database.execute("SELECT * FROM stationing ORDER BY route, stretch"):
                ends = (row[name] for name in ("from_distance", "to_distance", "from_station", "to_station"))
                self.stretches.setdefault(row["route"], []).append(stations.Stretch(row["stretch"], *ends))
            self.lengths = dict(database.execute("SELECT route, length FROM centerline"))
        self.notes.sort(key=lambda one: SEVERITIES.index(one["severity"]))
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

    def _run(self, database):
        """Give the row that says how the job was placed; a file of another version is refused.

        Raises
        ------
        PlacedFileError
        """
        run = dict(database.execute("SELECT * FROM run").fetchone() or {})
        made_by, version = run.get("asbuilt_version", "?"), run.get("file_version") or 0
        if version < vocabulary()["file_version"]:
            raise PlacedFileError(
                tr("{0} was placed by an earlier version (asbuilt {1}): place the job again.").format(
                    self.path, made_by
                )
            )
        if version > vocabulary()["file_version"]:
            raise PlacedFileError(
                tr("{0} was placed by a later version (asbuilt {1}): install the plugin of that version.").format(
                    self.path, made_by
                )
            )
        for layer, column in _COUNTED.items():
            (count,) = database.execute(f"SELECT count(*) FROM {layer}").fetchone()
            if count != run[column]:
                raise PlacedFileError(
                    tr("{0} was changed after it was placed: {1} has {2} rows, not the {3} of the job. Place it again.")
                    .format(self.path, layer, count, run[column])
                )  # fmt: skip
        return run

    def _where(self, name):
        """Give where a file of the job is: as it was named, else beside the placed file."""
        beside = Path(self.path).parent
        places = [Path(name)] if Path(name).is_absolute() else [beside / name, beside / Path(name).name]
        return next((path for path in places if path.exists()), places[0])

    def placed_at(self):
        """Give when the job was placed, in this machine's time, as the host writes dates."""
        made = QDateTime.fromString(self.made_at, Qt.DateFormat.ISODate).toLocalTime()
        return QLocale().toString(made, QLocale.FormatType.ShortFormat) if made.isValid() else self.made_at

    def is_other_than(self, earlier):
        """Tell whether this is what a later placing of the same file wrote."""
        if earlier is None or earlier.path != self.path:
            return False
        return self.made_at != earlier.made_at or self.said() != earlier.said()

    def is_as(self, earlier):
        """Tell whether this is the same placing of the same file, read once more."""
        return earlier is not None and earlier.path == self.path and not self.is_other_than(earlier)

    def rows_of_joint(self, joint_uid):
        """Give the rows of the log that a joint was read from, as file and row each."""
        with closing(sqlite3.connect(f"{Path(self.path).resolve().as_uri()}?mode=ro", uri=True)) as database:
            query = "SELECT file, row FROM inspections WHERE joint_uid = ? ORDER BY record"
            return database.execute(query, (joint_uid,)).fetchall()

    def said(self):
        """Give what is found, to compare one placing with the next."""
        return {_said(one) for one in self.findings}

    def path_of(self, name):
        """Give the path of one of the log's files, None where it is there no more."""
        found = [path for path, _ in self.inputs if path.name == Path(name).name and path.is_file()]
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
