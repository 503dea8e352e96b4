"""Which joints are in service: a main laid later takes the place of another, or a main is abandoned in the ground.

A joint out of service stays in the register with all that is known of it, and answers say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from asbuilt.errors import AsbuiltError, InputFileError
from asbuilt.line import station_text
from asbuilt.register import ground
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.register.opening import changing
from asbuilt.register.store import Store, floats, insert, now, who

if TYPE_CHECKING:
    from asbuilt.arrays import Floats

LATEST = (
    "SELECT s.joint_uid, s.service, s.by_route FROM joint_service s WHERE s.fid = (SELECT max(x.fid) "
    "FROM joint_service x WHERE x.joint_uid = s.joint_uid AND (x.load_id IS NULL OR EXISTS "
    "(SELECT 1 FROM loads l WHERE l.load_id = x.load_id AND l.state = 'standing')))"
)
"""What was noted last of each joint; notes of loads that were undone do not count."""
OUT_OF_SERVICE = f"SELECT o.joint_uid FROM ({LATEST}) o WHERE o.service <> 'in-service'"
IN_TRENCH_M = 15.0
"""A joint farther than this from every joint of the new main was hardly replaced by it; ours, no source."""


@dataclass
class Noted:
    """What came of noting that joints are in or out of service."""

    register: str
    route: str
    service: str
    joints: list[str] = field(default_factory=list)
    """Numbers of the joints, in their order along the route."""


def note_service(
    register: Path | str, main: str, service: str, *, note: str | None = None, by: str | None = None
) -> Noted:
    """Note that the joints of a main are abandoned, or in service again.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    main : str
        A route, or a part of one by its stations: `A` or `A 12+00..14+00`.
    service : {"abandoned", "replaced", "in-service"}
    note, by : str, optional
        What whoever notes it wants to be known, and who it is; the user of this machine, if left out.

    Raises
    ------
    AsbuiltError
        When the register has no such route, or no joint there.
    """
    if service not in REGISTER_DOMAINS["service"]:
        raise AsbuiltError(f"--as: {service!r} is not one of {', '.join(REGISTER_DOMAINS['service'])}")
    with changing(register) as store:
        joints = joints_of(store, main)
        write(store, [uid for uid, *_ in joints], service, who(by), note=note)
        return Noted(store.name, main, service, [str(one[1]) for one in joints])


def write(
    store: Store,
    joints: Sequence[str],
    service: str,
    by: str,
    *,
    replaced_by: str | None = None,
    load: int | None = None,
    note: str | None = None,
) -> None:
    """Write down what is noted of joints."""
    at = now()
    for uid in joints:
        insert(
            store, "joint_service", joint_uid=uid, service=service, by_route=replaced_by, load_id=load, note=note,
            noted_by=by, noted_at=at,
        )  # fmt: skip


def joints_of(store: Store, main: str, *, key: str = "MAIN") -> list[tuple[Any, ...]]:
    """Give the joints of a route, or of a part of it by its stations: joint_uid, number, easting, northing.

    Raises
    ------
    AsbuiltError
        When the register has no such route, or no joint there.
    """
    known = {route for (route,) in store.rows("SELECT DISTINCT j.route FROM joints j")}
    route, ends = main, None
    if main not in known:
        route, _, part = main.rpartition(" ")
        first, dots, last = part.partition("..")
        if not dots or route not in known:
            raise AsbuiltError(
                f"{key}: the register has no route {main!r}; name one, or a part of it like 'A 12+00..14+00'; its "
                f"routes are {', '.join(sorted(known)[:20])}"
            )
        ends = tuple(station_text.parse_station(one, key=key) for one in (first, last))
    found = store.rows(
        "SELECT j.joint_uid, j.joint, j.easting, j.northing, j.station_number FROM joints j WHERE j.route = :route "
        "ORDER BY j.distance, j.fid",
        route=route,
    )
    chosen = [one[:4] for one in found if ends is None or (one[4] is not None and ends[0] <= one[4] <= ends[1])]
    if not chosen:
        raise AsbuiltError(f"{key}: route {route} has no joint there: {main}")
    return chosen


def replace(
    store: Store, mains: Sequence[str], easting: Floats, northing: Floats, own: set[str]
) -> tuple[list[str], list[str]]:
    """Find the joints that a main being laid replaces.

    Parameters
    ----------
    store : Store
    mains : sequence of str
        What it replaces, as a person named it.
    easting, northing : array, shape (n,)
        Joints of the new main.
    own : set of str
        Their joint_uids.

    Returns
    -------
    list of str, list of str
        The joint_uids of those replaced, and what to say of it.

    Raises
    ------
    AsbuiltError, InputFileError
        When there is no such main, it is the job's own, or the new one does not lie along all of it.
    """
    if not mains:
        return [], []
    import shapely

    new = shapely.STRtree(shapely.points(easting, northing))
    uids: list[str] = []
    said = []
    for main in mains:
        joints = joints_of(store, main, key="--replaces")
        theirs = [uid for uid, *_ in joints]
        if own & set(theirs):
            raise InputFileError(
                f"--replaces: {main} has joints of the same route and number as the new main; give the new one a name "
                "of its own with --main NAME"
            )
        old_east, old_north = floats([one[2] for one in joints]), floats([one[3] for one in joints])
        nearest = new.nearest(shapely.points(old_east, old_north))
        away = store.ground.away(old_east, old_north, easting[nearest], northing[nearest])
        far = [str(one[1]) for one, is_far in zip(joints, away > IN_TRENCH_M, strict=True) if is_far]
        if far:
            far_words = ground.length_words(IN_TRENCH_M, store.unit, 0)
            raise InputFileError(
                f"--replaces: {len(far)} of the {len(joints)} joints of {main} ({', '.join(far[:5])}"
                f"{', ...' if len(far) > 5 else ''}) lie more than {far_words} from the new main; name the part "
                "that it replaces by its stations, like --replaces 'A 12+00..14+00'"
            )
        uids += theirs
        said.append(f"{len(theirs)} joints of {main} are kept as replaced")
    return uids, said
