"""The machinist's bench: weighing guided on the screen, piped in, or straight from the scale."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import Place, again, must_have_a_log, open_log
from truethrow.cli import show
from truethrow.cli.common import BenchIfAny, LoggedJob, by_whom, lives_on, tell_marked_twice, tell_next

if TYPE_CHECKING:
    from collections.abc import Collection

    from truethrow.balance.base.files import KeptText
    from truethrow.balance.log.log import Log
    from truethrow.balance.weighing.benchjob import BenchJob
    from truethrow.balance.weighing.grinder import GrindSession
    from truethrow.balance.weighing.scaleline import ScaleProfile
    from truethrow.balance.weighing.session import Session
    from truethrow.cli.weighing.benchloop import BenchLoop

# A load is what lies this many steps of the scale above nothing.
LEAST_STEPS = 5


def weigh(
    job: LoggedJob,
    bench: BenchIfAny = None,
    port: Annotated[
        str | None, typer.Option("--port", metavar="PORT", help="The scale's port, before the profile's.")
    ] = None,
    by: Annotated[str, by_whom("Who weighs.")] = "",
    plain: Annotated[
        bool, typer.Option("--plain", help="Lines instead of a full screen; the scale takes by itself.")
    ] = False,
    grind: Annotated[
        bool, typer.Option("--grind", help="Grind to the trim plan: what is still to take, touch after touch.")
    ] = False,
) -> None:
    """Weigh the parts, or weigh one again; grind with the scale.

    Guided on the screen, from the scale or by hand; JOB's own readings may be blank. Every reading is on the disk
    before the screen says so, in JOB's .readings.jsonl beside it or in the book, which work and all other commands
    read with the job. Readings may be piped in: a number a line, or again, skip, back, strike WHY, go PART (go 3
    pin, go piston P5).

    Keys: b goes back to the part weighed last, and what is weighed there next replaces its reading (r keeps both);
    x cancels a reading; ? shows all. A flag comes up the moment a reading looks wrong. With a scale on a port each
    load is taken once it rests, if the empty scale showed zero before it; what cannot be the part asked for waits
    for a second load.

    The scale is told in [bench], of the job or of a profile: port, baud, frame, unit, settle (seconds), take (auto
    or enter), reference (a mass to check with) and drift_limit, rods (by-end or by-rod), rod_total, bell, and
    pattern where its lines need one: the line itself with names where it varies, "{any}={number} {unit}
    {stable=*}".

    --grind tells what is still to go, at which pad, and how much to aim for at the next touch: at most 0.85 of
    what is left (common practice, no source). Put the part on, read, touch, put it on again, until it says STOP.

    \b
    truethrow weigh my.toml
    truethrow weigh my.toml --port /dev/ttyUSB0 --by AB   (on Windows COM3)
    truethrow weigh my.toml < wedge.txt
    truethrow weigh my.toml --grind     to the trim plan, the scale beside you
    """
    from truethrow.balance.weighing.benchjob import load  # noqa: PLC0415
    from truethrow.balance.weighing.session import Session  # noqa: PLC0415
    from truethrow.cli.weighing.benchloop import BenchLoop  # noqa: PLC0415

    must_have_a_log(job)
    made = load(job, bench, port)
    log = open_log(job, made.table.name, by)
    log.must_be_of(made.id)
    log.must_be_open()
    session = _grinding(made, log, job) if grind else Session(made, log)
    keyboard = _has_keyboard()
    screen = keyboard and sys.stdout.isatty() and not plain
    profile = scale_profile(made, session.zero_limit_g)
    if profile.port and not screen and not plain:
        raise BadInput([Fault("--plain", "is needed to weigh from a port without a screen")])
    if profile.port and plain and not profile.auto:
        raise BadInput([Fault("--plain", "nobody can press Enter there", 'take = "auto" in [bench]')])
    lives_on()
    if not profile.port:
        loop = BenchLoop(session, profile)
        _guided(loop) if screen else _scripted(loop, prompt=keyboard)
    else:
        from truethrow.cli.weighing.serialport import Port  # noqa: PLC0415

        with Port(profile) as opened:
            # Nobody is there to see that it waits for the cable, or to end it.
            if not keyboard and (why := opened.first_try()):
                raise BadInput([Fault("scale", f"no scale at {shown_path(profile.port)}: {why}")])
            loop = BenchLoop(session, profile, opened)
            _guided(loop) if screen else _unattended(loop)
    if loop.ended:
        raise loop.ended
    loop.not_touched()
    _told(session, job, loop.printed, bench, by)


def _grinding(made: BenchJob, log: Log, job: Place) -> GrindSession:
    from truethrow.balance.weighing.grinder import GrindSession  # noqa: PLC0415

    return GrindSession(made, log, job)


def _has_keyboard() -> bool:
    """Whether somebody can press a key: standard input is a terminal (it may also be closed, and then is None)."""
    return sys.stdin is not None and not sys.stdin.closed and sys.stdin.isatty()


def scale_profile(made: BenchJob, zero_limit_g: float) -> ScaleProfile:
    """The scale of a bench, as its job or its profile tells it."""
    from truethrow.balance.weighing.scaleline import ScaleProfile  # noqa: PLC0415

    table, step_g = made.table, made.scale.resolution_g
    return ScaleProfile(
        port=table.port,
        baud=table.baud,
        frame=table.frame,
        pattern=table.pattern,
        unit=table.unit,
        resolution_g=step_g,
        capacity_g=made.units.most_g,
        settle_s=table.settle,
        least_g=max(LEAST_STEPS * step_g, 2 * zero_limit_g),  # what an empty scale may show is no load
        zero_within_g=zero_limit_g,
        auto=table.take == "auto",
    )


def _guided(loop: BenchLoop) -> None:
    from truethrow.cli.weighing.benchscreen import run  # noqa: PLC0415

    run(loop)


def _scripted(loop: BenchLoop, prompt: bool) -> None:
    """Readings and commands from standard input, a line each. The first line that is refused or not saved ends
    it: what follows would land on the wrong parts."""
    if sys.stdin is None or sys.stdin.closed:
        raise BadInput([Fault("standard input", "is closed", "a terminal, or readings piped in, a number a line")])
    _say_notes(loop)
    _say_how_to_grind(loop)
    _prompt(loop, prompt)
    try:
        for number, line in enumerate(sys.stdin, start=1):
            text = line.strip().lstrip("\ufeff")
            if text and not text.startswith("#"):
                _one_line(loop, text, number)
            sys.stdout.flush()
            _prompt(loop, prompt)
    except KeyboardInterrupt:
        sys.stdout.write(f"stopped; {_saved(loop)}\n")


def _say_notes(loop: BenchLoop) -> None:
    """What the log found wrong with itself, all of it: lines have the room that the screen has not."""
    sys.stdout.write("".join(f"! {note}\n" for note in loop.session.log.notes))
    loop.messages.clear()


def _say_how_to_grind(loop: BenchLoop) -> None:
    from truethrow.cli.weighing.benchtext import what  # noqa: PLC0415
    from truethrow.worksheets.words.cautions import GRIND_CAUTION  # noqa: PLC0415

    if loop.grinding is not None and loop.session.step is not None:
        sys.stdout.write(f"! {GRIND_CAUTION}\nfirst: {what(loop.session)}\n")


def _prompt(loop: BenchLoop, wanted: bool) -> None:
    from truethrow.cli.weighing.benchtext import what  # noqa: PLC0415

    if wanted:
        sys.stdout.write(f"{what(loop.session)}\n")


def _one_line(loop: BenchLoop, text: str, number: int) -> None:
    from truethrow.cli.weighing.benchtext import what  # noqa: PLC0415

    loop.messages.clear()
    done = _command(loop, text)
    for message in loop.messages:
        sys.stdout.write(f"line {number}: {message}\n")
    if loop.ended:
        raise loop.ended
    if not done:
        told = f"stopped here; {_saved(loop)}, at hand is: {what(loop.session)}"
        raise BadInput([Fault(f"line {number}", told)])


def _saved(loop: BenchLoop) -> str:
    return "what was taken is saved" if loop.session.wrote_any else "nothing was taken"


def _command(loop: BenchLoop, text: str) -> bool:
    """Carry out one line, and say what came of it; whether it was done."""
    from truethrow.cli.weighing.benchtext import what  # noqa: PLC0415
    from truethrow.worksheets.words import bench_words as words  # noqa: PLC0415

    word, _, rest = text.partition(" ")
    match word.lower():
        case "again":
            done = loop.again()
        case "skip":
            done = loop.skip()
        case "back":
            done = loop.back()
        case "go":
            done = loop.go(rest)
        case "strike":
            target = loop.target()
            if target is None:
                loop.say(words.REFUSED.format(why=words.NOTHING_TO_CANCEL))
            return target is not None and loop.strike(target, rest)
        case _:
            # A reading that is sound but did not reach the disk is worth a second try.
            done = loop.accept_typed(text) or (loop.is_unsaved and loop.accept_typed(text))
            if done:
                _say_taken(loop)
            return done
    if done:
        loop.say(what(loop.session))
    return done


def _unattended(loop: BenchLoop) -> None:
    """The scale takes by itself until everything is weighed; a line for each reading."""
    _say_notes(loop)
    _say_how_to_grind(loop)
    seen = None
    try:
        while loop.session.step is not None and not loop.ended:
            loop.poll(0.2)
            while loop.messages:
                sys.stdout.write(f"{loop.messages.popleft()}\n")
            if loop.taken is not seen:
                seen = loop.taken
                _say_taken(loop)
            sys.stdout.flush()
    except KeyboardInterrupt:
        sys.stdout.write(f"stopped; {_saved(loop)}\n")


def _say_taken(loop: BenchLoop) -> None:
    from truethrow.cli.weighing.benchtext import taken  # noqa: PLC0415

    if loop.taken is not None:
        sys.stdout.write(f"{taken(loop.taken, loop.session)}\n")
        sys.stdout.write("".join(f"{said}\n" for said in loop.told))
        loop.printed.update(loop.told)


def _says_yes(question: str) -> bool:
    """What is not answered is not a yes."""
    try:
        return typer.confirm(question)
    except typer.Abort:
        return False


def _remember(session: Session, bench: Path | KeptText, out: show.Screen, by: str) -> None:
    """What the session found of its scale goes into the bench's profile with a yes, or by a command that is told;
    and what the profile knows, into the job."""
    from truethrow.balance.weighing.remembering import found  # noqa: PLC0415
    from truethrow.worksheets.words import bench_words as words  # noqa: PLC0415

    new, profile = found(session), session.job.profile
    for said in words.left_out(new, session.now):
        out.line(said)
    if new.scatter:
        out.line(words.REMEMBER.format(found=words.scatters(new.scatter, session.job.shown_unit)))
        if _has_keyboard() and _says_yes(words.REMEMBER_IT.format(profile=profile)):
            from truethrow.cli.weighing.remember import carry_out  # noqa: PLC0415

            carry_out(bench, new, by)
        else:
            out.line(words.REMEMBER_LATER.format(command=words.remember_command(new, profile)))
    for said in words.known_before(session):
        out.line(said)


def _told(session: Session, job: Place, printed: Collection[str], bench: Path | KeptText | None, by: str) -> None:
    """What the session leaves behind, once the screen is gone. printed: what it has told in lines before."""
    from truethrow.balance.weighing.grinder import GrindSession  # noqa: PLC0415
    from truethrow.worksheets.words import bench_words as words  # noqa: PLC0415

    out = show.Screen()
    done = words.GROUND if isinstance(session, GrindSession) else words.WEIGHED
    out.line(done.format(done=session.done, total=session.total, log=shown_path(session.log.name)))
    for note in session.log.notes:
        out.line(f"! the log: {note}")
    session.log.job = again(job)
    session.log.must_be_settled()
    for one in session.checks():
        out.line(words.check(one, session.now))
    lone = [words.alone(step, session.now) for step in session.alone]
    for said in (*lone, *words.drift(session), *words.missed_checks(session)):
        out.line(f"! {said}")
    if bench is not None:
        _remember(session, bench, out, by)
    name = shown_path(again(job))
    if isinstance(session, GrindSession):
        out.line(words.after_grinding(session, name, printed))
    elif session.step is None:
        out.line(words.EVERYTHING_IS_WEIGHED)
    tell_marked_twice(out, job)
    tell_next(out, job)
