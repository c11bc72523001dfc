"""Alembic's entry: runs the steps on the connection that `store.opening` hands over."""

from alembic import context

from batchwright.store.tables import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True, transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()
