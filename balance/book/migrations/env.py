"""What Alembic runs the scripts in: the transaction that open.py has begun, and nothing else."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
