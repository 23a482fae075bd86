"""Visits, the history of their entries, photos, settings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "visit",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("demo", sa.Boolean, nullable=False),
        sa.Column("created_at", sa.Text, nullable=False),
        sa.Column("created_by", sa.Text, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("day", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("maker", sa.Text, nullable=False),
        sa.Column("serial", sa.Text, nullable=False),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("client", sa.Text, nullable=False),
        sa.Column("year", sa.Integer),
        sa.Column("stage", sa.Text, nullable=False),
        sa.Column("search", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("changed_at", sa.Text, nullable=False),
    )
    op.create_index("visit_by_change", "visit", ["changed_at", "id"])
    op.create_index("visit_by_day", "visit", ["day", "id"])
    op.create_table(
        "entry",
        sa.Column("seq", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), primary_key=True, autoincrement=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("visit", sa.Text, sa.ForeignKey("visit.id"), nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("field", sa.Text, nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.Column("follows", sa.Text, nullable=False),
        sa.Column("undoes", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("entry_by_field", "entry", ["visit", "field"])
    op.create_table(
        "photo",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("added_at", sa.Text, nullable=False),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
    )
