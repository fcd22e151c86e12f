"""The balancing station's bench, before the crank spins: the stacks to hang, and what an arriving crank needs."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.balance.log.place import Place, has_log, must_have_a_log, open_log, source_of
from truethrow.cli import show
from truethrow.cli.common import NOT_NAMED, Job, Json, Sheet, Show, display_of, tell_next, worked
from truethrow.cli.progress import Bar
from truethrow.cli.station.spin_to_sign import LARGEST_G, By
from truethrow.cli.station.which_station import Station

if TYPE_CHECKING:
    from truethrow.balance.correction import Arriving, TwoPlanes
    from truethrow.balance.crank.crank import Crank
    from truethrow.balance.job.job import Job as Job_


def stack(
    job: Job,
    station: Station = NOT_NAMED,
    masses: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="THROW=MASS ...", help="With --built: what the bobweight of each throw weighs, clamp and all."
        ),
    ] = None,
    built: Annotated[
        bool, typer.Option("--built", help="Write down what the built bobweights weigh, one or all.")
    ] = False,
    hung: Annotated[bool, typer.Option("--hung", help="With --built: they hung so at the last spin.")] = False,
    sure: Annotated[
        bool, typer.Option("--sure", help="With --built: it is so, however far off; looked at again.")
    ] = False,
    by: By = "",
    sheet: Sheet = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Build the bobweights out of plates; keep what they weigh.

    The fewest pieces from those that the station's profile has, both halves of a clamp alike, for all throws at
    once.

    Weigh each built bobweight, clamp and all, and type it with --built: what is signed for rests on what really
    hung. It counts from the next spin on; for the last one only with --hung. Where none is weighed, what was asked
    for counts, with what stack and pieces may be off by. Weighed anew, the last weighing counts.

    \b
    truethrow stack my.toml --station station.toml
    truethrow stack my.toml --station station.toml --built 1=1866.4 2=1866.6 \\
      3=1866.4 4=1866.5
    truethrow stack my.toml --station station.toml --built 2=1866.5 --hung
    """
    from truethrow.balance.base import files  # noqa: PLC0415
    from truethrow.balance.station import built as built_mass  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.balance.station.stack import stacks  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415
    from truethrow.worksheets.words.result_words import slips_beside  # noqa: PLC0415

    _check_built(built, masses, sheet, hung=hung, sure=sure)
    kept = files.KeptText(str(station), files.read_text(station))  # what comes next reads it, too: one look
    profile = stationfile.load(kept, ("stack", "piece"))
    if built:
        must_have_a_log(job)
        grams, called = masses_typed(job, masses or []), shlex.quote(profile.source or "STATION")
        built_mass.weighed(job, grams, profile.step_g, called, hung_there=hung, sure=sure, by=by)
    result = worked(job, sheet, show_in, given=True)
    weighed = built_mass.newest(open_log(job).records) if has_log(job) and sheet is None else {}
    inventory = profile.inventory_for(result.job.scale.resolution_g)
    with Bar(in_time=False) as bar:
        found = stacks(
            {throw.throw.name: throw.hung_g for throw in result.bobweights.throws},
            inventory,
            lambda: bar.show("fewest plates and shims"),
        )
    doubt = slips_beside(result)
    if json:
        head = {"job": {"id": result.job.id, "digest": result.job.digest}, "look_again": doubt}
        show.as_json({**head, **words.stacks(found), "built": words.built(result.bobweights.throws, weighed)})
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        out = show.Screen()
        if doubt:
            out.line(f"! {doubt}", strong=True)
        display = display_of(result, show_in)
        tables.stacks(out, found, inventory, display)
        tables.built(out, result.bobweights.throws, weighed, inventory.step_g, display)
        tell_next(out, job, result, kept)
    # What is built and recorded needs no plates any more.
    is_met = found.is_met or built
    wrong = doubt and "look again first" if is_met else "a bobweight can't be made from these pieces"
    show.end(wrong, quiet=json)


def _check_built(built: bool, masses: list[str] | None, sheet: Path | None, *, hung: bool, sure: bool) -> None:
    faults = []
    if not built:
        given = [name for name, one in (("THROW=MASS", masses), ("--hung", hung), ("--sure", sure)) if one]
        faults += [Fault(one, "goes with --built only", remedy="such as --built 1=1866.4") for one in given]
    elif not masses:
        faults.append(Fault("--built", "needs what they weigh", "THROW=MASS, such as 1=1866.4"))
    if built and sheet is not None:
        faults.append(Fault("--sheet", "can't be combined with --built", "the job's own readings"))
    if faults:
        raise BadInput(faults)


def masses_typed(job: Place, texts: list[str]) -> dict[str, tuple[float, str]]:
    """``1=1866.4 2=1866.6`` → throw: its mass in grams, and as it is kept; a bare one is in the unit of the scale.
    Raises BadInput with every fault."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415
    from truethrow.balance.job.job import own_readings  # noqa: PLC0415

    made = own_readings(job, given=True)
    unit = made.scale_unit
    grams: dict[str, tuple[float, str]] = {}
    faults = []
    for text in texts:
        throw, _, typed = (part.strip() for part in text.partition("="))
        try:
            mass_g = units.parse(typed, units.MASS, unit)
        except units.NotAQuantity as error:
            faults.append(Fault("THROW=MASS", f"{shown(text)!r}: {error}", "a throw and its mass: 1=1866.4"))
            continue
        if throw in grams:
            faults.append(Fault("THROW=MASS", f"throw {shown(throw)} comes twice", "each throw once"))
        if not 0 < mass_g <= LARGEST_G:
            allowed = reach(units.MASS, 0, LARGEST_G, units.unit_of(typed, units.MASS) or unit)
            faults.append(Fault("THROW=MASS", f"{shown(text)!r} is out of reach", allowed))
        is_bare = unit != made.mass_unit and not units.unit_of(typed, units.MASS)
        grams[throw] = mass_g, f"{typed}{unit}" if is_bare else typed
    if faults:
        raise BadInput(faults)
    return grams


def target(
    job: Job,
    masses: Annotated[
        list[str],
        typer.Argument(metavar="MASS ...", help="The maker's target bobweight, one for all throws or each."),
    ],
    station: Station = NOT_NAMED,
    sheet: Sheet = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what a crank balanced for another bobweight needs.

    What the first spin will show with what the job hangs if the maker's balance was true, and whether that takes
    heavy metal. 0 for a crank that its maker balanced bare. Where damper or flexplate carry part of the balance,
    the maker's balance was true with them on; what it shows without them is told, too.

    \b
    truethrow target my.toml --station station.toml 1710
    """
    from truethrow.balance.correction import against_target  # noqa: PLC0415
    from truethrow.balance.result.unbalance import allowed_gmm  # noqa: PLC0415
    from truethrow.balance.station import stationfile  # noqa: PLC0415
    from truethrow.worksheets.data import station_data as words  # noqa: PLC0415
    from truethrow.worksheets.words.result_words import estimated  # noqa: PLC0415

    profile = stationfile.load(station, ("drill",))
    result = worked(job, sheet, show_in, estimated=True)
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
        without = words.two(bare(made, found), profile.instrument) if has_offsets(made.crank) else None
        show.as_json(
            {
                "job": {"id": made.id, "digest": made.digest},
                **words.arriving(found, profile.instrument),
                "without": without,
            }
        )
    else:
        from truethrow.cli.station import station_tables as tables  # noqa: PLC0415

        out, display = show.Screen(), display_of(result, show_in).with_drills(profile.tools)
        if said := estimated(made):
            out.line(f"! {said}", strong=True)
        if has_offsets(made.crank):
            tables.arriving_bare(out, bare(made, found), display, profile.instrument)
        tables.arriving(out, found, display, profile.instrument)
    show.end("not all of it can be taken" if found.plan.stays else "", quiet=json)


def has_offsets(crank: Crank) -> bool:
    """Whether a member of the crank carries part of its balance."""
    return any(one.offset for one in crank.externals)


def bare(job: Job_, found: Arriving) -> TwoPlanes:
    """What an arriving crank shows without the members that carry part of its balance."""
    from truethrow.balance.station.members import bare as without  # noqa: PLC0415

    assert job.crank
    planes_mm = job.station.front_plane_mm, job.station.rear_plane_mm
    return found.unbalance.plus(without(job.crank, planes_mm, [one.name for one in job.crank.externals]))


def _targets_g(masses: list[str], unit: str, throws: int, faults: list[Fault]) -> list[float]:
    """The maker's masses as typed. unit: of a bare number; throws: how many there are."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415

    found: list[float] = []
    for text in masses:
        try:
            mass_g = units.parse(text, units.MASS, unit)
        except units.NotAQuantity as error:
            faults.append(Fault("MASS", str(error), "a mass"))
            continue
        if not 0 <= mass_g <= LARGEST_G:
            told_in = units.unit_of(text, units.MASS) or unit
            allowed = reach(units.MASS, 0, LARGEST_G, told_in, zero="0 (spun bare)")
            faults.append(Fault("MASS", f"{shown(text)} is out of reach", allowed))
        found.append(mass_g)
    if len(masses) not in (1, throws):
        faults.append(Fault("MASS", f"{len(masses)} for {throws} throws", f"one, or {throws}"))
    return found
