"""Statics of a rod on two supports: what grams taken at a place along it do to the readings of its two ends."""

from __future__ import annotations

from truethrow.balance.base.formulas import require
from truethrow.balance.base.parts import ENDS


def lever(at_mm: float, rod_length_mm: float) -> tuple[float, float]:
    """How much one gram taken at a place along the rod lowers the big-end and the small-end reading.

    Source: statics of a beam on two supports, moments about either. Raises ValueError for a place that is not
    finite and a rod whose length is not positive and finite."""
    require("finite", at_mm=at_mm)
    require("positive", rod_length_mm=rod_length_mm)
    small = at_mm / rod_length_mm
    return 1 - small, small


def falls_of_a_gram(pad: str, at_mm: float | None, rod_length_mm: float | None) -> dict[str, float]:
    """By how much one gram taken at a pad lowers each reading of its part. at_mm: its place on a rod, None on any
    other part; without a rod's length there are no pads on it."""
    if at_mm is None or rod_length_mm is None:
        return {pad: 1.0}
    return dict(zip(ENDS, lever(at_mm, rod_length_mm), strict=True))


def pad_grams(
    big_g: float, small_g: float, big_at_mm: float, small_at_mm: float, rod_length_mm: float
) -> tuple[float, float]:
    """Grams at the big-end and the small-end pad that lower the two readings by just these amounts. [g]

    A negative answer means that metal would have to be added. Raises ValueError for two pads at one place and for
    anything that is not finite.
    Source: the two equations of lever(), solved for the two pads."""
    if big_at_mm == small_at_mm:
        raise ValueError(f"both pads are at {big_at_mm} mm")
    return solved(big_g, small_g, lever(big_at_mm, rod_length_mm), lever(small_at_mm, rod_length_mm))


def solved(
    big_g: float, small_g: float, big_pad: tuple[float, float], small_pad: tuple[float, float]
) -> tuple[float, float]:
    """Grams at two pads that lower the two readings by just these amounts, from what a gram at each pad lowers
    them by. [g] Raises ValueError for anything that is not finite, and for two pads that lower the two readings in
    one proportion: no grams at them do what one of them would not do alone."""
    (bb, bs), (sb, ss) = big_pad, small_pad
    determinant = bb * ss - sb * bs
    require("finite", big_g=big_g, small_g=small_g, determinant=determinant)
    if determinant == 0:
        raise ValueError(f"both pads lower the readings in one proportion: {big_pad}, {small_pad}")
    return (big_g * ss - small_g * sb) / determinant, (small_g * bb - big_g * bs) / determinant
