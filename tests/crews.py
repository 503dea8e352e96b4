"""What a crew writes into a blank log: generated values for every column, by its kind."""

import datetime as dt

import laying
import numpy as np

from asbuilt.job import Job

JOINTS, BEND = 16, 3
INSPECTION = {
    "insertion_band": [0.5, 1.25], "sigma_reading": 0.03125, "gauge_spread": 0.25,
    "laid_from": dt.date(2026, 3, 2), "laid_to": dt.date(2026, 6, 30),
}  # fmt: skip
FIXED = {"outside_diameter": "13.20 in"}
LINE = {
    "path": "line.gpkg", "sigma_horizontal": 0.02, "sigma_vertical": 0.02, "elevation": "pipe-center",
    "start_station": "0+00", "starts": "south", **laying.LOOKED_AT,
}  # fmt: skip


READ = {"path": "log.xlsx", "date_order": "mdy", "reading_unit": "in", "sigma_station": 0.05}


def job(folder, *, centerline=None, records=None, line=True, **tables):
    """Give the job of a straight main A in feet, with its line and a folder of photos there."""
    given = laying.values(
        centerline={**LINE, **(centerline or {})},
        records={**READ, "fixed": FIXED, **(records or {})},
        **({"inspection": INSPECTION} | tables),
    )
    if line:
        turn = np.zeros(JOINTS - 2)
        turn[BEND - 1] = 11.25
        points = laying.pipe(turn)
        laying.lines(A=points).to_file(folder / "line.gpkg", layer="mains")
    return Job.from_mapping(given, folder=folder)


def entries(columns, number, seed=0):
    """Give one joint's entries by field: right ones, as text, number or date."""
    draw = np.random.default_rng([seed, number])
    mechanical = number % 5 == 0
    bend = number == BEND
    known = {
        "route": "A", "joint": str(101 + number), "station": f"{number * 20 // 100}+{number * 20 % 100:02d}.00",
        "kind": "bend" if bend else "pipe", "size": 12, "joint_type": "mechanical" if mechanical else "push-on",
        "laid_length": 20, "bend_angle": 11.25 if bend else None, "bend_plane": "horizontal" if bend else None,
        "inspected_on": dt.date(2026, 4, 1) + dt.timedelta(days=number // 4), "inspector": f"Zoë Brandt-{number}",
        "gasket_temperature": round(float(draw.uniform(41, 90)), 1), "remarks": f'wet, "soft" trench; bay {number}',
        "bolt_torque": int(draw.integers(75, 91)) if mechanical else None, "cut": "no", "restrained": "no",
        "photo": f"IMG_{number:04d}.jpg; b{number}.png",
    }  # fmt: skip
    told: dict[str, object] = {}
    for one in columns:
        if one.kind == "reading":
            told[one.field] = round(float(draw.uniform(0.74, 0.76)), 3)
        elif one.field in known:
            told[one.field] = known[one.field]
        elif one.kind == "yes or no":
            told[one.field] = "yes"
        else:
            told[one.field] = f"{one.field} {number}"
    return {field: value for field, value in told.items() if value is not None}


def same(log, columns, rows):
    """Hold every field that was read against what was written."""
    for one in columns:
        read = log.fields[one.field].to_pylist() if one.field != "station" else log.stations.value.tolist()
        for at, row in enumerate(rows):
            wanted = row.get(one.field)
            if one.field == "station":
                wanted = float(wanted.replace("+", ""))
            assert read[at] == wanted, (one.field, at, read[at], wanted)


def no_note_but_the_job_s(placement, joints=JOINTS):
    """Hold the notes: two say what the job says of readings and elevations, and nothing is said of the log."""
    said = [f"outside diameters for the readings from the log: {joints} joints",
            "elevations are of the pipe's center, as the job says"]  # fmt: skip
    assert [note.text for note in placement.notes] == said
    assert placement.log.notes == ()
    assert placement.log.not_read == ()
    assert len(placement.log.unreadable.record) == 0
    assert placement.counts["records_set_aside"] == 0
    assert len(placement.log) == placement.counts["joints"] == joints
    assert placement.findings.empty, placement.findings[["code", "message"]].to_numpy().tolist()
