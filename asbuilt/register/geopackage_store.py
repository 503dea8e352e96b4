"""The register as one GeoPackage file: every change is one SQLite transaction, and any GIS opens it.

What only a change needs, Arrow above all, is loaded by it: to load it takes longer than to answer a question.

The file keeps SQLite's rollback journal unless a program set it otherwise: one file to copy, and after a cut at any
moment the journal beside it restores what was.
"""

from __future__ import annotations

import datetime as dt
import io
import shutil
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from asbuilt import living
from asbuilt.errors import InputFileError, OutputError
from asbuilt.register import geopackage_shapes, layout
from asbuilt.register.ground import Box
from asbuilt.register.store import PART, Store, floats, ints, listed, quoted
from asbuilt.register.turns import turns_of
from asbuilt.schema import Kind

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.arrays import Floats, Ints
    from asbuilt.register.geopackage_rows import Cells, Taken
    from asbuilt.register.incoming import Incoming

    Sides = tuple[Floats, Floats, Floats, Floats]
    """How far places reach in the west, east, south and north; NaN where one is unknown."""

WAIT_S = 60.0
"""Seconds to wait for another program that is writing."""

WITH_POINTS = ("joints", "findings")
MANY = 50_000
"""Rows that are made ready in a file of their own: of fewer it takes longer to make it."""

KEPT_READING, KEPT_WRITING = 200_000, 64_000
"""How much is kept of a file, KiB: what is written goes in behind what is there, and is not looked at again."""

_NOT_OURS = {3, 5, 6, 8, 10, 11, 13, 14}
"""SQLite's codes for what is wrong outside this program: rights, locks, disk. Source: sqlite3.h."""

_HEAD, _MODES, _WRITE_AHEAD = 20, slice(18, 20), b"\x02\x02"
"""Of a file's head: its bytes, those that say how it is written and read, and what they are where changes go to a log
beside it. Source: SQLite, Database File Format, 1.3.3."""

_HELD_AS: dict[Kind, str] = {
    "text": "('text', 'null')", "date": "('text', 'null')", "number": "('real', 'integer', 'null')",
    "whole": "('integer', 'null')",
}  # fmt: skip
"""What SQLite may hold in a column of each kind."""


class GeoPackageStore(Store):
    """A register in a GeoPackage file."""

    def __init__(self, path: Path, *, writing: bool = True) -> None:
        self.name = str(path)
        self.path = path
        self._cells: dict[str, list[Any]] = {}
        self._beside = ExitStack()
        if path.is_dir():
            raise InputFileError(f"{path}: this is a folder; name a file in it, like {path / 'register.gpkg'}")
        if not path.is_file():
            raise InputFileError(f"{path}: there is no such register; asbuilt load FILE --into {path} makes one")
        with ExitStack() as undoing:
            if not writing:
                turns = turns_of(path.resolve())
                turns.enter()
                undoing.callback(turns.leave)
            address = f"{path.resolve().as_uri()}?mode={'rw' if writing else 'ro'}"
            try:
                # Transactions are begun and ended by hand: this module must know where each begins.
                self._database = sqlite3.connect(address, uri=True, timeout=WAIT_S, isolation_level=None)
            except sqlite3.Error as error:
                raise InputFileError(f"{path}: cannot be opened ({error}); check its rights") from None
            undoing.callback(self._database.close)
            if not writing:
                self._take_back_what_was_cut_off()
            self._know()
            # What is sorted for an index in memory is asked for row by row, and each time of one lock for all threads.
            # In files it is sorted piece by piece, each no longer than what is kept of them.
            self._database.execute(f"PRAGMA temp_store = {'FILE' if writing else 'MEMORY'}")
            for kept in ("main", "temp"):
                self._database.execute(f"PRAGMA {kept}.cache_size = -{KEPT_WRITING if writing else KEPT_READING}")
            self._closing = undoing.pop_all()

    def _take_back_what_was_cut_off(self) -> None:
        """Let SQLite take back a change whose program was killed: a connection that only reads is not let.

        Source: SQLite, Result and Error Codes, SQLITE_READONLY_ROLLBACK.
        """
        try:
            self._database.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.Error as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_READONLY_ROLLBACK:
                return  # told when the register is read
            try:
                address = f"{self.path.resolve().as_uri()}?mode=rw"
                with closing(sqlite3.connect(address, uri=True, timeout=WAIT_S)) as database:
                    database.execute("SELECT count(*) FROM sqlite_master").fetchone()
            except sqlite3.Error as refused:
                raise OutputError(
                    f"{self.path}: a change to it was cut off, and cannot be taken back ({refused}); let someone with "
                    "the right to write there run asbuilt info on it once"
                ) from None

    def _know(self) -> None:
        """Read what the file says of itself."""
        try:
            found = self._database.execute("SELECT crs_wkt FROM register").fetchone()
            self._srs = self._database.execute(
                "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'joints'"
            ).fetchone()[0]
            self.crs_wkt = str(found[0])
        except (sqlite3.Error, TypeError) as error:
            if "locked" in str(error):
                raise OutputError(f"{self.path}: another program is writing to it; try again later") from None
            if isinstance(error, sqlite3.Error) and _primary_code(error) == sqlite3.SQLITE_CORRUPT:
                raise InputFileError(
                    f"{self.path}: was damaged ({error}); put back a copy of it, or load its jobs into a new register"
                ) from None
            if isinstance(error, sqlite3.Error) and _primary_code(error) in _NOT_OURS:
                raise InputFileError(f"{self.path}: cannot be read ({error}); {self._remedy()}") from None
            raise InputFileError(
                f"{self.path}: is not a register; asbuilt load FILE --into NEW.gpkg makes one"
            ) from None

    def _remedy(self) -> str:
        """Say what may let the file be read."""
        with self.path.open("rb") as file:
            modes = file.read(_HEAD)[_MODES]
        if modes == _WRITE_AHEAD:
            # As a GIS leaves it that did not end well.
            return (
                "it keeps a write-ahead log, for which whoever reads must be able to write beside it: copy it, and "
                f"{self.path.name}-wal if that lies beside it, to a disk where files can be written"
            )
        return "check its rights, and its disk"

    def column_names(self, table: str) -> set[str]:
        return {name for _, name, *_ in self._database.execute(f"PRAGMA main.table_info({table})")}

    def damage(self) -> str | None:
        try:
            # Holds indexes against their tables as well: a row that an index lacks is one that answers lack.
            [sound] = self._database.execute("PRAGMA main.integrity_check(1)").fetchone()
            if sound != "ok":
                return str(sound)
            trees = (
                "SELECT name FROM main.sqlite_master WHERE sql LIKE 'CREATE VIRTUAL TABLE%USING rtree%' "
                "UNION SELECT 'rtree_' || table_name || '_' || column_name FROM main.gpkg_extensions "
                "WHERE extension_name = 'gpkg_rtree_index'"
            )
            for (tree,) in self._database.execute(trees).fetchall():
                with suppress(sqlite3.DatabaseError):
                    if self._database.execute("SELECT rtreecheck('main', ?)", [tree]).fetchone() == ("ok",):
                        continue
                return f"its index {tree} does not go with its joints"
            for table in layout.REGISTER_LAYERS:
                for name, kind in layout.kinds(table).items():
                    # What became of a main is noted by a person, or by a load.
                    always = name in ("load_id", "format") and table != "joint_service"
                    held = "('integer')" if always else _HELD_AS[kind]
                    query = f'SELECT count(*) FROM main.{table} WHERE typeof("{name}") NOT IN {held}'
                    rows = self._database.execute(query).fetchone()[0]
                    if rows:
                        return f"column {name} of table {table} holds values of another kind in {rows} rows"
            told = "CASE WHEN json_valid(run) THEN json_type(run) END IS NOT 'object'"
            if self._database.execute(f"SELECT 1 FROM main.loads WHERE run IS NOT NULL AND {told}").fetchone():
                return "column run of table loads does not hold what a load says of its job"
            return None
        except sqlite3.DatabaseError as error:
            return str(error)

    def made_with(self) -> list[tuple[str, str]]:
        # Those of GeoPackages as well; an index of places is held against its joints.
        asked = (
            "SELECT t.name, c.name FROM sqlite_master t JOIN pragma_table_info(t.name) c WHERE t.type = 'table' "
            "AND t.name NOT LIKE 'rtree_%'"
        )
        from asbuilt.register import geopackage_file

        with living.temporary() as folder:
            empty = folder / "empty.gpkg"
            geopackage_file.create(empty, self.crs.to_wkt())
            with closing(sqlite3.connect(empty)) as database:
                return database.execute(asked).fetchall()

    def update_format(self) -> None:
        from alembic.runtime.migration import MigrationContext

        from asbuilt.register import geopackage_file, migrations
        from asbuilt.register.formats import format_of

        self._begin()
        try:
            said = io.StringIO()
            options = {"as_sql": True, "output_buffer": said, "schema": None}
            context = MigrationContext.configure(dialect_name="sqlite", opts=options)
            migrations.bring_up(context, format_of(self))
            with self._without_triggers():
                for statement in said.getvalue().split(";\n"):
                    if statement.strip():
                        self._database.execute(statement)
                self.execute("UPDATE register SET format = :number", number=layout.FORMAT)
                geopackage_file.describe_what_is_new(self._database)
            geopackage_file.add_spatial_triggers(self._database)
            self._database.execute("COMMIT")
        except BaseException as error:
            self._database.execute("ROLLBACK")
            if isinstance(error, sqlite3.Error) and _primary_code(error) in _NOT_OURS:
                raise self._failed(error) from error
            raise

    def close(self) -> None:
        self._closing.close()

    def rows(self, sql: str, **values: Any) -> list[tuple[Any, ...]]:
        return self._database.execute(sql, values).fetchall()

    def parts(self, sql: str, **values: Any) -> Iterator[list[tuple[Any, ...]]]:
        found = self._database.execute(sql, values)
        while rows := found.fetchmany(PART):
            yield rows

    def execute(self, sql: str, **values: Any) -> int:
        return self._database.execute(sql, values).rowcount

    @contextmanager
    def reading(self) -> Iterator[None]:
        self._database.execute("BEGIN")
        try:
            yield
        finally:
            self._database.execute("ROLLBACK")

    @contextmanager
    def changing(self, incoming: Incoming | None = None) -> Iterator[None]:
        if incoming is not None:
            self._attach(incoming)
        try:
            self._begin()
            try:
                with self._without_triggers():
                    yield
                self._note_contents()
                self._database.execute("COMMIT")
            except BaseException as error:
                if self._database.in_transaction:
                    self._database.execute("ROLLBACK")
                if isinstance(error, sqlite3.Error) and _primary_code(error) in _NOT_OURS:
                    raise self._failed(error) from error
                raise
        finally:
            self._beside.close()
            if incoming is not None:
                self._database.execute("DETACH placed")

    def _attach(self, incoming: Incoming) -> None:
        """Let rows be taken from the placed file: from itself, or from a copy of its tables where it is no database."""
        if incoming.path.is_file():
            from asbuilt.register import geopackage_rows

            geopackage_rows.attach(self._database, incoming.path)
            return
        import pyarrow as pa

        self._database.execute("ATTACH '' AS placed")
        for layer, table in incoming.tables.items():
            columns = {
                # SQLite keeps a date as text.
                name: values.cast(pa.string()) if pa.types.is_date(values.type) else values
                for name, values in zip(table.column_names, table.columns, strict=True)
            }
            self._put("placed", layer, "fid", incoming.fids[layer].tolist(), columns)

    def _begin(self) -> None:
        try:
            self._database.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            raise self._failed(error) from error

    def _failed(self, error: sqlite3.Error) -> OutputError:
        if "locked" in str(error):
            return OutputError(f"{self.path}: another program is writing to it; try again later. Nothing was changed")
        if "readonly" in str(error):
            return OutputError(f"{self.path}: may not be written; check its rights. Nothing was changed")
        free = shutil.disk_usage(self.path.resolve().parent).free / 1e6
        return OutputError(
            f"{self.path}: cannot be written ({error}; {free:.0f} MB are free there); make room, or check its folder. "
            "Nothing was changed"
        )

    @contextmanager
    def _without_triggers(self) -> Iterator[None]:
        """Set the triggers of the register's tables aside, and put them back as they were.

        They call functions that only a GIS brings, or count, once for each row; this module keeps the spatial index
        and the counts itself. All happens in one transaction, so nobody sees the file without them.
        """
        triggers = self._database.execute(
            "SELECT name, sql FROM main.sqlite_master WHERE type = 'trigger' AND sql IS NOT NULL AND tbl_name IN "
            f"({', '.join(repr(table) for table in layout.REGISTER_LAYERS)})"
        ).fetchall()
        for name, _ in triggers:
            self._database.execute(f'DROP TRIGGER main."{name}"')
        yield
        for _, sql in triggers:
            self._database.execute(sql)

    def _note_contents(self) -> None:
        """Tell a GIS how many features the layers have, and when they changed."""
        changed = dt.datetime.now(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
        for table in layout.REGISTER_LAYERS:
            self.execute(
                "UPDATE gpkg_contents SET last_change = :changed WHERE table_name = :table_name",
                changed=changed,
                table_name=table,
            )
            self.execute(
                f"UPDATE gpkg_ogr_contents SET feature_count = (SELECT count(*) FROM {table}) "
                "WHERE table_name = :table_name",
                table_name=table,
            )

    def stage(self, name: str, columns: Mapping[str, Sequence[Any] | Ints | Floats | pa.Array]) -> None:
        self._database.execute(f"DROP TABLE IF EXISTS temp.{name}")
        self._put("temp", name, "nr", None, columns)

    def _put(
        self,
        database: str,
        name: str,
        key: str,
        numbers: Sequence[int] | None,
        columns: Mapping[str, Sequence[Any] | Ints | Floats | pa.Array],
    ) -> None:
        """Make a table of columns, its rows numbered in the column `key`: from 0 on, where no numbers are given."""
        self._database.execute(f"CREATE TABLE {database}.{name} ({key} INTEGER PRIMARY KEY, {quoted(list(columns))})")
        marks, every = ", ".join("?" * (1 + len(columns))), list(columns.values())
        count = len(every[0])
        # As Python's objects all would take many times what they take as columns.
        for start in range(0, count, PART):
            lists = [listed(values[start : start + PART]) for values in every]
            own = range(start, min(start + PART, count)) if numbers is None else numbers[start : start + PART]
            rows = zip(own, *lists, strict=True)
            self._database.executemany(f"INSERT INTO {database}.{name} VALUES ({marks})", rows)

    def add(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> None:
        if not len(rows):
            return
        from concurrent.futures import ThreadPoolExecutor

        from asbuilt.layers import rtree
        from asbuilt.register import geopackage_rows

        cells: dict[str, Any] = {name: more[name] for name in more if name in layout.kinds(table) or name == "fid"}
        bounds: Sides | None = None
        if table in WITH_POINTS:
            spots = tuple(np.asarray(more[name]) for name in ("easting", "northing", "elevation"))
            cells["geom"] = lambda some: geopackage_shapes.points(self._srs, *(one[some] for one in spots))
            bounds = (spots[0], spots[0], spots[1], spots[1])
        elif table == layout.LINES:
            cells["geom"], box = geopackage_shapes.lines(self._srs, [incoming.lines[at] for at in rows])
            bounds = tuple(box.T)
        # Many rows go in faster without indexes, which are made anew afterwards.
        many = len(rows) >= self.rows(f"SELECT count(*) FROM {table}")[0][0]
        with ThreadPoolExecutor(1) as beside:
            tree = beside.submit(rtree.packed, *self._places(table, more["fid"], bounds)) if many and bounds else None
            with self._without_indexes(table) if many else nullcontext():
                if geopackage_rows.are_whole(rows, incoming.fids[layer]):
                    for some in geopackage_rows.taken(table, incoming, layer, cells, same):
                        self._take(some)
                else:
                    self._insert(table, incoming, layer, rows, cells, same)
        if tree is not None:
            rtree.put(self._database, f"rtree_{table}_geom", tree.result())
        elif bounds is not None:
            self._index_places(table, np.asarray(more["fid"]), bounds)
        if bounds is not None:
            self._widen(table, bounds)

    @contextmanager
    def add_beside(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> Iterator[None]:
        taken = self._taken_beside(table, incoming, layer, rows, more, same)
        if taken is None:
            with super().add_beside(table, incoming, layer, rows, more, same):
                yield
            return
        from asbuilt.register import geopackage_rows

        file = self._beside.enter_context(living.temporary()) / "rows.sqlite"
        made = [sql for (sql,) in self.rows(
            "SELECT sql FROM main.sqlite_master WHERE tbl_name = :name AND type IN ('table', 'index') "
            "AND sql IS NOT NULL ORDER BY type = 'index'", name=table)]  # fmt: skip
        last = self.rows("SELECT seq FROM main.sqlite_sequence WHERE name = :name", name=table)
        filling = geopackage_rows.filling(file, incoming.path, made, last[0][0] if last else 0, table, taken)
        with filling as filled:
            yield
            failed = filled.exception()
        if isinstance(failed, sqlite3.Error | geopackage_rows.NotInOnePieceError):
            # As when there is no room in the temporary folder: here they need none.
            self.add(table, incoming, layer, rows, more, same)
        elif failed is not None:
            raise failed
        else:
            self._take_over(table, file, len(rows))

    def _taken_beside(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        more: Mapping[str, Sequence[Any] | Ints | Floats],
        same: Mapping[str, str | int],
    ) -> Iterator[Taken] | None:
        """Say how rows can be made ready in a file of their own; None where they cannot, or it would gain nothing."""
        from asbuilt.register import geopackage_rows

        fids = incoming.fids[layer]
        if len(rows) < MANY or not incoming.path.is_file() or not geopackage_rows.are_whole(rows, fids):
            return None
        if table in WITH_POINTS or table == layout.LINES or self.rows(f"SELECT 1 FROM main.{table} LIMIT 1"):
            return None
        cells = {name: values for name, values in more.items() if name in layout.kinds(table)}
        return geopackage_rows.taken(table, incoming, layer, cells, same)

    def _take_over(self, table: str, file: Path, count: int) -> None:
        """Take rows that were made ready, with their indexes: SQLite copies both as they lie, as the tables are alike.

        Source: SQLite, "INSERT", and the comment on xferOptimization in insert.c (from memory).
        """
        self._database.execute("ATTACH ? AS beside", (f"{file.as_uri()}?mode=ro",))
        # It cannot go before the transaction has ended.
        self._beside.callback(self._database.execute, "DETACH beside")
        self.execute(f"INSERT INTO main.{table} SELECT * FROM beside.{table}")
        there = self.rows(f"SELECT count(*) FROM main.{table}")[0][0]
        if there != count:
            raise RuntimeError(f"{there} of {count} rows came into {table}")

    def _insert(
        self,
        table: str,
        incoming: Incoming,
        layer: str,
        rows: Ints,
        cells: Mapping[str, Cells],
        same: Mapping[str, str | int],
    ) -> None:
        """Insert rows of the placed file, with cells that take the place of the file's or are added."""
        theirs, fids = incoming.tables[layer], incoming.fids[layer]
        columns = {name: f":{name}" for name in same}
        for name in theirs.column_names:
            if name in layout.kinds(table) and name not in cells:
                columns.setdefault(name, f'p."{name}"')
        columns |= {name: f'a."{name}"' for name in cells}
        made = {name: values(slice(None)) if callable(values) else values for name, values in cells.items()}
        self.stage("added", {"taken_from": fids[rows], **made})
        self.execute(
            f"INSERT INTO main.{table} ({quoted(list(columns))}) SELECT {', '.join(columns.values())} "
            f"FROM temp.added a JOIN placed.{layer} p ON p.fid = a.taken_from ORDER BY a.nr",
            **same,
        )
        self.execute("DROP TABLE temp.added")

    def _take(self, taken: Taken) -> None:
        """Insert rows of the placed file, by their numbers one behind the other."""
        for name, values in taken.asked.items():
            self._handed_over(name)[:] = values
        taken.into(self._database)
        for name in taken.asked:
            self._handed_over(name).clear()

    def _handed_over(self, name: str) -> list[Any]:
        """Give the list whose items the SQL function added_NAME gives by their index."""
        if name not in self._cells:
            # Never made anew: SQLite does not let a function be exchanged while any statement is open.
            self._cells[name] = []
            self._database.create_function(f"added_{name}", 1, self._cells[name].__getitem__)
        return self._cells[name]

    def _widen(self, table: str, sides: Sides) -> None:
        """Tell a GIS how far the layer reaches now."""
        known = np.isfinite(sides[0])
        if not known.any():
            return
        west, east, south, north = (one[known] for one in sides)
        self.execute(
            "UPDATE gpkg_contents SET min_x = min(coalesce(min_x, :west), :west), max_x = max(coalesce(max_x, :east), "
            ":east), min_y = min(coalesce(min_y, :south), :south), max_y = max(coalesce(max_y, :north), :north) "
            "WHERE table_name = :table_name",
            west=float(west.min()),
            east=float(east.max()),
            south=float(south.min()),
            north=float(north.max()),
            table_name=table,
        )

    @contextmanager
    def _without_indexes(self, table: str) -> Iterator[None]:
        # That of loads grows at its end, as a new load has the highest number: made anew it would cost more.
        indexes = self.rows(
            "SELECT name, sql FROM main.sqlite_master WHERE type = 'index' AND tbl_name = :name AND sql IS NOT NULL "
            "AND name <> :name || '_load'",
            name=table,
        )
        for name, _ in indexes:
            self.execute(f'DROP INDEX main."{name}"')
        yield
        for _, sql in indexes:
            self.execute(sql)

    def _index_places(self, table: str, fid: Ints, sides: Sides) -> None:
        """Put the places just added into the spatial index."""
        known = np.isfinite(sides[0])
        rows = zip(fid[known].tolist(), *(one[known].tolist() for one in sides), strict=True)
        self._database.executemany(f"INSERT INTO rtree_{table}_geom VALUES (?, ?, ?, ?, ?)", rows)

    def _places(self, table: str, fid: Any, sides: Sides) -> tuple[int, Ints, Floats, Floats, Floats, Floats]:
        """Give the bytes of a node of the spatial index, and the places that it has or that come into it."""
        from asbuilt.layers import rtree

        index, known = f"rtree_{table}_geom", np.isfinite(sides[0])
        before = self.arrays(f"SELECT id, minx, maxx, miny, maxy FROM {index}", [ints, *[floats] * 4])
        own = [np.asarray(fid), *sides]
        if len(before[0]) or not known.all():
            own = [np.concatenate([one[known], theirs]) for one, theirs in zip(own, before, strict=True)]
        number, west, east, south, north = own
        return rtree.node_size(self._database, index), number, west, east, south, north

    def restore(self, earlier: Ints) -> None:
        if not len(earlier):
            return
        self.stage("back", {"fid": earlier})
        names = list(layout.kinds("joints"))
        place = self.columns(
            "SELECT e.easting, e.northing, e.elevation FROM temp.back b JOIN joints_earlier e ON e.fid = b.fid "
            "ORDER BY b.nr",
            3,
        )
        easting, northing, elevation = (floats(values) for values in place)
        self.stage("back_points", {"geom": geopackage_shapes.points(self._srs, easting, northing, elevation)})
        self.execute(
            f"INSERT INTO joints ({quoted(names)}, geom) SELECT {quoted(names, 'e.')}, p.geom FROM temp.back b "
            "JOIN joints_earlier e ON e.fid = b.fid JOIN temp.back_points p ON p.nr = b.nr ORDER BY b.nr"
        )
        self.execute(
            "INSERT INTO rtree_joints_geom SELECT j.fid, j.easting, j.easting, j.northing, j.northing FROM temp.back b "
            "JOIN joints_earlier e ON e.fid = b.fid JOIN joints j ON j.joint_uid = e.joint_uid"
        )
        self.execute("DELETE FROM joints_earlier WHERE fid IN (SELECT fid FROM temp.back)")

    def remove_joints(self, staged: str) -> None:
        self.execute(f"DELETE FROM rtree_joints_geom WHERE id IN (SELECT fid FROM {staged})")
        self.execute(f"DELETE FROM joints WHERE fid IN (SELECT fid FROM {staged})")

    def remove_rows(self, table: str, load: int) -> None:
        if table in WITH_POINTS:
            self.execute(
                f"DELETE FROM rtree_{table}_geom WHERE id IN (SELECT fid FROM {table} WHERE load_id = :load)", load=load
            )
        self.execute(f"DELETE FROM {table} WHERE load_id = :load", load=load)

    def near(self, staged: str) -> str:
        return (
            f"{staged} s CROSS JOIN rtree_joints_geom r ON r.minx <= s.easting + :reach_east "
            "AND r.maxx >= s.easting - :reach_east AND r.miny <= s.northing + :reach_north "
            "AND r.maxy >= s.northing - :reach_north CROSS JOIN joints j ON j.fid = r.id"
        )

    def inside(self, box: Box, table: str = "joints") -> str:
        return (
            f"j.fid IN (SELECT id FROM rtree_{table}_geom WHERE minx <= {box.east!r} AND maxx >= {box.west!r} "
            f"AND miny <= {box.north!r} AND maxy >= {box.south!r})"
        )

    def of_run(self, key: str) -> str:
        return f"json_extract(l.run, '$.{key}')"

    def day(self, text: str) -> str:
        return text

    def shapes(self, cells: Sequence[Any]) -> Any:
        import shapely

        return shapely.from_wkb([geopackage_shapes.wkb_of(cell) for cell in cells])

    def next_fid(self, table: str) -> int:
        """Give the first number that no row has."""
        return 1 + int(self.rows(f"SELECT coalesce(max(fid), 0) FROM {table}")[0][0])


def _primary_code(error: sqlite3.Error) -> int:
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF
