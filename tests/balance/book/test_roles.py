"""Who may do what in a book on PostgreSQL."""

from __future__ import annotations

import uuid

import books
import invented
import pytest
from sqlalchemy import select

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import jobs, listing, roles, schema, stock
from truethrow.balance.book.address import Address
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.open import open_book
from truethrow.balance.demo import copy_into
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import Cut, ZeroRead

# The roles are the whole server's: one process of the tests makes and gives them at a time.
pytestmark = pytest.mark.xdist_group("the server's roles")


@pytest.fixture
def served(tmp_path):
    with books.fresh("postgresql", tmp_path) as address, books.opened(address) as book:
        roles.make(book)
        yield book


@pytest.fixture
def member(served):
    """The book as a member of a role has it open."""
    made, names = [], []

    def as_(role):
        name = f"truethrow_test_{uuid.uuid4().hex[:8]}"
        books.on_server(f"CREATE ROLE {name} LOGIN IN ROLE {role}")
        names.append(name)
        address = Address(served.address.url.set(username=name), None)
        made.append(open_book(address))
        return made[-1]

    yield as_
    for book in made:
        book.close()
    for name in names:
        books.on_server(f"DROP ROLE {name}")


def test_roles_are_made_once_and_have_no_login_and_no_password(served):
    assert roles.make(served) == roles.ROLES
    found = books.on_server(
        "SELECT rolcanlogin, rolpassword IS NULL FROM pg_authid WHERE rolname IN"
        f" ('{roles.VIEWER}', '{roles.BENCH}', '{roles.BUILDER}')"
    )
    assert found == [(False, True)] * 3


def test_who_does_not_own_the_book_makes_no_roles(served, member):
    with pytest.raises(NotSaved, match=r"only the book's owner gives roles what they may; no role was made$"):
        roles.make(member(roles.BUILDER))


def test_who_may_not_let_members_into_the_database_is_told_so(served):
    owner, name = f"truethrow_test_{uuid.uuid4().hex[:8]}", f"truethrow_{uuid.uuid4().hex[:8]}"
    books.on_server(f"CREATE ROLE {owner} LOGIN")
    books.on_server(f"CREATE DATABASE {name}")
    given = Address(served.address.url.set(database=name), None)
    try:
        books.on_server(f"REVOKE CONNECT ON DATABASE {name} FROM PUBLIC")
        books.on_server(f"GRANT CONNECT, CREATE, TEMPORARY ON DATABASE {name} TO {owner}")
        books.on_server(f"GRANT CREATE ON SCHEMA public TO {owner}", f"{books.server().rpartition('/')[0]}/{name}")
        told = pytest.raises(NotSaved, match=r"is another's, who has to let them in .*; no role was made$")
        with books.opened(Address(given.url.set(username=owner), None)) as book, told:
            roles.make(book)
    finally:
        books.on_server(f"DROP DATABASE {name} WITH (FORCE)")
        books.on_server(f"DROP ROLE {owner}")


def test_a_database_may_be_called_as_it_likes(served):
    name = f"p%c {uuid.uuid4().hex[:8]}"
    books.on_server(f'CREATE DATABASE "{name}"')
    try:
        with books.opened(Address(served.address.url.set(database=name), None)) as book:
            assert roles.make(book) == roles.ROLES
    finally:
        books.on_server(f'DROP DATABASE "{name}" WITH (FORCE)')


def test_a_viewer_reads_and_writes_nothing(served, member, tmp_path):
    books.with_job(served, tmp_path)
    BookedJob(served, "launch-7").open_log().append(Cut(1, "piston", 1.0, "p0"))
    viewer = member(roles.VIEWER)
    (job,) = books.jobs_of(viewer)
    assert (job.is_fresh, job.state) == (True, "weighing")
    with served.reading() as connection:  # who may not write keeps nothing
        assert connection.scalar(select(schema.jobs.c.state_seq)) == 0
    assert jobs.document(viewer, "launch-7") == jobs.document(served, "launch-7")
    assert len(BookedJob(viewer, "launch-7").open_log().records) == 1
    refused(viewer, tmp_path, "record", "text", "job", "document", "stock", "move")


def test_a_bench_records_and_changes_no_job(served, member, tmp_path):
    books.with_job(served, tmp_path)
    bench = member(roles.BENCH)
    BookedJob(bench, "launch-7").open_log().append(Cut(1, "piston", 1.0, "p0"))
    assert listing.job_of(bench, "launch-7").state == "weighing"
    issue(BookedJob(bench, "launch-7"), b"")
    refused(bench, tmp_path, "text", "job", "stock", "move")


def test_a_builder_does_it_all_but_changes_no_record(served, member, tmp_path):
    builder = member(roles.BUILDER)
    books.with_job(builder, tmp_path)
    BookedJob(builder, "launch-7").open_log().append(ZeroRead("start", 0.0))
    path = books.job_file(tmp_path, parts=invented.cylinders(piston={1: 540.0}))
    assert jobs.put(builder, "launch-7", path, 1) == 2
    copy_into(tmp_path)
    stock.add(builder, [tmp_path / "shelf-rods.csv"])
    stock.move(builder, "rod", "R01", "launch-7", 1)
    with pytest.raises(NotSaved, match="not permitted"), builder.writing() as connection:
        connection.exec_driver_sql("DELETE FROM records")
    with pytest.raises(NotSaved, match="not permitted"), builder.writing() as connection:
        connection.exec_driver_sql("ALTER TABLE records DISABLE TRIGGER USER")


def issue(placed, raw):
    with placed.issuing([Outgoing("station", raw, "t0", "sheet")]):
        pass


def refused(book, folder, *what):
    """That each of these is not permitted, and nothing of it is in the book then."""
    placed = BookedJob(book, "launch-7")
    rods = folder / "rods.csv"
    rods.write_text("label,big end [g],small end [g]\nR99,450.0,170.0\n")
    ways = {
        "record": lambda: placed.open_log().append(ZeroRead("start", 0.0)),
        "text": lambda: placed.write_text(placed.text() + "#", placed.text()),
        "job": lambda: jobs.add(book, jobs.from_file(books.job_file(folder, "new"))),
        "document": lambda: issue(placed, b"other"),
        "stock": lambda: stock.add(book, [rods]),
        "move": lambda: stock.move(book, "rod", "R99"),
    }
    before = books.ways(book)
    for one in what:
        with pytest.raises((NotSaved, BadInput), match=r"not permitted|may only read|is not in the stock"):
            ways[one]()
    assert books.ways(book) == before


def test_who_is_no_member_gets_nothing_and_is_told_so(served, member):
    stranger = f"truethrow_test_{uuid.uuid4().hex[:8]}"
    books.on_server(f"CREATE ROLE {stranger} LOGIN")
    try:
        with pytest.raises(BadInput, match=r"not permitted$"):
            open_book(Address(served.address.url.set(username=stranger), None))
    finally:
        books.on_server(f"DROP ROLE {stranger}")


def test_an_embedded_book_has_no_roles(tmp_path):
    with books.at(tmp_path / "b.db") as book, pytest.raises(BadInput, match="an embedded book has no roles"):
        roles.make(book)
