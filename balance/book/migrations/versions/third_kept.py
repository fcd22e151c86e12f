"""What was issued, kept itself, and the profiles of stations and benches."""

import sqlalchemy as sa
from alembic import op

from truethrow.balance.book import functions, schema

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    op.create_table(
        "contents",
        sa.Column("digest", sa.String, primary_key=True),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
    )
    op.create_table(
        "profiles",
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("encoding", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("kind", "name", "revision"),
    )
    for statement in schema.guards(op.get_bind().dialect.name, revision):
        op.execute(statement)
    functions.make(op.get_bind(), revision)
