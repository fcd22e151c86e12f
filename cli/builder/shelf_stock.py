"""The shelf's bench: what the book's stock adds to it, and the moves that carry a match out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import Place, again, is_in_book
from truethrow.cli import show

if TYPE_CHECKING:
    from truethrow.balance.book.opened import Book
    from truethrow.balance.book.stock_shelf import InJob, LeftThere, Moving
    from truethrow.balance.shelf.match_shelf import Match, Matched
    from truethrow.balance.shelf.pool import Part
    from truethrow.worksheets.shown.display import Display


class EngineMoves(NamedTuple):
    """One engine on its way into a job of the book. against: why it cannot go there; doubtful: parts that other
    jobs seem to have."""

    engine: int
    job: str
    moves: tuple[Moving, ...]
    against: tuple[Fault, ...]
    doubtful: tuple[tuple[str, InJob], ...]


class Moves(NamedTuple):
    """Where the engines go, and how many have no job yet."""

    engines: tuple[EngineMoves, ...]
    without_job: int


class Stocked(NamedTuple):
    """The stock's share in the pools. name: as a source beside the files; left: what of it is left out."""

    book: Book
    name: str
    parts: tuple[Part, ...]
    left: tuple[LeftThere, ...]

    def must_have(self, into: Sequence[str]) -> None:
        """Raise BadInput for a job that the book does not have."""
        from truethrow.balance.book.jobs import is_there  # noqa: PLC0415 (SQLAlchemy)

        see = "see what is: truethrow book list"
        unknown = [job for job in into if not is_there(self.book, job)]
        if unknown:
            raise BadInput([Fault("--to", f"job {shown(job)} is not in the book", remedy=see) for job in unknown])

    def moves(self, job: Place, found: Match, into: Sequence[str]) -> Moves:
        """Which part of the stock goes into which cylinder of which job. into: the jobs, an engine each. Raises
        BadInput for more jobs than engines, or one job twice."""
        jobs = list(into) or ([again(job)] if is_in_book(job) else [])
        if len(jobs) > len(found.engines):
            wrong = f"{len(jobs)} jobs for {len(found.engines)} of them"
            raise BadInput([Fault("--to", wrong, "no more jobs than engines")])
        if len(set(jobs)) < len(jobs):
            raise BadInput([Fault("--to", "one job twice", "a job for each engine")])
        made = tuple(self._into(job_id, engine) for job_id, engine in zip(jobs, found.engines, strict=False))
        return Moves(made, len(found.engines) - len(made))

    def _into(self, job: str, engine: Matched) -> EngineMoves:
        from truethrow.balance.book.stock_shelf import Moving, against, in_other_jobs  # noqa: PLC0415 (SQLAlchemy)

        own = {(part.kind, part.label) for part in self.parts}
        moves = tuple(
            Moving(part.kind, part.label, job, filled.cylinder)
            for filled in engine.cylinders
            for part in filled.parts.values()
            if (part.kind, part.label) in own
        )
        doubtful = tuple((m.label, at) for m in moves for at in in_other_jobs(self.book, m.kind, m.label, job))
        return EngineMoves(engine.number, job, moves, tuple(against(self.book, moves)), doubtful)

    def as_data(self, moves: Moves) -> dict[str, Any]:
        from truethrow.worksheets.data.shelf_data import moves_data  # noqa: PLC0415

        return {
            "left_in_stock": [{"kind": one.part.kind, "label": one.part.label} for one in self.left],
            "moves": [moves_data(one.engine, one.job, one.moves, one.against) for one in moves.engines],
            "engines_without_job": moves.without_job,
        }

    def tell(self, moves: Moves, out: show.Screen, display: Display) -> None:
        """What was left out of the stock, and the moves as commands, ready to paste."""
        from truethrow.worksheets.words import shelf_words as words  # noqa: PLC0415
        from truethrow.worksheets.words.book_words import move_command  # noqa: PLC0415

        self.tell_left(out, display)
        for engine in moves.engines:
            out.heading(words.goes_into(engine.engine, engine.job))
            self.tell_doubtful(Moves((engine,), 0), out)
            for fault in engine.against[:1]:
                out.line(f"- {words.cannot_go(fault, len(engine.against))}")
            for move in () if engine.against else engine.moves:
                out.line(move_command(*move))
        if moves.without_job:
            out.line()
            out.line(words.without_job(moves.without_job, len(moves.engines)))

    def tell_left(self, out: show.Screen, display: Display) -> None:
        """What was left out of the stock, and what it does not say of the rest."""
        from truethrow.worksheets.words import shelf_words as words  # noqa: PLC0415

        if self.left:
            out.heading("Left out of the stock")
            for one in self.left:
                out.line(words.left_there(one, display))
        out.line()
        out.line(f"! {words.WHICH_ENGINE}")

    def tell_doubtful(self, moves: Moves, out: show.Screen) -> None:
        """The parts that other jobs seem to have."""
        from truethrow.worksheets.words.replace_words import may_sit  # noqa: PLC0415

        for engine in moves.engines:
            for label, at in engine.doubtful:
                out.line(f"! {may_sit(label, at)}")


def of_the_book(book: Book | None = None) -> Stocked:
    """The loose parts of a book's stock, as far as they can be of one engine; None: of the shop's book. Raises
    BadInput without one."""
    from truethrow.balance.book.open import open_book  # noqa: PLC0415 (SQLAlchemy)
    from truethrow.balance.book.stock_shelf import STOCK, of_one_engine, parts_of  # noqa: PLC0415

    opened = book or open_book(create=False)
    parts, left = of_one_engine(parts_of(opened).loose)
    return Stocked(opened, STOCK, parts, left)
