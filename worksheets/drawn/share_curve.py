"""What the share of the reciprocating mass does: the largest of what shakes against it, the best share marked, and
the one that the bobweights have."""

from __future__ import annotations

from collections.abc import Sequence

from truethrow.worksheets.drawn.field import FIELD, HIGH_MM, LEGEND_MM, WIDE_MM, field
from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import INK, LINE, THICK, Drawing

_ROOM = 1.08  # beyond the largest
_DOT_MM = 1.5
_SHARES = [(0.0, "0"), (0.5, "share 0.5"), (1.0, "1")]


def share_curve(
    name: str,
    unit: str,
    curve: Sequence[tuple[float, float]],
    best: tuple[float, float, str],
    own: tuple[float, str] | None,
) -> str:
    """curve: share and largest amount, from share 0 to 1, in the unit; best: the best share, what is left there,
    and how it is said; own: the bobweights' share, and how it is said, None
    where nothing hangs."""
    drawing = Drawing(WIDE_MM, HIGH_MM)
    found = field(drawing, f"{name} [{unit}]", 0.0, _ROOM * max(amount for _, amount in curve), _SHARES)
    drawing.polyline([(found.x(share), found.y(amount)) for share, amount in curve], THICK, part="curve")
    if own is not None:
        x = found.x(own[0])
        drawing.line((x, FIELD.top), (x, FIELD.bottom), LINE, "dash", part="own")
        drawing.line((3.0, LEGEND_MM + 2.2), (3.0, LEGEND_MM + 5.6), LINE, "dash")
        drawing.text((6.0, LEGEND_MM + 4.0), f"bobweights {own[1]}", SMALL, "start")
    drawing.circle((found.x(best[0]), found.y(best[1])), _DOT_MM, 0, INK, part="best")
    drawing.circle((3.0, LEGEND_MM), _DOT_MM, 0, INK)
    drawing.text((6.0, LEGEND_MM), f"best {best[2]}", SMALL, "start")
    return str(drawing)
