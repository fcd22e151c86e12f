"""The shop's book looked after: backups, what is damaged and what can be saved of it, and who may do what."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import to_paste
from truethrow.cli import show
from truethrow.cli.book.shared import Url, opened
from truethrow.cli.common import Json, lives_on

if TYPE_CHECKING:
    from truethrow.balance.book.backup import Going

New = Annotated[Path, typer.Argument(metavar="FILE", help="A file that is not there yet.")]
MOST_LOST = 50


def backup(file: New, book: Url = None) -> None:
    """Copy the whole book to one file, while others use it.

    restore puts it back, into a book of either kind. A damaged book is copied too: status 1 and a line for each
    row of it that is bad.
    """
    from truethrow.balance.book import backup as copying  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    lives_on()
    found = copying.backup(opened(book), file)
    out = show.Screen()
    if not found.faults and not found.held:
        out.line(f"Written: {shown_path(file)}, looked through and sound.")
        return
    out.line(f"Written: {shown_path(file)}, copied as it is, but not all of the book is sound:")
    for fault in (*found.faults, *found.held):
        out.line(f"! {fault}")
    out.line(words.verdict(found, words.saved_from(file)))
    raise typer.Exit(show.OUTSIDE)


def verify(json: Json = False, book: Url = None) -> None:
    """Check the whole book for damage.

    Status 1 and a line each where something is damaged.
    """
    from truethrow.balance.book import check, states  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    held = opened(book)
    lives_on()
    found = check.verify(held)
    states.forget(held.generation)  # and the next list works all of them out again
    if json:
        show.as_json({"rows": found.rows, "faults": list(found.faults), "held": list(found.held)})
    else:
        out = show.Screen()
        out.line(words.verified(found))
        for fault in (*found.faults, *found.held):
            out.line(f"! {fault}")
        out.line(words.verdict(found, held.saving))
    raise typer.Exit(show.OUTSIDE if found.faults or found.held else show.FINE)


def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup, or a folder of export-all.")],
    yes: Annotated[bool, typer.Option("--yes", help="Don't ask; needed where nobody can be asked.")] = False,
    book: Url = None,
) -> None:
    """Put a backup in the place of the book.

    A copy of what the book held is kept.

    What the book has and the backup has not is shown first, job by job, and it asks.

    \b
    truethrow book restore launch-book.json
    """
    from truethrow.balance.book import backup as copying  # noqa: PLC0415
    from truethrow.balance.book.address import address  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    target = address(book)
    lives_on()
    out = show.Screen()

    def may_go(goes: Sequence[Going]) -> None:
        out.heading(words.WOULD_GO)
        for one in goes:
            out.line(f"- {words.would_go(one)}")
        _ask(file, book, str(target), yes=yes)

    done = copying.restore(target, file, may_go)
    out.line(f"Put back into {target}: {done.jobs} jobs, {done.records} records.")
    if done.kept:
        out.line(f"What the book held before is in {shown_path(done.kept)}.")


def _ask(file: Path, book: str | None, target: str, *, yes: bool) -> None:
    """Ask whether what would go may go. Raises BadInput where nobody can be asked."""
    if yes:
        return
    if sys.stdin is None or sys.stdin.closed or not sys.stdin.isatty():
        where = f" --book {shlex.quote(book)}" if book else ""
        again = f"if all of that may go: truethrow book restore {to_paste(file)} --yes{where}"
        if "@" in where:  # a user's name, which is not shown
            again = "if all of that may go: the same command with --yes"
        raise BadInput([Fault("", "nothing is put back yet", remedy=again)], target)
    sys.stdout.flush()
    if not typer.confirm("Put the backup in its place? A copy of the book is kept.", default=False):
        typer.echo("Nothing is put back.")
        raise typer.Exit(show.OUTSIDE)


def salvage(
    file: New,
    backup_file: Annotated[
        Path | None, typer.Option("--from", metavar="BACKUP", help="Save what is sound of this backup instead.")
    ] = None,
    book: Url = None,
) -> None:
    """Save what can be read of a damaged book or backup.

    Into a new book, which is then used by --book or restore.

    One bad row never takes another with it. Status 1 where something is known to be lost.

    \b
    truethrow book salvage sound.db
    truethrow book salvage sound.db --from launch-book.json
    """
    from truethrow.balance.book import salvage as saving  # noqa: PLC0415
    from truethrow.balance.book.address import address  # noqa: PLC0415

    target = address(book)
    lives_on()
    if backup_file is not None:
        done = saving.salvage_backup(backup_file, file)
    elif target.file is None:
        done = saving.salvage_served(opened(book), file)
    else:
        done = saving.salvage(target.file, file)
    out = show.Screen()
    out.line(f"Saved to {shown_path(file)}: {done.jobs} jobs, {done.records} records, {done.others} other rows.")
    for line in done.lost[:MOST_LOST]:
        out.line(f"! lost: {line}")
    if len(done.lost) > MOST_LOST:
        out.line(f"… and {len(done.lost) - MOST_LOST} more.")
    for path in done.beside:
        out.line(f"! a log without its job: {shown_path(path)}")
    raise typer.Exit(show.OUTSIDE if done.lost else show.FINE)


def roles(book: Url = None) -> None:
    """Make the three roles of a book on PostgreSQL.

    truethrow_viewer, truethrow_bench and truethrow_builder.

    They have no password and no login: GRANT truethrow_bench TO a user makes him one. Done by the book's owner.
    """
    from truethrow.balance.book import roles as groups  # noqa: PLC0415

    show.Screen().line(f"Made: {', '.join(groups.make(opened(book)))}.")
