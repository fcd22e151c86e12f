"""A division bettered by the best swaps there are, first by a smooth measure of an engine's lightest, then by an
ever sharper one.

By the lightest itself most swaps change nothing: seven cylinders of eight may come nearer to each other for
nothing. So the lightest is taken softly, −τ·ln Σ exp(−mass/τ) over the cylinders, which counts all of them while τ
is large and only the lightest as it goes to 0. Each time all swaps between two engines are weighed at once.
"""

from __future__ import annotations

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.shelf.problem import Division, Problem, moves_of, total

# The softness, as parts of the scatter that a kind of part has in the median; and how often each kind of swap is
# tried at one softness.
SOFTNESS = (0.5, 0.25, 0.18, 0.13, 0.09, 0.06, 0.04, 0.025, 0.015, 0.01)
TRIES = 8
MOST_CYLINDERS = 400  # beyond, weighing all swaps at once takes longer than it brings
FURTHEST, TINY = (
    60.0,
    1e-300,
)  # exponents above it and sums below it are of swaps that nobody makes


def reaches(problem: Problem) -> bool:
    """Whether all swaps are weighed at once: on no large shelf, nor where parts ask for a bank or a piston."""
    free = not problem.cylinder_banks.any() and all((own < 0).all() for own in problem.partner.values())
    return free and problem.engines > 1 and problem.engines * problem.cylinders <= MOST_CYLINDERS


def sharpened(problem: Problem, start: Division) -> Division:
    """The best division on the way, be it the start; what no engine has stays where it is."""
    masses = [problem.big[:-1], *(mass[:-1] for mass in problem.reciprocating.values())]
    scatter = float(np.median([np.std(mass) for mass in masses if len(mass)]))
    if scatter == 0 or not reaches(problem):
        return start
    best, least = start, total(problem, start)
    ids = {kind: at.copy() for kind, at in start.items()}
    moves = moves_of(problem, together=False)
    for softness in SOFTNESS:
        stale = 0
        for number in range(TRIES * len(moves)):
            swapped = _swap_best(problem, ids, moves[number % len(moves)], softness * scatter)
            stale = 0 if swapped else stale + 1
            if stale == len(moves):
                break
        value = total(problem, ids)
        if value < least:
            best, least = {kind: at.copy() for kind, at in ids.items()}, value
    return best


def _swap_best(problem: Problem, ids: Division, move: tuple[str, ...], softness: float) -> int:
    """Of the swaps that gain, the best of every two engines, those that gain most first and each engine once; how
    many were made."""
    k, n = problem.engines, problem.cylinders
    gain = _gains(problem, ids, move, softness)
    by_pair = gain.reshape(k, n, k, n).transpose(0, 2, 1, 3).reshape(k * k, n * n)
    pick = by_pair.argmax(axis=1)
    gains = by_pair[np.arange(k * k), pick]
    used, made = np.zeros(k, dtype=bool), 0
    for pair in np.argsort(-gains, kind="stable").tolist():
        one, other = divmod(pair, k)
        if gains[pair] <= 1e-6 * softness:  # less is rounding
            break
        if used[one] or used[other]:
            continue
        used[[one, other]] = True
        here, there = divmod(int(pick[pair]), n)
        for kind in move:
            at = ids[kind]
            at[one, here], at[other, there] = at[other, there], at[one, here]
        made += 1
    return made


def _gains(problem: Problem, ids: Division, move: tuple[str, ...], softness: float) -> Floats:
    """What each swap between two cylinders gains both engines; none within an engine."""
    k, n = problem.engines, problem.cylinders
    reciprocating = np.sum([problem.reciprocating[kind][at[:k]] for kind, at in ids.items()], axis=0)
    gain = _softly(reciprocating, sum(problem.reciprocating[kind][ids[kind][:k]] for kind in move), softness)
    if "rod" in move:
        big = problem.big[ids["rod"][:k]]
        gain += _softly(big, big, softness)
    engine = np.repeat(np.arange(k), n)
    both: Floats = np.where(engine[:, None] == engine, -np.inf, gain + gain.T)
    return both


def _softly(masses: Ints, moved: Ints | int, softness: float) -> Floats:
    """By cylinder, and by whose parts it gets: how much heavier the soft lightest of its engine is then."""
    carried = np.ravel(moved)
    share = np.exp((masses.min(axis=1, keepdims=True) - masses) / softness)
    share = np.ravel(share / share.sum(axis=1, keepdims=True))[:, None]
    lighter = np.minimum((carried[:, None] - carried) / softness, FURTHEST)
    heavier: Floats = -softness * np.log(np.maximum(1 - share + share * np.exp(lighter), TINY))
    return heavier
