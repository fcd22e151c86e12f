"""The tables of the book, what keeps them append-only, and the views over a job's records.

A job's readings, proposals, trades, cuts, spins, holes and sign-offs are one log, in one table: what they mean
is a replay of all of them in order. The views show each kind by itself. Order is by seq, never by a clock.

Times are texts (UTC, with milliseconds), the same in every database. What is never changed has a seal: the
checksum of the row, by which a damaged one is known.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    UniqueConstraint,
)

# Every revision of the schema, the oldest first: one migration each.
REVISIONS = ("0011", "0012", "0013")
HEAD = REVISIONS[-1]

# Where a job stands, and the number of the rules (state.py) that say so: another one whenever they say something
# else, so that what was worked out before is looked at again (states.py).
STATES = ("weighing", "matching", "trimming", "station", "signed", "closed")
RULES = 9


metadata = MetaData()
_KEYS = (PrimaryKeyConstraint, UniqueConstraint)

# One row. generation: another one after each restore, so that who has a job open knows that it is another book;
# revisions_after: new texts of jobs are numbered above it, so that no number from before a restore is given again.
book = Table(
    "book",
    metadata,
    Column("one", Integer, primary_key=True, autoincrement=False),
    Column("generation", String, nullable=False),
    Column("made_at", String, nullable=False),
    Column("revisions_after", Integer, nullable=False),
    CheckConstraint("one = 1", name="book_is_one"),
)

# last_seq: of the job's records; the row is the lock under which they are written. head and head_count: the seal
# of the last record of its log, and how many were written into it, apart from the records, so that none of them
# is taken off the end. active_at: when a text or a record last came in. The rest of a row is also in the job's
# texts and records, and is held against them. Where a job stands is nowhere in the book: it is worked out of
# these.
jobs = Table(
    "jobs",
    metadata,
    Column("id", String, primary_key=True),
    Column("title", String, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("created_at", String, nullable=False),
    Column("created_by", String, nullable=False),
    Column("changed_at", String, nullable=False),
    Column("changed_by", String, nullable=False),
    Column("active_at", String, nullable=False),
    Column("last_seq", Integer, nullable=False),
    Column("head", String, nullable=False),
    Column("head_count", Integer, nullable=False),
    Index("jobs_by_time", "active_at", "id"),
)

# By which words a job is found: those of its id and its title, and the marks on its parts (words.py). One order in
# every database, so that words with one beginning stand together.
job_words = Table(
    "job_words",
    metadata,
    Column("word", String().with_variant(String(collation="C"), "postgresql"), nullable=False),
    Column("job", ForeignKey("jobs.id"), nullable=False),
    PrimaryKeyConstraint("word", "job"),
    Index("job_words_by_job", "job"),
)

# Every text that a job has had, the one that stands (jobs.revision) among them: text with its line ends as they
# were, encoding as the file had it, so that the same bytes come out again. before: the number of the text before
# it, 0 for the first; between the two there may be numbers that a restore has left out.
job_revisions = Table(
    "job_revisions",
    metadata,
    Column("job", ForeignKey("jobs.id"), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("before", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("by", String, nullable=False),
    Column("encoding", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("job", "revision"),
)

# The records of all jobs. text: the one of the record's line in a file, JSON by itself, to the byte, and seal: of
# that line; id, at and action stand in it, too.
records = Table(
    "records",
    metadata,
    Column("job", ForeignKey("jobs.id"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("id", String, nullable=False),
    Column("at", String, nullable=False),
    Column("action", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("job", "seq"),
    UniqueConstraint("job", "id", name="record_once"),
)

# What was issued of a job. digest: of the document's bytes; job_digest: of the job as it was then.
documents = Table(
    "documents",
    metadata,
    Column("job", ForeignKey("jobs.id"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("by", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("digest", String, nullable=False),
    Column("job_digest", String, nullable=False),
    Column("name", String, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("job", "seq"),
)

# The documents themselves, each once however often it was issued: digest, of its bytes; content: these in base 64,
# so that they are text in every database and every copy, and every database can hold them against the digest.
contents = Table(
    "contents",
    metadata,
    Column("digest", String, primary_key=True),
    Column("content", Text, nullable=False),
    Column("seal", String, nullable=False),
)

# What the shop's stations and benches are, each text that their profiles had. kind: station or bench; text,
# encoding: as of a job's.
profiles = Table(
    "profiles",
    metadata,
    Column("kind", String, nullable=False),
    Column("name", String, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("by", String, nullable=False),
    Column("encoding", String, nullable=False),
    Column("text", Text, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("kind", "name", "revision"),
)

# Loose parts. What they weigh and where they are is in the two tables below: the last row of each counts.
stock = Table(
    "stock",
    metadata,
    Column("kind", String, nullable=False),
    Column("label", String, nullable=False),
    Column("added_at", String, nullable=False),
    Column("added_by", String, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("kind", "label"),
)

# big_end_g is of a rod alone; other_g its small end, or the whole of another part.
stock_readings = Table(
    "stock_readings",
    metadata,
    Column("kind", String, nullable=False),
    Column("label", String, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("by", String, nullable=False),
    Column("big_end_g", Float(53)),
    Column("other_g", Float(53), nullable=False),
    Column("bank", String, nullable=False),
    Column("together", String, nullable=False),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("kind", "label", "seq"),
    ForeignKeyConstraint(["kind", "label"], ["stock.kind", "stock.label"]),
)

# job None: back on the shelf.
stock_moves = Table(
    "stock_moves",
    metadata,
    Column("kind", String, nullable=False),
    Column("label", String, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("by", String, nullable=False),
    Column("job", ForeignKey("jobs.id")),
    Column("cylinder", Integer),
    Column("seal", String, nullable=False),
    PrimaryKeyConstraint("kind", "label", "seq"),
    ForeignKeyConstraint(["kind", "label"], ["stock.kind", "stock.label"]),
    CheckConstraint("(job IS NULL) = (cylinder IS NULL)", name="move_is_whole"),
)

# By the revision that brought them; the order in which rows can be put in.
TABLES = {
    "0011": (book, jobs, job_words, job_revisions, records),
    "0012": (documents, stock, stock_readings, stock_moves),
    "0013": (contents, profiles),
}
ALL_TABLES = tuple(table for tables in TABLES.values() for table in tables)
APPEND_ONLY = {
    "0011": ("job_revisions", "records"),
    "0012": ("documents", "stock_readings", "stock_moves"),
    "0013": ("contents", "profiles"),
}

# The log's records, kind by kind: what each shows of its text, with a # what is a number; struck_by: the id of the
# record that struck one out.
VIEWS = {
    "readings": ("read", "cylinder# kind grams# typed"),
    "cuts": ("cut", "cylinder# pad grams# plan step#"),
    "proposals": ("propose", "moves digest"),
    "confirmations": ("confirm", "cylinder# kind grams# why"),
    "trades": ("trade", "moves proposal"),
    "spins": ("spin", "digest runs read_by turned unit speed_rpm#"),
    "holes": ("hole", "kind member angle_deg# radius_mm# depth_mm# removes_gmm# mass_g# spin plan step#"),
    "test_masses": (
        "test",
        "plane mass_g# radius_mm# angle_deg# runs read_by spin typed unit speed_rpm#"
        " beside_g# beside_mm# beside_deg# turned",
    ),
    "sign_offs": ("sign", "spins holes left read_by proof"),
    "profile_edits": ("profile", "was read_by wrong_since why"),
    "built_bobweights": ("built", "throw grams# asked_g# typed before"),
    "aims": ("aim", "to digest why"),
}


def views(revision: str, dialect: str) -> list[str]:
    """The statements that make the views which a revision brought."""
    if revision != REVISIONS[0]:
        return []
    return [f"CREATE VIEW {name} AS {view(name, dialect)}" for name in VIEWS]


def view(name: str, dialect: str) -> str:
    """What a view selects."""
    action, shown = VIEWS[name]
    columns = ", ".join(f'{_said(dialect, "r", one)} AS "{one.rstrip("#")}"' for one in shown.split())
    struck = (
        "(SELECT MIN(s.id) FROM records s WHERE s.job = r.job AND s.action = 'strike'"
        f" AND {_said(dialect, 's', 'of')} = r.id) AS struck_by"
    )
    head = ", ".join(f'{_said(dialect, "r", one)} AS "{one}"' for one in ("bench", "by"))
    return f"SELECT job, seq, id, at, {head}, {columns}, {struck} FROM records r WHERE action = '{action}'"


def _said(dialect: str, row: str, name: str) -> str:
    """The expression of what a record's text says under a name."""
    key = name.rstrip("#")
    if dialect == "sqlite":
        return f"json_extract({row}.text, '$.{key}')"
    said = f"({row}.text::json ->> '{key}')"
    return f"{said}::double precision" if name != key else said


# INSERT OR REPLACE takes a row out without a word to the trigger of DELETE.
_CHANGES = ("UPDATE", "DELETE", "INSERT")
# What the triggers on PostgreSQL do.
GUARDING = " BEGIN RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME; END "


def _guard(table: str, change: str) -> str:
    """The statement by which SQLite refuses a change of a table; of an insertion, one in the place of a row."""
    when = f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {_same_key(table)})" if change == "INSERT" else ""
    return (
        f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table}{when}"
        f" BEGIN SELECT RAISE(ABORT, '{table} is only ever added to'); END"
    )


def _same_key(table: str) -> str:
    """That a row has a key, or SQLite's own number, of the one that is put in."""
    constraints = metadata.tables[table].constraints
    keys = [[column.name for column in one.columns] for one in constraints if isinstance(one, _KEYS)]
    same = (" AND ".join(f"{name} = NEW.{name}" for name in key) for key in sorted([*keys, ["rowid"]]))
    return " OR ".join(f"({one})" for one in same)


def guards(dialect: str, revision: str) -> list[str]:
    """The statements by which nobody changes or takes out a row of the tables that a revision brought and that
    are only ever added to."""
    tables = APPEND_ONLY.get(revision, ())
    if dialect == "sqlite":
        return [_guard(table, change) for table in tables for change in _CHANGES]
    function = f"CREATE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS $${GUARDING}$$"
    made = [function] if revision == REVISIONS[0] else []
    for table in tables:
        made.append(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table}"
            " FOR EACH ROW EXECUTE FUNCTION only_added_to()"
        )
        made.append(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION only_added_to()"
        )
    return made


def guards_off(dialect: str) -> list[str]:
    """The statements that let a restore put other rows in, inside its own transaction."""
    tables = [table for names in APPEND_ONLY.values() for table in names]
    if dialect == "sqlite":
        return [f"DROP TRIGGER {table}_no_{change.lower()}" for table in tables for change in _CHANGES]
    return [f"ALTER TABLE {table} DISABLE TRIGGER USER" for table in tables]


def guards_on(dialect: str) -> list[str]:
    """The statements that put back what guards_off took."""
    if dialect == "sqlite":
        return [statement for revision in REVISIONS for statement in guards(dialect, revision)]
    return [f"ALTER TABLE {table} ENABLE TRIGGER USER" for tables in APPEND_ONLY.values() for table in tables]
