"""Quantiles of Student's t and of F, by the incomplete beta function; nothing heavier than math is needed.

Source: NIST Digital Library of Mathematical Functions, 8.17: the continued fraction (8.17.22, evaluated by Lentz's
method) and the reflection (8.17.4) of the regularized incomplete beta function. The tests hold them against scipy.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from truethrow.balance.base.formulas import require

# What a factor of 2 covers where a standard deviation is well known: 95.45 % (JCGM 100:2008, Table G.1).
COVERAGE = math.erf(2 / math.sqrt(2))

_TINY = 1e-300  # keeps a quotient of Lentz's method from being one by nothing
_ENOUGH = 1e-16
_MOST_TERMS = 10_000
_HALVINGS = 200


@lru_cache(maxsize=256)
def t_factor(freedom: float) -> float:
    """Student's t for COVERAGE, two-sided: how many of its standard deviations a value may be off, where these
    were estimated with so many degrees of freedom; 2 for one that is well known (infinite freedom).

    Source: JCGM 100:2008, Table G.2, 95.45 %. Raises ValueError for a freedom that is not positive."""
    return 2.0 if freedom == math.inf else t_quantile((1 + COVERAGE) / 2, freedom)


def t_quantile(probability: float, freedom: float) -> float:
    """The value that Student's t is below with a probability of one half or more, less than 1.

    freedom: its degrees of freedom, positive and finite. Raises ValueError for anything else."""
    require("positive", freedom=freedom)
    if not 0.5 <= probability < 1:
        raise ValueError(f"probability {probability}; allowed: 0.5 to below 1")
    if probability == 0.5:
        return 0.0
    beyond = 2 * (1 - probability)  # DLMF 8.17 with x = ν/(ν + t²): both tails together

    def too_far_in(t: float) -> bool:
        return beta_part(freedom / (freedom + t * t), freedom / 2, 0.5) > beyond

    return _where_it_turns(too_far_in)


def f_quantile(probability: float, over: float, under: float) -> float:
    """The value that F, a quotient of two variances, is below with a probability between 0 and 1.

    over, under: the degrees of freedom of the two. Raises ValueError for what is not positive and finite."""
    require("positive", over=over, under=under)
    if not 0 < probability < 1:
        raise ValueError(f"probability {probability}; allowed: above 0 and below 1")

    def too_far_in(value: float) -> bool:
        # The upper tail, so that a probability near 1 keeps its digits.
        return beta_part(under / (under + over * value), under / 2, over / 2) > 1 - probability

    return _where_it_turns(too_far_in)


def beta_part(x: float, a: float, b: float) -> float:
    """The regularized incomplete beta function I_x(a, b), for x from 0 to 1 and positive a and b."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):  # beyond, its continued fraction converges slowly
        return 1 - beta_part(1 - x, b, a)
    front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    return math.exp(front) / (a * _fraction(x, a, b))


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction 1 + d₁/(1 + d₂/(1 + …)) of DLMF 8.17.22, by Lentz's method."""
    value = above = 1.0
    below = 0.0
    for term in range(1, _MOST_TERMS):
        m = term // 2
        if term % 2:
            d = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            d = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        below = 1 / (1 + d * below or _TINY)
        above = 1 + d / above or _TINY
        step = above * below
        value *= step
        if abs(step - 1) < _ENOUGH:
            break
    return value


def _where_it_turns(too_far_in: Callable[[float], bool]) -> float:
    """The positive number at which a condition that holds near zero ends to hold, to the last digits."""
    low = high = 1.0
    while too_far_in(high):
        low, high = high, high * 4
    while not too_far_in(low):
        low, high = low / 4, low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if too_far_in(middle) else (low, middle)
    return (low + high) / 2
