"""Loads: a placed job merged into the register in one transaction, and undone again.

What a load replaces goes to the tables of earlier states; what is in conflict is left out and listed.
"""

from __future__ import annotations

import datetime as dt
import getpass
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.errors import InputFileError
from asbuilt.register import fields, layout, merge, question, service, waiting
from asbuilt.register.incoming import Incoming, layer_crs, main_route, mixed, read_incoming, steps
from asbuilt.register.opening import make_register, open_register
from asbuilt.register.store import Store, floats, insert, ints, quoted
from asbuilt.register.undo import take_back, to_earlier

Progress = Callable[[str, int, int], None]

STEPS = ("read the placed job", "match its joints", "merge")
TOLERANCE_M = 0.3048
"""One foot."""
SURVEYED_AGAIN_M = 5.0
"""Joints of one route and number that are no farther apart are one main surveyed twice; ours, no source."""
LISTED = 1000
"""Changed joints that are listed column by column, and new joints that are named; beyond that they are counted."""

_UNSEEN = {"content", "load_id", "first_load_id", "findings", "joint_uid"}
_PLACE = {"easting", "northing", "longitude", "latitude"}


@dataclass
class Loaded:
    """What came of a load."""

    register: str
    file: str
    job: str
    sha256: str
    dry_run: bool
    load: int | None = None
    """Number of the load; None where nothing was written."""
    made: bool = False
    """Whether the register was made for it."""
    joints: dict[str, int] = field(default_factory=dict)
    inspections: dict[str, int] = field(default_factory=dict)
    findings: dict[str, int] = field(default_factory=dict)
    changes: list[dict[str, Any]] = field(default_factory=list)
    new_joints: list[dict[str, Any]] = field(default_factory=list)
    """Joints that a job loaded before now has besides; of a job's first load all are new, and none is listed."""
    conflicts: list[dict[str, Any]] = field(default_factory=list)
    not_mentioned: list[dict[str, Any]] = field(default_factory=list)
    """Joints of the job's earlier loads that this file says nothing of; they stay as they are."""
    notes: list[str] = field(default_factory=list)
    settled: int = 0
    """Joints left out because somebody settled that the register's stay as they are."""
    kept_before: bool = False
    """Whether the register keeps these conflicts already, from a load of the same content."""
    main: str | None = None
    """The main that the job's routes were put under."""
    replaced: int = 0
    """Joints of the register whose place the job's main takes."""
    taken_back: list[int] = field(default_factory=list)
    """Earlier loads of the job, under no main, that were undone, as all of it is under the main now."""
    records_of_loads: list[int] = field(default_factory=list)
    """Loads of other jobs that brought some of the same records, which were not entered twice."""

    @property
    def changed(self) -> bool:
        """Whether the register is another than before, or would be: it also keeps what was left out."""
        told = self.joints.get("new") or self.joints.get("updated") or self.findings.get("added") or self.replaced
        return bool(told or (self.conflicts and not self.kept_before))


def load(
    file: Path | str,
    into: str,
    *,
    crs: str | None = None,
    main: str | None = None,
    tolerance_m: float = TOLERANCE_M,
    by: str | None = None,
    dry_run: bool = False,
    agreed: Mapping[str, str] | None = None,
    replaces: Sequence[str] = (),
    progress: Progress | None = None,
) -> Loaded:
    """Merge a placed job into a register, whole or not at all; a register that is not there is made.

    Parameters
    ----------
    file : path of a GeoPackage that `asbuilt place` wrote
    into : str
        Path of the register, or a postgresql:// address.
    crs : str, optional
        Coordinate system of a register to be made; the file's own, if left out.
    main : str, optional
        Main that the job's routes belong to: they stand under its name, so that route A of two contracts are two
        routes. A later load of the same job takes the same, if left out.
    tolerance_m : float
        Metres within which two places are one.
    by : str, optional
        Who loads; the user of this machine, if left out.
    dry_run : bool
        Only tell what would happen.
    agreed : mapping, optional
        Joints of the job that are joints of the register, settled by a person: joint_uid of the one by that of the
        other. It is kept, and holds for later loads of the same job.
    replaces : sequence of str
        Mains whose place the job's takes: routes of the register, or parts of them like `A 12+00..14+00`. Their joints
        stay, as replaced.
    progress : function of (step, steps done, steps), optional

    Returns
    -------
    Loaded

    Raises
    ------
    InputFileError, OutputError
        When the file is not a placed job, or the register cannot be read or written; nothing is changed then.

    Examples
    --------
    >>> import tempfile, asbuilt
    >>> folder = tempfile.TemporaryDirectory()
    >>> asbuilt.place("sample_gis/job_metric.toml").write(f"{folder.name}/joints.gpkg")
    >>> load(f"{folder.name}/joints.gpkg", f"{folder.name}/register.gpkg").joints["new"]
    118
    >>> load(f"{folder.name}/joints.gpkg", f"{folder.name}/register.gpkg").changed
    False
    >>> folder.cleanup()
    """
    report = progress or (lambda step, done, of: None)
    path = Path(file)
    report(STEPS[0], 0, len(STEPS))
    own = layer_crs(path)
    store = open_register(into, missing_ok=True, writing=not dry_run, updating=not dry_run)
    if store is None and replaces:
        raise InputFileError(f"--replaces: {into} is not there yet, so nothing in it can be replaced; leave it out")
    if store is None and dry_run:
        return _first(path, into, crs or own, main)
    made = store is None
    begun = path.stat()
    incoming = None
    if store is None:
        # Everything that can be wrong with the file is found before there is a register.
        incoming = read_incoming(path, _crs(crs or own), main)
        store = make_register(into, crs or own)
    elif crs is not None and not store.crs.equals(_crs(crs), ignore_axis_order=True):
        store.close()
        raise InputFileError(f"{into}: the register is in {store.crs.name}, not {crs}; leave --crs out")
    try:
        # Another load may have made it at the same moment, in another system.
        if incoming is None or not store.crs.equals(_crs(crs or own), ignore_axis_order=True):
            incoming = read_incoming(path, store.crs, main)
        asked = main
        if main is None:
            with store.reading():
                main = _main_before(store, incoming.job)
            incoming = read_incoming(path, store.crs, main) if main is not None else incoming
        report(STEPS[1], 1, len(STEPS))
        result = Loaded(store.name, str(path), incoming.job, incoming.sha256, dry_run, made=made, main=main)
        result.notes += incoming.notes
        if main is not None:
            result.notes.append(
                f"the job's routes are kept under the main {main!r}, route A as {main_route(main, 'A')!r}"
            )
        who = by or getpass.getuser()
        with store.reading() if dry_run else store.changing(incoming):
            replaced, said = service.replace(
                store, replaces, incoming.easting, incoming.northing, set(incoming.text("joint_uid").to_pylist())
            )
            result.notes += said
            result.replaced = len(replaced)
            out = {uid for (uid,) in store.rows(service.OUT_OF_SERVICE)} | set(replaced)
            if asked is not None:
                before = _unmained(store, incoming)
                if before:
                    _put_under_main(store, before, who, result)
                _refuse_the_same_main(store, incoming, path, out, [one[0] for one in before])
            repeated = _repeated(store, incoming)
            if repeated is not None:
                _tell_of_repeated_whole(incoming, result, repeated)
            else:
                settled = _settled_before(store, incoming.job)
                plan = _plan(store, incoming, tolerance_m, settled.with_agreed(agreed or {}), out, result)
            report(STEPS[2], 2, len(STEPS))
            if not dry_run and repeated is None and result.changed:
                _write(store, incoming, plan, tolerance_m, who, result)
                _keep_agreed(store, incoming, agreed or {}, who, result)
            if not dry_run and replaced:
                number = result.load or _latest_load(store, incoming.job)
                new = ", ".join(sorted(set(incoming.tables["joints"]["route"].to_pylist())))
                service.write(store, replaced, "replaced", who, replaced_by=new, load=number)
            after = path.stat()
            if (begun.st_mtime_ns, begun.st_size, begun.st_ino) != (after.st_mtime_ns, after.st_size, after.st_ino):
                raise InputFileError(f"{path}: was changed while it was being loaded; load it again")
        report(STEPS[2], 3, len(STEPS))
        return result
    finally:
        store.close()


def _crs(text: str) -> Any:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_user_input(text)
    except CRSError:
        raise InputFileError(f"--crs: {text!r} is not a known coordinate system; write it like EPSG:6418") from None


def _repeated(store: Store, incoming: Incoming) -> tuple[Any, ...] | None:
    """Find the latest load of the job, if it says the same and nothing of it was left out: nothing is new then."""
    found = store.rows(
        "SELECT load_id, loaded_at, loaded_by, content_sha256, joints_left_out FROM loads "
        "WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1",
        job=incoming.job,
    )
    return found[0][:3] if found and found[0][3:] == (incoming.whole, 0) else None


def _main_before(store: Store, job: str) -> str | None:
    """Give the main under which the latest standing load of a job put its routes."""
    found = store.rows(
        "SELECT run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1", job=job
    )
    main = json.loads(found[0][0] or "{}").get("main") if found else None
    return str(main) if main else None


def _latest_load(store: Store, job: str) -> int:
    return int(store.rows("SELECT max(load_id) FROM loads WHERE job = :job AND state = 'standing'", job=job)[0][0])


def _unmained(store: Store, incoming: Incoming) -> list[tuple[int, str]]:
    """Give the standing loads of a job, latest first, that brought part of what it says now, under no main."""
    found = store.rows(
        "SELECT load_id, file, run FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC",
        job=incoming.job,
    )
    loads = [(int(number), str(file)) for number, file, run in found if not json.loads(run or "{}").get("main")]
    if len(loads) < len(found):
        return []
    place = dict(zip(incoming.own_uid.to_pylist(), zip(incoming.easting, incoming.northing, strict=True), strict=True))
    joints = store.rows(
        "SELECT j.joint_uid, j.easting, j.northing FROM joints j JOIN loads l ON l.load_id = j.first_load_id "
        "WHERE l.job = :job",
        job=incoming.job,
    )
    if not joints or any(uid not in place for uid, *_ in joints):
        return []
    here = np.array([place[uid] for uid, *_ in joints], dtype=np.float64)
    there = np.array([one[1:] for one in joints], dtype=np.float64)
    away = store.ground.away(here[:, 0], here[:, 1], there[:, 0], there[:, 1])
    return loads if bool(np.all(away <= SURVEYED_AGAIN_M)) else []


def _put_under_main(store: Store, loads: list[tuple[int, str]], by: str, result: Loaded) -> None:
    """Take back the job's loads under no main, so that all of the job is under the main."""
    result.taken_back = [number for number, _ in loads]
    numbers = ", ".join(map(str, result.taken_back))
    if result.dry_run:
        result.notes.append(f"load {numbers} of this job would be undone first, so that all of it is under the main")
        return
    for number, file in loads:
        take_back(store, number, result.job, file, by)
    result.notes.append(f"load {numbers} of this job was undone first: all of it is under the main now")


def _refuse_the_same_main(store: Store, incoming: Incoming, path: Path, out: set[str], taken_back: list[int]) -> None:
    """Refuse a main of its own for joints that the register has, by route and number, in nearly the same place."""
    store.stage("unmained", {"joint_uid": incoming.own_uid})
    found = store.columns(
        "SELECT s.nr, j.easting, j.northing, j.load_id, j.joint_uid FROM unmained s "
        "JOIN joints j ON j.joint_uid = s.joint_uid",
        5,
    )
    of_others = [at for at, (load, uid) in enumerate(zip(*found[3:], strict=True))
                 if uid not in out and load not in taken_back]  # fmt: skip
    found = [tuple(values[at] for at in of_others) for values in found]
    row = ints(found[0])
    away = store.ground.away(incoming.easting[row], incoming.northing[row], floats(found[1]), floats(found[2]))
    near = np.flatnonzero(away <= SURVEYED_AGAIN_M)
    if len(near):
        raise InputFileError(
            f"{path}: {len(near)} joints lie within {SURVEYED_AGAIN_M:g} m of joints of the same route and number "
            f"(load {int(found[3][near[0]])}): the same main, surveyed again. Under a main of its own it would be in "
            "the register twice; load it with a --tolerance that takes the places for one"
        )


def _same_as_latest(store: Store, incoming: Incoming) -> bool:
    """Tell whether the latest standing load of the job brought just this content."""
    found = store.rows(
        "SELECT content_sha256 FROM loads WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1",
        job=incoming.job,
    )
    return bool(found) and found[0][0] == incoming.whole


def _tell_of_repeated_whole(incoming: Incoming, result: Loaded, repeated: tuple[Any, ...]) -> None:
    rows = {name: table.num_rows for name, table in incoming.tables.items()}
    result.joints = {"read": rows["joints"], "new": 0, "updated": 0, "unchanged": rows["joints"], "left_out": 0}
    result.inspections = {
        "read": rows["inspections"], "added": 0, "unchanged": rows["inspections"], "left_out": 0, "superseded": 0,
    }  # fmt: skip
    result.findings = {"read": rows["findings"], "added": 0, "superseded": 0}
    result.notes.append(_same_content(*repeated))


def _same_content(number: int, at: str, by: str) -> str:
    return f"the content of this file is that of load {number}, loaded {at} by {by}"


def _first(path: Path, into: str, crs: str, main: str | None) -> Loaded:
    """Tell what a load would do that makes the register: all is new."""
    incoming = read_incoming(path, _crs(crs), main)
    result = Loaded(into, str(path), incoming.job, incoming.sha256, True, made=True, notes=list(incoming.notes))
    rows = {name: table.num_rows for name, table in incoming.tables.items()}
    count = rows["joints"]
    result.joints = {"read": count, "new": count, "updated": 0, "unchanged": 0, "left_out": 0}
    result.inspections = {
        "read": rows["inspections"], "added": rows["inspections"], "unchanged": 0, "left_out": 0, "superseded": 0,
    }  # fmt: skip
    result.findings = {"read": rows["findings"], "added": rows["findings"], "superseded": 0}
    return result


@dataclass(frozen=True)
class _Settled:
    """What was settled of a job's joints: by the joint_uid that the job gives each."""

    theirs: dict[str, str]
    """Joint of the register that it is."""
    ours: dict[str, str]
    """Digest of what the job said when the register's joint was kept."""

    def with_agreed(self, agreed: Mapping[str, str]) -> _Settled:
        """Add what is being settled now."""
        return _Settled({**self.theirs, **agreed}, {uid: said for uid, said in self.ours.items() if uid not in agreed})


def _settled_before(store: Store, job: str) -> _Settled:
    found = store.rows(
        "SELECT joint_uid, decision, register_uid, said FROM settled WHERE job = :job ORDER BY fid", job=job
    )
    latest = {uid: (decision, register_uid, content) for uid, decision, register_uid, content in found}
    return _Settled(
        {uid: one[1] for uid, one in latest.items() if one[0] == "theirs"},
        {uid: one[2] for uid, one in latest.items() if one[0] == "ours"},
    )


def _keep_agreed(store: Store, incoming: Incoming, agreed: Mapping[str, str], by: str, result: Loaded) -> None:
    """Write down what was settled by this load."""
    content = dict(zip(incoming.text("joint_uid").to_pylist(), incoming.content.tolist(), strict=True))
    waiting = {one["joint_uid"] for one in result.conflicts}
    for joint_uid, register_uid in agreed.items():
        if joint_uid in content and joint_uid not in waiting:
            insert(
                store, "settled", job=incoming.job, joint_uid=joint_uid, decision="theirs", register_uid=register_uid,
                said=f"{content[joint_uid]}", load_id=result.load, settled_by=by, settled_at=_now(),
            )  # fmt: skip


@dataclass(frozen=True)
class _Plan:
    """What a load will do; arrays of shape (joints,) unless named otherwise."""

    decision: merge.Decision
    fid: Ints
    """The register's number of each matched joint; 0 for a new one."""
    uid: pa.Array
    """The register's joint_uid of each joint."""
    first_load: Ints
    kept: dict[str, list[Any]]
    """Columns in which some joints keep what the register has, instead of what the file says."""
    add_records: Ints
    """Inspections to add, by index."""
    add_findings: Ints
    """Findings to add, by index."""
    end_records: Ints
    """Numbers of the register's inspections that are superseded."""
    end_findings: Ints
    """Numbers of the register's findings that are superseded."""


def _plan(
    store: Store, incoming: Incoming, tolerance_m: float, settled: _Settled, out: set[str], result: Loaded
) -> _Plan:
    count = len(incoming.content)
    known = bool(store.rows("SELECT 1 FROM joints LIMIT 1"))
    pairs, register = _candidates(store, incoming, tolerance_m, settled.theirs, out) if known else _no_candidates()
    decision = merge.decide(count, incoming.content, pairs, tolerance_m)
    matched = (decision.pair >= 0) & (decision.what != merge.CONFLICT)
    of = decision.pair[matched]
    fid, first_load = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    fid[matched], first_load[matched] = register["fid"][of], register["first_load_id"][of]
    uid = np.asarray(incoming.text("joint_uid"), dtype=object)
    uid[matched] = register["joint_uid"][of]
    moving = np.isin(decision.what, (merge.NEW, merge.UPDATED))
    end_records, kept = _records_to_end(store, incoming, decision, fid)
    kept |= _records_of_others(store, incoming, decision, fid, result)
    add_records = np.flatnonzero(moving[incoming.record_joint] & ~kept)
    end_findings, add_findings = _findings_to_end(store, incoming, decision, fid, moving)
    columns = _kept_columns(store, incoming, decision, pairs, fid)
    add_findings = add_findings[~_beside_the_point(incoming, columns)[add_findings]]
    plan = _Plan(
        decision, fid, pa.array(uid, pa.string()), first_load, columns, add_records, add_findings, end_records,
        end_findings,
    )  # fmt: skip
    _tell(store, incoming, plan, pairs, register, kept, settled, result)
    return plan


_NAMING = ("route", "joint", "station", "distance", "station_number", "station_unit")
"""Where along which route a joint is: two jobs may tell it by two routes, of which the register's stays."""


def _kept_columns(
    store: Store, incoming: Incoming, decision: merge.Decision, pairs: merge.Candidates, fid: Ints
) -> dict[str, list[Any]]:
    """Give the columns in which changed joints keep what the register has; the rest of each is the file's."""
    rows = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(rows):
        return {}
    jobs = {int(number): str(job) for number, job in store.rows("SELECT load_id, job FROM loads")}
    names = list(dict.fromkeys([*_NAMING, *fields.NEEDED]))
    columns = _file_columns(incoming, names)
    to, used = incoming.run["coordinate_unit"], set()
    elsewhere = ~pairs.same_route[decision.pair[rows]]
    for row, known in _present(store, incoming, fid[rows], rows, elsewhere, names):
        kept = fields.keep({name: values[row] for name, values in columns.items()}, known, incoming.job, jobs, to)
        if not pairs.same_route[decision.pair[row]]:
            kept |= {name: known[name] for name in _NAMING}
            kept["distance"] *= units.factor(known["coordinate_unit"], to)
        for name, value in kept.items():
            columns[name][row] = value
        used |= set(kept)
    return {name: columns[name] for name in used}


def _beside_the_point(incoming: Incoming, kept: Mapping[str, list[Any]]) -> Any:
    """Find the findings that a joint has no inspection, where an earlier job's inspection stays."""
    of = kept.get("inspection_load_id", [None] * len(incoming.content))
    has_one = np.array([one is not None for one in of] + [False], dtype=np.bool_)
    missing = np.asarray(pc.equal(incoming.tables["findings"]["code"], "inspection-missing"), dtype=np.bool_)
    return missing & has_one[incoming.finding_joint]


def _present(
    store: Store, incoming: Incoming, fid: Ints, rows: Ints, elsewhere: Any, names: list[str]
) -> list[tuple[int, dict[str, Any]]]:
    """Ask for the present states that are not all of the same job; each comes with the index of its incoming joint."""
    store.stage("kept", {"fid": fid, "row": rows, "elsewhere": elsewhere.astype(np.int64)})
    of = " OR ".join(
        f"EXISTS (SELECT 1 FROM loads l WHERE l.load_id = j.{column} AND l.job <> :job)"
        for column in ("load_id", *(group.load_column for group in fields.GROUPS))
    )
    found = store.dicts(
        f"SELECT k.row, {quoted(names, 'j.')} FROM kept k JOIN joints j ON j.fid = k.fid "
        f"WHERE k.elsewhere = 1 OR {of} ORDER BY k.nr",
        ["row", *names],
        job=incoming.job,
    )
    return [(int(known.pop("row")), known) for known in found]


def _file_columns(incoming: Incoming, names: Sequence[str]) -> dict[str, list[Any]]:
    """Give columns of the joints as the file has them, to be changed."""
    table, count = incoming.tables["joints"], len(incoming.content)
    known = {
        "station_number": incoming.station_number.tolist(),
        "station_unit": [incoming.run["station_unit"]] * count,
        "size_unit": [incoming.size_unit] * count,
        "coordinate_unit": [incoming.run["coordinate_unit"]] * count,
        "load_id": [None] * count,
    }
    return {
        name: known[name] if name in known else table[name].to_pylist() if name in table.column_names
        else [None] * count
        for name in names
    }  # fmt: skip


_OF_JOINT = ("fid", "joint_uid", "route", "joint", "station", "load_id", "first_load_id")


def _no_candidates() -> tuple[merge.Candidates, dict[str, Any]]:
    no_ints, no_floats, no = np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.bool_)
    pairs = merge.Candidates(no_ints, no_ints, no, no, no_floats, no_floats, no, no_ints, no_floats, no)
    return pairs, {name: np.zeros(0, dtype=object if name in _OF_JOINT[1:5] else np.int64) for name in _OF_JOINT}


def _candidates(
    store: Store, incoming: Incoming, tolerance_m: float, theirs: Mapping[str, str], out: set[str]
) -> tuple[merge.Candidates, dict[str, Any]]:
    """Ask the register which of its joints each incoming one may be: by joint_uid, and by place for the others."""
    store.stage(
        "incoming",
        {"joint_uid": incoming.text("joint_uid"), "easting": incoming.easting, "northing": incoming.northing},
    )
    wanted = "s.nr, " + quoted(_OF_JOINT, "j.") + ", j.easting, j.northing, j.elevation, j.coordinate_unit"
    by_uid = store.columns(f"SELECT {wanted} FROM incoming s JOIN joints j ON j.joint_uid = s.joint_uid", 12)
    named = np.zeros(len(incoming.content), dtype=np.bool_)
    named[ints(by_uid[0])] = True
    # Joints that the register does not know by name, or that moved: what lies where they are now?
    moved = ints(by_uid[0])[_away(store, incoming, by_uid) > tolerance_m]
    others = np.union1d(np.flatnonzero(~named), moved)
    by_place: list[tuple[Any, ...]] = [()] * 12
    if len(others):
        east, north = store.ground.reach(incoming.easting[others], incoming.northing[others], tolerance_m)
        store.stage(
            "unnamed",
            {"row": others, "easting": incoming.easting[others], "northing": incoming.northing[others]},
        )
        by_place = store.columns(
            f"SELECT {wanted.replace('s.nr', 's.row', 1)} FROM {store.near('unnamed')}", 12, reach_east=east,
            reach_north=north,
        )  # fmt: skip
        # In the trench of a main out of service lies another by now, unless a later record speaks of its own route.
        named_routes = incoming.text("route").to_pylist()
        by_place = _only(by_place, lambda row, _, uid, route: uid not in out or named_routes[row] == route)
    known = {pair for found in (by_uid, by_place) for pair in zip(*found[:2], strict=True)}
    of_settled = _settled_pairs(store, incoming, theirs, wanted, known)
    every = [(*one, *other, *more) for one, other, more in zip(by_uid, by_place, of_settled, strict=True)]
    return _as_candidates(store, incoming, every, len(by_uid[0]), theirs)


def _only(found: list[tuple[Any, ...]], wanted: Callable[..., bool]) -> list[tuple[Any, ...]]:
    """Give the rows, held as columns, whose first four cells are wanted."""
    kept = [at for at, cells in enumerate(zip(*found[:4], strict=True)) if wanted(*cells)]
    return [tuple(values[at] for at in kept) for values in found]


def _settled_pairs(
    store: Store, incoming: Incoming, theirs: Mapping[str, str], wanted: str, known: set[tuple[Any, ...]]
) -> list[tuple[Any, ...]]:
    """Ask for the joints of the register that somebody settled to be incoming ones, wherever they lie."""
    uids = incoming.text("joint_uid").to_pylist() if theirs else []
    rows = [row for row, uid in enumerate(uids) if uid in theirs]
    if not rows:
        return [()] * 12
    store.stage("agreed", {"row": np.array(rows), "joint_uid": [theirs[uids[row]] for row in rows]})
    asked = wanted.replace("s.nr", "s.row", 1)
    found = store.rows(f"SELECT {asked} FROM agreed s JOIN joints j ON j.joint_uid = s.joint_uid")
    new = [one for one in found if (one[0], one[1]) not in known]
    return list(zip(*new, strict=True)) if new else [()] * 12


def _away(store: Store, incoming: Incoming, found: list[tuple[Any, ...]]) -> Floats:
    """Give the distances of incoming joints from those found in the register, metres."""
    row = ints(found[0])
    return store.ground.away(incoming.easting[row], incoming.northing[row], floats(found[8]), floats(found[9]))


def _as_candidates(
    store: Store, incoming: Incoming, found: list[tuple[Any, ...]], by_uid: int, theirs: Mapping[str, str]
) -> tuple[merge.Candidates, dict[str, Any]]:
    row = ints(found[0])
    register = {
        name: np.array(values, dtype=object) if name in _OF_JOINT[1:5] else ints(values)
        for name, values in zip(_OF_JOINT, found[1:8], strict=True)
    }
    elevation = floats(found[10])
    here = incoming.easting[row], incoming.northing[row]
    own_metres = float(units.METRES[incoming.run["coordinate_unit"]])
    metres = np.array([float(units.METRES[unit]) for unit in found[11]], dtype=np.float64)
    content, known_easting, known_northing = _said_before(store, incoming.job, register["fid"])
    said = np.isfinite(known_easting)
    known_away = np.full(len(row), np.inf)
    known_away[said] = store.ground.away(here[0][said], here[1][said], known_easting[said], known_northing[said])
    pairs = merge.Candidates(
        row=row,
        joint=register["fid"],
        same_uid=np.arange(len(row)) < by_uid,
        same_route=np.asarray(incoming.text("route"), dtype=object)[row] == register["route"],
        away=_away(store, incoming, found),
        rise=incoming.number("elevation")[row] * own_metres - elevation * metres,
        same_job=said,
        known_content=content,
        known_away=known_away,
        agreed=np.array(
            [
                theirs.get(uid) == its
                for uid, its in zip(
                    np.asarray(incoming.text("joint_uid"), dtype=object)[row], register["joint_uid"], strict=True
                )
            ],
            dtype=np.bool_,
        )
        if theirs
        else np.zeros(len(row), dtype=np.bool_),
    )
    return pairs, register


def _said_before(store: Store, job: str, fid: Ints) -> tuple[Ints, Any, Any]:
    """Give what the latest standing load of the same job said of joints of the register, and where it had them."""
    distinct, back = np.unique(fid, return_inverse=True)
    store.stage("matched", {"fid": distinct})
    now = store.rows(
        "SELECT m.nr, j.content, j.easting, j.northing FROM matched m JOIN joints j ON j.fid = m.fid "
        "JOIN loads l ON l.load_id = j.load_id WHERE l.job = :job",
        job=job,
    )
    # Of those whose present state is from another job, the state that the own job left.
    earlier = store.rows(
        "SELECT m.nr, e.content, e.easting, e.northing FROM matched m JOIN joints j ON j.fid = m.fid "
        "JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id "
        "WHERE l.job = :job AND l.state = 'standing' ORDER BY e.fid",
        job=job,
    )
    content = np.zeros(len(distinct), dtype=np.int64)
    easting, northing = np.full(len(distinct), np.nan), np.full(len(distinct), np.nan)
    for found in (earlier, now):
        if found:
            nr, said, east, north = zip(*found, strict=True)
            at = np.array(nr)
            content[at], easting[at], northing[at] = np.array(said), np.array(east), np.array(north)
    return content[back], easting[back], northing[back]


def _records_to_end(store: Store, incoming: Incoming, decision: merge.Decision, fid: Ints) -> tuple[Ints, Any]:
    """Find the own job's earlier records of changed joints that the new log does not repeat, and those it does."""
    kept = np.zeros(len(incoming.record_joint), dtype=np.bool_)
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(changed):
        return np.zeros(0, dtype=np.int64), kept
    store.stage("changed", {"fid": fid[changed], "incoming": changed})
    found = store.columns(
        "SELECT c.incoming, i.fid, i.content FROM changed c JOIN joints j ON j.fid = c.fid "
        "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE i.state = 'standing' AND l.job = :job",
        3,
        job=incoming.job,
    )
    joint, number, content = (ints(values) for values in found)
    theirs = _keyed(joint, content)
    ours = _keyed(incoming.record_joint, incoming.record_content)
    kept = np.isin(ours, theirs)
    return number[~np.isin(theirs, ours)], kept


def _records_of_others(store: Store, incoming: Incoming, decision: merge.Decision, fid: Ints, result: Loaded) -> Any:
    """Find records that another job brought for the same joint, to the letter: a job under a second name."""
    same = np.zeros(len(incoming.record_joint), dtype=np.bool_)
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if not len(changed):
        return same
    store.stage("changed", {"fid": fid[changed], "incoming": changed})
    joint, content, load, job = store.columns(
        "SELECT c.incoming, i.content, i.load_id, l.job FROM changed c JOIN joints j ON j.fid = c.fid "
        "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id "
        "WHERE i.state = 'standing' AND l.job <> :job",
        4,
        job=incoming.job,
    )
    theirs, ours = _keyed(ints(joint), ints(content)), _keyed(incoming.record_joint, incoming.record_content)
    same = np.isin(ours, theirs)
    loads = sorted({(int(load[at]), str(job[at])) for at in np.flatnonzero(np.isin(theirs, ours)).tolist()})
    if loads:
        result.records_of_loads = [number for number, _ in loads]
        named = ", ".join(f"load {number} ({name})" for number, name in loads)
        count = int(same.sum())
        result.notes.append(
            f"{count} of {len(same)} records are those of {named}, and are not entered twice; if this is that job "
            "under another name, undo this load and give the job its first name, so that it can be corrected"
        )
    return same


def _keyed(joint: Ints, content: Ints) -> Any:
    """Make one number of a joint and the digest of one of its records."""
    return mixed(joint.view(np.uint64) + np.uint64(1)) + content.view(np.uint64)


def _findings_to_end(
    store: Store, incoming: Incoming, decision: merge.Decision, fid: Ints, moving: Any
) -> tuple[Ints, Ints]:
    """Find the earlier findings that no longer stand, and the new ones: a joint's belong to its present state."""
    ended: list[int] = []
    changed = np.flatnonzero(decision.what == merge.UPDATED)
    if len(changed):
        store.stage("changed", {"fid": fid[changed]})
        ended += [one for (one,) in store.rows(
            "SELECT f.fid FROM changed c JOIN joints j ON j.fid = c.fid JOIN findings f ON f.joint_uid = j.joint_uid "
            "WHERE f.state = 'standing'"
        )]  # fmt: skip
    of_joint = incoming.finding_joint >= 0
    add = of_joint & moving[incoming.finding_joint]
    theirs = dict(
        store.rows(
            "SELECT f.finding_uid, f.fid FROM findings f JOIN loads l ON l.load_id = f.load_id "
            "WHERE f.joint_uid IS NULL AND f.state = 'standing' AND l.job = :job",
            job=incoming.job,
        )
    )
    lengths = np.flatnonzero(~of_joint)
    ours = {incoming.finding_uid[one].as_py(): one for one in lengths.tolist()}
    ended += [number for uid, number in theirs.items() if uid not in ours]
    add[[one for uid, one in ours.items() if uid not in theirs]] = True
    return np.array(ended, dtype=np.int64), np.flatnonzero(add)


def _tell(
    store: Store,
    incoming: Incoming,
    plan: _Plan,
    pairs: merge.Candidates,
    register: dict[str, Any],
    kept: Any,
    settled: _Settled,
    result: Loaded,
) -> None:
    """Say what the load will do, and prove that no joint and no record is unaccounted for."""
    what = plan.decision.what
    left_out = what == merge.CONFLICT
    counts = np.bincount(what, minlength=4).tolist()
    result.joints = {
        "read": len(what), "new": counts[merge.NEW], "updated": counts[merge.UPDATED],
        "unchanged": counts[merge.UNCHANGED], "left_out": counts[merge.CONFLICT],
    }  # fmt: skip
    of_left_out = left_out[incoming.record_joint]
    known = (what == merge.UNCHANGED)[incoming.record_joint] | kept
    result.inspections = {
        "read": len(of_left_out), "added": len(plan.add_records), "unchanged": int((known & ~of_left_out).sum()),
        "left_out": int(of_left_out.sum()), "superseded": len(plan.end_records),
    }  # fmt: skip
    result.findings = {
        "read": len(incoming.finding_joint), "added": len(plan.add_findings), "superseded": len(plan.end_findings),
    }  # fmt: skip
    for counted in (result.joints, result.inspections):
        parts = sum(value for name, value in counted.items() if name not in ("read", "superseded"))
        if parts != counted["read"]:
            raise RuntimeError(f"the parts of {counted} do not make up the whole")
    every = _conflicts(incoming, plan.decision, pairs, register, question.own_unit(store.crs))
    result.conflicts = [one for one in every if settled.ours.get(one["joint_uid"]) != one["content"]]
    result.settled = len(every) - len(result.conflicts)
    result.kept_before = _same_as_latest(store, incoming)
    result.changes = _changes(store, incoming, plan, pairs)
    if what.size > 0 and counts[merge.UPDATED] > LISTED:
        result.notes.append(f"of {counts[merge.UPDATED]} changed joints, the first {LISTED} are listed")
    earlier = _earlier_loads(store, incoming)
    if earlier:
        result.new_joints = _new_joints(incoming, what)
        _tell_of_repeated(incoming, plan, result, earlier)
    if counts[merge.UPDATED]:
        result.not_mentioned = _not_mentioned(store, incoming, plan)


def _earlier_loads(store: Store, incoming: Incoming) -> list[tuple[int, str, str, str]]:
    return [
        (int(number), str(content), str(at), str(by))
        for number, content, at, by in store.rows(
            "SELECT load_id, content_sha256, loaded_at, loaded_by FROM loads WHERE job = :job AND state = 'standing' "
            "ORDER BY load_id",
            job=incoming.job,
        )
    ]


def _tell_of_repeated(
    incoming: Incoming, plan: _Plan, result: Loaded, earlier: list[tuple[int, str, str, str]]
) -> None:
    same = [one for one in earlier if one[1] == incoming.whole]
    if not same:
        return
    number, _, at, by = same[-1]
    result.notes.append(_same_content(number, at, by))
    later = [one[0] for one in earlier if one[0] > number]
    if later and result.joints["updated"]:
        raise InputFileError(
            f"{incoming.path}: this is the content of load {number}, which load {later[-1]} of the same job has "
            f"corrected since; to go back to it, undo that one: "
            f"asbuilt load --undo {later[-1]} --into {result.register}"
        )


def _new_joints(incoming: Incoming, what: Ints) -> list[dict[str, Any]]:
    rows = pa.array(np.flatnonzero(what == merge.NEW)[:LISTED])
    named: list[dict[str, Any]] = (
        incoming.tables["joints"].select(["joint_uid", "route", "joint", "station"]).take(rows).to_pylist()
    )
    return named


def _conflicts(
    incoming: Incoming, decision: merge.Decision, pairs: merge.Candidates, register: dict[str, Any], unit: str
) -> list[dict[str, Any]]:
    told = []
    joints = incoming.tables["joints"]
    said = [name for name in waiting.SAID if name in joints.column_names]
    codes: dict[int, list[str]] = {}
    for row, code in zip(incoming.finding_joint.tolist(), incoming.tables["findings"]["code"].to_pylist(), strict=True):
        codes.setdefault(row, []).append(code)
    for row in np.flatnonzero(decision.what == merge.CONFLICT).tolist():
        pair = int(decision.pair[row])
        reason = decision.reason[row].as_py()
        told.append(
            {
                "reason": reason,
                "message": waiting.message(reason, float(pairs.away[pair]), unit),
                **{name: incoming.text(name)[row].as_py() for name in ("joint_uid", "route", "joint", "station")},
                "easting": float(incoming.easting[row]),
                "northing": float(incoming.northing[row]),
                **{name: _plain(joints[name][row].as_py()) for name in said},
                "findings": codes.get(row, []),
                "content": f"{incoming.content[row]}",
                "away_m": round(float(pairs.away[pair]), 3),
                "register": {
                    **{name: register[name][pair] for name in ("joint_uid", "route", "joint", "station")},
                    "load": int(register["load_id"][pair]),
                },
            }
        )
    return told


def _changes(store: Store, incoming: Incoming, plan: _Plan, pairs: merge.Candidates) -> list[dict[str, Any]]:
    """List what changes of joints that the register has, column by column."""
    changed = np.flatnonzero(plan.decision.what == merge.UPDATED)[:LISTED]
    if not len(changed):
        return []
    names = [name for name in layout.kinds("joints") if name in incoming.tables["joints"].column_names]
    store.stage("listed", {"fid": plan.fid[changed]})
    olds = list(
        store.dicts(f"SELECT {quoted(names, 'j.')} FROM listed t JOIN joints j ON j.fid = t.fid ORDER BY t.nr", names)
    )
    news = incoming.tables["joints"].select(names).take(pa.array(changed)).to_pylist()
    for row, new in zip(changed.tolist(), news, strict=True):
        new |= {name: values[row] for name, values in plan.kept.items() if name in new}
    told = []
    for row, old, new in zip(changed.tolist(), olds, news, strict=True):
        new |= {"easting": float(incoming.easting[row]), "northing": float(incoming.northing[row])}
        pair = int(plan.decision.pair[row])
        unseen = _UNSEEN if pairs.away[pair] > merge.MOVED else _UNSEEN | _PLACE
        told.append(
            {
                "joint_uid": plan.uid[row].as_py(),
                "route": new["route"],
                "joint": new["joint"],
                "matched_by": "joint_uid" if pairs.same_uid[pair] else "place",
                "moved_m": round(float(pairs.away[pair]), 3),
                "changed": {
                    name: [_plain(old[name]), _plain(new[name])]
                    for name in names
                    if name not in unseen and not _looks_same(old[name], new[name])
                },
                "records": [],
            }
        )
    _list_records(store, incoming, plan, changed, told)
    return told


def _list_records(store: Store, incoming: Incoming, plan: _Plan, changed: Ints, told: list[dict[str, Any]]) -> None:
    """List the records of each changed joint that are corrected, added or superseded."""
    table = incoming.tables["inspections"]
    names = [name for name in layout.kinds("inspections") if name in table.column_names and name != "joint_uid"]
    new: dict[str, list[dict[str, Any]]] = {}
    rows = plan.add_records[np.isin(incoming.record_joint[plan.add_records], changed)]
    for joint, record in zip(incoming.record_joint[rows].tolist(), table.take(pa.array(rows)).to_pylist(), strict=True):
        new.setdefault(plan.uid[joint].as_py(), []).append(record)
    old: dict[str, list[dict[str, Any]]] = {}
    store.stage("ending", {"fid": plan.end_records})
    for record in store.dicts(
        f"SELECT i.joint_uid, {quoted(names, 'i.')} FROM ending e JOIN inspections i ON i.fid = e.fid ORDER BY e.nr",
        ["joint_uid", *names],
    ):
        old.setdefault(record["joint_uid"], []).append(record)
    for one in told:
        ours, theirs = new.get(one["joint_uid"], []), old.get(one["joint_uid"], [])
        both = min(len(ours), len(theirs))
        for record, earlier in zip(ours[:both], theirs[:both], strict=True):
            differs = {
                name: [_plain(earlier[name]), _plain(record[name])]
                for name in names
                if name not in ("record", "file", "row", "original") and _plain(earlier[name]) != _plain(record[name])
            }
            one["records"].append({"what": "corrected", "row": record.get("row"), "changed": differs})
        one["records"] += [{"what": "added", "row": record.get("row")} for record in ours[both:]]
        one["records"] += [{"what": "superseded", "row": earlier.get("row")} for earlier in theirs[both:]]


def _looks_same(old: Any, new: Any) -> bool:
    """Tell whether a person would see no difference, as the digest of the content has it."""
    if isinstance(old, float) and isinstance(new, float):
        before, after = steps(np.array([old, new]))
        return bool(before == after)
    return bool(_plain(old) == _plain(new))


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value


def _not_mentioned(store: Store, incoming: Incoming, plan: _Plan) -> list[dict[str, Any]]:
    """List the joints that only earlier loads of the same job speak of: a corrected log may have dropped them."""
    store.stage("mentioned", {"fid": plan.fid[plan.fid > 0]})
    names = ("joint_uid", "route", "joint", "station", "load")
    return list(
        store.dicts(
            "SELECT j.joint_uid, j.route, j.joint, j.station, j.load_id FROM joints j "
            "JOIN loads l ON l.load_id = j.load_id WHERE l.job = :job "
            "AND j.fid NOT IN (SELECT fid FROM mentioned) ORDER BY j.fid",
            names,
            job=incoming.job,
        )
    )


def _write(store: Store, incoming: Incoming, plan: _Plan, tolerance_m: float, by: str, result: Loaded) -> None:
    number = 1 + int(store.rows("SELECT coalesce(max(load_id), 0) FROM loads")[0][0])
    result.load = number
    insert(
        store,
        "loads",
        load_id=number,
        job=incoming.job,
        file=str(incoming.path),
        sha256=incoming.sha256,
        content_sha256=incoming.whole,
        loaded_at=_now(),
        loaded_by=by,
        crs=incoming.crs,
        datum_step=incoming.datum_step,
        tolerance_m=tolerance_m,
        **{f"joints_{name}": value for name, value in result.joints.items()},
        conflicts=json.dumps(result.conflicts, ensure_ascii=False),
        run=json.dumps(
            incoming.run
            | {"main": incoming.main, "routes": incoming.own_routes, "records_of_loads": result.records_of_loads},
            ensure_ascii=False,
            default=str,
        ),
        state="standing",
    )
    _end(store, "inspections", plan.end_records, number)
    _end(store, "findings", plan.end_findings, number)
    _write_joints(store, incoming, plan, number)
    uid = np.asarray(plan.uid, dtype=object)
    renamed = incoming.main is not None or not plan.uid.equals(incoming.text("joint_uid"))
    standing: dict[str, str | int] = {"load_id": number, "state": "standing"}
    of = incoming.record_joint[plan.add_records]
    more: dict[str, Any] = {"content": incoming.record_content[plan.add_records]}
    if renamed:
        more["joint_uid"] = uid[of].tolist()
    more |= _routes_of(incoming, "inspections", plan.add_records)
    store.add(
        "inspections", incoming, "inspections", plan.add_records, more, standing | {"size_unit": incoming.size_unit}
    )
    of = incoming.finding_joint[plan.add_findings]
    there = of >= 0
    place = {
        "easting": np.where(there, incoming.easting[of], np.nan),
        "northing": np.where(there, incoming.northing[of], np.nan),
        "elevation": np.where(there, incoming.number("elevation")[of], np.nan),
    }
    store.add(
        "findings", incoming, "findings", plan.add_findings,
        {
            "fid": store.next_fid("findings") + np.arange(len(of)),
            "joint_uid": [name if of_joint else None for name, of_joint in zip(uid[of], there, strict=True)],
            "finding_uid": incoming.finding_uid.take(pa.array(plan.add_findings)),
            **place,
            **_routes_of(incoming, "findings", plan.add_findings),
        },
        standing,
    )  # fmt: skip


def _routes_of(incoming: Incoming, layer: str, rows: Ints) -> dict[str, Any]:
    """Give the routes that stand in place of the file's, where the job is put under a main."""
    if incoming.main is None:
        return {}
    return {"route": incoming.tables[layer]["route"].combine_chunks().take(pa.array(rows))}


def _write_joints(store: Store, incoming: Incoming, plan: _Plan, number: int) -> None:
    what = plan.decision.what
    changed = plan.fid[what == merge.UPDATED]
    next_fid = store.next_fid("joints")  # before any is taken out for a while
    if len(changed):
        store.stage("changed", {"fid": changed})
        to_earlier(store, "changed", number, "superseded")
        store.remove_joints("changed")
    rows = np.flatnonzero(np.isin(what, (merge.NEW, merge.UPDATED)))
    fid, first = plan.fid[rows], plan.first_load[rows]
    new = fid == 0
    fid[new] = next_fid + np.arange(new.sum())
    first[new] = number
    same: dict[str, str | int] = {
        "load_id": number, "station_unit": incoming.run["station_unit"],
        "coordinate_unit": incoming.run["coordinate_unit"], "size_unit": incoming.size_unit,
    }  # fmt: skip
    same |= {group.load_column: number for group in fields.GROUPS}
    kept = {
        # What is not kept from another load is from this one.
        name: _typed(name, [same.get(name) if values[row] is None else values[row] for row in rows.tolist()])
        for name, values in plan.kept.items()
    }
    store.add(
        "joints", incoming, "joints", rows,
        {
            "fid": fid, "joint_uid": plan.uid.take(pa.array(rows)), "easting": incoming.easting[rows],
            "northing": incoming.northing[rows], "elevation": incoming.number("elevation")[rows],
            "station_number": incoming.station_number[rows], "first_load_id": first,
            "content": incoming.content[rows], **_routes_of(incoming, "joints", rows), **kept,
        },
        {name: value for name, value in same.items() if name not in kept},
    )  # fmt: skip


def _typed(name: str, values: list[Any]) -> Any:
    """Give values of a column as both stores take them."""
    kind = layout.kind(name)
    if kind in ("text", "date"):
        return pa.array([None if value is None else str(value) for value in values], pa.string())
    return floats(values) if kind == "number" else pa.array(values, layout.ARROW[kind])


def _end(store: Store, table: str, fid: Ints, number: int) -> None:
    if not len(fid):
        return
    store.stage("ending", {"fid": fid})
    store.execute(
        f"UPDATE {table} SET state = 'superseded', ended_by = :number WHERE fid IN (SELECT fid FROM ending)",
        number=number,
    )


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
