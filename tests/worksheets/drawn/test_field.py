"""The field that a curve is drawn in."""

from __future__ import annotations

import pytest
from drawings import SVG, checked

from truethrow.worksheets.drawn.field import FIELD, HIGH_MM, WIDE_MM, field
from truethrow.worksheets.drawn.lettering import SMALL
from truethrow.worksheets.drawn.pen import Drawing


@pytest.mark.parametrize(("low", "high"), [(-0.0042, 0.0042), (0.0, 3.3), (-563.9, 563.9), (0.0, 12_000.0)])
def test_a_line_is_as_high_as_what_it_says(low, high):
    drawing = Drawing(WIDE_MM, HIGH_MM)
    made = field(drawing, "largest couple [lbf·ft]", low, high, [(0.0, "0"), (1.0, "1")])
    root = checked(str(drawing))
    lines = {float(one.get("y1")) for one in root.iter(f"{SVG}line") if one.get("y1") == one.get("y2")}
    said = [one for one in root.iter(f"{SVG}text") if one.get("text-anchor") == "end"]
    assert len(said) == len(lines) >= 3
    for one in said:
        amount = float(one.text.replace("−", "-"))
        assert min(abs(made.y(amount) - y) for y in lines) < 0.002
    (title,) = (one for one in root.iter(f"{SVG}text") if one.get("font-weight") == "bold")
    # The title's brackets and the topmost figure: at least a millimetre of paper between them.
    highest = min(float(one.get("y")) for one in said)
    assert highest - 0.75 * SMALL - (float(title.get("y")) + 0.2 * SMALL) >= 1.0
    assert made.y(low) == pytest.approx(FIELD.bottom) and made.y(high) == pytest.approx(FIELD.top)
    assert (made.x(0.0), made.x(1.0)) == (FIELD.left, FIELD.right)
