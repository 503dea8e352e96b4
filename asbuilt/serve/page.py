"""The search page as a file: the same page with its answer in it, which needs nothing else and no network."""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from dataclasses import fields
from importlib import resources
from pathlib import Path
from typing import Any

from pyproj import CRS

from asbuilt.layers import outputs
from asbuilt.register import places
from asbuilt.register.ground import ground_of
from asbuilt.register.question import Question
from asbuilt.register.results import check_name
from asbuilt.register.search import Found
from asbuilt.register.waiting import listed_options
from asbuilt.register.wording import shared_words
from asbuilt.review.look import MARKS
from asbuilt.review.tables import plain_time
from asbuilt.schema import CONDITIONS, LAYERS
from asbuilt.serve.around import around, placed_waits

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data: blob:; worker-src blob:"
)
_MARGIN_DEG = 0.001


def static(name: str) -> str:
    """Give a file of the page."""
    return resources.files("asbuilt.serve").joinpath("static", name).read_text("utf-8")


def marks() -> list[dict[str, Any]]:
    """Give how each verdict is drawn, in the order in which they matter."""
    return [
        {"verdict": verdict, "word": one.word, "color": one.color, "path": one.path, "filled": one.filled}
        for verdict, one in MARKS.items()
    ]


LENGTHS = [name for name, column in LAYERS["joints"].columns.items() if "{unit}" in column.description]
"""Columns of a joint in the unit of its job's coordinates."""
FAILED = {"word": "inspection failed", "color": "#A3123A", "path": "M4 4 12 12M12 4 4 12", "filled": False}
"""How a joint is marked whose inspection failed, over the mark of its deflection."""


def told(found: Found, most: int | None = None) -> dict[str, Any]:
    """Give an answer as the page takes it: as `find --json`, at most so many joints, and how many more there are."""
    answer = found.as_json()
    shown = answer["joints"][:most]
    return answer | {
        "away_symbol": found.symbol, "away_unit": found.away_unit, "within_words": found.within_words,
        "joints": shown, "more": answer["count"] - len(shown), "unknown": in_a_form(answer["unknown"]),
        "may_be_over": in_a_form(answer["may_be_over"]),
        "shared_words": shared_words(found.over),
        "aside_not_held": in_a_form(listed_options(found.aside_unsure)) if found.aside_unsure else None,
        "waits": placed_waits(found.waits[:most], ground_of(CRS(found.crs_wkt))),
    }  # fmt: skip


def in_a_form(text: str | None) -> str | None:
    """Leave out the dashes before what is asked by, which only the options of the command have.

    Examples
    --------
    >>> in_a_form("--crew: the register has no crew 'Crew --9'")
    "crew: the register has no crew 'Crew --9'"
    """
    return text and _OPTION.sub("", text)


_OPTION = re.compile(r"(?<![\w-])--(?=[a-z])")


def write_map(found: Found, asked: Question, path: Path) -> bool:
    """Write a page with a map of the joints found; tell whether an earlier answer stood there.

    Raises
    ------
    OutputError
    """
    check_name(path, is_map=True)
    replaced = outputs.refuse_to_replace(path, kind="answer", key="--map")
    with outputs.put_in_place(path, option="--map") as unfinished, outputs.write_errors(path, "--map"):
        unfinished.write_text(page(found, asked), "utf-8")
    return replaced


def page(found: Found, asked: Question) -> str:
    """Make the page.

    Returns
    -------
    str
        HTML; every text of a log stands in it as data, never as markup.
    """
    frozen = {
        "about": {
            "register": found.register if "://" in found.register else Path(found.register).name,
            "written": plain_time(dt.datetime.now(dt.UTC).isoformat()),
            "tiles": None, "attribution": "", "photos": False, "marks": marks(), "failed": FAILED,
            "conditions": CONDITIONS, "lengths": LENGTHS,
        },
        "answer": told(found),
        "asked": asked_words(asked, found),
        "area": _area(asked),
        **_lines(found),
    }  # fmt: skip
    text = static("page.html")
    text = text.replace("<title>Joint history</title>", f"<title>{html.escape(_title(found))}</title>")
    text = text.replace("<head>", f'<head>\n<meta http-equiv="Content-Security-Policy" content="{_POLICY}">', 1)
    text = re.sub(r'<link rel="stylesheet" href="static/([^"]+)">', lambda one: _style(one[1]), text)
    data = f'<script type="application/json" id="frozen">{_embedded(frozen)}</script>\n'
    first, *rest = re.split(r'<script src="static/([^"]+)"></script>', text)
    scripts = [f"<script>{static(name)}</script>" for name in rest[0::2]]
    return first + data + "".join(script + after for script, after in zip(scripts, rest[1::2], strict=True))


def asked_words(asked: Question, found: Found) -> str:
    """Say what was asked, in the words of the options.

    Examples
    --------
    >>> asked_words(Question(routes=("A",), from_station="12+00"), Found("r.gpkg", "", None, None, None, "ft", []))
    'Asked: route A; from station 12+00'
    >>> read = Found("r.gpkg", "", None, None, None, "ft", [], stations_read_as="from station 12+00, read as 1200 ft")
    >>> asked_words(Question(routes=("A",), from_station="12+00"), read)
    'Asked: route A; from station 12+00, read as 1200 ft'
    """
    parts = []
    # How stations were read is said with them.
    read = ("from_station", "to_station") if found.stations_read_as is not None else ()
    for one in fields(asked):
        if one.name in read:
            continue
        value = getattr(asked, one.name)
        given = list(value) if isinstance(value, list | tuple) else [value]
        name = one.name.replace("_", " ")
        name = name.removesuffix("s") if isinstance(value, list | tuple) else name
        parts += [
            f"{name} {part.name if isinstance(part, Path) else part}" for part in given if part not in (None, False)
        ]
    if found.near is not None:
        parts.append(found.near.read_as)
    if found.stations_read_as is not None:
        parts.append(found.stations_read_as)
    return f"Asked: {'; '.join(parts)}" if parts else "Asked: all joints"


def _title(found: Found) -> str:
    count = found.count
    joints = f"{count} joint" if count == 1 else f"{count} joints"
    if found.near is None:
        return joints
    return f"{joints} nearest to a place" if found.within_words is None else f"{joints} {found.within_words} of a place"


def _area(asked: Question) -> Any:
    if asked.area is None:
        return None
    import shapely

    return json.loads(shapely.to_geojson(places.area(asked.area, CRS("EPSG:4326"))))


def _lines(found: Found) -> dict[str, Any]:
    """Give the mains of the register around what was found, from joint to joint and as surveyed."""
    spots = [(joint["longitude"], joint["latitude"]) for joint in found.joints]
    if found.near_degrees is not None:
        spots.append((found.near_degrees[1], found.near_degrees[0]))
    if not spots:
        return {name: {"type": "FeatureCollection", "features": []} for name in ("mains", "surveyed")}
    east, north = (sorted(one[side] for one in spots) for side in (0, 1))
    box = (
        max(east[0] - _MARGIN_DEG, -180.0), max(north[0] - _MARGIN_DEG, -90.0),
        min(east[-1] + _MARGIN_DEG, 180.0), min(north[-1] + _MARGIN_DEG, 90.0),
    )  # fmt: skip
    there = around(found.register, box)
    return {name: there[name] for name in ("mains", "surveyed")}


def _style(name: str) -> str:
    return f"<style>{static(name)}</style>"


def _embedded(data: dict[str, Any]) -> str:
    """Write data so that nothing in it can end the script element that holds it."""
    text = json.dumps(data, ensure_ascii=False)
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
