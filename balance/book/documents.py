"""What was issued of a job of the book: which document, of which state of the job, when, and by whom."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sqlalchemy import Connection, func, insert, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import NotSaved, shown
from truethrow.balance.book.connection import in_words, transaction
from truethrow.balance.book.jobs import locked
from truethrow.balance.book.opened import Book
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import documents as table
from truethrow.balance.log.place import Outgoing

_NOT_PERMITTED = "not permitted"


class Issued(NamedTuple):
    """One document. digest: the SHA-256 of its bytes; job_digest: of the job that it was made from; name: of the
    file that it was written to."""

    at: str
    by: str
    kind: str
    digest: str
    job_digest: str
    name: str


@contextlib.contextmanager
def issuing(opened: Book, job: str, outgoing: Sequence[Outgoing], by: str = "") -> Iterator[None]:
    """Keep that documents are issued, in one transaction with the writing of their files, which the body does:
    where the book does not take them nothing is written, and where the writing fails nothing was issued.

    Only a book that is lost at the very end leaves files of which it knows nothing: the lesser evil, since the
    next issue mends it, and what the book says cannot be taken back. A document issued once more under the same
    name is the same. Raises NotSaved, BadInput."""
    what = ", ".join(one.kind for one in outgoing)
    lost = f"the {what} of job {shown(job)} was not issued"
    try:
        with transaction(opened.engine, writes=True) as connection:
            locked(connection, job, opened)
            for one in outgoing:
                _put(connection, job, one, by)
            yield
            lost = f"the {what} of job {shown(job)} is written, but may not be in the book: issue it again"
    except SQLAlchemyError as error:
        why = in_words(error)
        if why == _NOT_PERMITTED:
            why = "this user may only read the book (hang, check and trim write nothing)"
        raise NotSaved(f"{why}; {lost}", opened.address) from None


def _put(connection: Connection, job: str, one: Outgoing, by: str) -> None:
    digest = hashlib.sha256(one.raw).hexdigest()
    own = select(table).where(table.c.job == job, table.c.kind == one.kind)
    last = connection.execute(own.order_by(table.c.seq.desc()).limit(1)).first()
    if last and (last.digest, last.job_digest, last.name) == (digest, one.job_digest, one.name):
        return
    seq = (connection.scalar(select(func.max(table.c.seq)).where(table.c.job == job)) or 0) + 1
    said = {"kind": one.kind, "digest": digest, "job_digest": one.job_digest, "name": one.name}
    connection.execute(insert(table), sealed(job=job, seq=seq, at=now(), by=by, **said))


def issued(opened: Book, job: str) -> list[Issued]:
    """The documents of a job, the oldest first. Raises BadInput where the book cannot be read."""
    with opened.reading() as connection:
        found = connection.execute(select(table).where(table.c.job == job).order_by(table.c.seq)).mappings()
        return [Issued(*(row[name] for name in Issued._fields)) for row in found]
