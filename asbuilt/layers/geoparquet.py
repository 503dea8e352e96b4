"""The layers as a folder of GeoParquet files, for analysis at a desk or in a data lake, whole or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import pyarrow as pa

from asbuilt import stores
from asbuilt.errors import OutputError
from asbuilt.layers import outputs
from asbuilt.layers.geopackage import Layer, described
from asbuilt.schema import DOMAINS, LAYERS, LayerInfo
from asbuilt.stored import GEOMETRY

SUFFIX = ".parquet"
"""How the name of such a folder ends."""
VERSION = "1.1.0"
"""Version of GeoParquet that is written."""


def write_geoparquet(path: Path, layers: Iterable[Layer], *, crs: str, units: Mapping[str, str]) -> None:
    """Write layers to a folder of GeoParquet files, whole or not at all.

    Layers with geometry have a bounding box of each row, by which readers leave out what is elsewhere; the file
    `columns.parquet` says what each column means. A measure along a line is not written: the standard has none.

    Parameters
    ----------
    path : path of the folder; an earlier one there is replaced only when the new one is complete
    layers : iterable of Layer
        Taken one by one, so that only one table need be in memory at a time.
    crs : str
        Coordinate system of the geometries, as well-known text or like "EPSG:6418".
    units : mapping
        Words for "unit", "station_unit" and "reading_unit" in the descriptions of columns.

    Raises
    ------
    OutputError
        When the folder cannot be written there.
    ValueError
        When a layer or column has no description.

    Source
    ------
    GeoParquet specification 1.1.0 of the Open Geospatial Consortium, as GeoPandas writes it.

    Examples
    --------
    >>> import tempfile, geopandas as gpd, numpy as np
    >>> from asbuilt.layers.shapes import points_wkb
    >>> place = points_wkb(np.array([6.7e6]), np.array([2.0e6]), np.array([50.0]))
    >>> table = pa.table({"joint": ["101"], "verdict": ["within"], "geom": place})
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "joints.parquet")
    ...     write_geoparquet(path, [Layer("joints", table)], crs="EPSG:6418", units={"unit": "US survey feet"})
    ...     found = gpd.read_parquet(path / "joints.parquet")
    >>> found.verdict.tolist(), found.crs.to_epsg(), found.geometry.iloc[0].wkt
    (['within'], 6418, 'POINT Z (6700000 2000000 50)')
    """
    check_target(path)
    with outputs.put_in_place(path, option="--out") as unfinished:
        fill(unfinished, layers, path=path, crs=crs, units=units)


def fill(unfinished: Path, layers: Iterable[Layer], *, path: Path, crs: str, units: Mapping[str, str]) -> None:
    """Write layers to a folder of GeoParquet files that is put in its place afterwards.

    Parameters
    ----------
    unfinished : path of the folder; none is there
    path : where it is put, for messages
    layers, crs, units : as for `write_geoparquet`

    Raises
    ------
    OutputError, ValueError
        As for `write_geoparquet`.
    """
    import pyarrow.parquet as pq

    with outputs.write_errors(path, "--out"):
        unfinished.mkdir()
        meanings = []
        for layer in layers:
            about = described(layer, LAYERS)
            file = unfinished / f"{layer.name}{SUFFIX}"
            table = _whole(layer)
            if about.geometry_type is None:
                pq.write_table(table, file)
            else:
                _write_with_geometry(table, file, crs)
            meanings.append(_meanings(layer, about, units))
            # Without this the table would stay in memory while the next one is made.
            del layer, table
        pq.write_table(pa.concat_tables(meanings), unfinished / f"columns{SUFFIX}")


def check_target(path: Path) -> None:
    """Refuse a name under which no folder of GeoParquet files can be written.

    Raises
    ------
    OutputError
    """
    stores.refuse_address(
        path,
        "no store takes a folder whole: who reads it meanwhile would have files of two placings; write a .gpkg "
        "there, or write the folder to this machine and copy it",
    )
    final = path.resolve()
    if final.is_file():
        raise OutputError(f"{path}: this is a file, and layers as GeoParquet need a folder; name another with --out")
    if not final.parent.is_dir():
        raise OutputError(f"{path}: there is no folder {final.parent}; make it, or correct output.path or --out")


def _whole(layer: Layer) -> pa.Table:
    """Give a layer as one table, as GeoPandas writes it."""
    rows = layer.table
    return rows if isinstance(rows, pa.Table) else pa.Table.from_batches(rows.batches(), rows.schema)


def _write_with_geometry(table: pa.Table, file: Path, crs: str) -> None:
    import geopandas as gpd
    import pandas as pd
    import shapely

    geometry = shapely.from_wkb(table[GEOMETRY].to_numpy(zero_copy_only=False))
    # The measure is taken away; an elevation that is not known is not made one of 0, as forcing three dimensions would.
    geometry = shapely.from_wkb(shapely.to_wkb(geometry, output_dimension=3))
    # Arrow's kinds are kept: a whole number that is blank in one row stays a whole number.
    frame = table.drop_columns([GEOMETRY]).to_pandas(types_mapper=pd.ArrowDtype)
    gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(geometry, crs=crs)).rename_geometry(GEOMETRY).to_parquet(
        file, index=False, schema_version=VERSION, write_covering_bbox=True
    )


def _meanings(layer: Layer, about: LayerInfo, units: Mapping[str, str]) -> pa.Table:
    """Say what each column of a layer means, and which values it may take."""
    names = [name for name in layer.table.schema.names if name != GEOMETRY]
    known = [about.columns[name] for name in names]
    return pa.table(
        {
            "layer": [layer.name] * len(names),
            "column": names,
            "title": [one.title for one in known],
            "description": [one.description.format_map(units) for one in known],
            "values": pa.array(
                [list(DOMAINS[one.domain].items()) if one.domain else None for one in known],
                pa.map_(pa.string(), pa.string()),
            ),
        }
    )
