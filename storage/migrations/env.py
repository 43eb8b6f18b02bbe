"""Runs the migrations over the connection that the book hands in."""

from alembic import context

from storage.models import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    # SQLite can undo changes of the schema; all steps together are one transaction that the book commits.
    transactional_ddl=True,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
