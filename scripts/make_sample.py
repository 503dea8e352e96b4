"""Make the sample: three mains laid pipe by pipe, their survey, and the logs that crews hand in.

Everything is invented except the coordinate systems. The mains are built from rigid lengths and known deflections, so
what a reader of the files should find is known beforehand: `--answers` prints it. Three further jobs are made by
`sawmill.py`, `foundry.py` and `repair.py`.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import io
import math
import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path

import foundry
import repair
import sawmill

SEED = 20260302
WRITTEN_ON = dt.datetime(2026, 5, 1, tzinfo=dt.UTC)  # stands in the files instead of the clock

Point = tuple[float, float, float]
"""Easting, northing, elevation of the top of the pipe."""


# ---------------------------------------------------------------------------------------------------------
# In the ground: the routes as they were laid


@dataclass(frozen=True)
class Stretch:
    """So many joints alike, each with the pipe (or fitting) laid ahead of it."""

    joints: int
    joint_type: str = "push-on"
    right_deg: float = 0.0
    up_deg: float = 0.0
    length: float | None = None
    cut: bool = False
    kind: str = "pipe"
    bend_angle: float | None = None
    bend_plane: str | None = None


@dataclass(frozen=True)
class Equation:
    back: float
    ahead: float


@dataclass(frozen=True)
class Route:
    """A main as designed and laid; lengths, coordinates and stations in one unit."""

    name: str
    street: str
    size: int
    laying_length: float
    start: Point
    azimuth_deg: float
    grade_percent: float
    start_station: float
    digits: int
    tail_digits: int
    stretches: tuple[Stretch, ...]
    equation: Equation | None = None


@dataclass(frozen=True)
class Joint:
    """A joint where it was made: its number along the route, its place, and what it joins."""

    number: int
    what: Stretch
    length: float
    place: Point
    distance: float


@dataclass(frozen=True)
class Main:
    route: Route
    joints: tuple[Joint, ...]
    end: Point

    @property
    def line(self) -> list[Point]:
        """The route as shot: a vertex at every joint, and one at the end of the last pipe."""
        return [joint.place for joint in self.joints] + [self.end]


def restrained(joints: int, length: float | None = None) -> Stretch:
    return Stretch(joints, "restrained-push-on", length=length, cut=length is not None)


def bend(angle_deg: float, *, right_deg: float = 0.0, up_deg: float = 0.0, length: float | None = None) -> Stretch:
    """Lay a bend; what turns beyond its own angle, its two joints take up."""
    plane = "vertical" if up_deg else "horizontal"
    return Stretch(1, "mechanical", right_deg, up_deg, length, length is not None, "bend", angle_deg, plane)


ALDER_BEND = Route(
    name="A", street="Alder Bend Road", size=12, laying_length=20.0,
    start=(6789330.0, 2090586.0, 412.5), azimuth_deg=78.0, grade_percent=0.8,
    start_station=1000.0, digits=2, tail_digits=2,
    equation=Equation(back=2450.0, ahead=3000.0),  # stations between 24+50 and 30+00 do not exist
    stretches=(
        Stretch(1, "mechanical", kind="sleeve"),  # on the existing main
        Stretch(38),
        Stretch(12, right_deg=1.5),  # joints 40-51: a curve laid by deflection, well within
        Stretch(33),
        Stretch(10, up_deg=-0.12),  # joints 85-94: over the crest
        Stretch(33),
        restrained(1), restrained(1, length=13.25),
        Stretch(1, "mechanical", kind="valve"),  # joint 130
        restrained(2),
        Stretch(38),
        Stretch(10, right_deg=-2.0),  # joints 171-180
        Stretch(9),
        Stretch(16, up_deg=0.1),  # joints 190-205: the sag
        Stretch(16),
        Stretch(1, length=12.6),  # joint 222: a cut pipe that nobody wrote down
        Stretch(38),
    ),
)  # fmt: skip

QUARRY = Route(
    name="B", street="Quarry Lane", size=8, laying_length=20.0,
    start=(6792996.8, 2090553.45, 401.64), azimuth_deg=352.0, grade_percent=0.5,
    start_station=500.0, digits=2, tail_digits=2,
    equation=Equation(back=2900.0, ahead=2750.0),  # stations from 27+50 to 29+00 exist twice
    stretches=(
        Stretch(1, "mechanical", kind="tee"),
        restrained(2),
        Stretch(34),
        restrained(1), restrained(1, length=14.35),
        bend(45.0, right_deg=45.9),  # joint 40
        restrained(2),
        Stretch(30),
        restrained(2),
        bend(22.5, right_deg=-22.1),  # joint 75
        restrained(2),
        Stretch(20),
        restrained(2),
        bend(11.25, right_deg=12.05),  # joint 100
        restrained(2),
        Stretch(28),
        Stretch(15, up_deg=-0.05),  # joints 131-145
        Stretch(3),
        restrained(1), restrained(1, length=11.2),
        bend(22.5, up_deg=-22.9, length=5.0),  # joints 151-154: under the storm drain and up again
        bend(22.5, up_deg=22.5, length=16.0),
        bend(22.5, up_deg=22.3, length=5.0),
        bend(22.5, up_deg=-21.9),
        restrained(2),
        Stretch(13),
        Stretch(6, right_deg=3.0),  # joints 170-183: a curve laid by deflection, 3 degrees a joint
        Stretch(2, right_deg=6.1),  # joints 176 and 177: pulled too far
        Stretch(6, right_deg=3.0),
        Stretch(35),
        restrained(2),  # the dead end
    ),
)  # fmt: skip

MILL_RACE = Route(
    name="C", street="Mill Race Drive", size=300, laying_length=6.0,
    start=(656089.8, 4307219.5, 121.4), azimuth_deg=121.0, grade_percent=-0.3,
    start_station=1234.567, digits=3, tail_digits=3,
    stretches=(
        Stretch(59),
        Stretch(21, right_deg=-1.2),  # joints 60-100: one gentle curve ...
        Stretch(1, right_deg=-4.2),  # ... but joint 81 was pulled too far
        Stretch(19, right_deg=-1.2),
        Stretch(20),
    ),
)  # fmt: skip


def lay(route: Route) -> Main:
    """Lay a route pipe by pipe, every length rigid, and round each vertex as a survey reports it."""
    azimuth, inclination = math.radians(route.azimuth_deg), math.atan(route.grade_percent / 100)
    east, north, up = route.start
    joints: list[Joint] = []
    distance = 0.0
    shot = _rounded(route.start, route.digits)
    for what in (stretch for stretch in route.stretches for _ in range(stretch.joints)):
        azimuth += math.radians(what.right_deg)
        inclination += math.radians(what.up_deg)
        length = route.laying_length if what.length is None else what.length
        joints.append(Joint(len(joints) + 1, what, length, shot, distance))
        east += length * math.cos(inclination) * math.sin(azimuth)
        north += length * math.cos(inclination) * math.cos(azimuth)
        up += length * math.sin(inclination)
        following = _rounded((east, north, up), route.digits)
        # Stations run along the line as it was shot, so that log and line do not drift apart.
        distance += math.dist(shot[:2], following[:2])
        shot = following
    return Main(route, tuple(joints), shot)


def turn_deg(before: Point, at: Point, after: Point) -> float:
    """Turn between two straights, as a check from the vertices themselves."""
    u = [b - a for a, b in zip(before, at, strict=True)]
    v = [b - a for a, b in zip(at, after, strict=True)]
    cross = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return math.degrees(math.atan2(math.hypot(*cross), sum(a * b for a, b in zip(u, v, strict=True))))


def station_number(route: Route, distance: float) -> float:
    """Station at a distance along the route, past its equation where it has one."""
    station = route.start_station + distance
    if route.equation is None or station <= route.equation.back:
        return station
    return route.equation.ahead + (station - route.equation.back)


def station_text(route: Route, distance: float) -> str:
    unit = 10**route.tail_digits
    parts = round(station_number(route, distance) * 10**route.digits)
    full, rest = divmod(parts, unit * 10**route.digits)
    width = route.tail_digits + 1 + route.digits
    return f"{full}+{rest / 10**route.digits:0{width}.{route.digits}f}"


def _rounded(place: Point, digits: int) -> Point:
    east, north, up = (round(part, digits) for part in place)
    return east, north, up


# ---------------------------------------------------------------------------------------------------------
# In the log: one record per joint, as a careful crew would write it


@dataclass
class Record:
    """An entry of the log: the joint it is of, the day it was made, and what was written down.

    `row` is the row of the sheet, or the line of the text on which the entry begins.
    """

    route: str
    number: int
    day: dt.date
    values: dict[str, object]
    trouble: Trouble | None = None
    file: str = ""
    row: int = 0


@dataclass(frozen=True)
class Crew:
    """Who logs a route, from which day, how many joints a day, and in which weather."""

    name: str
    inspectors: tuple[str, ...]
    first_day: dt.date
    joints_a_day: tuple[int, int]
    gasket_temperature: tuple[float, float]
    yes: tuple[str, ...]


NORTH_CREW = Crew(
    "North", ("D. Okafor", "R. Castellano", "M. Whitlock"), dt.date(2026, 3, 2), (12, 16), (44, 71),
    ("Y", "yes", "OK"),
)  # fmt: skip
QUARRY_CREW = replace(NORTH_CREW, first_day=dt.date(2026, 4, 1), yes=("yes", "ok", "Y"))
RIVER_CREW = Crew(
    "River", ("Zoë Brännström", "José Arámbula"), dt.date(2026, 3, 9), (11, 14), (7.0, 19.5), ("yes", "ok"),
)  # fmt: skip

WEATHER = ("clear", "clear", "overcast", "light rain", "wind")

REMARKS = {
    ("A", 1): "Sleeve on existing main, stub found 0.3 ft deeper than drawn",
    ("A", 73): "Last joint before the station equation at 24+50 back = 30+00 ahead",
    ("A", 130): "Line valve",
    ("A", 171): "Start of curve, joints opened after push",
    ("B", 1): "Tee cut in on Alder Bend Road, between joints 186 and 187 of A",
    ("B", 40): "45 at property corner",
    ("B", 93): 'Foreman says "home to the first mark only"; pushed again,\nchecked again, both good',
    ("B", 104): "Wet trench.\nPump set, bedding replaced with ½ in rock, then laid",
    ("B", 151): "Down under storm drain",
    ("B", 154): "Back up,\nback to grade",
    ("B", 170): "Start of curve, 3 degrees each",
    ("B", 176): "Tight at the hydrant, this one and the next pulled over more",
    ("C", 1): "Begins at the old café, Mühle bridge",
    ("C", 16): "Water 4 °C in the trench – pumped",
    ("C", 60): "Curve begins, Núñez's gate",
    ("C", 90): "Cable ½ m beside the pipe; marked",
}
"""What the crew wrote beside joints (some over two lines, some in letters that test an encoding)."""

SAID_PLACE = {("B", 115): "{} BACK", ("B", 121): "{} BK", ("B", 122): "{} AH", ("B", 126): "{} AH EQ 1"}
"""Records in the repeat of route B that say which of the two places they mean; the others do not."""


def log(main: Main, crew: Crew, rng: random.Random) -> list[Record]:
    """Write the log of a main: a record per joint, in order, day by day."""
    days = _days(crew, rng)
    return [_record(main.route, joint, crew, day, rng) for joint, day in zip(main.joints, days, strict=False)]


def _days(crew: Crew, rng: random.Random) -> Iterator[dt.date]:
    day = crew.first_day
    while True:
        if day.weekday() < 5:
            yield from [day] * rng.randint(*crew.joints_a_day)
        day += dt.timedelta(days=1)


def _record(route: Route, joint: Joint, crew: Crew, day: dt.date, rng: random.Random) -> Record:
    what = joint.what
    yes = crew.yes[day.toordinal() % len(crew.yes)]
    pushed_in = what.joint_type != "mechanical"
    key = (route.name, joint.number)
    station = SAID_PLACE.get(key, "{}").format(station_text(route, joint.distance))
    low, high = crew.gasket_temperature
    values: dict[str, object] = {
        "inspected_on": day,
        "inspector": crew.inspectors[day.toordinal() % len(crew.inspectors)],
        "crew": crew.name,
        "route": route.name,
        "joint": joint.number,
        "station": station,
        "size": route.size,
        "joint_type": what.joint_type,
        "kind": what.kind,
        "bend_angle": what.bend_angle,
        "bend_plane": what.bend_plane,
        "laid_length": joint.length,
        "cut": "Y" if what.cut else None,
        "restrained": "Y" if what.joint_type.startswith("restrained") else None,
        "groove_clean": yes,
        "spigot_clean": yes,
        "gasket_clean": yes,
        "gasket_temperature": round(rng.uniform(low, high) * 2) / 2,
        "lubricated": yes if pushed_in else None,
        "insertion_mark": yes if pushed_in else None,
        "gauge": yes if pushed_in else None,
        "bolt_torque": None if pushed_in else rng.choice((80, 85)),
        "weather": WEATHER[day.toordinal() % len(WEATHER)],
        "remarks": REMARKS.get(key),
    }
    return Record(route.name, joint.number, day, values)


# ---------------------------------------------------------------------------------------------------------
# The troubles: what goes wrong between the trench and the office


@dataclass(frozen=True)
class Trouble:
    """One thing that a technician should find.

    `shows` is the reason for which the record is set aside, or the code of the finding, or "unreadable
    field". A trouble that neither changes, loses nor repeats a record lies in the ground.
    """

    route: str
    joint: int
    shows: str
    note: str
    changes: dict[str, object] = field(default_factory=dict)
    """Fields that are written otherwise."""
    slip: tuple[str, str] | None = None
    """A slip of the pen in the station: what it should read, and what is written."""
    lost: bool = False
    """The record is not in the log."""
    again_after: int | None = None
    """The record is in the log once more: after the record of this joint, on that day."""


TROUBLES = (
    # Stations that lead nowhere: these records cannot be placed.
    Trouble("A", 31, "station-unreadable", "the letter l for a one", slip=("15+", "l5+")),
    Trouble("C", 23, "station-unreadable", "a digit washed out", slip=("1+36", "1+3?")),
    Trouble("A", 52, "station-missing", "left blank", {"station": None}),
    Trouble("B", 86, "station-missing", "left blank", {"station": None}),
    Trouble("A", 117, "station-off-route", "38 written as 83", slip=("38+", "83+")),
    Trouble("B", 190, "station-off-route", "40 written as 90", slip=("40+", "90+")),
    Trouble("A", 70, "station-in-gap", "23 written as 25", slip=("23+", "25+")),
    Trouble("A", 78, "station-in-gap", "30 written as 29", slip=("30+", "29+")),
    # 28+05 exists twice; without a joint number, back or ahead, nothing tells which is meant.
    Trouble("B", 117, "station-ambiguous", "no joint number, no back or ahead",
            {"joint": "closure", "station": "28+05.00", "remarks": "closure piece, found on the last sheet"},
            again_after=220),
    Trouble("B", 207, "route-unknown", "B read as 8", {"route": "8"}),
    Trouble("A", 3, "route-unknown", "a stray record of another job",
            {"route": "D", "station": "11+60.00", "remarks": "Sawmill Court, wrong book"}, again_after=150),
    # The same joint twice: inspected, failed, put right, inspected again.
    Trouble("A", 188, "inspection-failed", "first inspection, put right later",
            {"gauge": "N", "remarks": "gasket displaced at 6 o'clock, pull and re-lay"}),
    Trouble("A", 188, "joint-repeated", "second inspection, after the gauge had failed",
            {"gauge": "Y", "remarks": "re-laid with new gasket, gauge even all around"}, again_after=215),
    Trouble("B", 197, "inspection-failed", "first inspection, put right later",
            {"gauge": "no", "remarks": "uneven at 9 o'clock"}),
    Trouble("B", 197, "joint-repeated", "second inspection, after the gauge had failed",
            {"gauge": "yes", "remarks": "pulled, cleaned, pushed again"}, again_after=212),
    # Joint numbers.
    Trouble("A", 96, "joint-repeated", "joint 96 written as 86: one number at two places", {"joint": 86}),
    Trouble("A", 203, "order-broken", "numbers of two neighbours exchanged", {"joint": 204}),
    Trouble("A", 204, "order-broken", "numbers of two neighbours exchanged", {"joint": 203}),
    Trouble("B", 66, "order-broken", "numbers of two neighbours exchanged", {"joint": 67}),
    Trouble("B", 67, "order-broken", "numbers of two neighbours exchanged", {"joint": 66}),
    # Joints that nobody logged, and a pipe that is shorter than the log says.
    *(Trouble("A", joint, "joints-missing", "a page lost", lost=True) for joint in (141, 142, 143)),
    Trouble("C", 109, "joints-missing", "left out", lost=True),
    Trouble("A", 222, "spacing-short", "12.60 ft laid, 20.00 logged, no cut recorded",
            {"laid_length": 20.0, "cut": "N"}),
    # Inspection: failed, missing, unreadable, cold, loose.
    Trouble("A", 44, "inspection-failed", "insertion mark not reached", {"insertion_mark": "N"}),
    Trouble("B", 101, "inspection-failed", "insertion mark not reached", {"insertion_mark": "no"}),
    Trouble("C", 47, "inspection-failed", "insertion mark not reached", {"insertion_mark": "no"}),
    Trouble("A", 109, "inspection-failed", "gauge failed", {"gauge": "fail"}),
    Trouble("B", 30, "inspection-failed", "gauge failed", {"gauge": "N"}),
    Trouble("A", 61, "inspection-missing", "no inspector", {"inspector": None}),
    Trouble("B", 95, "inspection-missing", "no inspector", {"inspector": None}),
    Trouble("C", 68, "inspection-missing", "no inspector", {"inspector": None}),
    Trouble("A", 82, "inspection-missing", "no date", {"inspected_on": None}),
    Trouble("B", 133, "inspection-missing", "no date", {"inspected_on": None}),
    Trouble("A", 155, "inspection-missing", "gauge 'x': neither yes nor no", {"gauge": "x"}),
    Trouble("B", 98, "unreadable field", "lubricated '?': not a required field", {"lubricated": "?"}),
    Trouble("A", 177, "unreadable field", "gasket temperature 'warm'", {"gasket_temperature": "warm"}),
    Trouble("A", 5, "gasket-cold", "34 F", {"gasket_temperature": 34.0}),
    Trouble("A", 19, "gasket-cold", "34 F", {"gasket_temperature": 34.0}),
    Trouble("C", 2, "gasket-cold", "3.5 C is 38.3 F", {"gasket_temperature": 3.5}),
    Trouble("B", 75, "torque-off", "60 ft-lb on 3/4 in bolts", {"bolt_torque": 60}),
    Trouble("A", 236, "date-doubtful", "in the future", {"inspected_on": dt.date(2062, 3, 26)}),
    Trouble("B", 14, "date-doubtful", "before the work began", {"inspected_on": dt.date(2025, 4, 1)}),
    # In the ground: the log is right, the pipe is not.
    Trouble("B", 176, "deflection-over", "6.1 degrees of 5"),
    Trouble("B", 177, "deflection-over", "6.1 degrees of 5"),
    Trouble("C", 81, "deflection-over", "4.2 degrees of 3.5"),
    *(
        Trouble("A", joint, "allowable-missing", "the submittal has no 12 in restrained joint")
        for joint in (128, 129, 131, 132)
    ),
)  # fmt: skip


def spoil(records: list[Record]) -> list[Record]:
    """Write the troubles into the logs: records altered, lost, and written once more."""
    logged = list(records)
    for trouble in TROUBLES:
        at = _find(logged, trouble.route, trouble.joint)
        if trouble.lost:
            del logged[at]
        elif trouble.again_after is not None:
            beside = _find(logged, trouble.route, trouble.again_after)
            logged.insert(beside + 1, _once_more(logged[at], logged[beside], trouble))
        elif trouble.changes or trouble.slip:
            logged[at] = _altered(logged[at], trouble)
    return logged


def _find(records: list[Record], route: str, number: int) -> int:
    return next(at for at, record in enumerate(records) if (record.route, record.number) == (route, number))


def _once_more(record: Record, beside: Record, trouble: Trouble) -> Record:
    day = {name: beside.values[name] for name in ("inspected_on", "inspector", "weather")}
    return replace(record, day=beside.day, values=record.values | day | trouble.changes, trouble=trouble)


def _altered(record: Record, trouble: Trouble) -> Record:
    changes = dict(trouble.changes)
    if trouble.slip:
        changes["station"] = str(record.values["station"]).replace(*trouble.slip, 1)
    return replace(record, values=record.values | changes, trouble=trouble)


# ---------------------------------------------------------------------------------------------------------
# The files


WORKBOOK, SHEET = "joint_log.xlsx", "Joint log"
WORKBOOK_COLUMNS = {
    "Date": "inspected_on", "Insp.": "inspector", "Crew": "crew", "Route": "route", "Jt #": "joint",
    "STA.": "station", "Pipe size (in)": "size", "Jt type": "joint_type", "Ftg": "kind",
    "Bend (deg)": "bend_angle", "Bend plane": "bend_plane", "Length laid": "laid_length", "Cut?": "cut",
    "Restrained": "restrained", "Bell groove clean": "groove_clean", "Spigot clean": "spigot_clean",
    "Gasket clean": "gasket_clean", "Gskt temp (F)": "gasket_temperature", "Lube": "lubricated",
    "Home to mark?": "insertion_mark", "Gauge OK?": "gauge", "Torque (ft-lb)": "bolt_torque",
    "Weather": "weather", "Remarks": "remarks",
}  # fmt: skip
MERGED = ("inspected_on", "inspector")
TITLE = (
    "Marrow Creek Water District",
    "Contract 26-07: water mains in Alder Bend Road (A) and Quarry Lane (B)",
    "Joint log, north crew. Lengths in feet, laid ahead of the joint; beside a fitting, to its center.",
)

QUARRY_LOG = "joint_log_quarry.csv"
QUARRY_COLUMNS = {
    "Route": "route", "Joint": "joint", "Station": "station", "Size (in)": "size", "Joint type": "joint_type",
    "Ftg": "kind", "Bend (deg)": "bend_angle", "Bend plane": "bend_plane", "Laid length": "laid_length",
    "Cut": "cut", "Restrained": "restrained", "Date": "inspected_on", "Inspector": "inspector",
    "Gasket temp (F)": "gasket_temperature", "Lubricated": "lubricated", "Insertion mark": "insertion_mark",
    "Gauge": "gauge", "Torque (ft-lb)": "bolt_torque", "Remarks": "remarks",
}  # fmt: skip

MILL_RACE_LOG = "joint_log_mill_race.csv"
MILL_RACE_COLUMNS = {
    "Route": "route", "Joint no.": "joint", "Station": "station", "DN (mm)": "size",
    "Joint type": "joint_type", "Length laid (m)": "laid_length", "Cut": "cut", "Date": "inspected_on",
    "Inspector": "inspector", "Gasket temp. (°C)": "gasket_temperature", "Lubricated": "lubricated",
    "Home to mark": "insertion_mark", "Gauge": "gauge", "Remarks": "remarks",
}  # fmt: skip

CENTERLINE, LAYER, CRS = "centerline.gpkg", "mains", "EPSG:6418"
SHOTS = "shots_mill_race.csv"
OTHER_SHOTS = (("GS", 0.4, 1.2), ("EP", 3.1, 1.3), ("GS, trench edge", 1.1, 1.25))
"""Ground and edge of pavement, with their offset and height from the pipe: no part of the centerline."""

SUBMITTAL = "allowables.csv"
SUBMITTAL_ROWS = (
    ("joint_type", "size", "allowable_deg", "source"),
    ("restrained-push-on", "8", "3.0", "Approved submittal 14, sheet 3, revision B"),
    ("mechanical", "8", "4.0", "Approved submittal 14, sheet 5, revision B"),
)
"""The pipe supplier's allowances as approved: the 12 in restrained joint was never submitted."""


def write_centerline(path: Path, mains: list[Main]) -> None:
    """Write the surveyed lines; each main was drawn in two pieces that meet."""
    import geopandas as gpd
    import pyogrio
    from shapely.geometry import LineString, MultiLineString

    lines = []
    for main in mains:
        half = len(main.line) // 2
        lines.append(MultiLineString([LineString(main.line[: half + 1]), LineString(main.line[half:])]))
    table = gpd.GeoDataFrame(
        {
            "route_id": [main.route.name for main in mains],
            "sta_start": [station_text(main.route, 0.0) for main in mains],
            "street": [main.route.street for main in mains],
        },
        geometry=lines,
        crs=CRS,
    )
    # GDAL writes this time into the file instead of the clock's.
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": WRITTEN_ON.strftime("%Y-%m-%dT%H:%M:%S.000Z")})
    path.unlink(missing_ok=True)
    pyogrio.write_dataframe(table, path, layer=LAYER, driver="GPKG", dataset_options={"VERSION": "1.3"})
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def write_shots(path: Path, main: Main, rng: random.Random) -> None:
    """Write the survey's points as a data collector gives them: no header, other codes in between."""
    number = 1001
    rows = []
    for at, place in enumerate(main.line):
        rows.append(_shot(number, place, "WM-C TOP"))
        if at == 40:  # stored twice by the data collector
            number += 1
            rows.append(_shot(number, place, "WM-C TOP"))
        number += 1
        if rng.random() < 0.3:
            code, aside, rise = rng.choice(OTHER_SHOTS)
            rows.append(_shot(number, (place[0] + aside, place[1] + aside / 2, place[2] + rise), code))
            number += 1
    rows.append(_shot(number, (656102.114, 4307250.907, 124.03), "CTRL hub and tack"))
    for start in (25, 70):  # two setups were downloaded late, one of them backwards
        moved, rows[start : start + 12] = rows[start : start + 12], []
        rows.extend(moved if start == 25 else moved[::-1])
    _write_csv(path, rows, encoding="ascii", delimiter=",", line_end="\r\n")


def _shot(number: int, place: Point, description: str) -> list[str]:
    east, north, up = place
    return [str(number), f"{north:.3f}", f"{east:.3f}", f"{up:.3f}", description]


def write_workbook(path: Path, records: list[Record]) -> None:
    """Write a log as a workbook: titles above the header, a day's date and inspector in merged cells."""
    import xlsxwriter

    with xlsxwriter.Workbook(path) as book:
        book.set_properties({"title": TITLE[1], "created": WRITTEN_ON.replace(tzinfo=None)})
        cover = book.add_worksheet("Cover")
        cover.write_column(0, 0, [*TITLE, "Sheets handed in weekly; originals with the inspector."])
        sheet = book.add_worksheet(SHEET)
        plain = {"valign": "vcenter"}
        day_format = book.add_format({**plain, "num_format": "mm/dd/yyyy"})
        text_format = book.add_format(plain)
        head = book.add_format({"bold": True, "text_wrap": True, "bottom": 1})
        for row, title in enumerate(TITLE):
            sheet.merge_range(row, 0, row, len(WORKBOOK_COLUMNS) - 1, title, text_format)
        header_row = len(TITLE) + 1
        sheet.write_row(header_row, 0, list(WORKBOOK_COLUMNS), head)
        sheet.freeze_panes(header_row + 1, 0)
        sheet.set_column(0, 1, 13)
        sheet.set_column(5, 5, 14)
        sheet.set_column(len(WORKBOOK_COLUMNS) - 1, len(WORKBOOK_COLUMNS) - 1, 60)
        for row in _number_rows(records, header_row + 1):
            sheet.set_row(row, None, None, {"hidden": True})
        for column, name in enumerate(WORKBOOK_COLUMNS.values()):
            if name not in MERGED:
                for record in records:
                    sheet.write(record.row - 1, column, _cell(record, name))
                continue
            form = day_format if name == "inspected_on" else text_format
            for first, last, value in _runs(records, name):
                if first == last:
                    sheet.write(first, column, value, form)
                else:
                    sheet.merge_range(first, column, last, column, value, form)


def _number_rows(records: list[Record], row: int) -> list[int]:
    """Give each record its row of the sheet; returns the rows left empty between days, to be hidden."""
    empty: list[int] = []
    days = groupby(records, key=lambda record: record.day)
    for day, (_, of_day) in enumerate(days):
        if day % 4 == 3:
            empty += [row, row + 1]
            row += 2
        for record in of_day:
            record.file, record.row = WORKBOOK, row + 1
            row += 1
    return empty


def _runs(records: list[Record], name: str) -> Iterator[tuple[int, int, object]]:
    """Give the first and last row of each run of one value within a day; blanks stay cells of their own."""
    for (_, value), run in groupby(records, key=lambda record: (record.day, _cell(record, name))):
        of_run = list(run)
        if value is not None:
            yield of_run[0].row - 1, of_run[-1].row - 1, value


def _cell(record: Record, name: str) -> object:
    """Give a value as the crew's sheet holds it: some dates and numbers are text, words are loose."""
    value = record.values[name]
    if isinstance(value, dt.date):
        return _day_cell(value)
    if name == "joint_type":
        return str(value).replace("-push", " push").capitalize()
    if name == "kind":
        return str(value).capitalize()
    if isinstance(value, int | float) and record.number % 7 == 3:
        return f"{value:.2f}" if name == "laid_length" else f"{value:g}"
    if name == "station" and value is not None and record.number % 11 in (4, 5):
        return f"{'STA' if record.number % 11 == 4 else 'Sta.'} {value}"
    return value


def _day_cell(day: dt.date) -> object:
    if day.toordinal() % 5 == 1:
        return f"{day.month}/{day.day}/{day.year}"
    return day.isoformat() if day.toordinal() % 5 == 3 else day


def write_log(
    path: Path, records: list[Record], columns: dict[str, str], *, encoding: str, delimiter: str, comma: bool
) -> None:
    """Write a log as delimited text, with decimal commas and days first where the crew writes so."""
    written = _with_commas if comma else _with_points
    rows = [list(columns)]
    for row, record in enumerate(records, start=2):
        record.file, record.row = path.name, row
        rows.append([written(record.values[name], name) for name in columns.values()])
    _write_csv(path, rows, encoding=encoding, delimiter=delimiter, line_end="\r\n" if comma else "\n")


def _with_points(value: object, name: str) -> str:
    if isinstance(value, dt.date):
        return f"{value:%m/%d/%Y}"
    if isinstance(value, float):
        return f"{value:.2f}" if name == "laid_length" else f"{value:g}"
    return "" if value is None else str(value)


def _with_commas(value: object, name: str) -> str:
    if isinstance(value, dt.date):
        return f"{value.day}.{value.month}.{value.year}"
    text = _with_points(value, name)
    return text.replace(".", ",") if isinstance(value, float) or name == "station" else text


def _write_csv(path: Path, rows: Iterable[Sequence[str]], *, encoding: str, delimiter: str, line_end: str) -> None:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, lineterminator=line_end).writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))


# ---------------------------------------------------------------------------------------------------------
# The answers


def answers(mains: list[Main], logged: list[Record]) -> Iterator[str]:
    """Say what a reader of the files should find: counts, troubles with file and row, turns."""
    yield "data rows"
    yield from (f"  {file}: {count}" for file, count in Counter(record.file for record in logged).items())
    yield "routes as laid"
    yield from (_route_answer(main, logged) for main in mains)
    yield "troubles: what shows, route and joint (why) | file, row or line: as logged | true station"
    laid = {(main.route.name, joint.number): (main.route, joint) for main in mains for joint in main.joints}
    yield from (_trouble_answer(trouble, *laid[trouble.route, trouble.joint], logged) for trouble in TROUBLES)
    yield "turns of half a degree and more, from the vertices: route, joint, what, turn, the fitting's angle"
    for main in mains:
        for joint, turn in zip(main.joints[1:], _turns(main.line), strict=True):
            if turn >= 0.5:
                what = joint.what
                fitting = "" if what.bend_angle is None else f" {what.bend_angle:g}"
                yield f"  {main.route.name} {joint.number} {what.kind} {what.joint_type} {turn:.3f}{fitting}"


def _route_answer(main: Main, logged: list[Record]) -> str:
    route, last = main.route, main.joints[-1]
    length = last.distance + math.dist(last.place[:2], main.end[:2])
    rows = sum(record.values["route"] == route.name for record in logged)
    return (
        f"  {route.name}: {len(main.joints)} joints, {rows} records under this name, length "
        f"{length:.{route.digits}f}, last joint at {station_text(route, last.distance)}, "
        f"end {station_text(route, length)}"
    )


def _trouble_answer(trouble: Trouble, route: Route, joint: Joint, logged: list[Record]) -> str:
    in_the_ground = not (trouble.changes or trouble.slip or trouble.lost)
    where = [
        f"{r.file} {r.row}: {r.values['route']} {r.values['joint']} {r.values['station']}"
        for r in logged
        if r.trouble is trouble or (in_the_ground and (r.route, r.number) == (trouble.route, trouble.joint))
    ]
    return (
        f"  {trouble.shows} {trouble.route} {trouble.joint} ({trouble.note}) | "
        f"{'; '.join(where) or 'no row'} | "
        f"{station_text(route, joint.distance)}, distance {joint.distance:.{route.digits}f}"
    )


def _turns(line: list[Point]) -> Iterator[float]:
    return (turn_deg(*three) for three in zip(line, line[1:], line[2:], strict=False))


# ---------------------------------------------------------------------------------------------------------


def make(folder: Path) -> tuple[list[Main], list[Record]]:
    """Write the sample's files into `folder`; returns the mains as laid and the records as logged."""
    rng = random.Random(SEED)
    alder, quarry, mill_race = mains = [lay(route) for route in (ALDER_BEND, QUARRY, MILL_RACE)]
    crews = (NORTH_CREW, QUARRY_CREW, RIVER_CREW)
    careful = [record for main, crew in zip(mains, crews, strict=True) for record in log(main, crew, rng)]
    logged = spoil(careful)

    in_workbook = [r for r in logged if r.route == "A" or (r.route == "B" and r.number <= 90)]
    in_quarry_log = [r for r in logged if r.route == "B" and r.number > 90]
    write_centerline(folder / CENTERLINE, [alder, quarry])
    write_shots(folder / SHOTS, mill_race, rng)
    write_workbook(folder / WORKBOOK, in_workbook)
    write_log(folder / QUARRY_LOG, in_quarry_log, QUARRY_COLUMNS, encoding="utf-8-sig", delimiter=",", comma=False)
    write_log(
        folder / MILL_RACE_LOG, [r for r in logged if r.route == "C"], MILL_RACE_COLUMNS,
        encoding="cp1252", delimiter=";", comma=True,
    )  # fmt: skip
    _write_csv(folder / SUBMITTAL, SUBMITTAL_ROWS, encoding="utf-8", delimiter=",", line_end="\n")
    sawmill.make(folder)
    foundry.make(folder)
    repair.make(folder)
    return mains, logged


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the sample's data files.")
    parser.add_argument("folder", nargs="?", type=Path, help="where (default: sample_gis)")
    parser.add_argument("--answers", action="store_true", help="print what a reader of the files should find")
    options = parser.parse_args()
    folder = options.folder or Path(__file__).parents[1] / "sample_gis"
    folder.mkdir(parents=True, exist_ok=True)
    mains, logged = make(folder)
    if options.answers:
        print("\n".join(answers(mains, logged)))


if __name__ == "__main__":
    main()
