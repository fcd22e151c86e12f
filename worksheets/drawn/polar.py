"""Polar curves of what shakes over one turn: the force, and the couple beside it. Up is up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from truethrow.balance.base.readings import decimals
from truethrow.worksheets.drawn.lettering import SMALL, TEXT, wide_mm
from truethrow.worksheets.drawn.pen import INK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Point, nice_step, polar, tip_of
from truethrow.worksheets.words.physics_words import NOTHING, peak_text

if TYPE_CHECKING:
    from truethrow.balance.base.arrays import Complexes
    from truethrow.balance.running.running import Shake

WIDE_MM, HIGH_MM = 165.0, 84.0
_RADIUS_MM = 30.0
_ROOM = 1.06  # beyond the largest
_CURVE_MM = 0.6
_CLEAR_MM = 1.0
_BETWEEN_DEG = (135, 225, 45, 315, 165, 195, 15, 345)
_POINTS = 360


def shaking(shake: Shake) -> str:
    """The force over one turn; the couple beside it, if there is one."""
    has_couple = shake.couple.amount > NOTHING
    drawing = Drawing(WIDE_MM if has_couple else WIDE_MM / 2, HIGH_MM)
    panels = [("force", shake.curve.force_n, shake.force.amount, shake.force_expanded_n, "N")]
    if has_couple:
        panels.append(("couple", shake.curve.couple_nm, shake.couple.amount, shake.couple_expanded_nm, "N·m"))
    for at, (name, vectors, most, expanded, unit) in enumerate(panels):
        centre = WIDE_MM / 4 + at * WIDE_MM / 2, 47.5
        said = (
            f"{peak_text(most, expanded)} ± {peak_text(expanded, expanded)} {unit}" if most > NOTHING else "none"
        )
        drawing.text((centre[0], 3.5), f"{name} at {shake.speed_rpm:g} r/min", TEXT)
        drawing.text((centre[0], 9.5), f"peak {said}" if most > NOTHING else said, TEXT, bold=True)
        _panel(drawing, centre, vectors, most, unit, name)
    return str(drawing)


def _panel(drawing: Drawing, centre: Point, vectors: Complexes, most: float, unit: str, name: str) -> None:
    reach = _ROOM * most if most > NOTHING else 1.0
    scale = _RADIUS_MM / reach
    drawing.dial(centre, _RADIUS_MM)
    for angle, said in ((0, "up"), (90, "90°"), (180, "180°"), (270, "270°")):
        beyond = 2.8 if angle % 180 == 0 else 5.4
        drawing.text(polar(centre, angle, _RADIUS_MM + beyond), said, SMALL, scale=True)
    if most <= NOTHING:
        return
    step = nice_step(reach, 4)
    rings = [number * step for number in range(1, math.floor(reach / step + 1e-9) + 1)]
    for ring in rings:
        drawing.circle(centre, ring * scale, THIN, part="ring")
    every = max(1, len(vectors) // _POINTS)
    peak = max(range(len(vectors)), key=lambda i: abs(vectors[i]))
    kept = sorted({*range(0, len(vectors), every), peak})
    curve = [tip_of(centre, complex(vectors[i]), scale) for i in kept]
    labels = [(ring * scale, f"{ring:.{decimals(step)}f} {unit}") for ring in rings]
    turn_deg, labelled = _labelled(curve, centre, labels)
    for number in labelled:
        radius, words = labels[number]
        drawing.text(polar(centre, turn_deg, radius), words, SMALL, halo=True, scale=True)
    # Over the labels: nothing hides the curve.
    drawing.polygon(curve, _CURVE_MM, part=name)
    drawing.circle(tip_of(centre, complex(vectors[peak]), scale), 1.5, 0, INK, part=f"{name}-peak")


def _labelled(
    curve: Sequence[Point], centre: Point, rings: Sequence[tuple[float, str]]
) -> tuple[float, list[int]]:
    """The angle of the labels and which rings have one: where most of them are clear of the curve, those that are;
    where none is anywhere, the outermost. rings: radius and words."""

    def clear_mm(angle_deg: float, radius: float, words: str) -> float:
        x, y = polar(centre, angle_deg, radius)
        half = wide_mm(words, SMALL) / 2
        return min(
            math.hypot(max(abs(px - x) - half, 0.0), max(abs(py - y) - SMALL / 2, 0.0)) for px, py in curve[::3]
        )

    best: tuple[int, float] = -1, 0.0
    found: tuple[float, list[int]] = _BETWEEN_DEG[0], [len(rings) - 1]
    for angle_deg in _BETWEEN_DEG:
        clear = [clear_mm(angle_deg, *ring) for ring in rings]
        kept = [number for number, mm in enumerate(clear) if mm >= _CLEAR_MM]
        value = len(kept), min((clear[number] for number in kept), default=0.0)
        if kept and value > best:
            best, found = value, (angle_deg, kept)
    return found
