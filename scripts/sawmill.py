"""Make the third job of the sample: Sawmill Court, whose survey is sparse and noisy and whose crew read a rule.

The main is laid in space from rigid lengths of known deflection; shots and readings are taken from it with the errors
that instruments and people make, from one seed. `make_sample.py` calls this.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
import random
from dataclasses import dataclass, field
from pathlib import Path

SEED = 20260415
SHOTS, LOG, CHECKS, TIES = "shots_sawmill.csv", "joint_log_sawmill.csv", "check_shots_sawmill.csv", "ties_sawmill.csv"
SUBMITTAL = "allowables_sawmill.csv"
SUBMITTAL_ROWS = (
    ("joint_type", "size", "allowable_deg", "source"),
    ("restrained-push-on", "8", "3.0", "Approved submittal 21, sheet 2, revision A"),
    ("mechanical", "8", "4.0", "Approved submittal 21, sheet 4, revision A"),
    ("restrained-mechanical", "8", "3.0", "Approved submittal 21, sheet 4, revision A"),
)

START = (6791240.0, 2091150.0, 396.2)
"""Easting, northing, elevation of the pipe's center at joint 1, US survey feet."""
AZIMUTH_DEG, GRADE_PERCENT, LENGTH_FT = 24.0, 0.4, 20.0
START_STATION_FT, GRID_FACTOR = 1000.0, 0.99988
SIGMA_FT = (0.03, 0.04)
"""Standard errors of a shot: horizontal, vertical. The job states these."""
OUTSIDE_IN = {12: 13.20, 8: 9.05}
"""AWWA C150/C151 (from memory)."""
TAPE_PPM = ((72, 150.0), (101, -90.0))
"""Up to which joint the crew's tape was off, and by how much."""
MARK_IN = 0.75
"""Rule reading from the bell face to the insertion mark when a pipe is fully home."""
ROLL = "80"
"""Where the rolled bend turns to: degrees clockwise from the top of the pipe, looking ahead."""
SIGMA_READING_IN = 1.0 / 32.0

Vector = tuple[float, float, float]


@dataclass
class Joint:
    """A joint as it was made: where, what, and what its pipe ahead turns by, to the right and upward, degrees."""

    number: int
    right_deg: float = 0.0
    up_deg: float = 0.0
    size: int = 12
    joint_type: str = "push-on"
    kind: str = "pipe"
    length: float = LENGTH_FT
    bend: tuple[float, str] | None = None
    place: Vector = START
    distance: float = 0.0
    values: dict[str, str] = field(default_factory=dict)


def make(folder: Path) -> list[Joint]:
    """Write the files of Sawmill Court into `folder`; returns the joints as laid."""
    rng = random.Random(SEED)
    joints = lay()
    shots = survey(joints, rng)
    write(folder / SHOTS, ("point", "northing", "easting", "elevation", "description"), shots)
    write(folder / CHECKS, ("point", "northing", "easting", "elevation"), check_shots(joints, shots, rng))
    write(folder / SUBMITTAL, SUBMITTAL_ROWS[0], list(SUBMITTAL_ROWS[1:]))
    write(folder / TIES, ("route", "station", "easting", "northing", "what"), ties(joints))
    header, rows = log(joints, rng)
    write(folder / LOG, header, rows)
    return joints


def designed() -> list[Joint]:
    """Give what was laid at each joint: see the sample's README."""
    joints = [Joint(number) for number in range(1, 101)]

    def each(first: int, last: int, **what: object) -> None:
        for joint in joints[first - 1 : last]:
            for name, value in what.items():
                setattr(joint, name, value)

    each(1, 1, kind="valve", joint_type="mechanical")
    each(8, 17, right_deg=2.0)  # a curve shot at every joint
    each(33, 49, right_deg=-2.0)  # a curve shot at every fifth joint
    each(61, 63, right_deg=8.2)  # pulled around a vault, shot at every second joint
    each(72, 100, size=8)
    each(72, 72, kind="reducer", joint_type="mechanical")
    each(76, 76, right_deg=4.95)  # too near the allowable for this survey
    each(78, 79, joint_type="restrained-push-on")
    each(80, 81, kind="bend", joint_type="mechanical", bend=(45.0, "right"))  # one fitting, logged by its two ends
    each(80, 80, right_deg=22.5, length=1.6)
    each(81, 81, right_deg=22.5 + 1.4)
    each(82, 82, joint_type="restrained-push-on")
    each(88, 88, kind="bend", joint_type="mechanical", bend=(22.5, ROLL))  # rolled
    return joints


def lay() -> list[Joint]:
    """Lay every joint in space, each length along the direction that the joints before it gave."""
    joints = designed()
    azimuth, inclination = math.radians(AZIMUTH_DEG), math.atan(GRADE_PERCENT / 100.0)
    ahead = _direction(azimuth, inclination)
    place, distance = START, 0.0
    for joint in joints:
        joint.place, joint.distance = place, distance
        if joint.bend is not None and joint.bend[1] == ROLL:
            ahead = _rolled(ahead, math.radians(joint.bend[0]), math.radians(float(ROLL)))
        else:
            ahead = _turned(ahead, math.radians(joint.right_deg), math.radians(joint.up_deg))
        place = _moved(place, ahead, joint.length)
        distance += joint.length * math.hypot(ahead[0], ahead[1])
    joints.append(Joint(101, size=8, place=place, distance=distance))
    return joints


def survey(joints: list[Joint], rng: random.Random) -> list[tuple[str, ...]]:
    """Shoot the top of the pipe: at every joint, but from 31 to 56 at every fifth, and to 70 at every second."""
    shots: list[tuple[str, ...]] = []
    for joint in joints:
        sparse = 31 <= joint.number <= 56 and (joint.number - 31) % 5
        sparse = sparse or (56 < joint.number <= 70 and joint.number % 2)
        if sparse:
            continue
        east, north, up = _shot(joint, rng)
        code = "WM-D TOP" if joint.number < 101 else "WM-D END"
        shots.append((str(2000 + joint.number), f"{north:.3f}", f"{east:.3f}", f"{up:.3f}", code))
    return shots


def check_shots(joints: list[Joint], shots: list[tuple[str, ...]], rng: random.Random) -> list[tuple[str, ...]]:
    """Shoot 24 of the joints again from other control, as an independent check."""
    by_point = {2000 + joint.number: joint for joint in joints}
    chosen = [shot[0] for shot in shots][::3][:24]
    rows: list[tuple[str, ...]] = []
    for point in chosen:
        east, north, up = _shot(by_point[int(point)], rng, part=0.3)
        rows.append((point, f"{north:.3f}", f"{east:.3f}", f"{up:.3f}"))
    return rows


def ties(joints: list[Joint]) -> list[tuple[str, ...]]:
    """Give the points whose station and coordinates are both known: the valve, the reducer and the end."""
    rows: list[tuple[str, ...]] = []
    for number, what in ((1, "line valve"), (72, "reducer"), (101, "end of line")):
        joint = joints[number - 1]
        east, north, _ = joint.place
        rows.append(("D", station_text(joint.number, joints), f"{east:.2f}", f"{north:.2f}", what))
    return rows


def station_text(number: int, joints: list[Joint]) -> str:
    """Write a joint's station as the crew taped it on the ground."""
    return _station(_taped(joints)[number - 1])


def log(joints: list[Joint], rng: random.Random) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Write the crew's log: a record for each joint but the end, with rule readings and two kinds of coordinates."""
    header = (
        "Route", "Jt #", "Station", "Size (in)", "Joint type", "Item", "Bend angle", "Bend plane", "Laid length",
        "Restrained", "Date", "Inspector", "Gasket temp (F)", "Home to mark", "Gauge OK", "Torque (ft-lb)",
        "Gap 12", "Gap 3", "Gap 4", "Gap 6", "Gap 8", "Gap 9", "Gauge 12", "Gauge 3", "Gauge 6", "Gauge 9",
        "Easting", "Northing", "Remarks",
    )  # fmt: skip
    taped = _taped(joints)
    rows = []
    for joint in joints[:-1]:
        values = _record(joint, taped[joint.number - 1], rng) | _troubles(joint, taped)
        rows.append(tuple(values.get(name, "") for name in header))
    return header, rows


def _record(joint: Joint, station: float, rng: random.Random) -> dict[str, str]:
    day = dt.date(2026, 5, 4) + dt.timedelta(days=7 * ((joint.number - 1) // 50) + (joint.number - 1) % 50 // 10)
    bolted = joint.joint_type == "mechanical"
    values = {
        "Route": "D",
        "Jt #": str(joint.number),
        "Station": _station(station),
        "Size (in)": str(joint.size),
        "Joint type": joint.joint_type,
        "Item": joint.kind,
        "Bend angle": f"{joint.bend[0]:g}" if joint.bend else "",
        "Bend plane": joint.bend[1] if joint.bend else "",
        "Laid length": f"{joint.length:.2f}",
        "Restrained": "yes" if joint.joint_type.startswith("restrained") else "",
        "Date": f"{day:%m/%d/%Y}",
        "Inspector": ("R. Castellano", "M. Whitlock")[day.toordinal() % 2],
        "Gasket temp (F)": str(rng.randint(52, 74)),
        "Home to mark": "" if bolted else "yes",
        "Gauge OK": "" if bolted else "yes",
        "Torque (ft-lb)": str(rng.choice((80, 85))) if bolted else "",
    }
    if 2 <= joint.number <= 52 and joint.number not in (34, 48):
        hours = (12, 4, 8) if joint.number % 2 else (12, 3, 6, 9)
        values |= {f"Gap {hour}": reading(joint, hour, rng) for hour in hours}
    return values


def reading(joint: Joint, hour: int, rng: random.Random) -> str:
    """Read a rule from the bell face to the insertion mark at a clock position, to the 1/32 in, looking ahead."""
    turn = math.radians(math.hypot(joint.right_deg, joint.up_deg))
    toward = math.atan2(joint.right_deg, joint.up_deg)
    angle = math.radians(30.0 * hour)
    # The gap opens on the side that the pipe ahead turns away from.
    opening = -OUTSIDE_IN[joint.size] / 2.0 * math.tan(turn) * math.cos(angle - toward)
    value = MARK_IN + opening + rng.gauss(0.0, SIGMA_READING_IN / 2.0)
    return f"{round(value * 32.0) / 32.0:.3f}"


def _troubles(joint: Joint, taped: list[float]) -> dict[str, str]:
    """Give what is written otherwise than it was, or was otherwise than it should be."""
    east, north, _ = joint.place
    planted = {
        12: {"Gap 12": "0.750", "Gap 3": "0.750", "Gap 6": "0.750", "Gap 9": "0.750",
             "Remarks": "readings copied from the joint before"},
        20: {"Gap 12": "1.750", "Gap 3": "1.750", "Gap 6": "1.750", "Gap 9": "1.781", "Remarks": "first ring shows"},
        24: {"Gap 12": "0.750", "Gap 3": "1.250", "Gap 6": "0.750", "Gap 9": "1.250"},
        28: {"Gauge 12": "2.250", "Gauge 3": "2.250", "Gauge 6": "2.875", "Gauge 9": "2.250"},
        80: {"Restrained": "yes", "Remarks": "45, this end"},
        81: {"Restrained": "yes", "Bend angle": "", "Bend plane": "", "Remarks": "45, other end"},
        83: {"Remarks": "restraint gasket not on site"},
        62: {"Remarks": "pulled around the vault"},
    }  # fmt: skip
    if 92 <= joint.number <= 96:
        written = {"Easting": f"{east:.2f}", "Northing": f"{north:.2f}"}
        if joint.number == 94:
            written |= {"Station": _station(taped[joint.number - 1] + 3.0), "Remarks": "shot by the inspector"}
        return written
    return planted.get(joint.number, {})


def _taped(joints: list[Joint]) -> list[float]:
    """Give the stations that the crew's tape gave on the ground, ft."""
    stations, station, before = [], START_STATION_FT, 0.0
    for joint in joints:
        ppm = next(off for last, off in TAPE_PPM if joint.number <= last)
        station += (joint.distance - before) / GRID_FACTOR * (1.0 + ppm / 1e6)
        before = joint.distance
        stations.append(station)
    return stations


def _station(station: float) -> str:
    hundredths = round(100.0 * station)
    return f"{hundredths // 10_000}+{hundredths % 10_000 // 100:02d}.{hundredths % 100:02d}"


def _shot(joint: Joint, rng: random.Random, part: float = 1.0) -> Vector:
    """Shoot the top of the pipe at a joint, with a part of the survey's error."""
    east, north, up = joint.place
    top = up + OUTSIDE_IN[joint.size] / 2.0 / 12.0
    level, upright = SIGMA_FT[0] * part, SIGMA_FT[1] * part
    return east + rng.gauss(0.0, level), north + rng.gauss(0.0, level), top + rng.gauss(0.0, upright)


def _direction(azimuth: float, inclination: float) -> Vector:
    level = math.cos(inclination)
    return level * math.sin(azimuth), level * math.cos(azimuth), math.sin(inclination)


def _turned(ahead: Vector, right: float, up: float) -> Vector:
    azimuth, inclination = math.atan2(ahead[0], ahead[1]), math.asin(ahead[2])
    return _direction(azimuth + right, inclination + up)


def _rolled(ahead: Vector, angle: float, roll: float) -> Vector:
    """Turn a direction by a fitting rolled clockwise from the top, looking ahead."""
    level = math.hypot(ahead[0], ahead[1])
    side = (ahead[1] / level, -ahead[0] / level, 0.0)
    over = (
        side[1] * ahead[2] - side[2] * ahead[1],
        side[2] * ahead[0] - side[0] * ahead[2],
        side[0] * ahead[1] - side[1] * ahead[0],
    )
    to = [math.cos(roll) * o + math.sin(roll) * s for o, s in zip(over, side, strict=True)]
    east, north, up = (math.cos(angle) * a + math.sin(angle) * t for a, t in zip(ahead, to, strict=True))
    return east, north, up


def _moved(place: Vector, ahead: Vector, length: float) -> Vector:
    east, north, up = (p + length * a for p, a in zip(place, ahead, strict=True))
    return east, north, up


def write(path: Path, header: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    """Write a CSV file."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows([header, *rows])
    path.write_bytes(text.getvalue().encode("utf-8"))
