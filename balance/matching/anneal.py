"""Finding: many chains of swaps at once, cooled together; what they find is proved, or not, elsewhere.

Source of the method: Kirkpatrick, Gelatt and Vecchi, Optimization by simulated annealing, Science 220 (1983).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from truethrow.balance.base.arrays import Floats, Ints
from truethrow.balance.matching.effort import Effort
from truethrow.balance.matching.question import Question

Price = Callable[[Ints], Floats]  # arrangements (k, units, cylinders) → what each costs

CHAINS = 256
# A broken rule costs more than anything that an arrangement can be worth.
RULE = 1e9


def anneal(
    question: Question,
    price: Price,
    start: Ints,
    seed: int,
    *,
    hot: float,
    cold: float,
    enough: float,
    sweeps: int,
    effort: Effort | None = None,
) -> Ints:
    """The cheapest arrangement found.

    start: where a chain begins, the others begin at random; hot and cold: the temperatures between which the
    chains cool, in the unit of the price; enough: a price with which the search may end; effort: what it may
    do, all its sweeps without."""
    draw = np.random.default_rng(seed)
    units, cylinders = start.shape
    chains = draw.permuted(np.broadcast_to(start, (CHAINS, units, cylinders)), axis=-1)
    chains[0] = start
    costs = _priced(question, price, chains)
    best, least = chains[costs.argmin()].copy(), float(costs.min())
    rows = np.arange(CHAINS)
    cooling = (cold / hot) ** (1 / max(sweeps - 1, 1))
    temperature = hot
    for _ in range(sweeps):
        for _ in range(units):
            moved = chains.copy()
            unit = draw.integers(units, size=CHAINS)
            one, other = draw.integers(cylinders, size=(2, CHAINS))
            moved[rows, unit, one], moved[rows, unit, other] = chains[rows, unit, other], chains[rows, unit, one]
            fresh = _priced(question, price, moved)
            better = draw.random(CHAINS) < np.exp(np.minimum(0.0, (costs - fresh) / temperature))
            chains[better], costs[better] = moved[better], fresh[better]
            if costs.min() < least:
                best, least = chains[costs.argmin()].copy(), float(costs.min())
        if effort:
            effort.spend(units * CHAINS)
        if least <= enough or (effort and effort.is_out()):
            break
        temperature *= cooling
    return np.asarray(best)


def _priced(question: Question, price: Price, arrangements: Ints) -> Floats:
    costs = price(arrangements)
    if question.bound_by_rules:
        costs = costs + RULE * question.broken(arrangements)
    return costs
