"""Indexes for what a register is asked for besides places: verdicts, days, inspectors and findings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from asbuilt.register.migrations import schema

revision = "0010"
down_revision = "0009"

INDEXES: dict[str, tuple[str, str | sa.TextClause]] = {
    "joints_verdict": ("joints", "verdict"),
    "inspections_day": ("inspections", "inspected_on"),
    "inspections_inspector": ("inspections", sa.text("lower(inspector)")),
    "findings_code": ("findings", "code"),
}


def upgrade() -> None:
    """Make the indexes."""
    for name, (table, column) in INDEXES.items():
        op.create_index(name, table, [column], schema=schema())
