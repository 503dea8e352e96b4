"""Placed jobs for the register's tests, and what a register holds, to be compared."""

import os
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

import laying
import numpy as np
import pandas as pd
import pyarrow as pa

from asbuilt.placing.naming import joint_uids
from asbuilt.register import layout
from asbuilt.register.opening import open_existing


def quick_folder():
    """Make a folder in memory where there is one: no test here is about a power cut, and disks are slow."""
    memory = Path("/dev/shm")
    return Path(tempfile.mkdtemp(prefix="asbuilt-", dir=memory if os.access(memory, os.W_OK) else None))


def change(log, columns):
    """Change columns of a log, some rows where they are given as a dictionary, else all; add those not there."""
    for column, values in columns.items():
        column = column.replace("_", " ")
        if not isinstance(values, dict):
            values = dict.fromkeys(log.index, values)
        if column not in log:
            log[column] = None
        for row, value in values.items():
            log.loc[row, column] = value


def placed(
    path, name="Quarry Lane", *, routes=("A",), joints=6, east=0.0, north=0.0, up=0.0, first=1, crs=None, **columns
):
    """Write a placed job of straight routes 100 ft apart, with joints every 20 ft; columns change the log.

    A column given as a dictionary changes some rows, one given as a value all; `drop` leaves rows out, and `tables`
    adds to the job file.
    """
    tables = columns.pop("tables", {})
    dropped, crs = columns.pop("drop", []), columns.pop("crs", None)
    lines, logs = {}, []
    for number, route in enumerate(routes):
        points = laying.pipe(np.zeros(joints - 1)) + np.array([east + 100.0 * number, north, up])
        lines[route] = points
        logs.append(laying.log(points[:joints], first=first, route=route))
    log = pd.concat(logs, ignore_index=True)
    change(log, columns)
    output = tables | ({"output": {"crs": crs}} if crs else {})
    laying.place(laying.lines(**lines), log.drop(index=dropped), name=name, **output).write(path)
    return path


HIDDEN = ("loaded_at", "undone_at", "undone_by", "marked_at")
"""Columns that differ each time."""


def contents(address, *tables):
    """Give the rows of a register's tables in one view, without their numbers and the times of loads."""
    found = {}
    with closing(open_existing(str(address))) as store, store.reading():
        for table in tables or ("joints", "inspections", "findings"):
            columns = [f'"{name}"' for name in layout.kinds(table) if name not in HIDDEN]
            rows = [tuple(map(plain, row)) for row in store.rows(f"SELECT {', '.join(columns)} FROM {table}")]
            found[table] = sorted(rows, key=repr)
    return found


CAME_WITH: dict[int, list[tuple[str, str]]] = {
    2: [(table, "size_unit") for table in ("joints", "joints_earlier", "inspections", "inspections_undone")],
    3: [("joints", "verdict_assumes"), ("joints_earlier", "verdict_assumes")],
    4: [("findings", "point"), ("findings_undone", "point")],
    5: [("inspections", "photo_files"), ("inspections_undone", "photo_files")],
    6: [("register", "format")],
    7: [
        (table, column)
        for table in ("joints", "joints_earlier")
        for column in ("design_station", "design_offset", "design_height", "ground_elevation", "cover", "cover_least")
    ],
    8: [("settled", None), ("joint_service", None)],
    9: [(table, f"{of}_load_id") for table in ("joints", "joints_earlier") for of in ("inspection", "deflection")],
    11: [(table, "place_load_id") for table in ("joints", "joints_earlier")],
    12: [("pressure_tests", None), ("restraint", None), ("set_aside", None)],
    13: [("joint_names", None), ("centerline", None)],
    14: [
        (table, f"{of}_load_id")
        for table in ("joints", "joints_earlier")
        for of in ("size", "joint_type", "kind", "restrained", "elevation")
    ],
    15: [(table, "reading_load_id") for table in ("joints", "joints_earlier")],
    16: [("waiting_routes", None)],
    18: [(table, "gave_way") for table in ("joints", "joints_earlier")],
    17: [(table, f"{of}_station") for table in ("findings", "findings_undone") for of in ("from", "to")],
}
"""Columns that each format of the register brought, and tables, whose column is None."""


INDEXES_WITH = {10: ("joints_verdict", "inspections_day", "inspections_inspector", "findings_code")}
"""Indexes that a format brought."""

SAYS_ITS_FORMAT = 6
"""From this format on a register says its format itself."""


def make_earlier(address, number):
    """Take a register back to an earlier format, as a program of that time left it."""
    if address.startswith("postgresql:"):
        import psycopg

        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute("SET search_path TO asbuilt, public")
            for name in indexes_later_than(number):
                connection.execute(f"DROP INDEX {name}")
            for table, name in later_than(number):
                connection.execute(f"ALTER TABLE {table} DROP COLUMN {name}" if name else f"DROP TABLE {table}")
            if number >= SAYS_ITS_FORMAT:
                connection.execute("UPDATE register SET format = %s", (number,))
                return
            connection.execute("CREATE TABLE alembic_version (version_num varchar(32) PRIMARY KEY)")
            connection.execute("INSERT INTO alembic_version VALUES (%s)", (f"{number:04d}",))
        return
    with closing(sqlite3.connect(address)) as database, database:
        for name in indexes_later_than(number):
            database.execute(f"DROP INDEX {name}")
        for table, name in later_than(number):
            if name:
                database.execute(f"ALTER TABLE {table} DROP COLUMN {name}")
                of = "table_name = ? AND column_name = ?"
                database.execute(f"DELETE FROM gpkg_data_columns WHERE {of}", (table, name))
                continue
            database.execute(f"DROP TABLE IF EXISTS rtree_{table}_geom")
            database.execute(f"DROP TABLE {table}")
            of_file = ("gpkg_contents", "gpkg_ogr_contents", "gpkg_data_columns", "gpkg_geometry_columns")
            for kept in (*of_file, "gpkg_extensions"):
                database.execute(f"DELETE FROM {kept} WHERE table_name = ?", (table,))
        if number >= SAYS_ITS_FORMAT:
            database.execute("UPDATE register SET format = ?", (number,))


def later_than(number):
    """List what came with the formats after one."""
    return [one for later, what in CAME_WITH.items() if later > number for one in what]


def indexes_later_than(number):
    """List the indexes that came with the formats after one."""
    return [name for later, names in INDEXES_WITH.items() if later > number for name in names]


def indexes_of(address):
    """Name the indexes of a register's tables."""
    if address.startswith("postgresql:"):
        import psycopg

        with psycopg.connect(address) as connection:
            found = connection.execute("SELECT indexname FROM pg_indexes WHERE schemaname = 'asbuilt'").fetchall()
    else:
        with closing(sqlite3.connect(address)) as database:
            sql = "SELECT name FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
            found = database.execute(sql).fetchall()
    return {name for (name,) in found}


def plain(value):
    """Give a date as both stores can show it."""
    return value.isoformat() if hasattr(value, "isoformat") else value


def column(address, table, name):
    """Give one column of a register's table, in the order of its rows."""
    store = open_existing(str(address))
    try:
        return [value for (value,) in store.rows(f'SELECT "{name}" FROM {table} ORDER BY fid')]
    finally:
        store.close()


def uid(route, joint):
    """Give the joint_uid of a joint."""
    return joint_uids(pa.array([route]), pa.array([joint]))[0].as_py()
