"""Which load a joint's inspection and its deflection are from; before, all of it was from the load that it names."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0009"
down_revision = "0008"

TABLES = ("joints", "joints_earlier")
COLUMNS = ("inspection_load_id", "deflection_load_id")


def upgrade() -> None:
    """Add the two columns, filled with the load of each state."""
    named = f"{schema()}." if schema() else ""
    for table in TABLES:
        for column in COLUMNS:
            op.add_column(table, sa.Column(column, WHOLE), schema=schema())
        op.execute(f"UPDATE {named}{table} SET inspection_load_id = load_id, deflection_load_id = load_id")
