"""Which cylinder each matched rod and piston sits in: within an engine, so that the bobweights of the throws are
as alike as they can be made."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.engine.layout import Layout
from truethrow.balance.shelf.problem import Problem

STARTS = 24
SEED = 2
CELLS = 200_000  # engines and starts at a time: enough for numpy, small enough for the cache


def filling(problem: Problem, layout: Layout, gives_g: Floats, banks: Ints, oil_g: Sequence[float]) -> Ints:
    """For each engine the order in which its members sit in the cylinders.

    gives_g: what each member gives to the bobweight of its throw; banks: the bank that it may sit on, 0 for any.
    Many starts at once, each bettered by the best swap of two members until no swap helps: the exact least for the
    common layouts as far as tried, but not proved."""
    throws = _throws(layout)
    if len(layout.throws) == 1:
        return np.tile(np.arange(problem.cylinders), (len(gives_g), 1))
    at_once = max(1, CELLS // (STARTS * problem.cylinders**2))
    blocks = [
        _block(problem, throws, gives_g[i : i + at_once], banks[i : i + at_once], np.asarray(oil_g))
        for i in range(0, len(gives_g), at_once)
    ]
    return np.concatenate(blocks)


def spreads_g(layout: Layout, gives_g: Floats, oil_g: Sequence[float]) -> Floats:
    """Each engine's largest less its smallest bobweight; gives_g by cylinder."""
    return _spread_g(_throws(layout), gives_g, np.asarray(oil_g))


def _throws(layout: Layout) -> Floats:
    """Which cylinder sits on which throw, a row a throw."""
    return np.array(
        [[place.throw == throw.name for place in layout.places] for throw in layout.throws], dtype=float
    )


def _spread_g(throws: Floats, gives_g: Floats, oil_g: Floats) -> Floats:
    weights = gives_g @ throws.T + oil_g
    spread: Floats = weights.max(-1) - weights.min(-1)
    return spread


def _block(problem: Problem, throws: Floats, gives_g: Floats, banks: Ints, oil_g: Floats) -> Ints:
    engines, n = gives_g.shape
    order = np.tile(np.arange(n), (engines, STARTS, 1))
    random = np.random.default_rng(SEED)
    for start in range(1, STARTS):
        for bank_number in np.unique(problem.cylinder_banks):
            own = np.flatnonzero(problem.cylinder_banks == bank_number)
            order[:, start, own] = random.permuted(np.tile(own, (engines, 1)), axis=1)
    order = order.reshape(-1, n)
    rows = np.arange(len(order))
    gives, bank = np.repeat(gives_g, STARTS, axis=0), np.repeat(banks, STARTS, axis=0)
    one, other = np.triu_indices(n, 1)
    swaps = np.tile(np.arange(n), (len(one), 1))
    swaps[np.arange(len(one)), one], swaps[np.arange(len(one)), other] = other, one
    best = _spread_g(throws, np.take_along_axis(gives, order, 1), oil_g)
    while True:
        tried = order[:, swaps]
        part_bank = bank[rows[:, None, None], tried]
        wrong = ((part_bank > 0) & (problem.cylinder_banks > 0) & (part_bank != problem.cylinder_banks)).any(-1)
        spread = np.where(wrong, np.inf, _spread_g(throws, gives[rows[:, None, None], tried], oil_g))
        pick = spread.argmin(1)
        better = spread[rows, pick] < best - 1e-9
        if not better.any():
            break
        order[better] = tried[rows[better], pick[better]]
        best[better] = spread[rows[better], pick[better]]
    winner = best.reshape(engines, STARTS).argmin(1)
    chosen: Ints = order.reshape(engines, STARTS, n)[np.arange(engines), winner]
    return chosen
