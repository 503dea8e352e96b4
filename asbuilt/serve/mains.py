"""Mains as features: from joint to joint as their jobs laid them, and as their jobs surveyed them."""

from __future__ import annotations

from typing import Any

import numpy as np
from pygeoapi.provider.base import ProviderItemNotFoundError
from pygeoapi.util import crs_transform

from asbuilt.register.neighbours import ALONG, LAID
from asbuilt.register.service import LATEST
from asbuilt.register.store import Store
from asbuilt.serve.asked import Window
from asbuilt.serve.features import MAIN, MAIN_DAYS, WINDOW, Query, RegisterProvider, chosen_of, in_box, opened, plain


class MainsProvider(RegisterProvider):
    """Mains of a register: its routes as lines through their joints."""

    def _answer(self, store: Store, asked: Query) -> tuple[int, list[dict[str, Any]]]:
        mains = self._all(store, asked.box)
        found = chosen_of(mains, self._fields, asked.properties, asked.time, asked.order, MAIN_DAYS)
        page = found[asked.page]
        lines = {} if asked.skip_geometry else self._lines(store, [one["route"] for one in page])
        return len(found), [_main(one, lines, asked.columns) for one in page]

    @crs_transform  # type: ignore[untyped-decorator]
    def get(self, identifier: str, **_: Any) -> dict[str, Any]:
        """Give one main by its route."""
        with opened(self.data) as store:
            found = [one for one in self._all(store, None) if one["route"] == identifier]
            lines = self._lines(store, [identifier])
        if not found:
            raise ProviderItemNotFoundError(f"there is no {identifier} here")
        return _main(found[0], lines, None)

    def _all(self, store: Store, bbox: list[float] | None) -> list[dict[str, Any]]:
        where = ""
        values: dict[str, Any] = {}
        if bbox:
            inside, values = in_box(store, bbox)
            where = f"WHERE j.route IN (SELECT j.route FROM joints j WHERE {inside}) "
        found = store.dicts(
            "SELECT j.route, count(*), min(j.inspected_on), max(j.inspected_on), "
            f"sum(CASE WHEN o.service <> 'in-service' THEN 1 ELSE 0 END) FROM joints j LEFT JOIN ({LATEST}) o "
            f"ON o.joint_uid = j.joint_uid {where}GROUP BY j.route ORDER BY j.route",
            list(MAIN),
            **values,
        )
        return [{name: plain(value) for name, value in one.items()} for one in found]

    def _lines(self, store: Store, routes: list[str]) -> dict[str, list[list[list[float]]]]:
        """Give the lines of routes: one for each job that laid a part, through its joints in order."""
        store.stage("shown", {"route": routes})
        found = store.rows(
            f"SELECT j.route, f.job, j.easting, j.northing FROM joints j {LAID} "
            f"WHERE j.route IN (SELECT route FROM shown) ORDER BY j.route, f.job, {ALONG}, j.fid"
        )
        parts: dict[tuple[str, str], list[list[float]]] = {}
        for route, job, easting, northing in found:
            parts.setdefault((route, job), []).append([easting, northing])
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


class CenterlineProvider(RegisterProvider):
    """Mains as their jobs surveyed them: the line of each route, as the job's latest load has it."""

    def _answer(self, store: Store, asked: Query) -> tuple[int, list[dict[str, Any]]]:
        where, values = self._where(store, None, asked.time, asked.properties)
        found = self._features(store, where + self._order(asked.order), values, asked.columns, False)
        found = found if not asked.box else _reaching(store, found, asked.box)
        page = found[asked.page]
        return len(found), [one | {"geometry": None} for one in page] if asked.skip_geometry else page

    def _features(
        self, store: Store, rest: str, values: dict[str, Any], chosen: list[str] | None, skip_geometry: bool
    ) -> list[dict[str, Any]]:
        names = list(self._fields)
        columns = ", ".join(self._column(name) for name in names)
        found = store.dicts(
            f"SELECT t.fid, t.geom, {columns} {self._source()}{rest}", ["_fid", "_line", *names], **values
        )
        return [
            {
                "type": "Feature", "id": row.pop("_fid"), "geometry": _line(store.shapes([row.pop("_line")])[0]),
                "properties": {name: plain(value) for name, value in row.items() if not chosen or name in chosen},
            }
            for row in found
        ]  # fmt: skip


def _line(line: Any) -> dict[str, Any]:
    """Give a line as GeoJSON: with elevations where all of its vertices have one."""
    import shapely

    places = shapely.get_coordinates(line, include_z=True)
    known = np.isfinite(places[:, 2]).all()
    return {"type": "LineString", "coordinates": (places if known else places[:, :2]).tolist()}


def _reaching(store: Store, found: list[dict[str, Any]], box: list[float]) -> list[dict[str, Any]]:
    """Give the lines that reach into the box asked for."""
    import shapely

    window = WINDOW.get()
    lines = [np.array(one["geometry"]["coordinates"])[:, :2] for one in found]
    if window is None:
        boxes = [Window(*box)]
    else:
        lines = [np.column_stack(store.ground.lonlat(*line.T)) for line in lines]
        boxes = [window] if window.west <= window.east else [
            window._replace(east=180.0), window._replace(west=-180.0)]  # fmt: skip
    area = shapely.union_all([shapely.box(*one) for one in boxes])
    return [one for one, line in zip(found, lines, strict=True) if shapely.intersects(shapely.LineString(line), area)]
