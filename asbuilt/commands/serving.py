"""The command that opens the register to browsers and programs: serve."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from asbuilt.commands.options import FILE, FOLDER, REGISTER
from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.terminal import screen
from asbuilt.terminal.cautions import DIGGING_CAUTION

if TYPE_CHECKING:
    from asbuilt.register.question import Question

_LOOPBACK = ("127.0.0.1", "::1", "localhost")


@click.command()
@REGISTER
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on; by default this machine.")
@click.option("--port", type=click.IntRange(0, 65535), default=8340, show_default=True, help="0 takes any free port.")
@click.option(
    "--address",
    help="Address at which users reach it, such as https://maps.example/joints, if it is not host and port.",
)
@click.option("--token-file", type=FILE, help="File with one line, the token that every user must send.")
@click.option("--user-header", metavar="NAME", help="Header in which a reverse proxy names the user it let in.")
@click.option("--photos", type=FOLDER, help="Folder of the photos; else photos beside the register.")
@click.option(
    "--tiles",
    metavar="URL|FILE",
    help="Your own base map: https://HOST/{z}/{x}/{y}.png, or a file of tiles (MBTiles, GeoPackage).",
)
@click.option("--attribution", default="", help="Who made the base map, to be shown on it.")
def serve(
    register: str,
    host: str,
    port: int,
    address: str | None,
    token_file: Path | None,
    user_header: str | None,
    photos: Path | None,
    tiles: str | None,
    attribution: str,
) -> None:
    """Serve the REGISTER for reading: a search page, the answers of find as JSON, and OGC API Features.

    It listens on this machine alone unless told otherwise; opened wider it wants a token, or a reverse proxy that names
    its users.

    \b
    Examples:
        asbuilt serve register.gpkg
        asbuilt serve postgresql://maps@server/water --host 0.0.0.0 --token-file token.txt
    """
    try:
        import uvicorn

        from asbuilt.register.opening import open_existing
        from asbuilt.serve.app import Service, application, origin
        from asbuilt.serve.guard import Gate
        from asbuilt.serve.tiles import tiles_of
    except ModuleNotFoundError as error:
        raise OutputError(f"serving needs {error.name}, which is not installed: pip install 'asbuilt[serve]'") from None
    wide = host not in _LOOPBACK
    if wide and token_file is None and user_header is None:
        raise OutputError(
            f"--host {host}: anyone who reaches this machine could read the register; add --token-file, or "
            "--user-header behind a reverse proxy"
        )
    gate = Gate(
        token=_token(token_file) if token_file is not None else None,
        user_header=user_header,
        hosts=() if wide or address else _LOOPBACK,
        tiles=origin(tiles) if tiles and "://" in tiles else None,
    )
    base_map = tiles if tiles is None or "://" in tiles else tiles_of(Path(tiles))
    open_existing(register).close()
    listener = _listener(host, port)
    shown = f"http://{f'[{host}]' if ':' in host else host}:{listener.getsockname()[1]}"
    beside = None if "://" in register else Path(register).resolve().parent / "photos"
    folder = photos or (beside if beside is not None and beside.is_dir() else None)
    if photos is not None and not photos.is_dir():
        raise OutputError(f"--photos: {photos} is no folder; name the folder of the photos")
    app = application(Service(register, read_question, address or shown, gate, folder, base_map, attribution))
    screen.line(f"Serving {register} at {address or shown} (OGC API Features: {address or shown}/ogc). Ctrl+C ends it.")
    screen.line(DIGGING_CAUTION)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, server_header=False))
    # Nothing is written while a register is served: ending it interrupts no output.
    with contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listener])


def _listener(host: str, port: int):  # type: ignore[no-untyped-def]
    import socket

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise OutputError(
            f"--host {host} --port {port}: cannot listen there ({error.strerror}); choose others"
        ) from None
    return listener


def _token(path: Path) -> str:
    from asbuilt.serve.guard import weak

    try:
        token = path.read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise OutputError(f"--token-file: {path} cannot be read ({error}); name a text file of one line") from None
    if weak(token) or "\n" in token:
        raise OutputError(f"--token-file: {path} must hold one line of 16 characters or more that nobody can guess")
    return token


def _is_yes(name: str, value: str) -> bool:
    """Read whether an address asks for a condition that is met or not, such as `no-photo=`."""
    said = value.strip().casefold()
    if said in ("", "1", "yes", "true", "on"):
        return True
    if said in ("0", "no", "false"):
        return False
    raise AsbuiltError(f"{name}: {value[:50]!r} is neither yes nor no; write {name}=yes, or leave it out")


def read_question(pairs: Sequence[tuple[str, str]]) -> Question:
    """Read a question from the names and values of an address as `find` reads its options.

    A field of a form that was left empty asks nothing; a tick box without a value was ticked.

    Raises
    ------
    AsbuiltError
        Naming what is not understood.

    Examples
    --------
    >>> read_question([("route", "A"), ("from", "12+00")]).from_station
    '12+00'
    >>> read_question([("no-photo", "")]).no_photo, read_question([("no-photo", "0")]).no_photo
    (True, False)
    """
    from asbuilt.commands.register import asked_of, find

    known = {name for one in find.params for name in one.opts if name.startswith("--")}
    known -= {"--out", "--map", "--json", "--area", "--group-by"}
    flags = {one.opts[0][2:] for one in find.params if isinstance(one, click.Option) and one.is_flag}
    arguments = ["register"]
    for name, value in pairs:
        if f"--{name}" not in known:
            raise AsbuiltError(f"{name[:50]!r} cannot be asked; ask by {', '.join(sorted(one[2:] for one in known))}")
        if name in flags:
            arguments += [f"--{name}"] * _is_yes(name, value)
        elif value:
            arguments.append(f"--{name}={value}")
    try:
        context = find.make_context("find", arguments, resilient_parsing=False)
    except click.ClickException as error:
        raise AsbuiltError(error.format_message()) from None
    return asked_of(context.params)
