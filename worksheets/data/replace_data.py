"""A replacement as plain data for machines: numbers in g, unit in the name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from truethrow.balance.result.fitting import CutGrid, Trial
from truethrow.balance.result.replacing import Leeway, MassWindow, Replacement
from truethrow.balance.shelf.candidates import Loose
from truethrow.worksheets.data.result_data import part_data, spread


def as_data(
    wanted: Replacement,
    twice: Replacement,
    heaviest: Mapping[str, float],
    grid: CutGrid | None,
    best: Trial | None,
    around: Sequence[Trial],
    next_steps: Sequence[str],
) -> dict[str, Any]:
    """What one part may weigh. heaviest: what metal off it alone can bring inside, by kind of reading;
    best: with the least metal in all, where no mass alone does; around: masses just outside the windows, tried."""
    return {
        "job": {"id": wanted.job.id},
        "part": part_data(wanted.job.names.part(wanted.unit, wanted.cylinder)),
        "out_whatever_comes": [spread(one) for one in wanted.out],
        "window": {kind: _window(window) for kind, window in wanted.windows.items()},
        "sums": [_leeway(leeway) for leeway in wanted.together],
        "window_weighed_twice": {kind: _window(window) for kind, window in twice.windows.items()},
        "heaviest_with_metal_off_it_g": dict(heaviest),
        "metal_off_it": None if grid is None else _grid(grid),
        "least_metal": None if best is None else _trial(best),
        "around": [_trial(trial) for trial in around],
        "next": list(next_steps),
    }


def loose_data(loose: Loose, trials: Mapping[str, Trial], farther: int) -> dict[str, Any]:
    """The loose parts, the best first; farther: how many are farther off than those."""
    return {
        "loose": [
            {"label": name, "source": loose.candidates[name].source, **_trial(trial)}
            for name, trial in trials.items()
        ],
        "farther_off": farther,
        "left_out": [one._asdict() for one in loose.left_out],
    }


def _window(window: MassWindow) -> dict[str, Any]:
    return {
        "low_g": window.low_g,
        "high_g": window.high_g,
        "empty": window.is_empty,
        "held_low_by": {"limit": window.holds_low.quantity, "member": window.holds_low.heaviest},
        "held_high_by": {"limit": window.holds_high.quantity, "member": window.holds_high.lightest},
    }


def _leeway(leeway: Leeway) -> dict[str, Any]:
    return {
        "limit": leeway.quantity,
        "counts": dict(leeway.counts),
        "low_g": round(leeway.least_g - leeway.rest_g, 6),
        "high_g": round(leeway.most_g - leeway.rest_g, 6),
        "held_low_by": leeway.heaviest,
        "held_high_by": leeway.lightest,
    }


def _grid(grid: CutGrid) -> list[dict[str, float | None]]:
    return [
        {"big_end_g": big_g, "small_end_g": small_g, "grams": grams}
        for (big_g, small_g), grams in grid.grams.items()
    ]


def _trial(trial: Trial) -> dict[str, Any]:
    return {
        "reads_g": dict(trial.masses),
        "way": trial.way,
        "grams": trial.grams,
        "cuts": [{"pad": cut.pad.kind, "grams": cut.grams} for cut in trial.cuts],
        "verdict": trial.worst,
        "spreads_g": {one.quantity: one.spread_g for one in trial.after},
    }
