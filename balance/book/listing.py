"""All jobs of the book with where they stand; found by what is asked for.

A state is worked out of a job's text and its records, and never believed: what this user worked out before is
kept by himself (states.py), and counts for the very same text and records alone. The latest jobs, and those that
a word finds, come by an index, so that they cost the same however large the book is. How many states are worked
out at once is bounded by time: a list must not keep anybody waiting; what is left is told as not looked at yet.
"""

from __future__ import annotations

import re
import time
import tomllib
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, RowMapping, Select, and_, select

from truethrow.balance.book import record_rows, states
from truethrow.balance.book.opened import Book, missing
from truethrow.balance.book.schema import RULES, book, job_revisions, job_words, jobs
from truethrow.balance.book.states import State
from truethrow.balance.book.texts import Document
from truethrow.balance.book.words import LAST, words_of
from truethrow.balance.job.about import About, about_of
from truethrow.balance.job.document import AboutTable
from truethrow.balance.log.chain import Head
from truethrow.balance.log.damage import told, unsettled
from truethrow.balance.log.records import Damaged

LONGEST_S = 2.0
LATEST = 50
MOST_LOOKED_THROUGH = 5000
# The states of a job that nobody works on any more.
FINISHED = frozenset({"signed", "closed"})
_AT_ONCE = 500


class Listed(NamedTuple):
    """A job as a list shows it. last_seq: of its rows; records: so many were written into its log;
    last_seal: of that; state: empty where it was not looked at yet, and is_fresh: whether it
    was."""

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


_GENERATION = select(book.c.generation).scalar_subquery().label("generation")
_STANDS = and_(job_revisions.c.job == jobs.c.id, job_revisions.c.revision == jobs.c.revision)
_ROWS = select(jobs, job_revisions.c.seal, _GENERATION).outerjoin(job_revisions, _STANDS)


class Found(NamedTuple):
    """Some of the jobs. has_more: there are others, which are not among them."""

    jobs: list[Listed]
    has_more: bool = False


def every_job(opened: Book) -> list[Listed]:
    """All jobs, by id. Raises BadInput where the book cannot be read."""
    with opened.reading() as connection:
        rows = connection.execute(_ROWS).mappings().all()
    return _with_states(opened, sorted(rows, key=lambda row: row["id"]))


def latest(opened: Book, words: Sequence[str] = (), most: int = LATEST) -> Found:
    """The jobs in which something was last written, the latest first; with words only those that have each of
    them in id or title, where a word of theirs begins so, or in what blocks them, as far as that is known.
    Raises BadInput where the book cannot be read."""
    with opened.reading() as connection:
        asked = [_having(connection, word) for word in words]
        query = _ROWS.where(*asked).order_by(jobs.c.active_at.desc(), jobs.c.id.desc()).limit(most + 1)
        rows = connection.execute(query).mappings().all()
    return Found(_with_states(opened, rows[:most]), len(rows) > most)


def _having(connection: Connection, word: str) -> ColumnElement[bool]:
    """That a job has a word."""
    said = [_with_word(part) for part in words_of(word)]
    blocked = states.blocked_by(str(connection.scalar(select(book.c.generation))), word)
    in_words = and_(*(jobs.c.id.in_(one) for one in said)) if said else jobs.c.id.in_(())
    return in_words | jobs.c.id.in_(blocked)


def _with_word(part: str) -> Select[Any]:
    return select(job_words.c.job).where(job_words.c.word >= part, job_words.c.word <= part + LAST)


def job_of(opened: Book, job: str) -> Listed:
    """One job as it stands now. Raises BadInput where it is not there."""
    with opened.reading() as connection:
        row = connection.execute(_ROWS.where(jobs.c.id == job)).mappings().one_or_none()
    if row is None:
        raise missing(job, opened)
    return _with_states(opened, [row])[0]


def _with_states(opened: Book, rows: Sequence[RowMapping]) -> list[Listed]:
    """Jobs with where they stand: as this user knows it, else worked out, and kept for the next time."""
    until = time.monotonic() + LONGEST_S
    known = states.known(rows[0]["generation"], [row["id"] for row in rows]) if rows else {}
    made: dict[str, dict[str, tuple[str, State]]] = {}
    found = []
    for row in rows:
        stamp, state = known.get(row["id"], ("", None))
        if stamp != _stamp(row) and time.monotonic() < until:
            generation, stamp, state = _worked_out(opened, row["id"])
            if state is not None:
                made.setdefault(generation, {})[row["id"]] = (stamp, state)
        found.append(_listed(row, state if stamp == _stamp(row) else None))
    for generation, some in made.items():
        states.keep(generation, some)
    return found


def _stamp(row: RowMapping) -> str:
    """What a state is worked out from."""
    own = (RULES, row["revision"], row["seal"], row["last_seq"], row["head"], row["head_count"])
    return " ".join(map(str, own))


def _listed(row: RowMapping, state: State | None) -> Listed:
    of_row = (row["id"], row["title"], row["revision"], row["changed_at"], row["changed_by"], row["last_seq"])
    return Listed(*of_row, row["head_count"], row["head"], *(state or State("", "")), is_fresh=state is not None)


def _worked_out(opened: Book, job: str) -> tuple[str, str, State | None]:
    """Where a job stands, with the book's generation and the stamp of it; None where its text is lost, which
    verify tells."""
    from truethrow.balance.book.state import state_of  # noqa: PLC0415 (all of the house, where something changed)

    with opened.reading() as connection:
        row = (
            connection.execute(
                _ROWS.add_columns(job_revisions.c.text, job_revisions.c.encoding).where(jobs.c.id == job)
            )
            .mappings()
            .one_or_none()
        )
        if row is None or row["text"] is None:
            return "", "", None
        records = record_rows.log_of(connection, job).records if row["last_seq"] else []
    document = Document(row["text"], row["encoding"])
    return row["generation"], _stamp(row), state_of(job, document.plain, records)


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
        names = list(names)
        many: dict[str, int] = {}
        for some in _batches(names):
            found_of = select(jobs.c.id, jobs.c.last_seq, jobs.c.head_count).where(jobs.c.id.in_(some))
            many |= {row[0]: max(row[1:]) for row in connection.execute(found_of)}
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
    has = job_revisions.c.text.contains("[about]")
    query = select(jobs.c.id, job_revisions.c.text).join(job_revisions, _STANDS).where(has)
    found = {}
    with opened.reading() as connection:
        for some in _batches(list(names)):
            rows = connection.execute(query.where(jobs.c.id.in_(some)))
            found.update({job: _about(text) for job, text in rows})
    return found


def _batches(names: Sequence[str]) -> Iterable[Sequence[str]]:
    """So many at once as every database takes."""
    return (names[start : start + _AT_ONCE] for start in range(0, len(names), _AT_ONCE))


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
