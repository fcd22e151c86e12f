"""The engine room: the crank's layout, what shakes, the right share, and how sure every figure is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault, shown
from truethrow.cli import show
from truethrow.cli.common import (
    NOT_NAMED,
    Job,
    Json,
    Sheet,
    Show,
    display_of,
    end,
    job_named,
    lives_on,
    quantity,
    tell_way_on,
    worked,
)
from truethrow.cli.progress import Bar

if TYPE_CHECKING:
    from truethrow.balance.engine.layout import Layout
    from truethrow.balance.engine.share import Shares
    from truethrow.balance.log.place import Place
    from truethrow.balance.result.work import Result

# A layout by name has no lengths: its figures are per gram, throw radius and angular speed, at this r/L.
USUAL_RATIO = 0.3
LEAST_DRAWS, MOST_DRAWS = 1_000, 1_000_000

Speed = Annotated[
    str | None, typer.Option("--at", metavar="SPEED", help="Speed, r/min unless it names a unit; else top_speed.")
]
JobOrLayout = Annotated[
    str,
    typer.Argument(metavar="JOB|LAYOUT", help="Job file (TOML), id of a job in the book, - or a layout's name."),
]


def layouts(
    which: Annotated[
        str | None,
        typer.Argument(metavar="JOB|LAYOUT", help="A job, as for share, or a layout, to draw it."),
    ] = None,
    json: Json = False,
) -> None:
    """List the layouts, or draw one.

    A job can declare any other crank. Two rods side by side on one pin are not in one plane: rods_apart (from
    middle to middle) and rod_in_front (the bank) in [engine] say how they lie.

    \b
    truethrow layouts
    truethrow layouts v6-60-even
    truethrow layouts my.toml
    """
    from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

    if which is None:
        if json:
            show.as_json({"layouts": {name: generic.description for name, generic in GENERIC.items()}})
            return
        rows = [[name, generic.description] for name, generic in GENERIC.items()]
        out = show.Screen()
        out.table(["layout", "is"], rows, words=["is"])
        out.line(
            "Next: see one, truethrow layouts NAME; make a job of it: truethrow new NAME my.toml", strong=True
        )
        return
    from truethrow.worksheets.data import physics_data  # noqa: PLC0415

    name, made, firing_order = _named_layout(which)
    if json:
        show.as_json({"layout": name} | physics_data.layout(made, firing_order))
        return
    from truethrow.cli.why import why_tables  # noqa: PLC0415

    why_tables.layout(show.Screen(), name, made, firing_order)


def shake(
    job: Job = NOT_NAMED,
    sheet: Sheet = None,
    at: Speed = None,
    about: Annotated[
        str | None, typer.Option("--about", metavar="Z", help="Couples about this z; else the crank's middle.")
    ] = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what shakes over one turn at a speed.

    Force and couple of the whole assembly as weighed and as hung, with exact kinematics; what the masses pull.

    \b
    truethrow shake my.toml
    truethrow shake my.toml --at 4200 --about "0 mm"
    """
    result = worked(job, sheet, show_in, estimated=True)
    from truethrow.balance.base.units import LENGTH  # noqa: PLC0415
    from truethrow.balance.running import running  # noqa: PLC0415 (numpy; not before the job is known to be sound)
    from truethrow.worksheets.data import physics_data, result_data  # noqa: PLC0415

    about_mm = None if about is None else _option("--about", about, LENGTH, result.job.length_unit)
    found = running.shake(result, _speed(result, at), about_mm)
    if json:
        show.as_json({"job": result_data.job(result), "shake": physics_data.shake(found)})
    else:
        from truethrow.cli.why import why_tables  # noqa: PLC0415

        why_tables.shake(out := _screen(result), result, found, display_of(result, show_in))
        tell_way_on(out, job)
    end(result, quiet=json)


def share(
    which: JobOrLayout,
    sheet: Sheet = None,
    at: Speed = None,
    ratio: Annotated[
        float | None,
        typer.Option("--ratio", metavar="R/L", help="Throw radius over rod length, for a layout's name."),
    ] = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Find the right share of the reciprocating mass.

    Shaking against share for every aim, the best share found for each, and whether bobweights make sense here.

    \b
    truethrow share v8-90-crossplane
    truethrow share inline-3 --ratio 0.28
    truethrow share my.toml --at 5600 --show inch
    """
    from truethrow.cli.why import why_tables  # noqa: PLC0415
    from truethrow.worksheets.data import physics_data  # noqa: PLC0415

    if _is_layout(which):
        of_a_job = {"--at": at, "--sheet": sheet, "--show": show_in}
        if given := [option for option, value in of_a_job.items() if value is not None]:
            raise BadInput([Fault(option, "can't be combined with a layout's name", "a job") for option in given])
        name, found, unit = which, _layout_shares(which, USUAL_RATIO if ratio is None else ratio), "m·r·ω²"
        rods, estimated, display = None, "", None
    else:
        if ratio is not None:
            raise BadInput(
                [Fault("--ratio", "can't be combined with a job, which has its own lengths", "a layout's name")]
            )
        result = worked(_job(which), sheet, show_in, estimated=True)
        from truethrow.balance.running import running  # noqa: PLC0415
        from truethrow.worksheets.words import result_words  # noqa: PLC0415

        display = display_of(result, show_in)

        name, found, unit = result.job.id, running.job_shares(result, _speed(result, at)), "N"
        estimated = result_words.estimated(result.job)
        rods = result_words.rods(result, display)
    if json:
        show.as_json({"of": name, "unit": unit} | physics_data.shares(found) | {"rods": rods})
        return
    out = show.Screen()
    if estimated:
        out.line(f"! {estimated}", strong=True)
    why_tables.shares(out, name, found, display, rods)
    if display is None:
        out.line(f"Next: make a job of it: truethrow new {name} my.toml", strong=True)
    else:
        tell_way_on(out, _job(which))


def sure(
    job: Job = NOT_NAMED,
    sheet: Sheet = None,
    draws: Annotated[
        int | None,
        typer.Option("--draws", metavar="N", help="Draw every reading N times (Monte Carlo, JCGM 101)."),
    ] = None,
    seed: Annotated[int | None, typer.Option("--seed", metavar="N", help="Another set of draws.")] = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show how sure each figure is, and why.

    First-order uncertainty of every figure with what it is made of; with --draws, a Monte Carlo beside it.

    \b
    truethrow sure my.toml
    truethrow sure my.toml --draws 50000
    """
    result = worked(job, sheet, show_in, estimated=True)
    from truethrow.balance.running import budget  # noqa: PLC0415
    from truethrow.worksheets.data import physics_data, result_data  # noqa: PLC0415

    found = budget.budgets(result)
    made = None
    if draws is not None:
        from truethrow.balance.running import draws as monte_carlo  # noqa: PLC0415

        if not LEAST_DRAWS <= draws <= MOST_DRAWS:
            raise BadInput([Fault("--draws", f"{draws} is out of reach", f"{LEAST_DRAWS} to {MOST_DRAWS}")])
        if seed is not None and seed < 0:
            raise BadInput([Fault("--seed", f"{seed} is below zero", "0 or more")])
        seed = monte_carlo.SEED if seed is None else seed
        lives_on()
        with Bar() as bar:
            made = monte_carlo.draw(result, draws, seed, lambda done: bar.show("drawing", done / draws))
    if json:
        data: dict[str, Any] = {"job": result_data.job(result), "budget": [b.as_data() for b in found]}
        if made is not None and draws is not None and seed is not None:
            data["monte_carlo"] = physics_data.drawn(made, draws, seed)
        show.as_json(data)
        return
    from truethrow.cli.why import why_tables  # noqa: PLC0415

    why_tables.sure(out := _screen(result), result, found, made, display_of(result, show_in))
    tell_way_on(out, job)


def _screen(result: Result) -> show.Screen:
    """A screen that says first what is only an estimate."""
    from truethrow.worksheets.words import result_words  # noqa: PLC0415

    out = show.Screen()
    if said := result_words.estimated(result.job):
        out.line(f"! {said}", strong=True)
    return out


def _is_layout(which: str) -> bool:
    from truethrow.balance.engine.layout import GENERIC  # noqa: PLC0415

    return which in GENERIC


def _job(which: str) -> Place:
    """The job that a word means which names no layout; one that names no job either is told with the layouts."""
    from truethrow.balance.engine.layout import GENERIC, closest  # noqa: PLC0415

    try:
        return job_named(which)
    except BadInput as error:
        wrong = f"{shown(which)!r} is neither a layout nor a file{closest(which)}"
        raise BadInput([Fault("layout", wrong, ", ".join(GENERIC)), *error.faults], error.source) from None


def _named_layout(which: str) -> tuple[str, Layout, tuple[int, ...]]:
    from truethrow.balance.engine.layout import generic_layout  # noqa: PLC0415

    if _is_layout(which):
        return which, generic_layout(which), ()
    from truethrow.balance.job.jobfile import load_engine  # noqa: PLC0415

    engine = load_engine(_job(which))
    return engine.layout_name, engine.spaced, engine.firing_order


def _layout_shares(name: str, ratio: float) -> Shares:
    """Shares of a layout by name, for a mass, a radius and an angular speed of one."""
    from truethrow.balance.engine import shaking  # noqa: PLC0415
    from truethrow.balance.engine import share as finder  # noqa: PLC0415
    from truethrow.balance.engine.layout import generic_layout  # noqa: PLC0415

    if not 0 < ratio < 1:
        raise BadInput([Fault("--ratio", f"{digits(ratio)} cannot turn", "above 0, below 1")])
    made = generic_layout(name, 1000.0)  # a spacing of a metre: couples come out per spacing
    parts = shaking.assembly(made, [1.0] * len(made.places), 1.0, 1.0 / ratio)
    return finder.shares(made, parts, shaking.UNIT_SPEED_RPM)


def _speed(result: Result, at: str | None) -> float:
    from truethrow.balance.base.units import SPEED  # noqa: PLC0415

    if at is not None:
        return _option("--at", at, SPEED, "rpm")
    if result.job.engine.top_speed_rpm is None:
        raise BadInput([Fault("--at", "missing, and the job has no top_speed", "a speed")])
    return result.job.engine.top_speed_rpm


def _option(name: str, typed: str, dimension: Any, unit: str) -> float:
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.base.amounts import reach  # noqa: PLC0415

    value = quantity(name, typed, dimension, unit)
    if dimension is units.LENGTH and abs(value) > units.LONGEST_MM:
        most = units.LONGEST_MM
        allowed = reach(dimension, -most, most, units.unit_of(typed, dimension) or unit)
        raise BadInput([Fault(name, f"{shown(typed)} is out of reach", allowed)])
    if dimension is units.SPEED and not 0 < value <= units.FASTEST_RPM:
        raise BadInput(
            [Fault(name, f"{shown(typed)} is out of reach", f"above 0 and at most {units.FASTEST_RPM:g} rpm")]
        )
    return value
