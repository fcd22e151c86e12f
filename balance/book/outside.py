"""The book as plain files: jobs as they came, each with its log beside it, and all the rest as lines."""

from __future__ import annotations

import json
import unicodedata
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import Connection, select

from truethrow.balance.base import files
from truethrow.balance.base.beside import log_path
from truethrow.balance.base.errors import BadInput, Fault, NotSaved, reason, shown, shown_path
from truethrow.balance.book import copies, jobs, record_rows, schema
from truethrow.balance.book.opened import Book
from truethrow.balance.log import damage
from truethrow.balance.log.place import file_name, mark_of

# What is no file of a job: file name → tables.
REST = {
    "revisions.jsonl": ("job_revisions",),
    "documents.jsonl": ("documents", "contents"),
    "profiles.jsonl": ("profiles",),
    "stock.jsonl": ("stock", "stock_readings", "stock_moves"),
}


def export(opened: Book, job: str, folder: Path) -> list[Path]:
    """Write a job into a folder, its log beside it, as they stand; the files made. Raises NotSaved where one
    stands there already, or cannot be written; BadInput for a job that is not there."""
    with opened.reading() as connection:
        return _export(connection, opened, [job], folder)


def export_all(opened: Book, folder: Path) -> list[Path]:
    """Write everything into a folder, as at one moment: what export does for each job, all the texts that jobs had
    before, the documents issued, and the stock. Raises NotSaved."""
    rest = {folder / name: tables for name, tables in REST.items()}
    files.must_not_stand(rest)
    with opened.reading() as connection:
        names = sorted(connection.scalars(select(schema.jobs.c.id)))
        made = _export(connection, opened, names, folder)
        for path, tables in rest.items():
            rows = (row for table in tables for row in copies.rows_of(connection, table))
            files.write_bytes(
                path, b"".join(json.dumps(row, separators=(",", ":")).encode() + b"\n" for row in rows)
            )
    return [*made, *rest]


def file_names(names: Iterable[str]) -> dict[str, str]:
    """What the files of several jobs are called, without an ending, such that they can stand in one folder: many a
    file system takes A and a for one name."""
    made = {job: file_name(job) for job in names}
    alike = Counter(map(_folded, made.values()))
    return {job: name + (mark_of(job) if alike[_folded(name)] > 1 else "") for job, name in made.items()}


def _folded(name: str) -> str:
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _export(connection: Connection, opened: Book, names: Iterable[str], folder: Path) -> list[Path]:
    targets = {job: folder / f"{name}.toml" for job, name in file_names(names).items()}
    files.must_not_stand([*targets.values(), *map(log_path, targets.values())])
    try:
        files.private_folder(folder)
    except OSError as error:
        raise NotSaved(f"{reason(error)}; nothing was written", shown_path(folder)) from None
    made = []
    for job, path in targets.items():
        row = jobs.row_of(connection, job, opened)
        log = record_rows.log_of(connection, job)
        if damaged := damage.unsettled(log.records):
            raise BadInput([Fault(f"job {shown(job)}", damage.told(damaged, "record", job))], str(opened.address))
        if log.written:  # before the job, which would be weighed anew without it
            files.write_bytes(log_path(path), b"".join(one.raw + b"\n" for one in log.written))
        files.write_bytes(path, jobs.document_in(connection, job, row["revision"]).as_bytes())
        made += [path, log_path(path)] if log.written else [path]
    return made
