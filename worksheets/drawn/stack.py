"""What is clamped on one throw: the pieces of both halves, counted."""

from __future__ import annotations

from collections.abc import Mapping

from truethrow.worksheets.drawn.pen import LINE, METAL, TEXT, THICK, THIN, Box, Drawing, fitting

WIDE_MM, _ROW_MM, _TOP_MM = 80.0, 8.0, 11.0
# More pieces than these are told by their number alone.
_MOST_DRAWN = 24
_LEFT_MM, _PIECES_MM = 18.5, 24.0
_NAME_MM = WIDE_MM - _LEFT_MM - _PIECES_MM - 3.0


def stack(halves: tuple[Mapping[str, int], Mapping[str, int]]) -> str:
    """The pieces of a clamp: once where both halves carry the same, else one half under the other."""
    parts = (
        [("on each half", halves[0])]
        if halves[0] == halves[1]
        else [
            ("on one half", halves[0]),
            ("on the other", halves[1]),
        ]
    )
    rows = sum(_TOP_MM + _ROW_MM * max(1, len(half)) for _, half in parts)
    drawing = Drawing(WIDE_MM, rows + 2.0)
    y = 0.0
    for name, half in parts:
        drawing.text((1.0, y + 4.0), name, TEXT, "start", bold=True)
        drawing.line((1.0, y + 8.0), (WIDE_MM - 1.0, y + 8.0), THICK)
        y += _TOP_MM
        for piece, count in half.items():
            _row(drawing, y + 2.0, piece, count)
            y += _ROW_MM
        if not half:
            drawing.text((1.0, y + 2.0), "nothing", TEXT, "start")
            y += _ROW_MM
    return str(drawing)


def _row(drawing: Drawing, y: float, piece: str, count: int) -> None:
    drawing.text((16.0, y), f"{count} ×", TEXT, "end", bold=True)
    if count <= _MOST_DRAWN:
        step = min(4.0, _PIECES_MM / count)
        for at in range(count):
            left = _LEFT_MM + step * at
            box = Box(left, y - 2.6, left + 0.7 * step, y + 2.6)
            drawing.rectangle(box, LINE if step > 2 else THIN, METAL, part="piece")
    drawing.text((_LEFT_MM + _PIECES_MM + 2.0, y), fitting(piece, TEXT, _NAME_MM), TEXT, "start")
