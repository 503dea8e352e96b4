"""The application: the search page, what it asks for, and OGC API Features, behind one gate."""

from __future__ import annotations

import json
import mimetypes
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.register.inventory import ITEMS
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.register.question import TEMPERATURE, Question
from asbuilt.register.search import find
from asbuilt.schema import CONDITIONS, DOMAINS, LAYERS
from asbuilt.serve.around import around, window
from asbuilt.serve.choices import choices
from asbuilt.serve.guard import Gate, Guarded
from asbuilt.serve.ogc import routes as ogc_routes
from asbuilt.serve.page import FAILED, LENGTHS, in_a_form, marks, static, told
from asbuilt.serve.tiles import Tiles

OWN_TILES = "tiles/{z}/{x}/{y}"
"""Where the page finds the tiles of the user's own file, from its own address on."""
MOST = 500
"""Joints of one answer; a question that finds more says so."""
Reader = Callable[[Sequence[tuple[str, str]]], Question]
"""Reads a question from names and values, such as ("near", "38.65,-121.2")."""
_STATIC = ("page.css", "page.js", "vendor/maplibre-gl.js", "vendor/maplibre-gl.css")
_PICTURES = (".png", ".jpg", ".jpeg", ".gif", ".webp")


@dataclass(frozen=True)
class Service:
    """What is served, and how.

    Parameters
    ----------
    register : str
        Path of a register, or a postgresql:// address.
    read : function
        Reads a question as the command `find` does.
    address : str
        Where the service is reached; links of OGC API Features begin with it.
    gate : Gate
    photos : Path or None
        Folder of the photos that records name.
    tiles : str, Tiles or None
        The user's own base map: its address, with {z}, {x} and {y}, or its file.
    attribution : str
        Who made the base map, to be shown on it.
    """

    register: str
    read: Reader
    address: str
    gate: Gate
    photos: Path | None = None
    tiles: str | Tiles | None = None
    attribution: str = ""


def application(service: Service) -> ASGIApp:
    """Make the application.

    Raises
    ------
    AsbuiltError
        When the register cannot be read.
    """

    async def answer(request: Request) -> Response:
        return await run_in_threadpool(_found, service, request)

    async def drawn(request: Request) -> Response:
        return await run_in_threadpool(_around, service, request)

    async def offered(request: Request) -> Response:
        return await run_in_threadpool(_choices, service)

    async def picture(request: Request) -> Response:
        return await run_in_threadpool(_photo, service, request.path_params["name"])

    async def tile(request: Request) -> Response:
        return await run_in_threadpool(_tile, service, **request.path_params)

    async def about(request: Request) -> Response:
        return JSONResponse(_about(service))

    return Guarded(
        Starlette(
            routes=[
                Route("/", _page),
                Route("/find", answer),
                Route("/around", drawn),
                Route("/about", about),
                Route("/choices", offered),
                Route("/photos/{name:path}", picture),
                Route("/tiles/{zoom:int}/{column:int}/{row:int}", tile),
                Route("/static/{name:path}", _static),
                *ogc_routes(service.register, service.address),
            ]
        ),
        service.gate,
    )


def origin(tiles: str) -> str:
    """Give the host from which a base map comes, as a browser's rules name it.

    Raises
    ------
    OutputError
        When the address is none.

    Examples
    --------
    >>> origin("https://maps.marrow-creek.example/tiles/{z}/{x}/{y}.png")
    'https://maps.marrow-creek.example'
    """
    parts = urlsplit(tiles)
    if (
        parts.scheme not in ("http", "https")
        or not parts.hostname
        or not all(name in tiles for name in ("{z}", "{x}", "{y}"))
    ):
        raise OutputError(
            f"--tiles: {tiles!r} is no address of tiles; write it like https://HOST/{{z}}/{{x}}/{{y}}.png"
        )
    return f"{parts.scheme}://{parts.netloc}"


def _found(service: Service, request: Request) -> Response:
    pairs = [one for one in request.query_params.multi_items() if one[0] != "joint_uid"]
    try:
        found = find(service.register, service.read(pairs), most=MOST)
    except OutputError as error:
        return _wrong(error, 503)
    except AsbuiltError as error:
        return _wrong(error, 400)
    return _json(told(found, MOST))


def _around(service: Service, request: Request) -> Response:
    try:
        return _json(around(service.register, window(request.query_params.get("bbox", ""))))
    except OutputError as error:
        return _wrong(error, 503)
    except AsbuiltError as error:
        return _wrong(error, 400)


def _choices(service: Service) -> Response:
    try:
        return _json(choices(service.register))
    except AsbuiltError as error:
        return _wrong(error, 503)


def _about(service: Service) -> dict[str, Any]:
    own = service.tiles if isinstance(service.tiles, Tiles) else None
    name = service.register if "://" in service.register else Path(service.register).name
    return {
        "register": name, "tiles": OWN_TILES if own else service.tiles, "zooms": own.zooms if own else None,
        "attribution": service.attribution or (own.attribution if own else ""),
        "photos": service.photos is not None,
        "marks": marks(),
        "failed": FAILED,
        "conditions": CONDITIONS,
        "lengths": LENGTHS,
        "verdicts": DOMAINS["verdict"], "findings": DOMAINS["finding_code"],
        "tested": list(DOMAINS["test_result"]),
        "services": list(REGISTER_DOMAINS["service"]),
        "items": {"inspection": LAYERS["joints"].columns["inspection"].title}
        | {name: LAYERS["inspections"].columns[name].title for name in (*ITEMS, TEMPERATURE)},
    }  # fmt: skip


def _photo(service: Service, name: str) -> Response:
    """Give a picture from the folder of photos, and from nowhere else."""
    if service.photos is not None:
        folder = service.photos.resolve()
        wanted = (folder / name).resolve()
        if wanted.is_relative_to(folder) and not wanted.is_file():
            # Found in a folder within, as the job's folders of photos have them.
            wanted = next((one for one in sorted(folder.rglob("*")) if one.name == wanted.name), wanted).resolve()
        if wanted.is_relative_to(folder) and wanted.suffix.lower() in _PICTURES and wanted.is_file():
            return FileResponse(wanted)
    return Response("there is no such photo\n", 404, media_type="text/plain")


def _tile(service: Service, zoom: int, column: int, row: int) -> Response:
    """Give a tile of the user's own file."""
    try:
        found = service.tiles.tile(zoom, column, row) if isinstance(service.tiles, Tiles) else None
    except sqlite3.Error:
        return Response("the file of the base map cannot be read\n", 503, media_type="text/plain")
    if found is None:
        return Response("there is no such tile\n", 404, media_type="text/plain")
    return Response(found[0], media_type=found[1])


async def _page(request: Request) -> Response:
    return Response(static("page.html"), media_type="text/html")


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in _STATIC:
        return Response("there is no such file\n", 404, media_type="text/plain")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    return Response(static(name), media_type=kind)


def _json(value: Any, status: int = 200) -> Response:
    return Response(json.dumps(value, ensure_ascii=False), status, media_type="application/json")


def _wrong(error: AsbuiltError, status: int) -> Response:
    return _json({"error": in_a_form(str(error))}, status)
