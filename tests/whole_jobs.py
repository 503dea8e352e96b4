"""Whole random jobs with a known truth, and the way that each goes through every command.

`make` draws from a `random.Random`: hypothesis hands one in for the suite, scripts/campaign.py one for each seed.
"""

import contextlib
import csv
import datetime as dt
import io
import json
import math
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from random import Random

import faces
import geopandas as gpd
import numpy as np
import openpyxl
import shapely
import shapely.affinity

from asbuilt import cli
from asbuilt.placed import read_placed
from asbuilt.review import issues, read_review
from asbuilt.schema import LAYERS

SYSTEMS = {"us-ft": ("EPSG:6418", 6.7e6, 2.0e6), "ft": ("EPSG:2256", 1.9e6, 8.0e5), "m": ("EPSG:6339", 6.3e5, 4.28e6)}
FEET = {"us-ft": 1200 / 3937, "ft": 0.3048, "m": 1.0}
NAMES = (
    "A", "B", "a", "Main 1", "[/x]", "[bold]R", "$x^{$", "<b>7</b>", "O'Neil \"North\"", "x;y", "été", "北线", "=1+1",
    "@cmd", "N" * 300, "-", "7", "007", "%s %d", "{0}", "\\n", "null", "A & B", "C/D",
)  # fmt: skip
_SIZES = (["8", "12", "8 in", "", "?"], ["200", "300", "DN 200", "", "?"])
"""By whether the job is in metres."""
ODD_STATIONS = ("l2+00", "??", "12+", "+", "1e308", "11 1/0", "nan", "9" * 400, "99999999+00")


@dataclass
class Route:
    """A route as it was laid: its line, and where its joints are."""

    name: str
    points: np.ndarray
    line: shapely.LineString
    along: np.ndarray
    start: float
    equation: tuple[float, float] | None = None
    """Distance of the equation, and by how much the stations jump there."""
    counted: float = 1.0
    """How far the stations count for each unit of the line."""
    tied: bool = False
    straight: bool = False
    design: tuple[float, float] | None = None
    """By how much the design lies off the line, east and north."""

    def station(self, along):
        jump = self.equation[1] if self.equation and along > self.equation[0] else 0.0
        return self.start + along * self.counted + jump

    def side(self, along):
        return "" if self.equation is None or self.equation[1] > 0 else (" AH" if along > self.equation[0] else " BK")


@dataclass
class Job:
    """A job in its folder, and what must come of it."""

    path: Path
    unit: str
    logs: list[Path] = field(default_factory=list)
    places: dict[tuple[str, str], tuple[float, ...]] = field(default_factory=dict)
    """Easting, northing and, where it is known, elevation of each joint that can be placed, by route and number."""
    records: int = 0
    placed: int = 0
    mapped: bool = False
    offsets: dict[tuple[str, str], tuple[float, float] | None] = field(default_factory=dict)
    """Least and most offset from the design of each joint that may be held against it, by route and number."""
    ground: float | None = None
    """Elevation of the ground, which is level; None where the job names none."""


def make(random: Random, folder: Path) -> Job:
    """Make a job in a folder."""
    unit = random.choice(list(SYSTEMS))
    job = Job(folder / "job.toml", unit)
    length = 6.0 if unit == "m" else 20.0
    names = random.sample(NAMES, random.randint(1, 6))
    routes = [_route(random, name, unit, length, number) for number, name in enumerate(names)]
    if random.random() < 0.5:
        for route in routes:
            if random.random() < 0.6 and len(route.along) > 4:
                at = random.randrange(1, len(route.along) - 2)
                route.equation = (route.along[at] + 0.5 * length, random.choice([1, -1]) * round(3.4 * length, 2))
    beside = _beside(random, folder, job, routes)
    keys = ['elevation = "pipe-center"'] if beside else []
    keys += _centerline(random, folder, routes, unit) + _scale(random, folder, routes)
    digits = random.choice([2, 3, 0] if unit == "m" else [2, 0])
    tables = _log(random, folder, job, routes, length, digits)
    text = [f'name = "Job {random.randrange(10**6)}"', f'crs = "{SYSTEMS[unit][0]}"', "[centerline]", *keys]
    for route in routes:
        if route.equation:
            back = route.start + route.equation[0] * route.counted
            text += [
                "[[centerline.equations]]", f"route = {_toml(route.name)}", f"back = {back:.4f}",
                f"ahead = {back + route.equation[1]:.4f}",
            ]  # fmt: skip
    text += ["[records]", f"path = {json.dumps([one.name for one in job.logs])}", f'station_unit = "{unit}"',
             f"laying_length = {length}", *tables, "[limits]",
             'table = "en-545"' if unit == "m" else 'table = "awwa-c600"']  # fmt: skip
    text += _more(random, routes, job, digits) + beside
    job.path.write_text("\n".join(text) + "\n", "utf-8")
    return job


def _route(random, name, unit, length, number):
    count = random.choice([0, 1, 2, 3, random.randint(4, 25)])
    straight = random.random() < 0.4
    turns = np.zeros(max(count, 2)) if straight else np.array([random.uniform(-2, 2) for _ in range(max(count, 2))])
    azimuth = math.radians(random.uniform(0, 360)) + np.radians(np.cumsum(turns))
    east, north = SYSTEMS[unit][1] + 400.0 * number * length, SYSTEMS[unit][2]
    step = length * np.column_stack([np.sin(azimuth), np.cos(azimuth)])
    points = np.concatenate([[[east, north]], np.array([east, north]) + np.cumsum(step, axis=0)])
    every = random.choice([1, 2, 5]) if straight else 1
    kept = sorted({*range(0, len(points), every), len(points) - 1})
    rise = random.choice([None, 0.0, 0.03])
    height = [] if rise is None else [[50.0 + rise * length * at] for at in kept]
    vertices = [[*points[at], *(height[n] if height else [])] for n, at in enumerate(kept)]
    along = length * np.arange(count)
    start = round(random.uniform(0, 5000), 2)
    return Route(name, points[:count], shapely.LineString(vertices), along, start, straight=straight)


def _beside(random, folder, job, routes):
    """Draw a design beside the mains, and level ground over them, as a table, a surface or a column of the log."""
    text = []
    if random.random() < 0.5:
        wide = 1.0 if job.unit != "m" else 0.3
        frame = {"name": [], "shape": []}
        for route in routes:
            if random.random() < 0.2:
                continue
            route.design = (random.uniform(-wide, wide), random.uniform(-wide, wide))
            frame["name"].append(route.name)
            frame["shape"].append(shapely.affinity.translate(route.line, *route.design, 0.1))
        if frame["name"]:
            gpd.GeoDataFrame({"main": frame["name"]}, geometry=frame["shape"], crs=SYSTEMS[job.unit][0]).to_file(
                folder / "design.gpkg"
            )
            text += ["[design]", 'path = "design.gpkg"', 'route = "main"', 'elevation = "pipe-center"',
                     f"max_offset = {random.choice([0.05, 0.5 * wide])}", "max_height = 0.05"]  # fmt: skip
    kind = random.choice([None, None, "table", "surface", "log"])
    if kind is None:
        return text
    job.ground = 60.0
    text += ["[cover]", {"table": 'path = "ground.csv"', "surface": 'path = "ground.xml"',
                         "log": 'log_column = "Ground elev"'}[kind], "least = 3.0"]  # fmt: skip
    reach = 1000.0
    corners = np.concatenate([np.array(route.line.coords)[:, :2] for route in routes])
    (west, south), (east, north) = corners.min(axis=0) - reach, corners.max(axis=0) + reach
    if kind == "table":
        with (folder / "ground.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(
                [("Easting", "Northing", "Ground"), *((f"{x:.4f}", f"{y:.4f}", job.ground) for x, y in corners)]
            )
    if kind == "surface":
        word = {"us-ft": 'Imperial linearUnit="USSurveyFoot"', "ft": 'Imperial linearUnit="foot"',
                "m": 'Metric linearUnit="meter"'}[job.unit]  # fmt: skip
        points = "".join(
            f'<P id="{number}">{y:.4f} {x:.4f} {job.ground}</P>'
            for number, (x, y) in enumerate([(west, south), (east, south), (east, north), (west, north)])
        )
        (folder / "ground.xml").write_text(
            f'<LandXML version="1.2"><Units><{word}/></Units><Surfaces><Surface name="g"><Definition surfType="TIN">'
            f"<Pnts>{points}</Pnts><Faces><F>0 1 2</F><F>0 2 3</F></Faces></Definition></Surface></Surfaces></LandXML>",
            "utf-8",
        )
    return text


def _centerline(random, folder, routes, unit):
    kind = random.choice(["lines", "shots", "landxml"])
    exact = random.choice([[], ["sigma_horizontal = 0.03", "sigma_vertical = 0.05"], ["sigma_horizontal = 0.03"]])
    if kind == "lines":
        frame = gpd.GeoDataFrame(
            {"main": [one.name for one in routes], "sta": [one.start for one in routes]},
            geometry=[one.line for one in routes], crs=SYSTEMS[unit][0],
        )  # fmt: skip
        mixed = len({one.line.has_z for one in routes}) > 1
        suffix = ".gpkg" if mixed else random.choice([".gpkg", ".fgb"])
        frame.to_file(folder / f"line{suffix}")
        return [f'path = "line{suffix}"', 'route = "main"', 'start_station = "sta"', *exact]
    starts = ", ".join(f"{_toml(one.name)} = {one.start}" for one in routes)
    if kind == "shots":
        with (folder / "shots.csv").open("w", encoding="utf-8", newline="") as file:
            rows = csv.writer(file)
            rows.writerow(["Point", "Northing", "Easting", "Elevation", "Route"])
            number = 100
            for route in routes:
                for x, y, *z in route.line.coords:
                    number += 1
                    rows.writerow([number, f"{y:.5f}", f"{x:.5f}", *(f"{one:.4f}" for one in z or ())][:4]
                                  + ([] if z else [""]) + [route.name])  # fmt: skip
        return ['path = "shots.csv"', f"start_station = {{{starts}}}", *exact]
    names = {"us-ft": ("Imperial", "USSurveyFoot"), "ft": ("Imperial", "foot"), "m": ("Metric", "meter")}
    system, word = names[unit]
    parts = []
    for route in routes:
        coordinates = [point[:2] for point in route.line.coords]
        lines = "".join(
            f"<Line><Start>{a[1]:.6f} {a[0]:.6f}</Start><End>{b[1]:.6f} {b[0]:.6f}</End></Line>"
            for a, b in pairwise(coordinates)
        )
        parts.append(
            f'<Alignment name={_xml(route.name)} length="{route.line.length:.6f}" staStart="{route.start}">'
            f"<CoordGeom>{lines}</CoordGeom>{_profile(route)}</Alignment>"
        )
    (folder / "line.xml").write_text(
        '<?xml version="1.0" encoding="UTF-8"?><LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" '
        'version="1.2" '
        f'date="2026-01-01" time="00:00:00"><Units><{system} linearUnit="{word}" areaUnit="squareMeter" '
        'volumeUnit="cubicMeter" temperatureUnit="celsius" pressureUnit="HPA" angularUnit="decimal degrees" '
        f'directionUnit="decimal degrees"/></Units><Alignments>{"".join(parts)}</Alignments></LandXML>',
        "utf-8",
    )
    return ['path = "line.xml"']


def _profile(route):
    """Give the grades of a route that has elevations; each of them rises evenly."""
    if not route.line.has_z:
        return ""
    ends = ((route.start, route.line.coords[0][2]), (route.start + route.line.length, route.line.coords[-1][2]))
    points = "".join(f"<PVI>{station:.6f} {elevation:.6f}</PVI>" for station, elevation in ends)
    return f'<Profile><ProfAlign name="design">{points}</ProfAlign></Profile>'


def _scale(random, folder, routes):
    """Draw how the stations were counted: on the ground, and with what closure between two ties."""
    keys, rows = [], []
    factor = random.choice([1.0, 1.0, 0.9996, 1.0002])
    if factor != 1.0:
        keys.append(f"combined_factor = {factor}")
    tied = random.random() < 0.4
    for route in routes:
        route.tied = tied and len(route.along) > 1 and random.random() < 0.7
        route.counted = (1.0 + random.choice([-0.003, 0.0004, 0.004]) if route.tied else 1.0) / factor
        for along in (route.along[0], route.along[-1]) if route.tied else ():
            easting, northing = route.line.interpolate(along).coords[0][:2]
            rows.append((route.name, f"{route.station(along):.4f}{route.side(along)}", f"{easting:.4f}",
                         f"{northing:.4f}"))  # fmt: skip
    if rows and random.random() < 0.5:
        with (folder / "ties.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([("Route", "Station", "Easting", "Northing"), *rows])
        keys.append('ties_path = "ties.csv"')
        rows = []
    for name, station, easting, northing in rows:
        keys += ["[[centerline.ties]]", f"route = {_toml(name)}", f"station = {_toml(station)}",
                 f"easting = {easting}", f"northing = {northing}"]  # fmt: skip
    return keys


def _log(random, folder, job, routes, length, digits):
    unit = job.unit
    form = {0: "decimal", 2: "hundreds", 3: "thousands"}[digits]
    columns = ["Route", "Joint", "Station", "Size", "Joint type", "Inspector", "Date", "Home to mark", "Gauge"]
    extra = random.sample(["Gap 12", "Gap 3", "Gap 6", "Gap 9", "Restrained", "Remarks", "Photo", "Crew", "Unused",
                           "Easting", "Northing", "Kind", "Bend angle"], random.randint(0, 13))  # fmt: skip
    extra += ["Ground elev"] if job.ground is not None else []
    surveyed = {"Easting", "Northing"} <= set(extra)
    all_aside = random.random() < 0.05
    rows = []
    for route in routes:
        for number, along in enumerate(route.along):
            texts = dict.fromkeys((*columns, *extra), "")
            on_line = np.array(route.line.interpolate(along).coords[0])
            texts |= {"Route": route.name, "Joint": f"{number + 1}", "Size": random.choice(_SIZES[unit == "m"]),
                      "Joint type": random.choice(["push-on", "mechanical", "restrained", "slip", ""]),
                      "Inspector": random.choice(["R. Vance", "=cmd", ""]), "Date": "2026-04-02",
                      "Home to mark": random.choice(["yes", "no", "", "maybe"]),
                      "Gauge": random.choice(["ok", ""])}  # fmt: skip
            texts["Station"] = _station(route.station(along), digits) + route.side(along)
            for name in extra:
                texts[name] = _cell(random, name, on_line) if name != "Ground elev" else f"{job.ground}"
            if surveyed and not (texts["Easting"] and texts["Northing"]):
                texts["Easting"] = texts["Northing"] = ""
            bad = all_aside or random.random() < 0.03
            if bad:
                texts["Station"] = random.choice(["", *ODD_STATIONS])
                texts |= {name: "" for name in ("Easting", "Northing") if name in texts}
            else:
                job.places[route.name, texts["Joint"]] = on_line
                job.offsets[route.name, texts["Joint"]] = _offsets(route)
                job.placed += 1
            rows.append(texts)
            if not bad and random.random() < 0.03:
                rows.append(texts | {"Date": "2026-05-03", "Remarks" if "Remarks" in extra else "Gauge": "ok"})
                job.placed += 1
    stray = dict.fromkeys((*columns, *extra), "")
    stray |= {"Route": "no such", "Joint": "1", "Station": _station(50, digits)}
    rows += [stray] * random.choice([0, 0, 1, 2] if rows else [1])
    job.records = len(rows)
    halves = [rows] if random.random() < 0.7 or len(rows) < 4 else [rows[: len(rows) // 2], rows[len(rows) // 2 :]]
    for number, part in enumerate(halves):
        suffix = random.choice([".csv", ".xlsx"])
        path = folder / f"log{number}{suffix}"
        cells = [[*columns, *extra], *([row[name] for name in (*columns, *extra)] for row in part)]
        if suffix == ".csv":
            with path.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file, delimiter=random.choice([",", ";"])).writerows(cells)
        else:
            book = openpyxl.Workbook()
            for at, row in enumerate(cells, start=1):
                for column, text in enumerate(row, start=1):
                    cell = book.active.cell(at, column)
                    cell.value, cell.data_type = text or None, "s" if text else "n"
            book.save(path)
        job.logs.append(path)
    return [f'station_format = "{form}"', 'date_order = "ymd"']


def _offsets(route):
    """Give the least and the most offset from the design that a joint may have; None where there is no design."""
    if route.design is None:
        return None
    most = math.hypot(*route.design)
    if not route.straight:
        return -most, most
    # A straight line's offset is the part of the shift square to it, the other way about.
    (x, y), (end_x, end_y) = (point[:2] for point in (route.line.coords[0], route.line.coords[-1]))
    along = np.array([end_x - x, end_y - y]) / math.hypot(end_x - x, end_y - y)
    offset = -(route.design[0] * along[1] - route.design[1] * along[0])
    return offset, offset


def _station(value, digits):
    whole = 10**digits
    value = round(value, 2)
    if not digits:
        return f"{value:.2f}"
    return f"{int(value // whole)}+{value % whole:0{digits + 3}.2f}"


def _cell(random, name, place):
    if name.startswith("Gap"):
        return random.choice(["2", "2 1/16", "1.9", "", "x"])
    if name in ("Easting", "Northing"):
        return f"{place[0 if name == 'Easting' else 1]:.4f}" if random.random() < 0.9 else ""
    words = {"Restrained": ["yes", "no", ""], "Kind": ["pipe", "valve", "tee", ""], "Bend angle": [""],
             "Photo": ["1.jpg", ""], "Unused": [""], "Crew": ["North", "[/b]", ""]}  # fmt: skip
    return random.choice(words.get(name, ["fine", "<script>", "$x^{$", "[/x]", "a\nb", ""]))


def _more(random, routes, job, digits):
    text = []
    long = [route for route in routes if len(route.along) > 3]
    if long and random.random() < 0.5:
        route = random.choice(long)
        first, last = (
            _toml(_station(route.station(along), digits) + route.side(along)) for along in route.along[[1, -2]]
        )
        text += ["[[restraint]]", f"route = {_toml(route.name)}", f"from = {first}", f"to = {last}",
                 'why = "a bend [/x]"']  # fmt: skip
        text += ["[[pressure_tests]]", f"route = {_toml(route.name)}", f"from = {first}", f"to = {last}",
                 "pressure_psi = 150", "duration_h = 2", f"makeup_gal = {random.choice([0.0, 50.0])}"]  # fmt: skip
    if random.random() < 0.6:
        job.mapped = True
        into = random.choice(["utility.gpkg", "utility.shp"])
        layer = ['layer = "water_joints"'] if into.endswith("gpkg") else []
        text += ["[map]", f'into = "{into}"', *layer, "[map.columns]", 'joint_uid = "ASSET_ID"', 'verdict = "VERDICT"',
                 'elevation = "ELEV"']  # fmt: skip
    return text


def _toml(text):
    return json.dumps(text)


def _xml(text):
    from xml.sax.saxutils import quoteattr

    return quoteattr(text)


def run(*arguments):
    """Run a command; gives its status and its answer, and asserts that it did not fail itself."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = cli.run([str(one) for one in arguments])
    assert status in (0, 1, 2), (arguments, status, err.getvalue()[-2000:])
    if status == 2:
        assert err.getvalue().strip(), arguments
        return status, err.getvalue()
    return status, json.loads(out.getvalue()) if "--json" in arguments else out.getvalue()


def walk(job: Job, *, review: bool = True, plots: bool = False) -> str:
    """Take a job through every command, and hold each answer against the truth; gives how far it went."""
    folder = job.path.parent
    status, told = run("check", job.path, "--json")
    if status == 2:
        assert not job.placed, told
        assert run("place", job.path)[0] == 2
        assert not (folder / "joints.gpkg").exists()
        return "refused"
    _counts(job, told)
    assert run("check", job.path, "--strict")[0] == int(job.placed < job.records)
    _returned(job)
    status, told = run("place", job.path, "--json")
    assert status == 0, told
    _counts(job, told)
    placed = folder / "joints.gpkg"
    _joints(job, placed)
    _held_against_design_and_ground(job, placed)
    _compared(placed, folder / "again.gpkg")
    if review:
        _as_geoparquet(job, placed)
        more = ["--plots"] if plots else []
        status, told = run("review", placed, "--out", folder / "review", "--json", *more)
        assert status == 0, told
        faces.agree(placed, folder / "review")
        _issues_come_back(placed, folder / "review", told)
        status, again = run("review", placed, "--out", folder / "review", "--json", "--issues",
                            folder / "review" / "issues.xlsx")  # fmt: skip
        assert status == 0, again
        assert again["issues"] == told["issues"]
    _register(job, placed)
    if job.mapped:
        _mapped(job)
    return "placed"


def _as_geoparquet(job, placed):
    """Hold the job written as a folder of GeoParquet files against its GeoPackage."""
    folder = placed.with_suffix(".parquet")
    assert run("place", job.path, "--out", folder)[0] == 0
    theirs, ours = read_placed(placed), read_placed(folder)
    for layer in set(LAYERS) - {"run"}:
        assert ours.table(layer).equals(theirs.table(layer)), layer


def _issues_come_back(placed, folder, told):
    """Hold the lists of a review against what is found now: every issue finds its own row, and none has changed."""
    review = read_review(placed)
    for name in ("issues.csv", "issues.xlsx"):
        back = issues.read_issues(folder / name, review.run["name"], dt.date.today())
        rows = issues.merged(issues.found(review), back, review.run["name"]).rows
        assert [(row["number"], row["state"], row["was"]) for row in rows] == [
            (at + 1, "open", "") for at in range(len(back.rows))
        ], name
        assert told["issues"] == ({"open": len(rows)} if rows else {})


def _counts(job, told):
    assert told["records_read"] == job.records
    assert told["inspections_placed"] == job.placed, told["set_aside_by_reason"]
    assert told["records_set_aside"] == job.records - job.placed


def _returned(job):
    status, told = run("check", job.path, "--return", job.path.with_name("back.xlsx"), "--json")
    assert status == 0, told
    text = job.path.read_text("utf-8")
    names = json.dumps([Path(one).name for one in told["returned"]])
    again = job.path.with_name("again.toml")
    again.write_text(text.replace(f"path = {json.dumps([one.name for one in job.logs])}", f"path = {names}"), "utf-8")
    status, told = run("place", again, "--out", job.path.with_name("again.gpkg"), "--json")
    assert status == 0, told
    _counts(job, told)


def _joints(job, path):
    joints = gpd.read_file(path, layer="joints")
    assert joints["joint_uid"].is_unique
    assert joints["joint_uid"].notna().all()
    found = {(row.route, row.joint): (row.easting, row.northing, row.elevation) for row in joints.itertuples()}
    assert set(found) == set(job.places)
    slack = 0.02 if job.unit != "m" else 0.01
    for key, place in job.places.items():
        assert math.dist(found[key][:2], place[:2]) < slack, (key, found[key], place)
        if len(place) > 2:
            assert abs(found[key][2] - place[2]) < 0.002, (key, found[key], place)
        else:
            assert math.isnan(found[key][2] if found[key][2] is not None else math.nan), (key, found[key])
    with closing(sqlite3.connect(path)) as database:
        (inspections,) = database.execute("SELECT count(*) FROM inspections").fetchone()
        (aside,) = database.execute("SELECT count(*) FROM set_aside").fetchone()
    assert (inspections, inspections + aside) == (job.placed, job.records)


def _held_against_design_and_ground(job, path):
    joints = gpd.read_file(path, layer="joints")
    slack = 0.02 if job.unit != "m" else 0.01
    for row in joints.itertuples():
        where = (row.route, row.joint)
        known = job.offsets[where]
        if known is None or row.design_offset is None or math.isnan(row.design_offset):
            assert known is not None or row.design_offset is None or math.isnan(row.design_offset), where
        else:
            assert known[0] - slack <= row.design_offset <= known[1] + slack, (where, known, row.design_offset)
            if len(job.places[where]) > 2:
                # The design was moved along the grade, too: 0.03 at most.
                steep = 0.03 * 1.5 * (1.0 if job.unit != "m" else 0.3)
                assert abs(row.design_height + 0.1) < slack + steep, (where, row.design_height)
        if job.ground is None:
            assert row.ground_elevation is None or math.isnan(row.ground_elevation), where
            continue
        if row.ground_elevation is not None and not math.isnan(row.ground_elevation):
            assert abs(row.ground_elevation - job.ground) < 1e-6, (where, row.ground_elevation)
        if row.cover is not None and not math.isnan(row.cover):
            # The top of the pipe lies over its center by less than a foot and a half, whatever its size here.
            over = job.ground - row.elevation - row.cover
            assert 0.0 < over < (1.5 if job.unit != "m" else 0.45), (where, over)
            assert row.cover_least <= row.cover + 1e-9, where


def _compared(old, new):
    """Hold a job against itself, placed from the log that was handed back: nothing came, went, moved or changed."""
    status, told = run("compare", old, new, "--json", "--page", old.with_name("changes.html"), "--out",
                       old.with_name("changes.xlsx"))  # fmt: skip
    assert status == 0, told
    assert (told["joints"], told["fields"], told["findings"]) == ([], [], []), told["counts"]
    assert told["counts"]["joints"]["same"] == told["counts"]["joints"]["in_both"]


def _register(job, placed):
    register = placed.with_name("register.gpkg")
    status, told = run("load", placed, "--into", register, "--json")
    assert status == 0, told
    assert told["joints"]["new"] == told["joints"]["read"] == len(job.places)
    status, again = run("load", placed, "--into", register, "--json")
    assert status == 0, again
    assert (again["changed"], again["joints"]["unchanged"]) == (False, len(job.places))
    assert run("conflicts", register, "--json")[1]["conflicts"] == []
    by_route = {}
    for route, _ in job.places:
        by_route[route] = by_route.get(route, 0) + 1
    for route, count in by_route.items():
        status, found = run("find", register, "--route", route, "--json")
        assert status == 0, found
        assert found["count"] == count
    (route, joint), (easting, northing, *_) = next(iter(job.places.items()))
    status, found = run("find", register, "--near", f"{easting},{northing}", "--nearest", 1, "--json",
                        "--map", placed.with_name("found.html"), "--out", placed.with_name("found.xlsx"))  # fmt: skip
    assert status == 0, found
    assert (found["joints"][0]["route"], found["joints"][0]["joint"]) == (route, joint)
    assert run("find", register)[0] == 0
    status, told = run("load", "--undo", 1, "--into", register, "--json")
    assert status == 0, told
    assert run("find", register, "--json")[1]["count"] == 0


def _mapped(job):
    dry, would = run("map", job.path, "--dry-run", "--json")
    status, told = run("map", job.path, "--json")
    assert (dry, status == 2) == (status, isinstance(told, str)), (would, told)
    assert status == 0, told
    assert would["to_add"] == told["added"] == len(job.places)
    assert run("map", job.path, "--json")[1]["added"] == 0
