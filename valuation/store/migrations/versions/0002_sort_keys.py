"""Keys by which long lists are sorted, and indices on them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from valuation.record.card import SORTED, sort_key

revision = "0002"
down_revision = "0001"

PLAIN = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
INDICES = {
    "visit_by_title": ["title_key", "id"],
    "visit_by_maker": ["maker_key", "title_key", "id"],
    "visit_by_place": ["place_key", "title_key", "id"],
    "visit_by_client": ["client_key", "title_key", "id"],
    "visit_by_year": ["year", "title_key", "id"],
    "visit_by_stage": ["stage", "title_key", "id"],
    "visit_by_kind": ["kind", "title_key", "id"],
    "visit_of_kind": ["kind", "changed_at", "id"],
    "visit_of_demo": ["demo", "changed_at", "id"],
}


def upgrade() -> None:
    """Add the keys and work them out for the visits there are."""
    for name in SORTED:
        op.add_column("visit", sa.Column(f"{name}_key", PLAIN, nullable=False, server_default=""))
    visit = sa.table("visit", *(sa.column(name) for name in ("id", *SORTED, *(f"{name}_key" for name in SORTED))))
    connection = op.get_bind()
    for row in connection.execute(sa.select(visit.c.id, *(visit.c[name] for name in SORTED))).all():
        keys = {f"{name}_key": sort_key(getattr(row, name)) for name in SORTED}
        connection.execute(sa.update(visit).where(visit.c.id == row.id).values(keys))
    for name, columns in INDICES.items():
        op.create_index(name, "visit", columns)
