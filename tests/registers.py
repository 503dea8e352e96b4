"""Placed jobs for the register's tests, and what a register holds, to be compared."""

import os
import tempfile
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


def placed(
    path, name="Quarry Lane", *, routes=("A",), joints=6, east=0.0, north=0.0, up=0.0, first=1, crs=None, **columns
):
    """Write a placed job of straight routes 100 ft apart, with joints every 20 ft; columns change the log.

    A column given as a dictionary changes some rows, one given as a value all; `drop` leaves rows out.
    """
    dropped, crs = columns.pop("drop", []), columns.pop("crs", None)
    lines, logs = {}, []
    for number, route in enumerate(routes):
        points = laying.pipe(np.zeros(joints - 1)) + np.array([east + 100.0 * number, north, up])
        lines[route] = points
        logs.append(laying.log(points[:joints], first=first, route=route))
    log = pd.concat(logs, ignore_index=True)
    for column, values in columns.items():
        column = column.replace("_", " ")
        if not isinstance(values, dict):
            values = dict.fromkeys(log.index, values)
        if column not in log:
            log[column] = None
        for row, value in values.items():
            log.loc[row, column] = value
    output = {"output": {"crs": crs}} if crs else {}
    laying.place(laying.lines(**lines), log.drop(index=dropped), name=name, **output).write(path)
    return path


def contents(address, *tables):
    """Give the rows of a register's tables, without their numbers and the times of loads."""
    hidden = ("loaded_at", "undone_at", "undone_by", "marked_at")
    store = open_existing(str(address))
    try:
        found = {}
        for table in tables or ("joints", "inspections", "findings"):
            columns = [f'"{name}"' for name in layout.kinds(table) if name not in hidden]
            rows = [tuple(map(plain, row)) for row in store.rows(f"SELECT {', '.join(columns)} FROM {table}")]
            found[table] = sorted(rows, key=repr)
        return found
    finally:
        store.close()


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
