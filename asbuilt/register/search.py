"""The register asked: joints found by place, nearest first, each with its history in the order of time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import units
from asbuilt.errors import AsbuiltError
from asbuilt.notes import OF_THE_LINE
from asbuilt.register import (
    aside,
    changes,
    ending,
    ground,
    known,
    naming,
    places,
    question,
    service,
    waiting,
)
from asbuilt.register.ground import Box
from asbuilt.register.known_joints import RECORD, known_of
from asbuilt.register.layout import main_route, run_told
from asbuilt.register.opening import reading
from asbuilt.register.over import shared
from asbuilt.register.places import Place
from asbuilt.register.question import Question
from asbuilt.register.store import Store, floats, ints, quoted

if TYPE_CHECKING:
    from pyproj import CRS

    from asbuilt.arrays import Floats, Ints

_FIRST_REACH_M = 30.0
_NEAREST = ("joint_uid", "route", "joint", "station", "away", "away_unit", "easting", "northing")
_ROUNDED_M = 0.01
"""Stations this much out of order are rounded."""
PART = 5000
"""Joints of which all is told at a time."""
FAR_M = 20_000.0
"""A place this far from every joint was hardly meant so."""


@dataclass(frozen=True)
class Found:
    """What a register knows of the joints that a question asks for."""

    register: str
    crs_wkt: str
    """The register's coordinate system as well-known text."""
    near: Place | None
    near_degrees: tuple[float, float] | None
    """Latitude and longitude of the place asked for, on the register's datum."""
    within_m: float | None
    away_in: str | None
    """The unit of distances; None where no place is asked for."""
    joints: list[dict[str, Any]]
    """Each as `find --json` gives it."""
    waits: list[dict[str, Any]] = field(default_factory=list)
    """Joints that wait to be settled and would or might be in the answer; as `conflicts` lists them."""

    nearest: dict[str, Any] | None = None
    """Where nothing is found within a distance: the nearest joint beyond it that meets the other conditions."""

    gone: list[dict[str, Any]] = field(default_factory=list)
    """Where changes are asked for: joints that undone loads took out."""
    set_aside: list[dict[str, Any]] = field(default_factory=list)
    """Records of the routes asked for, or found, that were set aside: they are in no joint."""
    aside_unsure: list[str] = field(default_factory=list)
    """Options of the question that records set aside are not held against."""
    unknown: str | None = None
    """A name of the question that nothing in the register has, and those that may be meant."""
    beside_changes: list[dict[str, Any]] = field(default_factory=list)
    """Where changes are asked for: pressure tests, restrained lengths and records set aside that came or ended."""
    settled_away: list[dict[str, Any]] = field(default_factory=list)
    """Joints that the question would or might ask for, of which somebody settled that they stay out."""
    under_mains: list[dict[str, Any]] = field(default_factory=list)
    """Routes that jobs call by a name that is asked for, and that stand under mains: each with its count of joints."""
    unsure: list[str] = field(default_factory=list)
    """Options of the question that joints that wait are not held against: no more than those told may meet them."""
    more: int = 0
    """Joints found besides those given."""
    stations_read_as: str | None = None
    """How the stations asked for were read, with their unit."""
    out_of_service: dict[str, int] = field(default_factory=dict)
    """How many of all joints found are not in service, by what they are: replaced, abandoned."""
    over: dict[str, int] = field(default_factory=dict)
    """How many of all joints found have the verdict over, how many are at least, and how many turns joints share."""
    doubtful_lines: list[dict[str, Any]] = field(default_factory=list)
    """What was found of the lines along which the joints found were placed, by which all of them may lie elsewhere."""
    may_be_over: str | None = None
    """Where a deflection is asked for: how many joints more may be deflected so, as nothing bounds what they are."""

    @property
    def count(self) -> int:
        """How many joints are found."""
        return len(self.joints) + self.more

    @property
    def waiting(self) -> dict[str, int]:
        """How many joints of how many jobs wait to be settled, of those that the question asks for."""
        return waiting.counted(self.waits)

    @cached_property
    def _system(self) -> CRS:
        from pyproj import CRS  # slow to load, and a terminal is told nothing of it

        return CRS(self.crs_wkt)

    @cached_property
    def crs(self) -> str:
        """The register's coordinate system, by its number or as well-known text."""
        authority = self._system.to_authority()
        return ":".join(authority) if authority else self._system.to_wkt()

    @property
    def away_unit(self) -> str:
        """The unit of distances, the register's own where no place is asked for."""
        return self.away_in or ground.own_unit(self._system)

    @property
    def symbol(self) -> str:
        """The unit of distances, as it is written behind a number."""
        return units.SYMBOLS[self.away_unit]

    @property
    def within_words(self) -> str | None:
        """How far from the place was asked, in words; None where no distance was given."""
        if self.within_m is None:
            return None
        return f"within {self.within_m / float(units.METRES[self.away_unit]):g} {self.symbol}"

    def as_json(self) -> dict[str, Any]:
        """Give what `find --json` prints."""
        near = None
        if self.near is not None and self.near_degrees is not None:
            near = {
                "read_as": self.near.read_as, "easting": self.near.easting, "northing": self.near.northing,
                "latitude": self.near_degrees[0], "longitude": self.near_degrees[1], "within_m": self.within_m,
            }  # fmt: skip
        return {
            "register": self.register, "crs": self.crs, "near": near, "count": self.count, "joints": self.joints,
            "waiting": self.waiting, "waiting_not_held_against": self.unsure,
            "gone": self.gone, "set_aside": self.set_aside,
            "set_aside_not_held_against": self.aside_unsure, "unknown": self.unknown,
            "beside_changes": self.beside_changes, "settled_away": waiting.counted(self.settled_away),
            "under_mains": self.under_mains, "stations_read_as": self.stations_read_as,
            "out_of_service": self.out_of_service, "doubtful_lines": self.doubtful_lines,
            "may_be_over": self.may_be_over,
            **self.over,
            "nearest": self.nearest and {name: self.nearest[name] for name in _NEAREST},
        }  # fmt: skip


def find(register: Path | str, asked: Question, *, most: int | None = None) -> Found:
    """Find joints in a register, with all that is known of each.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    asked : Question
    most : int, optional
        Give the first so many only, and count the others.

    Returns
    -------
    Found

    Raises
    ------
    AsbuiltError
        When the question cannot be understood, or the register cannot be read.
    """
    with reading(register) as store:
        return _find(store, asked, most)


@dataclass(frozen=True)
class InParts:
    """What is found, without its joints, and these some at a time: a million of them are never held together."""

    found: Found
    parts: Iterator[list[dict[str, Any]]]
    """The joints, in order."""
    record_columns: tuple[str, ...]
    """What any of their records says."""


@contextmanager
def find_in_parts(register: Path | str, asked: Question) -> Iterator[InParts]:
    """Find joints as `find` does, to be taken some at a time while the register stays as it is.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    asked : Question

    Raises
    ------
    AsbuiltError
        When the question cannot be understood, or the register cannot be read.
    """
    with reading(register) as store:
        chosen = choose(store, asked)
        found = _told(store, asked, chosen, [])
        starts = range(0, len(chosen.fid), PART)
        parts = (_joints(store, asked, chosen, slice(at, at + PART)) for at in starts)
        yield InParts(found, parts, _record_columns(store))


def _find(store: Store, asked: Question, most: int | None = None) -> Found:
    chosen = choose(store, asked)
    return _told(store, asked, chosen, _joints(store, asked, chosen, slice(most)))


def _joints(store: Store, asked: Question, chosen: Chosen, some: slice) -> list[dict[str, Any]]:
    """Tell of some of the joints chosen."""
    joints = known_of(store, chosen.fid[some], chosen.away[some], chosen.unit)
    if asked.changed_since is not None:
        changes.add_changes(store, joints, asked.changed_since)
    return joints


def _told(store: Store, asked: Question, chosen: Chosen, joints: list[dict[str, Any]]) -> Found:
    """Tell of what was chosen besides its joints, of which some are given."""
    near, within, unit = chosen.near, chosen.within_m, chosen.unit
    beyond = None
    if near is not None and within is not None and not len(chosen.fid):
        nearest = _choose(store, replace(asked, nearest=1), near, None)
        beyond = next(iter(known_of(store, *nearest, unit)), None)
    degrees = None
    if near is not None:
        longitude, latitude = store.ground.lonlat(np.array([near.easting]), np.array([near.northing]))
        degrees = float(latitude[0]), float(longitude[0])
    # All that follows counts these; what tells of some joints stages those.
    store.stage("found", {"fid": chosen.fid})
    set_aside = aside.meant(store, asked, None if beyond is None else str(beyond["route"]))
    return Found(
        store.name, store.crs_wkt, near, degrees, within, unit, joints, chosen.waits, beyond, chosen.gone,
        set_aside, aside.unsure(asked) if set_aside else [],
        chosen.unknown, chosen.beside_changes, chosen.settled_away, chosen.under_mains, chosen.unsure,
        len(chosen.fid) - len(joints), chosen.stations_read_as, _out_of_service(store), _over(store),
        _doubtful_lines(store, beyond), chosen.may_be_over,
    )  # fmt: skip


def _doubtful_lines(store: Store, beyond: dict[str, Any] | None) -> list[dict[str, Any]]:
    """Tell what was found of lines on which joints staged as "found" may all stand elsewhere, once for each route."""
    codes = {f"code_{number}": code for number, code in enumerate(OF_THE_LINE.values())}
    names = ("finding_uid", "code", "route", "job", "load_id", "message")
    found = list(
        store.dicts(
            "SELECT f.finding_uid, f.code, f.route, l.job, f.load_id, f.message FROM findings f "
            f"JOIN loads l ON l.load_id = f.load_id WHERE f.code IN ({', '.join(f':{name}' for name in codes)}) "
            "AND f.state = 'standing' AND f.joint_uid IS NULL ORDER BY f.fid",
            names,
            **codes,
        )
    )
    if not found:
        return []
    lines = {
        (str(route), str(job))
        for route, job in store.rows(
            "SELECT DISTINCT j.route, l.job FROM found t JOIN joints j ON j.fid = t.fid JOIN loads l "
            "ON l.load_id = coalesce(j.place_load_id, j.load_id)"
        )
    }
    routes = {beyond["route"]} if beyond else set()
    return [one for one in found if (one["route"], one["job"]) in lines or one["route"] in routes]


def _out_of_service(store: Store) -> dict[str, int]:
    """Count the joints staged as "found" that are not in service, by what they are."""
    gone = f"FROM ({service.LATEST}) s WHERE s.service <> 'in-service'"
    if not store.rows(f"SELECT 1 {gone} LIMIT 1"):
        return {}
    counted = store.rows(
        "SELECT s.service, count(*) FROM found t JOIN joints j ON j.fid = t.fid "
        f"JOIN ({service.LATEST}) s ON s.joint_uid = j.joint_uid WHERE s.service <> 'in-service' GROUP BY s.service"
    )
    return {str(state): int(many) for state, many in sorted(counted)}


def _over(store: Store) -> dict[str, int]:
    """Count the joints staged as "found" whose verdict is over, and those that are at least."""
    over = store.rows("SELECT t.nr FROM found t JOIN joints j ON j.fid = t.fid WHERE j.verdict = 'over'")
    if not over:
        return {"over": 0, "over_at_least": 0, "turns_shared": 0}
    return shared(store).count([int(nr) for (nr,) in over])


def _record_columns(store: Store) -> tuple[str, ...]:
    """Name what any record of the joints staged as "found" says, in the order in which a record is told."""
    counts = ", ".join(f"count({one})" for one in quoted(RECORD, "i.").split(", "))
    said = store.rows(
        f"SELECT {counts} FROM found t JOIN joints j ON j.fid = t.fid JOIN inspections i ON i.joint_uid = j.joint_uid"
    )[0]
    return (*(name for name, count in zip(RECORD, said, strict=True) if count), "job", "loaded_at")


@dataclass(frozen=True)
class Chosen:
    """The joints that a question asks for, before anything is told of them."""

    fid: Ints
    """Numbers of the joints, in the order of the answer."""
    away: Floats
    """How far each is from the place asked for, metres; NaN where none is named."""
    near: Place | None
    within_m: float | None
    unit: str | None
    """Unit of distances; None where no place is named."""
    waits: list[dict[str, Any]]
    """Joints that wait to be settled and would or might be among them."""
    gone: list[dict[str, Any]]
    """Joints that undone loads took out since the day asked for."""
    unknown: str | None
    """A name of the question that nothing in the register has, where it may have kept joints out of the answer."""
    beside_changes: list[dict[str, Any]]
    """What changed beside joints since the day asked for."""
    settled_away: list[dict[str, Any]]
    """Joints that would or might be among them, and were settled to stay out."""
    under_mains: list[dict[str, Any]]
    """Joints of routes that their jobs call by a name that is asked for, under mains of their own."""
    unsure: list[str]
    """Options of the question that waiting joints are not held against."""
    stations_read_as: str | None
    """How the stations asked for were read, with their unit."""
    may_be_over: str | None
    """How many joints more may be deflected as much as is asked for, in words; None where none may."""


def choose(store: Store, asked: Question) -> Chosen:
    """Choose the joints of an open register that a question asks for.

    Raises
    ------
    AsbuiltError
        When the question cannot be understood.
    """
    near, within, unit = None, None, None
    if asked.near is not None:
        near, unit = places.place(asked.near, store, question.accepted(asked)), store.unit
    if asked.within is not None:
        if unit is None:
            raise AsbuiltError("--within: a distance from where? add --near")
        _, unit = places.length(asked.within, unit, option="--within")
        within = places.metres(asked.within, unit, option="--within")
    fid, away = _choose(store, asked, near, within)
    if near is not None:
        near = _doubted(store, asked, near, None if not len(fid) else float(away[0]))
    waits, settled_away = (
        _there(store, [one for one in some if waiting.meets(one, asked)], asked, near, within, away)
        for some in waiting.left_out(store)
    )
    gone = [] if asked.changed_since is None else _there(store, changes.gone(store, asked), asked, near, within, away)
    beside_changes = _beside_changes(store, asked, near, within)
    under_mains = _under_mains(store, asked, near, within)
    found = bool(len(fid) or waits or gone or beside_changes or under_mains or aside.say(store, asked))
    # Among several names one that is mistyped would only make the answer shorter; of joints that wait no crew is kept.
    unknown = known.unknown(store, asked) if not len(fid) or known.several(asked) else None
    if unknown is not None and not found:
        raise AsbuiltError(unknown)
    unsure = waiting.unsure(asked) if waits else []
    stations = question.stations_words(asked, _station_units(store, asked))
    return Chosen(
        fid, away, near, within, unit, waits, gone, unknown, beside_changes, settled_away, under_mains, unsure,
        stations, _may_be_over(store, asked, near, within),
    )  # fmt: skip


def _may_be_over(store: Store, asked: Question, near: Place | None, within: float | None) -> str | None:
    """Say how many joints meet all else that is asked, and have no deflection that is known to be less."""
    if asked.over_deg is None or (near is not None and within is None):
        return None
    count = len(_choose(store, replace(asked, nearest=None), near, within, over=question.MAY_BE_OVER)[0])
    if not count:
        return None
    joints, their = ("1 joint", "its deflection") if count == 1 else (f"{count} joints", "their deflections")
    return (
        f"{joints} more may be deflected by more than {asked.over_deg:g} deg: nothing that was measured bounds "
        f"{their}; leave out --over-deg to see what is known of each"
    )


def _doubted(store: Store, asked: Question, near: Place, first: float | None) -> Place:
    """Say of a place that no joint of the register is anywhere near it, and whether its numbers may be exchanged.

    Parameters
    ----------
    first : float or None
        How far the nearest joint is that the question asks for, metres; None where none was found.
    """
    if first is not None and first <= FAR_M:
        return near
    if _is_near_any(store, near):
        return near
    doubt = "every joint is far from there: check the order of the two numbers, and their system"
    other = places.exchanged(str(asked.near))
    with suppress(AsbuiltError):
        if _is_near_any(store, places.place(other, store, question.accepted(asked))):
            doubt = f"every joint is far from there, but not from {other}: easting comes first, did you mean that?"
    return replace(near, read_as=f"{near.read_as}; {doubt}")


def _is_near_any(store: Store, near: Place) -> bool:
    """Tell whether any joint of the register lies not far from a place."""
    box = store.ground.box(near.easting, near.northing, FAR_M)
    return bool(np.all(np.isfinite(box)) and store.rows(f"SELECT 1 FROM joints j WHERE {store.inside(box)} LIMIT 1"))


def _beside_changes(store: Store, asked: Question, near: Place | None, within: float | None) -> list[dict[str, Any]]:
    """List what changed beside joints since a day, on the routes asked for, or on those where the question asks."""
    if asked.changed_since is None:
        return []
    found = [
        one
        for one in ending.of_load(store, asked.changed_since)
        if (not asked.routes or one["route"] in asked.routes)
        and (not asked.jobs or one["job"] in asked.jobs)
        and (not asked.loads or one["load"] in asked.loads)
    ]
    if not found or (near is None and asked.area is None):
        return found
    there = Question(near=asked.near, within=asked.within, area=asked.area, accept_accuracy=asked.accept_accuracy)
    fid, _ = _choose(store, there, near, within)
    store.stage("there", {"fid": fid})
    routes = {route for (route,) in store.rows("SELECT DISTINCT j.route FROM there t JOIN joints j ON j.fid = t.fid")}
    return [one for one in found if one["route"] in routes]


def _under_mains(store: Store, asked: Question, near: Place | None, within: float | None) -> list[dict[str, Any]]:
    """Count the joints of routes that their jobs call by a name that is asked for, and that stand under mains."""
    if not asked.routes:
        return []
    own: dict[str, tuple[str, str]] = {}
    under = f"l.state = 'standing' AND {store.of_run('main')} <> ''"
    for job, run in store.rows(f"SELECT l.job, l.run FROM loads l WHERE {under} ORDER BY l.load_id"):
        told = run_told(run)
        own |= {main_route(told["main"], name): (job, name) for name in told.get("routes", ()) if name in asked.routes}
    others = sorted(set(own) - set(asked.routes))
    if not others:
        return []
    fid, _ = _choose(store, replace(asked, routes=others, nearest=None), near, within)
    store.stage("under_mains", {"fid": fid})
    found = store.rows(
        "SELECT j.route, count(*) FROM under_mains u JOIN joints j ON j.fid = u.fid GROUP BY j.route ORDER BY j.route"
    )
    return [{"route": route, "joints": int(count), "job": own[route][0], "called": own[route][1]}
            for route, count in found if route in own]  # fmt: skip


def _there(
    store: Store,
    found: list[dict[str, Any]],
    asked: Question,
    near: Place | None,
    within: float | None,
    away: Floats,
) -> list[dict[str, Any]]:
    """Keep those that lie where the question asks."""
    if asked.area is not None and found:
        found = waiting.inside(found, places.area(asked.area, store.crs, question.accepted(asked)))
    if near is not None:
        reach = within if within is not None else max(_FIRST_REACH_M, float(np.max(away, initial=0.0)))
        found = waiting.near(store, found, near.easting, near.northing, reach)
    return found


def _choose(
    store: Store, asked: Question, near: Place | None, within: float | None, *, over: str = question.OVER
) -> tuple[Ints, Floats]:
    """Choose the joints: their numbers, and how far each is, metres; NaN where no place is named."""
    sql, values = question.conditions(asked, _station_units(store, asked), over)
    polygons = places.area(asked.area, store.crs, question.accepted(asked)) if asked.area is not None else None
    if near is None:
        fid, *_, route, along = _slim(store, sql, values, None, polygons)
        order = _along_the_main(store, fid, route, along, asked.routes)[: asked.nearest]
        return fid[order], np.full(len(order), np.nan)
    wanted = asked.nearest if asked.nearest is not None else (None if within is not None else question.NEAREST)
    reach = within if within is not None else _FIRST_REACH_M
    while True:
        box = store.ground.box(near.easting, near.northing, reach)
        everywhere = within is None and (not np.all(np.isfinite(box)) or reach > 2e7)
        fid, easting, northing, height, *_ = _slim(store, sql, values, None if everywhere else box, polygons)
        here = np.full(len(fid), near.easting), np.full(len(fid), near.northing)
        away = store.ground.away(*here, easting, northing, height)
        inside = np.flatnonzero((away <= reach) | everywhere)
        if within is not None or everywhere or len(inside) >= (wanted or 0):
            order = inside[np.argsort(away[inside], kind="stable")][:wanted]
            return fid[order], away[order]
        reach *= 4.0


def _along_the_main(store: Store, fid: Ints, route: Any, along: Floats, asked: Sequence[str]) -> Ints:
    """Order joints along their routes: by station where several jobs laid one, whose lines begin each in its own place.

    Stations that go back along a job's line, behind an equation, order nothing; there the distance along the line does.
    """
    store.stage("ordering", {"fid": fid})
    station, metres, load = store.arrays(
        "SELECT j.station_number, coalesce(j.station_unit, 'm'), j.load_id FROM ordering o "
        "JOIN joints j ON j.fid = o.fid ORDER BY o.nr",
        (floats, _metres, ints),
    )
    station = station * metres
    named = naming.asked_for(store, "ordering", asked)
    route, along = (route.astype(object), along.copy()) if named else (route, along)
    for row, *name in named:
        route[row], along[row], station[row], load[row] = name  # type: ignore[call-overload]
    names = route.tolist()
    place = {name: at for at, name in enumerate(sorted(set(names)))}
    number = np.array([place[name] for name in names], dtype=np.int64)
    by_line = np.lexsort((along, load, number))
    same_line = (np.diff(number[by_line]) == 0) & (np.diff(load[by_line]) == 0)
    back = ~(np.diff(station[by_line]) > -_ROUNDED_M)
    backward = np.zeros(len(place), dtype=np.bool_)
    backward[number[by_line][1:][same_line & back]] = True
    key = np.where(backward[number] | np.isnan(station), along, station)
    return np.lexsort((fid, along, key, number))


def _station_units(store: Store, asked: Question) -> set[str]:
    """Name the units in which the routes asked for have their stations."""
    if asked.from_station is None and asked.to_station is None:
        return set()
    store.stage("routes", {"route": list(asked.routes)})
    found = store.rows(
        "SELECT DISTINCT j.station_unit FROM joints j WHERE j.route IN (SELECT route FROM routes) "
        "AND j.station_unit IS NOT NULL UNION SELECT n.station_unit FROM joint_names n "
        "WHERE n.route IN (SELECT route FROM routes) AND n.station_unit IS NOT NULL"
    )
    return {str(unit) for (unit,) in found}


def _slim(
    store: Store, sql: list[str], values: dict[str, Any], box: Box | None, polygons: Any
) -> tuple[Ints, Floats, Floats, Floats, Any, Floats]:
    sql = [*sql, store.inside(box)] if box is not None else list(sql)
    if polygons is not None:
        sql.append(store.inside(Box(*polygons.bounds)))
    where = f" WHERE {' AND '.join(sql)}" if sql else ""
    fid, easting, northing, elevation, metres, route, along = store.arrays(
        "SELECT j.fid, j.easting, j.northing, j.elevation, j.coordinate_unit, j.route, j.distance FROM joints j"
        f"{where} ORDER BY j.fid",
        (ints, floats, floats, floats, _metres, _texts, floats),
        **values,
    )
    inside = np.ones(len(fid), dtype=np.bool_)
    if polygons is not None:
        import shapely

        shapely.prepare(polygons)
        inside = shapely.intersects_xy(polygons, easting, northing)
    every = fid, easting, northing, elevation * metres, route, along * metres
    return tuple(column[inside] for column in every)


def _metres(named: Sequence[str]) -> Floats:
    """Give the metres in each unit."""
    return np.array([float(units.METRES[unit]) for unit in named], dtype=np.float64)


def _texts(cells: Sequence[str]) -> Any:
    return np.array(cells, dtype=np.str_)
