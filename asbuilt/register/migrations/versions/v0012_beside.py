"""Pressure tests, restrained lengths and records set aside; a load of before brought none into the register."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0012"
down_revision = "0011"

_ENDS = "route from_station to_station from_distance:number to_distance:number length:number"
COLUMNS = {
    "pressure_tests": f"{_ENDS} result sizes pressure:number pressure_unit duration_h:number allowance:number "
    "makeup:number water_unit tested_on:date message",
    "restraint": f"{_ENDS} why named_by joints:whole joints_unrestrained:whole",
    "set_aside": "record:whole file row:whole route joint reason message original",
}


def upgrade() -> None:
    """Make the three tables, empty."""
    kinds: dict[str, Any] = {"": sa.Text(), "number": sa.Double(), "whole": WHOLE, "date": sa.Date()}
    for table, text in COLUMNS.items():
        columns: list[sa.Column[Any]] = [sa.Column("fid", WHOLE, sa.Identity(), primary_key=True)]
        for word in (*text.split(), "coordinate_unit", "load_id:whole"):
            name, _, kind = word.partition(":")
            columns.append(sa.Column(name, kinds[kind]))
        op.create_table(table, *columns, schema=schema())
        op.create_index(f"{table}_load", table, ["load_id"], schema=schema())
