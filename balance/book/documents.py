"""What was issued of a job of the book: which document, of which state of the job, when, and by whom; and the
document itself, so that it can be written again as it was."""

from __future__ import annotations

import base64
import binascii
import contextlib
import hashlib
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, Fault, NotSaved, shown
from truethrow.balance.book.connection import in_words, transaction
from truethrow.balance.book.jobs import locked
from truethrow.balance.book.opened import Book
from truethrow.balance.book.putting import put
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import contents
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
    _keep(connection, digest, one.raw)
    last = connection.execute(own.order_by(table.c.seq.desc()).limit(1)).first()
    if last and (last.digest, last.job_digest, last.name) == (digest, one.job_digest, one.name):
        return
    seq = (connection.scalar(select(func.max(table.c.seq)).where(table.c.job == job)) or 0) + 1
    said = {"kind": one.kind, "digest": digest, "job_digest": one.job_digest, "name": one.name}
    put(connection, table, [sealed(job=job, seq=seq, at=now(), by=by, **said)])


def _keep(connection: Connection, digest: str, raw: bytes) -> None:
    """Keep a document, unless it is kept already."""
    if connection.scalar(select(contents.c.digest).where(contents.c.digest == digest)) is None:
        content = base64.b64encode(raw).decode("ascii")
        put(connection, contents, [sealed(digest=digest, content=content)])


def unpacked(content: str) -> bytes:
    """The bytes of a document that is kept. Raises ValueError where it is none."""
    try:
        return base64.b64decode(content, validate=True)
    except binascii.Error as error:
        raise ValueError(str(error)) from None


def written(opened: Book, job: str, number: int) -> tuple[Issued, bytes]:
    """A document of a job, by its number in the order of issued, and its bytes. Raises BadInput for one that is
    not there, is not kept (it was issued by an older truethrow), or is damaged."""
    found = issued(opened, job)
    where = f"document {number} of job {shown(job)}"
    if not 1 <= number <= len(found):
        told = f"1 to {len(found)}" if found else "a job of which something was issued"
        raise BadInput([Fault(where, "is not there", told)], str(opened.address))
    one = found[number - 1]
    with opened.reading() as connection:
        content = connection.scalar(select(contents.c.content).where(contents.c.digest == one.digest))
    if content is None:
        raise BadInput([Fault(where, "is not kept: only that it was issued is known")], str(opened.address))
    try:
        raw = unpacked(content)
    except ValueError:
        raw = b""
    if hashlib.sha256(raw).hexdigest() != one.digest:
        raise BadInput([Fault(where, "is damaged", remedy="truethrow book verify")], str(opened.address))
    return one, raw


def issued(opened: Book, job: str) -> list[Issued]:
    """The documents of a job, the oldest first. Raises BadInput where the book cannot be read."""
    with opened.reading() as connection:
        found = connection.execute(select(table).where(table.c.job == job).order_by(table.c.seq)).mappings()
        return [Issued(*(row[name] for name in Issued._fields)) for row in found]
