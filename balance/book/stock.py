"""Loose parts: what they weigh, where they are, and where they were.

A part is a kind and a label. Each weighing and each move is a row of its own, and the last one counts.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import (
    ColumnElement,
    Connection,
    FromClause,
    RowMapping,
    Subquery,
    Table,
    and_,
    func,
    or_,
    select,
)

from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.base.fields import Units
from truethrow.balance.book import record_rows
from truethrow.balance.book.booked import BookedJob
from truethrow.balance.book.jobs import document_in, row_of
from truethrow.balance.book.opened import Book
from truethrow.balance.book.putting import ask, is_served, put
from truethrow.balance.book.rows import now, sealed
from truethrow.balance.book.schema import job_revisions, job_words, jobs, stock, stock_moves, stock_readings
from truethrow.balance.book.schema import records as table_of_records
from truethrow.balance.book.state import JobThen
from truethrow.balance.book.texts import Document
from truethrow.balance.book.words import word_of_mark
from truethrow.balance.job import sources
from truethrow.balance.job.jobfile import load_engine, parse_toml
from truethrow.balance.job.logged import Logged, logged
from truethrow.balance.job.weighsheet import WeighSheet
from truethrow.balance.log.records import Record, Struck, Traded
from truethrow.balance.shelf.pool import POOLED, Part, read

# What of a part a window is for: the reading's name → the column.
WEIGHED = {"big_end": "big_end_g", "small_end": "other_g", "mass": "other_g"}
Window = tuple[float, float]


class Loose(NamedTuple):
    """A part as it is now. big_end_g: None but for a rod; other_g: a rod's small end, or the whole of another;
    job, cylinder: where it was moved to, None on the shelf; since: when."""

    kind: str
    label: str
    big_end_g: float | None
    other_g: float
    bank: str
    together: str
    weighed_at: str
    job: str | None
    cylinder: int | None
    since: str


class AddedStock(NamedTuple):
    """What came of a file: parts that were new, parts known that weigh something else now, and parts as known."""

    new: int
    weighed_again: int
    as_known: int


class Weighing(NamedTuple):
    at: str
    by: str
    big_end_g: float | None
    other_g: float


class Move(NamedTuple):
    at: str
    by: str
    job: str | None
    cylinder: int | None


class Sitting(NamedTuple):
    """A job in which a label sits now, by its own text and log."""

    job: str
    kind: str
    cylinder: int


class PartHistory(NamedTuple):
    """What the book knows of one part. is_stock: whether it is in the stock, too."""

    kind: str
    label: str
    is_stock: bool
    weighings: tuple[Weighing, ...]
    moves: tuple[Move, ...]
    sits: tuple[Sitting, ...]


def add(opened: Book, paths: Sequence[Path], by: str = "") -> AddedStock:
    """Put the parts of shelf files into the stock; of a part that is there, its weights if they differ. Raises
    BadInput with every fault of every file, NotSaved; then nothing was added."""
    parts: list[Part] = []
    faults: list[Fault] = []
    seen: dict[tuple[str, str], Path] = {}
    for path in paths:
        found, wrong = read(path, Units())
        faults += [replace(fault, source=str(path)) for fault in wrong]
        parts += found
        for part in found:
            if (key := (part.kind, part.label)) in seen:
                other = "" if seen[key] == path else f", also in {shown_path(seen[key])}"
                told = f"is there twice{other}"
                faults.append(Fault(f"{part.kind} {shown(part.label)}", told, "one row a part", str(path)))
            seen.setdefault(key, path)
    if faults:
        raise BadInput(faults)
    with opened.writing("no part was added") as connection:
        _lock(connection)
        known = {(part.kind, part.label): part for part in _now(connection)}
        rows = [_weighing_of(connection, part, known, by) for part in parts]
        fresh = [part for part in parts if (part.kind, part.label) not in known]
        at = now()
        if fresh:
            made = [sealed(kind=p.kind, label=p.label, added_at=at, added_by=by) for p in fresh]
            put(connection, stock, made)
        if readings := [row for row in rows if row]:
            put(connection, stock_readings, readings)
    return AddedStock(len(fresh), len(readings) - len(fresh), len(parts) - len(readings))


def _weighing_of(
    connection: Connection, part: Part, known: Mapping[tuple[str, str], Loose], by: str
) -> dict[str, object] | None:
    """The row for a part's weights; None where they are known."""
    big_g = part.big_end_g if part.kind == "rod" else None
    before = known.get((part.kind, part.label))
    if before and (before.big_end_g, before.other_g, before.bank, before.together) == (
        big_g,
        part.reciprocating_g,
        part.bank,
        part.together,
    ):
        return None
    return sealed(
        kind=part.kind,
        label=part.label,
        seq=_next(connection, stock_readings, part.kind, part.label) if before else 1,
        at=now(),
        by=by,
        big_end_g=big_g,
        other_g=part.reciprocating_g,
        bank=part.bank,
        together=part.together,
    )


def _next(connection: Connection, table: Table, kind: str, label: str) -> int:
    own = select(func.max(table.c.seq)).where(table.c.kind == kind, table.c.label == label)
    return (connection.scalar(own) or 0) + 1


def _lock(connection: Connection) -> None:
    """One lock for all that is written about parts: it is seldom, and short."""
    if is_served(connection):  # an embedded book is locked as a whole
        ask(connection, "lock_stock")


def _now(connection: Connection, kind: str | None = None, label: str | None = None) -> list[Loose]:
    """The parts as they are now."""
    last_reading = _last(stock_readings)
    last_move = _last(stock_moves)
    query = (
        select(
            stock.c.kind,
            stock.c.label,
            stock_readings.c.big_end_g,
            stock_readings.c.other_g,
            stock_readings.c.bank,
            stock_readings.c.together,
            stock_readings.c.at,
            stock_moves.c.job,
            stock_moves.c.cylinder,
            func.coalesce(stock_moves.c.at, stock.c.added_at),
        )
        .join(last_reading, _same(stock, last_reading))
        .join(stock_readings, and_(_same(stock, stock_readings), stock_readings.c.seq == last_reading.c.last))
        .outerjoin(last_move, _same(stock, last_move))
        .outerjoin(stock_moves, and_(_same(stock, stock_moves), stock_moves.c.seq == last_move.c.last))
    )
    if kind is not None:
        query = query.where(stock.c.kind == kind)
    if label is not None:
        query = query.where(stock.c.label == label)
    return [Loose._make(row) for row in connection.execute(query)]


def _last(table: Table) -> Subquery:
    own = select(table.c.kind, table.c.label, func.max(table.c.seq).label("last"))
    return own.group_by(table.c.kind, table.c.label).subquery()


def _same(one: Table, other: FromClause) -> ColumnElement[bool]:
    return and_(one.c.kind == other.c.kind, one.c.label == other.c.label)


def find_parts(
    opened: Book, kind: str | None = None, windows: Mapping[str, Window] | None = None, *, everywhere: bool = False
) -> list[Loose]:
    """The parts on the shelf, the lightest first, a rod by its big end. windows: by what of a part (big_end,
    small_end, mass), from and to, both in g and both included. everywhere: also those that are in a job. Raises
    BadInput for a kind or a window that no part has."""
    _must_be_kind(kind)
    if windows and "mass" in windows and len(windows) > 1:
        raise BadInput([Fault("--mass", "can't be combined with a rod's end: no part has both")])
    for name in windows or {}:
        is_rods = name in ("big_end", "small_end")
        if kind is not None and is_rods != (kind == "rod"):
            way = "ask for its --mass" if is_rods else "ask for --big-end and --small-end"
            raise BadInput([Fault(f"--{name.replace('_', '-')}", f"a {kind} has none", remedy=way)])
    with opened.reading() as connection:
        found = [part for part in _now(connection, kind) if everywhere or part.job is None]
    for name, (least, most) in (windows or {}).items():
        is_rods = name in ("big_end", "small_end")
        found = [part for part in found if is_rods == (part.kind == "rod")]
        found = [part for part in found if least <= (getattr(part, WEIGHED[name]) or 0.0) <= most]
    return sorted(found, key=lambda part: (part.kind, part.big_end_g or 0.0, part.other_g, part.label))


def _must_be_kind(kind: str | None) -> None:
    if kind is not None and kind not in POOLED:
        raise BadInput([Fault("--kind", f"{shown(kind)!r} is no kind of loose part", ", ".join(POOLED))])


def move(
    opened: Book, kind: str, label: str, job: str | None = None, cylinder: int | None = None, by: str = ""
) -> Move:
    """Keep that a part went into a job's cylinder, or back to the shelf. The job's own labels are left alone.

    Raises BadInput for a part or a job that is not there, a cylinder that the job has not or that another part of
    the kind is in, by the stock or by the job's own labels and trades, where the part is there already, and where
    the open job that it would leave still says that it sits there; NotSaved."""
    _must_be_kind(kind)
    who = f"{kind} {shown(label)}"
    if job is not None:
        _must_have_cylinder(opened, job, cylinder)
    with opened.writing(f"{who} was not moved") as connection:
        _lock(connection)
        _must_be_free(connection, opened, kind, label, job, cylinder)
        made = Move(now(), by, job, cylinder)
        seq = _next(connection, stock_moves, kind, label)
        put(connection, stock_moves, [sealed(kind=kind, label=label, seq=seq, **made._asdict())])
    return made


def can_move(opened: Book, kind: str, label: str, job: str, cylinder: int) -> None:
    """Raise BadInput where move would not take a part into a job's cylinder, as things are now."""
    _must_have_cylinder(opened, job, cylinder)
    with opened.reading() as connection:
        _must_be_free(connection, opened, kind, label, job, cylinder)


def _must_be_free(
    connection: Connection, opened: Book, kind: str, label: str, job: str | None, cylinder: int | None
) -> None:
    """Raise BadInput where a part is not in the stock, is there already, or another one is."""
    who = f"{kind} {shown(label)}"
    own = _now(connection, kind, label)
    if not own:
        told = Fault(who, "is not in the stock", remedy="put it in: truethrow book stock add CSV")
        raise BadInput([told], str(opened.address))
    if (own[0].job, own[0].cylinder) == (job, cylinder):
        place = "on the shelf" if job is None else f"in job {shown(job)}, cylinder {cylinder}"
        raise BadInput([Fault(who, f"is {place} already")], str(opened.address))
    others = [part for part in _now(connection, kind) if job is not None and part.job == job]
    if taken := next((part for part in others if part.cylinder == cylinder), None):
        where = f"job {shown(job)}, cylinder {cylinder}"
        wrong = f"{kind} {shown(taken.label)} is there"
        raise BadInput([Fault(where, wrong, "first move that one away")], str(opened.address))
    if job is not None and cylinder is not None:
        _must_not_contradict(connection, opened, job, cylinder, kind, label)
    if own[0].job is not None and own[0].job != job:
        _must_let_go(connection, opened, own[0].job, kind, label)


def _must_let_go(connection: Connection, opened: Book, job: str, kind: str, label: str) -> None:
    """Raise BadInput where a part would leave a job that is worked on and says itself that the part sits there:
    what is on the shelf is offered to the next engine. A closed job takes no new text, and holds nothing back."""
    row = row_of(connection, job, opened)
    log = record_rows.log_of(connection, job)
    if log.closed is not None:
        return
    sits = labels_in(job, document_in(connection, job, row["revision"]).plain, log.records)
    for cylinder, labels in sits.items():
        if labels.get(kind) == label:
            where, own = f"job {shown(job)}, cylinder {cylinder}", shlex.quote(job)
            way = (
                f"first its mark out of the job: truethrow book export {own} --into FOLDER, edit it there, and"
                f" truethrow book put {own} FILE --revision {row['revision']}"
            )
            raise BadInput([Fault(where, f"the job has {kind} {shown(label)} there", remedy=way)])


# A mark that more jobs have is the number of a cylinder, and no part's own.
MOST_WITH_A_MARK = 20


class Twice(NamedTuple):
    """A mark on a part that another job, which is open too, has in a cylinder of its own."""

    kind: str
    label: str
    job: str
    cylinder: int


def marked_twice(opened: Book, job: str, kind: str | None = None, label: str | None = None) -> list[Twice]:
    """The marks of a job that is open, as its text and its trades have them, or the one of a part that goes into
    it, which another open job has, too. Jobs are found by the marks in their words, none is looked through."""
    with opened.reading() as connection:
        marks = {(kind, label)} if kind and label else set[tuple[str, str]]()
        for own in _labels_of_open(connection, opened, job).values() if not marks else ():
            marks |= set(own.items())
        sits: dict[str, dict[int, dict[str, str]]] = {}
        found = []
        for one, mark in sorted(marks):
            having = select(job_words.c.job).where(
                job_words.c.word == word_of_mark(one, mark), job_words.c.job != job
            )
            others = connection.scalars(having.limit(MOST_WITH_A_MARK + 1)).all()
            for other in sorted(others) if len(others) <= MOST_WITH_A_MARK else ():
                if other not in sits:
                    sits[other] = _labels_of_open(connection, opened, other)
                found += [Twice(one, mark, other, at) for at, own in sits[other].items() if own.get(one) == mark]
    return found


def _labels_of_open(connection: Connection, opened: Book, job: str) -> dict[int, dict[str, str]]:
    """The marks in a job, by cylinder; none of one that is closed."""
    row = row_of(connection, job, opened)
    log = record_rows.log_of(connection, job)
    if log.closed is not None:
        return {}
    return labels_in(job, document_in(connection, job, row["revision"]).plain, log.records)


def _must_have_cylinder(opened: Book, job: str, cylinder: int | None) -> None:
    made = load_engine(BookedJob(opened, job))
    if cylinder not in made.layout.cylinders:
        wrong = "missing" if cylinder is None else f"{cylinder} is not in this layout"
        raise BadInput([Fault("--cylinder", wrong, ", ".join(map(str, made.layout.cylinders)))], f"job {job}")


def _must_not_contradict(
    connection: Connection, opened: Book, job: str, cylinder: int, kind: str, label: str
) -> None:
    """Raise BadInput where a job says itself that another part sits in a cylinder."""
    row = row_of(connection, job, opened)
    text = document_in(connection, job, row["revision"]).plain
    there = labels_in(job, text, record_rows.log_of(connection, job).records).get(cylinder, {}).get(kind, label)
    if there != label:
        wrong = f"the job has {kind} {shown(there)} there"
        raise BadInput([Fault(f"job {shown(job)}, cylinder {cylinder}", wrong, "first its label in the job")])


def history(opened: Book, label: str, kind: str | None = None) -> list[PartHistory]:
    """All that the book knows of the parts of a label, kind by kind. Jobs are looked through for the label as
    their texts have it, and where their logs have traded it since. Raises BadInput where nothing is known."""
    _must_be_kind(kind)
    found = []
    with opened.reading() as connection:
        sits = _sits(connection, label)
        for one in [kind] if kind else POOLED:
            is_stock = bool(
                connection.scalar(select(stock.c.kind).where(stock.c.kind == one, stock.c.label == label))
            )
            own = [sitting for sitting in sits if sitting.kind == one]
            if is_stock or own:
                weighings = tuple(
                    Weighing(row["at"], row["by"], row["big_end_g"], row["other_g"])
                    for row in _rows(connection, stock_readings, one, label)
                )
                moves = tuple(
                    Move(row["at"], row["by"], row["job"], row["cylinder"])
                    for row in _rows(connection, stock_moves, one, label)
                )
                found.append(PartHistory(one, label, is_stock, weighings, moves, tuple(own)))
    if not found:
        what = f"{kind or 'part'} {shown(label)}"
        raise BadInput([Fault(what, "is neither in the stock nor in a job")], str(opened.address))
    return found


def _rows(connection: Connection, table: Table, kind: str, label: str) -> list[RowMapping]:
    query = select(table).where(table.c.kind == kind, table.c.label == label).order_by(table.c.seq)
    return list(connection.execute(query).mappings())


def _sits(connection: Connection, label: str) -> list[Sitting]:
    """The jobs in which a label sits."""
    texts = select(jobs.c.id, job_revisions.c.text, job_revisions.c.encoding).join(
        job_revisions, and_(job_revisions.c.job == jobs.c.id, job_revisions.c.revision == jobs.c.revision)
    )
    # As TOML may have it: in quotes of either kind, in those of several lines, or with letters escaped.
    may_have = [f'"{label}"', f"'{label}'", "\\", '"""', "'''"]
    texts = texts.where(or_(*(job_revisions.c.text.contains(part, autoescape=True) for part in may_have)))
    trades = _trades(connection)
    found = []
    for job, job_text, encoding in connection.execute(texts).all():
        own = labels_in(job, Document(job_text, encoding).plain, trades.get(job, ()))
        found += [
            Sitting(job, kind, cylinder)
            for cylinder, labels in own.items()
            for kind, name in labels.items()
            if name == label
        ]
    return sorted(found)


def _trades(connection: Connection) -> dict[str, list[Record]]:
    """Of the jobs in which parts traded places, all that says so and all that was struck out, in order."""
    has_trades = select(table_of_records.c.job).where(table_of_records.c.action == Traded.action)
    query = select(table_of_records).where(
        table_of_records.c.action.in_((Traded.action, Struck.action)), table_of_records.c.job.in_(has_trades)
    )
    found: dict[str, list[Record]] = {}
    for row in connection.execute(query.order_by(table_of_records.c.job, table_of_records.c.seq)).mappings():
        if (record := record_rows.sound_in(row)) is not None:
            found.setdefault(row["job"], []).append(record)
    return found


def labels_in(job: str, plain: str, known: Sequence[Record]) -> dict[int, dict[str, str]]:
    """Every cylinder's labels, where the log has traded them; none of a job whose text or log makes no sense.
    known: its records, its trades and strikes at least."""
    try:
        in_file = sources.labels_in(parse_toml(plain, ""))
        log = logged(JobThen(job, plain, known), Units(), None) if known else Logged()
        return sources.labels_of(in_file, log, WeighSheet())
    except BadInput:
        return {}


def window(typed: str, where: str) -> Window:
    """A window of weights [g] from its text, 450..452; an open end may be left out. Raises BadInput."""
    least, dots, most = typed.replace(",", ".").partition("..")
    try:
        found = float(least) if least.strip() else 0.0, float(most) if most.strip() else math.inf
        if not dots or math.isnan(sum(found)) or found[0] > found[1]:
            raise ValueError
    except ValueError:
        raise BadInput(
            [Fault(where, f"{shown(typed)!r} is no window", "from..to in g, such as 450..452")]
        ) from None
    return found
