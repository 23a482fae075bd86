"""Run by Alembic: the steps use the connection, and the transaction, of whoever opens the store."""

from __future__ import annotations

from alembic import context

from valuation.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite changes a table by copying it
    transactional_ddl=True,  # both databases undo a step that fails
)
with context.begin_transaction():
    context.run_migrations()
