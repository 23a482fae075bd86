"""What is restricted, what was forgotten, and what tax law keeps of it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Add how each visit is kept, and the two tables; nothing that was there is touched."""
    op.add_column("visit", sa.Column("kept_as", sa.Text, nullable=False, server_default=""))
    few = sa.text("kept_as <> ''")
    op.create_index("visit_hidden", "visit", ["kept_as"], sqlite_where=few, postgresql_where=few)
    op.create_table(
        "forgotten",
        sa.Column("mark", sa.Text, primary_key=True),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("how", "day", "until", "law")),
    )
    op.create_table(
        "kept_by_law",
        sa.Column("id", sa.Text, primary_key=True),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("mark", "name", "day", "until", "law")),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
