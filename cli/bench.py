"""The machinist's bench: weighing guided on the screen, piped in, or straight from the scale."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.beside import log_path
from truethrow.balance.errors import BadInput, Fault, shown_path
from truethrow.cli import show

if TYPE_CHECKING:
    from truethrow.balance.benchjob import BenchJob
    from truethrow.balance.scalefeed import Profile
    from truethrow.balance.session import Session
    from truethrow.cli.benchloop import BenchLoop


def weigh(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="Job file (TOML); its readings may be blank.")],
    bench: Annotated[
        Path | None, typer.Option("--bench", metavar="FILE", help="Bench profile (TOML with a [bench] table).")
    ] = None,
    port: Annotated[
        str | None, typer.Option("--port", metavar="PORT", help="The scale's port, before the profile's.")
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who weighs.")] = "",
    plain: Annotated[
        bool, typer.Option("--plain", help="Lines instead of a full screen; the scale takes by itself.")
    ] = False,
) -> None:
    """Weigh the parts of a job, one after the other.

    Guided on the screen, from the scale or by hand. Every reading is on the disk before the screen says so, in
    JOB's .readings.jsonl beside it, which work and all other commands read with the job. Readings may be piped
    in: a number a line, or again, skip, back, strike WHY, go CYLINDER PART.

    \b
    truethrow weigh my.toml
    truethrow weigh my.toml --port /dev/ttyUSB0 --by AB
    truethrow weigh my.toml < wedge.txt
    """
    from truethrow.balance.benchjob import load  # noqa: PLC0415
    from truethrow.balance.readinglog import ReadingLog  # noqa: PLC0415
    from truethrow.balance.session import Session  # noqa: PLC0415
    from truethrow.cli.benchloop import BenchLoop  # noqa: PLC0415

    if len(by) > 12 or not by.isprintable():
        raise BadInput([Fault("--by", "does not do", "printable, at most 12 characters")])
    made = load(job, bench)
    profile = _profile(made, port)
    session = Session(made, ReadingLog(log_path(job), made.table.name, by))
    screen = sys.stdin.isatty() and sys.stdout.isatty() and not plain
    if not profile.port:
        loop = BenchLoop(session, profile)
        _guided(loop) if screen else _scripted(loop)
    else:
        from truethrow.cli.serialport import Port  # noqa: PLC0415

        with Port(profile) as opened:
            loop = BenchLoop(session, profile, opened)
            _guided(loop) if screen else _unattended(loop)
    _told(session, job)


def _profile(made: BenchJob, port: str | None) -> Profile:
    from truethrow.balance.scalefeed import Profile  # noqa: PLC0415

    table = made.table
    return Profile(
        port=table.port if port is None else port,
        baud=table.baud,
        frame=table.frame,
        pattern=table.pattern,
        unit=table.unit,
        resolution_g=made.scale.resolution_g,
        capacity_g=made.units.most_g,
        settle_s=table.settle,
        auto=table.take == "auto",
    )


def _guided(loop: BenchLoop) -> None:
    from truethrow.cli.benchscreen import run  # noqa: PLC0415

    run(loop)


def _scripted(loop: BenchLoop) -> None:
    """Readings and commands from standard input, a line each; every answer is a line too."""
    refused = False
    for number, line in enumerate(sys.stdin, start=1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        loop.messages.clear()
        saved = _command(loop, text)
        for message in loop.messages:
            sys.stdout.write(f"line {number}: {message}\n")
            refused = refused or message.startswith(("refused", "NOT SAVED"))
        if saved and loop.taken is not None:
            _say_taken(loop)
        sys.stdout.flush()
    if refused:
        raise BadInput([Fault("", "some lines were refused; what was taken is saved")])


def _command(loop: BenchLoop, text: str) -> bool:
    """Carry out one line; whether it was a reading that was saved."""
    from truethrow.balance.session import Refused, part_named  # noqa: PLC0415

    word, _, rest = text.partition(" ")
    match word.lower():
        case "again":
            loop.again()
        case "skip":
            loop.skip()
        case "back":
            loop.back()
        case "strike":
            loop.strike(rest)
        case "go":
            cylinder, _, part = rest.strip().partition(" ")
            try:
                loop.go(int(cylinder) if cylinder.isdigit() else 0, part_named(part))
            except Refused as error:
                loop.say(f"refused: {error}")
        case _:
            return loop.accept(text)
    return False


def _unattended(loop: BenchLoop) -> None:
    """The scale takes by itself until everything is weighed; a line for each reading."""
    seen = None
    try:
        while loop.session.step is not None:
            loop.poll(0.2)
            while loop.messages:
                sys.stdout.write(f"{loop.messages.popleft()}\n")
            if loop.taken is not seen:
                seen = loop.taken
                _say_taken(loop)
            sys.stdout.flush()
    except KeyboardInterrupt:
        sys.stdout.write("stopped; what was taken is saved\n")


def _say_taken(loop: BenchLoop) -> None:
    from truethrow.cli.benchtext import taken  # noqa: PLC0415

    if loop.taken is not None:
        sys.stdout.write(f"{taken(loop.taken)}\n")


def _told(session: Session, job: Path) -> None:
    """What the session leaves behind, once the screen is gone."""
    out = show.Screen()
    out.line(f"{session.done} of {len(session.job.steps)} weighed, in {shown_path(session.log.path)}")
    for said in session.drift():
        out.line(f"! {said}")
    if session.step is None:
        out.line(f"Everything is weighed. Next: truethrow work {shown_path(job)}")
