"""The unit of nominal sizes, beside the sizes; what was loaded before has none."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0002"
down_revision = "0001"

TABLES = ("joints", "joints_earlier", "inspections", "inspections_undone")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("size_unit", sa.Text()), schema=schema())
