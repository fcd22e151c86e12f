"""Figures that an engine can hardly have: a slip of the pen or of the unit, told before anything rests on it.

How far each may go is common practice, no source, and wide: what is outside is nearly always a length in inches
that was typed as millimetres, or a decimal point in the wrong place. Whoever looked at it again says so in the
table that has it: checked = ["stroke"].
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from truethrow.balance.base.amounts import METRIC, ToldIn, factor
from truethrow.balance.base.errors import Fault
from truethrow.balance.base.units import LENGTH, MASS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from truethrow.balance.engine.declared import EngineTable

# The rod, the bore and the way from throw to throw, in strokes.
ROD_IN_STROKES = (1.0, 6.0)
BORE_IN_STROKES = (0.4, 2.5)
SPACING_IN_STROKES = (0.4, 5.0)
# Two rods on one pin, from middle to middle: about the width of a big end.
APART_IN_STROKES = (0.08, 0.8)
# At top speed: from slow gas engines to motorcycles that race. [m/s]
PISTON_SPEED_M_S = (3.0, 45.0)


class Range(NamedTuple):
    """What a figure may be beside another. told: the other, in words; bounds: [mm] or what the figure is in."""

    name: str
    value: float
    least: float
    most: float
    unit: str
    told: str

    @property
    def holds(self) -> bool:
        return self.least <= self.value <= self.most

    def fault(self, table: str, place: str = "", key: str = "", told_in: ToldIn = METRIC) -> Fault:
        """place: where the figure is, if not in its table; key: what settles it, if not its name; told_in: the
        units of the document."""
        one, unit = self._told(told_in)
        is_rightly_so = f'if it is right: checked = ["{key or self.name}"] in [{table}]'
        wrong = f"{self.value / one:g} {unit} looks wrong beside {self.told}"
        allowed = f"{_short(self.least / one)} to {_short(self.most / one)} {unit}; {is_rightly_so}"
        return Fault(place or f"{table}, {self.name}", wrong, allowed)

    def _told(self, told_in: ToldIn) -> tuple[float, str]:
        """In which unit it is told, and what one of it is in its own."""
        unit, *apart = self.unit.split()
        match unit:
            case "mm":
                return factor(told_in.length, LENGTH), " ".join((told_in.length, *apart))
            case "g":
                return factor(told_in.scale, MASS), told_in.scale
            case "kg" if told_in.mass in ("oz", "lb"):
                return factor("lb", MASS) / 1000, "lb"
            case "g·mm":
                return told_in.unbalance_gmm, told_in.unbalance_unit
        return 1.0, self.unit


def _short(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"


def strange(table: EngineTable, told_in: ToldIn = METRIC) -> list[Fault]:
    """The lengths of an engine that hardly belong together, but for those that were looked at again."""
    ranges = _ranges(table, told_in)
    return [
        one.fault("engine", told_in=told_in) for one in ranges if not one.holds and one.name not in table.checked
    ]


def _ranges(table: EngineTable, told_in: ToldIn) -> Iterator[Range]:
    if table.stroke is None:
        return
    # A stroke in the wrong unit is outside everything else's range, so it is the one that is told.
    if table.rod_length is not None:
        least, most = ROD_IN_STROKES
        beside = f"a rod of {told_in.size(table.rod_length)}"
        stroke = Range("stroke", table.stroke, table.rod_length / most, table.rod_length / least, "mm", beside)
        yield stroke
        if not stroke.holds:
            return
    beside = f"a stroke of {told_in.size(table.stroke)}"
    if table.bore is not None:
        yield Range("bore", table.bore, *_strokes(table.stroke, BORE_IN_STROKES), "mm", beside)
    if table.top_speed is not None:
        least, most = (one * 60_000 / 2 / table.stroke for one in PISTON_SPEED_M_S)
        yield Range("top_speed", table.top_speed, least, most, "r/min", beside)
    if table.throw_positions is None and table.cylinder_spacing is not None:
        spacing = _strokes(table.stroke, SPACING_IN_STROKES)
        yield Range("cylinder_spacing", table.cylinder_spacing, *spacing, "mm", beside)
    if table.throw_positions is not None and len(table.throw_positions) > 1:
        apart = _mean_way(table.throw_positions)
        yield Range("throw_positions", apart, *_strokes(table.stroke, SPACING_IN_STROKES), "mm apart", beside)
    if table.rods_apart is not None:
        yield Range("rods_apart", table.rods_apart, *_strokes(table.stroke, APART_IN_STROKES), "mm", beside)


def _strokes(stroke_mm: float, bounds: tuple[float, float]) -> tuple[float, float]:
    return bounds[0] * stroke_mm, bounds[1] * stroke_mm


def _mean_way(positions_mm: Sequence[float]) -> float:
    return (max(positions_mm) - min(positions_mm)) / (len(positions_mm) - 1)
