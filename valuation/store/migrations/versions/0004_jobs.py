"""What lists show of jobs, and what questions over all of them need."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add what is known of jobs; it fills as their first events are entered, for no older store holds any."""
    op.add_column("visit", sa.Column("since", sa.Integer))
    op.add_column("visit", sa.Column("next_on", sa.Integer))
    op.add_column("visit", sa.Column("next_what", sa.Text, nullable=False, server_default=""))
    op.add_column("visit", sa.Column("followed", sa.Text, nullable=False, server_default=""))
    op.create_index("visit_by_since", "visit", ["stage", "since", "id"])
    op.create_table(
        "job",
        sa.Column("visit", sa.Text, sa.ForeignKey("visit.id"), primary_key=True),
        sa.Column("stage", sa.Text, nullable=False),
        *(sa.Column(name, sa.Text) for name in ("stage_since", "reason", "source")),
        sa.Column("referred", sa.Boolean),
        *(sa.Column(name, sa.Text) for name in ("next_step", "next_day", "evaluated_on", "verdict", "technician")),
        *(sa.Column(f"price_{end}", sa.Float) for end in ("low", "likely", "high")),
        sa.Column("value_after", sa.Float),
        sa.Column("premium", sa.Float),
        *(sa.Column(f"hours_{end}", sa.Float) for end in ("low", "likely", "high")),
        sa.Column("agreed_on", sa.Text),
        sa.Column("agreed_option", sa.Text),
        sa.Column("hours_estimated", sa.Float),
        sa.Column("hours_done", sa.Float),
        sa.Column("parts_opened", sa.Integer, nullable=False),
        sa.Column("events", sa.Text, nullable=False),
    )
