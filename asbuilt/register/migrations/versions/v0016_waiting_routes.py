"""Routes of which a load left out every joint.

Loads of before name none: what they brought waits only where all of their joints do.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0016"
down_revision = "0015"


def upgrade() -> None:
    """Make the table, empty."""
    op.create_table(
        "waiting_routes",
        sa.Column("fid", WHOLE, sa.Identity(), primary_key=True),
        sa.Column("route", sa.Text()),
        sa.Column("joint_uid", sa.Text()),
        sa.Column("load_id", WHOLE),
        schema=schema(),
    )
    op.create_index("waiting_routes_load", "waiting_routes", ["load_id"], schema=schema())
