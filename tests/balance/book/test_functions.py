"""What a server's functions let through is what Python reads back, and nothing else; whoever asks by raw SQL."""

from __future__ import annotations

import json

import books
import kept
import psycopg
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from truethrow.balance.book import functions
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.check import verify
from truethrow.balance.log import lines
from truethrow.balance.log.records import KINDS, ReadBy, Run, Spun, Weighed

WORDS = st.text(st.characters(min_codepoint=1, exclude_categories=["Cs"]), max_size=8)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
AT = "2026-11-28T09:01:00.000Z"
LOG = "0123456789abcdef"


@pytest.fixture
def connection(postgres, tmp_path):
    with books.opened(postgres) as book:
        books.with_job(book, tmp_path)
        with psycopg.connect(postgres, autocommit=True) as made:
            yield made


def is_taken(connection, said: dict) -> bool:
    """Whether the server takes a line that says this for a record, its place and its seal in order."""
    return is_line_taken(
        connection, json.dumps(said | {"n": 1, "log": LOG, "after": lines.FIRST}, separators=(",", ":"))
    )


def is_line_taken(connection, line: str) -> bool:
    seal = lines.seal_of(line[:-1].encode("ascii"))
    try:
        connection.execute("SELECT must_be_a_record(%s, %s)", [line, seal])
    except psycopg.errors.DatabaseError:
        return False
    return True


def said_by(record) -> dict:
    return json.loads(lines.parted(lines.sealed(record, LOG, 1, lines.FIRST))[0])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(kept.any_record(WORDS, NUMBERS, id=WORDS.filter(bool), at=st.just(AT), by=WORDS))
def test_every_record_that_makes_sense_is_taken(connection, record):
    assert is_taken(connection, said_by(record)) == (not record.wrong())


def test_a_spin_before_which_all_was_looked_over_is_taken(connection):
    read_by = ReadBy("", None, False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, "", "")
    spin = Spun("a1", (Run("12.40", "2", "3", "4"),), read_by, looked_over=True, id="0", at=AT)
    assert is_taken(connection, said_by(spin))
    assert not is_taken(connection, said_by(spin) | {"looked_over": "yes"})


ODD = st.sampled_from(
    [None, "", "x", 0, -1, 1.5, True, 10**12, [], ["x"], [1], {}, {"rod": {"1": 2}}, "NaN", [["1"]]]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(kept.any_record(WORDS, NUMBERS, id=WORDS.filter(bool), at=st.just(AT), by=WORDS), st.data())
def test_whatever_is_taken_python_reads_back_and_finds_nothing_wrong_with(connection, record, data):
    said = {name: value for name, value in said_by(record).items() if name not in ("n", "log", "after")}
    name = data.draw(st.sampled_from([*said, "more"]))
    odd = said | {name: data.draw(ODD)}
    if not is_taken(connection, odd):
        return
    line = json.dumps(odd | {"n": 1, "log": LOG, "after": lines.FIRST}, separators=(",", ":"))
    raw = lines.joined(line, lines.seal_of(line[:-1].encode("ascii")))
    found = lines.record_in(raw)
    assert found is not None
    assert not found.wrong()


@pytest.mark.parametrize(
    "line",
    [
        "{}",
        "[]",
        "x",
        '{"id":"a","id":"b","at":"2026-11-28T09:01:00.000Z","action":"reopen"}',
        '{"id":"a","at":"tomorrow","action":"reopen"}',
        '{"id":"a","at":"2026-11-28T09:01:00.000Z","action":"damaged","number":1}',
        '{"id":"\\ud800","at":"2026-11-28T09:01:00.000Z","action":"reopen"}',
        '{"id":"\\u0000","at":"2026-11-28T09:01:00.000Z","action":"reopen"}',
    ],
)
def test_a_line_that_is_no_record_is_not_taken(connection, line):
    assert not is_line_taken(connection, f'{line[:-1]},"n":1,"log":"{LOG}","after":"{lines.FIRST}"}}')
    assert not is_line_taken(connection, line)


def test_every_kind_of_record_is_known_by_all_its_fields():
    shapes = functions._fields()
    for action, kind in KINDS.items():
        for name in functions.own_names(kind):
            assert f"('{action}', '{name}'," in shapes
    assert set(functions.FILLED) | set(functions.ABOVE_ZERO) <= set(KINDS)


CHANGED = {
    "DROP FUNCTION put_into_profiles(json)": "put_into_profiles",
    "CREATE OR REPLACE FUNCTION is_sealed(line text, seal text) RETURNS boolean LANGUAGE plpgsql AS"
    " 'BEGIN RETURN true; END'": "is_sealed",
    "ALTER FUNCTION append_records(text, json, integer) SET search_path = public": "append_records",
    "GRANT EXECUTE ON FUNCTION make_job(text, text, text) TO PUBLIC": "make_job",
    "ALTER FUNCTION lock_job(text) SECURITY INVOKER": "lock_job",
}


@pytest.mark.parametrize("statement", CHANGED)
def test_a_function_that_is_not_as_made_is_told(postgres, statement):
    with books.opened(postgres) as book:
        assert verify(book).faults == ()
        books.on_server(statement, postgres)
        assert f"{CHANGED[statement]}: is not what it should be" in verify(book).faults


def test_what_a_bench_appends_after_damage_that_was_acknowledged_goes_on(postgres, tmp_path):
    """A row that its owner has spoilt is one line of damage, and the next record stands behind it."""
    with books.opened(postgres) as book:
        books.with_job(book, tmp_path)
        log = BookedJob(book, "launch-7").open_log(by="AB")
        for grams in (538.1, 538.2, 538.3):
            log.append(Weighed(1, "piston", grams))
        with book.writing() as connection:
            connection.execute(text("ALTER TABLE records DISABLE TRIGGER USER"))
            connection.execute(text("UPDATE records SET text = replace(text, '538.3', '593.3') WHERE seq = 4"))
            connection.execute(text("ALTER TABLE records ENABLE TRIGGER USER"))
        again = BookedJob(book, "launch-7").open_log(by="AB")
        again.append(Weighed(1, "piston", 538.4))
        assert [r.grams for r in BookedJob(book, "launch-7").open_log().records if isinstance(r, Weighed)] == [
            538.1,
            538.2,
            538.4,
        ]
        assert again.head == BookedJob(book, "launch-7").open_log().head
