"""The balancing station's bench, before the crank spins: the stacks to hang, and what an arriving crank needs."""

from __future__ import annotations

from typing import Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import source_of
from truethrow.cli import show
from truethrow.cli.common import Job, Json, Sheet, Show, display_of, worked
from truethrow.cli.station.spin_to_sign import LARGEST_G, Station


def stack(job: Job, station: Station, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Show which plates and shims make the bobweights.

    The fewest pieces from those that the station's profile has, both halves of a clamp alike, for all throws at
    once.

    \b
    truethrow stack my.toml --station station.toml
    """
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.balance.station.stack import stacks  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415
    from truethrow.worksheets.words.result_words import slips_beside  # noqa: PLC0415

    profile = stationfile.load(station, ("stack", "piece"))
    result = worked(job, sheet, show_in)
    inventory = profile.inventory_for(result.job.scale.resolution_g)
    found = stacks({throw.throw.name: throw.hung_g for throw in result.bobweights.throws}, inventory)
    doubt = slips_beside(result)
    if json:
        head = {"job": {"id": result.job.id, "digest": result.job.digest}, "look_again": doubt}
        show.as_json({**head, **words.stacks(found)})
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        out = show.Screen()
        if doubt:
            out.line(f"! {doubt}", strong=True)
        tables.stacks(out, found, inventory, display_of(result, show_in))
    raise typer.Exit(show.FINE if found.is_met and not doubt else show.OUTSIDE)


def target(
    job: Job,
    station: Station,
    masses: Annotated[
        list[str],
        typer.Argument(metavar="MASS ...", help="The maker's target bobweight, one for all throws or each."),
    ],
    sheet: Sheet = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what a crank needs that came balanced for another bobweight.

    What the first spin will show with what the job hangs if the maker's balance was true, and whether that takes
    heavy metal. 0 for a crank that its maker balanced bare.

    \b
    truethrow target my.toml --station station.toml 1710
    """
    from truethrow.balance.correction import against_target  # noqa: PLC0415
    from truethrow.balance.result.unbalance import allowed_gmm  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415

    profile = stationfile.load(station, ("drill",))
    result = worked(job, sheet, show_in)
    made, throws = result.job, result.job.layout.throws
    faults: list[Fault] = []
    targets_g = _targets_g(masses, made.mass_unit, len(throws), faults)
    front, rear = allowed_gmm(made)
    if made.crank is None:
        faults.append(Fault("crank", "missing", "a table [crank] with what may be drilled", source_of(job)))
    if front is None or rear is None:
        faults.append(Fault("station", "has no tolerance", "a limit or a grade", source_of(job)))
    if faults:
        raise BadInput(faults)
    assert made.crank and front is not None and rear is not None
    found = against_target(
        [throw.hung_g for throw in result.bobweights.throws],
        targets_g * (len(throws) // len(targets_g)),
        made.engine.throw_radius_mm,
        throws,
        made.crank,
        profile.tools,
        (made.station.front_plane_mm, made.station.rear_plane_mm),
        allowed_gmm=(front, rear),
        speed_rpm=made.engine.top_speed_rpm,
    )
    if json:
        show.as_json({"job": {"id": made.id, "digest": made.digest}, **words.arriving(found)})
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        tables.arriving(show.Screen(), found, display_of(result, show_in))
    raise typer.Exit(show.OUTSIDE if found.plan.stays else show.FINE)


def _targets_g(masses: list[str], unit: str, throws: int, faults: list[Fault]) -> list[float]:
    """The maker's masses as typed. unit: of a bare number; throws: how many there are."""
    from truethrow.balance.base import units  # noqa: PLC0415

    found: list[float] = []
    for text in masses:
        try:
            found.append(units.parse(text, units.MASS, unit))
        except units.NotAQuantity as error:
            faults.append(Fault("MASS", str(error), "a mass"))
    if len(masses) not in (1, throws):
        faults.append(Fault("MASS", f"{len(masses)} for {throws} throws", f"one, or {throws}"))
    faults += [
        Fault("MASS", f"{shown(g)} g is out of reach", "0 (spun bare) to 100000 g")
        for g in found
        if not 0 <= g <= LARGEST_G
    ]
    return found
