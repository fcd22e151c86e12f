"""A replacement on the screen: its window, what is outside of it, the loose parts, what to do next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from truethrow.balance.base.errors import shown
from truethrow.balance.base.parts import label
from truethrow.balance.result.fitting import CutGrid, Trial
from truethrow.balance.result.replacing import Replacement
from truethrow.balance.shelf.candidates import Loose
from truethrow.balance.shelf.pool import PLURAL
from truethrow.cli import show
from truethrow.worksheets.shown.display import Display, finer_of, inward
from truethrow.worksheets.words import replace_words as words
from truethrow.worksheets.words.cautions import TRIM_CAUTIONS

SHOWN_LOOSE = 12
SHOWN_LEFT_OUT = 8


class Answer(NamedTuple):
    """All that is told of a replacement. twice: where it is weighed twice; heaviest: what metal off it alone can
    bring inside, by kind of reading; best: with the least metal in all, where the others have to lose some;
    around: masses just outside; loose: None where none were asked for; farther: those beyond the trials."""

    wanted: Replacement
    twice: Replacement
    heaviest: Mapping[str, float]
    grid: CutGrid | None
    best: Trial | None
    around: Sequence[Trial]
    loose: Loose | None
    trials: Mapping[str, Trial]
    farther: int
    steps: Sequence[str]

    @property
    def takes_metal(self) -> bool:
        """Whether metal is spoken of."""
        trials = (self.best, *self.around, *self.trials.values())
        return bool(self.heaviest or self.grid or any(trial and trial.grams for trial in trials))

    @property
    def fits(self) -> bool:
        """Whether some mass leaves the set inside."""
        return not self.wanted.out and not any(window.is_empty for window in self.wanted.windows.values())


def tell(answer: Answer, display: Display) -> None:
    """The window, what holds it, what is outside of it, the loose parts, and what to do next."""
    out, wanted, names = show.Screen(), answer.wanted, answer.wanted.job.names
    out.line(f"Job {wanted.job.id}. {words.head(wanted)}, weighed once", strong=True)
    for note in wanted.job.notes:
        out.line(f"! {note}", strong=True)
    if wanted.out:
        out.line(words.NOTHING_FITS, strong=True)
        for spread in wanted.out:
            out.line(f"- {words.already_out(spread, display, names)}")
    if answer.best:
        out.line(words.least_metal(answer.best, display))
    if not wanted.leeways and not wanted.out:
        out.line(words.NO_LIMIT)
    if wanted.leeways and not wanted.out:
        _window(out, answer, display)
    _around(out, answer, display)
    _fits(out, answer, display)
    if answer.takes_metal:
        out.line()
        for caution in TRIM_CAUTIONS:
            out.line(f"! {caution}")
    out.heading("Once the new one is at hand")
    for step in answer.steps:
        out.line(f"- {step}")
    if not answer.fits:
        out.line(words.NOTHING_FITS if wanted.out else words.NO_READING, strong=True)


def _window(out: show.Screen, answer: Answer, display: Display) -> None:
    wanted, names = answer.wanted, answer.wanted.job.names
    out.heading(f"What it may weigh, with no metal taken [{display.mass_unit}]")
    rows = []
    for kind, window in wanted.windows.items():
        ends = ("none", "") if window.is_empty else inward(display, window.low_g, window.high_g)
        low = words.holds(window.holds_low, window.holds_low.heaviest, display, names)
        rows.append(
            [label(kind), *ends, low, words.holds(window.holds_high, window.holds_high.lightest, display, names)]
        )
    for leeway in wanted.together:
        low = words.holds(leeway, leeway.heaviest, display, names)
        high = words.holds(leeway, leeway.lightest, display, names)
        rows.append([words.reading(leeway), *words.bounds(leeway, display), low, high])
    columns = ["reads", "from", "to", "lighter is out by", "heavier is out by"]
    out.table(columns, rows, words=columns[3:])
    if len(rows) > 1:
        out.line("All of these lines count.")
    for kind, top_g in answer.heaviest.items():
        out.line(words.with_metal_off(top_g, wanted.windows[kind].high_g, display))
    for kind, window in answer.twice.windows.items():
        once = wanted.windows[kind]
        if not window.is_empty and (window.low_g, window.high_g) != (once.low_g, once.high_g):
            out.line(words.twice(kind, window.low_g, window.high_g, display))
    if answer.grid:
        _grid(out, answer.grid, display)


def _grid(out: show.Screen, grid: CutGrid, display: Display) -> None:
    out.heading(f"To take off it alone, if it is heavier [{display.mass_unit}]; big end down, small end across")
    rows = []
    for big_g in grid.big_ends_g:
        taken = [grid.grams[big_g, small_g] for small_g in grid.small_ends_g]
        rows.append([display.mass(big_g), *(words.OUT_OF_REACH if g is None else display.mass(g) for g in taken)])
    out.table(["", *(display.mass(small_g) for small_g in grid.small_ends_g)], rows)


def _around(out: show.Screen, answer: Answer, display: Display) -> None:
    if not answer.around:
        return
    out.heading(f"Outside of that [{display.mass_unit}]")
    rows = [[_reads(trial, display), words.taken(trial, display)] for trial in answer.around]
    columns = ["one that reads", words.take_off(answer.wanted)]
    out.table(columns, rows, words=columns)


def _reads(trial: Trial, display: Display) -> str:
    return " / ".join(display.mass(grams) for grams in trial.masses.values())


def _fits(out: show.Screen, answer: Answer, display: Display) -> None:
    """The loose parts, the best first, and what each would leave as spreads."""
    loose, wanted = answer.loose, answer.wanted
    if loose is None:
        return
    out.heading(f"Loose {PLURAL[wanted.unit]}, the best first, and the spreads they leave [{display.mass_unit}]")
    quantities = [leeway.quantity for leeway in wanted.leeways]
    rows = []
    for name, trial in list(answer.trials.items())[:SHOWN_LOOSE]:
        left = {spread.quantity: spread for spread in trial.after}
        spreads = (
            display.mass(left[q].spread_g, finer_of(left[q], display)) if q in left else "" for q in quantities
        )
        where = loose.candidates[name].source
        rows.append([shown(name), where, _reads(trial, display), words.taken(trial, display), *spreads])
    if rows:
        columns = ["mark", "from", "reads", words.take_off(wanted)]
        out.table([*columns, *map(label, quantities)], rows, words=[columns[1], columns[3]])
    else:
        out.line("None.")
    if more := len(answer.trials) - len(rows) + answer.farther:
        out.line(f"… and {more} more, farther off.")
    for one in loose.left_out[:SHOWN_LEFT_OUT]:
        out.line(f"- not {shown(one.label)} ({one.source}): {one.why}")
    if (more := len(loose.left_out) - SHOWN_LEFT_OUT) > 0:
        out.line(f"- nor {more} more")
