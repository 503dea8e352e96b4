"""The survey shot that a finding is about; what was loaded before has none."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0004"
down_revision = "0003"

TABLES = ("findings", "findings_undone")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("point", sa.Text()), schema=schema())
