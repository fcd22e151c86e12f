"""The spins of one plane as vectors: how the crank came nearer to its tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import BAND, LINE, PAPER, THICK, THIN, Drawing
from truethrow.worksheets.drawn.placing import Point, polar, tip_of

if TYPE_CHECKING:
    from truethrow.balance.station.balancing import Balancing
    from truethrow.balance.station.spin import Measured
    from truethrow.worksheets.shown.display import Display

WIDE_MM, HIGH_MM = 57.0, 65.0
RADIUS_MM = 18.5
_CENTRE: Point = (28.5, 36.0)
_NUMBER_MM = 2.6


class _Panel(NamedTuple):
    """Where vectors are drawn: their origin, the rim's radius, and millimetres for one g·mm."""

    centre: Point
    radius: float
    scale: float

    def tip(self, vector_gmm: complex) -> Point:
        return tip_of(self.centre, vector_gmm, self.scale)


def spins(state: Balancing, plane: Literal["front", "rear"], show: Display) -> str:
    """All spins of a plane that count, first to last, angle 0 up and growing clockwise, each with the disc that it
    is uncertain by, about the tolerance."""
    limit = state.limits_gmm[0 if plane == "front" else 1]
    found: list[tuple[int, Measured]] = [(spin.number, getattr(spin, plane)) for spin in state.counted]
    reach = max([limit * 1.3, *(m.amount_gmm + m.expanded_gmm for _, m in found)])
    panel = _Panel(_CENTRE, RADIUS_MM, RADIUS_MM / reach)
    drawing = Drawing(WIDE_MM, HIGH_MM)
    drawing.text(
        (WIDE_MM / 2, 3.5), f"{plane} plane" if found else f"{plane} plane: no spin yet", SMALL, bold=True
    )
    drawing.text((WIDE_MM / 2, 8.8), f"tolerance {show.limit(limit)} {show.unbalance_unit}", SMALL)
    _draw(drawing, panel, found, limit)
    rim = f"rim {show.unbalance(reach, reach / 100)} {show.unbalance_unit}"
    drawing.text((WIDE_MM / 2, HIGH_MM - 3.0), rim, SMALL, scale=True)
    return str(drawing)


def _draw(drawing: Drawing, panel: _Panel, found: Sequence[tuple[int, Measured]], limit: float) -> None:
    drawing.circle(panel.centre, panel.radius, THIN)
    drawing.dial(panel.centre, panel.radius)
    for degrees in range(0, 360, 90):
        beyond = 3.0 if degrees % 180 == 0 else 5.2
        drawing.text(polar(panel.centre, degrees, panel.radius + beyond), f"{degrees}°", SMALL, scale=True)
    for _, m in found:
        drawing.circle(panel.tip(m.vector_gmm), m.expanded_gmm * panel.scale, THIN, BAND, part="unsure")
    drawing.circle(panel.centre, limit * panel.scale, THICK, part="limit")
    for number, m in found:
        weight = THICK if number == found[-1][0] else LINE
        drawing.arrow(panel.centre, panel.tip(m.vector_gmm), weight, part=f"spin-{number}")
    places = _number_places(panel, [m for _, m in found])
    for (_, m), at in zip(found, places, strict=True):
        drawing.line(panel.tip(m.vector_gmm), at, THIN)
    for (number, _), at in zip(found, places, strict=True):
        last = number == found[-1][0]
        drawing.circle(at, _NUMBER_MM, THICK if last else THIN, PAPER)
        drawing.text(at, str(number), SMALL, bold=last)


def _number_places(panel: _Panel, measured: Sequence[Measured]) -> list[Point]:
    """A number beside each tip: the nearest place that is on no other number and no tip, and in the drawing."""
    tips = [panel.tip(m.vector_gmm) for m in measured]
    placed: list[Point] = []
    for tip, m in zip(tips, measured, strict=True):
        candidates = [
            polar(tip, m.angle_deg + turn, reach)
            for reach in (4.2, 6.0, 8.0, 11.0, 14.0, 18.0, 23.0, 29.0)
            for turn in (0, 40, -40, 80, -80, 120, -120, 160, -160)
        ]
        free = (at for at in candidates if _is_free(at, panel, placed, tips))
        placed.append(next(free, candidates[0]))
    return placed


def _is_free(at: Point, panel: _Panel, placed: Sequence[Point], tips: Sequence[Point]) -> bool:
    if math.dist(at, panel.centre) > panel.radius - _NUMBER_MM:
        return False
    clear = all(math.dist(at, other) >= 2 * _NUMBER_MM + 0.6 for other in placed)
    return clear and all(math.dist(at, tip) >= _NUMBER_MM + 0.8 for tip in tips)
