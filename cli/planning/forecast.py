"""Before the parts are there: the target bobweight, how sure it is, and what to weigh first."""

from __future__ import annotations

import typer

from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Job, Json, Sheet, Show, display_of, tell_way_on, worked


def forecast(job: Job = NOT_NAMED, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Show the bobweight to order a crank for, before parts are in.

    With how sure it is, from catalog weights in the job's [estimate], such as piston = { about = 521, within =
    2, scatter = 0.8 }: about, by the catalog; within, how far the whole box may be off that, up or down;
    scatter, the standard deviation from piece to piece. A part that was weighed counts as weighed, and the range
    gets tighter part by part. Nothing is hung, cut or signed by an estimate.

    \b
    truethrow forecast my.toml
    """
    result = worked(job, sheet, show_in, estimated=True)
    from truethrow.balance.running.forecast import forecast as made  # noqa: PLC0415
    from truethrow.worksheets.data import planning_data, result_data  # noqa: PLC0415

    found = made(result)
    if json:
        show.as_json({"job": result_data.job(result), "forecast": planning_data.forecast(found)})
    else:
        from truethrow.cli.planning import planning_tables as tables  # noqa: PLC0415

        tables.forecast(out := show.Screen(), result, found, display_of(result, show_in))
        tell_way_on(out, job)
    raise typer.Exit(show.FINE)
