"""The bobweight of a matched set, from the weights on paper: no file, no scale."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.cli import asking, show
from truethrow.cli.common import Json, Show, check_show
from truethrow.cli.weighing.new_and_enter import Id, MassUnit, ScaleStep, layout_names, made_id, set_or, write_job

if TYPE_CHECKING:
    from collections.abc import Mapping

    from truethrow.balance.job.blank import Wanted
    from truethrow.balance.result.work import Result

KINDS = ("piston", "pin", "locks", "rings", "small_end", "big_end", "bearings")
# An engine may do without these: pins that are pressed in need no locks, and some rods run on the pin itself.
MAY_BE_NONE = ("locks", "rings", "bearings")


def tally(
    layout: Annotated[
        str, typer.Argument(help="The crank by name; truethrow layouts lists them.", autocompletion=layout_names)
    ] = "",
    piston: Annotated[str, typer.Option("--piston", metavar="MASS", help="Piston, bare.")] = "",
    pin: Annotated[str, typer.Option("--pin", metavar="MASS", help="Pin.")] = "",
    locks: Annotated[str, typer.Option("--locks", metavar="MASS", help="Both locks of a pin; 0 for none.")] = "",
    rings: Annotated[str, typer.Option("--rings", metavar="MASS", help="All rings of a piston; 0 for none.")] = "",
    small_end: Annotated[str, typer.Option("--small-end", metavar="MASS", help="Rod, small end.")] = "",
    big_end: Annotated[str, typer.Option("--big-end", metavar="MASS", help="Rod, big end.")] = "",
    bearings: Annotated[
        str, typer.Option("--bearings", metavar="MASS", help="Both shells of a rod bearing; 0 for none.")
    ] = "",
    share: Annotated[
        str, typer.Option("--share", metavar="PART", help="Of what goes up and down; 0.5 if not said.")
    ] = "",
    oil: Annotated[str, typer.Option("--oil", metavar="MASS", help="A throw; 0 if not said.")] = "",
    unit: MassUnit = "",
    step: ScaleStep = "",
    save: Annotated[
        Path | None, typer.Option("--save", metavar="JOB", help="Keep it as a job, in this file.")
    ] = None,
    job_id: Id = "",
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Add up the bobweight of a matched set.

    From the weights on paper, one of each kind: piston, pin, locks, rings, both rod ends, bearings. At a terminal
    it asks for what is not given. --save keeps it as a job.

    \b
    truethrow tally
    truethrow tally inline-3 --unit oz --share 0.5
    """
    given = dict(zip(KINDS, (piston, pin, locks, rings, small_end, big_end, bearings), strict=True))
    asks = asking.can_ask() and not json and not (layout and all(given.values()))
    check_show(show_in)
    unit = unit or _unit(asks=asks)
    wanted = (
        _asked(layout, given, share, oil, unit, step) if asks else _told(layout, given, share, oil, unit, step)
    )
    result = _worked(wanted)
    if json:
        show.as_json(_as_data(result))
    else:
        _tell(result, show_in)
    if save is None and asks:
        typed = asking.ask(_words().SAVE_AS, str)
        save = Path(typed) if typed else None
    if save is not None:
        name = job_id or made_id(save, asks=asks)
        write_job(save, wanted._replace(id=name), None)
        if not json:
            show.Screen().line(f"Written: {shown_path(save)}. Next: truethrow hang {shown_path(save)}")
    elif not json and not asks:
        show.Screen().line(_words().NEXT_SAVE)
    show.end("a reading looks like a slip" if result.slips else "", quiet=json)


def _unit(*, asks: bool) -> str:
    """The unit that nobody said: the one that is set, where the questions show it; else grams. Raises BadInput
    where another is set: a bare number could then be meant in either."""
    usual = set_or("mass_unit", "g")
    if usual != "g" and not asks:
        wrong = f"bare masses are grams here, and {usual} is set for every day"
        raise BadInput([Fault("--unit", wrong, remedy=f"say which: --unit {usual} or --unit g")])
    return usual


def _words() -> Any:
    from truethrow.worksheets.words import tally_words  # noqa: PLC0415

    return tally_words


def _told(layout: str, given: Mapping[str, str], share: str, oil: str, unit: str, step: str) -> Wanted:
    """What the options say. Raises BadInput for what is missing, all in one line."""
    words = _words()
    name = asking.layout(layout)
    if lacking := [words.option(kind) for kind, typed in given.items() if not typed]:
        raise BadInput([Fault("", f"missing: {', '.join(lacking)}", "a mass each, 0 for what the engine has not")])
    masses = {kind: _mass(words.option(kind), typed) for kind, typed in given.items()}
    return _wanted(name, masses, _number("--share", share or "0.5"), _mass("--oil", oil or "0"), unit, step)


def _asked(layout: str, given: Mapping[str, str], share: str, oil: str, unit: str, step: str) -> Wanted:
    """The same, with what is missing asked for at the terminal."""
    words = _words()
    name = asking.layout(layout) if layout else asking.ask("Layout", asking.layout, "v8-90-crossplane")
    masses = {
        kind: _mass(words.option(kind), typed)
        if typed
        else asking.ask(f"{words.ASKED[kind]} [{unit}]", lambda text, kind=kind: _one(kind, text, unit))  # type: ignore[misc]
        for kind, typed in given.items()
    }
    share = _number("--share", share) if share else asking.ask("Share", lambda t: _number("share", t), "0.5")
    oil = _mass("--oil", oil) if oil else asking.ask(f"Oil a throw [{unit}]", lambda t: _mass("oil", t), "0")
    return _wanted(name, masses, share, oil, unit, step)


def _wanted(layout: str, masses: Mapping[str, str], share: str, oil: str, unit: str, step: str) -> Wanted:
    from truethrow.balance.job.blank import Wanted  # noqa: PLC0415

    none = [kind for kind, typed in masses.items() if _is_none(typed)]
    if wrong := [kind for kind in none if kind not in MAY_BE_NONE]:
        raise BadInput([Fault(_words().option(kind), "0 g", "a mass above 0") for kind in wrong])
    there = {kind: typed for kind, typed in masses.items() if kind not in none}
    step = step or "0.1 g"
    return Wanted(layout, "tally", mass_unit=unit, step=step, share=share, oil=oil, masses=there, without=none)


def _one(kind: str, typed: str, unit: str) -> str:
    """A mass as it was answered, held against what a scale can show."""
    from truethrow.balance.base.fields import Units, reading_allowed, reading_g  # noqa: PLC0415
    from truethrow.balance.base.units import NotAQuantity  # noqa: PLC0415

    text = _mass(_words().says(kind), typed)
    if _is_none(text) and kind in MAY_BE_NONE:
        return text
    try:
        reading_g(text, unit, Units(unit))
    except NotAQuantity as error:
        raise BadInput([Fault(_words().says(kind), str(error), reading_allowed(Units(unit)))]) from None
    return text


def _mass(where: str, typed: str) -> str:
    """A mass as a hand typed it, as a job file has it."""
    from truethrow.balance.base.units import NotAQuantity  # noqa: PLC0415
    from truethrow.balance.job.sheet_numbers import as_written  # noqa: PLC0415

    try:
        return as_written(typed)
    except NotAQuantity as error:
        raise BadInput([Fault(where, error.of(typed), "a mass, such as 520.3 or 18 1/2 oz")]) from None


def _number(where: str, typed: str) -> str:
    try:
        return f"{float(_mass(where, typed)):g}"  # .6 is no number in a job file
    except ValueError:
        raise BadInput([Fault(where, repr(typed), "0 to 1")]) from None


def _is_none(text: str) -> bool:
    try:
        return float(text.split(maxsplit=1)[0]) == 0
    except ValueError:
        return False


def _worked(wanted: Wanted) -> Result:
    """The job that the weights are, worked through. Raises BadInput in the words of the options."""
    from truethrow.balance.job import blank, job  # noqa: PLC0415
    from truethrow.balance.result.work import work  # noqa: PLC0415

    try:
        return work(job.build(blank.job(wanted)))
    except BadInput as error:
        names = {f"every_cylinder, {kind}": _words().option(kind) for kind in KINDS}
        names |= {"bobweight, share": "--share", "bobweight, oil": "--oil", "scale, resolution": "--step"}
        raise asking.in_options(error, names | {"job, mass_unit": "--unit"}) from None


def _tell(result: Result, show_in: str | None) -> None:
    from truethrow.balance.base.parts import BY_NAME  # noqa: PLC0415
    from truethrow.balance.result.tally import tally as lines_of  # noqa: PLC0415
    from truethrow.cli.common import display_of  # noqa: PLC0415
    from truethrow.worksheets.words import result_words  # noqa: PLC0415

    out, display = show.Screen(), display_of(result, show_in)
    throws, words = result.bobweights.throws, _words()
    out.line(f"{result.job.engine.layout_name}: {words.each_throw(len(throws), len(throws[0].cylinders))}")
    out.line()
    rows = [
        [
            BY_NAME[line.kind].label,
            display.mass(line.grams),
            f"× {line.times}",
            f"× {line.share:g}" if BY_NAME[line.kind].motion == "reciprocating" else "",
            display.mass(line.adds_g, finer=1),
        ]
        for line in lines_of(result)
    ]
    rows.append(["oil", display.mass(throws[0].oil_g), "", "", display.mass(throws[0].oil_g, finer=1)])
    rows.append(["bobweight", "", "", "", display.mass(throws[0].bobweight.value_g, finer=1)])
    out.table(["part", f"weighs [{display.mass_unit}]", "on a throw", "share", "adds"], rows)
    out.line()
    out.line(result_words.hang(result.bobweights, display), strong=True)
    if advice := result_words.advice(result):
        out.line(f"! {advice}")
    # The weights were given once: what is wrong with them is wrong in every cylinder.
    once = dict.fromkeys(slip._replace(cylinder=None) for slip in result.slips)
    for slip in once:
        out.line(f"! {result_words.slip_alone(slip, display, result.job.names, result.job.name)}", strong=True)


def _as_data(result: Result) -> dict[str, Any]:
    from truethrow.balance.result.tally import tally as lines_of  # noqa: PLC0415
    from truethrow.worksheets.data import result_data  # noqa: PLC0415

    throw = result.bobweights.throws[0]
    return {
        "layout": result.job.engine.layout_name,
        "throws": len(result.bobweights.throws),
        "cylinders_a_throw": len(throw.cylinders),
        "share": result.job.share,
        "lines": [{**line._asdict(), "adds_g": line.adds_g} for line in lines_of(result)],
        "oil_g": throw.oil_g,
        "bobweight_g": throw.bobweight.value_g,
        "hang_g": result.bobweights.hung_g,
        "slips": result_data.slips(result),
    }
