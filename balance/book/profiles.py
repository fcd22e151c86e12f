"""The profiles of the shop's stations and benches, kept in the book by name, with every text that they had.

A command that is given a name where it takes a profile's file finds it here, as it finds a job by its id. An edit
is another revision; what an edit of a station's profile was, each job that was spun by it asks by itself.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal, NamedTuple, get_args

from sqlalchemy import func, select

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.base.files import KeptText
from truethrow.balance.book import texts
from truethrow.balance.book.open import open_book
from truethrow.balance.book.opened import Book
from truethrow.balance.book.putting import put
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import profiles as table
from truethrow.balance.book.texts import Document

Kind = Literal["station", "bench"]
LONGEST_NAME = 40
_NAME = re.compile(r"[\w][\w .+-]*")


class Kept(NamedTuple):
    """One profile as it is kept now. revision: so many texts it has had."""

    kind: Kind
    name: str
    revision: int
    at: str
    by: str


def keep(opened: Book, kind: Kind, name: str, path: Path, by: str = "") -> tuple[Kept, bool]:
    """Keep a profile's file under a name; as it is kept then, and whether that is another text than before.
    Whether it makes sense as a profile is its reader's matter. Raises BadInput for a name by which no command
    could call it, and for no text; NotSaved."""
    if not _NAME.fullmatch(name) or len(name) > LONGEST_NAME or name.lower().endswith(".toml"):
        allowed = f"letters, digits, spaces and . + - within, at most {LONGEST_NAME}, not like a file's"
        raise BadInput([Fault("--name", repr(shown(name)), allowed)])
    return _keep(opened, kind, name, texts.read(path), by)


def edit(opened: Book, kind: Kind, name: str, before: str, after: str, by: str = "") -> Kept:
    """Keep an edit of a profile as its next revision. before, after: its text, with plain line ends. Raises
    BadInput where it is another one by now."""
    now_kept = document(opened, kind, name)
    if now_kept.plain != before:
        raise BadInput([Fault(f"{kind} {shown(name)}", "was changed meanwhile", remedy="do that again")])
    return _keep(opened, kind, name, now_kept.with_text(after), by)[0]


def _keep(opened: Book, kind: Kind, name: str, document: Document, by: str) -> tuple[Kept, bool]:
    with opened.writing(f"the profile {name} is as it was") as connection:
        own = select(table).where(table.c.kind == kind, table.c.name == name)
        last = connection.execute(own.order_by(table.c.revision.desc()).limit(1)).mappings().first()
        if last and (last["text"], last["encoding"]) == document:
            return Kept(*(last[one] for one in Kept._fields)), False
        made = Kept(kind, name, last["revision"] + 1 if last else 1, now(), by)
        put(connection, table, [sealed(**made._asdict(), encoding=document.encoding, text=document.text)])
    return made, True


def kept(opened: Book) -> list[Kept]:
    """All profiles as they are kept now, by kind and name."""
    with opened.reading() as connection:
        latest = select(table.c.kind, table.c.name, func.max(table.c.revision)).group_by(
            table.c.kind, table.c.name
        )
        newest = {tuple(row) for row in connection.execute(latest)}
        columns = [table.c[one] for one in Kept._fields]
        rows = connection.execute(select(*columns).order_by(table.c.kind, table.c.name, table.c.revision))
        return [Kept(*row) for row in rows if (row[0], row[1], row[2]) in newest]


def document(opened: Book, kind: Kind, name: str, revision: int | None = None) -> Document:
    """A profile's text, as it is kept now or as a revision had it. Raises BadInput where it is not there."""
    query = select(table.c.text, table.c.encoding).where(table.c.kind == kind, table.c.name == name)
    if revision is not None:
        query = query.where(table.c.revision == revision)
    with opened.reading() as connection:
        row = connection.execute(query.order_by(table.c.revision.desc()).limit(1)).first()
    if row is None:
        which = f"{kind} {shown(name)}" + (f", revision {revision}" if revision is not None else "")
        remedy = "see what is kept: truethrow book profile list"
        raise BadInput([Fault(which, "is not in the book", remedy=remedy)], str(opened.address))
    return Document(*row)


def find(kind: Kind, name: str) -> KeptText:
    """A profile of the book that the environment names, or of the user's own, as a file would be read. Raises
    BadInput without one."""
    try:
        return KeptText(name, document(open_book(create=False), kind, name).plain)
    except BadInput as error:
        fault = error.faults[0]
        told = Fault(f"{kind} {shown(name)}", f"no such file, and {fault.wrong}", remedy=fault.remedy)
        raise BadInput([told]) from None


KINDS: tuple[Kind, ...] = get_args(Kind)
