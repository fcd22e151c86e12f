"""What the book tells: its sentences, its tables, its data for machines."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.amounts import as_weighed
from truethrow.balance.base.errors import printable, shown
from truethrow.balance.base.parts import label
from truethrow.balance.job.about import NOTHING_SAID, About
from truethrow.balance.log.log import when
from truethrow.balance.log.place import to_paste

if TYPE_CHECKING:
    from pathlib import Path

    from truethrow.balance.book.backup import Going
    from truethrow.balance.book.check import Verified
    from truethrow.balance.book.documents import Issued
    from truethrow.balance.book.jobs import Added
    from truethrow.balance.book.listing import Found, Listed
    from truethrow.balance.book.stock import AddedStock, Loose, Move, PartHistory, Twice, Weighing

LIST_COLUMNS = ("job", "state", "due", "who", "revision", "records", "changed (UTC)", "by", "blocked by")
STOCK_COLUMNS = ("kind", "label", "big end", "small end or all", "bank", "with", "where", "since (UTC)")
NOT_LOOKED_AT = "not looked at yet"
MOST_NAMED = 8


def list_row(job: Listed, about: About = NOTHING_SAID) -> list[str]:
    state = job.state if job.is_fresh else NOT_LOOKED_AT
    blocked = printable(job.blocked) if job.is_fresh else ""
    changed = [str(job.revision), str(job.records), when(job.changed_at), printable(job.changed_by)]
    return [printable(job.id), state, about.due, printable(about.who), *changed, blocked]


def summary(jobs: Sequence[Listed]) -> str:
    """How many jobs stand where."""
    states: dict[str, int] = {}
    for job in jobs:
        state = job.state if job.is_fresh else NOT_LOOKED_AT
        states[state] = states.get(state, 0) + 1
    told = ", ".join(f"{count} {state}" for state, count in states.items())
    return f"{_counted(len(jobs), 'job')}: {told}" if jobs else "No job."


def not_looked_at(jobs: Sequence[Listed]) -> list[str]:
    """What to tell of jobs of which it is not known where they stand."""
    count = sum(not job.is_fresh for job in jobs)
    return [f"{_counted(count, 'job')} not looked at yet: ask again."] if count else []


def more(found: Found) -> list[str]:
    """What to tell where there are more jobs than are listed."""
    told = f"These are the latest {len(found.jobs)}; all of them: truethrow book list --all"
    return [told] if found.has_more else []


WOULD_GO = "The book has this, and the backup has not"


def would_go(one: Going) -> str:
    """What of a job would go with a book that is replaced."""
    what = [_counted(one.records, "record")] if one.records else []
    what += [_counted(one.texts, "text")] if one.texts else []
    return f"job {printable(one.job)}: {'all of it, ' if one.is_whole else ''}{' and '.join(what) or 'its row'}"


def added(job: Added) -> str:
    text = "new" if job.was_new else "text replaced" if job.has_new_text else "text as it was"
    records = f"{_counted(job.fresh, 'new record')} of {job.records}" if job.records else "no log"
    return f"{printable(job.id)}: {text}, revision {job.revision}; {records}"


def lacking(job: Added) -> str:
    """What to mind where a file's log is behind the book's: an old copy, or records that were taken off it."""
    are = "record is" if job.lacking == 1 else "records are"
    out = f"truethrow book export {shlex.quote(job.id)} --into FOLDER"
    return f"{job.lacking} {are} in the book and not in this file's log: the book's are kept; to have them: {out}"


def job_lines(job: Listed) -> list[str]:
    """What is to be said of one job."""
    state = f"{job.state}{f', {job.blocked}' if job.blocked else ''}" if job.is_fresh else NOT_LOOKED_AT
    by = f" by {job.changed_by}" if job.changed_by else ""
    lines = [
        f"Job {job.id}{f', {job.title}' if job.title else ''}",
        f"State: {state}",
        f"Revision {job.revision}, {when(job.changed_at)} UTC{by}; {_counted(job.records, 'record')}",
    ]
    if job.is_fresh and job.digest:
        lines.append(f"Digest {job.digest}")
    if job.records:
        lines.append(f"Log {job.head}")
    return [printable(line) for line in lines]


def document_row(document: Issued) -> list[str]:
    own = (document.kind, document.name, document.by)
    return [when(document.at), *map(printable, own), document.job_digest, document.digest[:12]]


def document_lines(documents: Sequence[Issued], job: Listed) -> list[str]:
    """What to mind about the documents that are out."""
    last = documents[-1] if documents else None
    if last and job.is_fresh and job.digest and last.job_digest != job.digest:
        return [f"The last {printable(last.kind)} document is of {last.job_digest}; the job is at {job.digest}."]
    return []


def added_stock(done: AddedStock) -> str:
    return f"{_counted(done.new, 'part')} new, {done.weighed_again} with other weights, {done.as_known} as known"


def place_of(part: Loose | Move) -> str:
    return "shelf" if part.job is None else f"{shown(part.job)}, cylinder {part.cylinder}"


def marked_twice(found: Sequence[Twice]) -> list[str]:
    """What is told of marks that another open job has, too, a line for each job."""
    lines = []
    for job in dict.fromkeys(one.job for one in found):
        own = [one for one in found if one.job == job]
        named = ", ".join(f"{one.kind} {shown(one.label)} (in its {one.cylinder})" for one in own[:MOST_NAMED])
        more = f" and {len(own) - MOST_NAMED} more" if len(own) > MOST_NAMED else ""
        where = f"truethrow book part {shlex.quote(own[0].label)}"
        lines.append(
            f"! job {shown(job)} is open and has these, too: {named}{more}; see which one has it: {where}"
        )
    return lines


def move_command(kind: str, mark: str, job: str | None = None, cylinder: int | None = None) -> str:
    """A part's move as a command, ready to paste: into a cylinder of a job, or back to the shelf."""
    into = "" if job is None else f" --job {shlex.quote(job)} --cylinder {cylinder}"
    return f"truethrow book stock move {kind} {shlex.quote(mark)}{into}"


def stock_row(part: Loose) -> list[str]:
    big = "" if part.big_end_g is None else str(as_weighed(part.big_end_g))
    weighs, marks = (big, str(as_weighed(part.other_g))), (printable(part.bank), printable(part.together))
    return [part.kind, printable(part.label), *weighs, *marks, place_of(part), when(part.since)]


def part_lines(part: PartHistory) -> list[str]:
    """All that is known of one part."""
    lines = [f"{part.kind} {part.label}" + ("" if part.is_stock else " (not in the stock)")]
    lines += [f"{when(w.at)} UTC{_by(w.by)}: {_weighed(w, part.kind)}" for w in part.weighings]
    for move in part.moves:
        to = "back to the shelf" if move.job is None else f"to job {move.job}, cylinder {move.cylinder}"
        lines.append(f"{when(move.at)} UTC{_by(move.by)}: {to}")
    lines += [f"job {one.job} has it in cylinder {one.cylinder}" for one in part.sits]
    return [printable(line) for line in lines]


def verified(found: Verified) -> str:
    rows = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in found.rows.items())
    return f"Gone through: {rows or 'nothing'}."


def verdict(found: Verified, saving: str) -> str:
    """What to do about it. saving: what can be done about a damaged book."""
    if found.faults:
        return f"DAMAGED: {saving}."
    if found.held:
        return "HELD: nobody works on these jobs before somebody says what became of it: truethrow damaged JOB"
    return "Sound."


SALVAGED_OUT = (
    "save what can be read first: truethrow book salvage sound.db; then say what became of the damaged records"
    " (truethrow damaged JOB) and write that book out"
)


def saved_from(backup: Path) -> str:
    """What can be done about a damaged backup."""
    return f"save what is sound of it: truethrow book salvage sound.db --from {to_paste(backup)}"


def _weighed(weighing: Weighing, kind: str) -> str:
    if weighing.big_end_g is None:
        return f"{label(kind)} {as_weighed(weighing.other_g)}"
    return f"big end {as_weighed(weighing.big_end_g)}, small end {as_weighed(weighing.other_g)}"


def _by(by: str) -> str:
    return f" by {by}" if by else ""


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
