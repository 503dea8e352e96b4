"""Records of one joint become one joint, and joints are put in order along their routes."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_ints, as_mask
from asbuilt.held import concatenated, held, in_groups
from asbuilt.inputs.fields import PASSED_FIELDS
from asbuilt.line import stationing
from asbuilt.line.routes import Located, points
from asbuilt.placing.naming import distinct_names, joint_names, joint_uids, route_and_name
from asbuilt.placing.places import Places, offset_points
from asbuilt.placing.positions import Positions

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.line.stationed import StationedLine

LONG_AGO = 1_000_000
"""More days than any date lies after 1970."""


@dataclass(frozen=True)
class Joints:
    """Joints in order along their routes: shapes (joints,)."""

    record: Ints
    """The record that gives the joint's present state: its latest one, or a failure that nothing dated made good."""
    position: Ints
    """The record that gives its place: the latest one with a surveyed position, or else its present one."""
    records: Ints
    """How many records the joint has."""
    name: pa.Array
    uid: pa.Array
    route: Ints
    distance: Floats
    station: pa.Array
    """Station as text, with the stretch between equations where it occurs more than once on the route."""
    located: Located
    easting: Floats
    northing: Floats
    elevation: Floats
    """NaN where the centerline has no elevation there."""
    tied: Bools
    """True where the station was stretched between two ties."""
    surveyed: Bools
    """True where the joint itself was surveyed: `located` is then its projection onto the line."""
    own_shot: Bools
    """True where the joint was surveyed and is not one of the centerline's own shots."""
    own_height: Bools
    """True where its elevation was surveyed with it; else that is the line's, where the joint lies along it."""
    carried: Floats
    """How good the change of datum is by which its coordinates came, at 95 percent, coordinate units; 0 without one."""
    rounded: Floats
    """Standard error that rounding makes in its own coordinates, coordinate units; 0 where it does not count."""
    rounded_up: Floats
    """The same of its own elevation."""

    def of_routes(self, start: int, stop: int, rows: Ints, first_vertex: int) -> Joints:
        """Give the joints of successive routes, from `start` up to, and without, `stop`.

        Parameters
        ----------
        start, stop : int
        rows : array of int
            The records of these routes, in ascending order.
        first_vertex : int
            Of these routes.
        """
        low, high = np.searchsorted(self.route, [start, stop]).tolist()
        parts = {one.name: getattr(self, one.name) for one in fields(self) if one.name != "located"}
        parts = {name: values[low:high] for name, values in parts.items()}
        parts |= {name: np.searchsorted(rows, parts[name]) for name in ("record", "position")}
        parts["route"] = parts["route"] - start
        located = Located(self.located.vertex[low:high] - first_vertex, self.located.weight[low:high])
        return Joints(located=located, **parts)

    @cached_property
    def _one_by_one(self) -> bool:
        """Whether the joints' records follow one another as the joints do."""
        return bool((np.diff(self.record) == 1).all())

    def of_log(self, values: pa.Array) -> pa.Array:
        """Give a column of the log for the joints, each by the record that gives its present state."""
        if len(self) and self._one_by_one:
            return values.slice(int(self.record[0]), len(self))
        return values.take(pa.array(self.record))

    @property
    def position_source(self) -> pa.Array:
        """How each joint's position is known."""
        by_station = pc.if_else(pa.array(self.tied), "station-tied", "station")
        return pc.if_else(pa.array(self.surveyed), "surveyed", by_station)

    def __len__(self) -> int:
        return len(self.record)

    @property
    def next_on_route(self) -> Ints:
        """Indices of the joints that have a following joint on the same route."""
        return np.flatnonzero(self.route[1:] == self.route[:-1])


def gather(
    line: StationedLine,
    log: Log,
    placed: Ints,
    places: Places,
    route: Ints,
    surveyed: Positions,
    same_place: float,
    form: stationing.Form,
) -> tuple[Joints, Ints]:
    """Gather placed records into joints, in order along the routes; also give each record's joint, else -1.

    Parameters
    ----------
    line : StationedLine
    log : Log
    placed : array of int
        The records that have a place.
    places : Places
    route : array of int, shape (records,)
    surveyed : Positions
    same_place : float
        Records of one joint number are one joint while they lie within this, coordinate units.
    form : how stations are written
    """
    parts, joint_of, many = [], np.full(len(log), -1, dtype=np.int64), 0
    # Joints of one route have nothing to do with those of another.
    for rows in in_groups(placed, route[placed]):
        joints, joint = held(_gathered(line, log, rows, places, route, surveyed, same_place, form), len(log))
        joint_of[rows] = joint + many
        parts.append(joints)
        many += len(joints)
    return concatenated(parts, len(log)), joint_of


def _gathered(
    line: StationedLine,
    log: Log,
    placed: Ints,
    places: Places,
    route: Ints,
    surveyed: Positions,
    same_place: float,
    form: stationing.Form,
) -> tuple[Joints, Ints]:
    """Gather placed records of some routes; also give the joint of each, counted from 0."""
    routes = line.routes
    name = joint_names(log.text("joint").take(pa.array(placed)), places.station[placed], form)
    group = _same_joint(route[placed], name, places.distance[placed], same_place)
    latest, records = _latest(log, placed, group)
    latest = _failures_kept(log, placed, group, latest)
    spot = placed[_latest_surveyed(log, placed, group, latest, surveyed.known)]
    # Joints in a riser have one horizontal distance; their place on the line tells them apart.
    by_place = (places.located.weight[spot], places.located.vertex[spot], places.distance[spot])
    order = np.lexsort((*by_place, route[spot]))
    joint_of = np.empty(len(order), dtype=np.int64)
    joint_of[order] = np.arange(len(order))
    latest, records, spot = latest[order], records[order], spot[order]
    on, values = route[spot], places.station[spot]
    station = line.written(on, values, places.region[spot], form)
    name = distinct_names(on, name.take(pa.array(latest)), station)
    located = Located(places.located.vertex[spot], places.located.weight[spot])
    middle = points(routes, on, located)
    easting, northing = offset_points(middle, log.number("offset")[spot] * line.scale)
    known = surveyed.known[spot]
    height = surveyed.elevation[spot]
    joints = Joints(
        record=placed[latest],
        position=spot,
        records=records,
        name=name,
        uid=joint_uids(pa.array(routes.names).take(pa.array(on)), name),
        route=on,
        distance=places.distance[spot],
        station=station,
        located=located,
        easting=np.where(known, surveyed.easting[spot], easting),
        northing=np.where(known, surveyed.northing[spot], northing),
        elevation=np.where(known & np.isfinite(height), height, middle.elevation),
        tied=places.tied[spot],
        surveyed=known,
        own_shot=known & (surveyed.vertex[spot] < 0),
        own_height=known & (surveyed.vertex[spot] < 0) & np.isfinite(height),
        carried=np.where(known, surveyed.carried[spot], 0.0),
        rounded=np.where(known, surveyed.rounded[spot], 0.0),
        rounded_up=np.zeros(len(spot)),
    )
    return joints, joint_of[group]


def _latest_surveyed(log: Log, placed: Ints, group: Ints, latest: Ints, surveyed: Bools) -> Ints:
    """Find the record that gives each joint its place: the latest one with a surveyed position, else the latest."""
    some = np.flatnonzero(surveyed[placed])
    if not len(some) or len(latest) == len(group):
        return latest
    joint, within = np.unique(group[some], return_inverse=True)
    spot = latest.copy()
    spot[joint] = some[_latest(log, placed[some], within)[0]]
    return spot


def _same_joint(route: Ints, name: pa.Array, distance: Floats, tolerance: float) -> Ints:
    """Number the joints that records belong to: same route and number, and in the same place."""
    key = route_and_name(route, name)
    order = np.lexsort((distance, key))
    new = np.ones(len(key), dtype=np.bool_)
    new[1:] = (np.diff(key[order]) != 0) | (np.diff(distance[order]) > tolerance)
    group = np.empty(len(key), dtype=np.int64)
    group[order] = np.cumsum(new) - 1
    return group


def _latest(log: Log, placed: Ints, group: Ints) -> tuple[Ints, Ints]:
    """Find each joint's latest record, by date and then by order in the log, and count its records.

    A record without a readable date, or with one that is still to come, counts as made on the latest day of the
    joint's records before it.
    """
    records = np.bincount(group)
    if "inspected_on" not in log.fields or len(records) == len(group):
        order = np.argsort(group, kind="stable")
        return order[np.cumsum(records) - 1], records
    in_log = np.argsort(group, kind="stable")
    days = pc.cast(log.fields["inspected_on"].take(pa.array(placed)), pa.int32())
    day = as_ints(days, 0)[in_log]
    if log.last_day is not None:
        day = np.where(day > (log.last_day - dt.date(1970, 1, 1)).days, 0, day)
    so_far = np.maximum.accumulate(day + group[in_log] * LONG_AGO) - group[in_log] * LONG_AGO
    order = in_log[np.lexsort((np.where(day == 0, so_far, day), group[in_log]))]
    return order[np.cumsum(records) - 1], records


def _failures_kept(log: Log, placed: Ints, group: Ints, latest: Ints) -> Ints:
    """Let a failure count where its joint's latest record says it passed, and one of the two has no date.

    Nothing then shows which of them was made later; a pass of a later day than the failure's shows that it was made
    good. Where neither has a date, the order of the log is all that there is.
    """
    if "inspected_on" not in log.fields or len(latest) == len(group):
        return latest
    day = as_ints(pc.cast(log.fields["inspected_on"].take(pa.array(placed)), pa.int32()), 0)
    if log.last_day is not None:
        day = np.where(day > (log.last_day - dt.date(1970, 1, 1)).days, 0, day)
    counts = latest[group]
    kept: list[Ints] = []
    for field in (one for one in PASSED_FIELDS if one in log.fields):
        text = log.fields[field].take(pa.array(placed))
        passed, failed = (as_mask(pc.equal(text, word)) for word in ("yes", "no"))
        made_good = np.zeros(len(latest), dtype=np.int64)
        np.maximum.at(made_good, group[passed], day[passed])
        undated = (day == 0) != (day[counts] == 0)
        kept.append(np.flatnonzero(failed & passed[counts] & undated & ((day == 0) | (made_good[group] <= day))))
    rows = np.unique(np.concatenate(kept)) if kept else latest[:0]
    # The last of several, in the order of the log.
    counting = latest.copy()
    counting[group[rows]] = rows
    return counting
