"""Blunders of the job file planted in jobs whose joints are known: what is said, and what is left of verdicts.

The mains are laid anew for each seed, with three joints that turn 8 degrees where 5 are allowed, and the gaps at every
joint are read as a spigot so turned has them. Each function's first line says what it plants.
"""

import copy
import datetime as dt
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import blunders
import numpy as np
import pandas as pd
from laying import CRS, TODAY
from survey_mains import laid, station

import asbuilt

OUTSIDE_IN, ALLOWED_DEG, OVER_DEG = 13.2, 5.0, 8.0
"""AWWA C151 and C600, of 12-in push-on pipe; from memory."""
HOURS = (12, 3, 6, 9)
_START = 1000.0


@dataclass
class Planned:
    """A job as a technician writes it, with the main that it is about."""

    places: np.ndarray
    turned: np.ndarray
    """Degrees; NaN at fittings and at either end."""
    shots: pd.DataFrame
    log: pd.DataFrame
    values: dict[str, Any]
    files: dict[str, str] = field(default_factory=dict)
    """Further files: name and text."""

    def says(self, table, **keys):
        """Change keys of a table; None takes one out."""
        for key, value in keys.items():
            self.values.setdefault(table, {})[key] = value
            if value is None:
                del self.values[table][key]
        return self


class Told(NamedTuple):
    """What came of a job."""

    refused: str
    notes: list[tuple[str, str]]
    codes: list[str]
    off: float
    """How far the joint that is farthest off was placed from where it was laid, ft."""
    wrong_within: int
    """Joints over their allowable in truth that are called within, with nothing assumed."""
    wrong_over: int
    placed: Any


VALUES: dict[str, Any] = {
    "name": "Quarry Lane", "crs": CRS,
    "centerline": {
        "path": "shots.csv", "route_name": "A", "start_station": "10+00", "elevation": "top-of-pipe",
        "source": "survey",
        "sigma_horizontal": 0.02, "sigma_vertical": 0.02, "shots_at_joints": True,
    },
    "records": {"path": ["log.csv"], "station_unit": "us-ft", "laying_length": 20.0, "date_order": "ymd"},
    "limits": {"table": "awwa-c600"},
    "inspection": {
        "insertion_band": (1.75, 2.25), "sigma_reading": 0.0625, "gauge_spread": 0.125,
        "laid_from": dt.date(2026, 3, 2), "laid_to": dt.date(2026, 6, 30),
    },
}  # fmt: skip


def planned(seed, *, joints=60, spread=1.2, bends=2, every=1, noise=0.02, coordinates=False, length=20.0):
    """Lay a main, shoot it, read its joints, and write the job."""
    main, draw = (
        laid(seed, joints=joints, spread=spread, bends=bends, cuts=2, length=length),
        np.random.default_rng(seed),
    )
    legs = np.diff(main.places, axis=0)
    bend = main.log["kind"].eq("bend").to_numpy()
    quiet = [at for at in range(6, joints - 6) if not bend[at - 2 : at + 3].any()]
    over = draw.choice(quiet, 3, replace=False)
    turn = np.zeros(joints - 1)
    turn[over] = np.radians(OVER_DEG) * draw.choice([-1, 1], 3)
    azimuth, flat = np.arctan2(legs[:, 0], legs[:, 1]) + np.cumsum(turn), np.hypot(legs[:, 0], legs[:, 1])
    legs[:, :2] = np.stack([flat * np.sin(azimuth), flat * np.cos(azimuth)], axis=1)
    places = main.places[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(legs, axis=0)])
    shot = np.unique(np.concatenate([np.arange(0, joints, every), np.flatnonzero(bend), [joints - 1]]))
    seen = np.round(places[shot] + draw.normal(0.0, noise, (len(shot), 3)), 3)
    shots = pd.DataFrame({
        "point": 1001 + np.arange(len(shot)), "northing": seen[:, 1], "easting": seen[:, 0], "elevation": seen[:, 2],
        "description": "WM-A TOP",
    })  # fmt: skip
    along = legs / np.linalg.norm(legs, axis=1)[:, None]
    turned = np.full(joints, np.nan)
    turned[1:-1] = np.degrees(np.arccos(np.clip((along[1:] * along[:-1]).sum(axis=1), -1.0, 1.0)))
    turned[bend] = np.nan
    log = main.log.assign(
        route="A", station=[station(_START + float(one.replace("+", ""))) for one in main.log["station"]]
    )
    log["gasket temp"] = [f"{one:.0f}" for one in draw.uniform(48, 75, joints)]
    log["date"] = [str(dt.date(2026, 4, 1) + dt.timedelta(days=at // 8)) for at in range(joints)]
    right, up = np.zeros(joints), np.zeros(joints)
    right[1:-1] = np.diff(np.unwrap(np.arctan2(legs[:, 0], legs[:, 1]))) * np.hypot(along[1:, 0], along[1:, 1])
    up[1:-1] = np.diff(np.arcsin(along[:, 2]))
    right[bend], up[bend] = 0.0, 0.0
    for hour in HOURS:
        clock = np.radians(30.0 * (hour % 12))
        tilt = OUTSIDE_IN / 2.0 * (right * np.sin(clock) + up * np.cos(clock))
        log[f"Gap {hour}"] = [f"{one:.2f}" for one in 2.0 - tilt + draw.normal(0.0, 0.03, joints)]
        log[f"Gauge {hour}"] = [f"{one:.3f}" for one in 0.75 + draw.uniform(0.0, 0.05, joints)]
    if coordinates:
        log["easting"], log["northing"] = np.round(places[:, :2] + draw.normal(0.0, noise, (joints, 2)), 3).T
    return Planned(places, turned, shots, log, copy.deepcopy(VALUES))


def told(folder: Path, job: Planned) -> Told:
    """Run a job from its files, and hold what is said against where the main was laid."""
    job.shots.to_csv(folder / "shots.csv", index=False)
    job.log.to_csv(folder / "log.csv", index=False)
    for name, text in job.files.items():
        (folder / name).write_text(text)
    try:
        placed = asbuilt.place(asbuilt.Job.from_mapping(job.values, folder=folder, source="job.toml"), today=TODAY)
    except asbuilt.AsbuiltError as error:
        return Told(str(error), [], [], 0.0, 0, 0, None)
    joints = placed.joints[placed.joints["joint"].str.isdigit()]
    at = joints["joint"].astype(int).to_numpy() - 1
    off = np.hypot(joints["easting"] - job.places[at, 0], joints["northing"] - job.places[at, 1])
    verdict, turned = joints["verdict"].to_numpy(), job.turned[at]
    return Told(
        "", [(note.code, note.text) for note in placed.notes], sorted(placed.findings["code"]), float(off.max()),
        int(np.sum((verdict == "within") & (turned > ALLOWED_DEG))),
        int(np.sum((verdict == "over") & (turned <= ALLOWED_DEG))), placed,
    )  # fmt: skip


# What cannot be right is refused: the key, and the remedy. -----------------------------------------------------------


def confidence_of_what_may_be_wrong(job):
    """A confidence of 0.05 for 0.95."""
    job.says("limits", confidence=0.05)
    return r"limits\.confidence: 0\.05 is less than chance.*say 0\.95"


def confidence_in_percent(job):
    """A confidence of 95."""
    job.says("limits", confidence=95)
    return r"limits\.confidence: 95 is a part of 1, not percent.*say 0\.95"


def true_for_a_number(job):
    """`sigma_station = true`."""
    job.says("records", sigma_station=True)
    return r"records\.sigma_station: true is neither a number nor a text"


def equation_twice(job):
    """A station equation given twice."""
    job.says("centerline", equations=[{"back": "15+10", "ahead": "14+50"}] * 2)
    return r"centerline\.equations: no\. 1 and no\. 2 are the same station equation"


def test_twice(job):
    """A pressure test given twice."""
    job.values["pressure_tests"] = [{"from": "10+00", "to": "12+00", "pressure_psi": 150, "duration_h": 2}] * 2
    return r"pressure_tests: no\. 1 and no\. 2 are the same test"


def test_of_next_year(job):
    """A pressure test of the next year."""
    one = {"from": "10+00", "to": "12+00", "pressure_psi": 150, "duration_h": 2, "tested_on": dt.date(2027, 6, 12)}
    job.values["pressure_tests"] = [one]
    return r"pressure_tests \(no\. 1\)\.tested_on: 2027-06-12 is later than today"


def failed_said_to_have_passed(job):
    """A word for what failed that is said to be yes."""
    job.log.loc[::9, "gauge"] = "FAIL"
    job.says("records", words={"gauge": {"FAIL": "yes"}})
    return r"records\.words\.gauge: 'FAIL' is said to be 'yes', and it means 'no'"


def log_beside_its_copy(job):
    """The log beside a copy of it under another name."""
    job.files["log copy.csv"] = job.log.to_csv(index=False)
    job.says("records", path=["log.csv", "log copy.csv"])
    return r"records\.path: log copy\.csv is log\.csv once more, byte for byte"


def log_by_two_paths(job):
    """The log named twice, by two paths."""
    job.says("records", path=["log.csv", "./log.csv"])
    return r"records\.path: \./log\.csv is log\.csv once more"


def old_log_beside_the_new(job):
    """An old revision of the log, five stations and one finding otherwise, beside the new one."""
    old = job.log.iloc[:50].copy()
    old.loc[10:14, "station"] = [station(float(one.replace("+", "")) + 7.0) for one in old.loc[10:14, "station"]]
    job.files["log rev 0.csv"] = old.to_csv(index=False)
    job.says("records", path=["log rev 0.csv", "log.csv"])
    return r"these are not the same joints, though their joint numbers are"


def outside_diameter(text, why):
    def planted(job):
        job.says("records", fixed={"outside_diameter": text})
        return rf"records\.fixed\.outside_diameter: {text} in, and the log's pipe is of nominal size 12"

    planted.__name__ = f"outside_diameter_{text}"
    planted.__doc__ = f"An outside diameter {why}."
    return planted


def allowables_headed(unit, value):
    def planted(job):
        job.files["own.csv"] = f"joint_type,size,Allowable ({unit}),source\npush-on,12,{value},submittal 4\n"
        job.says("limits", project="own.csv")
        return rf"column 'Allowable \({unit}\)' says {unit}, but allowable_deg is in degrees"

    planted.__name__ = f"allowables_headed_{unit}"
    planted.__doc__ = f"A table of allowables whose heading says {unit}."
    return planted


def shot_checked_that_is_none(job):
    """A shot said to be checked by a number that no shot has."""
    job.says("centerline", shots_checked=["99999"])
    return r"centerline\.shots_checked: .*has no point '99999'; correct the number"


def wall_in_millimetres(job):
    """A wall thickness of 9.4 mm given in inches."""
    job.says("centerline", elevation="invert", wall_thickness=9.4)
    return r"centerline\.wall_thickness: 9\.4 in of a pipe that is 13\.2 in across is no wall"


def wall_without_its_point(job):
    """A wall thickness with a slipped point: 3.7 for 0.37 in."""
    job.says("centerline", elevation="invert", wall_thickness=3.7)
    return r"centerline\.wall_thickness: 3\.7 in of a pipe that is 13\.2 in across is no wall"


def feet_for_metres(job):
    """The same system in metres named as crs."""
    job.values["crs"] = "EPSG:6417"
    return r"they are written in feet, and .* is in metres"


def starts_at_the_other_end(job):
    """`starts` says the other end of the line."""
    east, north = (job.places[-1] - job.places[0])[:2]
    names = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
    job.says("centerline", starts=names[round(np.degrees(np.arctan2(east, north)) / 45.0) % 8])
    return r"but centerline\.starts says"


def reversed_though_it_runs_right(job):
    """`reversed` names a line that runs with its stations."""
    job.says("centerline", reversed=["A"])
    return r'so it is drawn against its stations: name it in centerline\.reversed = \["A"\] \(or take it out'


def tie_with_exchanged_coordinates(job):
    """A tie with easting and northing exchanged."""
    east, north = job.places[5, :2].tolist()
    job.says("centerline", ties=[{"station": job.log["station"][5], "easting": north, "northing": east}])
    return r"centerline\.ties \(no\. 1\): lies .* from the line of route 'A'"


def misspelt_key(job):
    """A misspelt key."""
    job.says("centerline", sigma_horizontl=0.02)
    return r"centerline\.sigma_horizontl: unknown key; did you mean 'sigma_horizontal'"


def key_in_another_table(job):
    """A key in another table."""
    job.says("records", sigma_horizontal=0.02)
    return r"records\.sigma_horizontal: unknown key; it stands in \[centerline\]"


def photos_of_no_folder(job):
    """A folder of photos that is not there, and a log that names none."""
    job.says("records", photos=["no such folder"])
    return r"records\.photos: .*no such folder is no folder; name the folder of the photos"


def equation_beyond_the_line(job):
    """A station equation of another job, beyond this line."""
    job.says("centerline", equations=[{"back": "42+00", "ahead": "45+00"}])
    return r"centerline\.equations: on route 'A' an equation lies .* beyond the route's end"


def gauge_depths_for_gaps(job):
    """`records.columns` with the depths of the gauge as gaps."""
    job.says("records", columns={f"gap_{hour}": f"Gauge {hour}" for hour in HOURS})
    return r"records\.columns\.gap_12 takes column 'Gauge 12', which is named for gauge_12, and leaves column 'Gap 12'"


def with_row_of_units(job, **units):
    """Put a row of units below the log's column names."""
    names = {column.replace(" ", "_"): column for column in job.log.columns}
    row = dict.fromkeys(job.log.columns, "") | {names[name]: unit for name, unit in units.items()}
    job.log = pd.concat([pd.DataFrame([row]), job.log], ignore_index=True)
    return job


def row_of_units(why, message, **units):
    def planted(job):
        with_row_of_units(job, **units)
        return message

    planted.__name__ = "row_of_units_" + "_".join(units)
    planted.__doc__ = f"A row of units below the log's column names that says {why}."
    return planted


def coordinates_times(factor, why, message, *, headed=None):
    def planted(job):
        draw = np.random.default_rng(1)
        places = factor * (job.places[:, :2] + draw.normal(0.0, 0.02, job.places[:, :2].shape))
        for name, values in zip(("easting", "northing"), places.T, strict=True):
            job.log[f"{name} ({headed})" if headed else name] = np.round(values, 3)
        return message

    planted.__name__ = f"coordinates_{headed or factor:.4}"
    planted.__doc__ = f"Coordinates of the log {why}."
    return planted


def allowables_in_another_unit(value, meant):
    def planted(job):
        job.files["own.csv"] = f"joint_type,size,allowable_deg,source\npush-on,12,{value},submittal 4\n"
        job.says("limits", project="own.csv")
        return (
            rf"own\.csv: allowable_deg {value:g} of push-on 12 in is the 5 deg of AWWA C600.* {meant}.*: write degrees"
        )

    planted.__name__ = f"allowables_{value:g}_{meant.replace(' ', '_')}"
    planted.__doc__ = f"A submittal's allowable of {value:g} for 5 degrees, {meant}."
    return planted


REFUSED = (
    photos_of_no_folder,
    allowables_in_another_unit(0.0873, "in radians"),
    allowables_in_another_unit(21.0, "as the offset in inches of a pipe"),
    allowables_in_another_unit(19.0, "as the offset in inches of a pipe"),
    row_of_units("metres under a job in feet", r"'station \(m\)' says m, but station is read in ft", station="m"),
    row_of_units("millimetres of gaps", r"'Gap 12 \(mm\)' says mm, but gap_12 is read in in; say records\.reading_unit",
                 station="ft", Gap_12="mm", Gap_3="mm"),
    coordinates_times(1200 / 3937, "in metres under a system in feet", r"but on it if they are written in metres"),
    coordinates_times(3937 / 1200, "3.28 times too large", r"as if its stations were written in metres"),
    coordinates_times(1.0, "under a heading in metres, in a system in feet", headed="m",
                      message=r"records\.crs: log\.csv says m of its coordinates, and .* is in US survey feet"),
    gauge_depths_for_gaps,
    confidence_of_what_may_be_wrong, confidence_in_percent, true_for_a_number, equation_twice, test_twice,
    test_of_next_year, failed_said_to_have_passed, log_beside_its_copy, log_by_two_paths, old_log_beside_the_new,
    outside_diameter("132", "without its point"), outside_diameter("1.32", "with its point a place too far left"),
    allowables_headed("in", 21), allowables_headed("rad", 0.087), shot_checked_that_is_none, wall_in_millimetres,
    wall_without_its_point, feet_for_metres, starts_at_the_other_end, reversed_though_it_runs_right,
    tie_with_exchanged_coordinates, misspelt_key, key_in_another_table, equation_beyond_the_line,
)  # fmt: skip


# What is doubtful is noted, and no verdict that rests on it is sure. -------------------------------------------------


def sigma(horizontal, why):
    def planted(job):
        job.says("centerline", sigma_horizontal=horizontal, sigma_vertical=horizontal)
        return "keys-doubtful", r"centerline\.sigma_horizontal is .* no shot in a trench is known so well"

    planted.__name__ = f"sigma_{horizontal}"
    planted.__doc__ = f"A standard error of the shots {why}."
    return planted


def allowables(value, joint_type, why):
    def planted(job):
        job.files["own.csv"] = f"joint_type,size,allowable_deg,source\n{joint_type},12,{value},submittal 4\n"
        job.says("limits", project="own.csv")
        if joint_type != "push-on":
            job.says("records", words={"joint_type": {"push-on": joint_type}})
        return "allowables-doubtful", rf"12 in: {value:g} deg.*check them, and that they are in degrees"

    planted.__name__ = f"allowables_{joint_type}_{value:g}"
    planted.__doc__ = f"An allowable of {'a type of the job' if joint_type != 'push-on' else 'push-on joints'} {why}."
    return planted


def allowables_of_other_sizes(job):
    """The submittal's allowables by DN in a log of inches: the published ones would hold, and nobody would know."""
    job.files["own.csv"] = "joint_type,size,allowable_deg,source\npush-on,300,3,submittal 4\n"
    job.says("limits", project="own.csv")
    return "allowables-doubtful", r"no row of it is of any joint of the log.*it has push-on 300, and the log push-on 12"


def gaps_in_inches_read_as_millimetres(job):
    """`reading_unit = "mm"` for gaps in inches, on a line shot at every fifth joint."""
    job.says("records", reading_unit="mm").says(
        "inspection", insertion_band=None, sigma_reading=None, gauge_spread=None
    )
    return "readings-unused", r"as if written in another unit at \d+; say in records\.reading_unit"


def gaps_in_millimetres_read_as_inches(job):
    """Gaps in millimetres without `reading_unit` in a job in feet, on a line shot at every fifth joint."""
    for hour in HOURS:
        job.log[f"Gap {hour}"] = [f"{25.4 * float(one):.0f}" for one in job.log[f"Gap {hour}"]]
    job.says("inspection", insertion_band=None, sigma_reading=None, gauge_spread=None)
    return "readings-unused", r"as if written in another unit at \d+; say in records\.reading_unit"


def gaps_in_centimetres_read_as_inches(job):
    """Gaps in centimetres and their tenths under a band in inches, on a line shot at every fifth joint."""
    for hour in HOURS:
        job.log[f"Gap {hour}"] = [f"{2.54 * float(one):.1f}" for one in job.log[f"Gap {hour}"]]
    return "readings-unused", r"as if written in centimetres at \d+; say records\.reading_unit"


def gaps_in_hundredths_of_a_centimetre(job):
    """Gaps in centimetres with two decimals, no unit and no band said, on a line shot at every third joint."""
    for hour in HOURS:
        job.log[f"Gap {hour}"] = [f"{2.54 * float(one):.2f}" for one in job.log[f"Gap {hour}"]]
    job.says("inspection", insertion_band=None, sigma_reading=None, gauge_spread=None)
    return "readings-turned", r"the gaps read at \d+ joints agree with the survey only if they are in centimetres"


def gaps_a_row_down(job):
    """The gaps moved down by a row, as by an inserted cell, on a line shot at every third joint."""
    for hour in HOURS:
        job.log[f"Gap {hour}"] = ["", *job.log[f"Gap {hour}"][:-1]]
    return "readings-turned", r"agree with the survey only if each stands one joint farther on than it was read at"


def gaps_a_row_up_from_the_middle(job):
    """The gaps of the second half moved up by a row, on a line shot at every second joint."""
    for hour in HOURS:
        gaps = job.log[f"Gap {hour}"].tolist()
        job.log[f"Gap {hour}"] = [*gaps[:25], *gaps[26:], ""]
    return "readings-turned", r"agree with the survey only if each stands one joint farther back than it was read at"


def clock_read_looking_back_from_the_middle(job):
    """Gaps of the second half read looking back, as by another crew, on a line shot at every second joint."""
    three, nine = job.log["Gap 3"].copy(), job.log["Gap 9"].copy()
    job.log.loc[30:, "Gap 3"], job.log.loc[30:, "Gap 9"] = nine[30:], three[30:]
    return "readings-turned", r"from 1[4-7]\+.*agree with the survey only if right and left are exchanged"


def gaps_sorted_column_by_column(job):
    """Each column of gaps sorted by itself, on a line shot at every fifth joint."""
    for hour in HOURS:
        job.log[f"Gap {hour}"] = sorted(job.log[f"Gap {hour}"], key=float)
    return "readings-alike", r"each column of gaps stands in order in 60 rows, as if it was sorted by itself"


gaps_in_hundredths_of_a_centimetre.every = gaps_a_row_down.every = 3  # type: ignore[attr-defined]
gaps_a_row_up_from_the_middle.every = 2  # type: ignore[attr-defined]
clock_read_looking_back_from_the_middle.every = 2  # type: ignore[attr-defined]
gaps_sorted_column_by_column.every = 5  # type: ignore[attr-defined]
gaps_in_inches_read_as_millimetres.every = 5  # type: ignore[attr-defined]
gaps_in_centimetres_read_as_inches.every = 5  # type: ignore[attr-defined]
gaps_in_millimetres_read_as_inches.every = 5  # type: ignore[attr-defined]


def columns(why, **chosen):
    def planted(job):
        job.says("records", columns=chosen)
        first = next(iter(chosen))
        return "keys-doubtful", rf"records\.columns\.{first} takes column .* and leaves column .* not exchanged"

    planted.__name__ = "columns_" + "_".join(chosen)
    planted.__doc__ = f"`records.columns` with {why}."
    return planted


def elevations_from_point_numbers(job):
    """`centerline.columns` with the point numbers as elevations."""
    job.says("centerline", columns={"elevation": "point"})
    return "keys-doubtful", r"centerline\.columns\.elevation takes column 'point', which is named for point"


def words(field, why, **said):
    def planted(job):
        job.says("records", words={field: said})
        return "keys-doubtful", rf"records\.words\.{field}: .* by itself it is read as"

    planted.__name__ = f"words_{field}_{'_'.join(said)}"
    planted.__doc__ = f"`records.words.{field}` with {why}."
    return planted


def surveyed_before_laid(job):
    """`surveyed_on` a year too early."""
    job.says("centerline", surveyed_on=dt.date(2025, 4, 20))
    return "keys-doubtful", r"centerline\.surveyed_on = 2025-04-20: 60 of 60 records are of later days"


def laid_for_decades(job):
    """`laid_from` of 2006 for 2026."""
    job.says("inspection", laid_from=dt.date(2006, 3, 2))
    return "keys-doubtful", r"laid_from and laid_to leave 20 years for the laying"


def outside_diameter_of_another_size(job):
    """The outside diameter of 16-in pipe for 12-in pipe."""
    job.says("records", fixed={"outside_diameter": "17.4"})
    return "keys-doubtful", r"outside_diameter: 17\.4 in, and pipe of size 12 is 13\.2"


def required_of_a_misspelt_type(job):
    """`required_for` of a joint type that is misspelt."""
    job.says("inspection", required_for={"mecanical": ["bolt_torque"]})
    return "keys-doubtful", r"required_for\.mecanical: no joint is of this type.*did you mean 'mechanical'"


def fraction_kept_in_hand(job):
    """A fraction of 0.2 where 20 percent are to be kept in hand."""
    job.says("limits", fraction=0.2)
    return "limits-doubtful", r"limits\.fraction = 0\.2 .*say 0\.8"


def hours_of_two_minutes(job):
    """`test_hours` of 2/60."""
    job.says("limits", test_hours=0.033)
    return "limits-doubtful", r"limits\.test_hours = 0\.033 is in hours"


def sigma_reading_in_millimetres(job):
    """`sigma_reading` of 1.6 mm in a job in inches."""
    job.says("inspection", sigma_reading=1.6)
    return "limits-doubtful", r"inspection\.sigma_reading = 1\.6 in, more than"


def band_that_nothing_is_outside(job):
    """An insertion band of 0 to 20 in."""
    job.says("inspection", insertion_band=(0.0, 20.0))
    return "limits-doubtful", r"inspection\.insertion_band = 0 to 20 in: a spigot"


def combined_factor_with_a_slipped_digit(job):
    """A combined factor of 0.999 for 0.9999."""
    job.says("centerline", combined_factor=0.999)
    return "survey-screened", r"combined_factor = 0\.999 would have the ground 60\d\d m high: a digit of it may"


def photos_of_a_log_that_names_none(job):
    """A folder of photos beside a log that names none."""
    job.says("records", photos=["."])
    return "log-read", r"records\.photos has no effect: no column of the log names photos"


def clock_read_looking_back(job):
    """Gaps read looking back: 3 and 9 o'clock exchanged in the columns' own names."""
    job.log = job.log.rename(columns={"Gap 3": "Gap 9", "Gap 9": "Gap 3"})
    return "readings-turned", r"gaps read at \d+ joints agree with the survey only if right and left are exchanged"


def clock_upside_down(job):
    """Gaps at 12 and 6 o'clock exchanged, and at 3 and 9: measured to the other side."""
    names = {"Gap 3": "Gap 9", "Gap 9": "Gap 3", "Gap 12": "Gap 6", "Gap 6": "Gap 12"}
    job.log = job.log.rename(columns=names)
    return "readings-turned", r"gaps read at \d+ joints agree with the survey only if they are turned by half the clock"


def start_of_another_hundred(job):
    """A start station of 11+00 for 10+00."""
    job.says("centerline", start_station="11+00")
    return "line-short", r"the log runs on for 100\.00 ft before the start"


def start_without_its_plus(job):
    """A start station of 10.00 for 10+00."""
    job.says("centerline", start_station=10.0)
    return "line-short", r"its line runs 0\+10\.00 to .*the log runs on for 9\d\d\.\d\d ft beyond the end"


NOTED = (
    clock_read_looking_back, clock_upside_down,
    photos_of_a_log_that_names_none,
    sigma(0.0004, "as a variance"), sigma(0.0002, "a hundred times too small"),
    allowables(0.0698, "boltless", "in radians"), allowables(21.0, "boltless", "as an offset in inches"),
    allowables_of_other_sizes, gaps_in_inches_read_as_millimetres, gaps_in_millimetres_read_as_inches,
    gaps_in_centimetres_read_as_inches, gaps_in_hundredths_of_a_centimetre, gaps_a_row_down,
    gaps_a_row_up_from_the_middle, clock_read_looking_back_from_the_middle, gaps_sorted_column_by_column,
    columns("gaps at 12 and 6 o'clock exchanged", gap_12="Gap 6", gap_6="Gap 12"),
    columns("the temperature as the bend's angle", bend_angle="gasket temp"), elevations_from_point_numbers,
    words("insertion_mark", "yes and no exchanged", yes="no", no="yes"),
    words("kind", "bends taken for pipe", bend="pipe"), words("joint_type", "push-on for mechanical", mj="push-on"),
    surveyed_before_laid, laid_for_decades, outside_diameter_of_another_size, required_of_a_misspelt_type,
    fraction_kept_in_hand, hours_of_two_minutes, sigma_reading_in_millimetres, band_that_nothing_is_outside,
    combined_factor_with_a_slipped_digit, start_of_another_hundred, start_without_its_plus,
)  # fmt: skip


def rows(folder: Path, seed: int) -> list[blunders.Row]:
    """Plant every blunder once and give what came of it, as `blunders.rows` does for survey and log."""
    return [_row(folder / f"{at}", plant, seed) for at, plant in enumerate((*REFUSED, *NOTED))]


def _row(folder, plant, seed):
    folder.mkdir()
    job = planned(seed, every=getattr(plant, "every", 1))
    expected, found = plant(job), told(folder, job)
    planted = plant.__doc__.rstrip(".")
    if found.refused:
        return blunders.Row(planted, f"refused: {blunders.short(found.refused.replace(f'{folder}/', ''))}", "", None)
    code, text = expected
    said = next((one for kind, one in found.notes if kind == code and re.search(text, one)), None)
    told_as = f"a note, `{code}`: {blunders.short(said.replace(f'{folder}/', ''))}" if said else ""
    return blunders.Row(planted, told_as, "", found.off)
