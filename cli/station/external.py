"""Damper, flexplate, clutch cover: what each brings, a new one made equal to an old one, and from external balance
to internal and back."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import source_of
from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Json, LoggedJob, Show, check_show
from truethrow.cli.station.which_station import Station

if TYPE_CHECKING:
    from truethrow.balance.correction import Converted
    from truethrow.balance.correction.alike import Alike
    from truethrow.balance.crank.crank import Member
    from truethrow.balance.station.balancing import Balancing


def member(
    job: LoggedJob,
    station: Station = NOT_NAMED,
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="A member; all of them without.")] = "",
    straight: Annotated[
        str,
        typer.Option("--straight", metavar="READING", help="On an arbor, both marks in line: 12.4@37."),
    ] = "",
    turned: Annotated[
        str, typer.Option("--turned", metavar="READING", help="The same, the member half a turn on it.")
    ] = "",
    counted: Annotated[
        Literal["arbor", "member"] | None,
        typer.Option("--counted", metavar="arbor|member", help="What both angles are counted from."),
    ] = None,
    trial: Annotated[
        list[str] | None,
        typer.Option(
            "--trial", metavar="G@DEG=READING", help="On a station that reads divisions, twice; see below."
        ),
    ] = None,
    radius: Annotated[
        str, typer.Option("--radius", metavar="MM", help="Where the trial mass sits: with its unit, such as 90mm.")
    ] = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what damper and flexplate bring; match a new one.

    A new one is a [[crank.external]] that replaces another: what to drill on it, where from its keyway and how
    deep, or what to put on instead, and what the check must read. Measure it again after the holes: on the arbor,
    and on the crank. With --straight, --turned and --counted, two runs on an arbor by this station, as the lines
    for the job. Nothing is recorded. Status 0 when a new one is equal to the old one as far as the station can
    tell.

    \b
    [[crank.external]]
    name = "damper"
    at = -80            # z of its middle, from throw 1 rearwards
    radius = 70         # of the circle that its holes lie on
    thickness = 22
    keyway = 45         # where its keyway or dowel sits, degrees from throw 1
    offset = { unbalance = "2 oz in", angle = 90, uncertainty = "0.05 oz in" }
    drill = true        # false: its maker lets nobody drill it

    \b
    truethrow member my.toml --station station.toml
    truethrow member my.toml "new damper" --station station.toml
    truethrow member my.toml damper --station station.toml --straight 12.4@37 \\
      --turned 11.8@214 --counted arbor
    truethrow member my.toml damper --station meter.toml --straight 8.5@60 \\
      --turned 6.1@201 --counted arbor --trial 20g@30=14.2@81 \\
      --trial 20g@120=9.1@12 --radius 90mm
    """
    from truethrow.balance.station import balancing  # noqa: PLC0415

    check_show(show_in)
    state = balancing.load(job, station, show_in)
    found = _member(state, name) if name else None
    if straight or turned or counted or trial:
        _on_an_arbor(state, found, (straight, turned), counted, (trial or [], radius), json)
    if found is not None and found.replaces:
        _replacement(state, found, show_in, json)
    _all_members(state, show_in, json)


def _member(state: Balancing, name: str) -> Member:
    """One on the crank, or waiting for it."""
    crank = state.job.crank
    there = (*crank.externals, *crank.waiting) if crank else ()
    found = next((one for one in there if one.name == name), None)
    if found is None:
        allowed = ", ".join(one.name for one in there) or "a table [[crank.external]] in the job"
        raise BadInput([Fault("NAME", f"{shown(name)} is no damper or flexplate of the job", allowed)])
    return found


def _on_an_arbor(
    state: Balancing,
    member: Member | None,
    runs: tuple[str, str],
    counted: str | None,
    trial: tuple[list[str], str],
    json: bool,
) -> None:
    """Two runs as the job is to have them. trial: masses with what was read, and their radius."""
    from truethrow.balance.crank.offset import from_arbor  # noqa: PLC0415
    from truethrow.worksheets.data import station_data  # noqa: PLC0415

    if member is None or not (all(runs) and counted):
        way = "such as damper --straight READING --turned READING --counted arbor|member"
        raise BadInput([Fault("runs on an arbor", "not all of it is said", remedy=way)])
    vectors, sure = _read(state, runs, trial)
    own, arbor = from_arbor(vectors[0], vectors[1], counted)
    if json:
        show.as_json(
            {
                "member": member.name,
                "own": station_data.on_arbor(own),
                "arbor": station_data.on_arbor(arbor),
                "uncertainty_gmm": round(sure, 3),
            }
        )
    else:
        from truethrow.cli.station import external_tables as tables  # noqa: PLC0415
        from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

        tables.on_an_arbor(show.Screen(), member, vectors, (own, arbor), sure, counted, Display.of(state.job))
    raise typer.Exit(show.FINE)


def _read(
    state: Balancing, runs: tuple[str, str], trial: tuple[list[str], str]
) -> tuple[tuple[complex, complex], float]:
    """Two readings in g·mm, and how sure each is (k = 2)."""
    from truethrow.balance.station.influence import one_plane_by  # noqa: PLC0415
    from truethrow.balance.station.spin import averages, measured, typed_runs  # noqa: PLC0415

    instrument, (texts, radius) = state.instrument, trial

    def vectors(one: str, other: str) -> tuple[complex, complex]:
        front, rear = averages(typed_runs([one, other], instrument), instrument)
        return front.vector_gmm, rear.vector_gmm

    def sure(of: complex) -> float:
        return measured(of, 0.0, instrument).widest_gmm

    straight, turned = vectors(*runs)
    if not instrument.reads_divisions:
        if texts or radius:
            wrong = "goes with a station that reads divisions only"
            raise BadInput([Fault("--trial, --radius", wrong, "without it")])
        return (straight, turned), max(map(sure, (straight, turned)))
    masses, readings = _trials(texts, radius)
    first, second = vectors(*readings)
    widest = max(map(sure, (straight, turned, first, second)))
    try:
        made = one_plane_by(straight, (masses[0], first), (masses[1], second), widest / 2)
    except ValueError as error:
        raise BadInput([Fault("--trial", str(error))]) from None
    told = made.unbalance(straight), made.unbalance(turned)
    return told, max(math.hypot(widest / abs(made.per_gmm), made.sure_part * abs(one)) for one in told)


def _trials(texts: list[str], radius: str) -> tuple[list[complex], tuple[str, str]]:
    """``20g@30=14.2@81`` twice: what was on, and what was read."""
    from truethrow.cli.station import trials  # noqa: PLC0415

    parted = [text.partition("=") for text in texts]
    if len(parted) != 2 or not all(reading for *_, reading in parted) or not radius:
        wrong = "this station reads divisions: a trial mass tells what they are"
        way = "twice --trial 20g@30=14.2@81, the mass moved by a quarter of a turn in between, and --radius 90mm"
        raise BadInput([Fault("--trial", wrong, remedy=way)])
    masses = [trials.typed(mass.strip(), "", radius)[0][0].vector_gmm for mass, *_ in parted]
    return masses, (parted[0][2], parted[1][2])


def _replacement(state: Balancing, new: Member, show_in: str | None, json: bool) -> None:
    """What makes a new one equal to the one that it replaces."""
    from truethrow.cli.station import external_tables as tables  # noqa: PLC0415
    from truethrow.worksheets.data import station_data  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    old, found = equalled(state, new)
    must = state.last and state.with_old(old.name)
    if json:
        show.as_json(station_data.alike(new, old, found, must))
    else:
        display = Display.of(state.job, show_in).with_drills(state.profile.tools)
        tables.alike(show.Screen(), new, old, found, state, must, display)
    show.end("" if found.is_equal else "the new one is not equal to the old one yet", quiet=json)


def equalled(state: Balancing, new: Member) -> tuple[Member, Alike]:
    """The old one, and what makes the new one equal. Raises BadInput where one of them was never measured."""
    from truethrow.balance.correction.alike import alike  # noqa: PLC0415

    assert state.job.crank
    old = state.job.crank.member(new.replaces)
    was = state.members.at_its_place(old)
    faults = [
        Fault(f"external {one.name}", "nobody knows what it brings", "offset, or arbor: two runs on an arbor")
        for one, known in ((old, was), (new, new.offset))
        if known is None
    ]
    if faults:
        raise BadInput(faults)
    assert was is not None and new.offset is not None
    unsure = math.hypot(was[1], new.offset.expanded_gmm)
    return old, alike(new, new.offset.gmm, was[0], unsure, state.profile.tools, state.job.crank.wall_mm)


def _all_members(state: Balancing, show_in: str | None, json: bool) -> None:
    from truethrow.cli.station import external_tables as tables  # noqa: PLC0415
    from truethrow.worksheets.data import station_data  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    if json:
        show.as_json({"members": station_data.members(state)})
    else:
        tables.members(show.Screen(), state, Display.of(state.job, show_in))
    raise typer.Exit(show.FINE)


def convert(
    job: LoggedJob,
    to: Annotated[
        Literal["internal", "external"],
        typer.Option("--to", metavar="internal|external", help="How the crank is to be balanced."),
    ],
    station: Station = NOT_NAMED,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Go from external to internal balance, or back: what it takes.

    To internal: what damper and flexplate bring, the crank's own counterweights must bring, since the new members
    bring nothing. To external: the members declared in the job are new, and the counterweights give up what they
    bring. The vectors in both planes, the holes and the heavy metal, and whether the crank has the room; from what
    the last spin left, or from a true crank before the first. Nothing is recorded. Status 0 where it has the room.

    \b
    truethrow convert my.toml --station station.toml --to internal
    """
    from truethrow.balance.station import balancing  # noqa: PLC0415
    from truethrow.balance.station.by_now import why_stale  # noqa: PLC0415
    from truethrow.worksheets.data import station_data  # noqa: PLC0415

    check_show(show_in)
    state = balancing.load(job, station, show_in)
    if not state.members.must_be_told:
        wrong = "no damper or flexplate of this job has an offset"
        allowed = "a table [[crank.external]] with keyway and offset, or arbor"
        raise BadInput([Fault("crank", wrong, allowed)], source_of(job))
    stale = why_stale(state)
    found = _converted(state, to, is_stale=bool(stale))
    if json:
        data = station_data.convert(found) | {"spin_not_counted": stale or None}
        show.as_json({"job": {"id": state.job.id, "digest": state.job.digest}, **data})
    else:
        from truethrow.cli.station import external_tables as tables  # noqa: PLC0415
        from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

        display = Display.of(state.job, show_in).with_drills(state.profile.tools)
        tables.convert(show.Screen(), found, state, display, stale)
    show.end("" if found.has_room else "the crank does not have the room", quiet=json)


def _converted(state: Balancing, to: Literal["internal", "external"], *, is_stale: bool) -> Converted:
    """What it takes, from what the last spin left."""
    from truethrow.balance.correction import TwoPlanes, apply, converted  # noqa: PLC0415

    assert state.job.crank
    brings = {name: own.gmm for name in state.members.names if (own := state.members.declared(name))}
    now = TwoPlanes(0j, 0j)
    if state.last is not None and not is_stale:
        now = state.with_members(state.last).gmm
        if to == "external":  # the members are new: what the last spin read has none of them in it
            now = state.last.residual
    crank = apply(state.job.crank, [one.hole for one in state.drilled])
    return converted(
        *(crank, state.profile.tools, now, brings, state.planes_mm),
        to=to,
        allowed_gmm=state.limits_gmm,
        speed_rpm=state.job.engine.top_speed_rpm,
    )
