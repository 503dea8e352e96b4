"""What a verdict assumes, beside the verdict; what was loaded before does not say."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0003"
down_revision = "0002"

TABLES = ("joints", "joints_earlier")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("verdict_assumes", sa.Text()), schema=schema())
