"""What a load says of a joint where another load's holds: without that one it would count.

Before, it was not kept.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0018"
down_revision = "0017"

TABLES = ("joints", "joints_earlier")


def upgrade() -> None:
    """Add the column, blank."""
    for table in TABLES:
        op.add_column(table, sa.Column("gave_way", sa.Text()), schema=schema())
