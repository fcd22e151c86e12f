"""Who may do what in a book on PostgreSQL."""

from __future__ import annotations

import base64
import hashlib
import itertools
import json
import uuid

import books
import invented
import psycopg
import pytest

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import functions, jobs, listing, roles, schema, stock
from truethrow.balance.book.address import Address
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.book.open import open_book
from truethrow.balance.book.rows import sealed
from truethrow.balance.demo import copy_into
from truethrow.balance.log import lines
from truethrow.balance.log.place import Outgoing
from truethrow.balance.log.records import Begun, Cut, Weighed, ZeroRead

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
    with books.members(served) as as_:
        yield as_


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


# The rights matrix: what each of four users may by raw SQL. The owner owns; what is only ever added to stays as it
# is also for him.
OWNER, BENCH, READER, STRANGER = "owner", "bench", "reader", "stranger"
ALL_READ, WHO_RECORD, OWNER_ALONE, NOBODY = (OWNER, BENCH, READER), (OWNER, BENCH), (OWNER,), ()
AT = "2026-11-28T09:01:00.000Z"
GUARDED = [name for names in schema.APPEND_ONLY.values() for name in names]


def by_tables():
    """Statements on each table and view, with who may."""
    for table in schema.ALL_TABLES:
        name, column = table.name, next(iter(table.columns)).name
        changes = NOBODY if name in GUARDED else OWNER_ALONE
        yield f"SELECT * FROM {name}", ALL_READ
        yield f'UPDATE {name} SET "{column}" = "{column}"', changes
        yield f"DELETE FROM {name} WHERE false", OWNER_ALONE
        yield f"INSERT INTO {name} SELECT * FROM {name} WHERE false", OWNER_ALONE
        yield f"TRUNCATE {name} CASCADE", NOBODY if name in GUARDED or name in REFERRED else OWNER_ALONE
        yield f"LOCK TABLE {name} IN ACCESS EXCLUSIVE MODE", OWNER_ALONE
        yield f"SELECT * FROM {name} FOR UPDATE", OWNER_ALONE
    for name in schema.VIEWS:
        yield f"SELECT * FROM {name}", ALL_READ


REFERRED = ("jobs", "stock")  # whose guarded tables go with them

NAMED = [
    ("UPDATE jobs SET state = 'signed'", NOBODY),  # there is no such thing to change
    ("UPDATE jobs SET last_seq = 2147483647", OWNER_ALONE),
    ("UPDATE jobs SET head = repeat('0', 32), head_count = 9", OWNER_ALONE),
    ("UPDATE jobs SET title = 'x', active_at = '9999'", OWNER_ALONE),
    ("INSERT INTO records VALUES ('launch-1', 77, 'x', '', 'read', '{}', 'x')", OWNER_ALONE),
    ("INSERT INTO records VALUES ('launch-1', 2147483647, 'x', '', 'read', '{}', 'x')", OWNER_ALONE),
    ("INSERT INTO records VALUES ('launch-1', -1, 'x', '', 'read', '{}', 'x')", OWNER_ALONE),
    ("COPY records TO STDOUT", ALL_READ),
    ("DELETE FROM records", NOBODY),
    ("DROP TABLE records CASCADE", OWNER_ALONE),
    ("ALTER TABLE records DISABLE TRIGGER USER", OWNER_ALONE),
    ("ALTER TABLE jobs ADD COLUMN more text", OWNER_ALONE),
    ("CREATE TABLE public.mine (one int)", OWNER_ALONE),
    ("CREATE VIEW public.mine AS SELECT 1", OWNER_ALONE),
    ("CREATE FUNCTION public.now_i_am() RETURNS int LANGUAGE sql AS 'SELECT 1'", OWNER_ALONE),
    ("CREATE OR REPLACE FUNCTION public.is_sealed(line text, seal text) RETURNS boolean LANGUAGE plpgsql"
     " AS 'BEGIN RETURN true; END'", OWNER_ALONE),
    ("DROP FUNCTION public.append_records(text, json, integer)", OWNER_ALONE),
    ("CREATE TRIGGER mine BEFORE INSERT ON records FOR EACH ROW EXECUTE FUNCTION only_added_to()", OWNER_ALONE),
    ("GRANT ALL ON records TO PUBLIC", OWNER_ALONE),
    ("GRANT truethrow_builder TO CURRENT_USER", OWNER_ALONE),
    ("SET ROLE truethrow_builder", OWNER_ALONE),
    ("SET session_replication_role = replica", OWNER_ALONE),
    ("UPDATE alembic_version SET version_num = '0099'", OWNER_ALONE),
    ("ALTER ROLE truethrow_bench LOGIN", OWNER_ALONE),
    ("SELECT lock_job('launch-1')", WHO_RECORD),
    ("SELECT lock_stock()", WHO_RECORD),
    ("SELECT make_job('x', 'x', 'x')", OWNER_ALONE),
    ("SELECT take_in_records('launch-1', '[]', 0, '')", OWNER_ALONE),
    ("SELECT append_records('launch-1', '[]', 9)", WHO_RECORD),
    ("SELECT append_records('nobody', '[]', 9)", NOBODY),
    ("SELECT append_records('launch-1', '[{}]', 9)", NOBODY),
    ("SELECT must_be_a_record('{}', '')", NOBODY),
    ("SELECT is_sealed('{}', '')", OWNER_ALONE),
    ("SELECT row_seal('{}')", OWNER_ALONE),
    ("SELECT put_text('{}', '', '[]')", NOBODY),
    ("SELECT put_into_documents('{}')", NOBODY),
    ("SELECT put_into_stock_readings('{}')", NOBODY),
]  # fmt: skip


def line(record, n, log, after):
    text, seal = lines.parted(lines.sealed(record, log, n, after))
    return {"text": text, "seal": seal}


def by_calls(book):
    """Calls of the functions with rows as a crafty hand would make them, and as they are to be."""
    log = BookedJob(book, "launch-1").open_log()
    head, own = log.head, log.chain
    reading = Weighed(1, "piston", 538.2, id="by-hand-1", at=AT)
    good = line(reading, own.n + 1, own.log, own.seal)
    said = json.loads(good["text"])

    def changed(**more):
        text = json.dumps(said | more, separators=(",", ":"))
        return {"text": text, "seal": lines.seal_of(text[:-1].encode("ascii"))}

    other = BookedJob(book, "launch-2").open_log()
    wrong = [
        line(reading, own.n + 5, own.log, own.seal),
        line(reading, own.n, own.log, own.seal),
        line(reading, own.n + 1, own.log, "0" * 32),
        line(reading, own.n + 1, "0" * 16, own.seal),
        line(reading, other.chain.n + 1, other.chain.log, other.chain.seal),
        good | {"seal": "0" * 32},
        changed(grams="heavy"),
        changed(kind=""),
        changed(action="damaged", number=1),
        changed(action="nonsense"),
        changed(id=""),
        changed(at="tomorrow"),
        changed(more="words"),
        line(Begun(1, "0", "launch-2", "file", id="b-1", at=AT), 0, "1" * 16, lines.FIRST),
        line(Begun(1, "0", "launch-1", "file", ("0" * 32,), id="b-1", at=AT), 0, "1" * 16, lines.FIRST),
        {"text": "no json", "seal": lines.seal_of(b"no jso")},
    ]
    append = "SELECT append_records('launch-1', %s, %s)"
    count = head.records + 1
    yield from ((append, (json.dumps([one]), count), NOBODY) for one in wrong)
    yield append, (json.dumps([good]), count + 1), NOBODY
    yield append, (json.dumps([good]), 0), NOBODY
    yield append, (json.dumps([good, good]), count + 1), NOBODY
    yield append, (json.dumps([good]), count), WHO_RECORD
    put = "SELECT put_into_{}(%s)"
    document = {"job": "launch-1", "seq": 2, "at": AT, "by": "", "kind": "sheet", "digest": "d", "job_digest": "t"}
    document |= {"name": "x.csv"}
    weight = {"kind": "rod", "label": "R01", "seq": 2, "at": AT, "by": "", "big_end_g": 450.0, "other_g": 170.0}
    weight |= {"bank": "", "together": ""}
    content = {"digest": hashlib.sha256(b"it").hexdigest(), "content": base64.b64encode(b"it").decode()}
    for table, row, who in (
        ("documents", document, WHO_RECORD),
        ("stock_readings", weight, WHO_RECORD),
        ("contents", content, WHO_RECORD),
        ("stock", {"kind": "rod", "label": "mine", "added_at": AT, "added_by": ""}, OWNER_ALONE),
    ):
        yield put.format(table), (json.dumps(sealed(**row)),), who
        yield put.format(table), (json.dumps(sealed(**row) | {"seal": "0" * 16}),), NOBODY
        if "seq" in row:
            yield put.format(table), (json.dumps(sealed(**row | {"seq": 9})),), NOBODY
    yield put.format("contents"), (json.dumps(sealed(**content | {"digest": "0" * 64})),), NOBODY
    yield put.format("stock_readings"), (json.dumps(sealed(**weight | {"other_g": -1.0})),), NOBODY


def test_the_rights_matrix_by_raw_sql(served, member, tmp_path):
    """Every statement by each user: who may is let, and nobody else; and what the others tried leaves the book
    sound, and all that others see as it was."""
    books.fill(served, tmp_path)
    statements = [(one, (), who) for one, who in itertools.chain(by_tables(), NAMED)]
    statements += by_calls(served)
    assert len({(one, given) for one, given, _ in statements}) >= 60
    stranger = f"truethrow_test_{uuid.uuid4().hex[:8]}"
    books.on_server(f"CREATE ROLE {stranger} LOGIN")
    users = {
        OWNER: served.address.url.username,
        BENCH: member(roles.BENCH).address.url.username,
        READER: member(roles.VIEWER).address.url.username,
        STRANGER: stranger,
    }
    before = books.ways(served)
    states = [(job.id, job.state, job.blocked) for job in books.jobs_of(served)]
    beyond, short = [], []
    try:
        for user, name in users.items():
            url = served.address.url.set(drivername="postgresql", username=name).render_as_string()
            with psycopg.connect(url) as connection:
                for statement, given, who in statements:
                    done = is_done(connection, statement, given)
                    (beyond if done else short).extend([(user, statement, given)] if done != (user in who) else [])
                    # What nobody may is tried for good; what somebody may is taken back.
                    connection.commit() if user not in who else connection.rollback()
    finally:
        books.on_server(f"DROP ROLE {stranger}")
    assert (beyond, short) == ([], [])
    assert verify(served).faults == ()
    assert books.ways(served) == before
    assert [(job.id, job.state, job.blocked) for job in books.jobs_of(served)] == states


def is_done(connection, statement, given):
    """Whether the server did it; of a grant of what one has not it only warns."""
    warned = []
    connection.add_notice_handler(lambda notice: warned.append(notice.message_primary))
    try:
        with connection.cursor() as cursor:
            if statement.startswith("COPY"):
                with cursor.copy(statement) as copied:
                    list(copied)
            else:
                cursor.execute(statement, given or None)
    except psycopg.Error:
        connection.rollback()
        return False
    return not any("no privileges were granted" in one for one in warned)


def test_functions_that_only_others_call_are_nobodys_to_call():
    granted = {one.name for one in functions.FUNCTIONS if one.by}
    assert {"must_be_a_record", "row_seal", "is_sealed", "fits", "time_now"}.isdisjoint(granted)


def test_a_stranger_s_objects_of_the_same_name_are_not_used(served, member, tmp_path):
    """A bench that puts a table and a function of its own before the book's fools nobody but itself."""
    books.fill(served, tmp_path)
    bench = member(roles.BENCH).address.url
    url = bench.set(drivername="postgresql").render_as_string()
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("CREATE TEMPORARY TABLE jobs AS SELECT * FROM public.jobs")
        connection.execute("CREATE TEMPORARY TABLE records AS SELECT * FROM public.records WHERE false")
        connection.execute("SET search_path = pg_temp, public")
        assert connection.execute("SELECT public.append_records('launch-1', '[]', 0)").fetchone() == (9,)
        connection.execute("DROP TABLE pg_temp.jobs, pg_temp.records")  # a role that owns something stays
