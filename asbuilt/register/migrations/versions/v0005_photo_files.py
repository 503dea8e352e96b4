"""The files of photos that were found; what was loaded before does not name any."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

SCHEMA = "asbuilt"
TABLES = ("inspections", "inspections_undone")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("photo_files", sa.Text()), schema=SCHEMA)
