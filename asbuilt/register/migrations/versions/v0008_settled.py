"""What was settled of joints left out, and which joints are in service; nothing was settled before."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0008"
down_revision = "0007"

COLUMNS = {
    "settled": "job joint_uid decision register_uid said load_id:whole note settled_by settled_at",
    "joint_service": "joint_uid service by_route load_id:whole note noted_by noted_at",
}


def upgrade() -> None:
    """Make the two tables, empty."""
    for table, text in COLUMNS.items():
        columns: list[sa.Column[Any]] = [sa.Column("fid", WHOLE, sa.Identity(), primary_key=True)]
        for word in text.split():
            name, _, kind = word.partition(":")
            columns.append(sa.Column(name, WHOLE if kind else sa.Text()))
        op.create_table(table, *columns, schema=schema())
        op.create_index(f"{table}_uid", table, ["joint_uid"], schema=schema())
