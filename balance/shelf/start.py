"""Sorting: the division that a patient hand makes, and what is left of it when it is sorted over and over.

On a shelf of hundreds of parts this comes closer to the bound than swapping part by part; on a small one the
search by swaps goes further.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import numpy as np

from truethrow.balance.arrays import Bools, Floats, Ints
from truethrow.balance.errors import BadInput, Fault
from truethrow.balance.shelf.pool import FITTED, PLURAL
from truethrow.balance.shelf.problem import Division, Problem, total

BLOCKS = (1, 2, 3, 4, 6, 8, 12, 20)  # engines in a block of like big ends
SETTLING_ROUNDS = 12
AGAIN = 0.6  # how often the cylinders are sorted into engines again
SCATTER_STEPS = 15.0  # the scatter that the blur was found for
# What one step takes on a common machine, with a third to spare: by itself, and for each part.
STEP_S, PART_S = 1.1e-4, 1.8e-7
SEED = 1

Aim = Callable[..., Floats]
AIMS: tuple[Aim, ...] = (np.mean, np.median, np.min)


def sorted_start(found: Problem, blocks: int) -> Division:
    """A division by sorting alone: rods by big end into blocks of so many engines, by small end inside; the
    heaviest piston to the lightest small end, pins and ring sets in the same manner after it.

    Raises BadInput where parts that stay together leave too few of the others."""
    n, k = found.cylinders, found.engines
    columns = _columns(found)
    sides = [int(found.seats[c[0]]) for c in columns]
    ids: Division = {kind: np.full((found.rows, n), len(pool)) for kind, pool in found.parts.items()}
    weight = np.zeros((k, n), dtype=np.int64)
    if "rod" in ids:
        needs = [k * len(c) for c in columns]
        for c, rods in zip(columns, _chosen(found, "rod", found.big[:-1], needs, sides), strict=True):
            by_big = rods[np.lexsort((rods, found.big[rods]))]
            block = np.arange(len(rods)) // (len(c) * blocks)
            in_blocks = by_big[np.lexsort((found.reciprocating["rod"][by_big], block))]
            ids["rod"][:k, c] = in_blocks.reshape(k, len(c))
        weight += found.reciprocating["rod"][ids["rod"][:k]]
    for kind in ("piston", *FITTED):
        if kind not in ids:
            continue
        mass = found.reciprocating[kind][:-1].copy()
        if kind == "piston":
            for fitted, partner in found.partner.items():
                np.add.at(mass, partner[partner >= 0], found.reciprocating[fitted][partner >= 0])
        else:
            ids[kind][:k] = _fitted(found, kind)[ids["piston"][:k]] if "piston" in ids else len(mass)
        open_ = [np.argwhere(ids[kind][:k][:, c] == len(mass)) for c in columns]
        chosen = _chosen(found, kind, mass, [len(places) for places in open_], sides)
        for c, places, own in zip(columns, open_, chosen, strict=True):
            row, column = places[:, 0], c[places[:, 1]]
            by_weight = np.argsort(weight[row, column], kind="stable")
            heaviest_first = own[np.argsort(-mass[own], kind="stable")]
            ids[kind][row[by_weight], column[by_weight]] = heaviest_first
        used = ids[kind][:k]
        weight += mass[used] * ((kind == "piston") | (_free(found, kind)[used]))
    _lay_by(found, ids)
    return ids


def _regroup(found: Problem, ids: Division, x: Ints, columns: Sequence[Ints], blocks: int) -> None:
    """Sort whole cylinders once more, by big end into blocks and by reciprocating mass inside."""
    k = found.engines
    big = found.big[ids["rod"][:k]] if "rod" in ids else np.zeros_like(x)
    for c in columns:
        own_x, own_big = x[:, c].ravel(), big[:, c].ravel()
        order = np.lexsort((own_x, own_big))
        block = np.arange(len(order)) // (len(c) * blocks)
        order = order[np.lexsort((own_x[order], block))]
        for at in ids.values():
            at[:k, c] = at[:k, c].ravel()[order].reshape(k, len(c))


def best_start(found: Problem) -> Division:
    """The best division that sorting reaches: that of the best block size, settled in several ways."""
    starts = [sorted_start(found, m) for m in BLOCKS if m <= found.engines]
    for ids, blocks in zip(starts, BLOCKS, strict=False):
        _regroup(found, ids, _reciprocating(found, ids), _columns(found), blocks)
    start = min(starts, key=lambda ids: total(found, ids))
    ways = itertools.product(AIMS, (True, False))
    quiet = np.random.default_rng(SEED)
    return min((_settled(found, start, *way, 0.0, quiet) for way in ways), key=lambda ids: total(found, ids))


def settle(found: Problem, start: Division, seconds: float, done: Callable[[Division, int], bool]) -> None:
    """Settle the best division anew, over and over, each time with what is lacking blurred by an amount of its own
    that dies away. done hears of the best after each time, and ends it by saying so; the work is counted in
    rounds and not by the clock, so that the same shelf gives the same answer."""
    random = np.random.default_rng(SEED)
    masses = [found.big, *found.reciprocating.values()]
    unit = max(1.0, *(float(np.std(m[:-1])) / found.step / SCATTER_STEPS for m in masses if len(m) > 1))
    steps = SETTLING_ROUNDS * len(found.parts)
    best, least = start, total(found, start)
    for _ in range(max(1, int(seconds / steps / (STEP_S + PART_S * found.engines * found.cylinders)))):
        blur = found.step * unit * 10 ** random.uniform(-1.0, 0.8)
        aim, again = AIMS[random.integers(len(AIMS))], bool(random.random() < AGAIN)
        ids = _settled(found, best, aim, again, blur, random)
        if (value := total(found, ids)) < least:
            best, least = ids, value
        if done(best, least):
            return


def _settled(
    found: Problem, start: Division, aim: Aim, again: bool, blur: float, random: np.random.Generator
) -> Division:
    """Deal pistons, pins and ring sets anew, in turn, the heaviest to where most is lacking to what the engine
    aims at; after each round sort whole cylinders into engines again, if asked. The best division on the way, be
    it the start."""
    columns = _columns(found)
    ids = {kind: at.copy() for kind, at in start.items()}
    best, least = start, total(found, start)
    steps = [kind for kind in ids if kind != "rod"] + ["whole cylinders"] * again
    for number in range(SETTLING_ROUNDS):
        dying = blur * (1 - number / (SETTLING_ROUNDS - 1))
        for step in steps:
            x = _reciprocating(found, ids)
            if step in ids:
                lacking = aim(x, axis=1, keepdims=True) - x + random.normal(0.0, dying, x.shape)
                _deal(found, ids, step, lacking, columns)
            else:
                _regroup(found, ids, x, columns, 1)
            value = total(found, ids)
            if value < least:
                best, least = {kind: at.copy() for kind, at in ids.items()}, value
    return best


def _deal(found: Problem, ids: Division, kind: str, lacking: Floats, columns: Sequence[Ints]) -> None:
    """Deal the free parts of one kind anew among the cylinders of each bank that they sit on."""
    k, mass = found.engines, found.reciprocating[kind]
    free = _free(found, kind)[ids[kind][:k]]
    lacking = lacking + mass[ids[kind][:k]]
    for c in columns:
        row, place = np.nonzero(free[:, c])
        column = c[place]
        own = ids[kind][row, column]
        order = np.argsort(lacking[row, column], kind="stable")
        ids[kind][row[order], column[order]] = own[np.argsort(mass[own], kind="stable")]


def _columns(found: Problem) -> list[Ints]:
    """The cylinders of each bank; of all of them where no part asks for one."""
    return [np.flatnonzero(found.seats == bank) for bank in np.unique(found.seats)]


def _reciprocating(found: Problem, ids: Division) -> Ints:
    """The loose parts' reciprocating mass of every cylinder. [ng]"""
    x: Ints = np.sum([found.reciprocating[kind][at[: found.engines]] for kind, at in ids.items()], axis=0)
    return x


def _free(found: Problem, kind: str) -> Bools:
    """Which parts of a kind neither stay with a piston nor, as pistons, have a part that stays with them."""
    free = np.ones(len(found.parts[kind]) + 1, dtype=bool)
    if kind in found.partner:
        free[found.partner[kind] >= 0] = False
    if kind == "piston":
        for partner in found.partner.values():
            free[partner[partner >= 0]] = False
    return free


def _fitted(found: Problem, kind: str) -> Ints:
    """For each piston the part of a kind that stays with it, or the one that is not there."""
    at = np.full(len(found.parts["piston"]) + 1, len(found.parts[kind]))
    partner = found.partner[kind]
    at[partner[partner >= 0]] = np.flatnonzero(partner >= 0)
    return at


def _chosen(found: Problem, kind: str, mass: Ints, needs: Sequence[int], sides: Sequence[int]) -> list[Ints]:
    """For each side as many parts as it needs: its own first, then of those that may sit anywhere; pistons that
    others stay with before any that nothing stays with, since what stays with a piston left over is left over
    too; then those nearest the median."""
    bank = found.banks[kind][:-1]
    free = _free(found, kind)[:-1]
    order = np.lexsort((np.abs(mass - np.median(mass)), free))
    if kind != "piston":
        order = order[free[order]]
    own = [order[(bank[order] == side) & (side > 0)][:need] for side, need in zip(sides, needs, strict=True)]
    lacks = [need - len(mine) for need, mine in zip(needs, own, strict=True)]
    anywhere = order[bank[order] == 0][: sum(lacks)]
    if len(anywhere) < sum(lacks):
        engines = "1 engine" if found.engines == 1 else f"{found.engines} engines"
        found_ = f"{sum(lacks) - len(anywhere)} too few for {engines} that stay with no piston"
        allowed = "fewer engines" if found.engines > 1 else "more that stay with none"
        raise BadInput([Fault(PLURAL[kind], found_, allowed)])
    anywhere = anywhere[np.argsort(mass[anywhere], kind="stable")]
    # Dealt in turn, so that every side gets light ones and heavy ones.
    turns = np.argsort(np.concatenate([(np.arange(lack) + 0.5) / max(1, lack) for lack in lacks]), kind="stable")
    owner = np.repeat(np.arange(len(sides)), lacks)[turns]
    chosen = [np.concatenate([mine, anywhere[owner == i]]) for i, mine in enumerate(own)]
    waiting = [part for part in order[(bank[order] == 0) & ~free[order]] if part not in anywhere]
    for parts in chosen:
        for at in np.flatnonzero(free[parts])[::-1]:
            if waiting:
                parts[at] = waiting.pop(0)
    return chosen


def _lay_by(found: Problem, ids: Division) -> None:
    """Put what no engine took into the rows behind the engines, each piston with what stays with it."""
    k = found.engines
    for kind in ("rod", "piston", *FITTED):
        if kind not in ids:
            continue
        count = len(found.parts[kind])
        rest = ids[kind][k:]
        if kind in FITTED and "piston" in ids:
            rest[:] = _fitted(found, kind)[ids["piston"][k:]]
        left = np.setdiff1d(np.arange(count), ids[kind])
        places = np.argwhere(rest == count)[: len(left)]
        rest[places[:, 0], places[:, 1]] = left
