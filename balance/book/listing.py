"""All jobs of the book with where they stand; found by what is asked for.

A state is kept in the job's row, with the revision and the record that it was worked out from, and is worked out
again only where the job has changed since. How many at once is bounded by time: a list must not keep anybody
waiting; what is left is told as not looked at yet.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from sqlalchemy import and_, bindparam, select, update
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.book import records
from truethrow.balance.book.connection import transaction
from truethrow.balance.book.open import Book
from truethrow.balance.book.rows import STATE, state_seal
from truethrow.balance.book.schema import RULES, job_revisions, jobs
from truethrow.balance.book.texts import Document
from truethrow.balance.errors import BadInput, NotSaved

LONGEST_S = 2.0
_BATCH = 100


class Listed(NamedTuple):
    """A job as a list shows it. state: empty where it was not looked at yet; records: so many; is_fresh: whether
    the state is of the job as it is."""

    id: str
    title: str
    revision: int
    changed_at: str
    changed_by: str
    records: int
    state: str
    blocked: str
    digest: str
    is_fresh: bool


class _Known(NamedTuple):
    job: str
    revision: int
    seq: int
    state: str
    blocked: str
    digest: str


_FRESH = and_(
    jobs.c.state_revision == jobs.c.revision, jobs.c.state_seq == jobs.c.last_seq, jobs.c.state_rules == RULES
)
_LISTED = select(
    jobs.c.id,
    jobs.c.title,
    jobs.c.revision,
    jobs.c.changed_at,
    jobs.c.changed_by,
    jobs.c.last_seq,
    jobs.c.state,
    jobs.c.blocked,
    jobs.c.digest,
    _FRESH,
)


def jobs_of(
    opened: Book,
    *,
    state: str | None = None,
    words: Sequence[str] = (),
    longest_s: float = LONGEST_S,
) -> list[Listed]:
    """The jobs, by id. state: only those that stand there; words: only those that have each of them in their id,
    title or what blocks them. Raises BadInput where the book cannot be read."""
    refresh(opened, longest_s=longest_s)
    with opened.reading() as connection:
        query = _LISTED if state is None else _LISTED.where(jobs.c.state == state)
        found = [Listed._make(row) for row in connection.execute(query)]
    asked = [word.casefold() for word in words]
    if asked:
        found = [job for job in found if _has(job, asked)]
    return sorted(found, key=lambda job: job.id)


def _has(job: Listed, words: Iterable[str]) -> bool:
    said = f"{job.id}\n{job.title}\n{job.blocked}".casefold()
    return all(word in said for word in words)


def job_of(opened: Book, job: str) -> Listed:
    """One job as it stands now. Raises BadInput where it is not there."""
    from truethrow.balance.book.jobs import missing  # noqa: PLC0415

    refresh(opened, [job])
    with opened.reading() as connection:
        row = connection.execute(_LISTED.where(jobs.c.id == job)).one_or_none()
    if row is None:
        raise missing(job, opened)
    return Listed._make(row)


def refresh(opened: Book, names: Sequence[str] | None = None, longest_s: float = LONGEST_S) -> None:
    """Work out the states that are not of the jobs as they are: of all, or of those named. Who may not write, or
    finds the book locked, keeps nothing and sees the states as they were."""
    until = time.monotonic() + longest_s
    with opened.reading() as connection:
        stale = select(jobs.c.id).where(~_FRESH)
        waiting = list(connection.scalars(stale if names is None else stale.where(jobs.c.id.in_(names))))
    while waiting and time.monotonic() < until:
        batch, waiting = waiting[:_BATCH], waiting[_BATCH:]
        _keep(opened, _work_out(opened, batch, until))


def _work_out(opened: Book, names: Sequence[str], until: float) -> list[_Known]:
    from truethrow.balance.book.state import state_of  # noqa: PLC0415 (all of the house, where something changed)

    made = []
    for job in names:
        with opened.reading() as connection:
            found = connection.execute(
                select(jobs.c.revision, jobs.c.last_seq, job_revisions.c.text, job_revisions.c.encoding)
                .join(
                    job_revisions,
                    and_(job_revisions.c.job == jobs.c.id, job_revisions.c.revision == jobs.c.revision),
                )
                .where(jobs.c.id == job)
            ).one_or_none()
            known = records.all_of(connection, job) if found and found[1] else []
        if found is None:
            continue  # its text is lost: verify tells
        document = Document(found[2], found[3])
        made.append(_Known(job, found[0], found[1], *state_of(job, document.plain, known)))
        if time.monotonic() > until:
            break
    return made


def _keep(opened: Book, made: Sequence[_Known]) -> None:
    if not made:
        return
    names = (*STATE, "state_seal")
    kept = (
        update(jobs)
        .where(jobs.c.id == bindparam("job"))
        .values({name: bindparam(f"new_{name}") for name in names})
    )
    rows = []
    # In one order everywhere, so that two lists never wait for each other's rows.
    for known in sorted(made):
        row = {"id": known.job} | dict(zip(STATE, (*known[3:], known.revision, known.seq, RULES), strict=True))
        row["state_seal"] = state_seal(row)
        rows.append({"job": known.job} | {f"new_{name}": row[name] for name in names})
    with (
        contextlib.suppress(SQLAlchemyError, BadInput, NotSaved),
        transaction(opened.engine, writes=True) as connection,
    ):
        connection.execute(kept, rows)
