"""The builder's bench: which part goes into which cylinder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from truethrow.balance.base.digits import digits
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.log.place import Place, is_standard_input, source_of, to_paste
from truethrow.cli import model_file, show
from truethrow.cli.common import Job, Json, Sheet, Show, by_whom, display_of, end, lives_on, tell_next, worked
from truethrow.cli.progress import Bar
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

if TYPE_CHECKING:
    from truethrow.balance.matching.match import Matching
    from truethrow.worksheets.shown.display import Display

MOST_SECONDS = 3600.0
Seconds = Annotated[float, typer.Option("--seconds", metavar="S", help="The time that it may take, at most.")]
By = Annotated[str, by_whom("Who proposes it, for the log.")]


def match(
    job: Job,
    sheet: Sheet = None,
    seconds: Seconds = 300.0,
    by: By = "",
    model: model_file.AnyFile = None,
    show_in: Show = None,
    json: Json = False,
) -> None:
    """Find which part goes into which cylinder, and propose it.

    By the aims and the rules of the job's [match]. Each answer is proved best, or shown with how far
    from the best it could still be; Ctrl-C gives the best so far. The search ends by itself once its work is
    done, on a busy machine later and with the same answer; where --seconds ended it before that, you are told.
    The proposal waits in the job's log until it is accepted. From then on every part takes its readings and its
    label along.

    \b
    [match]
    aims = ["limits", "grams", "bobweight", "reciprocating", "residual"]
    move = ["piston", "pin", "rings", "rod"]      # a rod keeps its cap
    together = [["piston", "pin"], ["piston P3", "rod R4"]]
    apart = [["rod R7", "piston P2"], ["rod R7", "cylinder 3"]]
    fixed = ["rod R4"]
    bank = { left = ["piston P1"] }
    offset_pins = true                            # pistons stay on their bank

    --model writes the question with its answer as a model that any solver reads, one for each aim, what the aims
    before have reached kept: OPB or LP, by the file's ending. FILE is the last aim's, the others are beside it.

    \b
    truethrow match my.toml
    truethrow match my.toml --seconds 60 --json
    truethrow match my.toml --model my.opb
    truethrow accept my.toml
    """
    from truethrow.balance.matching.match import match as match_parts  # noqa: PLC0415
    from truethrow.worksheets.data import matching_data  # noqa: PLC0415

    if not 0 < seconds <= MOST_SECONDS:
        raise BadInput(
            [Fault("--seconds", f"{digits(seconds)} is out of reach", f"above 0 and at most {MOST_SECONDS:g}")]
        )
    result = worked(job, sheet, show_in)
    display = display_of(result, show_in)
    if model:
        model_file.must_be_free(model, model_file.LP_OR_OPB, result.job.match.aims)
    lives_on()
    try:
        with Bar(in_time=False) as bar:
            found = match_parts(result, seconds, lambda *reached: bar.show(*how_far(*reached)))
    except BadInput as error:
        raise BadInput(error.faults, error.source or source_of(job)) from None
    written = _write_models(model, found) if model else None
    proposal = proposed(job, found, by)
    if json:
        from truethrow.worksheets.data import result_data  # noqa: PLC0415

        grams = display.of(result.job, "metric")
        data: dict[str, Any] = {
            "job": result_data.job(result),
            **matching_data.as_data(found, grams),
            "proposal": proposal,
        }
        show.as_json(data | (written.as_data() if written else {}))
    else:
        _tell(found, display, job, proposal, written)
    end(found.matched, quiet=json)


def _write_models(path: Path, found: Matching) -> model_file.Written:
    from truethrow.balance.matching.model import models  # noqa: PLC0415

    made = models(found, path.suffix.lower())
    if not made.written:
        left_out = "; ".join(f"{aim}: {why}" for aim, why in made.left_out)
        raise BadInput([Fault("--model", f"none of the job's aims has a model: {left_out}")])
    return model_file.write(path, [model_file.Made(*one) for one in made.written], made.left_out)


def how_far(aim: str, value: float, bound: float) -> tuple[str, float]:
    """Which aim is at work, its value so far, and the bound; and which part of it is done, all where the value is
    the bound."""
    part = 1.0 if value <= 0 else min(1.0, max(0.0, bound / value))
    # What stays over the limits makes a cost of the metal, in no unit.
    reached = "" if aim == "grams" else f": {value:.3f}, none below {bound:.3f}"
    return f"{aim}{reached}", part


def proposed(job: Place, found: Matching, by: str) -> str | None:
    """The id of the proposal in the job's log; None where nothing moves or there is no place for one. That nothing
    moves is recorded, too, where a match is asked for: else it would be asked for for ever."""
    from truethrow.balance.log.place import open_log  # noqa: PLC0415
    from truethrow.balance.matching.proposing import propose  # noqa: PLC0415
    from truethrow.balance.result.match_first import is_to_match  # noqa: PLC0415
    from truethrow.worksheets.shown.display import Display  # noqa: PLC0415
    from truethrow.worksheets.words import matching_words  # noqa: PLC0415

    made = found.now.job
    if is_standard_input(job):
        return None
    if not found.moves and (found.broken_off or not is_to_match(made, open_log(job).records)):
        return None
    why = matching_words.summary(found, Display.of(made))
    record = propose(job, made, found.moves, why, by)
    return record.id if found.moves else None


def _tell(
    found: Matching, display: Display, place: Place, proposal: str | None, written: model_file.Written | None
) -> None:
    from truethrow.cli import trading  # noqa: PLC0415
    from truethrow.cli.builder import tables  # noqa: PLC0415
    from truethrow.worksheets.words import matching_words, result_words  # noqa: PLC0415

    out, job = show.Screen(), found.matched.job
    tables.head(out, found.now, display)
    if found.now.doubts:
        out.line(f"! {result_words.sentence(matching_words.ON_SLIPS)} Look at them again first:", strong=True)
        for said in result_words.look_again(found.now, display):
            out.line(f"- {said}")
    if not found.kept_rules:
        out.line("! As they sit, the parts break the rules of [match].", strong=True)
    out.heading("Who sits where")
    throw_of = {c: throw.name for throw in job.layout.throws for c in job.layout.cylinders_on(throw)}
    out.table(
        ["cylinder", "throw", *found.units],
        [
            [
                str(cylinder),
                throw_of[cylinder],
                *(matching_words.part(found, unit, cylinder).short for unit in found.units),
            ]
            for cylinder in job.parts
        ],
        words=("throw", *found.units),
    )
    if found.moves:
        trading.tell(out, "Which part goes where", trading.parts_of(found.now.job.names, found.moves))
    out.heading("Aims, in the job's order")
    out.table(
        ["aim", "as they sit", "matched", "verdict"],
        [
            [
                matching_words.AIMS[aim.name],
                matching_words.value(aim.before, aim, display, aim.over_before_g),
                matching_words.value(aim.value, aim, display, aim.over_g),
                matching_words.verdict(aim, display),
            ]
            for aim in found.reached
        ],
    )
    out.heading("Side by side; by hand: heaviest with lightest (common practice, no source)")
    out.table(["", *matching_words.engines(found)], matching_words.compared(found, display))
    if written:
        written.tell(out)
    _tell_on(out, found, display, place, proposal)


def _tell_on(out: show.Screen, found: Matching, display: Display, place: Place, proposal: str | None) -> None:
    """What is to be done about it."""
    from truethrow.worksheets.words import matching_words  # noqa: PLC0415

    out.heading("To get better")
    for said in matching_words.better(found, display):
        out.line(f"- {said}")
    out.line()
    if found.broken_off:
        out.line(matching_words.BROKEN_OFF, strong=True)
    if found.is_out_of_time:
        out.line(matching_words.OUT_OF_TIME, strong=True)
    if doubt := matching_words.not_yet(found):
        out.line(f"! {doubt}", strong=True)
    if not found.moves:
        out.line(matching_words.NOTHING_TO_MOVE, strong=True)
    elif proposal is None:
        out.line("Not kept: a job from standard input has no log.", strong=True)
    else:
        count = sum(map(len, found.moves.values()))
        if said := matching_words.trade(found, display):
            out.line(f"{said}.")
        accept = "" if doubt else f" To accept: truethrow accept {to_paste(place)}"
        out.line(f"Proposed: {count} parts move.{accept}", strong=True)
    out.line(f"! {matching_words.FITTED}")
    if found.matched.trim is not None and not found.matched.is_held:
        for caution in TRIM_CAUTIONS:
            out.line(f"! {caution}")
    tell_next(out, place)
