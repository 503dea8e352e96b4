"""What waits, settled: the register's joints are kept, or the job's taken, or the job gets a main of its own."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from asbuilt import units
from asbuilt.errors import AsbuiltError, EarlierFileError, InputFileError
from asbuilt.inputs.vectors import file_digest
from asbuilt.register import ground, merge, waiting
from asbuilt.register.layout import run_told
from asbuilt.register.loading import load
from asbuilt.register.opening import changing, reading
from asbuilt.register.store import Store, insert, now, who

WAYS = ("ours", "theirs", "main")
FAR_M = 7.0
"""Metres: joints farther from one another are hardly one joint, as no pipe laid is much longer; ours, no source."""
SAME_SIZE = 0.06
"""Nominal sizes in inches and in millimetres that differ by no more, as a part of them, are one: 3 in and DN 80 by 5
percent, and the next size is a tenth larger at the least; common practice, no source."""
_NAMED = 3
"""Joints named in a message; the others are counted."""
_OF_OTHERS = (merge.SAME_JOINT_ELSEWHERE, merge.TWO_IN_ONE_PLACE, merge.SURVEYED_AGAIN)
"""Reasons by which joints may be those of another main: the others are about one log, which may correct its sizes."""


@dataclass
class Settling:
    """What came of settling."""

    register: str
    job: str
    decision: str
    joints: int
    """Joints that do not wait any more."""
    still: list[dict[str, Any]] = field(default_factory=list)
    """Joints chosen that still wait."""
    loads: list[int] = field(default_factory=list)
    """Loads that settled them."""
    away_m: tuple[float, float] | None = None
    """How near and how far from the register's joints those of the job lie, metres; None for a main of its own."""
    unit: str = "m"
    """Unit of the register's lengths."""


def settle(
    register: Path | str,
    decision: str,
    *,
    job: str | None = None,
    route: str | None = None,
    joint: str | None = None,
    main: str | None = None,
    file: Path | None = None,
    however_far: bool = False,
    other_sizes: bool = False,
    by: str | None = None,
    note: str | None = None,
) -> Settling:
    """Settle joints that wait: those of a job, of one of its routes, or one alone.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    decision : {"ours", "theirs", "main"}
        Keep the register's joints; take the job's for the same joints; or put the whole job under a main of its own.
    job, route, joint : str, optional
        Which of those that wait; the job may be left out where only one has any.
    main : str, optional
        Name of the main.
    file : path, optional
        The job's file, where it is no longer where it was loaded from.
    however_far : bool
        Take joints for the same ones, or leave them out, though they lie farther apart than a pipe is long.
    other_sizes : bool
        Take joints for the same ones though the job has them of another size than the register.
    by, note : str, optional
        Who settles it, and why.

    Raises
    ------
    AsbuiltError
        When nothing of that name waits, the joints lie farther apart than a pipe is long or would get another size, or
        the job's file is needed and is not the one that was loaded.
    """
    if (decision == "main") != (main is not None):
        raise AsbuiltError("--settle main and --main NAME belong together: the main for the job's routes")
    if decision == "main" and (route is not None or joint is not None):
        raise AsbuiltError("--settle main: a main of its own is for the whole job; leave --route and --joint out")
    register = str(register)
    with reading(register) as store:
        waits, settled_out = waiting.left_out(store)
        # What was settled to stay out may be taken after all, where its job is named.
        again = decision != "ours" and job is not None and not any(one["job"] == job for one in waits)
        chosen = _chosen(waits + settled_out if again else waits, register, job, route, joint)
        unit = store.unit
        away = _away(chosen, decision)
        if away is not None and away[1] > FAR_M and not however_far:
            raise AsbuiltError(_far_words(chosen, register, decision, ground.range_words(away, unit)))
        if decision == "theirs" and not other_sizes:
            _refuse_other_sizes(store, chosen, register)
        files = _files(store, chosen, file) if decision != "ours" else {}
    name = chosen[0]["job"]
    done = Settling(register, name, decision, 0, away_m=away, unit=unit)
    if decision == "ours":
        _keep_ours(register, chosen, by, note)
    for number, (path, allowed) in files.items():
        # What was put between others under the number of one of them is none of the register's.
        agreed = {one["joint_uid"]: _theirs(one) for one in chosen
                  if one["load"] == number and one["reason"] != merge.NUMBER_OF_ANOTHER}  # fmt: skip
        try:
            loaded = load(path, register, by=by, **allowed, main=main, agreed=agreed if decision == "theirs" else None)
        except EarlierFileError as error:
            raise InputFileError(
                f"{error}. It is the file of load {number} ({name}), which left these joints out: load it into the "
                f"register once it is placed again (asbuilt load {path} --into {register}), and settle then what still "
                "waits"
            ) from None
        done.loads += [loaded.load] if loaded.load is not None else []
    uids = {(one["job"], one["route"], one["joint"]) for one in chosen}
    left = waiting.conflicts(register)
    done.still = [one for one in left if (one["job"], one["route"].split(": ")[-1], one["joint"]) in uids
                  or (one["job"], one["route"], one["joint"]) in uids]  # fmt: skip
    done.joints = len(chosen) - len(done.still)
    return done


def _away(chosen: list[dict[str, Any]], decision: str) -> tuple[float, float] | None:
    """Give how near and how far the joints lie from those that they are taken for, or give way to."""
    away = [float(one["away_m"]) for one in chosen if decision == "ours" or one["reason"] != merge.SAME_ROUTE_ELSEWHERE]
    return (min(away), max(away)) if away and decision != "main" else None


def _far_words(chosen: list[dict[str, Any]], register: str, decision: str, away: str) -> str:
    job = chosen[0]["job"]
    becomes = "would be left out" if decision == "ours" else "would take the place of the register's"
    count = len(chosen)
    return (
        f"--settle {decision}: {count} joint{'s' * (count != 1)} of {job} {becomes}, {away} away: farther than a pipe "
        f"is long, so they are joints of another main. Put the job under its own: asbuilt conflicts {register} --job "
        f"{job!r} --settle main --main NAME. If they are the same joints nevertheless, add --however-far"
    )


def _refuse_other_sizes(store: Store, chosen: list[dict[str, Any]], register: str) -> None:
    """Refuse to take joints for those of another size: pipe of another size is another main's.

    Raises
    ------
    AsbuiltError
    """
    held = [one for one in chosen if one["reason"] in _OF_OTHERS and one.get("size") is not None]
    store.stage("sized", {"joint_uid": [one["register"]["joint_uid"] for one in held]})
    found = store.rows(
        "SELECT DISTINCT j.joint_uid, j.size, j.size_unit FROM sized s JOIN joints j ON j.joint_uid = s.joint_uid "
        "WHERE j.size IS NOT NULL"
    )
    known = {uid: (float(size), unit) for uid, size, unit in found}
    units_of = dict(store.rows(f"SELECT l.load_id, {store.of_run('size_unit')} FROM loads l"))
    both = [
        (one, (float(one["size"]), units_of.get(one["load"])), known[one["register"]["joint_uid"]])
        for one in held
        if one["register"]["joint_uid"] in known
    ]
    other = [pair for pair in both if not _same_size(pair[1], pair[2])]
    if not other:
        return
    named = "; ".join(
        f"{one['route']} {one['joint']}: {_size_words(own)}, there {_size_words(theirs)}"
        for one, own, theirs in other[:_NAMED]
    )
    more = "; ..." if len(other) > _NAMED else ""
    job = chosen[0]["job"]
    begin = f"asbuilt conflicts {register} --job {job!r}"
    raise AsbuiltError(
        f"--settle theirs: {len(other)} of {len(chosen)} joints of {job} would take the place of joints of "
        f"another size ({named}{more}): are they another main's? Look at the drawings. Put the job under its own main: "
        f"{begin} --settle main --main NAME; or, where it was laid in place of the other one, load its file with "
        "--replaces. If they are the same joints and the job has their size right, add --other-sizes"
    )


def _same_size(one: tuple[float, str | None], other: tuple[float, str | None]) -> bool:
    """Tell whether two nominal sizes are one, each with its unit; one whose unit is not known may be in the other's.

    Examples
    --------
    >>> _same_size((12.0, "in"), (300.0, "mm")), _same_size((12.0, "in"), (14.0, "in"))
    (True, False)
    """
    if one[1] == other[1] or one[1] is None or other[1] is None:
        return one[0] == other[0]
    metres = [size * float(units.SMALL_METRES[unit]) for size, unit in (one, other) if unit is not None]
    return abs(metres[0] - metres[1]) <= SAME_SIZE * max(metres)


def _size_words(size: tuple[float, str | None]) -> str:
    return f"{size[0]:g} {size[1] or ''}".strip()


def _chosen(
    found: list[dict[str, Any]], register: str, job: str | None, route: str | None, joint: str | None
) -> list[dict[str, Any]]:
    jobs = sorted({one["job"] for one in found})
    if not found:
        raise InputFileError(f"{register}: no joint waits to be settled")
    if job is None and len(jobs) > 1:
        raise AsbuiltError(f"--settle: joints of {len(jobs)} jobs wait; name one with --job: {', '.join(jobs)}")
    chosen = [
        one
        for one in found
        if job in (None, one["job"]) and route in (None, one["route"]) and joint in (None, one["joint"])
    ]
    if not chosen:
        kept = sorted({f"{one['job']}, route {one['route']}" for one in found})
        raise AsbuiltError(f"--settle: no joint of that job, route and number waits; those that do: {'; '.join(kept)}")
    return chosen


def _theirs(one: dict[str, Any]) -> str:
    """Name the joint of the register that one left out is; of a route with parts far from one another, it is new."""
    return str(one["joint_uid"] if one["reason"] == merge.SAME_ROUTE_ELSEWHERE else one["register"]["joint_uid"])


def _keep_ours(register: str, chosen: list[dict[str, Any]], by: str | None, note: str | None) -> None:
    with changing(register) as store:
        at = now()
        for one in chosen:
            insert(
                store, "settled", job=one["job"], joint_uid=one["joint_uid"], decision="ours",
                register_uid=one["register"]["joint_uid"], said=one.get("content"), load_id=one["load"],
                note=note, settled_by=who(by), settled_at=at,
            )  # fmt: skip


def _files(store: Store, chosen: list[dict[str, Any]], named: Path | None) -> dict[int, tuple[Path, dict[str, Any]]]:
    """Give, by the load that left joints out, the job's file as it was loaded, and what that load allowed."""
    files = {}
    for number in sorted({int(one["load"]) for one in chosen}):
        row = store.rows("SELECT file, sha256, tolerance_m, run FROM loads WHERE load_id = :number", number=number)[0]
        path = named or Path(row[0])
        if not path.exists():
            raise InputFileError(f"{path}: the file of load {number} is not there; name where it is now with --file")
        if file_digest(path) != row[1]:
            raise InputFileError(
                f"{path}: is not as it was when load {number} read it; load it anew (asbuilt load), which settles "
                "what it says otherwise, or name the file of then with --file"
            )
        accept_m = run_told(row[3]).get("accept_m")
        files[number] = (path, {"tolerance_m": float(row[2]), "accept_m": accept_m})
    return files
