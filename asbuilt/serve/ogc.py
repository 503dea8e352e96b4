"""OGC API Features of a register: what pygeoapi is told of it, and its routes.

Answers are JSON only. The pages that the library could make would have a browser fetch from other hosts.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Sequence
from typing import Any

import pygeoapi.api as core
import pygeoapi.api.itemtypes as items
from pygeoapi.api import API, APIRequest
from pygeoapi.openapi import get_oas
from pyproj import CRS
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from asbuilt.register.opening import open_existing
from asbuilt.serve.asked import CRS84, OF_ITEM, OF_ITEMS, Fields, refusal, window
from asbuilt.serve.features import COLLECTIONS, asked_window, properties, provider
from asbuilt.version import __version__

PATH = "/ogc"
PAGE, MOST = 100, 10_000
"""Features of a page unless asked otherwise, and at most."""
_NOT_OFFERED = ("conf/html", "conf/create-replace-delete", "conf/jsonld")


def routes(register: str, address: str) -> list[Route]:
    """Give the routes of OGC API Features for a register.

    Parameters
    ----------
    register : str
    address : str
        Where the service is reached, such as http://localhost:8080; its links begin with it.
    """
    config = configuration(register, address)
    api = API(config, get_oas(config, fail_on_invalid_collection=False))

    def route(path: str, function: Callable[..., Any], *names: str, offered: Sequence[str] = ()) -> Route:
        async def answer(request: Request) -> Response:
            wrong = refusal(request.query_params.multi_items(), offered, _properties(request, offered))
            if wrong is not None:
                text = json.dumps({"code": "InvalidParameterValue", "description": wrong})
                return Response(text, 400, media_type="application/json")
            return await _answer(api, function, request, [request.path_params[name] for name in names])

        return Route(PATH + path, answer)

    return [
        route("", core.landing_page),
        route("/", core.landing_page),
        route("/openapi", core.openapi_),
        route("/conformance", core.conformance),
        route("/collections", core.describe_collections),
        route("/collections/{collection}", core.describe_collections, "collection"),
        route("/collections/{collection}/schema", core.get_collection_schema, "collection"),
        route("/collections/{collection}/queryables", items.get_collection_queryables, "collection"),
        route("/collections/{collection}/items", items.get_collection_items, "collection", offered=OF_ITEMS),
        route(
            "/collections/{collection}/items/{item:path}", items.get_collection_item, "collection", "item",
            offered=OF_ITEM,
        ),
    ]  # fmt: skip


def _properties(request: Request, offered: Sequence[str]) -> Fields:
    """Give the properties by which features can be asked: where a page of them is."""
    name = request.path_params.get("collection")
    return properties(name) if offered == OF_ITEMS and name in COLLECTIONS else {}


def configuration(register: str, address: str) -> dict[str, Any]:
    """Describe a register as the library wants it."""
    store = open_existing(register)
    try:
        crs, box = store.crs, _extent(store)
    finally:
        store.close()
    stored = _uri(crs)
    systems = list(dict.fromkeys([CRS84, *([stored] if stored else [])]))
    resources = {
        name: {
            "type": "collection",
            "title": title,
            "description": f"{title}. Findings on records, not an acceptance of work; not for locating.",
            "keywords": ["pipe", "joint", name],
            "links": [],
            "extents": {"spatial": {"bbox": box, "crs": CRS84}, "temporal": {"begin": None, "end": None}},
            "providers": [
                {
                    "type": "feature",
                    "name": provider(name),
                    "data": register,
                    "table": name,
                    "id_field": key,
                    "time_field": time,
                    "crs": systems,
                    "storage_crs": stored or CRS84,
                }
            ],
        }
        for name, (title, key, time) in COLLECTIONS.items()
    }
    about = {"title": "Joint register", "description": "Pipe joints of a register, with their history"}
    return {
        "server": {
            "bind": {"host": "localhost", "port": 0},
            "url": address.rstrip("/") + PATH,
            "mimetype": "application/json; charset=UTF-8",
            "encoding": "utf-8",
            "language": "en-US",
            "pretty_print": False,
            "limits": {"default_items": PAGE, "max_items": MOST, "on_exceed": "throttle"},
            "map": {"url": "", "attribution": ""},
        },
        "logging": {"level": "CRITICAL"},
        "metadata": {
            "identification": about
            | {"keywords": ["pipe", "joint"], "keywords_type": "theme", "terms_of_service": "", "url": address},
            "license": {"name": "as the owner of the register says", "url": address},
            "provider": {"name": f"asbuilt {__version__}", "url": address},
            "contact": {"name": "the owner of the register"},
        },
        "resources": resources,
    }


def _uri(crs: CRS) -> str | None:
    """Give the address by which the standard names a coordinate system; None where it has no number."""
    authority = crs.to_authority()
    return f"http://www.opengis.net/def/crs/{authority[0]}/0/{authority[1]}" if authority else None


def _extent(store: Any) -> list[float]:
    found = store.rows("SELECT min(longitude), min(latitude), max(longitude), max(latitude) FROM joints")[0]
    return [-180.0, -90.0, 180.0, 90.0] if found[0] is None else [float(side) for side in found]


async def _answer(api: API, function: Callable[..., Any], request: Request, names: list[str]) -> Response:
    asked = await APIRequest.from_starlette(request, api.locales)
    # A browser asks for a page; there is none, so it gets what there is.
    asked._format = "json"

    def answered() -> tuple[dict[str, str], int, Any]:
        with asked_window(window(request.query_params)):
            return function(api, asked, *names)  # type: ignore[no-any-return]

    headers, status, content = await asyncio.get_running_loop().run_in_executor(None, answered)
    kind = headers.pop("Content-Type", "application/json")
    if isinstance(content, dict):
        content = json.dumps(content)
    if "json" in kind and isinstance(content, str | bytes):
        content = json.dumps(_offered(json.loads(content)), ensure_ascii=False)
    return Response(content, int(status), headers, media_type=kind)


def _offered(value: Any) -> Any:
    """Leave out the links and conformance classes of forms that are not offered."""
    if isinstance(value, dict):
        return {key: _offered(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_offered(one) for one in value if not _elsewhere(one)]
    return value


def _elsewhere(one: Any) -> bool:
    if isinstance(one, str):
        return one.endswith(_NOT_OFFERED) or "/ogcapi-tiles" in one or "/ogcapi-processes" in one
    return isinstance(one, dict) and "href" in one and one.get("type") in ("text/html", "application/ld+json")
