"""Where alembic begins: the steps run on the connection, and in the transaction, of whoever asks for them."""

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, version_table_schema="asbuilt", target_metadata=None)
context.run_migrations()
