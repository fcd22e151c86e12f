"""The shop's book: all its jobs in one place, in and out, looked after; and the stock of loose parts."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.errors import BadInput, Fault, shown, shown_path
from truethrow.cli import show
from truethrow.cli.common import Json, check_by, lives_on

if TYPE_CHECKING:
    from truethrow.balance.book.listing import Damage, Listed
    from truethrow.balance.book.open import Book

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="""The job book: every job of the shop, its records, its documents, and the stock.

    \b
    truethrow book add *.toml                   take jobs in, with the logs beside them
    truethrow book list                         where each job stands, and what blocks it
    truethrow weigh launch-7                    every command takes a job's id instead of its file
    truethrow book export launch-7 --into out   and out again, as it came

    It is made by itself in your data folder. For several stations, one on PostgreSQL: set TRUETHROW_BOOK to
    postgresql://user@host/database (never with the password in it; PGPASSWORD or a password file has that).""",
)
stock = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Loose parts: weights, and where they are.")
app.add_typer(stock, name="stock")

Url = Annotated[
    str | None, typer.Option("--book", metavar="URL", help="The book; else TRUETHROW_BOOK, else your own.")
]
By = Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who does it.")]
JobId = Annotated[str, typer.Argument(metavar="ID", help="Id of a job in the book.")]
New = Annotated[Path, typer.Argument(metavar="FILE", help="A file that is not there yet.")]


MOST_LOST = 50


def _open(url: str | None, *, create: bool = False) -> Book:
    from truethrow.balance.book.open import open_book  # noqa: PLC0415

    return open_book(url, create=create)


@app.command()
def where(book: Url = None) -> None:
    """Tell which book is meant."""
    from truethrow.balance.book.address import address  # noqa: PLC0415

    show.Screen().line(str(address(book)))


@app.command()
def add(
    files: Annotated[
        list[Path], typer.Argument(metavar="JOB.toml ...", help="Job files; logs beside them go along.")
    ],
    revision: Annotated[
        int | None, typer.Option("--revision", metavar="N", help="The revision that another text replaces.")
    ] = None,
    by: By = "",
    book: Url = None,
) -> None:
    """Take jobs into the book, or what is new of them.

    Text and records are kept to the byte. A log that has grown is merged by its records' ids. Another text of a
    job that is there is refused unless --revision names the one it replaces.

    \b
    truethrow book add launch.toml pump.toml --by AB
    """
    from truethrow.balance.book import jobs  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    check_by(by)
    faults: list[Fault] = []
    found: dict[str, jobs.FromFile] = {}
    for path in files:
        try:
            job = jobs.from_file(path)
        except BadInput as error:
            faults += [Fault(f.where, f.found, f.allowed, f.source or error.source) for f in error.faults]
            continue
        if job.id in found:
            told = f"{shown(job.id)!r} is also the id of {shown_path(found[job.id].path)}"
            faults.append(Fault("job, id", told, "one file a job", str(path)))
        found[job.id] = job
    if revision is not None and len(files) > 1:
        faults.append(Fault("--revision", "stands for one job", "one file"))
    if faults:
        raise BadInput(faults)
    opened, out = _open(book, create=True), show.Screen()
    for job in found.values():
        done = jobs.add(opened, job, by, revision)
        out.line(words.added(done))
        for note in done.notes:
            out.line(f"! {shown_path(job.path)}, its log: {note}")


def _tell_damage(damage: Damage) -> None:
    from truethrow.balance.damage import told  # noqa: PLC0415

    for job, lines in damage.lines.items():
        sys.stderr.write(f"job {shown(job)}: {told(lines, 'record', job)}\n")
    if damage.unread:
        sys.stderr.write(f"not looked through for damage: {damage.unread} jobs; run: truethrow book verify\n")


def _table(every: list[Listed], state: str | None, asked: list[str], json: bool, url: str | None) -> None:
    from truethrow.balance.book.listing import Damage, chosen, damage_in, with_damage  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    damage = damage_in(_open(url), [job.id for job in every]) if every else Damage({})
    found = chosen([with_damage(job, damage) for job in every], state, asked)
    _tell_damage(damage)
    if json:
        damaged = {job: [int(line.of) for line in lines] for job, lines in damage.lines.items()}
        show.as_json([words.listed_as_data(job) | {"damaged": damaged.get(job.id, [])} for job in found])
        # What a filter may have left out is no row: a machine is told beside them.
        sys.stderr.write("".join(f"{line}\n" for line in words.not_looked_at(every)))
        raise typer.Exit(show.OUTSIDE if damage.lines else show.FINE)
    out = show.Screen()
    if found:
        columns = words.LIST_COLUMNS
        text = [column for column in columns if column not in ("revision", "records")]
        out.table(columns, [words.list_row(job) for job in found], words=text)
    out.line(words.summary(found))
    for line in words.not_looked_at(every):
        out.line(line)
    raise typer.Exit(show.OUTSIDE if damage.lines else show.FINE)


State = Annotated[str | None, typer.Option("--state", metavar="STATE", help="Only jobs that stand there.")]


@app.command("list")
def list_jobs(state: State = None, json: Json = False, book: Url = None) -> None:
    """List the jobs: where each stands, and what blocks it.

    \b
    truethrow book list --state trimming
    """
    _table(_every(book, state), state, [], json, book)


@app.command()
def find(
    words: Annotated[list[str], typer.Argument(metavar="WORD ...", help="In id, title or what blocks the job.")],
    state: State = None,
    json: Json = False,
    book: Url = None,
) -> None:
    """Find jobs by words.

    \b
    truethrow book find launch piston
    """
    _table(_every(book, state), state, words, json, book)


def _every(url: str | None, state: str | None) -> list[Listed]:
    """All jobs; none where the user's own book was not made yet. A book that was named has to be there."""
    from truethrow.balance.book.address import VARIABLE, address  # noqa: PLC0415
    from truethrow.balance.book.listing import every_job  # noqa: PLC0415
    from truethrow.balance.book.schema import STATES  # noqa: PLC0415

    if state is not None and state not in STATES:
        raise BadInput([Fault("--state", f"{shown(state)!r} is not known", ", ".join(STATES))])
    own = address(url).file if url is None and not os.environ.get(VARIABLE) else None
    return [] if own and not own.exists() else every_job(_open(url))


@app.command("show")
def show_job(job: JobId, json: Json = False, book: Url = None) -> None:
    """Tell one job: where it stands, what blocks it, and what was issued of it.

    truethrow history tells its records.
    """
    from truethrow.balance.book.documents import issued  # noqa: PLC0415
    from truethrow.balance.book.listing import damage_in, job_of, with_damage  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    opened = _open(book)
    damage = damage_in(opened, [job])
    found, documents = with_damage(job_of(opened, job), damage), issued(opened, job)
    status = show.OUTSIDE if damage.lines else show.FINE
    _tell_damage(damage)
    if json:
        damaged = [int(line.of) for lines in damage.lines.values() for line in lines]
        also = {"damaged": damaged, "documents": [one._asdict() for one in documents]}
        show.as_json(words.listed_as_data(found) | also)
        raise typer.Exit(status)
    out = show.Screen()
    for line in words.job_lines(found):
        out.line(line)
    if documents:
        out.heading("Documents issued")
        columns = ["at (UTC)", "kind", "file", "by", "of job", "sha-256"]
        out.table(columns, [words.document_row(one) for one in documents], words=columns)
    for line in words.document_lines(documents, found):
        out.line(f"! {line}")
    raise typer.Exit(status)


@app.command()
def export(
    job: JobId,
    into: Annotated[Path, typer.Option("--into", metavar="FOLDER", help="Where to; made if it is not there.")],
    book: Url = None,
) -> None:
    """Write a job out as it came: its file to the byte, and its log beside it."""
    from truethrow.balance.book import outside  # noqa: PLC0415

    for path in outside.export(_open(book), job, into):
        show.Screen().line(f"Written: {shown_path(path)}")


@app.command("export-all")
def export_all(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to; made if it is not there.")],
    book: Url = None,
) -> None:
    """Write everything out as plain files."""
    from truethrow.balance.book import outside  # noqa: PLC0415

    made = outside.export_all(_open(book), folder)
    show.Screen().line(f"Written: {len(made)} files in {shown_path(folder)}")


@app.command()
def put(
    job: JobId,
    file: Annotated[Path, typer.Argument(metavar="JOB.toml", help="The job's new text.")],
    revision: Annotated[int, typer.Option("--revision", metavar="N", help="The one that was edited.")],
    by: By = "",
    book: Url = None,
) -> None:
    """Put an edited text in the place of a job's. Its log is left alone.

    Where the job is at another revision by now, nothing is written, and what changed is told.

    \b
    truethrow book export launch-7 --into out       edit out/launch-7.toml, then
    truethrow book put launch-7 out/launch-7.toml --revision 3
    """
    from truethrow.balance.book import jobs  # noqa: PLC0415

    check_by(by)
    number = jobs.put(_open(book), job, file, revision, by)
    show.Screen().line(f"Job {shown(job)} is at revision {number}.")


@app.command()
def backup(file: New, book: Url = None) -> None:
    """Copy the whole book to one file, while others use it.

    restore puts it back, into a book of either kind.
    """
    from truethrow.balance.book import backup as copying  # noqa: PLC0415

    lives_on()
    copying.backup(_open(book), file)
    show.Screen().line(f"Written: {shown_path(file)}, looked through and sound.")


@app.command()
def verify(json: Json = False, book: Url = None) -> None:
    """Go through the whole book: status 1 and a line each where something is damaged."""
    from truethrow.balance.book import check  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    opened = _open(book)
    lives_on()
    found = check.verify(opened)
    if json:
        show.as_json({"rows": found.rows, "faults": list(found.faults)})
    else:
        out = show.Screen()
        out.line(words.verified(found))
        for fault in found.faults:
            out.line(f"! {fault}")
        out.line(f"DAMAGED: {opened.saving}." if found.faults else "Sound.")
    raise typer.Exit(show.OUTSIDE if found.faults else show.FINE)


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup.")],
    book: Url = None,
) -> None:
    """Put a backup in the place of the book. A copy of what the book held is kept."""
    from truethrow.balance.book import backup as copying  # noqa: PLC0415
    from truethrow.balance.book.address import address  # noqa: PLC0415

    target = address(book)
    lives_on()
    done = copying.restore(target, file)
    out = show.Screen()
    out.line(f"Put back into {target}: {done.jobs} jobs, {done.records} records.")
    if done.kept:
        out.line(f"What the book held before is in {shown_path(done.kept)}.")


@app.command()
def salvage(file: New, book: Url = None) -> None:
    """Save what can be read of a damaged embedded book into a new one, which is then used by --book or restore.

    Status 1 where something is known to be lost.
    """
    from truethrow.balance.book import salvage as saving  # noqa: PLC0415
    from truethrow.balance.book.address import address  # noqa: PLC0415

    target = address(book)
    if target.file is None:
        found = "a book on a server cannot be read page by page"
        raise BadInput([Fault("--book", found, "an embedded book; restore a server's from its backup")])
    lives_on()
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


@app.command()
def roles(book: Url = None) -> None:
    """Make the three roles of a book on PostgreSQL: truethrow_viewer, truethrow_bench, truethrow_builder.

    They have no password and no login: GRANT truethrow_bench TO a user makes him one. Done by the book's owner.
    """
    from truethrow.balance.book import roles as groups  # noqa: PLC0415

    show.Screen().line(f"Made: {', '.join(groups.make(_open(book)))}.")


@stock.command("add")
def stock_add(
    files: Annotated[
        list[Path], typer.Argument(metavar="SHELF.csv ...", help="Files of loose parts, one kind each.")
    ],
    by: By = "",
    book: Url = None,
) -> None:
    """Put loose parts into the stock, or what they weigh now.

    \b
    truethrow book stock add shelf-rods.csv shelf-pistons.csv
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    check_by(by)
    show.Screen().line(words.added_stock(parts.add(_open(book, create=True), files, by)))


@stock.command("find")
def stock_find(
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="rod, piston, pin or rings.")] = None,
    big_end: Annotated[str | None, typer.Option("--big-end", metavar="G..G", help="Of rods, in g.")] = None,
    small_end: Annotated[str | None, typer.Option("--small-end", metavar="G..G", help="Of rods, in g.")] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="G..G", help="Of other parts, in g.")] = None,
    everywhere: Annotated[bool, typer.Option("--everywhere", help="Also parts that are in a job.")] = False,
    json: Json = False,
    book: Url = None,
) -> None:
    """Find loose parts by what they weigh.

    \b
    truethrow book stock find --kind rod --big-end 450..452
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    asked = {"big_end": big_end, "small_end": small_end, "mass": mass}
    windows = {
        name: parts.window(typed, f"--{name.replace('_', '-')}")
        for name, typed in asked.items()
        if typed is not None
    }
    found = parts.find_parts(_open(book), kind, windows, everywhere=everywhere)
    if json:
        show.as_json([words.stock_as_data(part) for part in found])
        return
    out = show.Screen()
    if found:
        left = ("label", "bank", "with", "where", "since (UTC)")
        out.table(words.STOCK_COLUMNS, [words.stock_row(part) for part in found], words=left)
    out.line(f"{len(found)} found." if found else "None found.")


@stock.command("move")
def stock_move(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="rod, piston, pin or rings.")],
    label: Annotated[str, typer.Argument(metavar="LABEL", help="The mark on the part.")],
    job: Annotated[
        str | None, typer.Option("--job", metavar="ID", help="Into this job; back to the shelf without.")
    ] = None,
    cylinder: Annotated[
        int | None, typer.Option("--cylinder", metavar="N", help="Into this cylinder of it.")
    ] = None,
    by: By = "",
    book: Url = None,
) -> None:
    """Keep where a part went: into a cylinder of a job, or back to the shelf.

    \b
    truethrow book stock move rod R07 --job launch-7 --cylinder 3 --by AB
    truethrow book stock move rod R07
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    check_by(by)
    if job is None and cylinder is not None:
        raise BadInput([Fault("--cylinder", "of no job", "with --job")])
    done = parts.move(_open(book), kind, label, job, cylinder, by)
    show.Screen().line(f"{kind} {shown(label)}: {words.place_of(done)}.")


@app.command()
def part(
    label: Annotated[str, typer.Argument(metavar="LABEL", help="The mark on the part.")],
    kind: Annotated[str | None, typer.Option("--kind", metavar="KIND", help="rod, piston, pin or rings.")] = None,
    json: Json = False,
    book: Url = None,
) -> None:
    """Tell the history of a part: its weights, where it went, and the jobs it sits in.

    \b
    truethrow book part R07
    """
    from truethrow.balance.book import stock as parts  # noqa: PLC0415
    from truethrow.worksheets import book as words  # noqa: PLC0415

    found = parts.history(_open(book), label, kind)
    if json:
        show.as_json([words.part_as_data(one) for one in found])
        return
    out = show.Screen()
    for one in found:
        first, *rest = words.part_lines(one)
        out.line(first, strong=True)
        for line in rest:
            out.line(f"- {line}")
