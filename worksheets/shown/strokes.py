"""Drawings in plain text: the crank from its end and from its side, a polar curve, a strip of masses, spins.

Every drawing is a list of lines of the same width that a terminal, a pipe or a card can hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from truethrow.balance.engine.layout import Layout, Throw
from truethrow.worksheets.shown.display import finer_of

if TYPE_CHECKING:
    from truethrow.balance.result.spread import Spread
    from truethrow.balance.station.balancing import Balancing
    from truethrow.worksheets.shown.display import Display

# A character is about twice as high as it is wide.
ASPECT = 2.0


def end_view(layout: Layout, radius: int = 7) -> list[str]:
    """The crank seen from its front, turning clockwise: each throw at its angle, and the banks' axes."""
    half = round(radius * ASPECT) + 5
    canvas = _canvas(2 * half + 1, 2 * radius + 5)
    centre = half, radius + 2
    for axis in layout.banks.values():
        _ray(canvas, centre, axis, radius + 1, ":")
    at: dict[int, list[Throw]] = {}
    for throw in layout.throws:
        at.setdefault(round(throw.angle_deg) % 360, []).append(throw)
    for angle in at:
        _ray(canvas, centre, angle, radius - 1, "*")
    _put(canvas, centre, "+")
    for angle, throws in at.items():
        _put(canvas, _point(centre, angle, radius), "/".join(throw.name for throw in throws))
    return _without_blank_ends(_lines(canvas))


def side_view(layout: Layout, columns: int = 70) -> list[str]:
    """The crank seen from its left side, front to the left: each throw as high as its angle puts it, with the
    cylinders that hang on it below."""
    throws = layout.throws
    low, high = min(t.z_mm for t in throws), max(t.z_mm for t in throws)
    widest = max(len(_carried(layout, t)) for t in throws)
    room = max(8, widest + 2, min(14, columns // len(throws)))
    width = room * len(throws) + 4
    canvas = _canvas(width, 9)
    span = (high - low) or 1.0
    # Equal steps where the throws stand evenly; where pins share a place they stand side by side.
    order = sorted(range(len(throws)), key=lambda i: (throws[i].z_mm, i))
    x_of = {}
    for rank, i in enumerate(order):
        even = rank * room + room // 2
        true = round((throws[i].z_mm - low) / span * room * (len(throws) - 1)) + room // 2
        x_of[i] = true if abs(true - even) < room // 2 else even
    for x in range(width):
        _put(canvas, (x, 3), "-")
    for i, throw in enumerate(throws):
        x, y = x_of[i], 3 - _whole(3 * math.cos(math.radians(throw.angle_deg)))
        for row in range(min(y, 3), max(y, 3) + 1):
            _put(canvas, (x - 2, row), "|")
            _put(canvas, (x + 2, row), "|")
        _put(canvas, (x, y), f"({throw.name})")
        _put(canvas, (x, 7), f"{throw.angle_deg:g}°")
        _put(canvas, (x, 8), _carried(layout, throw))
    return _lines(canvas)


def polar(vectors: Iterable[complex], radius: int = 9) -> list[str]:
    """A curve of vectors around its origin, up is up; the outermost ring is the largest amount."""
    points = list(vectors)
    largest = max(map(abs, points), default=0.0)
    half = round(radius * ASPECT) + 1
    canvas = _canvas(2 * half + 1, 2 * radius + 3)
    centre = half, radius + 1
    for degrees in range(0, 360, 15):
        _put(canvas, _point(centre, degrees, radius), "·")
    _put(canvas, centre, "+")
    if largest > 0:
        for vector in points:
            # The real part is up, and angles grow clockwise, as the crank turns seen from the front.
            x = centre[0] + round(vector.imag / largest * radius * ASPECT)
            y = centre[1] - round(vector.real / largest * radius)
            _put(canvas, (x, y), "o")
    return _lines(canvas)


def limit_band(spread: Spread) -> tuple[float, float]:
    """The limit's band in grams, about the middle between the lightest and the heaviest: a member outside it makes
    a spread outside. Without a limit as wide as the spread."""
    lightest, heaviest = (spread.members[name].value_g for name in (spread.lightest, spread.heaviest))
    half = (heaviest - lightest if spread.limit_g is None else spread.limit_g) / 2
    middle = (lightest + heaviest) / 2
    return middle - half, middle + half


def reach(spread: Spread, expanded_g: Mapping[str, float]) -> tuple[float, float]:
    """The grams that a strip shows: all members with their uncertainty, the limit's band, and a little room."""
    low, high = limit_band(spread)
    for name, mass in spread.members.items():
        low = min(low, mass.value_g - expanded_g.get(name, 0.0))
        high = max(high, mass.value_g + expanded_g.get(name, 0.0))
    room = 0.04 * (high - low) or 0.5
    return low - room, high + room


STRIP = "o a part, its name above; --- how sure it is; [===] the limit, about the middle of the set"


def strip(spread: Spread, expanded_g: Mapping[str, float], show: Display, columns: int = 70) -> list[str]:
    """A spread's members on a line of grams, as STRIP says; one line where all weigh the same. expanded_g: of each
    member."""
    if spread.spread_g == 0:
        return [f"all {show.masses(spread.members[spread.heaviest].value_g, finer_of(spread, show))}"]
    low, high = reach(spread, expanded_g)

    def column(grams: float) -> int:
        return _whole((grams - low) / (high - low) * (columns - 1))

    marks, names = _canvas(columns, 1), _canvas(columns, len(spread.members))
    for name, mass in spread.members.items():
        sure = expanded_g.get(name, 0.0)
        for x in range(column(mass.value_g - sure), column(mass.value_g + sure) + 1):
            marks[0][x] = "-"
    for name, mass in sorted(spread.members.items(), key=lambda member: member[1].value_g):
        x = column(mass.value_g)
        marks[0][x] = "o"
        _stack(names, x, name[:columns])
    finer = finer_of(spread, show)
    ends = _canvas(columns, 1)
    lightest, heaviest = (spread.members[name].value_g for name in (spread.lightest, spread.heaviest))
    first, last = show.mass(lightest, finer), show.masses(heaviest, finer)
    if spread.lightest == spread.heaviest:
        _put_inside(ends, column(heaviest), last)
    elif len(first) + len(last) + 1 <= column(heaviest) - column(lightest):
        _put_inside(ends, column(lightest), first)
        _put_inside(ends, column(heaviest), last)
    else:
        _put_inside(ends, (column(lightest) + column(heaviest)) // 2, f"{first} to {last}")
    band = _canvas(columns, 1)
    if spread.limit_g is not None:
        first_column, last_column = map(column, limit_band(spread))
        band[0][first_column : last_column + 1] = f"[{'=' * (last_column - first_column - 1)}]"
    return [line for line in _lines(names) if line] + _lines(marks) + [*filter(None, _lines(band))] + _lines(ends)


def spins(state: Balancing, plane: Literal["front", "rear"], show: Display, radius: int = 9) -> list[str]:
    """The spins of a plane that count, each its number where its unbalance is, angle 0 up and growing clockwise:
    the last one stands over the others. Two lines above them say what the two rings are."""
    limit = state.limits_gmm[0 if plane == "front" else 1]
    found = [(spin.number, getattr(spin, plane)) for spin in state.counted]
    most = max([1.3 * limit, *(m.amount_gmm for _, m in found)])
    half = round(radius * ASPECT) + 3
    canvas = _canvas(2 * half + 1, 2 * radius + 3)
    centre = half, radius + 1
    for degrees in range(0, 360, 15):
        _put(canvas, _point(centre, degrees, radius), "·")
    for degrees in range(0, 360, 10):
        _put(canvas, _point(centre, degrees, limit / most * radius), ":")
    _put(canvas, centre, "+")
    _put(canvas, (centre[0], 0), "0°")
    for number, m in found:
        _put(canvas, _point(centre, m.angle_deg, m.amount_gmm / most * radius), str(number))
    unit = show.unbalance_unit
    outer = show.unbalance(most, 10.0)
    words = [
        f"{plane} plane, each spin its number, from the crank's 0° up clockwise",
        f"inner ring (:) {show.limit(limit)} {unit}, the tolerance; outer ring (·) {outer} {unit}",
    ]
    return [*words, *_lines(canvas)]


def beside(left: Sequence[str], right: Sequence[str], gap: int = 3) -> list[str]:
    """Two drawings next to each other, their tops level."""
    width = max(map(len, left), default=0)
    rows = max(len(left), len(right))
    padded = [*left, *[""] * (rows - len(left))], [*right, *[""] * (rows - len(right))]
    return [f"{a:<{width}}{' ' * gap}{b}".rstrip() for a, b in zip(*padded, strict=True)]


def _carried(layout: Layout, throw: Throw) -> str:
    return ",".join(map(str, layout.cylinders_on(throw)))


def _canvas(width: int, height: int) -> list[list[str]]:
    return [[" "] * width for _ in range(height)]


def _point(centre: tuple[int, int], angle_deg: float, radius: float) -> tuple[int, int]:
    x = centre[0] + _whole(radius * ASPECT * math.sin(math.radians(angle_deg)))
    return x, centre[1] - _whole(radius * math.cos(math.radians(angle_deg)))


def _whole(value: float) -> int:
    """The nearest character, the same for what only binary fractions tell apart."""
    return round(round(value, 6))


def _ray(canvas: list[list[str]], centre: tuple[int, int], angle_deg: float, radius: float, mark: str) -> None:
    for step in range(1, round(radius * 2) + 1):
        _put(canvas, _point(centre, angle_deg, step / 2), mark)


def _put(canvas: list[list[str]], at: tuple[int, int], text: str) -> None:
    """Write a text around a point, cut at the canvas's edges."""
    x, y = at[0] - len(text) // 2, at[1]
    for i, character in enumerate(text):
        if 0 <= y < len(canvas) and 0 <= x + i < len(canvas[0]):
            canvas[y][x + i] = character


def _stack(names: list[list[str]], x: int, name: str) -> None:
    """Write a name over a mark, in the lowest row that has room, a blank to each side."""
    start = min(max(x - len(name) // 2, 0), len(names[0]) - len(name))
    around = slice(max(start - 1, 0), start + len(name) + 1)
    row = next((row for row in reversed(names) if not "".join(row[around]).strip()), names[0])
    row[start : start + len(name)] = name


def _put_inside(canvas: list[list[str]], x: int, text: str) -> None:
    """Write a text around a column of the only row, moved to where all of it can be seen."""
    half = len(text) // 2
    _put(canvas, (min(max(x, half), len(canvas[0]) - len(text) + half), 0), text)


def _lines(canvas: list[list[str]]) -> list[str]:
    return ["".join(row).rstrip() for row in canvas]


def _without_blank_ends(lines: list[str]) -> list[str]:
    drawn = [i for i, line in enumerate(lines) if line]
    return lines[drawn[0] : drawn[-1] + 1] if drawn else []
