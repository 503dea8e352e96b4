"""Which load a joint's place is from; before, it was from the load of the state.

Findings about what stayed from an earlier job stand again: they were ended with the state that another job replaced.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import WHOLE, schema

revision = "0011"
down_revision = "0010"

TABLES = ("joints", "joints_earlier")
ABOUT = {
    "inspection_load_id": (
        "inspection-failed inspection-missing restraint-missing insertion-off gauge-uneven gap-uneven gasket-cold "
        "torque-off joint-repeated size-changes date-doubtful photo-missing field-unreadable"
    ),
    "deflection_load_id": (
        "deflection-over deflection-conflict deflection-unclear allowable-missing bend-angle-missing"
    ),
}


def upgrade() -> None:
    """Add the column, filled with the load of each state, and let the findings stand that hold."""
    named = f"{schema()}." if schema() else ""
    for table in TABLES:
        op.add_column(table, sa.Column("place_load_id", WHOLE), schema=schema())
        op.execute(f"UPDATE {named}{table} SET place_load_id = load_id")
    for column, codes in ABOUT.items():
        listed = ", ".join(repr(code) for code in codes.split())
        op.execute(
            f"UPDATE {named}findings SET state = 'standing', ended_by = NULL WHERE state = 'superseded' "
            f"AND code IN ({listed}) AND EXISTS (SELECT 1 FROM {named}joints j WHERE "
            f"j.joint_uid = {named}findings.joint_uid AND j.{column} = {named}findings.load_id)"
        )
    op.execute(
        f"UPDATE {named}joints SET findings = (SELECT count(*) FROM {named}findings f WHERE "
        f"f.joint_uid = {named}joints.joint_uid AND f.state = 'standing')"
    )
