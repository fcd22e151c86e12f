"""All jobs of the book with where they stand; found by what is asked for.

A state is kept in the job's row, with the revision and the record that it was worked out from, and is worked out
again only where the job has changed since. How many at once is bounded by time: a list must not keep anybody
waiting; what is left is told as not looked at yet. Who may not write works states out for himself.
"""

from __future__ import annotations

import contextlib
import re
import time
import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from sqlalchemy import Connection, and_, bindparam, select, update
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base.errors import BadInput, NotSaved
from truethrow.balance.book import record_rows
from truethrow.balance.book.connection import LONGEST_WAIT_S, transaction
from truethrow.balance.book.opened import Book
from truethrow.balance.book.rows import STATE, state_seal
from truethrow.balance.book.schema import RULES, book, job_revisions, jobs
from truethrow.balance.book.texts import Document
from truethrow.balance.job.about import About, about_of
from truethrow.balance.job.document import AboutTable
from truethrow.balance.log.chain import Head
from truethrow.balance.log.damage import told, unsettled
from truethrow.balance.log.records import Damaged

LONGEST_S = 2.0
LONGEST_WAIT_MS = 100
_BATCH = 100
MOST_LOOKED_THROUGH = 5000
# The states of a job that nobody works on any more.
FINISHED = frozenset({"signed", "closed"})


class Listed(NamedTuple):
    """A job as a list shows it. last_seq: of its rows; records: so many were written into its log;
    last_seal: of that; state: empty where it was not looked at yet; is_fresh: whether the state is of the job as
    it is."""

    id: str
    title: str
    revision: int
    changed_at: str
    changed_by: str
    last_seq: int
    records: int
    last_seal: str
    state: str
    blocked: str
    digest: str
    is_fresh: bool

    @property
    def head(self) -> Head:
        return Head(self.last_seal, self.records)


class _Known(NamedTuple):
    job: str
    revision: int
    seq: int
    generation: str
    state: str
    blocked: str
    digest: str


_GENERATION = select(book.c.generation).scalar_subquery()
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
    jobs.c.head_count,
    jobs.c.head,
    jobs.c.state,
    jobs.c.blocked,
    jobs.c.digest,
    _FRESH,
)


def every_job(opened: Book, longest_s: float = LONGEST_S) -> list[Listed]:
    """All jobs, by id. Raises BadInput where the book cannot be read."""
    made = refresh(opened, longest_s=longest_s)
    with opened.reading() as connection:
        found = [Listed._make(row) for row in connection.execute(_LISTED)]
    return sorted((_with(job, made) for job in found), key=lambda job: job.id)


class Damage(NamedTuple):
    """The damaged records of jobs of which nobody said yet what became of them, by job; and which jobs were not
    looked through."""

    lines: Mapping[str, Sequence[Damaged]]
    unread: Collection[str] = ()


def wanted_first(every: Sequence[Listed], wanted: Sequence[Listed]) -> list[str]:
    """In which order to look jobs through: those that are asked for, and of them first those that work goes on
    in. What is signed or closed waits for whoever opens it: its log is looked through then."""
    asked = [job.id for job in sorted(wanted, key=lambda job: job.state in FINISHED)]
    return list(dict.fromkeys([*asked, *(job.id for job in every)]))


def damage_in(opened: Book, names: Iterable[str]) -> Damage:
    """Look through the records of jobs, as many as nobody has to wait for; of one job alone, all. What is damaged
    changes no number by which a kept state is known to be old."""
    found: dict[str, list[Damaged]] = {}
    left, unread = MOST_LOOKED_THROUGH, set()
    with opened.reading() as connection:
        found_of = select(jobs.c.id, jobs.c.last_seq, jobs.c.head_count)
        many: dict[str, int] = {row[0]: max(row[1:]) for row in connection.execute(found_of)}
        names = list(names)
        for job in names:
            if many.get(job, 0) > left and len(names) > 1:
                unread.add(job)
                continue
            left -= many.get(job, 0)
            if lines := unsettled(record_rows.log_of(connection, job).records if many.get(job) else ()):
                found[job] = lines
    return Damage(found, unread)


def with_damage(job: Listed, damage: Damage) -> Listed:
    """A job as a list shows it, with what blocks it where it is damaged."""
    lines = damage.lines.get(job.id)
    return job if not lines else job._replace(blocked=told(lines, "record", job.id), is_fresh=True)


def about_in(opened: Book, names: Iterable[str]) -> dict[str, About]:
    """What the jobs' texts say of themselves, of those that say anything: when they are due, who has them."""
    asked = set(names)
    has = job_revisions.c.text.contains("[about]")
    current = and_(job_revisions.c.job == jobs.c.id, job_revisions.c.revision == jobs.c.revision)
    with opened.reading() as connection:
        rows = connection.execute(select(jobs.c.id, job_revisions.c.text).join(job_revisions, current).where(has))
        return {job: _about(text) for job, text in rows if job in asked}


def _about(text: str) -> About:
    """The [about] of a job's text; one that is wrong says nothing here: what blocks the job tells it."""
    own = re.search(r"^\[about\].*?(?=^\s*\[|\Z)", text.replace("\r\n", "\n"), re.MULTILINE | re.DOTALL)
    try:
        raw = tomllib.loads(own[0])["about"] if own else {}
        return about_of(AboutTable.model_validate(raw))
    except ValueError:
        return About()


def chosen(found: Iterable[Listed], state: str | None = None, words: Sequence[str] = ()) -> list[Listed]:
    """Some of the jobs. state: only those that stand there, as far as that is known; words: only those that have
    each of them in their id, title or what blocks them."""
    asked = [word.casefold() for word in words]
    return [job for job in found if (state is None or (job.is_fresh and job.state == state)) and _has(job, asked)]


def _has(job: Listed, words: Iterable[str]) -> bool:
    said = f"{job.id}\n{job.title}\n{job.blocked if job.is_fresh else ''}".casefold()
    return all(word in said for word in words)


def job_of(opened: Book, job: str) -> Listed:
    """One job as it stands now. Raises BadInput where it is not there."""
    from truethrow.balance.book.opened import missing  # noqa: PLC0415

    made = refresh(opened, [job])
    with opened.reading() as connection:
        row = connection.execute(_LISTED.where(jobs.c.id == job)).one_or_none()
    if row is None:
        raise missing(job, opened)
    return _with(Listed._make(row), made)


def _with(job: Listed, made: Mapping[str, _Known]) -> Listed:
    """A job with what was just worked out of it, which may not be kept: many may look who may not write."""
    known = made.get(job.id)
    if job.is_fresh or known is None or (known.revision, known.seq) != (job.revision, job.last_seq):
        return job
    return job._replace(state=known.state, blocked=known.blocked, digest=known.digest, is_fresh=True)


def refresh(opened: Book, names: Sequence[str] | None = None, longest_s: float = LONGEST_S) -> dict[str, _Known]:
    """Work out the states that are not of the jobs as they are: of all, or of those named. They are kept for the
    next one who asks, unless this user may not write, or the book is locked."""
    until = time.monotonic() + longest_s
    with opened.reading() as connection:
        stale = select(jobs.c.id).where(~_FRESH)
        waiting = list(connection.scalars(stale if names is None else stale.where(jobs.c.id.in_(names))))
    made: dict[str, _Known] = {}
    while waiting and time.monotonic() < until:
        batch, waiting = waiting[:_BATCH], waiting[_BATCH:]
        known = _work_out(opened, batch, until)
        _keep(opened, known)
        made |= {one.job: one for one in known}
    return made


def _work_out(opened: Book, names: Sequence[str], until: float) -> list[_Known]:
    from truethrow.balance.book.state import state_of  # noqa: PLC0415 (all of the house, where something changed)

    made = []
    for job in names:
        with opened.reading() as connection:
            found = connection.execute(
                select(
                    jobs.c.revision, jobs.c.last_seq, _GENERATION, job_revisions.c.text, job_revisions.c.encoding
                )
                .join(
                    job_revisions,
                    and_(job_revisions.c.job == jobs.c.id, job_revisions.c.revision == jobs.c.revision),
                )
                .where(jobs.c.id == job)
            ).one_or_none()
            known = record_rows.log_of(connection, job).records if found and found[1] else []
        if found is None:
            continue  # its text is lost: verify tells
        document = Document(found[3], found[4])
        made.append(_Known(job, *found[:3], *state_of(job, document.plain, known)))
        if time.monotonic() > until:
            break
    return made


def _keep(opened: Book, made: Sequence[_Known]) -> None:
    """Write states down, each only where the job is still as it was looked at, in the same book. Nobody is kept
    waiting for it: where the book is locked, or this user may not, nothing is kept."""
    if not (made and opened.keeps):
        return
    names = (*STATE, "state_seal")
    is_as_it_was = and_(
        jobs.c.id == bindparam("job"),
        jobs.c.revision == bindparam("seen_revision"),
        jobs.c.last_seq == bindparam("seen_seq"),
        bindparam("seen_generation") == _GENERATION,
    )
    kept = update(jobs).where(is_as_it_was).values({name: bindparam(f"new_{name}") for name in names})
    rows = []
    # In one order everywhere, so that two lists never wait for each other's rows.
    for known in sorted(made):
        said = (known.state, known.blocked, known.digest, known.revision, known.seq, RULES)
        row = {"id": known.job} | dict(zip(STATE, said, strict=True))
        row["state_seal"] = state_seal(row)
        seen = {"seen_revision": known.revision, "seen_seq": known.seq, "seen_generation": known.generation}
        rows.append({"job": known.job, **seen} | {f"new_{name}": row[name] for name in names})
    with (
        contextlib.suppress(SQLAlchemyError, BadInput, NotSaved),
        _soon(opened) as connection,
    ):
        connection.execute(kept, rows)


@contextlib.contextmanager
def _soon(opened: Book) -> Iterator[Connection]:
    """A transaction that gives up at once where it would have to wait for another station."""
    # An embedded book's transaction that is said to write waits for its lock at its start, and long.
    embedded = opened.address.file is not None
    with transaction(opened.engine, writes=not embedded) as connection:
        if not embedded:
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = {LONGEST_WAIT_MS}")
            yield connection
            return
        connection.exec_driver_sql(f"PRAGMA busy_timeout={LONGEST_WAIT_MS}")
        try:
            yield connection
        finally:
            connection.exec_driver_sql(f"PRAGMA busy_timeout={round(LONGEST_WAIT_S * 1000)}")
