"""The ledger of each job: what was agreed on, done, used and paid."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Add the ledger and what lists show of it; whoever opens the store fills both from the history."""
    for name in ("agreed_scope", "promised_on"):
        op.add_column("job", sa.Column(name, sa.Text))
    for name in ("price_agreed", "price_quoted", "tax", "minutes", "fee", "hours_priced"):
        op.add_column("job", sa.Column(name, sa.Float))
    op.create_table(
        "ledger",
        sa.Column("visit", sa.Text, sa.ForeignKey("visit.id"), primary_key=True),
        sa.Column("sheet", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, primary_key=True),
        *(sa.Column(name, sa.Text) for name in ("day", "who", "operation", "part", "what", "note")),
        *(
            sa.Column(name, sa.Float)
            for name in ("hours", "labour", "materials", "outside", "amount", "chance", "count")
        ),
    )
