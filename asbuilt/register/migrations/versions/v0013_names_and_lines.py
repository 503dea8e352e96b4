"""What jobs call joints that stand under another job's route, and centerlines; a load of before brought neither."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from geoalchemy2 import Geometry

from asbuilt.register.migrations import WHOLE, schema

revision = "0013"
down_revision = "0012"

COLUMNS = {
    "centerline": "route start_station equations length:number vertices:whole coordinate_unit load_id:whole",
    "joint_names": "joint_uid route joint station station_number:number station_unit distance:number coordinate_unit "
    "load_id:whole",
}
INDEXES = (
    ("centerline_load", "centerline", "load_id"), ("joint_names_load", "joint_names", "load_id"),
    ("joint_names_uid", "joint_names", "joint_uid"), ("joint_names_route", "joint_names", "route"),
)  # fmt: skip


class _Line(sa.types.UserDefinedType[bytes]):
    """The kind of a column of lines as a GeoPackage calls it."""

    def get_col_spec(self, **_: Any) -> str:
        return "LINESTRING"


def upgrade() -> None:
    """Make the two tables, empty."""
    kinds: dict[str, Any] = {"": sa.Text(), "number": sa.Double(), "whole": WHOLE}
    for table, text in COLUMNS.items():
        columns: list[sa.Column[Any]] = [sa.Column("fid", WHOLE, sa.Identity(), primary_key=True)]
        for word in text.split():
            name, _, kind = word.partition(":")
            columns.append(sa.Column(name, kinds[kind]))
        if table == "centerline":
            srid = op.get_context().opts.get("srid")
            line = Geometry("LINESTRINGZM", srid=srid, dimension=4, spatial_index=False) if schema() else _Line()
            columns.append(sa.Column("geom", line))
        op.create_table(table, *columns, schema=schema())
    for name, table, column in INDEXES:
        op.create_index(name, table, [column], schema=schema())
    if schema():
        op.create_index("centerline_geom", "centerline", ["geom"], schema=schema(), postgresql_using="gist")
