"""Registers opened and made, by the name that a user gives: a path, or a postgresql:// address."""

from __future__ import annotations

from pathlib import Path

from asbuilt.errors import OutputError
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


def open_register(name: str, *, missing_ok: bool = False) -> Store | None:
    """Open a register.

    Parameters
    ----------
    name : str
        Path of a GeoPackage, or a postgresql:// address.
    missing_ok : bool
        Give None where there is no register yet.

    Raises
    ------
    InputFileError, OutputError
        When there is none, or it cannot be reached.
    """
    if on_server(name):
        return _postgis().open_database(name, missing_ok=missing_ok)
    from asbuilt.register.geopackage_store import GeoPackageStore

    if missing_ok and not Path(name).exists():
        return None
    return GeoPackageStore(Path(name))


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
        return _postgis().make_database(name, crs)
    from asbuilt.register import geopackage_store

    geopackage_store.create(Path(name), crs)
    return geopackage_store.GeoPackageStore(Path(name))


def _postgis():  # type: ignore[no-untyped-def]
    try:
        from asbuilt.register import postgis_store
    except ModuleNotFoundError as error:
        raise OutputError(
            f"a register on a server needs {error.name}, which is not installed: pip install 'asbuilt[postgis]'"
        ) from None
    return postgis_store
