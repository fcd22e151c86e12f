"""A book gone through: whether the database holds together, and whether every row still says what it said."""

from __future__ import annotations

import hashlib
import itertools
from collections import Counter
from collections.abc import Iterator
from functools import partial
from typing import Any, NamedTuple

from sqlalchemy import Connection, RowMapping, create_engine, exists, select, text
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, printable, shown
from truethrow.balance.book import copies, functions, record_rows, schema
from truethrow.balance.book.connection import bytes_for_no_text, in_words, transaction
from truethrow.balance.book.documents import unpacked
from truethrow.balance.book.jobs import head_of, words_in
from truethrow.balance.book.open import migrate
from truethrow.balance.book.opened import Book
from truethrow.balance.book.rows import is_sealed
from truethrow.balance.book.texts import Document
from truethrow.balance.log.chain import Head
from truethrow.balance.log.damage import unsettled
from truethrow.balance.log.records import Harm

MOST_TOLD = 20


class Verified(NamedTuple):
    """What was gone through, and what is wrong, a line each; nothing where all is sound. held: the jobs in whose
    logs records are missing; the book holds together all the same, such as one that was salvaged."""

    rows: dict[str, int]
    faults: tuple[str, ...]
    held: tuple[str, ...] = ()


def verify(opened: Book) -> Verified:
    """Go through a whole book, as at one moment."""
    counted: Counter[str] = Counter()
    faults: list[str] = []
    held: list[str] = []
    with opened.reading() as connection, bytes_for_no_text(connection):
        if connection.dialect.name == "sqlite":
            faults += _integrity(connection)
        else:
            faults += _other_guards(connection)
            faults += functions.wrong_in(connection)
            faults += _other_views(opened)
        records = partial(_records_of, held=held)
        for part in (_jobs_of, records, *(_sealed_rows(table) for table in _OTHERS), _stock_of, _contents_of):
            try:
                faults += part(connection, counted)
            except SQLAlchemyError as error:
                # The rest may still be read, by an embedded book at least; a server's transaction is over.
                faults.append(f"cannot be read to its end: {in_words(error)}")
                if connection.dialect.name != "sqlite":
                    break
    return Verified(dict(counted), tuple(dict.fromkeys(faults)), tuple(held))


_OTHERS = (schema.documents, schema.stock_readings, schema.stock_moves, schema.profiles)


def _integrity(connection: Connection) -> list[str]:
    found = connection.exec_driver_sql(f"PRAGMA integrity_check({MOST_TOLD})").scalars().all()
    faults = [f"the file: {printable(str(line))}" for line in found if line != "ok"]
    faults += _other_definitions(connection)
    lost = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    return faults + [f"{row[0]}, row {row[1]}: what it belongs to is lost" for row in lost[:MOST_TOLD]]


def _other_definitions(connection: Connection) -> list[str]:
    """The tables, views and triggers that are not what the scripts make: a view that leaves rows out is damage."""
    engine = create_engine("sqlite://")
    with engine.begin() as new:
        migrate(new, schema.HEAD)
        should = _definitions(new)
    engine.dispose()
    there = _definitions(connection)
    return [f"{name}: is not what it should be" for name, said in should.items() if there.get(name) != said]


def _other_guards(connection: Connection) -> Iterator[str]:
    """The triggers on a server that are not there, are off or do something else."""
    query = text(
        "SELECT t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid"
        " WHERE c.oid = to_regclass(c.relname::text) AND t.tgenabled IN ('O', 'A') AND t.tgqual IS NULL"
        " AND t.tgattr = ''::int2vector AND p.prosrc = :guarding"
        " AND t.tgname = c.relname || CASE t.tgtype WHEN 27 THEN '_no_change' WHEN 34 THEN '_no_truncate' END"
    )
    there = set(connection.scalars(query, {"guarding": schema.GUARDING}))
    for table in (name for names in schema.APPEND_ONLY.values() for name in names):
        for name in (f"{table}_no_change", f"{table}_no_truncate"):
            if name not in there:
                yield f"{name}: is not what it should be"


def _other_views(opened: Book) -> Iterator[str]:
    """The views on a server that are not there or show something else: each beside one that is made for the time
    being, as the server tells them both."""
    wrong: list[str] = []
    try:
        with transaction(opened.engine, writes=True) as connection:
            made = connection.begin_nested()
            for name in schema.VIEWS:
                connection.exec_driver_sql(
                    f"CREATE TEMPORARY VIEW as_made_{name} AS {schema.view(name, 'postgresql')}"
                )
                query = text("SELECT pg_get_viewdef(to_regclass(:it)) = pg_get_viewdef(to_regclass(:made))")
                if not connection.scalar(query, {"it": name, "made": f"as_made_{name}"}):
                    wrong.append(name)
            made.rollback()
    except SQLAlchemyError as error:
        yield f"the views cannot be looked at: {in_words(error)}"
    for name in wrong:
        yield f"{name}: is not what it should be"


def _definitions(connection: Connection) -> dict[str, str]:
    found = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {row[0]: row[1] for row in found}


def _jobs_of(connection: Connection, counted: Counter[str]) -> Iterator[str]:
    """The jobs, and every text that they had."""
    rows: dict[str, RowMapping] = {}
    yield from _rows_of_jobs(connection, counted, rows)
    words: dict[str, set[str]] = {}
    for word, job in connection.execute(select(schema.job_words.c.word, schema.job_words.c.job)):
        words.setdefault(job, set()).add(word)
    upto: dict[str, int] = {}
    should: dict[str, set[str]] = {}
    table = schema.job_revisions
    for one in connection.execute(select(table).order_by(table.c.job, table.c.revision)).mappings():
        counted["job_revisions"] += 1
        job, number = one["job"], one["revision"]
        if copies.misfits("job_revisions", one):
            yield f"job {shown(job)}, revision {shown(number)}: the text is damaged"
            upto[job] = number if type(number) is int else upto.get(job, 0)
            continue
        if one["before"] != upto.get(job, 0):
            yield f"job {shown(job)}: a text before revision {number} is lost"
        upto[job] = number
        if not is_sealed(one):
            yield f"job {shown(job)}, revision {number}: the text is damaged"
        elif job in rows:
            yield from _row_fits(rows[job], one)
            if number == rows[job]["revision"]:
                should[job] = {*words_in(job, rows[job]["title"], Document(one["text"], one["encoding"]))}
    for job, row in rows.items():
        if upto.get(job, 0) != row["revision"]:
            yield f"job {shown(job)}: its text of revision {row['revision']} is lost"
        if job in should and words.get(job, set()) != should[job]:
            yield f"job {shown(job)}: the words by which it is found are damaged"


def _rows_of_jobs(connection: Connection, counted: Counter[str], sound: dict[str, RowMapping]) -> Iterator[str]:
    """The row of the book itself, and that of each job. sound: gets those that hold what a book can hold."""
    for row in connection.execute(select(schema.book)).mappings():
        if odd := copies.misfits("book", row):
            yield f"the book: its own row is damaged: {', '.join(odd)}"
    for row in connection.execute(select(schema.jobs)).mappings():
        counted["jobs"] += 1
        if odd := copies.misfits("jobs", row):
            yield f"job {shown(row['id'])}: its row is damaged: {', '.join(odd)}"
        else:
            sound[row["id"]] = row


def _row_fits(row: RowMapping, one: RowMapping) -> Iterator[str]:
    """Whether a job's row says what the text says, of its first revision and of the one that stands."""
    job, number = row["id"], one["revision"]
    when = (one["at"], one["by"])
    made = one["before"] or (row["created_at"], row["created_by"]) == when
    if not made or (number == row["revision"] and (row["changed_at"], row["changed_by"]) != when):
        yield f"job {shown(job)}: by whom it was written, and when, is damaged"
    if number == row["revision"]:
        yield from _is_of(row, Document(one["text"], one["encoding"]))


def _is_of(row: RowMapping, document: Document) -> Iterator[str]:
    job = row["id"]
    try:
        head = head_of(document, "")
        if head.id != job:
            yield f"job {shown(job)}: the text is another job's"
        elif head.title != row["title"]:
            yield f"job {shown(job)}: its title is damaged"
    except BadInput as error:
        yield f"job {shown(job)}: the text is none of a job: {error.faults[0]}"


def _records_of(connection: Connection, counted: Counter[str], held: list[str]) -> Iterator[str]:
    """The chain of every job's records, each of which has a row, and its end as the job's row has it. What was
    acknowledged is told no more. held: gets the logs in which records are missing."""
    own = (schema.jobs.c.id, schema.jobs.c.last_seq, *record_rows.HEAD_OF)
    jobs = {
        row["id"]: (row["last_seq"], Head(row["head"], row["head_count"]))
        for row in connection.execute(select(*own)).mappings()
        if not copies.misfits("jobs", row)  # else told with the jobs
    }
    table = schema.records
    query = select(table).order_by(table.c.job, table.c.seq)
    rows = connection.execute(query, execution_options={"yield_per": 2000}).mappings()
    logs = {}
    for job, own_rows in itertools.groupby(rows, key=lambda row: row["job"]):
        logs[job] = log = record_rows.RowLog(job)
        told: set[int] = set()
        upto = 0
        for row in own_rows:
            counted["records"] += 1
            seq = row["seq"]
            if copies.misfits("records", row):
                yield f"job {shown(job)}, record {shown(seq)}: damaged"
            if type(seq) is not int:
                continue
            if seq != upto + 1:
                told.add(seq)
                yield f"job {shown(job)}: records {upto + 1} to {seq - 1} are lost"
            upto = seq
            log.take_row(row)
        for line in unsettled(log.records):
            said = f"job {shown(job)}{_HARMS[line.harm].format(line.number)}"
            if line.harm != "missing":
                yield said
            elif line.number not in told:
                held.append(said)
    for job, (last, head) in jobs.items():
        log = logs.get(job, record_rows.RowLog(job))
        if log.seq < last:
            yield f"job {shown(job)}: records {log.seq + 1} to {last} are lost"
        elif log.seq > last:
            yield f"job {shown(job)}: its row does not know of records {last + 1} to {log.seq}"
        elif log.head != head:
            ends, says = str(log.head) or "no record", str(head) or "no record"
            wrong = f"its log ends with {ends}, and the book says {says}"
            yield f"job {shown(job)}: {wrong}: records were taken off its end, or changed"


_HARMS: dict[Harm, str] = {
    "damaged": ", record {}: damaged",
    "changed": ", record {}: was changed after it was written",
    "misplaced": ", record {}: was not written there",
    "missing": ": records before record {} are missing",
}


def _stock_of(connection: Connection, counted: Counter[str]) -> Iterator[str]:
    """Every part is sound, and has been weighed."""
    own, weighed = schema.stock, schema.stock_readings
    for row in connection.execute(select(own).order_by(own.c.kind, own.c.label)).mappings():
        counted["stock"] += 1
        if not is_sealed(row):
            yield f"stock, {shown(row['kind'])} {shown(row['label'])}: damaged"
    query = select(own.c.kind, own.c.label).where(
        ~exists().where(weighed.c.kind == own.c.kind, weighed.c.label == own.c.label)
    )
    for kind, label in connection.execute(query):
        yield f"stock, {shown(kind)} {shown(label)}: what it weighs is lost"


def _contents_of(connection: Connection, counted: Counter[str]) -> Iterator[str]:
    """Every document that is kept is what was issued; none that was issued since they are kept is lost."""
    own = schema.contents
    for row in connection.execute(select(own), execution_options={"yield_per": 20}).mappings():
        counted["contents"] += 1
        try:
            is_sound = is_sealed(row) and hashlib.sha256(unpacked(row["content"])).hexdigest() == row["digest"]
        except ValueError:
            is_sound = False
        if not is_sound:
            yield f"document {shown(row['digest'])[:12]}: damaged"


def _sealed_rows(table: Any) -> Any:
    def check(connection: Connection, counted: Counter[str]) -> Iterator[str]:
        upto: dict[tuple[Any, ...], int] = {}
        keys = [column.name for column in table.primary_key]
        for row in connection.execute(select(table).order_by(*table.primary_key)).mappings():
            counted[table.name] += 1
            yield from _sound(table.name, row, keys, upto)

    return check


def _sound(name: str, row: RowMapping, keys: list[str], upto: dict[tuple[Any, ...], int]) -> Iterator[str]:
    *own, number = (row[key] for key in keys)
    where = f"{name.replace('_', ' ')}, {' '.join(map(shown, own))}"
    if type(number) is not int:
        yield f"{where}, number {shown(number)}: damaged"
        return
    if number != upto.get(tuple(own), 0) + 1:
        yield f"{where}: one before number {number} is lost"
    upto[tuple(own)] = number
    if not is_sealed(row):
        yield f"{where}, number {number}: damaged"
