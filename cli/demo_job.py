"""The demo: the whole job on an invented engine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import has_log, output_path
from truethrow.cli import show
from truethrow.cli.builder.building import tell
from truethrow.cli.common import Json, Show, tell_next, worked
from truethrow.cli.station.send import ENDING, send_sheet

# In the demo's folder: the job carried on to its end, and what hangs on the wall at each of its stages.
CARRIED_ON, CARDS, NOW, PLANNED = "carried-on", "cards", "as-it-is-now", "planning"
ON_THE_WALL = (("bench", "trim", "bobweight"), ("bobweight", "station"), ())  # the last: all, for the customer


def demo(
    into: Annotated[
        Path, typer.Option("--into", metavar="FOLDER", help="Where the demo's files are written.")
    ] = Path("truethrow-demo"),
    cards: Annotated[
        bool, typer.Option("--cards", help="Carry the job on until it is signed, and print all its cards.")
    ] = False,
    planning: Annotated[
        bool,
        typer.Option("--planning", help="Show the stage before: parts and crank chosen, ordered and quoted."),
    ] = False,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Work the demo engine, no file needed.

    Its job file, weigh sheet and station's sheet are left to play with. The demo engine is outside its limits
    on purpose, and two of its readings look like slips; the status is 0 all the same.

    \b
    truethrow demo
    truethrow demo --planning
    truethrow demo --cards
    truethrow demo --into /tmp/launch --show inch
    """
    from truethrow.balance import demo as example  # noqa: PLC0415

    if planning:
        if cards or json:
            raise BadInput([Fault("--planning", f"can't be combined with {'--cards' if cards else '--json'}")])
        from truethrow.cli.planning.planning_tour import show_planning  # noqa: PLC0415 (many commands)

        show_planning(into / PLANNED, show_in)
        return
    printed = _cards(into, show_in) if cards else []
    job, sheet = example.copy_into(into)
    result = worked(job, sheet, show_in)
    written = send_sheet(job, result, output_path(job, ENDING))
    also = {"cards": printed} if cards else {}
    tell(result, ("head", "bobweights", "spreads", "slips", "trim"), show_in, json, written, **also)
    if json:
        return
    out = show.Screen()
    out.line(f"Work it again: truethrow work {shown_path(job)} --sheet {shown_path(sheet)}")
    out.line(
        "Two of its parts come from other boxes and are far off: once the sheet is entered, confirm them as told "
        "above, and the trim is planned."
    )
    out.line("Before any of it was bought: truethrow demo --planning")
    for one in printed:
        out.line(f"Cards: {shown_path(Path(one['folder']))}, {len(one['written'])} files")
    tell_next(out, job, result)


def _cards(into: Path, show_in: str | None) -> list[dict[str, Any]]:
    """The cards of each of the job's stages, as the job is carried on; of a job that was carried on before, which
    stays as it is, those of today."""
    from truethrow.balance.demo import story  # noqa: PLC0415
    from truethrow.cli.paper.print_cards import print_cards  # noqa: PLC0415

    if has_log(story.job_in(into / CARRIED_ON)):
        job, station = story.job_in(into / CARRIED_ON), story.station_in(into / CARRIED_ON)
        return [print_cards(job, into / CARDS / NOW, station=station, show_in=show_in)[2]]
    return [
        print_cards(job, into / CARDS / stage, station=station, only=only, show_in=show_in)[2]
        for (stage, job, station), only in zip(story.told(into / CARRIED_ON), ON_THE_WALL, strict=True)
    ]
