"""Which load a reading at a joint is from, where later jobs read nothing there.

Before, it was from the load of the deflection.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0015"
down_revision = "0014"

TABLES = ("joints", "joints_earlier")


def upgrade() -> None:
    """Add the column, filled with the load of the deflection where that is not the load of the state."""
    named = f"{schema()}." if schema() else ""
    if schema():
        # The server alters no table while checks of rows that earlier steps wrote are still to come.
        op.execute("SET CONSTRAINTS ALL IMMEDIATE")
    for table in TABLES:
        op.add_column(table, sa.Column("reading_load_id", WHOLE), schema=schema())
    for table in TABLES:
        op.execute(
            f"UPDATE {named}{table} SET reading_load_id = deflection_load_id "
            "WHERE measured_deg IS NOT NULL AND deflection_load_id <> load_id"
        )
