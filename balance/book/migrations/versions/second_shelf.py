"""Documents issued, and the shelf."""

import sqlalchemy as sa
from alembic import op

from truethrow.balance.book import functions, schema

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    op.create_table(
        "documents",
        sa.Column("job", sa.String, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("digest", sa.String, nullable=False),
        sa.Column("job_digest", sa.String, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("job", "seq"),
    )
    op.create_table(
        "stock",
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("label", sa.String, nullable=False),
        sa.Column("added_at", sa.String, nullable=False),
        sa.Column("added_by", sa.String, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("kind", "label"),
    )
    op.create_table(
        "stock_readings",
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("label", sa.String, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("big_end_g", sa.Float(53)),
        sa.Column("other_g", sa.Float(53), nullable=False),
        sa.Column("bank", sa.String, nullable=False),
        sa.Column("together", sa.String, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("kind", "label", "seq"),
        sa.ForeignKeyConstraint(["kind", "label"], ["stock.kind", "stock.label"]),
    )
    op.create_table(
        "stock_moves",
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("label", sa.String, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("job", sa.String, sa.ForeignKey("jobs.id")),
        sa.Column("cylinder", sa.Integer),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("kind", "label", "seq"),
        sa.ForeignKeyConstraint(["kind", "label"], ["stock.kind", "stock.label"]),
        sa.CheckConstraint("(job IS NULL) = (cylinder IS NULL)", name="move_is_whole"),
    )
    for statement in schema.guards(op.get_bind().dialect.name, revision):
        op.execute(statement)
    functions.make(op.get_bind(), revision)
