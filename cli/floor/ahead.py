"""What lies ahead, for a page to read: candidates, what a change would do, what a shelf makes; the very tables of
the commands, and nothing of it recorded.

Each is worked out in a process of its own, as a search is: a solver would hold up the floor's other screens."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import json
import sys
from asyncio.subprocess import DEVNULL, PIPE
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault, TruethrowError
from truethrow.balance.log.place import JobInBook, Snapshot
from truethrow.cli.floor.by_hand import lines_of, to_do
from truethrow.cli.floor.searching import named, placed
from truethrow.cli.show import Screen
from truethrow.worksheets.pages.floor.state import Ahead, Told
from truethrow.worksheets.words import build_words as words
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS, TRIM_ON_A_PAGE

if TYPE_CHECKING:
    from truethrow.balance.book.opened import Book

_CHILD = "from truethrow.cli.floor.ahead import answer; answer()"
LONGEST_S = 120.0
MOST_ENGINES, MOST_FILES = 6, 20
# The fields of what-if's form, by their options.
FIELDS = {f"--{name.replace('_', '-')}": said for name, said in words.WHAT_IF_FIELDS.items()}


class Files(NamedTuple):
    """What a job has beside it: files of candidates, and of loose parts, by their names; or the stock of the book
    that it is in, which has no files."""

    candidates: tuple[str, ...] = ()
    shelves: tuple[str, ...] = ()
    is_in_book: bool = False

    @property
    def has_loose_parts(self) -> bool:
        return self.is_in_book or bool(self.shelves)


def files_of(place: Path | JobInBook) -> Files:
    """What lies beside a job."""
    if not isinstance(place, Path):
        return Files(is_in_book=True)
    candidates, shelves = [], []
    for path in sorted(_beside(place)):
        if path.suffix == ".toml" and "\n[candidates]" in f"\n{_head(path)}":
            candidates.append(path.name)
        elif path.suffix == ".csv" and _is_of_loose_parts(_head(path)):
            shelves.append(path.name)
    return Files(tuple(candidates[:MOST_FILES]), tuple(shelves[:MOST_FILES]))


def _beside(place: Path) -> list[Path]:
    """The files of a job's folder; not without end, whatever else lies there."""
    return [one for one in itertools.islice(place.parent.iterdir(), 1000) if one.is_file()]


def _head(path: Path) -> str:
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            return file.read(4000)
    except OSError:
        return ""


def _is_of_loose_parts(text: str) -> bool:
    """Whether a sheet's first column is the label of one kind of part, as in a file that shelf reads."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    head = first.replace(";", ",").replace("\t", ",").split(",")[0].strip().strip('"').lower()
    return head.endswith(" label")


async def ahead(place: Path | JobInBook, name: str, what: str, asked: Mapping[str, str]) -> Ahead:
    """A page of what lies ahead. name: of the job in addresses; what: candidates, shelf or what-if; asked: the
    file of candidates, what matters, which of them; or the changes, by the names of what-if's options."""
    job, book = named(place)
    question = {"job": job, "book": book, "what": what, "asked": dict(asked), "shelves": files_of(place).shelves}
    child = await asyncio.create_subprocess_exec(
        sys.executable, "-c", _CHILD, stdin=PIPE, stdout=PIPE, stderr=DEVNULL, start_new_session=True
    )
    try:
        said, _ = await asyncio.wait_for(child.communicate(json.dumps(question).encode()), LONGEST_S)
        found = json.loads(said)
    except (TimeoutError, ValueError):
        found = {"fault": words.NO_FIGURES}
    finally:
        with contextlib.suppress(ProcessLookupError):  # it has ended
            child.kill()
    told = tuple(Told(**one) for one in found.get("told", ()))
    return Ahead(name, what, dict(asked), told, found.get("fault", ""), found.get("count", 0))


def stamp(place: Path | JobInBook) -> str:
    """What is another text once anything has changed that lies beside a job, or in the stock of its book."""
    if not isinstance(place, Path):
        from truethrow.balance.book.stock_shelf import parts_of  # noqa: PLC0415 (SQLAlchemy, which no file needs)

        return repr(parts_of(_book_of(place)).loose)
    return repr(sorted((one.name, one.stat().st_mtime_ns, one.stat().st_size) for one in _beside(place)))


def _book_of(place: Path | JobInBook) -> Book:
    from truethrow.balance.book.booked import BookedJob  # noqa: PLC0415

    assert isinstance(place, BookedJob)
    return place.book


# What the other process does


def answer() -> None:
    """Work out what standard input asks for, as JSON on standard output."""
    question: dict[str, Any] = json.load(sys.stdin)
    asked, out = question["asked"], OnPage()
    count = 0
    try:
        place = placed(question["job"], question["book"])
        if question["what"] == "what-if":
            _what_if(out, place, asked)
        elif question["what"] == "shelf":
            _shelf(out, place, question["shelves"])
        else:
            count = _candidates(out, Path(question["job"]).parent / asked["file"], asked)
        found: dict[str, Any] = {"told": [one.__dict__ for one in out.told], "count": count}
    except TruethrowError as error:
        found = {"fault": "\n".join(_in_fields(error))}
    sys.stdout.write(json.dumps(found))


def _in_fields(error: TruethrowError) -> list[str]:
    """A refusal, with the form's fields in the place of options."""
    from truethrow.cli.asking import in_options  # noqa: PLC0415

    return lines_of(in_options(error, FIELDS) if isinstance(error, BadInput) else error)


def _candidates(out: OnPage, file: Path, asked: Mapping[str, str]) -> int:
    """All of them, or the rows of one; how many there are."""
    from truethrow.balance.planning import candidates as files  # noqa: PLC0415
    from truethrow.balance.planning import comparing  # noqa: PLC0415
    from truethrow.cli.planning import candidates_tables as tables  # noqa: PLC0415
    from truethrow.cli.planning.candidates import tools_of  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    found = files.load(file)
    tools = tools_of(found, None, file)
    matters = asked["by"] if asked.get("by") in files.BY else found.by
    worked = comparing.candidates(found.pairs, tools, found.prices, lambda part: None)
    order = comparing.ranked(worked, matters)
    tables.candidates(
        out, found, order, matters, Display.of(found.pairs[0].job, None), has_tools=tools is not None
    )
    pick = asked.get("pick", "")
    if pick.isascii() and pick.isdecimal() and 0 < int(pick[:4]) <= len(order):
        at = int(pick) - 1
        out.told = [replace(one, rows=one.rows[at : at + 1]) for one in out.told]
    return len(order)


def _what_if(out: Screen, place: Snapshot, asked: Mapping[str, str]) -> None:
    from truethrow.balance.running import changes  # noqa: PLC0415
    from truethrow.cli.common import display_of, worked  # noqa: PLC0415
    from truethrow.cli.planning.what_if import tell, worked_out  # noqa: PLC0415

    result = worked(place, None, given=True, estimated=True)
    part = asked.get("part", "").strip()
    wanted = changes.read(
        result.job,
        share=asked.get("share", "").strip() or None,
        oil=asked.get("oil", "").strip() or None,
        parts=[one.strip() for one in part.split(";") if one.strip()],
        turned_to=asked.get("turned_to", "").strip() or None,
        counterweights=(),
        members=(),
    )
    tell(out, worked_out(place, result, wanted, None), wanted, display_of(result, None))


def _shelf(out: Screen, place: Snapshot, names: Sequence[str]) -> None:
    from truethrow.balance.shelf import pool  # noqa: PLC0415
    from truethrow.balance.shelf.match_shelf import match  # noqa: PLC0415
    from truethrow.cli.builder import shelf_stock  # noqa: PLC0415
    from truethrow.cli.builder.shelf_command import display_of, tell  # noqa: PLC0415

    if isinstance(place.of, Path):
        stocked, loaded = None, pool.load(place, [place.of.parent / one for one in names])
    else:
        stocked = shelf_stock.of_the_book(_book_of(place.of))
        if not stocked.parts:
            raise BadInput([Fault("", words.EMPTY_STOCK)])
        loaded = pool.load(place, [], stocked.parts, stocked.name)
    found = match(loaded, None, None, lambda *reached: None)
    tell(out, loaded, found, MOST_ENGINES)
    if (more := len(found.engines) - MOST_ENGINES) > 0:
        out.line(words.MORE_ENGINES.format(more=more))
    if stocked:
        stocked.tell_left(out, display_of(loaded))
        stocked.tell_doubtful(stocked.moves(place, found, ()), out)


class OnPage(Screen):
    """Where a command's answer goes, kept for a page; what is told with a command to type, by what a hand does."""

    def __init__(self) -> None:
        self.told: list[Told] = []

    def line(self, text: str = "", *, strong: bool = False) -> None:
        is_caution = text.startswith("! ")
        said = text.removeprefix("! ")
        if said in TRIM_CAUTIONS:
            said = TRIM_ON_A_PAGE[TRIM_CAUTIONS.index(said)]
        if said:
            self.told.append(
                Told("caution" if is_caution else "strong" if strong else "line", to_do(said, at_desk=True))
            )

    def fits(self, columns: int) -> bool:
        return True

    def raw(self, text: str) -> None:
        self.told.append(Told("line", text))

    def heading(self, text: str) -> None:
        self.told.append(Told("heading", text))

    def table(self, columns: Sequence[str], rows: Sequence[Sequence[str]], words: Sequence[str] = ()) -> None:
        left = tuple(at == 0 or column in words for at, column in enumerate(columns))
        self.told.append(Told("table", "", tuple(columns), tuple(tuple(row) for row in rows), left))
