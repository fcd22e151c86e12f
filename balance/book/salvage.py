"""What can be read of a damaged book, or of a damaged backup, saved into a new embedded book.

A file of SQLite is read page by page (pages), whatever it says of itself; all else row by row. A row is known by
its shape and its seal, which a damaged one does not fit.
"""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import insert

from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown
from truethrow.balance.base.files import made_private, must_be_a_file, must_not_stand, write_bytes
from truethrow.balance.book import copies, leftovers, record_rows, schema, sound
from truethrow.balance.book.address import of_file
from truethrow.balance.book.jobs import head_of, words_in
from truethrow.balance.book.open import migrate, new_book, numbers_after
from truethrow.balance.book.opened import Book, free
from truethrow.balance.book.pages import Pages, Row, sizes
from truethrow.balance.book.rows import DIGITS, is_sealed
from truethrow.balance.book.texts import Document
from truethrow.balance.log.chain import Head
from truethrow.balance.log.damage import damaged
from truethrow.balance.log.lines import link_of
from truethrow.balance.log.place import file_name
from truethrow.balance.log.records import Begun, Damaged, Record

_FLOATS = ("big_end_g", "other_g")


class Salvaged(NamedTuple):
    """What was saved: so many jobs, records and other rows. lost: what is known to be missing, a line each;
    beside: logs of jobs whose text is lost, as files."""

    jobs: int
    records: int
    others: int
    lost: tuple[str, ...]
    beside: tuple[Path, ...]


class _Found(NamedTuple):
    jobs: dict[str, dict[str, Any]]
    records: dict[tuple[str, int, str], Record]  # by job, seq and id: no seal covers the first two
    others: sound.Rows
    torn: list[int]
    spoilt: list[str]  # rows that have a seal which does not fit, as they begin


def salvage(broken: Path, path: Path) -> Salvaged:
    """Save what can be read of a damaged book into a new one, at path. The damaged one is only read. Raises
    BadInput where it cannot be read, or nothing in it can; NotSaved where the new one already exists."""
    leftovers.clean()
    must_not_stand([path])
    must_be_a_file(broken)
    try:
        # Where a file goes on with nothing, by the gigabyte, nothing was ever written.
        raw = broken.read_bytes().rstrip(b"\0")
        beside = broken.with_name(broken.name + "-wal")
        wal = beside.read_bytes() if beside.exists() else b""
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(broken)) from None
    found = max((_rows(raw, wal, size) for size in sizes(raw, wal)), key=_count)
    if not _count(found):
        raise BadInput([Fault("", "no row of a book can be read in it")], str(broken))
    return _save(found, path)


def salvage_served(opened: Book, path: Path) -> Salvaged:
    """As salvage, of a book on a server: table by table, each as far as it can be read. Raises BadInput,
    NotSaved."""
    must_not_stand([path])
    found = _nothing()
    lost: list[str] = []
    for table in copies.names(schema.HEAD):
        try:
            with opened.reading() as connection:
                for row in copies.rows_of(connection, table):
                    _sort_out_row(row, found, lost)
        except (BadInput, ValueError):
            lost.append(f"{table.replace('_', ' ')}: cannot be read to its end")
    return _saved(found, lost, path, str(opened.address))


def salvage_backup(backup: Path, path: Path) -> Salvaged:
    """As salvage, of a backup: of an embedded book as of any; of one in plain lines line by line, whatever its
    last line says of them. Raises BadInput, NotSaved."""
    if not copies.is_plain(backup):
        return salvage(backup, path)
    must_not_stand([path])
    found = _nothing()
    lost: list[str] = []
    try:
        raw = backup.read_bytes()
    except OSError as error:
        raise BadInput([Fault("", reason(error))], str(backup)) from None
    for number, line in enumerate(raw.splitlines()[1:], start=2):
        row = copies.row_in(line, copies.names(schema.HEAD))
        if row is not None:
            _sort_out_row(row, found, lost)
        elif not line.startswith(b'{"rows"'):
            lost.append(f"line {number} of the backup: is no row of a book")
    return _saved(found, lost, path, str(backup))


def _nothing() -> _Found:
    return _Found({}, {}, sound.none_yet(), [], [])


def _sort_out_row(row: copies.Row, found: _Found, lost: list[str]) -> None:
    """Put a row of a known table where it belongs; one whose seal does not fit is lost. That a record is lost is
    told by its job."""
    table, values = row
    if table == schema.jobs.name:
        _sort_out_job(list(values.values()), found)
    elif table not in (schema.book.name, schema.job_words.name):
        is_sound = _sort_out_sealed(list(values.values()), found)
        if not is_sound and table != schema.records.name:
            key = (str(values.get(column.name)) for column in schema.metadata.tables[table].primary_key)
            lost.append(f"{table.replace('_', ' ')}: {' '.join(map(shown, key))} is damaged")


def _saved(found: _Found, lost: Sequence[str], path: Path, source: str) -> Salvaged:
    if not _count(found):
        raise BadInput([Fault("", "no row of a book can be read in it")], source)
    done = _save(found, path)
    return done._replace(lost=(*lost, *done.lost))


def _count(found: _Found) -> int:
    return len(found.records) + sum(map(len, found.others.values()))


def _rows(raw: bytes, wal: bytes, size: int) -> _Found:
    pages = Pages(raw, wal, size)
    found = _nothing()
    torn = set()
    for number in pages.numbers:
        is_whole = pages.is_known(number)
        for values in pages.pointed_at(number):
            is_whole &= values is not None
            if values is not None and not _sort_out_sealed(values, found):
                _sort_out_job(values, found)
                if _has_a_seal(values):
                    found.spoilt.append(" ".join(map(shown, values[:2])))
        if not is_whole:
            _take_sealed(pages, pages.page(number), found)
            torn.add(number)
    found.torn.extend(sorted(torn - pages.used))
    behind = found._replace(records={})
    for page in pages.doubtful:
        _take_sealed(pages, page, behind)
    stand = {(job, seq) for job, seq, _ in found.records}
    found.records.update({key: record for key, record in behind.records.items() if key[:2] not in stand})
    return found


def _has_a_seal(values: Row) -> bool:
    """Whether a row looks like one of a table with seals; which record is lost is told by its job."""
    lengths = {len(table.columns) for table in sound.SEALED}
    return len(values) in lengths and re.fullmatch(f"[0-9a-f]{{{DIGITS}}}", str(values[-1])) is not None


def _take_sealed(pages: Pages, page: bytes, found: _Found) -> None:
    """Take the rows with a fitting seal from a page that cannot be trusted; what was found already stands."""
    for values in pages.anywhere(page):
        _sort_out_sealed(values, found)


def _sort_out_sealed(values: Row, found: _Found) -> bool:
    """Put a row with a fitting seal where it belongs, unless that was found already; whether it is one."""
    for table in sound.SEALED:
        row = _as_row(values, table)
        if row and is_sealed(row):
            key = tuple(row[column.name] for column in table.primary_key)
            found.others[table.name].setdefault(key, row)
            return True
    row = _as_row(values, schema.records)
    if row and isinstance(row["seq"], int):
        record = record_rows.sound_in(row)
        if record is None and row["seal"] == record_rows.NO_SEAL:
            record = damaged(record_rows.raw_of(row), row["seq"])
        if record is not None:
            found.records.setdefault((row["job"], row["seq"], record.id), record)
            return True
    return False


def _sort_out_job(values: Row, found: _Found) -> None:
    """Keep a job's row, which has no seal; only to tell what is lost."""
    row = _as_row(values, schema.jobs)
    if row and all(isinstance(row[name], int) for name in ("revision", "last_seq", "head_count")):
        found.jobs[str(row["id"])] = row


def _as_row(values: Row, table: Any) -> dict[str, Any] | None:
    names = [column.name for column in table.columns]
    if len(values) != len(names):
        return None
    row = dict(zip(names, values, strict=True))
    # A whole number in a column of masses is kept short in the file.
    return row | {name: float(row[name]) for name in _FLOATS if isinstance(row.get(name), int)}


def _save(found: _Found, path: Path) -> Salvaged:
    texts = found.others[schema.job_revisions.name]
    held: dict[str, list[dict[str, Any]]] = {}
    for _, row in sorted(texts.items()):
        held.setdefault(row["job"], []).append(row)
    by_job: dict[str, list[tuple[int, Record]]] = {}
    seen: set[tuple[str, str]] = set()
    for job, seq, record in _by_job(found.records):
        if (job, record.id) not in seen:  # twice only where its first writing was not committed
            by_job.setdefault(job, []).append((seq, record))
        seen.add((job, record.id))
    by_job = {job: _in_order(own) for job, own in by_job.items()}
    lost: list[str] = []
    temporary = free(path.with_name(f".{path.name}.part"))
    made = Book(of_file(temporary))
    notes = contextlib.ExitStack()
    try:
        notes.enter_context(leftovers.noted(temporary))
        made_private(temporary)
        with made.writing("nothing was saved") as connection:
            migrate(connection, schema.HEAD)
            highest = max((row["revision"] for rows in held.values() for row in rows), default=0)
            connection.execute(insert(schema.book), new_book(numbers_after(highest)))
            for job, rows in held.items():
                own = [record for _, record in by_job.get(job, [])]
                stands = _job(job, rows, found.jobs.get(job), lost)
                connection.execute(insert(schema.jobs), stands)
                stood = Document(rows[-1]["text"], rows[-1]["encoding"])
                if words := words_in(job, stands["title"], stood):
                    connection.execute(insert(schema.job_words), [{"word": word, "job": job} for word in words])
                connection.execute(insert(schema.job_revisions), sound.following(rows))
                record_rows.put_behind(connection, job, 0, own, _head(job, own))
                _told_lost(job, [seq for seq, _ in by_job.get(job, [])], found.jobs.get(job), lost)
            others = sound.together(found.others, held, lost)
            for table in sound.SEALED[1:]:
                if others[table.name]:
                    connection.execute(insert(table), others[table.name])
        made.close()
        temporary.replace(path)
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was saved", path) from None
    finally:
        made.close()
        leftovers.remove(temporary)
        notes.close()
    lost += [f"job {shown(job)}: no text of it can be read" for job in sorted((by_job | found.jobs).keys() - held)]
    lost += [f"the row {row} …: is damaged" for row in dict.fromkeys(found.spoilt)]
    lost += [f"page {number}: rows on it that nothing else names" for number in found.torn]
    beside = _logs_alone(path, {job: own for job, own in by_job.items() if job not in held})
    count = sum(not isinstance(record, Begun) for job in held for _, record in by_job.get(job, []))
    return Salvaged(len(held), count, sum(map(len, others.values())), tuple(lost), beside)


def _job(job: str, rows: list[dict[str, Any]], known: dict[str, Any] | None, lost: list[str]) -> dict[str, Any]:
    """A job's row, by its own where that can be read, else by its texts."""
    if known and known["revision"] != rows[-1]["revision"]:
        lost.append(f"job {shown(job)}: its text of revision {known['revision']}; an older one counts")
    title = ""
    with contextlib.suppress(BadInput):
        title = head_of(Document(rows[-1]["text"], rows[-1]["encoding"]), "").title
    return {
        "id": job,
        "title": title,
        "revision": rows[-1]["revision"],
        "created_at": rows[0]["at"],
        "created_by": rows[0]["by"],
        "changed_at": rows[-1]["at"],
        "changed_by": rows[-1]["by"],
        "active_at": rows[-1]["at"],
        "last_seq": 0,
        "head": "",
        "head_count": 0,
    }


def _by_job(records: dict[tuple[str, int, str], Record]) -> list[tuple[str, int, Record]]:
    """The records with job and seq, in order. No seal covers the job of a row: a record is of the job that most of
    its log is of."""
    of_log: dict[str, Counter[str]] = {}
    for (job, _, _), record in records.items():
        if not isinstance(record, Damaged):
            of_log.setdefault(link_of(record.raw)[0], Counter())[job] += 1
    found = []
    for (job, seq, _), record in records.items():
        own = job if isinstance(record, Damaged) else of_log[link_of(record.raw)[0]].most_common(1)[0][0]
        found.append((own, seq, record))
    return sorted(found, key=lambda one: one[:2])


def _in_order(records: list[tuple[int, Record]]) -> list[tuple[int, Record]]:
    """The records of a job with their seqs, in their order: those of one log as their own numbers have them, which
    their seals cover. No seal covers a seq."""
    by_log: dict[str, list[tuple[int, int, Record]]] = {}
    for seq, record in records:
        log, n = ("", seq) if isinstance(record, Damaged) else link_of(record.raw)[:2]
        by_log.setdefault(log, []).append((n, seq, record))
    made = []
    for own in by_log.values():
        seqs = sorted(seq for _, seq, _ in own)
        numbered = sorted(own, key=lambda one: one[:2])
        made += [(seq, record) for seq, (_, _, record) in zip(seqs, numbered, strict=True)]
    return sorted(made, key=lambda one: one[0])


def _head(job: str, records: Sequence[Record]) -> Head:
    """How far a log has come that has these records."""
    log = record_rows.RowLog(job)
    for seq, record in enumerate(records, start=1):
        log.take_row(record_rows.row_of(job, seq, record))
    return log.head


def _told_lost(job: str, seqs: list[int], known: dict[str, Any] | None, lost: list[str]) -> None:
    last = max([*seqs, known["last_seq"] if known else 0])
    gone = sorted(set(range(1, last + 1)) - set(seqs))
    if gone:
        lost.append(f"job {shown(job)}: {len(gone)} of {last} records, the first of them record {gone[0]}")


def _logs_alone(path: Path, alone: dict[str, list[tuple[int, Record]]]) -> tuple[Path, ...]:
    """The logs of jobs without a text, as files beside the new book."""
    made = []
    for job, own in alone.items():
        target = log_path(path.with_name(f"{path.stem}-{file_name(job)}.toml"))
        with contextlib.suppress(NotSaved):
            must_not_stand([target])
            write_bytes(target, b"".join(record.raw + b"\n" for _, record in own))
            made.append(target)
    return tuple(made)
