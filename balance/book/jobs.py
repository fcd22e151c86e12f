"""Jobs in the book: added from their files with the log beside, put anew, told, and out again as they were.

The file is how a job travels. Its text is kept to the byte, and every text that it ever had; its records are
merged by their ids, so that adding a log once more that has grown is adding what is new of it.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, RowMapping, delete, insert, select, text, update

from truethrow.balance.base import fields
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, shown
from truethrow.balance.book import record_rows, texts
from truethrow.balance.book.opened import Book, missing
from truethrow.balance.book.putting import ask, is_served
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import book, job_revisions, job_words
from truethrow.balance.book.schema import jobs as table
from truethrow.balance.book.texts import Document
from truethrow.balance.book.words import word_of_mark, words_of
from truethrow.balance.job import document as doc
from truethrow.balance.job import sources
from truethrow.balance.job.jobfile import bare_units, parse_toml
from truethrow.balance.log.chain import Chain
from truethrow.balance.log.damage import told, unsettled
from truethrow.balance.log.lines import link_of, record_in
from truethrow.balance.log.log import Log, Note
from truethrow.balance.log.place import has_log, open_log
from truethrow.balance.log.records import Begun, Damaged, Record, ReferenceRead, Skipped, Weighed, ZeroRead

_NEW = text(
    "INSERT INTO jobs (id, title, revision, created_at, created_by, changed_at, changed_by, active_at, last_seq,"
    " head, head_count) VALUES (:id, :title, 0, '', :by, '', :by, '', 0, '', 0) ON CONFLICT DO NOTHING"
)


class FromFile(NamedTuple):
    """A job as its file and the log beside it have it. records: all that was written into the log; notes: what is
    wrong with it."""

    path: Path
    id: str
    title: str
    document: Document
    records: tuple[Record, ...]
    notes: tuple[Note, ...]


class Added(NamedTuple):
    """A job that was added. was_new: it was not in the book before; has_new_text; fresh: so many records were new,
    of all that the file has; notes: what is wrong with its log; lacking: so many the book has that it has not."""

    id: str
    revision: int
    was_new: bool
    has_new_text: bool
    fresh: int
    records: int
    notes: tuple[Note, ...]
    lacking: int = 0


def from_file(path: Path) -> FromFile:
    """A job file and its log. Raises BadInput where it is none, or cannot be kept in a book."""
    document = texts.read(path)
    head = head_of(document, str(path))
    log = open_log(path) if has_log(path) else None
    if log:
        log.must_be_of(head.id)
    found = tuple(log.written) if log else ()
    faults = [Fault(f"record {shown(r.id)}", wrong) for r in found if (wrong := record_rows.not_keepable(r))]
    if faults:
        raise BadInput(faults, str(log_path(path)))
    return FromFile(path, head.id, head.title, document, found, tuple(log.notes) if log else ())


def head_of(document: Document, source: str) -> doc.JobTable:
    """The [job] of a document, its id one by which it can be called. Raises BadInput."""
    raw = parse_toml(document.plain, source)
    faults: list[Fault] = []
    head = fields.validate(doc.JobTable, raw.get("job", {}), "job", bare_units(raw), faults)
    if head and (wrong := doc.not_callable(head.id)):
        faults.append(Fault("job, id", f"{shown(head.id)!r} {wrong}", doc.CALLABLE))
    if faults or head is None:
        raise BadInput(faults, source)
    return head


def add(opened: Book, job: FromFile, by: str = "", revision: int | None = None) -> Added:
    """Add a job to the book, or what is new of it. revision: the one that its text replaces.

    Raises NotSaved, with what differs, where the book has another text of the job and revision is not its number;
    where a record of the same id says something else; and where a new record would come to stand behind others
    that the file has after it, and so say something else."""
    with opened.writing(f"job {job.id} was not added") as connection:
        # Looked for first: who adds to the log of a job that is there needs no right to make one.
        if connection.scalar(select(table.c.id).where(table.c.id == job.id)) is None:
            if is_served(connection):
                ask(connection, "make_job", job=job.id, title=job.title, by=by)
            else:
                connection.execute(_NEW, {"id": job.id, "title": job.title, "by": by})
        row = locked(connection, job.id)
        standing = document_in(connection, job.id, row["revision"]) if row["revision"] else None
        log = record_rows.log_of(connection, job.id)
        log.job = job.id
        has_new_text = standing != job.document
        if has_new_text and standing is not None:
            log.must_be_open()
        if has_new_text and standing is not None and revision != row["revision"]:
            hint = (
                "; another engine needs an id of its own, in [job]; if this is the same one, edited: "
                f"--revision {row['revision']}"
            )
            raise _stale(opened, row, standing, job.document, revision, hint)
        number = _put(connection, row, job.document, job.title, by) if has_new_text else row["revision"]
        if damaged := unsettled(log.records):
            raise BadInput([Fault("", told(damaged, log.unit, job.id))], log.name)
        fresh = _fresh(opened, log, job)
        kept = connection.scalar(select(book.c.generation)) or ""
        sealed_so = _sealed(log, fresh, job.id, kept)
        record_rows.put_behind(connection, job.id, row["last_seq"], sealed_so, log.head, of_file=True)
    _know_state(opened, job.id)
    held = {record.id for record in job.records}
    lacking = _count([record for record in log.records if record.id not in held])
    return Added(
        job.id, number, standing is None, has_new_text, _count(fresh), _count(job.records), job.notes, lacking
    )


def _count(records: Iterable[Record]) -> int:
    return sum(not isinstance(record, Begun) for record in records)


# What says the same in whatever order two benches wrote it.
READINGS = (Weighed, Skipped, ZeroRead, ReferenceRead)


def _fresh(opened: Book, log: Log, job: FromFile) -> list[Record]:
    """The records of a file that the book does not have."""
    if not job.records:
        return []
    there = {record.id: record for record in log.written}
    other = [r.id for r in job.records if r.id in there and there[r.id].raw != r.raw]
    # The same reading tried again may have another time; the first counts. Another reading must not be lost.
    from truethrow.balance.log.log import check_same  # noqa: PLC0415

    by_id = {record.id: record for record in job.records}
    for key in other:
        try:
            check_same(by_id[key], there[key])
        except ValueError:
            told = f"record {shown(key)} is another one in the book; nothing was added"
            raise NotSaved(told, f"{opened.address}, job {job.id}") from None
    fresh = [record for record in job.records if record.id not in there]
    if done := [record for record in fresh if not isinstance(record, Begun)]:
        behind = job.records[job.records.index(done[0]) :]
        if later := next((record for record in behind if record.id in there), None):
            told = (
                f"record {shown(done[0].id)} is new, and would come before {shown(later.id)}, which the book has "
                "already: behind it, it would say something else; nothing was added"
            )
            raise NotSaved(told, f"{opened.address}, job {job.id}")
        ours = [r for r in there.values() if r.id not in by_id and not isinstance(r, Begun)]
        if ours and (odd := next((r for r in (*done, *ours) if not isinstance(r, READINGS)), None)):
            told = (
                f"both the book and the file have records that the other has not, and among them a {odd.action}, "
                f"{shown(odd.id)}: which came first is not known, and it matters; nothing was added"
            )
            raise NotSaved(told, f"{opened.address}, job {job.id}")
    return fresh


def _sealed(log: Log, fresh: Sequence[Record], job: str, kept: str) -> list[Record]:
    """The records of a file as they are put behind those of the book's log, which then goes on with them: each log
    of theirs as it is written, where that follows what the book has of it; else, where both went on from one copy,
    under the book's own seals. kept: where the book's own log goes on."""
    as_written = _that_follow(log.chain, fresh)
    made: list[Record] = []
    for record in fresh:
        if isinstance(record, Damaged):
            log.chain.damaged += 1
            made.append(record)
            continue
        own = link_of(record.raw)
        if own.log not in as_written and isinstance(record, Begun):
            continue
        raws = [record.raw] if own.log in as_written else log.chain.sealed(record, lambda: job, kept)
        for one in map(record_in, raws):
            assert one is not None
            log.chain.take(one, link_of(one.raw))
            made.append(one)
    return made


def _that_follow(chain: Chain, fresh: Sequence[Record]) -> set[str]:
    """The logs all of whose records in a file go on from what the book has of them."""
    chain, found, odd = chain.copy(), set(), set()
    for record in fresh:
        if isinstance(record, Damaged):
            chain.damaged += 1
            continue
        own = link_of(record.raw)
        stands = chain.fits(record, own)
        found.add(own.log)
        if stands.is_of_it and not stands.missing and stands.changed is None:
            chain.take(record, own)
        else:
            odd.add(own.log)
    return found - odd


def put(opened: Book, job: str, path: Path, revision: int, by: str = "") -> int:
    """Put the text of a file in the place of a job's revision; the number of the new one. Its log is left alone.

    Raises BadInput for a file that is no job, or another one; NotSaved, with what changed, where the job is at
    another revision by now; BadInput where the job is closed."""
    document = texts.read(path)
    head = head_of(document, str(path))
    if head.id != job:
        raise BadInput([Fault("job, id", f"{shown(head.id)!r} is another job", shown(job))], str(path))
    with opened.writing(f"job {job} is as it was") as connection:
        row = locked(connection, job, opened)
        standing = document_in(connection, job, row["revision"])
        if standing != document:
            log = record_rows.log_of(connection, job)
            log.job = job
            log.must_be_open()
        if row["revision"] != revision:
            base = document_or_none(connection, job, revision)
            raise _stale(opened, row, base or document, standing, revision)
        if standing == document:
            return revision
        number = _put(connection, row, document, head.title, by)
    _know_state(opened, job)
    return number


def rewrite(opened: Book, job: str, plain: str, expected: str, by: str = "") -> None:
    """Put another text in the place of the one expected, both with plain line ends; the job keeps its own. Raises
    NotSaved, with what changed, where it does not say that any more."""
    with opened.writing(f"job {job} is as it was") as connection:
        row = locked(connection, job, opened)
        standing = document_in(connection, job, row["revision"])
        if standing.plain != expected:
            raise _stale(opened, row, Document(expected), standing, None)
        made = standing.with_text(plain)
        if made != standing:
            _put(connection, row, made, head_of(made, f"job {job}").title, by)


def words_in(job: str, title: str, document: Document) -> list[str]:
    """All words by which a job is found."""
    try:
        labels = sources.labels_in(parse_toml(document.plain, ""))
    except BadInput:
        labels = {}
    marks = {word_of_mark(kind, mark) for own in labels.values() for kind, mark in own.items() if mark}
    return [*words_of(job, title), *sorted(marks)]


def _stale(
    opened: Book, row: RowMapping, base: Document, now_is: Document, revision: int | None, hint: str = ""
) -> NotSaved:
    """The refusal of an edit that is not of what stands now."""
    who = f" by {shown(row['changed_by'])}" if row["changed_by"] else ""
    at = f"revision {row['revision']}, {row['changed_at'][:16].replace('T', ' ')} UTC{who}"
    meant = "" if revision is None else f", not at {revision}"
    told = f"is at {at}{meant}; nothing was written{hint}. What differs:"
    differs = texts.changes(base.plain, now_is.plain) or "\n  line ends or encoding alone"
    return NotSaved(told + differs, f"{opened.address}, job {row['id']}")


def _put(connection: Connection, row: RowMapping, document: Document, title: str, by: str) -> int:
    """Put a text behind those that a job has, whose lock is held; its number. One that was given before a restore
    is not given again: who edited that text must not be taken for having edited this one."""
    at, before = now(), row["revision"]
    number: int = max(before, connection.scalar(select(book.c.revisions_after)) or 0) + 1
    document_is = {"encoding": document.encoding, "text": document.text}
    made = sealed(job=row["id"], revision=number, before=before, at=at, by=by, **document_is)
    words = words_in(row["id"], title, document)
    if is_served(connection):
        ask(connection, "put_text", row=made, title=title, words=words)
        return number
    connection.execute(insert(job_revisions), made)
    changed = {"revision": number, "title": title, "changed_at": at, "changed_by": by, "active_at": at}
    changed |= {} if before else {"created_at": at, "created_by": by}
    connection.execute(update(table).where(table.c.id == row["id"]).values(**changed))
    connection.execute(delete(job_words).where(job_words.c.job == row["id"]))
    if words:
        connection.execute(insert(job_words), [{"word": word, "job": row["id"]} for word in words])
    return number


def _know_state(opened: Book, job: str) -> None:
    from truethrow.balance.book.listing import job_of  # noqa: PLC0415

    with contextlib.suppress(BadInput, NotSaved):  # what was asked for is done, and a list looks at it again
        job_of(opened, job)


def locked(connection: Connection, job: str, opened: Book | None = None) -> RowMapping:
    """A job's row, which nobody else changes until the transaction is over. Raises BadInput without one."""
    if is_served(connection):
        ask(connection, "lock_job", job=job)
    row = connection.execute(select(table).where(table.c.id == job)).mappings().one_or_none()
    if row is None:
        raise missing(job, opened)
    return row


def ids(opened: Book, beginning: str, most: int) -> list[str]:
    """Ids of jobs that begin so, in order."""
    query = select(table.c.id).where(table.c.id.startswith(beginning, autoescape=True))
    with opened.reading() as connection:
        return list(connection.scalars(query.order_by(table.c.id).limit(most)))


def is_there(opened: Book, job: str) -> bool:
    with opened.reading() as connection:
        return connection.scalar(select(table.c.id).where(table.c.id == job)) is not None


def row_of(connection: Connection, job: str, opened: Book) -> RowMapping:
    """A job's row. Raises BadInput where it is not there."""
    row = connection.execute(select(table).where(table.c.id == job)).mappings().one_or_none()
    if row is None:
        raise missing(job, opened)
    return row


def document(opened: Book, job: str, revision: int | None = None) -> Document:
    """A job's document, as it stands or as a revision had it. Raises BadInput where it is not there."""
    with opened.reading() as connection:
        row = row_of(connection, job, opened)
        found = document_or_none(connection, job, row["revision"] if revision is None else revision)
    if found is None:
        raise BadInput([Fault(f"job {shown(job)}", f"has no revision {revision}")], str(opened.address))
    return found


def document_or_none(connection: Connection, job: str, revision: int) -> Document | None:
    row = connection.execute(
        select(job_revisions.c.text, job_revisions.c.encoding).where(
            job_revisions.c.job == job, job_revisions.c.revision == revision
        )
    ).one_or_none()
    return None if row is None else Document(row[0], row[1])


def document_in(connection: Connection, job: str, revision: int) -> Document:
    found = document_or_none(connection, job, revision)
    if found is None:
        lost = f"its text of revision {revision} is lost"
        told = Fault(f"job {shown(job)}", lost, remedy="run: truethrow book verify")
        raise BadInput([told])
    return found
