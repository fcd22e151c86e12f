"""The balancing station's bench: spins, test masses, holes, the sign-off."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown, shown_path
from truethrow.balance.log.place import Place, log_name
from truethrow.cli import model_file, show
from truethrow.cli.asking import ask, can_ask, must_be_meant
from truethrow.cli.common import (
    NOT_NAMED,
    Json,
    LoggedJob,
    Show,
    ToldJob,
    by_typed,
    by_who_answers,
    by_whom,
    check_show,
    for_why,
    or_set,
    said_by,
    tell_next,
)
from truethrow.cli.station.which_station import Station

if TYPE_CHECKING:
    from truethrow.balance.base.units import Dimension
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.stationlog import KnownMass
    from truethrow.worksheets.shown.display import Display

LONGEST_NOTE = 300
LARGEST_G, LARGEST_MM, FASTEST_RPM = 1e5, 2000.0, 10_000.0
# A bare radius below this is none of a test mass: inches, by a slip. Common practice, no source.
LEAST_BARE_MM = 20.0

Runs = Annotated[
    list[str],
    typer.Argument(
        metavar="FRONT REAR ...", help="Each amount@angle as the station shows it, such as 12.4@37; several runs."
    ),
]
Unproved = Annotated[
    bool,
    typer.Option("--unproved", help="Go on although no test mass agreed; with --by and --why, for the record."),
]
Reason = Annotated[str, for_why("With --unproved: why it must go without a test mass.")]
By = Annotated[str, by_whom("Who does it, for the log.")]
Speed = Annotated[
    float | None,
    typer.Option("--speed", metavar="RPM", help="At which it was spun, in r/min; else the profile's usual one."),
]


def spin(
    job: LoggedJob,
    readings: Runs,
    station: Station = NOT_NAMED,
    turned: Annotated[
        bool, typer.Option("--turned", help="These runs are with the fixture turned by 180 degrees.")
    ] = False,
    on: Annotated[
        str | None,
        typer.Option(
            "--on",
            metavar="NAMES",
            help="Damper, flexplate and so on that were on the crank: all, none, or names.",
        ),
    ] = None,
    front: Annotated[
        str, typer.Option("--front", metavar="G@DEG", help="A trial mass on the front plane: 60g@30; see below.")
    ] = "",
    rear: Annotated[str, typer.Option("--rear", metavar="G@DEG", help="A trial mass on the rear plane.")] = "",
    radius: Annotated[
        str, typer.Option("--radius", metavar="MM", help="Where trial masses sit: with its unit, such as 90mm.")
    ] = "",
    speed: Speed = None,
    looked_over: Annotated[
        bool, typer.Option("--looked-over", help="What the profile's [before_spin] asks for was looked at.")
    ] = False,
    note: Annotated[str, typer.Option("--note", metavar="NOTE", help="For the log.")] = "",
    by: By = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Record a spin: what is left, and what to do next.

    The readings as the station shows them, front before rear; its profile knows unit, sense and zero. A unit typed
    with a figure is checked against the profile's. Runs with
    the fixture turned follow those of the same spin, angles still counted from throw 1: they tell the fixture's
    own unbalance, which is taken off from then on, and which counts once known masses have agreed with the fixture
    turned (test-mass --turned). Status 0 when both planes are inside.

    A damper or a flexplate that carries part of the balance may be on or off; --on says which were. What is judged
    and signed has all of them on: what those bring that were off is added, as a vector in both planes.

    On a station that reads divisions (unit = "divisions"), spin as it is; then with a trial mass on each plane
    alone (--front or --rear, --radius); then with both at once, each moved by a quarter of a turn. That run tells
    which way its angles count, and nothing is drilled before it reads as foretold. What they told holds for later
    spins.

    \b
    truethrow spin my.toml --station station.toml 12.4@37 8.1@210
    truethrow spin my.toml --station station.toml 12.4@37 8.1@210 12.6@36 8.0@211
    truethrow spin my.toml --station station.toml 11.9@41 8.4@205 --turned
    truethrow spin my.toml --station station.toml 12.4g@37 8.1g@210 --speed 550
    truethrow spin my.toml --station station.toml 12.4@37 8.1@210 --on none
    truethrow spin my.toml --station station.toml 2.4@37 3.1@210 \\
      --on damper,flexplate
    truethrow spin my.toml --station meter.toml 8.5@60 6.5@205
    truethrow spin my.toml --station meter.toml --front 60g@30 --radius 90mm \\
      14.2@81 7.0@190
    truethrow spin my.toml --station meter.toml --front 60g@120 --rear 40g@120 \\
      --radius 90mm 9.1@12 5.2@240
    """
    from truethrow.balance.station import balancing, stationwork  # noqa: PLC0415

    check_show(show_in)
    _check_note(note)
    _check_speed(speed)
    before = balancing.load(job, station, show_in)
    if front or rear or radius:
        _check_trial(front, rear, radius, turned=turned, on=on, note=note)
        _trial(job, station, before, (front, rear, radius), readings, by, speed, show_in, json)
    _must_be_meant(before, is_asked=not json)
    looked_over = looked_over or _look_over(before)
    stationwork.spin(
        *(job, before, readings),
        turned=turned,
        note=note,
        by=by,
        speed_rpm=speed,
        on=_names(on, before),
        looked_over=looked_over,
    )
    _tell(balancing.load(job, station, show_in), job, show_in, json)


def _look_over(state: Balancing) -> bool:
    """Ask at a terminal for what is still to be looked over before this spin, one after the other. False where
    nothing is, or where nobody sits there."""
    from datetime import datetime  # noqa: PLC0415

    over = state.profile.over
    records = [spin.record for spin in state.spins]
    if over is None or not can_ask() or not over.is_due(records, datetime.now().astimezone().date()):
        return False
    sys.stdout.write(f"Before this spin ({over.asked}); Enter where it is so, n where it is not:\n")
    for one in over.of:
        ask(f"  {one}", _so, "yes")
    return True


def _must_be_meant(state: Balancing, *, is_asked: bool) -> None:
    """Ask at a terminal before a signature is ended by what is about to be recorded; where nobody sits there, it
    is told afterwards. Raises BadInput where it is not meant."""
    from truethrow.worksheets.words import station_words  # noqa: PLC0415

    if not is_asked or not can_ask() or not (ends := station_words.ends_what_is_signed(state)):
        return
    must_be_meant(ends, "Record it all the same?", "nothing was recorded; the signature still holds")


def _so(answer: str) -> str:
    if answer.lower() in ("y", "yes"):
        return answer
    raise BadInput([Fault("", "look at it first, then Enter; Ctrl-C leaves, and nothing is recorded")])


def test_mass(
    job: LoggedJob,
    readings: Runs,
    radius: Annotated[
        str,
        typer.Option(
            "--radius",
            metavar="MM",
            help="Where they sit: with its unit, such as 90mm; of one alone a bare number, too.",
        ),
    ],
    station: Station = NOT_NAMED,
    front: Annotated[
        str,
        typer.Option(
            "--front", metavar="G@DEG", help="On the front plane: mass with its unit, angle from throw 1."
        ),
    ] = "",
    rear: Annotated[
        str, typer.Option("--rear", metavar="G@DEG", help="On the rear plane, 90 degrees from the other.")
    ] = "",
    mass: Annotated[
        str, typer.Option("--mass", metavar="G", help="One alone: in grams, or with its unit, such as 2oz.")
    ] = "",
    at: Annotated[
        float | None, typer.Option("--at", metavar="DEG", help="One alone: its angle from throw 1, with rotation.")
    ] = None,
    plane: Annotated[
        Literal["front", "rear"] | None,
        typer.Option("--plane", metavar="front|rear", help="One alone: the plane that it is put on."),
    ] = None,
    turned: Annotated[
        bool, typer.Option("--turned", help="With the fixture turned, as at the turned runs of the last spin.")
    ] = False,
    speed: Speed = None,
    by: By = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Prove the station with two known masses in one spin.

    Before the first hole, and after each edit of the profile. Spin without them first: then the masses, the
    radius and the angles are told that prove it. Bolt them on, one on each plane, unequal and 90 degrees apart,
    and type what the station shows. Where both planes read as they must, unit, sense, zero, gain and the order
    of the planes are proved. A change that is not known to 10 % and 6 degrees proves nothing: then heavier ones
    are told. Spins from before an edit no longer count: spin without the masses again, then hang them again.

    Where two do not agree, hang one alone (--mass, --plane, --at), on each plane: it tells what to look at. One
    mass cannot tell a wrong sense from some zero, nor a wrong unit from a mass that was typed wrong: once these
    are changed, both at once have to agree, or another mass at another angle. Status 0 when all agree.

    Runs with the fixture turned (spin --turned) count once known masses agree with it turned (--turned), at their
    angles from throw 1: angles counted from the fixture would exchange the crank's part and the fixture's.

    Bolt every mass, guard shut, nobody in its plane; take them off before the next spin.

    \b
    truethrow test-mass my.toml --station station.toml --front 60g@30 \\
      --rear 40g@120 --radius 100mm 72@31 48@119
    truethrow test-mass my.toml --station station.toml --mass 50g \\
      --radius 100mm --plane front --at 30 62@31 8@9
    """
    from truethrow.balance.station import balancing, stationwork  # noqa: PLC0415
    from truethrow.balance.station.stationlog import KnownMass  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415

    check_show(show_in)
    _check_speed(speed)
    if front or rear:
        masses, typed = checked_pair(front, rear, radius, is_alone=bool(mass or plane or at is not None))
    elif mass and plane and at is not None:
        mass_g, radius_mm = checked_mass(mass, radius, at)
        masses, typed = [KnownMass(plane, mass_g, radius_mm, at)], f"{mass.strip()} at {radius.strip()}"
    else:
        way = "two at once: --front 60g@30 --rear 40g@120; or one alone: --mass 50g --plane front --at 30"
        raise BadInput([Fault("known mass", "not all of it is said", remedy=way)])
    state = balancing.load(job, station, show_in)
    record = stationwork.known_mass(job, state, masses, readings, by, typed, speed, turned=turned)
    after = balancing.load(job, station, show_in)
    if after.reads_divisions:
        from truethrow.cli.station import trials as of_divisions  # noqa: PLC0415

        of_divisions.tell(job, after, record, _display(state, show_in), json)
    trials, findings = after.proof.findings(record)
    if json:
        show.as_json(
            words.trial_data(trials, findings, after.instrument, after.told_in) | {"record": record.record.id}
        )
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        out = show.Screen()
        tables.trial(out, after, trials, findings, _display(state, show_in))
        tell_next(out, job, state=after)
    show.end("the known masses do not agree with the profile" if findings else "", quiet=json)


def holes(
    job: LoggedJob,
    station: Station = NOT_NAMED,
    numbers: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NUMBER[=DEPTH] ...",
            help="With --done: only these, and how deep if not as planned; of a slug its mass, such as 4=148.2g.",
        ),
    ] = None,
    done: Annotated[bool, typer.Option("--done", help="Write down that they are done.")] = False,
    plan: Annotated[
        str, typer.Option("--plan", metavar="NAME", help="With --done: the plan that was followed, by its name.")
    ] = "",
    did: Annotated[
        list[str] | None,
        typer.Option("--did", metavar="DONE", help="Record what was really done, planned or not; see below."),
    ] = None,
    before: Annotated[
        int | None,
        typer.Option(
            "--before", metavar="SPIN", help="With --did: it was in the crank at this spin, by its number."
        ),
    ] = None,
    sure: Annotated[
        bool, typer.Option("--sure", help="With --did: what was ground or taken there before is a second pass.")
    ] = False,
    looked_at: Annotated[
        list[str] | None,
        typer.Option("--looked-at", metavar="RECORD", help="A hole beyond a limit was looked at; --by, --why."),
    ] = None,
    aim: Annotated[
        Literal["sum", "spin"] | None,
        typer.Option(
            "--aim", metavar="sum|spin", help="What holes make true: the sum is for these parts only; --by, --why."
        ),
    ] = None,
    unproved: Unproved = False,
    why: Annotated[
        str,
        for_why("With --unproved, --looked-at or --aim: why, for the log."),
    ] = "",
    by: Annotated[str, by_typed("Who does it, for the log.")] = "",
    model: model_file.LpFile = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what to drill after the last spin; record it done.

    Nothing is to be drilled before a test mass agreed with the profile as it is. Who must go without one says so:
    --unproved, --by and --why are a record, and are on the station's card and the report until one agrees.

    Once all of it is done, spin again: what is left is told by the station, and the plan learns from it. A plan
    that may be another than at the spin, since the tools or the job have changed, has to be named. Status 0 when
    nothing is to be drilled.

    --did records what was really done, planned or not, in plain phrases apart by commas: a hole at another angle,
    in another counterweight, with another drill; a hole made deeper; a slug as it was weighed; grams that came
    off, or were put on. What was done is recorded even where it breaks a limit: then --looked-at has to say that
    whoever is qualified looked at it, or nothing is signed. After it the plan says nothing any more: spin again. A
    hole that was forgotten goes --before the spin that it was in the crank at. An arc or grams
    where such were told before are asked back: where it is a second pass, --sure records it.

    Holes make the crank true for its bobweight. --aim sum, with --by and --why, has them make true what turns in
    the engine: that is valid for these parts in these cylinders only, and card and report say so. --aim spin takes
    that back. Once the job's parts change, they aim at the spin again.

    \b
    truethrow holes my.toml --station station.toml
    truethrow holes my.toml --station station.toml --done
    truethrow holes my.toml --station station.toml --done 1 3=12.5
    truethrow holes my.toml --station station.toml \\
      --did "3 front, 137 deg, 12.7 mm drill, 18 mm deep"
    truethrow holes my.toml --station station.toml \\
      --did "3 front, 137 deg, took 4.2 g, 80 mm radius" --before 2
    truethrow holes my.toml --station st.toml \\
      --did "1 front, 9 deg, 25 mm slug, 20 mm long, 62 mm radius, 99 g"
    truethrow holes my.toml --station station.toml --unproved --by AB \\
      --why "no tapped hole for a test mass"
    truethrow holes my.toml --station station.toml --aim sum --by AB \\
      --why "the rods are the customer's own"
    """
    from truethrow.balance.station import balancing, stationwork  # noqa: PLC0415

    check_show(show_in)
    if numbers and not done:
        raise BadInput([Fault("NUMBER", "goes with --done only", remedy="such as --done 1 3=12.5")])
    if plan and not done:
        raise BadInput([Fault("--plan", "goes with --done only", remedy="such as --done --plan NAME")])
    _check_did(did, before, looked_at, done=done, unproved=unproved)
    if sure and not did:
        raise BadInput([Fault("--sure", "goes with --did only", remedy="such as --did TEXT --sure")])
    if aim and (did or looked_at or done or unproved):
        way = "such as --aim sum --by AB --why REASON"
        raise BadInput([Fault("--aim", "can't be combined with another option", remedy=way)])
    if model and (did or looked_at or done or unproved or aim):
        raise BadInput([Fault("--model", "can't be combined with what is recorded", remedy="ask for it alone")])
    if not (looked_at or aim):
        _check_unproved(unproved, why)
    by = said_by(by) if unproved or looked_at or aim else or_set(by) if done or did else by
    if aim:
        stationwork.aimed(job, balancing.load(job, station, show_in), aim, why, by)
        _tell(balancing.load(job, station, show_in), job, show_in, json, recorded=True)
    state = balancing.load(job, station, show_in)
    stationwork.must_be_drillable(job, state, with_tools=not (did or looked_at))
    _must_be_meant(state, is_asked=bool(done or did) and not json)
    if did:
        from truethrow.balance.crank.as_said import holes_said  # noqa: PLC0415

        assert state.job.crank
        unit = _display(state, show_in).length_unit
        own = None if state.reads_divisions else state.instrument.crank_deg
        said = holes_said(
            state.job.crank, did, state.profile.tools.drills, own, state.told_in._replace(length=unit)
        )
        stationwork.did(job, state, said, before, by, did, sure=sure)
    if looked_at:
        stationwork.looked_at(job, state, looked_at, why, by)
    if did or looked_at:
        _tell(balancing.load(job, station, show_in), job, show_in, json, recorded=True)
    if unproved:
        state = stationwork.unproved(job, state, why, by)
    if done:
        chosen, masses_g = numbers_of(numbers or [], _display(state, show_in).length_unit)
        batch = state.unproved.id if unproved and state.unproved else ""
        stationwork.drilled(job, state, chosen, by, plan, batch, masses_g)
        state = balancing.load(job, station, show_in)
    written = _write_model(model, state) if model else None
    _tell(state, job, show_in, json, recorded=done, written=written)


def _write_model(path: Path, state: Balancing) -> model_file.Written:
    """The plan's model."""
    from truethrow.balance.correction import holes_model  # noqa: PLC0415
    from truethrow.balance.station import stationwork  # noqa: PLC0415

    model_file.must_be_free(path, model_file.LP)
    stationwork.must_be_shown(state)
    if why := holes_model.why_not(state.plan):
        raise BadInput([Fault("--model", why)])
    assert state.plan
    made = holes_model.model(state.job.id, state.job.digest, state.plan)
    return model_file.write(path, [model_file.Made("holes", *made)])


def sign(
    job: LoggedJob,
    station: Station = NOT_NAMED,
    unproved: Unproved = False,
    why: Reason = "",
    by: Annotated[str, by_who_answers("Who signs; always typed.")] = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Sign a crank off, once both planes are inside.

    Signed is what turns in the engine: what the last spin read, and with it what each throw is off by.
    Both planes must be inside tolerance with all uncertainties counted, and a test mass must have agreed with
    the profile as it is; else it is refused, with every reason. The record names all spins and holes, and what is
    left. --unproved, --by and --why sign without a test mass: that is a record too, and the report says so.

    \b
    truethrow sign my.toml --station station.toml --by AB
    """
    from truethrow.balance.station import balancing, stationwork  # noqa: PLC0415

    check_show(show_in)
    _check_unproved(unproved, why)
    stationwork.sign(job, balancing.load(job, station, show_in), by, why if unproved else None)
    _tell(balancing.load(job, station, show_in), job, show_in, json)


def profile(
    job: LoggedJob,
    station: Station = NOT_NAMED,
    wrong_since: Annotated[
        str | None,
        typer.Option(
            "--wrong-since", metavar="SPIN", help="The first spin that it had been wrong for, such as 2."
        ),
    ] = None,
    changed_today: Annotated[
        bool,
        typer.Option("--changed-today", help="The station itself was changed; earlier spins stay as they are."),
    ] = False,
    why: Annotated[str, for_why("A word of why, for the log.")] = "",
    by: Annotated[str, by_typed("Who says so, for the log; always typed.")] = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Say what an edit of the station's profile was.

    A mistake mended, or a station changed. Once unit, radius, sense, zero or how sure it is are edited in
    [spin], nothing goes on before somebody says which it is. With --wrong-since the profile had been wrong: that
    spin and those after it are read anew by the profile as it is now, and what was signed by them is signed no
    more. With --changed-today earlier spins stay as they are read; so it goes for what is set at the station
    itself, its cables or its plane distances, though nothing of that is in the profile. Either way a fresh spin
    is next, and a test mass. Drills, slugs, plates and steps may be edited freely. Without either it shows what
    was edited; status 0 when nothing was.

    \b
    truethrow profile my.toml --station station.toml
    truethrow profile my.toml --station station.toml --wrong-since 1 --by AB \\
      --why "the display is set to oz in"
    truethrow profile my.toml --station station.toml --changed-today --by AB \\
      --why "encoder mounted anew"
    """
    from truethrow.balance.station import balancing, stationwork  # noqa: PLC0415

    check_show(show_in)
    if wrong_since is not None and changed_today:
        raise BadInput([Fault("--wrong-since", "can't be combined with --changed-today")])
    state = balancing.load(job, station, show_in)
    if wrong_since is None and not changed_today:
        if why:
            raise BadInput([Fault("--why", "goes with --wrong-since or --changed-today")])
        _tell_profile(state, json)
    stationwork.edited(job, state, wrong_since, why, said_by(by))
    _tell(balancing.load(job, station, show_in), job, show_in, json, history=True, recorded=True)


def _check_trial(front: str, rear: str, radius: str, *, turned: bool, on: str | None, note: str) -> None:
    if not ((front or rear) and radius):
        way = "such as --front 60g@30 --radius 90mm, --rear, or both"
        raise BadInput([Fault("trial mass", "not all of it is said", remedy=way)])
    if turned or on or note:
        wrong = "can't be combined with --turned, --on or --note"
        raise BadInput([Fault("--front, --rear", wrong, "a trial goes with the spin before it, as that was")])


def _trial(
    job: Place,
    station: Path,
    state: Balancing,
    said: tuple[str, str, str],
    readings: list[str],
    by: str,
    speed: float | None,
    show_in: str | None,
    json: bool,
) -> None:
    """A run with trial masses on, and what it told."""
    from truethrow.balance.station import balancing  # noqa: PLC0415
    from truethrow.cli.station import trials  # noqa: PLC0415

    masses, typed = trials.typed(*said)
    record = trials.recorded(job, state, masses, typed, readings, by, speed)
    trials.tell(job, balancing.load(job, station, show_in), record, _display(state, show_in), json)


def _names(typed: str | None, state: Balancing) -> list[str] | None:
    """The members of ``damper,flexplate``, all or none; None where nothing was typed."""
    if typed is None or typed.strip() == "none":
        return None if typed is None else []
    if typed.strip() == "all":
        return list(state.members.names)
    return [name.strip() for name in typed.split(",") if name.strip()]


def _tell_profile(state: Balancing, json: bool) -> None:
    from truethrow.worksheets.data import station_data  # noqa: PLC0415

    if json:
        show.as_json(station_data.profile(state, state.told_in))
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        tables.profile(show.Screen(), state)
    show.end(
        "nobody has said yet what the edit was: --wrong-since or --changed-today" if state.unsaid else "",
        quiet=json,
    )


def spins(
    job: ToldJob = NOT_NAMED,
    station: Station = NOT_NAMED,
    picture: Annotated[
        bool, typer.Option("--picture", help="Show them as a picture first, about the tolerance.")
    ] = False,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show every spin, and how far the crank is.

    With what was done between them.

    \b
    truethrow spins my.toml --station station.toml
    truethrow spins my.toml --station station.toml --picture
    """
    from truethrow.balance.station import balancing  # noqa: PLC0415

    check_show(show_in)
    if picture and json:
        raise BadInput([Fault("--picture", "can't be combined with --json")])
    state = balancing.load(job, station, show_in)
    if picture:
        _picture(state, show_in)
    _tell(state, job, show_in, json, history=True)


def _picture(state: Balancing, show_in: str | None) -> None:
    from truethrow.balance.station import may_go  # noqa: PLC0415
    from truethrow.worksheets.shown import strokes  # noqa: PLC0415

    state = may_go.as_it_counts(state)
    out, display = show.Screen(), _display(state, show_in)
    front, rear = strokes.spins(state, "front", display), strokes.spins(state, "rear", display)
    wide = max(map(len, front)) + max(map(len, rear)) + 3
    for text in strokes.beside(front, rear) if out.fits(wide) else [*front, *rear]:
        out.raw(text)


def _tell(
    state: Balancing,
    job: Place,
    show_in: str | None,
    json: bool,
    *,
    history: bool = False,
    recorded: bool = False,
    written: model_file.Written | None = None,
) -> None:
    """Where the loop stands; the status says whether the crank may go."""
    from truethrow.balance.station import may_go  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415

    state = may_go.as_it_counts(state)
    if json:
        data: dict[str, Any] = words.as_data(state)
        show.as_json(data | (written.as_data() if written else {}))
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        out, display = show.Screen(), _display(state, show_in)
        if history:
            tables.history(out, state, display)
        tables.standing(out, state, display)
        if written:
            written.tell(out)
        out.line(f"Log: {shown_path(log_name(job))}")
        tell_next(out, job, state=state)
    against = [] if recorded else may_go.against(state)
    show.end(f"not to be signed yet, {against[0].said(state.told_in)}" if against else "", quiet=json)


def _display(state: Balancing, show_in: str | None) -> Display:
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    return Display.of(state.job, show_in).with_drills(state.profile.tools)


def _check_unproved(unproved: bool, why: str) -> None:
    if why and not unproved:
        way = "such as --unproved --by INITIALS --why REASON"
        raise BadInput([Fault("--why", "goes with --unproved only", remedy=way)])


def _check_did(
    did: list[str] | None, before: int | None, looked_at: list[str] | None, *, done: bool, unproved: bool
) -> None:
    if sum((bool(did), bool(looked_at), done or unproved)) > 1:
        raise BadInput([Fault("--did", "can't be combined with --done, --unproved or --looked-at", "one of them")])
    if before is not None and not did:
        raise BadInput([Fault("--before", "goes with --did only", remedy="such as --did TEXT --before SPIN")])


def _check_note(note: str) -> None:
    if len(note) > LONGEST_NOTE or not note.isprintable():
        raise BadInput([Fault("--note", repr(shown(note)), f"printable, at most {LONGEST_NOTE} characters")])


def _check_speed(speed_rpm: float | None) -> None:
    if speed_rpm is not None and not 1 <= speed_rpm <= FASTEST_RPM:
        raise BadInput([Fault("--speed", f"{digits(speed_rpm)} is out of reach", f"1 to {FASTEST_RPM:g} r/min")])


def checked_mass(mass: str, radius: str, at_deg: float) -> tuple[float, float]:
    """Mass and radius as typed, in grams and millimeters. A bare radius so small is one in inches."""
    from truethrow.balance.base.units import LENGTH, MASS  # noqa: PLC0415

    faults: list[Fault] = []
    mass_g = _typed("--mass", mass, MASS, LARGEST_G, faults)
    radius_mm = _typed("--radius", radius, LENGTH, LARGEST_MM, faults)
    if 0 < radius_mm < LEAST_BARE_MM and not radius.strip()[-1:].isalpha():
        wrong = f"{digits(radius_mm)} mm is no radius for a test mass; are these inches?"
        faults.append(Fault("--radius", wrong, f"with its unit: {digits(radius_mm)}in or {digits(radius_mm)}mm"))
    if not -360 <= at_deg <= 360:
        faults.append(Fault("--at", f"{digits(at_deg)} is out of reach", "-360 to 360 degrees"))
    if faults:
        raise BadInput(faults)
    return mass_g, radius_mm


def checked_pair(front: str, rear: str, radius: str, *, is_alone: bool) -> tuple[list[KnownMass], str]:
    """Two masses as typed, such as 60g@30, and what was typed of mass and radius. Their units have to be: a slip
    that is alike in both fits a profile that is off as much."""
    from truethrow.balance.base.units import LENGTH, MASS  # noqa: PLC0415
    from truethrow.balance.station.stationlog import KnownMass  # noqa: PLC0415

    faults: list[Fault] = []
    if is_alone:
        faults.append(
            Fault("--front, --rear", "can't be combined with --mass, --plane or --at", "one or the other")
        )
    if not radius.strip()[-1:].isalpha():
        faults.append(Fault("--radius", f"{shown(radius)!r} has no unit", "with its unit, such as 90mm"))
    radius_mm = _typed("--radius", radius, LENGTH, LARGEST_MM, faults)
    masses = []
    planes: tuple[tuple[Literal["front", "rear"], str], ...] = (("front", front), ("rear", rear))
    for plane, text in planes:
        mass, _, angle = text.partition("@")
        try:
            at_deg = float(angle)
        except ValueError:
            at_deg = math.nan
        if not -360 <= at_deg <= 360 or not mass.strip()[-1:].isalpha():
            wrong = f"{shown(text)!r} is no mass at an angle" if text else "missing: two masses, one on each plane"
            faults.append(Fault(f"--{plane}", wrong, "mass with its unit, and degrees, such as 60g@30"))
            continue
        masses.append(KnownMass(plane, _typed(f"--{plane}", mass, MASS, LARGEST_G, faults), radius_mm, at_deg))
    if faults:
        raise BadInput(faults)
    weighed = " and ".join(text.partition("@")[0].strip() for text in (front, rear))
    return masses, f"{weighed} at {radius.strip()}"


def _typed(option: str, text: str, dimension: Dimension, most: float, faults: list[Fault]) -> float:
    """A quantity of an option, a bare one in the unit kept inside; 0 where it is none, with the fault."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415

    allowed = reach(dimension, 0, most, units.unit_of(text, dimension))
    try:
        value = units.parse(text, dimension, dimension.inside)
    except units.NotAQuantity as error:
        faults.append(Fault(option, str(error), allowed))
        return 0.0
    if not 0 < value <= most:
        faults.append(Fault(option, f"{shown(text)} is out of reach", allowed))
        return 0.0
    return value


def numbers_of(texts: list[str], length_unit: str) -> tuple[dict[int, float | None], dict[int, float]]:
    """``1 3=12.5 4=148.2g`` → {1: None, 3: 12.5, 4: None}, in millimetres, and {4: 148.2}, the slugs' grams.
    length_unit: of a bare depth."""
    from truethrow.balance.base import units  # noqa: PLC0415

    found: dict[int, float | None] = {}
    masses_g: dict[int, float] = {}
    faults = []
    for text in texts:
        number, equals, depth = text.partition("=")
        try:
            if not (number.isascii() and number.isdecimal()) or len(number) > 4:
                raise ValueError
            if int(number) in found:
                faults.append(Fault("NUMBER", f"{shown(text)!r} comes twice", "each number once"))
            found[int(number)] = None
            if depth.strip().endswith(tuple(units.MASS.factors)):
                masses_g[int(number)] = units.parse(depth, units.MASS, "g")
            elif equals:
                found[int(number)] = units.parse(depth, units.LENGTH, length_unit)
        except ValueError:
            faults.append(
                Fault("NUMBER", repr(shown(text)), "a number of the plan, such as 3, 3=12.5, or 4=148.2g")
            )
    if faults:
        raise BadInput(faults)
    return found, masses_g
