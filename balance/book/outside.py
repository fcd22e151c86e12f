"""The book as plain files: jobs as they came, each with its log beside it, and all the rest as lines."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import Connection, select

from truethrow.balance import files
from truethrow.balance.beside import log_path
from truethrow.balance.book import copies, jobs, records, schema
from truethrow.balance.book.open import Book
from truethrow.balance.errors import NotSaved, reason, shown_path
from truethrow.balance.readinglog import line

# What is no file of a job: file name → tables.
REST = {
    "revisions.jsonl": ("job_revisions",),
    "documents.jsonl": ("documents",),
    "stock.jsonl": ("stock", "stock_readings", "stock_moves"),
}


def file_name(job: str) -> str:
    """What a job's file is called outside of the book, without an ending: no two ids have the same."""
    safe = "".join(c if c.isalnum() or c in " ._-+()=" else f"%{ord(c):02x}" for c in job)
    return safe if safe.strip(". ") == safe else "".join(f"%{ord(c):02x}" if c in ". " else c for c in safe)


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
        lines: dict[Path, list[bytes]] = {path: [] for path in rest}
        for table, row in copies.rows(connection, schema.HEAD):
            for path, tables in rest.items():
                if table in tables:
                    lines[path].append(json.dumps([table, row], separators=(",", ":")).encode("ascii") + b"\n")
    for path, own in lines.items():
        write_bytes(path, b"".join(own))
    return [*made, *rest]


def _export(connection: Connection, opened: Book, names: Iterable[str], folder: Path) -> list[Path]:
    targets = {job: folder / f"{file_name(job)}.toml" for job in names}
    files.must_not_stand([*targets.values(), *map(log_path, targets.values())])
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotSaved(f"{shown_path(folder)}: {reason(error)}; nothing was written") from None
    made = []
    for job, path in targets.items():
        row = jobs.row_of(connection, job, opened)
        found = records.all_of(connection, job)
        if found:  # before the job, which would be weighed anew without it
            write_bytes(log_path(path), b"".join(map(line, found)))
        write_bytes(path, jobs.document_in(connection, job, row["revision"]).as_bytes())
        made += [path, log_path(path)] if found else [path]
    return made


def write_bytes(path: Path, raw: bytes) -> None:
    """Write a whole file or nothing. Raises NotSaved."""
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:32]}.")
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(temporary).chmod(0o666 & ~mask)
        Path(temporary).replace(path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise NotSaved(f"{shown_path(path)}: {reason(error)}; it was not written") from None
