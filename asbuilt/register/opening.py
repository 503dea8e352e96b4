"""Registers opened and made, by the name that a user gives: a path, or a postgresql:// address."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import ModuleType

from asbuilt import stores
from asbuilt.errors import OutputError
from asbuilt.register.damage import told_of_damage
from asbuilt.register.formats import settle_format
from asbuilt.register.store import Store

_SERVER = ("postgresql:", "postgres:", "postgresql+psycopg:")


def on_server(name: str) -> bool:
    """Tell whether a register's name is the address of a database.

    Examples
    --------
    >>> on_server("postgresql://maps.example/water"), on_server("register.gpkg")
    (True, False)
    """
    return name.startswith(_SERVER)


def open_register(
    name: Path | str, *, missing_ok: bool = False, writing: bool = True, updating: bool = False
) -> Store | None:
    """Open a register.

    Parameters
    ----------
    name : path of a GeoPackage, or a postgresql:// address
    missing_ok : bool
        Give None where there is no register yet.
    writing : bool
        Whether it may be changed.
    updating : bool
        Whether one of an earlier format is brought up to date: only a load does that.

    Raises
    ------
    InputFileError, OutputError
        When there is none, or it cannot be reached, or its format is another than this program's.
    """
    opened = _opened(str(name), missing_ok=missing_ok, writing=writing)
    if opened is None:
        return None
    try:
        with told_of_damage(opened):
            settle_format(opened, updating=updating)
    except BaseException:
        opened.close()
        raise
    return opened


def _opened(name: str, *, missing_ok: bool, writing: bool) -> Store | None:
    if on_server(name):
        opened: Store | None = _postgis().open_database(name, missing_ok=missing_ok)
        return opened
    stores.refuse_address(
        name, "a register is a database, which needs a disk; copy the file to this machine and name the copy"
    )
    from asbuilt.register.geopackage_store import GeoPackageStore

    if missing_ok and not Path(name).exists():
        return None
    return GeoPackageStore(Path(name), writing=writing)


def open_existing(name: Path | str, *, writing: bool = False) -> Store:
    """Open a register that must be there, to read it, or to change it too.

    Raises
    ------
    InputFileError, OutputError
        When there is none, or it cannot be reached.
    """
    store = open_register(name, writing=writing)
    assert store is not None
    return store


@contextmanager
def reading(name: Path | str) -> Iterator[Store]:
    """Open a register that must be there, give it as it is at one moment, and close it.

    Raises
    ------
    InputFileError, OutputError
        When there is none, it cannot be reached, or it was damaged.
    """
    with closing(open_existing(name)) as store, told_of_damage(store), store.reading():
        yield store


@contextmanager
def changing(name: Path | str) -> Iterator[Store]:
    """Open a register that must be there, give it to be changed whole or not at all, and close it.

    Raises
    ------
    InputFileError, OutputError
        When there is none, it cannot be reached, or it was damaged; nothing is changed then.
    """
    with closing(open_existing(name, writing=True)) as store, told_of_damage(store), store.changing():
        yield store


def make_register(name: str, crs: str) -> Store:
    """Make an empty register and open it; one that was made at the same moment is opened.

    Parameters
    ----------
    name : str
        Path of a GeoPackage, or a postgresql:// address.
    crs : str
        Its coordinate system.
    """
    if on_server(name):
        made: Store = _postgis().make_database(name, crs)
        return made
    from asbuilt.register import geopackage_file
    from asbuilt.register.geopackage_store import GeoPackageStore

    geopackage_file.create(Path(name), crs)
    return GeoPackageStore(Path(name))


def _postgis() -> ModuleType:
    try:
        return importlib.import_module("asbuilt.register.postgis_store")
    except ModuleNotFoundError as error:
        raise OutputError(
            f"a register on a server needs {error.name}, which is not installed: pip install 'asbuilt[postgis]'"
        ) from None
