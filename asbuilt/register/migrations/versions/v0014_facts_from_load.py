"""Which load a size, a joint type, a kind, a restraint and an elevation are from, where later jobs left them blank.

Before, the register kept no note of that: what a state has like the one before it is taken for kept from there.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0014"
down_revision = "0013"

TABLES = ("joints", "joints_earlier")
COLUMNS = ("size", "joint_type", "kind", "restrained", "elevation")


def upgrade() -> None:
    """Add the columns, filled with the first of the loads that had the value, where a state has it from before."""
    named = f"{schema()}." if schema() else ""
    if schema():
        # The server alters no table while checks of rows that earlier steps wrote are still to come.
        op.execute("SET CONSTRAINTS ALL IMMEDIATE")
    for table in TABLES:
        for column in COLUMNS:
            op.add_column(table, sa.Column(f"{column}_load_id", WHOLE), schema=schema())
    for table in TABLES:
        of_joint = f"e.joint_uid = {named}{table}.joint_uid"
        firsts = (
            f"{column}_load_id = (SELECT min(e.load_id) FROM {named}joints_earlier e JOIN {named}loads l "
            f"ON l.load_id = e.load_id WHERE {of_joint} AND e.load_id < {named}{table}.load_id "
            f"AND l.state = 'standing' AND e.{column} = {named}{table}.{column})"
            for column in COLUMNS
        )
        op.execute(
            f"UPDATE {named}{table} SET {', '.join(firsts)} "
            f"WHERE EXISTS (SELECT 1 FROM {named}joints_earlier e WHERE {of_joint})"
        )
