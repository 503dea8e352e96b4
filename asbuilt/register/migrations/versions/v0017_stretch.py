"""The joints, or the length, that a finding is about; what was loaded before says it in its words alone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0017"
down_revision = "0016"

TABLES = ("findings", "findings_undone")


def upgrade() -> None:
    """Add the columns, blank."""
    for table in TABLES:
        for name in ("from_station", "to_station"):
            op.add_column(table, sa.Column(name, sa.Text()), schema=schema())
