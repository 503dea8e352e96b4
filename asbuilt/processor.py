"""The main job from its inputs to its layers: read, place, compute, judge, and write.

Everything between reading and writing works on columns of all joints at once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack, closing, contextmanager
from contextvars import copy_context
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import stores, units
from asbuilt.errors import JobFileError
from asbuilt.held import give_back, held, let_go
from asbuilt.inputs import allowables, vectors
from asbuilt.inputs.bounds import of_job
from asbuilt.inputs.centerline import read_centerline
from asbuilt.inputs.design import read_design
from asbuilt.inputs.ground import read_ground
from asbuilt.inputs.log import read_log
from asbuilt.inputs.photos import with_photos
from asbuilt.inputs.ties import read_ties
from asbuilt.inputs.words import check_words
from asbuilt.job import Job, load_job
from asbuilt.judging import (
    accuracy,
    copied,
    doubted,
    findings,
    lengths,
    readings,
    stated_errors,
    station_error,
    verdicts,
)
from asbuilt.judging.doubtful_keys import key_notes
from asbuilt.judging.doubtful_limits import limit_notes
from asbuilt.judging.judge import InPlace, Ready, can_be_parted, judge, looked_at
from asbuilt.judging.usual import usual_of
from asbuilt.layers import outputs
from asbuilt.layers.beside import Beside, process_to_write, writing_beside
from asbuilt.layers.outcome import Added, OfJob, OfRecords, Outcome, Whole
from asbuilt.layers.tables import WRITTEN, Gathered, Part, part_of
from asbuilt.line import projection
from asbuilt.line.routes import Routes
from asbuilt.line.stationed import STATION_TOLERANCE_M, StationedLine, stationed_line
from asbuilt.notes import Note, noted
from asbuilt.placement import Placement, check_target, unit_words
from asbuilt.placing import between_shots, elevations
from asbuilt.placing.joints import Joints
from asbuilt.placing.laid import with_laid_stations
from asbuilt.survey import heights_of_log, rounding

if TYPE_CHECKING:
    from subprocess import Popen

    import geopandas as gpd
    import pandas as pd

    from asbuilt.inputs.allowables import Allowables
    from asbuilt.inputs.design import DesignLine
    from asbuilt.inputs.ground import Ground
    from asbuilt.inputs.log import Log
    from asbuilt.survey.doubts import Doubt

Progress = Callable[[str, int, int], None]
JudgedBy = Callable[[Iterator[Ready], Beside], Generator[Part]]
"""Judges the parts of a job, and gives what becomes of them in their order; files that it makes lie in a folder of who
writes beside."""

PART = 50_000
"""Joints, or shots, that are judged at one time: what they take of memory is the same for any job above it."""
_BESIDE = 1 << 28
"""Octets of a log, at most, that is read while its line is."""
STEPS = ("read the centerline", "read the log", "place the joints", "compute deflection", "check", "write")


def place(
    job: Job | Path | str,
    *,
    centerline: gpd.GeoDataFrame | None = None,
    records: pd.DataFrame | None = None,
    today: dt.date | None = None,
    progress: Progress | None = None,
) -> Placement:
    """Place a joint log on its surveyed centerline and judge every joint.

    Parameters
    ----------
    job : Job, or path of a job file
    centerline : GeoDataFrame, optional
        Route lines in memory, used instead of the job's centerline file.
    records : DataFrame, optional
        Joint records in memory, used instead of the job's log files.
    today : date, optional
        Dates after it are doubtful, and do not make a record a joint's latest; the present day, if left out.
    progress : function of (step, steps done, steps), optional

    Returns
    -------
    Placement

    Raises
    ------
    JobFileError, InputFileError
        When the job or a file is wrong; the message names it and the remedy.

    Examples
    --------
    Three joints, the middle one turning 2 degrees:

    >>> import geopandas as gpd, pandas as pd, shapely
    >>> line = gpd.GeoDataFrame(geometry=[shapely.LineString(
    ...     [(6700000, 2000000, 50), (6700000, 2000020, 50), (6700000.698, 2000039.988, 50)])], crs="EPSG:6418")
    >>> log = pd.DataFrame({"station": ["0+00", "0+20", "0+40"], "joint": [1, 2, 3], "size": 12,
    ...     "joint type": "push-on"})
    >>> job = Job.from_mapping({"name": "Quarry Lane", "centerline": {}, "limits": {"table": "awwa-c600"},
    ...     "records": {"station_unit": "us-ft", "laying_length": 20}})
    >>> placement = place(job, centerline=line, records=log)
    >>> placement.joints[["joint", "station", "deflection_deg", "verdict"]].round(3).values.tolist()[1]
    ['2', '0+20.00', 2.0, 'within-assumed']
    """
    job, steps = _loaded(job), _Steps(progress)
    with of_job(job.bounds):
        read = _read(job, centerline, records, today or dt.date.today(), steps)
        return _placement(_found(_begun(read, steps)), steps)


def place_into(
    job: Job | Path | str,
    path: Path | str,
    *,
    today: dt.date | None = None,
    progress: Progress | None = None,
    part: int = PART,
    judged_by: JudgedBy | None = None,
) -> Whole:
    """Place a job as `place` does, and write its layers as `Placement.write` does, with a large job judged in parts.

    Parameters
    ----------
    job : Job, or path of a job file
    path : path of the file or folder to write
    today, progress : as for `place`
    part : int
        Joints, or shots, that are judged at one time; the layers are the same whatever it is.
    judged_by : function, optional
        By whom the parts of a large job are judged, as `archive.parts` has them; by this process, if left out.

    Returns
    -------
    Whole
        Counts and notes of the job.

    Raises
    ------
    JobFileError, InputFileError
        As for `place`.
    OutputError
        As for `Placement.write`, or when the temporary folder does not hold what waits to be written, or when
        whoever judges a part ends each time before it is done.

    Examples
    --------
    >>> import tempfile
    >>> values = {"name": "Quarry Lane", "crs": "EPSG:6418", "centerline": {"path": "shots.csv"},
    ...     "records": {"path": "log.csv", "station_unit": "us-ft", "laying_length": 20}}
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     for name, rows in (("shots.csv", "northing,easting;2000000,6700000;2000040,6700000"),
    ...                        ("log.csv", "station,joint;0+00,1;0+20,2")):
    ...         _ = Path(folder, name).write_text(rows.replace(";", chr(10)))
    ...     whole = place_into(Job.from_mapping(values, folder=folder), Path(folder, "joints.gpkg"))
    >>> whole.counts["joints"], whole.counts["inspections_placed"]
    (2, 2)
    """
    job, steps = _loaded(job), _Steps(progress)
    check_target(stores.path_of(path))
    with of_job(job.bounds), ExitStack() as stack:
        read = _read(job, None, None, today or dt.date.today(), steps)
        large = max(len(read.log), len(read.routes.easting)) > part and can_be_parted(job, read.routes)
        # What writes a large job gets ready while it is placed.
        writer = stack.enter_context(process_to_write(stores.path_of(path))) if large else None
        begun = _begun(read, steps)
        cuts = begun.in_place.cuts(part)
        if writer is None or len(cuts) == 1:
            placement = _placement(_found(begun), steps)
            steps("write")
            placement.write(path)
            whole = placement.whole
        else:
            whole = _written_beside(begun, cuts, stores.local(path), writer, steps, judged_by)
        steps.end()
    return whole


def _placement(found: _Found, steps: _Steps) -> Placement:
    done = judged(found.ready, steps)
    return Placement(done.ready, done.judged, done.turns, done.found, done.inspection, _whole(found, [done.added()]))


def _written_beside(
    begun: _Begun,
    cuts: Sequence[tuple[int, int]],
    path: Path,
    writer: Popen[bytes],
    steps: _Steps,
    judged_by: JudgedBy | None,
) -> Whole:
    """Judge a large job part by part, while what is known of it is written."""
    records = OfRecords(begun.in_place)
    outputs.check_output(path, begun.inputs, records.job, kind="placed")
    words = unit_words(records.job, records.routes.unit)
    # The thread ends last: where something goes wrong it can hand on nothing any more, and so soon ends.
    with (
        ThreadPoolExecutor(1) as handing_on,
        writing_beside(path, WRITTEN, crs=records.map_crs, units=words, process=writer) as beside,
    ):
        gathered = Gathered(beside)
        handed_on = handing_on.submit(gathered.add_records, records)
        found = _found(begun)
        handed_on.result()
        looked = 0
        for cut in cuts:
            one = found.ready.of_routes(*cut)
            gathered.add_places(OfJob(one))
            looked += looked_at(one)
            let_go()
        gathered.end_places()
        parts = (replace(found.ready.of_routes(*cut), looked_at=looked) for cut in cuts)
        steps("compute deflection")
        with closing(_judged_here(parts, steps) if judged_by is None else judged_by(parts, beside)) as done:
            for _, judged_part in zip(cuts, done, strict=True):
                gathered.add(judged_part)
        whole = _whole(found, gathered.added)
        steps("write")
        gathered.end(whole, dt.datetime.now(dt.UTC))
        # By now something else may be there, or may have been read.
        outputs.check_output(path, whole.inputs, whole.job, kind="placed")
    return whole


def _judged_here(parts: Iterator[Ready], steps: _Steps) -> Generator[Part]:
    """Judge part by part; a thread makes the rows of each while the next one is judged."""
    with ThreadPoolExecutor(1) as beside:
        made: Future[Part] | None = None
        for one in parts:
            done = judged(one, steps)
            if made is not None:
                yield made.result()
                let_go()
            made = beside.submit(part_of, done)
        if made is not None:
            yield made.result()


def _loaded(job: Job | Path | str) -> Job:
    if isinstance(job, dict):
        raise JobFileError("the job: make a Job of the mapping first, with Job.from_mapping")
    return job if isinstance(job, Job) else load_job(job)


class _Read(NamedTuple):
    """A job as its files have it: a line by shots that were looked through, and its log."""

    job: Job
    routes: Routes
    log: Log
    limits: Allowables
    shot_doubts: list[Doubt]
    notes: tuple[Note, ...]
    today: dt.date


class _Begun(NamedTuple):
    """A job whose records have their places, with what was read besides and what was noticed."""

    in_place: InPlace
    limits: Allowables
    design: DesignLine | None
    ground: Ground | None
    checked: accuracy.Checked
    shot_doubts: list[Doubt]
    survey_notes: tuple[Note, ...]
    laid_notes: list[Note]
    inputs: tuple[tuple[str, str], ...]
    today: dt.date


class _Found(NamedTuple):
    """A placed job, with what is noticed and what was read before it is judged."""

    ready: Ready
    checked: accuracy.Checked
    laid_notes: list[Note]
    inputs: tuple[tuple[str, str], ...]


def _read(
    job: Job,
    centerline: gpd.GeoDataFrame | None,
    records: pd.DataFrame | None,
    today: dt.date,
    steps: _Steps,
) -> _Read:
    steps("read the centerline")
    _check_days(job, today)
    with _reading_beside(job, records) as the_log:
        # A line that is strung through the joints needs the log before its step.
        routes = read_centerline(job, centerline, the_log).held(0)
        steps.rows = len(routes.easting)
        if job.centerline.elevation == "none":
            routes = elevations.without_elevations(routes)
        limits = allowables.read_allowables(job)
        check_words(job, routes.names, {family for family, _ in limits.rows})
        steps("read the log")
        routes, rounded_notes = rounding.with_rounding(routes)
        routes, shot_doubts, survey_notes = doubted.screened(job, routes, the_log, limits)
        log = replace(the_log(), last_day=today)
    steps.rows = max(steps.rows, len(log))
    notes = (*noted("shots-rounded", rounded_notes), *noted("survey-screened", survey_notes))
    return _Read(job, routes, log, limits, shot_doubts, notes, today)


@contextmanager
def _reading_beside(job: Job, records: pd.DataFrame | None) -> Iterator[Callable[[], Log]]:
    """Read the log of a job while its line is read; what is wrong with it is raised when it is asked for.

    Layers are read one after another, by one library, and so is what is too large to be read beside something else.
    """
    names = job.records.path
    if records is not None or any(Path(name).suffix.lower() in vectors.SUFFIXES for name in names) or _large(job):
        yield cache(partial(read_log, job, records))
        return
    with ThreadPoolExecutor(1) as beside:
        # A thread has the job's bounds only if it is handed what holds here.
        yield beside.submit(copy_context().run, read_log, job).result


def _large(job: Job) -> bool:
    """Say whether the log's files are too large to be read while the line is."""
    # Copied here first: the line may be in the same file, and a thread that waits for a store keeps Ctrl+C waiting.
    files = [job.file(name) for name in job.records.path]
    return sum(one.stat().st_size for one in files if one.is_file()) > _BESIDE


def _begun(read: _Read, steps: _Steps) -> _Begun:
    job, routes, log, limits = read.job, read.routes, read.log, read.limits
    ties = read_ties(job, routes.names)
    line = stationed_line(job, routes, ties)
    checked = accuracy.check_survey(job, line.routes)
    line = replace(line, routes=accuracy.with_errors_found(line.routes, checked.accuracy))
    design, ground = read_design(job, line.routes), read_ground(job, line.routes)
    log, laid_notes = with_laid_stations(job, line, with_photos(job, log))
    steps("place the joints")
    line, placed = between_shots.placed(job, line, log, ties)
    give_back(len(log))
    inputs = (
        *line.routes.inputs,
        *_tie_inputs(line.routes),
        *checked.inputs,
        *log.inputs,
        *limits.inputs,
        *(design.routes.inputs if design is not None else ()),
        *(ground.inputs if ground is not None else ()),
    )
    return _Begun(
        InPlace(job, line, log, placed),
        limits,
        design,
        ground,
        checked,
        read.shot_doubts,
        read.notes,
        laid_notes,
        inputs,
        read.today,
    )


def _found(begun: _Begun) -> _Found:
    """Hold the survey of a job against its log, and find what is needed to judge its joints."""
    job, line, log, placed = begun.in_place.job, begun.in_place.line, begun.in_place.log, begun.in_place.placed
    line, joints, doubts, direction_notes, apart = doubted.against_the_log(job, line, log, placed, begun.shot_doubts)
    give_back(len(log))
    joints, rounded = elevations.with_rounding(joints, line.routes)
    low = elevations.as_low_as_depths(line.routes)
    routes, joints, height_notes = elevations.to_pipe_center(job, line.routes, log, joints)
    unused, unlike = heights_of_log.hold_unused(
        routes, joints.route, joints.elevation, elevations.unused_in_the_log(job, log, joints, routes.unit)
    )
    line, understated = stated_errors.with_errors_by_lengths(job, replace(line, routes=routes), log, joints)
    stations = held(station_error.station_error(job, line, log, joints, placed.records), len(log))
    give_back(len(log))
    notes = (
        *placed.notes,
        *begun.survey_notes,
        *noted("direction-untold", direction_notes),
        *noted("positions-doubtful", [*apart, *rounded, *unlike]),
        *noted("elevations-read", [*height_notes, *low, *unused]),
        *noted("sigma-understated", [*understated, *station_error.understated(job, line, stations)]),
    )
    placed = placed._replace(joints=held(joints, len(log)), notes=notes)
    doubts = held(doubts, len(log))
    to_map, to_degrees = _map_steps(job, line.routes, joints)
    ready = Ready(
        job=job,
        line=line,
        log=log,
        placed=placed,
        limits=begun.limits,
        doubts=doubts,
        design=begun.design,
        ground=begun.ground,
        checked=begun.checked.accuracy,
        stations=stations,
        confidence=verdicts.confidence_of_joint(job.limits.confidence, job.limits.confidence_of, joints.route),
        usual=held(usual_of(job, log, joints, placed.records), len(log)),
        today=begun.today,
        to_map=to_map,
        to_degrees=to_degrees,
    )
    return _Found(ready, begun.checked, begun.laid_notes, begun.inputs)


def judged(ready: Ready, step: Callable[[str], None] = lambda _: None) -> Outcome:
    """Judge a placed job, or some of its routes, and gather what there is to look at."""
    step("compute deflection")
    turned, found = judge(ready)
    step("check")
    return Outcome(ready, found, turned, findings.find_all(found), findings.inspection_state(found))


def _whole(found: _Found, added: Sequence[Added]) -> Whole:
    """Say what is said of the whole job, from what its parts add."""
    ready, job = found.ready, found.ready.job
    routes, joints, to_map, to_degrees = ready.line.routes, ready.placed.joints, ready.to_map, ready.to_degrees
    taken = [one.readings for one in added]

    def of_all(name: str) -> list[Any]:
        return [item for one in added for item in getattr(one, name)]

    return Whole(
        ready=ready,
        added=tuple(added),
        inputs=(*found.inputs, *of_all("inputs")),
        notes=(
            *noted("survey-read", routes.notes),
            *noted("log-read", ready.log.notes),
            *found.laid_notes,
            *noted("allowables-doubtful", (*ready.limits.notes, *_limits_unused(ready))),
            *noted("limits-doubtful", limit_notes(job, ready.log)),
            *noted("keys-doubtful", key_notes(job, ready.log, routes, {family for family, _ in ready.limits.rows})),
            *_survey_notes(routes, joints),
            *station_error.notes(ready.stations, job.records.sigma_station, routes, joints),
            *_length_notes(ready.line, of_all("intervals")),
            *_area_notes(routes, joints, to_degrees),
            *found.checked.notes,
            *noted("readings-alike", copied.alike_notes(ready.log, ready.usual.copied, ready.usual.in_order)),
            *noted("readings-taken", readings.reading_notes(job, _filled(ready.log), taken)),
            *noted("readings-turned", of_all("clock_notes")),
            *noted("readings-unused", readings.unused_notes(taken)),
            *noted("shots-apart", of_all("apart_notes")),
            *noted("joints-by-stations", _by_stations(sum(one.by_stations for one in added))),
            *noted("design-read", of_all("design_notes")),
            *noted("keys-doubtful", of_all("design_doubts")),
            *noted("cover-found", of_all("cover_notes")),
            *noted("cover-doubtful", of_all("cover_doubts")),
            *noted("profile-found", of_all("profile_notes")),
            *ready.placed.notes,
            *noted("map-step", (*to_map.told_of("the map"), *to_degrees.notes)),
        ),
    )


_LINES = {
    "drawn": "the centerline was drawn, not shot on the pipe",
    "design": "the centerline is a design, and was not shot on the pipe",
}  # fmt: skip


def _filled(log: Log) -> list[str]:
    """Name the fields of a log that hold anything."""
    return [name for name, values in log.fields.items() if values.null_count < len(values)]


def _length_notes(line: StationedLine, intervals: list[lengths.Interval]) -> list[Note]:
    by_curve = line.routes.plan is not None
    least = units.factor("m", line.station_unit) * STATION_TOLERANCE_M
    return noted("lengths-differ", lengths.told(intervals, least, line.symbol, by_curve))


def _tie_inputs(routes: Routes) -> tuple[tuple[str, str], ...]:
    return routes.calibration.inputs if routes.calibration is not None else ()


def _limits_unused(ready: Ready) -> list[str]:
    if not ready.limits.own:
        return []
    log = ready.log
    family = allowables.families(log.text("joint_type"), log.text("restrained"))
    return ready.limits.unused(family, log.number("size"))


def _survey_notes(routes: Routes, joints: Joints) -> list[Note]:
    if not routes.shot and joints.surveyed.any():
        text = f"{_LINES[str(routes.source)]}: verdicts take the surveyed joints on it as without error"
        return noted("line-drawn-between", [text])
    if not routes.shot:
        text = "positions and deflections are the line's, and say nothing of the pipe as it was laid"
        return noted("line-drawn", [f"{_LINES[str(routes.source)]}: {text}"])
    unsaid = [key for key, sigma in (("horizontal", routes.sigma_horizontal), ("vertical", routes.sigma_vertical))
              if sigma is None and (key == "horizontal" or np.isfinite(routes.elevation).any())]  # fmt: skip
    if not unsaid:
        return []
    keys = " and ".join(f"centerline.sigma_{key}" for key in unsaid)
    text = f"the job does not say how well the shots are known ({keys}): verdicts take them as without error"
    also = "" if routes.source else "; nor does it say whether the line was shot on the pipe (centerline.source)"
    return noted("shots-exact", [f"{text}, and readings are not held against them{also}"])


def _by_stations(many: int) -> list[str]:
    """Say how many verdicts stand and fall with the first shot being at the first joint."""
    if not many:
        return []
    told = f"{many:,} verdict is" if many == 1 else f"{many:,} verdicts are"
    return [
        f"{told} within by shots that stations alone put at the joints: counted from a shot beside the first joint, as "
        "at mid-pipe, all shots are as far beside theirs, and all joints as far from their places, beyond their "
        "accuracies; nothing else in the data shows it; say "
        "centerline.shots_at_joints = true where the crew shot the joints themselves, or false where nobody knows"
    ]


def _check_days(job: Job, today: dt.date) -> None:
    tests = [
        (f"pressure_tests (no. {number}).tested_on", one.tested_on) for number, one in enumerate(job.pressure_tests, 1)
    ]
    for key, day in [("centerline.surveyed_on", job.centerline.surveyed_on), *tests]:
        if day is not None and day > today:
            raise JobFileError(f"{key}: {day} is later than today, {today}; correct it")


def _map_steps(job: Job, routes: Routes, joints: Joints) -> tuple[projection.Step, projection.Step]:
    if job.output.crs is None:
        to_map = projection.Step(None, "none", ())
    else:
        accept_m = job.accept_accuracy_m
        to_map = projection.map_step(routes.crs, job.output.crs, joints.easting, joints.northing, accept_m=accept_m)
    return to_map.after(routes.datum_step), projection.geographic_step(routes.crs, joints.easting, joints.northing)


def _area_notes(routes: Routes, joints: Joints, to_degrees: projection.Step) -> list[Note]:
    """Notice coordinates outside the area that their system is made for."""
    area = routes.crs.area_of_use
    longitude, latitude = to_degrees.apply(joints.easting[:1], joints.northing[:1])
    if area is None or projection.inside(routes.crs, longitude, latitude, 0.0).all():
        return []
    text = (
        f"the joints lie outside the area of {routes.crs.name} ({area.name}): check the coordinate system, that "
        "northing and easting are not exchanged, and that none of their leading digits were left out"
    )
    return noted("area-outside", [text])


class _Steps:
    """Tells of each step once, when the first part of a job comes to it; frees what the step before it needed alone."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._told: set[str] = set()
        self.rows = 0
        """Of the log, as soon as it is read."""

    def __call__(self, step: str) -> None:
        if step in self._told:
            return
        self._told.add(step)
        give_back(self.rows)
        if self._progress is not None:
            self._progress(step, STEPS.index(step), len(STEPS))

    def end(self) -> None:
        """Tell that the last step is done."""
        if self._progress is not None:
            self._progress(STEPS[-1], len(STEPS), len(STEPS))
