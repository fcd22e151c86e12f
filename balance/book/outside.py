"""The book as plain files: jobs as they came, each with its log beside it, and all the rest as lines."""

from __future__ import annotations

import itertools
import json
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, Integer, select
from sqlalchemy.exc import SQLAlchemyError

from truethrow.balance.base import files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown, shown_path
from truethrow.balance.book import copies, jobs, record_rows, schema, sound
from truethrow.balance.book.connection import bytes_for_no_text, in_words, is_damage
from truethrow.balance.book.opened import Book
from truethrow.balance.book.rows import is_sealed
from truethrow.balance.book.texts import Document
from truethrow.balance.book.texts import of_bytes as texts_of_bytes
from truethrow.balance.log import damage
from truethrow.balance.log.place import file_name, has_log, mark_of, open_log

# What is no file of a job: file name → tables.
REST = {
    "jobs.jsonl": ("jobs", "job_words"),
    "revisions.jsonl": ("job_revisions",),
    "documents.jsonl": ("documents", "contents"),
    "profiles.jsonl": ("profiles",),
    "stock.jsonl": ("stock", "stock_readings", "stock_moves"),
}


class Exported(NamedTuple):
    """The files made, and what was left out, the jobs and the rows, each with what is wrong with it."""

    files: list[Path]
    left_out: list[Fault]


def export(opened: Book, job: str, folder: Path) -> list[Path]:
    """Write a job into a folder, its log beside it, as they stand; the files made. Raises NotSaved where one
    stands there already, or cannot be written; BadInput for a job that is not there."""
    with opened.reading() as connection, bytes_for_no_text(connection):
        done = _export(connection, opened, [job], folder)
    if done.left_out:
        raise BadInput(done.left_out, str(opened.address))
    return done.files


def export_all(opened: Book, folder: Path) -> Exported:
    """Write everything into a folder, as at one moment: what export does for each job, all the texts that jobs had
    before, the documents issued, the profiles and the stock; restore takes it back. A damaged job is left out, so
    that its log never looks whole, and restore does not take a folder without it for the whole book. Any other
    row that is damaged is left out with what cannot be without it. Raises NotSaved."""
    rest = {folder / name: tables for name, tables in REST.items()}
    files.must_not_stand(rest)
    with opened.reading() as connection, bytes_for_no_text(connection):
        every = [dict(row) for _, row in copies.rows_of(connection, schema.jobs.name)]
        done = _export(connection, opened, sorted(map(str, (row["id"] for row in every))), folder)
        rows, lost = _rest(connection, every)
        for path, tables in rest.items():
            said = ((table, row) for table in tables for row in rows[table])
            files.write_bytes(
                path, b"".join(json.dumps(row, separators=(",", ":")).encode() + b"\n" for row in said)
            )
    return Exported([*done.files, *rest], [*done.left_out, *(Fault("", one) for one in lost)])


def _rest(connection: Connection, every: Sequence[sound.Row]) -> tuple[dict[str, list[sound.Row]], list[str]]:
    """The sound rows of all tables but the records, as they can be without those that are not; and what is lost, a
    line each."""
    lost: list[str] = []
    found = sound.none_yet()
    for table in found:
        for _, row in copies.rows_of(connection, table):
            sound.take(table, row, found, lost)
    held = {str(row["id"]) for row in every}
    made = sound.together(found, held, lost)
    # A job whose row is damaged has no file: restore must find that it is missing.
    made["job_words"] = []
    made["jobs"] = [_as_it_can_be(row) for row in every]
    texts = found["job_revisions"]
    for row in made["jobs"]:
        stands = texts.get((row["id"], row["revision"]), {"text": "", "encoding": "utf-8"})
        words = jobs.words_in(row["id"], row["title"], Document(stands["text"], stands["encoding"]))
        made["job_words"].extend({"word": word, "job": row["id"]} for word in words)
    made["job_revisions"] = [
        text
        for _, own in itertools.groupby(sorted(texts.values(), key=_of_job), key=lambda text: text["job"])
        for text in sound.following(list(own))
    ]
    return made, lost


def _of_job(text: sound.Row) -> tuple[str, int]:
    return text["job"], text["revision"]


def _as_it_can_be(job: sound.Row) -> sound.Row:
    """A job's row, without what no book can hold."""
    odd = copies.misfits("jobs", job)
    nothing = {name: 0 if isinstance(schema.jobs.columns[name].type, Integer) else "" for name in odd}
    return job | nothing | {"id": str(job["id"])}


def rows_in(folder: Path) -> Iterator[copies.Row]:
    """The rows of the book that export_all wrote into a folder, each table after those that it refers to. Raises
    BadInput for a file that is missing or damaged, and for a job's text that is not what stood there."""
    rest = {name: list(_lines_in(folder / name, tables)) for name, tables in REST.items()}
    of = {table: [row for own in rest.values() for name, row in own if name == table] for table in _ALL}
    texts = {(row["job"], row["revision"]): Document(row["text"], row["encoding"]) for row in of["job_revisions"]}
    files_of = file_names(sorted(row["id"] for row in of["jobs"]))
    if lacking := [job for job, name in files_of.items() if not (folder / f"{name}.toml").exists()]:
        no_file = "has no file here, such as one that was damaged when the folder was written"
        raise BadInput([Fault(f"job {shown(job)}", no_file) for job in lacking], str(folder))
    for job in of["jobs"]:
        path = folder / f"{files_of[job['id']]}.toml"
        if texts.get((job["id"], job["revision"])) != _text_in(path):
            told = Fault("", f"is not the text that revision {job['revision']} of {shown(job['id'])} has")
            raise BadInput([told], str(path))
        log = open_log(path, damaged=True) if has_log(path) else None
        of["records"] += [
            record_rows.row_of(job["id"], seq, record) for seq, record in enumerate(log.written if log else (), 1)
        ]
    for table in copies.names(schema.HEAD):
        yield from ((table, row) for row in of.get(table, ()))


_ALL = ("records", *(table for tables in REST.values() for table in tables))


def _text_in(path: Path) -> Document:
    try:
        return texts_of_bytes(path.read_bytes())
    except (OSError, UnicodeDecodeError) as error:
        wrong = reason(error) if isinstance(error, OSError) else "not text"
        raise BadInput([Fault("", wrong)], str(path)) from None


def _lines_in(path: Path, tables: Iterable[str]) -> Iterator[copies.Row]:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise BadInput([Fault("", reason(error), "a folder that export-all wrote")], str(path)) from None
    for number, line in enumerate(raw.splitlines(), start=1):
        row = copies.row_in(line, tables)
        if row is None:
            raise BadInput([Fault(f"line {number}", "is no row of a book")], str(path))
        yield row


def file_names(names: Iterable[str]) -> dict[str, str]:
    """What the files of several jobs are called, without an ending, such that they can stand in one folder: many a
    file system takes A and a for one name."""
    made = {job: file_name(job) for job in names}
    alike = Counter(map(_folded, made.values()))
    return {job: name + (mark_of(job) if alike[_folded(name)] > 1 else "") for job, name in made.items()}


def _folded(name: str) -> str:
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _export(connection: Connection, opened: Book, names: Iterable[str], folder: Path) -> Exported:
    targets = {job: folder / f"{name}.toml" for job, name in file_names(names).items()}
    files.must_not_stand([*targets.values(), *map(log_path, targets.values())])
    try:
        files.private_folder(folder)
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was written", shown_path(folder)) from None
    made: list[Path] = []
    left_out: list[Fault] = []
    for job, path in targets.items():
        try:
            text, log = _sound(connection, opened, job)
        except BadInput as error:
            left_out += error.faults
            continue
        if log:  # before the job, which would be weighed anew without it
            files.write_bytes(log_path(path), log)
        files.write_bytes(path, text.as_bytes())
        made += [path, log_path(path)] if log else [path]
    return Exported(made, left_out)


def _sound(connection: Connection, opened: Book, job: str) -> tuple[Document, bytes]:
    """A job's text and the lines of its log. Raises BadInput where the job is not there, and where anything of
    either is damaged."""
    where = f"job {shown(job)}"
    try:
        stands = jobs.row_of(connection, job, opened)
        if odd := copies.misfits("jobs", stands):
            wrong = f"its row is damaged: {', '.join(odd)}"
            raise BadInput([Fault(where, wrong, remedy=opened.saving)])
        revision = stands["revision"]
        own = schema.job_revisions
        row = (
            connection.execute(select(own).where(own.c.job == job, own.c.revision == revision)).mappings().first()
        )
        log = record_rows.log_of(connection, job)
    except SQLAlchemyError as error:
        if connection.dialect.name != "sqlite" or not is_damage(error):  # a server's transaction is over
            raise
        raise BadInput([Fault(where, in_words(error), remedy=opened.saving)]) from None
    if row is None or not is_sealed(row):
        wrong = f"its text of revision {revision} is {'lost' if row is None else 'damaged'}"
        raise BadInput([Fault(where, wrong, remedy=opened.saving)])
    if damaged := damage.unsettled(log.records):
        raise BadInput([Fault(where, damage.told(damaged, "record", job))])
    return Document(row["text"], row["encoding"]), b"".join(one.raw + b"\n" for one in log.written)
