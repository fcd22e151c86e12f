"""Sorting: the division that a patient hand makes, and what is left of it when it is sorted over and over.

On a shelf of hundreds of parts this comes closer to the bound than swapping part by part; on a small one the
search by swaps goes further.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import numpy as np

from truethrow.balance.base.arrays import Bools, Floats, Ints
from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.shelf.pool import FITTED, PLURAL
from truethrow.balance.shelf.problem import Division, Problem, total

BLOCKS = (1, 2, 3, 4, 6, 8, 12, 20)  # engines in a block of like big ends
SETTLING_ROUNDS = 12
AGAIN = 0.6  # how often the cylinders are sorted into engines again
SCATTER_STEPS = 15.0  # the scatter that the blur was found for
# What one step takes on a common machine, with a third to spare: by itself, and for each part.
STEP_S, PART_S = 1.1e-4, 1.8e-7
SEED = 1  # any other would do: no figure of a shelf comes from it, only which way is tried first

Aim = Callable[..., Floats]
AIMS: tuple[Aim, ...] = (np.mean, np.median, np.min)


def sorted_start(problem: Problem, blocks: int) -> Division:
    """A division by sorting alone: rods by big end into blocks of so many engines, by small end inside; the
    heaviest piston to the lightest small end, pins and ring sets in the same manner after it.

    Raises BadInput where parts that stay together leave too few of the others."""
    columns = _columns(problem)
    ids: Division = {
        kind: np.full((problem.rows, problem.cylinders), len(pool)) for kind, pool in problem.parts.items()
    }
    weight = np.zeros((problem.engines, problem.cylinders), dtype=np.int64)
    if "rod" in ids:
        _rods(problem, ids, columns, blocks)
        weight += problem.reciprocating["rod"][ids["rod"][: problem.engines]]
    for kind in ("piston", *FITTED):
        if kind in ids:
            weight += _heaviest_to_lightest(problem, ids, kind, weight, columns)
    _lay_by(problem, ids)
    return ids


def _rods(problem: Problem, ids: Division, columns: Sequence[Ints], blocks: int) -> None:
    """Rods by big end into blocks of so many engines, by small end inside."""
    needs = [problem.engines * len(side) for side in columns]
    chosen = _chosen(problem, "rod", problem.big[:-1], needs, _sides(problem, columns))
    for side, rods in zip(columns, chosen, strict=True):
        by_big = rods[np.lexsort((rods, problem.big[rods]))]
        block = np.arange(len(rods)) // (len(side) * blocks)
        in_blocks = by_big[np.lexsort((problem.reciprocating["rod"][by_big], block))]
        ids["rod"][: problem.engines, side] = in_blocks.reshape(problem.engines, len(side))


def _heaviest_to_lightest(
    problem: Problem, ids: Division, kind: str, weight: Ints, columns: Sequence[Ints]
) -> Ints:
    """Deal one kind, the heaviest to where there is least so far, and a piston with what stays with it; what that
    adds to every cylinder. [ng]"""
    mass = problem.reciprocating[kind][:-1].copy()
    if kind == "piston":
        for fitted, partner in problem.partner.items():
            np.add.at(mass, partner[partner >= 0], problem.reciprocating[fitted][partner >= 0])
    else:
        pistons = ids["piston"][: problem.engines] if "piston" in ids else None
        ids[kind][: problem.engines] = len(mass) if pistons is None else _fitted(problem, kind)[pistons]
    dealt = ids[kind][: problem.engines]
    empty = [np.argwhere(dealt[:, side] == len(mass)) for side in columns]
    chosen = _chosen(problem, kind, mass, [len(places) for places in empty], _sides(problem, columns))
    for side, places, own in zip(columns, empty, chosen, strict=True):
        row, column = places[:, 0], side[places[:, 1]]
        by_weight = np.argsort(weight[row, column], kind="stable")
        heaviest_first = own[np.argsort(-mass[own], kind="stable")]
        dealt[row[by_weight], column[by_weight]] = heaviest_first
    added: Ints = mass[dealt] * ((kind == "piston") | (_free(problem, kind)[dealt]))
    return added


def _sides(problem: Problem, columns: Sequence[Ints]) -> list[int]:
    """The bank of each side's cylinders."""
    return [int(problem.cylinder_banks[side[0]]) for side in columns]


def _regroup(problem: Problem, ids: Division, reciprocating: Ints, columns: Sequence[Ints], blocks: int) -> None:
    """Sort whole cylinders once more, by big end into blocks and by reciprocating mass inside."""
    engines = problem.engines
    big = problem.big[ids["rod"][:engines]] if "rod" in ids else np.zeros_like(reciprocating)
    for side in columns:
        own, own_big = reciprocating[:, side].ravel(), big[:, side].ravel()
        order = np.lexsort((own, own_big))
        block = np.arange(len(order)) // (len(side) * blocks)
        order = order[np.lexsort((own[order], block))]
        for at in ids.values():
            at[:engines, side] = at[:engines, side].ravel()[order].reshape(engines, len(side))


def best_start(problem: Problem) -> Division:
    """The best division that sorting reaches: that of the best block size, settled in several ways."""
    starts = [sorted_start(problem, blocks) for blocks in BLOCKS if blocks <= problem.engines]
    for ids, blocks in zip(starts, BLOCKS, strict=False):
        _regroup(problem, ids, _reciprocating(problem, ids), _columns(problem), blocks)
    start = min(starts, key=lambda ids: total(problem, ids))
    ways = itertools.product(AIMS, (True, False))
    quiet = np.random.default_rng(SEED)
    return min((_settled(problem, start, *way, 0.0, quiet) for way in ways), key=lambda ids: total(problem, ids))


def settle(problem: Problem, start: Division, seconds: float, done: Callable[[Division, int], bool]) -> None:
    """Settle the best division anew, over and over, each time with what is lacking blurred by an amount of its own
    that dies away. done hears of the best after each time, and ends it by saying so; the work is counted in
    rounds and not by the clock, so that the same shelf gives the same answer."""
    random = np.random.default_rng(SEED)
    masses = [problem.big, *problem.reciprocating.values()]
    scatters = (float(np.std(mass[:-1])) / problem.step for mass in masses if len(mass) > 1)
    unit = max(1.0, *(scatter / SCATTER_STEPS for scatter in scatters))
    steps = SETTLING_ROUNDS * len(problem.parts)
    best, least = start, total(problem, start)
    for _ in range(max(1, int(seconds / steps / (STEP_S + PART_S * problem.engines * problem.cylinders)))):
        blur = problem.step * unit * 10 ** random.uniform(-1.0, 0.8)
        aim, again = AIMS[random.integers(len(AIMS))], bool(random.random() < AGAIN)
        ids = _settled(problem, best, aim, again, blur, random)
        if (value := total(problem, ids)) < least:
            best, least = ids, value
        if done(best, least):
            return


def _settled(
    problem: Problem, start: Division, aim: Aim, again: bool, blur: float, random: np.random.Generator
) -> Division:
    """Deal pistons, pins and ring sets anew, in turn, the heaviest to where most is lacking to what the engine
    aims at; after each round sort whole cylinders into engines again, if asked. The best division on the way, be
    it the start."""
    columns = _columns(problem)
    ids = {kind: at.copy() for kind, at in start.items()}
    best, least = start, total(problem, start)
    steps = [kind for kind in ids if kind != "rod"] + ["whole cylinders"] * again
    for number in range(SETTLING_ROUNDS):
        dying = blur * (1 - number / (SETTLING_ROUNDS - 1))
        for step in steps:
            now = _reciprocating(problem, ids)
            if step in ids:
                lacking = aim(now, axis=1, keepdims=True) - now + random.normal(0.0, dying, now.shape)
                _deal(problem, ids, step, lacking, columns)
            else:
                _regroup(problem, ids, now, columns, 1)
            value = total(problem, ids)
            if value < least:
                best, least = {kind: at.copy() for kind, at in ids.items()}, value
    return best


def _deal(problem: Problem, ids: Division, kind: str, lacking: Floats, columns: Sequence[Ints]) -> None:
    """Deal the free parts of one kind anew among the cylinders of each bank that they sit on."""
    dealt, mass = ids[kind][: problem.engines], problem.reciprocating[kind]
    free = _free(problem, kind)[dealt]
    lacking = lacking + mass[dealt]
    for side in columns:
        row, place = np.nonzero(free[:, side])
        column = side[place]
        own = dealt[row, column]
        order = np.argsort(lacking[row, column], kind="stable")
        dealt[row[order], column[order]] = own[np.argsort(mass[own], kind="stable")]


def _columns(problem: Problem) -> list[Ints]:
    """The cylinders of each bank; of all of them where no part asks for one."""
    return [np.flatnonzero(problem.cylinder_banks == bank) for bank in np.unique(problem.cylinder_banks)]


def _reciprocating(problem: Problem, ids: Division) -> Ints:
    """The loose parts' reciprocating mass of every cylinder. [ng]"""
    masses: Ints = np.sum([problem.reciprocating[kind][at[: problem.engines]] for kind, at in ids.items()], axis=0)
    return masses


def _free(problem: Problem, kind: str) -> Bools:
    """Which parts of a kind neither stay with a piston nor, as pistons, have a part that stays with them."""
    free = np.ones(len(problem.parts[kind]) + 1, dtype=bool)
    if kind in problem.partner:
        free[problem.partner[kind] >= 0] = False
    if kind == "piston":
        for partner in problem.partner.values():
            free[partner[partner >= 0]] = False
    return free


def _fitted(problem: Problem, kind: str) -> Ints:
    """For each piston the part of a kind that stays with it, or the one that is not there."""
    at = np.full(len(problem.parts["piston"]) + 1, len(problem.parts[kind]))
    partner = problem.partner[kind]
    at[partner[partner >= 0]] = np.flatnonzero(partner >= 0)
    return at


def _chosen(problem: Problem, kind: str, mass: Ints, needs: Sequence[int], sides: Sequence[int]) -> list[Ints]:
    """For each side as many parts as it needs: its own first, then of those that may sit anywhere; pistons that
    others stay with before any that nothing stays with, since what stays with a piston left over is left over
    too; then those nearest the median."""
    bank = problem.banks[kind][:-1]
    free = _free(problem, kind)[:-1]
    order = np.lexsort((np.abs(mass - np.median(mass)), free))
    if kind != "piston":
        order = order[free[order]]
    own = [order[(bank[order] == side) & (side > 0)][:need] for side, need in zip(sides, needs, strict=True)]
    lacks = [need - len(mine) for need, mine in zip(needs, own, strict=True)]
    anywhere = order[bank[order] == 0][: sum(lacks)]
    if len(anywhere) < sum(lacks):
        engines = "1 engine" if problem.engines == 1 else f"{problem.engines} engines"
        found_ = f"{sum(lacks) - len(anywhere)} too few for {engines} that stay with no piston"
        allowed = "fewer engines" if problem.engines > 1 else "more that stay with none"
        raise BadInput([Fault(PLURAL[kind], found_, allowed)])
    anywhere = anywhere[np.argsort(mass[anywhere], kind="stable")]
    # Dealt in turn, so that every side gets light ones and heavy ones.
    turns = np.argsort(np.concatenate([(np.arange(lack) + 0.5) / max(1, lack) for lack in lacks]), kind="stable")
    owner = np.repeat(np.arange(len(sides)), lacks)[turns]
    chosen = [np.concatenate([mine, anywhere[owner == side]]) for side, mine in enumerate(own)]
    waiting = [part for part in order[(bank[order] == 0) & ~free[order]] if part not in anywhere]
    for parts in chosen:
        for at in np.flatnonzero(free[parts])[::-1]:
            if waiting:
                parts[at] = waiting.pop(0)
    return chosen


def _lay_by(problem: Problem, ids: Division) -> None:
    """Put what no engine took into the rows behind the engines, each piston with what stays with it."""
    for kind in ("rod", "piston", *FITTED):
        if kind not in ids:
            continue
        count = len(problem.parts[kind])
        rest = ids[kind][problem.engines :]
        if kind in FITTED and "piston" in ids:
            rest[:] = _fitted(problem, kind)[ids["piston"][problem.engines :]]
        left = np.setdiff1d(np.arange(count), ids[kind])
        places = np.argwhere(rest == count)[: len(left)]
        rest[places[:, 0], places[:, 1]] = left
