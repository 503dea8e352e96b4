"""Blunders of survey and log planted in mains whose joints are known: what is said of each, where, and how far off any
joint is placed. The mains are made anew for each seed; the truth is where they were laid.

Each function's first line says what it plants. It gives keys of the job, and what must be said: a message of refusal,
or a code with the point, joint or row, and the most that any joint may be off, ft.
"""

import re
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from laying import CRS, TODAY
from pyproj import Transformer
from survey_mains import laid, station

import asbuilt
from asbuilt.schema import SURVEY_CODES

FT = 1200 / 3937


class Said(NamedTuple):
    """What came of a blunder."""

    refused: str
    found: list[tuple[str, str | None]]
    """Code and point of each finding on the survey."""
    notes: str
    off: float
    """How far the joint that is farthest off was placed from where it was laid, ft."""
    placed: Any


def said(tmp_path, main, *, crs=CRS, line=None, log=None, centerline=None, records=None, **tables):
    """Place a main and give what was said of it."""
    values = {
        "name": "A", "crs": crs,
        "centerline": {"start_station": 0, **({"path": "shots.csv"} if line is None else {}), **(centerline or {})},
        "records": {"station_unit": "us-ft", "laying_length": 20.0, **(records or {})},
        "limits": {"table": "awwa-c600"},
        **tables,
    }  # fmt: skip
    main.shots.to_csv(tmp_path / "shots.csv", index=False)
    job = asbuilt.Job.from_mapping(values, folder=tmp_path)
    try:
        placement = asbuilt.place(job, centerline=line, records=main.log if log is None else log, today=TODAY)
    except asbuilt.AsbuiltError as error:
        return Said(str(error), [], "", 0.0, None)
    found = placement.findings[placement.findings["code"].isin(SURVEY_CODES)]
    pairs = list(zip(found["code"], found["point"].where(found["point"].notna(), None), strict=True))
    truth, joints = main.truth(), placement.joints
    # Two joints of one number are named with their stations.
    off = [
        float(np.hypot(east - truth[name.split()[0]][0], north - truth[name.split()[0]][1]))
        for name, east, north in zip(joints["joint"], joints["easting"], joints["northing"], strict=True)
        if name.split()[0] in truth
    ]
    return Said("", pairs, " ".join(note.text for note in placement.notes), max(off, default=np.nan), placement)


def moved(main, row, **by):
    """Move one shot."""
    for column, amount in by.items():
        main.shots.loc[row, column] += amount
    return main


def point(main, row):
    """Name a shot as a message does."""
    return str(main.shots.loc[row, "point"])


def exchanged_in(main, rows):
    main.shots.loc[rows, ["northing", "easting"]] = main.shots.loc[rows, ["easting", "northing"]].to_numpy()


def other_things(main, seed, *, described):
    """String shots of the edge of pavement and of trees in among the main's."""
    rng = np.random.default_rng(seed)
    some = main.shots.iloc[3:80:7].copy()
    for column in ("easting", "northing"):
        some[column] += rng.uniform(25, 60, len(some)) * rng.choice([-1, 1], len(some))
    some["description"] = np.where(np.arange(len(some)) % 2, "EP", "TREE 12 oak")
    some["point"] = some["point"] + 0.5
    main.shots = pd.concat([main.shots, some])
    if not described:
        main.shots = main.shots.drop(columns="description")
    return main


# Certain to be wrong: refused, naming the shot, row or key, and the remedy. ------------------------------------------


def one_shot_exchanged(main, seed):
    """Northing and easting of one shot exchanged."""
    exchanged_in(main, [40])
    return {}, f"northing and easting of point {point(main, 40)} \\(row 42\\) are exchanged.*exchange the two"


def shots_exchanged(*rows):
    def planted(main, seed):
        places = [row % len(main.shots) for row in rows]
        exchanged_in(main, places)
        named = ", ".join(f"point {point(main, row)} \\(row {row + 2}\\)" for row in places)
        return {}, f"northing and easting of {named} are exchanged.*exchange the two"

    planted.__name__ = f"shots_exchanged_{rows}"
    of = {(0,): "the first shot", (-1,): "the last shot"}.get(rows, f"shots {' and '.join(str(at + 1) for at in rows)}")
    planted.__doc__ = f"Northing and easting of {of} exchanged."
    return planted


def five_shots_exchanged(main, seed):
    """Northing and easting of five shots exchanged."""
    exchanged_in(main, [12, 30, 45, 46, 70])
    return {}, "northing and easting of point .* are exchanged|exchanged throughout"


def all_exchanged(main, seed):
    """Northing and easting exchanged throughout."""
    main.shots = main.shots.rename(columns={"northing": "easting", "easting": "northing"})
    return {}, "northing and easting are exchanged throughout: name the columns the other way round"


def feet_taken_for_metres(main, seed):
    """Coordinates in feet declared as metres."""
    return {"crs": "EPSG:6417"}, "they are written in feet, and .* is in metres: name the same system in feet"


def metres_taken_for_feet(main, seed):
    """Coordinates in metres declared as feet."""
    main.shots[["northing", "easting"]] *= FT
    return {}, "they are written in metres, and .* is in US survey feet: name the same system in metres"


def degrees_under_a_projected_system(main, seed):
    """Degrees under a projected system."""
    degrees = Transformer.from_crs(CRS, "EPSG:6318", always_xy=True)
    main.shots["easting"], main.shots["northing"] = degrees.transform(main.shots["easting"], main.shots["northing"])
    return {}, "these are degrees, not a projected system"


def web_map_projection(main, seed):
    """A web-map projection."""
    web = Transformer.from_crs(CRS, "EPSG:3857", always_xy=True)
    main.shots["easting"], main.shots["northing"] = web.transform(main.shots["easting"], main.shots["northing"])
    return {"crs": "EPSG:3857"}, r"draws lengths here 1\.2\d* times as long.*State Plane or UTM"


def control_point_strung_in(main, seed):
    """A control point strung into the main."""
    moved(main, 40, easting=640.0, northing=-700.0)
    return {}, f"point {point(main, 40)} .* lies .* ft off the line from point {point(main, 39)}"


def other_features_strung_in(main, seed):
    """Edges of pavement and trees strung in, described."""
    other_things(main, seed, described=True)
    return {}, r"shots of several descriptions .* WM-A \(\d+\), (EP|TREE) .*: name the main's in centerline.codes"


def other_features_without_descriptions(main, seed):
    """Edges of pavement and trees strung in, without descriptions."""
    other_things(main, seed, described=False)
    return {}, "shots of other things may be among the main's"


def far_shot_shot_again_in_sequence(main, seed):
    """A far shot shot again in sequence."""
    columns = ["northing", "easting", "elevation"]
    main.shots.loc[70, columns] = main.shots.loc[11, columns].to_numpy() + 0.05
    return {}, f"point {point(main, 70)} .* is the place of point {point(main, 11)} .*, shot again"


def two_crews_numbers(main, seed):
    """Two crews' point numbers, the first crew's higher."""
    count = len(main.shots)
    main.shots["point"] = np.concatenate([np.arange(201, 246), np.arange(1, count - 44)])
    return {}, r"jumps \d+ ft to point 201 .*two crews.*lie in the order point 201 .* to point 245"


def shots_added_later(main, seed):
    """Five shots between two earlier ones, added later under higher numbers."""
    main.shots.loc[40:44, "point"] = np.arange(901, 906)
    main.shots = pd.concat([main.shots.drop(index=range(40, 45)), main.shots.loc[40:44]], ignore_index=True)
    return {}, (
        r"shots from point 901 .*as if added later.*number them so: point 901 \(row \d+\) to point 905 \(row \d+\) "
        rf"between point {point(main, 39)} \(row \d+\) and point {point(main, 40)} "
    )


def second_crew_from_the_other_end(main, seed):
    """A second crew that began at the other end."""
    count = len(main.shots)
    main.shots["point"] = np.concatenate([np.arange(1, 46), np.arange(200 + count - 45, 200, -1)])
    return {}, r"jumps \d+ ft to point 201 .*two crews.*number them so"


def shot_numbered_far_out_of_order(main, seed):
    """One shot numbered 30 late."""
    main.shots["point"] = main.shots["point"].astype(float)
    main.shots.loc[20, "point"] = main.shots.loc[50, "point"] + 0.5
    return {}, f"point {point(main, 20)} .* stands in the wrong order: it lies between"


def line_drawn_backwards(main, seed):
    """The line drawn backwards, bends logged."""
    main.shots["point"] = main.shots["point"].to_numpy()[::-1]
    return {}, r'drawn against its stations: name it in centerline.reversed = \["A"\]'


def line_drawn_backwards_no_bends_logged(main, seed):
    """The line drawn backwards, no bends logged, shots at the joints."""
    main.shots["point"] = main.shots["point"].to_numpy()[::-1]
    main.log = main.log.drop(columns=["kind", "bend angle"])
    return {}, r"shots lie at the joints of the log only if its stations are counted from its other end"


def start_stated_at_the_other_end(main, seed):
    """The start stated at the other end."""
    ends = main.shots.iloc[[-1, 0]][["easting", "northing"]].to_numpy()
    east, north = ends[0] - ends[1]
    names = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
    said = names[round(np.degrees(np.arctan2(east, north)) / 45) % 8]
    return {"centerline": {"starts": said}}, f"but centerline.starts says {said}"


def stations_in_metres(main, seed):
    """Stations written in metres."""
    along = [float(text.replace("+", "")) * FT for text in main.log["station"]]
    main.log["station"] = [station(one) for one in along]
    return {}, r"stations run over 30 % of the line and are 0\.30 laying lengths apart, so they are written in metres"


def first_digits_of_northings_left_out(main, seed):
    """The first digits of thirty northings left out."""
    main.shots.loc[30:59, "northing"] %= 100_000
    return {}, rf"30 of its 90 shots, the first point {point(main, 30)} .* look for a digit that is missing"


REFUSED = (
    one_shot_exchanged, shots_exchanged(0), shots_exchanged(-1), shots_exchanged(0, 1), shots_exchanged(40, 41),
    five_shots_exchanged, all_exchanged, feet_taken_for_metres, metres_taken_for_feet,
    degrees_under_a_projected_system, web_map_projection, control_point_strung_in, other_features_strung_in,
    other_features_without_descriptions, far_shot_shot_again_in_sequence, two_crews_numbers,
    shots_added_later, second_crew_from_the_other_end, shot_numbered_far_out_of_order, line_drawn_backwards,
    line_drawn_backwards_no_bends_logged, start_stated_at_the_other_end, stations_in_metres,
    first_digits_of_northings_left_out,
)  # fmt: skip


# Doubtful: a finding at the shot, and no joint farther off than is said. ----------------------------------------------


def bust(feet):
    def planted(main, seed):
        row, ahead = 40, main.shots.loc[[39, 41], ["easting", "northing"]].to_numpy()
        east, north = (ahead[1] - ahead[0]) / np.hypot(*(ahead[1] - ahead[0]))
        moved(main, row, easting=-north * feet, northing=east * feet)
        return {}, ("shot-astray", point(main, row)), 1.1 * feet

    planted.__name__ = f"shot_{feet}_ft_off"
    planted.__doc__ = f"One shot {feet} ft off."
    return planted


def end_shot_along(row, which):
    def planted(main, seed):
        end, beside = main.shots.loc[[row % len(main.shots), (row + (1 if row == 0 else -1)) % len(main.shots)],
                                     ["easting", "northing"]].to_numpy()  # fmt: skip
        east, north = 100.0 * (end - beside) / np.hypot(*(end - beside))
        moved(main, row % len(main.shots), easting=east, northing=north)
        return {}, ("shot-astray", point(main, row % len(main.shots))), 101.0

    planted.__name__ = f"{which}_shot_100_ft_on"
    planted.__doc__ = f"The {which} shot 100 ft farther on along the line."
    return planted


def last_shot_off(main, seed):
    """The last shot 15 ft beside the line."""
    row = len(main.shots) - 1
    leg = main.shots.loc[[row - 1, row], ["easting", "northing"]].to_numpy()
    east, north = (leg[1] - leg[0]) / np.hypot(*(leg[1] - leg[0]))
    moved(main, row, easting=-north * 15.0, northing=east * 15.0)
    return {}, ("shot-astray", point(main, row)), 15.5


def start_station_off(feet):
    def planted(main, seed):
        return {"centerline": {"start_station": feet}}, ("joints-off-shots", None), abs(feet) + 0.3

    planted.__name__ = f"start_station_{feet}_ft_off_its_shots"
    planted.__doc__ = f"A start station {abs(feet):g} ft too {'high' if feet > 0 else 'low'}."
    return planted


def next_but_one_shot_again(main, seed):
    """The last shot but one shot again."""
    columns = ["northing", "easting", "elevation"]
    main.shots.loc[40, columns] = main.shots.loc[38, columns].to_numpy() + 0.03
    return {}, ("shot-repeated", point(main, 40)), 45.0


def neighbours_exchanged(main, seed):
    """Two neighbours' point numbers exchanged."""
    main.shots.loc[[40, 41], "point"] = main.shots.loc[[41, 40], "point"].to_numpy()
    return {}, ("shot-order", point(main, 41)), 45.0


def end_shots_exchanged(which, row):
    def planted(main, seed):
        first = row % len(main.shots)
        numbers = main.shots.loc[[first, first + 1], "point"].to_numpy()
        main.shots.loc[[first, first + 1], "point"] = numbers[::-1]
        return {}, ("shot-order", str(numbers[0])), 45.0

    planted.__name__ = f"{which}_two_exchanged"
    planted.__doc__ = f"The point numbers of the {which} two shots exchanged."
    return planted


def numbered_two_late(main, seed):
    """One shot numbered two late."""
    main.shots["point"] = main.shots["point"].astype(float)
    main.shots.loc[40, "point"] += 2.5
    return {}, ("shot-order", point(main, 40)), 90.0


def one_place_shot_twice(apart):
    def planted(main, seed):
        again = main.shots.iloc[[40]].copy()
        leg = main.shots.loc[41, ["easting", "northing"]] - main.shots.loc[39, ["easting", "northing"]]
        east, north = apart * leg.to_numpy(float) / np.hypot(*leg.to_numpy(float))
        again["easting"], again["northing"] = again["easting"] - north, again["northing"] + east
        again["point"] = again["point"] + 0.5
        main.shots = pd.concat([main.shots, again])
        return {}, ("shot-repeated", "1041.0"), 1.0

    planted.__name__ = f"one_place_shot_twice_{apart}_ft_apart"
    planted.__doc__ = f"One place shot twice, {apart} ft apart."
    return planted


def elevation(value, rows=slice(40, 40), *, by=None):
    def planted(main, seed):
        if by is None:
            main.shots.loc[rows, "elevation"] = value
        else:
            main.shots.loc[rows, "elevation"] += by
        return {}, ("shot-height", point(main, rows.start - (1 if by and rows.stop > rows.start else 0))), 0.5

    what = f"by_{by}" if by else str(value)
    planted.__name__ = f"elevation_{what}_at_{rows.stop - rows.start + 1}_shots"
    height = f"{by} ft too high" if by else f"{value:g}"
    shots = "one shot" if rows.stop == rows.start else f"{min(rows.stop, len(laid(1).shots)) - rows.start + 1} shots"
    planted.__doc__ = f"Elevation {height} at {shots}."
    return planted


def top_and_invert_by_turns(main, seed):
    """Every other shot of the invert, the rest of the top of a 12-in pipe."""
    main.shots.loc[1::2, "elevation"] -= 1.06
    return {}, ("shot-height", point(main, 0)), 0.5


def ground_shot_here_and_there(main, seed):
    """Two shots in a row, twice, of the ground 4 ft above the pipe."""
    main.shots.loc[[20, 21, 50, 51], "elevation"] += 4.0
    return {}, ("shot-height", point(main, 19)), 0.5


def not_shot(how):
    def planted(main, seed):
        """Put numbers for shots that nobody took."""
        rng, shots = np.random.default_rng(seed), main.shots
        columns = ["northing", "easting", "elevation"]
        shots[columns] = shots[columns].to_numpy() + rng.normal(0.0, 0.05, (len(shots), 3))
        number = np.arange(len(shots))
        kept = {"each fifth shot alone was taken": number[::5], "half of the shots were not taken": number[:45]}.get(
            how
        )
        for column in columns:
            if kept is None:
                shots[column] = np.convolve(np.pad(shots[column], 2, mode="edge"), np.full(5, 0.2), mode="valid")
            else:
                kept = np.union1d(kept, number[-1:])
                shots[column] = np.interp(number, kept, shots[column].to_numpy()[kept])
            shots[column] = np.round(shots[column], 3)
        return {"centerline": {"sigma_horizontal": 0.05, "sigma_vertical": 0.05}}, ("shots-too-even", None), None

    planted.__name__ = f"shots_where_{how.replace(' ', '_')}"
    planted.__doc__ = f"Shots of 0.05 ft, of which {how}." if "taken" in how else "Shots of 0.05 ft, smoothed by fives."
    return planted


def instrument_set_up_anew(main, seed):
    """All shots from the 41st on 2.5 ft off, as from a second set-up of the instrument."""
    leg = main.shots.loc[40, ["easting", "northing"]] - main.shots.loc[39, ["easting", "northing"]]
    east, north = leg.to_numpy(float) / np.hypot(*leg.to_numpy(float))
    main.shots.loc[40:, "easting"] -= 2.5 * north
    main.shots.loc[40:, "northing"] += 2.5 * east
    return {}, ("shot-astray", point(main, 40)), 2.8


def one_day_on_another_datum(main, seed):
    """The shots of one day, the 31st to the 50th, 6.7 ft off the others, as on another datum."""
    leg = main.shots.loc[31, ["easting", "northing"]] - main.shots.loc[29, ["easting", "northing"]]
    east, north = leg.to_numpy(float) / np.hypot(*leg.to_numpy(float))
    main.shots.loc[30:49, "easting"] += 6.7 * north
    main.shots.loc[30:49, "northing"] -= 6.7 * east
    return {}, ("shot-astray", point(main, 30)), 8.5


def shots_of_the_curb(feet, many):
    def planted(main, seed):
        rows = slice(40, 39 + many)
        leg = main.shots.loc[40 + many, ["easting", "northing"]] - main.shots.loc[39, ["easting", "northing"]]
        east, north = leg.to_numpy(float) / np.hypot(*leg.to_numpy(float))
        main.shots.loc[rows, "easting"] += feet * north
        main.shots.loc[rows, "northing"] -= feet * east
        return {}, ("shot-astray", point(main, 40)), 1.2 * feet

    planted.__name__ = f"{many}_shots_of_the_curb_{feet}_ft_off"
    planted.__doc__ = f"{'Two' if many == 2 else 'Three'} shots in a row of the curb, {feet:g} ft beside the main."
    return planted


def two_shots_of_the_ground(main, seed):
    """Two shots in a row of the ground, 3 ft above the pipe."""
    main.shots.loc[40:41, "elevation"] += 3.0
    return {}, ("shot-height", point(main, 40)), 0.5


def rod_changed(by):
    def planted(main, seed):
        main.shots.loc[40:, "elevation"] += by
        return {}, ("shot-height", point(main, 40)), 0.5

    planted.__name__ = f"rod_changed_by_{by}_ft"
    planted.__doc__ = f"The height of the rod changed by {by:g} ft at the 41st shot, and not written down."
    return planted


def log_covers_half(main, seed):
    """A log that covers half of the line."""
    main.log = main.log.iloc[:45]
    return {}, ("coverage-short", None), 0.5


def log_begins_late(main, seed):
    """A log that begins 20 joints late."""
    main.log = main.log.iloc[20:]
    return {}, ("coverage-short", None), 0.5


def part_of_the_log_as_long_as_feet_for_metres(main, seed):
    """A part of a log just as long as the line would be in metres."""
    length = float(main.log["station"].iloc[-1].replace("+", "")) * 0.3048
    reach = [float(text.replace("+", "")) <= length + 10 for text in main.log["station"]]
    main.log = main.log[reach]
    return {}, ("unit-doubtful", None), 0.5


def nothing_shot_for_600_ft(main, seed):
    """600 ft not shot."""
    main.shots = main.shots.drop(index=range(40, 70)).reset_index(drop=True)
    return {}, ("coverage-short", None), None


FOUND = (
    end_shot_along(0, "first"), end_shot_along(-1, "last"), last_shot_off,
    start_station_off(0.5), start_station_off(-5.0),
    bust(30), bust(10), bust(5), next_but_one_shot_again, neighbours_exchanged,
    end_shots_exchanged("first", 0), end_shots_exchanged("last", -2), numbered_two_late,
    one_place_shot_twice(0.3), one_place_shot_twice(0.6),
    elevation(0.0), elevation(0.0, slice(30, 60)), elevation(-9999.0),
    elevation(-9999.0, slice(20, 80)), elevation(None, by=30), elevation(None, slice(46, 200), by=40),
    top_and_invert_by_turns, ground_shot_here_and_there,
    not_shot("each fifth shot alone was taken"), not_shot("half of the shots were not taken"), not_shot("smoothed"),
    shots_of_the_curb(3.0, 2), shots_of_the_curb(5.0, 3), two_shots_of_the_ground,
    instrument_set_up_anew, one_day_on_another_datum, rod_changed(2.5), rod_changed(-3.0),
    log_covers_half, log_begins_late, part_of_the_log_as_long_as_feet_for_metres, nothing_shot_for_600_ft,
)  # fmt: skip


# Blunders of the log: a finding at the joint, or the row set aside. ---------------------------------------------------


def changed(main, row, **cells):
    """Change cells of one row of the log."""
    for column, cell in cells.items():
        main.log.loc[row, column.replace("_", " ")] = cell
    return main


def along(main, row):
    """Give a joint's station as a number."""
    return float(main.log.loc[row, "station"].replace("+", ""))


def record_twice(main, seed):
    """One joint's record written twice."""
    main.log = pd.concat([main.log.iloc[:31], main.log.iloc[30:]]).reset_index(drop=True)
    return {}, ("joint-repeated", "31"), 0.5


def two_joints_of_one_number(main, seed):
    """One joint's number written as its neighbour's."""
    changed(main, 30, joint="30")
    return {}, ("joint-repeated", "30"), 25.0


def numbers_of_neighbours_exchanged(main, seed):
    """Two neighbours' joint numbers exchanged."""
    main.log.loc[[30, 31], "joint"] = main.log.loc[[31, 30], "joint"].to_numpy()
    return {}, ("order-broken", "32"), 25.0


def joint_left_out(main, seed):
    """A joint left out, the others numbered on."""
    main.log = main.log.drop(index=30).reset_index(drop=True)
    return {}, ("joints-missing", "30"), 0.5


def station_a_hundred_too_high(main, seed):
    """One station 100 ft too high."""
    changed(main, 30, station=station(along(main, 30) + 100))
    return {}, ("order-broken", "31"), 105.0


def station_a_thousand_too_high(main, seed):
    """One station 1,000 ft too high, within the line."""
    changed(main, 30, station=station(along(main, 30) + 1000))
    return {}, ("order-broken", "31"), 1100.0


def station_too_high_without_numbers(main, seed):
    """One station 308 ft too high, in a log without joint numbers."""
    changed(main, 30, station=station(along(main, 30) + 308))
    main.log = main.log.drop(columns="joint")
    return {}, ("order-broken", None), 310.0


def stations_of_a_page_shifted(by):
    def planted(main, seed):
        for row in range(30, 60):
            changed(main, row, station=station(along(main, row) + by))
        return {}, ("stations-shifted", None), abs(by) + 0.5

    planted.__name__ = f"stations_of_a_page_shifted_{by:g}_ft"
    planted.__doc__ = f"The stations of 30 rows in the middle {abs(by):g} ft too {'high' if by > 0 else 'low'}."
    return planted


def a_day_by_a_tape_off(factor, *, runs_on):
    def planted(main, seed):
        true = [along(main, row) for row in range(len(main.log))]
        for row in range(40, len(main.log) - 1 if runs_on else 60):
            changed(main, row, station=station(true[row] + (factor - 1.0) * (true[min(row, 59)] - true[39])))
        return {}, ("stations-shifted", None), 20.0 * 20.0 * abs(factor - 1.0) + 0.5

    planted.__name__ = f"a_day_taped_at_{factor:g}{'_running_on' * runs_on}"
    planted.__doc__ = (
        f"Twenty stations by a tape that counts {abs(factor - 1.0):.0%} too {'much' if factor > 1 else 'little'}, "
        f"{'and all behind them going on from there' if runs_on else 'and true ones behind them'}."
    )
    return planted


def stations_filled_in(main, seed):
    """Stations of some rows filled in by 20 ft each, past a cut pipe, and true ones behind them."""
    step = np.diff([along(main, row) for row in range(len(main.log))])
    cut = next(int(row) for row in np.flatnonzero(step < 16.0) if 5 < row < len(main.log) - 12)
    start = along(main, cut - 4)
    for by in range(1, 12):
        changed(main, cut - 4 + by, station=station(start + 20.0 * by))
    return {}, ("stations-shifted", None), 20.0


def station_five_ft_short(main, seed):
    """One station 5 ft too high: the length ahead is short, the one back too long."""
    changed(main, 30, station=station(along(main, 30) + 5))
    return {}, ("spacing-short", "31"), 5.5


def station_beyond_the_line(main, seed):
    """One station beyond the line's end."""
    changed(main, 30, station="99+00.00")
    return {}, ("station-off-route", 31), 0.5


def station_blank(main, seed):
    """One station left blank."""
    changed(main, 30, station=None)
    return {}, ("station-missing", 31), 0.5


def station_not_computed(main, seed):
    """One station that the spreadsheet could not compute (#REF!)."""
    changed(main, 30, station="#REF!")
    return {}, ("station-unreadable", 31), 0.5


def stations_begun_anew(main, seed):
    """Stations begun anew at 0+00 halfway."""
    start = along(main, 45)
    for row in range(45, len(main.log)):
        changed(main, row, station=station(along(main, row) - start))
    said = r"row 46: the stations of route A begin anew at 0\+00\.00, after \d\+\d\d\.\d\d in row 45: \d\d joints would"
    return {}, said, None


def stations_and_numbers_begun_anew(main, seed):
    """Stations and joint numbers begun anew at 0+00 and 1 halfway."""
    stations_begun_anew(main, seed)
    main.log.loc[45:, "joint"] = [str(row + 1) for row in range(len(main.log) - 45)]
    return {}, r"row 46: the stations of route A begin anew at 0\+00\.00.*, and these are not the same joints", None


def stations_fifty_on(main, seed):
    """Stations 50 ft too high from the middle on: one length was counted too long."""
    for row in range(45, len(main.log) - 6):
        changed(main, row, station=station(along(main, row) + 50))
    main.log = main.log.iloc[:-6]
    return {}, ("joints-missing", "45"), 55.0


def piece_not_in_the_log(feet):
    def planted(main, seed):
        for row in range(45, len(main.log)):
            changed(main, row, station=station(along(main, row) - feet))
        return {}, ("joints-off-shots", None), feet + 0.3

    planted.__name__ = f"a_piece_of_{feet:g}_ft_not_in_the_log"
    planted.__doc__ = f"A piece of {feet:g} ft in the middle that the log has not, on a main shot at each joint."
    return planted


def stations_along_the_slope(main, seed):
    """Stations taped along a slope of up to 8 degrees, on a line that is stationed in plan."""

    def taped(lay, axes):
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(lay.places[:, :axes], axis=0), axis=1))])

    # One that climbs enough for a foot.
    mains = (laid(seed + more, grade=8.0, cuts=0) for more in range(50))
    lay, off = next((one, off) for one in mains if (off := taped(one, 3)[-1] - taped(one, 2)[-1]) > 1.0)
    main.places, main.shots, main.log = lay.places, lay.shots, lay.log
    main.log["station"] = [station(one) for one in taped(lay, 3)]
    return {}, ("joints-off-shots", None), off + 0.5


def a_second_day_of_five_joints(main, seed):
    """A second day of five joints that begins anew at joint 1 and 0+00; the first day's joint 3 had failed."""
    start = len(main.log) - 5
    first = along(main, start)
    for row in range(start, len(main.log)):
        changed(main, row, joint=str(row - start + 1), station=station(along(main, row) - first), date="2026-04-03")
    changed(main, 2, gauge="fail")
    return {}, rf"row {start + 1}: the stations of route A begin anew at 0\+00\.00.*same", None


def a_second_day_written_backwards(main, seed):
    """A second day of half the joints, numbered anew and written from the far end backwards."""
    stations_and_numbers_begun_anew(main, seed)
    main.log = pd.concat([main.log.iloc[:45], main.log.iloc[45:][::-1]], ignore_index=True)
    return {}, r"row 4[67]: the stations of route A begin anew at \d+\+.*, and these are not the same joints", None


def a_page_typed_twice_by_another_inspector(main, seed):
    """Ten rows typed again with another inspector, who passed what had failed."""
    changed(main, 23, gauge="fail")
    again = main.log.iloc[20:30].assign(inspector="T. Ames", gauge="ok", date="2026-04-20")
    main.log = pd.concat([main.log, again], ignore_index=True)
    return {}, ("failure-overruled", "24"), 0.5


def equation_not_stated(by, *, coordinates=False, bare=False):
    def planted(main, seed):
        if coordinates:
            with_coordinates(main)
        for row in range(41, len(main.log)):
            changed(main, row, station=station(along(main, row) + by))
        if bare:
            main.log = main.log.drop(columns=["kind", "bend angle", "laid length", "cut"])
        how = r"surveyed joints show" if coordinates else rf"they end {abs(by):.2f} ft {'past' if by > 0 else 'before'}"
        run = r"joint 42 \(\d+\+\S+\) on, the stations of route A run 7[67]\.\d\d ft"
        return {}, (rf"{run} {'ahead of' if by > 0 else 'behind'} the pipes laid, .*{how}", None), abs(by) + 0.5

    planted.__name__ = f"equation_of_{by}{'_surveyed' * coordinates}{'_bare' * bare}"
    planted.__doc__ = (
        f"An equation of {abs(by):g} ft {'ahead' if by > 0 else 'back'} not stated in the job"
        f"{', joints surveyed' * coordinates}{', only numbers and stations logged' * bare}."
    )
    return planted


def equation_counted_past(by):
    def planted(main, seed):
        back = along(main, 41) + 5.0
        job = {"equations": [{"back": station(back), "ahead": station(back + by)}]}
        return {"centerline": job}, ("equation-ignored", None), abs(by) + 0.5

    planted.__name__ = f"equation_of_{by}_counted_past"
    planted.__doc__ = (
        f"An equation of {abs(by):g} ft {'ahead' if by > 0 else 'back'} that the job states, counted on past."
    )
    return planted


def laid_length_written(text):
    def planted(main, seed):
        changed(main, 30, laid_length=text)
        return {}, ("entry-doubtful", "31"), 0.5

    planted.__name__ = f"laid_length_written_{text}"
    planted.__doc__ = f"One laid length written {text} among those of 20 ft."
    return planted


def laid_length_in_metres(main, seed):
    """The laid lengths of ten rows in metres."""
    for row in range(61, 71):
        changed(main, row, laid_length="6.10", cut="")
    return {}, ("entry-doubtful", "63"), 0.5


def failure_marked_by(mark):
    def planted(main, seed):
        main.log["gauge"] = "✓"
        changed(main, 30, gauge=mark)
        return {}, ("inspection-failed", "31"), 0.5

    planted.__name__ = f"failure_marked_by_{mark}"
    planted.__doc__ = f"A failure marked {mark} in a column of check marks."
    return planted


def dot_for_plus(rows):
    def planted(main, seed):
        for row in rows:
            at = along(main, row)
            changed(main, row, station=f"{int(at // 100)}.{int(at % 100):02d}")
        return {}, ("station-unreadable", rows[0] + 1), 0.5

    planted.__name__ = f"dot_for_plus_in_{len(rows)}_rows"
    planted.__doc__ = f"The + of {'one station' if len(rows) == 1 else f'{len(rows)} stations'} written as a dot."
    return planted


def line_drawn_backwards_beside_coordinates(main, seed):
    """The line drawn backwards, joints surveyed, no bends logged, shots away from the joints."""
    with_coordinates(main)
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(main.places[:, :2], axis=0).T))])
    at = np.arange(0.0, lengths[-1], 33.0)
    shots = {name: np.round(np.interp(at, lengths, main.places[:, one]), 3) for one, name in
             enumerate(("easting", "northing", "elevation"))}  # fmt: skip
    main.shots = pd.DataFrame({"point": 1001 + np.arange(len(at))[::-1], **shots, "description": "WM-A TOP"})
    main.log = main.log.drop(columns=["kind", "bend angle"])
    return {}, (r"line of route A seems to be drawn against its stations \(centerline\.reversed\)", None), 0.5


def a_year_written_wrongly(main, seed):
    """The dates of 21 rows of another year."""
    main.log.loc[40:60, "date"] = "2025-04-02"
    return {}, ("date-doubtful", "45"), 0.5


def month_and_day_exchanged(main, seed):
    """Month and day exchanged in the dates of ten rows."""
    main.log["date"] = [f"2026-04-{2 + row // 10:02d}" for row in range(len(main.log))]
    main.log.loc[40:49, "date"] = "2026-06-04"
    return {}, ("date-doubtful", "45"), 0.5


def readings_in_millimetres(gauge):
    def planted(main, seed):
        rng, middle = np.random.default_rng(seed), 2.5 if gauge else 0.5
        for hour in (12, 3, 6, 9):
            read = middle + rng.normal(0, 0.03, len(main.log))
            column = f"{'gauge' if gauge else 'gap'} {hour}"
            main.log[column] = [f"{one:.2f}" for one in read]
            main.log.loc[40:49, column] = [f"{one:.0f}" for one in 25.4 * read[40:50]]
        return {}, ("entry-doubtful", "45"), 0.5

    planted.__name__ = f"{'gauge_depths' if gauge else 'gaps'}_in_millimetres"
    planted.__doc__ = f"The {'gauge depths' if gauge else 'gaps'} of ten rows in millimetres on a job in inches."
    return planted


def gaps_of_half_the_log_in_centimetres(main, seed):
    """The gaps of half of the rows in centimetres, those of the others in millimetres."""
    read = np.round(55.0 + np.random.default_rng(seed).normal(0.0, 1.0, (len(main.log), 4)))
    read[45:] /= 10.0
    main.log[[f"gap {hour}" for hour in (12, 3, 6, 9)]] = read.astype(str)
    return {"records": {"reading_unit": "mm"}}, ("entry-doubtful", "60"), 0.5


def gasket_temperatures_in_celsius(main, seed):
    """The gasket temperatures of 21 rows in Celsius."""
    main.log.loc[40:60, "gasket temp"] = "13"
    return {}, ("entry-doubtful", "45"), 0.5


def gasket_temperature_without_its_point(main, seed):
    """One gasket temperature without its decimal point: 550 F."""
    changed(main, 30, gasket_temp="550")
    return {}, ("entry-doubtful", "31"), 0.5


def days_in_two_orders(main, seed):
    """Dates written month first on some days and day first on others."""
    for row in range(len(main.log)):
        month, day = 4, 2 + row // 10
        changed(main, row, date=f"{month}/{day}/2026" if row // 10 % 2 else f"{day}/{month}/2026")
    return {"records": {"date_order": "mdy"}}, ("date-doubtful", "5"), 0.5


def gauge_depths_of_one_hour_in_millimetres(main, seed):
    """The feeler-gauge depth at 6 o'clock of ten joints in millimetres, the others of these joints in inches."""
    readings_in_millimetres(gauge=True)(main, seed)
    rng = np.random.default_rng(seed)
    for hour in (12, 3, 9):
        main.log[f"gauge {hour}"] = [f"{one:.2f}" for one in 2.5 + rng.normal(0, 0.03, len(main.log))]
    return {}, ("entry-doubtful", "45"), 0.5


def filled_down(column):
    def planted(main, seed):
        if column == "date":
            main.log["date"] = [str(np.datetime64("2026-02-02") + row) for row in range(len(main.log))]
        else:
            main.log.loc[20:49, column] = [str(50 + row) for row in range(30)]
        return {}, ("rows [0-9]+ to [0-9]+: .* as if a series was filled down", None), 0.5

    planted.__name__ = f"{column.replace(' ', '_')}_filled_down"
    planted.__doc__ = f"A series filled down over the {'dates' if column == 'date' else 'gasket temperatures'}."
    return planted


def inches_behind_the_point(main, seed):
    """Stations with inches behind the point: 6 in written as 0.06."""
    for row in range(len(main.log)):
        feet, inches = divmod(int(along(main, row) * 12), 12)
        changed(main, row, station=f"{feet // 100}+{feet % 100:02d}.{inches:02d}")
    return {}, (r"stations none has more than \d+ hundredths of a foot, as if inches were written", None), 1.1


def bend_angle_without_its_point(main, seed):
    """The angle of a bend with a slipped point: 2.25 for 22.5."""
    row = int(np.flatnonzero(main.log["kind"] == "bend")[1])
    changed(main, row, bend_angle=f"{float(main.log.loc[row, 'bend angle']) / 10:g}")
    return {}, ("entry-doubtful", str(row + 1)), 0.5


def bend_angle_with_two_digits_exchanged(main, seed):
    """The angle of a bend with two digits exchanged: 25.2 for 22.5."""
    row = int(np.flatnonzero(main.log["kind"] == "bend")[1])
    written = {"11.25": "12.15", "22.5": "25.2", "45": "54"}[str(main.log.loc[row, "bend angle"])]
    changed(main, row, bend_angle=written)
    return {}, ("entry-doubtful", str(row + 1)), 0.5


def plane_of_a_rolled_bend_left_out(main, seed):
    """A bend rolled so that the main climbs behind it, in the log without its plane."""
    joint = int(np.flatnonzero(main.log["kind"] == "bend")[0])
    up = np.tan(np.radians(8.5))
    behind = np.arange(len(main.places)) > joint
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(main.places[:, :2], axis=0).T))])
    rise = np.where(behind, up * (along - along[joint]), 0.0)
    main.places[:, 2] += rise
    main.shots["elevation"] = np.round(main.shots["elevation"] + rise, 3)
    u, v = np.diff(main.places[joint - 1 : joint + 2], axis=0)
    angle = float(np.degrees(np.arctan2(np.linalg.norm(np.cross(u, v)), u @ v)))
    changed(main, joint, bend_angle=f"{angle:.2f}")
    return {}, ("bend-plane-missing", str(joint + 1)), 0.5


def readings_copied_down(main, seed):
    """The gap readings of one joint copied down over 40 rows."""
    rng = np.random.default_rng(seed)
    for hour in (12, 3, 6, 9):
        main.log[f"gap {hour}"] = [f"{one:.2f}" for one in 0.5 + rng.normal(0, 0.03, len(main.log))]
        main.log.loc[30:69, f"gap {hour}"] = "0.50"
    return {}, ("rows 31 to 70: the gap readings are the same in all 40 rows", None), 0.5


def uneven_readings_copied_down(main, seed):
    """The uneven gap readings of one joint copied down over 12 rows."""
    read = np.round(2.0 + np.random.default_rng(seed).normal(0, 0.05, (len(main.log), 4)), 2)
    read[30:42] = read[30]
    main.log[[f"gap {hour}" for hour in (12, 3, 6, 9)]] = read.astype(str)
    return {}, ("readings-copied", "31"), 0.5


def start_station_of_another_joint(feet):
    def planted(main, seed):
        return {"centerline": {"start_station": feet}}, ("bend-off-corner", None), abs(feet) + 0.5

    planted.__name__ = f"start_station_{feet}_ft_off"
    planted.__doc__ = f"A start station {feet} ft off: one joint."
    return planted


def bend_written_a_row_late(main, seed):
    """A bend written in the row of the next joint."""
    row = int(np.flatnonzero(pd.to_numeric(main.log["bend angle"], errors="coerce") >= 20)[0])
    changed(main, row + 1, kind="bend", bend_angle=main.log.loc[row, "bend angle"])
    changed(main, row, kind="pipe", bend_angle="")
    return {}, ("bend-off-corner", None), 0.5


def shot_of_a_bend_left_out(main, seed):
    """The shot of a bend left out, as by a mistyped code."""
    angle = pd.to_numeric(main.log["bend angle"], errors="coerce")
    main.shots = main.shots.drop(index=int(np.flatnonzero(angle >= 20)[0])).reset_index(drop=True)
    return {}, ("coverage-short", None), 8.0


def bend_not_logged(main, seed):
    """A bend written as a straight pipe."""
    row = int(np.flatnonzero(main.log["kind"] == "bend")[1])
    changed(main, row, kind="pipe", bend_angle="")
    return {}, ("deflection-over", str(row + 1)), 0.5


def bend_of_another_angle(main, seed):
    """A bend written with another angle."""
    row = int(np.flatnonzero(main.log["kind"] == "bend")[1])
    other = {"11.25": "45", "22.5": "45", "45": "11.25"}[str(main.log.loc[row, "bend angle"])]
    changed(main, row, bend_angle=other)
    return {}, ("deflection-over", str(row + 1)), 0.5


def with_sides(main):
    """Write into the log to which side each bend turns, and give the bends' rows."""
    rows = np.flatnonzero(main.log["kind"] == "bend")
    main.log["bend plane"] = ""
    for row in rows:
        back, ahead = (main.places[at + 1] - main.places[at] for at in (row - 1, row))
        changed(main, row, bend_plane="R" if back[0] * ahead[1] < back[1] * ahead[0] else "L")
    return rows


def left_and_right_exchanged(*, throughout):
    def planted(main, seed):
        rows = with_sides(main)
        for row in rows if throughout else rows[1:2]:
            changed(main, row, bend_plane={"R": "L", "L": "R"}[main.log.loc[row, "bend plane"]])
        return {}, ("bend-other-way", str(rows[1] + 1)), 0.5

    planted.__name__ = f"left_and_right_exchanged_{'throughout' if throughout else 'of_one_bend'}"
    planted.__doc__ = f"Left and right exchanged {'throughout the bends of the log' if throughout else 'of one bend'}."
    return planted


def shots_beside_the_joints(main, seed):
    """Every shot half a pipe past its joint, between bends of 45 deg, and the first given as a joint."""
    lay = laid(seed, spread=1.0, cuts=0)
    turned = np.flatnonzero(lay.log["kind"] == "bend")
    main.places, main.log = lay.places, lay.log
    # Each of 45 deg, whatever the seed made of it.
    for row in turned:
        was = float(lay.log.loc[row, "bend angle"])
        leg = main.places[row] - main.places[row - 1]
        ahead = main.places[row + 1] - main.places[row]
        way = np.sign(leg[0] * ahead[1] - leg[1] * ahead[0])
        by = np.radians(45.0 - was) * way
        turn = np.array([[np.cos(by), -np.sin(by)], [np.sin(by), np.cos(by)]])
        main.places[row:, :2] = main.places[row, :2] + (main.places[row:, :2] - main.places[row, :2]) @ turn.T
        changed(main, row, bend_angle="45")
    count = np.arange(len(main.places))
    at = np.minimum(count + 0.5, count[-1])
    main.shots = main.shots.iloc[: len(count)].reset_index(drop=True)
    for one, name in enumerate(("easting", "northing", "elevation")):
        main.shots[name] = np.round(np.interp(at, count, main.places[:, one]), 3)
    return {}, ("joints-off-shots", None), 20.0


def error_of_the_shots_understated(main, seed):
    """Shots of 0.08 ft, stated as 0.01 ft."""
    noise = np.random.default_rng(seed).normal(0.0, 0.08, (len(main.shots), 3))
    main.shots[["easting", "northing", "elevation"]] += noise
    stated = {"sigma_horizontal": 0.01, "sigma_vertical": 0.01}
    return (
        {"centerline": stated},
        (r"sigma_horizontal states 0\.01 ft: either .* or they are not known so well", None),
        0.5,
    )


def size_by_a_slip(main, seed):
    """One size written as 21 for 12."""
    changed(main, 30, size="21")
    return {}, ("size-changes", "31"), 0.5


def joint_type_unknown(main, seed):
    """One joint type in a word that nothing explains."""
    changed(main, 30, joint_type="bell and whistle")
    return {}, ("allowable-missing", "31"), 0.5


def date_in_the_future(main, seed):
    """One date a year ahead."""
    changed(main, 30, date="2027-04-02")
    return {}, ("date-doubtful", "31"), 0.5


def route_of_another_main(main, seed):
    """One record of a route that is not there."""
    main.log["route"] = "A"
    changed(main, 30, route="B")
    return {}, ("route-unknown", 31), 0.5


def with_coordinates(main):
    """Let the log hold each joint's coordinates."""
    main.log[["easting", "northing"]] = np.round(main.places[:, :2], 3)
    return main


def coordinates_of_one_joint_far_off(main, seed):
    """One joint's coordinates in the log 50 ft off."""
    with_coordinates(main).log.loc[30, "easting"] += 50
    return {}, ("position-conflict", "31"), 55.0


def coordinates_of_one_joint_mistyped(main, seed):
    """One digit of an easting in the log mistyped: 400 ft off."""
    with_coordinates(main).log.loc[30, "easting"] += 400
    return {}, ("position-conflict", "31"), 0.5


def coordinates_of_two_neighbours_mistyped(main, seed):
    """One digit of the northings of two joints in a row mistyped: 3,000 ft off."""
    with_coordinates(main).log.loc[[30, 31], "northing"] -= 3000
    return {}, ("position-conflict", "32"), 0.5


def coordinates_of_the_first_joint_mistyped(main, seed):
    """One digit of the first joint's northing mistyped: 200 ft off."""
    with_coordinates(main).log.loc[0, "northing"] += 200
    return {}, ("position-conflict", "1"), 0.5


def coordinates_of_one_of_three_mistyped(main, seed):
    """The one wrong of three joints with coordinates, in a log of stations: 150 ft off."""
    main.log.loc[[10, 30, 60], ["easting", "northing"]] = np.round(main.places[[10, 30, 60], :2], 3)
    main.log.loc[30, "easting"] += 150
    return {}, ("position-conflict", "31"), 0.5


def coordinates_of_the_only_one_mistyped(main, seed):
    """The only joint with coordinates, in a log of stations: 150 ft off."""
    main.log.loc[30, ["easting", "northing"]] = np.round(main.places[30, :2] + [0, 150], 3)
    return {}, ("position-conflict", "31"), 0.5


def coordinates_mistyped_where_the_station_is_blank(main, seed):
    """One joint's coordinates 400 ft off, its station blank."""
    with_coordinates(main).log.loc[30, "northing"] += 400
    changed(main, 30, station="")
    return {}, ("station-missing", 31), 0.5


def coordinates_of_two_joints_off_alike(main, seed):
    """The only two coordinates of a log of stations, both 45 ft beside the line by the same way."""
    step = main.places[31, :2] - main.places[30, :2]
    main.log.loc[[30, 31], ["easting", "northing"]] = np.round(main.places[[30, 31], :2], 3)
    main.log.loc[[30, 31], ["easting", "northing"]] += 45.0 * np.array([-step[1], step[0]]) / np.hypot(*step)
    return {}, ("position-conflict", "31"), 0.5


def station_mistyped_beside_coordinates(main, seed):
    """One station 300 ft too high in a log that has coordinates."""
    with_coordinates(main)
    changed(main, 30, station=station(along(main, 30) + 300))
    return {}, ("position-conflict", "31"), 0.5


def stations_in_metres_beside_coordinates(main, seed):
    """Stations written in metres beside coordinates in feet, cut pipe throughout."""
    with_coordinates(main)
    main.log["station"] = [station(along(main, row) * FT) for row in range(len(main.log))]
    return (
        {},
        r"coordinates lie 3\.28 times as far apart as its stations, as if its stations were written in metres",
        None,
    )


def coordinates_of_the_log_exchanged(main, seed):
    """Easting and northing exchanged in the log."""
    main.log[["northing", "easting"]] = np.round(main.places[:, :2], 3)
    return {}, "on it with easting and northing exchanged: exchange the two columns", None


def coordinates_of_one_joint_exchanged(main, seed):
    """Easting and northing of one joint exchanged in the log."""
    with_coordinates(main)
    main.log.loc[30, ["northing", "easting"]] = main.log.loc[30, ["easting", "northing"]].to_numpy()
    return {}, r"row 31: easting and northing are exchanged.*exchange the two", None


IN_DEGREES = {"records": {"crs": "EPSG:6318"}}


def degrees(main):
    """Let the log hold each joint's longitude and latitude."""
    over = Transformer.from_crs(CRS, "EPSG:6318", always_xy=True)
    east, north = over.transform(main.places[:, 0], main.places[:, 1])
    return np.round(east, 9), np.round(north, 9)


def longitude_without_its_sign(main, seed):
    """Longitudes west written without a minus sign."""
    east, north = degrees(main)
    main.log["easting"], main.log["northing"] = -east, north
    return (
        IN_DEGREES,
        "longitudes west of Greenwich are written without a minus sign; write it",
        None,
    )


def latitude_and_longitude_of_one_joint_exchanged(main, seed):
    """Latitude and longitude of one joint exchanged in the log."""
    main.log["easting"], main.log["northing"] = degrees(main)
    main.log.loc[30, ["northing", "easting"]] = main.log.loc[30, ["easting", "northing"]].to_numpy()
    return IN_DEGREES, "row 31: latitude and longitude are exchanged; exchange the two", None


def behind_the_point(parts):
    """Write degrees with minutes, or minutes and seconds, behind the point."""

    def written(value):
        size = np.abs(value)
        whole = np.floor(size)
        minutes = (size - whole) * 60.0
        if parts == 2:
            return np.round(np.sign(value) * (whole + minutes / 100.0), 9)
        seconds = (minutes - np.floor(minutes)) * 60.0
        return np.round(np.sign(value) * (whole + np.floor(minutes) / 100.0 + seconds / 10_000.0), 9)

    def planted(main, seed):
        main.log["easting"], main.log["northing"] = map(written, degrees(main))
        named = "degrees and minutes are" if parts == 2 else "degrees, minutes and seconds are"
        return IN_DEGREES, f"{named} written as if they were a decimal number.*write degrees with decimals", None

    planted.__name__ = f"degrees_with_{parts - 1}_parts_behind_the_point"
    planted.__doc__ = (
        f"Degrees with {'minutes' if parts == 2 else 'minutes and seconds'} behind the point, as decimals."
    )
    return planted


def degrees_of_five_decimals(main, seed):
    """Longitudes and latitudes of the log with five decimals: rounded to a metre."""
    main.log["easting"], main.log["northing"] = (np.round(one, 5) for one in degrees(main))
    return IN_DEGREES, ("no more than 5 decimals of a degree, 1.1 m", None), 2.6


def latitude_for_longitude(main, seed):
    """Latitude and longitude exchanged in the log."""
    east, north = degrees(main)
    main.log["easting"], main.log["northing"] = north, east
    return (
        IN_DEGREES,
        r"records\.columns\.easting.*latitude and longitude are exchanged; exchange the two",
        None,
    )


def elevations_beside_degrees(main, seed):
    """Elevations beside degrees, without a word on their unit."""
    main.log["easting"], main.log["northing"] = degrees(main)
    main.log["elevation"] = np.round(main.places[:, 2], 3)
    return IN_DEGREES, r"records\.elevation_unit.*nothing says their unit", None


def coordinates_of_the_log_on_another_datum(main, seed):
    """All coordinates of the log 3.7 ft off the same way, as on another datum: within what a station is worth."""
    with_coordinates(main).log[["easting", "northing"]] += [3.0, 2.2]
    return {}, (r"the 90 joints whose coordinates the log holds all lie 3\.7\d ft from .* another datum", None), 4.0


def coordinates_of_the_log_in_the_other_foot(main, seed):
    """All coordinates of the log in international feet, the survey's in US survey feet."""
    with_coordinates(main)
    main.log[["easting", "northing"]] = np.round(main.log[["easting", "northing"]] * 1.000002, 3)
    return {}, (r"all lie 1\d\.\d\d ft from .*US survey feet are taken for international ones", None), 14.5


def log_of_another_main(main, seed):
    """The log of a main in the next street, of as many joints."""
    main.log = laid(seed + 40, bends=6).log
    return {}, ("bend-off-corner", None), 120.0


def two_mains_exchanged(main, seed):
    """The codes of two mains exchanged, which are equally long."""
    other = laid(seed + 50, bends=5)
    other.shots["point"] += 5000
    other.shots["description"] = "WM-B TOP"
    other.shots["easting"] += 600.0
    other.log["joint"] = "B" + other.log["joint"]
    main.log = pd.concat([main.log.assign(route="A"), other.log.assign(route="B")], ignore_index=True)
    main.shots = pd.concat([main.shots, other.shots], ignore_index=True)
    return {"centerline": {"codes": {"WM-A": "B", "WM-B": "A"}}}, ("routes-exchanged", None), 5000.0


def counted_log(main):
    """Leave the stations of the log to its laid lengths."""
    main.log = main.log.drop(columns="station")
    return {"records": {"station_from": "laid_length"}}


def days_in_reverse_order(main, seed):
    """The days of a log counted from laid lengths in reverse order, the last day first."""
    main.log = pd.concat([main.log.iloc[60:], main.log.iloc[30:60], main.log.iloc[:30]], ignore_index=True)
    return counted_log(main), (r"its joint numbers do not run with it: 31 comes behind 90", None), 2000.0


def counted_log_sorted_as_text(main, seed):
    """A log counted from laid lengths, sorted by its joint numbers as a text: 1, 10, 11, 2."""
    main.log = main.log.iloc[np.argsort(main.log["joint"].to_numpy(str))].reset_index(drop=True)
    return counted_log(main), (r"its joint numbers do not run with it: 2 comes behind 19", None), 2000.0


def days_in_reverse_order_without_numbers(main, seed):
    """The same without joint numbers."""
    main.log["date"] = [f"2026-04-{2 + row // 30:02d}" for row in range(len(main.log))]
    job, _, most = days_in_reverse_order(main, seed)
    main.log = main.log.rename(columns={"joint": "Foreman"}).assign(Foreman="Ruiz")
    return job, (r"its dates do not run with it: 2026-04-03 comes behind 2026-04-04", None), most


def numbers_taken_for_days(main, seed):
    """Joint numbers such as 3-12 that a spreadsheet program took for days."""
    main.log.loc[40:49, "joint"] = [f"2026-03-{row - 29:02d}" for row in range(40, 50)]
    return {}, (r"joints are numbered by days in 10 rows, the first 2026-03-11", None), 0.5


_ROUNDED = r"eastings and northings \(columns 'easting' and 'northing'\) of route 'A' are rounded "


def shots_in_whole_feet(main, seed):
    """Eastings and northings of the survey in whole feet, as a spreadsheet showed them."""
    main.shots[["easting", "northing"]] = main.shots[["easting", "northing"]].round(0)
    return {}, (_ROUNDED + "to 1 ft", None), 3.0


def shots_rounded_to(step, words):
    def planted(main, seed):
        for column in ("easting", "northing"):
            main.shots[column] = np.round(step * np.round(main.shots[column] / step), 3)
        return {}, (_ROUNDED + f"to {words}", None), 7.0 if step > 2.0 else 3.0

    planted.__name__ = f"shots_rounded_to_{words.replace(' ', '_')}"
    planted.__doc__ = f"Eastings and northings of the survey rounded to {words}."
    return planted


def shots_from_degrees_of(decimals):
    def planted(main, seed):
        there, back = (Transformer.from_crs(*pair, always_xy=True) for pair in ((CRS, "EPSG:6318"), ("EPSG:6318", CRS)))
        plan = there.transform(main.shots["easting"].to_numpy(), main.shots["northing"].to_numpy())
        main.shots["easting"], main.shots["northing"] = np.round(back.transform(*np.round(plan, decimals)), 3)
        return {}, (_ROUNDED + f"to {decimals} decimals of a degree", None), 7.0 if decimals == 5 else 1.0

    planted.__name__ = f"shots_from_degrees_of_{decimals}_decimals"
    planted.__doc__ = f"A survey projected from longitudes and latitudes of {decimals} decimals."
    return planted


def elevations_rounded_to(step):
    def planted(main, seed):
        main.shots["elevation"] = step * np.round(main.shots["elevation"] / step)
        said = rf"the elevations \(column 'elevation'\) of route 'A' are rounded to {step:g} ft"
        return {}, (said, None), 0.5

    planted.__name__ = f"elevations_rounded_to_{step}_ft"
    planted.__doc__ = f"Elevations of the survey rounded to {step:g} ft."
    return planted


def stations_to_five_feet(main, seed):
    """Stations written down to the nearest 5 ft, of pipes of 18 ft."""
    lay = laid(seed, length=18.0)
    main.places, main.shots, main.log = lay.places, lay.shots, lay.log
    main.log["station"] = [station(5.0 * round(along(main, row) / 5.0)) for row in range(len(main.log))]
    said = r"all stations are multiples of 5 ft, and pipes of 18 ft are not"
    return {"records": {"laying_length": 18.0}}, (said, None), 3.0


def laid_lengths_in_metres_throughout(main, seed):
    """All laid lengths in metres, under a heading without a unit."""
    main.log["laid length"] = [f"{float(one) * FT:.2f}" for one in main.log["laid length"]]
    return {}, (r"mostly 6\.1 ft as they are read, 20\.01 ft if they were written in metres", None), 0.5


def header_in_metres(main, seed):
    """A header that says metres over stations in feet."""
    main.log = main.log.rename(columns={"station": "Station (m)"})
    return {}, r"column 'Station \(m\)' says m, but station is read in ft", None


def laying_length_of_another_pipe(main, seed):
    """A laying length of 18 ft stated for pipe of 20 ft."""
    return {"records": {"laying_length": 18.0}}, ("the laid lengths of the log are mostly 20 ft", None), 0.5


def all_gasket_temperatures_in_celsius(main, seed):
    """All gasket temperatures in Celsius, under a heading without a unit."""
    # Two above freezing: cold by themselves, were they not asked about.
    main.log["gasket temp"] = [f"{7 - row % 12}" for row in range(len(main.log))]
    return {}, (r"gasket temperatures of the log are mostly [12]\.?5? F as they are read", None), 0.5


def all_gasket_temperatures_in_fahrenheit(main, seed):
    """Temperatures in Fahrenheit under a job that says Celsius: a cold gasket would be told as a warm one."""
    main.log["gasket temp"] = [f"{50 + row % 12}" for row in range(len(main.log))]
    said = r"gasket temperatures of the log are mostly 55\.?5? C as they are read, as if they were written in F"
    return {"records": {"temperature_unit": "C"}}, (said, None), 0.5


def least_gasket_temperature_in_celsius(main, seed):
    """The least gasket temperature of the job given as 4, which is Celsius."""
    said = r"inspection\.min_gasket_temperature_f = 4 is in Fahrenheit, -15\.6 C: if 4 C is meant, say 39\.2"
    return {"inspection": {"min_gasket_temperature_f": 4}}, (said, None), 0.5


def laying_length_in_inches(main, seed):
    """A laying length of 240, which is inches; three joints left out."""
    main.log = main.log.drop(index=[30, 31, 50])
    said = r"\d+ of \d+ laid lengths are at most 20 ft, but records\.laying_length is 240"
    return {"records": {"laying_length": 240.0}}, (said, None), 0.5


def laying_length_in_inches_without_laid_lengths(main, seed):
    """The same in a log without laid lengths."""
    main.log = main.log.drop(index=[30, 31, 50]).drop(columns="laid length")
    said = r"\d+ of \d+ stations are at most 20 ft apart, but records\.laying_length is 240"
    return {"records": {"laying_length": 240.0}}, (said, None), 0.5


def combined_factor_upside_down(main, seed):
    """The combined factor given as ground over grid."""
    factor = 1.0 / 0.99994
    return {"centerline": {"combined_factor": factor}}, (r"this looks like ground over grid", None), 1.0


def ground_in_another_unit(main, seed):
    """The ground over the pipe in feet, read as metres; 2 ft over the pipe."""
    main.log["ground"] = [f"{place[2] + 2.5:.2f}" for place in main.places]
    job = {
        "cover": {"log_column": "ground", "least": 3.0, "unit": "m"},
        "centerline": {"elevation": "pipe-center"},
    }
    return job, (r"the ground is more than 49 ft above the pipe, up to \d+ ft: look at its elevations", None), 0.5


def nothing_required_of_a_record(main, seed):
    """`inspection.required` left empty, records blank."""
    main.log[["inspector", "home to mark", "gauge"]] = ""
    return {"inspection": {"required": []}}, (r"inspection\.required is empty: no record can be incomplete", None), 0.5


def tolerance_of_stations_in_inches(main, seed):
    """A joint left out, under a spacing tolerance of 1 ft given in inches."""
    main.log = main.log.drop(index=40)
    return (
        {"records": {"spacing_tolerance": 12.0}},
        (r"half a pipe may be missing, or too much, and nothing", None),
        0.5,
    )


def least_cover_in_metres(main, seed):
    """A least cover of 1 m in a job in feet, over pipe that lies under 2 ft of ground."""
    main.log["ground"] = [f"{place[2] + 2.5:.2f}" for place in main.places]
    job = {"cover": {"log_column": "ground", "least": 1.0}, "centerline": {"elevation": "pipe-center"}}
    return job, (r"cover\.least = 1 is in ft, less than .*: if 1 m is meant, say 3\.28", None), 0.5


def confidence_of_one_standard_error(main, seed):
    """A confidence of 0.68, one standard error, for 0.95."""
    return {"limits": {"table": "awwa-c600", "confidence": 0.68}}, (r"32 of 100 are called within or over", None), 0.5


def five_shots_lost_in_a_row(main, seed):
    """Five shots in a row lost, where each joint was shot."""
    main.shots = main.shots.drop(main.shots.index[40:45])
    return {}, ("120 ft from point .* were not shot", None), 8.0


def first_five_shots_lost(main, seed):
    """The first five shots lost: the line begins at the sixth joint, and the stations at the first."""
    main.shots = main.shots.iloc[5:]
    return {}, ("the log runs on for .* beyond the end: the [5-7] joints there are set aside", None), 130.0


def last_five_shots_lost(main, seed):
    """The last five shots lost."""
    main.shots = main.shots.iloc[:-5]
    return {}, ("the log runs on for .* beyond the end: the 5 joints there are set aside", None), 0.2


IN_THE_LOG = (
    five_shots_lost_in_a_row, first_five_shots_lost, last_five_shots_lost,
    record_twice, two_joints_of_one_number, numbers_of_neighbours_exchanged, joint_left_out,
    station_a_hundred_too_high, station_too_high_without_numbers, station_a_thousand_too_high,
    station_five_ft_short, stations_of_a_page_shifted(20.0), stations_of_a_page_shifted(-33.0),
    a_day_by_a_tape_off(0.98, runs_on=False), a_day_by_a_tape_off(1.02, runs_on=True), stations_filled_in,
    piece_not_in_the_log(1.5), piece_not_in_the_log(3.0), stations_along_the_slope, station_beyond_the_line,
    station_blank, station_not_computed, stations_begun_anew, stations_and_numbers_begun_anew, stations_fifty_on,
    a_second_day_of_five_joints, a_second_day_written_backwards, a_page_typed_twice_by_another_inspector,
    equation_not_stated(77.0), equation_not_stated(-77.0), equation_not_stated(77.0, bare=True),
    equation_not_stated(-77.0, bare=True), equation_not_stated(77.0, coordinates=True),
    equation_counted_past(50.0), equation_counted_past(-50.0), equation_counted_past(-7.0),
    laid_length_written("2.0"), laid_length_written("200"), laid_length_in_metres,
    failure_marked_by("✗"), failure_marked_by("☒"), failure_marked_by("no ✓"),
    dot_for_plus([40]), dot_for_plus(list(range(40, 60))), line_drawn_backwards_beside_coordinates,
    a_year_written_wrongly, month_and_day_exchanged, readings_in_millimetres(gauge=False),
    readings_in_millimetres(gauge=True), gaps_of_half_the_log_in_centimetres, gasket_temperatures_in_celsius,
    gasket_temperature_without_its_point, readings_copied_down, uneven_readings_copied_down,
    days_in_two_orders, gauge_depths_of_one_hour_in_millimetres, filled_down("date"), filled_down("gasket temp"),
    inches_behind_the_point, bend_angle_without_its_point, bend_angle_with_two_digits_exchanged,
    plane_of_a_rolled_bend_left_out,
    bend_not_logged, bend_of_another_angle, start_station_of_another_joint(20), start_station_of_another_joint(-20),
    bend_written_a_row_late, shot_of_a_bend_left_out,
    shots_beside_the_joints, error_of_the_shots_understated,
    size_by_a_slip, joint_type_unknown, date_in_the_future, route_of_another_main,
    coordinates_of_one_joint_far_off, coordinates_of_one_joint_mistyped, coordinates_of_two_neighbours_mistyped,
    coordinates_of_the_first_joint_mistyped, coordinates_of_one_of_three_mistyped,
    coordinates_of_the_only_one_mistyped, coordinates_mistyped_where_the_station_is_blank,
    coordinates_of_two_joints_off_alike, station_mistyped_beside_coordinates,
    stations_in_metres_beside_coordinates, coordinates_of_the_log_exchanged, coordinates_of_one_joint_exchanged,
    latitude_and_longitude_of_one_joint_exchanged, longitude_without_its_sign, latitude_for_longitude,
    behind_the_point(2), behind_the_point(3), degrees_of_five_decimals,
    coordinates_of_the_log_on_another_datum, coordinates_of_the_log_in_the_other_foot, log_of_another_main,
    two_mains_exchanged,
    days_in_reverse_order, counted_log_sorted_as_text, days_in_reverse_order_without_numbers,
    left_and_right_exchanged(throughout=True), left_and_right_exchanged(throughout=False),
    numbers_taken_for_days, shots_in_whole_feet, shots_rounded_to(1 / FT, "1 m"), shots_rounded_to(0.5 / FT, "0.5 m"),
    shots_rounded_to(0.5, "0.5 ft"), shots_from_degrees_of(5), shots_from_degrees_of(6), elevations_rounded_to(1.0),
    elevations_rounded_to(0.5), stations_to_five_feet, laid_lengths_in_metres_throughout,
    elevations_beside_degrees, header_in_metres, laying_length_of_another_pipe,
    all_gasket_temperatures_in_celsius, all_gasket_temperatures_in_fahrenheit, least_gasket_temperature_in_celsius,
    laying_length_in_inches, laying_length_in_inches_without_laid_lengths, combined_factor_upside_down,
    ground_in_another_unit, nothing_required_of_a_record, tolerance_of_stations_in_inches, least_cover_in_metres,
    confidence_of_one_standard_error,
)  # fmt: skip


class Row(NamedTuple):
    """One blunder as the documentation shows it."""

    planted: str
    said: str
    where: str
    off: float | None
    """How far the joint that is farthest off was placed from where it was laid, ft; None where nothing was placed."""


def rows(folder: Path, seed: int) -> list[Row]:
    """Plant every blunder once and give what came of it.

    Parameters
    ----------
    folder : path of a folder to work in
    seed : int
        Of the mains.

    Returns
    -------
    list of Row
    """
    return [
        _row(folder, plant, laid(seed, **lay), seed)
        for plants, lay in ((REFUSED, {}), (FOUND, {"bends": 0}), (IN_THE_LOG, {}))
        for plant in plants
    ]


def _row(folder, plant, main, seed):
    job, expected, *_ = plant(main, seed)
    told = said(folder, main, **job)
    if told.placed is None:
        return Row(plant.__doc__.rstrip("."), f"refused: {short(told.refused.replace(f'{folder}/', ''))}", "", None)
    code, where = expected
    findings, aside, notes = told.placed.findings, told.placed.set_aside, told.placed.notes
    hit = findings[(findings["code"] == code)]
    if where is not None:
        hit = hit[(hit["joint"] == where) | (hit["point"] == where)]
    if len(hit):
        one = hit.iloc[0]
        named = f"point {one['point']}" if isinstance(one["point"], str) else f"joint {one['joint']}"
        place = named if where is not None else one["route"] and f"route {one['route']}"
        return Row(plant.__doc__.rstrip("."), f"{code}: {short(one['message'])}", place, told.off)
    for _, one in aside[(aside["reason"] == code) & (aside["row"] == where)].iterrows():
        return Row(plant.__doc__.rstrip("."), f"set aside: {short(one['message'])}", f"row {where}", told.off)
    said_so = [note.text for note in notes if re.search(code, note.text)]
    return Row(plant.__doc__.rstrip("."), f"a note: {short(said_so[0])}" if said_so else "", "", told.off)


def short(message, most=240):
    """Cut a message at a word."""
    plain = " ".join(message.split())
    return plain if len(plain) <= most else plain[:most].rpartition(" ")[0] + " ..."


def as_markdown(table: list[Row]) -> str:
    """Write the rows as a table."""
    lines = ["| planted | what is said | where | farthest joint off, ft |", "|---|---|---|---|"]
    for one in table:
        off = "none placed" if one.off is None else f"{one.off:.1f}"
        lines.append(f"| {one.planted} | {one.said.replace('|', '/')} | {one.where} | {off} |")
    return "\n".join(lines)
