"""Where things stand on a drawing, in millimetres: points at an angle, labels apart, the steps of a scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

Point = tuple[float, float]


class Box(NamedTuple):
    """A rectangle on the drawing."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def corners(self) -> list[Point]:
        """All four, one after the other."""
        return [
            (self.left, self.top),
            (self.right, self.top),
            (self.right, self.bottom),
            (self.left, self.bottom),
        ]


def polar(centre: Point, angle_deg: float, radius: float) -> Point:
    """A point at an angle of the crank, seen from the front, and a radius."""
    angle = math.radians(angle_deg)
    return centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)


def tip_of(centre: Point, vector: complex, scale: float) -> Point:
    """Where a vector ends: its real part is up, and its angle grows clockwise."""
    return centre[0] + vector.imag * scale, centre[1] - vector.real * scale


def apart(wanted: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of labels in a row, as near as can be to where they are wanted (least squares), none over another
    and none beyond low or high as long as all have room there. In the order of wanted."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    # Shifted left by all that stands before it, each must only not be left of the one before: pooled neighbours.
    before, shifted = 0.0, []
    for i in order:
        shifted.append(wanted[i] - before - widths[i] / 2)
        before += widths[i]
    blocks: list[tuple[float, int]] = []
    for value in shifted:
        total, count = value, 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            last, more = blocks.pop()
            total, count = total + last, count + more
        blocks.append((total, count))
    starts = [
        min(max(total / count, low), max(high - before, low)) for total, count in blocks for _ in range(count)
    ]
    placed, before = [0.0] * len(order), 0.0
    for start, i in zip(starts, order, strict=True):
        placed[i] = start + before + widths[i] / 2
        before += widths[i]
    return placed


def around(wanted_deg: Sequence[float], width_deg: float) -> list[float]:
    """Angles of labels in a circle, as near as can be to where they are wanted, each with room of its own."""
    if not wanted_deg:
        return []
    width = min(width_deg, 360 / len(wanted_deg))
    # Cut open where the gap is widest, so that no two push each other over the cut.
    ordered = sorted(angle % 360 for angle in wanted_deg)
    gaps = [
        (after - before) % 360 or 360.0 for before, after in zip(ordered, [*ordered[1:], ordered[0]], strict=True)
    ]
    widest = max(range(len(gaps)), key=gaps.__getitem__)
    start = ordered[widest] + gaps[widest] / 2
    unrolled = [(angle - start) % 360 for angle in wanted_deg]
    return [(start + angle) % 360 for angle in apart(unrolled, [width] * len(unrolled), 0.0, 360.0)]


def nice_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into no more parts than that."""
    raw = span / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= raw * (1 - 1e-9))
