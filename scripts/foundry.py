"""Make the fourth job of the sample: Foundry Loop, whose centerline is the design's alignment in LandXML.

A line, a spiral, a circular curve, a spiral and a line, with a profile over a crest; one station equation in the file.
"""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

from sawmill import write

ALIGNMENT, LOG = "alignment_foundry.xml", "joint_log_foundry.csv"
START, AZIMUTH_DEG = (6790510.0, 2088920.0), 310.0
"""Easting, northing and direction of the alignment's start, US survey feet."""
START_STATION, BACK, AHEAD = 500.0, 800.0, 1200.0
RADIUS, LENGTHS = 700.0, (160.0, 120.0, 260.0, 120.0, 200.0)
"""Radius of the curve, which turns left, and lengths of line, spiral, curve, spiral and line."""
GRADES = ((500.0, 402.0), (900.0, 412.0), (1360.0, 402.8))
"""Station along the alignment without its equation, and elevation, of the points of vertical intersection."""
PARABOLA = 240.0
SPACING = 20.0


def make(folder: Path) -> None:
    """Write the files of Foundry Loop into `folder`."""
    (folder / ALIGNMENT).write_text(alignment(), "utf-8", newline="\n")
    header = ("Joint", "Station", "Size", "Joint type", "Date", "Inspector", "Home to mark", "Gauge", "Remarks")
    write(folder / LOG, header, [_record(number) for number in range(1, 44)])


def alignment() -> str:
    """Give the LandXML file, its points computed by stepping along the curvature in thousandths of a foot."""
    parts, length = [], 0.0
    east, north, azimuth = *START, math.radians(AZIMUTH_DEG)
    for kind, part in zip(("line", "in", "curve", "out", "line"), LENGTHS, strict=True):
        start, before = (east, north), azimuth
        east, north, azimuth = _walk(east, north, azimuth, kind, part)
        parts.append(_element(kind, part, length, start, before, (east, north), azimuth))
        length += part
    profile = (
        f"        <PVI>{GRADES[0][0]:.3f} {GRADES[0][1]:.3f}</PVI>\n"
        f'        <ParaCurve length="{PARABOLA:.3f}">{GRADES[1][0]:.3f} {GRADES[1][1]:.3f}</ParaCurve>\n'
        f"        <PVI>{GRADES[2][0]:.3f} {GRADES[2][1]:.3f}</PVI>\n"
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="2026-02-02" time="09:00:00">\n'
        '  <Units>\n    <Imperial areaUnit="squareFoot" linearUnit="USSurveyFoot" volumeUnit="cubicYard"'
        ' temperatureUnit="fahrenheit" pressureUnit="inHG" angularUnit="decimal degrees"'
        ' directionUnit="decimal degrees"/>\n  </Units>\n'
        '  <CoordinateSystem epsgCode="6418"/>\n  <Alignments>\n'
        f'    <Alignment name="E" length="{length:.3f}" staStart="{START_STATION:.3f}">\n      <CoordGeom>\n'
        + "".join(parts)
        + "      </CoordGeom>\n"
        f'      <StaEquation staInternal="{BACK:.3f}" staBack="{BACK:.3f}" staAhead="{AHEAD:.3f}"/>\n'
        '      <Profile>\n       <ProfAlign name="crown of pipe">\n'
        + profile
        + "       </ProfAlign>\n      </Profile>\n"
        "    </Alignment>\n  </Alignments>\n</LandXML>\n"
    )


def _walk(east: float, north: float, azimuth: float, kind: str, length: float) -> tuple[float, float, float]:
    """Step along an element whose curvature is none, grows, stays or falls; left turns have azimuths that fall."""
    steps = round(length * 1000)
    step = length / steps
    for number in range(steps):
        part = (number + 0.5) / steps
        bent = {"line": 0.0, "in": part, "curve": 1.0, "out": 1.0 - part}[kind] / RADIUS
        middle = azimuth - bent * step / 2.0
        east, north = east + step * math.sin(middle), north + step * math.cos(middle)
        azimuth -= bent * step
    return east, north, azimuth


def _element(
    kind: str,
    length: float,
    at: float,
    start: tuple[float, float],
    before: float,
    end: tuple[float, float],
    after: float,
) -> str:
    first, last = _point("Start", start), _point("End", end)
    head = f'staStart="{START_STATION + at:.3f}" length="{length:.3f}"'
    if kind == "line":
        return f"        <Line {head}>{first}{last}</Line>\n"
    if kind == "curve":
        # A left curve has its center square to the left of its start.
        center = start[0] - RADIUS * math.cos(before), start[1] + RADIUS * math.sin(before)
        return (
            f'        <Curve rot="ccw" radius="{RADIUS:.3f}" crvType="arc" {head}>'
            f"{first}{_point('Center', center)}{last}</Curve>\n"
        )
    radii = ("INF", f"{RADIUS:.3f}") if kind == "in" else (f"{RADIUS:.3f}", "INF")
    crossing = _crossing(start, before, end, after)
    return (
        f'        <Spiral rot="ccw" spiType="clothoid" radiusStart="{radii[0]}" radiusEnd="{radii[1]}" {head}>'
        f"{first}{_point('PI', crossing)}{last}</Spiral>\n"
    )


def _crossing(one: tuple[float, float], azimuth: float, other: tuple[float, float], back: float) -> tuple[float, float]:
    """Give the point where the tangents at two points meet."""
    east, north = other[0] - one[0], other[1] - one[1]
    along = (east * math.cos(back) - north * math.sin(back)) / math.sin(azimuth - back)
    return one[0] + along * math.sin(azimuth), one[1] + along * math.cos(azimuth)


def _point(tag: str, place: tuple[float, float]) -> str:
    return f"<{tag}>{place[1]:.6f} {place[0]:.6f}</{tag}>"


def _record(number: int) -> tuple[str, ...]:
    along = START_STATION + SPACING * (number - 1)
    station = along if along <= BACK else AHEAD + along - BACK
    day = dt.date(2026, 5, 18) + dt.timedelta(days=(number - 1) // 15)
    whole, rest = divmod(round(100.0 * station), 10_000)
    return (
        str(number), f"{whole}+{rest / 100:05.2f}", "8", "push-on", f"{day:%m/%d/%Y}", "M. Whitlock", "yes", "yes",
        "Last joint before the equation" if along == BACK else "",
    )  # fmt: skip
