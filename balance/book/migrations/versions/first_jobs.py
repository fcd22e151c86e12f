"""Jobs, their texts, their records."""

import sqlalchemy as sa
from alembic import op

from truethrow.balance.book import functions, schema

revision = "0011"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "book",
        sa.Column("one", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("generation", sa.String, nullable=False),
        sa.Column("made_at", sa.String, nullable=False),
        sa.Column("revisions_after", sa.Integer, nullable=False),
        sa.CheckConstraint("one = 1", name="book_is_one"),
    )
    op.create_table(
        "jobs",
        sa.Column("id", sa.String, primary_key=True),
        sa.Column("title", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("created_at", sa.String, nullable=False),
        sa.Column("created_by", sa.String, nullable=False),
        sa.Column("changed_at", sa.String, nullable=False),
        sa.Column("changed_by", sa.String, nullable=False),
        sa.Column("active_at", sa.String, nullable=False),
        sa.Column("last_seq", sa.Integer, nullable=False),
        sa.Column("head", sa.String, nullable=False),
        sa.Column("head_count", sa.Integer, nullable=False),
    )
    op.create_index("jobs_by_time", "jobs", ["active_at", "id"])
    op.create_table(
        "job_words",
        sa.Column("word", sa.String().with_variant(sa.String(collation="C"), "postgresql"), nullable=False),
        sa.Column("job", sa.String, sa.ForeignKey("jobs.id"), nullable=False),
        sa.PrimaryKeyConstraint("word", "job"),
    )
    op.create_index("job_words_by_job", "job_words", ["job"])
    op.create_table(
        "job_revisions",
        sa.Column("job", sa.String, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("before", sa.Integer, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("by", sa.String, nullable=False),
        sa.Column("encoding", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("job", "revision"),
    )
    op.create_table(
        "records",
        sa.Column("job", sa.String, sa.ForeignKey("jobs.id"), nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("id", sa.String, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("action", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("seal", sa.String, nullable=False),
        sa.PrimaryKeyConstraint("job", "seq"),
        sa.UniqueConstraint("job", "id", name="record_once"),
    )
    dialect = op.get_bind().dialect.name
    for statement in (*schema.guards(dialect, revision), *schema.views(revision, dialect)):
        op.execute(statement)
    functions.make(op.get_bind(), revision)
