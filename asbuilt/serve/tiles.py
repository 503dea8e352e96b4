"""A base map from a file of the user's own: raster tiles in MBTiles or a GeoPackage, in the scheme of the web's maps.

Source: MBTiles 1.3, "Tiles": rows are counted from the south; OGC GeoPackage 1.3 (12-128r17), clause 2.2: from the
north, as browsers ask for them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from asbuilt.errors import InputFileError

_WORLD_M = 20_037_508.342789244
"""Half the side of the square that EPSG:3857 makes of the earth, metres; its radius times pi."""
_NEAR_M = 1.0
_MERCATOR = (3857, 900913)
_KINDS = {b"\x89PNG": "image/png", b"\xff\xd8\xff": "image/jpeg", b"RIFF": "image/webp"}
_REMEDY = "make one with gdal_translate -of MBTILES, and gdaladdo for the coarser zooms"


@dataclass(frozen=True)
class Tiles:
    """The tiles of one file.

    Parameters
    ----------
    path : path of the file
    table : str
        Its table of tiles.
    from_south : bool
        Whether rows are counted from the south.
    zooms : pair of int
        The coarsest and the finest zoom that it has.
    attribution : str
        Whose the map is, as the file says; empty where it does not.
    """

    path: Path
    table: str
    from_south: bool
    zooms: tuple[int, int]
    attribution: str

    def tile(self, zoom: int, column: int, row: int) -> tuple[bytes, str] | None:
        """Give a tile by its zoom, column from the west and row from the north, and its kind; None where none is."""
        if not 0 <= zoom <= self.zooms[1]:
            return None
        at = (zoom, column, 2**zoom - 1 - row if self.from_south else row)
        with _opened(self.path) as database:
            found = database.execute(
                f'SELECT tile_data FROM "{self.table}" WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?', at
            ).fetchone()
        kind = found and _kind(found[0])
        return (bytes(found[0]), kind) if kind else None


def tiles_of(path: Path) -> Tiles:
    """Find the tiles of a file.

    Raises
    ------
    InputFileError
        When it holds none that a map in a browser can show.
    """
    if not path.is_file():
        raise InputFileError(
            f"--tiles: there is no file {path}; name one, or an address like https://HOST/{{z}}/{{x}}/{{y}}.png"
        )
    try:
        with _opened(path) as database:
            names = {name for (name,) in database.execute("SELECT name FROM sqlite_master")}
            if {"tiles", "metadata"} <= names:
                said = dict(database.execute("SELECT name, value FROM metadata"))
                table, from_south, attribution = "tiles", True, str(said.get("attribution") or "")
            elif "gpkg_tile_matrix_set" in names and database.execute("SELECT 1 FROM gpkg_tile_matrix_set").fetchone():
                table, from_south, attribution = _layer(path, database), False, ""
            else:
                raise InputFileError(f"--tiles: {path} is neither MBTiles nor a GeoPackage with tiles; {_REMEDY}")
            least, most = database.execute(f'SELECT min(zoom_level), max(zoom_level) FROM "{table}"').fetchone()
            one = database.execute(f'SELECT tile_data FROM "{table}" LIMIT 1').fetchone()
    except sqlite3.Error as error:
        raise InputFileError(f"--tiles: {path} is no file of tiles, or is damaged ({error}); {_REMEDY}") from None
    if one is None or _kind(one[0]) is None:
        what = "holds no tiles" if one is None else "holds tiles that are no pictures (PNG, JPEG or WebP)"
        raise InputFileError(f"--tiles: {path} {what}; {_REMEDY}")
    return Tiles(path, table, from_south, (int(least), int(most)), attribution)


def _layer(path: Path, database: sqlite3.Connection) -> str:
    """Name the first table of tiles that lie as the web's maps have them."""
    found = database.execute(
        "SELECT s.table_name, r.organization_coordsys_id, s.min_x, s.max_y FROM gpkg_tile_matrix_set s "
        "JOIN gpkg_spatial_ref_sys r ON r.srs_id = s.srs_id WHERE NOT EXISTS (SELECT 1 FROM gpkg_tile_matrix m "
        "WHERE m.table_name = s.table_name AND m.matrix_width <> (1 << m.zoom_level))"
    ).fetchall()
    for table, system, west, north in found:
        if system in _MERCATOR and abs(west + _WORLD_M) < _NEAR_M and abs(north - _WORLD_M) < _NEAR_M:
            return str(table)
    raise InputFileError(
        f"--tiles: the tiles of {path} do not lie as the web's maps have them (EPSG:3857, from the whole earth down); "
        f"{_REMEDY}"
    )


def _kind(tile: bytes) -> str | None:
    return next((kind for head, kind in _KINDS.items() if bytes(tile).startswith(head)), None)


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as database:
        yield database
