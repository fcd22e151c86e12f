"""The shop's book: all its jobs in one place, in and out."""

from __future__ import annotations

import os
import shlex
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.cli import show
from truethrow.cli.book import keeping, profile_commands, stock_commands
from truethrow.cli.book.shared import By, Url, opened
from truethrow.cli.common import Json
from truethrow.cli.dry_run import can_be_dry
from truethrow.cli.plain_help import Program

if TYPE_CHECKING:
    from truethrow.balance.book.listing import Damage, Found

app = Program(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="""The book of all jobs: records, documents, loose parts.

    \b
    truethrow book add *.toml     take jobs in, with the logs beside them
    truethrow book list           how far each job is, and what blocks it
    truethrow weigh launch-7      every command takes an id instead of a file
    truethrow book export launch-7 --into out     and out again, as it came

    It is made by itself in your data folder. For several stations, one on PostgreSQL: set TRUETHROW_BOOK to
    postgresql://user@host/database (never with the password in it; PGPASSWORD or a password file has that).""",
)
JobId = Annotated[str, typer.Argument(metavar="ID", help="Id of a job in the book.")]


@app.command()
def where(book: Url = None) -> None:
    """Show which book is meant."""
    from truethrow.balance.book.address import address  # noqa: PLC0415

    show.Screen().line(address(book).place)


@app.command()
@can_be_dry
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
    from truethrow.balance.book import jobs, stock  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    faults: list[Fault] = []
    found: dict[str, jobs.FromFile] = {}
    for path in files:
        try:
            job = jobs.from_file(path)
        except BadInput as error:
            faults += [replace(fault, source=fault.source or error.source) for fault in error.faults]
            continue
        if job.id in found:
            told = f"{shown(job.id)!r} is also the id of {shown_path(found[job.id].path)}"
            faults.append(Fault("job, id", told, "one file a job", str(path)))
        found[job.id] = job
    if revision is not None and len(files) > 1:
        faults.append(Fault("--revision", "is for one job", "one file"))
    if faults:
        raise BadInput(faults)
    held, out = opened(book, create=True), show.Screen()
    for job in found.values():
        done = jobs.add(held, job, by, revision)
        out.line(words.added(done))
        if done.lacking:
            out.line(f"! {words.lacking(done)}")
        for note in done.notes:
            out.line(f"! {shown_path(job.path)}, its log: {note}")
        for line in words.marked_twice(stock.marked_twice(held, job.id)):
            out.line(line)
    ids, in_book = [*found], "" if book is None else f" --book {shlex.quote(book)}"
    way = f"next {shlex.quote(ids[0])}" if len(ids) == 1 and not in_book else f"book list{in_book}"
    out.line(f"Next: truethrow {way}", strong=True)


def _tell_damage(damage: Damage) -> None:
    from truethrow.balance.log.damage import told  # noqa: PLC0415

    for job, lines in damage.lines.items():
        sys.stderr.write(f"job {shown(job)}: {told(lines, 'record', job)}\n")


def _table(found: Found, state: str | None, json: bool, url: str | None) -> None:
    from truethrow.balance.book.listing import (  # noqa: PLC0415
        FINISHED,
        Damage,
        about_in,
        damage_in,
        wanted_first,
        with_damage,
    )
    from truethrow.balance.job.about import NOTHING_SAID  # noqa: PLC0415
    from truethrow.worksheets.data import book_data  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    every = found.jobs
    wanted = [job for job in every if state is None or (job.is_fresh and job.state == state)] or every
    damage = damage_in(opened(url), wanted_first(every, wanted)) if every else Damage({})
    every = [with_damage(job, damage) for job in every]
    listed = [job for job in every if state is None or (job.is_fresh and job.state == state)]
    unread = [job for job in wanted if job.id in damage.unread and job.state not in FINISHED]
    _tell_damage(damage)
    if unread:
        told = f"not looked through for damage, of the jobs that work goes on in: {len(unread)}"
        sys.stderr.write(f"{told}; run: truethrow book verify\n")
    about = about_in(opened(url), [job.id for job in listed]) if listed else {}
    beside = [*words.not_looked_at(every), *words.more(found)]
    if json:
        damaged = {job: [line.number for line in lines] for job, lines in damage.lines.items()}
        rows = [
            book_data.listed_as_data(job, about.get(job.id, NOTHING_SAID)) | {"damaged": damaged.get(job.id, [])}
            for job in listed
        ]
        show.as_json({"jobs": rows})
        # What was left out is no row: a machine is told beside them.
        sys.stderr.write("".join(f"{line}\n" for line in beside))
        raise typer.Exit(show.OUTSIDE if damage.lines else show.FINE)
    out = show.Screen()
    if listed:
        columns = words.LIST_COLUMNS
        text = [column for column in columns if column not in ("revision", "records")]
        out.table(columns, [words.list_row(job, about.get(job.id, NOTHING_SAID)) for job in listed], words=text)
    out.line(words.summary(listed))
    for line in beside:
        out.line(line)
    raise typer.Exit(show.OUTSIDE if damage.lines else show.FINE)


State = Annotated[str | None, typer.Option("--state", metavar="STATE", help="Only jobs that are so far.")]


@app.command("list")
def list_jobs(
    state: State = None,
    everything: Annotated[bool, typer.Option("--all", help="All jobs, by id; else the latest 50.")] = False,
    json: Json = False,
    book: Url = None,
) -> None:
    """List the latest jobs: how far each is, and what blocks it.

    With --state all jobs are gone through.

    \b
    truethrow book list
    truethrow book list --state trimming
    """
    _table(_found(book, state, [], everything or state is not None), state, json, book)


@app.command()
def find(
    words: Annotated[
        list[str], typer.Argument(metavar="WORD ...", help="In id or title, or what blocks the job.")
    ],
    state: State = None,
    json: Json = False,
    book: Url = None,
) -> None:
    """Find jobs by words, the latest first.

    By how a word of id or title begins, or by any part of what blocks the job, where a list has shown that.

    \b
    truethrow book find launch piston
    """
    _table(_found(book, state, words), state, json, book)


def _found(url: str | None, state: str | None, words: list[str], everything: bool = False) -> Found:
    """The jobs asked for; none where the user's own book was not made yet. One that was named has to be there."""
    from truethrow.balance.book.address import VARIABLE, address  # noqa: PLC0415
    from truethrow.balance.book.listing import Found, every_job, latest  # noqa: PLC0415
    from truethrow.balance.book.schema import STATES  # noqa: PLC0415

    if state is not None and state not in STATES:
        raise BadInput([Fault("--state", f"{shown(state)!r} is not known", ", ".join(STATES))])
    own = address(url).file if url is None and not os.environ.get(VARIABLE) else None
    if own and not own.exists():
        return Found([])
    held = opened(url)
    return Found(every_job(held)) if everything else latest(held, words)


@app.command("show")
def show_job(job: JobId, json: Json = False, book: Url = None) -> None:
    """Show one job: how far it is, and what blocks it.

    With what was issued of it; truethrow history tells its records.
    """
    from truethrow.balance.book.documents import issued  # noqa: PLC0415
    from truethrow.balance.book.listing import about_in, damage_in, job_of, with_damage  # noqa: PLC0415
    from truethrow.balance.job.about import NOTHING_SAID  # noqa: PLC0415
    from truethrow.worksheets.data import book_data  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    held = opened(book)
    damage = damage_in(held, [job])
    found, documents = with_damage(job_of(held, job), damage), issued(held, job)
    status = show.OUTSIDE if damage.lines else show.FINE
    _tell_damage(damage)
    if json:
        damaged = [line.number for lines in damage.lines.values() for line in lines]
        also = {"damaged": damaged, "documents": [one._asdict() for one in documents]}
        show.as_json(book_data.listed_as_data(found, about_in(held, [job]).get(job, NOTHING_SAID)) | also)
        raise typer.Exit(status)
    out = show.Screen()
    for line in words.job_lines(found):
        out.line(line)
    if documents:
        out.heading("Documents issued")
        columns = ["", "at (UTC)", "kind", "file", "by", "of job", "sha-256"]
        out.table(
            columns,
            [[str(number), *words.document_row(one)] for number, one in enumerate(documents, start=1)],
            words=columns,
        )
    for line in words.document_lines(documents, found):
        out.line(f"! {line}")
    raise typer.Exit(status)


@app.command("issued")
def issued_again(
    job: JobId,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="Of the document; book show tells it.")],
    into: Annotated[Path, typer.Option("--into", metavar="FILE", help="A file that is not there yet.")],
    book: Url = None,
) -> None:
    """Write an issued document again, as it was then.

    \b
    truethrow book issued launch-7 3 --into sheet-of-march.csv
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.book.documents import written  # noqa: PLC0415

    one, raw = written(opened(book), job, number)
    files.must_not_stand([into])
    files.write_bytes(into, raw)
    when = one.at[:16].replace("T", " ")
    show.Screen().line(f"Written: {shown_path(into)}: the {one.kind} of {when} UTC, as it was issued.")


@app.command()
def export(
    job: JobId,
    into: Annotated[Path, typer.Option("--into", metavar="FOLDER", help="Where to; made if it is not there.")],
    book: Url = None,
) -> None:
    """Write a job out as it came, its log beside it."""
    from truethrow.balance.book import outside  # noqa: PLC0415

    out, written = show.Screen(), outside.export(opened(book), job, into)
    for path in written:
        out.line(f"Written: {shown_path(path)}")
    out.line(f"Next: truethrow next {shlex.quote(str(written[0]))}", strong=True)


@app.command("export-all")
def export_all(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to; made if it is not there.")],
    book: Url = None,
) -> None:
    """Write everything out as plain files.

    restore takes the folder back. A damaged job is left out: status 1.

    \b
    truethrow book export-all out
    truethrow book restore out --book sqlite:///another.db
    """
    from truethrow.balance.book import outside  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    out = show.Screen()
    done = outside.export_all(opened(book), folder)
    out.line(f"Written: {len(done.files)} files in {shown_path(folder)}")
    if done.left_out:
        for fault in done.left_out:
            out.line(f"! left out: {fault}")
        out.line(f"DAMAGED: this folder is not the whole book; {words.SALVAGED_OUT}")
        raise typer.Exit(show.OUTSIDE)


@app.command()
@can_be_dry
def put(
    job: JobId,
    file: Annotated[Path, typer.Argument(metavar="JOB.toml", help="The job's new text.")],
    revision: Annotated[int, typer.Option("--revision", metavar="N", help="The one that was edited.")],
    by: By = "",
    book: Url = None,
) -> None:
    """Put an edited text in the place of a job's.

    Its log is left alone.

    Where the job is at another revision by now, nothing is written, and what changed is told.

    \b
    truethrow book export launch-7 --into out       edit out/launch-7.toml, then
    truethrow book put launch-7 out/launch-7.toml --revision 3
    """
    from truethrow.balance.book import jobs, stock  # noqa: PLC0415
    from truethrow.worksheets.words import book_words as words  # noqa: PLC0415

    held, out = opened(book), show.Screen()
    number = jobs.put(held, job, file, revision, by)
    out.line(f"Job {shown(job)} is at revision {number}.")
    for line in words.marked_twice(stock.marked_twice(held, job)):
        out.line(line)


for command in (
    keeping.backup,
    keeping.verify,
    keeping.restore,
    keeping.salvage,
    keeping.roles,
    stock_commands.part,
):
    app.command()(command)
app.add_typer(stock_commands.app, name="stock")
app.add_typer(profile_commands.app, name="profile")
