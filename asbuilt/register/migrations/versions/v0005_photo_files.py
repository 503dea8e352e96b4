"""The files of photos that were found; what was loaded before does not name any."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0005"
down_revision = "0004"

TABLES = ("inspections", "inspections_undone")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("photo_files", sa.Text()), schema=schema())
