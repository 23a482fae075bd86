"""The shop's own tables as dated versions, and the draft of the next one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

_counter = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the two tables; what a folder of tables holds is taken over when the store is opened."""
    op.create_table(
        "tables_change",
        sa.Column("seq", _counter, primary_key=True, autoincrement=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("hash", sa.Text, sa.ForeignKey("tables_version.hash"), nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("instead_of", "from_day", "at", "who", "why", "state")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tables_edit",
        sa.Column("seq", _counter, primary_key=True, autoincrement=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("name", "row", "before", "after", "at", "who", "done")),
        sqlite_autoincrement=True,
    )
    op.create_index("tables_edit_open", "tables_edit", ["done", "seq"])
