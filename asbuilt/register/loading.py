"""Loads: a placed job merged into the register in one transaction.

What a load replaces goes to the tables of earlier states; what is in conflict is left out and listed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from asbuilt import stores
from asbuilt.addresses import shown
from asbuilt.errors import InputFileError
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.register import beside, copied, doubts, ending, ground, service
from asbuilt.register.agreed import keep_agreed, settled_before
from asbuilt.register.damage import told_of_damage
from asbuilt.register.incoming import Incoming, read_incoming
from asbuilt.register.layout import BESIDE, main_route
from asbuilt.register.loaded import Loaded
from asbuilt.register.mains import loads_without_main, main_before, put_under_main, refuse_the_same_main
from asbuilt.register.merge import TOLERANCE_M
from asbuilt.register.opening import make_register, open_register
from asbuilt.register.planning import Plan, plan_load
from asbuilt.register.store import Store, who
from asbuilt.register.telling import tell, tell_of_repeated_whole
from asbuilt.register.writing import write

Progress = Callable[[str, int, int], None]

STEPS = ("read the placed job", "match its joints", "merge")


def load(
    file: Path | str,
    into: Path | str,
    *,
    crs: str | None = None,
    main: str | None = None,
    tolerance_m: float = TOLERANCE_M,
    by: str | None = None,
    dry_run: bool = False,
    agreed: Mapping[str, str] | None = None,
    replaces: Sequence[str] = (),
    accept_m: float | None = None,
    end_tests: bool = False,
    progress: Progress | None = None,
) -> Loaded:
    """Merge a placed job into a register, whole or not at all; a register that is not there is made.

    Parameters
    ----------
    file : path of a GeoPackage that `asbuilt place` wrote
    into : path of the register, or a postgresql:// address
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
    accept_m : float, optional
        Accuracy that is accepted of a change of datum, metres; it goes into the joints' place accuracy.
    end_tests : bool
        End the pressure tests of the job's earlier loads on routes of which the file has none; else they stay.
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
    path, into = stores.later(file), str(into)
    # Nothing is made before all is known that a register needs.
    name = by or "" if dry_run else who(by)
    report(STEPS[0], 0, len(STEPS))
    file_read = read_placed(path)
    own = file_read.crs
    store = open_register(into, missing_ok=True, writing=not dry_run, updating=not dry_run)
    if store is None and replaces:
        raise InputFileError(f"--replaces: {into} is not there yet, so nothing in it can be replaced; leave it out")
    if store is None and dry_run:
        return _first(file_read, into, crs or own, main, accept_m)
    made = store is None
    begun = path.stat()
    incoming = None
    if store is None:
        # Everything that can be wrong with the file is found before there is a register.
        incoming = read_incoming(file_read, _crs(crs or own), main, accept_m)
        store = make_register(into, crs or own)
    with closing(store), told_of_damage(store):
        if crs is not None and not store.crs.equals(_crs(crs), ignore_axis_order=True):
            raise InputFileError(f"{into}: the register is in {store.crs.name}, not {crs}; leave --crs out")
        # Another load may have made it at the same moment, in another system.
        if incoming is None or not store.crs.equals(_crs(crs or own), ignore_axis_order=True):
            incoming = read_incoming(file_read, store.crs, main, accept_m)
        incoming = _under_the_main_before(store, file_read, incoming) if main is None else incoming
        report(STEPS[1], 1, len(STEPS))
        name_of_file, job, digest = shown(str(path)), incoming.job, incoming.sha256
        result = Loaded(store.name, name_of_file, job, digest, dry_run, main=incoming.main)
        result.unit = store.unit
        result.notes += incoming.notes
        doubts.tell_of_inputs(path, incoming.run, result)
        doubts.tell_of_lines(file_read.notes, result)
        doubts.tell_of_records_set_aside(incoming, result)
        if incoming.main is not None:
            result.notes.append(
                f"the job's routes are kept under the main {incoming.main!r}, route {incoming.own_routes[0]} as "
                f"{main_route(incoming.main, incoming.own_routes[0])!r}"
            )
        with store.reading() if dry_run else store.changing(incoming):
            # One that another load made at the same moment is new to that one alone, which came first.
            result.made = made and not store.rows("SELECT 1 FROM loads LIMIT 1")
            replaced = _replaced(store, replaces, incoming, result)
            out = {uid for (uid,) in store.rows(service.OUT_OF_SERVICE)} | set(replaced)
            if replaced:
                doubts.tell_of_leftovers(store, incoming, replaced, out, result)
            before = ending.standing(store, incoming.job)
            if main is not None:
                _put_all_under_main(store, incoming, out, name, result)
            ending.tell_of_tests_that_stay(before, incoming, result, end_tests=end_tests)
            plan = _plan(store, incoming, tolerance_m, agreed or {}, out, result)
            ending.tell(before, incoming, () if plan is None else plan.waiting_routes, result)
            report(STEPS[2], 2, len(STEPS))
            if not dry_run and plan is not None and result.changed:
                asked = {"replaces": list(replaces), "end_tests": bool(result.tests_ended)}
                write(store, incoming, plan, tolerance_m, asked, name, result)
                keep_agreed(store, incoming, agreed or {}, name, result)
            if not dry_run and replaced:
                result.load = result.load or _latest_load(store, incoming.job)
                new = ", ".join(sorted(set(incoming.tables["joints"]["route"].to_pylist())))
                service.write(store, replaced, "replaced", name, replaced_by=new, load=result.load)
            after = path.stat()
            if (begun.st_mtime_ns, begun.st_size, begun.st_ino) != (after.st_mtime_ns, after.st_size, after.st_ino):
                raise InputFileError(f"{path}: was changed while it was being loaded; load it again")
        report(STEPS[2], 3, len(STEPS))
        return result


def _under_the_main_before(store: Store, file: PlacedFile, incoming: Incoming) -> Incoming:
    """Put a job's routes under the main that its latest load put them under, if any."""
    with store.reading():
        main = main_before(store, incoming.job)
    return incoming if main is None else read_incoming(file, store.crs, main, incoming.accept_m)


def _replaced(store: Store, replaces: Sequence[str], incoming: Incoming, result: Loaded) -> list[str]:
    """Find the joints whose place the job's main takes, and say so."""
    if not replaces:
        return []
    own = set(incoming.text("joint_uid").to_pylist())
    replaced, said = service.replace(store, replaces, incoming.easting, incoming.northing, own)
    result.notes += said
    result.replaced = len(replaced)
    return replaced


def _put_all_under_main(store: Store, incoming: Incoming, out: set[str], by: str, result: Loaded) -> None:
    """See that no part of a job stays outside the main that it is put under, and that no main is there twice."""
    before = loads_without_main(store, incoming)
    if before:
        put_under_main(store, before, by, result)
    refuse_the_same_main(store, incoming, out, [one[0] for one in before])


def _plan(
    store: Store, incoming: Incoming, tolerance_m: float, agreed: Mapping[str, str], out: set[str], result: Loaded
) -> Plan | None:
    """Plan the load and tell what it will do; None where the job's latest load said the same already."""
    result.beside = {layer: incoming.tables[layer].num_rows for layer in BESIDE}
    result.beside_new = incoming.beside != beside.latest(store, incoming.job)
    result.beside_new |= bool(result.tests_ended)
    repeated = None if result.tests_ended else _repeated(store, incoming)
    if repeated is not None:
        tell_of_repeated_whole(incoming, result, repeated)
        return None
    settled = settled_before(store, incoming.job).with_agreed(agreed)
    plan = plan_load(store, incoming, tolerance_m, settled, out, result)
    tell(store, incoming, plan, settled, result)
    doubts.tell_of_a_name_given_twice(store, incoming, plan, result)
    doubts.tell_of_a_name_like_another(store, incoming, result)
    doubts.tell_of_a_job_far_off(store, incoming, result)
    doubts.tell_of_a_newer_load(store, incoming, plan, result)
    doubts.tell_of_days(incoming, result)
    doubts.tell_of_another_order_of_dates(store, plan, incoming, result)
    doubts.tell_of_another_name_of_a_route(incoming, plan, result)
    doubts.tell_of_a_route_in_part(incoming, plan, result)
    doubts.tell_of_places(store, incoming, plan, result)
    doubts.tell_of_mains_beside(store, incoming, plan, out, result)
    copied.tell(store, incoming, plan, result)
    return plan


def _crs(text: str) -> Any:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        crs = CRS.from_user_input(text)
    except CRSError:
        raise InputFileError(f"--crs: {text!r} is not a known coordinate system; write it like EPSG:6418") from None
    # Heights alone, and places counted from the center of the earth, are on no map.
    if not (crs.is_projected or crs.is_geographic):
        raise InputFileError(f"--crs: {crs.name} has no eastings and northings; give a projected system like EPSG:6418")
    return crs


def _repeated(store: Store, incoming: Incoming) -> tuple[Any, ...] | None:
    """Find the latest load of the job, if it says the same and nothing of it was left out: nothing is new then."""
    found = store.rows(
        "SELECT load_id, loaded_at, loaded_by, content_sha256, joints_left_out FROM loads "
        "WHERE job = :job AND state = 'standing' ORDER BY load_id DESC LIMIT 1",
        job=incoming.job,
    )
    return found[0][:3] if found and found[0][3:] == (incoming.whole, 0) else None


def _latest_load(store: Store, job: str) -> int:
    return int(store.rows("SELECT max(load_id) FROM loads WHERE job = :job AND state = 'standing'", job=job)[0][0])


def _first(file: PlacedFile, into: str, crs: str, main: str | None, accept_m: float | None) -> Loaded:
    """Tell what a load would do that makes the register: all is new."""
    incoming = read_incoming(file, _crs(crs), main, accept_m)
    name, notes = shown(str(file.path)), list(incoming.notes)
    result = Loaded(into, name, incoming.job, incoming.sha256, True, made=True, notes=notes)
    result.unit = ground.own_unit(_crs(crs))
    doubts.tell_of_inputs(file.path, incoming.run, result)
    doubts.tell_of_lines(file.notes, result)
    doubts.tell_of_records_set_aside(incoming, result)
    rows = {name: table.num_rows for name, table in incoming.tables.items()}
    result.beside = {layer: rows[layer] for layer in BESIDE}
    count = rows["joints"]
    result.joints = {"read": count, "new": count, "updated": 0, "unchanged": 0, "left_out": 0}
    result.inspections = {
        "read": rows["inspections"], "added": rows["inspections"], "unchanged": 0, "left_out": 0, "superseded": 0,
    }  # fmt: skip
    result.findings = {
        "read": rows["findings"], "added": rows["findings"], "unchanged": 0, "left_out": 0, "superseded": 0,
    }  # fmt: skip
    return result
