"""A placed job as people use it: its layers as data frames, its counts and notes, and the file that it writes."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from asbuilt import stores, units
from asbuilt.arrays import as_texts
from asbuilt.job import Job
from asbuilt.layers import geopackage, geoparquet, outputs
from asbuilt.layers.beside import form_of
from asbuilt.layers.outcome import Outcome, Whole
from asbuilt.layers.tables import OF_JOB, OF_RECORDS, OF_ROUTES, layers
from asbuilt.notes import Note

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd


@dataclass(frozen=True)
class Placement(Outcome):
    """A placed job: its layers as data frames, and all that the layers are made of.

    Frames are made when first asked for; writing does not make them.
    """

    whole: Whole

    @property
    def counts(self) -> dict[str, Any]:
        """The counts of the run, which prove that no record was lost: as for `Whole.counts`."""
        return self.whole.counts

    @property
    def notes(self) -> tuple[Note, ...]:
        """What was noticed about the job as a whole."""
        return self.whole.notes

    @property
    def inputs(self) -> tuple[tuple[str, str], ...]:
        """Path and SHA-256 of each file read."""
        return self.whole.inputs

    @cached_property
    def joints(self) -> gpd.GeoDataFrame:
        """Joints, a point each: where, what, and its deflection and verdict."""
        return self._frame("joints")

    @cached_property
    def segments(self) -> gpd.GeoDataFrame:
        """Straights between successive joints."""
        return self._frame("segments")

    @cached_property
    def findings(self) -> gpd.GeoDataFrame:
        """Things to look at, each with what its limit rests on."""
        return self._frame("findings")

    @cached_property
    def centerline(self) -> gpd.GeoDataFrame:
        """Routes, with their distance as measure."""
        return self._frame("centerline")

    @cached_property
    def restraint(self) -> pd.DataFrame:
        """Lengths that the design wants restrained, with the counts of their joints."""
        frame: pd.DataFrame = self.table("restraint").to_pandas()
        return frame

    @cached_property
    def pressure_tests(self) -> pd.DataFrame:
        """Pressure tests with their allowances and results, and lengths under no test."""
        frame: pd.DataFrame = self.table("pressure_tests").to_pandas()
        return frame

    @cached_property
    def inspections(self) -> pd.DataFrame:
        """Every placed record, normalised, with its original row as JSON."""
        frame: pd.DataFrame = self.table("inspections").to_pandas()
        return frame

    @cached_property
    def set_aside(self) -> pd.DataFrame:
        """Every record that could not be placed, with its reason and original row."""
        frame: pd.DataFrame = self.table("set_aside").to_pandas()
        return frame

    def write(self, path: Path | str, *, made_at: dt.datetime | None = None) -> None:
        """Write all layers, whole or not at all: to a GeoPackage, or as GeoParquet to a folder named `*.parquet`.

        Parameters
        ----------
        path : path of the file or folder; an earlier one of the same job is replaced when the new one is complete
        made_at : datetime, optional
            Time to be recorded; now, if left out.

        Raises
        ------
        OutputError
            When the file cannot be written there, or would replace an input or what another job or program made.
        """
        path, whole = stores.local(path), self.whole
        outputs.check_output(path, whole.inputs, whole.job, kind="placed")
        write = geoparquet.write_geoparquet if path.suffix == geoparquet.SUFFIX else geopackage.write_geopackage
        made = layers(whole, self.table, made_at or dt.datetime.now(dt.UTC))
        write(path, made, crs=whole.map_crs, units=unit_words(whole.job, whole.routes.unit))

    def _frame(self, name: str) -> gpd.GeoDataFrame:
        import geopandas as gpd
        import shapely

        table = self.table(name)
        frame = table.drop_columns(["geom"]).to_pandas()
        geometry = shapely.from_wkb(table["geom"].to_numpy(zero_copy_only=False))
        return gpd.GeoDataFrame(frame, geometry=geometry, crs=self.map_crs)

    def table(self, name: str) -> pa.Table:
        """Give a layer as an Arrow table, its geometry as well-known binary in the column "geom"."""
        if name in OF_ROUTES:
            return as_texts(OF_ROUTES[name](self))
        if name in OF_RECORDS:
            return OF_RECORDS[name](self.whole, 0, len(self.log))
        return OF_JOB[name](self.whole)


def check_target(path: Path) -> None:
    """Refuse a name under which no layers can be written, before anything is computed.

    Raises
    ------
    OutputError
    """
    stores.check_writable(path, "output.path or --out")
    form_of(path).check_target(path)


def unit_words(job: Job, unit: str) -> dict[str, str]:
    """Give the words for a job's units that descriptions of columns take.

    Parameters
    ----------
    job : Job
    unit : str
        Of its coordinates.
    """
    return {
        "unit": units.WORDS[unit],
        "station_unit": units.WORDS[job.records.station_unit],
        "reading_unit": units.SMALL_WORDS[job.records.readings_in],
    }
