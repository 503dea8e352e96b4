"""Where joints lie against the design and under the ground; what was loaded before says nothing of it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0007"
down_revision = "0006"

TABLES = ("joints", "joints_earlier")
NUMBERS = ("design_offset", "design_height", "ground_elevation", "cover", "cover_least")


def upgrade() -> None:
    """Add the columns, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("design_station", sa.Text()), schema=schema())
        for name in NUMBERS:
            op.add_column(table, sa.Column(name, sa.Float(53)), schema=schema())
