"""The number of the register's format; formats before are told by the columns that they have."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Add the column, blank: it is filled when all steps are done, and takes the place of alembic's own table."""
    op.add_column("register", sa.Column("format", WHOLE), schema=schema())
    named = f"{schema()}." if schema() else ""
    op.execute(f"DROP TABLE IF EXISTS {named}alembic_version")
