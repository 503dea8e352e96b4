"""The register as OGC API Features: joints, inspections, findings, mains and what is kept beside them.

The standard's own work (paging, coordinate systems, links, errors) is pygeoapi's; here is only where features come
from.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, NamedTuple

import numpy as np
from pygeoapi.provider.base import BaseProvider, ProviderItemNotFoundError, ProviderQueryError
from pygeoapi.util import crs_transform

from asbuilt.errors import AsbuiltError
from asbuilt.register import beside, layout, marks, waiting
from asbuilt.register.ground import Box
from asbuilt.register.opening import reading
from asbuilt.register.service import LATEST
from asbuilt.register.store import Store, floats
from asbuilt.schema import Kind
from asbuilt.serve.asked import Fields, Interval, Window, days, of_property

COLLECTIONS = {
    "joints": ("Pipe joints, each in its present state", "joint_uid", "inspected_on"),
    "inspections": ("Inspection records of all loads; the state of those that hold is standing", "fid", "inspected_on"),
    "findings": ("Findings that stand, or were superseded; their time is the day of loading", "fid", "loaded_on"),
    "mains": ("Mains, each from joint to joint as its jobs laid it", "route", "first_inspected_on"),
    "pressure_tests": ("Pressure tests, and lengths under none, by route and station", "fid", "tested_on"),
    "restraint": ("Lengths that the design wants restrained; their time is the day of loading", "fid", "loaded_on"),
    "set_aside": ("Records in no joint, with the reason; their time is the day of loading", "fid", "loaded_on"),
    "centerline": ("Mains as surveyed, by route and job; their time is the day of loading", "fid", "loaded_on"),
    "waiting": ("Joints left out of the register, which wait to be settled", "id", "inspected_on"),
}
"""Title, column that names a feature, and column of its time."""
_KINDS = {"text": {"type": "string"}, "number": {"type": "number"}, "whole": {"type": "integer"},
          "date": {"type": "string", "format": "date"}}  # fmt: skip
_INNER = {"content"}
_WAITING: dict[str, Kind] = {
    "job": "text", "load": "whole", "loaded_at": "text", "joint_uid": "text", "route": "text", "joint": "text",
    "station": "text", "reason": "text", "message": "text", "away_m": "number", **{name: layout.kind(name) for name in
    waiting.SAID},
}  # fmt: skip
MAIN: dict[str, Kind] = {
    "route": "text", "joints": "whole", "first_inspected_on": "date", "last_inspected_on": "date",
    "joints_out_of_service": "whole",
}  # fmt: skip
_PLACE = ("easting", "northing", "elevation")
MAIN_DAYS = ("first_inspected_on", "last_inspected_on")
_CLASSES = {
    "mains": "asbuilt.serve.mains.MainsProvider", "centerline": "asbuilt.serve.mains.CenterlineProvider",
    "waiting": f"{__name__}.WaitingProvider",
}  # fmt: skip
_JOB = "(SELECT l.job FROM loads l WHERE l.load_id = t.load_id)"
_LOADED: tuple[str, Kind, str | None] = (
    "(SELECT substr(l.loaded_at, 1, 10) FROM loads l WHERE l.load_id = t.load_id)", "date", None,
)  # fmt: skip
_ADDED: dict[str, dict[str, tuple[str, Kind, str | None]]] = {
    **{layer: {"job": (_JOB, "text", None), "loaded_on": _LOADED} for layer in layout.BESIDE},
    "joints": {
        "service": (f"coalesce((SELECT o.service FROM ({LATEST}) o WHERE o.joint_uid = t.joint_uid), 'in-service')",
                    "text", "service"),
        "replaced_by": (f"(SELECT o.by_route FROM ({LATEST}) o WHERE o.joint_uid = t.joint_uid)", "text", None),
        "job": (_JOB, "text", None),
    },
    "inspections": {"job": (_JOB, "text", None)},
    "findings": {
        "mark": (marks.LATEST.format(finding="t"), "text", "mark"),
        "job": (_JOB, "text", None),
        "loaded_on": _LOADED,
    },
}  # fmt: skip
"""Properties that are no columns of the table: SQL, kind and domain of each."""
WINDOW: ContextVar[Window | None] = ContextVar("window", default=None)


@contextmanager
def asked_window(window: Window | None) -> Iterator[None]:
    """Answer requests for a box of longitudes and latitudes, which the library would give as one of coordinates.

    A box that reaches beyond where the register's system has coordinates has none there.
    """
    before = WINDOW.set(window)
    try:
        yield
    finally:
        WINDOW.reset(before)


def provider(collection: str) -> str:
    """Name the class that gives a collection's features."""
    return _CLASSES.get(collection, f"{__name__}.RegisterProvider")


def properties(collection: str) -> dict[str, dict[str, Any]]:
    """Give a collection's properties, as JSON Schema has them."""
    if collection in ("mains", "waiting"):
        return {name: dict(_KINDS[kind]) for name, kind in (MAIN if collection == "mains" else _WAITING).items()}
    columns = layout.REGISTER_LAYERS[collection].columns
    found = {name: _described(kind, columns[name].domain) for name, kind in layout.kinds(collection).items()
             if name not in _INNER}  # fmt: skip
    return found | {name: _described(kind, domain) for name, (_, kind, domain) in _ADDED[collection].items()}


def _described(kind: Kind, domain: str | None) -> dict[str, Any]:
    words = list(layout.REGISTER_DOMAINS[domain]) if domain else []
    return _KINDS[kind] | ({"enum": words} if words else {})


class Query(NamedTuple):
    """What a request asks for of a collection."""

    box: list[float] | None
    time: str | None
    properties: list[tuple[str, str]] | None
    order: list[dict[str, str]] | None
    columns: list[str] | None
    skip_geometry: bool
    page: slice
    """Of all features that match; empty where their count alone is asked for."""


class RegisterProvider(BaseProvider):  # type: ignore[misc]
    """Features of one table of a register; `data` is the register's name, `table` the table's."""

    def __init__(self, provider_def: dict[str, Any]) -> None:
        super().__init__(provider_def)
        self.table: str = provider_def["table"]
        self._fields = properties(self.table)

    def get_fields(self) -> dict[str, dict[str, Any]]:
        """Give the columns with their kinds, as JSON Schema has them."""
        return self._fields

    @crs_transform  # type: ignore[untyped-decorator]
    def query(
        self,
        offset: int = 0,
        limit: int = 10,
        resulttype: str = "results",
        bbox: list[float] | None = None,
        datetime_: str | None = None,
        properties: list[tuple[str, str]] | None = None,
        sortby: list[dict[str, str]] | None = None,
        select_properties: list[str] | None = None,
        skip_geometry: bool = False,
        **_: Any,
    ) -> dict[str, Any]:
        """Give features as GeoJSON, with the count of all that match."""
        page = slice(offset, offset + limit) if resulttype == "results" else slice(0, 0)
        asked = Query(bbox, datetime_, properties, sortby, select_properties, skip_geometry, page)
        with opened(self.data) as store:
            matched, features = self._answer(store, asked)
        return {
            "type": "FeatureCollection", "features": features, "numberMatched": matched,
            "numberReturned": len(features),
        }  # fmt: skip

    def _answer(self, store: Store, asked: Query) -> tuple[int, list[dict[str, Any]]]:
        """Give how many features match, and those of the page that is asked for."""
        where, values = self._where(store, asked.box, asked.time, asked.properties)
        matched = int(store.columns(f"SELECT count(*) {self._source()}{where}", 1, **values)[0][0])
        first, behind = asked.page.start, asked.page.stop
        if first == behind:
            return matched, []
        paging = f"{self._order(asked.order)} LIMIT {int(behind - first)} OFFSET {int(first)}"
        return matched, self._features(store, where + paging, values, asked.columns, asked.skip_geometry)

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one feature by its identifier."""
        value: str | int = identifier
        if self.id_field == "fid":
            if not identifier.isdigit() or len(identifier) > 18:
                raise ProviderItemNotFoundError(f"there is no {identifier} here")
            value = int(identifier)
        with opened(self.data) as store:
            where = f" WHERE {' AND '.join([f'{self._column(self.id_field)} = :wanted', *self._stands()])}"
            found = self._features(store, where, {"wanted": value}, None, False)
        if not found:
            raise ProviderItemNotFoundError(f"there is no {identifier} here")
        return found[0]

    def _order(self, sortby: list[dict[str, str]] | None) -> str:
        order = "".join(
            f"{self._column(one['property'])} {'DESC' if one['order'] == '-' else 'ASC'} NULLS LAST, "
            for one in sortby or []
        )
        return f" ORDER BY {order}t.fid"

    def _source(self) -> str:
        if self.table == "joints" or self.table in layout.BESIDE:
            return f"FROM {self.table} t"
        # A finding about a length of a route has no joint, and no place.
        return f"FROM {self.table} t LEFT JOIN joints j ON j.joint_uid = t.joint_uid"

    def _stands(self) -> list[str]:
        return [beside.stands("t", self.table)] if self.table in layout.BESIDE else []

    def _column(self, name: str) -> str:
        added = _ADDED[self.table].get(name)
        return added[0] if added else f't."{name}"'

    def _where(
        self, store: Store, bbox: list[float] | None, datetime_: str | None, properties: list[tuple[str, str]] | None
    ) -> tuple[str, dict[str, Any]]:
        sql = self._stands()
        values: dict[str, Any] = {}
        # What has no place lies in every window that is asked for: OGC 17-069r4, test fc-bbox-response.
        if bbox and self.table not in layout.BESIDE:
            inside, values = in_box(store, bbox)
            of_joint = f"(t.joint_uid IS NULL OR t.joint_uid IN (SELECT j.joint_uid FROM joints j WHERE {inside}))"
            sql.append(inside.replace("j.", "t.") if self.table == "joints" else of_joint)
        for number, (name, text) in enumerate(properties or []):
            wanted = of_property(name, text, self._fields[name])
            ends = (("=", wanted),) if not isinstance(wanted, Interval) else ((">=", wanted.least), ("<=", wanted.most))
            for way, (compare, value) in enumerate(ends):
                if value is not None:
                    values[f"p{number}_{way}"] = value
                    sql.append(f"{self._column(name)} {compare} :p{number}_{way}")
        for number, (day, compare) in enumerate(zip(_days(datetime_), (">=", "<="), strict=True)):
            if day is not None:
                values[f"day{number}"] = day
                # What has no date meets every time that is asked for: OGC 17-069r4, test fc-time-response.
                time = self._column(self.time_field)
                sql.append(f"({time} IS NULL OR {time} {compare} :day{number})")
        return (f" WHERE {' AND '.join(sql)}" if sql else ""), values

    def _features(
        self, store: Store, rest: str, values: dict[str, Any], chosen: list[str] | None, skip_geometry: bool
    ) -> list[dict[str, Any]]:
        names = list(self._fields)
        alias = "t" if self.table == "joints" else "j"
        spot = ", ".join("NULL" if self.table in layout.BESIDE else f"{alias}.{name}" for name in _PLACE)
        columns = ", ".join(self._column(name) for name in names)
        sql = f"SELECT t.fid, {spot}, {columns} "
        features = []
        for row in store.dicts(sql + self._source() + rest, ["_fid", "_e", "_n", "_h", *names], **values):
            fid, *place = (row.pop(name) for name in ("_fid", "_e", "_n", "_h"))
            shown = {name: plain(value) for name, value in row.items() if not chosen or name in chosen}
            geometry = {"type": "Point", "coordinates": [one for one in place if one is not None]}
            nowhere = skip_geometry or place[0] is None
            features.append(
                {
                    "type": "Feature", "id": fid if self.id_field == "fid" else row[self.id_field],
                    "geometry": None if nowhere else geometry, "properties": shown,
                }
            )  # fmt: skip
        return features


class WaitingProvider(RegisterProvider):
    """Joints that wait to be settled, which are not in the register; their places are the job's."""

    def _answer(self, store: Store, asked: Query) -> tuple[int, list[dict[str, Any]]]:
        here = _here(store, waiting.waiting(store), asked.box)
        days = ("inspected_on", "inspected_on")
        found = chosen_of(here, self._fields, asked.properties, asked.time, asked.order, days)
        return len(found), [_wait(one, asked.columns, asked.skip_geometry) for one in found[asked.page]]

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one feature by its identifier."""
        with opened(self.data) as store:
            found = [one for one in waiting.waiting(store) if _wait_id(one) == identifier]
        if not found:
            raise ProviderItemNotFoundError(f"there is no {identifier} here")
        return _wait(found[0], None, False)


def _wait_id(one: dict[str, Any]) -> str:
    return f"{one['load']}-{one['joint_uid']}"


def _wait(one: dict[str, Any], chosen: list[str] | None, skip_geometry: bool) -> dict[str, Any]:
    place = [one.get("easting"), one.get("northing")]
    nowhere = skip_geometry or None in place
    return {
        "type": "Feature", "id": _wait_id(one),
        "geometry": None if nowhere else {"type": "Point", "coordinates": place},
        "properties": {name: one.get(name) for name in _WAITING if not chosen or name in chosen},
    }  # fmt: skip


def _here(store: Store, waits: list[dict[str, Any]], box: list[float] | None) -> list[dict[str, Any]]:
    """Give the waiting joints in a box; one whose place was not kept may be anywhere."""
    if not box or not waits:
        return waits
    place = floats([one.get(name) for one in waits for name in ("easting", "northing")]).reshape(-1, 2).T
    asked = WINDOW.get()
    window, (x, y) = (Window(*box), place) if asked is None else (asked, store.ground.lonlat(*place))
    across = (x >= window.west) & (x <= window.east) if window.west <= window.east else (
        (x >= window.west) | (x <= window.east))  # fmt: skip
    inside = (across & (y >= window.south) & (y <= window.north)) | ~np.isfinite(place).all(axis=0)
    return [one for one, is_inside in zip(waits, inside.tolist(), strict=True) if is_inside]


def in_box(store: Store, box: list[float]) -> tuple[str, dict[str, Any]]:
    """Give SQL that tells whether a joint `j` lies in the box asked for, by the spatial index where it can help."""
    window = WINDOW.get()
    if window is None:
        corners = dict(zip(("west", "south", "east", "north"), box, strict=True))
        place = "j.easting BETWEEN :west AND :east AND j.northing BETWEEN :south AND :north"
        return f"{store.inside(Box(*box))} AND {place}", corners
    bounds = store.ground.bounds(*window)
    place = window.holds("j.longitude", "j.latitude")
    return (place if bounds is None else f"{store.inside(bounds)} AND {place}"), {}


def _days(text: str | None) -> tuple[str | None, str | None]:
    return (None, None) if text is None else days(text)


def _meets(value: Any, wanted: Any) -> bool:
    """Tell whether a value is the one that is asked for, or lies in the interval."""
    if not isinstance(wanted, Interval):
        return bool(value == wanted)
    least, most = wanted
    return value is not None and (least is None or value >= least) and (most is None or value <= most)


def chosen_of(
    found: list[dict[str, Any]],
    fields: Fields,
    properties: list[tuple[str, str]] | None,
    datetime_: str | None,
    sortby: list[dict[str, str]] | None,
    time: tuple[str, str],
) -> list[dict[str, Any]]:
    """Give what is asked for of features that are few enough to be held, in the order asked for.

    `time` names the first and the last day of each; those without a date are at any time, as the standard has it.
    """
    wanted = {name: of_property(name, text, fields[name]) for name, text in properties or []}
    first, last = _days(datetime_)

    def meets(one: dict[str, Any]) -> bool:
        if first or last:
            begins, ends = (one.get(name) for name in time)
            if (last and begins and begins > last) or (first and ends and ends < first):
                return False
        return all(_meets(one.get(name), value) for name, value in wanted.items())

    chosen = [one for one in found if meets(one)]
    for by in reversed(sortby or []):
        name = by["property"]
        known = [one for one in chosen if one.get(name) is not None]
        known.sort(key=lambda one: one[name], reverse=by["order"] == "-")
        chosen = known + [one for one in chosen if one.get(name) is None]
    return chosen


@contextmanager
def opened(register: str) -> Iterator[Store]:
    try:
        with reading(register) as store:
            yield store
    except AsbuiltError as error:
        raise ProviderQueryError(str(error)) from None


def plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value
