"""Two heaps in one set: half of the parts came from another box.

No test for one outlier sees that: with so many far out, far out looks usual. What tells two heaps from honest
scatter, be it skewed or even, is the gap: wide beside the width of either heap, or wide beside the parts
themselves. How wide is common practice, no source: found by simulation, so that at most 1 of 500 sets is told so
whose parts scatter, however, by half a percent or less.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

# So many of a set can be outliers, each on its own (slips.outliers): a heap has more.
OUTLIERS = 1 / 3
FEWEST = 4
# Of two parts neither can be told to be the wrong one, but so far apart, as a part of their mean, they are hardly
# of one engine: a decimal mark, a unit, another kind of part.
PAIR, GAP_OF_A_PAIR = 2, 0.2
# Whatever the parts weigh: the gap in widths of the wider heap, of eight parts; with more of them, a wide gap
# between them is rarer by chance.
GAP_IN_WIDTHS, MORE_WIDTHS, OF_EIGHT, FALLS = 1.2, 5.3, 8, 2.5
# Beside the parts themselves: a gap that parts of one set hardly have, between heaps as narrow as sets are.
GAP, GAP_OF_FEW, FEW = 0.012, 0.015, 6
LEAST_GAP_G = 2.5
WIDTH = 0.01
NARROWER = 1.3
# A gap of so few steps of the scale is none; and no heap is known to be narrower than two.
STEPS, WIDTH_STEPS = 3.5, 2


class Heaps(NamedTuple):
    """The parts of the light heap and of the heavy one."""

    light: tuple[int, ...]
    heavy: tuple[int, ...]

    @property
    def fewer(self) -> tuple[int, ...]:
        """The heap in doubt: the smaller one, of two alike the one without the first part."""
        first, last = sorted(self)
        return first if len(first) < len(last) else last

    @property
    def others(self) -> tuple[int, ...]:
        return self.light if self.fewer == self.heavy else self.heavy


def two_heaps(masses_g: Mapping[int, float], step_g: float, allowed_g: float = 0.0) -> Heaps | None:
    """The two heaps that the masses of a set make; None where they are one. allowed_g: a gap that is none anyway.
    [g]"""
    count = len(masses_g)
    order = sorted(masses_g, key=lambda number: masses_g[number])
    grams = [masses_g[number] for number in order]
    if count == PAIR:
        gap_g = grams[1] - grams[0]
        is_far = gap_g > max(allowed_g, STEPS * step_g, GAP_OF_A_PAIR * (grams[0] + grams[1]) / 2) + 1e-9
        return Heaps((order[0],), (order[1],)) if is_far else None
    if count < FEWEST:
        return None
    least = int(count * OUTLIERS + 1e-9) + 1
    cuts = range(least, count - least + 1)
    at = max(cuts, key=lambda cut: grams[cut] - grams[cut - 1])
    gap_g = grams[at] - grams[at - 1]
    width_g = max(grams[at - 1] - grams[0], grams[-1] - grams[at], WIDTH_STEPS * step_g)
    if gap_g <= max(allowed_g, STEPS * step_g) + 1e-9:
        return None
    is_wide = count >= OF_EIGHT and gap_g > width_g * (GAP_IN_WIDTHS + MORE_WIDTHS * (OF_EIGHT / count) ** FALLS)
    middle_g = grams[count // 2]
    far_g = max((GAP_OF_FEW if count <= FEW else GAP) * middle_g, LEAST_GAP_G)
    is_far = gap_g > far_g and width_g < WIDTH * middle_g and gap_g > NARROWER * width_g
    if not (is_wide or is_far):
        return None
    return Heaps(tuple(sorted(order[:at])), tuple(sorted(order[at:])))
