"""Damper, flexplate, clutch cover: from external balance to internal and back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.log.place import source_of
from truethrow.cli import show
from truethrow.cli.common import Json, LoggedJob, Show, check_show
from truethrow.cli.station.spin_to_sign import Station

if TYPE_CHECKING:
    from truethrow.balance.correction import Converted
    from truethrow.balance.station.balancing import Balancing


def convert(
    job: LoggedJob,
    station: Station,
    to: Annotated[
        Literal["internal", "external"],
        typer.Option("--to", metavar="internal|external", help="How the crank is to be balanced."),
    ],
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what it takes to balance a crank internally instead of externally, or the other way round.

    To internal: what damper and flexplate bring, the crank's own counterweights must bring, since the new members
    bring nothing. To external: the members declared in the job are new, and the counterweights give up what they
    bring. The vectors in both planes, the holes and the heavy metal, and whether the crank has the room; from what
    the last spin left, or from a true crank before the first. Nothing is recorded. Status 0 where it has the room.

    \b
    truethrow convert my.toml --station station.toml --to internal
    """
    from truethrow.balance.station import balancing  # noqa: PLC0415
    from truethrow.worksheets.data import station_data  # noqa: PLC0415

    check_show(show_in)
    state = balancing.load(job, station)
    if not state.members.must_be_told:
        wrong = "no damper or flexplate of this job has an offset"
        allowed = "a table [[crank.external]] with keyway and offset, or arbor"
        raise BadInput([Fault("crank", wrong, allowed)], source_of(job))
    found = _converted(state, to)
    if json:
        show.as_json({"job": {"id": state.job.id, "digest": state.job.digest}, **station_data.convert(found)})
    else:
        from truethrow.cli.station import external_tables as tables  # noqa: PLC0415
        from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

        tables.convert(show.Screen(), found, state, Display.of(state.job, show_in))
    raise typer.Exit(show.FINE if found.has_room else show.OUTSIDE)


def _converted(state: Balancing, to: Literal["internal", "external"]) -> Converted:
    """What it takes, from what the last spin left."""
    from truethrow.balance.correction import TwoPlanes, apply, converted  # noqa: PLC0415

    assert state.job.crank
    brings = {name: own.gmm for name in state.members.names if (own := state.members.declared(name))}
    now = TwoPlanes(0j, 0j)
    if state.last is not None and not state.is_edited:
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
