"""The register as OGC API Features: joints, inspections, findings and mains, for any GIS that speaks the standard.

The standard's own work (paging, coordinate systems, links, errors) is pygeoapi's; here is only where features come
from.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from pygeoapi.provider.base import (
    BaseProvider,
    ProviderInvalidQueryError,
    ProviderItemNotFoundError,
    ProviderQueryError,
)
from pygeoapi.util import crs_transform

from asbuilt.errors import AsbuiltError
from asbuilt.register import layout, waiting
from asbuilt.register.ground import Box
from asbuilt.register.opening import reading
from asbuilt.register.service import LATEST
from asbuilt.register.store import Store, quoted
from asbuilt.schema import Kind

COLLECTIONS = {
    "joints": ("Pipe joints, each in its present state", "joint_uid", "inspected_on"),
    "inspections": ("Inspection records of all loads", "fid", "inspected_on"),
    "findings": ("Findings that stand or stood", "fid", None),
    "mains": ("Mains, each from joint to joint as its jobs laid it", "route", None),
    "waiting": ("Joints left out of the register, which wait to be settled", "id", None),
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


_MAIN: dict[str, Kind] = {
    "route": "text", "joints": "whole", "first_inspected_on": "date", "last_inspected_on": "date",
    "joints_out_of_service": "whole",
}  # fmt: skip
_PROVIDERS = {"mains": "MainsProvider", "waiting": "WaitingProvider"}


def provider(collection: str) -> str:
    """Name the class that gives a collection's features."""
    return f"{__name__}.{_PROVIDERS.get(collection, 'RegisterProvider')}"


class RegisterProvider(BaseProvider):  # type: ignore[misc]
    """Features of one table of a register; `data` is the register's name, `table` the table's."""

    def __init__(self, provider_def: dict[str, Any]) -> None:
        super().__init__(provider_def)
        self.table: str = provider_def["table"]
        kinds = layout.kinds(self.table)
        self._fields: dict[str, dict[str, str]] = {
            name: dict(_KINDS[kind]) for name, kind in kinds.items() if name not in _INNER
        }

    def get_fields(self) -> dict[str, dict[str, str]]:
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
        q: str | None = None,
        filterq: Any = None,
        **_: Any,
    ) -> dict[str, Any]:
        """Give features as GeoJSON, with the count of all that match."""
        if filterq is not None or q is not None:
            raise ProviderInvalidQueryError(
                user_msg="filter and q are not offered here; ask by property, such as verdict=over"
            )
        with _reading(self.data) as store:
            where, values = self._where(store, bbox, datetime_, properties)
            matched = int(store.columns(f"SELECT count(*) {self._source()}{where}", 1, **values)[0][0])
            features = []
            if resulttype == "results":
                order = ", ".join(
                    f"{self._column(one['property'])} {'DESC' if one['order'] == '-' else 'ASC'}"
                    for one in sortby or []
                )
                paging = f" ORDER BY {f'{order}, ' if order else ''}t.fid LIMIT {int(limit)} OFFSET {int(offset)}"
                features = self._features(store, where + paging, values, select_properties, skip_geometry)
        return {
            "type": "FeatureCollection", "features": features, "numberMatched": matched,
            "numberReturned": len(features),
        }  # fmt: skip

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one feature by its identifier."""
        value: str | int = identifier
        if self.id_field == "fid":
            if not identifier.isdigit() or len(identifier) > 18:
                raise ProviderItemNotFoundError(f"there is no {identifier} here")
            value = int(identifier)
        with _reading(self.data) as store:
            where = f" WHERE {self._column(self.id_field)} = :wanted"
            found = self._features(store, where, {"wanted": value}, None, False)
        if not found:
            raise ProviderItemNotFoundError(f"there is no {identifier} here")
        return found[0]

    def _source(self) -> str:
        if self.table == "joints":
            return "FROM joints t"
        # A finding about a length of a route has no joint, and no place.
        return f"FROM {self.table} t LEFT JOIN joints j ON j.joint_uid = t.joint_uid"

    def _column(self, name: str) -> str:
        if name != "fid" and name not in self._fields:
            raise ProviderInvalidQueryError(user_msg=f"there is no property {name[:100]!r}")
        return f't."{name}"'

    def _where(
        self, store: Store, bbox: list[float] | None, datetime_: str | None, properties: list[tuple[str, str]] | None
    ) -> tuple[str, dict[str, Any]]:
        sql: list[str] = []
        values: dict[str, Any] = {}
        if bbox:
            inside = store.inside(Box(*bbox))
            alias = "t" if self.table == "joints" else "j"
            sql.append(inside.replace("j.", "t.") if alias == "t" else inside)
            corners = dict(zip(("west", "south", "east", "north"), bbox, strict=True))
            sql.append(f"{alias}.easting BETWEEN :west AND :east AND {alias}.northing BETWEEN :south AND :north")
            values |= corners
        for number, (name, text) in enumerate(properties or []):
            key = f"p{number}"
            values[key] = self._value(name, text)
            sql.append(f"{self._column(name)} = :{key}")
        if datetime_:
            more, days = self._days(datetime_)
            sql += more
            values |= days
        return (f" WHERE {' AND '.join(sql)}" if sql else ""), values

    def _value(self, name: str, text: str) -> str | int | float:
        self._column(name)
        kind = self._fields[name]["type"]
        try:
            return int(text) if kind == "integer" else float(text) if kind == "number" else text
        except ValueError:
            raise ProviderInvalidQueryError(user_msg=f"{name} is a number, but {text[:100]!r} is none") from None

    def _days(self, text: str) -> tuple[list[str], dict[str, Any]]:
        """Read an instant or an interval, open at either end."""
        if self.time_field is None:
            return [], {}
        first, slash, last = text.partition("/")
        ends = ((first, ">="), (last, "<=")) if slash else ((first, ">="), (first, "<="))
        sql, values = [], {}
        for number, (end, compare) in enumerate(ends):
            if end not in ("", ".."):
                values[f"day{number}"] = dt.date.fromisoformat(end[:10]).isoformat()
                sql.append(f"{self._column(self.time_field)} {compare} :day{number}")
        return sql, values

    def _features(
        self, store: Store, rest: str, values: dict[str, Any], chosen: list[str] | None, skip_geometry: bool
    ) -> list[dict[str, Any]]:
        names = list(self._fields)
        alias = "t" if self.table == "joints" else "j"
        sql = f"SELECT t.fid, {alias}.easting, {alias}.northing, {alias}.elevation, {quoted(names, 't.')} "
        features = []
        for row in store.dicts(sql + self._source() + rest, ["_fid", "_e", "_n", "_h", *names], **values):
            fid, *place = (row.pop(name) for name in ("_fid", "_e", "_n", "_h"))
            shown = {name: _plain(value) for name, value in row.items() if not chosen or name in chosen}
            geometry = {"type": "Point", "coordinates": [one for one in place if one is not None]}
            nowhere = skip_geometry or place[0] is None
            features.append(
                {
                    "type": "Feature", "id": fid if self.id_field == "fid" else row[self.id_field],
                    "geometry": None if nowhere else geometry, "properties": shown,
                }
            )  # fmt: skip
        return features


class MainsProvider(RegisterProvider):
    """Mains of a register: its routes as lines through their joints."""

    def __init__(self, provider_def: dict[str, Any]) -> None:
        BaseProvider.__init__(self, provider_def)
        self._fields = {name: dict(_KINDS[kind]) for name, kind in _MAIN.items()}

    @crs_transform  # type: ignore[untyped-decorator]
    def query(
        self,
        offset: int = 0,
        limit: int = 10,
        resulttype: str = "results",
        bbox: list[float] | None = None,
        properties: list[tuple[str, str]] | None = None,
        select_properties: list[str] | None = None,
        skip_geometry: bool = False,
        **_: Any,
    ) -> dict[str, Any]:
        """Give features as GeoJSON, with the count of all that match."""
        wanted = {name: self._value(name, text) for name, text in properties or []}
        with _reading(self.data) as store:
            found = [one for one in self._all(store, bbox) if wanted.items() <= one.items()]
            page = found[offset : offset + limit] if resulttype == "results" else []
            lines = {} if skip_geometry else self._lines(store, [one["route"] for one in page])
        return {
            "type": "FeatureCollection", "features": [_main(one, lines, select_properties) for one in page],
            "numberMatched": len(found), "numberReturned": len(page),
        }  # fmt: skip

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one main by its route."""
        with _reading(self.data) as store:
            found = [one for one in self._all(store, None) if one["route"] == identifier]
            lines = self._lines(store, [identifier])
        if not found:
            raise ProviderItemNotFoundError(f"there is no {identifier} here")
        return _main(found[0], lines, None)

    def _all(self, store: Store, bbox: list[float] | None) -> list[dict[str, Any]]:
        where = ""
        values: dict[str, Any] = {}
        if bbox:
            values = dict(zip(("west", "south", "east", "north"), bbox, strict=True))
            where = (
                f"WHERE j.route IN (SELECT j.route FROM joints j WHERE {store.inside(Box(*bbox))} "
                "AND j.easting BETWEEN :west AND :east AND j.northing BETWEEN :south AND :north) "
            )
        found = store.dicts(
            "SELECT j.route, count(*), min(j.inspected_on), max(j.inspected_on), "
            f"sum(CASE WHEN o.service <> 'in-service' THEN 1 ELSE 0 END) FROM joints j LEFT JOIN ({LATEST}) o "
            f"ON o.joint_uid = j.joint_uid {where}GROUP BY j.route ORDER BY j.route",
            list(_MAIN),
            **values,
        )
        return [{name: _plain(value) for name, value in one.items()} for one in found]

    def _lines(self, store: Store, routes: list[str]) -> dict[str, list[list[list[float]]]]:
        """Give the lines of routes: one for each job that laid a part, through its joints in order."""
        store.stage("shown", {"route": routes})
        found = store.rows(
            "SELECT j.route, j.first_load_id, j.easting, j.northing FROM joints j "
            "WHERE j.route IN (SELECT route FROM shown) ORDER BY j.route, j.first_load_id, j.distance, j.fid"
        )
        parts: dict[tuple[str, int], list[list[float]]] = {}
        for route, load, easting, northing in found:
            parts.setdefault((route, load), []).append([easting, northing])
        lines: dict[str, list[list[list[float]]]] = {route: [] for route in routes}
        for (route, _), places in parts.items():
            # A single joint is drawn as a line of no length.
            lines[route].append(places if len(places) > 1 else places * 2)
        return lines


def _main(one: dict[str, Any], lines: dict[str, list[list[list[float]]]], chosen: list[str] | None) -> dict[str, Any]:
    geometry = {"type": "MultiLineString", "coordinates": lines.get(one["route"], [])}
    return {
        "type": "Feature", "id": one["route"], "geometry": geometry if one["route"] in lines else None,
        "properties": {name: value for name, value in one.items() if not chosen or name in chosen},
    }  # fmt: skip


class WaitingProvider(RegisterProvider):
    """Joints that wait to be settled, which are not in the register; their places are the job's."""

    def __init__(self, provider_def: dict[str, Any]) -> None:
        BaseProvider.__init__(self, provider_def)
        self._fields = {name: dict(_KINDS[kind]) for name, kind in _WAITING.items()}

    @crs_transform  # type: ignore[untyped-decorator]
    def query(
        self,
        offset: int = 0,
        limit: int = 10,
        resulttype: str = "results",
        bbox: list[float] | None = None,
        properties: list[tuple[str, str]] | None = None,
        select_properties: list[str] | None = None,
        skip_geometry: bool = False,
        **_: Any,
    ) -> dict[str, Any]:
        """Give features as GeoJSON, with the count of all that match."""
        wanted = {name: self._value(name, text) for name, text in properties or []}
        found = [
            one
            for one in self._all(select_properties, skip_geometry)
            if _in_box(one.pop("place"), bbox) and wanted.items() <= one.pop("known").items()
        ]
        features = found[offset : offset + limit] if resulttype == "results" else []
        return {
            "type": "FeatureCollection", "features": features, "numberMatched": len(found),
            "numberReturned": len(features),
        }  # fmt: skip

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one feature by its identifier."""
        for one in self._all(None, False):
            if one["id"] == identifier:
                return {name: value for name, value in one.items() if name not in ("place", "known")}
        raise ProviderItemNotFoundError(f"there is no {identifier} here")

    def _all(self, chosen: list[str] | None, skip_geometry: bool) -> list[dict[str, Any]]:
        with _reading(self.data) as store:
            found = waiting.waiting(store)
        features = []
        for one in found:
            place = [one.get("easting"), one.get("northing")]
            known = {name: one.get(name) for name in _WAITING}
            geometry = {"type": "Point", "coordinates": place}
            features.append(
                {
                    "type": "Feature", "id": f"{one['load']}-{one['joint_uid']}",
                    "geometry": None if skip_geometry or None in place else geometry,
                    "properties": {name: value for name, value in known.items() if not chosen or name in chosen},
                    "place": place, "known": known,
                }
            )  # fmt: skip
        return features


def _in_box(place: list[Any], box: list[float] | None) -> bool:
    """Tell whether a place lies in a box; one that was not kept may be anywhere."""
    if not box or None in place:
        return True
    west, south, east, north = box
    return bool(west <= place[0] <= east and south <= place[1] <= north)


@contextmanager
def _reading(register: str) -> Iterator[Store]:
    try:
        with reading(register) as store:
            yield store
    except AsbuiltError as error:
        raise ProviderQueryError(str(error)) from None


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value
