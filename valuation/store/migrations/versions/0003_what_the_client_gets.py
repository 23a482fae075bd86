"""Papers that clients got, and the shop's tables as they were when one was made."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the two tables; nothing that was there is touched."""
    op.create_table(
        "tables_version",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("kept_at", sa.Text, nullable=False),
        sa.Column("files", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "paper",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("visit", sa.Text, sa.ForeignKey("visit.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("option", sa.Text, nullable=False),
        sa.Column("language", sa.Text, nullable=False),
        sa.Column("size", sa.Text, nullable=False),
        sa.Column("units", sa.Text, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("made_with", sa.Text, nullable=False),
        sa.Column("written_on", sa.Text, nullable=False),
        sa.Column("priced_on", sa.Text, nullable=False),
        sa.Column("seed", sa.BigInteger, nullable=False),
        sa.Column("draws", sa.BigInteger, nullable=False),
        sa.Column("tables_hash", sa.Text, sa.ForeignKey("tables_version.hash"), nullable=False),
        sa.Column("sales_hash", sa.Text, nullable=False),
        sa.Column("appraisal_hash", sa.Text, nullable=False),
        sa.Column("photos", sa.Text, nullable=False),
        sa.Column("pdf_hash", sa.Text, nullable=False),
        sa.Column("figures", sa.Text, nullable=False),
        sa.Column("given", sa.Text, nullable=False),
        sa.Column("visit_text", sa.Text, nullable=False),
        sa.Column("pdf", sa.LargeBinary, nullable=False),
    )
    op.create_index("paper_by_visit", "paper", ["visit", "number"])
