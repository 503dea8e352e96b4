"""The faces of a review held against the placed file, and so against one another: one joint, one verdict, one limit.

Pages, the page of the whole job, the list of issues (both files) and the points to stake out are read as they lie on
the disk, without the functions that wrote them.
"""

import csv
import html
import json
import re
import xml.etree.ElementTree as ET
from collections import Counter
from itertools import zip_longest

import geopandas as gpd
import numpy as np
import openpyxl

TABLES = ("to-act-on", "unclear", "over", "without-limit", "information", "curves", "quantities", "survey", "remarks")
NUMBER = re.compile(r"\d+\.\d\d")


def agree(placed, folder):
    """Hold every face of a review in a folder against the file that it was made from."""
    joints, findings = (gpd.read_file(placed, layer=layer) for layer in ("joints", "findings"))
    manifest = json.loads((folder / "review.json").read_text("utf-8"))
    whole = (folder / "whole.html").read_text("utf-8")
    index = (folder / "index.html").read_text("utf-8")
    assert {one["route"] for one in manifest["routes"]} == set(joints["route"])
    listed = _list(folder)
    for at, one in enumerate(manifest["routes"]):
        ours = joints[joints["route"] == one["route"]].sort_values("distance", kind="stable")
        page = (folder / one["page"]).read_text("utf-8")
        _joints_of_the_page(page, ours)
        _answer(one, page, [_row_of_the_index(text, at) for text in (whole, index)], ours)
        for name in TABLES:
            assert _table(page, name) == _table(whole, f"{one['page'].removesuffix('.html')}-{name}"), name
        _issues_of_the_route(
            [row for row in listed if row["route"] == one["route"]], findings[findings["route"] == one["route"]]
        )
    counts = json.loads(gpd.read_file(placed, layer="run")["counts"].iloc[0])
    _stakes(folder, listed, joints, counts.get("places_doubted", {}))


def _list(folder):
    """Give the list of issues as texts; its two files say the same."""
    names, *cells = openpyxl.load_workbook(folder / "issues.xlsx").active.iter_rows(values_only=True)
    rows = [dict(zip(names, ["" if one is None else str(one) for one in row], strict=True)) for row in cells]
    for row, other in zip_longest(rows, _csv(folder / "issues.csv")):
        for name, text in row.items():
            told = _plain(other[name])
            assert told == _plain(text) or abs(float(told) - float(text)) < 1e-9, (name, told, text)
    return rows


def _csv(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def _plain(text):
    """Take off what keeps a spreadsheet from reading a name as a formula."""
    return text.strip().removeprefix("'")


def _joints_of_the_page(page, ours):
    data = json.loads(re.search(r'id="joints-data">(.*?)</script>', page, re.DOTALL)[1])
    columns = {
        name: texts if isinstance(texts, list) else [texts["of"][at] for at in texts["at"]]
        for name, texts in data["columns"].items()
    }
    assert columns["Joint"] == ours["joint"].tolist()
    assert columns["Station"] == ours["station"].tolist()
    assert columns["verdict"] == ours["verdict"].tolist()
    blank = [""] * len(ours)
    limits = columns.get("Allowable, deg", blank)
    assert [float(text) if text else None for text in limits] == _rounded(ours["allowable_deg"])
    geographic = ours.crs is not None and ours.crs.is_geographic
    east = [name for name in columns if name.startswith("Easting, northing, ")]
    assert len(east) == (not geographic)
    for names, title, decimals in [(("latitude", "longitude"), "Latitude, longitude", 7)] + [
        (("easting", "northing"), title, 2) for title in east
    ]:
        told = np.array([text.split(", ") for text in columns[title]], dtype=float)
        assert np.abs(told - ours[list(names)].to_numpy()).max() <= 0.5001 * 10.0**-decimals, title
    bounds = [_rounded(ours[f"{name}_deg"]) for name in ("deflection", "deflection_floor", "deflection_ceiling")]
    rows = zip(ours["verdict"], columns.get("Deflection, deg", blank), *bounds, strict=True)
    for verdict, said, own, floor, ceiling in rows:
        # Each number is one of the file's: its own deflection (and its error), or floor and ceiling.
        numbers = [float(text) for text in NUMBER.findall(said.partition(" ±")[0])]
        known = {value for value in (own, floor, ceiling) if value is not None}
        assert set(numbers) <= known, (verdict, said, known)
        assert verdict == "not-computed" or numbers or "no bound" in said or not known, (verdict, said, known)


def _row_of_the_index(text, at):
    """Give what an index says of a route, with what it says of every one."""
    every = re.search(r"<p>(Of every route: [^<]*)</p>", text)
    row = re.findall(r'data-title="Answer">([^<]*)<', text)[at]
    return html.unescape(row), html.unescape(every[1] if every else "")


def _answer(one, page, rows, ours):
    """Hold the sentence, which stands in four places, and what it counts."""
    sentence = one["answer"]
    lead, colon, rest = sentence.partition(":")
    for row, every in rows:
        assert row == sentence if not every else row.startswith(lead)
        assert all(words in row + every for words in one["open"])
    assert f"<strong>{lead}{colon}</strong>" in page
    over = int((ours["verdict"] == "over").sum())
    told = re.search(r"([\d,]+) joints? over\b", rest)
    counted = int(told[1].replace(",", "")) if told else 0
    # Of joints that share turns only the least is known.
    assert counted <= one["joints_over_at_least"] <= over if one["turns_shared"] else counted == over, sentence
    assert one["joints_by_verdict"] == dict(Counter(ours["verdict"])), sentence
    failed = int((ours["inspection"] == "failed").sum())
    told = re.search(r"([\d,]+) inspections? failed", rest)
    assert (int(told[1].replace(",", "")) if told else 0) == failed, sentence


def _table(page, name):
    """Give the texts of a table of a page."""
    found = re.search(rf'<figure class="[^"]*" id="{re.escape(name)}">(.*?)</figure>', page, re.DOTALL)
    return None if found is None else " ".join(html.unescape(re.sub(r"<[^>]*>", " ", found[1])).split())


def _issues_of_the_route(listed, findings):
    """Hold the rows of a route: each finding to act on or check once, with its numbers."""
    asked = findings[findings["severity"] != "note"]
    listed = [row for row in listed if row["measured"] != "" or row["finding"] in set(asked["code"])]
    told = Counter((row["finding"], row["severity"], _number(row["measured"]), _number(row["limit"])) for row in listed)
    ours = Counter(
        (row.code, row.severity, *(_as_listed(value) for value in (row.value, row.limit))) for row in asked.itertuples()
    )
    more = told - ours
    # Where no finding tells that no test is on file, the review does.
    assert all(code == "length-untested" for code, *_ in more), more
    assert ours - told == Counter(), ours - told


def _number(text):
    return round(float(text), 3) if text else None


def _as_listed(value):
    return None if value is None or np.isnan(value) else round(float(value), 3) + 0.0


def _rounded(values):
    return [None if value is None or np.isnan(value) else float(f"{value:.2f}") + 0.0 for value in values]


def _stakes(folder, listed, joints, doubted):
    """Hold the points to stake out: the joints of open issues, and those to shoot or read, where the file has them.

    Joints that are known to stand elsewhere are left out, and those that may do so say it.
    """
    lost = {route for route, some in doubted.items() if any(one["misplaced"] for one in some)}
    by_station = joints["position_source"] == "station"
    gone = {
        (_plain(row.route), _plain(row.joint)) for row in joints[by_station & joints["route"].isin(lost)].itertuples()
    }
    unsure = {
        (_plain(row.route), _plain(row.joint))
        for row in joints[by_station].itertuples()
        if any(one["from"] <= row.distance <= one["to"] for one in doubted.get(row.route, ()))
    }
    known = {(_plain(row.route), _plain(row.joint)): (row.latitude, row.longitude) for row in joints.itertuples()}
    asked = {(_plain(row["route"]), _plain(row["joint"])) for row in listed
             if row["latitude"] and row["state"].startswith(("open", "closed,"))} - gone  # fmt: skip
    points = [row | {name: _plain(row[name]) for name in ("route", "joint")} for row in _csv(folder / "stakes.csv")]
    assert {(row["route"], row["joint"]) for row in points if row["description"].startswith("issue ")} == asked
    assert all(row["description"].startswith(("issue ", "to shoot or read: ")) for row in points)
    said = {(row["route"], row["joint"]) for row in points if row["place_doubted_by"]}
    assert said == unsure & {(row["route"], row["joint"]) for row in points}
    assert not gone & {(row["route"], row["joint"]) for row in points}
    space = {"g": "http://www.topografix.com/GPX/1/1"}
    way = ET.parse(folder / "stakes.gpx").getroot().findall("g:wpt", space)
    assert len(way) == len(points)
    for row, one in zip(points, way, strict=True):
        place = known[(row["route"], row["joint"])]
        for text, value in zip(
            (one.get("lat"), one.get("lon"), row["latitude"], row["longitude"]), place * 2, strict=True
        ):
            assert abs(float(text) - value) < 1e-8, (row, place)
