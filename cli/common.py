"""What the commands share: the words of their arguments, a job worked through, and the status it ends with."""

from __future__ import annotations

import contextlib
import gc
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeAlias

import typer

from truethrow.balance.base.errors import (
    BadInput,
    Fault,
    TruethrowError,
    printable,
    shown,
    shown_path,
    wrong_by,
    wrong_why,
)
from truethrow.balance.log.place import (
    JobInBook,
    Place,
    Snapshot,
    again,
    is_file,
    is_in_book,
    is_standard_input,
    to_paste,
)
from truethrow.cli import show
from truethrow.cli.completing import jobs
from truethrow.cli.profiles import bench_named, by_itself, station_named

if TYPE_CHECKING:
    from truethrow.balance.base.files import KeptText
    from truethrow.balance.base.units import Dimension
    from truethrow.balance.job.job import Job as OneJob
    from truethrow.balance.result.work import Result
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.what_now import Now
    from truethrow.worksheets.shown.display import Display


# The jobs that the command at hand was given.
_JOBS: list[Snapshot] = []
# It goes on while the log grows, and tells all that is wrong with it on its own screen.
TELLS_ITSELF = "weigh"


def job_named(name: str) -> Place:
    """The job that a word on the command line means, for one look at it. Raises BadInput for an id that the book
    does not have."""
    _JOBS.append(Snapshot(_found(name)))
    return _JOBS[-1]


def tell_torn_ends(context: typer.Context) -> None:
    """As a command ends, tell where the last line of a log that it read is torn."""
    _JOBS.clear()
    if context.invoked_subcommand != TELLS_ITSELF:
        context.call_on_close(lambda: sys.stderr.write("".join(f"{end}\n" for end in _torn_ends())))


def _torn_ends() -> dict[str, None]:
    return dict.fromkeys(job.torn_end for job in _JOBS if job.torn_end)


def _found(name: str) -> Path | JobInBook:
    if is_file(name):
        return Path(name)
    from truethrow.balance.book.booked import find  # noqa: PLC0415 (SQLAlchemy, which no file needs)

    return find(name)


ProfileIfAny = Annotated[
    Path | None,
    typer.Option(
        "--station",
        metavar="STATION",
        parser=station_named,
        help="Profile of the balancing station: a file (TOML), or its name in the book.",
    ),
]

BenchIfAny = Annotated[
    Path | None,
    typer.Option(
        "--bench",
        metavar="BENCH",
        parser=bench_named,
        help="Bench profile: a file (TOML with a [bench] table), or its name in the book.",
    ),
]


# For what is looked up where it is not named.
NOT_NAMED: Any = None


def _the_only_one(context: typer.Context, named: Any) -> Any:
    """The job that is named; else the only one of the folder, for commands that only read."""
    if named is not None or context.resilient_parsing:
        return named
    from truethrow.cli.in_folder import jobs_in  # noqa: PLC0415

    found = jobs_in(Path())
    if len(found) != 1:
        wrong = "missing, and no job file lies in this folder"
        if found:
            wrong = f"which one is it? in this folder lie {' and '.join(shown_path(one) for one in found)}"
        raise BadInput([Fault("JOB", wrong, "a job file, or the id of a job in the book")])
    sys.stderr.write(f"Job: {shown_path(found[0])}, the only one in this folder.\n")
    return job_named(str(found[0]))


if TYPE_CHECKING:
    Job: TypeAlias = Place
    LoggedJob: TypeAlias = Place
    ToldJob: TypeAlias = Place
else:  # Typer knows no unions; the parser makes a Place of it

    def _job(told: str, or_the_only_one: bool = True) -> Any:
        callback = _the_only_one if or_the_only_one else None
        more = {"parser": job_named, "callback": callback, "autocompletion": jobs, "help": told}
        return Annotated[Path, typer.Argument(metavar="JOB", **more)]

    _IN_A_LOG = "Job file (TOML), or id of a job in the book."
    Job = _job("Job file (TOML), id of a job in the book, or - for standard input.")
    # For what is written down: standard input has no log.
    LoggedJob = _job(_IN_A_LOG, or_the_only_one=False)
    # For what only tells what was written down.
    ToldJob = _job(_IN_A_LOG)
Sheet = Annotated[
    Path | None,
    typer.Option("--sheet", "-s", metavar="SHEET", help="Weigh sheet (CSV) with the readings, or -."),
]
Json = Annotated[bool, typer.Option("--json", help="Print plain data for machines, in g, mm and degrees.")]
Show = Annotated[
    str | None,
    typer.Option("--show", metavar="metric|inch", help="Units of all but masses, which stay in the scale's."),
]

LONGEST_BY, LONGEST_WHY = 12, 300


def by_whom(told: str) -> Any:
    """The option --by: initials, else those that are set, which is told. told: whose, for the help."""
    return typer.Option("--by", metavar="INITIALS", parser=initials, callback=_else_set, help=told)


def by_typed(told: str) -> Any:
    """The same, taken as typed: its command knows whether it is to be said_by or or_set."""
    return typer.Option("--by", metavar="INITIALS", parser=initials, help=told)


def by_who_answers(told: str) -> Any:
    """The same, of what somebody answers for. told: whose, for the help."""
    return typer.Option("--by", metavar="INITIALS", parser=initials, callback=_said, help=told)


def _else_set(context: typer.Context, by: str) -> str:
    return by if context.resilient_parsing else or_set(by)


def _said(context: typer.Context, by: str) -> str:
    return by if context.resilient_parsing else said_by(by)


def or_set(by: str) -> str:
    """The initials that are typed, else those that are set, which is told on standard error; none where nobody
    did."""
    from truethrow.balance.base.settings import setting  # noqa: PLC0415

    if by.strip() or (found := setting("by")) is None:
        return by
    sys.stderr.write(f"Initials: {shown(found.value)}, as {found.source} says.\n")
    return found.value


def said_by(by: str) -> str:
    """The initials of who answers for it: those that are typed. Raises BadInput where others are set and none are
    typed: yesterday's hand in the settings signs nothing today."""
    from truethrow.balance.base.settings import setting  # noqa: PLC0415

    if by.strip() or (found := setting("by")) is None:
        return by
    wrong = f"missing: {shown(found.value)}, as {found.source} says, is not taken for what somebody answers for"
    again_with = f"truethrow {printable(shlex.join(sys.argv[1:]))} --by INITIALS"
    raise BadInput([Fault("--by", wrong, remedy=f"say whose it is: {again_with}")])


def for_why(told: str) -> Any:
    """The option --why: a reason. told: of what, for the help."""
    return typer.Option("--why", metavar="REASON", parser=_reason, help=told)


def initials(by: str) -> str:
    """Raises BadInput for initials that would not do in the log, or are nobody's."""
    if len(by) > LONGEST_BY or not by.isprintable():
        raise BadInput([Fault("--by", repr(shown(by)), f"printable, at most {LONGEST_BY} characters")])
    if by.strip() and (faults := wrong_by(by, "whoever does it")):
        raise BadInput(faults)
    return by


def _reason(why: str) -> str:
    """Raises BadInput for a reason that would not do in the log, or says nothing; whether there has to be one, its
    command knows."""
    if len(why) > LONGEST_WHY or not why.isprintable():
        raise BadInput([Fault("--why", repr(shown(why)), f"printable, at most {LONGEST_WHY} characters")])
    if why.strip() and (faults := wrong_why(why, "a word of why")):
        raise BadInput(faults)
    return why


def lives_on() -> None:
    """For a command that goes on for longer than a moment: from here on garbage is collected, but for what is
    loaded already."""
    gc.freeze()
    gc.enable()


def part_named(words: list[str]) -> tuple[str, str]:
    """The kind of part that words name, and its own name: big end R11 as big_end, R11."""
    from truethrow.balance.base.parts import BY_NAME, UNITS  # noqa: PLC0415

    split = " ".join(words).split()
    for count in (2, 1):
        kind = "_".join(split[:count]).lower().replace("-", "_")
        if kind in BY_NAME or kind in UNITS:
            if name := " ".join(split[count:]):
                return kind, name
            break
    wrong = f"{shown(' '.join(words))!r} is no part"
    raise BadInput([Fault("PART", wrong, "a part and its mark or cylinder, such as piston 3, big end 3, rod R11")])


def today() -> str:
    """The day where this machine is, ISO 8601."""
    import datetime  # noqa: PLC0415

    return datetime.datetime.now().astimezone().date().isoformat()


def quantity(option: str, typed: str, dimension: Dimension, unit: str) -> float:
    """A quantity as an option has it, in the unit kept inside. unit: of a bare number. Raises BadInput for what is
    none; how far it may reach its command knows."""
    from truethrow.balance.base import units  # noqa: PLC0415

    try:
        return units.parse(typed, dimension, unit)
    except units.NotAQuantity as error:
        raise BadInput([Fault(option, str(error), f"a {dimension.name}")]) from None


def check_show(show_in: str | None) -> None:
    """Before anything is read or written: what is written stands, whatever is shown after it."""
    if wrong := wrong_show(show_in):
        raise BadInput(wrong)


def wrong_show(show_in: str | None) -> list[Fault]:
    from truethrow.balance.base.amounts import SHOW  # noqa: PLC0415

    if show_in is None or show_in in SHOW:
        return []
    return [Fault("--show", f"{shown(show_in)!r} is not known", ", ".join(SHOW))]


def worked(
    job: Place, sheet: Path | None, show_in: str | None = None, *, given: bool = False, estimated: bool = False
) -> Result:
    """A job worked through, its options checked before anything is read. given, estimated: as job.load has
    them."""
    from truethrow.balance.job.job import load  # noqa: PLC0415
    from truethrow.balance.result.work import work  # noqa: PLC0415

    _check(job, sheet, show_in)
    return work(load(job, sheet, given=given, estimated=estimated))


def loaded_as_far(job: Place, sheet: Path | None, show_in: str | None = None, *, given: bool = False) -> OneJob:
    """A job as far as it is weighed, its options checked before anything is read. given: as job.load has it."""
    from truethrow.balance.job.job import load  # noqa: PLC0415

    _check(job, sheet, show_in)
    return load(job, sheet, partly=True, given=given)


def _check(job: Place, sheet: Path | None, show_in: str | None) -> None:
    check_show(show_in)
    if is_standard_input(job) and str(sheet) == "-":
        raise BadInput([Fault("--sheet", "standard input is the job already", "a file")])


def display_of(result: Result, show_in: str | None) -> Display:
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    return Display.of(result.job, show_in)


def end(result: Result, *, quiet: bool = False) -> NoReturn:
    """End a command that worked a job through. quiet: as show.end has it."""
    from truethrow.worksheets.words import result_words  # noqa: PLC0415

    show.end(result_words.why_outside(result) if result.outside else "", quiet=quiet)


def tell_marked_twice(out: show.Screen, place: Place) -> None:
    """Where a job of the book has marks that another open job of it has, too, tell so. A book that cannot be read
    for it is the next command's to tell: what was recorded before this is, and is told."""
    if not is_in_book(place):
        return
    from truethrow.balance.book.open import open_book  # noqa: PLC0415 (SQLAlchemy)
    from truethrow.balance.book.stock import marked_twice  # noqa: PLC0415
    from truethrow.worksheets.words import book_words  # noqa: PLC0415

    with contextlib.suppress(TruethrowError):
        for line in book_words.marked_twice(marked_twice(open_book(create=False), again(place))):
            out.line(line)


def tell_way_on(out: show.Screen, place: Place) -> None:
    """The last line of what only shows: where the job is asked what comes next, as it is. Not what that would be:
    below a change that was only asked for it would read as what to do about the change."""
    if not is_standard_input(place):
        out.line(f"Next, on the job as it is: truethrow next {to_paste(place)}", strong=True)


def tell_next(
    out: show.Screen,
    place: Place,
    result: Result | None = None,
    station: Path | KeptText | None = None,
    *,
    state: Balancing | None = None,
) -> None:
    """The last line of what a command says: what comes next, of a job that it worked through, or has at the
    station; else of the job as it is by now. station: the profile, where it was named or found already; else it is
    found, as `next` finds it. Nothing for standard input, which no command can be told again."""
    from truethrow.balance.station import what_now  # noqa: PLC0415

    if is_standard_input(place):
        return
    try:
        if state is not None:
            now = what_now.of_state(place, state)
        else:

            def of(profile: Path | KeptText | None) -> what_now.Now:
                if result is None:
                    return what_now.what_now(place, profile)
                return what_now.of_result(place, result, profile)

            now = of(station) if station is not None else by_itself(place, of)[0]
    except BadInput as error:  # what the command did is done, whatever else is wrong with the job
        now = what_now.Now((f"mend what is wrong: {error.lines()[0]}",), blocked=True)
    tell_now(out, now)


def tell_now(out: show.Screen, now: Now) -> None:
    """That what was signed no longer holds, where that is so, and what comes next."""
    if now.no_longer:
        out.line(f"! {now.no_longer}", strong=True)
    for step in now.steps:
        out.line(f"Next: {step}", strong=True)
