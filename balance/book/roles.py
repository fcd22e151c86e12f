"""Who may do what, on PostgreSQL: three groups without a password or a way to log in, made once by the owner.

    viewer    reads
    bench     also records: readings and all else of the log, weights of the stock, documents issued
    builder   also jobs and their texts, profiles, and the stock

None of them touches a table but to read it: what they write goes through the functions of the database, which
number, check and chain it (functions.py). A user becomes a member by PostgreSQL's own means: GRANT
truethrow_bench TO anna. A trigger keeps everybody from changing a record, also the owner."""

from __future__ import annotations

from sqlalchemy import Connection, text

from truethrow.balance.base.errors import BadInput, Fault, NotSaved
from truethrow.balance.book import functions, schema
from truethrow.balance.book.opened import Book, is_owner

VIEWER, BENCH, BUILDER = ROLES = ("truethrow_viewer", "truethrow_bench", "truethrow_builder")
_CALLS = {"bench": BENCH, "builder": BUILDER}


def make(opened: Book) -> tuple[str, ...]:
    """Make the roles where they are not there, and give them what they may; their names. Raises BadInput for an
    embedded book, NotSaved where this user may not."""
    if opened.address.file is not None:
        wrong = "an embedded book has no roles: who may write its file may do everything"
        raise BadInput([Fault("", wrong, "a book on PostgreSQL")], str(opened.address))
    with opened.writing("no role was made") as connection:
        if not is_owner(connection):  # whose grants the server would pass over without an error
            raise NotSaved("only the book's owner gives roles what they may; no role was made", opened.address)
        there = set(_there(connection))
        for role in ROLES:
            if role not in there:
                connection.exec_driver_sql(f"CREATE ROLE {role} NOLOGIN")
        _give(connection)
        if not _may_enter(connection):
            wrong = "the database, or its schema, is another's, who has to let them in (CONNECT, USAGE)"
            raise NotSaved(f"{wrong}; no role was made", opened.address)
    return ROLES


def give_again(connection: Connection) -> None:
    """Give the roles, where there are some, what they may by now: an update has brought new tables."""
    if len(_there(connection)) == len(ROLES):
        _give(connection)


def _may_enter(connection: Connection) -> bool:
    query = text(
        "SELECT bool_and(has_database_privilege(name, current_database(), 'CONNECT')"
        " AND has_schema_privilege(name, current_schema(), 'USAGE')) FROM unnest(CAST(:names AS name[])) AS name"
    )
    return bool(connection.scalar(query, {"names": list(ROLES)}))


def _there(connection: Connection) -> list[str]:
    query = text("SELECT rolname FROM pg_roles WHERE rolname = ANY(:names)")
    return list(connection.scalars(query, {"names": list(ROLES)}))


def _give(connection: Connection) -> None:
    database, where = connection.exec_driver_sql(
        "SELECT quote_ident(current_database()), quote_ident(current_schema())"
    ).one()
    everyone = ", ".join(ROLES)
    readable = ", ".join([*(table.name for table in schema.ALL_TABLES), *schema.VIEWS, "alembic_version"])
    for statement in (
        f"GRANT CONNECT ON DATABASE {database} TO {everyone}",
        f"GRANT USAGE ON SCHEMA {where} TO {everyone}",
        f"REVOKE ALL ON {readable} FROM {everyone}, PUBLIC",
        f"GRANT SELECT ON {readable} TO {everyone}",
        *(
            f"GRANT EXECUTE ON FUNCTION {where}.{one.called} TO {', '.join(_CALLS[role] for role in one.by)}"
            for one in functions.FUNCTIONS
            if one.by
        ),
    ):
        connection.exec_driver_sql(statement.replace("%", "%%"))  # a database may be called so
