"""The order to the crank's maker."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import source_of
from truethrow.cli import page_out, show
from truethrow.cli.common import (
    NOT_NAMED,
    Job,
    Json,
    Sheet,
    Show,
    display_of,
    lives_on,
    quantity,
    tell_way_on,
    worked,
)
from truethrow.cli.progress import Bar
from truethrow.cli.station.which_station import Station

if TYPE_CHECKING:
    from truethrow.balance.job.job import Job as OneJob

# No bobweight is heavier. [g]
HEAVIEST_G = 1e5


def order(
    job: Job = NOT_NAMED,
    station: Station = NOT_NAMED,
    target: Annotated[
        str | None,
        typer.Option("--target", metavar="MASS", help="Order for this bobweight instead of what is forecast."),
    ] = None,
    sheet: Sheet = None,
    out: page_out.Out = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what to order from the crank's maker.

    Layout, stroke and throws, the target bobweight and how sure it is, the tolerance, internal or external
    balance, and what was assumed. How far the parts may weigh from the target before drilling the counterweights
    alone no longer does is worked out by the same plan of holes as the station makes. Status 1 where the parts may
    need heavy metal.

    \b
    truethrow order my.toml --station station.toml
    truethrow order my.toml --station station.toml --target 1850 --out order.pdf
    """
    from truethrow.balance.correction.ordering import STEPS, drilling_range  # noqa: PLC0415
    from truethrow.balance.result.unbalance import allowed_gmm  # noqa: PLC0415
    from truethrow.balance.running.forecast import forecast  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.worksheets.data import planning_data, result_data  # noqa: PLC0415

    page_out.check_endings(out)
    profile = stationfile.load(station, ("drill",))
    result = worked(job, sheet, show_in, estimated=True)
    made, found = result.job, forecast(result)
    target_g = found.target.value_g if target is None else target_of(target, made)
    front, rear = allowed_gmm(made)
    faults = []
    if made.crank is None:
        faults.append(Fault("crank", "missing", "a table [crank] with its counterweights", source_of(job)))
    if front is None or rear is None:
        faults.append(Fault("station", "has no tolerance", "a limit or a grade", source_of(job)))
    if faults:
        raise BadInput(faults)
    assert made.crank and front is not None and rear is not None
    lives_on()
    with Bar() as bar:
        taken = drilling_range(
            made.crank,
            profile.tools,
            made.engine.throw_radius_mm,
            made.layout.throws,
            (made.station.front_plane_mm, made.station.rear_plane_mm),
            (front, rear),
            progress=lambda done: bar.show("how far drilling does", min(1.0, done / STEPS)),
        )
    if out is not None:
        from truethrow.worksheets.pages.order_page import order_page  # noqa: PLC0415

        display = display_of(result, show_in)
        page_out.write(
            lambda day: order_page(result, found.target, target_g, taken, (front, rear), display, day),
            out,
            quiet=json,
        )
    if json:
        data = planning_data.order(found.target, target_g, taken)
        show.as_json({"job": result_data.job(result), "order": data})
    else:
        from truethrow.cli.planning import planning_tables as tables  # noqa: PLC0415

        screen = show.Screen()
        tables.order(screen, result, found.target, target_g, taken, (front, rear), display_of(result, show_in))
        tell_way_on(screen, job)
    is_sure = taken.covers(found.target.least_g - target_g, found.target.most_g - target_g)
    show.end("" if is_sure else "drilling alone may not do for these parts", quiet=json)


def target_of(typed: str, made: OneJob, *, bare: bool = False) -> float:
    """A target bobweight as it is typed. bare: whether it may be 0, of a crank that was balanced with nothing
    hung."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415

    mass_g = quantity("--target", typed, units.MASS, made.mass_unit)
    if not 0 <= mass_g <= HEAVIEST_G or not (mass_g or bare):
        told_in = units.unit_of(typed, units.MASS) or made.mass_unit
        allowed = reach(units.MASS, 0, HEAVIEST_G, told_in, zero="0 (balanced bare)" if bare else "")
        raise BadInput([Fault("--target", f"{shown(typed)} is out of reach", allowed)])
    return mass_g
