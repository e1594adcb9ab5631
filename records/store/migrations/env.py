"""Where alembic is told which connection to use: the one that holds the logbook's write lock."""

from alembic import context

given = context.config.attributes
context.configure(connection=given["connection"], version_table=given["version_table"])
context.run_migrations()
