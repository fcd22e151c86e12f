"""Unbalance in the station's two planes, and what holes do to it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from truethrow.balance.crank.holes import Hole
from truethrow.balance.result.unbalance import plane_share


class TwoPlanes(NamedTuple):
    """Unbalance in the front and the rear plane: what is too much, at its angle. [g·mm]"""

    front: complex
    rear: complex

    def plus(self, other: TwoPlanes) -> TwoPlanes:
        return TwoPlanes(self.front + other.front, self.rear + other.rear)


def split(unbalance_gmm: complex, z_mm: float, planes_mm: tuple[float, float]) -> TwoPlanes:
    """One unbalance at z as the two planes feel it."""
    front, rear = plane_share(z_mm, *planes_mm)
    return TwoPlanes(front * unbalance_gmm, rear * unbalance_gmm)


def changed_by(operations: Iterable[Hole], planes_mm: tuple[float, float]) -> TwoPlanes:
    """What operations do to the unbalance of both planes, by where each one truly is along the crank."""
    total = TwoPlanes(0j, 0j)
    for hole in operations:
        total = total.plus(split(hole.change_gmm, hole.z_mm, planes_mm))
    return total
