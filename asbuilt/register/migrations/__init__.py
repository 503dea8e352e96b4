"""Steps that bring a register of an earlier format up to date, in their order: the same for both stores.

A step never changes once it was released: the next one does. Steps are written for alembic, which speaks to the
database, or writes the statements for a GeoPackage.
"""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import op
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
"""Whole numbers: those of a GeoPackage have as many digits under another name."""


def newest() -> int:
    """Give the number of the format that the last step leads to.

    Examples
    --------
    >>> from asbuilt.register.layout import FORMAT
    >>> newest() == FORMAT
    True
    """
    return int(_steps().get_current_head() or 0)


def bring_up(context: MigrationContext, present: int) -> None:
    """Take the steps from a format to the newest.

    Parameters
    ----------
    context : alembic.runtime.migration.MigrationContext
        Its options name the `schema` of the tables, None for a GeoPackage, and the `srid` where tables are made.
    present : int
        Number of the register's format; 0 where there is none yet.
    """
    below = f"{present:04d}" if present else "base"
    with Operations.context(context):
        for step in reversed(list(_steps().iterate_revisions("head", below))):
            step.module.upgrade()


def schema() -> str | None:
    """Name the schema of the tables, for a step that is being taken."""
    named: str | None = op.get_context().opts["schema"]
    return named


def _steps() -> ScriptDirectory:
    return ScriptDirectory(str(Path(__file__).parent))
