"""The lathe's bench: counterweights turned down, and what must clear over a turn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import Place, source_of
from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Job, Json, ProfileIfAny, Show, loaded_as_far, quantity, tell_way_on
from truethrow.cli.profiles import if_any

if TYPE_CHECKING:
    from truethrow.balance.job.job import Job as OneJob
    from truethrow.balance.station.by_now import ByNow
    from truethrow.balance.station.stationfile import StationProfile

Radius = Annotated[
    str, typer.Option("--to", metavar="RADIUS", help="The new radius, from the crank's axis: 86, 86mm or 3.386in.")
]
Names = Annotated[
    list[str] | None,
    typer.Option("--counterweight", metavar="NAME", help="Only this one; several times for several."),
]


def turn(
    to: Radius,
    job: Job = NOT_NAMED,
    counterweight: Names = None,
    station: ProfileIfAny = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what turning counterweights down takes and costs.

    Before the lathe runs: the grams and the unbalance that come off each, less what holes had taken there; what
    both planes then have; and with the station's profile, the holes and the heavy metal that it costs. A slug that
    would keep too little wall is refused. Nothing is recorded: once it is turned, put the new outer_radius in the
    job and spin the crank.

    \b
    truethrow turn my.toml --to 86mm
    truethrow turn my.toml --to 86mm --counterweight "1 front" \\
      --station station.toml
    """
    from truethrow.balance.correction.lathe import on_the_lathe  # noqa: PLC0415
    from truethrow.balance.result.unbalance import allowed_gmm  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.worksheets.data import planning_data  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    made = loaded_as_far(job, None, show_in, given=True)
    to_mm = _radius("--to", to, made)
    front, rear = allowed_gmm(made)
    found_at = if_any(job, station, ("drill",))
    profile = stationfile.load(found_at, ("drill",)) if found_at is not None else None
    now = crank_by_now(made, job, profile)
    if station is not None and (front is None or rear is None):
        raise BadInput([Fault("station", "has no tolerance", "a limit or a grade")], source_of(job))
    found = on_the_lathe(
        now.mounted,
        to_mm,
        counterweight or (),
        (made.station.front_plane_mm, made.station.rear_plane_mm),
        before=now.reads,
        tools=profile.tools if profile else None,
        allowed_gmm=(front, rear) if front is not None and rear is not None else None,
        speed_rpm=made.engine.top_speed_rpm,
        told_in=made.told_in(show_in),
    )
    instrument = profile.instrument if profile else None
    if json:
        show.as_json(
            {
                "job": {"id": made.id, "digest": made.digest},
                "lathe": planning_data.lathe(found, instrument, is_spun=now.reads is not None, stale=now.stale),
            }
        )
    else:
        from truethrow.cli.planning import planning_tables as tables  # noqa: PLC0415

        display = Display.of(made, show_in)
        out = show.Screen()
        tables.lathe(out, found, display, instrument, is_spun=now.reads is not None, stale=now.stale)
        tell_way_on(out, job)
    stays = found.plan is not None and found.plan.stays
    show.end("these tools do not bring both planes inside again" if stays else "", quiet=json)


def clearance(
    job: Job = NOT_NAMED,
    turned_to: Annotated[
        str | None,
        typer.Option("--turned-to", metavar="RADIUS", help="As if the counterweights were turned to this radius."),
    ] = None,
    drawing: Annotated[
        Path | None,
        typer.Option("--drawing", metavar="FILE", help="Draw the turn at the least distance (SVG)."),
    ] = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what comes near what over one turn, and where.

    By exact kinematics: piston skirts against counterweights, rods' bolts and counterweights against the
    camshaft, the pan's rail and whatever else the job's [clearance] declares. Only what is declared is looked at;
    the rest is named. Status 1 where something touches or has less than the least wanted.

    \b
    truethrow clearance my.toml
    truethrow clearance my.toml --turned-to 86mm --drawing nearest.svg
    """
    from truethrow.balance.running import clearance as physics  # noqa: PLC0415
    from truethrow.worksheets.data import planning_data  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415
    from truethrow.worksheets.words import planning_words  # noqa: PLC0415

    made = loaded_as_far(job, None, show_in, given=True)
    if made.clearance is None:
        example = "such as skirt_below_pin = 40, or [[clearance.circle]] with name, distance, angle, radius"
        raise BadInput([Fault("clearance", "missing", f"a table [clearance], {example}")], source_of(job))
    crank = made.crank
    if turned_to is not None:
        from truethrow.balance.crank import turning  # noqa: PLC0415

        crank = crank_by_now(made, job).crank
        crank = turning.after(
            crank, turning.turn(crank, _radius("--turned-to", turned_to, made), told_in=made.told_in(show_in))
        )
    found = physics.gaps(made.engine, crank, made.clearance)
    unseen = physics.not_looked_at(made.engine, crank, made.clearance)
    if not found:
        raise BadInput([Fault("clearance", "nothing to look at", "; ".join(unseen))], source_of(job))
    least_mm = made.clearance.least
    display = Display.of(made, show_in)
    if drawing is not None:
        from truethrow.balance.base import files  # noqa: PLC0415
        from truethrow.worksheets.drawn import nearest  # noqa: PLC0415

        files.write_text(drawing, nearest.drawn(made.engine, crank, made.clearance, found[0], display))
    from truethrow.balance.running.plausible_clearance import doubts  # noqa: PLC0415

    doubted = doubts(made.engine, crank, made.clearance)
    if json:
        data = planning_data.clearance(found, least_mm, unseen, doubted)
        show.as_json({"job": {"id": made.id, "digest": made.digest}, "clearance": data})
    else:
        from truethrow.cli.planning import planning_tables as tables  # noqa: PLC0415

        tables.clearance(out := show.Screen(), found, least_mm, unseen, display, doubted)
        tell_way_on(out, job)
    short = any(planning_words.gap_verdict(gap, least_mm) in planning_words.TOO_LITTLE for gap in found)
    show.end("something touches, or has less than the least wanted" if short else "", quiet=json)


def crank_by_now(made: OneJob, job: Place, profile: StationProfile | None = None) -> ByNow:
    """The crank with all that was drilled, and what it reads. profile: the station's. Raises BadInput for a job
    without a crank."""
    from truethrow.balance.log.place import is_standard_input, open_log  # noqa: PLC0415
    from truethrow.balance.station.by_now import by_now  # noqa: PLC0415

    return by_now(made, () if is_standard_input(job) else open_log(job).records, source_of(job), profile)


def _radius(option: str, typed: str, made: OneJob) -> float:
    from truethrow.balance.base import units  # noqa: PLC0415

    value = quantity(option, typed, units.LENGTH, made.length_unit)
    if not 0 < value <= units.LONGEST_MM:
        raise BadInput(
            [
                Fault(
                    option,
                    f"{shown(typed)} is out of reach",
                    f"above 0 and at most {made.told_in().size(units.LONGEST_MM)}",
                )
            ]
        )
    return value
