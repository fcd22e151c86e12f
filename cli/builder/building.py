"""The builder's bench: the whole job, what to hang, the spreads and slips, the trim."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, NoReturn

import typer

from truethrow.balance.base.errors import BadInput, Fault, shown_path
from truethrow.balance.log.place import Place, log_name, output_path, source_of, to_paste
from truethrow.cli import model_file, show
from truethrow.cli.common import (
    NOT_NAMED,
    Job,
    Json,
    LoggedJob,
    Sheet,
    Show,
    by_whom,
    display_of,
    end,
    for_why,
    loaded_as_far,
    tell_next,
    worked,
)
from truethrow.cli.completing import parts as parts_of
from truethrow.cli.station.send import ENDING, By, Out, send_sheet

if TYPE_CHECKING:
    from truethrow.balance.result.work import Result


def work(
    job: Job, sheet: Sheet = None, out: Out = None, by: By = "", show_in: Show = None, json: Json = False
) -> None:
    """Work a whole job and write the station's sheet.

    Bobweights and what to hang, spreads against their limits, readings to look at again, and the trim.

    \b
    truethrow work my.toml
    truethrow work my.toml --sheet weigh.csv --show inch
    truethrow work my.toml --json > my.json
    """
    result = worked(job, sheet, show_in)
    written = send_sheet(job, result, out or output_path(job, ENDING), by)
    tell(result, ("head", "bobweights", "spreads", "slips", "trim"), show_in, json, written)
    _end(job, result, json)


def hang(job: Job = NOT_NAMED, sheet: Sheet = None, show_in: Show = None, json: Json = False) -> None:
    """Show the bobweights and what to hang.

    With what that leaves as unbalance in the station's two planes. One figure for every throw, the mean to the
    scale's step, unless [bobweight] in the job says hang = "own", "none" (a crank balanced bare), a mass, or a
    list of one a throw. "off by" is what each throw keeps as an error.

    \b
    truethrow hang my.toml
    """
    result = as_far_as_weighed(job, sheet, show_in, "bobweights", json)
    tell(result, ("head", "bobweights"), show_in, json)
    _end(job, result, json)


def check(
    job: Job = NOT_NAMED,
    sheet: Sheet = None,
    picture: Annotated[
        bool, typer.Option("--picture", help="Show each spread as a strip, too, with its limit's band.")
    ] = False,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Check spreads and readings.

    Each spread against its limit, and every reading that looks like a slip.

    A figure may be off by its ±, 95 times in 100: from the scale's step, its taring, its calibration and how far
    its loads scatter, which is found from parts weighed twice, or said in [scale]. A spread is inside only if it
    is within the limit even with its ±, OUTSIDE only if it is beyond it even so. Where no part was weighed twice
    a scatter of one step is assumed (common practice, no source), nothing is called inside, and check tells
    which parts to weigh again.

    \b
    truethrow check my.toml --sheet weigh.csv
    truethrow check my.toml --picture
    """
    if picture and json:
        raise BadInput([Fault("--picture", "can't be combined with --json")])
    result = as_far_as_weighed(job, sheet, show_in, "spreads", json)
    tell(result, ("head", "spreads", "slips"), show_in, json)
    if picture:
        _strips(result, show_in)
    _end(job, result, json)


def trim(
    job: Job = NOT_NAMED,
    sheet: Sheet = None,
    model: model_file.LpFile = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Show what to take off which part, and where.

    With what the scale should read afterwards. Once the cuts are made: truethrow ground, then weigh these parts
    again, and trim tells what is left to do, by what each pad really gave. --model writes the question with its
    answer as a model (LP) that any solver reads and solves again.

    \b
    truethrow trim my.toml
    truethrow trim my.toml --model my.lp
    """
    result = worked(job, sheet, show_in)
    written = _write_models(model, job, result) if model else None
    if not json:
        _tell_match_first(job, result)
    tell(result, ("head", "trim"), show_in, json, **(written.as_data() if written else {}))
    if written and not json:
        written.tell(show.Screen())
    _end(job, result, json)


def _tell_match_first(job: Place, result: Result) -> None:
    """Above the cuts: what is ground by them before the match is ground for places that change."""
    from truethrow.balance.log.place import has_log, open_log  # noqa: PLC0415
    from truethrow.balance.result import match_first  # noqa: PLC0415

    for first in match_first.faults(result.job, open_log(job).records if has_log(job) else ()):
        show.Screen().line(f"! {first}", strong=True)


def _write_models(path: Path, job: Place, result: Result) -> model_file.Written:
    from truethrow.balance.result import trim_model  # noqa: PLC0415

    model_file.must_be_free(path, model_file.LP, [trim_model.OVER])
    if result.is_held or result.of_no_cut:
        look = f"look again first: truethrow check {to_paste(job)}"
        raise BadInput([Fault("--model", "readings hold the trim back: there is no plan yet", remedy=look)])
    made = trim_model.models(result, result.trim)
    if not made[-1].model.variables:
        raise BadInput(
            [Fault("--model", "no pad gives anything and no limit is exceeded: nothing is to be solved")]
        )
    return model_file.write(path, [model_file.Made(*one) for one in made])


def ground(
    job: LoggedJob,
    parts: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="PART", autocompletion=parts_of, help="Only these, such as rod 3 piston P5; without any, all."
        ),
    ] = None,
    by: Annotated[str, by_whom("Who ground them.")] = "",
    plan: Annotated[
        str, typer.Option("--plan", metavar="NAME", help="The plan that was followed, as trim names it.")
    ] = "",
    took: Annotated[
        str, typer.Option("--took", metavar="MASS", help="Off one part, without a plan: what came off.")
    ] = "",
    at: Annotated[str, typer.Option("--at", metavar="PAD", help="With --took: where, big end or small end.")] = "",
    why: Annotated[str, for_why("With --took: why, where it is much, for the log.")] = "",
) -> None:
    """Record the cuts you made.

    What was asked for goes into JOB's log. The readings of these parts are history from then on: weigh
    them again, and trim learns from what each pad gave. The plan holds from its first cut until every part that
    was cut is weighed again; --plan says which, where parts of the plan before were left out. --took records metal
    that came off one part without a plan.

    \b
    truethrow ground my.toml
    truethrow ground my.toml rod 3 piston P5 --by AB
    truethrow ground my.toml "piston weighed in 5"
    truethrow ground my.toml rod 3 --took 1.2 --at "big end"
    """
    from truethrow.balance.base.parts import UNIT_OF  # noqa: PLC0415
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415
    from truethrow.balance.result.plans import record  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415
    from truethrow.worksheets.words import result_words  # noqa: PLC0415

    names = names_of(job) if parts else None
    named = [(part.unit, part.cylinder) for part in names.each(parts or [])] if names else []
    if took or at or why:
        _took(job, named, took, at, why, by, plan)
        return
    recorded = record(job, named, by, plan, traded=names.traded if names else None)
    out, display, names = show.Screen(), Display.of(recorded.job, None), recorded.job.names
    for cut in recorded.cuts:
        asked = display.masses(cut.grams)
        who = names.said(UNIT_OF[cut.pad], cut.cylinder)
        out.line(f"recorded: {who}, {asked} asked for at the {result_words.pad_name(cut.pad)}")
    out.line(f"Recorded in {shown_path(log_name(job))}.")
    out.line("The old weights of these parts no longer count, nor does a sheet that has them: weigh them again.")
    tell_next(out, job)


def _took(job: Place, named: list[tuple[str, int]], took: str, at: str, why: str, by: str, plan: str) -> None:
    """Record metal that came off one part without a plan."""
    from truethrow.balance.base import units  # noqa: PLC0415
    from truethrow.balance.job.jobfile import scale_unit_of  # noqa: PLC0415
    from truethrow.balance.job.sources import names_of  # noqa: PLC0415
    from truethrow.balance.result import plans  # noqa: PLC0415

    if not took or plan:
        way = "such as rod 3 --took 1.2 --at big_end"
        raise BadInput([Fault("--at" if plan == "" else "--plan", "can't be said here", remedy=way)])
    if len(named) != 1:
        raise BadInput([Fault("PART", f"{len(named)} parts", "one part that the grams came off, such as rod 3")])
    unit = scale_unit_of(job)
    try:
        grams = units.parse(took, units.MASS, unit)
    except units.NotAQuantity as error:
        raise BadInput(
            [Fault("--took", str(error), f"a mass, such as 1.2 or 0.04oz; bare, it is in {unit}")]
        ) from None
    pad = at.strip().lower().replace("-", "_").replace(" ", "_")
    names = names_of(job)
    cut = plans.took(job, named[0], pad, grams, why, by, unit=unit, traded=names.traded)
    out = show.Screen()
    out.line(f"recorded: {names.said(*named[0])}, {units.mass_in(cut.grams, unit)} came off")
    out.line(f"Recorded in {shown_path(log_name(job))}.")
    out.line("Its old weight no longer counts: weigh it again.")
    tell_next(out, job)


def _end(job: Place, result: Result, json: bool) -> NoReturn:
    if not json:
        tell_next(show.Screen(), job, result)
    end(result, quiet=json)


def as_far_as_weighed(
    job: Place, sheet: Path | None, show_in: str | None, section: Literal["bobweights", "spreads"], json: bool
) -> Result:
    """A job worked through. While parts wait for the scale, what rests on none of them is shown, and which they
    are is the refusal; machines are told no figure of a set that is not whole."""
    from truethrow.balance.result.so_far import so_far  # noqa: PLC0415
    from truethrow.balance.result.work import work as worked_through  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415

    loaded = loaded_as_far(job, sheet, show_in, given=section == "bobweights")
    if not loaded.waiting:
        return worked_through(loaded)
    if not json:
        from truethrow.cli.builder import tables  # noqa: PLC0415

        tables.so_far(show.Screen(), so_far(loaded), Display.of(loaded, show_in), section)
    raise BadInput(loaded.waiting, source_of(job))


def _strips(result: Result, show_in: str | None) -> None:
    from truethrow.balance.base.parts import label  # noqa: PLC0415
    from truethrow.worksheets.shown import strokes  # noqa: PLC0415

    out, display = show.Screen(), display_of(result, show_in)
    out.line()
    out.line(strokes.STRIP)
    for spread in result.spreads:
        verdict = f", {show.verdict(spread.verdict)}" if spread.verdict else ""
        sure = {name: result.certainty.expanded_g(mass) for name, mass in spread.members.items()}
        strip = strokes.strip(spread, sure, display)
        all_one = f": {strip.pop()}" if len(strip) == 1 else ""
        out.heading(f"{label(spread.quantity)}, by {spread.member_kind}{verdict}{all_one}")
        for text in strip:
            out.raw(text)


def tell(
    result: Result,
    sections: tuple[str, ...],
    show_in: str | None,
    json: bool,
    written: Path | None = None,
    **also: Any,
) -> None:
    """Show these sections of a result, and the sheet that was written. also: what else machines are told."""
    if json:
        from truethrow.worksheets.data import result_data  # noqa: PLC0415

        data: dict[str, Any] = result_data.as_data(result, sections)
        if written is not None:
            data["station_sheet"] = str(written)
        show.as_json(data | also)
        return
    from truethrow.cli.builder import tables  # noqa: PLC0415

    out, display = show.Screen(), display_of(result, show_in)
    for section in sections:
        getattr(tables, section)(out, result, display)
    if written is not None:
        out.heading("For the station")
        out.line(f"Written: {shown_path(written)}")
        tables.station_notes(out, result)
