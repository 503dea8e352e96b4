"""The first tables of the register."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from geoalchemy2 import Geometry

revision = "0001"
down_revision = None

SCHEMA = "asbuilt"

# Written out, not taken from the program: the tables of this step stay what they were when it was released.
COLUMNS = {
    "joints": """
        joint_uid route joint station distance:number easting:number northing:number elevation:number
        longitude:number latitude:number size:number joint_type kind restrained position_source
        sigma_horizontal:number accuracy_horizontal:number accuracy_vertical:number accuracy_source
        turn_deg:number turn_horizontal_deg:number turn_vertical_deg:number
        bend_angle_deg:number deflection_deg:number deflection_source deflection_floor_deg:number
        deflection_ceiling_deg:number sigma_deg:number measured_deg:number measured_direction_deg:number
        sigma_measured_deg:number gap_mean:number gap_residual:number allowable_deg:number allowable_source
        verdict inspection findings:whole inspected_on:date inspector station_number:number station_unit
        coordinate_unit first_load_id:whole load_id:whole content:whole
    """,
    "findings": """
        finding_uid code severity route joint joint_uid station value:number limit:number unit basis message
        load_id:whole state ended_by:whole
    """,
    "inspections": """
        record:whole file row:whole joint_uid route joint station offset:number kind size:number
        outside_diameter:number joint_type pipe_class laid_length:number cut restrained bend_angle:number
        bend_plane inspected_on:date inspector crew groove_clean spigot_clean gasket_clean
        gasket_temperature:number gasket_seated lubricated insertion_mark gauge gap_12:number gap_1:number
        gap_2:number gap_3:number gap_4:number gap_5:number gap_6:number gap_7:number gap_8:number gap_9:number
        gap_10:number gap_11:number gauge_12:number gauge_1:number gauge_2:number gauge_3:number gauge_4:number
        gauge_5:number gauge_6:number gauge_7:number gauge_8:number gauge_9:number gauge_10:number
        gauge_11:number bolt_torque:number easting:number northing:number elevation:number remarks photo
        station_settled_by original load_id:whole content:whole state ended_by:whole
    """,
    "inspections_undone": """
        record:whole file row:whole joint_uid route joint station offset:number kind size:number
        outside_diameter:number joint_type pipe_class laid_length:number cut restrained bend_angle:number
        bend_plane inspected_on:date inspector crew groove_clean spigot_clean gasket_clean
        gasket_temperature:number gasket_seated lubricated insertion_mark gauge gap_12:number gap_1:number
        gap_2:number gap_3:number gap_4:number gap_5:number gap_6:number gap_7:number gap_8:number gap_9:number
        gap_10:number gap_11:number gauge_12:number gauge_1:number gauge_2:number gauge_3:number gauge_4:number
        gauge_5:number gauge_6:number gauge_7:number gauge_8:number gauge_9:number gauge_10:number
        gauge_11:number bolt_torque:number easting:number northing:number elevation:number remarks photo
        station_settled_by original load_id:whole content:whole state ended_by:whole
    """,
    "findings_undone": """
        finding_uid code severity route joint joint_uid station value:number limit:number unit basis message
        load_id:whole state ended_by:whole
    """,
    "joints_earlier": """
        joint_uid route joint station distance:number easting:number northing:number elevation:number
        longitude:number latitude:number size:number joint_type kind restrained position_source
        sigma_horizontal:number accuracy_horizontal:number accuracy_vertical:number accuracy_source
        turn_deg:number turn_horizontal_deg:number turn_vertical_deg:number
        bend_angle_deg:number deflection_deg:number deflection_source deflection_floor_deg:number
        deflection_ceiling_deg:number sigma_deg:number measured_deg:number measured_direction_deg:number
        sigma_measured_deg:number gap_mean:number gap_residual:number allowable_deg:number allowable_source
        verdict inspection findings:whole inspected_on:date inspector station_number:number station_unit
        coordinate_unit first_load_id:whole load_id:whole content:whole replaced_by:whole ended_as
    """,
    "loads": """
        load_id:whole job file sha256 content_sha256 loaded_at loaded_by crs datum_step tolerance_m:number
        joints_read:whole joints_new:whole joints_updated:whole joints_unchanged:whole joints_left_out:whole
        conflicts run state undone_at undone_by
    """,
    "finding_marks": """
        finding_uid mark note marked_by marked_at
    """,
    "register": """
        crs crs_wkt made_at asbuilt_version
    """,
}
"""Columns of each table by name; what is not text says its kind after a colon."""

KINDS: dict[str, Any] = {"number": sa.Float(53), "whole": sa.BigInteger(), "date": sa.Date(), "": sa.Text()}
NEEDED = {
    "joints": ("joint_uid", "route", "joint", "easting", "northing", "load_id", "first_load_id", "content"),
    "findings": ("finding_uid", "code", "load_id", "state"),
    "inspections": ("joint_uid", "load_id", "content", "state"),
    "joints_earlier": ("joint_uid", "load_id", "replaced_by", "ended_as"),
    "loads": ("load_id", "job", "sha256", "content_sha256", "loaded_at", "loaded_by", "state"),
    "finding_marks": ("finding_uid", "mark", "marked_by", "marked_at"),
    "register": ("crs", "crs_wkt"),
}
WITH_POINTS = ("joints", "findings")
INDEXES = {
    "joints": (["route", "distance"], ["load_id"]),
    "joints_earlier": (["joint_uid"], ["load_id"]),
    "inspections": (["joint_uid"], ["load_id"]),
    "findings": (["joint_uid"], ["finding_uid"], ["load_id"]),
    "finding_marks": (["finding_uid"],),
}
OF_LOADS = ("joints", "joints_earlier", "inspections", "inspections_undone", "findings", "findings_undone")
OF_JOINTS = ("inspections", "findings")


def upgrade() -> None:
    """Make the tables, their keys and their indexes; the coordinate system is that of the new register."""
    srid = op.get_context().opts["srid"]
    for table, text in COLUMNS.items():
        columns: list[sa.Column[Any]] = [sa.Column("fid", sa.BigInteger(), sa.Identity(), primary_key=True)]
        for word in text.split():
            name, _, kind = word.partition(":")
            columns.append(sa.Column(name, KINDS[kind], nullable=name not in NEEDED.get(table, ())))
        if table in WITH_POINTS:
            columns.append(sa.Column("geom", Geometry("POINTZ", srid=srid, dimension=3, spatial_index=False)))
        op.create_table(table, *columns, schema=SCHEMA)
    op.create_unique_constraint("joints_uid", "joints", ["joint_uid"], schema=SCHEMA)
    op.create_unique_constraint("loads_number", "loads", ["load_id"], schema=SCHEMA)
    for table, indexes in INDEXES.items():
        for names in indexes:
            op.create_index(f"{table}_{'_'.join(names)}", table, names, schema=SCHEMA)
    for table in WITH_POINTS:
        op.create_index(f"{table}_geom", table, ["geom"], schema=SCHEMA, postgresql_using="gist")
    for table in OF_LOADS:
        _refer(table, "loads", "load_id")
    for table in OF_JOINTS:
        _refer(table, "joints", "joint_uid")


def _refer(table: str, to: str, column: str) -> None:
    # Checked when all is done: a joint's new state takes the place of the old one in between.
    op.create_foreign_key(
        f"{table}_{column}_fkey", table, to, [column], [column], source_schema=SCHEMA, referent_schema=SCHEMA,
        deferrable=True, initially="DEFERRED",
    )  # fmt: skip
