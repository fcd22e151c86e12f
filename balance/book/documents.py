"""What was issued of a job of the book: which document, of which state of the job, when, and by whom."""

from __future__ import annotations

import hashlib
from typing import NamedTuple

from sqlalchemy import func, insert, select

from truethrow.balance.book.jobs import locked
from truethrow.balance.book.open import Book
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import documents as table


class Issued(NamedTuple):
    """One document. digest: the SHA-256 of its bytes; job_digest: of the job that it was made from; name: of the
    file that it was written to."""

    at: str
    by: str
    kind: str
    digest: str
    job_digest: str
    name: str


def issue(opened: Book, job: str, kind: str, raw: bytes, job_digest: str, name: str, by: str = "") -> None:
    """Keep that a document was issued, before it leaves the shop's screen. kind: station, say; raw: its bytes. The
    same document issued once more under the same name is the same. Raises NotSaved, BadInput."""
    digest = hashlib.sha256(raw).hexdigest()
    with opened.writing(f"the {kind} document of job {job} is not in the book") as connection:
        locked(connection, job, opened)
        own = select(table).where(table.c.job == job)
        last = connection.execute(own.where(table.c.kind == kind).order_by(table.c.seq.desc()).limit(1)).first()
        if last and (last.digest, last.job_digest, last.name) == (digest, job_digest, name):
            return
        seq = (connection.scalar(select(func.max(table.c.seq)).where(table.c.job == job)) or 0) + 1
        row = sealed(job=job, seq=seq, at=now(), by=by, kind=kind, digest=digest, job_digest=job_digest, name=name)
        connection.execute(insert(table), row)


def issued(opened: Book, job: str) -> list[Issued]:
    """The documents of a job, the oldest first. Raises BadInput where the book cannot be read."""
    with opened.reading() as connection:
        found = connection.execute(select(table).where(table.c.job == job).order_by(table.c.seq)).mappings()
        return [Issued(*(row[name] for name in Issued._fields)) for row in found]
